package waterlayout

import (
	"slices"
	"strings"
)

// Prices of what polishing weighs. Crossings are worst, then corners; a run
// against the flow and a wider piece must gain something.
const (
	failPrice   = 1000
	crossWeight = 60
	bendWeight  = 10
	backWeight  = 25
	strayWeight = 25
	// fineBends is how many tenths of a corner per run leave nothing to polish.
	fineBends = 15
	// tries bounds the arrangements looked at for one piece, and for a layout.
	pieceTries  = 120
	patience    = 2 // drafts that a polished piece may lack room in
	quickRounds = 6 // of settling conflicts in an arrangement on trial
	layoutTries = 400
)

// verdict is how a piece reads when its runs are drawn.
type verdict struct {
	price, crossings, bends, runs int
	strays                        int   // outlets in the side with something beyond them
	bad                           []int // links that cross or wind, the worst first
	ways                          map[int][]Point
}

func (v verdict) fine() bool {
	return v.crossings == 0 && v.strays == 0 && 10*v.bends <= fineBends*v.runs
}

// strayOutlets are the units in the side of the hull with something of their piece
// beyond them, where the hull cannot run.
func (m *model) strayOutlets(p *piece) map[int]bool {
	var out map[int]bool
	for _, ui := range p.units {
		u := &m.units[ui]
		if !m.inSide(u) {
			continue
		}
		axis := u.x + m.measure(u)
		for _, o := range p.units {
			if v := &m.units[o]; !m.inSide(v) && v.x+v.r > axis {
				if out == nil {
					out = map[int]bool{}
				}
				out[ui] = true
				break
			}
		}
	}
	return out
}

// polish looks for better columns and ports for every piece of a band whose runs
// cross or wind: one part beside its neighbour, one branch of a tee for another.
// The band keeps its place, its scale and its room.
func (d *draft) polish(b *strip, avail, room int, e *effort, opt *options) {
	for i, p := range b.pieces {
		if opt.polished[d.m.signature(p)] {
			continue
		}
		now := d.judge(b, p, e)
		for n := 0; n < pieceTries && !now.fine() && e.left(); {
			better := false
			for _, mv := range d.moves(p, now) {
				if n++; n > pieceTries || !e.left() {
					break
				}
				e.tries--
				was := d.m.save(p)
				if !mv.do() || !d.settle(b, i, avail, room, opt) {
					d.m.restore(p, was)
					continue
				}
				if d.promising(b, p, e, now) {
					if v := d.judge(b, p, e); v.price < now.price {
						now, better = v, true
						break
					}
				}
				d.m.restore(p, was)
			}
			if !better {
				break
			}
		}
		d.settle(b, i, avail, room, opt)
		opt.keep(d.m, p)
	}
}

// settle sets x and heights again after a change of piece i; it reports whether
// the band still fits.
func (d *draft) settle(b *strip, i, avail, room int, opt *options) bool {
	d.m.spaced(b.pieces[i], opt)
	width := -systemGap
	for k, p := range b.pieces {
		b.at[k] = width + systemGap
		width += systemGap + p.width
	}
	if width > avail {
		return false
	}
	b.width = width
	broken := d.stand(b, b.scale, b.tier, true)
	if len(broken) == 0 && b.height() > room {
		broken = d.stand(b, b.scale, b.tier, false)
	}
	return len(broken) == 0 && b.height() <= room
}

// arrangement is what a move may change of a piece.
type arrangement struct {
	cols   [][]int
	hosts  []int // of the piece's units
	ports  []linkPorts
	sides  []Side // of the piece's marks
	turned []bool // of the piece's units: left and right exchanged
}

type linkPorts struct{ li, pa, pb int }

func (m *model) save(p *piece) arrangement {
	a := arrangement{}
	for _, c := range p.cols {
		a.cols = append(a.cols, slices.Clone(c))
	}
	for _, u := range p.units {
		a.hosts = append(a.hosts, m.units[u].host)
		a.turned = append(a.turned, m.nodes[m.units[u].nodes[0]].mirrored)
		if n := m.units[u].nodes[0]; m.nodes[n].kind == markNode || m.nodes[n].turns() {
			a.sides = append(a.sides, m.nodes[n].ports[0].side)
		}
	}
	for _, li := range p.links {
		a.ports = append(a.ports, linkPorts{li, m.links[li].pa, m.links[li].pb})
	}
	return a
}

