package waterlayout

import (
	"cmp"
	"math"
	"slices"
)

// The hull is drawn as a reader expects it: a line under everything inboard, up at
// the side, through every fitting on the way. Everything inboard lies above it and
// left of it, the sea and the texts in it below and right.

// hullTail is how far the line goes on beyond its first and its last fitting.
const hullTail = 4

// Skin is the line of the hull in a box that pierces it.
type Skin struct {
	Pierces bool
	// Sea is the side on which the water is: Bottom, or Right for the topsides.
	Sea Side
	// At is the line's place in the box: a row from the top, or a column from the
	// left.
	At int
}

// gate is where the hull passes through a fitting: from a to b, the plate's ends in
// the direction of the line.
type gate struct {
	a, b Point
	side bool
}

// share is what one system gives to the hull of its band.
type share struct {
	left           int
	inside, beyond []Rect // what must lie inboard, what must lie in the sea
	gates          []gate
}

// add enters a box and its name.
func (s *share) add(x *PlacedBox, skin Skin) {
	r := x.Rect
	if !skin.Pierces {
		s.inside = append(s.inside, grown(r, 1, 1))
		if x.Name.Placed {
			s.inside = append(s.inside, x.Name.Rect)
		}
		return
	}
	out := false
	if skin.Sea == Bottom {
		row := r.Y + skin.At
		s.inside = append(s.inside, Rect{r.X, r.Y, r.W, skin.At})
		s.beyond = append(s.beyond, Rect{r.X, row, r.W, r.H - skin.At})
		s.gates = append(s.gates, gate{a: Point{r.X, row}, b: Point{r.X + r.W, row}})
		out = x.Name.Rect.Y >= row
	} else {
		col := r.X + skin.At
		s.inside = append(s.inside, Rect{r.X, r.Y, skin.At, r.H})
		s.beyond = append(s.beyond, Rect{col, r.Y, r.W - skin.At, r.H})
		s.gates = append(s.gates, gate{a: Point{col, r.Y + r.H}, b: Point{col, r.Y}, side: true})
		out = x.Name.Rect.X >= col
	}
	if x.Name.Placed && out {
		s.beyond = append(s.beyond, x.Name.Rect)
	} else if x.Name.Placed {
		s.inside = append(s.inside, x.Name.Rect)
	}
}

// run enters a run and its label.
func (s *share) run(r *PlacedRun) {
	for i := 1; i < len(r.Points); i++ {
		a, b := r.Points[i-1], r.Points[i]
		q := Rect{min(a.X, b.X), min(a.Y, b.Y), abs(a.X - b.X), abs(a.Y - b.Y)}
		s.inside = append(s.inside, grown(q, 1, 1))
	}
	if r.Label.Placed {
		s.inside = append(s.inside, r.Label.Rect)
	}
}

func grown(r Rect, dx, dy int) Rect { return Rect{r.X - dx, r.Y - dy, r.W + 2*dx, r.H + 2*dy} }

// hullLines finds the lines of the hull of a band whose systems stand side by side: each
// goes on under one system after another until it rises at a side.
func hullLines(shares []*share, area Rect, shore int) (lines [][]Point) {
	var sec section
	from := 0
	end := func(to int) {
		for i, s := range shares {
			if i < from || i >= to {
				sec.foreign = append(append(sec.foreign, s.inside...), s.beyond...)
			}
		}
		sec.afloat(shore)
		lines = append(lines, sec.lines(area)...)
		sec, from = section{}, to
	}
	for i, s := range shares {
		dry := s.dry(shore)
		if dry && i > from {
			end(i)
		}
		sec.take(s)
		if sec.closes(s) || dry {
			end(i + 1)
		}
	}
	end(len(shares))
	return lines
}

// dry tells whether a system pierces the bottom above the waterline alone, as a rudder
// gland in the counter does: the line would be a hill between its neighbours.
func (s *share) dry(shore int) bool {
	return len(s.gates) > 0 && !slices.ContainsFunc(s.gates, func(g gate) bool { return g.side || g.a.Y >= shore })
}

// section is a stretch of hull: bottom, and a side at its right end if it has one.
type section struct {
	share
	any     bool
	foreign []Rect // of other sections
	bottoms []gate
	sides   []gate // the lowest first
}

