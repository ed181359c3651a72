package dc

import (
	"math"
	"slices"
)

// Solve finds the steady state of a network. The error, if any, is a *Failure.
//
// The equations are Kirchhoff's current law at each joint and one equation for
// each source or resistance whose current is an unknown, solved by Newton's
// method from the state without loads. Of the states a constant-power load
// allows that start leads to the one with the higher voltages; where signs say
// otherwise, or the direct way fails, the loads are brought up step by step
// along it, and where it ends is a voltage collapse.
func Solve(n *Network) (*Solution, error) {
	if f := check(n); f != nil {
		return nil, f
	}
	unfed := hanging(n)
	spent := 0
	for {
		t, fail := survey(n, unfed)
		if fail != nil {
			return nil, fail
		}
		s := newSystem(n, t)
		x, fail := s.solve(unfed)
		spent += s.iterations
		switch {
		case fail != nil:
			return nil, fail
		case x != nil:
			sol := s.report(x)
			sol.Iterations = spent
			if !(sol.Imbalance() <= balanced) {
				return nil, &Failure{Cause: NoConvergence, Node: sol.WorstNode, Element: None,
					Detail: "the state found does not balance power supplied with power used"}
			}
			return sol, nil
		}
	}
}

// noCeiling is the voltage at which a source without one has run away.
const noCeiling = 1e4

// balanced is the imbalance of power above which a state is no answer.
const balanced = 1e-6

// trouble is why an iteration ended without a state.
type trouble struct {
	cause   Cause
	unknown int   // Singular
	part    *part // NoConvergence: what would not settle, if known
}

// solve gives the state; nil without a failure when it has marked more
// elements as unfed, and the network has to be looked at again.
func (s *system) solve(unfed []bool) ([]float64, *Failure) {
	x, again, fail := s.attempt(unfed)
	if fail != nil && fail.Cause == Singular && s.spread() {
		x, again, fail = s.attempt(unfed)
	}
	switch {
	case fail != nil:
		return nil, fail
	case again:
		return nil, nil
	}
	return x, s.clash(x)
}

// clash finds a source or diode that meets another voltage with nothing but
// the droop given by spread between them, and one of constant power that is
// shorted: its current has no bound.
func (s *system) clash(x []float64) *Failure {
	for k := range s.parts {
		p := &s.parts[k]
		what := ""
		switch {
		case p.law != limited:
		case p.r == even && p.mode == Regulating && math.Abs(x[p.row])*even > 1e-3:
			what = "a source without limit meets another voltage with no resistance between"
		case p.mode == PowerLimit && p.a.volt(x)-p.b.volt(x) <= noVolts:
			what = "a source limited by power alone is shorted"
		case !p.ceiling && p.a.volt(x)-p.b.volt(x) > noCeiling:
			what = "a source without a voltage ceiling has nothing to feed"
		}
		if what != "" {
			return &Failure{Cause: Conflict, Node: first(s.net.elements[p.id]), Element: p.id, Detail: what}
		}
	}
	return nil
}

// spread gives sources without droop a very small one: two that hold the same
// point share its current only so. False when there is none.
func (s *system) spread() bool {
	any := false
	for k := range s.parts {
		p := &s.parts[k]
		p.start()
		if p.law == limited && p.r < even {
			p.r, any = even, true
		}
	}
	return any
}

func (s *system) attempt(unfed []bool) (x []float64, again bool, fail *Failure) {
	x = make([]float64, s.size)
	if t := s.newton(x, 0, anywhere); t != nil {
		return nil, false, s.failure(t)
	}
	if s.unsupplied(x, unfed) {
		return nil, true, nil
	}
	if !s.loaded() {
		return x, false, nil
	}
	kept := s.modes()
	direct := slices.Clone(x)
	if t := s.newton(direct, 1, anywhere); t == nil && s.sound(direct, 1) && !s.sagging(direct) {
		return direct, false, nil
	}
	s.setModes(kept)
	fail = s.raise(x)
	return x, false, fail
}

