package waterlayout

import (
	"slices"
	"sort"
)

// gaps in grid units
const (
	channelMin = 4 // between columns: 10 mm
	boxGap     = 3 // between boxes above one another
	textGap    = 2 // between a name and anything beside it
	refScale   = 60
)

// piece is a connected system, or the share of a very large one that goes on
// one band.
type piece struct {
	system int
	units  []int
	cols   [][]int // units of each column, left to right
	extra  []int   // widening of the channel after each column
	links  []int   // drawn with the piece, once that is settled
	width  int
}

type arc struct{ from, to, n int }

// arrange gives every unit of a system its column.
func (m *model) arrange(sys, push int, v variant) *piece {
	p := &piece{system: sys}
	seen := map[int]bool{}
	for _, n := range m.systems[sys] {
		if u := m.nodes[n].unit; !seen[u] {
			seen[u] = true
			p.units = append(p.units, u)
		}
	}
	m.findHosts(p)
	arcs := m.arcs(p)
	m.layer(p, arcs, v)
	m.subColumns(p, push, v)
	return p
}

// findHosts puts a leaf that hangs on its only neighbour by facing vertical
// ports into that neighbour's column: a filler over its tank, a tap on its tee.
func (m *model) findHosts(p *piece) {
	degree, only := make([]int32, len(m.units)), make([]int32, len(m.units))
	for li := range m.links {
		l := &m.links[li]
		if l.dead {
			continue
		}
		a, b := m.nodes[l.a].unit, m.nodes[l.b].unit
		if a == b {
			continue
		}
		degree[a]++
		degree[b]++
		only[a], only[b] = int32(li), int32(li)
	}
	for _, ui := range p.units {
		u := &m.units[ui]
		u.host = -1
		if m.nodes[u.nodes[0]].kind == viaNode {
			u.host = m.viaHost(u.nodes[0])
			continue
		}
		if degree[ui] != 1 {
			continue
		}
		l := &m.links[only[ui]]
		ln, lp, hn, hp := l.a, l.pa, l.b, l.pb
		if m.nodes[ln].unit != ui {
			ln, lp, hn, hp = hn, hp, ln, lp
		}
		leaf, host := &m.nodes[ln], &m.nodes[hn]
		side := leaf.ports[lp].side
		if host.kind != partNode || (side != Top && side != Bottom) || host.ports[hp].side != opposite(side) {
			continue
		}
		if degree[host.unit] == 1 && host.unit > ui {
			continue // two leaves: the later one is the guest
		}
		if leaf.level.Known && host.level.Known {
			above := leaf.level.MM > host.level.MM
			if above != (side == Bottom) || leaf.level.MM == host.level.MM {
				continue
			}
		}
		u.host = host.unit
		for _, n := range u.nodes {
			if h := m.nodes[n].hint; h != Anywhere && host.hint == Anywhere {
				host.hint = h
			}
		}
	}
	for _, ui := range p.units { // no guest of a guest
		if h := m.units[ui].host; h >= 0 && m.units[h].host >= 0 {
			m.units[ui].host = -1
		}
	}
}

// viaHost is the unit that a crest stands straight over, or a dip hangs straight
// under; -1 without one.
func (m *model) viaHost(ni int) int {
	via := &m.nodes[ni]
	want := Top
	if via.dip {
		want = Bottom
	}
	for li := range m.links {
		l := &m.links[li]
		if l.dead || l.a != ni && l.b != ni {
			continue
		}
		o, op := l.a, l.pa
		if o == ni {
			o, op = l.b, l.pb
		}
		n := &m.nodes[o]
		if n.kind != partNode || n.ports[op].side != want || !n.level.Known || !via.level.Known {
			continue
		}
		if via.dip && via.level.MM < n.level.MM || !via.dip && via.level.MM > n.level.MM {
			return n.unit
		}
	}
	return -1
}

// column is the unit that decides on the column of a unit: its host, or itself.
func (m *model) column(ui int) int {
	if h := m.units[ui].host; h >= 0 {
		return h
	}
	return ui
}

func (m *model) hintOf(ui int) Hint {
	for _, n := range m.units[ui].nodes {
		if h := m.nodes[n].hint; h != Anywhere {
			return h
		}
	}
	return Anywhere
}

