package waterlayout

import "sort"

// prices of the grid search; a step costs stepPrice
const (
	stepPrice     = 4
	bendPrice     = 32
	crossPrice    = 260
	conflictPrice = 60 // rises with every round
	closePrice    = 3  // a step beside another run
	shorePrice    = 3  // a step along a box, a name or the waterline
	strayPrice    = 5  // a step above or below both ends
	dryPrice      = 8  // a step above the waterline between two ends under water
	maxRounds     = 24
)

// terminal is where a link may start or end on the grid.
type terminal struct {
	at   int   // cell
	dirs []int // ways out of it
}

// wire is a link on the grid.
type wire struct {
	link   int
	run    int
	a, b   terminal
	ylo    int
	yhi    int
	path   []int // cells from a to b
	length int
	failed bool
}

// grid is the routing ground of one piece.
type grid struct {
	w, h    int
	x0, y0  int // band place of cell 0
	shore   int // row of the waterline
	blocked []bool
	beside  []bool
	owner   []int32 // 1 + wire whose terminal needs the cell
	across  []int16 // runs passing straight, level
	along   []int16 // runs passing straight, upright
	bends   []int16 // runs bending or ending
	past    []int32 // price of earlier conflicts
	lastH   []int32 // 1 + run that last passed straight, level
	lastV   []int32 // the same, upright
	wires   []wire

	cost   []int32
	from   []int32
	stamp  []int32
	round  int32
	heap   []entry
	budget *int
}

// entry is an open state, its price in the upper half: one comparison orders
// by price, then by state, so that every run of the program picks the same.
type entry uint64

func newEntry(f int32, state int) entry { return entry(uint64(uint32(f))<<32 | uint64(uint32(state))) }

func (e entry) price() int32 { return int32(e >> 32) }
func (e entry) state() int   { return int(uint32(e)) }

// directions: left, right, up, down, as Side counts them
var stepX = [4]int{-1, 1, 0, 0}
var stepY = [4]int{0, 0, -1, 1}

// ground prepares the grid of a piece whose band starts at row top.
func (m *model) ground(p *piece, top, rows int, budget *int) *grid {
	g := &grid{w: p.width + 2*sideMargin + 1, h: rows + 1, x0: -sideMargin, y0: top, shore: -top, budget: budget}
	n := g.w * g.h
	g.blocked, g.beside, g.owner = make([]bool, n), make([]bool, n), make([]int32, n)
	g.across, g.along, g.bends = make([]int16, n), make([]int16, n), make([]int16, n)
	g.lastH, g.lastV = make([]int32, n), make([]int32, n)
	g.past, g.cost, g.from, g.stamp = make([]int32, n), make([]int32, 4*n), make([]int32, 4*n), make([]int32, 4*n)
	inside := map[int]bool{}
	for _, ui := range p.units {
		inside[ui] = true
		u := &m.units[ui]
		for _, list := range [][]Rect{u.boxes, u.names} {
			for _, r := range list {
				g.block(Rect{u.x + r.X, u.y + r.Y, r.W, r.H})
			}
		}
	}
	for li := range m.links {
		l := &m.links[li]
		if l.dead || l.flat || !inside[m.nodes[l.a].unit] {
			continue
		}
		w := wire{link: li, run: l.run}
		w.a, w.b = g.terminal(&m.nodes[l.a], l.pa), g.terminal(&m.nodes[l.b], l.pb)
		ya, yb := w.a.at/g.w, w.b.at/g.w
		w.ylo, w.yhi = min(ya, yb), max(ya, yb)
		w.length = abs(ya-yb) + abs(w.a.at%g.w-w.b.at%g.w)
		g.wires = append(g.wires, w)
	}
	for wi := range g.wires {
		for _, t := range []terminal{g.wires[wi].a, g.wires[wi].b} {
			for _, d := range t.dirs {
				if c, ok := g.step(t.at, d); ok && !g.blocked[c] && g.owner[c] == 0 {
					g.owner[c] = int32(wi) + 1
				}
			}
		}
	}
	return g
}

func (g *grid) cell(x, y int) int { return (y-g.y0)*g.w + x - g.x0 }

func (g *grid) step(c, d int) (int, bool) {
	x, y := c%g.w+stepX[d], c/g.w+stepY[d]
	return y*g.w + x, x >= 0 && y >= 0 && x < g.w && y < g.h
}

// block closes a rectangle, its edges included, and prices the cells around it.
func (g *grid) block(r Rect) {
	for y := r.Y - 1; y <= r.Y+r.H+1; y++ {
		for x := r.X - 1; x <= r.X+r.W+1; x++ {
			if x < g.x0 || y < g.y0 || x >= g.x0+g.w || y >= g.y0+g.h {
				continue
			}
			c := g.cell(x, y)
			g.beside[c] = true
			if x >= r.X && x <= r.X+r.W && y >= r.Y && y <= r.Y+r.H {
				g.blocked[c] = true
			}
		}
	}
}

