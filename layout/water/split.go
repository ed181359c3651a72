package waterlayout

import "fmt"

// prices of cutting a system
const (
	piecePrice = 60
	cutPrice   = 10
)

// split cuts a system that is wider than avail between its columns. Every run
// over a cut ends in a continuation mark of the run's name on both sides.
func (m *model) split(p *piece, avail int) []*piece {
	for target := avail; ; target -= max(2, avail/12) {
		cuts := m.cuts(p, target)
		if target <= avail/3 || m.cutWidth(p, cuts) <= avail {
			return m.cutAt(p, cuts)
		}
	}
}

// spans are the left and right ends of a piece's columns as they stand.
func (m *model) spans(p *piece) (lo, hi []int) {
	for _, col := range p.cols {
		l, r := 1<<30, -1<<30
		for _, u := range col {
			l, r = min(l, m.units[u].x+m.units[u].l), max(r, m.units[u].x+m.units[u].r)
		}
		lo, hi = append(lo, l), append(hi, r)
	}
	return lo, hi
}

// crossing counts the runs over each gap between columns.
func (m *model) crossing(p *piece) []int {
	col := p.columnOf()
	over := make([]int, len(p.cols)+1)
	for li := range m.links {
		l := &m.links[li]
		if l.dead || m.system[l.a] != p.system {
			continue
		}
		a, b := col[m.nodes[l.a].unit], col[m.nodes[l.b].unit]
		for c := min(a, b); c < max(a, b); c++ {
			over[c+1]++
		}
	}
	return over
}

func (p *piece) columnOf() map[int]int {
	col := map[int]int{}
	for c, units := range p.cols {
		for _, u := range units {
			col[u] = c
		}
	}
	return col
}

func (g *Graph) mark() Size {
	if g.Mark.W > 0 && g.Mark.H > 0 {
		return g.Mark
	}
	return Size{10, 2}
}

// cuts finds the cheapest cuts such that each share, with its marks, is at most
// target wide: the first columns of the shares after the first.
func (m *model) cuts(p *piece, target int) []int {
	lo, hi := m.spans(p)
	over := m.crossing(p)
	n := len(p.cols)
	side := m.g.mark().W + channelMin + 2
	best := make([]int, n+1)
	prev := make([]int, n+1)
	for j := 1; j <= n; j++ {
		best[j] = 1 << 30
		for i := j - 1; i >= 0; i-- {
			w := hi[j-1] - lo[i]
			if i > 0 {
				w += side
			}
			if j < n {
				w += side
			}
			if w > target && i < j-1 {
				break
			}
			if c := best[i] + piecePrice + cutPrice*over[j]; c < best[j] {
				best[j], prev[j] = c, i
			}
		}
	}
	var cuts []int
	for j := prev[n]; j > 0; j = prev[j] {
		cuts = append([]int{j}, cuts...)
	}
	return cuts
}

// cutWidth is the greatest width of a share, marks and their channels included.
func (m *model) cutWidth(p *piece, cuts []int) int {
	lo, hi := m.spans(p)
	over := m.crossing(p)
	ends := append(append([]int{0}, cuts...), len(p.cols))
	widest := 0
	for k := 0; k+1 < len(ends); k++ {
		w := hi[ends[k+1]-1] - lo[ends[k]]
		for _, c := range []int{ends[k], ends[k+1]} {
			if c > 0 && c < len(p.cols) {
				w += m.g.mark().W + max(channelMin, 3+over[c])
			}
		}
		widest = max(widest, w)
	}
	return widest
}

func (m *model) cutAt(p *piece, cuts []int) []*piece {
	if len(cuts) == 0 {
		return []*piece{p}
	}
	ends := append(append([]int{0}, cuts...), len(p.cols))
	shares := make([]*piece, 0, len(ends)-1)
	share := map[int]int{}
	for k := 0; k+1 < len(ends); k++ {
		q := &piece{system: p.system}
		for c := ends[k]; c < ends[k+1]; c++ {
			q.cols = append(q.cols, p.cols[c])
			q.units = append(q.units, p.cols[c]...)
			for _, u := range p.cols[c] {
				share[u] = k
			}
		}
		shares = append(shares, q)
	}
	left, right := make([][]int, len(shares)), make([][]int, len(shares))
	count := len(m.links)
	for li := 0; li < count; li++ {
		l := m.links[li]
		if l.dead || m.system[l.a] != p.system {
			continue
		}
		ka, kb := share[m.nodes[l.a].unit], share[m.nodes[l.b].unit]
		if ka == kb {
			continue
		}
		m.links[li].dead = true
		ma := m.addMark(l.run, p.system, kb > ka)
		mb := m.addMark(l.run, p.system, ka > kb)
		m.links = append(m.links,
			link{run: l.run, a: l.a, pa: l.pa, b: ma, pb: 0, flow: l.flow},
			link{run: l.run, a: mb, pa: 0, b: l.b, pb: l.pb, flow: l.flow})
		for _, e := range [2]struct {
			k, other, node int
		}{{ka, kb, ma}, {kb, ka, mb}} {
			u := m.nodes[e.node].unit
			shares[e.k].units = append(shares[e.k].units, u)
			if e.other > e.k {
				right[e.k] = append(right[e.k], u)
			} else {
				left[e.k] = append(left[e.k], u)
			}
		}
	}
	for k, q := range shares {
		if len(left[k]) > 0 {
			q.cols = append([][]int{left[k]}, q.cols...)
		}
		if len(right[k]) > 0 {
			q.cols = append(q.cols, right[k])
		}
		q.extra = make([]int, len(q.cols))
	}
	return shares
}

// addMark makes a continuation mark at the right end of a share (or the left)
// and returns its node.
func (m *model) addMark(run, system int, atRight bool) int {
	size := m.g.mark()
	side := Right
	if atRight {
		side = Left
	}
	ref := m.g.Runs[run].ID
	n := node{
		kind: markNode, id: m.freeID(ref), ref: ref, w: size.W, h: size.H, anchor: size.H / 2,
		ports: []port{{"mark", side, size.H / 2, true}}, run: run, unit: len(m.units),
	}
	m.nodes = append(m.nodes, n)
	m.system = append(m.system, system)
	u := unit{nodes: []int{len(m.nodes) - 1}, host: -1}
	u.boxes, u.names = m.rects(&u)
	m.units = append(m.units, u)
	return len(m.nodes) - 1
}

func (m *model) freeID(run string) string {
	for k := 1; ; k++ {
		id := fmt.Sprintf("%s~%d", run, k)
		taken := false
		for i := range m.nodes {
			taken = taken || m.nodes[i].id == id
		}
		if !taken {
			return id
		}
	}
}
