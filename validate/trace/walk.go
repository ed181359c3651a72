package trace

import (
	"math"

	"fitout/schema"
	"fitout/schema/unit"
)

// supernodes numbers the joints that contacts and shunts alone unite: a switch
// or a shunt does not reset the measured length.
func (n *Net) supernodes() {
	n.super = make([]int, len(n.Nodes))
	for i := range n.super {
		n.super[i] = -1
	}
	for v := range n.Nodes {
		if n.super[v] >= 0 {
			continue
		}
		stack := []int{v}
		n.super[v] = v
		for len(stack) > 0 {
			x := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			for _, id := range n.Nodes[x].Edges {
				e := &n.Edges[id]
				if e.Type != Contact && e.Type != Series {
					continue
				}
				if y := e.Other(x); n.super[y] < 0 {
					n.super[y] = v
					stack = append(stack, y)
				}
			}
		}
	}
}

// Super returns the number of the joint with its contacts and shunts.
func (n *Net) Super(node int) int { return n.super[node] }

// Live reports whether the conductor needs protection: it is in the net and
// neither end is grounded or an AC return.
func (n *Net) Live(wire int) bool {
	e := &n.Edges[wire]
	return e.Type == Conductor && n.comp[e.A] >= 0 && n.comp[e.B] >= 0
}

// Direction is a conductor entered at one of its ends.
type Direction struct {
	Edge int
	From int // node
}

// Range is a length known to lie between Low and High.
type Range struct{ Low, High unit.Metre }

// Add adds the length of a conductor. A length that the file does not give
// leaves the range open; a share of a written total is at most that total.
func (r Range) Add(w *schema.Wire) Range {
	switch w.Length.From {
	case schema.Absent:
		r.High = unit.Metre(math.Inf(1))
	case schema.Derived:
		total := float64(w.Length.V)
		if w.Circuit != nil {
			total *= float64(len(w.Circuit.Supply))
		}
		r.High += unit.Metre(total)
	default:
		r.Low += w.Length.V
		r.High += w.Length.V
	}
	return r
}

// Run is a stretch of exposed conductor with what follows it.
type Run struct {
	Direction
	Wire *schema.Wire
	// Contacts are the contacts at its start that the walk went through to reach
	// it.
	Contacts []*schema.Part
	// Length from where exposure begins to the far end of this stretch, and
	// whether all of it lies in a sheath.
	Length   Range
	Sheathed bool
	Unsure   *schema.Wire // first stretch without a length of its own
	Next     []*Run
	Ends     []RunEnd
}

// EndType is what an exposed run ends in.
type EndType int

// The end types.
const (
	AtDevice EndType = iota
	AtLoad
	AtSource
	AtNothing // the conductor goes on nowhere
)

// RunEnd is one thing at the far end of a stretch.
type RunEnd struct {
	Type EndType
	Edge int // -1 for AtNothing
	Part *schema.Part
	Way  string
}

// Walker measures exposed runs.
type Walker struct {
	Net *Net
	// Exposed reports whether current entering the conductor at the node is not
	// held within what the conductor allows.
	Exposed func(Direction) bool
	// Skip marks conductors that are no exposure of their own: exempt cranking
	// feeds and links of a bank.
	Skip   func(Direction) bool
	budget int
}

// From walks from a conductor that leaves a joint where exposure begins.
func (w *Walker) From(d Direction) *Run {
	w.budget = 4000
	return w.run(d, Range{}, true, nil, map[int]bool{}, nil)
}

func (w *Walker) run(d Direction, before Range, sheathed bool, unsure *schema.Wire, onPath map[int]bool, contacts []*schema.Part) *Run {
	e := &w.Net.Edges[d.Edge]
	r := &Run{Direction: d, Wire: e.Wire, Contacts: contacts, Length: before.Add(e.Wire), Unsure: unsure}
	r.Sheathed = sheathed && e.Wire.Sheath.Or(false)
	if r.Unsure == nil && e.Wire.Length.From != schema.Own && e.Wire.Length.From != schema.FromStock && e.Wire.Length.From != schema.FromFile {
		r.Unsure = e.Wire
	}
	to := e.Other(d.From)
	onPath[d.Edge] = true
	defer delete(onPath, d.Edge)
	w.follow(r, to, onPath)
	return r
}

// follow looks at everything that meets at the far joint and the joints that
// contacts unite with it.
func (w *Walker) follow(r *Run, to int, onPath map[int]bool) {
	n := w.Net
	type place struct {
		node     int
		contacts []*schema.Part
	}
	seen := map[int]bool{to: true}
	places := []place{{node: to}}
	for i := 0; i < len(places); i++ {
		at := places[i]
		for _, s := range n.byNode[at.node] {
			if n.Sources[s].Unlimited {
				r.Ends = append(r.Ends, RunEnd{Type: AtSource, Edge: n.Sources[s].Edge, Part: n.Sources[s].Part})
			}
		}
		for _, id := range n.Nodes[at.node].Edges {
			e := &n.Edges[id]
			switch e.Type {
			case Device:
				r.Ends = append(r.Ends, RunEnd{Type: AtDevice, Edge: id, Part: e.Part, Way: e.Branch.Way})
			case Load, ConvertIn, Sense:
				r.Ends = append(r.Ends, RunEnd{Type: AtLoad, Edge: id, Part: e.Part})
			case Contact, Series:
				y := e.Other(at.node)
				if !seen[y] && n.comp[y] >= 0 {
					seen[y] = true
					places = append(places, place{y, append(append([]*schema.Part(nil), at.contacts...), e.Part)})
				}
			}
		}
	}
	stop := false
	for _, end := range r.Ends {
		stop = stop || end.Type == AtSource
	}
	if !stop {
		for _, at := range places {
			for _, id := range n.Nodes[at.node].Edges {
				e := &n.Edges[id]
				if e.Type != Conductor || onPath[id] || w.budget <= 0 || e.A == e.B {
					continue
				}
				d := Direction{id, at.node}
				if w.Skip != nil && w.Skip(d) || !n.Live(id) || !w.Exposed(d) {
					continue
				}
				w.budget--
				r.Next = append(r.Next, w.run(d, r.Length, r.Sheathed, r.Unsure, onPath, at.contacts))
			}
		}
	}
	if len(r.Ends) == 0 && len(r.Next) == 0 {
		r.Ends = append(r.Ends, RunEnd{Type: AtNothing, Edge: -1})
	}
}

// AtNode returns the sources at a joint.
func (n *Net) AtNode(node int) []int { return n.byNode[node] }

// Component returns the number of the device-free piece a joint belongs to, -1
// for grounded joints and AC returns.
func (n *Net) Component(node int) int { return n.comp[node] }

// Dead reports whether nothing behind the device edge, seen from a joint, can
// push current to it.
func (n *Net) Dead(device, from int) bool {
	e := &n.Edges[device]
	c := n.comp[e.Other(from)]
	return c < 0 || n.dead[[2]int{device, c}]
}

// Crossed lists the edges of a breadth-first walk from its start to a joint; via
// gives the edge each joint was come to by, -1 at the start.
func (n *Net) Crossed(via map[int]int, v int) []int {
	var out []int
	for via[v] >= 0 {
		out = append(out, via[v])
		v = n.Edges[via[v]].Other(v)
	}
	for a, b := 0, len(out)-1; a < b; a, b = a+1, b-1 {
		out[a], out[b] = out[b], out[a]
	}
	return out
}
