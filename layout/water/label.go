package waterlayout

import "sort"

// canvas knows which cells and grid lines of a band are taken, for the labels.
type canvas struct {
	r      Rect
	cells  []bool
	level  []int32 // grid line from a point to the right: 1 + run
	uprite []int32 // grid line from a point downward
	ends   []int32 // cells beside a run's ends, where its fittings are: 1 + run
}

const shoreRun = 1 << 20 // the waterline, as a run

func newCanvas(r Rect) *canvas {
	n := (r.W + 1) * (r.H + 1)
	return &canvas{r, make([]bool, n), make([]int32, n), make([]int32, n), make([]int32, n)}
}

func (c *canvas) at(x, y int) int { return (y-c.r.Y)*(c.r.W+1) + x - c.r.X }

func (c *canvas) fill(r Rect) {
	for y := max(r.Y, c.r.Y); y < min(r.Y+r.H, c.r.Y+c.r.H); y++ {
		for x := max(r.X, c.r.X); x < min(r.X+r.W, c.r.X+c.r.W); x++ {
			c.cells[c.at(x, y)] = true
		}
	}
}

// fillText also takes a unit before and after the text: two texts end to end
// read as one.
func (c *canvas) fillText(t Text) {
	r := t.Rect
	if t.Turned {
		r.Y, r.H = r.Y-1, r.H+2
	} else {
		r.X, r.W = r.X-1, r.W+2
	}
	c.fill(r)
}

func (c *canvas) draw(run int, pts []Point) {
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		if a.Y == b.Y {
			for x := min(a.X, b.X); x < max(a.X, b.X); x++ {
				c.level[c.at(x, a.Y)] = int32(run) + 1
			}
		} else {
			for y := min(a.Y, b.Y); y < max(a.Y, b.Y); y++ {
				c.uprite[c.at(a.X, y)] = int32(run) + 1
			}
		}
	}
}

// fit takes the cells on both sides of a run's ends for its fittings.
func (c *canvas) fit(run int, pts []Point) {
	take := func(a, b Point) {
		x, y, dx, dy := min(a.X, a.X+sign(b.X-a.X)), min(a.Y, a.Y+sign(b.Y-a.Y)), 0, -1
		if a.X == b.X {
			dx, dy = -1, 0
		}
		for _, q := range []Point{{x, y}, {x + dx, y + dy}} {
			if q.X >= c.r.X && q.Y >= c.r.Y && q.X < c.r.X+c.r.W && q.Y < c.r.Y+c.r.H {
				c.ends[c.at(q.X, q.Y)] = int32(run) + 1
			}
		}
	}
	if n := len(pts); n > 1 && pts[0] != pts[1] {
		take(pts[0], pts[1])
		take(pts[n-1], pts[n-2])
	}
}

// passing is how a label may stand: strict keeps other runs off its edges, over
// lets it reach past the stretch's ends, tight lets it stand by the fittings of
// other runs.
type passing struct{ strict, over, tight bool }

// free tells whether a text of a run may stand in r. Runs never pass through it.
func (c *canvas) free(r Rect, run int, pass passing) bool {
	if r.X < c.r.X || r.Y < c.r.Y || r.X+r.W > c.r.X+c.r.W || r.Y+r.H > c.r.Y+c.r.H {
		return false
	}
	for y := r.Y; y <= r.Y+r.H; y++ {
		for x := r.X; x <= r.X+r.W; x++ {
			i := c.at(x, y)
			if x < r.X+r.W && y < r.Y+r.H && (c.cells[i] || c.ends[i] != 0 && c.ends[i] != int32(run)+1 && !pass.tight) {
				return false
			}
			if x < r.X+r.W && c.level[i] != 0 && !edgeFree(c.level[i], run, pass.strict, y == r.Y || y == r.Y+r.H) {
				return false
			}
			if y < r.Y+r.H && c.uprite[i] != 0 && !edgeFree(c.uprite[i], run, pass.strict, x == r.X || x == r.X+r.W) {
				return false
			}
		}
	}
	return true
}

func edgeFree(user int32, run int, strict, edge bool) bool {
	return edge && (!strict || user == int32(run)+1)
}

// letter finds a place for a run's label: the longest stretch first, from its
// middle outward, on both sides; the preferred wording first. bent marks a
// stretch that carries a crest, which keeps its label too.
func (c *canvas) letter(run int, pts []Point, labels []Size) (Text, bool) {
	type stretch struct {
		a, b Point
		n    int
	}
	var list []stretch
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		list = append(list, stretch{a, b, abs(a.X-b.X) + abs(a.Y-b.Y)})
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].n > list[j].n })
	for _, pass := range []passing{{strict: true}, {strict: true, over: true}, {over: true}, {over: true, tight: true}} {
		for v, size := range labels {
			for _, s := range list {
				if t, ok := c.along(run, s.a, s.b, size, pass); ok {
					t.Variant = v
					return t, true
				}
			}
		}
	}
	return Text{}, false
}

// along tries one stretch.
func (c *canvas) along(run int, a, b Point, size Size, pass passing) (Text, bool) {
	try := func(r Rect, turned bool, side Side) (Text, bool) {
		if !c.free(r, run, pass) {
			return Text{}, false
		}
		return Text{Placed: true, Rect: r, Turned: turned, Side: side}, true
	}
	w, h := size.W, size.H
	if a.Y == b.Y {
		lo, hi := min(a.X, b.X), max(a.X, b.X)-w
		if pass.over {
			lo, hi = lo-w+3, hi+w-3
		}
		for _, x := range outward(lo, hi) {
			for _, y := range [2]int{a.Y - h, a.Y} {
				side := Top
				if y == a.Y {
					side = Bottom
				}
				if t, ok := try(Rect{x, y, w, h}, false, side); ok {
					return t, true
				}
			}
		}
		return Text{}, false
	}
	for _, turned := range [2]bool{true, false} {
		tw, th := w, h
		if turned {
			tw, th = h, w
		}
		lo, hi := min(a.Y, b.Y), max(a.Y, b.Y)-th
		if pass.over {
			lo, hi = lo-th+3, hi+th-3
		}
		for _, y := range outward(lo, hi) {
			for _, x := range [2]int{a.X - tw, a.X} {
				side := Left
				if x == a.X {
					side = Right
				}
				if t, ok := try(Rect{x, y, tw, th}, turned, side); ok {
					return t, true
				}
			}
		}
	}
	return Text{}, false
}

// outward lists lo to hi from the middle outward.
func outward(lo, hi int) []int {
	if hi < lo {
		return nil
	}
	mid := lo + (hi-lo)/2
	list := []int{mid}
	for d := 1; len(list) < hi-lo+1; d++ {
		if mid+d <= hi {
			list = append(list, mid+d)
		}
		if mid-d >= lo {
			list = append(list, mid-d)
		}
	}
	return list
}
