package schematic

import (
	"math"
	"slices"
	"strings"

	waterlayout "fitout/layout/water"
	"fitout/render/draw"
	"fitout/schema"
	"fitout/schema/symbol"
	"fitout/validate/rules"
)

// waterBox is a part, or the open end of a hose, as it stands on a water sheet.
type waterBox struct {
	id, kind string
	part     *schema.Part // nil at an open end
	open     *schema.HoseEnd
	sym      symbol.Symbol
	box      symbol.Box // on whole modules, anchors included
	name     nameBlock
	level    waterlayout.Level
	prepared bool
}

// waterGraph is the boat's water as the layout wants it, and what is needed to
// draw the plan that comes back.
type waterGraph struct {
	in     Input
	tight  bool // titles and ratings in the least letters
	boxes  map[string]*waterBox
	hoses  map[string]*schema.Hose
	styles map[string]draw.Style
	labels map[string][]string
	graph  waterlayout.Graph
	ends   map[hoseSide]waterlayout.End
	at     map[*schema.Part][]hoseAt
	rules  map[string]bool // those about water
}

// hoseSide names one end of a hose.
type hoseSide struct {
	hose *schema.Hose
	to   bool
}

// hoseAt is a hose end at a part.
type hoseAt struct {
	hose     *schema.Hose
	to       bool // water arrives here
	terminal string
	other    *schema.Part
}

func millimetres[T ~float64](v T) int { return int(math.Round(float64(v) * 1000)) }

// newWaterGraph collects what stands on the water sheets. It is empty where the
// boat has neither hoses nor hull openings.
func newWaterGraph(in Input, tight bool) *waterGraph {
	g := &waterGraph{
		in: in, tight: tight, boxes: map[string]*waterBox{}, hoses: map[string]*schema.Hose{}, labels: map[string][]string{},
		ends: map[hoseSide]waterlayout.End{}, at: map[*schema.Part][]hoseAt{}, rules: map[string]bool{},
	}
	for _, r := range rules.All() {
		if strings.HasPrefix(r.Section, "Water") {
			g.rules[r.Name] = true
		}
	}
	b := in.Survey.Boat
	g.noteEnds(b.Hoses)
	g.styles = Services(b)
	for _, p := range b.Parts {
		if g.shows(p) {
			g.addPart(p)
		}
	}
	for _, h := range b.Hoses {
		g.addHose(h)
	}
	return g
}

func (g *waterGraph) noteEnds(list []*schema.Hose) {
	for _, h := range list {
		for _, to := range []bool{false, true} {
			e, o := h.From, h.To
			if to {
				e, o = o, e
			}
			if e.Part != nil {
				g.at[e.Part] = append(g.at[e.Part], hoseAt{h, to, e.Terminal, o.Part})
			}
		}
	}
}

// shows tells whether a part belongs on the water sheets: it has a hose, or it
// is a hole in the hull, or it waits for a hose in a boat that has some.
func (g *waterGraph) shows(p *schema.Part) bool {
	if len(g.at[p]) > 0 || p.Roles().Any(schema.SeaOpening|schema.HullHole) {
		return true
	}
	for _, t := range p.Terminals() {
		if t.Medium == schema.Water && t.Needed && len(g.in.Survey.Boat.Hoses) > 0 {
			return true
		}
	}
	return false
}

func (g *waterGraph) addPart(p *schema.Part) {
	w := &waterBox{id: p.ID, kind: p.Kind.Name, part: p, prepared: p.Prepared, level: levelOf(p)}
	w.sym = g.orient(p)
	g.put(w, hintOf(p), straddles(p, w.level))
}

// levelOf is the height as written. What a valve merely takes over from its
// through-hull is no height of its own: it stands just inboard of it.
func levelOf(p *schema.Part) waterlayout.Level {
	h := p.Height()
	if !h.Given() || p.Host != nil && h.From != schema.Own {
		return waterlayout.Level{}
	}
	return waterlayout.At(millimetres(h.V))
}

func hintOf(p *schema.Part) waterlayout.Hint {
	if !p.Is(schema.SeaOpening) {
		return waterlayout.Anywhere
	}
	if p.Word("service").V == "intake" {
		return waterlayout.Inlet
	}
	return waterlayout.Outlet
}

// straddles lets what is tall and stands at the waterline lie across it.
func straddles(p *schema.Part, l waterlayout.Level) bool {
	return l.Known && l.MM > -250 && l.MM < 250 && p.Roles().Any(schema.Holding|schema.Engine)
}

