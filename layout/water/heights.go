package waterlayout

import "sort"

// clearance is what is kept free on either side of the waterline.
const clearance = 1

// leanSlack is how far, in hundredths of a unit, two middles may stand in the
// wrong order: 0.375 mm, which no reader sees.
const leanSlack = 15

// farthest is the distance from the waterline at which the solver gives up.
const farthest = 2000

// tiers are the differences of height, in millimetres, from which two parts get
// different rows. The finest that fits is used; 50 mm is the coarsest at which
// every difference a reader would look for still shows. Beyond that only the
// order is kept.
var tiers = [...]int{50, 1 << 30}

// member is a node of known height in the height solver.
type member struct {
	node, unit int
	mm         int // distance from the waterline, not negative
	anchor     int // outward distance of the anchor against the unit's own
	centre     int // the same for the middle of what is drawn, in hundredths
}

// solver places the units of one band, one side of the waterline at a time.
type solver struct {
	m      *model
	scale  int
	tier   int
	mates  map[int][]int // unit → units of its column
	broken []int         // units whose stack cannot hold
	align  bool          // straighten runs by small moves outward
	links  []int         // of the pieces
}

// stand finds the heights of all units of the pieces that share a band.
// It returns the units whose stacks contradict the order of heights.
func (m *model) stand(pieces []*piece, scale, tier int, align bool) []int {
	s := &solver{m: m, scale: scale, tier: tier, align: align, mates: map[int][]int{}}
	var all []int
	for _, p := range pieces {
		s.links = append(s.links, p.links...)
		for _, col := range p.cols {
			for _, u := range col {
				s.mates[u] = col
				m.units[u].set = false
				m.units[u].moved = 0
				all = append(all, u)
			}
		}
	}
	s.side(all, 1)
	s.side(all, -1)
	for _, p := range pieces {
		s.loose(p)
	}
	for _, ui := range all {
		u := &m.units[ui]
		for _, n := range u.nodes {
			m.nodes[n].y = u.y + m.nodes[n].uy
		}
	}
	return s.broken
}

// sideOf is 1 for below the waterline, -1 for above, 0 for a unit without a
// known height, 2 for one whose members are on both sides.
func (m *model) sideOf(ui int) int {
	side := 0
	for _, n := range m.units[ui].nodes {
		l := m.nodes[n].level
		if !l.Known {
			continue
		}
		s := -1
		if l.MM <= 0 {
			s = 1
		}
		if side != 0 && side != s {
			return 2
		}
		side = s
	}
	return side
}

// side places all units of one side: dir is 1 below the waterline, -1 above.
// Every unit starts at its true place and only ever moves outward.
func (s *solver) side(all []int, dir int) {
	m := s.m
	for len(m.rank) < len(m.units) {
		m.distance, m.rank = append(m.distance, 0), append(m.rank, -1)
	}
	f := &flank{dir: dir, d: m.distance, rank: m.rank}
	defer func() {
		for _, ui := range f.units {
			f.d[ui], f.rank[ui] = 0, -1
		}
	}()
	for _, ui := range all {
		sd := m.sideOf(ui)
		if sd == 2 && dir == 1 {
			s.broken = append(s.broken, ui)
		}
		if sd != dir && (sd != 2 || dir != 1) {
			continue
		}
		f.units = append(f.units, ui)
		for _, ni := range m.units[ui].nodes {
			n := &m.nodes[ni]
			if n.level.Known {
				f.list = append(f.list, member{ni, ui, abs(n.level.MM), dir * (n.uy + n.anchor), dir * (100*n.uy + 50*n.h + n.lean)})
			}
		}
	}
	sort.SliceStable(f.list, func(i, j int) bool { return f.list[i].mm < f.list[j].mm })
	for i := len(f.list) - 1; i >= 0; i-- {
		f.rank[f.list[i].unit] = i
	}
	s.findReaches(f)
	sort.SliceStable(f.units, func(i, j int) bool { return f.rank[f.units[i]] < f.rank[f.units[j]] })
	for _, ui := range f.units {
		f.d[ui] = s.start(ui, dir)
		f.d[ui] = s.clear(ui, f)
	}
	if !s.settle(f) {
		for _, ui := range f.units {
			if s.knownMembers(ui) > 1 {
				s.broken = append(s.broken, ui)
			}
		}
	} else if s.align {
		s.lineUp(f)
	}
	for _, ui := range f.units {
		u := &m.units[ui]
		u.y, u.set = dir*f.d[ui], true
		u.moved = f.d[ui] - s.truth(ui, dir)
	}
}

