// Package schema is the model of one installation: what the file says, typed,
// with every value's place in the text. It computes nothing and judges nothing.
// Boat is the root; Part, Wire and Hose are what is fitted; Kind describes a
// kind of part; Val carries a value with its span and origin.
package schema

import (
	"fitout/schema/diag"
	"fitout/schema/source"
	"fitout/schema/unit"
)

// Boat is one installation as read. Slices are in file order.
type Boat struct {
	Files      []*source.File // the main file first, then includes
	Vessel     Vessel
	Rules      Rules
	Deviations []diag.Deviation
	Spaces     []*Space
	Parts      []*Part // fitted and prepared; see Part.Prepared
	Banks      []Bank
	Looms      []Loom
	Wires      []*Wire // one a conductor: paths, circuits and cables are expanded
	Circuits   []*Circuit
	Hoses      []*Hose // one a stretch, and the close joints of seacocks
	Conditions []*Condition
	Day        []DayStep
	Readings   []Reading
	Sheets     Sheets
	// Kinds is the catalogue the boat was read with.
	Kinds *Catalogue

	parts  map[string]*Part
	spaces map[string]*Space
}

// Index builds the look-up tables; the reader calls it once the slices stand.
func (b *Boat) Index() {
	b.parts = make(map[string]*Part, len(b.Parts))
	for _, p := range b.Parts {
		b.parts[p.ID] = p
	}
	b.spaces = make(map[string]*Space, len(b.Spaces))
	for _, s := range b.Spaces {
		b.spaces[s.ID] = s
	}
}

// Part returns the part with the id, or nil.
func (b *Boat) Part(id string) *Part { return b.parts[id] }

// Space returns the space with the id, or nil.
func (b *Boat) Space(id string) *Space { return b.spaces[id] }

// Bank returns the bank with the id, or a bank of one battery with that id, or
// nil.
func (b *Boat) Bank(id string) *Bank {
	for i := range b.Banks {
		if b.Banks[i].ID == id {
			return &b.Banks[i]
		}
	}
	if p := b.Part(id); p != nil {
		return &Bank{ID: id, Batteries: []*Part{p}, At: p.At}
	}
	return nil
}

// Vessel is the boat itself.
type Vessel struct {
	Name, Type       Val[string]
	Hull             Val[string] // motor, sail, multihull
	Length, Beam     Val[unit.Metre]
	Sheer            Val[unit.Metre]
	Heel, Trim       Val[unit.Degree]
	Laden            Val[unit.Metre]
	Speed            Val[unit.Knot]
	Water            Val[string] // sea, fresh, brackish
	WaterTemperature Val[unit.Celsius]
	Category         Val[string]
	Persons          Val[int]
	At               source.Span
}

// Rules is the rule set asked for.
type Rules struct {
	Set      Val[string] // us, iso, both
	Bundling Val[string] // practice, law
	At       source.Span
}

// US reports whether the US set applies (alone or with the other).
func (r Rules) US() bool { return r.Set.Or("us") != "iso" }

// ISO reports whether the ISO set applies (alone or with the other).
func (r Rules) ISO() bool { s := r.Set.Or("us"); return s == "iso" || s == "both" }

// Space is a compartment.
type Space struct {
	ID         string
	Title      Val[string]
	Ambient    Val[unit.Celsius]
	Engine     Val[bool]
	Fuel       Val[string] // petrol, diesel …
	Stowage    Val[bool]
	Sleeps     Val[bool]
	Bilge      Val[bool]
	Watertight Val[bool]
	Ventilated Val[bool]
	Weather    Val[bool]
	Below      Val[string] // id of the space above it
	Joins      []Val[string]
	Sole       Val[unit.Metre]
	Area       Val[unit.SquareMetre]
	Volume     Val[unit.CubicMetre]
	Station    [2]Val[unit.Metre] // from the stem, aft positive: from, to
	Side       Val[string]
	Note       Val[string]
	At         source.Span
}

// Name returns the title, or the id where there is none.
func (s *Space) Name() string {
	if s == nil {
		return ""
	}
	return s.Title.Or(s.ID)
}

// Bank is batteries used as one.
type Bank struct {
	ID        string
	Batteries []*Part
	At        source.Span
}

// Loom is wires run together.
type Loom struct {
	ID      string
	Spaces  []Val[string]
	Longest Val[unit.Metre]
	At      source.Span
}

// End is one end of a conductor or hose at a part's terminal.
type End struct {
	Part     *Part
	Terminal string // "" for the one joint of a bus, stud, tee
	At       source.Span
}

// String returns "F1.in", or "BP" for an unnamed joint.
func (e End) String() string {
	if e.Part == nil {
		return ""
	}
	if e.Terminal == "" {
		return e.Part.ID
	}
	return e.Part.ID + "." + e.Terminal
}