// put enters a box with its ports.
func (g *waterGraph) put(w *waterBox, hint waterlayout.Hint, straddle bool) {
	w.box = w.sym.Box
	for _, a := range w.sym.Anchors {
		w.box = w.box.Union(symbol.Box{Min: symbol.Point{X: float64(a.X), Y: float64(a.Y)}, Max: symbol.Point{X: float64(a.X), Y: float64(a.Y)}})
	}
	w.box = w.box.Grid()
	w.name = g.nameOf(w)
	b := waterlayout.Box{
		ID: w.id, Level: w.level, Straddle: straddle, Hint: hint, Name: w.name.size(),
		Size:    waterlayout.Size{W: int(w.box.Width()), H: int(w.box.Height())},
		Swaps:   w.part != nil && w.part.Is(schema.Junction),
		Mirrors: w.part != nil && !w.part.Is(schema.Junction) && len(w.sym.Anchors) > 1,
	}
	ink := strokesOf(w.sym)
	b.Lean = int(math.Round(50 * (ink.Min.Y + ink.Max.Y - w.box.Min.Y - w.box.Max.Y)))
	b.Skin = skinOf(w)
	b.Anchor = min(max(int(-w.box.Min.Y), 0), b.Size.H)
	for _, a := range w.sym.Anchors {
		b.Ports = append(b.Ports, w.port(a))
	}
	g.boxes[w.id] = w
	g.graph.Boxes = append(g.graph.Boxes, b)
}

// strokesOf is the extent of a symbol without its letters: what a reader takes for its
// place.
func strokesOf(s symbol.Symbol) symbol.Box {
	s.Primitives = slices.DeleteFunc(slices.Clone(s.Primitives), func(p symbol.Primitive) bool { return p.Shape == symbol.Text })
	return s.Shift(0, 0).Box
}

// skinOf is the hull in the symbol of a fitting: a line through its origin, upright
// where the fitting is turned to the side.
func skinOf(w *waterBox) waterlayout.Skin {
	if w.part == nil || !w.part.Roles().Any(schema.SeaOpening|schema.HullHole) {
		return waterlayout.Skin{}
	}
	for _, p := range w.sym.Primitives {
		if p.Pen != symbol.Thick || len(p.Points) < 2 {
			continue
		}
		if p.Points[0].X == p.Points[1].X {
			return waterlayout.Skin{Pierces: true, Sea: waterlayout.Right, At: int(math.Round(p.Points[0].X - w.box.Min.X))}
		}
		return waterlayout.Skin{Pierces: true, Sea: waterlayout.Bottom, At: int(math.Round(p.Points[0].Y - w.box.Min.Y))}
	}
	return waterlayout.Skin{}
}

// port is the layout's port of an anchor; reach draws what is missing between
// the two.
func (w *waterBox) port(a symbol.Anchor) waterlayout.Port {
	x, y := a.X-int(w.box.Min.X), a.Y-int(w.box.Min.Y)
	switch a.Side {
	case symbol.Left:
		return waterlayout.Port{Name: a.Name, Side: waterlayout.Left, Offset: y}
	case symbol.Right:
		return waterlayout.Port{Name: a.Name, Side: waterlayout.Right, Offset: y}
	case symbol.Up:
		return waterlayout.Port{Name: a.Name, Side: waterlayout.Top, Offset: x}
	}
	return waterlayout.Port{Name: a.Name, Side: waterlayout.Bottom, Offset: x}
}

// edge is where the layout ends the runs of an anchor: on the box, in modules
// of the symbol.
func (w *waterBox) edge(a symbol.Anchor) symbol.Point {
	p := symbol.Point{X: float64(a.X), Y: float64(a.Y)}
	switch a.Side {
	case symbol.Left:
		p.X = w.box.Min.X
	case symbol.Right:
		p.X = w.box.Max.X
	case symbol.Up:
		p.Y = w.box.Min.Y
	default:
		p.Y = w.box.Max.Y
	}
	return p
}

