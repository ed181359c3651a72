package trace

import (
	"math"

	"fitout/schema"
	"fitout/schema/unit"
)

// component is a set of ungrounded nodes that no device parts.
type component struct {
	nodes   []int
	devices []int // device edges with one end or both in it
	feeding []int // those of them through which something can push into it
	sources []int
}

// quiet reports that nothing pushes into the component.
func (c *component) quiet() bool { return len(c.feeding) == 0 && len(c.sources) == 0 }

// components finds the device-free pieces and walks each depth first, so that
// it can be told in constant time on which side of a conductor a node lies.
func (n *Net) components() {
	count := len(n.Nodes)
	n.comp, n.tin, n.tout, n.tree, n.low = make([]int, count), make([]int, count), make([]int, count), make([]int, count), make([]int, count)
	for i := range n.comp {
		n.comp[i], n.tree[i] = -1, -1
	}
	clock := 0
	for v := range n.Nodes {
		if n.comp[v] >= 0 || !n.Nodes[v].Live() {
			continue
		}
		n.comps = append(n.comps, component{})
		clock = n.walkComponent(v, len(n.comps)-1, clock)
	}
	for id := range n.Edges {
		e := &n.Edges[id]
		if e.Type != Device {
			continue
		}
		for _, v := range [2]int{e.A, e.B} {
			if c := n.comp[v]; c >= 0 && (v == e.A || n.comp[e.A] != c) {
				n.comps[c].devices = append(n.comps[c].devices, id)
			}
		}
	}
	for i, s := range n.Sources {
		if c := n.comp[s.Node]; c >= 0 {
			n.comps[c].sources = append(n.comps[c].sources, i)
		}
	}
	n.stripDead()
}

// walkComponent is an iterative depth-first walk that fills tin, tout, tree and
// low (for bridges).
func (n *Net) walkComponent(root, comp, clock int) int {
	type frame struct{ node, next int }
	stack := []frame{{root, 0}}
	n.comp[root], n.tin[root], n.low[root] = comp, clock, clock
	clock++
	n.comps[comp].nodes = append(n.comps[comp].nodes, root)
	for len(stack) > 0 {
		f := &stack[len(stack)-1]
		v := f.node
		if f.next == len(n.Nodes[v].Edges) {
			n.tout[v] = clock
			stack = stack[:len(stack)-1]
			if n.tree[v] >= 0 {
				parent := n.Edges[n.tree[v]].Other(v)
				n.low[parent] = min(n.low[parent], n.low[v])
			}
			continue
		}
		id := n.Nodes[v].Edges[f.next]
		f.next++
		e := &n.Edges[id]
		if !e.Passes() || id == n.tree[v] || e.A == e.B {
			continue
		}
		w := e.Other(v)
		if !n.Nodes[w].Live() {
			continue
		}
		if n.comp[w] >= 0 {
			n.low[v] = min(n.low[v], n.tin[w])
			continue
		}
		n.comp[w], n.tin[w], n.low[w], n.tree[w] = comp, clock, clock, id
		clock++
		n.comps[comp].nodes = append(n.comps[comp].nodes, w)
		stack = append(stack, frame{w, 0})
	}
	return clock
}

// stripDead marks device edges behind which nothing pushes, leaf by leaf.
func (n *Net) stripDead() {
	n.dead = map[[2]int]bool{}
	live := make([]int, len(n.comps))
	var leaves []int
	for c := range n.comps {
		live[c] = len(n.comps[c].devices)
		if live[c] <= 1 && len(n.comps[c].sources) == 0 {
			leaves = append(leaves, c)
		}
	}
	for len(leaves) > 0 {
		c := leaves[len(leaves)-1]
		leaves = leaves[:len(leaves)-1]
		for _, id := range n.comps[c].devices {
			e := &n.Edges[id]
			o := n.comp[e.A]
			if o == c {
				o = n.comp[e.B]
			}
			if n.dead[[2]int{id, c}] || o < 0 || o == c || n.dead[[2]int{id, o}] {
				continue
			}
			n.dead[[2]int{id, c}] = true // nothing comes out of c through id
			live[o]--
			if live[o] <= 1 && len(n.comps[o].sources) == 0 {
				leaves = append(leaves, o)
			}
		}
	}
	for c := range n.comps {
		for _, id := range n.comps[c].devices {
			e := &n.Edges[id]
			o := n.comp[e.A]
			if o == c {
				o = n.comp[e.B]
			}
			if o == c || o >= 0 && !n.dead[[2]int{id, o}] {
				n.comps[c].feeding = append(n.comps[c].feeding, id)
			}
		}
	}
}

