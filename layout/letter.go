package layout

import "slices"

// canvas knows which cells of a sheet are taken and where wires run along the cells' edges.
type canvas struct {
	w, h  int
	cell  []bool
	vert  []bool // a wire runs down the left edge of the cell
	horiz []bool // a wire runs along the upper edge of the cell
}

// blank makes the canvas an empty one of the size.
func (c *canvas) blank(w, h int) {
	n := (w + 1) * (h + 1)
	c.w, c.h, c.cell, c.vert, c.horiz = w, h, sized(c.cell, n), sized(c.vert, n), sized(c.horiz, n)
}

func (c *canvas) at(x, y int) int { return y*(c.w+1) + x }

func (c *canvas) block(r Rect) {
	for y := max(r.Y, 0); y < min(r.Y+r.H, c.h); y++ {
		for x := max(r.X, 0); x < min(r.X+r.W, c.w); x++ {
			c.cell[c.at(x, y)] = true
		}
	}
}

func (c *canvas) wire(pts []Point) {
	for i := 1; i < len(pts); i++ {
		c.line(pts[i-1], pts[i])
	}
}

func (c *canvas) line(a, b Point) {
	if a.X == b.X {
		for y := min(a.Y, b.Y); y < max(a.Y, b.Y); y++ {
			c.vert[c.at(a.X, y)] = true
		}
		return
	}
	for x := min(a.X, b.X); x < max(a.X, b.X); x++ {
		c.horiz[c.at(x, a.Y)] = true
	}
}

// free tells whether nothing lies in an area or crosses it. Wires along its edges do not count.
func (c *canvas) free(r Rect) bool {
	if r.X < 0 || r.Y < 0 || r.X+r.W > c.w || r.Y+r.H > c.h {
		return false
	}
	for y := r.Y; y < r.Y+r.H; y++ {
		for x := r.X; x < r.X+r.W; x++ {
			i := c.at(x, y)
			if c.cell[i] || x > r.X && c.vert[i] || y > r.Y && c.horiz[i] {
				return false
			}
		}
	}
	return true
}

// lonely tells whether no wire runs along the long edge of a label's cell that faces away from its own wire.
func (c *canvas) lonely(r Rect, wireX int, turned bool, wireY int) bool {
	if turned {
		x := r.X
		if x == wireX {
			x = r.X + r.W
		}
		if x > c.w {
			return true
		}
		for y := r.Y; y < r.Y+r.H; y++ {
			if c.vert[c.at(x, y)] {
				return false
			}
		}
		return true
	}
	y := r.Y
	if y == wireY {
		y = r.Y + r.H
	}
	if y > c.h {
		return true
	}
	for x := r.X; x < r.X+r.W; x++ {
		if c.horiz[c.at(x, y)] {
			return false
		}
	}
	return true
}

// lack is a text for which there was no room.
type lack struct {
	item int // box or bar, -1 for a link
	link int
	need int // length of the label
}

