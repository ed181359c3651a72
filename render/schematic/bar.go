package schematic

import (
	"slices"

	"fitout/layout"
	"fitout/render/draw"
	"fitout/schema"
	"fitout/schema/symbol"
)

// studRadius is the radius of the dot where a conductor lands on a bar.
const studRadius = draw.MM(0.75)

// lineOf is the height of a bar's line on the page.
func (p *paper) lineOf(b *layout.PlacedBar) draw.MM {
	n := p.d.node[b.ID]
	at := barHeight / 2
	if n.panel != nil {
		at = n.panel.barAt()
	}
	return p.point(layout.Point{Y: b.Rect.Y + at}).Y
}

// landed is where the conductors of one terminal meet a bar.
type landed struct {
	name   string
	places []draw.Point
	links  []string
	up     bool
}

// landings of a bar by the terminal's name in the file, in order of the studs.
func (p *paper) landings(b *layout.PlacedBar, y draw.MM) []landed {
	var out []landed
	for _, s := range b.Studs {
		l := p.d.link[s.Link]
		e := l.ends[s.End]
		i := slices.IndexFunc(out, func(o landed) bool { return o.name == e.port })
		if i < 0 {
			i = len(out)
			out = append(out, landed{name: e.port, up: s.At.Y == b.Rect.Y})
		}
		at := p.point(s.At)
		if e.node.panel == nil {
			at.Y = y
		}
		out[i].places = append(out[i].places, at)
		out[i].links = append(out[i].links, s.Link)
	}
	return out
}

func (p *paper) drawBar(b *layout.PlacedBar) {
	d := p.d
	n := d.node[b.ID]
	y := p.lineOf(b)
	if n.post != "" {
		p.drawPost(n, b, y)
		return
	}
	part := draw.Part{ID: n.id, Kind: n.part.Kind.Name, Title: tip(n.part)}
	land := p.landings(b, y)
	if n.panel != nil {
		p.panelStrokes(&part, n, b, y, land)
	} else {
		p.busStrokes(&part, n, b, y, land)
	}
	part.Strokes = append(part.Strokes, d.texts[n.id].set(p.box(b.Name), draw.Start)...)
	p.index[n.id] = len(p.parts)
	p.parts = append(p.parts, part)
}

// mark adds a terminal that covers all places where its conductors land.
func (l landed) mark() draw.Terminal {
	t := draw.Terminal{Name: l.name, A: l.places[0], B: l.places[0]}
	for _, q := range l.places {
		t.A.X, t.A.Y = min(t.A.X, q.X), min(t.A.Y, q.Y)
		t.B.X, t.B.Y = max(t.B.X, q.X), max(t.B.Y, q.Y)
	}
	return t
}

// busStrokes draws a bus as a thick line with a dot a stud, a block as a row of
// cells, a stud as a ring, and the sign of a ground or bonding bar at its left end.
func (p *paper) busStrokes(part *draw.Part, n *node, b *layout.PlacedBar, y draw.MM, land []landed) {
	box := p.box(b.Rect)
	left, right := box.Min.X, box.Max.X
	style := draw.OutlineThick
	if n.part.Prepared {
		style = draw.OutlinePrepared
	}
	sign := n.part.Is(schema.Grounding) || n.part.Is(schema.Bonding)
	if sign {
		part.Strokes = append(part.Strokes, groundSign(n.part, draw.Point{X: left + draw.Grid(groundHead), Y: y})...)
		left += draw.Grid(groundHead)
	}
	dot := draw.Pen{Style: draw.Outline, Fill: draw.Ink}
	switch n.part.Kind.Name {
	case "block":
		dot = draw.Pen{Style: draw.Outline, Fill: draw.Paper}
		part.Strokes = append(part.Strokes, draw.Rect{Box: draw.Box{Min: draw.Point{X: left, Y: y - 1.25}, Max: draw.Point{X: right, Y: y + 1.25}},
			Pen: draw.Pen{Style: draw.Outline, Fill: draw.Paper}})
	default:
		part.Strokes = append(part.Strokes, draw.Line(draw.Point{X: left, Y: y}, draw.Point{X: right, Y: y}, style))
	}
	if n.part.Kind.Name == "stud" {
		part.Strokes = append(part.Strokes, draw.Circle(draw.Point{X: (left + right) / 2, Y: y}, 1.6, draw.Pen{Style: draw.Outline, Fill: draw.Paper}))
	}
	for _, l := range land {
		for _, q := range l.places {
			part.Strokes = append(part.Strokes, draw.Circle(q, studRadius, dot))
		}
		part.Terminals = append(part.Terminals, l.mark())
	}
}

