package schematic

import (
	"strconv"

	"fitout/layout"
	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/symbol"
	"fitout/schema/unit"
)

func itoa(n int) string { return strconv.Itoa(n) }

// drawing is a circuit on its way to the sheets.
type drawing struct {
	in      Input
	c       *circuit
	medium  schema.Medium
	exposed map[*schema.Wire]bool
	pot     *potential
	link    map[string]*link
	node    map[string]*node
	texts   map[string]block // by node
	bodies  map[string]body
	plan    *layout.Plan
	column  column
	found   []numbered // findings for these sheets
	sheets  []*paper
}

// body is a symbol fitted to the grid: its box and ports.
type body struct {
	sym  symbol.Symbol
	x, y int // upper left corner of the box from the symbol's origin
	w, h int
}

func newDrawing(in Input, c *circuit, m schema.Medium) *drawing {
	d := &drawing{in: in, c: c, medium: m, exposed: exposed(in.Survey), pot: newPotential(in.boat()),
		link: map[string]*link{}, node: map[string]*node{}, texts: map[string]block{}, bodies: map[string]body{}}
	d.found = electrical(in.findings())
	d.column = wideColumn
	if len(c.nodes) > many {
		d.column = narrowColumn
	}
	return d
}

// Thickness of bars in grid units: the bar itself runs along the middle.
const barHeight = 2

// graph is what the layout sees.
func (d *drawing) graph() layout.Graph {
	var g layout.Graph
	for _, n := range d.c.inOrder() {
		d.node[n.id] = n
		if n.bar {
			g.Bars = append(g.Bars, d.bar(n))
		} else {
			g.Boxes = append(g.Boxes, d.box(n))
		}
	}
	for _, n := range d.c.nodes {
		if !n.bar && (n.part.Is(schema.Storage) || n.part.Is(schema.ShorePower)) {
			g.First = append(g.First, n.id)
		}
	}
	for _, l := range d.c.links {
		d.link[l.id] = l
		g.Links = append(g.Links, d.conductor(l))
	}
	return g
}

func (d *drawing) bar(n *node) layout.Bar {
	name := n.name()
	d.texts[n.id] = name
	b := layout.Bar{ID: n.id, H: barHeight, Name: name.size(), Mark: layout.Size{W: d.flagLength(n.id), H: 2}}
	switch {
	case n.panel != nil:
		b.H, b.Head, b.Tail, b.Pitch, b.Grouped = n.panel.height(), 2, panelPitch-2, panelPitch, true
		b.Grow = true
		for _, w := range n.panel.ways {
			b.Ports = append(b.Ports, w.key)
		}
	case n.post == "" && (n.part.Is(schema.Grounding) || n.part.Is(schema.Bonding)):
		b.Head = groundHead
	}
	if n.post == "" && n.part.Is(schema.Distribution) {
		b.Grow = true
	}
	return b
}

// groundHead is the room for the earth sign at the left end of a ground bar.
const groundHead = 3

// flagLength is the length of a continuation mark with the longest reference.
func (d *drawing) flagLength(id string) int {
	return gridUnits(draw.TerminalName.Width(id+" 88/H8") + 5.2)
}

func (d *drawing) box(n *node) layout.Box {
	b := fit(n.sym)
	d.bodies[n.id] = b
	text := n.text(d.column)
	d.texts[n.id] = text
	out := layout.Box{ID: n.id, W: b.w, H: b.h, Mirror: true, Text: text.size(), Keep: true}
	for _, a := range b.sym.Anchors {
		if n.used[a.Name] == 0 {
			continue
		}
		p := layout.Port{Name: a.Name}
		switch a.Side {
		case symbol.Up:
			p.Side, p.Offset = layout.Top, a.X-b.x
		case symbol.Down:
			p.Side, p.Offset = layout.Bottom, a.X-b.x
		case symbol.Left:
			p.Side, p.Offset = layout.Left, a.Y-b.y
		default:
			p.Side, p.Offset = layout.Right, a.Y-b.y
		}
		out.Ports = append(out.Ports, p)
	}
	return out
}

// fit lays a box on the grid round a symbol and leads every anchor to its side of
// the box.
func fit(s symbol.Symbol) body {
	g := s.Box.Grid()
	b := body{x: int(g.Min.X), y: int(g.Min.Y)}
	x1, y1 := int(g.Max.X), int(g.Max.Y)
	for _, a := range s.Anchors {
		b.x, b.y, x1, y1 = min(b.x, a.X), min(b.y, a.Y), max(x1, a.X), max(y1, a.Y)
	}
	b.w, b.h = max(x1-b.x, 1), max(y1-b.y, 1)
	s.Anchors = append([]symbol.Anchor(nil), s.Anchors...)
	s.Primitives = append([]symbol.Primitive(nil), s.Primitives...)
	for i := range s.Anchors {
		a := &s.Anchors[i]
		from := symbol.Point{X: float64(a.X), Y: float64(a.Y)}
		switch a.Side {
		case symbol.Up:
			a.Y = b.y
		case symbol.Down:
			a.Y = b.y + b.h
		case symbol.Left:
			a.X = b.x
		default:
			a.X = b.x + b.w
		}
		if to := (symbol.Point{X: float64(a.X), Y: float64(a.Y)}); to != from {
			s.Primitives = append(s.Primitives, symbol.Primitive{Shape: symbol.Line, Points: []symbol.Point{from, to}})
		}
	}
	b.sym = s
	return b
}

