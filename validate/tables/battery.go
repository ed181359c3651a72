package tables

import (
	"math"
	"sync"

	"fitout/schema/unit"
)

// Span is a figure that is known between two ends.
type Span struct{ Low, High float64 }

// Mid is the middle of the span.
func (s Span) Mid() float64 { return (s.Low + s.High) / 2 }

// Chemistry holds what is usual for a kind of battery. Voltages and resistance
// are for a 12 V (12.8 V lfp), 100 Ah battery at 25 °C.
type Chemistry struct {
	Word string
	// Ohms12 is the internal resistance, without electronics.
	Ohms12 Span
	// FaultKA12 is the prospective short-circuit current in kA.
	FaultKA12 Span
	// Usable is the routine share of the capacity.
	Usable unit.Ratio
	// ChargeC is the recommended most charge current over capacity, ChargeCUpper
	// the upper end seen in practice, both per hour.
	ChargeC, ChargeCUpper float64
	// Coulombic is ampere-hours out over in; Energy the same for energy.
	Coulombic, Energy Span
	Peukert           Span
	// Absorption and Float are charging voltages.
	Absorption, Float Span
	Cite, UsableCite  Cite

	ocv []point // share of charge to rest volts of 12 V
}

// ChemistryOf looks a chemistry up by its word: flooded, agm, gel, lfp.
func ChemistryOf(word string) (Chemistry, bool) {
	for _, c := range chemistries() {
		if c.Word == word {
			return c, true
		}
	}
	return Chemistry{}, false
}

// Cells returns how many cells a battery of a nominal voltage has: 2 V lead, 3.2 V
// lfp. Lead above 8 V comes in blocks of three cells.
func (c Chemistry) Cells(nominal unit.Volt) int {
	v := float64(nominal)
	switch {
	case c.Word == "lfp":
		return max(1, int(math.Round(v/3.2)))
	case v < 9:
		return max(1, int(math.Round(v/2.07)))
	default:
		return max(3, 3*int(math.Round(v/6.2)))
	}
}

// of12 is how many 12 V batteries in series the nominal voltage makes.
func (c Chemistry) of12(nominal unit.Volt) float64 {
	if c.Word == "lfp" {
		return float64(c.Cells(nominal)) / 4
	}
	return float64(c.Cells(nominal)) / 6
}

// Resistance returns the internal resistance to expect of a battery: its low end
// for the highest fault, its middle for voltage. It grows with voltage and falls
// with capacity.
func (c Chemistry) Resistance(nominal unit.Volt, capacity unit.AmpHour) (low, mid, high unit.Ohm) {
	if capacity <= 0 {
		return 0, 0, 0
	}
	scale := c.of12(nominal) * 100 / float64(capacity)
	return unit.Ohm(c.Ohms12.Low * scale), unit.Ohm(c.Ohms12.Mid() * scale), unit.Ohm(c.Ohms12.High * scale)
}

// CrankingResistance returns the internal resistance a cold cranking rating tells
// of: (12.6 − 7.2) V over the rating, at −18 °C; warm about half.
func CrankingResistance(nominal unit.Volt, cranking unit.Amp) (cold, warm unit.Ohm, cite Cite) {
	if cranking <= 0 {
		return 0, 0, Cite{}
	}
	r := (12.6 - 7.2) / float64(cranking) * math.Max(1, math.Round(float64(nominal)/12.4))
	return unit.Ohm(r), unit.Ohm(r / 2), Cite{"cold cranking test at 7.2 V", Memory}
}

// OpenCircuit returns the rest voltage of a battery at a share of charge, the
// middle of the published span. Gel takes the AGM line.
func (c Chemistry) OpenCircuit(nominal unit.Volt, charge unit.Ratio) unit.Volt {
	return unit.Volt(between(c.ocv, float64(charge)) * c.of12(nominal))
}

// ChargeAt returns the share of charge a rest voltage tells of, by the same line;
// lfp is flat between 20 and 90 % and tells little there.
func (c Chemistry) ChargeAt(nominal, rest unit.Volt) unit.Ratio {
	inverse := make([]point, len(c.ocv))
	for i, p := range c.ocv {
		inverse[i] = point{p.y, p.x}
	}
	return unit.Ratio(between(inverse, float64(rest)/c.of12(nominal)))
}

// Highest returns the highest voltage a battery sees while it charges: what
// devices round it must be rated for. lfp is charged to 3.65 V a cell.
func (c Chemistry) Highest(nominal unit.Volt) (unit.Volt, Cite) {
	if c.Word == "lfp" {
		return unit.Volt(3.65 * float64(c.Cells(nominal))), Cite{"3.65 V a cell", Memory}
	}
	return unit.Volt(c.Absorption.High * c.of12(nominal)), c.Cite
}

// ChargeVolts returns the span of absorption voltages for a nominal voltage.
func (c Chemistry) ChargeVolts(nominal unit.Volt) (low, high unit.Volt) {
	n := c.of12(nominal)
	return unit.Volt(c.Absorption.Low * n), unit.Volt(c.Absorption.High * n)
}

// FloatVolts returns the span of float voltages for a nominal voltage.
func (c Chemistry) FloatVolts(nominal unit.Volt) (low, high unit.Volt) {
	n := c.of12(nominal)
	return unit.Volt(c.Float.Low * n), unit.Volt(c.Float.High * n)
}

// Lead reports a lead-acid chemistry.
func (c Chemistry) Lead() bool { return c.Word != "lfp" }

var chemistries = sync.OnceValue(func() []Chemistry {
	var out []Chemistry
	for _, word := range []string{"flooded", "agm", "gel", "lfp"} {
		c := Chemistry{Word: word, Cite: Cite{"battery facts by chemistry", Memory}, UsableCite: Cite{"routine depth of discharge", Practice}}
		for _, r := range rows("battery_facts") {
			if r["chemistry"] == word {
				c.set(r["fact"], Span{r.must("low"), r.must("high")})
			}
		}
		c.ocv = ocvLine(word)
		out = append(out, c)
	}
	return out
})

func (c *Chemistry) set(fact string, s Span) {
	switch fact {
	case "resistance_mohm":
		c.Ohms12 = Span{s.Low / 1e3, s.High / 1e3}
	case "fault_ka":
		c.FaultKA12 = s
	case "usable_pct":
		c.Usable = unit.Ratio(s.Low / 100)
	case "charge_c":
		c.ChargeC = s.Low
	case "charge_c_upper":
		c.ChargeCUpper = s.High
	case "coulombic":
		c.Coulombic = s
	case "energy":
		c.Energy = s
	case "peukert":
		c.Peukert = s
	case "absorption_v":
		c.Absorption = s
	case "float_v":
		c.Float = s
	}
}

// ocvLine reads a chemistry's rest-voltage line in rising order of charge.
func ocvLine(word string) []point {
	if word == "gel" {
		word = "agm"
	}
	var line []point
	for _, r := range rows("battery_ocv") {
		if r["chemistry"] == word {
			line = append(line, point{r.must("soc_pct") / 100, (r.must("low_v") + r.must("high_v")) / 2})
		}
	}
	for i, j := 0, len(line)-1; i < j; i, j = i+1, j-1 {
		line[i], line[j] = line[j], line[i]
	}
	return line
}

// ConverterEfficiency is the middle of what DC-to-DC converters reach, 0.85 to
// 0.95.
const ConverterEfficiency unit.Ratio = 0.90

// ConverterEfficiencyCite is its source.
func ConverterEfficiencyCite() Cite { return Cite{"DC-to-DC converter efficiency", Practice} }
