package survey

import (
	"fitout/schema"
	"fitout/validate/tables"
)

// ColourRole is what a conductor is, as far as its colour goes: by its core in an
// AC cable, else bonding where an end is a bonding point, an anode or a case, negative where it is grounded or lands on a minus, else positive.
func (s *Survey) ColourRole(w *schema.Wire) tables.Role {
	switch w.Core {
	case "L":
		return tables.ACLive
	case "N":
		return tables.ACNeutral
	case "PE":
		return tables.ACEarth
	}
	ends := s.runEnds(w)
	from, to := polarity(ends[0]), polarity(ends[1])
	switch {
	case from == schema.Earth || to == schema.Earth:
		return tables.ACEarth
	case from == schema.Live || to == schema.Live:
		return tables.ACLive
	case from == schema.Neutral || to == schema.Neutral:
		return tables.ACNeutral
	case bonding(ends[0]) || bonding(ends[1]):
		return tables.Bonding
	}
	if id := s.Net.WireEdge[w]; id >= 0 {
		e := &s.Net.Edges[id]
		if s.Net.Nodes[e.A].Grounded || s.Net.Nodes[e.B].Grounded {
			return tables.DCNegative
		}
	}
	if from == schema.Minus && to != schema.Plus || to == schema.Minus && from != schema.Plus {
		return tables.DCNegative
	}
	return tables.DCPositive
}

// runEnds are the ends of the whole run a conductor belongs to: a stud or block
// with two lugs is a splice in it.
func (s *Survey) runEnds(w *schema.Wire) [2]schema.End {
	ends := [2]schema.End{w.From, w.To}
	if s.Net.WireEdge[w] < 0 {
		return ends
	}
	for side := range ends {
		at := w
		for range s.Boat.Wires {
			next := s.spliced(at, ends[side])
			if next == nil || next == w {
				break
			}
			if next.From.Part == ends[side].Part {
				ends[side] = next.To
			} else {
				ends[side] = next.From
			}
			at = next
		}
	}
	return ends
}

// spliced returns the one other conductor on a joint, nil where there is none or
// where several meet.
func (s *Survey) spliced(w *schema.Wire, e schema.End) *schema.Wire {
	if e.Part == nil || !e.Part.Is(schema.Distribution) || e.Part.Is(schema.Panel) {
		return nil
	}
	n := s.Net.Node(e.Part, e.Terminal)
	if n < 0 {
		return nil
	}
	var other *schema.Wire
	for _, id := range s.Net.Nodes[n].Edges {
		switch edge := &s.Net.Edges[id]; {
		case edge.Wire == w:
		case edge.Wire == nil || other != nil:
			return nil
		default:
			other = edge.Wire
		}
	}
	return other
}

// BeyondSplices follows a conductor away from a joint, through studs and blocks
// where it meets one other, to the joint where the run ends.
func (s *Survey) BeyondSplices(w *schema.Wire, from int) int {
	id := s.Net.WireEdge[w]
	if id < 0 {
		return from
	}
	node := s.Net.Edges[id].Other(from)
	for range s.Boat.Wires {
		end := w.To
		if s.Net.Node(w.To.Part, w.To.Terminal) != node {
			end = w.From
		}
		next := s.spliced(w, end)
		if next == nil {
			break
		}
		w, node = next, s.Net.Edges[s.Net.WireEdge[next]].Other(node)
	}
	return node
}

// DefaultColour is the set's colour for a conductor whose colour is not given.
func (s *Survey) DefaultColour(w *schema.Wire) string {
	return tables.DefaultColour(s.Sets()[0], s.ColourRole(w))
}

func polarity(e schema.End) schema.Polarity {
	if e.Part == nil {
		return schema.Through
	}
	t, ok := e.Part.Terminal(e.Terminal)
	if !ok {
		return schema.Through
	}
	return t.Polarity
}

// bonding reports an end on a bonding point, an anode or the case of a part. The
// engine's negative stud is no such end: what lands there may carry current.
func bonding(e schema.End) bool {
	if e.Part == nil {
		return false
	}
	r := e.Part.Roles()
	return r.Any(schema.Bonding) || polarity(e) == schema.Ground && !r.Any(schema.Grounding)
}
