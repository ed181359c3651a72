package unit

import "strings"

// Dimension names a kind of quantity. It is the one place from which error
// messages, JSON Schema patterns and the reference page learn which units fit.
type Dimension int

// The dimensions, in the order the reference page lists them.
const (
	Voltage Dimension = iota
	Current
	Resistance
	Power
	Charge
	Energy
	Length
	CrossSection
	Area
	Volume
	Angle
	FlowRate
	Pressure
	Temperature
	Duration
	RotationalSpeed
	BoatSpeed
	WaterSpeed
	Torque
	Mass
	Proportion
	dimensions // how many there are
)

// Dimensions lists every dimension in a fixed order.
func Dimensions() []Dimension {
	all := make([]Dimension, dimensions)
	for i := range all {
		all[i] = Dimension(i)
	}
	return all
}

// Unit is one accepted unit of a dimension: SI value = Offset + Factor × figure,
// in the unit the dimension's Go type stores.
type Unit struct {
	// Symbol is the spelling messages and the reference page use.
	Symbol string
	// Spellings are further accepted spellings. Case is ignored, save that of
	// the first letter where CaseCounts.
	Spellings []string
	Factor    float64
	Offset    float64
	// CaseCounts is set where another case of the first letter would be another
	// prefix: mV, MV.
	CaseCounts bool
	// minor, if not empty, is the symbol of the smaller unit that may follow
	// in a compound such as 14 ft 6 in.
	minor string
}

// Name is the dimension in words that fit after "a" or "an": "length".
func (d Dimension) Name() string { return d.spec().name }

// Example is a well-formed quantity of the dimension.
func (d Dimension) Example() string { return d.spec().example }

// Units lists the accepted units, the commonest first. The slice is a copy.
func (d Dimension) Units() []Unit { return append([]Unit(nil), d.spec().units...) }

// Symbols lists the accepted units by symbol, the commonest first.
func (d Dimension) Symbols() []string {
	units := d.spec().units
	out := make([]string, len(units))
	for i, u := range units {
		out[i] = u.Symbol
	}
	return out
}

// Accepts says which units fit, for a message: "A, mA or kA". Long lists name
// the common ones.
func (d Dimension) Accepts() string {
	const most = 8
	symbols := d.Symbols()
	if len(symbols) > most {
		return strings.Join(symbols[:most], ", ") + " …"
	}
	return orList(symbols)
}

// BareZero reports whether a lone 0 is a quantity of this dimension: it is a
// length of nothing and nothing else.
func (d Dimension) BareZero() bool { return d == Length }

// Bare reports whether figures without a unit belong to the dimension: a share
// or ratio is written 25 %, 0.25 or 2:1.
func (d Dimension) Bare() bool { return d == Proportion }

func (d Dimension) String() string { return d.Name() }

func (d Dimension) spec() spec {
	if d < 0 || d >= dimensions {
		return spec{name: "quantity"}
	}
	return specs[d]
}

func orList(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " or " + words[n-1]
	}
}

// a returns the name with its article.
func (d Dimension) a() string {
	name := d.Name()
	if strings.ContainsRune("aeiou", rune(name[0])) {
		return "an " + name
	}
	return "a " + name
}
