package schematic

import (
	"fmt"
	"slices"
	"strconv"

	waterlayout "fitout/layout/water"
	"fitout/render/draw"
	"fitout/schema"
	"fitout/schema/symbol"
	"fitout/schema/unit"
)

// bandPen draws one band of a plan.
type bandPen struct {
	*waterGraph
	band   *waterlayout.Band
	origin draw.Point
	places *markPlaces
	taken  []draw.Box // texts and boxes, which nothing may touch
	branch map[waterlayout.End]string
	labels []draw.Box // of the hoses
	pipes  []draw.Box // the hoses' pieces
	items  []draw.Item
}

// drawBand draws a band: waterline and ruler, hoses, parts, labels.
func (g *waterGraph) drawBand(b *waterlayout.Band, origin draw.Point, places *markPlaces) draw.Band {
	d := &bandPen{waterGraph: g, band: b, origin: origin, places: places}
	d.nameBranches()
	for i := range b.Boxes {
		d.taken = append(d.taken, boxOf(b.Boxes[i].Rect, origin))
		if t := b.Boxes[i].Name; t.Placed {
			d.taken = append(d.taken, boxOf(t.Rect, origin))
		}
	}
	for i := range b.Runs {
		for k := 1; k < len(b.Runs[i].Points); k++ {
			d.pipes = append(d.pipes, around(d.at(b.Runs[i].Points[k-1]), d.at(b.Runs[i].Points[k])))
		}
		t := b.Runs[i].Label
		if !t.Placed {
			continue
		}
		d.taken = append(d.taken, boxOf(t.Rect, origin))
		if id := hoseOfRun(b.Runs[i].ID); t.Variant < len(g.labels[id]) {
			d.labels = append(d.labels, runLabel(id, g.labels[id][t.Variant], t, origin).Bounds())
		}
	}
	d.datum()
	d.hull()
	for i := range b.Runs {
		d.hose(&b.Runs[i])
	}
	for i := range b.Boxes {
		d.part(&b.Boxes[i])
	}
	return draw.Band{Items: d.items}
}

func (d *bandPen) add(items ...draw.Item) { d.items = append(d.items, items...) }

func (d *bandPen) at(p waterlayout.Point) draw.Point {
	return draw.GridPoint(d.origin, float64(p.X), float64(p.Y))
}

func (d *bandPen) y(mm int) draw.MM {
	if mm == 0 {
		return d.origin.Y + draw.Grid(float64(d.band.Waterline))
	}
	return d.origin.Y + draw.Grid(d.band.Ruler.Y(mm))
}

// datum draws the static waterline and the ruler.
func (d *bandPen) datum() {
	left := draw.GridPoint(d.origin, float64(d.band.RulerX), float64(d.band.Waterline))
	right := draw.GridPoint(d.origin, float64(d.band.Area.X+d.band.Area.W), float64(d.band.Waterline))
	d.shore(left.Y, left.X, right.X)
	d.ruler(left.X)
	for i := range d.band.Boxes {
		d.heeledLine(&d.band.Boxes[i])
	}
}

// shore draws the waterline around what lies across it: the longest piece is the
// datum of the band.
func (d *bandPen) shore(y, left, right draw.MM) {
	var across []draw.Box
	for i := range d.band.Boxes {
		if b := boxOf(d.band.Boxes[i].Rect, d.origin); b.Min.Y < y && b.Max.Y > y {
			across = append(across, b)
		}
	}
	pieces := gaps(left, right, y, across)
	best := 0
	for i, p := range pieces {
		if p[1]-p[0] > pieces[best][1]-pieces[best][0] {
			best = i
		}
	}
	for i, p := range pieces {
		if i == best {
			d.add(draw.Waterline{Y: y, Left: p[0], Right: p[1]})
			continue
		}
		d.add(draw.Line(draw.Point{X: p[0], Y: y}, draw.Point{X: p[1], Y: y}, draw.StaticWaterline))
	}
}

