package schematic

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
)

// placesCaution stands on the places sheet.
const placesCaution = "Places as the file gives them, measured from the stem and the centreline; the outline of the hull is a sketch from length and beam, not the boat's lines. Check aboard before cutting or drilling."

// Places draws the boat in plan and profile with every part at its place, and
// names them by space. A boat without a length, or without positions, has no
// such sheet.
func Places(in Input) ([]sheet.Page, error) {
	v := in.boat().Vessel
	if !v.Length.Given() || v.Length.V <= 0 || len(in.Papers) == 0 {
		return nil, nil
	}
	b := newBoatPlan(in)
	if len(b.parts) == 0 {
		return nil, nil
	}
	paper := in.Papers[0]
	for _, p := range in.Papers {
		if p.W > p.H {
			paper = p
		}
	}
	return b.pages(sheet.NewFrame(paper)), nil
}

// mostMarks is how many marks an A4 sheet holds that a person can follow; larger
// paper holds more by its area.
const mostMarks = 120

// shares parts the list so that no sheet has too many marks. The parts of a space
// stay together where a sheet holds them.
func (b *boatPlan) shares(f sheet.Frame) (out [][]placed) {
	most := int(float64(mostMarks) * float64(f.Paper.W*f.Paper.H) / (210 * 297))
	for from := 0; from < len(b.parts); {
		to := min(from+most, len(b.parts))
		if to < len(b.parts) {
			for cut := to; cut > from; cut-- {
				if b.parts[cut].part.Space != b.parts[cut-1].part.Space {
					to = cut
					break
				}
			}
		}
		out = append(out, b.parts[from:to])
		from = to
	}
	return out
}

// mostAbove is how far above the deck edge the profile reaches, in metres.
const mostAbove = 1.6

// boatPlan is what the places sheet shows.
type boatPlan struct {
	in           Input
	length, beam float64 // metres
	lo, hi       float64 // heights shown, metres
	parts        []placed
	unplaced     []*schema.Part
}

// placed is a part with its number on the sheet.
type placed struct {
	part                    *schema.Part
	number                  int
	station, offset, height float64
	hasOffset, hasHeight    bool
}

func newBoatPlan(in Input) *boatPlan {
	v := in.boat().Vessel
	b := &boatPlan{in: in, length: float64(v.Length.V), beam: float64(v.Beam.V), lo: -0.5, hi: 1.2}
	if b.beam <= 0 {
		b.beam = b.length / 3
	}
	if v.Sheer.Given() {
		b.hi = float64(v.Sheer.V)
	}
	deck := b.hi
	for _, p := range in.boat().Parts {
		s := p.Station()
		if !s.Given() || p.Host != nil { // a seacock stands at its through-hull
			if p.Host == nil && !p.Prepared {
				b.unplaced = append(b.unplaced, p)
			}
			continue
		}
		x := placed{part: p, station: float64(s.V), offset: float64(p.Offset().V), height: float64(p.Height().V),
			hasOffset: p.Offset().Given(), hasHeight: p.Height().Given()}
		if x.hasHeight {
			b.lo, b.hi = math.Min(b.lo, x.height), math.Max(b.hi, x.height)
		}
		b.parts = append(b.parts, x)
	}
	// a light at the masthead must not shrink the boat: what is higher stands at
	// the upper edge, its height in the key
	b.hi = math.Min(b.hi, deck+mostAbove) + 0.15
	b.lo -= 0.2
	b.number()
	return b
}

// number counts the parts space by space in the order of the file, forward
// before aft within a space.
func (b *boatPlan) number() {
	order := map[*schema.Space]int{nil: len(b.in.boat().Spaces)}
	for i, s := range b.in.boat().Spaces {
		order[s] = i
	}
	slices.SortStableFunc(b.parts, func(x, y placed) int {
		if c := cmp.Compare(order[x.part.Space], order[y.part.Space]); c != 0 {
			return c
		}
		return cmp.Compare(x.station, y.station)
	})
	for i := range b.parts {
		b.parts[i].number = i + 1
	}
}

