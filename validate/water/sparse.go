package water

// sparse solves A·x = b for a symmetric positive definite matrix whose pattern
// stays while its values change: ordering and symbolic factorisation once,
// L·D·Lᵀ by rows (up-looking) for every set of values.
type sparse struct {
	n      int
	perm   []int // position → row
	place  []int // row → position
	parent []int // elimination tree

	// upper triangle of the permuted matrix by columns, without the diagonal
	up   []int // start of each column
	row  []int
	diag []float64 // by row
	val  []float64

	lp, li []int // L by columns
	lx, d  []float64

	// workspace
	y        []float64
	pattern  []int
	flag, nz []int
}

// pair is an off-diagonal entry of the pattern.
type pair struct{ i, j int }

// newSparse orders a matrix of n rows with the given off-diagonal pairs (any
// order, repeats allowed). slot[k] is where pair k adds its value in val.
func newSparse(n int, pairs []pair) (s *sparse, slot []int) {
	adj := neighbours(n, pairs)
	s = &sparse{n: n, perm: minimumDegree(adj), place: make([]int, n)}
	for k, r := range s.perm {
		s.place[r] = k
	}
	s.up = make([]int, n+1)
	for k, r := range s.perm {
		s.up[k+1] = s.up[k]
		for _, c := range adj[r] {
			if s.place[c] < k {
				s.row = append(s.row, s.place[c])
				s.up[k+1]++
			}
		}
	}
	s.val, s.diag = make([]float64, len(s.row)), make([]float64, n)
	slot = make([]int, len(pairs))
	for k, p := range pairs {
		slot[k] = s.find(p)
	}
	s.symbolic()
	return s, slot
}

func (s *sparse) find(p pair) int {
	i, j := s.place[p.i], s.place[p.j]
	if i > j {
		i, j = j, i
	}
	for k := s.up[j]; k < s.up[j+1]; k++ {
		if s.row[k] == i {
			return k
		}
	}
	panic("water: entry outside the pattern") // cannot be: the pattern came from the pairs
}

// symbolic finds the elimination tree and the column counts of L.
func (s *sparse) symbolic() {
	n := s.n
	s.parent, s.flag, s.nz = make([]int, n), make([]int, n), make([]int, n)
	for k := range n {
		s.parent[k], s.flag[k] = -1, k
		for p := s.up[k]; p < s.up[k+1]; p++ {
			for i := s.row[p]; s.flag[i] != k; i = s.parent[i] {
				if s.parent[i] < 0 {
					s.parent[i] = k
				}
				s.nz[i]++
				s.flag[i] = k
			}
		}
	}
	s.lp = make([]int, n+1)
	for k := range n {
		s.lp[k+1] = s.lp[k] + s.nz[k]
	}
	s.li, s.lx = make([]int, s.lp[n]), make([]float64, s.lp[n])
	s.d, s.y, s.pattern = make([]float64, n), make([]float64, n), make([]int, n)
}

// factor computes L and D from val and diag. It returns the row at which the
// matrix is not positive definite, or −1.
func (s *sparse) factor() int {
	for k := range s.n {
		top := s.n
		s.flag[k], s.nz[k] = k, 0
		for p := s.up[k]; p < s.up[k+1]; p++ {
			i, depth := s.row[p], 0
			s.y[i] += s.val[p]
			for ; s.flag[i] != k; i = s.parent[i] {
				s.pattern[depth] = i
				depth++
				s.flag[i] = k
			}
			for depth > 0 {
				depth--
				top--
				s.pattern[top] = s.pattern[depth]
			}
		}
		d := s.diag[s.perm[k]]
		for ; top < s.n; top++ {
			i := s.pattern[top]
			yi := s.y[i]
			s.y[i] = 0
			end := s.lp[i] + s.nz[i]
			for p := s.lp[i]; p < end; p++ {
				s.y[s.li[p]] -= s.lx[p] * yi
			}
			l := yi / s.d[i]
			d -= l * yi
			s.li[end], s.lx[end] = k, l
			s.nz[i]++
		}
		if !(d > 0) {
			return s.perm[k]
		}
		s.d[k] = d
	}
	return -1
}

