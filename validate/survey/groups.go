package survey

import (
	"slices"

	"fitout/schema"
	"fitout/validate/trace"
)

// Groups numbers the joints that some edges of the net unite.
type Groups struct{ root []int }

// Groups unites the two joints of every edge that pass accepts.
func (s *Survey) Groups(pass func(*trace.Edge) bool) *Groups {
	g := &Groups{root: make([]int, len(s.Net.Nodes))}
	for i := range g.root {
		g.root[i] = i
	}
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; pass(e) {
			g.join(e.A, e.B)
		}
	}
	for i := range g.root {
		g.root[i] = g.find(i)
	}
	return g
}

func (g *Groups) find(n int) int {
	for g.root[n] != n {
		g.root[n] = g.root[g.root[n]]
		n = g.root[n]
	}
	return n
}

func (g *Groups) join(a, b int) {
	if a, b = g.find(a), g.find(b); a != b {
		g.root[b] = a
	}
}

// Of returns the number of a joint's group; -1 for a joint that is not there.
func (g *Groups) Of(node int) int {
	if node < 0 {
		return -1
	}
	return g.root[node]
}

// Same reports whether two joints are united.
func (g *Groups) Same(a, b int) bool { return a >= 0 && b >= 0 && g.root[a] == g.root[b] }

// Setting says how contacts stand that do not stand as they usually do.
type Setting map[*schema.Part]string

// Closed reports whether a contact makes in a setting. Contacts that join
// neutral to earth never count.
func (st Setting) Closed(e *trace.Edge) bool {
	c := e.Branch.Contact
	if c == nil || c.Bond {
		return false
	}
	if at, moved := st[e.Part]; moved {
		return slices.Contains(c.MakesIn, at)
	}
	return slices.Contains(c.MakesIn, c.Position)
}

// Passes reports whether an edge joins its two joints through no load in a
// setting.
func (st Setting) Passes(e *trace.Edge) bool {
	switch e.Type {
	case trace.Conductor, trace.Series, trace.Device:
		return true
	case trace.Contact:
		return st.Closed(e)
	}
	return false
}

// ByPerson reports a contact that a person moves.
func ByPerson(e *trace.Edge) bool {
	return e.Type == trace.Contact && e.Branch.Contact != nil && !e.Branch.Contact.Automatic && !e.Branch.Contact.Bond
}

// Bond reports the contact that joins neutral to earth in an AC source.
func Bond(e *trace.Edge) bool {
	return e.Type == trace.Contact && e.Branch.Contact != nil && e.Branch.Contact.Bond
}

// Breaker reports a device with a handle that stands alone: a person can open it
// as a switch.
func Breaker(e *trace.Edge) bool {
	return e.Type == trace.Device && e.Medium == schema.DC && e.Part.Is(schema.Switching) && !e.Part.Is(schema.Panel)
}

// Disconnects reports whether a person can part a battery with the edge: a
// switch or selector, a remote switch, a breaker that stands alone. A relay that
// combines batteries while they charge is none.
func Disconnects(e *trace.Edge) bool {
	if ByPerson(e) || Breaker(e) {
		return true
	}
	if e.Type != trace.Contact || e.Part.Is(schema.Sensing) || e.Medium != schema.DC {
		return false
	}
	kind := e.Part.Word("type").V
	return kind != "combining" && kind != "changeover"
}

// AnyPosition returns the groups with every contact closed.
func (s *Survey) AnyPosition() *Groups {
	if s.anyPosition == nil {
		s.anyPosition = s.Groups(func(e *trace.Edge) bool { return (e.Passes() || e.Type == trace.Device) && !Bond(e) })
	}
	return s.anyPosition
}

// AtRest returns the state with every contact as it usually stands.
func (s *Survey) AtRest() *State {
	if s.atRest == nil {
		s.atRest = s.State(nil)
	}
	return s.atRest
}

// Back returns the joint to which the current of a source or load comes back: its
// second terminal, or, for a source that is grounded through its case, the ground
// it stands on.
func (s *Survey) Back(e *trace.Edge) int {
	if e.Branch.Feed == nil || !e.Branch.Feed.CaseReturn || s.Joined(e.B) {
		return e.B
	}
	if c := s.Net.Node(e.Part, "case"); c >= 0 && s.Joined(c) {
		return c
	}
	return s.groundOf(e.Branch.Feed.Engine, e.B)
}

// groundAt is a ground part's joint and the engine whose block it is.
type groundAt struct {
	engine string
	node   int
}

// groundOf returns the joint of the ground part of an engine, else of the first
// ground part, else a battery's negative.
func (s *Survey) groundOf(engine string, otherwise int) int {
	if s.blocks == nil {
		s.findGrounds()
	}
	for _, g := range s.blocks {
		if engine != "" && g.engine == engine {
			return g.node
		}
	}
	if len(s.blocks) > 0 {
		return s.blocks[0].node
	}
	return otherwise
}

// findGrounds lists the ground parts; without one, the negative of the first
// grounded battery stands for the block.
func (s *Survey) findGrounds() {
	s.blocks = []groundAt{}
	for _, p := range s.Boat.Parts {
		if p.Prepared || !p.Is(schema.Grounding) {
			continue
		}
		g := groundAt{node: s.Net.Node(p, p.Terminals()[0].Name)}
		if refs := p.Refs("engine"); len(refs) > 0 {
			g.engine = refs[0]
		}
		s.blocks = append(s.blocks, g)
	}
	if len(s.blocks) > 0 {
		return
	}
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Type == trace.Battery && s.Net.Nodes[e.B].Grounded {
			s.blocks = append(s.blocks, groundAt{node: e.B})
			return
		}
	}
}

// Joined reports whether a conductor, or a joint of several parts, meets the
// joint.
func (s *Survey) Joined(node int) bool {
	n := &s.Net.Nodes[node]
	for _, id := range n.Edges {
		if s.Net.Edges[id].Type == trace.Conductor {
			return true
		}
	}
	for _, end := range n.Ends {
		if end.Part != n.Ends[0].Part {
			return true
		}
	}
	return false
}

// Path returns the edges of a shortest way between two joints over edges that
// pass accepts; nil where there is none.
func (s *Survey) Path(from, to int, pass func(*trace.Edge) bool) []*trace.Edge {
	if from < 0 || to < 0 {
		return nil
	}
	via := map[int]int{from: -1}
	queue := []int{from}
	for i := 0; i < len(queue); i++ {
		v := queue[i]
		if v == to {
			break
		}
		for _, id := range s.Net.Nodes[v].Edges {
			e := &s.Net.Edges[id]
			if !pass(e) {
				continue
			}
			if w := e.Other(v); w != v {
				if _, seen := via[w]; !seen {
					via[w] = id
					queue = append(queue, w)
				}
			}
		}
	}
	if _, ok := via[to]; !ok {
		return nil
	}
	var path []*trace.Edge
	for v := to; via[v] >= 0; {
		e := &s.Net.Edges[via[v]]
		path = append(path, e)
		v = e.Other(v)
	}
	slices.Reverse(path)
	return path
}

// HasWires reports whether the file joins anything by conductors of a medium:
// where it does not, it says nothing about that medium.
func (s *Survey) HasWires(m schema.Medium) bool {
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Type == trace.Conductor && e.Medium == m {
			return true
		}
	}
	return false
}
