// Package pdf writes drawn sheets as one PDF: vector strokes, searchable text in
// an embedded face cut down to its letters, a bookmark a sheet, and the same
// geometry as the SVG files. The same sheets and document give the same bytes.
package pdf

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"fitout/render/draw"

	"codeberg.org/go-pdf/fpdf"
)

// Document is what the file says about itself.
type Document struct {
	Title, Author, Subject, Keywords string
	// Created stands as date of creation and change; it is never taken from the
	// clock, so that the same input gives the same file.
	Created time.Time
	Theme   draw.Theme
}

// creator names the program in the document properties.
const creator = "fitout"

// Write writes the sheets, one a page, each at its own size.
func Write(w io.Writer, sheets []draw.Sheet, d Document) error {
	if len(sheets) == 0 {
		return fmt.Errorf("pdf: no sheets to write")
	}
	first := sheets[0]
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: size(first)})
	f.SetCatalogSort(true)
	// The library takes a zero time for "now": the same input would then give other
	// bytes a second later. A file without a date carries the first of 1970.
	created := d.Created
	if created.IsZero() {
		created = time.Unix(0, 0)
	}
	f.SetCreationDate(created.UTC())
	f.SetModificationDate(created.UTC())
	f.SetTitle(d.Title, true)
	f.SetAuthor(d.Author, true)
	f.SetSubject(d.Subject, true)
	f.SetKeywords(d.Keywords, true)
	f.SetCreator(creator, true)
	f.SetProducer(creator, true)
	f.SetLang("en")
	f.SetDisplayMode("fullpage", "single")
	f.SetMargins(0, 0, 0)
	f.SetAutoPageBreak(false, 0)
	addFonts(f)
	f.SetLineCapStyle("butt")
	f.SetLineJoinStyle("miter")
	p := &page{f: f, theme: d.Theme, used: [2]map[rune]bool{{}, {}}}
	for _, s := range sheets {
		f.AddPageFormat("P", size(s))
		// the bookmark's letters are set in the current font's coding
		f.SetFont(families[draw.Regular].family, "", 10)
		f.Bookmark(known(draw.Regular, plain(s.Title)), 0, 0)
		for _, it := range s.Items {
			p.item(it)
		}
		if err := f.Error(); err != nil {
			return fmt.Errorf("pdf: sheet %s: %w", s.ID, err)
		}
	}
	var b bytes.Buffer
	if err := f.Output(&b); err != nil {
		return fmt.Errorf("pdf: %w", err)
	}
	_, err := w.Write(nameSubsets(b.Bytes(), p.used))
	return err
}

func size(s draw.Sheet) fpdf.SizeType {
	return fpdf.SizeType{Wd: float64(s.W), Ht: float64(s.H)}
}

type page struct {
	f     *fpdf.Fpdf
	theme draw.Theme
	used  [2]map[rune]bool // letters by weight
}

func (p *page) item(it draw.Item) {
	switch it := it.(type) {
	case draw.Part:
		for _, s := range it.Strokes {
			p.stroke(s)
		}
		for _, t := range it.Terminals {
			p.terminal(t)
		}
	case draw.Run:
		p.run(it)
	case draw.Waterline:
		p.set(p.theme.Stroking(draw.StaticWaterline))
		p.path([]draw.Point{{X: it.Left, Y: it.Y}, {X: it.Right, Y: it.Y}}, false, "D")
	case draw.Group:
		for _, s := range it.Strokes {
			p.stroke(s)
		}
	case draw.Band:
		for _, i := range it.Items {
			p.item(i)
		}
	case draw.Stroke:
		p.stroke(it)
	}
}

func (p *page) terminal(t draw.Terminal) {
	if !t.Shown {
		return
	}
	k := p.theme.Stroking(t.Style)
	p.set(k)
	if t.A == t.B {
		p.fill(k.Colour)
		p.f.Circle(float64(t.A.X), float64(t.A.Y), float64(draw.DotRadius), "F")
		return
	}
	p.path([]draw.Point{t.A, t.B}, false, "D")
}

func (p *page) run(r draw.Run) {
	if len(r.Points) < 2 {
		return
	}
	k, core, cased := r.Strokings(p.theme)
	p.f.SetLineJoinStyle("round")
	p.set(k)
	p.runPath(r)
	if cased {
		p.set(core)
		p.runPath(r)
	}
	p.f.SetLineJoinStyle("miter")
}

func (p *page) runPath(r draw.Run) {
	p.f.MoveTo(float64(r.Points[0].X), float64(r.Points[0].Y))
	for _, q := range r.Pieces() {
		if q.Curve {
			p.f.CurveTo(float64(q.Via.X), float64(q.Via.Y), float64(q.To.X), float64(q.To.Y))
			continue
		}
		p.f.LineTo(float64(q.To.X), float64(q.To.Y))
	}
	p.f.DrawPath("D")
}

