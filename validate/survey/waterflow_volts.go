package survey

import (
	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/trace"
)

// supplyVolts is the voltage at a DC pump's terminals in a condition.
type supplyVolts struct {
	volts unit.Volt
	known bool
	// lacks is what hides it.
	lacks []Datum
	// note says what the figure leaves out.
	note string
}

// voltsAt returns the voltage over the load of a part. It is not known, and the
// pump runs at the speed of its curve, where the file joins the pump to no source;
// it is nothing where switches keep the sources from it.
func (s *Survey) voltsAt(c *schema.Condition, p *schema.Part) supplyVolts {
	e := s.loadEdge(p)
	if e == nil || !s.Joined(e.A) || !s.Joined(e.B) || !s.canBeFed(e) {
		return supplyVolts{}
	}
	d := s.DCWithoutCranking(c)
	if d == nil {
		return supplyVolts{}
	}
	if gap, hidden := d.Hidden(e); hidden {
		return supplyVolts{lacks: []Datum{{Missing: gap.What, At: gap.At, IDs: gap.IDs}}}
	}
	if !d.Bounded() {
		return supplyVolts{lacks: []Datum{partDatum("a solution of the DC system at "+p.ID, p)}}
	}
	out := supplyVolts{known: true}
	if v, ok := d.acrossEdge(e); ok {
		out.volts = v
	}
	if !d.Solved() && len(d.Missing) > 0 {
		out.note = "without what is not stated: " + d.Missing[0].What
	}
	return out
}

func (s *Survey) loadEdge(p *schema.Part) *trace.Edge {
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Part == p && e.Type == trace.Load && e.Medium == schema.DC {
			return e
		}
	}
	return nil
}

// canBeFed reports whether any source reaches a load with every contact closed.
func (s *Survey) canBeFed(load *trace.Edge) bool {
	g := s.AnyPosition()
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		a := e.A
		switch e.Type {
		case trace.Battery, trace.Feed:
		case trace.ConvertIn:
			a = s.Net.Node(e.Part, e.Branch.Convert.OutA)
		default:
			continue
		}
		if g.Same(a, load.A) {
			return true
		}
	}
	return false
}
