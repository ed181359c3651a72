package layout

import (
	"slices"
	"sort"
	"sync"
)

// What a cut costs, against the cost of a sheet.
const (
	costSheet = 60
	costWire  = 10
	costBar   = 4
	costTight = 1  // for every hundredth of the page's width beyond easyFill
	easyFill  = 95 // hundredths
)

// variants is the number of endless drawings that may be cut up. The first begins with the order of the file; the others are tried
// only if its sheets have more crossings than enough, and taken only if they are clearly better. Each costs as much as the first.
func variants(boxes int) int {
	switch {
	case boxes <= large:
		return 6
	case boxes <= 400:
		return 2
	}
	return 1
}

// large is the number of boxes of a boat that takes many sheets. Fewer sheets are then worth more than that each part keeps its place
// when another comes to stand beside it.
const large = 100

const enough = 2 // crossings over all sheets at which no further variant is tried

// unit is what a cut leaves whole: a box, or a bar that no box hangs on.
type unit struct {
	box, bar int // index in the graph, -1 if it is the other
	ghost    bool
	x0, x1   int // on the endless sheet
	bars     []int
}

// segment is a run of neighbouring units, drawn on one sheet.
type segment struct{ from, to int }

// splitter cuts a graph into sheets.
type splitter struct {
	g     *Graph
	units []unit
	of    map[string]int // box or lone bar → unit
	bars  map[string]int // bar → index in the graph
	span  [][2]int       // first and last unit of each bar
	hint  map[string]float64
	wires []int // cut wires at the boundary before each unit
	over  []int // bars over that boundary
	home  []int // for each link between bars the unit it is drawn with
	known map[segment]*drawing
	bad   map[segment]bool // those that none of the pages holds; their drawings are let go
	work  *work
	below bool                 // texts of boxes may stand below them
	again map[segment]*drawing // drawn once more for fewer crossings, nil if there is nothing better
}

// steps are the counts of columns that room may be kept for, the more generous first.
var steps = []int{4, 2, 1}

// roomy draws a graph with room for what may come, if that takes no more paper than without. The plans know nothing of each other:
// that without room and the most generous are made side by side.
func roomy(g *Graph, pages []Page) *Plan {
	list := steps
	switch {
	case len(g.Boxes) > 300:
		list = steps[1:2]
	case len(g.Boxes) > large:
		list = steps[:2]
	}
	var bare *Plan
	var wait sync.WaitGroup
	wait.Go(func() { bare = split(g, pages) })
	for _, step := range list {
		wide := g.padded(step)
		if wide == nil {
			continue
		}
		p := split(wide, pages)
		stands := p.strip()
		wait.Wait()
		if stands && !p.worse(bare) && (len(g.Boxes) <= large || !p.winds() || bare.winds()) {
			return p
		}
	}
	wait.Wait()
	return bare
}

// worse tells whether a plan takes too much paper against another, or is not as well drawn by more than a little. It is generous: the
// choice should fall the same way for a boat and for the same boat with a lamp more.
func (p *Plan) worse(q *Plan) bool {
	sheets := len(q.Sheets)
	if sheets == 2 || sheets == 3 {
		sheets++
	}
	if p.misfits() > q.misfits() || len(p.Sheets) > sheets || p.crossings() > max(q.crossings(), enough) {
		return true
	}
	return p.cuts() > q.cuts() || 2*p.price() > 3*q.price()
}

// cuts counts the links that go over the edge of a sheet.
func (p *Plan) cuts() int {
	n := 0
	for i := range p.Sheets {
		n += Measure(&p.Sheets[i]).Cut
	}
	return n
}

// split draws a graph on pages of the lowest tier that holds it, each sheet on the page that suits it best.
func split(g *Graph, pages []Page) *Plan {
	file := newSplitter(g, 0)
	tiers := map[int][]Page{}
	var order []int
	for _, p := range pages {
		if tiers[p.Tier] == nil {
			order = append(order, p.Tier)
		}
		tiers[p.Tier] = append(tiers[p.Tier], p)
	}
	sort.Ints(order)
	var best *Plan
	for _, t := range order {
		if plan := file.on(tiers[t]); best == nil || plan.better(best) {
			best = plan
		}
		if best.misfits() == 0 && best.crossings() > enough {
			best = others(g, tiers[t], best)
		}
		if best.misfits() == 0 {
			break
		}
	}
	best.lacking()
	return best
}

