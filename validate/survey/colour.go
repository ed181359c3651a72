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
	from, to := polarity(w.From), polarity(w.To)
	switch {
	case from == schema.Earth || to == schema.Earth:
		return tables.ACEarth
	case from == schema.Live || to == schema.Live:
		return tables.ACLive
	case from == schema.Neutral || to == schema.Neutral:
		return tables.ACNeutral
	case bonding(w.From) || bonding(w.To):
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
