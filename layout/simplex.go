package layout

// edge demands y[head] - y[tail] >= min and costs weight for every unit of that difference.
type edge struct{ tail, head, min, weight int }

// program is the linear program of the network simplex: least weighted length of its edges over whole numbers y.
type program struct {
	y     []int
	edges []edge

	inTree []bool
	adj    [][]int // edges at each node
	parent []int   // tree edge towards the root, -1 at the root
	order  []int   // nodes in preorder
	last   []int   // index in order of the last node of the subtree
	first  []int

	union []int // of nodes, while pieces are joined
	comp  components
	cut   []int
	stack []int
}

// reset forgets nodes and edges and keeps the room for others.
func (p *program) reset() { p.y, p.edges = p.y[:0], p.edges[:0] }

// components are the pieces that tight edges join: the nodes of each are chained from its root.
type components struct {
	next, tail, size []int // by node; -1 ends a chain, size is 0 for what is no root
}

func (p *program) node(y int) int {
	p.y = append(p.y, y)
	return len(p.y) - 1
}

func (p *program) add(tail, head, least, weight int) {
	p.edges = append(p.edges, edge{tail, head, least, weight})
}

func (p *program) slack(e int) int {
	d := &p.edges[e]
	return p.y[d.head] - p.y[d.tail] - d.min
}

// solve improves p.y, which must keep all demands, to the optimum. The number of pivots is bounded; a plan that stops early is
// still feasible.
func (p *program) solve(pivots int) {
	if len(p.y) < 2 {
		return
	}
	p.tie()
	p.tree()
	n := len(p.y)
	p.cut, p.parent, p.first, p.last = sized(p.cut, n), sized(p.parent, n), sized(p.first, n), sized(p.last, n)
	cut := p.cut
	start, idle := 0, 0
	for range pivots {
		p.walk()
		p.cuts(cut)
		out := p.leaving(cut, start, idle > 3)
		if out < 0 {
			return
		}
		start = out + 1
		moved, ok := p.pivot(out)
		if !ok {
			return
		}
		if idle++; moved > 0 {
			idle = 0
		}
	}
}

// tie joins unconnected pieces with edges that cost nothing, for the simplex needs one tree.
func (p *program) tie() {
	n := len(p.y)
	p.alone()
	for _, e := range p.edges {
		p.union[p.find(e.tail)] = p.find(e.head)
	}
	for i := 1; i < n; i++ {
		if a, b := p.find(0), p.find(i); a != b {
			p.union[b] = a
			p.add(0, i, p.y[i]-p.y[0], 0)
		}
	}
	if cap(p.adj) < n {
		p.adj = append(p.adj[:cap(p.adj)], make([][]int, n-cap(p.adj))...)
	}
	p.adj = p.adj[:n]
	for i := range p.adj {
		p.adj[i] = p.adj[i][:0]
	}
	for i, e := range p.edges {
		p.adj[e.tail] = append(p.adj[e.tail], i)
		p.adj[e.head] = append(p.adj[e.head], i)
	}
}

// tree grows a spanning tree of tight edges, shifting what is reached so far until the next edge is tight.
func (p *program) tree() {
	n := len(p.y)
	p.inTree = sized(p.inTree, len(p.edges))
	// components are joined over tight edges, and then moved whole against each other
	p.alone()
	c := &p.comp
	c.next, c.tail, c.size = sized(c.next, n), sized(c.tail, n), sized(c.size, n)
	for i := range n {
		c.next[i], c.tail[i], c.size[i] = -1, i, 1
	}
	left := n - 1
	for i, e := range p.edges {
		if a, b := p.find(e.tail), p.find(e.head); a != b && p.slack(i) == 0 {
			p.inTree[i] = true
			p.join(a, b)
			left--
		}
	}
	for ; left > 0; left-- {
		// take the component of the lowest node that is not the largest, and move it to its nearest neighbour
		p.attach()
	}
}

// alone makes every node a component of its own.
func (p *program) alone() {
	p.union = sized(p.union, len(p.y))
	for i := range p.union {
		p.union[i] = i
	}
}

// find is the root of a node's component.
func (p *program) find(i int) int {
	for p.union[i] != i {
		p.union[i] = p.union[p.union[i]]
		i = p.union[i]
	}
	return i
}

// join makes two components one, given by their roots.
func (p *program) join(a, b int) {
	c := &p.comp
	if c.size[a] < c.size[b] {
		a, b = b, a
	}
	p.union[b] = a
	c.next[c.tail[a]], c.tail[a] = b, c.tail[b]
	c.size[a], c.size[b] = c.size[a]+c.size[b], 0
}

