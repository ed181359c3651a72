package layout

import (
	"fmt"
	"sort"
)

// Fault is one promise that a plan breaks.
type Fault struct {
	Sheet int // index into Plan.Sheets, -1 for the plan as a whole
	What  string
}

func (f Fault) String() string { return fmt.Sprintf("sheet %d: %s", f.Sheet, f.What) }

// Check holds a plan against the graph it was made from: nothing overlaps; no wire runs through a box, a bar, a mark or a text, on
// another wire or at a slant; every wire ends on its ports; every box, bar and link is on some sheet, and what is cut is
// continued both ways. Everything is computed anew from the graph; nothing of the layout's own reckoning is used.
func Check(g Graph, p *Plan) []Fault {
	c := checker{g: &g, boxes: map[string]*Box{}, bars: map[string]*Bar{}, links: map[string]*Link{}}
	for i := range g.Boxes {
		c.boxes[g.Boxes[i].ID] = &g.Boxes[i]
	}
	for i := range g.Bars {
		c.bars[g.Bars[i].ID] = &g.Bars[i]
	}
	for i := range g.Links {
		c.links[g.Links[i].ID] = &g.Links[i]
	}
	for i := range p.Sheets {
		c.n = i
		c.sheet(&p.Sheets[i])
	}
	c.n = -1
	c.nothingLost(p)
	c.continued(p)
	return c.faults
}

type checker struct {
	g      *Graph
	boxes  map[string]*Box
	bars   map[string]*Bar
	links  map[string]*Link
	n      int
	faults []Fault
}

func (c *checker) fault(format string, args ...any) {
	c.faults = append(c.faults, Fault{c.n, fmt.Sprintf(format, args...)})
}

// solid is an area that nothing else may touch inside.
type solid struct {
	name  string
	owner string // wires that end on the owner may meet its edge
	rect  Rect
	text  bool
}

// straight is one horizontal or vertical piece of a wire.
type straight struct {
	wire   int
	a, b   Point // a is the left or upper end
	vert   bool
	at     int
	lo, hi int
}

func (c *checker) sheet(s *Sheet) {
	solids := c.solids(s)
	c.overlaps(solids)
	lines := c.straights(s)
	c.through(s, solids, lines)
	c.wireOnWire(s, lines)
	c.ends(s)
	c.labelsNear(s)
	for _, r := range solids {
		if r.rect.X < 0 || r.rect.Y < 0 || r.rect.X+r.rect.W > s.W || r.rect.Y+r.rect.H > s.H {
			c.fault("%s lies outside the sheet", r.name)
		}
	}
	for _, l := range lines {
		if l.a.X < 0 || l.a.Y < 0 || l.b.X > s.W || l.b.Y > s.H {
			c.fault("wire %s lies outside the sheet", s.Wires[l.wire].ID)
		}
	}
	if s.Fits && s.Page != (Page{}) && (s.W > s.Page.W || s.H > s.Page.H) {
		c.fault("said to fit the page, but is %d by %d", s.W, s.H)
	}
}

func (c *checker) solids(s *Sheet) []solid {
	var out []solid
	text := func(name string, r Rect) {
		if r.W > 0 {
			out = append(out, solid{name: name, rect: r, text: true})
		}
	}
	for i := range s.Boxes {
		b := &s.Boxes[i]
		g := c.boxes[b.ID]
		if g == nil {
			c.fault("box %q is not in the graph", b.ID)
			continue
		}
		out = append(out, solid{name: "box " + b.ID, owner: b.ID, rect: Rect{b.X, b.Y, g.W, g.H}})
		for _, d := range b.Landings {
			for _, r := range []Rect{hull(d.Port0, d.Stem), hull(d.Bar[0], d.Bar[1])} {
				out = append(out, solid{name: "landing on " + b.ID, owner: b.ID, rect: r})
			}
		}
		if g.Text.W > 0 && b.Text.W == 0 {
			c.fault("box %s lost its text", b.ID)
		}
		text("text of "+b.ID, b.Text)
	}
	for _, b := range s.Bars {
		out = append(out, solid{name: "bar " + b.ID, owner: b.ID, rect: b.Rect})
		text("name of "+b.ID, b.Name)
		if g := c.bars[b.ID]; g != nil && g.Name.W > 0 && b.Name.W == 0 {
			c.fault("bar %s lost its name", b.ID)
		}
	}
	for _, m := range s.Marks {
		out = append(out, solid{name: "mark " + m.Ref, owner: "mark:" + m.Ref, rect: m.Rect})
	}
	for _, w := range s.Wires {
		for _, t := range w.Labels {
			text("label of "+w.ID, t.Cell)
		}
		text("tag of "+w.ID, w.FromTag.Cell)
		text("tag of "+w.ID, w.ToTag.Cell)
	}
	return out
}

