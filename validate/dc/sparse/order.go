package sparse

// Order gives an elimination order by least degree in the graph of A + Aᵀ
// (Tinney and Walker 1967; Rose 1972): whoever has the fewest neighbours left
// goes next. The graph is kept explicitly. Leaves and nodes between two
// neighbours, most of a wiring diagram, cost next to nothing.
func Order(p *Pattern) []int32 {
	g := newGraph(p)
	order := make([]int32, 0, p.N)
	for len(order) < p.N {
		v := g.take()
		order = append(order, v)
		g.eliminate(v)
	}
	return order
}

// graph holds the neighbours of each node. Lists may hold nodes already gone;
// degree counts the living.
type graph struct {
	near   [][]int32
	degree []int32
	gone   []bool
	mark   []int32
	stamp  int32
	bucket [][]int32 // by degree; an entry is stale if its node has moved on
	least  int
}

func newGraph(p *Pattern) *graph {
	n := p.N
	g := &graph{near: make([][]int32, n), degree: make([]int32, n), gone: make([]bool, n),
		mark: make([]int32, n), bucket: make([][]int32, 1)}
	g.roomFor(p)
	for j := int32(0); j < int32(n); j++ {
		for _, i := range p.Rows[p.Start[j]:p.Start[j+1]] {
			if i != j {
				g.near[i] = append(g.near[i], j)
				g.near[j] = append(g.near[j], i)
			}
		}
	}
	for v := range g.near {
		g.stamp++
		kept := g.near[v][:0]
		for _, u := range g.near[v] {
			if g.mark[u] != g.stamp {
				g.mark[u] = g.stamp
				kept = append(kept, u)
			}
		}
		g.near[v] = kept
		g.degree[v] = int32(len(kept))
	}
	for v := n - 1; v >= 0; v-- {
		g.file(int32(v))
	}
	return g
}

// roomFor cuts the lists of neighbours out of one piece of memory.
func (g *graph) roomFor(p *Pattern) {
	for j := int32(0); j < int32(p.N); j++ {
		for _, i := range p.Rows[p.Start[j]:p.Start[j+1]] {
			if i != j {
				g.degree[i]++
				g.degree[j]++
			}
		}
	}
	all := make([]int32, 2*len(p.Rows))
	for v, d := range g.degree {
		g.near[v], all = all[:0:d], all[d:]
	}
}

// file puts a node into the bucket of its degree.
func (g *graph) file(v int32) {
	d := int(g.degree[v])
	for len(g.bucket) <= d {
		g.bucket = append(g.bucket, nil)
	}
	g.bucket[d] = append(g.bucket[d], v)
	g.least = min(g.least, d)
}

// take removes a node of least degree.
func (g *graph) take() int32 {
	for {
		b := g.bucket[g.least]
		if len(b) == 0 {
			g.least++
			continue
		}
		v := b[len(b)-1]
		g.bucket[g.least] = b[:len(b)-1]
		if !g.gone[v] && int(g.degree[v]) == g.least {
			g.gone[v] = true
			return v
		}
	}
}

// alive gives the neighbours of v that are left, and drops the others.
func (g *graph) alive(v int32) []int32 {
	kept := g.near[v][:0]
	for _, u := range g.near[v] {
		if !g.gone[u] {
			kept = append(kept, u)
		}
	}
	g.near[v] = kept
	return kept
}

// eliminate joins the neighbours of a node that went to each other.
func (g *graph) eliminate(v int32) {
	around := g.alive(v)
	switch len(around) {
	case 0:
	case 1:
		g.degree[around[0]]--
		g.file(around[0])
	case 2:
		a, b := around[0], around[1]
		if g.joined(a, b) {
			g.degree[a]--
			g.degree[b]--
		} else {
			g.near[a] = append(g.near[a], b)
			g.near[b] = append(g.near[b], a)
		}
		g.file(a)
		g.file(b)
	default:
		for _, u := range around {
			g.clique(u, around)
		}
	}
	g.near[v] = nil
}

func (g *graph) joined(a, b int32) bool {
	if len(g.near[a]) > len(g.near[b]) {
		a, b = b, a
	}
	for _, u := range g.near[a] {
		if u == b {
			return true
		}
	}
	return false
}

// clique makes all of the given nodes neighbours of u.
func (g *graph) clique(u int32, all []int32) {
	g.stamp++
	g.mark[u] = g.stamp
	for _, w := range g.alive(u) {
		g.mark[w] = g.stamp
	}
	for _, w := range all {
		if g.mark[w] != g.stamp {
			g.near[u] = append(g.near[u], w)
		}
	}
	g.degree[u] = int32(len(g.near[u]))
	g.file(u)
}
