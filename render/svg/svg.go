// Package svg writes a drawn sheet as a self-contained SVG file: millimetres by
// view box, real text in an embedded face, one group a part and one path a run,
// after the contract in section 11 of the layout note.
package svg

import (
	"encoding/base64"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"fitout/render/draw"

	svgo "github.com/ajstarks/svgo/float"
)

// Options of a file.
type Options struct {
	Theme draw.Theme
	// Inline writes the svg element alone, for a page that holds several
	// sheets: every id gets the sheet's id as a prefix.
	Inline bool
	// NoFont leaves the face out, for a page that embeds it once by FontCSS.
	NoFont bool
}

// Write writes one sheet. The first error of the writer is returned and ends
// the work; the bytes depend on the sheet and the options alone.
func Write(w io.Writer, s draw.Sheet, o Options) error {
	ew := &errWriter{w: w, skip: o.Inline}
	c := &canvas{SVG: svgo.New(ew), theme: o.Theme, out: ew}
	if o.Inline {
		c.prefix = s.ID + "-"
	}
	c.start(s)
	if !o.NoFont {
		css, err := FontCSS(s)
		if err != nil {
			return err
		}
		c.Style("text/css", css)
	}
	c.Rect(0, 0, float64(s.W), float64(s.H), attr("class", "paper"), attr("fill", c.theme.PaperColour()))
	for _, it := range s.Items {
		if ew.err != nil {
			break
		}
		c.item(it)
	}
	c.End()
	return ew.err
}

// errWriter keeps the first error, since svgo reports none. With skip it drops
// what stands before the svg element.
type errWriter struct {
	w    io.Writer
	err  error
	skip bool
}

func (e *errWriter) Write(p []byte) (int, error) {
	n := len(p)
	if e.err != nil {
		return n, nil
	}
	if e.skip {
		// svgo writes the XML declaration and the start tag in one call
		i := strings.Index(string(p), "<svg")
		if i < 0 {
			return n, nil
		}
		p, e.skip = p[i:], false
	}
	_, e.err = e.w.Write(p)
	return n, nil
}

type canvas struct {
	*svgo.SVG
	out    *errWriter
	theme  draw.Theme
	prefix string
	inPart bool
}

func (c *canvas) start(s draw.Sheet) {
	vb := fmt.Sprintf(`viewBox="0 0 %s %s"`, num(s.W), num(s.H))
	c.Startunit(float64(s.W), float64(s.H), "mm", vb,
		attr("id", c.prefix+"sheet"), attr("class", "fitout"), attr("data-sheet", s.ID), attr("role", "img"), attr("aria-label", s.Title),
		attr("fill", "none"), attr("stroke", "none"), attr("stroke-linecap", "butt"), attr("stroke-linejoin", "miter"),
		attr("font-family", "'"+draw.FontFamily+"',Go,Helvetica,Arial,'Liberation Sans','DejaVu Sans Condensed',sans-serif"))
	c.Title(plain(s.Title))
	if s.Desc != "" {
		c.Desc(plain(s.Desc))
	}
}

func (c *canvas) item(it draw.Item) {
	switch it := it.(type) {
	case draw.Part:
		c.part(it)
	case draw.Run:
		c.run(it)
	case draw.Waterline:
		k := c.theme.Stroking(draw.StaticWaterline)
		c.Line(float64(it.Left), float64(it.Y), float64(it.Right), float64(it.Y), join(attr("class", "waterline"), stroking(k)))
	case draw.Group:
		c.Group(class("", it.Class))
		c.title(it.Title)
		for _, s := range it.Strokes {
			c.stroke(s)
		}
		c.Gend()
	case draw.Band:
		c.Group(attr("class", "band"))
		for _, i := range it.Items {
			c.item(i)
		}
		c.Gend()
	case draw.Stroke:
		c.stroke(it)
	}
}

func (c *canvas) title(s string) {
	if s != "" {
		c.Title(plain(s))
	}
}

func (c *canvas) part(p draw.Part) {
	k := c.theme.Stroking(draw.Outline)
	a := join(class("part", p.Class), attr("id", c.prefix+"part-"+p.ID), attr("data-part", p.ID), attr("data-kind", p.Kind))
	if p.Height != nil {
		a = join(a, attr("data-height", strconv.FormatFloat(math.Round(float64(*p.Height)*1e4)/1e4, 'f', -1, 64)))
	}
	if p.Ref != "" {
		a = join(a, attr("data-ref", p.Ref))
	}
	c.Group(join(a, stroking(k)))
	c.title(p.Title)
	c.inPart = true
	for _, s := range p.Strokes {
		c.stroke(s)
	}
	for _, t := range p.Terminals {
		c.terminal(t)
	}
	c.inPart = false
	c.Gend()
}