// Cut is one member of the cheapest set that parts a conductor end from all
// sources: a device, or a limited source left on the conductor's side.
type Cut struct {
	Edge   int // -1 for a source
	Part   *schema.Part
	Way    string
	Source *Source
	Amps   unit.Amp
}

// Name returns "F1", "DP.3" or "ALT1".
func (c Cut) Name() string {
	if c.Way != "" {
		return c.Part.ID + "." + c.Way
	}
	return c.Part.ID
}

// Flow is what can be pushed into a conductor end, by the cheapest cut.
type Flow struct {
	Amps      unit.Amp
	Unlimited bool
	// Unknown lists what the answer would need: "rating of F3".
	Unknown []string
	Cut     []Cut
	// Partial is set where the count stopped at Options.Enough.
	Partial bool
	// Sources that can reach the end, in order of the net.
	Sources []int
}

// Options change how Flow sees the net.
type Options struct {
	// Ignore makes a device pass without limit.
	Ignore func(e *Edge) bool
	// UnknownAs is the rating taken for devices and sources that state none:
	// +Inf or 0.
	UnknownAs float64
	// Enough stops the count once the flow is past it; 0 counts to the end. A
	// flow cut short is marked Partial and names no cut.
	Enough unit.Amp
}

const unlimited = 1e15

// Flow returns the cheapest cut between the end of conductor `wire` at node
// `end` and every source, with the conductor itself taken away. Devices count
// with their rating, limited sources with their limit.
func (n *Net) Flow(wire, end int, opt Options) Flow {
	var f Flow
	if n.comp[end] < 0 || n.comps[n.comp[end]].quiet() {
		return f
	}
	g := newFlowGraph(n, wire, end, opt)
	for {
		got, ok := g.augment()
		if !ok {
			break
		}
		if got >= unlimited/2 {
			f.Unlimited = true
			break
		}
		f.Amps += unit.Amp(got)
		if opt.Enough > 0 && f.Amps > opt.Enough {
			f.Partial = true
			break
		}
	}
	f.Sources = g.reached
	f.Unknown = g.unknown
	if !f.Unlimited && !f.Partial {
		f.Cut = g.cut()
	}
	return f
}

// piece is a device-free component, or the part of the conductor's own
// component on one side of it.
type piece struct {
	comp int
	side int // 0 whole, 1 the end's side, 2 the other side
}

type flowGraph struct {
	n          *Net
	own        int // component of the conductor
	split      bool
	child      int  // lower node of the bridge
	endInChild bool // the asked end lies below the bridge
	start      piece
	opt        Options
	used       map[arc]float64
	reached    []int
	seenSource map[int]bool
	unknown    []string
	seenName   map[string]bool
	walk       *walk // nil where the next one begins anew
}

// arc is a device edge in one direction (into a piece), or a source.
type arc struct {
	edge   int
	from   piece
	source int
}

func newFlowGraph(n *Net, wire, end int, opt Options) *flowGraph {
	g := &flowGraph{n: n, own: n.comp[end], opt: opt, used: map[arc]float64{}, seenSource: map[int]bool{}, seenName: map[string]bool{}}
	if wire >= 0 {
		e := &n.Edges[wire]
		for _, c := range [2]int{e.A, e.B} {
			if n.tree[c] == wire && n.low[c] == n.tin[c] {
				g.split, g.child = true, c
			}
		}
	}
	g.endInChild = g.split && n.inSubtree(end, g.child)
	g.start = g.pieceOf(end)
	return g
}

