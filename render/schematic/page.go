package schematic

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fitout/layout"
	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/symbol"
)

// paper is one sheet of the plan on its way to a page.
type paper struct {
	d      *drawing
	s      *layout.Sheet
	frame  sheet.Frame
	at     draw.Point // place of the layout's origin
	number int        // of the sheet in its set
	parts  []draw.Part
	runs   []draw.Run
	texts  []draw.Item
	index  map[string]int // node → parts
	found  []numbered     // findings marked here
}

// point is a crossing of the layout's grid on the page.
func (p *paper) point(q layout.Point) draw.Point {
	return draw.GridPoint(p.at, float64(q.X), float64(q.Y))
}

func (p *paper) box(r layout.Rect) draw.Box {
	return draw.Box{Min: p.point(layout.Point{X: r.X, Y: r.Y}), Max: p.point(layout.Point{X: r.X + r.W, Y: r.Y + r.H})}
}

// pages lays the circuit out and draws it. Where what stands at the foot of a
// sheet finds no room, the layout is done again with less height.
func (d *drawing) pages(id, title, document, caution string) ([]sheet.Page, error) {
	g := d.graph()
	reserve := 2
	var papers []*paper
	var feet []*foot
	for round := 0; ; round++ {
		pages, frames := layoutPages(reserve, d.in.Papers, d.in.Larger)
		plan, err := layout.Run(g, pages)
		if err != nil {
			return nil, err
		}
		papers = d.papers(plan, frames)
		d.plan, d.sheets = plan, papers
		feet = nil
		need := 0
		for i, p := range papers {
			p.draw(plan)
			f := p.foot(i == 0)
			feet = append(feet, f)
			need = max(need, f.need)
		}
		if need == 0 || round == 3 || reserve == mostReserve {
			break
		}
		reserve = min(max(need, reserve+2), mostReserve)
	}
	for _, p := range papers { // now that every sheet has its place, marks can tell where they lead
		p.redraw()
	}
	listed := -1
	short := slices.ContainsFunc(feet, func(f *foot) bool { return f.short })
	if short {
		listed = d.listFindings(title, papers, feet)
	}
	var out []sheet.Page
	for i, p := range papers {
		p.enrich(feet[i])
		p.mark(feet[i])
		if feet[i].mute {
			table := papers[len(papers)-1].number + 1
			if listed >= 0 {
				table = papers[listed].number
			}
			p.pointTo(feet[i], table)
		}
		page := sheet.Page{ID: id, Title: title, Document: document, Caution: caution, Frame: p.frame}
		if len(papers) > 1 {
			page.ID = fmt.Sprintf("%s-%d", id, i+1)
		}
		if names := p.subjects(); names != "" {
			page.Title += ": " + names
		}
		if i == listed {
			page.Title += "; findings"
		}
		page.Desc = p.describe()
		page.Items = p.items(feet[i])
		out = append(out, page)
	}
	if short && listed < 0 {
		out = append(out, d.findingSheets(id, title, papers)...)
	}
	return out, nil
}

// mostReserve is the most height, in grid units, kept free for what stands at the
// foot.
const mostReserve = 24

// findingTable lists what the legends of the sheets had no room for.
func (d *drawing) findingTable(papers []*paper) sheet.Table {
	t := sheet.Table{Small: true, Columns: []sheet.Column{{Head: "No."}, {Head: "Class"}, {Head: "Rule"}, {Head: "At"}, {Head: "Finding", Grow: 1}, {Head: "Sheet"}}}
	at := map[int][]string{}
	var all []numbered
	for _, p := range papers {
		for _, f := range p.found {
			if at[f.number] == nil {
				all = append(all, f)
			}
			at[f.number] = append(at[f.number], itoa(p.number))
		}
	}
	slices.SortStableFunc(all, func(a, b numbered) int { return a.number - b.number })
	for _, f := range all {
		t.Rows = append(t.Rows, []string{itoa(f.number), f.Severity.Class(), f.Rule, strings.Join(f.At, " "), f.Message, strings.Join(at[f.number], " ")})
	}
	return t
}