// others tries the variants after the first, side by side since they know nothing of each other, and compares their plans in fixed
// order, so that the outcome does not hang on which is ready first.
func others(g *Graph, pages []Page, best *Plan) *Plan {
	n := variants(len(g.Boxes))
	plans := make([]*Plan, n)
	var wait sync.WaitGroup
	for v := 1; v < n; v++ {
		wait.Go(func() { plans[v] = newSplitter(g, uint64(v)).on(pages) })
	}
	wait.Wait()
	for _, p := range plans[1:] {
		if best.crossings() > enough && p.better(best) {
			best = p
		}
	}
	return best
}

func (p *Plan) misfits() int {
	n := 0
	for i := range p.Sheets {
		if !p.Sheets[i].Fits {
			n++
		}
	}
	return n
}

// What a sheet costs against its bends and crossings; a level of detail that labels lose is as bad as a sheet more.
const (
	priceArea  = 260 // grid cells of paper for the price of one: an A4 sheet costs 25
	priceCross = 16
)

// price is what a plan costs its reader.
func (p *Plan) price() int {
	n := 0
	for i := range p.Sheets {
		s := &p.Sheets[i]
		f := Measure(s)
		n += s.Page.W*s.Page.H/priceArea*(1+s.Level) + f.Bends + priceCross*f.Crossings
	}
	return n
}

// better prefers sheets that fit, then the lower price, then less paper.
func (p *Plan) better(q *Plan) bool {
	if a, b := p.misfits(), q.misfits(); a != b {
		return a < b
	}
	if a, b := p.price(), q.price(); a != b {
		return a < b
	}
	return p.paper() < q.paper()
}

func (p *Plan) crossings() int {
	n := 0
	for i := range p.Sheets {
		n += Measure(&p.Sheets[i]).Crossings
	}
	return n
}

func (p *Plan) paper() int {
	n := 0
	for i := range p.Sheets {
		n += p.Sheets[i].Page.W * p.Sheets[i].Page.H
	}
	return n
}

func newSplitter(g *Graph, variant uint64) *splitter {
	s := &splitter{g: g, of: map[string]int{}, bars: map[string]int{}, hint: map[string]float64{}, known: map[segment]*drawing{}, again: map[segment]*drawing{}, work: new(work)}
	for i := range g.Bars {
		s.bars[g.Bars[i].ID] = i
	}
	s.below = len(g.Boxes) > large
	d := newDrawing(g, dress{variant: variant, work: s.work})
	d.l.level, d.l.below = 0, s.below
	d.l.reset()
	d.l.placeX(widths[0])
	hung := make([]bool, len(g.Bars))
	for _, k := range g.Links {
		a, aBar := s.bars[k.From.Node]
		b, bBar := s.bars[k.To.Node]
		if aBar && !bBar {
			hung[a] = true
		}
		if bBar && !aBar {
			hung[b] = true
		}
	}
	for v := range d.l.items {
		it := &d.l.items[v]
		switch {
		case it.kind == boxItem:
			s.hint[g.Boxes[it.ref].ID] = float64(it.x) + float64(it.span())/2
			s.units = append(s.units, unit{box: it.ref, bar: -1, x0: it.x, x1: it.x + it.span(), ghost: isGhost(g.Boxes[it.ref].ID)})
		case it.kind == barItem:
			s.hint[g.Bars[it.ref].ID] = float64(it.x+it.right) / 2
			if !hung[it.ref] {
				s.units = append(s.units, unit{box: -1, bar: it.ref, x0: it.x, x1: it.right})
			}
		}
	}
	s.turn(d.l.width)
	sort.SliceStable(s.units, func(a, b int) bool { return s.units[a].x0+s.units[a].x1 < s.units[b].x0+s.units[b].x1 })
	for i := range s.units {
		s.of[s.id(i)] = i
	}
	s.relate()
	return s
}