// ruler draws the height scale: a tick each decimetre where there is room,
// figures where they do not touch.
func (d *bandPen) ruler(x draw.MM) {
	k := d.band.Ruler.Knots
	lo, hi := 0, 0
	for _, n := range k {
		lo, hi = min(lo, n.MM), max(hi, n.MM)
	}
	lo, hi = floorTo(lo, 100), -floorTo(-hi, 100)
	g := draw.Group{Class: "ruler", Title: "height above the waterline at rest, metres"}
	area := boxOf(d.band.Area, d.origin)
	inside := func(y draw.MM) bool { return y >= area.Min.Y+1 && y <= area.Max.Y-1 }
	var figures, ticks []draw.MM
	clear := func(list []draw.MM, y, gap draw.MM) bool {
		return !slices.ContainsFunc(list, func(o draw.MM) bool { return y-o < gap && o-y < gap })
	}
	l := draw.HeightText
	top, bottom := d.y(0), d.y(0)
	for _, step := range []int{10000, 1000, 500, 200, 100} {
		for mm := floorTo(lo, step); mm <= hi; mm += step {
			y := d.y(mm)
			if mm < lo || !inside(y) {
				continue
			}
			long := draw.MM(1.2)
			if clear(figures, y, l.Cap()+1.1) {
				figures = append(figures, y)
				top, bottom = min(top, y), max(bottom, y)
				long = 2.4
				g.Strokes = append(g.Strokes, draw.Text{At: draw.Point{X: x - 4, Y: y + l.Cap()/2}, S: rulerText(mm), Letters: l, Align: draw.End})
			}
			if clear(ticks, y, 0.9) {
				ticks = append(ticks, y)
				top, bottom = min(top, y), max(bottom, y)
				g.Strokes = append(g.Strokes, draw.Line(draw.Point{X: x - 1 - long, Y: y}, draw.Point{X: x - 1, Y: y}, draw.Ruler))
			}
		}
	}
	g.Strokes = append(g.Strokes, draw.Line(draw.Point{X: x - 1, Y: top}, draw.Point{X: x - 1, Y: bottom}, draw.Ruler))
	d.add(g)
	d.scaleNote(x, top, bottom, l)
}

// scaleNote says above the ruler, or below it, how far its figures can be measured.
func (d *bandPen) scaleNote(x, top, bottom draw.MM, l draw.Letters) {
	note := []string{"height, m", "uneven scale"}
	if d.trueScale() {
		note[1] = fmt.Sprintf("%d mm/m", d.band.Scale)
	}
	area := boxOf(d.band.Area, d.origin)
	g := draw.Group{Class: "ruler"}
	above := top-5.4-l.Cap() >= area.Min.Y-1
	for i, s := range note {
		y := top - 2.2 - draw.MM(len(note)-1-i)*3.2
		if !above {
			y = bottom + 2.2 + l.Cap() + draw.MM(i)*3.2
		}
		if y > area.Max.Y+1 {
			return
		}
		g.Strokes = append(g.Strokes, draw.Text{At: draw.Point{X: x - 1, Y: y}, S: s, Letters: l, Align: draw.End})
	}
	d.add(g)
}

// trueScale reports whether every height can be measured on the paper: no part was
// moved out of its place by the scale to keep clear of another.
func (d *bandPen) trueScale() bool {
	return d.band.Scale > 0 && !slices.ContainsFunc(d.band.Boxes, func(x waterlayout.PlacedBox) bool { return x.Moved > 0 })
}

func floorTo(v, step int) int {
	q := v / step
	if v%step < 0 {
		q--
	}
	return q * step
}

func rulerText(mm int) string {
	switch {
	case mm == 0:
		return "0"
	case mm < 0:
		return fmt.Sprintf("−%.1f", float64(-mm)/1000)
	}
	return fmt.Sprintf("+%.1f", float64(mm)/1000)
}

// heeledLine draws the sea at an opening that it covers when the boat heels: a
// short line at its height, broken where something stands. Where the band does
// not reach so far there is none.
func (d *bandPen) heeledLine(x *waterlayout.PlacedBox) {
	w := d.boxes[x.ID]
	if w == nil || w.part == nil {
		return
	}
	h, ok := d.heeled(w.part)
	if !ok {
		return
	}
	r := boxOf(x.Rect, d.origin)
	y := d.y(h.mm)
	if area := boxOf(d.band.Area, d.origin); y < area.Min.Y || y > area.Max.Y {
		return // higher than the band; the words beside the opening say how far
	}
	g := draw.Group{Class: "heeled", Title: fmt.Sprintf("the sea at %s, %s", x.ID, h.attitude)}
	for _, s := range gaps(r.Min.X-6, r.Max.X+6, y, d.taken) {
		g.Strokes = append(g.Strokes, draw.Line(draw.Point{X: s[0], Y: y}, draw.Point{X: s[1], Y: y}, draw.HeeledWaterline))
	}
	if len(g.Strokes) > 0 {
		if a, b, ok := d.under(r, y); ok {
			g.Strokes = append(g.Strokes, draw.Line(a, b, draw.HeeledWaterline))
		}
		d.add(g)
	}
}