// listFindings sets the table of the findings on the last sheet that has room for
// it between the drawing and the foot, and says which; -1 where none has.
func (d *drawing) listFindings(title string, papers []*paper, feet []*foot) int {
	t := d.findingTable(papers)
	head := draw.Caution.LinePitch() + 1
	for i := len(papers) - 1; i >= 0; i-- {
		p, area := papers[i], papers[i].frame.Area
		top, bottom := p.at.Y+draw.Grid(float64(p.s.H))+2*footGap, area.Max.Y
		for _, it := range feet[i].items {
			if b := it.Bounds(); !b.Empty() {
				bottom = min(bottom, b.Min.Y-footGap)
			}
		}
		room := bottom - top - head
		if room < 3*draw.Small.LinePitch() {
			continue
		}
		pieces := t.Pieces(area.Width(), room, room)
		if len(pieces) != 1 || pieces[0].Height > room {
			continue
		}
		y := bottom - pieces[0].Height
		feet[i].items = append(feet[i].items,
			draw.Group{Class: "legend", Strokes: []draw.Stroke{draw.Text{At: draw.Point{X: area.Min.X, Y: y - 1.5},
				S: "Findings on the " + title + " sheets (A can burn, flood or shock; B will fail; C good order)", Letters: draw.Caution}}},
			pieces[0].At(draw.Point{X: area.Min.X, Y: y}))
		return i
	}
	return -1
}

// findingSheets are for the findings that no sheet has room for.
func (d *drawing) findingSheets(id, title string, papers []*paper) []sheet.Page {
	frame := sheet.NewFrame(d.in.Papers[0])
	fl := sheet.NewFlow(frame)
	fl.Heading("Findings on the " + title + " sheets")
	fl.Paragraph("A can burn, flood or shock, or breaks the law; B will become a hazard, fail or disappoint; C is habit and good order.", draw.Note)
	fl.Table(d.findingTable(papers))
	return fl.Framed(sheet.Page{ID: id + "-findings", Title: title + ": findings", Document: "Findings", Frame: frame})
}

// papers places each sheet of the plan in its frame.
func (d *drawing) papers(plan *layout.Plan, frames map[string]sheet.Frame) []*paper {
	var out []*paper
	first := d.in.first()
	for i := range plan.Sheets {
		s := &plan.Sheets[i]
		f, ok := frames[s.Page.Name]
		if !ok {
			f = sheet.NewFrame(d.in.Papers[0])
		}
		if w, h := f.GridSize(); !s.Fits && (s.W > w || s.H+2 > h) {
			f = outsize(f.Paper, s.W-w, s.H+2-h)
		}
		p := &paper{d: d, s: s, frame: f, number: first + i, index: map[string]int{}}
		w, h := f.GridSize()
		p.at = draw.GridPoint(f.Origin(), float64(max(0, (w-s.W)/2)), float64(max(0, min(2, (h-s.H)/3))))
		out = append(out, p)
	}
	return out
}

// outsize is paper as much larger as a drawing needs that no sheet holds.
func outsize(p sheet.Paper, w, h int) sheet.Frame {
	p.Name += " extended"
	p.W += draw.Grid(float64(max(w, 0)))
	p.H += draw.Grid(float64(max(h, 0)))
	return sheet.NewFrame(p)
}

func (p *paper) draw(plan *layout.Plan) {
	for i := range p.s.Boxes {
		p.drawBox(&p.s.Boxes[i])
	}
	for i := range p.s.Bars {
		p.drawBar(&p.s.Bars[i])
	}
	for i := range p.s.Wires {
		p.drawWire(&p.s.Wires[i])
	}
	for i := range p.s.Marks {
		p.drawMark(&p.s.Marks[i], plan)
	}
}

func (p *paper) drawBox(b *layout.PlacedBox) {
	d := p.d
	n, fit := d.node[b.ID], d.bodies[b.ID]
	s, left := fit.sym, fit.x
	if b.Mirrored {
		s, left = s.Mirror(), -fit.x-fit.w
	}
	part := draw.Part{ID: n.id, Kind: n.part.Kind.Name, Title: tip(n.part),
		Strokes: draw.SymbolStrokes(s, p.at, b.X-left, b.Y-fit.y, n.part.Prepared)}
	cell := p.box(b.Text)
	align := draw.Middle
	switch {
	case b.Text.X >= b.X+fit.w, b.Text.X > b.X && b.Text.Y >= b.Y+fit.h: // also below it, beside its conductor
		align = draw.Start
	case b.Text.X+b.Text.W <= b.X:
		align = draw.End
	}
	part.Strokes = append(part.Strokes, d.texts[n.id].set(cell, align)...)
	for _, a := range s.Anchors {
		if n.used[a.Name] == 0 {
			continue
		}
		at := draw.GridPoint(p.at, float64(b.X-left+a.X), float64(b.Y-fit.y+a.Y))
		part.Terminals = append(part.Terminals, draw.Terminal{Name: a.Name, A: at, B: at})
	}
	if n := poles(n.part); d.medium == schema.AC && n > 1 {
		for _, a := range s.Anchors {
			if a.Side == symbol.Down {
				at := draw.GridPoint(p.at, float64(b.X-left+a.X), float64(b.Y-fit.y+a.Y)-0.5)
				part.Strokes = append(part.Strokes, draw.CoreStrokes(at, false, n)...)
			}
		}
	}
	for _, ld := range b.Landings {
		st := d.styleOf(ld.Links)
		for i := range part.Terminals {
			if part.Terminals[i].Name == ld.Port {
				part.Terminals[i] = draw.Terminal{Name: ld.Port, A: p.point(ld.Bar[0]), B: p.point(ld.Bar[1]), Shown: true, Style: st}
			}
		}
		part.Terminals = append(part.Terminals, draw.Terminal{A: p.point(ld.Port0), B: p.point(ld.Stem), Shown: true, Style: st})
	}
	p.index[n.id] = len(p.parts)
	p.parts = append(p.parts, part)
}

