package water

import (
	"math"

	"fitout/schema/unit"
)

// still is the flow, m³/s, under which nothing is said to move (0.0006 L/min).
const still = 1e-8

// report turns the solved system into a Solution.
func (s *solver) report() *Solution {
	sol := &Solution{
		Nodes:         make([]NodeState, len(s.n.nodes)),
		Edges:         make([]EdgeState, len(s.n.edges)),
		Iterations:    s.steps,
		WorstMassNode: None,
		WorstHeadEdge: None,
	}
	s.evaluate()
	s.residuals(sol)
	flow := make([]float64, len(s.n.edges))
	for e := range s.n.edges {
		flow[e] = s.flow(e)
	}
	fastest := s.fastest(flow)
	for i := range s.n.nodes {
		sol.Nodes[i] = s.nodeState(i, fastest[i])
	}
	air := s.airEntries(flow)
	for e := range s.n.edges {
		sol.Edges[e] = s.edgeState(e, flow[e])
	}
	for e := range s.n.edges {
		s.pumpState(e, flow[e], air, &sol.Edges[e])
	}
	return sol
}

func (s *solver) residuals(sol *Solution) {
	for i := range s.n.nodes {
		if m := math.Abs(s.mass[i]); !s.fixed[i] && (sol.WorstMassNode == None || m > cubic(sol.WorstMass)) {
			sol.WorstMass, sol.WorstMassNode = litres(m), NodeID(i)
		}
	}
	for e := range s.n.edges {
		if h := unit.Head(math.Abs(s.res[e])); s.on[e] && (sol.WorstHeadEdge == None || h > sol.WorstHead) {
			sol.WorstHead, sol.WorstHeadEdge = h, EdgeID(e)
		}
	}
}

// flow returns the flow of a network edge in m³/s.
func (s *solver) flow(e int) float64 {
	ed := s.n.edges[e]
	switch {
	case ed.kind == fixedEdge && s.halted[e]:
		return 0
	case ed.kind == fixedEdge:
		return ed.flow
	case ed.kind == ventEdge:
		return s.q[e]
	case !s.on[e], s.single[e] && s.q[e] < 0:
		return 0
	}
	return s.q[e]
}

// fastest returns, for every node, the greatest velocity head that meets it.
func (s *solver) fastest(flow []float64) []float64 {
	v := make([]float64, len(s.n.nodes))
	for e, ed := range s.n.edges {
		h := velocityHead(ed.bore, s.m.g()) * flow[e] * flow[e]
		v[ed.from], v[ed.to] = math.Max(v[ed.from], h), math.Max(v[ed.to], h)
	}
	return v
}

func (s *solver) nodeState(i int, velocity float64) NodeState {
	nd := s.n.nodes[i]
	st := NodeState{Known: s.known(i)}
	if st.Known {
		st.Head = unit.Head(s.head[i])
		st.Pressure = unit.Head(s.head[i] - nd.height - velocity)
	}
	switch {
	case s.fixed[i]:
		st.Supply = litres(-s.mass[i])
	case s.end[i] >= 0 && s.on[s.end[i]]:
		st.Supply = litres(-s.q[s.end[i]])
	default:
		st.Supply = litres(-nd.draw)
	}
	return st
}

func (s *solver) edgeState(e int, q float64) EdgeState {
	ed := s.n.edges[e]
	k := velocityHead(ed.bore, s.m.g()) * q * q
	st := EdgeState{
		Flow:    litres(q),
		Shut:    ed.closed || s.single[e] && !s.on[e] && ed.kind != pumpEdge,
		AirFrom: None,
		Known:   s.known(int(ed.from)) && s.known(int(ed.to)),
	}
	if ed.bore > 0 {
		st.Velocity = MetrePerSecond(q / (math.Pi / 4 * ed.bore * ed.bore))
	}
	end := func(i NodeID) End {
		if !s.known(int(i)) {
			return End{}
		}
		return End{unit.Head(s.head[i]), unit.Head(s.head[i] - s.n.nodes[i].height - k)}
	}
	st.From, st.To = end(ed.from), end(ed.to)
	if st.Known {
		st.Loss = st.From.Head - st.To.Head
	}
	if ed.kind == ventEdge {
		st.Air = s.vent[e] != ventFull
	}
	if ed.pipe.HasCrest && ed.kind == pipeEdge && st.Known {
		st.CrestHead = st.To.Head
		if q < 0 || q == 0 && st.From.Head < st.To.Head {
			st.CrestHead = st.From.Head
		}
		st.CrestPressure = st.CrestHead - unit.Head(float64(ed.pipe.Crest)+k)
	}
	return st
}