func (m *model) restore(p *piece, a arrangement) {
	p.cols = a.cols
	p.extra = make([]int, len(p.cols))
	k := 0
	for i, u := range p.units {
		m.units[u].host = a.hosts[i]
		if m.nodes[m.units[u].nodes[0]].mirrored != a.turned[i] {
			m.mirror(u)
		}
		if n := m.units[u].nodes[0]; m.nodes[n].kind == markNode || m.nodes[n].turns() {
			m.nodes[n].ports[0].side = a.sides[k]
			k++
		}
	}
	for _, l := range a.ports {
		m.links[l.li].pa, m.links[l.li].pb = l.pa, l.pb
	}
}

// turns tells whether a box is a mark of the caller's, which may lie either way.
func (n *node) turns() bool { return n.flips && len(n.ports) == 1 }

// linksOf are the links that are drawn with a piece.
func (m *model) linksOf(p *piece) (out []int) {
	inside := map[int]bool{}
	for _, u := range p.units {
		inside[u] = true
	}
	for li := range m.links {
		if l := &m.links[li]; !l.dead && inside[m.nodes[l.a].unit] {
			out = append(out, li)
		}
	}
	return out
}

// promising tells whether the piece as it stands may read better than it did:
// only the runs that the change concerns are drawn anew.
func (d *draft) promising(b *strip, p *piece, e *effort, now verdict) bool {
	gr := d.m.ground(p, b.lo-bandMargin, b.height(), e)
	if !gr.retrace(now.ways, now.price+crossWeight-p.width/2) {
		return false
	}
	return d.weigh(gr, p).price < now.price
}

// judge draws the runs of a piece as it stands.
func (d *draft) judge(b *strip, p *piece, e *effort) verdict {
	gr := d.m.ground(p, b.lo-bandMargin, b.height(), e)
	gr.route()
	v := d.weigh(gr, p)
	v.ways = gr.ways()
	return v
}

func (d *draft) weigh(gr *grid, p *piece) verdict {
	m := d.m
	col := p.columnOf()
	v := verdict{runs: len(gr.wires)}
	stray := m.strayOutlets(p)
	type score struct{ li, n int }
	var list []score
	for i := range gr.wires {
		w := &gr.wires[i]
		l := &m.links[w.link]
		crossings, bends := gr.count(w)
		n := crossWeight*crossings/2 + bendWeight*max(0, bends-1)
		if w.failed {
			v.price += failPrice
			n += failPrice
		}
		if stray[m.nodes[l.a].unit] || stray[m.nodes[l.b].unit] {
			v.price += strayWeight
			v.strays++
			n += strayWeight
		}
		v.price += len(w.path) / 4
		v.crossings += crossings
		v.bends += bends
		if a, c := col[m.nodes[l.a].unit], col[m.nodes[l.b].unit]; l.flow == Forward && a > c || l.flow == Backward && c > a {
			v.price += backWeight
		}
		if n > 0 {
			list = append(list, score{w.link, n})
		}
	}
	v.crossings /= 2
	v.price += crossWeight*v.crossings + bendWeight*v.bends + p.width/2
	slices.SortStableFunc(list, func(x, y score) int { return y.n - x.n })
	for _, s := range list {
		v.bad = append(v.bad, s.li)
	}
	return v
}

// count is the crossings and the corners of a wire.
func (g *grid) count(w *wire) (crossings, bends int) {
	for i, c := range w.path {
		if i == 0 || i == len(w.path)-1 {
			continue
		}
		if w.path[i+1]-c != c-w.path[i-1] {
			bends++
		} else if k := &g.cells[c]; k.across > 0 && k.along > 0 {
			crossings++
		}
	}
	return crossings, bends
}

// move is one change of an arrangement; it reports whether it changed anything.
type move struct{ do func() bool }