// attach moves the smallest component along its cheapest tight-making edge and joins it there.
func (p *program) attach() {
	n := len(p.y)
	c := &p.comp
	best := -1
	for r := range n {
		if c.size[r] > 0 && (best < 0 || c.size[r] < c.size[best]) {
			best = r
		}
	}
	// net pull on the component tells which way it gets better
	pull := 0
	up, down := -1, -1 // edges of least slack when moving towards larger / smaller y
	for v := best; v >= 0; v = c.next[v] {
		for _, i := range p.adj[v] {
			e := p.edges[i]
			if p.find(e.tail) == p.find(e.head) {
				continue
			}
			if e.tail == v { // growing y shortens this edge
				pull += e.weight
				if up < 0 || p.slack(i) < p.slack(up) {
					up = i
				}
			} else {
				pull -= e.weight
				if down < 0 || p.slack(i) < p.slack(down) {
					down = i
				}
			}
		}
	}
	i, d := up, 0
	if up < 0 || (pull < 0 && down >= 0) {
		i = down
		d = -p.slack(down)
	} else {
		d = p.slack(up)
	}
	for v := best; v >= 0; v = c.next[v] {
		p.y[v] += d
	}
	e := p.edges[i]
	p.inTree[i] = true
	p.join(p.find(e.tail), p.find(e.head))
}

// walk numbers the tree in preorder from node 0.
func (p *program) walk() {
	p.order = p.order[:0]
	p.parent[0] = -1
	stack := append(p.stack[:0], 0)
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		p.first[v] = len(p.order)
		p.order = append(p.order, v)
		for _, i := range p.adj[v] {
			if !p.inTree[i] || i == p.parent[v] {
				continue
			}
			w := p.edges[i].tail + p.edges[i].head - v
			p.parent[w] = i
			stack = append(stack, w)
		}
	}
	p.stack = stack
	for k := len(p.order) - 1; k >= 0; k-- {
		v := p.order[k]
		p.last[v] = k
	}
	for k := len(p.order) - 1; k > 0; k-- {
		v := p.order[k]
		u := p.up(v)
		if p.last[v] > p.last[u] {
			p.last[u] = p.last[v]
		}
	}
}

// up is the node above v in the tree.
func (p *program) up(v int) int {
	e := p.edges[p.parent[v]]
	return e.tail + e.head - v
}

// cuts gives for each node the cut value of the tree edge above it. Edges inside a subtree cancel, so it is the sum of
// outgoing less incoming weight over the subtree, with the sign of the tree edge.
func (p *program) cuts(cut []int) {
	for i := range cut {
		cut[i] = 0
	}
	for _, e := range p.edges {
		cut[e.tail] += e.weight
		cut[e.head] -= e.weight
	}
	for k := len(p.order) - 1; k > 0; k-- {
		v := p.order[k]
		cut[p.up(v)] += cut[v]
	}
	for k := len(p.order) - 1; k > 0; k-- {
		v := p.order[k]
		if p.edges[p.parent[v]].head == v {
			cut[v] = -cut[v]
		}
	}
}

// leaving finds the tree edge of the most negative cut value, or, while pivots gain nothing, the next negative one searching round
// from start, so that the search does not go in circles.
func (p *program) leaving(cut []int, start int, stuck bool) int {
	if !stuck {
		best, at := 0, -1
		for k := 1; k < len(p.order); k++ {
			if v := p.order[k]; cut[v] < best {
				best, at = cut[v], p.parent[v]
			}
		}
		return at
	}
	n := len(p.edges)
	for k := range n {
		i := (start + k) % n
		if !p.inTree[i] {
			continue
		}
		e := p.edges[i]
		v := e.tail
		if p.parent[e.head] == i {
			v = e.head
		}
		if cut[v] < 0 {
			return i
		}
	}
	return -1
}

// pivot replaces tree edge out by the tightest edge that runs the other way over the same cut. It returns how far the cut-off
// subtree moved.
func (p *program) pivot(out int) (moved int, ok bool) {
	e := p.edges[out]
	v := e.tail // root of the subtree cut off
	if p.parent[e.head] == out {
		v = e.head
	}
	lo, hi := p.first[v], p.last[v]
	inside := func(u int) bool { return p.first[u] >= lo && p.first[u] <= hi }
	tailIn := v == e.tail
	in, best := -1, 0
	for k := lo; k <= hi; k++ {
		u := p.order[k]
		for _, i := range p.adj[u] {
			d := p.edges[i]
			// wanted: from the head's side to the tail's side
			if tailIn && (d.head != u || inside(d.tail)) || !tailIn && (d.tail != u || inside(d.head)) {
				continue
			}
			if s := p.slack(i); in < 0 || s < best || s == best && i < in {
				in, best = i, s
			}
		}
	}
	if in < 0 {
		return 0, false
	}
	d := -best // the edge that leaves grows longer by best
	if !tailIn {
		d = best
	}
	for k := lo; k <= hi; k++ {
		p.y[p.order[k]] += d
	}
	p.inTree[out] = false
	p.inTree[in] = true
	return best, true
}
