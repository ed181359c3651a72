package schematic

import (
	"fmt"
	"strings"

	"fitout/layout/overview"
	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
)

// Overview draws who feeds whom, and which hull opening serves which equipment:
// plain boxes, sources and intakes on the left, one line from each box to all
// that it feeds. Fuses, switches and fittings on the way are left to the
// circuit sheets.
func Overview(in Input) ([]sheet.Page, error) {
	if len(in.Papers) == 0 {
		return nil, fmt.Errorf("overview: no paper to draw on")
	}
	var pages []sheet.Page
	for _, w := range []web{feeds(in.boat()), servings(in.boat())} {
		if len(w.edges) == 0 {
			continue
		}
		f := &figure{web: w, first: in.first() + len(pages)}
		made, err := f.pages(in.Papers)
		if err != nil {
			return nil, fmt.Errorf("overview: %w", err)
		}
		pages = append(pages, made...)
	}
	for i := range pages {
		pages[i].ID = "overview"
		if i > 0 {
			pages[i].ID = fmt.Sprintf("overview-%d", i+1)
		}
	}
	return pages, nil
}

// web is a graph of parts.
type web struct {
	title, desc string
	nodes       []webNode
	edges       [][2]string
	// style of the line that leaves a node.
	style func(id string) draw.Style
	key   []keyItem
}

type webNode struct {
	id, kind, title string
	shown           string // its designation where that is not its id
	heavy           bool   // a bus, panel or hull opening
}

// figure is a web on paper.
type figure struct {
	web   web
	first int // number of its first sheet in the set
	set   setting
	text  map[string]webNode
	feeds map[string]bool
}

// setting is how the texts of the boxes are set.
type setting struct {
	letters draw.Letters
	wrap    draw.MM // titles are broken beyond this
}

// settings in the order of preference; a sheet less is worth the next.
var settings = []setting{{draw.PartTitle, 36}, {draw.PartTitle, 25}, {draw.Small, 22}}

// Room in and about a box of the overview.
const (
	webPad  = draw.MM(1.3)
	webLine = namePitch + 0.3 // from line to line
	webFoot = 4               // rows kept for the key
)

// pages sets the web in the way that takes fewest sheets.
func (f *figure) pages(papers []sheet.Paper) ([]sheet.Page, error) {
	f.text, f.feeds = map[string]webNode{}, map[string]bool{}
	for _, n := range f.web.nodes {
		f.text[n.id] = n
	}
	for _, e := range f.web.edges {
		f.feeds[e[0]] = true
	}
	frames := make([]sheet.Frame, len(papers))
	rooms := make([]overview.Room, len(papers))
	for i, p := range papers {
		frames[i] = sheet.NewFrame(p)
		w, h := frames[i].GridSize()
		rooms[i] = overview.Room{W: w, H: h - webFoot}
	}
	var best []overview.Sheet
	var set setting
	for _, f.set = range settings {
		sheets, err := overview.Split(f.graph(), rooms)
		if err != nil {
			return nil, err
		}
		if best == nil || len(sheets) < len(best) {
			best, set = sheets, f.set
		}
		if len(best) == 1 {
			break
		}
	}
	f.set = set
	var out []sheet.Page
	for i, s := range best {
		frame := frames[max(s.Room, 0)]
		if s.Room < 0 { // one box with more lines than a sheet is high
			frame = outsize(frame.Paper, s.W-rooms[0].W, s.H-rooms[0].H)
		}
		p := f.draw(frame, s.Plan)
		if i > 0 {
			p.Title = fmt.Sprintf("%s, page %d", p.Title, i+1)
		}
		out = append(out, p)
	}
	return out, nil
}

func (f *figure) graph() overview.Graph {
	g := overview.Graph{}
	for _, e := range f.web.edges {
		g.Edges = append(g.Edges, overview.Edge{From: e[0], To: e[1]})
	}
	for _, n := range f.web.nodes {
		d := overview.Node{ID: n.id}
		d.W, d.H = sizeOf(f.lines(n))
		d.RefW, d.RefH = sizeOf(f.refLines(n, "from sheet 99"))
		g.Nodes = append(g.Nodes, d)
	}
	g.MoreW, g.MoreH = sizeOf([]webLineOf{{rest: moreText(99, "sheets 98, 99"), letters: f.set.letters}})
	return g
}

// webLineOf is a line of a box: a designation, and what stands after it.
type webLineOf struct {
	id, rest string
	letters  draw.Letters // of rest
	indent   draw.MM
}

func (l webLineOf) width() draw.MM {
	w := l.indent + l.letters.Width(l.rest)
	if l.id != "" {
		w += draw.Designation.Width(l.id)
		if l.rest != "" {
			w += nameGap
		}
	}
	return w
}

// lines of a box: what feeds others has its title below its designation, what
// feeds none beside it.
func (f *figure) lines(n webNode) []webLineOf {
	l := f.set.letters
	var title []string
	if n.title != "" {
		title = l.Wrap(n.title, f.set.wrap)
	}
	if n.name() == "" || f.feeds[n.id] || len(title) == 0 {
		return f.below(n, title)
	}
	out := []webLineOf{{id: n.name(), rest: title[0], letters: l}}
	for _, t := range title[1:] {
		out = append(out, webLineOf{rest: t, letters: l, indent: draw.Designation.Width(n.name()) + nameGap})
	}
	return out
}

func (f *figure) below(n webNode, title []string) (out []webLineOf) {
	if n.name() != "" {
		out = append(out, webLineOf{id: n.name(), letters: f.set.letters})
	}
	for _, t := range title {
		out = append(out, webLineOf{rest: t, letters: f.set.letters})
	}
	return out
}