// styleOf is the style of what joins links on one terminal: that of the heaviest.
func (d *drawing) styleOf(ids []string) draw.Style {
	st, best := draw.Outline, draw.MM(0)
	for _, id := range ids {
		l := d.link[id]
		if l == nil || l.stem {
			continue
		}
		if s := d.run(l); draw.InColour.Stroking(s).Width > best {
			st, best = s, draw.InColour.Stroking(s).Width
		}
	}
	if st == draw.Exposed {
		return draw.PositiveMain
	}
	return st
}

// run is the style a link is drawn in.
func (d *drawing) run(l *link) draw.Style {
	if l.stem {
		return draw.Outline
	}
	w := l.wire()
	if d.exposed[w] {
		return draw.Exposed
	}
	return d.style(w)
}

// tip is what a reader is told who points at a part.
func tip(p *schema.Part) string {
	t := p.ID + ", " + p.Kind.Title
	if s := p.Title(); s != "" {
		t = p.ID + ", " + s + " (" + p.Kind.Title + ")"
	}
	if p.Space != nil {
		t += ", " + p.Space.Name()
	}
	return t
}

func (p *paper) drawWire(w *layout.Wire) {
	d := p.d
	l := d.link[w.ID]
	pts := p.way(l, w)
	if l.stem {
		p.drawStem(l, pts)
		return
	}
	wire := l.wire()
	r := draw.Run{ID: l.id, Style: d.run(l), Points: pts, Count: wire.Parallel.Or(1), Title: d.runTip(l), Class: "dc"}
	if d.medium == schema.AC {
		r.Class = "ac"
	}
	r.From, r.To = p.ref(l, w, 0), p.ref(l, w, 1)
	if l.flipped {
		r.From, r.To = r.To, r.From
		r.Points = reversed(r.Points)
	}
	p.runs = append(p.runs, r)
	for _, t := range w.Labels {
		p.texts = append(p.texts, p.label(l, w, t))
	}
	for i, t := range []layout.PlacedText{w.FromTag, w.ToTag} {
		if s := d.tagText(l.ends[i], l); s != "" && t.Cell.W > 0 {
			c := p.box(t.Cell)
			a := draw.Text{S: s, Letters: draw.TerminalName, Class: "terminal-name"}
			a.At = draw.Point{X: c.Min.X + 0.8, Y: (c.Min.Y+c.Max.Y)/2 + a.Letters.Cap()/2}
			if b := a.Bounds(); b.Max.Y > a.At.Y { // centred with its descenders
				a.At.Y -= (b.Max.Y - a.At.Y) / 2
			}
			if e := w.Points[len(w.Points)*i-i]; t.Cell.X+t.Cell.W <= e.X {
				a.At.X, a.Align = c.Max.X-0.8, draw.End
			}
			p.texts = append(p.texts, a)
		}
	}
}

// way is a link's line: on a bar it runs on to the bar's middle, where its stud is.
func (p *paper) way(l *link, w *layout.Wire) []draw.Point {
	pts := make([]draw.Point, len(w.Points))
	for i, q := range w.Points {
		pts[i] = p.point(q)
	}
	for i, e := range l.ends {
		if !e.node.bar || e.node.panel != nil || i == 0 && w.CutFrom || i == 1 && w.CutTo {
			continue
		}
		k, next := 0, 1
		if i == 1 {
			k, next = len(pts)-1, len(pts)-2
		}
		if pts[next].Y > pts[k].Y {
			pts[k].Y -= draw.Grid(barHeight / 2)
		} else {
			pts[k].Y += draw.Grid(barHeight / 2)
		}
	}
	return pts
}

