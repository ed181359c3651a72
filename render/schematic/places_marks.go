package schematic

import (
	"math"
	"slices"
	"strings"

	"fitout/render/draw"
)

// placeMark is what stands for a place in a view: the box of the part that is
// there, in the middle of its place where that is free, else beside it with a line
// to a dot. Several parts in one place have their boxes stacked, with one line.
type placeMark struct {
	at     draw.Point // true place
	cells  []placeCell
	half   draw.Point // half the size of the whole
	c      draw.Point // middle of it
	set    bool
	inside bool // the place lies within the outline
	// what the mark can meet within reach: others, and lines
	others []int
	near   [][2]draw.Point
	spots  []placeSpot
	gap    draw.MM // up to which the spots are known
}

// placeCell is the box of one part.
type placeCell struct {
	placed
	lines   []string
	letters draw.Letters
	high    bool     // the last line is its height
	box     draw.Box // seen from the middle of the mark
}

// placeSpot is a place for a mark where it meets nothing that stands still.
type placeSpot struct {
	c, edge draw.Point
	gap     float64
}

func (m *placeMark) box() draw.Box {
	return draw.Box{Min: m.c.Add(-m.half.X, -m.half.Y), Max: m.c.Add(m.half.X, m.half.Y)}
}

func (m *placeMark) moved() bool { return m.c != m.at }

// edge is the point of the boxes nearest to the place, where the leader meets them.
func (m *placeMark) edge() draw.Point {
	best, out := math.Inf(1), m.c
	for i := range m.cells {
		b := m.cells[i].box
		p := draw.Point{X: min(max(m.at.X, m.c.X+b.Min.X), m.c.X+b.Max.X), Y: min(max(m.at.Y, m.c.Y+b.Min.Y), m.c.Y+b.Max.Y)}
		if d := float64(apart(p, m.at)); d < best {
			best, out = d, p
		}
	}
	return out
}

// mostStacked is how many boxes stand above one another before a further column.
const mostStacked = 8

// stack sets the boxes of a mark in columns.
func (m *placeMark) stack() {
	cols := (len(m.cells) + mostStacked - 1) / mostStacked
	rows := (len(m.cells) + cols - 1) / cols
	x, tall := draw.MM(0), draw.MM(0)
	for from := 0; from < len(m.cells); from += rows {
		col := m.cells[from:min(from+rows, len(m.cells))]
		wide, y := draw.MM(0), draw.MM(0)
		for i := range col {
			wide = max(wide, col[i].width())
		}
		for i := range col {
			h := col[i].height()
			col[i].box = draw.Box{Min: draw.Point{X: x, Y: y}, Max: draw.Point{X: x + wide, Y: y + h}}
			y += h
		}
		x += wide
		tall = max(tall, y)
	}
	m.half = draw.Point{X: x / 2, Y: tall / 2}
	for i := range m.cells {
		b := &m.cells[i].box
		b.Min, b.Max = b.Min.Add(-m.half.X, -m.half.Y), b.Max.Add(-m.half.X, -m.half.Y)
	}
}

func newPlaceCell(v *view, p placed, l draw.Letters) placeCell {
	c := placeCell{placed: p, letters: l, lines: markLines(l, p.part.ID)}
	if k := p.part.Cock; k != nil {
		c.lines = append(c.lines, markLines(l, k.ID)...)
	}
	if !v.plan && p.height > v.top() {
		c.lines, c.high = append(c.lines, v.b.unit.height(p.height)+" "+v.b.unit.name), true
	}
	return c
}

// Where a long designation is broken: after a hyphen or the like beyond the first,
// within a word beyond the second.
const (
	longMark    = draw.MM(18)
	longestMark = draw.MM(45)
)

func markLines(l draw.Letters, id string) []string {
	room := longMark
	for _, word := range strings.FieldsFunc(id, func(r rune) bool { return strings.ContainsRune("-/.,_ ", r) }) {
		room = max(room, min(l.Width(word+"-"), longestMark))
	}
	return l.Wrap(id, room)
}

func (c *placeCell) width() draw.MM {
	w := draw.MM(0)
	for i, s := range c.lines {
		w = max(w, c.lettersOf(i).Width(s))
	}
	return max(w+1.6, 3.8)
}

func (c *placeCell) height() draw.MM {
	return c.letters.Cap() + draw.MM(len(c.lines)-1)*markPitch(c.letters) + 1.5
}

func markPitch(l draw.Letters) draw.MM { return l.Cap() + 1.1 }

