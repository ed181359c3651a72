package schematic

import (
	"fmt"

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
	var figures []figure
	for _, w := range []web{feeds(in.boat()), servings(in.boat())} {
		if len(w.edges) > 0 {
			figures = append(figures, figure{web: w})
		}
	}
	var pages []sheet.Page
	for i := range figures {
		p, err := figures[i].page(in)
		if err != nil {
			return nil, fmt.Errorf("overview: %w", err)
		}
		p.ID = "overview"
		if len(pages) > 0 {
			p.ID = fmt.Sprintf("overview-%d", len(pages)+1)
		}
		pages = append(pages, p)
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
	heavy           bool // a bus, panel or hull opening
}

// figure is a web on paper.
type figure struct {
	web  web
	plan overview.Plan
	// letters of the titles: smaller where the sheet would not hold the web.
	letters, best draw.Letters
	text          map[string]webNode
	// twoLines marks the boxes whose title stands below their designation.
	twoLines map[string]bool
}

// Room in a box of the overview.
const (
	webPad   = draw.MM(1.3)
	webTitle = draw.MM(34) // titles are cut beyond this
)

// page places the web on the first paper that holds it; else on the first
// larger one, else on a sheet made to fit.
func (f *figure) page(in Input) (sheet.Page, error) {
	f.text, f.twoLines = map[string]webNode{}, map[string]bool{}
	for _, n := range f.web.nodes {
		f.text[n.id] = n
	}
	var frame sheet.Frame
	over := 1 << 30
	for _, papers := range [][]sheet.Paper{in.Papers, in.Larger} {
		for _, l := range []draw.Letters{draw.PartTitle, draw.Small} {
			for _, p := range papers {
				fr := sheet.NewFrame(p)
				w, h := fr.GridSize()
				for _, height := range []int{h - webFoot, 0} { // columns of leaves broken, or whole
					f.letters = l
					plan, err := overview.Place(f.graph(height))
					if err != nil {
						return sheet.Page{}, err
					}
					if o := max(plan.W-w, 0) + max(plan.H+webFoot-h, 0); o < over {
						over, frame, f.plan, f.best = o, fr, plan, l
					}
					if over == 0 {
						return f.draw(frame), nil
					}
				}
			}
		}
	}
	f.letters = f.best
	w, h := frame.GridSize()
	return f.draw(outsize(frame.Paper, f.plan.W-w, f.plan.H+webFoot-h)), nil
}

// webFoot is the rows kept for the key.
const webFoot = 4

func (f *figure) graph(height int) overview.Graph {
	g := overview.Graph{Height: height}
	outs := map[string]bool{}
	for _, e := range f.web.edges {
		outs[e[0]] = true
		g.Edges = append(g.Edges, overview.Edge{From: e[0], To: e[1]})
	}
	for _, n := range f.web.nodes {
		w, h := f.size(n, outs[n.id])
		f.twoLines[n.id] = h > 2
		g.Nodes = append(g.Nodes, overview.Node{ID: n.id, W: w, H: h})
	}
	return g
}

// size of a box: leaves stand on one line, what feeds others on two.
func (f *figure) size(n webNode, feeds bool) (w, h int) {
	id, title := draw.Designation.Width(n.name()), f.letters.Width(f.titleOf(n))
	if feeds && id > 0 {
		return units(max(id, title)*wider + 2*webPad), 4
	}
	if title > 0 && id > 0 {
		title += nameGap
	}
	return units((id+title)*wider + 2*webPad), 2
}

// titleOf cuts a title to the room it may take.
func (f *figure) titleOf(n webNode) string { return f.letters.Fit(n.title, webTitle) }

// name is the designation; an open end has none.
func (n webNode) name() string {
	if n.kind == "open-end" {
		return ""
	}
	return n.id
}

func (f *figure) draw(frame sheet.Frame) sheet.Page {
	p := sheet.Page{Title: f.web.title, Document: "Overview", Desc: f.web.desc, Frame: frame}
	w, h := frame.GridSize()
	o := draw.GridPoint(frame.Origin(), float64(max(0, (w-f.plan.W)/2)), float64(max(0, (h-webFoot-f.plan.H)/3)))
	for _, n := range f.plan.Nets {
		g := draw.Group{Class: "feeds", Title: n.From + " feeds " + joinWords(n.To)}
		s := f.web.style(n.From)
		for _, l := range n.Lines {
			g.Strokes = append(g.Strokes, draw.Line(webPoint(o, l[0]), webPoint(o, l[1]), s))
		}
		for _, d := range n.Dots {
			g.Strokes = append(g.Strokes, draw.Circle(webPoint(o, d), draw.DotRadius, draw.Pen{Style: s, Fill: draw.Ink}))
		}
		p.Items = append(p.Items, g)
	}
	for _, b := range f.plan.Boxes {
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
	p := draw.Part{ID: n.id, Kind: n.kind, Title: n.id + " " + n.title, Strokes: []draw.Stroke{draw.Rect{Box: r, Pen: pen}}}
	at := draw.Point{X: r.Min.X + webPad, Y: (r.Min.Y + r.Max.Y + draw.Designation.Cap()) / 2}
	second := at.Add(draw.Designation.Width(n.name())+nameGap, 0)
	switch {
	case n.name() == "":
		second = at
	case f.twoLines[n.id]:
		at.Y = (r.Min.Y+r.Max.Y)/2 - 0.8
		second = at.Add(0, namePitch+0.4)
	}
	if n.name() != "" {
		p.Strokes = append(p.Strokes, draw.Text{At: at, S: n.name(), Letters: draw.Designation})
	}
	if t := f.titleOf(n); t != "" {
		p.Strokes = append(p.Strokes, draw.Text{At: second, S: t, Letters: f.letters})
	}
	return p
}

// foot explains the lines, and what the boxes leave out.
func (f *figure) foot(p sheet.Page) sheet.Page {
	a := p.Frame.Area
	g := draw.Group{Class: "key"}
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

func joinWords(list []string) string {
	s := ""
	for i, w := range list {
		if i > 0 {
			s += ", "
		}
		s += w
	}
	return s
}

func nodeOf(p *schema.Part, heavy bool) webNode {
	return webNode{id: p.ID, kind: p.Kind.Name, title: p.Title(), heavy: heavy}
}

// --- who feeds whom

// feeder walks the live side of a boat's wiring.
type feeder struct {
	boat  *schema.Boat
	next  map[joint][]joint // along conductors, and through devices and switches
	kept  map[*schema.Part]bool
	gives map[joint]bool // a source's, converter's or charger's output
	takes map[joint]bool // a consumer's input
}

func feeds(b *schema.Boat) web {
	f := &feeder{boat: b, next: map[joint][]joint{}, kept: map[*schema.Part]bool{}, gives: map[joint]bool{}, takes: map[joint]bool{}}
	f.read()
	w := web{
		title: "Overview: who feeds whom", desc: "Sources, buses, panels and consumers; devices and switches between them are left out.",
		style: func(id string) draw.Style {
			if f.alternating(b.Part(id)) {
				return draw.Cable
			}
			return draw.Positive
		},
		key: []keyItem{{draw.Positive, "DC"}, {draw.Cable, "AC"}},
	}
	w.edges = f.edges()
	on := map[string]bool{}
	for _, e := range w.edges {
		on[e[0]], on[e[1]] = true, true
	}
	for _, p := range b.Parts {
		if on[p.ID] {
			w.nodes = append(w.nodes, nodeOf(p, p.Is(schema.Distribution)))
		}
	}
	return w
}

// alternating reports whether what leaves a part is AC.
func (f *feeder) alternating(p *schema.Part) bool {
	if p == nil {
		return false
	}
	for _, j := range f.jointsOf(p) {
		if t, ok := p.Terminal(j.terminal); ok && (f.gives[j] || p.Is(schema.Panel)) {
			return t.Medium == schema.AC
		}
	}
	return false
}

// read notes conductors, ways through parts, and what gives and takes.
func (f *feeder) read() {
	count := map[*schema.Part]int{}
	link := func(a, b joint) { f.next[a], f.next[b] = append(f.next[a], b), append(f.next[b], a) }
	for _, w := range f.boat.Wires {
		if w.Prepared || w.From.Part == nil || w.To.Part == nil {
			continue
		}
		a, b := jointOf(w.From.Part, w.From.Terminal), jointOf(w.To.Part, w.To.Terminal)
		count[a.part]++
		count[b.part]++
		if f.dead(a) || f.dead(b) {
			continue
		}
		link(a, b)
	}
	for _, p := range f.boat.Parts {
		if p.Prepared {
			continue
		}
		f.kept[p] = p.Is(schema.Panel) || p.Is(schema.Distribution) && count[p] > 2
		for _, br := range p.Branches() {
			a, b := jointOf(p, br.A), jointOf(p, br.B)
			switch br.Type {
			case schema.EMF, schema.Feed:
				f.gives[a] = true
				f.kept[p] = true
				if br.Feed != nil && br.Feed.InA != "" {
					f.takes[jointOf(p, br.Feed.InA)] = true
				}
			case schema.Draw:
				f.takes[a] = true
				f.kept[p] = true
			case schema.Convert:
				f.takes[a] = true
				if br.Convert != nil {
					f.gives[jointOf(p, br.Convert.OutA)] = true
				}
				f.kept[p] = true
			case schema.Sense:
			default:
				if !p.Is(schema.Panel) && !f.dead(a) && !f.dead(b) {
					link(a, b)
				}
			}
		}
	}
}

// dead joints are returns, grounds and signals: nothing is fed through them.
func (f *feeder) dead(j joint) bool {
	t, ok := j.part.Terminal(j.terminal)
	if !ok {
		return j.part.Roles().Any(schema.Grounding | schema.Bonding)
	}
	switch t.Polarity {
	case schema.Minus, schema.Ground, schema.Signal, schema.Neutral, schema.Earth:
		return true
	}
	return false
}

// from lists the joints of kept parts that a joint reaches without passing one.
func (f *feeder) from(start []joint) []joint {
	seen := map[joint]bool{}
	var todo, out []joint
	for _, s := range start {
		seen[s] = true
		todo = append(todo, s)
	}
	for len(todo) > 0 {
		j := todo[0]
		todo = todo[1:]
		for _, n := range f.next[j] {
			if seen[n] {
				continue
			}
			seen[n] = true
			if f.kept[n.part] {
				out = append(out, n)
			}
			if n.part.Is(schema.Distribution) && f.kept[n.part] {
				continue
			}
			todo = append(todo, n)
		}
	}
	return out
}

// edges lists who feeds whom, in the order of the file.
func (f *feeder) edges() [][2]string {
	var out [][2]string
	have := map[[2]string]bool{}
	add := func(a, b *schema.Part) {
		e := [2]string{a.ID, b.ID}
		if a != b && !have[e] {
			have[e] = true
			out = append(out, e)
		}
	}
	depth := map[*schema.Part]int{}
	var queue []*schema.Part
	reach := func(p *schema.Part, d int) {
		if p.Is(schema.Distribution) && depth[p] == 0 {
			depth[p] = d
			queue = append(queue, p)
		}
	}
	for _, p := range f.boat.Parts {
		for _, j := range f.jointsOf(p) {
			if !f.gives[j] {
				continue
			}
			for _, n := range f.from([]joint{j}) {
				switch {
				case n.part.Is(schema.Distribution):
					add(p, n.part)
					reach(n.part, 1)
				case f.takes[n]:
					add(p, n.part)
				case p.Is(schema.Charging) && n.part.Is(schema.Storage):
					add(p, n.part)
				}
			}
		}
	}
	for len(queue) > 0 {
		p := queue[0]
		queue = queue[1:]
		for _, n := range f.from(f.jointsOf(p)) {
			switch {
			case n.part.Is(schema.Distribution):
				reach(n.part, depth[p]+1)
				if depth[n.part] > depth[p] {
					add(p, n.part)
				}
			case f.takes[n]:
				add(p, n.part)
			}
		}
	}
	return out
}

// jointsOf are the joints of a part that conductors land on, in the order of its
// terminals.
func (f *feeder) jointsOf(p *schema.Part) []joint {
	if single(p) {
		return []joint{{p, ""}}
	}
	var out []joint
	for _, t := range p.Terminals() {
		if j := jointOf(p, t.Name); !f.dead(j) {
			out = append(out, j)
		}
	}
	return out
}

// --- which opening serves which equipment

func servings(b *schema.Boat) web {
	w := web{
		title: "Overview: hull openings and what they serve", desc: "Intakes, equipment and outlets; fittings between them are left out.",
		style: func(id string) draw.Style { return draw.Sea },
		key:   []keyItem{{draw.Sea, "water, in the direction of flow to the right"}},
	}
	type hop struct {
		to   *schema.Part
		hose *schema.Hose
	}
	style := services(b)
	next := map[*schema.Part][]hop{}
	open := map[*schema.Hose]string{}
	var ends []webNode
	for _, h := range b.Hoses {
		from, to := h.From, h.To
		if h.Prepared || style[h.ID] == draw.Coolant {
			continue
		}
		if h.Implied && !intake(from.Part) {
			from, to = to, from
		}
		switch {
		case from.IsOpen() && to.Part != nil:
			id := h.ID + "-open"
			open[h] = id
			ends = append(ends, webNode{id: id, kind: "open-end", title: "open in " + from.Open.Name()})
		case from.Part != nil && to.Part != nil:
			next[from.Part] = append(next[from.Part], hop{to.Part, h})
		}
	}
	var reach func(p *schema.Part, seen map[*schema.Part]bool) []*schema.Part
	reach = func(p *schema.Part, seen map[*schema.Part]bool) (out []*schema.Part) {
		for _, n := range next[p] {
			if seen[n.to] {
				continue
			}
			seen[n.to] = true
			if servedPart(n.to) {
				out = append(out, n.to)
			} else {
				out = append(out, reach(n.to, seen)...)
			}
		}
		return out
	}
	on := map[string]bool{}
	add := func(a, b string) {
		if a != b {
			on[a], on[b] = true, true
			w.edges = append(w.edges, [2]string{a, b})
		}
	}
	for _, h := range b.Hoses {
		if id, ok := open[h]; ok {
			seen := map[*schema.Part]bool{h.To.Part: true}
			list := []*schema.Part{h.To.Part}
			if !servedPart(h.To.Part) {
				list = reach(h.To.Part, seen)
			}
			for _, p := range list {
				add(id, p.ID)
			}
		}
	}
	for _, p := range b.Parts {
		if servedPart(p) && !p.Prepared {
			for _, o := range reach(p, map[*schema.Part]bool{p: true}) {
				add(p.ID, o.ID)
			}
		}
	}
	for _, p := range b.Parts {
		if on[p.ID] || p.Roles().Any(schema.SeaOpening|schema.HullHole) && !p.Prepared {
			w.nodes = append(w.nodes, nodeOf(p, p.Roles().Any(schema.SeaOpening|schema.HullHole)))
		}
	}
	for _, n := range ends {
		if on[n.id] {
			w.nodes = append(w.nodes, n)
		}
	}
	return w
}

// servedPart reports whether a part stands on the overview of the water: what
// uses, holds or moves it out of the boat, not what only passes it.
func servedPart(p *schema.Part) bool {
	return p.Roles().Any(schema.SeaOpening | schema.SeaUser | schema.Engine | schema.InsideOpening | schema.Holding |
		schema.Toilet | schema.DeckOpening | schema.Bilge | schema.Equipment)
}