// under is the line from an opening up to the sea over it, where nothing stands
// between.
func (d *bandPen) under(r draw.Box, y draw.MM) (a, b draw.Point, ok bool) {
	for _, x := range []draw.MM{(r.Min.X + r.Max.X) / 2, r.Min.X + 0.5, r.Max.X - 0.5} {
		a, b = draw.Point{X: x, Y: r.Min.Y}, draw.Point{X: x, Y: y}
		way := around(a, b)
		if y > r.Min.Y-2 || way.Height() > 90 {
			return a, b, false
		}
		way.Max.Y -= 0.2 // its own box
		hit := func(o draw.Box) bool { return o.Overlaps(way.Grow(0.3)) && o != r }
		if !slices.ContainsFunc(d.taken, hit) && !slices.ContainsFunc(d.pipes, hit) {
			return a, b, true
		}
	}
	return a, b, false
}

// gaps are the pieces of a level line that touch no box.
func gaps(from, to, y draw.MM, taken []draw.Box) [][2]draw.MM {
	out := [][2]draw.MM{{from, to}}
	for _, b := range taken {
		if y < b.Min.Y-0.3 || y > b.Max.Y+0.3 {
			continue
		}
		var next [][2]draw.MM
		for _, s := range out {
			if b.Min.X >= s[1] || b.Max.X <= s[0] {
				next = append(next, s)
				continue
			}
			if b.Min.X > s[0] {
				next = append(next, [2]draw.MM{s[0], b.Min.X})
			}
			if b.Max.X < s[1] {
				next = append(next, [2]draw.MM{b.Max.X, s[1]})
			}
		}
		out = next
	}
	return slices.DeleteFunc(out, func(s [2]draw.MM) bool { return s[1]-s[0] < 1.5 })
}

// nameBranches names the branches of tees and manifolds by the hoses that the plan
// put there.
func (d *bandPen) nameBranches() {
	d.branch = map[waterlayout.End]string{}
	used := map[waterlayout.End]bool{}
	for _, r := range d.band.Runs {
		h := d.hoses[hoseOfRun(r.ID)]
		for _, e := range []struct {
			at   waterlayout.End
			hose schema.HoseEnd
		}{{r.From, h.From}, {r.To, h.To}} {
			w := d.boxes[e.at.Box]
			if w == nil || w.part == nil || !w.part.Is(schema.Junction) {
				continue
			}
			name := e.hose.Terminal
			for k := 1; name == "" || used[waterlayout.End{Box: e.at.Box, Port: name}]; k++ {
				name = "h" + strconv.Itoa(k)
			}
			used[waterlayout.End{Box: e.at.Box, Port: name}] = true
			d.branch[e.at] = name
		}
	}
}

// symbolOf is a part's symbol with its anchors as they are named on the sheet.
func (d *bandPen) symbolOf(w *waterBox) symbol.Symbol {
	s := w.sym
	s.Anchors = slices.Clone(s.Anchors)
	for i, a := range s.Anchors {
		if n, ok := d.branch[waterlayout.End{Box: w.id, Port: a.Name}]; ok {
			s.Anchors[i].Name = n
		}
	}
	return s
}

// part draws a part, an open end or a continuation mark.
func (d *bandPen) part(x *waterlayout.PlacedBox) {
	w := d.boxes[x.ID]
	if w == nil {
		d.continuation(x)
		return
	}
	if x.Mirrored {
		w = w.mirror()
	}
	ox, oy := x.Rect.X-int(w.box.Min.X), x.Rect.Y-int(w.box.Min.Y)
	p := draw.SymbolPart(w.id, w.kind, d.symbolOf(w), d.origin, ox, oy, w.prepared)
	p.Strokes = append(p.Strokes, d.leads(w, &p, ox, oy)...)
	for _, l := range x.Landings {
		d.landing(&p, l)
	}
	if w.level.Known {
		h := unit.Metre(float64(w.level.MM) / 1000)
		p.Height = &h
	}
	if w.part != nil {
		p.Title = w.part.Name()
	}
	if x.Name.Placed {
		p.Strokes = append(p.Strokes, w.name.strokes(x.Name, d.origin)...)
	}
	d.places.part(w.id, boxOf(x.Rect, d.origin))
	d.add(p)
}