// Wire is one conductor between two terminals. A path of several stretches, the
// two conductors of a circuit and the cores of a cable are each a Wire.
type Wire struct {
	ID       string // "2", "2a", "C3+", "72.L" for a core of cable 72
	Cable    string // "72" for a core, else ""
	Core     string // L, N, PE, or "" outside an AC cable
	From, To End
	Medium   Medium
	Size     Val[unit.Size]
	Auto     bool // size: auto
	Length   Val[unit.Metre]
	// Resistance as measured, joints included; overrides the computed one.
	Resistance  Val[unit.Ohm]
	Color       Val[string]
	Insulation  Val[unit.Celsius]
	Strands     Val[int]
	Sheath      Val[bool] // the whole run in a sheath, conduit or enclosure
	Cores       Val[int]  // of the cable or sheath it lies in; 1 alone
	Loom        Val[string]
	Through     []Val[string] // spaces passed besides those of its ends
	Parallel    Val[int]
	Lugs        []Val[string] // terminals: [ring M8, ring 5/16 in]
	Impractical Val[string]
	ChafeGuard  Val[string]
	Label       Val[string]
	Title       Val[string]
	Note        Val[string]
	Carries     Val[string] // signal
	Fitted      Val[string]
	Torque      Val[unit.NewtonMetre]
	Prepared    bool
	// Path is the written id that the stretch belongs to; Stretch its index.
	Path    string
	Stretch int
	Circuit *Circuit
	Return  bool // the return conductor of a circuit
	// Implied wires are zero-length joints between loads of one circuit; they
	// have no id in the file and stand in no list.
	Implied bool
	At      source.Span // of the item
}

// Ref is the name findings and lists use: the cable for a core, else the id.
func (w *Wire) Ref() string {
	if w.Cable != "" {
		return w.Cable
	}
	return w.ID
}

// Circuit is an out-and-back pair to a load.
type Circuit struct {
	ID     string
	Title  Val[string]
	Feed   End
	Via    []*Part
	Loads  []*Part
	Supply []*Wire
	Back   []*Wire
	Rating Val[unit.Amp]
	At     source.Span
}

// HoseEnd is one end of a hose: at a part's terminal, or open in a space.
type HoseEnd struct {
	End
	Open   *Space // set for an open end
	Height Val[unit.Metre]
}

// String returns "P3.in", or "open in bilge" for an open end.
func (e HoseEnd) String() string {
	if e.Open != nil {
		return "open in " + e.Open.ID
	}
	return e.End.String()
}

// IsOpen reports whether the end is open in a space.
func (e HoseEnd) IsOpen() bool { return e.Open != nil }

// Hose is one stretch of hose or pipe.
type Hose struct {
	ID         string
	From, To   HoseEnd
	Bore       Val[unit.Metre]
	Length     Val[unit.Metre] // zero: a close nipple
	Material   Val[string]
	Rating     []Val[string] // below waterline, sanitation, potable, exhaust, drain
	Clamps     Val[int]
	Peak, Dip  Val[unit.Metre]
	PeakAt     [2]Val[unit.Metre] // offset, station of the peak
	Bends      Val[int]           // count of 90° bends
	BendsText  string
	Wall       Val[string] // smooth, corrugated
	Roughness  Val[unit.Metre]
	Reinforced Val[bool]
	Through    []Val[string]
	Label      Val[string]
	Title      Val[string]
	Note       Val[string]
	Fitted     Val[string]
	Prepared   bool
	Path       string
	Stretch    int
	// Implied is the close joint between a through-hull and the seacock it
	// carries; it stands in no list.
	Implied bool
	At      source.Span
}

// Running is one entry of a condition's running list.
type Running struct {
	Part *Part
	Duty unit.Ratio
	At   source.Span
}

// Speed is an engine's speed in a condition.
type Speed struct {
	Engine string // part id, "" for the one engine
	RPM    unit.RPM
}

// Condition is one way the boat is used.
type Condition struct {
	ID               string
	Title            Val[string]
	Hours            Val[unit.Hour]
	Running          []Running
	Bank             Val[string]
	Charge           Val[unit.Ratio]
	Engine           []Speed
	EngineAt         source.Span
	Speed            Val[unit.Knot]
	Heel, Trim       Val[unit.Degree]
	Sun              Val[unit.Hour]
	Shore            Val[bool]
	Holds            Val[bool]
	Unattended       Val[bool]
	Open, Closed     []*Part // switches that stand open, valves that are shut
	Off              []*Part
	Positions        map[string]string // part id → position, from Open, Closed and `positions`
	WaterTemperature Val[unit.Celsius]
	// BuiltIn marks the condition `all`: every load at full draw.
	BuiltIn bool
	At      source.Span
}

// DayStep is one stretch of the day's sequence.
type DayStep struct {
	Condition *Condition
	Hours     unit.Hour
	At        source.Span
}

// Reading is one value measured aboard.
type Reading struct {
	Date      Val[string]
	Condition *Condition
	Where     End
	Current   Val[unit.Amp]
	Volts     Val[unit.Volt]
	Flow      Val[unit.LitrePerMin]
	Head      Val[unit.Head]
	Rise      Val[unit.Celsius]
	Within    Val[unit.Ratio]
	By        Val[string]
	Note      Val[string]
	At        source.Span
}

// Sheets is what stands in the title block and how sheets are made.
type Sheets struct {
	Paper, Drawn, Checked, Revision, Date, Owner, HullNumber, Title, Number Val[string]
	Mono                                                                    Val[bool]
	Show                                                                    []Val[string]
	At                                                                      source.Span
}
