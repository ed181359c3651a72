package waterlayout

import (
	"maps"
	"slices"
	"sort"
	"strconv"
)

// options are what one attempt hands to the next.
type options struct {
	drop  map[int]bool   // stacks that cannot hold
	extra map[string]int // widenings of channels
	// arranged are the arrangements that polishing found, polished the pieces it
	// has been through, both by signature.
	arranged map[string]kept
	polished map[string]bool
	severed  severed        // where systems too wide were cut
	packed   [][][]string   // the pieces in the bands of the sheets, by signature
	trouble  map[string]int // drafts in which a polished piece lacked room
	variant
}

const (
	maxTries     = 6
	roughTries   = 2
	searchBudget = 6_000_000 // cells looked at over all attempts: a bound on time
)

// Layout places, routes and letters the graph. The error tells of a graph that
// is contradictory in itself; what merely could not be met is listed in the
// plan's Problems. The same graph always gives the same plan.
func Layout(g Graph) (Plan, error) {
	if g.Like != nil && g.Like.made != nil {
		v := g.Like.made.variant
		v.polish = !g.Rough
		if p, err := g.attempt(v, &effort{budget: searchBudget, tries: layoutTries}); err != nil || len(p.Problems) == 0 {
			return p, err
		}
	}
	e := &effort{budget: searchBudget, rough: g.Rough}
	var best Plan
	bestPrice := 0
	used := variants[0]
	for i, v := range variants {
		p, err := g.attempt(v, e)
		if err != nil {
			return Plan{}, err
		}
		if price := p.price(); i == 0 || price < bestPrice {
			best, bestPrice, used = p, price, v
		}
		if len(best.Problems) == 0 && best.crossings() <= i*len(best.Sheets) || e.budget <= 0 {
			break
		}
	}
	if g.Rough || best.fine() {
		return best, nil
	}
	used.polish = true
	p, err := g.attempt(used, &effort{budget: searchBudget, tries: layoutTries})
	if err == nil && p.price() < bestPrice {
		best = p
	}
	return best, err
}

// fine tells whether no sheet's runs cross or wind more than they should.
func (p *Plan) fine() bool {
	for _, s := range p.Sheets {
		if b, runs := s.Bends(); s.Crossings() > 0 || 10*b > fineBends*runs {
			return false
		}
	}
	return true
}

// variant is one of the ways to arrange the columns that are tried while runs
// still cross.
type variant struct {
	near    bool // outlets beside what they drain, not in the last column
	spread  bool // branches side by side
	polish  bool // better columns and ports looked for, one part at a time
	reverse bool // the part farthest from the waterline in the first of columns side by side
}

var variants = [...]variant{{}, {near: true, spread: true}, {near: true, spread: true, reverse: true}}

func (p *Plan) crossings() (n int) {
	for _, s := range p.Sheets {
		n += s.Crossings()
	}
	return n
}

// price weighs plans of the same graph: faults, then sheets and cuts, then
// crossings and bends.
func (p *Plan) price() int {
	bends := 0
	for _, s := range p.Sheets {
		b, _ := s.Bends()
		bends += b
	}
	apart, aside := p.GoOn(func(x *PlacedBox) string { return x.Mark })
	return 10000*len(p.Problems) + 40*len(p.Sheets) + 36*apart + 12*aside + 6*p.crossings() + bends
}

// GoOn counts the runs that go on on another sheet, and those that go on on the
// same one, by what name says each mark stands for; empty for what is no mark.
func (p *Plan) GoOn(name func(*PlacedBox) string) (apart, aside int) {
	last := map[string]int{}
	for si := range p.Sheets {
		for bi := range p.Sheets[si].Bands {
			b := &p.Sheets[si].Bands[bi]
			for xi := range b.Boxes {
				s := name(&b.Boxes[xi])
				if s == "" {
					continue
				}
				on, twice := last[s]
				switch {
				case !twice:
				case on != si:
					apart++
				default:
					aside++
				}
				last[s] = si
			}
		}
	}
	return apart, aside
}

