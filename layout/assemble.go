package layout

import "slices"

// placeY stacks ranks and channels. A channel is as high as its tracks and the labels in it need.
func (l *ladder) placeY() {
	l.rowTop, l.rowH = make([]int, l.nranks), make([]int, l.nranks)
	// what stands in a row above and below the middle of its boxes
	upper, lower := make([]int, l.nranks), make([]int, l.nranks)
	l.chanTop, l.chanH = make([]int, l.nranks+1), make([]int, l.nranks+1)
	for v := range l.items {
		it := &l.items[v]
		switch it.kind {
		case boxItem:
			l.rowH[it.rank] = max(l.rowH[it.rank], it.padT()+it.h+it.padB())
			upper[it.rank] = max(upper[it.rank], it.padT()+it.h/2)
			lower[it.rank] = max(lower[it.rank], it.h-it.h/2+it.padB())
		case barItem:
			h := it.h
			if it.markL+it.markR > 0 {
				h = max(h, l.g.Bars[it.ref].Mark.H)
			}
			l.rowH[it.rank] = max(l.rowH[it.rank], h)
		}
	}
	if l.below {
		for r := range l.rowH {
			l.rowH[r] = max(l.rowH[r], upper[r]+lower[r])
		}
	}
	y := 0
	for c := range l.nranks + 1 {
		l.chanTop[c] = y
		h := 0
		if l.tracks[c] > 0 {
			h = l.tracks[c] + 1
		}
		if c > 0 && c < l.nranks {
			h = max(h, 2)
		}
		l.chanH[c] = max(h, l.chanMin[c])
		y += l.chanH[c]
		if c < l.nranks {
			l.rowTop[c] = y
			y += l.rowH[c]
		}
	}
	l.height = y
	for v := range l.items {
		it := &l.items[v]
		if it.kind == dummyItem {
			continue
		}
		h := it.h
		if it.kind == boxItem {
			h = it.padT() + it.h + it.padB()
		}
		it.y = l.rowTop[it.rank] + (l.rowH[it.rank]-h)/2
		if it.kind == boxItem {
			it.y += it.padT()
			if l.below && upper[it.rank]+lower[it.rank] > 0 {
				it.y = l.rowTop[it.rank] + (l.rowH[it.rank]-upper[it.rank]-lower[it.rank])/2 + upper[it.rank] - it.h/2
			}
		}
	}
}

// trackY is the height of a track. Tracks lie next to the row above, so that what room is left lies where the names of bars stand.
func (l *ladder) trackY(channel, track int) int { return l.chanTop[channel] + 1 + track }

// absolute turns a point relative to a box's unmirrored body into one on the sheet.
func (it *item) absolute(p Point) Point {
	x := it.x + it.padL()
	if it.mirror {
		return Point{x + it.w - p.X, it.y + p.Y}
	}
	return Point{x + p.X, it.y + p.Y}
}

// lead adds the start of a wire at a pin.
func (l *ladder) lead(pts []Point, p int) []Point {
	q := &l.pins[p]
	it := &l.items[q.item]
	if it.kind == barItem {
		y := it.y
		if !q.up {
			y += it.h
		}
		return append(pts, Point{q.x, y})
	}
	for _, t := range q.lead {
		pts = append(pts, it.absolute(t))
	}
	return pts
}

// leadAt is where a wire begins at a pin.
func (l *ladder) leadAt(p int) Point {
	var room [4]Point
	return l.lead(room[:0], p)[0]
}

// polyline is a link's way over the sheet; it holds until the next call.
func (l *ladder) polyline(link int) []Point {
	k := &l.links[link]
	pts := l.lead(l.work.points[:0], k.pins[0])
	for j := 0; j < len(k.pins); j += 2 {
		a, b := k.pins[j], k.pins[j+1]
		i := l.pins[a].piece
		r := &l.routes[i]
		if r.straight {
			continue
		}
		c := l.pieces[i].channel
		xa, xb := l.at(a), l.at(b)
		y := l.trackY(c, r.track)
		pts = append(pts, Point{xa, y})
		if r.dogleg {
			y2 := l.trackY(c, r.track2)
			pts = append(pts, Point{r.via, y}, Point{r.via, y2})
			y = y2
		}
		pts = append(pts, Point{xb, y})
	}
	end := len(pts)
	pts = l.lead(pts, k.pins[len(k.pins)-1])
	slices.Reverse(pts[end:])
	l.work.points = pts
	return straighten(pts)
}

// straighten drops points that lie on a straight line, in place.
func straighten(pts []Point) []Point {
	out := pts[:0]
	for _, p := range pts {
		for len(out) > 0 && out[len(out)-1] == p {
			out = out[:len(out)-1]
		}
		if n := len(out); n > 1 && (out[n-1].X == out[n-2].X && p.X == out[n-1].X || out[n-1].Y == out[n-2].Y && p.Y == out[n-1].Y) {
			out = out[:n-1]
		}
		out = append(out, p)
	}
	return out
}

