package water

import (
	"fmt"
	"math"

	"fitout/schema/unit"
)

// NodeID numbers a node in the order it was added, from 0.
type NodeID int

// EdgeID numbers an edge in the order it was added, from 0.
type EdgeID int

// None stands where a Failure concerns no node or no edge.
const None = -1

// NoWater returns the level of water that is not there, for an Opening that
// ends in plain air: a hose end over a sink.
func NoWater() unit.Metre { return unit.Metre(math.Inf(-1)) }

// Network is a set of nodes and edges to solve. The zero value is empty and
// ready. A mistake in an argument (an unknown node, a bore of nothing) is kept
// and returned by Solve as a *Failure, so that a builder need not check every
// call. A Network is not changed by Solve and may be solved at once from
// several goroutines.
type Network struct {
	nodes []node
	edges []edge
	fault *Failure
}

type nodeKind int

const (
	junction nodeKind = iota
	reservoir
	opening
)

type node struct {
	kind   nodeKind
	height float64 // m
	level  float64 // m: reservoir and opening
	bore   float64 // m: opening, 0 when the velocity head is not lost here
	draw   float64 // m³/s taken out at a junction
}

type edgeKind int

const (
	pipeEdge edgeKind = iota
	lossEdge
	pumpEdge
	idleEdge
	fixedEdge // displacement pump
	ventEdge
)

type edge struct {
	kind     edgeKind
	from, to NodeID
	pipe     Pipe
	loss     LossCurve
	curve    PumpCurve
	speed    float64
	flow     float64 // m³/s, displacement pump
	bore     float64 // m, for velocity; 0 none
	oneWay   bool
	closed   bool
	// limit is the head a displacement pump can raise, m; 0 without limit.
	limit  float64
	height float64 // vent
}

// Junction adds a point where edges meet, at a height above the datum.
func (n *Network) Junction(height unit.Metre) NodeID {
	return n.add(node{kind: junction, height: float64(height)})
}

// Draw takes a fixed flow out of the network at a junction (a stated draw;
// negative: put in). Calls add up.
func (n *Network) Draw(at NodeID, flow unit.LitrePerMin) {
	if !n.has(at) || n.nodes[at].kind != junction {
		n.fail(&Failure{Reason: BadInput, Node: at, Edge: None, Detail: "a draw needs a junction"})
		return
	}
	n.nodes[at].draw += cubic(flow)
}

// Reservoir adds a body of water whose surface stands at level: the sea, a
// tank. height is where the network meets it (below the level, or there is
// nothing to draw: then water can only leave into it). No head is lost at the
// join; entrance and exit losses are minor losses of the pipe.
func (n *Network) Reservoir(level, height unit.Metre) NodeID {
	return n.add(node{kind: reservoir, height: float64(height), level: float64(level)})
}

// Opening is a hose end or an outlet. Under water (Height at or below Level)
// its head is Level and water passes both ways; in air its head is Height and
// water can only run out, for an open end above water draws air, not water.
// The velocity head on Bore is lost on the way out; on the way in, under
// water, half of it (flush square entrance, K 0.5: EPANET 2.2 User Manual, ch.
// 3). With Bore 0 neither is lost here, and the last pipe carries them.
type Opening struct {
	Height unit.Metre
	Level  unit.Metre // NoWater() where there is none
	Bore   unit.Metre // of the last hose
}

// Opening adds an opening.
func (n *Network) Opening(o Opening) NodeID {
	return n.add(node{kind: opening, height: float64(o.Height), level: float64(o.Level), bore: float64(o.Bore)})
}

// Minor is a loss of K velocity heads on the real bore it stands at.
type Minor struct {
	K    float64
	Bore unit.Metre // 0: the pipe's own
}

// Pipe is a hose or pipe with what sits in it.
type Pipe struct {
	Length     unit.Metre
	Bore       unit.Metre
	Roughness  unit.Metre // 0 is hydraulically smooth
	Corrugated bool       // friction factor times 3
	Minor      []Minor
	// Crest is the greatest height along the run where HasCrest is set. Head
	// there is taken after the whole loss of the run.
	Crest    unit.Metre
	HasCrest bool
	Closed   bool // a shut valve sits in it
	Check    bool // a check valve sits in it: from → to only
}