// attempt makes the plan of one variant, wider where runs or labels lack room.
func (g *Graph) attempt(v variant, e *effort) (plan Plan, err error) {
	opt := &options{drop: map[int]bool{}, extra: map[string]int{}, arranged: map[string]kept{}, polished: map[string]bool{}, severed: severed{}, trouble: map[string]int{}, variant: v}
	page, push, err := g.choose(opt)
	if err != nil {
		return Plan{}, err
	}
	defer func() {
		plan.made = &recipe{page, push, g.Pages, *opt}
	}()
	var best Plan
	for try := 0; try < maxTries; try++ {
		d, err := g.draft(page, push, opt)
		if err != nil {
			return Plan{}, err
		}
		if len(d.broken) > 0 && d.m.dropStacks(d.broken, opt) {
			try--
			continue
		}
		p, again := d.finish(e, opt)
		if try == 0 || len(p.Problems) < len(best.Problems) ||
			len(p.Problems) == len(best.Problems) && len(p.Sheets) < len(best.Sheets) {
			best = p
		}
		if !again || e.budget <= 0 || g.Rough && try >= roughTries {
			break
		}
	}
	for _, s := range sortedKeys(opt.drop) {
		st := g.Stacks[s]
		best.Problems = append(best.Problems, Problem{"stack", st.On.Box, st.On.Box + " stands off " + st.Base.Box + ": parts of a height between theirs are in the way"})
	}
	return best, nil
}

func sortedKeys(m map[int]bool) []int {
	var list []int
	for k := range m {
		list = append(list, k)
	}
	sort.Ints(list)
	return list
}

// choose takes the page that needs the fewest sheets, and more columns where
// a page is too low for the parts that stand above one another.
func (g *Graph) choose(opt *options) (page, push int, err error) {
	if g.Like != nil && g.Like.made != nil && len(g.Like.made.pages) == len(g.Pages) {
		k := g.Like.made
		maps.Copy(opt.drop, k.drop)
		maps.Copy(opt.extra, k.extra)
		maps.Copy(opt.arranged, k.arranged)
		maps.Copy(opt.severed, k.severed)
		opt.packed = k.packed
		if d, err := g.draft(k.page, k.push, opt); err != nil || d.tooLow <= 0 {
			return k.page, k.push, err
		}
	}
	best := 1 << 30
	for pi := range g.Pages {
		for _, k := range []int{4, 0} {
			opt.packed = nil
			d, err := g.draft(pi, k, opt)
			if err != nil {
				return 0, 0, err
			}
			score := sheetPrice*len(d.sheets) + d.apart
			if d.tooLow > 0 {
				score += 100000 + 1000*d.tooLow
			}
			for _, p := range d.m.problems {
				if p.Kind == "width" {
					score += 100000
				}
			}
			if score < best {
				best, page, push = score, pi, k
			}
			if d.tooLow <= 0 {
				break
			}
		}
	}
	return page, push, nil
}

// dropStacks undoes the stacks of the given units; it reports whether any was
// undone that was not before.
func (m *model) dropStacks(units []int, opt *options) bool {
	bad := map[string]bool{}
	for _, u := range units {
		for _, n := range m.units[u].nodes {
			bad[m.nodes[n].id] = true
		}
	}
	fresh := false
	for si, s := range m.g.Stacks {
		if bad[s.Base.Box] && bad[s.On.Box] && !opt.drop[si] {
			opt.drop[si], fresh = true, true
		}
	}
	return fresh
}

// finish draws the runs and labels of a draft. again tells that a wider
// placement, now noted in opt, may do better.
func (d *draft) finish(e *effort, opt *options) (Plan, bool) {
	m := d.m
	size := m.g.Pages[d.page]
	plan := Plan{Page: d.page, Size: size}
	for _, p := range m.problems {
		if !listed(plan.Problems, p) {
			plan.Problems = append(plan.Problems, p)
		}
	}
	again := false
	for _, sheet := range d.sheets {
		var out Sheet
		size := d.room(sheet, size)
		y := 0
		for _, b := range sheet {
			if !opt.polish {
				break
			}
			d.polish(b, size.W-m.g.ruler()-2*sideMargin, size.H-d.height(sheet)+b.height(), e, opt)
		}
		for _, b := range sheet {
			if y+b.height() > size.H {
				plan.Problems = append(plan.Problems, Problem{"height", m.nodes[b.pieces[0].first(m)].id, "the parts stand " + strconv.Itoa(b.height()) + " units high, the page has " + strconv.Itoa(size.H)})
			}
			band, bad := d.band(b, y, e, opt, &plan)
			again = again || bad
			out.Bands = append(out.Bands, band)
			y += b.height() + bandGap
		}
		plan.Sheets = append(plan.Sheets, out)
	}
	plan.pairMarks()
	return plan, again
}