// flank is one side of the waterline in the making.
type flank struct {
	dir     int
	units   []int
	list    []member
	d, rank []int // of each unit: outward distance, place in list or -1
	reaches []reach
	pairs   []pair
}

// reach keeps a port far enough from the one it faces that the run between
// them need not turn back: d[out]+need ≥ d[in].
type reach struct{ out, in, need int }

// pair is a run between two side ports; it is straight when
// d[a]+ca == d[b]+cb.
type pair struct{ a, ca, b, cb int }

func (s *solver) findReaches(f *flank) {
	m := s.m
	for _, li := range s.links {
		l := &m.links[li]
		a, b := m.nodes[l.a].unit, m.nodes[l.b].unit
		if l.dead || l.flat || a == b || f.rank[a] < 0 || f.rank[b] < 0 {
			continue
		}
		na, nb := &m.nodes[l.a], &m.nodes[l.b]
		sa, sb := na.ports[l.pa].side, nb.ports[l.pb].side
		ca, cb := f.dir*(na.uy+na.at(l.pa).Y), f.dir*(nb.uy+nb.at(l.pb).Y)
		if sa <= Right && sb <= Right && sa != sb {
			f.pairs = append(f.pairs, pair{a, ca, b, cb})
		}
		la, oka := m.level(a) // a valve on its through-hull has no height of its own
		lb, okb := m.level(b)
		if !oka || !okb || na.kind == viaNode || nb.kind == viaNode {
			continue
		}
		// turn the pair so that a is the one farther out
		if abs(la) < abs(lb) {
			a, b, ca, cb, sa, sb = b, a, cb, ca, sb, sa
		}
		if abs(la) == abs(lb) {
			continue
		}
		inward, outward := Top, Bottom
		if f.dir < 0 {
			inward, outward = Bottom, Top
		}
		switch gap := 0; {
		case sa == inward && sb == outward:
			gap = 3
			fallthrough
		case sa == inward && sb <= Right || sa <= Right && sb == outward:
			f.reaches = append(f.reaches, reach{a, b, ca - cb - max(gap, 1)})
		}
	}
}

// settle moves units outward until everything holds; false if nothing can.
func (s *solver) settle(f *flank) bool {
	for pass := 0; s.order(f); pass++ {
		if pass > 200 || s.runaway(f) {
			return false
		}
	}
	return true
}

// lineUp moves a unit up to two units farther out where that makes a run
// straight and costs fewer bends than it makes.
func (s *solver) lineUp(f *flank) {
	bent := func() (n int) {
		for _, p := range f.pairs {
			if f.d[p.a]+p.ca != f.d[p.b]+p.cb {
				n++
			}
		}
		return n
	}
	now := bent()
	for round := 0; round < 2; round++ {
		for _, p := range f.pairs {
			by := f.d[p.b] + p.cb - f.d[p.a] - p.ca
			u := p.a
			if by < 0 {
				by, u = -by, p.b
			}
			if by == 0 || by > 2 {
				continue
			}
			was := append([]int(nil), f.d...)
			f.d[u] += by
			ok := s.settle(f)
			moved := 0
			for _, v := range f.units {
				moved += f.d[v] - was[v]
			}
			if then := bent(); ok && then < now && moved <= 4*by {
				now = then
			} else {
				copy(f.d, was)
			}
		}
	}
}

func (s *solver) knownMembers(ui int) int {
	k := 0
	for _, n := range s.m.units[ui].nodes {
		if s.m.nodes[n].level.Known {
			k++
		}
	}
	return k
}

func (s *solver) runaway(f *flank) bool {
	for _, ui := range f.units {
		if f.d[ui] > farthest+abs(s.start(ui, f.dir)) {
			return true
		}
	}
	return false
}

// truth is the outward distance of the unit's zero point by the scale alone.
func (s *solver) truth(ui, dir int) int {
	best, any := 0, false
	for _, ni := range s.m.units[ui].nodes {
		n := &s.m.nodes[ni]
		if !n.level.Known {
			continue
		}
		t := abs(scaled(n.level.MM, s.scale)) - dir*(n.uy+n.anchor)
		if !any || t > best {
			best, any = t, true
		}
	}
	return best
}

