package schematic

import (
	"math"
	"slices"

	"fitout/layout"
	"fitout/render/draw"
)

// ground is what is taken on a page, for finding room between.
type ground struct {
	bins map[[2]int][]draw.Box
	area draw.Box
}

const bin = 8.0

func binOf(v draw.MM) int { return int(math.Floor(float64(v) / bin)) }

func (g *ground) take(b draw.Box) {
	for i := binOf(b.Min.X); i <= binOf(b.Max.X); i++ {
		for j := binOf(b.Min.Y); j <= binOf(b.Max.Y); j++ {
			g.bins[[2]int{i, j}] = append(g.bins[[2]int{i, j}], b)
		}
	}
}

// drop gives back what was taken as exactly this box.
func (g *ground) drop(b draw.Box) {
	for i := binOf(b.Min.X); i <= binOf(b.Max.X); i++ {
		for j := binOf(b.Min.Y); j <= binOf(b.Max.Y); j++ {
			k := [2]int{i, j}
			g.bins[k] = slices.DeleteFunc(slices.Clone(g.bins[k]), func(t draw.Box) bool { return t == b })
		}
	}
}

func (g *ground) free(b draw.Box) bool {
	if !g.area.Contains(b) {
		return false
	}
	wide := b.Grow(0.05)
	for i := binOf(b.Min.X); i <= binOf(b.Max.X); i++ {
		for j := binOf(b.Min.Y); j <= binOf(b.Max.Y); j++ {
			for _, t := range g.bins[[2]int{i, j}] {
				if t.Overlaps(wide) {
					return false
				}
			}
		}
	}
	return true
}

func (g *ground) takeStroke(s draw.Stroke) {
	if l, ok := s.(draw.Polyline); ok && len(l.Points) > 1 && !l.Closed {
		for i := 1; i < len(l.Points); i++ {
			g.take(around(l.Points[i-1], l.Points[i]))
		}
		return
	}
	g.take(s.Bounds())
}

func around(a, b draw.Point) draw.Box {
	return draw.Box{Min: draw.Point{X: min(a.X, b.X), Y: min(a.Y, b.Y)}, Max: draw.Point{X: max(a.X, b.X), Y: max(a.Y, b.Y)}}
}

// occupied collects all that is drawn on the page.
func (p *paper) occupied(f *foot) *ground {
	g := &ground{bins: map[[2]int][]draw.Box{}, area: p.frame.Area}
	for _, r := range p.runs {
		half := draw.InColour.Stroking(r.Style).Width / 2
		for i := 1; i < len(r.Points); i++ {
			g.take(around(r.Points[i-1], r.Points[i]).Grow(half))
		}
	}
	// symbols with what is between their strokes; the bars that a part's terminals
	// have, which may reach over the sheet, line by line
	for i := range p.s.Boxes {
		b := &p.s.Boxes[i]
		fit := p.d.bodies[b.ID]
		g.take(p.box(layout.Rect{X: b.X, Y: b.Y, W: fit.w, H: fit.h}))
	}
	for _, part := range p.parts {
		drawn, any := draw.Box{}, false
		for _, s := range part.Strokes {
			switch _, ok := s.(draw.Text); {
			case ok:
				g.take(s.Bounds())
			case !any:
				drawn, any = s.Bounds(), true
			default:
				drawn = drawn.Union(s.Bounds())
			}
		}
		if any {
			g.take(drawn)
		}
		for _, t := range part.Terminals {
			g.take(around(t.A, t.B).Grow(0.3))
		}
	}
	for _, t := range p.texts {
		g.take(t.Bounds())
	}
	for _, it := range f.items {
		if grp, ok := it.(draw.Group); ok {
			for _, s := range grp.Strokes {
				g.takeStroke(s)
			}
		}
	}
	return g
}

// pointTo says, as low on the sheet as there is room, which sheet tells what the
// marks mean.
func (p *paper) pointTo(f *foot, table int) {
	g := p.occupied(f)
	t := draw.Text{S: "Numbers in rings are findings: see sheet " + itoa(table), Letters: draw.Small}
	width := t.Width()
	for y := g.area.Max.Y - 1; y > g.area.Min.Y; y-- {
		for x := g.area.Max.X - width - 1; x > g.area.Min.X; x -= 2 {
			t.At = draw.Point{X: x, Y: y}
			if g.free(t.Bounds().Grow(0.7)) {
				f.items = append(f.items, draw.Group{Class: "legend", Strokes: []draw.Stroke{t}})
				return
			}
		}
	}
}

// mark puts the number of each finding beside what it concerns, clear of
// everything; where there is no room at once, a line leads to it.
func (p *paper) mark(f *foot) {
	if len(p.found) == 0 {
		return
	}
	g := p.occupied(f)
	for _, n := range p.found {
		for _, near := range p.targets(n.At) {
			if m, ok := g.mark(n, near); ok {
				f.items = append(f.items, m)
				break
			}
		}
	}
}

// mark finds a place for a finding's number beside one of the boxes, and takes it.
func (g *ground) mark(n numbered, near []draw.Box) (draw.Group, bool) {
	r := draw.MarkRadius(n.number)
	at, from, ok := g.room(near, r+0.4)
	if !ok {
		at, from, ok = g.aside(near, r+0.4)
	}
	if !ok {
		return draw.Group{}, false
	}
	m := draw.FindingMark(at, n.number, findingStyle[n.Severity])
	m.Title = n.Rule + ": " + n.Message
	if d := distance(at, from); d > r+1.6 {
		end := draw.Point{X: at.X + (from.X-at.X)*r/d, Y: at.Y + (from.Y-at.Y)*r/d}
		m.Strokes = append([]draw.Stroke{draw.Line(end, from, draw.Leader)}, m.Strokes...)
	}
	g.take(m.Bounds().Grow(0.3))
	return m, true
}

