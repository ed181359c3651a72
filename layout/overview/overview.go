// Package overview places graphs that are graphs and no circuits: who feeds
// whom, which opening serves which equipment, what is lost when one part opens.
// Boxes stand in columns from left to right, one line leaves a box and branches
// to all that it feeds, and every line is level or upright.
//
// It knows no boats and measures no text: sizes come in, places go out, in whole
// grid units of 2.5 mm.
//
// The placing is our own. A Graphviz module compiled to WebAssembly would do it
// too, but it is compiled when a program that holds it starts, whether it draws
// or not; it serves as a yardstick in the tests of this package only.
package overview

import (
	"cmp"
	"fmt"
	"slices"
)

// Node is a box.
type Node struct {
	ID   string
	W, H int
	// RefW, RefH is the box that refers to the node on another sheet.
	RefW, RefH int
}

// Edge leads from one node to another.
type Edge struct{ From, To string }

// Graph is what is to be placed. Nodes without an edge stand in the first
// column.
type Graph struct {
	Nodes []Node
	Edges []Edge
	// Height is the room; columns of leaves are broken to fit it. 0: no bound.
	Height int
	// MoreW, MoreH is the box that stands for leaves on another sheet.
	MoreW, MoreH int
}

// Point is a place, x to the right, y downward.
type Point struct{ X, Y int }

// Box is a node in its place, or what refers to another sheet.
type Box struct {
	ID         string
	X, Y, W, H int
	// Ref says what the box is; of a reference, Sheets are those it refers to,
	// counted from 0, and of More, Count is the number of leaves there.
	// Feeder is the node whose line it carries on.
	Ref    Ref
	Feeder string
	Sheets []int
	Count  int
}

// Ref is what a box of a sheet stands for.
type Ref uint8

// What a box may be.
const (
	Itself Ref = iota // the node
	From              // a node of another sheet that feeds one of this
	To                // a node of another sheet that one of this feeds
	More              // leaves of the node ID, on other sheets
)

// Net is all that leaves one box: one line that branches.
type Net struct {
	From string
	To   []string
	// Lines are its pieces, level or upright; those that meet join.
	Lines [][2]Point
	// Dots are where three pieces meet.
	Dots []Point
}

// Plan is the finished placement.
type Plan struct {
	W, H  int
	Boxes []Box
	Nets  []Net
}

// Gaps, in units.
const (
	rowGap   = 1 // between boxes of a column
	stub     = 2 // between a box and the nearest upright line
	blockGap = 3 // before a column of leaves
)

// item is a node, a dummy of a long edge, or a block of leaves.
type item struct {
	node   int     // index of the node, or -1
	leaves []int   // nodes of a block
	cols   [][]int // the same by column
	entry  int     // of a block of one column: the row within it at which its line arrives
	layer  int
	w, h   int
	in     []int // items before it, one an edge
	out    []int
	x, y   int
	source int // of a dummy: the item whose line it carries on
}

type placer struct {
	g      *Graph
	items  []item
	layers [][]int
	of     []int // node → item
}

// Place lays the graph out. An edge to a node that is not there is an error.
func Place(g Graph) (Plan, error) {
	p := &placer{g: &g}
	edges, err := p.resolve()
	if err != nil {
		return Plan{}, err
	}
	p.build(edges)
	p.rank()
	p.split()
	p.order()
	p.rows()
	return p.draw(), nil
}

// resolve turns ids into indexes and turns edges that close a ring round.
func (p *placer) resolve() ([][2]int, error) {
	index := map[string]int{}
	for i, n := range p.g.Nodes {
		if _, twice := index[n.ID]; twice {
			return nil, fmt.Errorf("node %q occurs twice", n.ID)
		}
		index[n.ID] = i
	}
	var edges [][2]int
	next := make([][]int, len(p.g.Nodes))
	for _, e := range p.g.Edges {
		a, ok := index[e.From]
		b, also := index[e.To]
		if !ok || !also {
			return nil, fmt.Errorf("edge from %q to %q: no such node", e.From, e.To)
		}
		if a == b || slices.Contains(next[a], b) {
			continue
		}
		next[a] = append(next[a], b)
	}
	state := make([]uint8, len(next)) // 1: on the way, 2: done
	var walk func(v int)
	walk = func(v int) {
		state[v] = 1
		for _, w := range next[v] {
			if state[w] == 1 {
				if !slices.Contains(next[w], v) {
					edges = append(edges, [2]int{w, v}) // turned round
				}
				continue
			}
			edges = append(edges, [2]int{v, w})
			if state[w] == 0 {
				walk(w)
			}
		}
		state[v] = 2
	}
	for v := range next {
		if state[v] == 0 {
			walk(v)
		}
	}
	return edges, nil
}

// build makes the items: leaves that hang on one parent are gathered in blocks.
func (p *placer) build(edges [][2]int) {
	n := len(p.g.Nodes)
	in, out := make([][]int, n), make([][]int, n)
	for _, e := range edges {
		out[e[0]] = append(out[e[0]], e[1])
		in[e[1]] = append(in[e[1]], e[0])
	}
	p.of = make([]int, n)
	block := map[int]int{}
	leaf := func(v int) bool { return len(out[v]) == 0 && len(in[v]) == 1 }
	for v := range p.g.Nodes {
		if !leaf(v) {
			p.of[v] = len(p.items)
			p.items = append(p.items, item{node: v, w: p.g.Nodes[v].W, h: p.g.Nodes[v].H, source: -1})
		}
	}
	for v := range p.g.Nodes {
		if !leaf(v) {
			continue
		}
		b, ok := block[in[v][0]]
		if !ok {
			b = len(p.items)
			block[in[v][0]] = b
			p.items = append(p.items, item{node: -1, source: -1})
		}
		p.items[b].leaves = append(p.items[b].leaves, v)
		p.of[v] = b
	}
	for _, e := range edges {
		a, b := p.of[e[0]], p.of[e[1]]
		if !slices.Contains(p.items[a].out, b) {
			p.items[a].out = append(p.items[a].out, b)
			p.items[b].in = append(p.items[b].in, a)
		}
	}
	for i := range p.items {
		it := &p.items[i]
		switch {
		case it.node >= 0:
			it.h = max(it.h, 2*len(it.in)) // a row for each line, apart
		case len(it.leaves) == 1:
			it.node = it.leaves[0]
			it.w, it.h = p.g.Nodes[it.node].W, p.g.Nodes[it.node].H
		default:
			p.shape(it)
		}
	}
}

