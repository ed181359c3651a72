package schema

import "fitout/schema/unit"

// BranchType is how current passes between two terminals inside a part.
type BranchType int

// The branch types. A new physics is one more of these and its stamp in
// validate/dc; kinds only return them.
const (
	Joined  BranchType = iota // no resistance: one node (bus, stud, panel bar)
	Series                    // always closed, with resistance (shunt)
	Device                    // closed; opens by itself above a rating
	Contact                   // closed in some positions
	EMF                       // battery: A is +
	Feed                      // limited source: A is + (or L), B is - (or N)
	Draw                      // load: A is + (or L), B is - (or N)
	Convert                   // A,B is the input pair, OutA,OutB the output pair
	Sense                     // a wire that measures: carries no current to speak of
	Isolate                   // galvanic isolator: passes earth fault current, blocks small DC
)

// Branch is one inner electrical branch of a part.
type Branch struct {
	Type   BranchType
	Medium Medium
	A, B   string // terminal names
	Way    string // the panel way it belongs to, else ""
	Ohms   Val[unit.Ohm]
	// OhmsDefault is what stands for Ohms where it is absent, with its source.
	OhmsDefault       unit.Ohm
	OhmsDefaultSource string

	Device  *DeviceData
	Contact *ContactData
	Load    *LoadData
	Feed    *FeedData
	Convert *ConvertData
}

// DeviceData describes an overcurrent device.
type DeviceData struct {
	Breaker     bool   // else a fuse
	Family      string // language words: class-t, blade, thermal …; "" not stated
	Rating      Val[unit.Amp]
	Volts       Val[unit.Volt]
	Interrupt   Val[unit.Amp]
	AutoReset   bool // resets by itself
	NotTripFree bool
	Inside      bool          // `built-in`: inside a source
	Trip        Val[unit.Amp] // residual current, AC
	Poles       int
	// ResidualOnly devices open on residual current and on nothing else (an rcd
	// without a rating, an outlet with its own trip).
	ResidualOnly bool
	// Group names the devices of one part that open together ("" alone).
	Group string
}

// ContactData describes a contact.
type ContactData struct {
	// MakesIn lists the positions in which the contact is closed
	// ("closed"; a selector's "1", "both").
	MakesIn []string
	// Position is the default one of the part.
	Position string
	Rating   Val[unit.Amp]
	// Automatic contacts are moved by a coil, float or thermostat; a person's
	// switch is not.
	Automatic bool
	// Exclusive contacts of one part cannot be closed together unless a position
	// lists both.
	Exclusive bool
	Momentary bool
	// Bond marks the contact that joins neutral to earth inside an AC source;
	// MakesIn is then one of always, inverting, never.
	Bond bool
}

// LoadData describes what a load takes.
type LoadData struct {
	Amps       Val[unit.Amp]
	Watts      Val[unit.Watt]
	Volts      Val[unit.Volt] // at which Amps or Watts hold
	Model      string         // current, power, resistance
	Starting   Val[unit.Amp]
	Count      int
	Duty       Val[unit.Ratio] // share of the time it takes current, where stated
	Drop       Val[unit.Ratio] // allowed drop class
	LeastVolts Val[unit.Volt]
	Motor      bool
	Continuous bool
	// PowerFactor is the share of its volt-amperes that are watts, on AC.
	PowerFactor Val[unit.Ratio]
	// Feeds names the terminal of the AC side an inverter makes, or of the
	// output a charger feeds: Watts is then Output / Efficiency + Idle at full
	// output. Otherwise it is empty.
	Feeds      string
	Output     Val[unit.Watt]
	Efficiency Val[unit.Ratio]
	Idle       Val[unit.Watt]
}

// FeedData describes a limited source.
type FeedData struct {
	Volts Val[unit.Volt] // regulated
	Amps  Val[unit.Amp]  // limit
	Watts Val[unit.Watt] // limit, where given as power
	// BySpeed is an alternator's output by shaft speed, Ratio shaft : engine.
	BySpeed []CurvePoint
	Ratio   Val[float64]
	Engine  string
	// SelfLimiting is yes, no or not stated.
	SelfLimiting Val[bool]
	BuiltIn      *DeviceData
	// Needs says what must be there for it to give anything: "engine", "sun",
	// "shore", "input".
	Needs string
	// Efficiency and Idle with the AC side it is fed from (chargers).
	Efficiency Val[unit.Ratio]
	Idle       Val[unit.Watt]
	Profile    string
	Isolated   bool
	// InA and InB are the terminals it lives on where Needs is "input" or
	// "shore" (a charger's L and N, a controller's pv+ and pv-).
	InA, InB string
	// CaseReturn is set where B is joined to the engine block through the case
	// when the file joins nothing to it (an alternator).
	CaseReturn bool
}