// overlaps finds solids that share area. Landing bars, being lines, may not lie inside anything either.
func (c *checker) overlaps(solids []solid) {
	idx := make([]int, len(solids))
	for i := range idx {
		idx[i] = i
	}
	sort.SliceStable(idx, func(a, b int) bool { return solids[idx[a]].rect.X < solids[idx[b]].rect.X })
	for n, i := range idx {
		a := &solids[i]
		for _, j := range idx[n+1:] {
			b := &solids[j]
			if b.rect.X >= a.rect.X+max(a.rect.W, 1) {
				break
			}
			if a.owner != "" && a.owner == b.owner {
				continue
			}
			if meet(a.rect, b.rect) {
				c.fault("%s overlaps %s", a.name, b.name)
			}
		}
	}
}

// meet tells whether two areas overlap; an area without width or height is a line and must not run inside the other.
func meet(a, b Rect) bool {
	return within(a.X, a.X+a.W, b.X, b.X+b.W) && within(a.Y, a.Y+a.H, b.Y, b.Y+b.H)
}

func within(a0, a1, b0, b1 int) bool {
	if a0 == a1 && b0 == b1 {
		return a0 == b0
	}
	return a0 < b1 && b0 < a1 && max(a0, b0) <= min(a1, b1)
}

func (c *checker) straights(s *Sheet) []straight {
	var out []straight
	for i, w := range s.Wires {
		if len(w.Points) < 2 {
			c.fault("wire %s has no length", w.ID)
		}
		for k := 1; k < len(w.Points); k++ {
			a, b := w.Points[k-1], w.Points[k]
			if (a.X == b.X) == (a.Y == b.Y) {
				c.fault("wire %s is slanted or doubled at %v", w.ID, a)
				continue
			}
			if b.X < a.X || b.Y < a.Y {
				a, b = b, a
			}
			l := straight{wire: i, a: a, b: b, vert: a.X == b.X}
			if l.vert {
				l.at, l.lo, l.hi = a.X, a.Y, b.Y
			} else {
				l.at, l.lo, l.hi = a.Y, a.X, b.X
			}
			out = append(out, l)
		}
	}
	return out
}

// through finds wires that run through solids, or along the edge of one that is not text.
func (c *checker) through(s *Sheet, solids []solid, lines []straight) {
	sort.SliceStable(solids, func(i, j int) bool { return solids[i].rect.X < solids[j].rect.X })
	widest := 0
	for _, r := range solids {
		widest = max(widest, r.rect.W)
	}
	for _, l := range lines {
		r := Rect{l.a.X, l.a.Y, l.b.X - l.a.X, l.b.Y - l.a.Y}
		from := sort.Search(len(solids), func(i int) bool { return solids[i].rect.X >= l.a.X-widest })
		for _, o := range solids[from:] {
			if o.rect.X > l.b.X {
				break
			}
			if o.rect.W == 0 || o.rect.H == 0 {
				c.onLanding(s, l, o)
				continue
			}
			if meet(r, o.rect) {
				c.fault("wire %s runs through %s", s.Wires[l.wire].ID, o.name)
			}
		}
	}
}

// onLanding finds wires that cross or touch a landing bar that is not theirs.
func (c *checker) onLanding(s *Sheet, l straight, o solid) {
	k := c.links[s.Wires[l.wire].ID]
	if k != nil && (k.From.Node == o.owner || k.To.Node == o.owner) {
		if r := o.rect; l.vert == (r.W == 0) && (l.vert && l.at == r.X && l.lo < r.Y+r.H && r.Y < l.hi || !l.vert && l.at == r.Y && l.lo < r.X+r.W && r.X < l.hi) {
			c.fault("wire %s runs along %s", s.Wires[l.wire].ID, o.name)
		}
		return
	}
	if l.a.X <= o.rect.X+o.rect.W && o.rect.X <= l.b.X && l.a.Y <= o.rect.Y+o.rect.H && o.rect.Y <= l.b.Y {
		c.fault("wire %s touches %s", s.Wires[l.wire].ID, o.name)
	}
}