// arcs lists the flow between the units, guests left out, each pair once.
func (m *model) arcs(p *piece) []arc {
	sum := map[[2]int]int{}
	var order [][2]int
	for li := range m.links {
		l := &m.links[li]
		if l.dead || m.system[l.a] != p.system {
			continue
		}
		a, b := m.column(m.nodes[l.a].unit), m.column(m.nodes[l.b].unit)
		if a == b {
			continue
		}
		switch l.flow {
		case Backward:
			a, b = b, a
		case Either:
			if m.hintOf(a) == Outlet || m.hintOf(b) == Inlet {
				a, b = b, a
			}
		}
		k := [2]int{a, b}
		if sum[k] == 0 {
			order = append(order, k)
		}
		sum[k]++
	}
	var arcs []arc
	for _, k := range order {
		arcs = append(arcs, arc{k[0], k[1], sum[k]})
	}
	return arcs
}

// layer sets unit.col by the longest path, inlets at the left end, outlets at
// the right end, everything else as near to its neighbours as the flow allows.
func (m *model) layer(p *piece, arcs []arc, v variant) {
	local := map[int]int{}
	for i, u := range p.units {
		local[u] = i
	}
	n := len(p.units)
	succ := make([][]int, n)
	for i, a := range arcs {
		succ[local[a.from]] = append(succ[local[a.from]], i)
	}
	// a depth-first walk, inlets first, turns the arcs that close a cycle
	state := make([]int, n)
	var walk func(int)
	walk = func(i int) {
		state[i] = 1
		for _, ai := range succ[i] {
			a := &arcs[ai]
			j := local[a.to]
			if state[j] == 1 {
				a.from, a.to = a.to, a.from
			} else if state[j] == 0 {
				walk(j)
			}
		}
		state[i] = 2
	}
	indeg := make([]int, n)
	for _, a := range arcs {
		indeg[local[a.to]]++
	}
	for pass := 0; pass < 3; pass++ {
		for i, u := range p.units {
			if state[i] != 0 {
				continue
			}
			if pass == 0 && m.hintOf(u) != Inlet || pass == 1 && indeg[i] > 0 {
				continue
			}
			walk(i)
		}
	}
	col := make([]int, n)
	for round, again := 0, true; again && round <= n; round++ {
		again = false
		for _, a := range arcs {
			f, t := local[a.from], local[a.to]
			if col[t] < col[f]+1 {
				col[t] = col[f] + 1
				again = true
			}
		}
	}
	if v.spread {
		spreadBranches(col, arcs, local)
	}
	last := 0
	for i := range col {
		last = max(last, col[i])
	}
	m.tighten(p, arcs, local, col, last, v)
	for i, u := range p.units {
		m.units[u].col = col[i]
	}
	for _, u := range p.units {
		if h := m.units[u].host; h >= 0 {
			m.units[u].col = m.units[h].col
		}
	}
}

// spreadBranches sets the branches of a system side by side, the small ones
// first, instead of over one another in the same columns.
func spreadBranches(col []int, arcs []arc, local map[int]int) {
	n := len(col)
	next := make([][]int, n)
	entered := make([]bool, n)
	for _, a := range arcs {
		next[local[a.from]] = append(next[local[a.from]], local[a.to])
		entered[local[a.to]] = true
	}
	weight := make([]int, n)
	var weigh func(int) int
	weigh = func(i int) int {
		if weight[i] == 0 {
			weight[i] = 1
			for _, j := range next[i] {
				if weight[j] == 0 {
					weight[i] += weigh(j)
				}
			}
		}
		return weight[i]
	}
	for i := range col {
		weigh(i)
	}
	done := make([]bool, n)
	var place func(i, c int) int
	place = func(i, c int) int {
		done[i] = true
		col[i] = max(col[i], c)
		end := col[i] + 1
		sort.SliceStable(next[i], func(x, y int) bool { return weight[next[i][x]] < weight[next[i][y]] })
		for _, j := range next[i] {
			if done[j] {
				continue
			}
			if weight[j] == 1 {
				end = max(end, place(j, col[i]+1))
				continue
			}
			end = place(j, end)
		}
		return end
	}
	cursor := 0
	for i := range col {
		if !entered[i] {
			if e := place(i, cursor); len(next[i]) > 1 {
				cursor = e
			}
		}
	}
	for round, again := 0, true; again && round <= n; round++ {
		again = false
		for _, a := range arcs {
			if f, t := local[a.from], local[a.to]; col[t] < col[f]+1 {
				col[t], again = col[f]+1, true
			}
		}
	}
}

