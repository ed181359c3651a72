package survey

import (
	"fitout/schema"
	"fitout/validate/trace"
)

// references lists the joints that stand at 0 V, the first that an island has:
// ground parts, then negative buses, the one with most conductors first.
func (s *Survey) references() []int {
	if s.referred {
		return s.grounds
	}
	s.referred = true
	for _, p := range s.Boat.Parts {
		if p.Prepared || !p.Is(schema.Grounding) {
			continue
		}
		if n := s.Net.Node(p, p.Terminals()[0].Name); n >= 0 {
			s.grounds = append(s.grounds, n)
		}
	}
	best, most := -1, 0
	for _, p := range s.Boat.Parts {
		if p.Prepared || !p.Is(schema.Distribution) || p.Is(schema.Panel) || p.Is(schema.ACPart) {
			continue
		}
		n := s.Net.Node(p, p.Terminals()[0].Name)
		if n < 0 || !s.Net.Nodes[n].Grounded {
			continue
		}
		lugs := 0
		for _, id := range s.Net.Nodes[n].Edges {
			if s.Net.Edges[id].Type == trace.Conductor {
				lugs++
			}
		}
		if p.Word("polarity").V == "negative" {
			lugs += 1000
		}
		if lugs > most {
			best, most = n, lugs
		}
	}
	if best >= 0 {
		s.grounds = append(s.grounds, best)
	}
	return s.grounds
}

// Reference names the terminal at 0 V of the boat's main island: a ground part,
// else the main negative bus, else the first battery's negative.
func (s *Survey) Reference() string {
	live := map[int]bool{}
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		if e.Type == trace.Conductor && e.Medium == schema.DC {
			live[e.A], live[e.B] = true, true
		}
	}
	for _, n := range s.references() {
		if live[n] {
			return s.NodeName(n)
		}
	}
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Type == trace.Battery {
			return e.Part.ID + "." + e.Branch.B
		}
	}
	if len(s.references()) > 0 {
		return s.NodeName(s.references()[0])
	}
	return ""
}

// ReferenceNode is the joint at 0 V that edges which pass lead to from a joint,
// the joint itself where none do.
func (s *Survey) ReferenceNode(node int, pass func(*trace.Edge) bool) int {
	for _, n := range s.references() {
		if n == node || s.Path(n, node, pass) != nil {
			return n
		}
	}
	return node
}

// NodeName names a joint: a ground, bus or stud by its id, any other by its
// first terminal.
func (s *Survey) NodeName(n int) string {
	if n < 0 || n >= len(s.Net.Nodes) {
		return ""
	}
	ends := s.Net.Nodes[n].Ends
	for _, e := range ends {
		if e.Part.Is(schema.Grounding) {
			return e.Part.ID
		}
	}
	for _, e := range ends {
		if e.Part.Kind.Single && e.Part.Kind.Open {
			return e.Part.ID
		}
	}
	if len(ends) == 0 {
		return ""
	}
	return ends[0].String()
}

// terminalNames lists the terminals of a joint as the file would name them, a
// bus or stud once.
func (s *Survey) terminalNames(n int) []string {
	var names []string
	seen := map[string]bool{}
	for _, e := range s.Net.Nodes[n].Ends {
		name := TerminalName(e.Part, e.Terminal)
		if t, ok := e.Part.Terminal(e.Terminal); ok && t.Hidden || seen[name] {
			continue
		}
		seen[name] = true
		names = append(names, name)
	}
	return names
}

// TerminalName is a terminal as the file and the output name it: a bus or stud
// by its own id.
func TerminalName(p *schema.Part, terminal string) string {
	if terminal == "" || p.Kind.Single && p.Kind.Open {
		return p.ID
	}
	return p.ID + "." + terminal
}
