// Package sparse factorises the sparse matrices of the network solvers: LU with
// pivoting for Newton steps, LDLᵀ with chosen entries of the inverse for
// short-circuit studies, both in an order that keeps fill-in small.
package sparse

import "slices"

// Pattern is the fixed place of the entries of a square matrix in compressed
// columns: the rows of column j are Rows[Start[j]:Start[j+1]], rising.
type Pattern struct {
	N     int
	Start []int32
	Rows  []int32
}

// Entry is one place of a matrix.
type Entry struct{ Row, Col int32 }

// NewPattern joins entries, which may repeat, into a pattern, and returns for
// each the index its value adds to.
func NewPattern(n int, entries []Entry) (*Pattern, []int32) {
	order := make([]int32, len(entries))
	count := make([]int32, n+1)
	for _, e := range entries {
		count[e.Col+1]++
	}
	for j := 0; j < n; j++ {
		count[j+1] += count[j]
	}
	next := slices.Clone(count)
	for k, e := range entries {
		order[next[e.Col]] = int32(k)
		next[e.Col]++
	}
	p := &Pattern{N: n, Start: make([]int32, n+1), Rows: make([]int32, 0, len(entries))}
	slot := make([]int32, len(entries))
	for j := 0; j < n; j++ {
		column := order[count[j]:count[j+1]]
		slices.SortFunc(column, func(a, b int32) int { return int(entries[a].Row) - int(entries[b].Row) })
		last := int32(-1)
		for _, k := range column {
			if r := entries[k].Row; r != last {
				p.Rows = append(p.Rows, r)
				last = r
			}
			slot[k] = int32(len(p.Rows) - 1)
		}
		p.Start[j+1] = int32(len(p.Rows))
	}
	return p, slot
}

// Multiply gives y = A x.
func (p *Pattern) Multiply(values, x, y []float64) {
	clear(y)
	for j := 0; j < p.N; j++ {
		for k := p.Start[j]; k < p.Start[j+1]; k++ {
			y[p.Rows[k]] += values[k] * x[j]
		}
	}
}
