package survey

import (
	"math"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/water"
)

// drive is what turns a pump in a condition.
type drive struct {
	runs bool
	// curve at speed, or else a fixed flow.
	curved bool
	fixed  bool
	curve  water.PumpCurve
	speed  unit.Ratio
	flow   unit.LitrePerMin
	limit  unit.Head
	// volts at its terminals, where powered says that they are known.
	volts   unit.Volt
	powered bool
	dead    bool // switched off while it is said to run
	lacks   []Datum
	used    []Assumed
}

// drives returns, for every edge that has a pump, how it is driven.
func (w *WaterState) drives(g *flowGraph) []*drive {
	out := make([]*drive, len(g.edges))
	for i := range g.edges {
		e := &g.edges[i]
		if e.channel.Pump == nil || e.part == nil {
			continue
		}
		d := &drive{speed: 1}
		out[i] = d
		own := e.kind != pumpWay
		d.runs = w.survey.Runs(w.Condition, e.part) && !(own && g.served(i))
		if d.runs {
			w.turn(e, d)
		}
	}
	return out
}

// Runs reports whether a part works in a condition: it is named as running, it
// is a load and the condition is the built-in one, or it is an engine that
// turns. Pumps driven by an engine run with it.
func (s *Survey) Runs(c *schema.Condition, p *schema.Part) bool {
	if c == nil || p.Prepared {
		return false
	}
	for _, off := range c.Off {
		if off == p {
			return false
		}
	}
	driven := p.Is(schema.Mover) && p.Word("drive").V == "engine"
	for _, r := range c.Running {
		if r.Part == p && !(c.BuiltIn && driven) { // engines stand in it
			return r.Duty > 0
		}
	}
	switch {
	case p.Is(schema.Engine):
		return enginesTurn(c, p)
	case driven:
		return anyTurns(c)
	}
	return c.BuiltIn && p.Is(schema.Load)
}

// enginesTurn reports whether an engine turns: by its id, or as the one engine
// (a generator is none).
func enginesTurn(c *schema.Condition, p *schema.Part) bool {
	for _, v := range c.Engine {
		if v.RPM > 0 && (v.Engine == p.ID || v.Engine == "" && !p.Is(schema.Source)) {
			return true
		}
	}
	return false
}

func anyTurns(c *schema.Condition) bool {
	for _, v := range c.Engine {
		if v.RPM > 0 {
			return true
		}
	}
	return false
}

// served reports whether a pump of its own stands on the line of equipment that
// has one built in: looked for along the line in both directions, up to the next
// branch or opening.
func (g *flowGraph) served(edge int) bool {
	e := &g.edges[edge]
	return g.pumpAlong(e.a, edge) || g.pumpAlong(e.b, edge)
}

func (g *flowGraph) pumpAlong(n, from int) bool {
	for range len(g.edges) + 1 {
		nd := &g.nodes[n]
		if nd.port != nil || len(nd.edges) != 2 {
			return false
		}
		next := nd.edges[0] + nd.edges[1] - from
		e := &g.edges[next]
		if e.kind == pumpWay && e.part.Is(schema.Mover) {
			return true
		}
		from, n = next, e.a+e.b-n
	}
	return false
}

// turn settles curve and speed of a running pump.
func (w *WaterState) turn(e *flowEdge, d *drive) {
	p, pump := e.part, e.channel.Pump
	switch {
	case len(pump.Curve) > 0:
		c, err := water.NewPumpCurve(curvePoints(pump.Curve))
		if err != nil {
			d.lacks = append(d.lacks, partDatum("curve of "+p.ID+" ("+reason(err)+")", p))
			return
		}
		d.curve, d.curved = c, true
	case pump.Displacement && pump.Flow.Given():
		d.fixed, d.flow = true, pump.Flow.V
		if h := p.Get("head"); h != nil {
			d.limit = unit.Head(h.Number)
		}
	case pump.Displacement && !p.Is(schema.Mover):
		if q := p.Flow("flow"); q.Given() {
			d.fixed, d.flow = true, q.V
			break
		}
		d.lacks = append(d.lacks, partDatum("flow of "+p.ID, p))
		return
	default:
		d.lacks = append(d.lacks, partDatum("curve of "+p.ID, p))
		return
	}
	w.speed(p, pump, d)
}

// speed is the ratio to the speed the curve holds at: by the voltage at its
// terminals (a brushed motor turns about in proportion, from memory), or by the
// engine's speed.
func (w *WaterState) speed(p *schema.Part, pump *schema.PumpData, d *drive) {
	switch pump.Drive {
	case "dc":
		w.electric(p, pump, d)
		if d.dead && w.Condition.BuiltIn { // switches as they usually stand
			d.runs = false
		}
	case "engine":
		w.shaft(p, d)
	}
	if d.fixed {
		d.flow = unit.LitrePerMin(float64(d.flow) * float64(d.speed))
	}
}

func (w *WaterState) electric(p *schema.Part, pump *schema.PumpData, d *drive) {
	rated := pump.Volts
	if !rated.Given() {
		rated = p.Volts("volts")
	}
	supply := w.survey.voltsAt(w.Condition, p)
	if len(supply.lacks) > 0 {
		d.lacks = merge(d.lacks, supply.lacks)
		return
	}
	if supply.cut {
		d.dead, d.powered = true, true
		return
	}
	if !supply.known {
		d.used = append(d.used, Assumed{p.ID, "speed", "that of its curve", "no source is joined to it"})
		return
	}
	if supply.note != "" {
		d.used = append(d.used, Assumed{p.ID, "voltage", supply.volts.String(), supply.note})
	}
	v := supply.volts
	d.volts, d.powered = v, true
	full := rated.V
	if !rated.Given() || full <= 0 {
		full = nominal(v)
		d.used = append(d.used, Assumed{p.ID, "volts its curve holds at", full.String(), "nominal voltage of its system; none is stated"})
	}
	d.speed = unit.Ratio(float64(v) / float64(full))
}

// nominal is the system voltage nearest to a voltage.
func nominal(v unit.Volt) unit.Volt {
	best := unit.Volt(12)
	for _, n := range []unit.Volt{12, 24, 32, 48} {
		if math.Abs(float64(v-n)) < math.Abs(float64(v-best)) {
			best = n
		}
	}
	return best
}

// shaft is the speed of a pump that an engine drives: rpm × ratio over the speed
// at which its curve holds.
func (w *WaterState) shaft(p *schema.Part, d *drive) {
	at, ratio := p.Speed("speed"), 1.0
	if r := p.Get("ratio"); r != nil {
		ratio = r.Number
	}
	var rpm unit.RPM
	for _, v := range w.Condition.Engine {
		rpm = max(rpm, v.RPM)
	}
	if !p.Is(schema.Mover) || !at.Given() || at.V <= 0 || rpm <= 0 {
		d.used = append(d.used, Assumed{p.ID, "speed", "that of its curve", "no speed of its pump is stated"})
		return
	}
	d.speed = unit.Ratio(float64(rpm) * ratio / float64(at.V))
}

// shutOff is the most a pump can raise; false where no limit is known.
func (d *drive) shutOff() (unit.Head, bool) {
	if d.curved {
		return d.curve.ShutOff(d.speed), true
	}
	return d.limit, d.limit > 0
}