// wireOnWire finds wires that lie on each other or touch at a corner or an end. Crossing at a right angle is no fault.
func (c *checker) wireOnWire(s *Sheet, lines []straight) {
	var vert, hor []straight
	for _, l := range lines {
		if l.vert {
			vert = append(vert, l)
		} else {
			hor = append(hor, l)
		}
	}
	for _, set := range [][]straight{vert, hor} {
		sort.SliceStable(set, func(i, j int) bool {
			if set[i].at != set[j].at {
				return set[i].at < set[j].at
			}
			return set[i].lo < set[j].lo
		})
		for i := range set {
			for j := i + 1; j < len(set) && set[j].at == set[i].at && set[j].lo <= set[i].hi; j++ {
				if set[i].wire != set[j].wire || set[j].lo < set[i].hi {
					c.fault("wires %s and %s lie on each other at %v", s.Wires[set[i].wire].ID, s.Wires[set[j].wire].ID, set[j].a)
				}
			}
		}
	}
	for _, h := range hor {
		from := sort.Search(len(vert), func(i int) bool { return vert[i].at >= h.lo })
		for _, v := range vert[from:] {
			if v.at > h.hi {
				break
			}
			if v.wire == h.wire || h.at < v.lo || h.at > v.hi {
				continue
			}
			if v.at == h.lo || v.at == h.hi || h.at == v.lo || h.at == v.hi {
				c.fault("wires %s and %s touch at %v", s.Wires[h.wire].ID, s.Wires[v.wire].ID, Point{v.at, h.at})
			}
		}
	}
}

// ends holds every wire's ends against the ports, studs, landings and marks they belong to.
func (c *checker) ends(s *Sheet) {
	place := map[string]*PlacedBox{}
	for i := range s.Boxes {
		if place[s.Boxes[i].ID] != nil {
			c.fault("box %s is drawn twice", s.Boxes[i].ID)
		}
		place[s.Boxes[i].ID] = &s.Boxes[i]
	}
	bars := map[string]*PlacedBar{}
	for i := range s.Bars {
		if bars[s.Bars[i].ID] != nil {
			c.fault("bar %s is drawn twice", s.Bars[i].ID)
		}
		bars[s.Bars[i].ID] = &s.Bars[i]
	}
	marks := map[string]bool{}
	for _, m := range s.Marks {
		if !m.Bar {
			marks[fmt.Sprint(m.Ref, m.End, m.At)] = true
		}
	}
	for _, w := range s.Wires {
		k := c.links[w.ID]
		if k == nil {
			c.fault("wire %q is not in the graph", w.ID)
			continue
		}
		if len(w.Points) < 2 {
			continue
		}
		for e, end := range []End{k.From, k.To} {
			at, cut := w.Points[0], w.CutFrom
			if e == 1 {
				at, cut = w.Points[len(w.Points)-1], w.CutTo
			}
			switch {
			case cut:
				if !marks[fmt.Sprint(w.ID, e, at)] {
					c.fault("cut wire %s does not end on its mark", w.ID)
				}
			case c.bars[end.Node] != nil:
				if b := bars[end.Node]; b == nil || !b.holds(w.ID, e, at) {
					c.fault("wire %s does not end on bar %s", w.ID, end.Node)
				}
			default:
				if b := place[end.Node]; b == nil || !c.onPort(b, end.Port, w.ID, e, at) {
					c.fault("wire %s does not end on %s.%s", w.ID, end.Node, end.Port)
				}
			}
		}
	}
}

func (b *PlacedBar) holds(link string, end int, at Point) bool {
	if at.X < b.Rect.X || at.X > b.Rect.X+b.Rect.W || at.Y != b.Rect.Y && at.Y != b.Rect.Y+b.Rect.H {
		return false
	}
	for _, s := range b.Studs {
		if s.Link == link && s.End == end && s.At == at {
			return true
		}
	}
	return false
}

// onPort tells whether a point is a box's port, or the link's landing on the bar of that port.
func (c *checker) onPort(b *PlacedBox, port, link string, end int, at Point) bool {
	g := c.boxes[b.ID]
	var p Point
	for _, q := range g.Ports {
		if q.Name != port {
			continue
		}
		switch q.Side {
		case Top:
			p = Point{q.Offset, 0}
		case Bottom:
			p = Point{q.Offset, g.H}
		case Left:
			p = Point{0, q.Offset}
		case Right:
			p = Point{g.W, q.Offset}
		}
	}
	if b.Mirrored {
		if !g.Mirror {
			return false
		}
		p.X = g.W - p.X
	}
	p.X += b.X
	p.Y += b.Y
	if at == p {
		return true
	}
	for _, d := range b.Landings {
		if d.Port != port || d.Port0 != p {
			continue
		}
		r := hull(d.Bar[0], d.Bar[1])
		for i := range d.Links {
			if d.Links[i] == link && d.LinkEnd[i] == end && d.Studs[i] == at &&
				at.X >= r.X && at.X <= r.X+r.W && at.Y >= r.Y && at.Y <= r.Y+r.H {
				return true
			}
		}
	}
	return false
}