// view is one of the two pictures: metres to paper.
type view struct {
	b       *boatPlan
	at      draw.Point // stem, and centreline or waterline
	along   draw.MM    // millimetres of paper a metre
	across  draw.MM
	plan    bool
	area    draw.Box
	lines   [][2]draw.Point // outline and datum, kept clear of marks
	outline []draw.Item
	shape   []draw.Point // the outline, closed
	rows    int          // of the names of spaces
}

func (v *view) point(station, across float64) draw.Point {
	return v.at.Add(draw.MM(station*float64(v.along)), draw.MM(across*float64(v.across)))
}

// of is the place of a part in the view. The bow points left, so that starboard
// is above the centreline from above, and the side seen is port.
func (v *view) of(p placed) (draw.Point, bool) {
	if v.plan {
		return v.point(p.station, -p.offset), p.hasOffset
	}
	return v.point(p.station, -math.Min(p.height, v.b.hi-0.1)), p.hasHeight
}

// pages draws the two views, a sheet each for every share of the parts, and the
// key.
func (b *boatPlan) pages(f sheet.Frame) []sheet.Page {
	var pages []sheet.Page
	shares := b.shares(f)
	for _, share := range shares {
		for _, plan := range []bool{true, false} {
			p := b.view(f, plan, share)
			if len(shares) > 1 {
				p.Title += fmt.Sprintf(", %d to %d", share[0].number, share[len(share)-1].number)
			}
			pages = append(pages, p)
		}
	}
	pages = append(pages, b.keyPages(f)...)
	for i := range pages {
		pages[i].ID = "places"
		if i > 0 {
			pages[i].ID = fmt.Sprintf("places-%d", i+1)
		}
	}
	return pages
}

// steepest is how much higher than long the profile may be drawn, so that parts
// above one another can be told apart.
const steepest = 2.5

// Room about a view: above it, below it for the names of spaces and the key, and
// at its sides.
const (
	viewHead  = draw.MM(13)
	viewFoot  = draw.MM(16)
	viewSide  = draw.MM(12)
	bandPitch = draw.MM(4.2)
)

func (b *boatPlan) view(f sheet.Frame, plan bool, share []placed) sheet.Page {
	title := "from above"
	if !plan {
		title = "from port"
	}
	page := sheet.Page{Title: "Places: " + title, Document: "Places", Caution: placesCaution, Frame: f,
		Desc: "The boat " + title + ", with a number at every part that the file gives a place."}
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
	page.Items = append(page.Items, v.outline...)
	if plan {
		page.Items = append(page.Items, v.bands())
	}
	page.Items = append(page.Items, v.dots(share)...)
	return b.scaleBar(page, v)
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
	return v
}

// bands draws the spaces as stretches along the boat, named below the plan in as
// many rows as they need.
func (v *view) bands() draw.Group {
	b := v.b
	g := draw.Group{Class: "spaces"}
	y := v.area.Max.Y - viewFoot + 6 - draw.MM(max(v.rows, 1))*bandPitch
	var rows [][][2]draw.MM
	for _, s := range b.in.boat().Spaces {
		if !s.Station[0].Given() || !s.Station[1].Given() {
			continue
		}
		x0, x1 := v.point(float64(s.Station[0].V), 0).X, v.point(float64(s.Station[1].V), 0).X
		if x1 < x0 {
			x0, x1 = x1, x0
		}
		name := s.Name()
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
			draw.Text{At: draw.Point{X: middle, Y: h + 0.7 + draw.Small.Cap()}, S: name, Letters: draw.Small, Align: draw.Middle})
	}
	v.rows = max(v.rows, len(rows))
	return g
}

// placeMark is a part's mark in a view.
type placeMark struct {
	placed
	at, c draw.Point // true place, centre of the mark
	r     draw.MM
}

// placeNumber is the letters of a mark.
const placeNumber = draw.Caution

