package water

import (
	"math"

	"fitout/schema/unit"
)

// Solve computes the steady flows and heads of a network: Darcy–Weisbach with
// minor losses, mass balance at every junction. Its error is a *Failure.
//
// Check valves, running pumps, ends in air and vented loops have states; they
// are sought from the flows and checked against the heads until both agree.
func Solve(n *Network, m Model) (*Solution, error) {
	if f := check(n, m); f != nil {
		return nil, f
	}
	s := newSolver(n, m)
	if f := s.run(); f != nil {
		return nil, f
	}
	return s.report(), nil
}

func check(n *Network, m Model) *Failure {
	if n.fault != nil {
		return n.fault
	}
	nu, rho := float64(m.Fluid.Viscosity), float64(m.Fluid.Density)
	if !(nu > 0) || !(rho > 0) || !(m.g() > 0) || unsound(nu, rho, m.g(), m.atmosphere(), float64(m.Fluid.Vapour)) {
		return &Failure{Reason: BadInput, Node: None, Edge: None, Detail: "the fluid needs a density and a viscosity above 0"}
	}
	return nil
}

// ventState is what a vented loop does.
type ventState int

const (
	ventFull    ventState = iota // closed: the line runs full through the crest
	ventForward                  // air at the crest; what comes from `from` falls down the other leg
	ventReverse
)

// solver holds the states that are not flows.
type solver struct {
	n *Network
	m Model
	system

	end    []int // node → its edge to the outside, −1 none
	leg    [][2]int
	vent   []ventState // by edge
	turns  []int       // by edge: how often its vent changed
	halted []bool      // by edge: displacement pumps that cannot run
	state  []PumpState // why they cannot
}

func newSolver(n *Network, m Model) *solver {
	s := &solver{n: n, m: m}
	s.end = make([]int, len(n.nodes))
	for i, nd := range n.nodes {
		fixed := nd.kind == reservoir && nd.height <= nd.level
		s.addNode(fixed, nd.level)
		if !fixed {
			s.head[i] = 0
		}
		s.inject[i] = -nd.draw
		s.end[i] = -1
	}
	k := len(n.edges)
	s.vent, s.turns = make([]ventState, k), make([]int, k)
	s.halted, s.state, s.leg = make([]bool, k), make([]PumpState, k), make([][2]int, k)
	for _, e := range n.edges {
		s.addNetworkEdge(e)
	}
	for i, nd := range n.nodes {
		s.addEnd(i, nd)
	}
	for e := range n.edges {
		s.addLegs(e)
	}
	s.prepare()
	return s
}

// addNetworkEdge adds the edge of the same number.
func (s *solver) addNetworkEdge(e edge) {
	from, to := int(e.from), int(e.to)
	const walk = 0.5 // m/s, a first guess
	guess := walk * math.Pi / 4 * e.bore * e.bore
	if guess == 0 {
		guess = 1e-4
	}
	switch e.kind {
	case pipeEdge:
		s.addEdge(from, to, newPipeLaw(e.pipe, s.m), e.oneWay, !e.closed, guess)
	case pumpEdge:
		s.addEdge(from, to, pumpLaw{e.curve, e.speed}, true, true, cubic(e.curve.LastPoint(unit.Ratio(e.speed)))/2)
	case fixedEdge:
		s.addEdge(from, to, tableLaw{}, false, false, 0)
	default:
		s.addEdge(from, to, tableLaw{e.loss}, e.oneWay, !e.closed, guess)
	}
}

// addEnd adds what lies outside an opening, or a reservoir that stands below
// the end that would draw from it.
func (s *solver) addEnd(i int, nd node) {
	if s.fixed[i] || nd.kind == junction {
		return
	}
	air := nd.height > nd.level
	outside := s.addNode(true, math.Max(nd.height, nd.level))
	s.end[i] = s.addEdge(i, outside, outletLaw{velocityHead(nd.bore, s.m.g())}, air, true, 1e-5)
}

// addLegs adds the way from each side of a vented loop into the air at its
// crest, shut as long as the vent is.
func (s *solver) addLegs(e int) {
	v := s.n.edges[e]
	if v.kind != ventEdge {
		return
	}
	air := s.addNode(true, v.height)
	l := outletLaw{velocityHead(v.bore, s.m.g())}
	s.leg[e][0] = s.addEdge(int(v.from), air, l, true, false, 0)
	s.leg[e][1] = s.addEdge(int(v.to), air, l, true, false, 0)
}

const maxRounds = 400

// run alternates between the flows and the states until nothing changes.
func (s *solver) run() *Failure {
	for round := range maxRounds {
		changed, f := s.round(round)
		if f != nil {
			return f
		}
		if !changed {
			return nil
		}
	}
	return s.undecided()
}

func (s *solver) round(round int) (changed bool, f *Failure) {
	s.allow()
	if f := s.settle(); f != nil {
		return false, f
	}
	if s.carry() {
		return true, nil
	}
	if s.turnVents(round > 12) {
		for e := range s.turns {
			if s.turns[e] > 40 {
				return false, s.undecided()
			}
		}
		return true, nil
	}
	return s.overLimit(), nil
}