// sheet writes the ladder down as a sheet, still without texts. It takes the room of an old one that is not wanted any more.
func (l *ladder) sheet(old *Sheet) Sheet {
	s := Sheet{W: l.width, H: l.height, Level: l.level, Boxes: old.Boxes[:0], Bars: old.Bars[:0], Wires: old.Wires[:0], Marks: old.Marks[:0]}
	if old.Wires == nil {
		s.Boxes, s.Bars, s.Wires = make([]PlacedBox, 0, len(l.g.Boxes)), make([]PlacedBar, 0, len(l.g.Bars)), make([]Wire, 0, len(l.links))
	}
	store := make([]Point, 0, l.work.used) // one array for most points
	used := 0
	for v := range l.items {
		it := &l.items[v]
		switch {
		case it.kind == boxItem && it.mark:
			s.Marks = append(s.Marks, l.wireMark(v))
		case it.kind == boxItem:
			s.Boxes = append(s.Boxes, l.placedBox(v))
		case it.kind == barItem:
			s.Bars = append(s.Bars, l.placedBar(v))
			s.Marks = append(s.Marks, l.barMarks(v)...)
		}
	}
	for i := range l.links {
		k := &l.g.Links[l.links[i].ref]
		w := Wire{ID: k.ID, Bridge: k.Bridge}
		pts := l.polyline(i)
		used += len(pts)
		if len(store)+len(pts) > cap(store) {
			store = make([]Point, 0, max(len(pts), cap(store)/8))
		}
		store = append(store, pts...)
		w.Points = store[len(store)-len(pts) : len(store) : len(store)]
		w.CutFrom = l.items[l.links[i].node[0]].mark
		w.CutTo = l.items[l.links[i].node[1]].mark
		s.Wires = append(s.Wires, w)
	}
	l.work.used = used
	return s
}

func (l *ladder) placedBox(v int) PlacedBox {
	it := &l.items[v]
	b := PlacedBox{ID: l.g.Boxes[it.ref].ID, X: it.x + it.padL(), Y: it.y, Mirrored: it.mirror}
	for _, d := range it.landings {
		out := Landing{Port: d.port, Port0: it.absolute(d.port0), Stem: it.absolute(d.stem),
			Bar: [2]Point{it.absolute(d.bar[0]), it.absolute(d.bar[1])}}
		if out.Bar[0].X > out.Bar[1].X {
			out.Bar[0], out.Bar[1] = out.Bar[1], out.Bar[0]
		}
		for p := d.pinsFirst; p < d.pinsFirst+d.n; p++ {
			q := &l.pins[p]
			out.Links = append(out.Links, l.g.Links[l.links[q.link].ref].ID)
			out.LinkEnd = append(out.LinkEnd, q.end)
			out.Studs = append(out.Studs, it.absolute(q.lead[0]))
		}
		b.Landings = append(b.Landings, out)
	}
	return b
}

func (l *ladder) placedBar(v int) PlacedBar {
	it := &l.items[v]
	b := PlacedBar{ID: l.g.Bars[it.ref].ID, Rect: Rect{it.x, it.y, it.right - it.x, it.h}, Studs: make([]Stud, 0, len(it.pins))}
	for _, p := range l.studs(v) {
		q := &l.pins[p]
		b.Studs = append(b.Studs, Stud{Link: l.g.Links[l.links[q.link].ref].ID, End: q.end, At: l.leadAt(p)})
	}
	return b
}

// barMarks are the continuation marks at the ends of a bar.
func (l *ladder) barMarks(v int) []Mark {
	it := &l.items[v]
	g := &l.g.Bars[it.ref]
	h := max(g.Mark.H, 1)
	y := it.y + (it.h-h)/2
	mid := it.y + it.h/2
	var out []Mark
	if it.markL > 0 {
		out = append(out, Mark{Ref: g.ID, Bar: true, Side: Right, Rect: Rect{it.x - it.markL, y, it.markL, h}, At: Point{it.x, mid}})
	}
	if it.markR > 0 {
		out = append(out, Mark{Ref: g.ID, Bar: true, Side: Left, Rect: Rect{it.right, y, it.markR, h}, At: Point{it.right, mid}})
	}
	return out
}

// wireMark is the continuation mark of a cut link, laid out as a box.
func (l *ladder) wireMark(v int) Mark {
	it := &l.items[v]
	m := Mark{Ref: it.markTo.Node, Rect: Rect{it.x + it.padL(), it.y, it.w, it.h}}
	if it.markTo.Port == "to" {
		m.End = 1
	}
	for _, p := range it.pins {
		m.At = l.leadAt(p)
		m.Side = Bottom
		if l.pins[p].up {
			m.Side = Top
		}
	}
	return m
}