func (n *Net) inSubtree(v, root int) bool {
	return n.comp[v] == n.comp[root] && n.tin[v] >= n.tin[root] && n.tin[v] < n.tout[root]
}

func (g *flowGraph) pieceOf(node int) piece {
	c := g.n.comp[node]
	if c != g.own || !g.split {
		return piece{comp: c}
	}
	if g.n.inSubtree(node, g.child) == g.endInChild {
		return piece{c, 1}
	}
	return piece{c, 2}
}

func (g *flowGraph) note(missing string) {
	if !g.seenName[missing] {
		g.seenName[missing] = true
		g.unknown = append(g.unknown, missing)
	}
}

func (g *flowGraph) deviceAmps(id int) float64 {
	e := &g.n.Edges[id]
	if g.opt.Ignore != nil && g.opt.Ignore(e) {
		return unlimited
	}
	d := e.Branch.Device
	if d.Rating.Given() {
		return float64(d.Rating.V)
	}
	name := e.Part.ID
	if e.Branch.Way != "" {
		name += "." + e.Branch.Way
	}
	g.note("rating of " + name)
	return math.Min(g.opt.UnknownAs, unlimited)
}

func (g *flowGraph) sourceAmps(i int) float64 {
	s := &g.n.Sources[i]
	switch {
	case s.Unlimited:
		return unlimited
	case s.Known:
		return float64(s.Amps)
	}
	g.note(s.Missing)
	return math.Min(g.opt.UnknownAs, unlimited)
}

// step is how a breadth-first walk, backwards from the conductor end, came to
// a piece.
type step struct {
	at  piece
	via arc
	up  int // index of the step nearer the conductor, -1 at the start
}

// walk is one breadth-first walk over arcs with room. It goes on behind a
// source it has filled a way from, so that a bar with many batteries is walked
// once and not once a battery.
type walk struct {
	steps  []step
	seen   map[piece]bool
	at     int // step looked at
	source int // how many of its sources are done
}

func (g *flowGraph) newWalk() *walk {
	return &walk{steps: []step{{at: g.start, up: -1}}, seen: map[piece]bool{g.start: true}}
}

// augment finds a way from a source to the conductor end with room left, fills
// it, and returns how much it took.
func (g *flowGraph) augment() (float64, bool) {
	if g.walk == nil {
		g.walk = g.newWalk()
	}
	w := g.walk
	tap, ok := g.nextTap(w)
	if !ok {
		return 0, false
	}
	room := g.room(tap)
	for i := w.at; i > 0; i = w.steps[i].up {
		room = math.Min(room, g.room(w.steps[i].via))
	}
	g.used[tap] += room
	for i := w.at; i > 0; i = w.steps[i].up {
		g.used[w.steps[i].via] += room
		g.used[g.reverse(w.steps[i].via)] -= room
	}
	if !g.goOn(w) {
		g.walk = nil
	}
	return room, true
}

// goOn makes the walk ready to look for the next way, and reports false where
// it has to begin anew: a fresh walk would then come to the pieces in another
// order.
func (g *flowGraph) goOn(w *walk) bool {
	i := w.at
	if i == 0 {
		return true
	}
	for k := w.steps[i].up; k > 0; k = w.steps[k].up {
		if g.room(w.steps[k].via) <= noRoom {
			return false
		}
	}
	last := w.steps[i]
	if g.room(last.via) > noRoom {
		return true
	}
	// The last device is full and nothing was reached through it yet: its piece is
	// as if never come to, unless another device leads there from a piece seen.
	for _, id := range g.n.comps[last.at.comp].devices {
		if id == last.via.edge {
			continue
		}
		e := &g.n.Edges[id]
		for _, v := range [2]int{e.A, e.B} {
			if p := g.pieceOf(v); p != last.at && w.seen[p] {
				return false
			}
		}
	}
	delete(w.seen, last.at)
	w.at, w.source = i+1, 0
	return true
}