func (g *waterGraph) addHose(h *schema.Hose) {
	r := waterlayout.Run{ID: h.ID}
	for _, to := range []bool{false, true} {
		e, ok := g.end(h, to)
		if !ok {
			return
		}
		if to {
			r.To = e
		} else {
			r.From = e
		}
	}
	if h.Implied && !intake(h.From.Part) {
		r.Flow = waterlayout.Backward
	}
	for _, v := range []struct {
		v   schema.Val[metre]
		dip bool
	}{{h.Dip, true}, {h.Peak, false}} {
		if v.v.Given() {
			r.Vias = append(r.Vias, waterlayout.Via{Level: waterlayout.At(millimetres(v.v.V)), Dip: v.dip})
		}
	}
	if !h.Implied {
		g.labels[h.ID] = hoseLabels(h, g.styles[h.ID])
		for _, s := range g.labels[h.ID] {
			r.Labels = append(r.Labels, labelSize(s))
		}
	}
	g.hoses[h.ID] = h
	g.graph.Runs = append(g.graph.Runs, r)
	if h.Length.Given() && h.Length.V == 0 {
		g.stack(r.From, r.To)
	}
}

func intake(p *schema.Part) bool { return p != nil && p.Word("service").V == "intake" }

// end is where a hose ends; an open end becomes a box of its own.
func (g *waterGraph) end(h *schema.Hose, to bool) (waterlayout.End, bool) {
	e := h.From
	if to {
		e = h.To
	}
	if e.IsOpen() {
		return g.openEnd(h, to), true
	}
	if e.Part == nil || g.boxes[e.Part.ID] == nil {
		return waterlayout.End{}, false
	}
	if x, ok := g.ends[hoseSide{h, to}]; ok {
		return x, true
	}
	a, ok := g.boxes[e.Part.ID].sym.Anchor(e.Terminal)
	return waterlayout.End{Box: e.Part.ID, Port: a.Name}, ok
}

func (g *waterGraph) openEnd(h *schema.Hose, to bool) waterlayout.End {
	e := h.From
	id := h.ID + "-open"
	if to {
		e = h.To
		if h.From.IsOpen() {
			id = h.ID + "-open-2"
		}
	}
	w := &waterBox{id: id, kind: "open-end", open: &e, prepared: h.Prepared}
	if e.Height.Given() {
		w.level = waterlayout.At(millimetres(e.Height.V))
	}
	hint := waterlayout.Inlet
	w.sym = openIntake()
	if to {
		w.sym, hint = openOutlet(), waterlayout.Outlet
	}
	g.put(w, hint, false)
	return waterlayout.End{Box: id, Port: "1"}
}

func openIntake() symbol.Symbol {
	s, _ := symbol.Get("water/open-end")
	return s
}

// openOutlet is a plain hose end with an arrow of the water that leaves it.
func openOutlet() symbol.Symbol {
	s := openIntake()
	line := func(xy ...symbol.Point) symbol.Primitive { return symbol.Primitive{Shape: symbol.Line, Points: xy} }
	s.Primitives = []symbol.Primitive{
		line(symbol.Point{X: 0, Y: -2}, symbol.Point{X: 0, Y: -1}),
		line(symbol.Point{X: -0.5, Y: -1}, symbol.Point{X: 0.5, Y: -1}),
		{Shape: symbol.Polygon, Fill: symbol.Solid, Points: []symbol.Point{{X: -0.4, Y: -0.4}, {X: 0.4, Y: -0.4}, {X: 0, Y: 0.4}}},
	}
	s.Box = symbol.Box{Min: symbol.Point{X: -0.5, Y: -2}, Max: symbol.Point{X: 0.5, Y: 0.4}}
	return s
}

// stack sets two parts that are screwed together directly on each other, where
// their symbols allow it.
func (g *waterGraph) stack(a, b waterlayout.End) {
	pa, oka := g.port(a)
	pb, okb := g.port(b)
	if !oka || !okb || a.Box == b.Box {
		return
	}
	if pa.Side == opposite(pb.Side) {
		g.graph.Stacks = append(g.graph.Stacks, waterlayout.Stack{Base: a, On: b})
	}
}

func opposite(s waterlayout.Side) waterlayout.Side {
	return map[waterlayout.Side]waterlayout.Side{
		waterlayout.Left: waterlayout.Right, waterlayout.Right: waterlayout.Left,
		waterlayout.Top: waterlayout.Bottom, waterlayout.Bottom: waterlayout.Top,
	}[s]
}

func (g *waterGraph) port(e waterlayout.End) (waterlayout.Port, bool) {
	w := g.boxes[e.Box]
	if w == nil {
		return waterlayout.Port{}, false
	}
	a, ok := w.sym.Anchor(e.Port)
	return w.port(a), ok
}
