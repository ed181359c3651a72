package tables

import (
	"math"
	"sort"
	"strings"
	"sync"

	"fitout/schema/unit"
)

// Thread is one pipe thread.
type Thread struct {
	// Inch is the nominal size, 1-1/2.
	Inch string
	// Form is the word of the file: npt, nps, bspt, bspp.
	Form  string
	Angle unit.Degree
	// PerInch is the number of threads an inch.
	PerInch float64
	Major   unit.Metre
	Taper   bool
}

// ThreadOf returns a pipe thread of a nominal size and form.
func ThreadOf(inch, form string) (Thread, bool) {
	for _, r := range threads() {
		if r["inch"] == inch && r["thread"] == form {
			return Thread{inch, form, unit.Degree(r.must("angle_deg")), r.must("tpi"),
				unit.Metre(r.must("major_mm") / 1000), form == "npt" || form == "bspt"}, true
		}
	}
	return Thread{}, false
}

// ThreadsMate reports whether two thread forms make a joint of full strength:
// only a form and itself do. reason says what clashes.
func ThreadsMate(a, b string) (ok bool, reason string, cite Cite) {
	cite = Cite{"ASME B1.20.1, ISO 228-1, ISO 7-1", Published}
	american := func(f string) bool { return f == "npt" || f == "nps" }
	switch {
	case a == b:
		return true, "", cite
	case american(a) != american(b):
		return false, "the form angles differ (60° against 55°) and from 1 in up the pitches too", cite
	default:
		return false, "a parallel and a taper thread engage a few turns only", cite
	}
}

var threads = sync.OnceValue(func() []row { return rows("threads") })

// HoseBores lists the bores hose comes in, smallest first.
func HoseBores() []unit.Metre {
	var out []unit.Metre
	for _, r := range hoseSizes() {
		out = append(out, unit.Metre(r.must("bore_mm")/1000))
	}
	return out
}

// OneBoreSmaller returns the next smaller hose bore; below the first, 0.8 of it.
func OneBoreSmaller(bore unit.Metre) unit.Metre {
	sizes := HoseBores()
	i := sort.Search(len(sizes), func(i int) bool { return float64(sizes[i]) >= float64(bore)-0.5e-3 })
	if i == 0 {
		return 0.8 * bore
	}
	return sizes[i-1]
}

var hoseSizes = sync.OnceValue(func() []row { return rows("hose_sizes") })

// HoseUse is what a hose serves.
type HoseUse int

// The uses. A hose may serve several at once.
const (
	// SeaUse is any line open to the sea below the heeled waterline.
	SeaUse HoseUse = iota
	// WasteUse carries black water.
	WasteUse
	// PotableUse carries drinking water.
	PotableUse
	// ExhaustUse carries exhaust gas and water.
	ExhaustUse
	// DrainUse is a drain that is not open to the sea below the waterline.
	DrainUse
)

// HoseSuits reports whether a hose of a rating word suits a use.
func HoseSuits(rating string, use HoseUse) (bool, Cite) {
	switch use {
	case SeaUse:
		switch rating {
		case "below waterline":
			return true, Cite{"H-27, hose below the waterline", Memory}
		case "exhaust":
			return true, Cite{"SAE J2006, ISO 13363; trade use below the waterline", Practice}
		case "sanitation":
			return true, Cite{"ISO 8099-1:2018, lines open to the sea", Published}
		}
		return false, Cite{"H-27, hose below the waterline", Memory}
	case WasteUse:
		return rating == "sanitation", Cite{"ISO 8099-1:2018", Published}
	case PotableUse:
		return rating == "potable", Cite{"Boat Mechanical Systems Handbook, ch. 20", Published}
	case ExhaustUse:
		return rating == "exhaust", Cite{"SAE J2006, ISO 13363:2016", Standard}
	}
	return rating != "", Cite{"drain hose", Practice}
}

// WasteBore is the least bore of waste hose, 38 mm (ISO 8099-1:2018 summary).
const WasteBore unit.Metre = 0.038

// BilgeBore is the least bore of bilge piping by hull length: 25 mm up to 19.8 m,
// 40 mm above (46 CFR 182.510(b)).
func BilgeBore(hull unit.Metre) (unit.Metre, Cite) {
	cite := Cite{"46 CFR 182.510(b)", Law}
	if hull > 19.8 {
		return 0.040, cite
	}
	return 0.025, cite
}

// SinkBore is the least bore of a sink drain (Boat Mechanical Systems Handbook,
// ch. 20); 20 mm is too small.
const SinkBore unit.Metre = 0.025

// Material is what a fitting is made of and how it stands sea water.
type Material struct {
	Word string
	// SeaValve is set where it suits a seacock or through-hull below the
	// waterline.
	SeaValve bool
	// Reason says why not.
	Reason string
	// Copper marks copper alloys, Metal any metal.
	Copper, Metal bool
	// potentials names its row in the galvanic table.
	potentials string
	Cite       Cite
}