func (g *grid) terminal(n *node, p int) terminal {
	q := n.at(p)
	t := terminal{at: g.cell(n.x+q.X, n.y+q.Y), dirs: []int{int(n.ports[p].side)}}
	if n.kind == viaNode {
		if n.dip {
			t.dirs = append(t.dirs, int(Top))
		} else {
			t.dirs = append(t.dirs, int(Bottom))
		}
	}
	return t
}

// route draws all wires: short ones first, then those in conflict again at
// rising cost, then each once more with all others in place.
func (g *grid) route() (clean bool) {
	order := make([]int, len(g.wires))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return g.wires[order[i]].length < g.wires[order[j]].length })
	for _, w := range order {
		g.search(w, 1)
	}
	for round := 2; round <= maxRounds; round++ {
		bad := g.conflicts(order, true)
		if len(bad) == 0 {
			break
		}
		if *g.budget < 0 {
			break
		}
		for _, w := range bad {
			g.remove(w)
			g.search(w, round)
		}
	}
	bad := g.conflicts(order, false)
	if len(bad) == 0 {
		g.improve(order)
		bad = g.conflicts(order, false)
	}
	for _, w := range order {
		if len(g.wires[w].path) == 0 {
			g.wires[w].failed = true
		}
	}
	for _, w := range bad {
		g.wires[w].failed = true
	}
	for i := range g.wires {
		if g.wires[i].failed {
			return false
		}
	}
	return true
}

// improve draws each wire again now that all others stand.
func (g *grid) improve(order []int) {
	for pass := 0; pass < 2; pass++ {
		for i := len(order) - 1; i >= 0; i-- {
			if *g.budget < 0 {
				return
			}
			w := order[i]
			if g.ideal(w) {
				continue
			}
			old := g.wires[w].path
			g.remove(w)
			g.search(w, 4*maxRounds)
			if len(g.wires[w].path) == 0 {
				g.wires[w].path = old
				g.mark(w, 1)
			}
		}
	}
}

// ideal reports whether a wire runs the shortest way with at most one bend and
// crosses nothing: there is nothing to gain by drawing it again.
func (g *grid) ideal(w int) bool {
	p := g.wires[w].path
	if len(p)-1 != g.wires[w].length {
		return false
	}
	bends := 0
	for i, c := range p {
		if i == 0 || i == len(p)-1 {
			continue
		}
		if p[i+1]-c != c-p[i-1] {
			bends++
		}
		if bends > 1 || g.across[c]+g.along[c] > 1 {
			return false
		}
	}
	return true
}

// conflicts lists the wires that share a cell other than by crossing at right
// angles, in the order given; charge raises the price of those cells.
func (g *grid) conflicts(order []int, charge bool) []int {
	var bad []int
	for _, w := range order {
		hit := len(g.wires[w].path) == 0
		for _, c := range g.wires[w].path {
			all := g.across[c] + g.along[c] + g.bends[c]
			if g.across[c] > 1 || g.along[c] > 1 || g.bends[c] > 0 && all > 1 ||
				g.across[c] > 0 && g.along[c] > 0 && g.lastH[c] == g.lastV[c] {
				hit = true
				if charge {
					g.past[c] += conflictPrice / 4
				}
			}
		}
		if hit {
			bad = append(bad, w)
		}
	}
	return bad
}

func (g *grid) remove(w int) {
	g.mark(w, -1)
	g.wires[w].path = nil
}

// mark enters a wire's path in the use of the cells, or takes it out.
func (g *grid) mark(w int, by int16) {
	p := g.wires[w].path
	for i, c := range p {
		switch {
		case i == 0 || i == len(p)-1:
			g.bends[c] += by
		case p[i-1]+1 == c && c+1 == p[i+1] || p[i+1]+1 == c && c+1 == p[i-1]:
			g.across[c] += by
			g.lastH[c] = int32(g.wires[w].run) + 1
		case p[i-1]+g.w == c && c+g.w == p[i+1] || p[i+1]+g.w == c && c+g.w == p[i-1]:
			g.along[c] += by
			g.lastV[c] = int32(g.wires[w].run) + 1
		default:
			g.bends[c] += by
		}
	}
}

// leave prices a cell entered in direction d and left in direction e.
func (g *grid) leave(wi, c, d, e, round int) int32 {
	var price int32
	level, upright, bends := int32(g.across[c]), int32(g.along[c]), int32(g.bends[c])
	clash, cross := bends, int32(0)
	if d != e {
		price += bendPrice
		clash += level + upright
	} else if d <= 1 {
		clash += level
		cross = upright
	} else {
		clash += upright
		cross = level
	}
	if own := int32(g.wires[wi].run) + 1; cross > 0 && (d <= 1 && g.lastV[c] == own || d > 1 && g.lastH[c] == own) {
		clash += 2 * cross // a run never crosses itself
	}
	price += cross*crossPrice + clash*int32(conflictPrice*round)
	if clash > 0 {
		price += g.past[c]
	}
	return price
}

