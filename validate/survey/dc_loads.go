package survey

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/dc"
	"fitout/validate/trace"
)

// loads adds what takes current. A short-circuit study removes it.
func (b *builder) loads() {
	if b.opt.asShort {
		return
	}
	runs := map[*schema.Part]unit.Ratio{}
	for _, r := range b.Condition.Running {
		runs[r.Part] = r.Duty
	}
	for i := range b.s.Net.Edges {
		e := &b.s.Net.Edges[i]
		if e.Type != trace.Load || e.Medium != schema.DC || e.A == e.B {
			continue
		}
		l := &DCLoad{Part: e.Part, Edge: e, Data: e.Branch.Load, Duty: 1, edge: i}
		duty, named := runs[e.Part]
		l.Runs = b.takes(l, named)
		if named && !b.Condition.BuiltIn {
			l.Duty = duty
			if duty == 1 && l.Data.Duty.Given() {
				l.Duty = l.Data.Duty.V
			}
		}
		b.Loads = append(b.Loads, l)
		if l.Runs {
			b.load(i, l)
		}
	}
}

// takes reports whether a load takes current in the condition.
func (b *builder) takes(l *DCLoad, named bool) bool {
	p := l.Part
	switch {
	case b.off(p) || b.opt.noCrank && p.Is(schema.Cranking) || b.opt.only != nil && b.opt.only != p:
		return false
	case !b.s.Joined(l.Edge.A) && !b.s.Joined(l.Edge.B):
		return false // joined to nothing: open-circuit tells, or it has a battery of its own
	case l.Data.Feeds != "":
		return b.ac.inverts(p)
	case p.Is(schema.Load):
		return named
	case p.Is(schema.Engine):
		return false // its starting circuit
	case l.Edge.Branch.A == "coil+":
		for i := range b.s.Net.Edges {
			if e := &b.s.Net.Edges[i]; e.Part == p && e.Type == trace.Contact {
				return b.passes(e)
			}
		}
	}
	return true // a control that has no switch of its own
}

func (b *builder) load(i int, l *DCLoad) {
	d := l.Data
	if l.Part == b.opt.starting && d.Starting.Given() {
		l.model, l.asked = "current", float64(d.Starting.V)*float64(max(1, d.Count))
	} else if !b.ask(l) {
		b.partial = true
		return
	}
	if b.opt.mean {
		if l.Duty <= 0 {
			return
		}
		if l.model == "resistance" {
			l.asked /= float64(l.Duty)
		} else {
			l.asked *= float64(l.Duty)
		}
	}
	a, c := node(l.Edge.A), node(l.Edge.B)
	switch {
	case l.model == "resistance" && l.asked > 0:
		b.add(i, dc.ResistanceLoad{Pos: a, Neg: c, R: unit.Ohm(l.asked)})
	case l.model == "power" && l.asked > 0:
		b.add(i, dc.PowerLoad{Pos: a, Neg: c, P: unit.Watt(l.asked)})
	case l.model == "current" && l.asked > 0:
		b.add(i, dc.CurrentLoad{Pos: a, Neg: c, I: unit.Amp(l.asked)})
	}
}

// ask works out what a load asks for; false where a datum is missing.
func (b *builder) ask(l *DCLoad) bool {
	d := l.Data
	if d.Feeds != "" {
		return b.askInverter(l)
	}
	if !d.Amps.Given() && !d.Watts.Given() {
		b.want("draw of "+l.Part.ID, l.Part)
		return false
	}
	count := float64(max(1, d.Count))
	l.model = d.Model
	volts := func() (float64, bool) {
		v, ok := b.loadVolts(l)
		if !ok {
			b.want("volts of "+l.Part.ID, l.Part)
		}
		return float64(v), ok
	}
	switch {
	case l.model == "current" && d.Amps.Given():
		l.asked = float64(d.Amps.V) * count
	case l.model == "power" && d.Watts.Given():
		l.asked = float64(d.Watts.V) * count
	default:
		v, ok := volts()
		if !ok {
			return false
		}
		switch {
		case l.model == "current":
			l.asked = float64(d.Watts.V) / v * count
		case l.model == "power":
			l.asked = float64(d.Amps.V) * v * count
		case d.Watts.Given() && d.Watts.V > 0:
			l.asked = v * v / float64(d.Watts.V) / count
		case d.Amps.V > 0:
			l.asked = v / float64(d.Amps.V) / count
		}
	}
	return true
}

// loadVolts is the voltage a load's draw holds at: its own, else the nominal
// voltage it is fed with.
func (b *builder) loadVolts(l *DCLoad) (unit.Volt, bool) {
	if l.Data.Volts.Given() && l.Data.Volts.V > 0 {
		return l.Data.Volts.V, true
	}
	v, ok := b.s.NominalVolts(l.Edge)
	if ok {
		b.uses(l.Part.ID, "volts", fmt.Sprintf("%g V", float64(v)), "the nominal voltage it is fed with")
	}
	return v, ok
}

// NominalVolts is the nominal voltage between the ends of an edge, by the
// batteries and regulated sources between them; else that of the boat's only
// kind of battery.
func (s *Survey) NominalVolts(e *trace.Edge) (unit.Volt, bool) {
	if v, _, ok := s.AtRest().Volts(e.A, e.B); ok && v != 0 {
		if v < 0 {
			v = -v
		}
		return v, true
	}
	v := s.onlyNominal()
	return v, v > 0
}

// askInverter works out what an inverter takes from the battery: the AC loads
// that run behind it, at its efficiency, and its idle power.
func (b *builder) askInverter(l *DCLoad) bool {
	d := l.Data
	w, missing, full := b.ac.behind(l.Part)
	if missing != "" {
		b.want(missing, l.Part)
		return false
	}
	if full {
		if !d.Output.Given() {
			b.want("power of "+l.Part.ID, l.Part)
			return false
		}
		w = d.Output.V
	}
	l.model = "power"
	l.asked = float64(d.Idle.V)
	if w > 0 {
		l.asked += float64(w) / float64(d.Efficiency.Or(0.9))
	}
	return true
}
