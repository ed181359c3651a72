package chart

import (
	"math"

	"fitout/render/draw"
)

const (
	letters  = draw.Note
	air      = draw.MM(1)   // between a text and anything else
	tickRoom = draw.MM(1.5) // between an axis and its figures
)

// label sets a text beside a curve, where it crosses no curve and no text. Places
// are tried along the curve from its middle outward, close to it first. The text
// is left out only where the whole box is full; ok says so.
func (p *plot) label(s string, along []draw.Point) bool {
	if len(along) == 0 {
		return true // the curve lies outside the box
	}
	for _, gap := range []draw.MM{1.2, 2.6, 4, 8, 14, 22, 32} {
		for _, at := range outward(along) {
			for _, t := range around(s, at, gap) {
				if p.free(t) {
					p.texts = append(p.texts, t)
					if gap > 4 {
						p.marks = append(p.marks, leader(t, at))
					}
					return true
				}
			}
		}
	}
	return false
}

// outward lists points at every few millimetres of a chain, the middle first.
func outward(pts []draw.Point) []draw.Point {
	var fine []draw.Point
	for i := range pts {
		if i == 0 {
			fine = append(fine, pts[0])
			continue
		}
		a, b := pts[i-1], pts[i]
		n := math.Ceil(math.Hypot(float64(b.X-a.X), float64(b.Y-a.Y)) / 3)
		for k := 1.0; k <= n; k++ {
			fine = append(fine, a.Add((b.X-a.X)*draw.MM(k/n), (b.Y-a.Y)*draw.MM(k/n)))
		}
	}
	out := make([]draw.Point, 0, len(fine))
	for lo, hi := len(fine)/2-1, len(fine)/2; lo >= 0 || hi < len(fine); lo, hi = lo-1, hi+1 {
		if hi < len(fine) {
			out = append(out, fine[hi])
		}
		if lo >= 0 {
			out = append(out, fine[lo])
		}
	}
	return out
}

// around are the places of a text at a distance from a point: right, left, and
// turned along steep lines.
func around(s string, at draw.Point, gap draw.MM) []draw.Text {
	c := letters.Cap()
	return []draw.Text{
		{At: at.Add(gap, c/2), S: s, Letters: letters},
		{At: at.Add(-gap, c/2), S: s, Letters: letters, Align: draw.End},
		{At: at.Add(gap, -gap), S: s, Letters: letters},
		{At: at.Add(gap, gap+c), S: s, Letters: letters},
		{At: at.Add(-gap, -gap), S: s, Letters: letters, Align: draw.End},
		{At: at.Add(-gap, gap+c), S: s, Letters: letters, Align: draw.End},
		{At: at.Add(-gap, 0), S: s, Letters: letters, Align: draw.Middle, Up: true},
		{At: at.Add(gap+c, 0), S: s, Letters: letters, Align: draw.Middle, Up: true},
	}
}

func (p *plot) free(t draw.Text) bool {
	b := t.Bounds()
	if !p.box.Grow(-air).Contains(b) {
		return false
	}
	for _, o := range p.texts {
		if o.Bounds().Grow(air).Overlaps(b) {
			return false
		}
	}
	for _, m := range p.marks {
		if m.Bounds().Grow(air).Overlaps(b) {
			return false
		}
	}
	near := b.Grow(air * 0.7)
	for _, c := range p.curves {
		for i := 1; i < len(c.Points); i++ {
			if _, _, hit := clipPiece(c.Points[i-1], c.Points[i], near); hit {
				return false
			}
		}
	}
	return true
}

// leader ties a text to a point that it does not lie close to.
func leader(t draw.Text, to draw.Point) draw.Item {
	b := t.Bounds()
	from := draw.Point{X: min(max(to.X, b.Min.X), b.Max.X), Y: min(max(to.Y, b.Min.Y), b.Max.Y)}
	return draw.Line(from, to, draw.Leader)
}

