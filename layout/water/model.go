package waterlayout

import (
	"fmt"
	"sort"
)

type nodeKind uint8

const (
	partNode nodeKind = iota
	viaNode
	markNode
)

// port is a place on a node where exactly one link ends.
type port struct {
	name string
	side Side
	off  int
	used bool
}

// node is a part, a via of a run or a continuation mark.
type node struct {
	kind     nodeKind
	id       string
	w, h     int
	anchor   int
	lean     int
	level    Level
	straddle bool
	hint     Hint
	ports    []port
	landings map[string][2]int // port name → least and greatest offset
	name     Size
	nameAt   Rect // relative to the box; W is 0 without a name
	nameSide Side
	dip      bool   // via: a dip, not a crest
	run      int    // via and mark: the run
	ref      string // mark: name shown
	swaps    bool   // runs may change places among its ports
	flips    bool   // may lie with its port at either end
	mirrors  bool   // left and right may be exchanged
	mirrored bool   // left and right are exchanged
	skin     Skin

	unit   int
	ux, uy int // place in the unit
	x, y   int // place in the system: y counts from the waterline
}

// link is a run, or the piece of one between two of its vias.
type link struct {
	run  int
	a, b int // nodes
	pa   int // index into node.ports
	pb   int
	flow Flow
	dead bool // replaced by marks, or folded into a stack
	flat bool // both ends fall together in a stack
}

// unit is a node, or several that are stacked and move together.
type unit struct {
	nodes []int
	col   int
	x     int // place in the system
	l, r  int // extent of boxes and names against x
	host  int // unit it stands over or under in the same column, or -1
	y     int // place against the waterline
	moved int // units farther out than the scale alone would put it
	set   bool

	boxes, names []Rect // against the unit's zero point
}

type model struct {
	g        *Graph
	nodes    []node
	links    []link
	units    []unit
	system   []int // of each node
	systems  [][]int
	problems []Problem
	// of each unit, for the height solver: 0 and -1 between two uses
	distance, rank []int
}

func (m *model) problem(kind, id, format string, args ...any) {
	m.problems = append(m.problems, Problem{kind, id, fmt.Sprintf(format, args...)})
}

// build checks the graph and makes nodes and links of it.
func build(g *Graph) (*model, error) {
	m := &model{g: g}
	index := map[string]int{}
	for i := range g.Boxes {
		b := &g.Boxes[i]
		if err := checkBox(b); err != nil {
			return nil, err
		}
		if _, twice := index[b.ID]; twice {
			return nil, fmt.Errorf("box %q occurs twice", b.ID)
		}
		index[b.ID] = i
		m.nodes = append(m.nodes, node{
			id: b.ID, w: b.Size.W, h: b.Size.H, anchor: b.Anchor, lean: b.Lean, level: b.Level,
			straddle: b.Straddle, hint: b.Hint, name: b.Name, run: -1,
			swaps: b.Swaps, flips: b.Flips, mirrors: b.Mirrors, skin: b.Skin,
		})
	}
	if len(g.Pages) == 0 {
		return nil, fmt.Errorf("no page to draw on")
	}
	for _, p := range g.Pages {
		if p.W < 1 || p.H < 1 {
			return nil, fmt.Errorf("a page of %d by %d units", p.W, p.H)
		}
	}
	landing := m.portUse(index)
	seen := map[string]bool{}
	for i := range g.Runs {
		r := &g.Runs[i]
		if seen[r.ID] {
			return nil, fmt.Errorf("run %q occurs twice", r.ID)
		}
		seen[r.ID] = true
		if err := m.addRun(i, index, landing); err != nil {
			return nil, err
		}
	}
	return m, nil
}

func checkBox(b *Box) error {
	if b.Size.W < 1 || b.Size.H < 1 {
		return fmt.Errorf("box %q has no size", b.ID)
	}
	if b.Anchor < 0 || b.Anchor > b.Size.H {
		return fmt.Errorf("box %q: the anchor row %d is outside the box", b.ID, b.Anchor)
	}
	seen := map[string]bool{}
	for _, p := range b.Ports {
		length := b.Size.H
		if p.Side == Top || p.Side == Bottom {
			length = b.Size.W
		}
		if p.Side > Bottom || p.Offset < 0 || p.Offset > length {
			return fmt.Errorf("box %q: port %q is outside the box", b.ID, p.Name)
		}
		if seen[p.Name] {
			return fmt.Errorf("box %q: port %q occurs twice", b.ID, p.Name)
		}
		seen[p.Name] = true
	}
	return nil
}

