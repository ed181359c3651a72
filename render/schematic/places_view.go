package schematic

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
)

// view is one of the two pictures: metres to paper.
type view struct {
	b       *boatPlan
	at      draw.Point // stem, and centreline or waterline
	along   draw.MM    // millimetres of paper a metre
	across  draw.MM
	plan    bool
	area    draw.Box
	room    draw.Box        // for marks
	lines   [][2]draw.Point // outline and datum, kept clear of marks
	taken   []draw.Box      // texts, kept clear of marks
	outline []draw.Item
	shape   []draw.Point // the outline, closed
	rows    int          // of the names of spaces
	base    draw.MM      // of the ruler below the boat
	marks   []placeMark
	reach   draw.MM // of the marks from their places
}

// steepest is how much higher than long the profile may be drawn, so that parts
// above one another can be told apart.
const steepest = 2.5

// Room about a view: above it, below it for the ruler and the key, and at its
// sides.
const (
	viewHead  = draw.MM(11)
	viewFoot  = draw.MM(20)
	viewSide  = draw.MM(13)
	bandPitch = draw.MM(4.6)
	rulerAt   = draw.MM(14.5) // the ruler above the foot of the sheet, beside the names of spaces
	rulerOff  = draw.MM(28)   // and below the boat, at most
)

func (v *view) point(station, across float64) draw.Point {
	return v.at.Add(draw.MM(station*float64(v.along)), draw.MM(across*float64(v.across)))
}

// of is the place of a part in the view. The bow points left, so that starboard
// is above the centreline from above, and the side seen is port.
func (v *view) of(p placed) (draw.Point, bool) {
	if v.plan {
		return v.point(p.station, -p.offset), p.hasOffset
	}
	return v.point(p.station, -math.Min(p.height, v.top())), p.hasHeight
}

// top is the greatest height that has a place of its own in the profile.
func (v *view) top() float64 { return v.b.hi - 0.1 }

// view is the boat without its marks.
func (b *boatPlan) view(f sheet.Frame, plan bool) *view {
	v := b.scaled(f, plan, 0)
	if plan { // the names of spaces need rows, and rows take from the scale
		for rows := 0; ; {
			v.bands()
			if v.rows <= rows {
				break
			}
			rows = v.rows
			v = b.scaled(f, plan, rows)
		}
	}
	v.hull()
	if plan {
		v.outline = append(v.outline, v.bands())
	}
	v.outline = append(v.outline, v.rulers())
	return v
}

// page is the view with its marks.
func (v *view) page(f sheet.Frame, share string) sheet.Page {
	title := "from above"
	if !v.plan {
		title = "from port"
	}
	page := sheet.Page{Title: "Places: " + title, Document: "Places", Caution: placesCaution, Frame: f,
		Desc: "The boat " + title + ", with the designation of every part that the file gives a place."}
	if share != "" {
		page.Title += ", " + share
	}
	page.Items = append(page.Items, v.outline...)
	page.Items = append(page.Items, v.drawn()...)
	page.Items = append(page.Items, v.foot(f))
	return page
}

// scaled is a view as large as the sheet holds beside rows of names.
func (b *boatPlan) scaled(f sheet.Frame, plan bool, rows int) *view {
	a := f.Area
	foot := viewFoot + draw.MM(rows)*bandPitch
	tall, rise := b.beam, b.beam/2
	if !plan {
		tall, rise = b.hi-b.lo, b.hi
	}
	room := float64(a.Height() - viewHead - foot)
	scale := math.Min(float64(a.Width()-2*viewSide)/b.length, room/tall)
	v := &view{b: b, along: draw.MM(scale), across: draw.MM(scale), plan: plan, area: a}
	if !plan {
		v.across = draw.MM(math.Min(room/tall, scale*steepest))
	}
	slack := draw.MM(room-tall*float64(v.across)) / 2
	v.at = draw.Point{X: a.Min.X + (a.Width()-draw.MM(b.length*scale))/2, Y: a.Min.Y + viewHead + slack + draw.MM(rise*float64(v.across))}
	v.base = min(a.Max.Y-rulerAt-draw.MM(rows)*bandPitch, v.at.Y+draw.MM((tall-rise)*float64(v.across))+rulerOff)
	v.room = draw.Box{Min: a.Min.Add(11, 5), Max: draw.Point{X: a.Max.X, Y: v.base - 4.5}}
	return v
}