func (p *piece) first(m *model) int { return m.units[p.cols[0][0]].nodes[0] }

func listed(list []Problem, p Problem) bool {
	for _, q := range list {
		if q == p {
			return true
		}
	}
	return false
}

// band makes one band whose upper edge is at y on the sheet.
func (d *draft) band(b *strip, y int, e *effort, opt *options, plan *Plan) (Band, bool) {
	m := d.m
	ruler := m.g.ruler()
	area := Rect{0, y, plan.Size.W, b.height()}
	band := Band{Area: area, RulerX: ruler, Waterline: y + bandMargin - b.lo, Scale: b.scale}
	cv := newCanvas(Rect{ruler, y, max(plan.Size.W-ruler, b.width+2*sideMargin), area.H})
	shore := []Point{{cv.r.X, band.Waterline}, {cv.r.X + cv.r.W, band.Waterline}}
	cv.draw(shoreRun, shore)
	bad := false
	troubled := map[*piece]bool{}
	type drawn struct {
		pr    PlacedRun
		piece *piece
		run   int
	}
	var runs []drawn
	shares := make([]*share, len(b.pieces))
	for i, p := range b.pieces {
		dx := ruler + sideMargin + b.at[i]
		shares[i] = &share{left: dx}
		for _, ui := range p.units {
			for _, ni := range m.units[ui].nodes {
				if m.nodes[ni].kind != viaNode {
					pb := m.placed(ni, dx, band.Waterline)
					band.Boxes = append(band.Boxes, pb)
					shares[i].add(&pb, m.nodes[ni].skin)
					cv.fill(pb.Rect)
					if pb.Name.Placed {
						cv.fillText(pb.Name)
					}
				}
			}
		}
		gr := m.ground(p, b.lo-bandMargin, b.height(), e)
		gr.route()
		paths := map[int][]Point{}
		for wi := range gr.wires {
			w := &gr.wires[wi]
			l := &m.links[w.link]
			if w.failed {
				bad, troubled[p] = true, true
				m.widen(p, l, 2, opt)
				plan.Problems = append(plan.Problems, Problem{"route", m.g.Runs[l.run].ID, "no clear way for the run"})
			}
			paths[w.link] = shift(gr.points(wi), dx, band.Waterline)
		}
		for _, pr := range m.join(p, paths, dx, band.Waterline) {
			runs = append(runs, drawn{pr.PlacedRun, p, pr.run})
		}
	}
	for i, r := range runs {
		cv.draw(i, r.pr.Points)
		cv.fit(i, r.pr.Points)
	}
	// short runs have the fewest places for a label and choose first
	order := make([]int, len(runs))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return runs[order[i]].pr.reach() < runs[order[j]].pr.reach() })
	for _, i := range order {
		labels := m.g.Runs[runs[i].run].Labels
		if len(labels) == 0 || runs[i].pr.reach() == 0 {
			continue // a stack's run has no length to stand beside
		}
		t, ok := cv.letter(i, runs[i].pr.Points, labels)
		if !ok {
			bad, troubled[runs[i].piece] = true, true
			m.widenRun(runs[i].piece, runs[i].run, opt)
			plan.Problems = append(plan.Problems, Problem{"label", runs[i].pr.ID, "no room for the label beside the run"})
			continue
		}
		runs[i].pr.Label = t
		cv.fillText(t)
	}
	for _, r := range runs {
		band.Runs = append(band.Runs, r.pr)
		shares[slices.Index(b.pieces, r.piece)].run(&r.pr)
	}
	band.Hull = hullLines(shares, Rect{ruler, area.Y, area.W - ruler, area.H}, band.Waterline)
	for _, p := range b.pieces {
		if troubled[p] {
			opt.blame(m.signature(p))
		}
	}
	band.Ruler = m.rulerOf(b, band.Waterline)
	m.rule(&band, cv)
	return band, bad
}

func (r PlacedRun) reach() int {
	n := 0
	for i := 1; i < len(r.Points); i++ {
		n += abs(r.Points[i].X-r.Points[i-1].X) + abs(r.Points[i].Y-r.Points[i-1].Y)
	}
	return n
}