// turn takes the whole endless drawing left for right where that brings what should stand first to the left.
func (s *splitter) turn(width int) {
	sum := 0.0
	for _, id := range s.g.First {
		if x, ok := s.hint[id]; ok {
			sum += x - float64(width)/2
		}
	}
	if sum <= 0 {
		return
	}
	for i := range s.units {
		u := &s.units[i]
		u.x0, u.x1 = width-u.x1, width-u.x0
	}
	for _, b := range s.g.Boxes {
		s.hint[b.ID] = float64(width) - s.hint[b.ID]
	}
	for _, b := range s.g.Bars {
		s.hint[b.ID] = float64(width) - s.hint[b.ID]
	}
}

// id is the identifier of a unit.
func (s *splitter) id(i int) string {
	if u := s.units[i]; u.box >= 0 {
		return s.g.Boxes[u.box].ID
	}
	return s.g.Bars[s.units[i].bar].ID
}

// relate finds which bars each unit needs and what each cut would cost.
func (s *splitter) relate() {
	n := len(s.units)
	s.span = make([][2]int, len(s.g.Bars))
	for i := range s.span {
		s.span[i] = [2]int{n, -1}
	}
	need := func(u, bar int) {
		s.units[u].bars = append(s.units[u].bars, bar)
		s.span[bar] = [2]int{min(s.span[bar][0], u), max(s.span[bar][1], u)}
	}
	for i, u := range s.units {
		if u.bar >= 0 {
			need(i, u.bar)
		}
	}
	s.wires, s.over = make([]int, n+1), make([]int, n+1)
	for _, k := range s.g.Links {
		a, aUnit := s.of[k.From.Node]
		b, bUnit := s.of[k.To.Node]
		ba, aBar := s.bars[k.From.Node]
		bb, bBar := s.bars[k.To.Node]
		if aUnit && bBar {
			need(a, bb)
		}
		if bUnit && aBar {
			need(b, ba)
		}
		if aUnit && bUnit && !aBar && !bBar {
			for i := min(a, b) + 1; i <= max(a, b); i++ {
				s.wires[i]++
			}
		}
	}
	s.settleBars(need)
	for _, p := range s.span {
		for i := p[0] + 1; i <= p[1]; i++ {
			s.over[i]++
		}
	}
}

// settleBars gives every link between two bars a unit to be drawn with: the first one of the bar that reaches less far. The other
// bar is drawn there too, so that the link is on one sheet, and on one only.
func (s *splitter) settleBars(need func(unit, bar int)) {
	s.home = make([]int, len(s.g.Links))
	for i, k := range s.g.Links {
		a, aBar := s.bars[k.From.Node]
		b, bBar := s.bars[k.To.Node]
		s.home[i] = -1
		if !aBar || !bBar {
			continue
		}
		if s.span[b][1]-s.span[b][0] < s.span[a][1]-s.span[a][0] {
			a, b = b, a
		}
		s.home[i] = s.span[a][0]
		need(s.home[i], a)
		need(s.home[i], b)
	}
}

// on splits the graph over sheets, each on one of the pages. It draws them as tight as it goes, or wider where that costs too many
// bends.
func (s *splitter) on(pages []Page) *Plan {
	s.bad = map[segment]bool{}
	plan := s.within(pages, len(widths))
	if plan.winds() {
		if p := s.within(pages, easy); len(p.Sheets)-len(plan.Sheets) <= (len(plan.Sheets)-1)/5 && p.better(plan) {
			return p
		}
	}
	return plan
}

// winds tells whether a plan has more bends than a boat of many sheets may have, one in two wires.
func (p *Plan) winds() bool {
	bends, wires := p.bends()
	return 2*bends > wires
}

// easy keeps wires straight: the width weights up to it cost few bends.
const easy = 3

// bends counts bends and wires on all sheets.
func (p *Plan) bends() (bends, wires int) {
	for i := range p.Sheets {
		f := Measure(&p.Sheets[i])
		bends, wires = bends+f.Bends, wires+f.Wires
	}
	return bends, wires
}

