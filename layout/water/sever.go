package waterlayout

import (
	"slices"
	"strconv"
)

// A system too wide for the page is first cut at a hose or two where it hangs
// together least, so that each share is arranged by its own flow; only what is
// still too wide is cut between its columns.

const (
	seamSaving  = 6 // a run that the caller holds for a natural place to cut
	trials      = 10
	mostSevered = 3 // runs over one cut
)

// severed are the runs to cut by what the system holds, for later drafts.
type severed map[string][]linkName

// sever cuts the systems that are wider than avail.
func (m *model) sever(push, avail int, opt *options) {
	for s := 0; s < len(m.systems); s++ {
		p := m.arrange(s, push, opt.variant)
		m.spaced(p, opt)
		if p.width <= avail {
			continue
		}
		key := m.signature(p) + "\n" + strconv.Itoa(avail)
		names, known := opt.severed[key]
		var cut []int
		if known {
			cut = m.linksNamed(names)
		} else if cut = m.whereToCut(p, push, avail, opt); true {
			for _, li := range cut {
				names = append(names, m.linkName(li))
			}
			opt.severed[key] = names
		}
		if len(cut) == 0 {
			continue
		}
		for _, li := range cut {
			m.cutLink(li)
		}
		m.findSystems()
		s-- // what is there now
	}
}

func (m *model) linksNamed(names []linkName) (out []int) {
	for _, n := range names {
		for li := range m.links {
			if !m.links[li].dead && m.linkName(li) == n {
				out = append(out, li)
				break
			}
		}
	}
	if len(out) < len(names) {
		return nil
	}
	return out
}

// cutLink ends a link in a mark on both sides: at the right of where the water
// comes from, at the left of where it goes.
func (m *model) cutLink(li int) {
	l := m.links[li]
	m.links[li].dead = true
	back := l.flow == Backward
	ma, mb := m.addMark(l.run, m.system[l.a], !back), m.addMark(l.run, m.system[l.a], back)
	hint := map[bool]Hint{true: Outlet, false: Inlet}
	m.nodes[ma].hint, m.nodes[mb].hint = hint[!back], hint[back]
	m.links = append(m.links,
		link{run: l.run, a: l.a, pa: l.pa, b: ma, pb: 0, flow: l.flow},
		link{run: l.run, a: mb, pa: 0, b: l.b, pb: l.pb, flow: l.flow})
}

// cutting is a set of links whose loss parts a system.
type cutting struct {
	links []int
	price int
}

// whereToCut finds the links to cut a piece at; none where every cut is as dear
// as one between columns.
func (m *model) whereToCut(p *piece, push, avail int, opt *options) []int {
	list := m.cuttings(p)
	total := len(p.units)
	for i := range list {
		c := &list[i]
		for _, li := range c.links {
			c.price += cutPrice
			if m.g.Runs[m.links[li].run].Seam {
				c.price -= seamSaving
			}
		}
		c.price = 20*c.price + 100*abs(total-2*m.sizeWithout(p, c.links))/total
	}
	slices.SortStableFunc(list, func(a, b cutting) int { return a.price - b.price })
	var best []int
	least := 1 << 30
	for i, c := range list {
		if i == trials {
			break
		}
		if price := m.tryCut(p, c, push, avail, opt); price < least {
			best, least = c.links, price
		}
	}
	return best
}

// sizeWithout counts the units that hang together with the first one once the
// links are gone; all of them where the piece does not fall apart.
func (m *model) sizeWithout(p *piece, gone []int) int {
	near := map[int][]int{}
	for li := range m.links {
		l := &m.links[li]
		if !l.dead && m.system[l.a] == p.system && !slices.Contains(gone, li) {
			a, b := m.nodes[l.a].unit, m.nodes[l.b].unit
			near[a], near[b] = append(near[a], b), append(near[b], a)
		}
	}
	seen := map[int]bool{p.units[0]: true}
	todo := []int{p.units[0]}
	for len(todo) > 0 {
		u := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		for _, v := range near[u] {
			if !seen[v] {
				seen[v] = true
				todo = append(todo, v)
			}
		}
	}
	return len(seen)
}

// cuttings lists the links that hold a piece together alone, and those over each
// gap between its columns where they are few. Both shares hold two units or more.
func (m *model) cuttings(p *piece) (out []cutting) {
	add := func(links []int) {
		for _, c := range out {
			if slices.Equal(c.links, links) {
				return
			}
		}
		if n := m.sizeWithout(p, links); n < 2 || len(p.units)-n < 2 {
			return
		}
		out = append(out, cutting{links: links})
	}
	may := func(li int) bool {
		l := &m.links[li]
		return !l.dead && !l.flat && m.system[l.a] == p.system && m.nodes[l.a].kind == partNode && m.nodes[l.b].kind != markNode &&
			m.nodes[l.a].unit != m.nodes[l.b].unit
	}
	for li := range m.links {
		if may(li) {
			add([]int{li})
		}
	}
	col := p.columnOf()
	for c := 1; c < len(p.cols); c++ {
		var over []int
		runs := map[int]bool{}
		ok := true
		for li := range m.links {
			l := &m.links[li]
			if l.dead || m.system[l.a] != p.system {
				continue
			}
			if a, b := col[m.nodes[l.a].unit], col[m.nodes[l.b].unit]; min(a, b) < c && max(a, b) >= c {
				ok = ok && may(li) && !runs[l.run]
				runs[l.run] = true
				over = append(over, li)
			}
		}
		if ok && len(over) > 1 && len(over) <= mostSevered {
			add(over)
		}
	}
	return out
}

// tryCut prices a cut by how the shares come out: how often they must be cut again,
// the marks, the width.
func (m *model) tryCut(p *piece, c cutting, push, avail int, opt *options) int {
	for _, li := range c.links {
		m.links[li].dead = true
	}
	m.findSystems()
	parts := map[int]bool{}
	price := 0
	side := m.g.mark().W + channelMin + 2
	for _, u := range p.units {
		s := m.system[m.units[u].nodes[0]]
		if parts[s] {
			continue
		}
		parts[s] = true
		q := m.arrange(s, push, opt.variant)
		m.spaced(q, opt)
		w := q.width + side
		price += piecePrice*((w+avail-1)/avail) + w/2
	}
	for _, li := range c.links {
		m.links[li].dead = false
		price += cutPrice
		if m.g.Runs[m.links[li].run].Seam {
			price -= seamSaving
		}
	}
	m.findSystems()
	return price
}