// stepCost prices the step into cell c in direction d.
func (g *grid) stepCost(w *wire, c, d int) int32 {
	price := int32(stepPrice)
	y := c / g.w
	if g.beside[c] {
		price += shorePrice
	}
	if d <= 1 {
		if y == g.shore+1 || y == g.shore-1 {
			price += shorePrice
		}
		if c >= g.w && g.across[c-g.w] > 0 || c+g.w < len(g.across) && g.across[c+g.w] > 0 {
			price += closePrice
		}
	} else if c > 0 && g.along[c-1] > 0 || c+1 < len(g.along) && g.along[c+1] > 0 {
		price += closePrice
	}
	if y < w.ylo || y > w.yhi {
		price += strayPrice
	}
	// a hose between two places under water must not look as if it rose above it
	if d <= 1 && w.ylo > g.shore && y < g.shore {
		price += dryPrice
	}
	return price
}

// search finds the cheapest path of a wire by A*. The state is a cell and the
// direction in which it was entered.
func (g *grid) search(wi, round int) {
	w := &g.wires[wi]
	g.round++
	g.heap = g.heap[:0]
	gx, gy := w.b.at%g.w, w.b.at/g.w
	// the least price of the rest: the distance, and a corner if one is needed
	guess := func(c, d int) int32 {
		dx, dy := abs(c%g.w-gx), abs(c/g.w-gy)
		h := int32(stepPrice * (dx + dy))
		if dx > 0 && (dy > 0 || d > 1) || dy > 0 && d <= 1 {
			h += bendPrice
		}
		return h
	}
	open := func(state int, cost int32, from int32) {
		if g.stamp[state] == g.round && g.cost[state] <= cost {
			return
		}
		g.stamp[state], g.cost[state], g.from[state] = g.round, cost, from
		g.push(newEntry(cost+guess(state/4, state%4), state))
	}
	for _, d := range w.a.dirs {
		open(w.a.at*4+d, 0, -1)
	}
	for len(g.heap) > 0 && *g.budget > -1<<20 {
		e := g.pop()
		s := e.state()
		c, d := s/4, s%4
		if e.price() > g.cost[s]+guess(c, d) {
			continue
		}
		*g.budget--
		if c == w.b.at && g.from[s] >= 0 {
			g.trace(wi, s)
			return
		}
		for n := 0; n < 4; n++ {
			if n == d^1 || c == w.a.at && n != d {
				continue
			}
			next, ok := g.step(c, n)
			if !ok || !g.passable(wi, next, n) {
				continue
			}
			cost := g.cost[s] + g.stepCost(w, next, n)
			if c != w.a.at {
				cost += g.leave(wi, c, d, n, round)
			}
			open(next*4+n, cost, int32(s))
		}
	}
}

// passable tells whether a wire may enter a cell in a direction.
func (g *grid) passable(wi, c, d int) bool {
	w := &g.wires[wi]
	if c == w.b.at {
		for _, e := range w.b.dirs {
			if d == e^1 {
				return true
			}
		}
		return false
	}
	if g.blocked[c] || g.owner[c] != 0 && g.owner[c] != int32(wi)+1 {
		return false
	}
	return d > 1 || c/g.w != g.shore // never along the waterline
}

func (g *grid) trace(wi, s int) {
	var back []int
	for ; s >= 0; s = int(g.from[s]) {
		back = append(back, s/4)
	}
	path := make([]int, len(back))
	for i, c := range back {
		path[len(back)-1-i] = c
	}
	g.wires[wi].path = path
	g.mark(wi, 1)
}

// push and pop keep the open states in a heap of four branches.
func (g *grid) push(e entry) {
	g.heap = append(g.heap, e)
	h := g.heap
	i := len(h) - 1
	for i > 0 {
		p := (i - 1) / 4
		if h[p] <= e {
			break
		}
		h[i] = h[p]
		i = p
	}
	h[i] = e
}

func (g *grid) pop() entry {
	h := g.heap
	top, e := h[0], h[len(h)-1]
	h = h[:len(h)-1]
	g.heap = h
	i := 0
	for {
		first := 4*i + 1
		if first >= len(h) {
			break
		}
		best := first
		for c := first + 1; c < min(first+4, len(h)); c++ {
			if h[c] < h[best] {
				best = c
			}
		}
		if h[best] >= e {
			break
		}
		h[i] = h[best]
		i = best
	}
	if len(h) > 0 {
		h[i] = e
	}
	return top
}

// points are the corners of a wire's path in band coordinates.
func (g *grid) points(wi int) []Point {
	p := g.wires[wi].path
	var out []Point
	for i, c := range p {
		if i > 0 && i < len(p)-1 && p[i]-p[i-1] == p[i+1]-p[i] {
			continue
		}
		out = append(out, Point{c%g.w + g.x0, c/g.w + g.y0})
	}
	return out
}
