package sparse_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"fitout/validate/dc/sparse"
)

// random builds a matrix that is nonsingular with near certainty. Zero
// diagonals, as in equations of ideal sources, are part of it.
func random(r *rand.Rand, n, extra int, zeros bool) (*sparse.Pattern, []float64, *mat.Dense) {
	var entries []sparse.Entry
	var given []float64
	put := func(i, j int, v float64) {
		entries = append(entries, sparse.Entry{Row: int32(i), Col: int32(j)})
		given = append(given, v)
	}
	perm := r.Perm(n)
	for i := range n {
		if !zeros || r.IntN(3) > 0 {
			put(i, i, math.Exp(r.NormFloat64()*3))
		}
		put(i, perm[i], r.NormFloat64())
		put(perm[i], i, r.NormFloat64())
	}
	for range extra {
		put(r.IntN(n), r.IntN(n), r.NormFloat64())
	}
	p, slot := sparse.NewPattern(n, entries)
	values := make([]float64, len(p.Rows))
	dense := mat.NewDense(n, n, nil)
	for k, e := range entries {
		values[slot[k]] += given[k]
		dense.Set(int(e.Row), int(e.Col), dense.At(int(e.Row), int(e.Col))+given[k])
	}
	return p, values, dense
}

// The dense LU of gonum (a LAPACK translation) is the outside reference.
func TestLUAgreesWithDense(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for trial := range 300 {
		n := 1 + r.IntN(60)
		p, values, dense := random(r, n, r.IntN(3*n), trial%2 == 0)
		var ref mat.LU
		ref.Factorize(dense)
		cond := ref.Cond()
		if cond > 1e10 {
			continue
		}
		f := sparse.NewLU(p)
		if col, ok := f.Factor(values); !ok {
			t.Fatalf("trial %d: singular at column %d, condition %g", trial, col, cond)
		}
		b := make([]float64, n)
		for i := range b {
			b[i] = r.NormFloat64()
		}
		var want mat.VecDense
		if err := ref.SolveVecTo(&want, false, mat.NewVecDense(n, slices.Clone(b))); err != nil {
			t.Fatal(err)
		}
		f.Solve(b)
		scale := mat.Norm(&want, math.Inf(1))
		for i := range b {
			if math.Abs(b[i]-want.AtVec(i)) > 1e-14*cond*scale {
				t.Fatalf("trial %d, n %d: x[%d] = %g, dense %g, condition %g", trial, n, i, b[i], want.AtVec(i), cond)
			}
		}
		if _, sign := ref.LogDet(); int(sign) != f.Sign() {
			t.Fatalf("trial %d: sign of determinant %d, dense %g", trial, f.Sign(), sign)
		}
	}
}

func TestLUFindsSingular(t *testing.T) {
	for _, tc := range []struct {
		name string
		a    [][]float64
	}{
		{"empty column", [][]float64{{1, 0}, {1, 0}}},
		{"equal rows", [][]float64{{1, 2, 0}, {1, 2, 0}, {0, 1, 1}}},
		{"floating pair", [][]float64{{3, -3, 0}, {-3, 3, 0}, {0, 0, 1}}},
		{"floating pair with a stiff link", [][]float64{{1e5, -1e5, 0, 0}, {-1e5, 1e5 + 0.1, -0.1, 0}, {0, -0.1, 0.1, 0}, {0, 0, 0, 1}}},
	} {
		var entries []sparse.Entry
		var values []float64
		for i, row := range tc.a {
			for j, v := range row {
				entries = append(entries, sparse.Entry{Row: int32(i), Col: int32(j)})
				values = append(values, v)
			}
		}
		p, slot := sparse.NewPattern(len(tc.a), entries)
		placed := make([]float64, len(values))
		for k, s := range slot {
			placed[s] += values[k]
		}
		if _, ok := sparse.NewLU(p).Factor(placed); ok {
			t.Errorf("%s: factorised", tc.name)
		}
	}
}

// grounded builds the conductance matrix of a random connected network.
func grounded(r *rand.Rand, n, loops int) (*sparse.Pattern, []float64, *mat.SymDense, [][2]int) {
	var entries []sparse.Entry
	var given []float64
	var edges [][2]int
	join := func(a, b int, g float64) {
		for _, e := range [][3]float64{{float64(a), float64(a), g}, {float64(b), float64(b), g}, {float64(a), float64(b), -g}, {float64(b), float64(a), -g}} {
			entries = append(entries, sparse.Entry{Row: int32(e[0]), Col: int32(e[1])})
			given = append(given, e[2])
		}
		edges = append(edges, [2]int{a, b})
	}
	for i := 1; i < n; i++ {
		join(i, r.IntN(i), math.Pow(10, r.Float64()*6-1))
	}
	for range loops {
		if a, b := r.IntN(n), r.IntN(n); a != b {
			join(a, b, math.Pow(10, r.Float64()*6-1))
		}
	}
	entries, given = append(entries, sparse.Entry{}), append(given, 250)
	p, slot := sparse.NewPattern(n, entries)
	values := make([]float64, len(p.Rows))
	dense := mat.NewSymDense(n, nil)
	for k, e := range entries {
		values[slot[k]] += given[k]
		if e.Row <= e.Col {
			dense.SetSym(int(e.Row), int(e.Col), dense.At(int(e.Row), int(e.Col))+given[k])
		}
	}
	return p, values, dense, edges
}