// lettersOf a line: a height is no designation.
func (c *placeCell) lettersOf(i int) draw.Letters {
	if c.high && i == len(c.lines)-1 {
		return draw.Small
	}
	return c.letters
}

// mostPushed is one more than the marks that one may push away.
const mostPushed = 5

// Clearances of marks, in millimetres.
const (
	markApart = draw.MM(0.6) // from other marks and texts
	lineApart = draw.MM(1.2) // from the hull, centreline and waterline
	dotApart  = draw.MM(0.9) // from the true places of others
	dotRadius = draw.MM(0.45)
	firstGap  = draw.MM(1) // of a moved mark from its own place
	gapStep   = draw.MM(0.8)
	onePlace  = draw.MM(1.6) // places so near share a dot: 8 cm at 1 : 50, and the key has the figures
)

// spread sets the marks of a share: those whose place is free in its middle, the
// rest each as near as it goes, then once more with all the others in place.
// False where one stands farther from its place than reach.
func (v *view) spread(parts []placed, l draw.Letters, reach draw.MM) bool {
	v.marks = nil
	for _, p := range parts {
		at, ok := v.of(p)
		if !ok {
			continue
		}
		k := slices.IndexFunc(v.marks, func(o placeMark) bool { return apart(o.at, at) < onePlace })
		if k < 0 {
			k = len(v.marks)
			v.marks = append(v.marks, placeMark{at: at, inside: within(v.shape, at)})
		}
		v.marks[k].cells = append(v.marks[k].cells, newPlaceCell(v, p, l))
	}
	for i := range v.marks {
		v.marks[i].stack()
	}
	v.reach = reach
	v.neighbours(reach)
	var waiting []int
	for i := range v.marks {
		m := &v.marks[i]
		m.c = m.at
		if m.set = v.more(m) && m.spots[0].gap == 0 && v.free(m); !m.set {
			waiting = append(waiting, i)
		}
	}
	moves := make([]int, len(v.marks)) // how often each mark had to give way
	for n := 0; len(waiting) > 0; n++ {
		if n > 2*len(v.marks)+20 { // they push one another about
			return v.leave(waiting)
		}
		i := waiting[0]
		waiting = waiting[1:]
		if v.settle(i) {
			continue
		}
		gone, ok := v.push(i, moves)
		if !ok {
			return v.leave(append(waiting, i))
		}
		waiting = append(waiting, gone...)
	}
	for range 3 {
		for i := range v.marks {
			if v.marks[i].moved() {
				v.settle(i)
			}
		}
	}
	return true
}

// leave sets the marks that found no room over their places: better that two marks
// touch than that a part is missing. It reports false.
func (v *view) leave(list []int) bool {
	for _, i := range list {
		v.marks[i].c = v.marks[i].at
		v.marks[i].set = true
	}
	return false
}

// neighbours lists for every mark what it can meet within reach.
func (v *view) neighbours(reach draw.MM) {
	far := func(m *placeMark) draw.MM { return reach + 2*max(m.half.X, m.half.Y) + 2 }
	for i := range v.marks {
		m := &v.marks[i]
		for k := range v.marks {
			if o := &v.marks[k]; k != i && apart(m.at, o.at) < far(m)+far(o) {
				m.others = append(m.others, k)
			}
		}
		for _, l := range v.lines {
			if nearSegment(m.at, l[0], l[1]) < far(m) {
				m.near = append(m.near, l)
			}
		}
	}
}

// more adds to the places about a part, the nearest first, where its mark meets
// neither text nor line nor the place of another part; false where there are no
// more within reach.
func (v *view) more(m *placeMark) bool {
	was, n := m.c, len(m.spots)
	try := func() {
		if v.still(m) {
			m.spots = append(m.spots, placeSpot{m.c, m.edge(), float64(m.gap)})
		}
	}
	if m.gap == 0 {
		m.c = m.at
		if len(m.cells) == 1 { // in the middle of a stack the place could not be told
			try()
		}
		m.gap = firstGap
	}
	for ; m.gap <= v.reach && len(m.spots) == n; m.gap += gapStep {
		for _, d := range around24 {
			m.c = m.at.Add(clampTo(d.X, m.half.X)+d.X*m.gap, clampTo(d.Y, m.half.Y)+d.Y*m.gap)
			try()
		}
	}
	m.c = was
	return len(m.spots) > n
}

