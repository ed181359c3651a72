package tables

import (
	"math"
	"sync"
	"time"

	"fitout/schema/unit"
)

// Copper at 20 °C, International Annealed Copper Standard (IEC 60028, from
// memory; 10.371 ohm·cmil/ft published).
const (
	// CopperResistivity is in ohm·mm²/m.
	CopperResistivity = 0.017241
	// CopperCoefficient is the relative rise of resistance a kelvin at 20 °C.
	CopperCoefficient = 0.00393
)

// Copper returns the resistance of a length of copper of an area at a
// temperature: ρ20 (1 + α20 (T − 20)) L / A. It is the resistance of the nominal
// area; stranding adds about 2 % and tinning about 4 % more (see IEC60228).
func Copper(area unit.SquareMM, length unit.Metre, at unit.Celsius) unit.Ohm {
	return unit.Ohm(CopperResistivity * CopperRise(at) * float64(length) / float64(area))
}

// CopperCite is the source of Copper.
func CopperCite() Cite { return Cite{"annealed copper standard, IEC 60028", Memory} }

// CopperRise is the resistance of copper at a temperature over that at 20 °C:
// 1 + 0.00393 (T − 20), the line (234.5 + T)/254.5 to four digits.
func CopperRise(at unit.Celsius) float64 { return 1 + CopperCoefficient*float64(at-20) }

// Stranding is a class of conductor in IEC 60228.
type Stranding int

// The classes tabulated: class 2 stranded, class 5 flexible, class 5 tinned.
const (
	Class2 Stranding = iota
	Class5
	Class5Tinned
)

// IEC60228 returns the greatest resistance a metric conductor of a class may
// have, for a length at a temperature; ok is false for an area that is no
// standard one.
func IEC60228(area unit.SquareMM, class Stranding, length unit.Metre, at unit.Celsius) (r unit.Ohm, ok bool) {
	column := [...]string{"class2", "class5", "class5_tinned"}[class]
	for _, line := range iec60228() {
		if math.Abs(line.must("mm2")-float64(area)) < 1e-9 {
			return unit.Ohm(line.must(column) / 1000 * float64(length) * CopperRise(at)), true
		}
	}
	return 0, false
}

var iec60228 = sync.OnceValue(func() []row { return rows("resistance_iec60228") })

// AWGResistance returns the published resistance of a solid AWG conductor (NBS
// wire tables) for a length at a temperature; ok is false outside 18 to 4/0 and
// for 5, 7 … which the table lacks.
func AWGResistance(gauge int, length unit.Metre, at unit.Celsius) (r unit.Ohm, ok bool) {
	const thousandFeet = 304.8
	for _, line := range awgResistance() {
		if mustGauge(line["awg"]) == gauge {
			return unit.Ohm(line.must("nbs_20c") / thousandFeet * float64(length) * CopperRise(at)), true
		}
	}
	return 0, false
}

var awgResistance = sync.OnceValue(func() []row { return rows("resistance_awg") })

// Minimum is the least conductor size of a run.
type Minimum struct {
	Size unit.Size
	Cite Cite
}

// MinimumConductor returns the least size a set allows: under us 16 AWG alone
// and 18 AWG in a sheath; under iso 1 mm² alone over 200 mm, else 0.75 mm².
// Compare areas.
func MinimumConductor(set Set, inSheath bool, length unit.Metre) Minimum {
	if set == ISO {
		if inSheath || length <= 0.2 {
			return Minimum{unit.MetricSize(0.75), Cite{"ISO 10133:2012, 7.7", Standard}}
		}
		return Minimum{unit.MetricSize(1), Cite{"ISO 10133:2012, 7.7", Standard}}
	}
	if inSheath {
		s, _ := unit.AWGSize(18)
		return Minimum{s, Cite{"33 CFR 183.425(d)", Law}}
	}
	s, _ := unit.AWGSize(16)
	return Minimum{s, Cite{"33 CFR 183.425(e)", Law}}
}

// Meets reports whether a size has at least the minimum's copper; a thousandth
// is no difference.
func (m Minimum) Meets(s unit.Size) bool { return noLarger(m.Size.Area, s.Area) }

