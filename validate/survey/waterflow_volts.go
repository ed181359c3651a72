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
	// cut is set where a switch that a person moves keeps every source from it.
	cut bool
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
	d := s.Judged(c)
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
	if out.volts <= 0 {
		// A relay, float or control closes when the pump is to run.
		return supplyVolts{cut: !s.fedBy(e, s.Groups(handSet(c)))}
	}
	if !d.Solved() && len(d.Missing) > 0 {
		out.note = "without what is not stated: " + d.Missing[0].What
	}
	return out
}

func (s *Survey) loadEdge(p *schema.Part) *trace.Edge {
	s.indexEdges()
	return s.loadOf[p]
}

// indexEdges finds once which edge is a part's DC load and which are sources.
func (s *Survey) indexEdges() {
	if s.loadOf != nil {
		return
	}
	s.loadOf = map[*schema.Part]*trace.Edge{}
	for i := range s.Net.Edges {
		switch e := &s.Net.Edges[i]; e.Type {
		case trace.Load:
			if e.Medium == schema.DC && s.loadOf[e.Part] == nil {
				s.loadOf[e.Part] = e
			}
		case trace.Battery, trace.Feed, trace.ConvertIn:
			s.giving = append(s.giving, e)
		}
	}
}

// canBeFed reports whether any source reaches a load with every contact closed.
func (s *Survey) canBeFed(load *trace.Edge) bool { return s.fedBy(load, s.AnyPosition()) }

// handSet accepts what passes with switches as the condition sets them and every
// contact that moves by itself closed.
func handSet(c *schema.Condition) func(*trace.Edge) bool {
	set := Setting{}
	return func(e *trace.Edge) bool {
		if e.Type == trace.Contact && !ByPerson(e) {
			return !Bond(e)
		}
		if e.Part != nil {
			if at, moved := c.Positions[e.Part.ID]; moved {
				set[e.Part] = at
			}
		}
		return set.Passes(e)
	}
}

func (s *Survey) fedBy(load *trace.Edge, g *Groups) bool {
	s.indexEdges()
	for _, e := range s.giving {
		a := e.A
		if e.Type == trace.ConvertIn {
			a = s.Net.Node(e.Part, e.Branch.Convert.OutA)
		}
		if g.Same(a, load.A) {
			return true
		}
	}
	return false
}