// bands draws the spaces as stretches along the boat, named below the plan in as
// many rows as they need.
func (v *view) bands() draw.Group {
	b := v.b
	g := draw.Group{Class: "spaces"}
	y := v.base + 5.5
	var rows [][][2]draw.MM
	for _, s := range b.in.boat().Spaces {
		if !s.Station[0].Given() || !s.Station[1].Given() {
			continue
		}
		x0, x1 := v.point(float64(s.Station[0].V), 0).X, v.point(float64(s.Station[1].V), 0).X
		if x1 < x0 {
			x0, x1 = x1, x0
		}
		x0, x1 = max(x0, v.area.Min.X), min(x1, v.area.Max.X)
		name := draw.Small.Fit(s.Name(), v.area.Width()/wider)
		half := draw.Small.Width(name) / 2 * wider
		middle := min(max((x0+x1)/2, v.area.Min.X+half), v.area.Max.X-half)
		from, to := min(x0, middle-half), max(x1, middle+half)
		row := 0
		for ; row < len(rows); row++ {
			if !slices.ContainsFunc(rows[row], func(o [2]draw.MM) bool { return from < o[1]+1 && o[0] < to+1 }) {
				break
			}
		}
		if row == len(rows) {
			rows = append(rows, nil)
		}
		rows[row] = append(rows[row], [2]draw.MM{from, to})
		h := y + draw.MM(row)*bandPitch
		g.Strokes = append(g.Strokes,
			draw.Line(draw.Point{X: x0, Y: h}, draw.Point{X: x1, Y: h}, draw.Rule),
			draw.Line(draw.Point{X: x0, Y: h - 0.8}, draw.Point{X: x0, Y: h + 0.8}, draw.Rule),
			draw.Line(draw.Point{X: x1, Y: h - 0.8}, draw.Point{X: x1, Y: h + 0.8}, draw.Rule),
			draw.Text{At: draw.Point{X: middle, Y: h + 1.1 + draw.Small.Cap()}, S: name, Letters: draw.Small, Align: draw.Middle})
	}
	v.rows = max(v.rows, len(rows))
	return g
}

// rulers are measured from the stem below the boat, and at the left from the
// centreline or the waterline.
func (v *view) rulers() draw.Group {
	g := draw.Group{Class: "ruler"}
	line := func(a, b draw.Point) { g.Strokes = append(g.Strokes, draw.Line(a, b, draw.Ruler)) }
	text := func(at draw.Point, s string, a draw.Align) {
		g.Strokes = append(g.Strokes, draw.Text{At: at, S: s, Letters: draw.Small, Align: a})
	}
	cap := draw.Small.Cap()
	y := v.base
	line(v.at2(0, y), v.at2(v.b.length, y))
	u := v.b.unit
	step, digits := rulerStep(v.along * draw.MM(u.metres))
	last := v.at.X
	for i := 0; float64(i)*step*u.metres <= v.b.length+1e-9; i++ {
		p := v.at2(float64(i)*step*u.metres, y)
		line(p.Add(0, -1), p)
		s := fmt.Sprintf("%.*f", digits, float64(i)*step)
		text(p.Add(0, 0.7+cap), s, draw.Middle)
		last = p.X + draw.Small.Width(s)/2
	}
	unit := u.name + " from the stem"
	at := draw.Point{X: last + 2.5, Y: y + 0.7 + cap}
	if at.X+draw.Small.Width(unit)*wider > v.area.Max.X { // no room behind the last figure
		at = draw.Point{X: v.area.Max.X - draw.Small.Width(unit)*wider, Y: y - 1.6}
	}
	text(at, unit, draw.Start)

	x := v.area.Min.X + 8
	from, to := -v.b.beam/2, v.b.beam/2
	if !v.plan {
		from, to = -v.b.hi, -v.b.lo
	}
	line(draw.Point{X: x, Y: v.point(0, from).Y}, draw.Point{X: x, Y: v.point(0, to).Y})
	step, digits = rulerStep(v.across * draw.MM(u.metres))
	for i := int(math.Ceil(from/u.metres/step - 1e-9)); float64(i)*step*u.metres <= to+1e-9; i++ {
		p := draw.Point{X: x, Y: v.point(0, float64(i)*step*u.metres).Y}
		line(p, p.Add(1, 0))
		text(p.Add(-1, cap/2), v.figure(-float64(i)*step, digits), draw.End)
	}
	above, below := "starboard", "port"
	if !v.plan {
		above, below = "height above the waterline, "+u.name, ""
	}
	high := v.point(0, from).Y - 2.5
	if !v.plan { // above the stem, which may stand higher than the ruler
		high = min(high, v.point(0, -v.b.sheerAt(0)).Y-3)
	}
	text(draw.Point{X: v.area.Min.X, Y: high}, above, draw.Start)
	if below != "" {
		text(draw.Point{X: v.area.Min.X, Y: v.point(0, to).Y + 2.5 + cap}, below, draw.Start)
	}
	for _, s := range g.Strokes {
		if t, ok := s.(draw.Text); ok {
			v.taken = append(v.taken, t.Bounds())
		}
	}
	return g
}

