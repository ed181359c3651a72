// Package figures lists what was computed about one boat as plain rows: by
// thing, condition and quantity. The comparison of two boats, the review page
// and an editor's hover show the same rows. It computes nothing itself.
package figures

import (
	"math"
	"strconv"
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

// Quantity is what a figure is of.
type Quantity string

// The quantities.
const (
	Current    Quantity = "current"
	Drop       Quantity = "drop"
	Voltage    Quantity = "voltage"
	Hours      Quantity = "hours"
	Ampacity   Quantity = "ampacity"
	Exposed    Quantity = "ahead of any device"
	Fault      Quantity = "short-circuit current"
	Flow       Quantity = "flow"
	Velocity   Quantity = "velocity"
	HeadLoss   Quantity = "head loss"
	Head       Quantity = "head"
	Needs      Quantity = "flow needed"
	Rise       Quantity = "temperature rise"
	Resistance Quantity = "resistance"
)

// Figure is one computed value. Condition is empty where it holds in all of
// them. Where the value is not known Missing names the datum it wants.
type Figure struct {
	ID        string
	Condition string
	Quantity  Quantity
	Value     float64
	Unit      string
	Missing   string
}

// Known reports whether there is a value.
func (f Figure) Known() bool { return f.Missing == "" }

// Text is the value with its unit to three figures, or what it lacks.
func (f Figure) Text() string {
	if !f.Known() {
		return "not known: " + f.Missing
	}
	return Round(f.Value) + " " + f.Unit
}

// Round writes a number to three figures at least, without an exponent.
func Round(v float64) string {
	if math.Abs(v) < 1e-9 {
		return "0"
	}
	short := strconv.FormatFloat(v, 'e', 2, 64)
	_, power, _ := strings.Cut(short, "e")
	exponent, err := strconv.Atoi(power)
	if err != nil {
		return short // not a number, or infinite
	}
	return strconv.FormatFloat(v, 'f', min(max(0, 2-exponent), 9), 64)
}

// Of lists every figure of a boat: what holds always first, then condition by
// condition, each in order of the file.
func Of(s *survey.Survey) []Figure {
	r := &rows{Survey: s}
	r.always()
	for _, c := range s.Boat.Conditions {
		r.condition = c.ID
		r.dc(s.DCWithoutCranking(c))
		r.water(s.Water(c))
	}
	return r.list
}

type rows struct {
	*survey.Survey
	condition string
	list      []Figure
}

func (r *rows) add(id string, q Quantity, v float64, u string) {
	if !math.IsNaN(v) && !math.IsInf(v, 0) {
		r.list = append(r.list, Figure{ID: id, Condition: r.condition, Quantity: q, Value: v, Unit: u})
	}
}

func (r *rows) lacks(id string, q Quantity, u, missing string) {
	r.list = append(r.list, Figure{ID: id, Condition: r.condition, Quantity: q, Unit: u, Missing: missing})
}

// always lists what does not depend on a condition.
func (r *rows) always() {
	bare := unguarded(r.Survey)
	seen := map[string]bool{}
	for _, w := range r.Boat.Wires {
		if w.Prepared || w.Implied || w.Carries.V == "signal" || seen[w.Ref()] {
			continue
		}
		seen[w.Ref()] = true
		if least, ok := r.leastAmpacity(w); ok {
			r.add(w.Ref(), Ampacity, float64(least), "A")
		}
		if ohms, missing := r.WireOhms(w, false); missing == "" {
			r.add(w.Ref(), Resistance, 1000*float64(ohms), "mΩ")
		}
		switch {
		case bare[w] && w.Length.Given():
			r.add(w.Ref(), Exposed, float64(w.Length.V), "m")
		case bare[w]:
			r.lacks(w.Ref(), Exposed, "m", "length of wire "+w.Ref())
		}
	}
}

func (r *rows) leastAmpacity(w *schema.Wire) (unit.Amp, bool) {
	least, ok := unit.Amp(0), false
	for _, set := range r.Sets() {
		a, missing := r.Survey.Ampacity(w, set)
		if missing != "" {
			return 0, false
		}
		if !ok || a.Amps < least {
			least, ok = a.Amps, true
		}
	}
	return least * unit.Amp(w.Parallel.Or(1)), ok
}

func (r *rows) dc(d *survey.DCState) {
	if d == nil || !d.Bounded() {
		return
	}
	missing := ""
	if !d.Solved() && len(d.Missing) > 0 {
		missing = d.Missing[0].What
	}
	for _, w := range r.Boat.Wires {
		if w.Prepared || w.Implied || w.Medium != schema.DC || r.Net.WireEdge[w] < 0 {
			continue
		}
		amps, ok := d.Amps(w)
		switch {
		case ok:
			r.add(w.Ref(), Current, float64(amps), "A")
			if ohms, known := d.Ohms(w); known {
				r.add(w.Ref(), Drop, math.Abs(float64(amps))*float64(ohms)*1000, "mV")
			}
		case missing != "":
			r.lacks(w.Ref(), Current, "A", missing)
		}
	}
	for _, p := range r.Boat.Parts {
		if !p.Prepared {
			r.part(d, p)
		}
	}
}

func (r *rows) part(d *survey.DCState, p *schema.Part) {
	if amps, ok := d.DeviceAmps(p, ""); ok {
		r.add(p.ID, Current, math.Abs(float64(amps)), "A")
	}
	for _, w := range p.Ways {
		if amps, ok := d.DeviceAmps(p, w.Key); ok {
			r.add(p.ID+"."+w.Key, Current, math.Abs(float64(amps)), "A")
		}
	}
	if amps, ok := d.BatteryAmps(p); ok {
		r.add(p.ID, Current, float64(amps), "A")
		if h, ok := d.Hours(p); ok {
			r.add(p.ID, Hours, float64(h), "h")
		}
	}
	for _, l := range d.Loads {
		if l.Part == p && l.Runs {
			if amps, ok := d.LoadAmps(l); ok && d.Solved() {
				r.add(p.ID, Current, float64(amps), "A")
			}
		}
	}
	if v, ok := d.Across(p); ok {
		r.add(p.ID, Voltage, float64(v), "V")
		return
	}
	if p.Is(schema.Distribution) && len(p.Terminals()) > 0 {
		if v, ok := d.Volts(p, p.Terminals()[0].Name); ok {
			r.add(p.ID, Voltage, float64(v), "V")
		}
	}
}

func (r *rows) water(w *survey.WaterState) {
	if w == nil {
		return
	}
	for _, h := range r.Boat.Hoses {
		c := w.OfHose(h)
		if h.Prepared || h.Implied || c == nil {
			continue
		}
		f, ok := w.Hose(h)
		switch {
		case !ok && len(c.Missing) > 0:
			r.lacks(h.ID, Flow, "L/min", c.Missing[0].Missing)
		case ok:
			r.add(h.ID, Flow, float64(f.Flow), "L/min")
			if h.Bore.Given() {
				r.add(h.ID, Velocity, float64(f.Velocity), "m/s")
			}
			if f.Heads {
				r.add(h.ID, HeadLoss, float64(f.Loss), "m")
			}
		}
	}
	for _, p := range r.Boat.Parts {
		if !p.Prepared {
			r.waterPart(w, p)
		}
	}
}

func (r *rows) waterPart(w *survey.WaterState, p *schema.Part) {
	if f, ok := w.Pump(p); ok {
		r.add(p.ID, Flow, float64(f.Flow), "L/min")
		if f.Heads {
			r.add(p.ID, Head, float64(f.Head), "m")
		}
	}
	if e, ok := w.Equipment(p); ok {
		if _, pumped := w.Pump(p); !pumped {
			r.add(p.ID, Flow, float64(e.Flow), "L/min")
		}
		if e.HasNeeds {
			r.add(p.ID, Needs, float64(e.Needs), "L/min")
		}
		if e.Rise > 0 {
			r.add(p.ID, Rise, float64(e.Rise), "K")
		}
	}
}
