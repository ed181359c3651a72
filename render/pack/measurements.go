package pack

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

// Tolerances of the commissioning sheet: what a usual meter and a careful reading
// give. Volts are held closer than the rule's own tenth: a bad joint shows in the
// second place. A device may drop double what is usual for its kind.
const (
	withinVolts unit.Ratio = 0.02
	withinAmps  unit.Ratio = 0.10
	withinFlow  unit.Ratio = 0.15
	withinRise  unit.Ratio = 0.20
	withinDrop  unit.Ratio = 1
	withinRun   unit.Ratio = 0.20
)

const habit = "common practice, no source"

// noteQuantity is the quantity of a row that no reading of the file can hold.
const noteQuantity = "note"

// Measurement is one value worth taking.
type Measurement struct {
	No        int
	Condition string
	// At is the terminal or part, as the file's readings name it; of a note the
	// wire or part that it is about.
	At, What string
	// Quantity is the key of the reading: volts, current, flow, rise; "note" where
	// the file cannot hold it.
	Quantity string
	// Predicted is the figure at full draw, Low and High the ends of what the check
	// lets pass, all in Unit.
	Predicted, Low, High float64
	Unit                 string
	Within               unit.Ratio
	// Good says what is good where a band does not.
	Good string
	// Source is where the tolerance comes from.
	Source string
	// Bucket is what is filled while a watch runs, in litres; 0 for none.
	Bucket float64
	Place  string
	table  measureTable
}

// measureTable is the table of the sheet on which a measurement stands.
type measureTable int

const (
	inCondition measureTable = iota
	overDevices
	overRuns
	bySpeed
	atShore
	atAlarms
	atRest
)

func measurement(c *schema.Condition, at schema.End, what, quantity, in string, e survey.Expected, within unit.Ratio) Measurement {
	x := Measurement{Condition: c.ID, At: at.String(), What: what, Quantity: quantity, Predicted: e.Predicted, Unit: in, Within: within, Place: place(at.Part), Source: habit}
	x.Low, x.High = e.Band(within)
	return x
}

// measurements are the values worth taking: in each condition of the file in the
// order of a walk (batteries, protection, panels, loads, water), then over
// devices and runs, then what is only noted.
func (m *maker) measurements() []Measurement {
	var out []Measurement
	conditions := m.attended()
	for _, c := range conditions {
		have := m.electric(c)
		out = append(out, have...)
		for _, x := range m.charging(c) {
			// a part that takes and gives has its row already
			if !slices.ContainsFunc(have, func(y Measurement) bool { return x.At == y.At && x.Quantity == y.Quantity }) {
				out = append(out, x)
			}
		}
		out = append(out, m.flows(c)...)
		out = append(out, m.rises(c)...)
	}
	out = append(out, m.deviceDrops(conditions)...)
	out = append(out, m.runDrops()...)
	out = append(out, m.chargeBySpeed()...)
	out = append(out, m.shoreTests()...)
	out = append(out, m.alarmTests()...)
	out = append(out, m.restTests()...)
	for i := range out {
		out[i].No = i + 1
	}
	return out
}

// attended are the conditions in which somebody can measure.
func (m *maker) attended() []*schema.Condition {
	var out []*schema.Condition
	for _, c := range m.boat().Conditions {
		if !c.Unattended.V && !(c.BuiltIn && m.cranks()) {
			out = append(out, c)
		}
	}
	return out
}

// cranks reports whether the boat has a starter: the condition of everything on
// then holds while it cranks, for seconds.
func (m *maker) cranks() bool {
	return slices.ContainsFunc(m.fitted(), func(p *schema.Part) bool { return p.Is(schema.Cranking) })
}