func shift(pts []Point, dx, dy int) []Point {
	for i := range pts {
		pts[i].X += dx
		pts[i].Y += dy
	}
	return pts
}

func (m *model) placed(ni, dx, dy int) PlacedBox {
	n := &m.nodes[ni]
	u := &m.units[n.unit]
	pb := PlacedBox{
		ID: n.id, Rect: Rect{n.x + dx, n.y + dy, n.w, n.h}, Anchor: n.y + dy + n.anchor,
		Level: n.level, Mark: n.ref, System: m.system[ni],
		HeightUnknown: n.kind == partNode && !n.level.Known, Mirrored: n.mirrored,
	}
	if n.level.Known {
		pb.Moved = u.moved
	}
	if n.nameAt.W > 0 {
		r := n.nameAt
		pb.Name = Text{Placed: true, Rect: Rect{r.X + n.x + dx, r.Y + n.y + dy, r.W, r.H}, Side: n.nameSide}
	}
	names := make([]string, 0, len(n.landings))
	for name := range n.landings {
		names = append(names, name)
	}
	sort.Strings(names)
	for _, name := range names {
		span := n.landings[name]
		for _, p := range n.ports {
			if p.name != name {
				continue
			}
			l := Landing{Port: name}
			switch p.side {
			case Left:
				l.A, l.B = Point{0, span[0]}, Point{0, span[1]}
			case Right:
				l.A, l.B = Point{n.w, span[0]}, Point{n.w, span[1]}
			case Top:
				l.A, l.B = Point{span[0], 0}, Point{span[1], 0}
			default:
				l.A, l.B = Point{span[0], n.h}, Point{span[1], n.h}
			}
			pts := shift([]Point{l.A, l.B}, n.x+dx, n.y+dy)
			l.A, l.B = pts[0], pts[1]
			pb.Landings = append(pb.Landings, l)
			break
		}
	}
	return pb
}

type joined struct {
	PlacedRun
	run int
}

// join makes whole runs of a piece's links, through the vias.
func (m *model) join(p *piece, paths map[int][]Point, dx, dy int) []joined {
	inside := map[int]bool{}
	for _, u := range p.units {
		inside[u] = true
	}
	byRun := map[int][]int{}
	var order []int
	for _, li := range p.links {
		l := &m.links[li]
		if l.dead || !inside[m.nodes[l.a].unit] {
			continue
		}
		if byRun[l.run] == nil {
			order = append(order, l.run)
		}
		byRun[l.run] = append(byRun[l.run], li)
	}
	sort.Ints(order)
	var out []joined
	for _, ri := range order {
		for _, chain := range m.chains(byRun[ri]) {
			j := joined{PlacedRun{ID: m.g.Runs[ri].ID}, ri}
			first, last := &m.links[chain[0]], &m.links[chain[len(chain)-1]]
			j.From = End{m.nodes[first.a].id, m.nodes[first.a].ports[first.pa].name}
			j.To = End{m.nodes[last.b].id, m.nodes[last.b].ports[last.pb].name}
			for _, li := range chain {
				l := &m.links[li]
				pts := paths[li]
				if l.flat || len(pts) == 0 {
					pts = nil
					for _, e := range [2][2]int{{l.a, l.pa}, {l.b, l.pb}} {
						q := m.nodes[e[0]].at(e[1])
						pts = append(pts, Point{m.nodes[e[0]].x + q.X + dx, m.nodes[e[0]].y + q.Y + dy})
					}
				}
				j.Points = append(j.Points, pts...)
				if n := &m.nodes[l.b]; n.kind == viaNode {
					j.Crests = append(j.Crests, Point{n.x + 1 + dx, n.y + dy})
				}
			}
			j.Points = straighten(j.Points)
			out = append(out, j)
		}
	}
	return out
}

// chains strings the links of one run together, in order.
func (m *model) chains(links []int) [][]int {
	starts := map[int]int{} // via or other node → link that leaves it
	arrives := map[int]bool{}
	for _, li := range links {
		if m.nodes[m.links[li].a].kind == viaNode {
			starts[m.links[li].a] = li
		}
		if m.nodes[m.links[li].b].kind == viaNode {
			arrives[m.links[li].b] = true
		}
	}
	var out [][]int
	for _, li := range links {
		if arrives[m.links[li].a] {
			continue
		}
		chain := []int{li}
		for {
			next, ok := starts[m.links[chain[len(chain)-1]].b]
			if !ok {
				break
			}
			chain = append(chain, next)
		}
		out = append(out, chain)
	}
	return out
}

