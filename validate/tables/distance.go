package tables

import "fitout/schema/unit"

// Source is what can push current into a conductor, as far as the distance to
// its first device depends on it.
type Source int

// The kinds of source.
const (
	// OtherDC is any DC source but a battery terminal: a bus, a stud, a converter.
	OtherDC Source = iota
	// BatteryTerminal is a battery's own post.
	BatteryTerminal
	// ChargingSource is an alternator, charger, charge controller or converter
	// output, judged for its own current.
	ChargingSource
	// ACSource is a generator or inverter output.
	ACSource
	// ShoreInlet is a shore-power inlet.
	ShoreInlet
)

// Distance is how far along the conductor its first device may stand from a
// source.
type Distance struct {
	// Practice is the set's own limit; beyond it is at least a warning.
	Practice unit.Metre
	// Law is the limit that makes an error; it equals Practice but for a battery
	// without a sheath under us.
	Law unit.Metre
	// Enclosed is set where a conductor enclosed from source to device has no
	// limit at all.
	Enclosed bool
	// NeedsReason is set where the limit holds only if a shorter one is
	// impractical, for a reason to be written down.
	NeedsReason   bool
	Cite, LawCite Cite
}

const inch = 0.0254

// Distances of 33 CFR 183.455(b) and E-11, exact in inches.
const (
	plainUS    unit.Metre = 7 * inch
	sheathedUS unit.Metre = 40 * inch
	batteryUS  unit.Metre = 72 * inch
)

// ProtectionDistance returns the distance a set allows from a source. sheathed
// means a sheath, conduit or enclosure over the whole way from source to device.
func ProtectionDistance(set Set, from Source, sheathed bool) Distance {
	if set == ISO {
		return distanceISO(from, sheathed)
	}
	return distanceUS(from, sheathed)
}

func distanceUS(from Source, sheathed bool) Distance {
	law455 := Cite{"33 CFR 183.455(b)", Law}
	switch {
	case from == ShoreInlet:
		c := Cite{"E-11, 11.10.2.8.3", Standard}
		return Distance{Practice: 120 * inch, Law: 120 * inch, Cite: c, LawCite: c}
	case from == BatteryTerminal && sheathed:
		return Distance{Practice: batteryUS, Law: batteryUS, Cite: Cite{"E-11, 11.10.1", Published}, LawCite: Cite{"33 CFR 183.460(a)", Memory}}
	case from == BatteryTerminal:
		return Distance{Practice: plainUS, Law: batteryUS, Cite: Cite{"E-11, 11.10.1", Published}, LawCite: Cite{"33 CFR 183.460(a)", Memory}}
	case sheathed:
		return Distance{Practice: sheathedUS, Law: sheathedUS, NeedsReason: true, Cite: law455, LawCite: law455}
	}
	return Distance{Practice: plainUS, Law: plainUS, Cite: law455, LawCite: law455}
}

func distanceISO(from Source, sheathed bool) Distance {
	d := Distance{Practice: 0.2, Enclosed: sheathed, Cite: Cite{"ISO 10133:2012, 8.1", Memory}}
	switch from {
	case ChargingSource:
		d = Distance{Practice: 1.8, Enclosed: sheathed, Cite: Cite{"ISO 13297:2020, 12.3", Standard}}
	case ACSource, ShoreInlet:
		d = Distance{Practice: 0.5, Enclosed: sheathed, Cite: Cite{"ISO 13297:2020, 13.2.2", Standard}}
	}
	d.Law, d.LawCite = d.Practice, d.Cite
	return d
}

// ShoreDeviceLimit is how far an extra device near a shore inlet may be above
// the main breaker (E-11 as published: 125 %).
const ShoreDeviceLimit = 1.25

// ResidualTrip is the most a residual-current device may let through: 30 mA
// (E-11, 11.11.1, within 100 ms; ISO from memory).
const ResidualTrip unit.Amp = 0.030

// StudLugs is the most terminals on one stud (E-11, 11.14.6.9).
const StudLugs = 4

// SwitchCranking is the cold cranking current above which E-11 (11.6.1.2.1)
// wants a switch in a battery's positive conductor.
const SwitchCranking unit.Amp = 800

// SelfLimitingGenerator is the share of its rated output an alternator's or
// generator's own device may have: 33 CFR 183.460(b) from memory, E-11 11.6.4.2.
const SelfLimitingGenerator = 1.2

// ParallelLeast is the thinnest conductor land practice joins in parallel, 1/0
// AWG (from memory).
func ParallelLeast() Minimum {
	s, _ := unit.AWGSize(0)
	return Minimum{s, Cite{"land practice, conductors in parallel", Memory}}
}