func (m *maker) electric(c *schema.Condition) []Measurement {
	d := m.Survey.DC(c)
	if !d.Solved() {
		return nil
	}
	var out []Measurement
	volt := func(p *schema.Part, terminal, what string) {
		at := schema.End{Part: p, Terminal: terminal}
		if e, ok := d.ExpectedVolts(at); ok && math.Abs(e.Predicted) > 1 {
			out = append(out, measurement(c, at, what, "volts", "V", e, withinVolts))
		}
	}
	amp := func(p *schema.Part, what string) {
		at := schema.End{Part: p}
		if e, ok := d.ExpectedAmps(at); ok && e.Predicted >= 0.05 {
			out = append(out, measurement(c, at, what, "current", "A", e, withinAmps))
		}
	}
	for _, p := range m.Survey.Batteries() {
		volt(p, "+", "volts at the post of "+name(p))
	}
	for _, p := range m.fitted() {
		r := p.Roles()
		switch {
		case r.Any(schema.Measuring):
			amp(p, "current through "+name(p))
		case r.Any(schema.Protection|schema.Switching) && !r.Any(schema.Panel|schema.Sensing|schema.ACPart):
			for _, t := range p.Terminals() {
				if t.Medium == schema.DC && t.Polarity == schema.Through {
					volt(p, t.Name, "volts at "+p.ID+"."+t.Name+", "+titleOf(p))
				}
			}
		case r.Any(schema.Panel) && !r.Any(schema.ACPart):
			volt(p, "in", "volts at the bar of "+name(p))
		case r.Any(schema.Distribution) && !r.Any(schema.ACPart) && p.Word("polarity").V != "negative":
			volt(p, "", "volts at "+name(p))
		}
	}
	for _, l := range d.Loads {
		if !l.Runs || l.Part.Prepared {
			continue
		}
		volt(l.Part, "", "volts over the two terminals of "+name(l.Part)+" while it runs")
		amp(l.Part, "current of "+name(l.Part))
	}
	return slices.CompactFunc(out, func(a, b Measurement) bool { return a.At == b.At && a.Quantity == b.Quantity })
}

// charging is what alternators, chargers and panels give in the condition.
func (m *maker) charging(c *schema.Condition) []Measurement {
	d := m.Survey.DC(c)
	if !d.Solved() {
		return nil
	}
	var out []Measurement
	for _, p := range m.fitted() {
		out = append(out, converting(c, d, p)...)
		f := feedOf(p)
		if f == nil {
			continue
		}
		at, speed := schema.End{Part: p}, ""
		if rpm, missing := m.Survey.EngineSpeed(c, p, f.Engine); f.Needs == "engine" && missing == "" {
			speed = fmt.Sprintf(" at %.0f rpm of the engine", float64(rpm))
		}
		a, ok := d.ExpectedAmps(at)
		if !ok || a.Predicted < 0.05 {
			continue
		}
		if e, ok := d.ExpectedVolts(at); ok {
			out = append(out, measurement(c, at, "charging volts over the two terminals of "+name(p)+speed, "volts", "V", e, withinVolts))
		}
		out = append(out, measurement(c, at, "charge current of "+name(p)+speed, "current", "A", a, withinAmps))
	}
	return out
}

// converting are the volts at both sides of a converter that works.
func converting(c *schema.Condition, d *survey.DCState, p *schema.Part) []Measurement {
	var out []Measurement
	for _, b := range p.Branches() {
		if b.Convert == nil || b.Medium != schema.DC {
			continue
		}
		if a, ok := d.ExpectedAmps(schema.End{Part: p}); !ok || a.Predicted < 0.05 {
			continue
		}
		for _, terminal := range []string{b.A, b.Convert.OutA} {
			t, ok := p.Terminal(terminal)
			at := schema.End{Part: p, Terminal: terminal}
			if e, known := d.ExpectedVolts(at); ok && known && t.Medium == schema.DC && math.Abs(e.Predicted) > 1 {
				out = append(out, measurement(c, at, "volts at "+at.String()+", "+titleOf(p), "volts", "V", e, withinVolts))
			}
		}
	}
	return out
}

// feedOf is how a part feeds direct current, nil where it does not.
func feedOf(p *schema.Part) *schema.FeedData {
	for _, b := range p.Branches() {
		if b.Feed != nil && b.Medium == schema.DC {
			return b.Feed
		}
	}
	return nil
}

// flows are what runs out of the hull, by bucket and watch.
func (m *maker) flows(c *schema.Condition) []Measurement {
	w := m.Survey.Water(c)
	var out []Measurement
	seen := map[*schema.Part]bool{}
	at := func(o *schema.Part, what string) bool {
		e, _, ok := w.ExpectedFlow(schema.End{Part: o})
		if !ok || e.Predicted <= 0.05 || seen[o] {
			return ok && seen[o]
		}
		seen[o] = true
		x := measurement(c, schema.End{Part: o}, what, "flow", "L/min", e, withinFlow)
		x.Bucket = bucketFor(e.Predicted)
		out = append(out, x)
		return true
	}
	for _, p := range m.Survey.SeaUsers() {
		f, ok := w.Equipment(p)
		if !ok || f.Flow == 0 || len(w.Missing(p)) > 0 || f.OffCurve {
			continue
		}
		_, outlets := m.intake(p)
		for _, o := range outlets {
			if at(o, "water of "+name(p)+" at its outlet") {
				break
			}
		}
	}
	for _, p := range m.fitted() {
		if !p.Is(schema.Mover) || !m.Survey.Runs(c, p) || len(w.Missing(p)) > 0 {
			continue
		}
		if f, ok := w.Pump(p); !ok || f.Flow == 0 {
			continue
		}
		_, outlets := m.intake(p)
		for _, o := range outlets {
			if at(o, "water of "+name(p)+" at its outlet, while it runs") {
				break
			}
		}
	}
	return out
}