// Pigtail is the exposed length under which a conductor is exempt from size and
// protection rules: 7 in (33 CFR 183.425(g), 183.435(c)).
const Pigtail unit.Metre = 7 * 0.0254

// GroundingUse is what a grounding conductor is for.
type GroundingUse int

// The uses of grounding conductors.
const (
	// EquipmentGround joins the case of DC equipment to ground.
	EquipmentGround GroundingUse = iota
	// ChargerCase joins the case of a charger or inverter to ground.
	ChargerCase
	// BondingConductor joins underwater metal.
	BondingConductor
	// LightningConductor leads a stroke to the sea.
	LightningConductor
)

// CaseRatingLimit is how far the device of a charger's or inverter's DC positive
// may be above the ampacity of its case conductor (A-31 as published: 135 %).
const CaseRatingLimit = 1.35

// GroundingConductor returns the least size of a grounding conductor beside a DC
// positive: at most one size smaller and never under 16 AWG; 8 AWG for bonding
// and 4 AWG for lightning. No ISO figure is to hand, so iso takes the same, in
// mm² steps where the positive is metric.
func GroundingConductor(use GroundingUse, positive unit.Size) Minimum {
	gauge := func(n int) unit.Size { s, _ := unit.AWGSize(n); return s }
	switch use {
	case BondingConductor:
		return Minimum{gauge(8), Cite{"E-11, bonding", Memory}}
	case LightningConductor:
		return Minimum{gauge(4), Cite{"lightning practice", Memory}}
	}
	cite := Cite{"E-11, DC grounding conductor", Memory}
	if use == ChargerCase {
		cite = Cite{"A-31, case grounding", Published}
	}
	least := gauge(16)
	if below, ok := OneSizeSmaller(positive); ok && below.Area > least.Area {
		least = below
	}
	return Minimum{least, cite}
}

// OneSizeSmaller returns the next thinner size of the conductor's own series
// (Table 5 for AWG and SAE, the ISO table for mm²); ok is false at its end.
func OneSizeSmaller(s unit.Size) (unit.Size, bool) {
	series := SizesFor(US)
	if s.System == unit.Metric {
		series = SizesFor(ISO)
	}
	for i := len(series) - 1; i >= 0; i-- {
		below := series[i]
		if s.System == unit.SAE {
			var ok bool
			if below, ok = unit.SAESize(series[i].Gauge); !ok {
				continue
			}
		}
		if float64(below.Area) < float64(s.Area)*0.999 {
			return below, true
		}
	}
	return unit.Size{}, false
}

// ShortTimeFactor is k of IEC 60364-4-43 for copper in A·√s/mm²: 115 for
// thermoplastic insulation run at 70 °C up to 160 °C, 143 for cross-linked at
// 90 °C up to 250 °C.
func ShortTimeFactor(insulation unit.Celsius) (k float64, cite Cite) {
	if insulation < 90 {
		return 115, Cite{"IEC 60364-4-43, copper with PVC", Memory}
	}
	return 143, Cite{"IEC 60364-4-43, copper with 90 °C XLPE", Memory}
}

// ShortTimeFactorBetween is k for other temperatures at the start and end of a
// short: 226 √ln(1 + (end − start)/(234.5 + start)), the adiabatic form behind
// the tabulated ones.
func ShortTimeFactorBetween(start, end unit.Celsius) float64 {
	return 226 * math.Sqrt(math.Log(1+float64(end-start)/(234.5+float64(start))))
}

// ShortTimeLimit returns how long a copper conductor stands a short-circuit
// current before its insulation reaches its short-time limit, no heat lost:
// t = (k S / I)². It holds to about 5 s; longer times are on the safe side.
func ShortTimeLimit(area unit.SquareMM, insulation unit.Celsius, current unit.Amp) time.Duration {
	if current <= 0 {
		return math.MaxInt64
	}
	k, _ := ShortTimeFactor(insulation)
	s := math.Pow(k*float64(area)/float64(current), 2)
	return seconds(s)
}

// seconds converts without overflow.
func seconds(s float64) time.Duration {
	if s > 1e9 {
		return math.MaxInt64
	}
	return time.Duration(s * float64(time.Second))
}
