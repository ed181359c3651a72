package figures

import (
	"fitout/schema"
	"fitout/validate/survey"
)

// unguarded are the conductors joined to a battery with no fuse or breaker
// between: switches and shunts do not count.
func unguarded(s *survey.Survey) map[*schema.Wire]bool {
	pieces := map[int]bool{}
	for i := range s.Net.Sources {
		if src := &s.Net.Sources[i]; src.Unlimited && src.Medium == schema.DC {
			if c := s.Net.Component(src.Node); c >= 0 {
				pieces[c] = true
			}
		}
	}
	out := map[*schema.Wire]bool{}
	for _, w := range s.Boat.Wires {
		if id, ok := s.Net.WireEdge[w]; ok && id >= 0 && w.Medium == schema.DC {
			e := &s.Net.Edges[id]
			out[w] = pieces[s.Net.Component(e.A)] && pieces[s.Net.Component(e.B)]
		}
	}
	return out
}