// Pipe adds a pipe. Length 0 is allowed (fittings only).
func (n *Network) Pipe(from, to NodeID, p Pipe) EdgeID {
	id := n.edge(edge{kind: pipeEdge, from: from, to: to, pipe: p, bore: float64(p.Bore), oneWay: p.Check, closed: p.Closed})
	bad := p.Bore <= 0 || p.Length < 0 || p.Roughness < 0 || unsound(float64(p.Bore), float64(p.Length), float64(p.Roughness), float64(p.Crest))
	for _, m := range p.Minor {
		bad = bad || m.K < 0 || m.Bore < 0 || unsound(m.K, float64(m.Bore))
	}
	if bad {
		n.fail(&Failure{Reason: BadInput, Node: None, Edge: id, Detail: "a pipe needs a bore above 0 and no negative length, roughness or K"})
	}
	return id
}

// Device is a fitting whose loss is known as head at flow: a strainer, an
// exchanger, a valve, a check valve.
type Device struct {
	Loss   LossCurve
	Bore   unit.Metre // for the velocity; 0 when unknown
	Closed bool
	Check  bool // from → to only
}

// Device adds a fitting.
func (n *Network) Device(from, to NodeID, d Device) EdgeID {
	id := n.edge(edge{kind: lossEdge, from: from, to: to, loss: d.Loss, bore: float64(d.Bore), oneWay: d.Check, closed: d.Closed})
	n.checkBore(id, d.Bore)
	return id
}

// Emitter adds an outlet of known orifice at a junction: flow = c·√pressure,
// c in L/min at 1 m of pressure. Below atmosphere it takes in, as the emitter
// of EPANET does; use an Opening for a real hose end.
func (n *Network) Emitter(at NodeID, c unit.LitrePerMin) EdgeID {
	if !n.has(at) || !(c > 0) || unsound(float64(c)) {
		n.fail(&Failure{Reason: BadInput, Node: at, Edge: None, Detail: "an emitter needs a node and a coefficient above 0"})
		return None
	}
	air := n.Reservoir(unit.Metre(n.nodes[at].height), unit.Metre(n.nodes[at].height))
	loss, err := NewLossCurve([]Point{{Flow: c, Head: 1}})
	if err != nil {
		n.fail(&Failure{Reason: BadInput, Node: at, Edge: None, Detail: err.Error()})
	}
	return n.Device(at, air, Device{Loss: loss})
}

// Pump is a running pump with a curve. Speed is the ratio to the speed of the
// curve (affinity: flow with it, head with its square); 0 is not a running
// pump, see Idle. A running pump lets nothing back.
type Pump struct {
	Curve PumpCurve
	Speed unit.Ratio
	Bore  unit.Metre // of its inlet; 0 when unknown
}

// Pump adds a running pump, suction at from.
func (n *Network) Pump(from, to NodeID, p Pump) EdgeID {
	id := n.edge(edge{kind: pumpEdge, from: from, to: to, curve: p.Curve, speed: float64(p.Speed), bore: float64(p.Bore), oneWay: true})
	n.checkBore(id, p.Bore)
	if !(p.Speed > 0) || unsound(float64(p.Speed)) || p.Curve.form == 0 {
		n.fail(&Failure{Reason: BadInput, Node: None, Edge: id, Detail: "a running pump needs a curve and a speed above 0"})
	}
	return id
}

// Idle adds a pump at rest: an open passage with a loss, both ways for a
// centrifugal pump; for a displacement pump set Check (its valves or vanes
// let through from → to only).
func (n *Network) Idle(from, to NodeID, d Device) EdgeID {
	id := n.edge(edge{kind: idleEdge, from: from, to: to, loss: d.Loss, bore: float64(d.Bore), oneWay: d.Check, closed: d.Closed})
	n.checkBore(id, d.Bore)
	return id
}

// Displacement is a pump that moves a fixed flow whatever the head, up to
// Limit (0: no limit known).
type Displacement struct {
	Flow  unit.LitrePerMin
	Limit unit.Head
	Bore  unit.Metre
}