func distance(a, b draw.Point) draw.MM {
	return draw.MM(math.Hypot(float64(a.X-b.X), float64(a.Y-b.Y)))
}

// targets are the boxes of each thing named that is on the sheet, in the order
// in which they are named.
func (p *paper) targets(at []string) (out [][]draw.Box) {
	for _, id := range at {
		if t := p.target(plain(id)); len(t) > 0 {
			out = append(out, t)
		}
	}
	return out
}

// target are the pieces of a run, the longest first, or the box of a part's
// symbol: bars that its terminals have are no place to look for it.
func (p *paper) target(id string) (out []draw.Box) {
	for _, r := range p.runs {
		if l := p.d.link[r.ID]; r.ID == id || l.wire().Ref() == id {
			half := draw.InColour.Stroking(r.Style).Width / 2
			for i := 1; i < len(r.Points); i++ {
				out = append(out, around(r.Points[i-1], r.Points[i]).Grow(half))
			}
		}
	}
	if len(out) > 0 {
		slices.SortStableFunc(out, func(a, b draw.Box) int {
			return int(1000 * (b.Width() + b.Height() - a.Width() - a.Height()))
		})
		return out
	}
	for i := range p.s.Boxes {
		if b := &p.s.Boxes[i]; p.d.node[b.ID] != nil && p.d.node[b.ID].id == id {
			fit := p.d.bodies[b.ID]
			return []draw.Box{p.box(layout.Rect{X: b.X, Y: b.Y, W: fit.w, H: fit.h})}
		}
	}
	for i := range p.parts {
		if p.parts[i].ID == id {
			return []draw.Box{p.parts[i].Outline()}
		}
	}
	return nil
}

// room finds the nearest free place for a circle by one of the boxes, and the
// point of the box that it belongs to.
func (g *ground) room(near []draw.Box, r draw.MM) (at, from draw.Point, ok bool) {
	const step = draw.MM(1.5)
	for d := draw.MM(0.4); d < 40; d += step {
		for _, b := range near {
			ring := b.Grow(r + d)
			for _, q := range rim(ring, step) {
				box := draw.Box{Min: q.Add(-r, -r), Max: q.Add(r, r)}
				if !g.free(box) {
					continue
				}
				e := nearestIn(b, q)
				if d > 1.6 && !g.sees(q, e, r) {
					continue
				}
				return q, e, true
			}
		}
	}
	return at, from, false
}

// aside finds a place for a circle at the end of a straight leader: from anywhere
// on the edge of one of the boxes, square to it, as short as it goes.
func (g *ground) aside(near []draw.Box, r draw.MM) (at, from draw.Point, ok bool) {
	const step, most = draw.MM(0.5), draw.MM(60)
	for d := r + 1.2; d < most; d++ {
		for _, b := range near {
			for _, e := range rim(b, step) {
				for _, way := range [][2]draw.MM{{1, 0}, {-1, 0}, {0, -1}, {0, 1}} {
					q := e.Add(way[0]*d, way[1]*d)
					if nearestIn(b, q) != e || !g.free(draw.Box{Min: q.Add(-r, -r), Max: q.Add(r, r)}) || !g.sees(q, e, r) {
						continue
					}
					return q, e, true
				}
			}
		}
	}
	return at, from, false
}

func nearestIn(b draw.Box, q draw.Point) draw.Point {
	return draw.Point{X: min(max(q.X, b.Min.X), b.Max.X), Y: min(max(q.Y, b.Min.Y), b.Max.Y)}
}

// sees tells whether a leader from the circle to its thing meets nothing else.
func (g *ground) sees(q, e draw.Point, r draw.MM) bool {
	d := distance(q, e)
	for t := d - 0.35; t > r; t -= 0.4 {
		c := draw.Point{X: q.X + (e.X-q.X)*t/d, Y: q.Y + (e.Y-q.Y)*t/d}
		if !g.free(draw.Box{Min: c.Add(-0.2, -0.2), Max: c.Add(0.2, 0.2)}) {
			return false
		}
	}
	return true
}

// rim lists points along a box's edge, the middle of the right and the upper side
// first.
func rim(b draw.Box, step draw.MM) []draw.Point {
	var out []draw.Point
	cx, cy := (b.Min.X+b.Max.X)/2, (b.Min.Y+b.Max.Y)/2
	add := func(x, y draw.MM) { out = append(out, draw.Point{X: x, Y: y}) }
	for d := draw.MM(0); d <= max(b.Width(), b.Height())/2; d += step {
		for _, s := range []draw.MM{-d, d} {
			if cy+s >= b.Min.Y && cy+s <= b.Max.Y {
				add(b.Max.X, cy+s)
				add(b.Min.X, cy+s)
			}
			if cx+s >= b.Min.X && cx+s <= b.Max.X {
				add(cx+s, b.Min.Y)
				add(cx+s, b.Max.Y)
			}
			if d == 0 {
				break
			}
		}
	}
	return append(out, b.Min, b.Max, draw.Point{X: b.Max.X, Y: b.Min.Y}, draw.Point{X: b.Min.X, Y: b.Max.Y})
}