// solve overwrites b (by row) with the solution.
func (s *sparse) solve(b []float64) {
	x := s.y
	for k, r := range s.perm {
		x[k] = b[r]
	}
	for j := range s.n {
		for p := s.lp[j]; p < s.lp[j+1]; p++ {
			x[s.li[p]] -= s.lx[p] * x[j]
		}
	}
	for j := s.n - 1; j >= 0; j-- {
		v := x[j] / s.d[j]
		for p := s.lp[j]; p < s.lp[j+1]; p++ {
			v -= s.lx[p] * x[s.li[p]]
		}
		x[j] = v
	}
	for k, r := range s.perm {
		b[r] = x[k]
		x[k] = 0
	}
}

func neighbours(n int, pairs []pair) [][]int {
	adj := make([][]int, n)
	for _, p := range pairs {
		adj[p.i] = insert(adj[p.i], p.j)
		adj[p.j] = insert(adj[p.j], p.i)
	}
	return adj
}

// insert puts v into a sorted list once.
func insert(l []int, v int) []int {
	k := len(l)
	for k > 0 && l[k-1] >= v {
		k--
	}
	if k < len(l) && l[k] == v {
		return l
	}
	l = append(l, 0)
	copy(l[k+1:], l[k:])
	l[k] = v
	return l
}

// minimumDegree eliminates the row with the fewest neighbours first, joining
// its neighbours to each other; of equals the lowest number.
func minimumDegree(given [][]int) []int {
	n := len(given)
	adj := make([][]int, n)
	for i := range given {
		adj[i] = append([]int(nil), given[i]...)
	}
	q := newDegrees(adj)
	order := make([]int, 0, n)
	var spare []int
	for range n {
		v := q.pop()
		order = append(order, v)
		for _, u := range adj[v] {
			spare = union(spare[:0], adj[u], adj[v], u, v)
			adj[u] = append(adj[u][:0], spare...)
			q.set(u, len(adj[u]))
		}
		adj[v] = nil
	}
	return order
}

// union merges two sorted lists, leaving out u and v.
func union(out, a, b []int, u, v int) []int {
	for len(a) > 0 || len(b) > 0 {
		var x int
		switch {
		case len(b) == 0 || len(a) > 0 && a[0] < b[0]:
			x, a = a[0], a[1:]
		case len(a) == 0 || b[0] < a[0]:
			x, b = b[0], b[1:]
		default:
			x, a, b = a[0], a[1:], b[1:]
		}
		if x != u && x != v {
			out = append(out, x)
		}
	}
	return out
}

// degrees is a heap of rows by degree, then number, with a place to find each.
type degrees struct {
	heap, at, deg []int
}

func newDegrees(adj [][]int) *degrees {
	n := len(adj)
	q := &degrees{heap: make([]int, n), at: make([]int, n), deg: make([]int, n)}
	for i := range n {
		q.heap[i], q.at[i], q.deg[i] = i, i, len(adj[i])
	}
	for i := n/2 - 1; i >= 0; i-- {
		q.down(i)
	}
	return q
}

func (q *degrees) less(i, j int) bool {
	a, b := q.heap[i], q.heap[j]
	return q.deg[a] < q.deg[b] || q.deg[a] == q.deg[b] && a < b
}

func (q *degrees) swap(i, j int) {
	q.heap[i], q.heap[j] = q.heap[j], q.heap[i]
	q.at[q.heap[i]], q.at[q.heap[j]] = i, j
}

func (q *degrees) down(i int) {
	for {
		c := 2*i + 1
		if c >= len(q.heap) {
			return
		}
		if c+1 < len(q.heap) && q.less(c+1, c) {
			c++
		}
		if !q.less(c, i) {
			return
		}
		q.swap(i, c)
		i = c
	}
}

func (q *degrees) up(i int) {
	for i > 0 && q.less(i, (i-1)/2) {
		q.swap(i, (i-1)/2)
		i = (i - 1) / 2
	}
}

func (q *degrees) pop() int {
	v := q.heap[0]
	last := len(q.heap) - 1
	q.swap(0, last)
	q.heap = q.heap[:last]
	if last > 0 {
		q.down(0)
	}
	return v
}

func (q *degrees) set(v, d int) {
	q.deg[v] = d
	q.up(q.at[v])
	q.down(q.at[v])
}