func (v *view) at2(station float64, y draw.MM) draw.Point {
	return draw.Point{X: v.point(station, 0).X, Y: y}
}

// figure of the upright ruler: heights have a sign, sides the words at its ends.
func (v *view) figure(m float64, digits int) string {
	if v.plan || m == 0 {
		return fmt.Sprintf("%.*f", digits, math.Abs(m))
	}
	return strings.Replace(fmt.Sprintf("%+.*f", digits, m), "-", "−", 1)
}

// rulerStep is the distance of the figures of a ruler in its unit, and their
// decimals: the least round step that leaves 12 mm of paper from figure to figure.
func rulerStep(scale draw.MM) (step float64, digits int) {
	for _, s := range []float64{0.1, 0.2, 0.5, 1, 2, 5, 10, 20} {
		if s*float64(scale) >= 12 {
			if s < 1 {
				return s, 1
			}
			return s, 0
		}
	}
	return 50, 0
}

// foot says the scale, and what the marks mean; above the boat what the outline
// takes for granted.
func (v *view) foot(f sheet.Frame) draw.Group {
	g := draw.Group{Class: "places-key"}
	x, y := f.Area.Min.X, f.Area.Max.Y-6.3
	text := func(s string) {
		g.Strokes = append(g.Strokes, draw.Text{At: draw.Point{X: x, Y: y + 0.9}, S: s, Letters: draw.Small})
		x += draw.Small.Width(s)*wider + 4
	}
	sample := func(k markShape, s string) {
		g.Strokes = append(g.Strokes, k.outline(draw.Box{Min: draw.Point{X: x, Y: y - 1.4}, Max: draw.Point{X: x + 4.4, Y: y + 1.4}}, false))
		x += 5.6
		text(s)
	}
	sample(plainMark, "part")
	sample(handMark, "fuse, switch, panel, valve")
	sample(hullMark, "opening in the hull, its seacock below it")
	x, y = f.Area.Min.X, f.Area.Max.Y-1.9
	notes := []string{fmt.Sprintf("1 : %.0f", 1000/float64(v.along))}
	if v.across != v.along {
		notes[0] = fmt.Sprintf("lengths 1 : %.0f, heights 1 : %.0f", 1000/float64(v.along), 1000/float64(v.across))
	}
	notes = append(notes, "bow left", "a line leads to the true place; without one it is the middle of the mark")
	text(strings.Join(notes, "; "))
	y = f.Area.Min.Y + draw.Small.Cap() - 0.9
	for _, s := range draw.Small.Wrap(strings.Join(v.b.assumed, "; "), f.Area.Width()/wider) {
		x = f.Area.Min.X
		text(s)
		y += 2.9
	}
	return g
}

// markShape is the outline of a mark.
type markShape int

const (
	plainMark markShape = iota // cut corners
	handMark                   // square: what a hand looks for to open, shut or change
	hullMark                   // square and thick: a way through the hull
)

func shapeOf(p *schema.Part) markShape {
	switch r := p.Roles(); {
	case r.Any(schema.SeaOpening | schema.HullHole):
		return hullMark
	case r.Any(schema.Protection | schema.Switching | schema.Shutoff | schema.Panel | schema.Residual):
		return handMark
	}
	return plainMark
}

// outline draws the mark's box.
func (k markShape) outline(b draw.Box, prepared bool) draw.Stroke {
	pen := draw.Pen{Style: draw.Outline, Fill: draw.Paper}
	if prepared {
		pen.Style = draw.OutlinePrepared
	}
	switch k {
	case hullMark:
		pen.Style = draw.Frame
	case plainMark:
		const cut = draw.MM(0.9)
		return draw.Polyline{Closed: true, Pen: pen, Points: []draw.Point{
			b.Min.Add(cut, 0), {X: b.Max.X - cut, Y: b.Min.Y}, {X: b.Max.X, Y: b.Min.Y + cut}, b.Max.Add(0, -cut),
			b.Max.Add(-cut, 0), {X: b.Min.X + cut, Y: b.Max.Y}, {X: b.Min.X, Y: b.Max.Y - cut}, b.Min.Add(0, cut),
		}}
	}
	return draw.Rect{Box: b, Pen: pen}
}
