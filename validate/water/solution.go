package water

import "fitout/schema/unit"

// PumpState says what a running pump does.
type PumpState string

// States of a pump; "" for an edge that is none.
const (
	Runs       PumpState = "runs"
	CannotLift PumpState = "cannot-lift" // moves no water: its head is under the lift
	OffCurve   PumpState = "off-curve"   // works outside its curve
	Dry        PumpState = "dry"         // no water reaches its inlet
	Idle       PumpState = "idle"        // stands still
)

// NodeState is what is computed at a node.
type NodeState struct {
	// Known is false where no head is set by anything: a stretch shut off on
	// all sides. Head and Pressure are 0 then and mean nothing.
	Known bool
	Head  unit.Head
	// Pressure is head − height − v²/2g with the greatest velocity of the pipes
	// that meet here.
	Pressure unit.Head
	Supply   unit.LitrePerMin // net flow into the network: reservoirs, openings, draws
}

// End is one end of an edge.
type End struct {
	Head     unit.Head
	Pressure unit.Head // head − height − v²/2g, v of this edge
}

// EdgeState is what is computed on an edge. Flows are positive from → to.
type EdgeState struct {
	Known    bool // heads of both ends known
	Flow     unit.LitrePerMin
	Velocity MetrePerSecond // 0 where the bore is unknown
	Loss     unit.Head      // head(from) − head(to); negative over a pump
	From, To End
	// Crest of a pipe with HasCrest: head after the whole loss of the pipe, and
	// pressure there (compare with Model.VapourLimit).
	CrestHead     unit.Head
	CrestPressure unit.Head
	Shut          bool // closed, or a check valve that holds
	// Vent: the pressure at the crest falls below atmosphere and air enters. The
	// leg downstream then runs part-full: head is lost in its fall.
	Air bool

	Pump PumpState
	NPSH unit.Head // available at the pump's inlet
	// AirFrom is where the air comes in that a running pump draws along with its
	// water, else None: an end of a vented loop, or an opening in air whose hose
	// has run empty.
	AirFrom NodeID
}

// Solution is a converged state of the network.
type Solution struct {
	Nodes []NodeState // by NodeID
	Edges []EdgeState // by EdgeID

	Iterations int
	// WorstMass is the greatest flow that does not balance at a junction, and
	// the node it stands at; WorstHead the greatest difference between the head
	// over an edge and its law.
	WorstMass     unit.LitrePerMin
	WorstMassNode NodeID
	WorstHead     unit.Head
	WorstHeadEdge EdgeID
}