// noRoom is the rest of a rating, in amperes, that counts as none: the rounding
// of sums.
const noRoom = 1e-9

func (g *flowGraph) reverse(a arc) arc {
	e := &g.n.Edges[a.edge]
	pa, pb := g.pieceOf(e.A), g.pieceOf(e.B)
	if pa == a.from {
		return arc{edge: a.edge, from: pb}
	}
	return arc{edge: a.edge, from: pa}
}

func (g *flowGraph) room(a arc) float64 {
	if a.source > 0 {
		return g.sourceAmps(a.source-1) - g.used[a]
	}
	return g.deviceAmps(a.edge) - g.used[a]
}

// nextTap walks on to the next source with room left, at the step w.at.
func (g *flowGraph) nextTap(w *walk) (arc, bool) {
	for ; w.at < len(w.steps); w.at, w.source = w.at+1, 0 {
		at := w.steps[w.at].at
		sources := g.n.comps[at.comp].sources
		for ; w.source < len(sources); w.source++ {
			s := sources[w.source]
			if g.pieceOf(g.n.Sources[s].Node) != at {
				continue
			}
			if !g.seenSource[s] {
				g.seenSource[s] = true
				g.reached = append(g.reached, s)
			}
			if a := (arc{source: s + 1}); g.room(a) > noRoom {
				return a, true
			}
		}
		g.spread(w)
	}
	return arc{}, false
}

// spread adds the pieces that devices with room join to the step looked at.
func (g *flowGraph) spread(w *walk) {
	at := w.steps[w.at].at
	for _, id := range g.n.comps[at.comp].feeding {
		from, ok := g.across(id, at)
		if !ok || w.seen[from] {
			continue
		}
		a := arc{edge: id, from: from}
		if g.room(a) <= noRoom {
			continue
		}
		w.seen[from] = true
		w.steps = append(w.steps, step{at: from, via: a, up: w.at})
	}
}

// across returns the piece on the other side of a device; ok is false where the
// device does not touch the piece, or joins it to itself or to what is grounded.
func (g *flowGraph) across(device int, at piece) (from piece, ok bool) {
	e := &g.n.Edges[device]
	from = g.pieceOf(e.A)
	if from == at {
		from = g.pieceOf(e.B)
	} else if g.pieceOf(e.B) != at {
		return from, false
	}
	return from, from.comp >= 0 && from != at
}

// cut returns the devices and limited sources on the border of what the
// conductor end can still reach: the cheapest set.
func (g *flowGraph) cut() []Cut {
	w := g.newWalk()
	for ; w.at < len(w.steps); w.at++ {
		g.spread(w)
	}
	var cuts []Cut
	taken := map[int]bool{}
	for _, s := range w.steps {
		for _, i := range g.n.comps[s.at.comp].sources {
			if src := &g.n.Sources[i]; g.pieceOf(src.Node) == s.at && g.used[arc{source: i + 1}] > noRoom {
				cuts = append(cuts, Cut{Edge: -1, Part: src.Part, Source: src, Amps: unit.Amp(g.sourceAmps(i))})
			}
		}
		for _, id := range g.n.comps[s.at.comp].feeding {
			from, ok := g.across(id, s.at)
			if !ok || taken[id] || w.seen[from] || g.used[arc{edge: id, from: from}] <= noRoom {
				continue
			}
			taken[id] = true
			e := &g.n.Edges[id]
			cuts = append(cuts, Cut{Edge: id, Part: e.Part, Way: e.Branch.Way, Amps: unit.Amp(g.deviceAmps(id))})
		}
	}
	return cuts
}