func (s *solver) pumpState(e int, q float64, air []NodeID, st *EdgeState) {
	ed := s.n.edges[e]
	switch ed.kind {
	case idleEdge:
		st.Pump = Idle
	case fixedEdge:
		st.Pump = Runs
		if s.halted[e] {
			st.Pump = s.state[e]
		}
	case pumpEdge:
		st.Pump = s.curveState(e, ed, q)
	default:
		return
	}
	if s.known(int(ed.from)) {
		st.NPSH = s.m.NPSH(unit.Head(s.head[ed.from]), unit.Metre(s.n.nodes[ed.from].height))
	}
	if ed.kind != idleEdge && q > still {
		st.AirFrom = air[ed.from]
	}
}

func (s *solver) curveState(e int, ed edge, q float64) PumpState {
	speed := unit.Ratio(ed.speed)
	switch {
	case q <= still && !s.supplied(ed.from):
		return Dry
	case q <= still:
		return CannotLift
	case q > cubic(ed.curve.MaxFlow(speed))*(1+1e-9), q < cubic(ed.curve.MinFlow(speed))*(1-1e-9):
		return OffCurve
	}
	return Runs
}

// supplied reports whether water can come to a node from a reservoir or from
// an opening under water.
func (s *solver) supplied(to NodeID) bool {
	seen := make([]bool, len(s.n.nodes))
	queue := []NodeID{to}
	seen[to] = true
	for len(queue) > 0 {
		i := queue[0]
		queue = queue[1:]
		nd := s.n.nodes[i]
		if nd.kind != junction && nd.height <= nd.level || nd.draw < 0 {
			return true
		}
		for e, ed := range s.n.edges {
			var next NodeID
			switch {
			case ed.closed, ed.kind == ventEdge && s.vent[e] != ventFull && s.q[e] == 0, ed.kind == fixedEdge && s.halted[e]:
				continue
			case ed.to == i:
				next = ed.from
			case ed.from == i && !s.single[e] && ed.kind != fixedEdge:
				next = ed.to
			default:
				continue
			}
			if !seen[next] {
				seen[next] = true
				queue = append(queue, next)
			}
		}
	}
	return false
}

// airEntries returns, for every node, where the air comes in that the water
// there brings along, or None: at a vented loop that lets air in, or at an end
// in air whose hose has run empty down to water that moves.
func (s *solver) airEntries(flow []float64) []NodeID {
	air := make([]NodeID, len(s.n.nodes))
	var queue []NodeID
	for i := range air {
		air[i] = None
	}
	mark := func(i, source NodeID) {
		if air[i] == None {
			air[i] = source
			queue = append(queue, i)
		}
	}
	for e, ed := range s.n.edges {
		if ed.kind == ventEdge && s.vent[e] != ventFull && math.Abs(flow[e]) > still {
			if flow[e] > 0 {
				mark(ed.to, ed.to)
			} else {
				mark(ed.from, ed.from)
			}
		}
	}
	for i, nd := range s.n.nodes {
		if nd.kind != junction && nd.height > nd.level {
			s.emptied(NodeID(i), flow, mark)
		}
	}
	for len(queue) > 0 {
		i := queue[0]
		queue = queue[1:]
		for e, ed := range s.n.edges {
			switch {
			case ed.from == i && flow[e] > still:
				mark(ed.to, air[i])
			case ed.to == i && flow[e] < -still:
				mark(ed.from, air[i])
			}
		}
	}
	return air
}

// emptied walks from an end in air down a hose in which nothing moves, as long
// as the head lies under the hose, and marks the moving water it meets.
func (s *solver) emptied(end NodeID, flow []float64, mark func(i, source NodeID)) {
	if s.end[end] < 0 || s.q[s.end[end]] > still && s.on[s.end[end]] {
		return
	}
	seen := make([]bool, len(s.n.nodes))
	queue := []NodeID{end}
	seen[end] = true
	for len(queue) > 0 {
		i := queue[0]
		queue = queue[1:]
		if !s.known(int(i)) || s.head[i] >= s.n.nodes[i].height-airTol {
			continue
		}
		for e, ed := range s.n.edges {
			next := ed.to
			if ed.to == i {
				next = ed.from
			} else if ed.from != i {
				continue
			}
			switch {
			case math.Abs(flow[e]) > still:
				mark(i, end)
			case s.on[e] && !seen[next]:
				seen[next] = true
				queue = append(queue, next)
			}
		}
	}
}
