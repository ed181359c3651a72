package survey

import "fitout/schema"

// Failure is one thing that opened, shut or broke, with what it costs.
type Failure struct {
	ID    string
	What  string
	Space *schema.Space
	Loss
}

// Sweep lets every fuse, breaker, panel way, switch, valve, pump and battery,
// then every run and hose fail in turn, one at a time, in file order.
func (s *Survey) Sweep() []Failure {
	var out []Failure
	for _, p := range s.Boat.Parts {
		if p.Prepared {
			continue
		}
		for _, w := range p.Ways {
			if !w.Spare {
				out = append(out, Failure{p.ID + "." + w.Key, "panel way", p.Space, s.Lost(p, w.Key)})
			}
		}
		if p.Roles().Any(schema.Protection | schema.Switching | schema.Shutoff | schema.Mover | schema.Storage | schema.Distribution) {
			out = append(out, Failure{p.ID, p.Kind.Title, p.Space, s.Lost(p, "")})
		}
	}
	seen := map[string]bool{}
	for _, w := range s.Boat.Wires {
		if w.Prepared || w.Implied || seen[w.Ref()] {
			continue
		}
		seen[w.Ref()] = true
		out = append(out, Failure{ID: w.Ref(), What: "wire", Loss: s.LostRun(w, nil)})
	}
	for _, h := range s.Boat.Hoses {
		if !h.Prepared && !h.Implied {
			out = append(out, Failure{ID: h.ID, What: "hose", Loss: s.LostRun(nil, h)})
		}
	}
	return out
}