// shape breaks a block of leaves into as many columns as the room needs. The line
// of one column arrives amid its leaves; that of several in a row of its own at the
// top, and a line goes down from there at the left of each column.
func (p *placer) shape(it *item) {
	total, least := 0, 0
	for _, v := range it.leaves {
		h := p.g.Nodes[v].H + rowGap
		total, least = total+h, max(least, h)
	}
	cols := 1
	if p.g.Height > 0 {
		// a block takes at most a share of the height, so that others find room
		most := max(p.g.Height*2/5, 4*least)
		cols = (total + most - 1) / most
	}
	for limit := (total + cols - 1) / cols; ; limit++ {
		if it.cols = p.fill(it.leaves, limit); len(it.cols) <= cols {
			break
		}
	}
	it.w, it.h, it.entry = 0, 0, 0
	for _, c := range it.cols {
		w, h := p.columnSize(c)
		it.w, it.h = it.w+w+blockGap, max(it.h, it.head()+h)
	}
	if len(it.cols) == 1 {
		it.entry = p.between(it.cols[0])
	}
}

// head is the row that a block keeps above its columns for the line that leads
// from one to the next.
func (it *item) head() int { return min(len(it.cols)-1, 1) }

// between is the row nearest to the middle of a column of leaves in which none of
// them is met: there the line of the block arrives, as at a T and not at a cross.
func (p *placer) between(leaves []int) int {
	mids := p.mids(leaves)
	row := (mids[0] + mids[len(mids)-1]) / 2
	for slices.Contains(mids, row) {
		row++
	}
	return row
}

// mids are the rows within a column at which its leaves are met.
func (p *placer) mids(leaves []int) (mids []int) {
	y := 0
	for _, v := range leaves {
		mids = append(mids, y+p.g.Nodes[v].H/2)
		y += p.g.Nodes[v].H + rowGap
	}
	return mids
}

// fill sets leaves in columns no higher than limit.
func (p *placer) fill(leaves []int, limit int) (cols [][]int) {
	y := 0
	for _, v := range leaves {
		h := p.g.Nodes[v].H + rowGap
		if len(cols) == 0 || y+h > limit {
			cols, y = append(cols, nil), 0
		}
		cols[len(cols)-1] = append(cols[len(cols)-1], v)
		y += h
	}
	return cols
}

func (p *placer) columnSize(leaves []int) (w, h int) {
	for _, v := range leaves {
		w, h = max(w, p.g.Nodes[v].W), h+p.g.Nodes[v].H+rowGap
	}
	return w, h
}

// rank gives every item its column: one after the last of those before it.
func (p *placer) rank() {
	var depth func(i int) int
	seen := make([]int, len(p.items))
	depth = func(i int) int {
		if seen[i] > 0 {
			return seen[i] - 1
		}
		seen[i] = 1 // edges make no ring any more
		d := 0
		for _, b := range p.items[i].in {
			d = max(d, depth(b)+1)
		}
		seen[i] = d + 1
		return d
	}
	for i := range p.items {
		p.items[i].layer = depth(i)
	}
	// what only feeds stands right before what it feeds
	for i := range p.items {
		it := &p.items[i]
		if len(it.in) > 0 || len(it.out) == 0 {
			continue
		}
		near := 1 << 20
		for _, o := range it.out {
			near = min(near, p.items[o].layer)
		}
		it.layer = max(it.layer, near-1)
	}
}

// split puts a dummy into every column that a long edge passes; edges from one
// item share them.
func (p *placer) split() {
	for i := 0; i < len(p.items); i++ {
		if p.items[i].source >= 0 {
			continue
		}
		last := map[int]int{p.items[i].layer: i}
		outs := slices.Clone(p.items[i].out)
		slices.SortStableFunc(outs, func(a, b int) int { return cmp.Compare(p.items[a].layer, p.items[b].layer) })
		for _, o := range outs {
			from := i
			for l := p.items[i].layer + 1; l < p.items[o].layer; l++ {
				d, ok := last[l]
				if !ok {
					d = len(p.items)
					last[l] = d
					p.items = append(p.items, item{node: -1, layer: l, h: 1, source: i, in: []int{from}})
					p.items[from].out = append(p.items[from].out, d)
				}
				from = d
			}
			if from == i {
				continue
			}
			p.items[i].out = slices.DeleteFunc(p.items[i].out, func(x int) bool { return x == o })
			p.items[from].out = append(p.items[from].out, o)
			p.items[o].in[slices.Index(p.items[o].in, i)] = from
		}
	}
	for i := range p.items {
		for len(p.layers) <= p.items[i].layer {
			p.layers = append(p.layers, nil)
		}
		p.layers[p.items[i].layer] = append(p.layers[p.items[i].layer], i)
	}
}