// moves lists the changes worth a try, those of the worst runs first.
func (d *draft) moves(p *piece, v verdict) []move {
	m := d.m
	col := p.columnOf()
	var out []move
	seen := map[[2]int]bool{}
	add := func(u, at int, own bool) {
		k := [2]int{u, 2 * at}
		if own {
			k[1]++
		}
		if at < 0 || at > len(p.cols) || !own && (at >= len(p.cols) || at == col[u]) || seen[k] {
			return
		}
		seen[k] = true
		out = append(out, move{func() bool { return m.shift(p, u, at, own) }})
	}
	for _, li := range v.bad {
		l := &m.links[li]
		for _, e := range [2][3]int{{l.a, l.pa, l.b}, {l.b, l.pb, l.a}} {
			if m.nodes[e[0]].swaps {
				out = append(out, d.swaps(p, e[0], e[1])...)
			}
			if u := m.nodes[e[0]].unit; m.nodes[e[0]].mirrors && len(m.units[u].nodes) == 1 && !seen[[2]int{u, -1}] {
				seen[[2]int{u, -1}] = true
				out = append(out, move{func() bool { m.mirror(u); return true }})
				if m.hasLeaves(p, u) {
					out = append(out, move{func() bool { return m.turnRound(p, u) }})
				}
			}
		}
		for _, e := range [2][2]int{{l.a, l.b}, {l.b, l.a}} {
			n, o := &m.nodes[e[0]], &m.nodes[e[1]]
			u, c, oc := n.unit, col[n.unit], col[o.unit]
			if n.kind == markNode || n.turns() {
				ni := e[0]
				for _, right := range []bool{true, false} {
					out = append(out, move{func() bool { return m.turn(p, ni, oc, right, true) }})
				}
				for _, right := range []bool{true, false} {
					out = append(out, move{func() bool { return m.turn(p, ni, oc, right, false) }})
				}
				continue
			}
			for _, at := range []int{oc, oc + 1, c, c + 1, c - 1, c + 2} {
				add(u, at, true)
			}
			for _, at := range []int{oc, c - 1, c + 1} {
				add(u, at, false)
			}
		}
	}
	return out
}

// shift moves a unit and its guests into column at, or into a column of their
// own before it.
func (m *model) shift(p *piece, u, at int, own bool) bool {
	group := []int{u}
	for _, g := range p.units {
		if m.units[g].host == u {
			group = append(group, g)
		}
	}
	m.units[u].host = -1
	var cols [][]int
	for c, list := range p.cols {
		if own && c == at {
			cols = append(cols, group)
		}
		rest := slices.DeleteFunc(slices.Clone(list), func(x int) bool { return slices.Contains(group, x) })
		if !own && c == at {
			rest = append(rest, group...)
		}
		if len(rest) > 0 {
			cols = append(cols, rest)
		}
	}
	if own && at == len(p.cols) {
		cols = append(cols, group)
	}
	if slices.EqualFunc(cols, p.cols, slices.Equal[[]int]) {
		return false
	}
	p.cols, p.extra = cols, make([]int, len(cols))
	return true
}

// turn puts a continuation mark beside the column of what it belongs to, at its
// right or at its left: in a column of its own, or in the one that is there.
func (m *model) turn(p *piece, ni, at int, right, own bool) bool {
	n := &m.nodes[ni]
	side := Right
	switch {
	case right:
		side, at = Left, at+1
	case !own:
		at--
	}
	if !own && (at < 0 || at >= len(p.cols)) {
		return false
	}
	same := n.ports[0].side == side
	n.ports[0].side = side
	moved := m.shift(p, n.unit, at, own)
	return moved || !same
}

// leaves are the units that hang on nothing but a unit, in other columns than its.
func (m *model) leaves(p *piece, u int) (out []int) {
	col := p.columnOf()
	near, other := map[int]bool{}, map[int]bool{}
	for _, li := range p.links {
		l := &m.links[li]
		a, b := m.nodes[l.a].unit, m.nodes[l.b].unit
		for _, e := range [2][2]int{{a, b}, {b, a}} {
			switch {
			case a == b:
			case e[1] == u:
				near[e[0]] = true
			default:
				other[e[0]] = true
			}
		}
	}
	for _, v := range p.units {
		if near[v] && !other[v] && col[v] != col[u] {
			out = append(out, v)
		}
	}
	return out
}

func (m *model) hasLeaves(p *piece, u int) bool { return len(m.leaves(p, u)) > 0 }

// turnRound mirrors a unit and sets what hangs on it alone on its other side.
func (m *model) turnRound(p *piece, u int) bool {
	m.mirror(u)
	for _, v := range m.leaves(p, u) {
		col := p.columnOf()
		at := col[u]
		if col[v] < col[u] {
			at++
		}
		m.shift(p, v, at, true)
	}
	return true
}

// mirror exchanges left and right of a unit of one box, its name included.
func (m *model) mirror(u int) {
	n := &m.nodes[m.units[u].nodes[0]]
	n.mirrored = !n.mirrored
	for i, p := range n.ports {
		q := Port{Side: p.side, Offset: p.off}.mirror(n.w)
		n.ports[i].side, n.ports[i].off = q.Side, q.Offset
	}
	for name, span := range n.landings {
		if s := n.sideOf(name); s == Top || s == Bottom {
			n.landings[name] = [2]int{n.w - span[1], n.w - span[0]}
		}
	}
	if n.nameAt.W > 0 {
		n.nameAt.X = n.w - n.nameAt.X - n.nameAt.W
		n.nameSide = n.nameSide.mirror()
	}
	m.units[u].boxes, m.units[u].names = m.rects(&m.units[u])
}