// groundSign is the sign of a ground or bonding bar, lying at the left of where
// the bar begins and no higher than the bar's room: the bars of an earth, or the
// triangle of a bonding point.
func groundSign(part *schema.Part, at draw.Point) []draw.Stroke {
	pen := draw.Outline
	if part.Prepared {
		pen = draw.OutlinePrepared
	}
	back, half := draw.Grid(1), draw.Grid(barHeight)/2-0.2
	out := []draw.Stroke{draw.Line(at, at.Add(-back, 0), pen)}
	if part.Is(schema.Bonding) && part.Kind.Name == "bond" {
		return append(out, draw.Polyline{Closed: true, Pen: draw.Pen{Style: pen}, Points: []draw.Point{
			at.Add(-back, -half), at.Add(-back, half), at.Add(-back-draw.Grid(1.2), 0)}})
	}
	for i := range 3 {
		x, h := -back-draw.MM(i)*1.4, half*draw.MM(3-i)/3
		out = append(out, draw.Line(at.Add(x, -h), at.Add(x, h), pen))
	}
	return out
}

// drawPost draws the bar on which the conductors of one terminal land. It belongs
// to the part where that is on the sheet, and stands for it elsewhere.
func (p *paper) drawPost(n *node, b *layout.PlacedBar, y draw.MM) {
	land := p.landings(b, y)
	box := p.box(b.Rect)
	var ids []string
	for _, l := range land {
		ids = append(ids, l.links...)
	}
	line := draw.Terminal{A: draw.Point{X: box.Min.X, Y: y}, B: draw.Point{X: box.Max.X, Y: y}, Name: n.post, Shown: true, Style: p.d.styleOf(ids)}
	name := p.d.texts[n.id].set(p.box(b.Name), draw.Start)
	i, ok := p.index[n.host.id]
	if !ok {
		part := draw.Part{ID: n.host.id, Kind: n.part.Kind.Name, Title: tip(n.part), Strokes: name}
		part.Strokes = append(part.Strokes, draw.Line(line.A, line.B, line.Style))
		i = len(p.parts)
		p.index[n.host.id] = i
		p.parts = append(p.parts, part)
		name = nil
	}
	part := &p.parts[i]
	part.Strokes = append(part.Strokes, name...)
	part.Terminals = slices.DeleteFunc(part.Terminals, func(t draw.Terminal) bool { return t.Name == n.post })
	part.Terminals = append(part.Terminals, line)
	for _, l := range land {
		for _, q := range l.places {
			part.Terminals = append(part.Terminals, draw.Terminal{A: q, B: q, Shown: true, Style: draw.Outline})
		}
	}
}

// panelStrokes draws the enclosure, the bar, and the device of every way that a
// conductor leaves, with number, rating and title beside it.
func (p *paper) panelStrokes(part *draw.Part, n *node, b *layout.PlacedBar, y draw.MM, land []landed) {
	box := p.box(b.Rect)
	frame := draw.Pen{Style: draw.OutlineChain}
	bar := draw.OutlineThick
	if n.part.Prepared {
		bar = draw.OutlinePrepared
	}
	part.Strokes = append(part.Strokes, draw.Rect{Box: box, Pen: frame})
	left, right := box.Min.X+draw.Grid(1), box.Max.X-draw.Grid(1)
	for _, m := range p.s.Marks {
		switch {
		case !m.Bar || m.Ref != b.ID:
		case m.Side == layout.Right:
			left = box.Min.X
		default:
			right = box.Max.X
		}
	}
	part.Strokes = append(part.Strokes, draw.Line(draw.Point{X: left, Y: y}, draw.Point{X: right, Y: y}, bar))
	for k, l := range land {
		way, isWay := n.panel.way(l.name)
		right := box.Max.X
		for _, m := range land {
			for _, q := range m.places {
				if x := l.mark().B.X; m.up == l.up && q.X > x && q.X < right {
					right = q.X - draw.Grid(1.2)
				}
			}
		}
		switch {
		case isWay:
			p.wayStrokes(part, n, way, land[k], y, right)
		case n.panel.feeds(l.name) && l.up:
			p.feedStrokes(part, n, l, box, y)
		case n.panel.feeds(l.name):
			for _, q := range l.places {
				part.Strokes = append(part.Strokes, draw.Line(draw.Point{X: q.X, Y: y}, q, draw.Outline))
			}
		case l.up: // a neutral or earth from above: no joint with the bar, which is close by
			for _, q := range l.places {
				part.Strokes = append(part.Strokes, draw.Line(q, q.Add(0, 0.4), draw.Outline),
					draw.Circle(q.Add(0, 1), 0.6, draw.Pen{Style: draw.Outline}))
			}
		default: // the minus of the panel: no joint with its bar
			for _, q := range l.places {
				part.Strokes = append(part.Strokes, draw.Line(q.Add(0, -draw.Grid(1)), q, draw.Outline),
					draw.Circle(q.Add(0, -draw.Grid(1)-0.6), 0.6, draw.Pen{Style: draw.Outline}))
			}
		}
		part.Terminals = append(part.Terminals, l.mark())
	}
}