// items gives the diagram: grid first, broken where a text stands, then curves and
// texts.
func (p *plot) items() []draw.Item {
	grid := draw.Group{Class: "chart-grid"}
	scale := draw.Group{Class: "chart-scale"}
	lines := func(from, to draw.Point, style draw.Style) {
		for _, piece := range p.broken(from, to) {
			grid.Strokes = append(grid.Strokes, draw.Line(piece[0], piece[1], style))
		}
	}
	for _, t := range p.x.ticks() {
		x := p.at(t.at, p.y.lo).X
		lines(draw.Point{X: x, Y: p.box.Min.Y}, draw.Point{X: x, Y: p.box.Max.Y}, gridStyle(t))
		scale.Strokes = append(scale.Strokes, draw.Text{At: draw.Point{X: x, Y: p.box.Max.Y + tickRoom + letters.Cap()}, S: t.text, Letters: letters, Align: draw.Middle})
	}
	for _, t := range p.y.ticks() {
		y := p.at(p.x.lo, t.at).Y
		lines(draw.Point{X: p.box.Min.X, Y: y}, draw.Point{X: p.box.Max.X, Y: y}, gridStyle(t))
		// the lowest stands on the axis, clear of the figure below the corner
		scale.Strokes = append(scale.Strokes, draw.Text{At: draw.Point{X: p.box.Min.X - tickRoom, Y: min(y+letters.Cap()/2, p.box.Max.Y)}, S: t.text, Letters: letters, Align: draw.End})
	}
	scale.Strokes = append(p.otherSystem(withText(scale.Strokes)), p.titles()...)
	scale.Strokes = append(scale.Strokes, draw.Rect{Box: p.box, Pen: draw.Pen{Style: draw.FrameThin}})
	curves := draw.Group{Class: "chart-curves"}
	for _, c := range p.curves {
		curves.Strokes = append(curves.Strokes, c)
	}
	out := append([]draw.Item{grid, scale, curves}, p.marks...)
	for _, t := range p.texts {
		out = append(out, t)
	}
	return out
}

func gridStyle(t tick) draw.Style {
	if t.text == "" {
		return draw.GridFine
	}
	return draw.GridLine
}

// withText leaves out the empty texts of fine ticks.
func withText(list []draw.Stroke) []draw.Stroke {
	var out []draw.Stroke
	for _, s := range list {
		if t, ok := s.(draw.Text); !ok || t.S != "" {
			out = append(out, s)
		}
	}
	return out
}

// broken parts an upright or level line where texts stand on it.
func (p *plot) broken(from, to draw.Point) [][2]draw.Point {
	pieces := [][2]draw.Point{{from, to}}
	for _, t := range p.texts {
		b := t.Bounds().Grow(air * 0.6)
		var next [][2]draw.Point
		for _, l := range pieces {
			in, out, hit := clipPiece(l[0], l[1], b)
			if !hit {
				next = append(next, l)
				continue
			}
			if in != l[0] {
				next = append(next, [2]draw.Point{l[0], in})
			}
			if out != l[1] {
				next = append(next, [2]draw.Point{out, l[1]})
			}
		}
		pieces = next
	}
	return pieces
}

// otherSystem adds the scales at the top and at the right.
func (p *plot) otherSystem(s []draw.Stroke) []draw.Stroke {
	if p.secondX != "" {
		other := axis{lo: p.x.lo * p.factorX, hi: p.x.hi * p.factorX}
		for _, t := range other.ticks() {
			x := p.at(t.at/p.factorX, p.y.lo).X
			s = append(s, draw.Line(draw.Point{X: x, Y: p.box.Min.Y}, draw.Point{X: x, Y: p.box.Min.Y - 1}, draw.Ruler),
				draw.Text{At: draw.Point{X: x, Y: p.box.Min.Y - tickRoom}, S: t.text, Letters: letters, Align: draw.Middle})
		}
	}
	if p.secondY != "" {
		other := axis{lo: p.y.lo * p.factorY, hi: p.y.hi * p.factorY}
		for _, t := range other.ticks() {
			y := p.at(p.x.lo, t.at/p.factorY).Y
			s = append(s, draw.Line(draw.Point{X: p.box.Max.X, Y: y}, draw.Point{X: p.box.Max.X + 1, Y: y}, draw.Ruler),
				draw.Text{At: draw.Point{X: p.box.Max.X + tickRoom, Y: y + letters.Cap()/2}, S: t.text, Letters: letters})
		}
	}
	return s
}

// Room that the scales take outside the box.
const (
	below  = draw.MM(11)
	beside = draw.MM(17)
)

func (p *plot) titles() []draw.Stroke {
	cx, cy := (p.box.Min.X+p.box.Max.X)/2, (p.box.Min.Y+p.box.Max.Y)/2
	text := func(x, y draw.MM, s string, up bool) draw.Text {
		return draw.Text{At: draw.Point{X: x, Y: y}, S: s, Letters: draw.TableHead, Align: draw.Middle, Up: up}
	}
	out := []draw.Stroke{
		text(cx, p.box.Max.Y+below-1.5, p.x.title, false),
		text(p.box.Min.X-beside+letters.Cap()+0.5, cy, p.y.title, true),
	}
	if p.secondX != "" {
		out = append(out, text(cx, p.box.Min.Y-below+letters.Cap()+1.5, p.secondX, false))
	}
	if p.secondY != "" {
		out = append(out, text(p.box.Max.X+beside-1.5, cy, p.secondY, true))
	}
	return out
}
