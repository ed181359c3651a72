package sparse

import "math"

// LU is a factorisation Q of one pattern: column by column after Gilbert and
// Peierls (1988), rows chosen by size with a preference for the diagonal. It
// keeps its storage for the next matrix of the same pattern.
type LU struct {
	p     *Pattern
	order []int32 // column k of the factors is column order[k] of the matrix
	pivot []int32 // row of the matrix → step in which it was the pivot, or -1
	rowAt []int32 // step → row
	scale []float64
	sign  int

	lStart, uStart []int32
	lRow, uRow     []int32 // rows of the matrix in l; steps in u
	lVal, uVal     []float64
	diag           []float64

	x     []float64
	mark  []int32
	stamp int32
	stack []int32
	head  []int32
	topo  []int32
}

// prefer is the share of the largest candidate that lets the diagonal win: low
// enough to keep the fill-reducing order, high enough for accuracy.
const prefer = 0.05

// vanishing is the share of a column's entries under which a pivot counts as
// cancelled to nothing.
const vanishing = 1e-13

// NewLU prepares for matrices of a pattern.
func NewLU(p *Pattern) *LU {
	n, room := p.N, len(p.Rows)
	return &LU{p: p, order: Order(p), pivot: make([]int32, n), rowAt: make([]int32, n), scale: make([]float64, n),
		lStart: make([]int32, n+1), uStart: make([]int32, n+1), diag: make([]float64, n),
		x: make([]float64, n), mark: make([]int32, n), head: make([]int32, n),
		lRow: make([]int32, 0, room), lVal: make([]float64, 0, room), uRow: make([]int32, 0, room), uVal: make([]float64, 0, room)}
}

// Factor factorises the matrix with the given values. Where a column has no
// pivot left it returns the column and false: the matrix is singular.
func (f *LU) Factor(values []float64) (column int, ok bool) {
	f.rescale(values)
	f.lRow, f.lVal, f.uRow, f.uVal = f.lRow[:0], f.lVal[:0], f.uRow[:0], f.uVal[:0]
	for i := range f.pivot {
		f.pivot[i] = -1
	}
	for k, j := range f.order {
		f.lStart[k], f.uStart[k] = int32(len(f.lRow)), int32(len(f.uRow))
		largest := f.column(j, values)
		if !f.choose(int32(k), j, largest) {
			return int(j), false
		}
	}
	n := f.p.N
	f.lStart[n], f.uStart[n] = int32(len(f.lRow)), int32(len(f.uRow))
	f.sign = parity(f.rowAt) * parity(f.order)
	return 0, true
}

// rescale finds a power of two for each row that brings its largest entry near
// one: conductances of 1e5 S stand beside equations in volts.
func (f *LU) rescale(values []float64) {
	clear(f.scale)
	for k, r := range f.p.Rows {
		f.scale[r] = math.Max(f.scale[r], math.Abs(values[k]))
	}
	for i, s := range f.scale {
		if s == 0 || math.IsInf(s, 0) || math.IsNaN(s) {
			f.scale[i] = 1
			continue
		}
		_, e := math.Frexp(s)
		f.scale[i] = math.Ldexp(1, -e)
	}
}

// column solves for column j of the factors in f.x, its rows in f.topo in
// topological order, and returns its largest entry before elimination.
func (f *LU) column(j int32, values []float64) float64 {
	f.reach(j)
	for _, r := range f.topo {
		f.x[r] = 0
	}
	largest := 0.0
	for k := f.p.Start[j]; k < f.p.Start[j+1]; k++ {
		r := f.p.Rows[k]
		f.x[r] = values[k] * f.scale[r]
		largest = math.Max(largest, math.Abs(f.x[r]))
	}
	for t := len(f.topo) - 1; t >= 0; t-- {
		r := f.topo[t]
		step := f.pivot[r]
		if step < 0 || f.x[r] == 0 {
			continue
		}
		xr := f.x[r]
		for q := f.lStart[step]; q < f.lStart[step+1]; q++ {
			d := f.lVal[q] * xr
			f.x[f.lRow[q]] -= d
		}
	}
	return largest
}