func (d *drawing) conductor(l *link) layout.Link {
	out := layout.Link{ID: l.id, Bridge: l.bridge}
	for i, e := range l.ends {
		to := &out.From
		if i == 1 {
			to = &out.To
		}
		*to = layout.End{Node: e.node.id, Port: e.port, Tag: d.tag(e, l)}
	}
	if l.stem || l.wire().Implied {
		return out
	}
	number, size, rest := d.label(l)
	h := 1
	if d.thick(l) {
		h = 2
	}
	text := func(key, s string) layout.Text {
		return layout.Text{Key: key, Size: layout.Size{W: gridUnits(draw.RunLabel.Width(s) + 1), H: h}}
	}
	full := []layout.Text{text(keyFull, together(number, size))}
	if rest != "" {
		full = append(full, text(keyRest, rest))
	}
	out.Labels = [][]layout.Text{full}
	if size != "" { // shorter by standing on both sides
		if c := d.sizeColour(l); c != size {
			out.Labels = append(out.Labels, []layout.Text{text(keyNumber, number), text(keyColour, c)})
		}
		out.Labels = append(out.Labels, []layout.Text{text(keyNumber, number), text(keySize, size)})
	}
	out.Labels = append(out.Labels, []layout.Text{text(keyNumber, number)})
	out.Mark = layout.Size{W: 2, H: d.flagLength(number)}
	return out
}

// Keys of the labels of a run.
const (
	keyFull   = "full"
	keyRest   = "rest"
	keyNumber = "number"
	keyColour = "colour" // size and colour
	keySize   = "size"
)

// sizeColour is a run's size with the code of its colour.
func (d *drawing) sizeColour(l *link) string {
	_, size, _ := d.label(l)
	if c := d.colour(l.wire()); c != "" && l.wire().Cable == "" {
		return size + " " + c
	}
	return size
}

// text of a label by its key.
func (d *drawing) labelText(l *link, key string) string {
	number, size, rest := d.label(l)
	switch {
	case key == keyRest:
		return rest
	case key == keyColour:
		return d.sizeColour(l)
	case key == keySize:
		return size
	case key == keyNumber:
		return number
	}
	return together(number, size)
}

// together is a run's number and size in one: the colon keeps 9: 6 AWG from being
// read as 96 AWG.
func together(number, size string) string {
	if size == "" {
		return number
	}
	return number + ": " + size
}

// tag is the short text at the end of a conductor: the number of a stud, the name
// of a terminal that its place does not tell.
func (d *drawing) tag(e end, l *link) layout.Size {
	s := d.tagText(e, l)
	if s == "" {
		return layout.Size{}
	}
	return layout.Size{W: gridUnits(draw.TerminalName.Width(s) + 1.2), H: 1}
}

func (d *drawing) tagText(e end, l *link) string {
	n := e.node
	switch {
	case l.stem, n.post != "":
		return ""
	case n.panel != nil:
		if _, way := n.panel.way(e.port); way || n.panel.feeds(e.port) {
			return ""
		}
		return shown(e.port)
	case n.bar:
		return e.port
	}
	return n.terminalName(e.port)
}

// terminalName is printed where neither the symbol nor the place tells it: on
// parts with more than two terminals whose form has no letters for them, and for
// a plus and minus.
func (n *node) terminalName(port string) string {
	if port == "1" && len(n.sym.Anchors) == 1 {
		return ""
	}
	for _, p := range n.sym.Primitives {
		if p.Shape == symbol.Text && (p.Text == port || p.Text == shown(port)) {
			return "" // the form itself carries it
		}
	}
	if n.plain && len(n.used) <= 2 {
		return ""
	}
	t, ok := n.part.Terminal(port)
	if ok && t.Polarity == schema.Through && len(n.used) <= 2 && !n.part.Kind.Directed {
		return ""
	}
	return shown(port)
}

// thick reports a run drawn so wide that its label needs a wider cell.
func (d *drawing) thick(l *link) bool {
	w := l.wire()
	return d.exposed[w] || d.style(w) == draw.PositiveMain || d.style(w) == draw.NegativeMain
}

// mainSize is the conductor size from which a battery cable is drawn heavier.
const mainSize unit.SquareMM = 20

// style is the meaning of a conductor's line.
func (d *drawing) style(w *schema.Wire) draw.Style {
	if w.Prepared || w.From.Part.Prepared || w.To.Part.Prepared {
		return draw.Prepared
	}
	if w.Medium == schema.AC {
		return acStyle(w)
	}
	if senses(w) {
		return draw.Signal
	}
	heavy := w.Size.Given() && w.Size.V.Area >= mainSize
	pol := d.pot.pol[jointOf(w.From.Part, w.From.Terminal)]
	switch {
	case bonds(w) || pol == grounding:
		return draw.Bonding
	case pol == negative && heavy:
		return draw.NegativeMain
	case pol == negative:
		return draw.Negative
	case heavy:
		return draw.PositiveMain
	}
	return draw.Positive
}

// bonds reports a conductor that carries no current in service: to a bonding
// point, an anode or the case of a part.
func bonds(w *schema.Wire) bool {
	for _, e := range []schema.End{w.From, w.To} {
		if e.Part.Is(schema.Bonding) {
			return true
		}
		if t, ok := e.Part.Terminal(e.Terminal); ok && t.Polarity == schema.Ground && !e.Part.Is(schema.Grounding) {
			return true
		}
	}
	return false
}

// pages are the layout's pages for a list of papers, a tier for each list.
func layoutPages(reserve int, tiers ...[]sheet.Paper) (pages []layout.Page, frames map[string]sheet.Frame) {
	frames = map[string]sheet.Frame{}
	for t, list := range tiers {
		for _, p := range list {
			f := sheet.NewFrame(p)
			w, h := f.GridSize()
			name := p.Name + " " + itoa(int(p.W)) + "x" + itoa(int(p.H))
			frames[name] = f
			pages = append(pages, layout.Page{Name: name, W: w, H: h - reserve, Tier: t})
		}
	}
	return pages, frames
}