func (c *canvas) terminal(t draw.Terminal) {
	a := join(attr("class", "terminal"), attr("data-terminal", t.Name))
	k := c.theme.Stroking(t.Style)
	switch {
	case t.A == t.B && t.Shown:
		c.Circle(float64(t.A.X), float64(t.A.Y), float64(draw.DotRadius), join(a, attr("fill", k.Colour), attr("stroke", "none")))
	case t.A == t.B:
		c.Circle(float64(t.A.X), float64(t.A.Y), float64(draw.DotRadius), join(a, attr("stroke", "none")))
	case t.Shown:
		c.Line(float64(t.A.X), float64(t.A.Y), float64(t.B.X), float64(t.B.Y), join(a, stroking(k)))
	default:
		c.Line(float64(t.A.X), float64(t.A.Y), float64(t.B.X), float64(t.B.Y), join(a, attr("stroke", "none")))
	}
}

func (c *canvas) run(r draw.Run) {
	if len(r.Points) < 2 {
		return
	}
	d := pathData(r)
	k, core, cased := r.Strokings(c.theme)
	kind := r.Kind.String()
	a := join(class(kind, r.Style.String()+" "+r.Class), attr("data-"+kind, r.ID), attr("data-from", r.From), attr("data-to", r.To))
	if r.Count > 1 {
		a = join(a, attr("data-count", strconv.Itoa(r.Count)))
	}
	if r.Core != "" {
		a = join(a, attr("data-colour", r.Core))
	}
	a = join(a, stroking(k), attr("stroke-linejoin", "round"))
	if r.Title == "" {
		c.Path(d, a)
	} else {
		// svgo closes a path at once; a tool tip needs a child
		fmt.Fprintf(c.out, "<path d=\"%s\" %s><title>%s</title></path>\n", d, a, escape(plain(r.Title)))
	}
	if cased {
		c.Path(d, join(attr("class", "core"), stroking(core)))
	}
}

func pathData(r draw.Run) string {
	var b strings.Builder
	b.WriteString("M" + pair(r.Points[0]))
	for _, p := range r.Pieces() {
		if p.Curve {
			b.WriteString(" Q" + pair(p.Via) + " " + pair(p.To))
			continue
		}
		b.WriteString(" L" + pair(p.To))
	}
	return b.String()
}

func (c *canvas) stroke(s draw.Stroke) {
	switch s := s.(type) {
	case draw.Text:
		c.text(s)
	case draw.Polyline:
		c.polyline(s)
	case draw.Rect:
		b := s.Box
		c.SVG.Rect(float64(b.Min.X), float64(b.Min.Y), float64(b.Width()), float64(b.Height()), c.pen(s.Pen))
	case draw.Ellipse:
		if s.RX == s.RY {
			c.Circle(float64(s.Centre.X), float64(s.Centre.Y), float64(s.RX), c.pen(s.Pen))
			return
		}
		c.SVG.Ellipse(float64(s.Centre.X), float64(s.Centre.Y), float64(s.RX), float64(s.RY), c.pen(s.Pen))
	case draw.Arc:
		from, to := s.Ends()
		large := 0
		if s.To-s.From > 180 {
			large = 1
		}
		r := num(s.R)
		c.Path(fmt.Sprintf("M%s A%s %s 0 %d 1 %s", pair(from), r, r, large, pair(to)), c.pen(s.Pen))
	}
}

func (c *canvas) polyline(s draw.Polyline) {
	if !s.Closed && len(s.Points) == 2 {
		a, b := s.Points[0], s.Points[1]
		c.Line(float64(a.X), float64(a.Y), float64(b.X), float64(b.Y), c.pen(s.Pen))
		return
	}
	pts := make([]string, len(s.Points))
	for i, p := range s.Points {
		pts[i] = pair(p)
	}
	d := "M" + strings.Join(pts, " L")
	if s.Closed {
		d += " Z"
	}
	c.Path(d, c.pen(s.Pen))
}

// pen is the attributes of a shape. Within a part the plain outline is
// inherited from the group.
func (c *canvas) pen(p draw.Pen) string {
	k := c.theme.Stroking(p.Style)
	a := ""
	if p.Class != "" {
		a = class("", p.Class)
	}
	switch p.Fill {
	case draw.Ink:
		return join(a, attr("fill", k.Colour), attr("stroke", "none"))
	case draw.Paper:
		a = join(a, attr("fill", c.theme.PaperColour()))
	}
	if c.inPart && p.Style == draw.Outline {
		if a == "" {
			return attr("fill", "none") // svgo wants one attribute at least
		}
		return a
	}
	return join(a, stroking(k))
}