// letter finds room for every text of a sheet and reports those it found none for.
func (l *ladder) letter(s *Sheet) []lack {
	c := &l.work.canvas
	c.blank(s.W, s.H)
	l.work.index = sized(l.work.index, len(l.items))
	box := l.work.index // item → index in s.Boxes or s.Bars
	nb, nr := 0, 0
	for v := range l.items {
		it := &l.items[v]
		switch {
		case it.kind == boxItem && !it.mark:
			box[v] = nb
			nb++
		case it.kind == barItem:
			box[v] = nr
			nr++
		}
	}
	for _, b := range s.Boxes {
		g := &l.g.Boxes[l.items[l.byID[b.ID]].ref]
		c.block(Rect{b.X, b.Y, g.W, g.H})
		c.block(Rect{b.X - g.Reserve.Left, b.Y - g.Reserve.Above, g.W + g.Reserve.Left + g.Reserve.Right, g.H + g.Reserve.Above + g.Reserve.Below})
		for _, d := range b.Landings {
			c.line(d.Port0, d.Stem)
			c.line(d.Bar[0], d.Bar[1])
			c.block(hull(d.Port0, d.Stem, d.Bar[0], d.Bar[1]))
		}
	}
	for _, b := range s.Bars {
		c.block(b.Rect)
	}
	for _, m := range s.Marks {
		c.block(m.Rect)
	}
	for _, w := range s.Wires {
		c.wire(w.Points)
	}
	var lacks []lack
	text := func(kept bool) {
		for v := range l.items {
			it := &l.items[v]
			if it.kind != boxItem || it.mark || kept != it.textRoom {
				continue
			}
			g := &l.g.Boxes[it.ref]
			if it.foot && c.footText(&s.Boxes[box[v]], g, it.x+it.padL()+l.foot(v)) {
				continue
			}
			if g.Text.W > 0 && !c.boxText(&s.Boxes[box[v]], g, it.x+it.span()-it.res[Right]+g.Reserve.Right) {
				lacks = append(lacks, lack{item: v, need: g.Text.W})
			}
		}
	}
	text(true) // room has been kept for these, let nothing else take it
	for v := range l.items {
		it := &l.items[v]
		if it.kind != barItem {
			continue
		}
		b := &s.Bars[box[v]]
		if name := l.g.Bars[it.ref].Name; name.W > 0 {
			if !c.barName(b, name) {
				lacks = append(lacks, lack{item: v, need: name.W})
			}
		}
	}
	text(false)
	for i := range s.Wires {
		k := &l.g.Links[l.links[i].ref]
		w := &s.Wires[i]
		if !w.CutFrom && k.From.Tag.W > 0 {
			w.FromTag, _ = c.tag(w.Points[0], w.Points[1], k.From.Tag)
		}
		if n := len(w.Points); !w.CutTo && k.To.Tag.W > 0 {
			w.ToTag, _ = c.tag(w.Points[n-1], w.Points[n-2], k.To.Tag)
		}
	}
	// the links with the least room come first
	jobs := l.work.jobs[:0]
	for i := range s.Wires {
		jobs = append(jobs, letterJob{i, longest(s.Wires[i].Points)})
	}
	l.work.jobs = jobs
	slices.SortStableFunc(jobs, func(a, b letterJob) int { return a.room - b.room })
	for _, j := range jobs {
		w := &s.Wires[j.link]
		for n, t := range l.labels(j.link) {
			p, ok := c.label(w.Points, t, n%2 == 1)
			if ok {
				w.Labels = append(w.Labels, p)
				continue
			}
			w.MissingLabelKey = append(w.MissingLabelKey, t.Key)
			lacks = append(lacks, lack{item: -1, link: j.link, need: t.W})
		}
	}
	return lacks
}

// letterJob is a link to be labelled, and the length of its longest piece.
type letterJob struct{ link, room int }

// labels are a link's labels at the ladder's level of detail.
func (l *ladder) labels(link int) []Text {
	k := &l.g.Links[l.links[link].ref]
	if len(k.Labels) == 0 {
		return nil
	}
	return k.Labels[min(l.level, len(k.Labels)-1)]
}

func longest(pts []Point) int {
	n := 0
	for i := 1; i < len(pts); i++ {
		n = max(n, abs(pts[i].X-pts[i-1].X)+abs(pts[i].Y-pts[i-1].Y))
	}
	return n
}

func abs(a int) int { return max(a, -a) }

func hull(pts ...Point) Rect {
	x0, y0, x1, y1 := pts[0].X, pts[0].Y, pts[0].X, pts[0].Y
	for _, p := range pts {
		x0, y0, x1, y1 = min(x0, p.X), min(y0, p.Y), max(x1, p.X), max(y1, p.Y)
	}
	return Rect{x0, y0, x1 - x0, y1 - y0}
}

// barName puts a bar's name above its left end, else farther right above it, else below it, but never beyond its ends.
func (c *canvas) barName(b *PlacedBar, name Size) bool {
	for _, y := range []int{b.Rect.Y - name.H, b.Rect.Y + b.Rect.H} {
		for x := b.Rect.X; x+name.W <= b.Rect.X+b.Rect.W; x++ {
			r := Rect{x, y, name.W, name.H}
			// one unit to either side keeps names from running together
			if c.free(r) && c.clear(Rect{x - 1, y, name.W + 2, name.H}) {
				b.Name = r
				c.block(r)
				return true
			}
		}
	}
	return false
}

// clear is like free but does not mind the edge of the sheet or wires, only other texts and parts.
func (c *canvas) clear(r Rect) bool {
	for y := max(r.Y, 0); y < min(r.Y+r.H, c.h); y++ {
		for x := max(r.X, 0); x < min(r.X+r.W, c.w); x++ {
			if c.cell[c.at(x, y)] {
				return false
			}
		}
	}
	return true
}

