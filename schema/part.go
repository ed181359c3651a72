package schema

import (
	"slices"

	"fitout/schema/source"
	"fitout/schema/unit"
)

// Part is one thing that is fitted, by its reference designator.
type Part struct {
	ID    string
	Kind  *Kind
	Stock string // the stock entry it takes, or ""
	// Space is where it stands; nil when not stated or unknown.
	Space    *Space
	Prepared bool
	// Host is the through-hull a seacock is fixed to, Cock the seacock a
	// through-hull carries.
	Host, Cock *Part
	// Plumbed is set where a hose of the file is joined to it.
	Plumbed   bool
	Circuit   *Circuit // the circuit it is the load or a via device of
	Attrs     []Value  // own, stock, defaults merged; in order of writing
	Ways      []Way
	At        source.Span // of the key
	index     map[string]int
	terminals []Terminal
	extra     []Terminal // numbered terminals met in the file, for open kinds
	sealed    bool
	settled   bool // roles and branches hold what the kind's functions give
	roles     Role
	branches  []Branch
}

// Value is one attribute with its reading. Which field holds it depends on the
// attribute's type; Number is in the stored unit of Dim.
type Value struct {
	Attr   *Attr
	Text   string
	At     source.Span // of the value
	KeyAt  source.Span
	From   Origin
	Dim    unit.Dimension
	Number float64
	Size   unit.Size
	Word   string
	Words  []Val[string]
	Yes    bool
	Points []CurvePoint
	XDim   unit.Dimension
	YDim   unit.Dimension
	Parts  []string // ids: PartRef, PartRefs, SpaceRefs; ChargeCut: charge, discharge
	Inside *DeviceData
}

// Way is one way of a panel or fuse block, DC or AC.
type Way struct {
	Key       string
	Title     Val[string]
	Rating    Val[unit.Amp]
	Family    Val[string]
	Spare     bool
	Poles     Val[int]
	Trip      Val[unit.Amp]
	Volts     Val[unit.Volt]
	Interrupt Val[unit.Amp]
	Label     Val[string]
	At        source.Span
}

// Set adds or replaces an attribute; the reader uses it. A later Set of the same
// name wins only over an origin that ranks below it (own, stock, file).
func (p *Part) Set(v Value) {
	p.settled = false
	if p.index == nil {
		p.index = map[string]int{}
	}
	if i, ok := p.index[v.Attr.Name]; ok {
		if v.From <= p.Attrs[i].From {
			p.Attrs[i] = v
		}
		return
	}
	p.index[v.Attr.Name] = len(p.Attrs)
	p.Attrs = append(p.Attrs, v)
}

// Get returns the attribute as read, or nil where nothing is written. It panics
// on a name the kind does not know: that is a mistake of ours.
func (p *Part) Get(name string) *Value {
	if i, ok := p.index[name]; ok {
		return &p.Attrs[i]
	}
	return nil
}

// Has reports whether the attribute is written (by the part, its stock entry or
// the file's defaults).
func (p *Part) Has(name string) bool { return p.Get(name) != nil }

func quantity[T ~float64](p *Part, name string, dim unit.Dimension) Val[T] {
	v := p.Get(name)
	if v == nil || v.Dim != dim {
		return Val[T]{}
	}
	return Val[T]{V: T(v.Number), Text: v.Text, At: v.At, From: v.From}
}

// The accessors below return the attribute where it is written in that
// dimension, and an absent value otherwise (a draw written in watts has no
// Amps).

// Volts returns a potential.
func (p *Part) Volts(name string) Val[unit.Volt] { return quantity[unit.Volt](p, name, unit.Voltage) }

// Amps returns a current.
func (p *Part) Amps(name string) Val[unit.Amp] { return quantity[unit.Amp](p, name, unit.Current) }

// Ohms returns a resistance.
func (p *Part) Ohms(name string) Val[unit.Ohm] { return quantity[unit.Ohm](p, name, unit.Resistance) }

// Watts returns a power.
func (p *Part) Watts(name string) Val[unit.Watt] { return quantity[unit.Watt](p, name, unit.Power) }

// AmpHours returns a charge.
func (p *Part) AmpHours(name string) Val[unit.AmpHour] {
	return quantity[unit.AmpHour](p, name, unit.Charge)
}

// WattHours returns an energy.
func (p *Part) WattHours(name string) Val[unit.WattHour] {
	return quantity[unit.WattHour](p, name, unit.Energy)
}

// Metres returns a length, height, offset or bore.
func (p *Part) Metres(name string) Val[unit.Metre] { return quantity[unit.Metre](p, name, unit.Length) }

// Flow returns a volume flow.
func (p *Part) Flow(name string) Val[unit.LitrePerMin] {
	return quantity[unit.LitrePerMin](p, name, unit.FlowRate)
}

// Head returns a pressure as head.
func (p *Part) Head(name string) Val[unit.Head] { return quantity[unit.Head](p, name, unit.Pressure) }

// Volume returns a volume.
func (p *Part) Volume(name string) Val[unit.CubicMetre] {
	return quantity[unit.CubicMetre](p, name, unit.Volume)
}

// Celsius returns a temperature.
func (p *Part) Celsius(name string) Val[unit.Celsius] {
	return quantity[unit.Celsius](p, name, unit.Temperature)
}

// Share returns a ratio written in per cent.
func (p *Part) Share(name string) Val[unit.Ratio] {
	return quantity[unit.Ratio](p, name, unit.Proportion)
}

// Hours returns a duration.
func (p *Part) Hours(name string) Val[unit.Hour] { return quantity[unit.Hour](p, name, unit.Duration) }

// Speed returns a rotational speed.
func (p *Part) Speed(name string) Val[unit.RPM] {
	return quantity[unit.RPM](p, name, unit.RotationalSpeed)
}