func reversed(pts []draw.Point) []draw.Point {
	out := make([]draw.Point, len(pts))
	for i, q := range pts {
		out[len(pts)-1-i] = q
	}
	return out
}

// ref names the end of a run as the sheet has it: a continuation mark where the
// run goes on elsewhere.
func (p *paper) ref(l *link, w *layout.Wire, i int) string {
	if i == 0 && w.CutFrom || i == 1 && w.CutTo {
		return markID(l.id, i)
	}
	return l.ends[i].ref
}

func markID(ref string, end int) string { return fmt.Sprintf("go-%s-%d", ref, end) }

// drawStem adds the stem of a post to the part it belongs to.
func (p *paper) drawStem(l *link, pts []draw.Point) {
	host := l.ends[0].node
	if host.post != "" {
		host = l.ends[1].node
	}
	i, ok := p.index[host.id]
	if !ok {
		return
	}
	post := l.ends[0].node
	if post.post == "" {
		post = l.ends[1].node
	}
	var ids []string
	for _, k := range p.d.c.links {
		if k.ends[0].node == post || k.ends[1].node == post {
			ids = append(ids, k.id)
		}
	}
	st := p.d.styleOf(ids)
	for k := 1; k < len(pts); k++ {
		p.parts[i].Terminals = append(p.parts[i].Terminals, draw.Terminal{A: pts[k-1], B: pts[k], Shown: true, Style: st})
	}
}

func (d *drawing) runTip(l *link) string {
	w := l.wire()
	t := w.Ref() + ": " + w.From.String() + " to " + w.To.String()
	if w.Cable != "" {
		t = w.Ref() + ": " + w.From.Part.ID + " to " + w.To.Part.ID
	}
	number, size, rest := d.label(l)
	for _, s := range []string{size, rest} {
		if s != "" {
			t += ", " + s
		}
	}
	if w.Title.Given() {
		t += ", " + w.Title.V
	}
	_ = number
	return t
}

// label sets a run's label into the cell kept for it, clear of the line.
func (p *paper) label(l *link, w *layout.Wire, t layout.PlacedText) draw.Item {
	d := p.d
	c := p.box(t.Cell)
	out := draw.Text{S: d.labelText(l, t.Key), Letters: draw.RunLabel, Align: draw.Middle, Label: true, LabelOf: l.id}
	width := draw.InColour.Stroking(d.run(l)).Width
	gap := max(width/2+0.35, 0.45)
	cap := out.Letters.Cap()
	if t.Turned {
		out.Up = true
		out.At = draw.Point{X: c.Max.X - gap, Y: (c.Min.Y + c.Max.Y) / 2}
		if p.touches(w, t.Cell, true) { // the line runs on the left of the cell
			out.At.X = c.Min.X + gap + cap
		}
		return out
	}
	out.At = draw.Point{X: (c.Min.X + c.Max.X) / 2, Y: c.Max.Y - gap}
	if p.touches(w, t.Cell, false) {
		out.At.Y = c.Min.Y + gap + cap
	}
	return out
}

// touches tells whether the run lies along the left (turned) or the upper edge of
// a label's cell; else it lies along the other.
func (p *paper) touches(w *layout.Wire, r layout.Rect, turned bool) bool {
	for i := 1; i < len(w.Points); i++ {
		a, b := w.Points[i-1], w.Points[i]
		if turned && a.X == b.X && a.X == r.X && min(a.Y, b.Y) <= r.Y && max(a.Y, b.Y) >= r.Y+r.H {
			return true
		}
		if !turned && a.Y == b.Y && a.Y == r.Y && min(a.X, b.X) <= r.X && max(a.X, b.X) >= r.X+r.W {
			return true
		}
	}
	return false
}

// drawMark is the flag at the end of a bar or cut run that goes on elsewhere.
func (p *paper) drawMark(m *layout.Mark, plan *layout.Plan) {
	c := p.box(m.Rect)
	at, away := p.point(m.At), symbol.Right
	id := markID(m.Ref, m.End)
	ref := m.Ref
	switch {
	case m.Bar:
		at.Y = p.barLine(m)
		id = "go-" + m.Ref + "-right"
		if m.Side == layout.Right {
			away, id = symbol.Left, "go-"+m.Ref+"-left"
		}
	case m.Side == layout.Bottom:
		away = symbol.Up
	default:
		away = symbol.Down
	}
	text := ref
	if to, ok := p.nearest(m); ok {
		q := p.d.sheets[to.Sheet]
		there := q.point(to.At)
		if m.Bar {
			there.Y = q.barLine(m)
		}
		text += fmt.Sprintf(" %d/%s", q.number, q.frame.Zone(there))
	}
	if l := p.d.link[m.Ref]; l != nil && !m.Bar {
		ref = l.id
	}
	part := draw.Continuation(id, ref, text, at, away)
	part.Title = ref + " goes on"
	_ = c
	p.parts = append(p.parts, part)
}

