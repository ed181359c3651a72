package overview

import (
	"cmp"
	"slices"
)

// wire is the line from one item to those of the next column.
type wire struct {
	from   int
	row    int   // it leaves here
	to     []int // rows at which it arrives
	heads  []int // x of the places of arrival
	lo, hi int
	track  int
}

// mostShifts bounds the tries to undo rings.
const mostShifts = 60

// draw places the columns and runs the lines between them. Where lines wait for
// each other in a ring, what stands in the way moves down a row.
func (p *placer) draw() Plan {
	for range mostShifts {
		plan, ring := p.try()
		if ring < 0 {
			return plan
		}
		p.shift(ring)
	}
	plan, _ := p.try()
	return plan
}

// shift moves an item and all below it in its column down a row.
func (p *placer) shift(i int) {
	l := p.layers[p.items[i].layer]
	for _, o := range l[slices.Index(l, i):] {
		p.items[o].y++
	}
}

// try draws once; ring is an item whose line is one of a ring, or -1.
func (p *placer) try() (plan Plan, ring int) {
	ring = -1
	d := &drawer{placer: p, nets: map[int]*Net{}}
	x := 0
	for k, l := range p.layers {
		width := 0
		for _, i := range l {
			p.items[i].x = x
			width = max(width, p.items[i].w)
		}
		for _, i := range l {
			d.place(i)
		}
		if k+1 == len(p.layers) {
			x += width
			break
		}
		wires := d.wires(l)
		tracks, stuck := assign(wires)
		if stuck >= 0 {
			ring = wires[stuck].from
		}
		first := x + width + stub
		x = first + max(tracks-1, 0) + stub
		for w := range wires {
			d.run(&wires[w], first, x)
		}
	}
	return d.finish(x), ring
}

type drawer struct {
	*placer
	plan  Plan
	nets  map[int]*Net
	order []int
}

// net is the line of an item, or of the item that a dummy carries on.
func (d *drawer) net(i int) *Net {
	if s := d.items[i].source; s >= 0 {
		i = s
	}
	if d.nets[i] == nil {
		d.nets[i] = &Net{From: d.g.Nodes[d.items[i].node].ID}
		d.order = append(d.order, i)
	}
	return d.nets[i]
}

func (n *Net) line(x0, y0, x1, y1 int) {
	if x0 != x1 || y0 != y1 {
		n.Lines = append(n.Lines, [2]Point{{x0, y0}, {x1, y1}})
	}
}

// place puts the boxes of an item; a block's leaves hang on upright lines of
// their own, one a column.
func (d *drawer) place(i int) {
	it := &d.items[i]
	if it.source >= 0 {
		return
	}
	if it.node >= 0 {
		n := d.g.Nodes[it.node]
		// as high as the lines that arrive need
		d.plan.Boxes = append(d.plan.Boxes, Box{ID: n.ID, X: it.x, Y: it.y, W: n.W, H: it.h})
		return
	}
	parent := d.net(it.in[0])
	spine := it.x + 1
	before := spine
	for _, col := range it.cols {
		y, top, last := it.y+it.head(), it.y, it.y
		if it.entry > 0 { // the line arrives between the leaves
			top, last = it.y+it.entry, it.y+it.entry
		}
		for _, v := range col {
			n := d.g.Nodes[v]
			d.plan.Boxes = append(d.plan.Boxes, Box{ID: n.ID, X: spine + blockGap - 1, Y: y, W: n.W, H: n.H})
			parent.To = append(parent.To, n.ID)
			row := y + n.H/2
			top, last = min(top, row), max(last, row)
			parent.line(spine, row, spine+blockGap-1, row)
			y += n.H + rowGap
		}
		parent.line(spine, top, spine, last)
		parent.line(before, it.y, spine, it.y)
		before = spine
		w, _ := d.columnSize(col)
		spine += w + blockGap
	}
}

// wires lists the lines from a column to the next. Every line that arrives at a
// box has a row of its own there, in the order of where it comes from.
func (d *drawer) wires(l []int) []wire {
	var out []wire
	for _, i := range l {
		it := &d.items[i]
		if len(it.out) == 0 {
			continue
		}
		w := wire{from: i, row: d.port(i)}
		for _, o := range it.out {
			w.to = append(w.to, d.arrival(o, i))
			w.heads = append(w.heads, o)
		}
		w.lo, w.hi = min(w.row, slices.Min(w.to)), max(w.row, slices.Max(w.to))
		out = append(out, w)
	}
	return out
}

// arrival is the row at which the line of item from comes to item o.
func (d *drawer) arrival(o, from int) int {
	it := &d.items[o]
	if it.source >= 0 || it.node < 0 {
		return d.port(o)
	}
	in := slices.Clone(it.in)
	slices.SortStableFunc(in, func(a, b int) int { return cmp.Compare(d.port(a), d.port(b)) })
	k := slices.Index(in, from)
	if len(in) == 1 {
		return it.y + it.h/2
	}
	return it.y + it.h/2 - (len(in) - 1) + 2*k
}