// tighten moves units inside their slack to where their runs are shortest.
func (m *model) tighten(p *piece, arcs []arc, local map[int]int, col []int, last int, v variant) {
	in, out := make([][]arc, len(col)), make([][]arc, len(col))
	for _, a := range arcs {
		in[local[a.to]] = append(in[local[a.to]], a)
		out[local[a.from]] = append(out[local[a.from]], a)
	}
	fixed := make([]bool, len(col))
	for i, u := range p.units {
		switch h := m.hintOf(u); {
		case h == Inlet && len(in[i]) == 0:
			fixed[i] = true
		case h == Outlet && len(out[i]) == 0 && !v.near:
			col[i], fixed[i] = last, true
		}
	}
	for round := 0; round < 8 && !v.spread; round++ {
		moved := false
		for i := range col {
			if fixed[i] || len(in[i])+len(out[i]) == 0 {
				continue
			}
			lo, hi, pull := 0, last, 0
			for _, a := range in[i] {
				lo = max(lo, col[local[a.from]]+1)
				pull -= a.n
			}
			for _, a := range out[i] {
				hi = min(hi, col[local[a.to]]-1)
				pull += a.n
			}
			to := col[i]
			if pull > 0 {
				to = hi
			} else if pull < 0 {
				to = lo
			}
			if to != col[i] && to >= lo && to <= hi {
				col[i], moved = to, true
			}
		}
		if !moved {
			break
		}
	}
}

// measure sets a unit's extent and returns its axis, the x of its first
// vertical port, on which the units of a column line up.
func (m *model) measure(u *unit) (axis int) {
	u.l, u.r = u.boxes[0].X, u.boxes[0].X+u.boxes[0].W
	for _, list := range [][]Rect{u.boxes, u.names} {
		for _, b := range list {
			u.l, u.r = min(u.l, b.X), max(u.r, b.X+b.W)
		}
	}
	for _, ni := range u.nodes { // fittings in the side stand over one another
		if n := &m.nodes[ni]; n.skin.Pierces && n.skin.Sea == Right {
			return n.ux + n.skin.At
		}
	}
	for _, ni := range u.nodes {
		n := &m.nodes[ni]
		for pi, p := range n.ports {
			if p.side == Top || p.side == Bottom {
				return n.ux + n.at(pi).X
			}
		}
	}
	n := &m.nodes[u.nodes[0]]
	return n.ux + n.w/2
}

// level is the unit's known height and the node that has it; the one nearest to
// the waterline if there are several.
func (m *model) level(ui int) (int, bool) {
	best, known := 0, false
	for _, n := range m.units[ui].nodes {
		if l := m.nodes[n].level; l.Known && (!known || abs(l.MM) < abs(best)) {
			best, known = l.MM, true
		}
	}
	return best, known
}

// wish is the y, at the reference scale, of the unit's zero point.
func (m *model) wish(ui int) (int, bool) {
	for _, ni := range m.units[ui].nodes {
		n := &m.nodes[ni]
		if n.level.Known {
			return -scaled(n.level.MM, refScale) - n.anchor - n.uy, true
		}
	}
	return 0, false
}

// scaled is mm millimetres of height at a scale, in units, rounded away from 0.
func scaled(mm, scale int) int {
	v := abs(mm) * scale
	u := (v + 1250) / 2500
	if mm < 0 {
		return -u
	}
	return u
}

// hostOffset is the x of a guest against its host such that their run is
// straight.
func (m *model) hostOffset(ui int) int {
	h := m.units[ui].host
	for _, l := range m.links {
		if l.dead {
			continue
		}
		a, pa, b, pb := l.a, l.pa, l.b, l.pb
		if m.nodes[a].unit != ui {
			a, pa, b, pb = b, pb, a, pa
		}
		if m.nodes[a].unit == ui && m.nodes[b].unit == h {
			return m.nodes[b].ux + m.nodes[b].at(pb).X - m.nodes[a].ux - m.nodes[a].at(pa).X
		}
	}
	return 0
}