// reach collects the rows that column j can touch, children before parents.
func (f *LU) reach(j int32) {
	f.stamp++
	f.topo = f.topo[:0]
	for _, r := range f.p.Rows[f.p.Start[j]:f.p.Start[j+1]] {
		if f.mark[r] != f.stamp {
			f.search(r)
		}
	}
}

func (f *LU) search(root int32) {
	f.stack = append(f.stack[:0], root)
	f.mark[root] = f.stamp
	f.head[root] = 0
	for len(f.stack) > 0 {
		r := f.stack[len(f.stack)-1]
		step := f.pivot[r]
		next := int32(-1)
		if step >= 0 {
			from, to := f.lStart[step], f.lStart[step+1]
			for q := from + f.head[r]; q < to; q++ {
				if c := f.lRow[q]; f.mark[c] != f.stamp {
					f.head[r] = q - from + 1
					next = c
					break
				}
			}
		}
		if next < 0 {
			f.topo = append(f.topo, r)
			f.stack = f.stack[:len(f.stack)-1]
			continue
		}
		f.mark[next] = f.stamp
		f.head[next] = 0
		f.stack = append(f.stack, next)
	}
}

// choose picks the pivot of step k and stores the column.
func (f *LU) choose(k, j int32, largest float64) bool {
	best, size := int32(-1), 0.0
	for _, r := range f.topo {
		if f.pivot[r] >= 0 {
			f.uRow = append(f.uRow, f.pivot[r])
			f.uVal = append(f.uVal, f.x[r])
			continue
		}
		if a := math.Abs(f.x[r]); a > size || a == size && best >= 0 && r < best {
			best, size = r, a
		}
	}
	if best < 0 || !(size > vanishing*largest) || math.IsInf(size, 0) {
		return false
	}
	if f.mark[j] == f.stamp && f.pivot[j] < 0 && math.Abs(f.x[j]) >= prefer*size {
		best = j
	}
	f.pivot[best], f.rowAt[k], f.diag[k] = k, best, f.x[best]
	for _, r := range f.topo {
		if f.pivot[r] < 0 && f.x[r] != 0 {
			f.lRow = append(f.lRow, r)
			f.lVal = append(f.lVal, f.x[r]/f.diag[k])
		}
	}
	f.lStart[k+1] = int32(len(f.lRow))
	return true
}

// Solve overwrites b with the solution of A x = b.
func (f *LU) Solve(b []float64) {
	n := f.p.N
	y := f.x
	for i := range b {
		b[i] *= f.scale[i]
	}
	for k := 0; k < n; k++ {
		v := b[f.rowAt[k]]
		y[k] = v
		for q := f.lStart[k]; q < f.lStart[k+1]; q++ {
			d := f.lVal[q] * v
			b[f.lRow[q]] -= d
		}
	}
	for k := n - 1; k >= 0; k-- {
		v := y[k] / f.diag[k]
		b[f.order[k]] = v
		for q := f.uStart[k]; q < f.uStart[k+1]; q++ {
			d := f.uVal[q] * v
			y[f.uRow[q]] -= d
		}
	}
}

// Sign is the sign of the determinant, 1 or -1.
func (f *LU) Sign() int {
	s := f.sign
	for _, d := range f.diag {
		if d < 0 {
			s = -s
		}
	}
	return s
}

// Fill is the number of entries in both factors.
func (f *LU) Fill() int { return len(f.lRow) + len(f.uRow) + len(f.diag) }

// parity gives 1 for an even permutation and -1 for an odd one.
func parity(p []int32) int {
	seen := make([]bool, len(p))
	sign := 1
	for i := range p {
		for j := int32(i); !seen[j]; j = p[j] {
			seen[j] = true
			if p[j] != int32(i) {
				sign = -sign
			}
		}
	}
	return sign
}