// unsupplied marks loads and converters that have no voltage with all loads
// off, and notes the voltage of the others.
func (s *system) unsupplied(x []float64, unfed []bool) bool {
	found := false
	for k := range s.parts {
		p := &s.parts[k]
		if !p.hangs() {
			continue
		}
		a, b := p.supply()
		v := a.volt(x) - b.volt(x)
		if math.Abs(v) < noVolts || p.converter && v < 0 {
			unfed[p.id], found = true, true
			continue
		}
		p.open, p.sense = math.Abs(v), math.Copysign(1, v)
	}
	return found
}

// noVolts is the voltage under which nothing runs: between two points of one
// wire, or across an open way, where only the bleed sets the potential.
const noVolts = 1e-3

func (s *system) loaded() bool {
	for k := range s.parts {
		if s.parts[k].hangs() {
			return true
		}
	}
	return false
}

func (s *system) modes() []Mode {
	m := make([]Mode, len(s.parts))
	for k := range s.parts {
		m[k] = s.parts[k].mode
	}
	return m
}

func (s *system) setModes(m []Mode) {
	for k := range s.parts {
		s.parts[k].mode = m[k]
	}
}

// Rounds without a source switching in which Newton's method must settle: it
// squares its error in each, save close to a collapse. Along the branch each
// start is near its end.
const (
	anywhere = 40
	nearby   = 15
)

// newton iterates from x, in place, with loads at a share of their draw.
func (s *system) newton(x []float64, load float64, patience int) *trouble {
	var switched *part
	quiet := 0
	for round := range giveUp {
		if quiet++; quiet > patience {
			return &trouble{cause: NoConvergence}
		}
		s.iterations++
		s.assemble(x, load)
		if round > 0 && switched == nil && s.settled() {
			return nil
		}
		if unknown, ok := s.lu.Factor(s.values); !ok {
			return &trouble{cause: Singular, unknown: unknown}
		}
		for i, f := range s.f {
			s.step[i] = -f
		}
		s.lu.Solve(s.step)
		share := 1.0
		if load > 0 {
			share = s.damp(x)
		}
		moved := 0.0
		for i := range x {
			d := share * s.step[i]
			if !finite(d) {
				return &trouble{cause: Singular, unknown: i}
			}
			moved = math.Max(moved, math.Abs(d)/(1+math.Abs(x[i])))
			x[i] += d
		}
		if switched = s.switchModes(x, load, round); switched != nil {
			quiet = 0
		}
		if switched == nil && moved < 1e-13 && round > 1 && s.nearlySettled() {
			return nil
		}
	}
	return &trouble{cause: NoConvergence, part: switched}
}

// settled tells whether what is left of the equations is rounding.
func (s *system) settled() bool {
	for i, f := range s.f {
		if !(math.Abs(f) <= 1e-11+64*0x1p-52*s.noise[i]) {
			return false
		}
	}
	return true
}

// nearlySettled accepts a state that no step moves any more.
func (s *system) nearlySettled() bool {
	for _, f := range s.f {
		if !(math.Abs(f) <= 1e-7) {
			return false
		}
	}
	return true
}

// damp gives the share of a step that lets no supply fall by more than four
// fifths at once: beyond zero lies the pole of P/v.
func (s *system) damp(x []float64) float64 {
	share := 1.0
	for k := range s.parts {
		p := &s.parts[k]
		if p.law != power && !p.converter {
			continue
		}
		a, b := p.supply()
		v := (a.volt(x) - b.volt(x)) * p.sense
		d := 0.0
		if a.row >= 0 {
			d += s.step[a.row]
		}
		if b.row >= 0 {
			d -= s.step[b.row]
		}
		if d *= p.sense; v > 0 && d < -0.8*v {
			share = math.Min(share, 0.8*v/-d)
		}
	}
	return share
}