// subColumns makes the final columns: where parts of one column would push each
// other more than push units from their true height, some get a column beside.
func (m *model) subColumns(p *piece, push int, v variant) {
	last := 0
	for _, u := range p.units {
		last = max(last, m.units[u].col)
	}
	groups := make([][]int, last+1)
	for _, u := range p.units {
		c := m.units[u].col
		groups[c] = append(groups[c], u)
	}
	p.cols = nil
	for _, g := range groups {
		if len(g) == 0 {
			continue
		}
		p.cols = append(p.cols, m.divide(g, push, v)...)
	}
	p.extra = make([]int, len(p.cols))
}

func (m *model) divide(g []int, push int, v variant) [][]int {
	sort.SliceStable(g, func(i, j int) bool {
		// hosts before guests; then from the waterline outward
		gi, gj := m.units[g[i]].host >= 0, m.units[g[j]].host >= 0
		if gi != gj {
			return gj
		}
		a, ka := m.level(g[i])
		b, kb := m.level(g[j])
		if ka != kb {
			return ka
		}
		return abs(a) < abs(b)
	})
	var subs [][]int
	at := map[int]int{}
	for _, ui := range m.crestsFirst(g) {
		u := &m.units[ui]
		axis := m.measure(u)
		first := 0
		if u.host >= 0 {
			first = at[u.host]
			u.x = m.units[u.host].x + m.hostOffset(ui)
			if m.shove(ui, subs[first]) > push {
				u.host = -1
			}
		}
		if u.host >= 0 {
			subs[first] = append(subs[first], ui)
			at[ui] = first
			continue
		}
		u.x = -axis
		done := false
		for s := first; s < len(subs); s++ {
			if m.shove(ui, subs[s]) <= push {
				subs[s], at[ui], done = append(subs[s], ui), s, true
				break
			}
		}
		if !done {
			subs = append(subs, []int{ui})
			at[ui] = len(subs) - 1
		}
	}
	if v.reverse {
		slices.Reverse(subs)
	}
	return subs
}

// crestsFirst lists a column's units with each crest right after its host.
func (m *model) crestsFirst(g []int) []int {
	crest := func(ui int) bool {
		return m.units[ui].host >= 0 && m.nodes[m.units[ui].nodes[0]].kind == viaNode
	}
	out := make([]int, 0, len(g))
	for _, ui := range g {
		if crest(ui) {
			continue
		}
		out = append(out, ui)
		for _, c := range g {
			if crest(c) && m.units[c].host == ui {
				out = append(out, c)
			}
		}
	}
	return out
}

// shove estimates how far a unit would be pushed out of its true height by the
// others of its column.
func (m *model) shove(ui int, mates []int) int {
	y0, known := m.wish(ui)
	if !known {
		return 0
	}
	h, _ := m.level(ui)
	dir := -1
	if h <= 0 {
		dir = 1
	}
	y := y0
	for again, guard := true, 0; again && guard < 50; guard++ {
		again = false
		for _, v := range mates {
			yv, ok := m.wish(v)
			if !ok {
				continue
			}
			for m.unitsTouch(ui, y, v, yv) && abs(y-y0) < 100 {
				y += dir
				again = true
			}
		}
	}
	return abs(y - y0)
}

// unitsTouch tells whether two units of one column, with their zero points at
// the given y, come too near each other.
func (m *model) unitsTouch(a, ya int, b, yb int) bool {
	u, v := &m.units[a], &m.units[b]
	dx, dy := v.x-u.x, yb-ya
	gap := boxGap
	if m.nodes[u.nodes[0]].kind == markNode && m.nodes[v.nodes[0]].kind == markNode {
		gap = 1 // marks have no ports above or below
	}
	return touch(u.boxes, v.boxes, dx, dy, gap) || touch(u.boxes, v.names, dx, dy, textGap) ||
		touch(u.names, v.boxes, dx, dy, textGap) || touch(u.names, v.names, dx, dy, 1)
}

// touch tells whether any of p comes nearer than gap to any of q moved by dx, dy.
func touch(p, q []Rect, dx, dy, gap int) bool {
	for _, r := range p {
		for _, s := range q {
			if overlaps(r, Rect{s.X + dx, s.Y + dy, s.W, s.H}, gap) {
				return true
			}
		}
	}
	return false
}

