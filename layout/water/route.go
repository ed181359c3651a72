package waterlayout

import (
	"slices"
	"sort"
)

// prices of the grid search; a step costs stepPrice
const (
	stepPrice     = 4
	bendPrice     = 32
	crossPrice    = 260
	conflictPrice = 60 // rises with every round
	closePrice    = 2  // a step beside another run
	besidePrice   = 2  // a step along a box or a name
	shorePrice    = 1  // a step along the waterline
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

// cell is a place on the grid and what is known of it.
type cell struct {
	gate          int32 // shut, open, or 1 + the wire whose terminal needs it
	past          int32 // price of earlier conflicts
	lastH, lastV  int32 // 1 + run that last passed straight, level or upright
	across, along int16 // runs passing straight, level or upright
	bends         int16 // runs bending or ending
	nearH, nearV  int16 // runs that pass alongside
	stepH, stepV  int16 // price of a step into it; 0 forbids it
	row           int16
	beside        bool // next to a box or a name
}

const (
	open = 0
	shut = -1
)

// visit is what the search knows of a state: a cell and the direction in which
// it was entered.
type visit struct {
	cost, guess int32 // so far, and what is left at the least
	from, round int32
}

// grid is the routing ground of one piece, a border of shut cells around it.
type grid struct {
	w, h   int
	x0, y0 int // band place of cell 0
	shore  int // row of the waterline
	cells  []cell
	wires  []wire
	delta  [4]int

	rows []int32 // price of a row for the wire at hand
	dry  []int32 // the same, for level steps alone
	*effort
}

// effort is what all searches of one layout share: the memory they work in, and
// what is left of the cells that they may look at.
type effort struct {
	budget int // states to look at
	rough  bool
	tries  int // arrangements to look at
	memory []cell
	seen   []visit
	round  int32
	queue  buckets
}

// left tells whether there is something left for further arrangements; the drawing
// itself has first call on it.
func (e *effort) left() bool { return e.tries > 0 && e.budget > searchBudget/3 }

// fresh are n empty cells; those of an earlier call are lost.
func (e *effort) fresh(n int) []cell {
	if cap(e.memory) < n {
		e.memory = make([]cell, n)
	}
	out := e.memory[:n]
	clear(out)
	return out
}

// directions: left, right, up, down, as Side counts them
var stepX = [4]int{-1, 1, 0, 0}
var stepY = [4]int{0, 0, -1, 1}

// ground prepares the grid of a piece whose band starts at row top.
func (m *model) ground(p *piece, top, rows int, e *effort) *grid {
	g := &grid{w: p.width + 2*sideMargin + 3, h: rows + 3, x0: -sideMargin - 1, y0: top - 1, shore: 1 - top, effort: e}
	g.delta = [4]int{-1, 1, -g.w, g.w}
	g.cells = e.fresh(g.w * g.h)
	g.rows, g.dry = make([]int32, g.h), make([]int32, g.h)
	for c := range g.cells {
		x, y := c%g.w, c/g.w
		k := &g.cells[c]
		k.row, k.stepH, k.stepV = int16(y), stepPrice, stepPrice
		switch {
		case x == 0 || y == 0 || x == g.w-1 || y == g.h-1:
			k.gate = shut
		case y == g.shore:
			k.stepH = 0 // never along the waterline
		case y == g.shore+1 || y == g.shore-1:
			k.stepH += shorePrice
		}
	}
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
	for _, li := range p.links {
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
				if c := t.at + g.delta[d]; c >= 0 && c < len(g.cells) && g.cells[c].gate == open {
					g.cells[c].gate = int32(wi) + 1
				}
			}
		}
	}
	return g
}

func (g *grid) cell(x, y int) int { return (y-g.y0)*g.w + x - g.x0 }