// feedStrokes lead the feed to the bar, through the main breaker where there is
// one: of several feeds together.
func (p *paper) feedStrokes(part *draw.Part, n *node, l landed, box draw.Box, y draw.MM) {
	if n.panel.main == "" {
		for _, q := range l.places {
			part.Strokes = append(part.Strokes, draw.Line(q, draw.Point{X: q.X, Y: y}, draw.Outline))
		}
		return
	}
	t := l.mark()
	top := draw.Point{X: l.places[0].X, Y: box.Min.Y + draw.Grid(panelFeed)}
	for _, q := range l.places {
		part.Strokes = append(part.Strokes, draw.Line(q, draw.Point{X: q.X, Y: top.Y}, draw.Outline))
	}
	if t.A.X != t.B.X {
		part.Strokes = append(part.Strokes, draw.Line(draw.Point{X: t.A.X, Y: top.Y}, draw.Point{X: t.B.X, Y: top.Y}, draw.Outline))
	}
	s, _ := symbol.Get("dc/breaker")
	part.Strokes = append(part.Strokes, draw.SymbolStrokes(s, top.Add(0, draw.Grid(2)), 0, 0, n.part.Prepared)...)
	part.Strokes = append(part.Strokes, draw.Text{At: top.Add(2.6, draw.Grid(2)+1.25), S: n.panel.main, Letters: draw.Rating})
}

func (p *paper) wayStrokes(part *draw.Part, n *node, w panelWay, l landed, y, right draw.MM) {
	id := "dc/breaker"
	if w.fuse {
		id = "dc/fuse"
	}
	s, _ := symbol.Get(id)
	t := l.mark()
	x := l.places[0].X
	part.Strokes = append(part.Strokes, draw.SymbolStrokes(s, draw.Point{X: x, Y: y + draw.Grid(wayDevice/2)}, 0, 0, n.part.Prepared)...)
	if n.panel.medium == schema.AC && w.poles > 1 {
		part.Strokes = append(part.Strokes, draw.CoreStrokes(draw.Point{X: x, Y: y + draw.Grid(wayDevice+0.5)}, false, w.poles)...)
	}
	for _, q := range l.places[:1] { // from the device down to the edge
		part.Strokes = append(part.Strokes, draw.Line(draw.Point{X: x, Y: y + draw.Grid(wayDevice)}, q, draw.Outline))
	}
	if t.A.X != t.B.X { // several conductors land on one way
		part.Strokes = append(part.Strokes, draw.Line(t.A, t.B, draw.Outline))
	}
	p.wayText(part, w, draw.Point{X: x + 2.3, Y: y + 1.1}, right)
}

// wayText is what stands beside the device of a way: number and rating, and the
// title where there is room for it.
func (p *paper) wayText(part *draw.Part, w panelWay, at draw.Point, right draw.MM) {
	// the colon keeps way 1 of 10 A from being read as 110 A
	head := line{{w.key, draw.Designation}}
	if w.rating != "" {
		head = line{{w.key + ":", draw.Designation}, {w.rating, draw.Rating}}
	}
	lines := block{head}
	room := right - at.X - 0.6
	if head.width() > room && len(head) > 1 {
		lines = append(block{{{w.key, draw.Designation}}}, wrapText(w.rating, draw.Rating, max(room, 1))...)
	}
	most := max(0, 3-len(lines))
	for _, l := range []draw.Letters{draw.PartTitle, draw.Small} {
		t := l.Wrap(w.title, max(room, 1))
		fits := len(t) <= most
		for _, s := range t {
			fits = fits && l.Width(s) <= room && !slices.Contains(t[:0], s)
		}
		if fits && w.title != "" && whole(w.title, t) {
			for _, s := range t {
				lines = append(lines, line{{s, l}})
			}
			break
		}
	}
	yy := at.Y + draw.Designation.Cap()
	for _, ln := range lines {
		x := at.X
		for i, s := range ln {
			if i > 0 {
				x += wordGap
			}
			part.Strokes = append(part.Strokes, draw.Text{At: draw.Point{X: x, Y: yy}, S: s.s, Letters: s.l})
			x += s.l.Width(s.s)
		}
		yy += 3.2
	}
}

// whole tells whether no word of a text was broken over lines.
func whole(s string, lines []string) bool {
	n := 0
	for _, l := range lines {
		n += len(fields(l))
	}
	return n == len(fields(s))
}