func (c *section) take(s *share) {
	if !c.any {
		c.left, c.any = s.left, true
	}
	c.inside = append(c.inside, s.inside...)
	c.beyond = append(c.beyond, s.beyond...)
	for _, g := range s.gates {
		if !g.side {
			c.bottoms = append(c.bottoms, g)
		}
	}
}

// closes takes the fittings in the side of a system, where nothing of it lies
// beyond them, and tells whether there are any.
func (c *section) closes(s *share) bool {
	end := math.MinInt
	for _, g := range s.gates {
		if g.side {
			end = max(end, g.a.X)
		}
	}
	for _, g := range s.gates {
		if !g.side {
			continue
		}
		blocked := slices.ContainsFunc(c.inside, func(r Rect) bool { return r.X+r.W > g.a.X+1 && r.Y < g.a.Y && r.Y+r.H > g.b.Y || r.X > end })
		blocked = blocked || slices.ContainsFunc(c.bottoms, func(o gate) bool { return o.b.X > end })
		if !blocked {
			c.sides = append(c.sides, g)
		}
	}
	slices.SortStableFunc(c.sides, func(a, b gate) int { return cmp.Compare(b.a.Y, a.a.Y) })
	return len(c.sides) > 0
}

// afloat keeps the bottom of a section under water where no fitting in it says how
// deep it is.
func (c *section) afloat(shore int) {
	if len(c.bottoms) == 0 && len(c.sides) > 0 {
		c.inside = append(c.inside, Rect{c.left, shore, c.sides[0].a.X - c.left, 1})
	}
}

// lines are the polylines of a section from one fitting to the next, where a way
// leads there; the pieces in the fittings are theirs.
func (c *section) lines(area Rect) (out [][]Point) {
	if len(c.bottoms)+len(c.sides) == 0 {
		return out
	}
	slices.SortStableFunc(c.bottoms, func(a, b gate) int { return cmp.Compare(a.a.X, b.a.X) })
	gates := append(slices.Clone(c.bottoms), c.sides...)
	low := newWater(c, area, false)
	steep := newWater(c, area, true)
	if from := c.start(gates[0], low); from != nil {
		out = append(out, append(from, gates[0].a))
	}
	for i, g := range gates[1:] {
		w := low
		if gates[i].side {
			w = steep
		}
		if way := w.way(gates[i].b, g.a); way != nil {
			out = append(out, append(append([]Point{gates[i].b}, way...), g.a))
		}
	}
	last := gates[len(gates)-1]
	on := Point{last.b.X + hullTail, last.b.Y}
	w := low
	if last.side {
		on, w = Point{last.b.X, last.b.Y - hullTail}, steep
	}
	for ; on != last.b; on = (Point{on.X - sign(on.X-last.b.X), on.Y - sign(on.Y-last.b.Y)}) {
		if on.Y >= area.Y && on.X <= area.X+area.W && w.free(last.b, on) {
			out = append(out, []Point{last.b, on})
			break
		}
	}
	for i := range out {
		out[i] = inLine(out[i])
	}
	return out
}

// start is the way to the first fitting: from under what stands left of it.
func (c *section) start(g gate, w *water) []Point {
	deep, any := g.a.Y, false
	for _, r := range c.inside {
		if r.X < g.a.X-hullTail && r.X < c.left+12 {
			deep, any = max(deep, r.Y+r.H), true
		}
	}
	if !any {
		for x := g.a.X - hullTail; x < g.a.X; x++ {
			if from := (Point{x, g.a.Y}); w.free(from, g.a) {
				return []Point{from}
			}
		}
		return nil
	}
	from := Point{c.left - 1, deep}
	way := w.way(from, g.a)
	if way == nil {
		return nil
	}
	return append([]Point{from}, way...)
}

// water is what the line of the hull must keep clear of, for ways to the right
// under everything inboard, or upward beside it.
type water struct {
	solid []Rect
	turns []Point // corners where the line may bend
	steep bool
}

const boundless = 1 << 20