// bucketFor is the least bucket, in litres, that takes ten seconds to fill: less
// cannot be told with a watch.
func bucketFor(litresPerMin float64) float64 {
	for _, l := range []float64{2, 10, 20} {
		if 60*l/litresPerMin >= 10 {
			return l
		}
	}
	return 50
}

// rises are how much warmer the water of cooled equipment leaves.
func (m *maker) rises(c *schema.Condition) []Measurement {
	w := m.Survey.Water(c)
	var out []Measurement
	for _, p := range m.fitted() {
		f, ok := w.Equipment(p)
		if !ok || f.Flow == 0 || !f.HasHeat || len(w.Missing(p)) > 0 || f.OffCurve {
			continue
		}
		at := schema.End{Part: p}
		if e, ok := w.ExpectedRise(at); ok {
			out = append(out, measurement(c, at, "temperature of the water out of "+name(p)+" less that in", "rise", "K", e, withinRise))
		}
	}
	return out
}

// deviceDrops are what each device, switch and shunt loses, in the condition in
// which it carries most.
func (m *maker) deviceDrops(list []*schema.Condition) []Measurement {
	var out []Measurement
	for _, p := range m.fitted() {
		at := schema.End{Part: p}
		var best Measurement
		for _, c := range list {
			d := m.Survey.DC(c)
			if !d.Solved() {
				continue
			}
			e, ok := d.ExpectedDrop(p)
			a, ok2 := d.ExpectedAmps(at)
			if !ok || !ok2 || a.Predicted < 1 || 1000*e.Predicted <= best.Predicted || 1000*e.Predicted < 1 {
				continue
			}
			best = measurement(c, at, fmt.Sprintf("drop over %s at %.1f A", name(p), a.Predicted), "volts", "mV", e, withinDrop)
			if !d.OverDevice(at) {
				best.Quantity = noteQuantity // volts at it are those of its coil
			}
			best.Predicted, best.Low, best.High = 1000*best.Predicted, 1000*best.Low, 1000*best.High
		}
		if best.Predicted > 0 {
			best.table = overDevices
			out = append(out, best)
		}
	}
	return out
}

// runDrops are what is lost along each conductor at full draw, lug to lug. A
// reading stands at a part, not at a wire: they stay on the sheet.
func (m *maker) runDrops() []Measurement {
	var out []Measurement
	for _, w := range m.cables() {
		if id, ok := m.Survey.Net.WireEdge[w]; !ok || id < 0 {
			continue // it leads to a part that is prepared for, not fitted
		}
		best, amp := 0.0, 0.0
		var at *schema.Condition
		for _, c := range m.boat().Conditions {
			if c.Unattended.V {
				continue
			}
			d := m.state(c)
			a, ok := d.Amps(w)
			r, known := d.Ohms(w)
			if ok && known && math.Abs(float64(a)*float64(r)) > best {
				best, amp, at = math.Abs(float64(a)*float64(r)), math.Abs(float64(a)), c
			}
		}
		if best < 0.005 || amp < 5 {
			continue
		}
		out = append(out, Measurement{Condition: at.ID, At: w.Ref(), What: fmt.Sprintf("drop along it at %.1f A, lug to lug: %s to %s", amp, m.wireEnd(w, w.From), m.wireEnd(w, w.To)), Quantity: noteQuantity, Unit: "mV",
			Predicted: 1000 * best, High: 1000 * best * float64(1+withinRun), Within: withinRun, Source: habit, Place: place(w.From.Part), table: overRuns})
	}
	return out
}

// chargeBySpeed is what an alternator can give at each speed of its curve, said
// by the engine's speed, which is what can be read aboard.
func (m *maker) chargeBySpeed() []Measurement {
	var out []Measurement
	for _, p := range m.fitted() {
		f := feedOf(p)
		if f == nil || f.Needs != "engine" {
			continue
		}
		held := "volts of its regulator: not given"
		if f.Volts.Given() {
			held = fmt.Sprintf("at most, the battery asking for it; volts then up to %.2f V", float64(f.Volts.V))
		}
		for i, pt := range f.BySpeed {
			at := "between"
			switch {
			case pt.Y <= 0:
				continue
			case i == 0 || f.BySpeed[i-1].Y <= 0:
				at = "slow, idle"
			case i == len(f.BySpeed)-1:
				at = "fast, cruise"
			}
			out = append(out, Measurement{At: p.ID, What: fmt.Sprintf("charge current and volts of %s at %.0f rpm of the engine (%s)", name(p), pt.X/f.Ratio.Or(2), at), Quantity: noteQuantity,
				Predicted: pt.Y, High: pt.Y * float64(1+withinAmps), Unit: "A", Within: withinAmps, Good: held, Source: "curve of the file; tolerance " + habit, Place: place(p), table: bySpeed})
		}
	}
	return out
}