func (p *page) stroke(s draw.Stroke) {
	switch s := s.(type) {
	case draw.Text:
		p.text(s)
	case draw.Polyline:
		p.path(s.Points, s.Closed, p.pen(s.Pen))
	case draw.Rect:
		b := s.Box
		p.f.Rect(float64(b.Min.X), float64(b.Min.Y), float64(b.Width()), float64(b.Height()), p.pen(s.Pen))
	case draw.Ellipse:
		p.curve(s.Centre, s.RX, s.RY, 0, 360, true, s.Pen)
	case draw.Arc:
		p.curve(s.Centre, s.R, s.R, s.From, s.To, false, s.Pen)
	}
}

// curve draws an arc or a whole ellipse in Bézier pieces of at most a quarter
// turn; the control points lie at 4/3·tan(φ/4) of the radius along the tangents,
// the usual best fit. It begins at the right and runs clockwise as in an SVG
// file, so that dashes fall in the same places.
func (p *page) curve(centre draw.Point, rx, ry draw.MM, from, to float64, closed bool, pen draw.Pen) {
	style := p.pen(pen)
	n := max(1, int(math.Ceil((to-from)/90-1e-9)))
	step := (to - from) / float64(n) * math.Pi / 180
	k := 4.0 / 3 * math.Tan(step/4)
	at := func(t float64) (x, y, tx, ty float64) {
		s, c := math.Sincos(t)
		return float64(centre.X) + float64(float64(rx)*c), float64(centre.Y) + float64(float64(ry)*s), -float64(float64(rx) * s), float64(float64(ry) * c)
	}
	t := from * math.Pi / 180
	x, y, tx, ty := at(t)
	if closed {
		// the writer rounds where a path begins, but not where a curve ends: the hair
		// that closes it would stand out as a spike
		p.f.SetLineJoinStyle("round")
		defer p.f.SetLineJoinStyle("miter")
	}
	p.f.MoveTo(x, y)
	for range n {
		t += step
		x1, y1, tx1, ty1 := at(t)
		p.f.CurveBezierCubicTo(x+float64(k*tx), y+float64(k*ty), x1-float64(k*tx1), y1-float64(k*ty1), x1, y1)
		x, y, tx, ty = x1, y1, tx1, ty1
	}
	if closed {
		p.f.ClosePath()
	}
	p.f.DrawPath(style)
}

func (p *page) path(pts []draw.Point, closed bool, style string) {
	for i, q := range pts {
		if i == 0 {
			p.f.MoveTo(float64(q.X), float64(q.Y))
			continue
		}
		p.f.LineTo(float64(q.X), float64(q.Y))
	}
	if closed {
		p.f.ClosePath()
	}
	p.f.DrawPath(style)
}

// pen sets colours and width and says how the path is painted.
func (p *page) pen(pen draw.Pen) string {
	k := p.theme.Stroking(pen.Style)
	p.set(k)
	switch pen.Fill {
	case draw.Ink:
		p.fill(k.Colour)
		return "F"
	case draw.Paper:
		p.fill(p.theme.PaperColour())
		return "DF"
	}
	return "D"
}

func (p *page) set(k draw.Stroking) {
	r, g, b := rgb(k.Colour)
	p.f.SetDrawColor(r, g, b)
	p.f.SetLineWidth(float64(k.Width))
	d := make([]float64, len(k.Dash))
	for i, v := range k.Dash {
		d[i] = float64(v)
	}
	p.f.SetDashPattern(d, 0)
}

func (p *page) fill(colour string) {
	r, g, b := rgb(colour)
	p.f.SetFillColor(r, g, b)
}

// rgb reads a colour of the style table, which is #rrggbb.
func rgb(hex string) (r, g, b int) {
	if _, err := fmt.Sscanf(hex, "#%02x%02x%02x", &r, &g, &b); err != nil {
		return 0, 0, 0
	}
	return r, g, b
}

const pointsPerMM = 72 / 25.4

func (p *page) text(t draw.Text) {
	s := known(t.Letters.Weight(), t.Clean())
	if strings.TrimSpace(s) == "" {
		return
	}
	for _, r := range s {
		p.used[t.Letters.Weight()][r] = true
	}
	p.f.SetFont(families[t.Letters.Weight()].family, "", float64(t.Letters.Size())*pointsPerMM)
	r, g, b := rgb(t.Letters.Colour())
	p.f.SetTextColor(r, g, b)
	x, y := float64(t.At.X), float64(t.At.Y)
	dx := map[draw.Align]float64{draw.Start: 0, draw.Middle: -0.5, draw.End: -1}[t.Align] * float64(t.Letters.Width(s))
	if !t.Up {
		p.f.Text(x+dx, y, s)
		return
	}
	p.f.TransformBegin()
	p.f.TransformRotate(90, x, y)
	p.f.Text(x+dx, y, s)
	p.f.TransformEnd()
}

// known puts a question mark for every letter that the embedded face lacks: a
// PDF has no face to fall back on.
func known(w draw.Weight, s string) string {
	return strings.Map(func(r rune) rune {
		if drawable(w, r) {
			return r
		}
		return '?'
	}, s)
}

func drawable(w draw.Weight, r rune) bool { return r < 0x7f || r <= 0xffff && draw.HasGlyph(w, r) }

func plain(s string) string { return draw.Text{S: s}.Clean() }
