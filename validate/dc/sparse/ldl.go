package sparse

import "math"

// LDL is the factorisation of a symmetric, positive definite matrix such as
// the conductances of a network with its return grounded (up-looking, after
// Davis 2005).
type LDL struct {
	n       int
	order   []int32 // step → row
	step    []int32 // row → step
	start   []int32
	rows    []int32
	values  []float64
	d       []float64
	inverse []float64 // entries of the inverse in the pattern of L, when asked for
	invDiag []float64
	work    []float64
}

// NewLDL factorises; values beside the diagonal must stand on both sides of
// it. Where the matrix is not positive definite it returns the row and false.
func NewLDL(p *Pattern, values []float64) (f *LDL, row int, ok bool) {
	f = &LDL{n: p.N, order: Order(p), step: make([]int32, p.N), d: make([]float64, p.N), work: make([]float64, p.N)}
	for k, r := range f.order {
		f.step[r] = int32(k)
	}
	parent, count := f.analyse(p)
	f.start = make([]int32, p.N+1)
	for k, c := range count {
		f.start[k+1] = f.start[k] + c
	}
	f.rows = make([]int32, f.start[p.N])
	f.values = make([]float64, f.start[p.N])
	row, ok = f.factor(p, values, parent)
	return f, row, ok
}

// analyse finds the elimination tree and the number of entries in each column.
func (f *LDL) analyse(p *Pattern) (parent, count []int32) {
	n := p.N
	parent, count = make([]int32, n), make([]int32, n)
	mark := make([]int32, n)
	for k := int32(0); k < int32(n); k++ {
		parent[k], mark[k] = -1, k
		j := f.order[k]
		for _, r := range p.Rows[p.Start[j]:p.Start[j+1]] {
			for i := f.step[r]; i < k && mark[i] != k; i = parent[i] {
				if parent[i] < 0 {
					parent[i] = k
				}
				count[i]++
				mark[i] = k
			}
		}
	}
	return parent, count
}

func (f *LDL) factor(p *Pattern, values []float64, parent []int32) (row int, ok bool) {
	n := p.N
	y, mark := make([]float64, n), make([]int32, n)
	used := make([]int32, n)
	pattern, path := make([]int32, n), make([]int32, 0, n)
	for k := int32(0); k < int32(n); k++ {
		mark[k] = k
		top := n
		j := f.order[k]
		for q := p.Start[j]; q < p.Start[j+1]; q++ {
			i := f.step[p.Rows[q]]
			if i > k {
				continue
			}
			y[i] += values[q]
			path = path[:0]
			for ; mark[i] != k; i = parent[i] {
				path = append(path, i)
				mark[i] = k
			}
			for t := len(path) - 1; t >= 0; t-- {
				top--
				pattern[top] = path[t]
			}
		}
		whole := y[k]
		f.d[k], y[k] = whole, 0
		for _, i := range pattern[top:] {
			yi := y[i]
			y[i] = 0
			for q := f.start[i]; q < f.start[i]+used[i]; q++ {
				d := f.values[q] * yi
				y[f.rows[q]] -= d
			}
			l := yi / f.d[i]
			d := l * yi
			f.d[k] -= d
			q := f.start[i] + used[i]
			f.rows[q], f.values[q] = k, l
			used[i]++
		}
		if !(f.d[k] > vanishing*whole) || math.IsInf(f.d[k], 0) {
			return int(j), false
		}
	}
	return 0, true
}

// Solve overwrites b with the solution of A x = b.
func (f *LDL) Solve(b []float64) {
	y := f.work
	for k, r := range f.order {
		y[k] = b[r]
	}
	for k := 0; k < f.n; k++ {
		for q := f.start[k]; q < f.start[k+1]; q++ {
			d := f.values[q] * y[k]
			y[f.rows[q]] -= d
		}
	}
	for k := f.n - 1; k >= 0; k-- {
		v := y[k] / f.d[k]
		for q := f.start[k]; q < f.start[k+1]; q++ {
			d := f.values[q] * y[f.rows[q]]
			v -= d
		}
		y[k] = v
		b[f.order[k]] = v
	}
}

// Inverse gives the entry of the inverse at rows a and b, which must be equal
// or have had an entry in the matrix. The first call computes all such entries
// in one sweep (Takahashi, Fagan and Chin 1973).
func (f *LDL) Inverse(a, b int) float64 {
	if f.inverse == nil {
		f.takahashi()
	}
	i, j := f.step[a], f.step[b]
	if i == j {
		return f.invDiag[i]
	}
	v, _ := f.entry(min(i, j), max(i, j))
	return v
}

// entry finds the inverse at steps col < row.
func (f *LDL) entry(col, row int32) (float64, bool) {
	lo, hi := f.start[col], f.start[col+1]
	for lo < hi {
		mid := (lo + hi) / 2
		switch r := f.rows[mid]; {
		case r == row:
			return f.inverse[mid], true
		case r < row:
			lo = mid + 1
		default:
			hi = mid
		}
	}
	return 0, false
}

func (f *LDL) takahashi() {
	f.inverse = make([]float64, len(f.values))
	f.invDiag = make([]float64, f.n)
	for j := int32(f.n) - 1; j >= 0; j-- {
		from, to := f.start[j], f.start[j+1]
		for p := from; p < to; p++ {
			i := f.rows[p]
			sum := f.values[p] * f.invDiag[i]
			for q := from; q < to; q++ {
				if k := f.rows[q]; k != i {
					z, _ := f.entry(min(i, k), max(i, k))
					d := f.values[q] * z
					sum += d
				}
			}
			f.inverse[p] = -sum
		}
		z := 1 / f.d[j]
		for p := from; p < to; p++ {
			d := f.values[p] * f.inverse[p]
			z -= d
		}
		f.invDiag[j] = z
	}
}