// shoreTests are for a licensed person only.
func (m *maker) shoreTests() []Measurement {
	var out []Measurement
	note := func(p *schema.Part, what, good, source string) {
		out = append(out, Measurement{At: p.ID, What: what, Quantity: noteQuantity, Good: good, Source: source, Place: place(p), table: atShore})
	}
	for _, p := range m.fitted() {
		if p.Is(schema.ShorePower) {
			note(p, "polarity at "+name(p)+", by instrument", "live on live, neutral on neutral", habit)
			note(p, "earth from "+name(p)+" to each metal case and socket", "below 1 Ω", "navy text for tool earths")
		}
		if !p.Is(schema.Residual) && !tripsOnLeak(p) {
			continue
		}
		trip, source := "the rated trip current as stated on the device", "as stated on the device"
		if t := p.Amps("trip"); t.Given() {
			trip, source = t.V.String(), "the file's trip of "+p.ID
		}
		note(p, "residual current at which "+name(p)+" trips, rising slowly", "trips at no more than "+trip, source)
		note(p, "time in which "+name(p)+" trips at its rated residual current", "as stated on the device and by the local code; where a 30 mA shore device is asked for, within 100 ms", "E-11 11.11.1 for the shore feed (voluntary, by report); else as stated on the device")
		note(p, "test button of "+name(p), "trips; all behind it is dead", habit)
	}
	return out
}

// tripsOnLeak reports whether a part holds a residual-current device.
func tripsOnLeak(p *schema.Part) bool {
	return p.Kind.Attr("trip") != nil && p.Has("trip") || slices.ContainsFunc(p.Ways, func(w schema.Way) bool { return w.Trip.Given() })
}

// alarmTests are at what height or by what each alarm sounds.
func (m *maker) alarmTests() []Measurement {
	var out []Measurement
	for _, p := range m.fitted() {
		if !p.Is(schema.AlarmRole) {
			continue
		}
		x := Measurement{At: p.ID, What: name(p) + ": make it sound by what it senses", Quantity: noteQuantity, Good: "sounds, and is heard where people are", Source: habit, Place: place(p), table: atAlarms}
		water := slices.ContainsFunc(p.WordList("senses"), func(v schema.Val[string]) bool { return v.V == "water" })
		if h := p.Height(); water && h.Given() {
			x.What = name(p) + ": height of real water at which it sounds, against the waterline at rest"
			x.Predicted, x.Low, x.High, x.Unit = 1000*float64(h.V), 1000*float64(h.V)-20, 1000*float64(h.V)+20, "mm"
			x.Good = "minus is below the waterline; within 20 mm"
		}
		out = append(out, x)
	}
	return out
}

// restTests are bilge pumps that no condition runs while somebody is there, and
// what is drawn with everything off.
func (m *maker) restTests() []Measurement {
	var out []Measurement
	for _, b := range m.Survey.BilgeOutputs() {
		how := "with the charger off"
		if b.Hand {
			how = "by hand, at an even pace"
		}
		x := Measurement{At: b.Pump.ID, What: "water of " + name(b.Pump) + " by bucket and watch, " + how, Quantity: noteQuantity, Source: habit, Place: place(b.Pump), Good: "not computed: " + m.whyNoFlow(b), table: atRest}
		if q := math.Abs(float64(b.Flow)); len(b.Missing) == 0 && q > 0.05 {
			x.Predicted, x.Low, x.High, x.Unit, x.Within, x.Good = q, q*float64(1-withinFlow), q*float64(1+withinFlow), "L/min", withinFlow, ""
			x.Bucket = bucketFor(q)
		}
		out = append(out, x)
	}
	s, _ := m.parasitic()
	return append(out, Measurement{At: "all", What: "current with everything off, meter in the minus cable", Quantity: noteQuantity, Good: s, Source: "draws of the file", table: atRest})
}

func (m *maker) whyNoFlow(b survey.BilgeOutput) string {
	var out []string
	for _, d := range b.Missing {
		out = append(out, d.Missing)
	}
	if len(out) == 0 {
		return "no water moves by the file"
	}
	return strings.Join(out, ", ") + " not given"
}