// mirror is the box with left and right exchanged.
func (w *waterBox) mirror() *waterBox {
	out := *w
	out.sym = w.sym.Mirror()
	out.box.Min.X, out.box.Max.X = -w.box.Max.X, -w.box.Min.X
	return &out
}

// leads draws what is missing between a symbol's anchor and the edge of its box,
// and moves the terminal there.
func (d *bandPen) leads(w *waterBox, p *draw.Part, ox, oy int) []draw.Stroke {
	var out []draw.Stroke
	for i, a := range w.sym.Anchors {
		e := w.edge(a)
		if e.X == float64(a.X) && e.Y == float64(a.Y) {
			continue
		}
		to := draw.GridPoint(d.origin, float64(ox)+e.X, float64(oy)+e.Y)
		out = append(out, draw.Line(p.Terminals[i].A, to, draw.Outline))
		p.Terminals[i].A, p.Terminals[i].B = to, to
	}
	return out
}

// landing is the bar on which several hoses meet a terminal.
func (d *bandPen) landing(p *draw.Part, l waterlayout.Landing) {
	for i := range p.Terminals {
		if t := &p.Terminals[i]; t.Name == l.Port {
			t.A, t.B, t.Shown, t.Style = d.at(l.A), d.at(l.B), true, draw.Outline
		}
	}
}

// continuation draws the mark at the end of a hose that goes on elsewhere.
func (d *bandPen) continuation(x *waterlayout.PlacedBox) {
	r := boxOf(x.Rect, d.origin)
	at, away := draw.Point{X: r.Min.X, Y: (r.Min.Y + r.Max.Y) / 2}, symbol.Right
	for i := range d.band.Runs {
		n := &d.band.Runs[i]
		for _, e := range []struct {
			end waterlayout.End
			at  waterlayout.Point
		}{{n.From, n.Points[0]}, {n.To, n.Points[len(n.Points)-1]}} {
			if e.end.Box == x.ID {
				at = d.at(e.at)
			}
		}
	}
	if at.X > r.Min.X {
		away = symbol.Left
	}
	p := draw.Continuation(x.ID, d.markOf(x), d.places.continued(x), at, away)
	p.Terminals[0].Name = "mark"
	d.add(p)
}

// hose draws a run with its label, clamps, arrow and crests.
func (d *bandPen) hose(r *waterlayout.PlacedRun) {
	id := hoseOfRun(r.ID)
	h, style := d.hoses[id], d.styles[id]
	if h.Prepared {
		style = draw.Prepared
	}
	run := draw.Run{
		Kind: draw.Hose, ID: id, From: d.ref(r.From, h.From), To: d.ref(r.To, h.To), Style: style,
		Title: h.ID + " from " + h.From.String() + " to " + h.To.String(),
	}
	for _, p := range r.Points {
		run.Points = append(run.Points, d.at(p))
	}
	d.add(run)
	d.places.run(id, run.Points)
	d.fittings(h, r, run.Points, style)
	if r.Label.Placed && r.Label.Variant < len(d.waterGraph.labels[id]) {
		d.add(runLabel(id, d.waterGraph.labels[id][r.Label.Variant], r.Label, d.origin))
	}
}

// ref is the end of a run as the contract names it.
func (d *bandPen) ref(e waterlayout.End, h schema.HoseEnd) string {
	if e.Port == "mark" || h.IsOpen() || d.boxes[e.Box] == nil {
		return e.Box + "." + e.Port
	}
	if name, ok := d.branch[e]; ok {
		return e.Box + "." + name
	}
	a, _ := d.boxes[e.Box].sym.Anchor(e.Port)
	if len(d.boxes[e.Box].sym.Anchors) == 1 {
		return e.Box + "." + a.Name
	}
	return h.End.String()
}

