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
	cut := make([]int, len(p.y))
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
	up := make([]int, n)
	for i := range up {
		up[i] = i
	}
	find := func(i int) int {
		for up[i] != i {
			up[i] = up[up[i]]
			i = up[i]
		}
		return i
	}
	for _, e := range p.edges {
		up[find(e.tail)] = find(e.head)
	}
	for i := 1; i < n; i++ {
		if a, b := find(0), find(i); a != b {
			up[b] = a
			p.add(0, i, p.y[i]-p.y[0], 0)
		}
	}
	p.adj = make([][]int, n)
	for i, e := range p.edges {
		p.adj[e.tail] = append(p.adj[e.tail], i)
		p.adj[e.head] = append(p.adj[e.head], i)
	}
}

// tree grows a spanning tree of tight edges, shifting what is reached so far until the next edge is tight.
func (p *program) tree() {
	n := len(p.y)
	p.inTree = make([]bool, len(p.edges))
	// comp joins nodes over tight edges; whole components are then moved against each other.
	up := make([]int, n)
	members := make([][]int, n)
	for i := range up {
		up[i] = i
		members[i] = []int{i}
	}
	find := func(i int) int {
		for up[i] != i {
			up[i] = up[up[i]]
			i = up[i]
		}
		return i
	}
	join := func(a, b int) {
		if len(members[a]) < len(members[b]) {
			a, b = b, a
		}
		up[b] = a
		members[a] = append(members[a], members[b]...)
		members[b] = nil
	}
	left := n - 1
	for i, e := range p.edges {
		if a, b := find(e.tail), find(e.head); a != b && p.slack(i) == 0 {
			p.inTree[i] = true
			join(a, b)
			left--
		}
	}
	for left > 0 {
		// take the component of the lowest node that is not the largest, and move it to its nearest neighbour
		left -= p.attach(find, join, members)
	}
}

// attach moves the smaller components each along its cheapest tight-making edge and returns how many joins it made.
func (p *program) attach(find func(int) int, join func(int, int), members [][]int) int {
	n := len(p.y)
	best := -1
	for r := range n {
		if members[r] == nil || find(r) != r {
			continue
		}
		if best < 0 || len(members[r]) < len(members[best]) {
			best = r
		}
	}
	// net pull on the component tells which way it gets better
	pull := 0
	up, down := -1, -1 // edges of least slack when moving towards larger / smaller y
	for _, v := range members[best] {
		for _, i := range p.adj[v] {
			e := p.edges[i]
			if find(e.tail) == find(e.head) {
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
	for _, v := range members[best] {
		p.y[v] += d
	}
	e := p.edges[i]
	p.inTree[i] = true
	join(find(e.tail), find(e.head))
	return 1
}

// walk numbers the tree in preorder from node 0.
func (p *program) walk() {
	n := len(p.y)
	if p.parent == nil {
		p.parent = make([]int, n)
		p.first = make([]int, n)
		p.last = make([]int, n)
		p.order = make([]int, 0, n)
	}
	p.order = p.order[:0]
	p.parent[0] = -1
	stack := []int{0}
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