// refLines are those of a box that refers to a node on another sheet.
func (f *figure) refLines(n webNode, where string) []webLineOf {
	var title []string
	if n.title != "" {
		title = f.set.letters.Wrap(n.title, f.set.wrap)
	}
	return append(f.below(n, title), webLineOf{rest: where, letters: draw.Small})
}

func moreText(n int, where string) string { return fmt.Sprintf("%d more: %s", n, where) }

// sizeOf gives a box's size in modules: a line is two of them high, every
// further one adds one or two.
func sizeOf(lines []webLineOf) (w, h int) {
	for _, l := range lines {
		w = max(w, units(l.width()*wider+2*webPad))
	}
	text := draw.Designation.Cap() + draw.MM(len(lines)-1)*webLine
	return w, max(2, units(text+1.8))
}

// name is the designation; an open end has none.
func (n webNode) name() string {
	switch {
	case n.kind == "open-end":
		return ""
	case n.shown != "":
		return n.shown
	}
	return n.id
}

func (f *figure) draw(frame sheet.Frame, plan overview.Plan) sheet.Page {
	p := sheet.Page{Title: f.web.title, Document: "Overview", Desc: f.web.desc, Frame: frame}
	w, h := frame.GridSize()
	o := draw.GridPoint(frame.Origin(), float64(max(0, (w-plan.W)/2)), float64(max(0, (h-webFoot-plan.H)/3)))
	for _, n := range plan.Nets {
		g := draw.Group{Class: "feeds", Title: n.From + " feeds " + strings.Join(n.To, ", ")}
		s := f.web.style(n.From)
		for _, l := range n.Lines {
			g.Strokes = append(g.Strokes, draw.Line(webPoint(o, l[0]), webPoint(o, l[1]), s))
		}
		for _, d := range n.Dots {
			g.Strokes = append(g.Strokes, draw.Circle(webPoint(o, d), draw.DotRadius, draw.Pen{Style: s, Fill: draw.Ink}))
		}
		p.Items = append(p.Items, g)
	}
	for _, b := range plan.Boxes {
		p.Items = append(p.Items, f.box(o, b))
	}
	return f.foot(p)
}

func webPoint(o draw.Point, p overview.Point) draw.Point {
	return draw.GridPoint(o, float64(p.X), float64(p.Y))
}

func (f *figure) box(o draw.Point, b overview.Box) draw.Part {
	n := f.text[b.ID]
	r := draw.Box{Min: webPoint(o, overview.Point{X: b.X, Y: b.Y}), Max: webPoint(o, overview.Point{X: b.X + b.W, Y: b.Y + b.H})}
	pen := draw.Pen{Style: draw.Outline, Fill: draw.Paper}
	if n.heavy {
		pen.Style = draw.OutlineThick
	}
	p := draw.Part{ID: n.id, Kind: n.kind, Title: strings.TrimSpace(n.name() + " " + n.title)}
	lines := f.lines(n)
	if b.Ref != overview.Itself {
		pen.Style = draw.OutlinePrepared
		p.Kind, p.ID, lines = "continuation", n.id+"-from", f.refLines(n, "from "+f.sheets(b))
		p.Ref = "feed of " + b.Feeder
	}
	switch b.Ref {
	case overview.To:
		p.ID, lines = b.Feeder+"-to-"+n.id, f.refLines(n, "see "+f.sheets(b))
	case overview.More:
		p.ID, lines = n.id+"-more", []webLineOf{{rest: moreText(b.Count, f.sheets(b)), letters: f.set.letters}}
	}
	p.Strokes = append(p.Strokes, draw.Rect{Box: r, Pen: pen})
	text := draw.MM(len(lines)-1) * webLine
	at := draw.Point{X: r.Min.X + webPad, Y: (r.Min.Y+r.Max.Y+draw.Designation.Cap())/2 - text/2}
	for _, l := range lines {
		x := at.X + l.indent
		if l.id != "" {
			p.Strokes = append(p.Strokes, draw.Text{At: draw.Point{X: x, Y: at.Y}, S: l.id, Letters: draw.Designation})
			x += draw.Designation.Width(l.id) + nameGap
		}
		if l.rest != "" {
			p.Strokes = append(p.Strokes, draw.Text{At: draw.Point{X: x, Y: at.Y}, S: l.rest, Letters: l.letters})
		}
		at.Y += webLine
	}
	return p
}

// sheets names those that a box refers to.
func (f *figure) sheets(b overview.Box) string {
	s := "sheet "
	if len(b.Sheets) > 1 {
		s = "sheets "
	}
	for i, n := range b.Sheets {
		if i > 0 {
			s += ", "
		}
		s += fmt.Sprint(f.first + n)
	}
	return s
}

// foot explains the lines, and what the boxes leave out.
func (f *figure) foot(p sheet.Page) sheet.Page {
	a := p.Frame.Area
	g := draw.Group{Class: "feeds-key"}
	x, y := a.Min.X, a.Max.Y-keyPitch/2
	for _, k := range f.web.key {
		g.Strokes = append(g.Strokes,
			draw.Line(draw.Point{X: x, Y: y}, draw.Point{X: x + keySample, Y: y}, k.style),
			draw.Text{At: draw.Point{X: x + keySample + 1.5, Y: y + draw.Small.Cap()/2}, S: k.text, Letters: draw.Small})
		x += k.width()
	}
	p.Items = append(p.Items, g)
	return p
}

func nodeOf(p *schema.Part, heavy bool) webNode {
	return webNode{id: p.ID, kind: p.Kind.Name, title: titleOrKind(p), heavy: heavy}
}

// titleOrKind is the title of a part, or what it is where the file gives none.
func titleOrKind(p *schema.Part) string {
	if s := p.Title(); s != "" {
		return s
	}
	return strings.ReplaceAll(p.Kind.Name, "-", " ")
}