func TestLDLAgreesWithDense(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for trial := range 200 {
		n := 1 + r.IntN(50)
		p, values, dense, edges := grounded(r, n, r.IntN(2*n))
		f, row, ok := sparse.NewLDL(p, values)
		if !ok {
			t.Fatalf("trial %d: not positive definite at %d", trial, row)
		}
		var chol mat.Cholesky
		if !chol.Factorize(dense) {
			t.Fatal("dense factorisation refused")
		}
		var inv mat.SymDense
		if err := chol.InverseTo(&inv); err != nil {
			t.Fatal(err)
		}
		near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-13*chol.Cond()*math.Abs(b)+1e-15 }
		for i := range n {
			if got, want := f.Inverse(i, i), inv.At(i, i); !near(got, want) {
				t.Fatalf("trial %d: inverse at %d: %g, dense %g", trial, i, got, want)
			}
			b := make([]float64, n)
			b[i] = 1
			f.Solve(b)
			for j := range b {
				if !near(b[j], inv.At(i, j)) {
					t.Fatalf("trial %d: solution %d,%d: %g, dense %g", trial, i, j, b[j], inv.At(i, j))
				}
			}
		}
		for _, e := range edges {
			if got, want := f.Inverse(e[0], e[1]), inv.At(e[0], e[1]); !near(got, want) {
				t.Fatalf("trial %d: inverse at %v: %g, dense %g", trial, e, got, want)
			}
		}
	}
}

// Rose (1970): a tree is eliminated from its leaves without any fill; a ring
// costs one entry in each step but the last two.
func TestOrderOfTreesAndRings(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	// Large enough for diagonal pivots, small enough that fill does not underflow.
	dominant := map[string]float64{"tree": 1000, "star": 1000, "ring": 3}
	for _, tc := range []struct {
		name  string
		n     int
		edges func(n int) [][2]int
		fill  int
	}{
		{"tree", 400, func(n int) (e [][2]int) {
			for i := 1; i < n; i++ {
				e = append(e, [2]int{i, r.IntN(i)})
			}
			return e
		}, 399},
		{"star", 400, func(n int) (e [][2]int) {
			for i := 1; i < n; i++ {
				e = append(e, [2]int{i, 0})
			}
			return e
		}, 399},
		{"ring", 400, func(n int) (e [][2]int) {
			for i := range n {
				e = append(e, [2]int{i, (i + 1) % n})
			}
			return e
		}, 2*400 - 3},
	} {
		var entries []sparse.Entry
		for i := range tc.n {
			entries = append(entries, sparse.Entry{Row: int32(i), Col: int32(i)})
		}
		for _, e := range tc.edges(tc.n) {
			entries = append(entries, sparse.Entry{Row: int32(e[0]), Col: int32(e[1])}, sparse.Entry{Row: int32(e[1]), Col: int32(e[0])})
		}
		p, slot := sparse.NewPattern(tc.n, entries)
		values := make([]float64, len(p.Rows))
		for k, e := range entries {
			values[slot[k]] = -1
			if e.Row == e.Col {
				values[slot[k]] = dominant[tc.name]
			}
		}
		f := sparse.NewLU(p)
		f.Factor(values)
		if got := f.Fill(); got != 2*tc.fill+tc.n {
			t.Errorf("%s of %d: %d entries in the factors, want %d", tc.name, tc.n, got, 2*tc.fill+tc.n)
		}
		order := sparse.Order(p)
		slices.Sort(order)
		for i, v := range order {
			if int(v) != i {
				t.Fatalf("%s: order is no permutation", tc.name)
			}
		}
	}
}

func BenchmarkLU(b *testing.B) {
	for _, n := range []int{1000, 10000, 100000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			p, values, _, _ := ladder(n)
			b.ResetTimer()
			for b.Loop() {
				f := sparse.NewLU(p)
				if _, ok := f.Factor(values); !ok {
					b.Fatal("singular")
				}
			}
		})
	}
}

// ladder builds a two-pole feeder with rungs, the shape of a boat's wiring.
func ladder(n int) (*sparse.Pattern, []float64, int, int) {
	var entries []sparse.Entry
	var given []float64
	join := func(a, b int, g float64) {
		entries = append(entries, sparse.Entry{Row: int32(a), Col: int32(a)}, sparse.Entry{Row: int32(b), Col: int32(b)},
			sparse.Entry{Row: int32(a), Col: int32(b)}, sparse.Entry{Row: int32(b), Col: int32(a)})
		given = append(given, g, g, -g, -g)
	}
	for i := 0; i+2 < n; i++ {
		join(i, i+2, 1000)
		if i%2 == 0 {
			join(i, i+1, 0.5)
		}
	}
	entries, given = append(entries, sparse.Entry{}), append(given, 250)
	p, slot := sparse.NewPattern(n, entries)
	values := make([]float64, len(p.Rows))
	for k := range entries {
		values[slot[k]] += given[k]
	}
	return p, values, 0, 0
}