// settle moves a mark to the best free place within reach; false where it has
// none, and then it stays as it was.
func (v *view) settle(i int) bool {
	m := &v.marks[i]
	best, found, to := math.Inf(1), m.set, m.c
	if m.set {
		best = v.cost(m)
	}
	for k := 0; k < len(m.spots) || v.more(m); k++ {
		s := m.spots[k]
		if s.gap >= best {
			break
		}
		m.c = s.c
		if !v.free(m) {
			continue
		}
		if c := v.cost(m); c < best {
			best, to, found = c, m.c, true
		}
	}
	m.c, m.set = to, found
	return found
}

// push sets a mark where the fewest others must give way, those least that have
// given way before, and names them.
func (v *view) push(i int, moves []int) (gone []int, ok bool) {
	m := &v.marks[i]
	best, to := math.Inf(1), m.c
	for k := 0; k < len(m.spots) || v.more(m); k++ {
		s := m.spots[k]
		c := s.gap / 4 / float64(1+moves[i]) // who has given way goes farther off
		if c >= best {
			break
		}
		m.c = s.c
		in := v.conflicts(m, mostPushed)
		if len(in) == mostPushed {
			continue
		}
		for _, l := range m.near {
			if cross(m.at, s.edge, l[0], l[1]) {
				c += 3
			}
		}
		for _, k := range in {
			c += float64(2 + 3*moves[k])
		}
		if c < best {
			best, to, gone = c, m.c, in
		}
	}
	if math.IsInf(best, 1) {
		return nil, false
	}
	m.c, m.set = to, true
	for _, k := range gone {
		moves[k]++
		v.marks[k].set = false
	}
	return gone, true
}

// clampTo moves a box of half the size h sideways by the share of a direction, at
// most until its edge stands at the place.
func clampTo(d, h draw.MM) draw.MM { return min(max(d*1.5, -1), 1) * h }

// cost of a mark where it stands: its distance, lines that its leader crosses, and
// leaving the hull.
func (v *view) cost(m *placeMark) float64 {
	e := m.edge()
	c := float64(apart(e, m.at))
	for _, k := range m.others {
		o := &v.marks[k]
		if o.set && o.moved() && o.at != m.at && cross(m.at, e, o.at, o.edge()) {
			c += 6
		}
	}
	for _, l := range m.near {
		if cross(m.at, e, l[0], l[1]) {
			c += 9
		}
	}
	if within(v.shape, m.c) != m.inside {
		c += 3
	}
	return c
}

// still reports whether a mark and its leader keep clear of what cannot give way.
func (v *view) still(m *placeMark) bool {
	b := m.box()
	if !v.room.Contains(b) {
		return false
	}
	near, line := b.Grow(markApart), b.Grow(lineApart)
	for _, t := range v.taken {
		if near.Overlaps(t) {
			return false
		}
	}
	for _, l := range m.near {
		if hits(line, l[0], l[1]) {
			return false
		}
	}
	e := m.edge()
	for _, t := range v.taken {
		if m.moved() && hits(t.Grow(0.3), m.at, e) {
			return false
		}
	}
	// to port what is to port, below the water what is below
	if v.crosses(m.at, e) {
		return false
	}
	dots := b.Grow(dotApart)
	for _, k := range m.others {
		o := &v.marks[k]
		if holds(dots, o.at) && !(m.moved() && o.at == m.at) {
			return false
		}
		if m.moved() && nearSegment(o.at, m.at, e) < placesApart(m, o, dotApart) {
			return false
		}
	}
	return true
}

// crosses reports whether a leader leaves its side of the centreline or waterline.
func (v *view) crosses(a, b draw.Point) bool {
	d := func(p draw.Point) draw.MM { return p.Y - v.at.Y }
	return d(a)*d(b) < 0 && abs(d(a)) > 0.3
}

func abs(v draw.MM) draw.MM { return v * sign(v) }

// placesApart is the distance kept from the place of another mark; places close to
// one another cannot keep the usual one.
func placesApart(m, o *placeMark, usual draw.MM) draw.MM {
	return min(usual, apart(m.at, o.at)*0.3)
}

func (v *view) free(m *placeMark) bool { return len(v.conflicts(m, 1)) == 0 }

// conflicts lists the marks that a mark or its leader lies on, or whose leader it
// lies on, until there are enough.
func (v *view) conflicts(m *placeMark, enough int) (in []int) {
	b, e := m.box(), m.edge()
	near := b.Grow(markApart)
	for _, k := range m.others {
		o := &v.marks[k]
		if !o.set {
			continue
		}
		ob := o.box()
		switch {
		case near.Overlaps(ob), m.moved() && hits(ob.Grow(0.4), m.at, e):
			in = append(in, k)
		case o.moved():
			if oe := o.edge(); hits(near, o.at, oe) || nearSegment(m.at, o.at, oe) < placesApart(m, o, dotRadius) {
				in = append(in, k)
			}
		}
		if len(in) == enough {
			break
		}
	}
	return in
}

