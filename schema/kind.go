package schema

import (
	"fitout/schema/symbol"
	"fitout/schema/unit"
)

// Role is what a part is to the rules, whatever its kind is called.
type Role uint64

// The roles. A kind has any number of them.
const (
	Source        Role = 1 << iota // can push current by itself
	Storage                        // a battery
	Charging                       // puts charge into a battery (alternator, charger, controller, solar, dc-charger)
	Load                           // takes current
	Protection                     // opens by itself on too much current
	Switching                      // contacts that a person or a coil moves
	Distribution                   // bus, block, stud, panel, fuse block: many conductors meet
	Panel                          // has ways with devices of their own
	Grounding                      // DC negative / engine block: what "grounded" means
	Bonding                        // bonding point or anode
	Measuring                      // shunt
	Converter                      // DC in, DC out
	Inverting                      // makes AC from DC
	ShorePower                     // shore inlet
	Residual                       // opens on residual current (RCD)
	Cranking                       // a starter motor
	Safety                         // may stay on ahead of the battery switch (bilge pump, alarm, blower)
	Mover                          // moves water
	Bilge                          // moves bilge water
	SeaOpening                     // a way through the hull for water
	HullHole                       // a hole with no circuit
	Shutoff                        // a valve a person can close
	Seacock                        // a shutoff meant for a hull opening
	Strainer                       //
	NonReturn                      // check valve, joker valve: never a barrier
	Vent                           // lets air into a water line (vented loop)
	Bleeding                       // bleed point
	InsideOpening                  // open to the boat at a rim or end (sink, shower, toilet, pan …)
	Holding                        // tank, accumulator
	SeaUser                        // equipment that needs sea water to run (aircon, engine, water-maker, refrigerator)
	Engine                         // burns fuel and turns
	FuelBurner                     // burns fuel: carbon monoxide
	AlarmRole                      //
	Equipment                      // has its own page in the register
	Sensing                        // float switch, level sensor, thermostat: closes by itself
	Relief                         // relief valve
	Toilet                         //
	DeckOpening                    // deck fill, deck plate, tank vent
	ACPart                         // lives in the shore-power sheet
	Junction                       // tee, manifold: water parts that only join
)

// Is reports whether all the roles asked for are there.
func (r Role) Is(ask Role) bool { return r&ask == ask }

// Any reports whether one of the roles asked for is there.
func (r Role) Any(ask Role) bool { return r&ask != 0 }

// Medium is what flows.
type Medium int

// The media.
const (
	DC Medium = iota
	AC
	Water
)

// Polarity of a terminal, or which way its water goes.
type Polarity int

// The polarities.
const (
	Through Polarity = iota // current passes: fuse, switch, bus, shunt
	Plus
	Minus
	Ground // bonding, case, earth plate
	Signal // sense, control
	Live   // AC L
	Neutral
	Earth // AC PE
	WaterIn
	WaterOut
	WaterAny
	Exhaust
)

// Terminal is a place on a part where a conductor or a hose lands.
type Terminal struct {
	Name     string
	Medium   Medium
	Polarity Polarity
	// Needed terminals that nothing joins are a finding; others are spare.
	Needed bool
	// Hidden terminals are joints that a cable passes by (the PE of a cable that
	// goes through a two-pole breaker). A file cannot name them.
	Hidden bool
	// Cable is the group of AC terminals one cable lands on: "in", "out", "1" …
	Cable string
	// Way is the key of the panel way the terminal belongs to.
	Way string
}

