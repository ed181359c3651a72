package survey

import (
	"fitout/schema"
	"fitout/schema/source"
	"fitout/schema/unit"
	"fitout/validate/trace"
	"fitout/validate/water"
)

// WaterState is the water of one condition: every circuit that a running pump
// reaches, solved in the attitudes the condition gives. What is idle has no
// flow and stands in no circuit.
type WaterState struct {
	Condition *schema.Condition
	// Circuits are independent of each other: a datum that one lacks does not
	// keep the others from being solved. In order of their first part.
	Circuits []*WaterCircuit

	survey *Survey
	fouled bool
	byEdge []*WaterCircuit // graph edge → circuit, nil outside
	open   []bool          // graph edge → water can pass in this condition
	drive  []*drive        // graph edge → how its pump is driven, nil without
}

// WaterCircuit is what hangs together through open valves.
type WaterCircuit struct {
	// Pumps are the parts whose pumps run in it, equipment with its own pump
	// included.
	Pumps []*schema.Part
	// Missing is what keeps it from being solved; then Runs is empty.
	Missing []Datum
	// Runs are its solutions, one an attitude; Worst is the one in which least
	// flows.
	Runs  []*WaterRun
	Worst *WaterRun
	// HeadsMissing names losses that are not stated and that the flow does not
	// depend on (a displacement pump on an unbranched line): flows hold, heads
	// do not.
	HeadsMissing []Datum
	// Failed is set where the solver found no solution.
	Failed error
	// Used are the documented defaults the solution rests on.
	Used []Assumed

	graph        *flowGraph
	edges, nodes []int  // of the graph, kept ones
	cut          []bool // graph edge → a dead end; one list for all circuits
	gone         []int  // leaves taken out, in order
}

// WaterRun is a circuit solved in one attitude. Flows are positive along the
// hose as written.
type WaterRun struct {
	Attitude Attitude
	Circuit  *WaterCircuit

	state *WaterState
	net   *water.Network
	model water.Model
	sol   *water.Solution
	edge  map[int]water.EdgeID // graph edge → solver's
	node  map[int]water.NodeID
	stuck map[int]water.PumpState // pump edges that move nothing
	short map[int]Prime           // pump edges whose shut-off head is under a crest
}

// Datum is something the file lacks.
type Datum struct {
	Missing string
	At      source.Span
	IDs     []string
}

// Assumed is a documented default that stood in for a datum.
type Assumed struct{ At, What, Value, Source string }

// HoseFlow is what runs in a hose.
type HoseFlow struct {
	Hose     *schema.Hose
	Flow     unit.LitrePerMin // positive from → to
	Velocity unit.MetrePerSecond
	Loss     unit.Head // from → to, fittings' tails at its ends included
	// Heads holds where Loss and the crest are computed (see HeadsMissing).
	Heads bool
	// Suction marks a hose that leads to a running pump.
	Suction bool
	// Crest is the hose's peak in this attitude, where one is stated.
	HasCrest      bool
	Crest         unit.Metre
	CrestPressure unit.Head
}

// PumpFlow is what a running pump does.
type PumpFlow struct {
	Pump  *schema.Part
	State water.PumpState
	Flow  unit.LitrePerMin
	Head  unit.Head
	Heads bool
	// Speed is the ratio to the speed its curve holds at; Volts what it gets at
	// its terminals where that is known.
	Speed   unit.Ratio
	Volts   unit.Volt
	Powered bool // Volts is known
	Dead    bool // a switch keeps every source from it
	// ShutOff is its head at no flow at this speed, MaxFlow where its curve ends.
	ShutOff unit.Head
	MaxFlow unit.LitrePerMin
	// NPSH available at its inlet, where the height of the inlet is known.
	NPSH    unit.Head
	HasNPSH bool
	// Prime is what it must lift before water runs over the crest.
	Prime Prime
	// Shut lists the valves that stand shut between it and any water.
	Shut []*schema.Part
	// AirAt is the part or hose end where air is drawn in with the water, "".
	AirAt string
}

// Prime is the lift a pump faces before its line runs full.
type Prime struct {
	Known bool
	Lift  unit.Head // crest above the water it draws from
	At    string    // where the crest is
	// Missing are heights that are not known along the way.
	Missing []Datum
}

// EquipmentFlow is the water through equipment that needs it.
type EquipmentFlow struct {
	Part *schema.Part
	Flow unit.LitrePerMin
	// Needs is the flow it asks for, or what its heat asks for; Given is false
	// where neither is stated.
	Needs    unit.LitrePerMin
	HasNeeds bool
	ByHeat   bool
	Heat     unit.Watt
	HasHeat  bool
	Rise     water.Kelvin // at Flow; 0 without heat or flow
	OffCurve bool         // a pump of its circuit runs off its curve: Flow is a guess
}

// HeadAt is the head at a terminal.
type HeadAt struct {
	Head        unit.Head
	Pressure    unit.Head
	HasPressure bool
}

// waterMemory keeps what was computed about the boat's water.
type waterMemory struct {
	loadOf  map[*schema.Part]*trace.Edge // the DC load of a part
	giving  []*trace.Edge                // sources
	flow    *flowGraph
	water   map[*schema.Condition]*WaterState
	basins  map[*schema.Space]basin
	alarms  map[*schema.Space][2]*schema.Part // the alarm of a basin, and what triggers it
	gravity water.Acceleration                // 0: standard gravity
}

// Water returns the water of a condition, solved once.
func (s *Survey) Water(c *schema.Condition) *WaterState {
	if w, ok := s.water[c]; ok {
		return w
	}
	if s.water == nil {
		s.water = map[*schema.Condition]*WaterState{}
	}
	w := s.solveWater(c)
	s.water[c] = w
	return w
}

// WaterFouled is Water with every strainer half blocked: twice its clean loss
// (from memory). It is not kept.
func (s *Survey) WaterFouled(c *schema.Condition) *WaterState {
	w := &WaterState{Condition: c, survey: s, fouled: true}
	w.run()
	return w
}

// Drains returns what runs by gravity alone with every vessel and tank full and
// the valves as they usually stand.
func (s *Survey) Drains() *WaterState {
	return s.Water(nil)
}

// WaterModel returns the water of a condition at its temperature. It is fresh
// for circuits that are fed from a tank of fresh water; see FreshModel.
func (s *Survey) WaterModel(c *schema.Condition) water.Model {
	return s.modelOf(s.Boat.Vessel.Water.Or("sea"), c)
}