// within splits the graph with some of the width weights.
func (s *splitter) within(pages []Page, tries int) *Plan {
	n := len(s.units)
	if n == 0 {
		return &Plan{Sheets: []Sheet{{Page: pages[0], Fits: true}}}
	}
	limit := make([]int, n) // segments from here may end here at most
	for i := range limit {
		limit[i] = n
	}
	widest := 0
	for _, p := range pages {
		widest = max(widest, p.W)
	}
	fits := map[segment]bool{}
	for {
		segs := s.cheapest(widest, limit)
		bad := segment{-1, -1}
		for _, g := range segs {
			ok, known := fits[g]
			if !known {
				ok = !s.bad[g] && s.drawing(g).fits(pages, tries)
				fits[g] = ok
			}
			if !ok && g.to-g.from > 1 {
				bad = g
				s.bad[g] = true // with fewer width weights it is no better
				delete(s.known, g)
				break
			}
		}
		if bad.from < 0 {
			return s.finish(pages, segs, tries)
		}
		for i := 0; i <= bad.from; i++ {
			limit[i] = min(limit[i], bad.to-1)
		}
	}
}

// best draws on the page that keeps most of the labels, then on that with the fewest bends and crossings. If the drawing fits none it
// is drawn for the one that it goes least beyond.
func (d *drawing) best(pages []Page, tries int) (Sheet, bool) {
	var best Sheet
	found := false
	var near []nearest
	var on []Page
	for texts := range d.places {
		for _, p := range pages {
			last, _, sure := d.narrowest(p, tries, texts)
			s, n, ok := d.fit(p, tries, texts)
			if !ok && sure {
				s, ok = last, true
			}
			near, on = append(near, n), append(on, p)
			if ok && (!found || s.Level < best.Level || s.Level == best.Level && s.price() < best.price()) {
				best, found = s, true
			}
		}
	}
	if found {
		return best, true
	}
	over := func(s *Sheet) int { return max(0, s.W-s.Page.W) + max(0, s.H-s.Page.H) }
	for i, p := range on {
		s := d.sheet(near[i].style)
		s.Page = p
		if i == 0 || over(&s) < over(&best) {
			best = s
		}
	}
	return best, false
}

// cheapest finds the segments of least cost by dynamic programming. A segment may be somewhat wider than the page on the endless
// sheet, since drawn afresh it gets narrower.
func (s *splitter) cheapest(width int, limit []int) []segment {
	n := len(s.units)
	cost := make([]int, n+1)
	from := make([]int, n+1)
	for j := 1; j <= n; j++ {
		cost[j] = -1
		lo, hi := s.units[j-1].x0, s.units[j-1].x1
		for i := j - 1; i >= 0; i-- {
			lo, hi = min(lo, s.units[i].x0), max(hi, s.units[i].x1)
			if j-i > 1 && (j > limit[i] || (hi-lo)*100 > 115*width) {
				break
			}
			if s.units[i].ghost && i > 0 { // ghosts stay with what they follow
				continue
			}
			c := cost[i] + costSheet + costWire*s.wires[i] + costBar*s.over[i] + costTight*max(0, 100*(hi-lo)/width-easyFill)
			if cost[j] < 0 || c < cost[j] {
				cost[j], from[j] = c, i
			}
		}
	}
	var out []segment
	for j := n; j > 0; j = from[j] {
		out = append([]segment{{from[j], j}}, out...)
	}
	return out
}

func (s *splitter) drawing(g segment) *drawing {
	if d, ok := s.known[g]; ok {
		return d
	}
	sub, d := s.subgraph(g)
	out := newDrawing(sub, d)
	s.known[g] = out
	return out
}

