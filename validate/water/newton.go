package water

import "math"

// system is a network made ready for the iteration: plain indices, SI units,
// openings and aired vents as edges to nodes of fixed head.
type system struct {
	fixed  []bool
	head   []float64 // m
	inject []float64 // m³/s put in
	from   []int
	to     []int
	laws   []law
	single []bool // lets nothing back
	on     []bool
	q      []float64

	row    []int // node → row, −1 fixed
	slot   []int // edge → place in sparse.val, −1 none
	matrix *sparse

	part    []int  // node → its connected part
	fed     []bool // part → has a fixed head
	grad    []float64
	res     []float64
	dq, rhs []float64
	mass    []float64

	steps int
}

func (s *system) addNode(fixed bool, head float64) int {
	s.fixed, s.head, s.inject = append(s.fixed, fixed), append(s.head, head), append(s.inject, 0)
	return len(s.fixed) - 1
}

// addEdge adds an edge with a first guess of its flow.
func (s *system) addEdge(from, to int, l law, single, on bool, guess float64) int {
	if single {
		l = oneWay{l}
	}
	s.from, s.to, s.laws = append(s.from, from), append(s.to, to), append(s.laws, l)
	s.single, s.on, s.q = append(s.single, single), append(s.on, on), append(s.q, guess)
	return len(s.laws) - 1
}

// prepare orders the matrix over all edges, on or off, so that switching one
// changes values and not the pattern.
func (s *system) prepare() {
	s.row = make([]int, len(s.fixed))
	rows := 0
	for i, f := range s.fixed {
		s.row[i] = -1
		if !f {
			s.row[i] = rows
			rows++
		}
	}
	var pairs []pair
	s.slot = make([]int, len(s.laws))
	for e := range s.laws {
		s.slot[e] = -1
		if i, j := s.row[s.from[e]], s.row[s.to[e]]; i >= 0 && j >= 0 {
			s.slot[e] = len(pairs)
			pairs = append(pairs, pair{i, j})
		}
	}
	var place []int
	s.matrix, place = newSparse(rows, pairs)
	for e, k := range s.slot {
		if k >= 0 {
			s.slot[e] = place[k]
		}
	}
	m := len(s.laws)
	s.grad, s.res, s.dq = make([]float64, m), make([]float64, m), make([]float64, m)
	s.rhs, s.mass = make([]float64, rows), make([]float64, len(s.fixed))
	s.part = make([]int, len(s.fixed))
}

// connect finds the parts joined by edges that are on. A part is fed where it
// holds a fixed head; fixed nodes do not join parts that only meet there.
func (s *system) connect() {
	for i := range s.part {
		s.part[i] = i
	}
	find := func(i int) int {
		for s.part[i] != i {
			s.part[i] = s.part[s.part[i]]
			i = s.part[i]
		}
		return i
	}
	for e, on := range s.on {
		if a, b := s.from[e], s.to[e]; on && !s.fixed[a] && !s.fixed[b] {
			if a, b = find(a), find(b); a != b {
				s.part[max(a, b)] = min(a, b)
			}
		}
	}
	for i := range s.part {
		s.part[i] = find(i)
	}
	s.fed = make([]bool, len(s.part))
	copy(s.fed, s.fixed)
	for e, on := range s.on {
		a, b := s.from[e], s.to[e]
		if on && s.fixed[a] {
			s.fed[s.part[b]] = true
		}
		if on && s.fixed[b] {
			s.fed[s.part[a]] = true
		}
	}
}

// known reports whether a node's head follows from a fixed one.
func (s *system) known(i int) bool { return s.fed[s.part[i]] }

const (
	maxSteps = 200
	flowTol  = 1e-10 // m³/s, 0.000006 L/min
	headTol  = 1e-8  // m
)

// iterate solves for flows and heads by Newton's method on the loss laws with
// mass balance as the constraint (the global gradient method, Todini and
// Pilati 1988). Its step is the Newton step of a convex function, the content
// of the network, and the line search goes down along it, so it settles from
// any start. The error is a *Failure without the caller's numbering.
func (s *system) iterate() *Failure {
	s.connect()
	balanced := false
	for range maxSteps {
		s.steps++
		s.evaluate()
		s.assemble()
		if bad := s.matrix.factor(); bad >= 0 {
			return s.lost()
		}
		s.matrix.solve(s.rhs)
		scale, change := s.step()
		if math.IsNaN(change) || math.IsInf(change, 0) {
			return s.lost()
		}
		λ := 1.0
		small := change <= flowTol+1e-9*scale
		if balanced && !small {
			λ = s.search()
		}
		for e, on := range s.on {
			if on {
				s.q[e] += λ * s.dq[e]
			}
		}
		if balanced && small && s.worst() <= headTol {
			return nil
		}
		balanced = true
	}
	return s.lost()
}

