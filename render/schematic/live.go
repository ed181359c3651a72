package schematic

import (
	"strings"

	"fitout/schema"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

func fields(s string) []string { return strings.Fields(s) }

// exposed are the conductors joined to a battery with no fuse or breaker between:
// what a reviewer looks for first. Switches and shunts do not count.
func exposed(s *survey.Survey) map[*schema.Wire]bool {
	out := map[*schema.Wire]bool{}
	pieces := map[int]bool{}
	for _, src := range s.Net.Sources {
		if src.Medium == schema.DC && src.Unlimited {
			if c := s.Net.Component(src.Node); c >= 0 {
				pieces[c] = true
			}
		}
	}
	for _, w := range s.Boat.Wires {
		id, ok := s.Net.WireEdge[w]
		if !ok || id < 0 || w.Medium != schema.DC {
			continue
		}
		if e := &s.Net.Edges[id]; pieces[s.Net.Component(e.A)] && pieces[s.Net.Component(e.B)] {
			out[w] = true
		}
	}
	return out
}

// live lists what stays live when every switch that a person moves is open:
// terminals of parts and conductors, in order of the file. Breakers and contacts
// that move by themselves count as closed, the sun as shining.
func live(s *survey.Survey) (parts, wires []string) {
	n := s.Net
	on := make([]bool, len(n.Nodes))
	var stack []int
	push := func(v int) {
		if v >= 0 && !on[v] && n.Nodes[v].Live() {
			on[v] = true
			stack = append(stack, v)
		}
	}
	for i := range n.Edges {
		e := &n.Edges[i]
		sun := e.Type == trace.Feed && e.Branch.Feed.Needs == "sun"
		if e.Medium == schema.DC && (e.Type == trace.Battery || sun) {
			push(e.A)
			if !n.Nodes[e.B].Grounded && e.Type == trace.Battery {
				push(e.B)
			}
		}
	}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, id := range n.Nodes[v].Edges {
			e := &n.Edges[id]
			switch e.Type {
			case trace.Conductor, trace.Device, trace.Series:
				push(e.Other(v))
			case trace.Contact:
				if !survey.ByPerson(e) && !survey.Bond(e) {
					push(e.Other(v))
				}
			case trace.ConvertIn:
				if !e.Part.Has("remote") {
					push(n.Node(e.Part, e.Branch.Convert.OutA))
				}
			}
		}
	}
	for _, p := range s.Boat.Parts {
		if p.Prepared {
			continue
		}
		parts = append(parts, liveTerminals(n, p, on)...)
	}
	for _, w := range s.Boat.Wires {
		id, ok := n.WireEdge[w]
		if ok && id >= 0 && w.Medium == schema.DC && on[n.Edges[id].A] {
			wires = append(wires, w.Ref())
		}
	}
	return parts, wires
}

// liveTerminals names a part once where all of it that is not grounded is live,
// else its live terminals.
func liveTerminals(n *trace.Net, p *schema.Part, on []bool) []string {
	var names []string
	dead := false
	for _, t := range p.Terminals() {
		v := n.Node(p, t.Name)
		if v < 0 || t.Hidden || t.Medium != schema.DC || !n.Nodes[v].Live() || !joined(n, v) {
			continue
		}
		if !on[v] {
			dead = true
			continue
		}
		names = append(names, strings.TrimSuffix(p.ID+"."+shown(t.Name), "."))
	}
	if len(names) > 0 && !dead {
		return []string{p.ID}
	}
	return names
}

// joined tells whether a conductor meets a joint.
func joined(n *trace.Net, v int) bool {
	for _, id := range n.Nodes[v].Edges {
		if n.Edges[id].Type == trace.Conductor {
			return true
		}
	}
	return false
}
