package water

import (
	"math"
	"math/rand/v2"
	"testing"
)

// dense solves by Gaussian elimination with pivoting: another way to the same
// answer.
func dense(a [][]float64, b []float64) []float64 {
	n := len(b)
	for c := range n {
		p := c
		for r := c; r < n; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[p][c]) {
				p = r
			}
		}
		a[c], a[p], b[c], b[p] = a[p], a[c], b[p], b[c]
		for r := c + 1; r < n; r++ {
			f := a[r][c] / a[c][c]
			for k := c; k < n; k++ {
				a[r][k] -= f * a[c][k]
			}
			b[r] -= f * b[c]
		}
	}
	for r := n - 1; r >= 0; r-- {
		for k := r + 1; k < n; k++ {
			b[r] -= a[r][k] * b[k]
		}
		b[r] /= a[r][r]
	}
	return b
}

func TestSparseAgainstDense(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for trial := range 200 {
		n := 1 + rng.IntN(40)
		a := make([][]float64, n)
		for i := range a {
			a[i] = make([]float64, n)
			a[i][i] = rng.Float64() * 0.01
		}
		var pairs []pair
		var vals []float64
		for range rng.IntN(3 * n) {
			i, j := rng.IntN(n), rng.IntN(n)
			if i == j {
				continue
			}
			y := math.Exp(6*rng.Float64() - 3)
			pairs, vals = append(pairs, pair{i, j}), append(vals, y)
			a[i][i] += y
			a[j][j] += y
			a[i][j] -= y
			a[j][i] -= y
		}
		s, slot := newSparse(n, pairs)
		for i := range n {
			s.diag[i] = a[i][i]
		}
		for k, v := range vals {
			s.val[slot[k]] -= v
		}
		b := make([]float64, n)
		for i := range b {
			b[i] = rng.Float64() - 0.5
		}
		want := dense(a, append([]float64(nil), b...))
		if bad := s.factor(); bad >= 0 {
			t.Fatalf("trial %d: row %d not positive", trial, bad)
		}
		s.solve(b)
		for i := range b {
			near(t, "x", b[i], want[i], 1e-7, 1e-9)
		}
	}
}