// subgraph is the graph of one sheet: the segment's units and every bar that hangs on one of them. Links that lead off the sheet
// end on marks.
func (s *splitter) subgraph(g segment) (*Graph, dress) {
	sub := &Graph{}
	d := dress{marks: map[string]End{}, cont: map[string]uint8{}, hint: s.hint, below: s.below, work: s.work}
	on := map[string]bool{}
	for i := g.from; i < g.to; i++ {
		on[s.id(i)] = true
		for _, b := range s.units[i].bars {
			on[s.g.Bars[b].ID] = true
		}
	}
	for _, b := range s.g.Boxes {
		if on[b.ID] {
			sub.Boxes = append(sub.Boxes, b)
		}
	}
	for i, b := range s.g.Bars {
		if !on[b.ID] {
			continue
		}
		sub.Bars = append(sub.Bars, b)
		if s.span[i][0] < g.from {
			d.cont[b.ID] |= 1
		}
		if s.span[i][1] >= g.to {
			d.cont[b.ID] |= 2
		}
	}
	for i, k := range s.g.Links {
		_, aBar := s.bars[k.From.Node]
		_, bBar := s.bars[k.To.Node]
		a, b := on[k.From.Node], on[k.To.Node]
		switch {
		case aBar && bBar:
			if h := s.home[i]; h >= g.from && h < g.to {
				sub.Links = append(sub.Links, k)
			}
		case a && b:
			sub.Links = append(sub.Links, k)
		case a && !aBar:
			s.cut(sub, d, k, 1)
		case b && !bBar:
			s.cut(sub, d, k, 0)
		}
	}
	for _, same := range s.g.Same {
		var keep []string
		for _, id := range same {
			if on[id] {
				keep = append(keep, id)
			}
		}
		if len(keep) > 1 {
			sub.Same = append(sub.Same, keep)
		}
	}
	for _, b := range s.g.Below {
		if on[b.Upper] && on[b.Lower] {
			sub.Below = append(sub.Below, b)
		}
	}
	return sub, d
}

// cut replaces one end of a link by a continuation mark. The mark stands above the other end if the link comes in from above.
func (s *splitter) cut(sub *Graph, d dress, k Link, end int) {
	id := "\x00" + k.ID
	size := Size{max(k.Mark.W, 2), max(k.Mark.H, 2)}
	stay := k.From
	if end == 0 {
		stay = k.To
	}
	above := end == 0
	for _, b := range s.g.Boxes {
		if b.ID != stay.Node {
			continue
		}
		for _, p := range b.Ports {
			if p.Name == stay.Port && p.Side <= Bottom {
				above = p.Side == Top
			}
		}
		d.hint[id] = s.hint[b.ID]
	}
	port := Port{Name: "x", Side: Top, Offset: size.W / 2}
	order := Below{stay.Node, id, 1}
	if above {
		port.Side = Bottom
		order = Below{id, stay.Node, 1}
	}
	sub.Boxes = append(sub.Boxes, Box{ID: id, W: size.W, H: size.H, Ports: []Port{port}})
	sub.Below = append(sub.Below, order)
	name := "from"
	if end == 1 {
		name = "to"
	}
	d.marks[id] = End{Node: k.ID, Port: name}
	if end == 0 {
		k.From = End{Node: id, Port: "x"}
	} else {
		k.To = End{Node: id, Port: "x"}
	}
	sub.Links = append(sub.Links, k)
}

// finish draws the chosen segments.
func (s *splitter) finish(pages []Page, segs []segment, tries int) *Plan {
	plan := &Plan{}
	for i, g := range segs {
		sheet, ok := s.best(g, pages, tries)
		sheet.Marks = slices.Clone(sheet.Marks) // the drawing may serve other plans
		if !ok {
			plan.Notes = append(plan.Notes, Note{Sheet: i, Text: "larger than the page"})
		}
		plan.Sheets = append(plan.Sheets, sheet)
	}
	plan.target()
	return plan
}

// target tells every mark where its bar or link goes on: to the left on earlier sheets, to the right on later ones.
func (p *Plan) target() {
	type name struct {
		ref string
		bar bool
	}
	marks := map[name][]Target{}
	for i := range p.Sheets {
		for _, m := range p.Sheets[i].Marks {
			k := name{m.Ref, m.Bar}
			if t := marks[k]; len(t) > 0 && t[len(t)-1].Sheet == i {
				continue
			}
			marks[k] = append(marks[k], Target{Sheet: i, At: m.At})
		}
	}
	for i := range p.Sheets {
		for j := range p.Sheets[i].Marks {
			m := &p.Sheets[i].Marks[j]
			for _, t := range marks[name{m.Ref, m.Bar}] {
				if t.Sheet == i || m.Bar && (t.Sheet < i) != (m.Side == Right) {
					continue
				}
				m.To = append(m.To, t)
			}
		}
	}
}