func (n *node) sideOf(name string) Side {
	for _, p := range n.ports {
		if p.name == name {
			return p.side
		}
	}
	return Left
}

func (s Side) mirror() Side {
	if s <= Right {
		return opposite(s)
	}
	return s
}

// mirror is the port on a box of width w whose left and right are exchanged.
func (p Port) mirror(w int) Port {
	if p.Side == Top || p.Side == Bottom {
		p.Offset = w - p.Offset
	}
	p.Side = p.Side.mirror()
	return p
}

// swaps lets two runs of a box change places.
func (d *draft) swaps(p *piece, ni, port int) (out []move) {
	m := d.m
	for other := range m.nodes[ni].ports {
		if other == port {
			continue
		}
		out = append(out, move{func() bool {
			for _, li := range p.links {
				l := &m.links[li]
				for _, e := range [2]struct {
					node int
					p    *int
				}{{l.a, &l.pa}, {l.b, &l.pb}} {
					if e.node != ni {
						continue
					}
					switch *e.p {
					case port:
						*e.p = other
					case other:
						*e.p = port
					}
				}
			}
			return true
		}})
	}
	return out
}

// signature names a piece by what is in it, so that its arrangement survives a
// fresh placement.
func (m *model) signature(p *piece) string {
	var ids []string
	for _, u := range p.units {
		ids = append(ids, m.nodes[m.units[u].nodes[0]].id)
	}
	slices.Sort(ids)
	return strings.Join(ids, "\n")
}

// kept is a polished arrangement by the names of what it holds: units and links
// may be counted otherwise in another draft.
type kept struct {
	arrangement
	cols  [][]string // the first boxes of the units
	units []string   // in the order of hosts and turned
	hosts []string   // empty without one
	links []linkName // in the order of ports
}

type linkName struct{ run, a, b string }

func (m *model) linkName(li int) linkName {
	l := &m.links[li]
	return linkName{m.g.Runs[l.run].ID, m.nodes[l.a].id, m.nodes[l.b].id}
}

func (m *model) unitName(u int) string { return m.nodes[m.units[u].nodes[0]].id }

// keep notes a piece's arrangement.
func (o *options) keep(m *model, p *piece) {
	k := kept{arrangement: m.save(p)}
	for _, c := range p.cols {
		var names []string
		for _, u := range c {
			names = append(names, m.unitName(u))
		}
		k.cols = append(k.cols, names)
	}
	for _, u := range p.units {
		k.units = append(k.units, m.unitName(u))
		host := ""
		if h := m.units[u].host; h >= 0 {
			host = m.unitName(h)
		}
		k.hosts = append(k.hosts, host)
	}
	for _, l := range k.ports {
		k.links = append(k.links, m.linkName(l.li))
	}
	s := m.signature(p)
	o.polished[s], o.arranged[s] = true, k
}

// blame gives a polished arrangement up where more room does not help.
func (o *options) blame(signature string) {
	if o.trouble[signature]++; o.trouble[signature] >= patience {
		delete(o.arranged, signature)
	}
}

// recall applies what an earlier draft found, if the piece is still the same.
func (o *options) recall(m *model, p *piece) bool {
	k, ok := o.arranged[m.signature(p)]
	if !ok || len(k.units) != len(p.units) {
		return false
	}
	unit, host := map[string]int{"": -1}, map[string]int{}
	for i, u := range p.units {
		unit[m.unitName(u)] = u
		host[k.units[i]] = i
	}
	a := arrangement{sides: k.sides}
	for _, c := range k.cols {
		var list []int
		for _, name := range c {
			u, ok := unit[name]
			if !ok {
				return false
			}
			list = append(list, u)
		}
		a.cols = append(a.cols, list)
	}
	for i, u := range p.units {
		j, ok := host[m.unitName(u)]
		if !ok || j != i { // another order of units: the sides would not match
			return false
		}
		h, ok := unit[k.hosts[j]]
		if !ok {
			return false
		}
		a.hosts, a.turned = append(a.hosts, h), append(a.turned, k.turned[j])
	}
	link := map[linkName]linkPorts{}
	for j, name := range k.links {
		link[name] = k.ports[j]
	}
	for _, li := range p.links {
		q, ok := link[m.linkName(li)]
		l := &m.links[li]
		if !ok || q.pa >= len(m.nodes[l.a].ports) || q.pb >= len(m.nodes[l.b].ports) {
			return false
		}
		a.ports = append(a.ports, linkPorts{li, q.pa, q.pb})
	}
	m.restore(p, a)
	return true
}