// portUse counts the runs on each port and gives every run on a shared port an
// offset of its own, side by side, as near to the port as other ports allow.
func (m *model) portUse(index map[string]int) map[End][]int {
	count := map[End]int{}
	for _, r := range m.g.Runs {
		count[r.From]++
		count[r.To]++
	}
	landing := map[End][]int{}
	for i := range m.g.Boxes {
		b := &m.g.Boxes[i]
		var taken [4]map[int]bool
		for s := range taken {
			taken[s] = map[int]bool{}
		}
		for _, p := range b.Ports {
			if count[End{b.ID, p.Name}] > 0 {
				taken[p.Side][p.Offset] = true
			}
		}
		for _, p := range b.Ports {
			e := End{b.ID, p.Name}
			n := count[e]
			if n < 2 {
				continue
			}
			offs := []int{p.Offset}
			for d := 2; len(offs) < n && d < 400; d++ {
				for _, o := range []int{p.Offset + d, p.Offset - d} {
					if len(offs) < n && !taken[p.Side][o] && !taken[p.Side][o-1] && !taken[p.Side][o+1] {
						taken[p.Side][o] = true
						offs = append(offs, o)
					}
				}
			}
			sort.Ints(offs)
			landing[e] = offs
		}
	}
	return landing
}

func (m *model) addRun(ri int, index map[string]int, landing map[End][]int) error {
	r := &m.g.Runs[ri]
	ends := [2]End{r.From, r.To}
	var at [2]int
	var pi [2]int
	for k, e := range ends {
		bi, ok := index[e.Box]
		if !ok {
			return fmt.Errorf("run %q ends on %q, which is no box", r.ID, e.Box)
		}
		found := false
		for _, p := range m.g.Boxes[bi].Ports {
			if p.Name != e.Port {
				continue
			}
			found = true
			off := p.Offset
			n := &m.nodes[bi]
			if offs := landing[e]; len(offs) > 1 {
				if n.landings == nil {
					n.landings = map[string][2]int{}
				}
				n.landings[e.Port] = [2]int{offs[0], offs[len(offs)-1]}
				off = nextOffset(n, e.Port, offs)
			}
			n.ports = append(n.ports, port{e.Port, p.Side, off, true})
			pi[k] = len(n.ports) - 1
		}
		if !found {
			return fmt.Errorf("run %q ends on port %q of %q, which has none of that name", r.ID, e.Port, e.Box)
		}
		at[k] = bi
	}
	from, pf := at[0], pi[0]
	for vi, v := range r.Vias {
		m.nodes = append(m.nodes, node{
			kind: viaNode, id: fmt.Sprintf("%s via %d", r.ID, vi+1), w: 2, h: 0,
			level: v.Level, dip: v.Dip, run: ri,
			ports: []port{{"a", Left, 0, true}, {"b", Right, 0, true}},
		})
		n := len(m.nodes) - 1
		m.links = append(m.links, link{run: ri, a: from, pa: pf, b: n, pb: 0, flow: r.Flow})
		from, pf = n, 1
	}
	m.links = append(m.links, link{run: ri, a: from, pa: pf, b: at[1], pb: pi[1], flow: r.Flow})
	return nil
}

// nextOffset is the first of a landing's offsets that no port has yet.
func nextOffset(n *node, name string, offs []int) int {
	used := 0
	for _, p := range n.ports {
		if p.name == name {
			used++
		}
	}
	if used < len(offs) {
		return offs[used]
	}
	return offs[len(offs)-1]
}

// at is the place of a port against its box.
func (n *node) at(p int) Point {
	q := n.ports[p]
	switch q.side {
	case Left:
		return Point{0, q.off}
	case Right:
		return Point{n.w, q.off}
	case Top:
		return Point{q.off, 0}
	}
	return Point{q.off, n.h}
}

func opposite(s Side) Side { return s ^ 1 }

// out is the step away from a side.
func out(s Side) Point {
	switch s {
	case Left:
		return Point{-1, 0}
	case Right:
		return Point{1, 0}
	case Top:
		return Point{0, -1}
	}
	return Point{0, 1}
}

// makeUnits joins stacked nodes and finds the connected systems. Stacks in drop
// are left out.
func (m *model) makeUnits(drop map[int]bool) {
	for i := range m.nodes {
		m.nodes[i].unit = -1
		m.nodes[i].ux, m.nodes[i].uy = 0, 0
	}
	m.units = nil
	for i := range m.links {
		m.links[i].flat = false
	}
	type tie struct{ to, dx, dy, stack int }
	ties := make([][]tie, len(m.nodes))
	for si, s := range m.g.Stacks {
		if drop[si] {
			continue
		}
		a, pa, b, pb, ok := m.stackEnds(s)
		if !ok {
			continue
		}
		p, q := m.nodes[a].at(pa), m.nodes[b].at(pb)
		dx, dy := p.X-q.X, p.Y-q.Y
		if !m.stackInOrder(a, b, dy) {
			m.problem("stack", s.On.Box, "%s stands on %s, but their heights say otherwise", s.On.Box, s.Base.Box)
			continue
		}
		ties[a] = append(ties[a], tie{b, dx, dy, si})
		ties[b] = append(ties[b], tie{a, -dx, -dy, si})
	}
	for i := range m.nodes {
		if m.nodes[i].unit >= 0 {
			continue
		}
		u := len(m.units)
		m.nodes[i].unit = u
		list := []int{i}
		for k := 0; k < len(list); k++ {
			n := list[k]
			for _, t := range ties[n] {
				c := &m.nodes[t.to]
				if c.unit >= 0 {
					continue
				}
				x, y := m.nodes[n].ux+t.dx, m.nodes[n].uy+t.dy
				if m.hits(list, Rect{x, y, c.w, c.h}) {
					m.problem("stack", c.id, "%s cannot stand on %s: another part is in the way", c.id, m.nodes[n].id)
					continue
				}
				c.unit, c.ux, c.uy = u, x, y
				list = append(list, t.to)
			}
		}
		m.units = append(m.units, unit{nodes: list, host: -1})
	}
	for i := range m.links {
		l := &m.links[i]
		a, b := &m.nodes[l.a], &m.nodes[l.b]
		if a.unit != b.unit || l.a == l.b {
			continue
		}
		p, q := a.at(l.pa), b.at(l.pb)
		if a.ux+p.X == b.ux+q.X && a.uy+p.Y == b.uy+q.Y {
			l.flat = true
		}
	}
}