func newWater(c *section, area Rect, steep bool) *water {
	w := &water{steep: steep, solid: slices.Clone(c.foreign)}
	within := func(p Point) {
		if p.X >= area.X && p.X <= area.X+area.W && p.Y >= area.Y && p.Y <= area.Y+area.H {
			w.turns = append(w.turns, p)
		}
	}
	for _, r := range c.inside {
		within(Point{r.X, r.Y + r.H})
		within(Point{r.X + r.W, r.Y + r.H})
		if steep {
			within(Point{r.X + r.W, r.Y})
			r.X, r.W = r.X-boundless, r.W+boundless
		} else {
			r.Y, r.H = r.Y-boundless, r.H+boundless
		}
		w.solid = append(w.solid, r)
	}
	for _, r := range c.beyond {
		within(Point{r.X, r.Y})
		within(Point{r.X + r.W, r.Y})
		if steep {
			within(Point{r.X, r.Y + r.H})
			r.W += boundless
		} else {
			r.H += boundless
		}
		w.solid = append(w.solid, r)
	}
	return w
}

// free tells whether a line from p to q passes through nothing; it may touch edges.
func (w *water) free(p, q Point) bool {
	for _, r := range w.solid {
		if cuts(p, q, r) {
			return false
		}
	}
	return true
}

// cuts tells whether a line passes through the inside of a rectangle.
func cuts(p, q Point, r Rect) bool {
	if max(p.X, q.X) <= r.X || min(p.X, q.X) >= r.X+r.W || max(p.Y, q.Y) <= r.Y || min(p.Y, q.Y) >= r.Y+r.H {
		return p.X == q.X && p.Y == q.Y && p.X > r.X && p.X < r.X+r.W && p.Y > r.Y && p.Y < r.Y+r.H
	}
	// all four corners on one side of the line: it passes by
	above, below := false, false
	for _, c := range []Point{{r.X, r.Y}, {r.X + r.W, r.Y}, {r.X, r.Y + r.H}, {r.X + r.W, r.Y + r.H}} {
		switch s := (q.X-p.X)*(c.Y-p.Y) - (q.Y-p.Y)*(c.X-p.X); {
		case s > 0:
			above = true
		case s < 0:
			below = true
		}
	}
	return above && below
}

// way is the shortest line between two places, without its ends; nil if there is
// none. It only leads to the right, or upward where it is steep.
func (w *water) way(from, to Point) []Point {
	pts := []Point{from, to}
	for _, p := range w.turns {
		if w.onward(from, p) && w.onward(p, to) && p != from && p != to {
			pts = append(pts, p)
		}
	}
	cost, prev, done := make([]float64, len(pts)), make([]int, len(pts)), make([]bool, len(pts))
	for i := range cost {
		cost[i] = math.Inf(1)
	}
	cost[0] = 0
	for {
		k := -1
		for i := range pts {
			if !done[i] && !math.IsInf(cost[i], 1) && (k < 0 || cost[i] < cost[k]) {
				k = i
			}
		}
		if k < 0 {
			return nil
		}
		if k == 1 {
			break
		}
		done[k] = true
		for i := range pts {
			if done[i] || !w.onward(pts[k], pts[i]) {
				continue
			}
			if c := cost[k] + math.Hypot(float64(pts[i].X-pts[k].X), float64(pts[i].Y-pts[k].Y)); c < cost[i]-1e-9 && w.free(pts[k], pts[i]) {
				cost[i], prev[i] = c, k
			}
		}
	}
	out := []Point{}
	for k := prev[1]; k > 0; k = prev[k] {
		out = append(out, pts[k])
	}
	slices.Reverse(out)
	return out
}

func (w *water) onward(p, q Point) bool {
	if w.steep {
		return q.Y <= p.Y
	}
	return q.X >= p.X
}

// inLine drops double points and points between two others in line.
func inLine(pts []Point) []Point {
	var out []Point
	for _, p := range pts {
		if len(out) > 0 && out[len(out)-1] == p {
			continue
		}
		if k := len(out); k > 1 {
			a, b := out[k-2], out[k-1]
			if (b.X-a.X)*(p.Y-b.Y) == (b.Y-a.Y)*(p.X-b.X) && (b.X-a.X)*(p.X-b.X)+(b.Y-a.Y)*(p.Y-b.Y) > 0 {
				out[k-1] = p
				continue
			}
		}
		out = append(out, p)
	}
	return out
}