func runLabel(id, s string, t waterlayout.Text, origin draw.Point) draw.Text {
	b := boxOf(t.Rect, origin)
	l := draw.RunLabel
	out := draw.Text{S: s, Letters: l, Align: draw.Middle, Label: true, LabelOf: id, Of: draw.Hose, Up: t.Turned}
	c := draw.Point{X: (b.Min.X + b.Max.X) / 2, Y: (b.Min.Y + b.Max.Y) / 2}
	// descenders keep clear of the clamps and arrows on the hose
	const lift = draw.MM(0.5)
	out.At = c.Add(0, l.Cap()/2)
	switch {
	case t.Side == waterlayout.Top:
		out.At.Y -= lift
	case t.Turned:
	case t.Side == waterlayout.Left: // beside an upright hose, close to it
		out.Align, out.At.X = draw.End, b.Max.X-min(2.4, (b.Width()-l.Width(s))/2)
	case t.Side == waterlayout.Right:
		out.Align, out.At.X = draw.Start, b.Min.X+min(2.4, (b.Width()-l.Width(s))/2)
	}
	if t.Turned {
		out.At = c.Add(l.Cap()/2, 0)
		if t.Side == waterlayout.Left {
			out.At.X -= lift
		}
	}
	return out
}

// fittings draws clamps at both ends, an arrow along the flow, and a mark at
// every crest and dip.
func (d *bandPen) fittings(h *schema.Hose, r *waterlayout.PlacedRun, pts []draw.Point, style draw.Style) {
	g := draw.Group{Class: "fittings"}
	n := h.Clamps.Or(0)
	if n > 2 {
		n = 2
	}
	if n > 0 && !h.Implied && !(h.Length.Given() && h.Length.V == 0) {
		if r.From.Port != "mark" && !h.From.IsOpen() {
			g.Strokes = append(g.Strokes, d.clampsAt(pts[0], pts[1], n)...)
		}
		if r.To.Port != "mark" && !h.To.IsOpen() {
			g.Strokes = append(g.Strokes, d.clampsAt(pts[len(pts)-1], pts[len(pts)-2], n)...)
		}
	}
	if at, to, ok := arrowOn(pts); ok && !h.Implied {
		g.Strokes = append(g.Strokes, draw.FlowArrow(at, to, style))
	}
	for i, c := range r.Crests {
		dip := h.Dip.Given() && i == 0
		g.Strokes = append(g.Strokes, crestMark(d.at(c), dip))
	}
	if len(g.Strokes) > 0 {
		d.add(g)
	}
}

// clampsAt draws the clamps of a hose end at a, the hose leading to b; on the side
// of a label they end at the hose.
func (d *bandPen) clampsAt(a, b draw.Point, n int) []draw.Stroke {
	const first, next = draw.MM(0.9), draw.MM(1.1)
	dx, dy := sign(b.X-a.X), sign(b.Y-a.Y)
	if length := (b.X-a.X)*dx + (b.Y-a.Y)*dy; length < 2.4 {
		return nil
	}
	var out []draw.Stroke
	for i := range n {
		s := first + draw.MM(i)*next
		c := a.Add(dx*s, dy*s)
		from, to := c.Add(-dy*1.2, -dx*1.2), c.Add(dy*1.2, dx*1.2)
		if d.onLabel(from, c) {
			from = c
		}
		if d.onLabel(c, to) {
			to = c
		}
		if from != to {
			out = append(out, draw.Line(from, to, draw.Outline))
		}
	}
	return out
}

func (d *bandPen) onLabel(a, b draw.Point) bool {
	return slices.ContainsFunc(d.labels, around(a, b).Grow(0.2).Overlaps)
}

func sign(v draw.MM) draw.MM {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}

// arrowOn is the middle of the longest piece, and the way the water runs there.
func arrowOn(pts []draw.Point) (at draw.Point, to symbol.Side, ok bool) {
	best := draw.MM(4)
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		dx, dy := b.X-a.X, b.Y-a.Y
		l := dx*sign(dx) + dy*sign(dy)
		if l <= best {
			continue
		}
		best, ok = l, true
		at = draw.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}
		switch {
		case dx > 0:
			to = symbol.Right
		case dx < 0:
			to = symbol.Left
		case dy > 0:
			to = symbol.Down
		default:
			to = symbol.Up
		}
	}
	return at, to, ok
}

// crestMark is a small open triangle on the line: standing on a crest, hanging
// under a dip.
func crestMark(p draw.Point, dip bool) draw.Stroke {
	up := draw.MM(-1)
	if dip {
		up = 1
	}
	return draw.Polyline{Closed: true, Pen: draw.Pen{Style: draw.Ruler, Class: "crest"}, Points: []draw.Point{
		p.Add(-0.8, up*0.5), p.Add(0.8, up*0.5), p.Add(0, up*1.4),
	}}
}