// boxText puts a box's text right of it, else left, above or below. Kept is where the room begins that may have been kept for it.
func (c *canvas) boxText(b *PlacedBox, g *Box, kept int) bool {
	t := g.Text
	put := func(x, y int) bool {
		r := Rect{x, y, t.W, t.H}
		if !c.free(r) {
			return false
		}
		b.Text = r
		c.block(r)
		return true
	}
	mid := b.Y + (g.H-t.H)/2
	sides := append(make([]int, 0, 5), b.X+g.W, b.X-t.W)
	if out := b.bounds(g); out.X+out.W > sides[0] || out.X < b.X {
		sides = append(sides, out.X+out.W, out.X-t.W)
	}
	sides = append(sides, kept)
	for _, x := range sides {
		for d := 0; d <= max(0, (g.H-t.H+1)/2)+1; d++ {
			if put(x, mid+d) || put(x, mid-d) {
				return true
			}
		}
	}
	for _, y := range [2]int{b.Y - t.H, b.Y + g.H} {
		for x := b.X + g.W - t.W - 2; x <= b.X+2; x++ {
			if put(x, y) {
				return true
			}
		}
		for x := b.X; x <= b.X+g.W; x++ {
			if put(x, y) || put(x-t.W, y) {
				return true
			}
		}
	}
	return false
}

// footText puts a box's text below it, on the right of the link there.
func (c *canvas) footText(b *PlacedBox, g *Box, x int) bool {
	r := Rect{x, b.Y + g.H, g.Text.W, g.Text.H}
	if !c.free(r) {
		return false
	}
	b.Text = r
	c.block(r)
	return true
}

// bounds is the area of a box with its landing bars.
func (b *PlacedBox) bounds(g *Box) Rect {
	r := Rect{b.X, b.Y, g.W, g.H}
	for i := range b.Landings {
		d := &b.Landings[i]
		h := hull(d.Port0, d.Stem, d.Bar[0], d.Bar[1])
		x, y := min(r.X, h.X), min(r.Y, h.Y)
		r = Rect{x, y, max(r.X+r.W, h.X+h.W) - x, max(r.Y+r.H, h.Y+h.H) - y}
	}
	return r
}

// tag puts a short text beside the end of a wire.
func (c *canvas) tag(end, next Point, t Size) (PlacedText, bool) {
	at := make([]Rect, 0, 6)
	switch {
	case end.X == next.X:
		for d := 0; d <= 2; d++ {
			y := end.Y - t.H - d
			if next.Y > end.Y {
				y = end.Y + d
			}
			at = append(at, Rect{end.X, y, t.W, t.H}, Rect{end.X - t.W, y, t.W, t.H})
		}
	default:
		x := end.X - t.W
		if next.X > end.X {
			x = end.X
		}
		at = append(at, Rect{x, end.Y - t.H, t.W, t.H}, Rect{x, end.Y, t.W, t.H})
	}
	for _, r := range at {
		if c.free(r) {
			c.block(r)
			return PlacedText{Cell: r}, true
		}
	}
	return PlacedText{}, false
}

// label puts a text beside a wire: along its longest piece first, from the middle outward, on the side it prefers, then on the
// other. Places that another wire also touches come last.
func (c *canvas) label(pts []Point, t Text, right bool) (PlacedText, bool) {
	type piece struct{ a, b Point }
	ps := make([]piece, 0, 16)
	for i := 1; i < len(pts); i++ {
		ps = append(ps, piece{pts[i-1], pts[i]})
	}
	length := func(p piece) int { return abs(p.a.X-p.b.X) + abs(p.a.Y-p.b.Y) }
	slices.SortStableFunc(ps, func(p, q piece) int { return length(q) - length(p) })
	for _, strict := range []bool{true, false} {
		for _, p := range ps {
			if length(p) < t.W {
				continue
			}
			if r, turned, ok := c.along(p.a, p.b, t.Size, right, strict); ok {
				c.block(r)
				return PlacedText{Key: t.Key, Cell: r, Turned: turned}, true
			}
		}
	}
	return PlacedText{}, false
}

func (c *canvas) along(a, b Point, t Size, second, strict bool) (Rect, bool, bool) {
	vertical := a.X == b.X
	lo, hi := min(a.X, b.X), max(a.X, b.X)
	if vertical {
		lo, hi = min(a.Y, b.Y), max(a.Y, b.Y)
	}
	mid := (lo + hi - t.W) / 2
	for _, side := range []bool{second, !second} {
		for d := 0; mid-d >= lo || mid+d+t.W <= hi; d++ {
			for _, at := range []int{mid - d, mid + d} {
				if at < lo || at+t.W > hi {
					continue
				}
				var r Rect
				switch {
				case vertical && side:
					r = Rect{a.X, at, t.H, t.W}
				case vertical:
					r = Rect{a.X - t.H, at, t.H, t.W}
				case side:
					r = Rect{at, a.Y, t.W, t.H}
				default:
					r = Rect{at, a.Y - t.H, t.W, t.H}
				}
				if c.free(r) && (!strict || c.lonely(r, a.X, vertical, a.Y)) {
					return r, vertical, true
				}
			}
		}
	}
	return Rect{}, false, false
}
