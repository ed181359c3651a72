package layout

import "sort"

// lead is a port in use: the links on it, and which way each goes on.
type lead struct {
	port      int
	link, end []int
	up        []bool
}

const pitch = 2 // least distance of two verticals: 5 mm, or a label does not fit beside the wire

// leads gives the links on a box's ports their pins. A port with several links gets a landing bar with one landing for each; a port
// that has to make room gets a short one too; wires from side ports are led round to the top or bottom.
func (l *ladder) leads(v int, b *Box, used [][]lead) {
	for s := Top; s <= Right; s++ {
		if len(used[s]) > 0 {
			l.sideLeads(v, b, s, used[s])
		}
	}
	l.sideElbows(v, b)
	l.relate(v)
}

// sideLeads places the landings of one side. Along is the axis of the side; out grows away from the box.
func (l *ladder) sideLeads(v int, b *Box, s Side, leads []lead) {
	sort.SliceStable(leads, func(i, j int) bool { return b.Ports[leads[i].port].Offset < b.Ports[leads[j].port].Offset })
	n := len(leads)
	wishes := make([][]wish, n)
	gap := make([]int, max(n-1, 0))
	for i, d := range leads {
		m := len(d.link)
		at := b.Ports[d.port].Offset
		weight := m
		if m == 1 {
			weight = 1000
		}
		wishes[i] = []wish{{at - (m - 1), weight}}
		if i+1 < n {
			g := pitch
			if m == 1 && len(leads[i+1].link) == 1 {
				g = min(g, max(1, b.Ports[leads[i+1].port].Offset-at))
			}
			gap[i] = 2*(m-1) + g
		}
	}
	start := settle(wishes, gap)
	lo, hi := make([]int, n), make([]int, n) // hull of bar and stem
	level := make([]int, n)
	for i, d := range leads {
		at := b.Ports[d.port].Offset
		last := start[i] + 2*(len(d.link)-1)
		lo[i], hi[i] = min(at, start[i]), max(at, last)
		if len(d.link) > 1 || start[i] != at {
			level[i] = 1
		}
	}
	for range n { // the bar that lies over another's stem lies farther out
		for i := range n {
			for j := i + 1; j < n; j++ {
				if level[i] == 0 || level[j] == 0 || hi[i] < lo[j] {
					continue
				}
				if start[j] <= b.Ports[leads[i].port].Offset {
					level[j] = max(level[j], level[i]+1)
				} else {
					level[i] = max(level[i], level[j]+1)
				}
			}
		}
	}
	it := &l.items[v]
	base := 0 // landings of a side port that reach past the box keep clear of those above and below
	for i := range leads {
		if s >= Left && level[i] > 0 && (lo[i] <= 0 || hi[i] >= b.H) {
			base = it.ext[s]
		}
	}
	for i := range level {
		if level[i] > 0 {
			level[i] += base
		}
	}
	place := func(along, out int) Point {
		switch s {
		case Top:
			return Point{along, -out}
		case Bottom:
			return Point{along, b.H + out}
		case Left:
			return Point{-out, along}
		}
		return Point{b.W + out, along}
	}
	for i, d := range leads {
		p := b.Ports[d.port]
		first := len(l.pins)
		for k := range d.link {
			along := start[i] + 2*k
			q := pin{link: d.link[k], end: d.end[k], up: d.up[k], off: along}
			q.lead = []Point{place(along, level[i])}
			l.links[d.link[k]].pins[d.end[k]] = l.addPin(v, q)
		}
		it = &l.items[v]
		it.ext[s] = max(it.ext[s], level[i])
		switch s {
		case Top, Bottom:
			it.ext[Left] = max(it.ext[Left], -lo[i])
			it.ext[Right] = max(it.ext[Right], hi[i]-b.W)
		default:
			it.ext[Top] = max(it.ext[Top], -lo[i])
			it.ext[Bottom] = max(it.ext[Bottom], hi[i]-b.H)
		}
		if level[i] > 0 {
			it.landings = append(it.landings, landing{port: p.Name, port0: place(p.Offset, 0), stem: place(p.Offset, level[i]),
				bar: [2]Point{place(lo[i], level[i]), place(hi[i], level[i])}, side: s, pinsFirst: first, n: len(d.link)})
		}
	}
}

// sideElbows leads the wires from side ports out and then up or down along the box. Each gets a column of its own; of those that
// turn the same way the one nearest that end lies innermost, so that they do not cross.
func (l *ladder) sideElbows(v int, b *Box) {
	it := &l.items[v]
	for _, s := range []Side{Left, Right} {
		var ups, downs []int
		for _, p := range it.pins {
			q := &l.pins[p]
			port := l.port(p)
			if b.Ports[port].Side != s {
				continue
			}
			if q.up {
				ups = append(ups, p)
			} else {
				downs = append(downs, p)
			}
		}
		sort.SliceStable(ups, func(i, j int) bool { return l.pins[ups[i]].lead[0].Y < l.pins[ups[j]].lead[0].Y })
		sort.SliceStable(downs, func(i, j int) bool { return l.pins[downs[i]].lead[0].Y > l.pins[downs[j]].lead[0].Y })
		out := it.ext[s]
		for _, p := range append(ups, downs...) {
			q := &l.pins[p]
			out += pitch
			x := -out
			if s == Right {
				x = b.W + out
			}
			q.off = x
			q.lead = append(q.lead, Point{x, q.lead[0].Y})
		}
		it.ext[s] = out
	}
}

// port is the index of the port a box pin belongs to.
func (l *ladder) port(p int) int {
	q := &l.pins[p]
	name := l.end(q.link, q.end).Port
	for i, c := range l.g.Boxes[l.items[q.item].ref].Ports {
		if c.Name == name {
			return i
		}
	}
	return -1
}

// relate numbers a box's pins from left to right on either side; the pins of one landing above or below share a number, for their
// links may change places.
func (l *ladder) relate(v int) {
	it := &l.items[v]
	for _, up := range []bool{true, false} {
		var ps []int
		for _, p := range it.pins {
			if l.pins[p].up == up {
				ps = append(ps, p)
			}
		}
		sort.SliceStable(ps, func(i, j int) bool { return l.pins[ps[i]].off < l.pins[ps[j]].off })
		rel := 0
		for i, p := range ps {
			if i > 0 && !l.interchangeable(p, ps[i-1]) {
				rel++
			}
			l.pins[p].rel = rel
		}
	}
}

// interchangeable tells whether two pins of a box lie on one landing above or below it.
func (l *ladder) interchangeable(a, b int) bool {
	for _, d := range l.items[l.pins[a].item].landings {
		if d.side <= Bottom && a >= d.pinsFirst && a < d.pinsFirst+d.n && b >= d.pinsFirst && b < d.pinsFirst+d.n {
			return true
		}
	}
	return false
}