func (s *solver) undecided() *Failure {
	worst := None
	for e, t := range s.turns {
		if s.n.edges[e].kind == ventEdge && (worst == None || t > s.turns[worst]) {
			worst = e
		}
	}
	if worst == None {
		return &Failure{Reason: NotConverged, Node: None, Edge: None, Detail: "valves keep changing"}
	}
	return &Failure{Reason: VentsUndecided, Node: None, Edge: EdgeID(worst)}
}

// allow sets every edge as its own state says, valves free to open, and puts
// in what displacement pumps, draws and falling legs carry.
func (s *solver) allow() {
	for e, ed := range s.n.edges {
		s.on[e] = !ed.closed && ed.kind != fixedEdge
		if ed.kind == ventEdge {
			v := s.vent[e]
			s.on[e] = v == ventFull
			s.on[s.leg[e][0]], s.on[s.leg[e][1]] = v == ventForward, v == ventReverse
		}
	}
	for i := range s.n.nodes {
		s.inject[i] = -s.n.nodes[i].draw
		if s.end[i] >= 0 {
			s.on[s.end[i]] = true
		}
	}
	for e, ed := range s.n.edges {
		switch {
		case ed.kind == fixedEdge && !s.halted[e]:
			s.inject[ed.from] -= ed.flow
			s.inject[ed.to] += ed.flow
		case ed.kind == ventEdge && s.vent[e] == ventForward:
			s.inject[ed.to] += s.carried(e)
		case ed.kind == ventEdge && s.vent[e] == ventReverse:
			s.inject[ed.from] += s.carried(e)
		}
	}
}

// carried returns what was last found to fall through an aired vent; it is
// kept in the flow of the vent's own edge, which is off then.
func (s *solver) carried(e int) float64 { return math.Abs(s.q[e]) }

// settle finds flows and the state of all that lets nothing back: first with
// valves that leak a little, then with those that hold taken out.
func (s *solver) settle() *Failure {
	for range 30 {
		if f := s.unblock(); f != nil {
			return f
		}
		if f := s.iterate(); f != nil {
			return s.own(f)
		}
		held := s.hold()
		if !held {
			return nil
		}
		if s.surplusPart() >= 0 {
			if f := s.unblock(); f != nil {
				return f
			}
			s.allow()
			continue
		}
		if f := s.iterate(); f != nil {
			return s.own(f)
		}
		if !s.reopen() {
			return nil
		}
	}
	return &Failure{Reason: NotConverged, Node: None, Edge: None, Detail: "check valves keep changing"}
}

// own turns a node of the system into one of the network.
func (s *solver) own(f *Failure) *Failure {
	if int(f.Node) >= len(s.n.nodes) {
		f.Node = None
	}
	return f
}

// leak is the flow backwards, m³/s, from which a valve is taken to hold: 1 mm
// of head.
const leak = 1e-3 / back

func (s *solver) hold() (any bool) {
	for e, on := range s.on {
		if on && s.single[e] && s.q[e] < -leak {
			s.on[e], s.q[e] = false, 0
			any = true
		}
	}
	return any
}

// reopen turns on valves that were held and now have head to open them.
func (s *solver) reopen() (any bool) {
	for e, on := range s.on {
		if on || !s.single[e] || s.shut(e) || !s.known(s.from[e]) || !s.known(s.to[e]) {
			continue
		}
		h, _ := s.laws[e].loss(0)
		if s.head[s.from[e]]-s.head[s.to[e]] > h+2e-3 {
			s.on[e] = true
			any = true
		}
	}
	return any
}

// shut reports an edge that is off for another reason than a valve that holds.
func (s *solver) shut(e int) bool {
	if e < len(s.n.edges) {
		return s.n.edges[e].closed || s.n.edges[e].kind == fixedEdge || s.n.edges[e].kind == ventEdge
	}
	for v, l := range s.leg {
		if s.n.edges[v].kind == ventEdge && (l[0] == e && s.vent[v] != ventForward || l[1] == e && s.vent[v] != ventReverse) {
			return true
		}
	}
	return false
}

// surplusPart returns the first part without a fixed head whose injections do
// not cancel, or −1.
func (s *solver) surplusPart() int {
	s.connect()
	sum := make([]float64, len(s.part))
	size := make([]float64, len(s.part))
	for i, q := range s.inject {
		sum[s.part[i]] += q
		size[s.part[i]] += math.Abs(q)
	}
	for p := range sum {
		if !s.fed[p] && math.Abs(sum[p]) > 1e-12*size[p] && math.Abs(sum[p]) > 1e-15 {
			return p
		}
	}
	return -1
}