// Displacement adds a running displacement pump, suction at from.
func (n *Network) Displacement(from, to NodeID, p Displacement) EdgeID {
	id := n.edge(edge{kind: fixedEdge, from: from, to: to, flow: cubic(p.Flow), limit: float64(p.Limit), bore: float64(p.Bore)})
	n.checkBore(id, p.Bore)
	if p.Flow < 0 || p.Limit < 0 || unsound(float64(p.Flow), float64(p.Limit)) {
		n.fail(&Failure{Reason: BadInput, Node: None, Edge: id, Detail: "a displacement pump needs a flow of 0 or more"})
	}
	return id
}

// Vent is a vented loop: it lets air in while the pressure at its crest is
// below atmosphere, and is a plain fitting otherwise.
type Vent struct {
	Height unit.Metre
	Bore   unit.Metre // for the velocity head at the crest
	Loss   LossCurve  // as a fitting; zero value: none
	Stuck  bool       // the valve does not open: never air
}

// Vent adds a vented loop between its two legs. The nodes at its ends are the
// feet of its crest: give both the height of the crest.
func (n *Network) Vent(from, to NodeID, v Vent) EdgeID {
	k := ventEdge
	if v.Stuck {
		k = lossEdge
	}
	id := n.edge(edge{kind: k, from: from, to: to, loss: v.Loss, bore: float64(v.Bore), height: float64(v.Height)})
	n.checkBore(id, v.Bore)
	return id
}

func (n *Network) add(nd node) NodeID {
	id := NodeID(len(n.nodes))
	n.nodes = append(n.nodes, nd)
	level := nd.level
	if nd.kind == opening && math.IsInf(level, -1) {
		level = 0
	}
	if unsound(nd.height, level, nd.bore) || nd.bore < 0 {
		n.fail(&Failure{Reason: BadInput, Node: id, Edge: None, Detail: "a height, level or bore is no number"})
	}
	return id
}

func (n *Network) edge(e edge) EdgeID {
	id := EdgeID(len(n.edges))
	n.edges = append(n.edges, e)
	if !n.has(e.from) || !n.has(e.to) || e.from == e.to {
		n.fail(&Failure{Reason: BadInput, Node: None, Edge: id, Detail: "an edge needs two different nodes of this network"})
	}
	return id
}

func (n *Network) checkBore(id EdgeID, b unit.Metre) {
	if b < 0 || unsound(float64(b)) {
		n.fail(&Failure{Reason: BadInput, Node: None, Edge: id, Detail: "a bore may not be negative"})
	}
}

func (n *Network) has(id NodeID) bool { return id >= 0 && int(id) < len(n.nodes) }

func (n *Network) fail(f *Failure) {
	if n.fault == nil {
		n.fault = f
	}
}

// unsound reports a value no boat can have: not a number, infinite, or so
// large that its square overflows the arithmetic.
func unsound(v ...float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.Abs(x) > 1e9 {
			return true
		}
	}
	return false
}

// Reason says why there is no solution.
type Reason int

// Reasons of a Failure.
const (
	BadInput       Reason = iota + 1 // an argument no network can have
	NotConverged                     // the iteration did not settle
	NotBalanced                      // a stated draw that no water can reach
	VentsUndecided                   // no consistent state of the vented loops was found
)

func (r Reason) String() string {
	switch r {
	case BadInput:
		return "bad input"
	case NotConverged:
		return "did not converge"
	case NotBalanced:
		return "a draw no water can reach"
	case VentsUndecided:
		return "no consistent state of the vented loops"
	}
	return "unknown"
}

// Failure is the error of Solve: the reason, and the node or edge (None where
// it concerns neither) where it is worst.
type Failure struct {
	Reason Reason
	Node   NodeID
	Edge   EdgeID
	Detail string
}

func (f *Failure) Error() string {
	at := ""
	switch {
	case f.Node != None:
		at = fmt.Sprintf(" at node %d", f.Node)
	case f.Edge != None:
		at = fmt.Sprintf(" at edge %d", f.Edge)
	}
	if f.Detail == "" {
		return "water: " + f.Reason.String() + at
	}
	return "water: " + f.Reason.String() + at + ": " + f.Detail
}

// cubic returns a flow in m³/s.
func cubic(q unit.LitrePerMin) float64 { return float64(q) / 60000 }

// litres returns a flow of m³/s in L/min.
func litres(q float64) unit.LitrePerMin { return unit.LitrePerMin(q * 60000) }