func holds(b draw.Box, p draw.Point) bool { return b.Contains(draw.Box{Min: p, Max: p}) }

// hits reports whether a straight piece passes through a box.
func hits(b draw.Box, p, q draw.Point) bool {
	if max(p.X, q.X) <= b.Min.X || min(p.X, q.X) >= b.Max.X || max(p.Y, q.Y) <= b.Min.Y || min(p.Y, q.Y) >= b.Max.Y {
		return false
	}
	lo, hi := 0.0, 1.0
	for _, a := range [2][4]draw.MM{{p.X, q.X, b.Min.X, b.Max.X}, {p.Y, q.Y, b.Min.Y, b.Max.Y}} {
		from, d := float64(a[0]), float64(a[1]-a[0])
		if d == 0 {
			continue // within, as found above
		}
		s, e := (float64(a[2])-from)/d, (float64(a[3])-from)/d
		lo, hi = math.Max(lo, math.Min(s, e)), math.Min(hi, math.Max(s, e))
	}
	return lo < hi
}

// cross reports whether two straight pieces cross.
func cross(a, b, c, d draw.Point) bool {
	side := func(p, q, r draw.Point) draw.MM { return (q.X-p.X)*(r.Y-p.Y) - (q.Y-p.Y)*(r.X-p.X) }
	return side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0
}

// nearSegment is the distance of a point from a straight piece.
func nearSegment(p, a, b draw.Point) draw.MM {
	dx, dy := b.X-a.X, b.Y-a.Y
	l := dx*dx + dy*dy
	t := draw.MM(0)
	if l > 0 {
		t = min(max(((p.X-a.X)*dx+(p.Y-a.Y)*dy)/l, 0), 1)
	}
	return apart(p, draw.Point{X: a.X + t*dx, Y: a.Y + t*dy})
}

// apart is the distance of two points, by the root that is fast.
func apart(p, q draw.Point) draw.MM {
	return draw.MM(math.Sqrt(float64((p.X-q.X)*(p.X-q.X) + (p.Y-q.Y)*(p.Y-q.Y))))
}

// drawn are the marks, over the leaders with their dots.
func (v *view) drawn() []draw.Item {
	leaders := draw.Group{Class: "leaders"}
	items := []draw.Item{nil}
	for i := range v.marks {
		m := &v.marks[i]
		for k := range m.cells {
			items = append(items, m.cells[k].drawn(m.c))
		}
		if m.moved() {
			leaders.Strokes = append(leaders.Strokes,
				draw.Circle(m.at, dotRadius, draw.Pen{Style: draw.Outline, Fill: draw.Ink}), draw.Line(m.edge(), m.at, draw.Leader))
		}
	}
	items[0] = leaders
	return items
}

func (c *placeCell) drawn(at draw.Point) draw.Part {
	p := c.part
	b := draw.Box{Min: at.Add(c.box.Min.X, c.box.Min.Y), Max: at.Add(c.box.Max.X, c.box.Max.Y)}
	part := draw.Part{ID: p.ID, Kind: p.Kind.Name, Title: p.Name(), Class: "place"}
	part.Strokes = append(part.Strokes, shapeOf(p).outline(b, p.Prepared))
	y := (b.Min.Y+b.Max.Y)/2 - draw.MM(len(c.lines)-1)*markPitch(c.letters)/2
	for i, s := range c.lines {
		l := c.lettersOf(i)
		part.Strokes = append(part.Strokes, draw.Text{At: draw.Point{X: (b.Min.X + b.Max.X) / 2, Y: y + l.Cap()/2}, S: s, Letters: l, Align: draw.Middle})
		y += markPitch(c.letters)
	}
	return part
}

// around24 are the directions tried around a place, the quarters first.
var around24 = func() (out [24]draw.Point) {
	for k := range out {
		s, c := math.Sincos(float64(k%4)*math.Pi/2 + float64(k/4)*math.Pi/12)
		// rounded, so that every machine places alike
		out[k] = draw.Point{X: draw.MM(math.Round(c*1e4) / 1e4), Y: draw.MM(math.Round(s*1e4) / 1e4)}
	}
	return out
}()