// assign gives every line that is not straight an upright track. A line that
// arrives in a row in which another leaves must turn right of it; stuck is one
// that is in a ring of such, or -1.
func assign(wires []wire) (tracks, stuck int) {
	stuck = -1
	n := len(wires)
	after := make([][]int, n) // lines that must lie right of it
	deg := make([]int, n)
	for a := range wires {
		for b := range wires {
			if a != b && slices.Contains(wires[b].to, wires[a].row) {
				after[a] = append(after[a], b)
				deg[b]++
			}
		}
	}
	for _, w := range wishes(wires) {
		if !reaches(after, w.right, w.left) && !slices.Contains(after[w.left], w.right) {
			after[w.left] = append(after[w.left], w.right)
			deg[w.right]++
		}
	}
	least := make([]int, n)
	used := [][][2]int{}
	done := make([]bool, n)
	for range n {
		// of those that wait for none, the first; in a ring, the first of all
		pick := -1
		for i := range wires {
			if !done[i] && (pick < 0 || deg[i] == 0 && deg[pick] > 0) {
				pick = i
			}
		}
		if deg[pick] > 0 {
			stuck = pick
		}
		w := &wires[pick]
		done[pick] = true
		t := least[pick]
		if w.lo != w.hi {
			for ; t < len(used); t++ {
				if !slices.ContainsFunc(used[t], func(s [2]int) bool { return w.lo <= s[1] && s[0] <= w.hi }) {
					break
				}
			}
			for len(used) <= t {
				used = append(used, nil)
			}
			used[t] = append(used[t], [2]int{w.lo, w.hi})
		}
		w.track = t
		for _, b := range after[pick] {
			deg[b]--
			least[b] = max(least[b], t+1)
		}
	}
	return len(used), stuck
}

// wish is an order of two tracks that saves crossings.
type wish struct{ left, right, saves int }

// wishes lists them, the most saving first.
func wishes(wires []wire) []wish {
	inside := func(rows []int, w *wire) (n int) {
		for _, r := range rows {
			if r > w.lo && r < w.hi {
				n++
			}
		}
		return n
	}
	// crossings with a left of b
	cost := func(a, b *wire) int { return inside(a.to, b) + inside([]int{b.row}, a) }
	var out []wish
	for i := range wires {
		for k := range i {
			a, b := &wires[k], &wires[i]
			if a.lo == a.hi || b.lo == b.hi || a.hi < b.lo || b.hi < a.lo {
				continue
			}
			switch d := cost(a, b) - cost(b, a); {
			case d < 0:
				out = append(out, wish{k, i, -d})
			case d > 0:
				out = append(out, wish{i, k, d})
			}
		}
	}
	slices.SortStableFunc(out, func(a, b wish) int { return cmp.Compare(b.saves, a.saves) })
	return out
}

// reaches reports whether b must lie right of a, directly or by others.
func reaches(after [][]int, a, b int) bool {
	seen := make([]bool, len(after))
	todo := []int{a}
	for len(todo) > 0 {
		v := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if v == b {
			return true
		}
		if !seen[v] {
			seen[v] = true
			todo = append(todo, after[v]...)
		}
	}
	return false
}

// run draws a line through its channel: out of the box, along its track, into
// every place of arrival.
func (d *drawer) run(w *wire, first, end int) {
	n := d.net(w.from)
	x := first + w.track
	it := &d.items[w.from]
	start := it.x
	if it.source < 0 {
		start += it.w
	}
	n.line(start, w.row, x, w.row)
	n.line(x, w.lo, x, w.hi)
	for k, row := range w.to {
		o := &d.items[w.heads[k]]
		to := end
		switch {
		case o.source < 0 && o.node < 0:
			to++ // the first upright line of a block
		case o.source < 0:
			n.To = append(n.To, d.g.Nodes[o.node].ID)
		}
		n.line(x, row, to, row)
	}
}

func (d *drawer) finish(width int) Plan {
	p := &d.plan
	p.W = width
	for _, i := range d.order {
		n := d.nets[i]
		n.Dots = junctions(n.Lines)
		p.Nets = append(p.Nets, *n)
	}
	for _, b := range p.Boxes {
		p.H = max(p.H, b.Y+b.H)
	}
	for _, n := range p.Nets {
		for _, s := range n.Lines {
			p.H = max(p.H, s[0].Y, s[1].Y)
		}
	}
	return *p
}

// junctions are the points where pieces of one line branch: an end of one within
// another, or three ends.
func junctions(lines [][2]Point) []Point {
	var ends []Point
	for _, s := range lines {
		ends = append(ends, s[0], s[1])
	}
	var out []Point
	for _, e := range ends {
		n := 0
		for _, s := range lines {
			switch {
			case s[0] == e || s[1] == e:
				n++
			case within(s, e):
				n += 2
			}
		}
		if n > 2 && !slices.Contains(out, e) {
			out = append(out, e)
		}
	}
	return out
}

func within(s [2]Point, p Point) bool {
	if s[0].X == s[1].X {
		return p.X == s[0].X && p.Y > min(s[0].Y, s[1].Y) && p.Y < max(s[0].Y, s[1].Y)
	}
	return p.Y == s[0].Y && p.X > min(s[0].X, s[1].X) && p.X < max(s[0].X, s[1].X)
}