// unblock halts displacement pumps that push into, or draw from, a part no
// water can leave or reach, and lets vents run full that would drop water into
// one. What then remains is a stated draw without supply.
func (s *solver) unblock() *Failure {
	for {
		p := s.surplusPart()
		if p < 0 {
			return nil
		}
		if !s.relieve(p) {
			return &Failure{Reason: NotBalanced, Node: s.drawIn(p), Edge: None}
		}
		s.keep()
	}
}

// keep rebuilds the injections and leaves the valves as they are.
func (s *solver) keep() {
	on := append([]bool(nil), s.on...)
	s.allow()
	for e := range s.on {
		if s.single[e] && !s.shut(e) {
			s.on[e] = on[e]
		}
	}
}

func (s *solver) relieve(p int) (any bool) {
	var sum float64
	for i, q := range s.inject {
		if s.part[i] == p {
			sum += q
		}
	}
	for e, ed := range s.n.edges {
		in, out := s.part[ed.to] == p, s.part[ed.from] == p
		switch {
		case ed.kind == fixedEdge && !s.halted[e] && ed.flow > 0 && in != out && in == (sum > 0):
			s.halted[e], any = true, true
			s.state[e] = CannotLift
			if out {
				s.state[e] = Dry
			}
		case ed.kind == ventEdge && sum > 0 && (s.vent[e] == ventForward && in || s.vent[e] == ventReverse && out):
			s.vent[e], any = ventFull, true
			s.turns[e]++
		}
	}
	return any
}

func (s *solver) drawIn(p int) NodeID {
	at := None
	for i, nd := range s.n.nodes {
		if s.part[i] == p && nd.draw != 0 && (at == None || math.Abs(nd.draw) > math.Abs(s.n.nodes[at].draw)) {
			at = i
		}
	}
	return NodeID(at)
}

// carry takes the flow that falls through each aired vent into the leg below
// it. The flows are solved again until what falls is what came up: a leg below
// acts on the one above only round a loop, and weakly.
func (s *solver) carry() (changed bool) {
	for e, ed := range s.n.edges {
		if ed.kind != ventEdge || s.vent[e] == ventFull {
			continue
		}
		now := math.Max(0, s.q[s.legIn(e)])
		if math.Abs(now-math.Abs(s.q[e])) > flowTol+1e-9*now {
			changed = true
		}
		if s.vent[e] == ventReverse {
			now = -now
		}
		s.q[e] = now
	}
	return changed
}

func (s *solver) legIn(e int) int { return s.leg[e][s.vent[e]-ventForward] }

// airTol is how far, in m, a crest may stray from atmosphere before its vent
// turns.
const airTol = 1e-7

// turnVents changes vents whose state does not fit the heads: all of them, or
// the one that is furthest off.
func (s *solver) turnVents(one bool) bool {
	worst, at, to := airTol, None, ventFull
	changed := false
	for e, ed := range s.n.edges {
		if ed.kind != ventEdge {
			continue
		}
		next, off := s.ventFits(e, ed)
		if off <= airTol {
			continue
		}
		if off > worst {
			worst, at, to = off, e, next
		}
		if !one {
			s.setVent(e, next)
			changed = true
		}
	}
	if one && at != None {
		s.setVent(at, to)
		return true
	}
	return changed
}

func (s *solver) setVent(e int, v ventState) {
	s.turns[e]++
	if v == ventForward && s.q[e] < 0 || v == ventReverse && s.q[e] > 0 {
		s.q[e] = 0
	}
	s.vent[e] = v
}

// ventFits returns the state that fits better and by how much, in m, the
// present one does not fit.
func (s *solver) ventFits(e int, v edge) (ventState, float64) {
	q := s.q[e]
	k := velocityHead(v.bore, s.m.g())
	crest := v.height + k*q*q
	a, b := s.head[v.from], s.head[v.to]
	ka, kb := s.known(int(v.from)), s.known(int(v.to))
	switch s.vent[e] {
	case ventFull:
		next := ventForward
		if q < 0 {
			next = ventReverse
		}
		if !ka {
			return next, 0
		}
		return next, crest - math.Min(a, b)
	case ventForward:
		return s.airedFits(q, b, kb, v.height, crest, ventReverse)
	}
	return s.airedFits(-q, a, ka, v.height, crest, ventForward)
}

// airedFits judges an aired vent by the leg the water falls into: does it back
// up to the crest?
func (s *solver) airedFits(q, below float64, known bool, height, crest float64, other ventState) (ventState, float64) {
	switch {
	case !known:
		return ventFull, 0
	case q > flowTol:
		return ventFull, below - crest
	}
	return other, below - height
}

// overLimit halts displacement pumps that would have to raise more than they
// can.
func (s *solver) overLimit() (changed bool) {
	for e, ed := range s.n.edges {
		if ed.kind != fixedEdge || s.halted[e] || ed.limit == 0 || !s.known(int(ed.from)) || !s.known(int(ed.to)) {
			continue
		}
		if s.head[ed.to]-s.head[ed.from] > ed.limit {
			s.halted[e], s.state[e], changed = true, CannotLift, true
		}
	}
	return changed
}