// Kind is one kind of part, all of it in one place: what it is called, what it
// joins, what it can be told, how current and water pass inside it, how it is
// drawn and ordered.
type Kind struct {
	Name    string
	Aliases []string // other spellings of the trade, read and never written
	Title   string   // "battery-to-battery charger"
	Help    string   // one sentence: what it is for
	Media   []Medium
	Class   string // letter of IEC 81346-2, from memory

	// Roles may depend on attributes (a bilge pump, a light).
	Roles func(p *Part) Role
	// Terminals in drawing order. A bus has the one terminal "" and is Open.
	Terminals func(p *Part) []Terminal
	// Open kinds (bus, block, stud, tee, manifold, tank) take numbered terminals
	// beside the listed ones; for a bus, block, stud, ground and tee all of them
	// are one joint.
	Open bool
	// Single kinds are named without a terminal: "BP", "TH1". Those that are also
	// Open have the one terminal "", the joint itself.
	Single bool
	// Alone is the terminal, or the group of terminals of an AC cable, meant by a
	// line that names the part without one though it has several of that medium
	// (a sink's "out", an AC panel's "in"); "" for none.
	Alone string
	// Directed kinds are passed in the order of writing.
	Directed bool
	// Passes names the terminal pair of each medium that a path goes through.
	Passes func(p *Part, m Medium) (in, out string, ok bool)

	Attrs []Attr
	// Branches are the inner electrical branches, DC and AC.
	Branches func(p *Part) []Branch
	// Channels are the inner ways for water.
	Channels func(p *Part) []Channel
	// Openings are where the part's water meets the sea, the cabin or the air.
	Openings func(p *Part) []Opening
	// Symbol for the electrical (DC, AC) or the water sheet, with all its optional
	// anchors: With drops the leads of those that nothing joins.
	Symbol func(p *Part, m Medium) symbol.Symbol
	// Rating is the short text beside the symbol: "225 A class-t".
	Rating func(p *Part) string
	// Order is the line of the bill of materials: what a shop is asked for.
	Order func(p *Part) string
	// NotStated lists the facts only eyes can tell that this kind is asked for.
	NotStated []string
	// Example is one flow mapping that reads, checks and draws.
	Example string
}

// AttrType says how an attribute's text is read.
type AttrType int

// The attribute types.
const (
	Quantity    AttrType = iota // a number with one of Dims
	Word                        // one of Words
	WordList                    // one or several of Words
	Flag                        // yes or no
	Count                       // a bare whole number
	Number                      // a bare number (ratios, exponents)
	Text                        // free words
	Date                        // YYYY-MM-DD
	Curve                       // {x: y, …} with X and Y dimensions
	WayMap                      // {1: {title, rating, …}}
	PartRef                     // the id of a part
	PartRefs                    // one or several ids of parts
	SpaceRefs                   // one or several ids of spaces
	ChargeCut                   // `K1` or {charge: K1, discharge: K2}
	CockOf                      // a seacock: an id or a mapping with id
	Fused                       // `fuse 60 A`: a device inside the part
	WordOrText                  // one of Words, or free words
	QuantityMap                 // {60 %: …} reserved for several quantities by name
	PlaceRefs                   // one or several ids of spaces or parts
)

// Attr is one attribute a part can be told.
type Attr struct {
	Name    string
	Aliases []string
	Type    AttrType
	// Dims are the dimensions a Quantity may have. A Curve with Dims may also be
	// written as one such quantity (`loss: 0 m head`, `output: 60 A`): then Dim
	// and Number are set and Points is empty.
	Dims []unit.Dimension
	X, Y []unit.Dimension // Curve
	// Words are the words of an enumeration. A Quantity with Words may be one of
	// them instead of a figure (`duty: continuous`): then Word is set.
	Words []string
	// Also are other spellings of Words: what is written, what it is read as.
	Also [][2]string
	// Min and Max bound the value in the stored unit; both zero: not negative.
	// Signed attributes (heights, offsets) have Signed set and no bounds.
	Min, Max float64
	Signed   bool
	// Default is what holds where nothing is written, with where it comes from;
	// it is named whenever it is used.
	Default, DefaultSource string
	// BareUnit is the unit of a figure written bare, where the attribute's own
	// name says it (millivolts: 50).
	BareUnit string
	Help     string
	Example  string
}