// block closes a rectangle, its edges included, and prices the cells around it.
func (g *grid) block(r Rect) {
	for y := max(r.Y-1, g.y0); y <= min(r.Y+r.H+1, g.y0+g.h-1); y++ {
		for x := max(r.X-1, g.x0); x <= min(r.X+r.W+1, g.x0+g.w-1); x++ {
			k := &g.cells[g.cell(x, y)]
			if x >= r.X && x <= r.X+r.W && y >= r.Y && y <= r.Y+r.H {
				k.gate = shut
				continue
			}
			if k.beside {
				continue
			}
			k.beside = true
			k.stepV += besidePrice
			if k.stepH > 0 {
				k.stepH += besidePrice
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
func (g *grid) route() {
	order := g.shortFirst()
	for _, w := range order {
		g.search(w, 1)
	}
	bad := g.settle(order, maxRounds)
	if len(bad) == 0 && !g.rough {
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
}

// retrace draws the wires as they were drawn before, moved with their ends, as far
// as their ways are still clear, and the others around them. It reports false,
// its work undone, where crossings and corners weigh more than most or conflicts
// outlast a few rounds.
func (g *grid) retrace(old map[int][]Point, most int) bool {
	order := g.shortFirst()
	weight := 0
	weigh := func(w int) bool {
		crossings, bends := g.count(&g.wires[w])
		weight += crossWeight*crossings + bendWeight*bends
		return weight <= most
	}
	var todo []int
	for _, w := range order {
		if g.wires[w].path = g.again(w, old[g.wires[w].link]); g.wires[w].path == nil {
			todo = append(todo, w)
		} else if g.mark(w, 1); !weigh(w) {
			return false
		}
	}
	for _, w := range todo {
		if g.search(w, 1); !weigh(w) {
			return false
		}
	}
	return len(g.settle(order, quickRounds)) == 0
}

// again is a wire's former way, where it still leads from end to end.
func (g *grid) again(wi int, pts []Point) []int {
	if len(pts) < 2 {
		return nil
	}
	w := &g.wires[wi]
	dx, dy := w.a.at%g.w+g.x0-pts[0].X, w.a.at/g.w+g.y0-pts[0].Y
	last := pts[len(pts)-1]
	if w.b.at != g.cell(last.X+dx, last.Y+dy) {
		return nil
	}
	path := []int{w.a.at}
	at := w.a.at
	for i := 1; i < len(pts); i++ {
		q := pts[i]
		d := int(Right)
		switch p := pts[i-1]; {
		case q.X < p.X:
			d = int(Left)
		case q.Y < p.Y:
			d = int(Top)
		case q.Y > p.Y:
			d = int(Bottom)
		}
		if i == 1 && !slices.Contains(w.a.dirs, d) || i == len(pts)-1 && !slices.Contains(w.b.dirs, d^1) {
			return nil
		}
		for to := g.cell(q.X+dx, q.Y+dy); at != to; {
			at += g.delta[d]
			k := &g.cells[at]
			if at != w.b.at && (k.gate != open && k.gate != int32(wi)+1 || d <= 1 && k.stepH == 0) {
				return nil
			}
			path = append(path, at)
		}
	}
	return path
}

// ways are the corners of all wires, by link.
func (g *grid) ways() map[int][]Point {
	out := map[int][]Point{}
	for i := range g.wires {
		if len(g.wires[i].path) > 0 {
			out[g.wires[i].link] = g.points(i)
		}
	}
	return out
}

// shortFirst is the order in which wires are drawn.
func (g *grid) shortFirst() []int {
	order := make([]int, len(g.wires))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return g.wires[order[i]].length < g.wires[order[j]].length })
	return order
}

// settle draws wires in conflict again at rising cost and returns those that stay
// in conflict.
func (g *grid) settle(order []int, rounds int) []int {
	for round := 2; round <= rounds; round++ {
		bad := g.conflicts(order, true)
		if len(bad) == 0 {
			break
		}
		if g.budget < 0 {
			break
		}
		for _, w := range bad {
			g.remove(w)
			g.search(w, round)
		}
	}
	return g.conflicts(order, false)
}

// improve draws each wire again now that all others stand.
func (g *grid) improve(order []int) {
	changed := true
	for pass := 0; pass < 2 && changed; pass++ {
		changed = false
		for i := len(order) - 1; i >= 0; i-- {
			if g.budget < 0 {
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
			changed = changed || !slices.Equal(old, g.wires[w].path)
		}
	}
}

// ideal reports whether a wire runs the shortest way with the fewest bends and
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
		if bends > 1 || g.cells[c].across+g.cells[c].along > 1 {
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
			k := &g.cells[c]
			all := k.across + k.along + k.bends
			if k.across > 1 || k.along > 1 || k.bends > 0 && all > 1 ||
				k.across > 0 && k.along > 0 && k.lastH == k.lastV {
				hit = true
				if charge {
					k.past += conflictPrice / 4
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
	run := int32(g.wires[w].run) + 1
	for i, c := range p {
		k := &g.cells[c]
		switch {
		case i == 0 || i == len(p)-1 || p[i+1]-c != c-p[i-1]:
			k.bends += by
		case p[i+1]-c == 1 || p[i+1]-c == -1:
			k.across += by
			k.lastH = run
			g.cells[c-g.w].nearH += by
			g.cells[c+g.w].nearH += by
		default:
			k.along += by
			k.lastV = run
			g.cells[c-1].nearV += by
			g.cells[c+1].nearV += by
		}
	}
}

// leave prices a cell entered in direction d and left in direction e.
func (k *cell) leave(own int32, d, e, round int) int32 {
	var price int32
	level, upright, clash := int32(k.across), int32(k.along), int32(k.bends)
	cross := int32(0)
	if d != e {
		price += bendPrice
		clash += level + upright
	} else if d <= 1 {
		clash += level
		if cross = upright; cross > 0 && k.lastV == own {
			clash += 2 * cross // a run never crosses itself
		}
	} else {
		clash += upright
		if cross = level; cross > 0 && k.lastH == own {
			clash += 2 * cross
		}
	}
	if clash > 0 {
		price += clash*int32(conflictPrice*round) + k.past
	}
	return price + cross*crossPrice
}

// price sets what each row costs a wire: to stray above or below both its ends,
// and to look as if it rose out of the water between two places under it.
func (g *grid) price(w *wire) {
	for y := range g.rows {
		g.rows[y], g.dry[y] = 0, 0
		if y < w.ylo || y > w.yhi {
			g.rows[y] = strayPrice
		}
		if w.ylo > g.shore && y < g.shore {
			g.dry[y] = dryPrice
		}
	}
}

// search finds the cheapest path of a wire by A*. The state is a cell and the
// direction in which it was entered; the least price of the rest is the distance
// and the corners that the directions at both ends force.
func (g *grid) search(wi, round int) {
	w := &g.wires[wi]
	if len(g.seen) < 4*len(g.cells) {
		g.seen = make([]visit, 4*len(g.cells))
	}
	g.round++
	g.price(w)
	goal, start, own, id := w.b.at, w.a.at, int32(w.run)+1, int32(wi)+1
	gx, gy := goal%g.w, goal/g.w
	var into [4]bool // directions in which the goal may be entered
	for _, e := range w.b.dirs {
		into[e^1] = true
	}
	corners := cornersTo(into)
	guess := func(c, d int) int32 {
		y := int(g.cells[c].row)
		dx, dy := gx-(c-y*g.w), gy-y
		return int32(stepPrice*(abs(dx)+abs(dy))) + corners[d][sign(dx)+1][sign(dy)+1]
	}
	least := guess(start, w.a.dirs[0])
	for _, d := range w.a.dirs {
		least = min(least, guess(start, d))
	}
	g.queue.reset(least)
	for _, d := range w.a.dirs {
		s := start*4 + d
		g.seen[s] = visit{0, guess(start, d), -1, g.round}
		g.queue.push(g.seen[s].guess, int32(s))
	}
	for g.budget > -1<<20 {
		f, s, ok := g.queue.pop()
		if !ok {
			return
		}
		c, d := int(s)>>2, int(s)&3
		v := &g.seen[s]
		if f > v.cost+v.guess {
			continue // a cheaper way here has been found since
		}
		g.budget--
		if c == goal && v.from >= 0 {
			g.trace(wi, int(s))
			return
		}
		here := &g.cells[c]
		for n := 0; n < 4; n++ {
			if n == d^1 || c == start && n != d {
				continue
			}
			next := c + g.delta[n]
			k := &g.cells[next]
			if next == goal {
				if !into[n] {
					continue
				}
			} else if k.gate != open && k.gate != id {
				continue
			}
			cost := v.cost + g.rows[k.row]
			if n <= 1 {
				if k.stepH == 0 && next != goal {
					continue
				}
				cost += int32(k.stepH) + g.dry[k.row]
				if k.nearH > 0 {
					cost += closePrice
				}
			} else {
				cost += int32(k.stepV)
				if k.nearV > 0 {
					cost += closePrice
				}
			}
			if c != start {
				cost += here.leave(own, d, n, round)
			}
			to := next*4 + n
			if o := &g.seen[to]; o.round != g.round || o.cost > cost {
				rest := o.guess
				if o.round != g.round {
					rest = guess(next, n)
				}
				*o = visit{cost, rest, s, g.round}
				g.queue.push(cost+rest, int32(to))
			}
		}
	}
}

func sign(v int) int {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}

// cornersTo prices the corners that are forced between a state and the goal, on
// open ground: by the direction of the state and by the signs, plus one, of the
// way to go.
func cornersTo(into [4]bool) (out [4][3][3]int32) {
	for d := range out {
		for sx := range 3 {
			for sy := range 3 {
				least := 4
				for e, may := range into {
					if may {
						least = min(least, forced(d, e, sx-1, sy-1))
					}
				}
				out[d][sx][sy] = int32(least) * bendPrice
			}
		}
	}
	return out
}

// forced is the number of corners between heading d at one place and heading e
// at another, dx and dy away.
func forced(d, e, dx, dy int) int {
	if dx == 0 && dy == 0 {
		return 0
	}
	ahead := dx*stepX[d] + dy*stepY[d]
	last := dx*stepX[e] + dy*stepY[e]
	switch {
	case e == d:
		aside := abs(dx*stepY[d]) + abs(dy*stepX[d])
		switch {
		case ahead > 0 && aside == 0:
			return 0
		case ahead > 0:
			return 2
		}
		return 4
	case e == d^1:
		if abs(dx*stepY[d])+abs(dy*stepX[d]) > 0 {
			return 2
		}
		return 4
	case ahead >= 0 && last > 0:
		return 1
	}
	return 3
}

func (g *grid) trace(wi, s int) {
	n := 0
	for k := s; k >= 0; k = int(g.seen[k].from) {
		n++
	}
	path := make([]int, n)
	for ; s >= 0; s = int(g.seen[s].from) {
		n--
		path[n] = s / 4
	}
	g.wires[wi].path = path
	g.mark(wi, 1)
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