// evaluate computes residuals and slopes at the present flows and heads.
func (s *system) evaluate() {
	copy(s.mass, s.inject)
	for e, on := range s.on {
		if !on {
			continue
		}
		a, b := s.from[e], s.to[e]
		h, g := s.laws[e].loss(s.q[e])
		s.res[e], s.grad[e] = h-(s.head[a]-s.head[b]), g
		s.mass[a] -= s.q[e]
		s.mass[b] += s.q[e]
	}
}

func (s *system) assemble() {
	m := s.matrix
	clear(m.val)
	clear(m.diag)
	for i, r := range s.row {
		if r < 0 {
			continue
		}
		s.rhs[r] = s.mass[i]
		if !s.fed[s.part[i]] && s.part[i] == i {
			m.diag[r] = 1 // no head is set here: hold one node where it is
		}
	}
	for e, on := range s.on {
		if !on {
			continue
		}
		i, j := s.row[s.from[e]], s.row[s.to[e]]
		y := 1 / s.grad[e]
		push := s.res[e] * y
		if i >= 0 {
			m.diag[i] += y
			s.rhs[i] += push
		}
		if j >= 0 {
			m.diag[j] += y
			s.rhs[j] -= push
		}
		if k := s.slot[e]; k >= 0 {
			m.val[k] -= y
		}
	}
}

// step moves the heads and computes the change of the flows. It returns the
// greatest flow and the greatest change.
func (s *system) step() (scale, change float64) {
	for e, on := range s.on {
		if !on {
			continue
		}
		a, b := s.from[e], s.to[e]
		d := -s.res[e]
		if i := s.row[a]; i >= 0 {
			d += s.rhs[i]
		}
		if j := s.row[b]; j >= 0 {
			d -= s.rhs[j]
		}
		s.dq[e] = d / s.grad[e]
		scale = math.Max(scale, math.Abs(s.q[e]))
		if c := math.Abs(s.dq[e]); !(c <= change) {
			change = c
		}
	}
	for i, r := range s.row {
		if r >= 0 {
			s.head[i] += s.rhs[r]
		}
	}
	return scale, change
}

// descent returns the slope of the content along the step.
func (s *system) descent(λ float64) float64 {
	var d float64
	for e, on := range s.on {
		if on {
			h, _ := s.laws[e].loss(s.q[e] + λ*s.dq[e])
			d += (h - s.head[s.from[e]] + s.head[s.to[e]]) * s.dq[e]
		}
	}
	return d
}

// search returns the share of the step at which the content stops falling, or
// near it; 1 where it falls all the way.
func (s *system) search() float64 {
	end := s.descent(1)
	if end <= 0 {
		return 1
	}
	start := s.descent(0)
	if start >= 0 || end <= 0.5*-start {
		return 1
	}
	lo, hi, flo, fhi := 0.0, 1.0, start, end
	for range 40 {
		λ := lo - flo*(hi-lo)/(fhi-flo)
		f := s.descent(λ)
		if math.Abs(f) <= 0.3*-start && λ > 0 {
			return λ
		}
		if f > 0 {
			hi, fhi, flo = λ, f, flo/2 // Illinois: the kept end counts half
		} else {
			lo, flo, fhi = λ, f, fhi/2
		}
	}
	return math.Max(lo, 1e-3)
}

// worst returns the greatest residual of a law.
func (s *system) worst() float64 {
	s.evaluate()
	var w float64
	for e, on := range s.on {
		if on {
			w = math.Max(w, math.Abs(s.res[e]))
		}
	}
	return w
}

// lost names the node with the greatest imbalance of an iteration that did not
// settle.
func (s *system) lost() *Failure {
	s.evaluate()
	at, worst := None, -1.0
	for e, on := range s.on {
		if w := math.Abs(s.res[e]); on && !(w <= worst) {
			at, worst = s.from[e], w
			if s.fixed[at] {
				at = s.to[e]
			}
		}
	}
	return &Failure{Reason: NotConverged, Node: NodeID(at), Edge: None}
}