// start is the least outward distance: the true place, or clear of the
// waterline. A part that may straddle only needs its middle and its anchor on
// the right side.
func (s *solver) start(ui, dir int) int {
	u := &s.m.units[ui]
	d := s.truth(ui, dir)
	straddle := false
	for _, ni := range u.nodes {
		n := &s.m.nodes[ni]
		straddle = straddle || n.straddle
		if !n.level.Known {
			continue
		}
		d = max(d, 1-dir*(n.uy+n.anchor))
		if c := dir * (2*n.uy + n.h); 2*d+c < 1 {
			d = (2 - c) / 2
		}
	}
	if straddle {
		return d // clear sees to the rest
	}
	for _, list := range [][]Rect{u.boxes, u.names} {
		for _, r := range list {
			near := r.Y
			if dir < 0 {
				near = -(r.Y + r.H)
			}
			d = max(d, clearance-near)
		}
	}
	return d
}

// ashore tells whether the waterline would run through a name, along a box's
// edge, or along a run just where that leaves its port.
func (s *solver) ashore(ui, y int) bool {
	u := &s.m.units[ui]
	for _, r := range u.names {
		if y+r.Y < clearance && y+r.Y+r.H > -clearance {
			return true
		}
	}
	for _, r := range u.boxes {
		if y+r.Y == 0 || y+r.Y+r.H == 0 {
			return true
		}
	}
	for _, ni := range u.nodes {
		n := &s.m.nodes[ni]
		for pi, p := range n.ports {
			q := y + n.uy + n.at(pi).Y
			if p.side <= Right && q == 0 || p.side == Top && q == 1 || p.side == Bottom && q == -1 {
				return true
			}
		}
	}
	return false
}

// order makes one pass outward over the members and reports whether any moved.
func (s *solver) order(f *flank) bool {
	moved := false
	raise := func(ui, to int) {
		if to > f.d[ui] {
			f.d[ui], moved = to, true
		}
	}
	for i, a := range f.list {
		need := f.d[a.unit]
		for _, b := range f.list[:i] {
			if a.mm == b.mm {
				break
			}
			if a.unit == b.unit {
				continue // makeUnits has seen to the order in a stack
			}
			step := 0
			if a.mm-b.mm >= s.tier {
				step = 1
			}
			need = max(need, f.d[b.unit]+b.anchor+step-a.anchor)
			// the middles of what is drawn keep the order too
			if c := 100*f.d[b.unit] + b.centre - a.centre - leanSlack; c > 100*need {
				need = (c + 99) / 100
			}
		}
		raise(a.unit, need)
		raise(a.unit, s.clear(a.unit, f))
	}
	for _, r := range f.reaches {
		raise(r.out, f.d[r.in]-r.need)
	}
	return moved
}

// clear is the least distance, not under the present one, at which the unit
// touches no unit of its column that is placed before it.
func (s *solver) clear(ui int, f *flank) int {
	m := s.m
	v := f.d[ui]
	for again, guard := true, 0; again && guard < farthest; guard++ {
		again = false
		for s.ashore(ui, f.dir*v) && v < farthest {
			v++
			again = true
		}
		for _, o := range s.mates[ui] {
			if o == ui {
				continue
			}
			yo := 0
			if f.rank[o] >= 0 {
				if f.rank[o] > f.rank[ui] {
					continue
				}
				yo = f.dir * f.d[o]
			} else if m.units[o].set {
				yo = m.units[o].y
			} else {
				continue
			}
			for m.unitsTouch(ui, f.dir*v, o, yo) {
				v++
				again = true
			}
		}
	}
	return v
}

