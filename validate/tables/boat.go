package tables

import (
	"math"

	"fitout/schema/unit"
)

// Heel is the angle flooding is judged at.
type Heel struct {
	Angle unit.Degree
	// Assumed is set where the angle stands for one that the vessel's sheer and
	// beam would give.
	Assumed bool
	Cite    Cite
}

// DefaultHeel returns the heel of a hull: 7° for motor boats and multihulls; for
// sail the angle that puts the sheer amidships in the water under us, and 30° or
// that angle, the smaller, under iso. Without sheer or beam 30° is assumed.
func DefaultHeel(set Set, hull string, sheer, beam unit.Metre) Heel {
	iso := Cite{"ISO 9093:2020, heeled waterline", Published}
	if hull != "sail" {
		if set == US {
			return Heel{7, false, Cite{"H-27, heeled waterline", Published}}
		}
		return Heel{7, false, iso}
	}
	if sheer <= 0 || beam <= 0 {
		return Heel{30, true, iso}
	}
	toSheer := unit.Degree(math.Atan2(float64(sheer), float64(beam)/2) * 180 / math.Pi)
	if set == US {
		return Heel{toSheer, false, Cite{"H-27, heeled to the sheer amidships", Published}}
	}
	return Heel{min(30, toSheer), false, iso}
}

// DryHeight returns how high above the upright waterline a point at an offset must
// be to stay dry at a heel: offset × tan heel.
func DryHeight(heel unit.Degree, offset unit.Metre) unit.Metre {
	return unit.Metre(math.Abs(float64(offset)) * math.Tan(float64(heel)*math.Pi/180))
}

// Height is a margin above the water with its source.
type Height struct {
	Margin unit.Metre
	Cite   Cite
}

// VentMargin is how far a siphon break must stay above the water in every
// attitude.
func VentMargin() Height {
	return Height{0.300, Cite{"published exhaust practice quoting P-1; Boat Mechanical Systems Handbook, ch. 7", Published}}
}

// BilgeMargin is how far a bilge discharge should stay above the water.
func BilgeMargin() Height { return Height{0.200, Cite{"bilge discharge margin", Practice}} }

// InjectionMargin is how high raw water must be injected above the laden waterline
// to do without a siphon break.
func InjectionMargin() Height {
	return Height{0.300, Cite{"published exhaust practice quoting P-1", Published}}
}

// ExhaustCrest is how high a crest before a wet exhaust's outlet should stand.
func ExhaustCrest() Height {
	return Height{0.450, Cite{"Boat Mechanical Systems Handbook, ch. 7", Published}}
}

// SeacockBand is the height above the deepest waterline under which an opening
// needs means to stop water.
func SeacockBand() Height { return Height{0.150, Cite{"46 CFR 179.350(c)", Law}} }

// DrainFromExhaust is how far a condensate drain must end from any exhaust.
func DrainFromExhaust() Height { return Height{0.9, Cite{"condensate drains", Practice}} }

// BilgeNeed is what bilge pumps a set asks of a boat.
type BilgeNeed struct {
	// Power is the flow each powered pump must give, Count how many there must be.
	Power unit.LitrePerMin
	Count int
	// Hand is the flow of the hand pump asked for beside them; 0 if none.
	Hand unit.LitrePerMin
	// Manual is set where a hand pump alone is enough.
	Manual bool
	Cite   Cite
}

// BilgeCapacity returns the capacity a set asks by hull length and persons. Under
// us it is the passenger-vessel table, as practice on private boats; under iso
// ISO 15083, which is for normal accumulation and not for damage.
func BilgeCapacity(set Set, hull unit.Metre, persons int, category string) BilgeNeed {
	if set == ISO {
		return bilgeISO(hull, category)
	}
	switch {
	case hull > 19.8:
		return BilgeNeed{Power: 190, Count: 2, Cite: Cite{"46 CFR 182.520(a)", Law}}
	case persons > 49:
		return BilgeNeed{Power: 95, Count: 1, Hand: 38, Cite: Cite{"46 CFR 182.520(a)", Law}}
	case hull >= 7.9:
		return BilgeNeed{Power: 38, Count: 1, Hand: 19, Cite: Cite{"46 CFR 182.520(a)", Memory}}
	}
	return BilgeNeed{Hand: 19, Manual: true, Cite: Cite{"46 CFR 182.520(a)", Memory}}
}

func bilgeISO(hull unit.Metre, category string) BilgeNeed {
	n := BilgeNeed{Count: 1, Power: 15, Cite: Cite{"ISO 15083:2020", Published}}
	switch {
	case hull <= 6:
		n.Power = 10
	case hull >= 12:
		n.Power = 30
	}
	// Categories A to C have a secondary system, which may be a hand pump.
	if category != "D" && category != "" {
		n.Hand = n.Power
	}
	return n
}

// HighWaterAlarm is the hull length from which a high-water alarm is asked for
// (26 ft, 46 CFR 182.530(a)).
const HighWaterAlarm unit.Metre = 7.9

// PumpDefaults is what is usual of a pump by its design.
type PumpDefaults struct {
	// SelfPriming lifts its own water when dry.
	SelfPriming bool
	// Passes reports that water passes the pump when it stands.
	Passes bool
	// Starting is the starting current over the running one.
	Starting float64
	Cite     Cite
}

// PumpDesign returns the defaults of a pump design: centrifugal, impeller,
// diaphragm. Every idle pump counts as open to water.
func PumpDesign(design string) PumpDefaults {
	d := PumpDefaults{Passes: true, Starting: 3, Cite: Cite{"pump designs", Practice}}
	d.SelfPriming = design == "impeller" || design == "diaphragm"
	return d
}

// StartingMultiple is the starting current of a motor load over its running one,
// by kind; 1 for loads without a motor.
func StartingMultiple(kind string) (float64, Cite) {
	cite := Cite{"starting currents of motors, 3 to 8 times running", Practice}
	switch kind {
	case "pump", "fan", "toilet", "water-maker":
		return 3, cite
	case "windlass", "refrigerator", "aircon":
		return 4, cite
	case "thruster", "inverter", "inverter-charger":
		return 2, cite
	case "starter":
		return 3, cite
	case "heater":
		return 5, cite
	}
	return 1, Cite{"no motor", Practice}
}
