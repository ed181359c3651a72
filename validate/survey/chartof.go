package survey

import (
	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/trace"
)

// ChartSubject is what a time-current chart is asked for: a device (with its way
// where the part is a panel), a wire, or a load.
type ChartSubject struct {
	Part *schema.Part
	Way  string
	Wire *schema.Wire
}

// CircuitChart is the chart chosen for a subject.
type CircuitChart struct {
	Chart
	// Subject is the device asked for, as Chart.Devices names it; empty for a wire
	// or a load.
	Subject string
	// Circuits is how many loads are fed through the subject; the chart is that of
	// the one with the least short-circuit current at its far end, the hardest to
	// clear. 0 where none is: then the chart holds the device or wire alone, and
	// Fault is the least short-circuit current at either end of it.
	Circuits int
}

// ChartOf gathers the time-current chart for a device, wire or load; missing says
// what keeps it from being made.
func (s *Survey) ChartOf(x ChartSubject) (CircuitChart, []Datum) {
	var out CircuitChart
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		if e.Medium != schema.DC || e.Type != trace.Load && e.Type != trace.ConvertIn {
			continue
		}
		if x.Part != e.Part && !onWay(s.wayToSource(e.A), x) {
			continue
		}
		c, ok := s.Chart(e.Part)
		if !ok {
			continue
		}
		out.Circuits++
		if out.Circuits == 1 || c.Fault > 0 && (out.Fault == 0 || c.Fault < out.Fault) {
			out.Chart = c
		}
	}
	e := s.subjectEdge(x)
	if out.Circuits == 0 {
		if e == nil {
			return out, []Datum{partDatum("a way over DC wires from a battery or converter to "+x.Part.ID, x.Part)}
		}
		out.Chart = s.standingAlone(e)
	}
	if x.Wire != nil {
		out.Wire, out.Damage = x.Wire, nil
		if !x.Wire.Size.Given() || x.Wire.Size.V.IsZero() {
			return out, []Datum{{Missing: "the size of wire " + x.Wire.ID, At: x.Wire.At, IDs: []string{x.Wire.ID}}}
		}
		out.damage()
	}
	if e != nil && e.Type == trace.Device {
		d := chartDevice(e)
		if out.Subject = d.Name; d.Rating <= 0 {
			return out, []Datum{partDatum("the rating of "+d.Name, e.Part)}
		}
	}
	return out, nil
}

func onWay(way []*trace.Edge, x ChartSubject) bool {
	for _, e := range way {
		if x.matches(e) {
			return true
		}
	}
	return false
}

// matches reports whether an edge is the device or the wire asked for.
func (x ChartSubject) matches(e *trace.Edge) bool {
	if x.Wire != nil {
		return e.Wire == x.Wire
	}
	return e.Type == trace.Device && e.Medium == schema.DC && e.Part == x.Part && (x.Way == "" || e.Branch.Way == x.Way)
}

func (s *Survey) subjectEdge(x ChartSubject) *trace.Edge {
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; x.matches(e) {
			return e
		}
	}
	return nil
}

// standingAlone is the chart of a device or wire through which no load is fed,
// such as the fuse of a charger: itself, the thinnest conductor at its own
// terminals, the least short-circuit current at either end.
func (s *Survey) standingAlone(e *trace.Edge) Chart {
	c := Chart{Wire: e.Wire}
	if e.Type == trace.Device {
		d := chartDevice(e)
		c.Circuit, c.Devices = d.Name, []ChartDevice{d}
		for _, w := range s.Boat.Wires {
			if at(w, e) && w.Size.Given() && !w.Size.V.IsZero() && (c.Wire == nil || w.Size.V.Area < c.Wire.Size.V.Area) {
				c.Wire = w
			}
		}
	} else {
		c.Circuit = "wire " + e.Wire.ID
	}
	if c.Wire != nil && c.Wire.Size.Given() && !c.Wire.Size.V.IsZero() {
		c.damage()
	}
	for _, node := range []int{e.A, e.B} {
		if short, ok := s.ShortBetween(node, s.MainReturn(node)); ok && short.Total() > 0 && (c.Fault == 0 || short.Total() < c.Fault) {
			c.Fault = unit.Amp(short.Total())
		}
	}
	return c
}

// at reports whether a wire ends on one of the terminals of a device.
func at(w *schema.Wire, e *trace.Edge) bool {
	own := func(end schema.End) bool {
		return end.Part == e.Part && (end.Terminal == e.Branch.A || end.Terminal == e.Branch.B)
	}
	return own(w.From) || own(w.To)
}