// MaterialOf looks a material up by its word.
func MaterialOf(word string) (Material, bool) {
	for _, m := range materials() {
		if m.Word == word {
			return m, true
		}
	}
	return Material{}, false
}

func materials() []Material {
	dzr := Cite{"ISO 9093:2020, 4.1 and ISO 6509-1", Published}
	strength := Cite{"H-27, 500 lbf static test", Published}
	iron := Cite{"46 CFR 179.350(f)", Law}
	return []Material{
		{Word: "bronze", SeaValve: true, Copper: true, Metal: true, potentials: "tin bronzes G and M", Cite: dzr},
		{Word: "dzr-brass", SeaValve: true, Copper: true, Metal: true, potentials: "naval, yellow and red brass", Cite: dzr},
		{Word: "brass", Reason: "plain brass loses its zinc in sea water and crumbles", Copper: true, Metal: true, potentials: "naval, yellow and red brass", Cite: dzr},
		{Word: "stainless-316", SeaValve: true, Metal: true, potentials: "stainless 316, 317 passive", Cite: Cite{"corrosion-resistant below the waterline, ISO 9093:2020, 4.1", Published}},
		{Word: "aluminium", SeaValve: true, Metal: true, potentials: "aluminium alloys", Cite: Cite{"ISO 9093:2020, 4.2: on aluminium only", Published}},
		{Word: "composite", SeaValve: true, Cite: strength},
		{Word: "polyethylene", Reason: "unreinforced plastic does not hold the side load of a seacock", Cite: strength},
		{Word: "pvc", Reason: "household plastic does not hold the side load of a seacock", Cite: strength},
		{Word: "steel", SeaValve: true, Metal: true, potentials: "mild steel and cast iron", Cite: iron},
	}
}

// SeacockType judges a valve type at the hull: a gate valve is none.
func SeacockType(kind string) (ok bool, reason string, cite Cite) {
	cite = Cite{"H-27, 27.4.4; UL 1121", Published}
	if kind == "gate" {
		return false, "a gate valve does not show whether it is shut, and its stem corrodes", cite
	}
	return true, "", cite
}

// Apart is how far two metals lie apart in sea water. Their potentials are spans,
// so the difference is one too.
type Apart struct {
	Least, Mid, Most unit.Volt
	Cite             Cite
}

// GalvanicLimit is the difference from which joined wetted metals need an anode.
const GalvanicLimit unit.Volt = 0.20

// Galvanic returns how far two materials lie apart; ok is false unless both are
// metals. Stainless counts as passive.
func Galvanic(a, b string) (Apart, bool) {
	lowA, highA, okA := potential(a)
	lowB, highB, okB := potential(b)
	if !okA || !okB {
		return Apart{}, false
	}
	gap := math.Max(0, math.Max(lowA-highB, lowB-highA))
	return Apart{
		Least: unit.Volt(gap),
		Mid:   unit.Volt(math.Abs((lowA + highA - lowB - highB) / 2)),
		Most:  unit.Volt(math.Max(highA-lowB, highB-lowA)),
		Cite:  Cite{"potentials in sea water, Australasian Corrosion Association", Published},
	}, true
}

func potential(word string) (low, high float64, ok bool) {
	m, known := MaterialOf(word)
	if !known || !m.Metal {
		return 0, 0, false
	}
	for _, r := range galvanic() {
		if r["metal"] == m.potentials {
			return r.must("low_v"), r.must("high_v"), true
		}
	}
	return 0, 0, false
}

var galvanic = sync.OnceValue(func() []row { return rows("galvanic") })

// MetalsClash reports whether two materials should not meet in one sea-water
// line: a copper alloy with aluminium always, others where even the nearest
// potentials lie more than GalvanicLimit apart. Stainless on a copper alloy does
// not count: clamps, balls and stems are stainless everywhere, and passive
// stainless drives little current (common practice, no source).
func MetalsClash(a, b string) (clash bool, apart Apart, cite Cite) {
	ma, okA := MaterialOf(a)
	mb, okB := MaterialOf(b)
	if !okA || !okB || !ma.Metal || !mb.Metal || a == b {
		return false, Apart{}, Cite{}
	}
	apart, _ = Galvanic(a, b)
	if a == "aluminium" && mb.Copper || b == "aluminium" && ma.Copper {
		return true, apart, Cite{"ISO 9093:2020, 4.2; 46 CFR 182.730(b)(2)", Published}
	}
	stainless := strings.HasPrefix(a, "stainless") && mb.Copper || strings.HasPrefix(b, "stainless") && ma.Copper
	return !stainless && apart.Least > GalvanicLimit, apart, Cite{"metals more than 0.20 V apart need an anode", Published}
}