func (c *canvas) text(t draw.Text) {
	s := t.Clean()
	if strings.TrimSpace(s) == "" {
		return
	}
	cl := t.Letters.String()
	a := ""
	if t.Label {
		cl = "label " + cl
		a = attr("data-"+t.Of.String(), t.LabelOf)
	}
	a = join(class(cl, t.Class), a, attr("font-size", num(t.Letters.Size())), attr("fill", t.Letters.Colour()))
	if c.inPart {
		a = join(a, attr("stroke", "none"))
	}
	if t.Letters.Weight() == draw.Bold {
		a = join(a, attr("font-weight", "700"))
	}
	if strings.Contains(s, "  ") { // the gap between two entries of a label is drawn as measured
		a = join(a, attr("xml:space", "preserve"))
	}
	if w := t.Width(); w > 0 {
		a = join(a, attr("textLength", num(w)), attr("lengthAdjust", "spacingAndGlyphs"))
	}
	switch t.Align {
	case draw.Middle:
		a = join(a, attr("text-anchor", "middle"))
	case draw.End:
		a = join(a, attr("text-anchor", "end"))
	}
	if t.Up {
		a = join(a, attr("transform", "rotate(-90 "+num(t.At.X)+" "+num(t.At.Y)+")"))
	}
	if ref := safeLink(t.Link); ref != "" {
		c.Link(escape(ref), escape(s))
		defer c.LinkEnd()
	}
	c.Text(float64(t.At.X), float64(t.At.Y), s, a)
}

// safeLink lets through references within the set only: no scheme, so nothing
// that runs or leaves the boat's files.
func safeLink(s string) string {
	if strings.ContainsAny(s, ":\\") || strings.HasPrefix(s, "//") {
		return ""
	}
	return s
}

// FontCSS is the style sheet that embeds the face, cut down to the letters of
// the sheets.
func FontCSS(sheets ...draw.Sheet) (string, error) {
	used := [2]map[rune]bool{{}, {}}
	for _, s := range sheets {
		for _, it := range s.Items {
			draw.EachText(it, func(t draw.Text) {
				for _, r := range t.Clean() {
					used[t.Letters.Weight()][r] = true
				}
			})
		}
	}
	var b strings.Builder
	for w, set := range used {
		if len(set) == 0 {
			continue
		}
		runes := make([]rune, 0, len(set))
		for r := range set {
			runes = append(runes, r)
		}
		slices.Sort(runes)
		data, err := subset(draw.FontData(draw.Weight(w)), runes)
		if err != nil {
			return "", err
		}
		weight := 400
		if draw.Weight(w) == draw.Bold {
			weight = 700
		}
		fmt.Fprintf(&b, "@font-face{font-family:'%s';font-weight:%d;src:url(data:font/ttf;base64,%s) format('truetype')}\n",
			draw.FontFamily, weight, base64.StdEncoding.EncodeToString(data))
	}
	return b.String(), nil
}

func stroking(k draw.Stroking) string {
	a := join(attr("stroke", k.Colour), attr("stroke-width", num(k.Width)))
	if len(k.Dash) > 0 {
		d := make([]string, len(k.Dash))
		for i, v := range k.Dash {
			d[i] = num(v)
		}
		a = join(a, attr("stroke-dasharray", strings.Join(d, " ")))
	}
	return a
}

// num prints a length with two decimals, a hundredth of a millimetre.
func num(v draw.MM) string {
	s := strconv.FormatFloat(float64(v), 'f', 2, 64)
	if s == "-0.00" {
		return "0.00"
	}
	return s
}

func pair(p draw.Point) string { return num(p.X) + " " + num(p.Y) }

func attr(name, value string) string { return name + `="` + escape(plain(value)) + `"` }

func class(first, more string) string {
	return attr("class", strings.Join(strings.Fields(first+" "+more), " "))
}

func join(parts ...string) string {
	return strings.Join(slices.DeleteFunc(slices.Clone(parts), func(s string) bool { return s == "" }), " ")
}

// escape makes s safe in an attribute or in text; what XML cannot hold becomes
// the replacement character.
func escape(s string) string {
	var b strings.Builder
	// a strings.Builder does not fail
	_ = xml.EscapeText(&b, []byte(s))
	return b.String()
}

// plain puts blanks for control characters and those that turn text round.
func plain(s string) string { return draw.Text{S: s}.Clean() }