// nearest is the next place where a bar or run goes on.
func (p *paper) nearest(m *layout.Mark) (layout.Target, bool) {
	best, far := layout.Target{}, 1<<30
	here := p.number - p.d.in.first()
	for _, t := range m.To {
		if away := max(t.Sheet-here, here-t.Sheet); away < far {
			best, far = t, away
		}
	}
	return best, far < 1<<30
}

// barLine is the height of the line of the bar that a mark belongs to.
func (p *paper) barLine(m *layout.Mark) draw.MM {
	for i := range p.s.Bars {
		if b := &p.s.Bars[i]; b.ID == m.Ref {
			return p.lineOf(b)
		}
	}
	return p.point(m.At).Y
}

// subjects names what is on the sheet: its sources and panels, else its bars.
func (p *paper) subjects() string {
	var names []string
	add := func(n *node) {
		s := n.part.Title()
		if s == "" {
			s = n.part.ID
		}
		if w := p.ways(n); w != "" {
			s += " " + w
		}
		for _, have := range names {
			if have == s {
				return
			}
		}
		names = append(names, s)
	}
	each := func(pick func(*node) bool) {
		for i := range p.s.Bars {
			if n := p.d.node[p.s.Bars[i].ID]; n.post == "" && pick(n) {
				add(n)
			}
		}
		for i := range p.s.Boxes {
			if n := p.d.node[p.s.Boxes[i].ID]; pick(n) {
				add(n)
			}
		}
	}
	each(func(n *node) bool { return n.part.Is(schema.Storage) || n.part.Is(schema.ShorePower) })
	each(func(n *node) bool { return n.panel != nil })
	if len(names) == 0 {
		each(func(n *node) bool { return n.part.Is(schema.Charging) || n.part.Is(schema.Inverting) })
	}
	if len(names) == 0 {
		each(func(n *node) bool { return n.part.Is(schema.Load) })
	}
	const most = 4
	if len(names) > most {
		names = append(names[:most:most], "and more")
	}
	return strings.Join(names, ", ")
}

func (p *paper) describe() string {
	return fmt.Sprintf("%d parts and %d runs", len(p.s.Boxes)+len(p.s.Bars), len(p.runs))
}

// items is all that is drawn, runs first so that symbols lie over them.
func (p *paper) items(f *foot) []draw.Item {
	var out []draw.Item
	for _, r := range p.runs {
		out = append(out, r)
	}
	for _, part := range p.parts {
		out = append(out, part)
	}
	out = append(out, p.texts...)
	return append(out, f.items...)
}

// ways tells which ways of a panel are on the sheet where it stands on several.
func (p *paper) ways(n *node) string {
	if n.panel == nil {
		return ""
	}
	here := map[string]bool{}
	for i := range p.s.Bars {
		if b := &p.s.Bars[i]; b.ID == n.id {
			for _, s := range b.Studs {
				here[p.d.link[s.Link].ends[s.End].port] = true
			}
		}
	}
	var keys []string
	all := true
	for _, w := range n.panel.ways {
		switch {
		case here[w.key]:
			keys = append(keys, w.key)
		case n.used[w.key] > 0:
			all = false
		}
	}
	if all {
		return ""
	}
	return ranges(keys)
}

// ranges writes keys that follow each other as "1–4".
func ranges(keys []string) string {
	var out []string
	for i := 0; i < len(keys); {
		k := i
		for k+1 < len(keys) && following(keys[k:k+2]) {
			k++
		}
		switch k - i {
		case 0:
			out = append(out, keys[i])
		case 1:
			out = append(out, keys[i], keys[k])
		default:
			out = append(out, keys[i]+"–"+keys[k])
		}
		i = k + 1
	}
	return strings.Join(out, " ")
}

func following(keys []string) bool {
	for i, k := range keys {
		if n, err := strconv.Atoi(k); err != nil || i > 0 && itoa(n-1) != keys[i-1] {
			return false
		}
	}
	return true
}