// straighten drops points in line and double points; two points stay.
func straighten(pts []Point) []Point {
	out := inLine(pts)
	if len(out) == 1 {
		out = append(out, out[0])
	}
	return out
}

// widen asks for more room beside the columns of a link's ends.
func (m *model) widen(p *piece, l *link, by int, opt *options) {
	col := p.columnOf()
	a, b := col[m.nodes[l.a].unit], col[m.nodes[l.b].unit]
	for _, c := range []int{a, b, min(a, b), max(a, b) - 1} {
		if c >= 0 {
			opt.extra[m.columnKey(p, c)] += by
		}
	}
}

// widenRun asks for the room a label lacks.
func (m *model) widenRun(p *piece, run int, opt *options) {
	col := p.columnOf()
	inside := map[int]bool{}
	for _, u := range p.units {
		inside[u] = true
	}
	for li := range m.links {
		l := &m.links[li]
		if l.run == run && !l.dead && inside[m.nodes[l.a].unit] {
			c := min(col[m.nodes[l.a].unit], col[m.nodes[l.b].unit])
			opt.extra[m.columnKey(p, c)] += 1 + narrowest(m.g.Runs[run].Labels)/2
			return
		}
	}
}

// rulerOf is the broken line through the waterline and all known heights.
func (m *model) rulerOf(b *strip, shore int) Ruler {
	r := Ruler{scale: b.scale, Knots: []Knot{{0, shore}}}
	for _, p := range b.pieces {
		for _, ui := range p.units {
			for _, ni := range m.units[ui].nodes {
				if n := &m.nodes[ni]; n.level.Known {
					r.Knots = append(r.Knots, Knot{n.level.MM, shore + n.y + n.anchor})
				}
			}
		}
	}
	sort.SliceStable(r.Knots, func(i, j int) bool {
		a, b := r.Knots[i], r.Knots[j]
		return a.MM < b.MM || a.MM == b.MM && a.Y > b.Y
	})
	out := r.Knots[:1]
	for _, k := range r.Knots[1:] {
		if k != out[len(out)-1] {
			out = append(out, k)
		}
	}
	r.Knots = out
	return r
}

// rule breaks the graph's further lines at the boxes and texts of the band.
func (m *model) rule(b *Band, cv *canvas) {
	for _, mm := range m.g.Lines {
		l := Line{MM: mm, Y: b.Ruler.Y(mm)}
		if l.Y < float64(b.Area.Y) || l.Y > float64(b.Area.Y+b.Area.H) {
			continue
		}
		row := int(l.Y)
		start := -1
		for x := b.RulerX; x <= b.Area.W; x++ {
			open := x < b.Area.W
			for dy := -1; dy <= 1 && open; dy++ {
				y := row + dy
				near := dy == 0 || dy < 0 && l.Y == float64(row)
				if near && y >= cv.r.Y && y < cv.r.Y+cv.r.H && cv.cells[cv.at(x, y)] {
					open = false
				}
			}
			if open && start < 0 {
				start = x
			}
			if !open && start >= 0 {
				l.Spans = append(l.Spans, [2]int{start, x})
				start = -1
			}
		}
		b.Lines = append(b.Lines, l)
	}
}

// pairMarks tells each continuation mark on which other sheets its run goes on.
func (p *Plan) pairMarks() {
	sheets := map[string][]int{}
	for si, s := range p.Sheets {
		for _, b := range s.Bands {
			for _, x := range b.Boxes {
				if l := sheets[x.Mark]; x.Mark != "" && (len(l) == 0 || l[len(l)-1] != si) {
					sheets[x.Mark] = append(l, si)
				}
			}
		}
	}
	for si := range p.Sheets {
		for bi := range p.Sheets[si].Bands {
			for xi := range p.Sheets[si].Bands[bi].Boxes {
				x := &p.Sheets[si].Bands[bi].Boxes[xi]
				for _, o := range sheets[x.Mark] {
					if x.Mark != "" && o != si {
						x.Elsewhere = append(x.Elsewhere, o)
					}
				}
			}
		}
	}
}