// stackInOrder tells whether node b, dy below node a, keeps the order of heights.
func (m *model) stackInOrder(a, b, dy int) bool {
	p, q := &m.nodes[a], &m.nodes[b]
	if !p.level.Known || !q.level.Known || p.level.MM == q.level.MM {
		return true
	}
	if (p.level.MM > 0) != (q.level.MM > 0) {
		return false
	}
	rows, middles := dy+q.anchor-p.anchor, 2*dy+q.h-p.h
	if p.level.MM < q.level.MM {
		rows, middles = -rows, -middles
	}
	return rows >= 0 && middles >= 0
}

func (m *model) hits(list []int, r Rect) bool {
	for _, n := range list {
		c := &m.nodes[n]
		if overlaps(r, Rect{c.ux, c.uy, c.w, c.h}, 0) {
			return true
		}
	}
	return false
}

// stackEnds resolves a stack to nodes and ports. A port without a run is added.
func (m *model) stackEnds(s Stack) (a, pa, b, pb int, ok bool) {
	a, pa = m.findPort(s.Base)
	b, pb = m.findPort(s.On)
	if a < 0 || b < 0 || a == b {
		m.problem("stack", s.On.Box, "no such ports to stack: %s.%s on %s.%s", s.On.Box, s.On.Port, s.Base.Box, s.Base.Port)
		return 0, 0, 0, 0, false
	}
	if m.nodes[a].ports[pa].side != opposite(m.nodes[b].ports[pb].side) {
		m.problem("stack", s.On.Box, "%s.%s and %s.%s do not face each other", s.On.Box, s.On.Port, s.Base.Box, s.Base.Port)
		return 0, 0, 0, 0, false
	}
	return a, pa, b, pb, true
}

func (m *model) findPort(e End) (int, int) {
	for i := range m.g.Boxes {
		if m.g.Boxes[i].ID != e.Box {
			continue
		}
		n := &m.nodes[i]
		for k, p := range n.ports {
			if p.name == e.Port {
				return i, k
			}
		}
		for _, p := range m.g.Boxes[i].Ports {
			if p.Name == e.Port {
				n.ports = append(n.ports, port{p.Name, p.Side, p.Offset, false})
				return i, len(n.ports) - 1
			}
		}
	}
	return -1, -1
}

// findSystems collects the connected pieces in the order of the graph.
func (m *model) findSystems() {
	m.system = make([]int, len(m.nodes))
	for i := range m.system {
		m.system[i] = -1
	}
	up := make([]int, len(m.nodes)) // a node of the same system, the first of it at the top
	for i := range up {
		up[i] = i
	}
	top := func(i int) int {
		for up[i] != i {
			up[i] = up[up[i]]
			i = up[i]
		}
		return i
	}
	join := func(a, b int) {
		a, b = top(a), top(b)
		up[max(a, b)] = min(a, b)
	}
	for li := range m.links {
		if l := &m.links[li]; !l.dead {
			join(l.a, l.b)
		}
	}
	for i := range m.nodes {
		join(i, m.units[m.nodes[i].unit].nodes[0])
	}
	m.systems = nil
	for i := range m.nodes {
		t := top(i)
		if t == i {
			m.system[i] = len(m.systems)
			m.systems = append(m.systems, nil)
		}
		s := m.system[t]
		m.system[i] = s
		m.systems[s] = append(m.systems[s], i)
	}
}

// overlaps tells whether two rectangles come nearer than gap.
func overlaps(a, b Rect, gap int) bool {
	return a.X < b.X+b.W+gap && b.X < a.X+a.W+gap && a.Y < b.Y+b.H+gap && b.Y < a.Y+a.H+gap
}

func abs(x int) int {
	if x < 0 {
		return -x
	}
	return x
}