// dots are the numbered marks: a circle for a part, a square for a way through
// the hull, spread so that none lies on another or on the hull's lines, with a
// dot at the true place and a line to it where a mark had to move.
func (v *view) dots(share []placed) []draw.Item {
	var list []placeMark
	for _, p := range share {
		if at, ok := v.of(p); ok {
			w := placeNumber.Width(fmt.Sprint(p.number))
			r := draw.MM(math.Hypot(float64(w/2), float64(placeNumber.Cap()/2))) + 0.5
			list = append(list, placeMark{placed: p, at: at, r: r})
		}
	}
	leaders := draw.Group{Class: "leaders"}
	var marks []draw.Item
	for i := range list {
		m := &list[i]
		m.c = v.spot(list, i)
		marks = append(marks, m.mark())
		if m.c == m.at {
			continue
		}
		leaders.Strokes = append(leaders.Strokes, draw.Circle(m.at, 0.45, draw.Pen{Style: draw.Outline, Fill: draw.Ink}))
		if d := distance(m.at, m.c); d > m.r+0.4 {
			leaders.Strokes = append(leaders.Strokes, draw.Line(m.edge(), m.at, draw.Leader))
		}
	}
	return append([]draw.Item{leaders}, marks...)
}

// edge is where the leader meets the mark.
func (m *placeMark) edge() draw.Point {
	k := draw.MM(float64(m.r / distance(m.at, m.c)))
	return draw.Point{X: m.c.X + (m.at.X-m.c.X)*k, Y: m.c.Y + (m.at.Y-m.c.Y)*k}
}

// spot is the place nearest to a part where its mark lies on nothing, and on the
// same side of the hull as the part: what is in the boat is marked in the boat.
// The marks before it stand already; the true places of all are kept free.
func (v *view) spot(list []placeMark, i int) draw.Point {
	m := list[i]
	in := within(v.shape, m.at)
	for _, strict := range []bool{true, false} {
		for ring := 0; ring < 120; ring++ {
			d := draw.MM(float64(ring) * 0.7)
			for _, k := range around16 {
				m.c = m.at.Add(k.X*d, k.Y*d)
				if v.clear(list, i, m) && within(v.shape, m.c) == in && (!strict || leads(list, i, m)) {
					return m.c
				}
				if ring == 0 {
					break
				}
			}
		}
	}
	return m.at
}

// clear reports whether a mark in a place lies on nothing. What is quickest to
// tell, and tells most often, is asked first.
func (v *view) clear(list []placeMark, i int, m placeMark) bool {
	box := draw.Box{Min: m.c.Add(-m.r-0.4, -m.r-0.4), Max: m.c.Add(m.r+0.4, m.r+0.4)}
	if !v.area.Contains(box) || m.c != m.at && !apart(m.c, m.at, m.r+0.7) {
		return false
	}
	for k := range i {
		o := &list[k]
		if square := m.r + o.r + 0.4; abs(o.c.X-m.c.X) < square && abs(o.c.Y-m.c.Y) < square {
			return false
		}
	}
	for k := range list {
		if k != i && !apart(m.c, list[k].at, m.r+0.8) {
			return false
		}
	}
	for _, l := range v.lines {
		if near(m.c, l[0], l[1], m.r+0.6) {
			return false
		}
	}
	return true
}

// leads reports whether the leader of a mark passes clear of the marks that stand
// already, and the mark clear of their leaders.
func leads(list []placeMark, i int, m placeMark) bool {
	for k := range i {
		o := &list[k]
		if m.c != m.at && near(o.c, m.at, m.c, o.r+0.2) || o.c != o.at && near(m.c, o.at, o.c, m.r+0.2) {
			return false
		}
	}
	return true
}

// apart reports whether two points are at least so far from each other.
func apart(a, b draw.Point, least draw.MM) bool {
	return abs(a.X-b.X) >= least || abs(a.Y-b.Y) >= least || distance(a, b) >= least
}

// near reports whether a point is less than so far from a straight piece.
func near(p, a, b draw.Point, limit draw.MM) bool {
	if p.X <= min(a.X, b.X)-limit || p.X >= max(a.X, b.X)+limit || p.Y <= min(a.Y, b.Y)-limit || p.Y >= max(a.Y, b.Y)+limit {
		return false
	}
	return nearSegment(p, a, b) < limit
}

func abs(v draw.MM) draw.MM { return v * sign(v) }