// Torque returns a tightening torque.
func (p *Part) Torque() Val[unit.NewtonMetre] {
	return quantity[unit.NewtonMetre](p, "torque", unit.Torque)
}

// Number returns a bare number (a ratio, an exponent).
func (p *Part) Number(name string) Val[float64] {
	v := p.Get(name)
	if v == nil || v.Attr.Type != Number && v.Attr.Type != Count {
		return Val[float64]{}
	}
	return Val[float64]{V: v.Number, Text: v.Text, At: v.At, From: v.From}
}

// Count returns a bare whole number.
func (p *Part) Count(name string) Val[int] {
	v := p.Get(name)
	if v == nil {
		return Val[int]{}
	}
	return Val[int]{V: int(v.Number), Text: v.Text, At: v.At, From: v.From}
}

// Word returns one word of an enumeration, or free text.
func (p *Part) Word(name string) Val[string] {
	v := p.Get(name)
	if v == nil {
		return Val[string]{}
	}
	return Val[string]{V: v.Word, Text: v.Text, At: v.At, From: v.From}
}

// WordList returns several words.
func (p *Part) WordList(name string) []Val[string] {
	if v := p.Get(name); v != nil {
		return v.Words
	}
	return nil
}

// Flag returns a yes or no.
func (p *Part) Flag(name string) Val[bool] {
	v := p.Get(name)
	if v == nil {
		return Val[bool]{}
	}
	return Val[bool]{V: v.Yes, Text: v.Text, At: v.At, From: v.From}
}

// Curve returns the points of a curve in the order written, and whether there
// are any.
func (p *Part) Curve(name string) []CurvePoint {
	if v := p.Get(name); v != nil {
		return v.Points
	}
	return nil
}

// Refs returns the ids an attribute names.
func (p *Part) Refs(name string) []string {
	if v := p.Get(name); v != nil {
		return v.Parts
	}
	return nil
}

// Inside returns the device that `built-in` describes, or nil.
func (p *Part) Inside() *DeviceData {
	if v := p.Get("built-in"); v != nil {
		return v.Inside
	}
	return nil
}

// Title returns the written title, else the title of its circuit, else "".
func (p *Part) Title() string {
	if t := p.Word("title"); t.Given() {
		return t.V
	}
	if p.Circuit != nil {
		return p.Circuit.Title.V
	}
	return ""
}

// Name returns "F1 (House main)" or "F1".
func (p *Part) Name() string {
	if t := p.Title(); t != "" {
		return p.ID + " (" + t + ")"
	}
	return p.ID
}

// Height, Offset and Station are the part's position.
func (p *Part) Height() Val[unit.Metre] { return p.Metres("height") }

// Offset from the centreline, starboard positive.
func (p *Part) Offset() Val[unit.Metre] { return p.Metres("offset") }

// Station from the stem, aft positive.
func (p *Part) Station() Val[unit.Metre] { return p.Metres("station") }

// Seal fixes the terminals; the reader calls it when all attributes stand.
// Numbered terminals that the file names on an open kind are added by
// AddTerminal.
func (p *Part) Seal() {
	if p.Kind.Terminals != nil {
		p.terminals = p.Kind.Terminals(p)
	}
	p.sealed = true
}

// AddTerminal adds a numbered terminal of an open kind.
func (p *Part) AddTerminal(t Terminal) {
	p.extra = append(p.extra, t)
	p.settled = false
}

// SetRating gives a way of a panel another rating.
func (p *Part) SetRating(way string, rating Val[unit.Amp]) {
	for i := range p.Ways {
		if p.Ways[i].Key == way {
			p.Ways[i].Rating = rating
		}
	}
	p.settled = false
}

// Settle keeps the roles and the branches, which are asked for all the time; the
// reader calls it once nothing is added any more.
func (p *Part) Settle() {
	p.roles, p.branches = p.Roles(), slices.Clip(p.Branches())
	p.settled = true
}

// Terminals returns all terminals, the kind's first.
func (p *Part) Terminals() []Terminal {
	if !p.sealed {
		p.Seal()
	}
	if len(p.extra) == 0 {
		return p.terminals
	}
	return append(append([]Terminal(nil), p.terminals...), p.extra...)
}

// Terminal returns the terminal with the name.
func (p *Part) Terminal(name string) (Terminal, bool) {
	if !p.sealed {
		p.Seal()
	}
	for _, t := range p.terminals {
		if t.Name == name {
			return t, true
		}
	}
	for _, t := range p.extra {
		if t.Name == name {
			return t, true
		}
	}
	return Terminal{}, false
}

// Roles returns the part's roles.
func (p *Part) Roles() Role {
	if p.settled {
		return p.roles
	}
	if p.Kind.Roles == nil {
		return 0
	}
	return p.Kind.Roles(p)
}

// Is reports whether the part has all the roles asked for.
func (p *Part) Is(r Role) bool { return p.Roles().Is(r) }

// Branches returns the inner electrical branches. They are shared: not to be
// written to.
func (p *Part) Branches() []Branch {
	if p.settled {
		return p.branches
	}
	if p.Kind.Branches == nil {
		return nil
	}
	return p.Kind.Branches(p)
}

// Channels returns the inner ways for water.
func (p *Part) Channels() []Channel {
	if p.Kind.Channels == nil {
		return nil
	}
	return p.Kind.Channels(p)
}

// Openings returns where its water meets sea, cabin or air.
func (p *Part) Openings() []Opening {
	if p.Kind.Openings == nil {
		return nil
	}
	return p.Kind.Openings(p)
}

// Way returns the panel way with the key.
func (p *Part) Way(key string) (Way, bool) {
	for _, w := range p.Ways {
		if w.Key == key {
			return w, true
		}
	}
	return Way{}, false
}