// loose places the units of unknown height beside their neighbours.
func (s *solver) loose(p *piece) {
	m := s.m
	var todo []int
	inside := map[int]bool{}
	for _, col := range p.cols {
		for _, u := range col {
			inside[u] = true
			if !m.units[u].set {
				todo = append(todo, u)
			}
		}
	}
	sort.Ints(todo)
	near := map[int][]int{}
	for _, li := range p.links {
		l := &m.links[li]
		if l.dead || l.flat {
			continue
		}
		a, b := m.nodes[l.a].unit, m.nodes[l.b].unit
		if a != b && inside[a] && inside[b] {
			near[a] = append(near[a], li)
			near[b] = append(near[b], li)
		}
	}
	for len(todo) > 0 {
		best, most := 0, -1
		for i, u := range todo {
			k := 0
			for _, li := range near[u] {
				if m.units[m.nodes[m.links[li].a].unit].set || m.units[m.nodes[m.links[li].b].unit].set {
					k++
				}
			}
			if k > most {
				best, most = i, k
			}
		}
		ui := todo[best]
		todo = append(todo[:best], todo[best+1:]...)
		s.beside(ui, near[ui])
	}
}

// beside puts a unit where its run to a placed neighbour is straight, or at the
// nearest free place to that.
func (s *solver) beside(ui int, links []int) {
	m := s.m
	u := &m.units[ui]
	want, weight, host := 0, -1, 0
	for _, li := range links {
		l := &m.links[li]
		a, pa, b, pb := l.a, l.pa, l.b, l.pb
		if m.nodes[a].unit != ui {
			a, pa, b, pb = b, pb, a, pa
		}
		if !m.units[m.nodes[b].unit].set {
			continue
		}
		o := &m.units[m.nodes[b].unit]
		py := o.y + m.nodes[b].uy + m.nodes[b].at(pb).Y
		own := m.nodes[a].uy + m.nodes[a].at(pa).Y
		y, w := py-own, 1
		sa, sb := m.nodes[a].ports[pa].side, m.nodes[b].ports[pb].side
		switch {
		case sa <= Right && sb <= Right:
			w = 3
		case sa == opposite(sb):
			y, w = py+max(4, narrowest(m.g.Runs[l.run].Labels)+2)*out(sb).Y-own, 2
		case sa == Top:
			y += 3
		case sa == Bottom:
			y -= 3
		case sb >= Top:
			y += 3 * out(sb).Y
		}
		if w > weight {
			want, weight, host = y, w, o.y+m.nodes[b].uy+m.nodes[b].h/2
		}
	}
	dir := -1
	if weight >= 0 && host > 0 {
		dir = 1
	}
	if n := &m.nodes[u.nodes[0]]; weight >= 0 && (n.kind == markNode || n.flips) {
		dir = -1 // a mark stands on either side of the waterline
		if 2*want+n.h > 0 {
			dir = 1
		}
	}
	if weight >= 0 && m.hangs(u) {
		dir = -1 // a loop, a filler, a sink stand over what they join
	}
	if weight < 0 { // nothing known in the whole system
		want = -4 - u.boxes[0].Y - u.boxes[0].H
	}
	for d := 0; d < farthest; d++ {
		for _, y := range [2]int{want + dir*d, want - dir*d} {
			if s.freeAt(ui, y, dir) {
				u.y, u.set = y, true
				return
			}
		}
	}
	u.y, u.set = want, true
}

// hangs tells whether a unit is one box with all its ports below.
func (m *model) hangs(u *unit) bool {
	n := &m.nodes[u.nodes[0]]
	if len(u.nodes) > 1 || len(n.ports) == 0 {
		return false
	}
	for _, p := range n.ports {
		if p.side != Bottom {
			return false
		}
	}
	return true
}

// freeAt tells whether a unit of unknown height fits at y, on the given side.
func (s *solver) freeAt(ui, y, dir int) bool {
	m := s.m
	u := &m.units[ui]
	for _, list := range [][]Rect{u.boxes, u.names} {
		for _, r := range list {
			if dir > 0 && y+r.Y < clearance || dir < 0 && y+r.Y+r.H > -clearance {
				return false
			}
		}
	}
	for _, o := range s.mates[ui] {
		if o != ui && m.units[o].set && m.unitsTouch(ui, y, o, m.units[o].y) {
			return false
		}
	}
	return true
}

// extent is the least and the greatest y of the pieces' boxes and names.
func (m *model) extent(pieces []*piece) (lo, hi int) {
	for _, p := range pieces {
		for _, ui := range p.units {
			u := &m.units[ui]
			for _, list := range [][]Rect{u.boxes, u.names} {
				for _, r := range list {
					lo, hi = min(lo, u.y+r.Y), max(hi, u.y+r.Y+r.H)
				}
			}
		}
	}
	return lo, hi
}