// nearSegment is the distance of a point from a straight piece.
func nearSegment(p, a, b draw.Point) draw.MM {
	dx, dy := b.X-a.X, b.Y-a.Y
	l := dx*dx + dy*dy
	t := draw.MM(0)
	if l > 0 {
		t = min(max(((p.X-a.X)*dx+(p.Y-a.Y)*dy)/l, 0), 1)
	}
	return distance(p, draw.Point{X: a.X + t*dx, Y: a.Y + t*dy})
}

func (m *placeMark) mark() draw.Part {
	p := m.part
	part := draw.Part{ID: p.ID, Kind: p.Kind.Name, Title: p.Name(), Class: "place"}
	pen := draw.Pen{Style: draw.Outline, Fill: draw.Paper}
	if p.Prepared {
		pen.Style = draw.OutlinePrepared
	}
	if p.Roles().Any(schema.SeaOpening | schema.HullHole) {
		pen.Style = draw.Frame
		part.Strokes = append(part.Strokes, draw.Rect{Box: draw.Box{Min: m.c.Add(-m.r, -m.r), Max: m.c.Add(m.r, m.r)}, Pen: pen})
	} else {
		part.Strokes = append(part.Strokes, draw.Circle(m.c, m.r, pen))
	}
	t := draw.Text{S: fmt.Sprint(m.number), Letters: placeNumber, Align: draw.Middle}
	t.At = m.c.Add(0, t.Letters.Cap()/2)
	part.Strokes = append(part.Strokes, t)
	return part
}

// scaleBar is one metre of the boat, and what the marks mean.
func (b *boatPlan) scaleBar(page sheet.Page, v *view) sheet.Page {
	g := draw.Group{Class: "key"}
	a := page.Frame.Area
	y, x := a.Max.Y-6.5, a.Min.X
	line := func(x0, y0, x1, y1 draw.MM) {
		g.Strokes = append(g.Strokes, draw.Line(draw.Point{X: x0, Y: y0}, draw.Point{X: x1, Y: y1}, draw.FrameThin))
	}
	text := func(x, y draw.MM, s string) draw.MM {
		g.Strokes = append(g.Strokes, draw.Text{At: draw.Point{X: x, Y: y + 0.9}, S: s, Letters: draw.Small})
		return x + draw.Small.Width(s)*wider + 5
	}
	line(x, y, x+v.along, y)
	line(x, y-1, x, y+1)
	line(x+v.along, y-1, x+v.along, y+1)
	scale := fmt.Sprintf("1 m, 1 : %.0f", 1000/float64(v.along))
	if v.across != v.along {
		scale += fmt.Sprintf(" along; heights 1 : %.0f", 1000/float64(v.across))
	}
	x = text(x+v.along+2, y, scale)
	g.Strokes = append(g.Strokes, draw.Circle(draw.Point{X: x + 1.6, Y: y}, 1.5, draw.Pen{Style: draw.Outline, Fill: draw.Paper}))
	x = text(x+4, y, "part")
	g.Strokes = append(g.Strokes, draw.Rect{Box: draw.Box{Min: draw.Point{X: x + 0.1, Y: y - 1.5}, Max: draw.Point{X: x + 3.1, Y: y + 1.5}}, Pen: draw.Pen{Style: draw.Frame, Fill: draw.Paper}})
	text(x+4.5, y, "opening in the hull, with its seacock")
	x, y = a.Min.X, a.Max.Y-2.3
	if v.plan {
		text(x, y, "bow left, starboard above; dot: the true place; numbers: see the key")
	} else {
		text(x, y, "bow left; higher than the sheet: at its edge; dot: the true place; numbers: see the key")
	}
	page.Items = append(page.Items, g)
	return page
}

// keyPages list the parts by number under the name of their space.
func (b *boatPlan) keyPages(f sheet.Frame) []sheet.Page {
	fl := newKeyFlow(b, f)
	return fl.pages()
}

// around16 are the directions tried around a place, the diagonals first.
var around16 = func() (out [16]draw.Point) {
	for k := range out {
		s, c := math.Sincos(float64(k*5%16)*math.Pi/8 + math.Pi/4)
		// rounded, so that every machine places alike
		out[k] = draw.Point{X: draw.MM(math.Round(c*1e4) / 1e4), Y: draw.MM(math.Round(s*1e4) / 1e4)}
	}
	return out
}()