// sound tells whether a state is one that loads coming up from nothing can
// reach: no load turned round, and the determinant of the equations on the
// side where it stands without load. Beyond a collapse it has changed sign.
func (s *system) sound(x []float64, load float64) bool {
	for k := range s.parts {
		p := &s.parts[k]
		if !p.hangs() || p.draw == 0 && !p.converter {
			continue
		}
		a, b := p.supply()
		// P/v also balances at no current and a voltage without bound.
		if v := (a.volt(x) - b.volt(x)) * p.sense; !(v > 1e-6*p.open && v < 10*p.open) {
			return false
		}
	}
	return s.lu.Sign() > 0
}

// sagging tells whether a constant-power load sits under half its voltage
// without load, where a single one has its other solution.
func (s *system) sagging(x []float64) bool {
	for k := range s.parts {
		p := &s.parts[k]
		if p.law != power && !p.converter {
			continue
		}
		a, b := p.supply()
		if (a.volt(x)-b.volt(x))*p.sense < 0.5*p.open {
			return true
		}
	}
	return false
}

// nearEnough is how finely the end of the branch is sought, most how many steps
// are spent on it.
const (
	nearEnough = 1e-4
	most       = 200
)

// raise brings the loads up from nothing, keeping to the branch of solutions
// that starts there.
func (s *system) raise(x []float64) *Failure {
	reached, by := 0.0, 0.25
	var last *trouble
	try := make([]float64, len(x))
	for steps := 0; reached < 1; steps++ {
		load := math.Min(1, reached+by)
		copy(try, x)
		kept := s.modes()
		last = s.newton(try, load, nearby)
		if last == nil && s.sound(try, load) && s.close(x, try) {
			copy(x, try)
			reached = load
			by *= 2
			continue
		}
		s.setModes(kept)
		if by /= 2; by < math.Max(1e-12, nearEnough*reached) || steps > most {
			return s.collapse(x, reached, last)
		}
	}
	return nil
}

// close tells whether no supply moved far in one step: a leap may end on
// another branch.
func (s *system) close(from, to []float64) bool {
	for k := range s.parts {
		if p := &s.parts[k]; p.hangs() {
			a, b := p.supply()
			was, is := a.volt(from)-b.volt(from), a.volt(to)-b.volt(to)
			if math.Abs(is-was) > 0.2*math.Abs(was) {
				return false
			}
		}
	}
	return true
}

// collapse names the load whose supply has fallen most at the last state
// there is.
func (s *system) collapse(x []float64, reached float64, last *trouble) *Failure {
	if reached == 0 && last != nil {
		return s.failure(last)
	}
	var worst *part
	least := math.Inf(1)
	for k := range s.parts {
		p := &s.parts[k]
		if !p.hangs() || p.draw == 0 && !p.converter {
			continue
		}
		a, b := p.supply()
		if v := math.Abs(a.volt(x)-b.volt(x)) / p.open; v < least {
			worst, least = p, v
		}
	}
	f := &Failure{Cause: Collapse, Node: None, Element: None, Reached: reached,
		Detail: "the loads ask for more than their supply can give at any voltage"}
	if worst == nil { // nothing draws: not the loads' doing
		f.Cause, f.Detail = NoConvergence, "the iteration did not settle"
		f.Node, f.Element = s.where(0)
		return f
	}
	f.Element, f.Node = worst.id, first(s.net.elements[worst.id])
	return f
}

func (s *system) failure(t *trouble) *Failure {
	f := &Failure{Cause: t.cause, Node: None, Element: None}
	switch {
	case t.cause == Singular:
		f.Node, f.Element = s.where(t.unknown)
		f.Detail = "nothing fixes its voltage or the share of its current"
	case t.part != nil:
		f.Element = t.part.id
		f.Node = first(s.net.elements[t.part.id])
		f.Detail = "a source or diode finds no state that fits"
	default:
		worst := 0
		for i := range s.f {
			if math.Abs(s.f[i]) > math.Abs(s.f[worst]) {
				worst = i
			}
		}
		f.Node, f.Element = s.where(worst)
		f.Detail = "the iteration did not settle"
	}
	return f
}