// spread sets the x of every unit of a piece and its width.
func (m *model) spread(p *piece) {
	where := map[int]int{}
	for c, col := range p.cols {
		for _, u := range col {
			where[u] = c
		}
	}
	lo, hi := make([]int, len(p.cols)), make([]int, len(p.cols))
	for c, col := range p.cols {
		for i, ui := range col {
			u := &m.units[ui]
			axis := m.measure(u)
			if u.host >= 0 && where[u.host] == c {
				u.x = m.units[u.host].x + m.hostOffset(ui)
			} else {
				u.x = -axis
				m.keepInboard(u, col)
			}
			if i == 0 {
				lo[c], hi[c] = u.x+u.l, u.x+u.r
			}
			lo[c], hi[c] = min(lo[c], u.x+u.l), max(hi[c], u.x+u.r)
		}
	}
	channel := m.channels(p, where, lo, hi)
	x := 0
	for c, col := range p.cols {
		for _, ui := range col {
			m.units[ui].x += x - lo[c]
		}
		x += hi[c] - lo[c]
		if c+1 < len(p.cols) {
			x += channel[c] + p.extra[c]
		} else {
			x += p.extra[c]
		}
	}
	p.width = x
	for _, ui := range p.units {
		u := &m.units[ui]
		for _, n := range u.nodes {
			m.nodes[n].x = u.x + m.nodes[n].ux
		}
	}
}

// keepInboard moves a unit to the left of the fittings in the side of the hull that
// share its column.
func (m *model) keepInboard(u *unit, col []int) {
	if m.inSide(u) {
		return
	}
	for _, ui := range col {
		if o := &m.units[ui]; m.inSide(o) {
			u.x = min(u.x, -1-u.r)
		}
	}
}

// inSide tells whether a unit holds a fitting in the side of the hull.
func (m *model) inSide(u *unit) bool {
	return slices.ContainsFunc(u.nodes, func(n int) bool { return m.nodes[n].skin.Pierces && m.nodes[n].skin.Sea == Right })
}

// channels is the width each gap between columns needs: a track for every run
// that bends in it, and room for the labels of straight runs.
func (m *model) channels(p *piece, where map[int]int, lo, hi []int) []int {
	tracks := make([]int, len(p.cols))
	need := make([]int, len(p.cols))
	for li := range m.links {
		l := &m.links[li]
		if l.dead || l.flat || m.system[l.a] != p.system {
			continue
		}
		ua, ub := m.nodes[l.a].unit, m.nodes[l.b].unit
		ca, oka := where[ua]
		cb, okb := where[ub]
		if !oka || !okb || ca == cb {
			continue
		}
		a, pa, b, pb := l.a, l.pa, l.b, l.pb
		if ca > cb {
			a, pa, b, pb, ca, cb, ua, ub = b, pb, a, pa, cb, ca, ub, ua
		}
		tracks[ca]++
		if cb-1 != ca {
			tracks[cb-1]++
			continue
		}
		if m.nodes[a].ports[pa].side != Right || m.nodes[b].ports[pb].side != Left {
			continue
		}
		w := narrowest(m.g.Runs[l.run].Labels)
		if w == 0 || len(m.g.Runs[l.run].Vias) > 0 {
			continue
		}
		ya, ka := m.wish(ua)
		yb, kb := m.wish(ub)
		if ka && kb {
			dy := abs(ya + m.nodes[a].uy + m.nodes[a].at(pa).Y - yb - m.nodes[b].uy - m.nodes[b].at(pb).Y)
			if dy >= w+3 {
				continue
			}
		}
		xa := m.units[ua].x + m.nodes[a].ux + m.nodes[a].w
		xb := m.units[ub].x + m.nodes[b].ux
		need[ca] = max(need[ca], w+2-(hi[ca]-xa)-(xb-lo[cb]))
	}
	out := make([]int, len(p.cols))
	for c := range out {
		out[c] = max(channelMin, 3+tracks[c], need[c])
	}
	return out
}

func narrowest(labels []Size) int {
	w := 0
	for i, s := range labels {
		if i == 0 || s.W < w {
			w = s.W
		}
	}
	return w
}