// labelsNear demands that every label lies against its own wire and that none is missing unsaid.
func (c *checker) labelsNear(s *Sheet) {
	for _, w := range s.Wires {
		for _, t := range w.Labels {
			near := false
			for i := 1; i < len(w.Points) && !near; i++ {
				r := hull(w.Points[i-1], w.Points[i])
				near = r.X <= t.Cell.X+t.Cell.W && t.Cell.X <= r.X+r.W && r.Y <= t.Cell.Y+t.Cell.H && t.Cell.Y <= r.Y+r.H
			}
			if !near {
				c.fault("label %s of wire %s lies away from it", t.Key, w.ID)
			}
		}
		k := c.links[w.ID]
		if k == nil || len(k.Labels) == 0 {
			continue
		}
		if want := len(k.Labels[min(s.Level, len(k.Labels)-1)]); len(w.Labels)+len(w.MissingLabelKey) != want {
			c.fault("wire %s has %d of %d labels", w.ID, len(w.Labels), want)
		}
	}
}

// nothingLost demands every box once, every bar at least once, and every link once, or with both its ends if it is cut.
func (c *checker) nothingLost(p *Plan) {
	boxes, bars := map[string]int{}, map[string]int{}
	type half struct{ whole, from, to int }
	links := map[string]half{}
	for _, s := range p.Sheets {
		for _, b := range s.Boxes {
			boxes[b.ID]++
		}
		for _, b := range s.Bars {
			bars[b.ID]++
		}
		for _, w := range s.Wires {
			h := links[w.ID]
			switch {
			case !w.CutFrom && !w.CutTo:
				h.whole++
			case w.CutFrom && !w.CutTo:
				h.to++
			case w.CutTo && !w.CutFrom:
				h.from++
			default:
				c.fault("wire %s is cut at both ends", w.ID)
			}
			links[w.ID] = h
		}
	}
	for _, b := range c.g.Boxes {
		if boxes[b.ID] != 1 {
			c.fault("box %s is drawn %d times", b.ID, boxes[b.ID])
		}
	}
	for _, b := range c.g.Bars {
		if bars[b.ID] < 1 {
			c.fault("bar %s is lost", b.ID)
		}
	}
	for _, k := range c.g.Links {
		if h := links[k.ID]; h != (half{1, 0, 0}) && h != (half{0, 1, 1}) {
			c.fault("link %s is drawn %d times whole, %d and %d times in halves", k.ID, h.whole, h.from, h.to)
		}
	}
}

// continued demands that what goes on elsewhere says so, and where: each mark names sheets on which the same name is marked.
func (c *checker) continued(p *Plan) {
	on := map[string]map[int]bool{}
	key := func(m Mark) string { return fmt.Sprint(m.Bar, m.Ref) }
	for i, s := range p.Sheets {
		for _, m := range s.Marks {
			if on[key(m)] == nil {
				on[key(m)] = map[int]bool{}
			}
			on[key(m)][i] = true
		}
	}
	drawn := map[string][]int{}
	for i, s := range p.Sheets {
		for _, b := range s.Bars {
			drawn[b.ID] = append(drawn[b.ID], i)
		}
		for _, m := range s.Marks {
			if len(m.To) == 0 {
				c.fault("mark %s on sheet %d leads nowhere", m.Ref, i)
			}
			for _, t := range m.To {
				if t.Sheet == i || !on[key(m)][t.Sheet] {
					c.fault("mark %s on sheet %d leads to sheet %d, where it is not", m.Ref, i, t.Sheet)
				}
			}
		}
	}
	for _, b := range c.g.Bars {
		if len(drawn[b.ID]) < 2 {
			continue
		}
		for _, i := range drawn[b.ID] {
			if !on[fmt.Sprint(true, b.ID)][i] {
				c.fault("bar %s goes on but sheet %d has no mark for it", b.ID, i)
			}
		}
	}
}