// ConvertData describes a DC to DC converter or battery-to-battery charger.
type ConvertData struct {
	OutA, OutB   string
	Holds        string         // voltage, current, power
	Volts        Val[unit.Volt] // output
	InVolts      Val[unit.Volt]
	Amps         Val[unit.Amp]
	Watts        Val[unit.Watt]
	Efficiency   Val[unit.Ratio]
	Idle         Val[unit.Watt]
	Droop        Val[unit.Ohm]
	Isolated     bool
	SelfLimiting Val[bool]
	BuiltIn      *DeviceData
	Profile      string
	Charger      bool // charges a battery at its output
}

// CurvePoint is one point of a curve in stored units, in the order written.
type CurvePoint struct{ X, Y float64 }

// ChannelType is how water passes between two terminals inside a part.
type ChannelType int

// The channel types.
const (
	Open    ChannelType = iota // tee, manifold, tank: one node
	Passage                    // strainer, exchanger, vented loop, bleed: with a loss
	Valve                      // passes when open
	Check                      // one way while running; never a barrier
	PumpWay                    // pump: A in, B out
	CoilWay                    // inside equipment: separate circuit (coolant), water never mixes
	Blocked                    // water does not pass here (relief, until it lifts)
)

// Channel is one inner way for water of a part.
type Channel struct {
	Type ChannelType
	A, B string
	// Loss is the stated head by flow; empty where not stated.
	Loss []CurvePoint
	// K is the loss coefficient on Bore where Loss is not stated, with its source.
	K       float64
	KSource string
	Bore    Val[unit.Metre]
	// MakesIn lists the positions in which the way is open (diverter a, b; valve
	// open); empty: always.
	MakesIn  []string
	Position string
	Secured  bool
	// Pump describes the pump of a PumpWay. On a Passage it is the equipment's
	// own pump (an engine's raw-water pump): it moves the water unless the file
	// has a pump on the same line.
	Pump *PumpData
	// Vented is a vented loop's air valve: the height is the part's own.
	Vented bool
	// Heat that the way takes up, W, where the kind knows it.
	Heat Val[unit.Watt]
	// Flow needed through the way.
	Flow Val[unit.LitrePerMin]
	// BreaksIfJoined names a terminal whose own hose removes this default joint
	// (an engine's water-out to elbow); OrIfJoined a second one that does.
	BreaksIfJoined, OrIfJoined string
}

// PumpData describes a pump.
type PumpData struct {
	Duty, Design, Drive string
	Curve               []CurvePoint // L/min → m head
	Volts               Val[unit.Volt]
	Submersible         bool
	SelfPriming         bool
	Automatic           bool
	Displacement        bool
	NPSH                Val[unit.Head]
	Flow                Val[unit.LitrePerMin]
}

// OpeningType is what an opening of the water system opens to.
type OpeningType int

// The opening types.
const (
	ToSea    OpeningType = iota // through the hull
	ToInside                    // the boat fills from here
	ToAir                       // above deck, outside
)

// Opening is a place where the water in a part meets the sea, the inside of the
// boat, or the open air.
type Opening struct {
	Type     OpeningType
	Terminal string // the water reaches it from here
	What     string // "rim", "vent", "bowl", "fill", "tap", "hull"
	Height   Val[unit.Metre]
	// Missing names the attribute that would give Height: "rim of SK1".
	Missing string
	// Drain is set for openings meant to let water out (cockpit drain).
	Drain bool
	// Drips is set for pans and trays whose drain takes condensate or shower
	// water.
	Drips bool
	// Loss is the stated head by flow of a way through the hull; K the loss
	// coefficient of its entrance on Bore where Loss is not stated, with its
	// source.
	Loss    []CurvePoint
	K       float64
	KSource string
	Bore    Val[unit.Metre]
}
