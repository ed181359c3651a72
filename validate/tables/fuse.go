package tables

import (
	"math"
	"sort"
	"strings"
	"sync"
	"time"

	"fitout/schema/unit"
)

// Family is a family of fuses, by its word in the file.
type Family struct {
	Word string
	// Standard is the standard that defines it.
	Standard string
	// Volts is the DC rating to assume where the part states none: the lowest
	// type of the family.
	Volts unit.Volt
	// VoltsTo is the rating of its highest common type; 0 if there is one only.
	VoltsTo unit.Volt
	// Most is the largest rating made.
	Most unit.Amp
	// interrupts is sorted by voltage.
	interrupts []interrupt
	Cite       Cite
}

type interrupt struct {
	amps unit.Amp
	at   unit.Volt
}

// Interrupt returns what a fuse of the family is taken to break at a DC voltage
// where the part states nothing. ok is false where the family has no DC figure
// (glass) or none at so high a voltage: then the rating is unproven.
func (f Family) Interrupt(system unit.Volt) (unit.Amp, bool) {
	for _, i := range f.interrupts {
		if system <= i.at {
			return i.amps, true
		}
	}
	return 0, false
}

// FuseFamily looks a family up by its word.
func FuseFamily(word string) (Family, bool) {
	for _, f := range fuseFamilies() {
		if f.Word == word {
			return f, true
		}
	}
	return Family{}, false
}

// FuseFamilies lists the families in table order.
func FuseFamilies() []Family { return append([]Family(nil), fuseFamilies()...) }

var fuseFamilies = sync.OnceValue(func() []Family {
	var out []Family
	for _, r := range rows("fuse_families") {
		f := Family{Word: r["family"], Standard: r["standard"], Volts: unit.Volt(r.must("volts")),
			Most: unit.Amp(r.must("most_a")), Cite: Cite{r["standard"], r.status()}}
		if v, ok := r.num("volts_to"); ok {
			f.VoltsTo = unit.Volt(v)
		}
		for _, pair := range strings.Fields(r["interrupt"]) {
			amps, at, _ := strings.Cut(pair, "@")
			f.interrupts = append(f.interrupts, interrupt{unit.Amp(mustFloat(amps)), unit.Volt(mustFloat(at))})
		}
		out = append(out, f)
	}
	return out
})

// BreakerFamilies are the words of breaker families. A breaker has no usual
// interrupt or voltage rating: what its part does not state is not known.
func BreakerFamilies() []string { return []string{"thermal", "magnetic", "hydraulic-magnetic"} }

// InterruptNeeded returns the least interrupting capacity E-11 asks of a DC
// breaker by the total cold cranking amperes of the connected lead-acid
// batteries: main is the first breaker from the battery, every later one is a
// branch. Lithium batteries have no cranking figure; compute theirs.
func InterruptNeeded(cranking unit.Amp, main bool) (unit.Amp, Cite) {
	return interruptRow("dc", cranking, main)
}

// InterruptNeededAC returns the same for a 120 V shore supply of 30 or 50 A.
func InterruptNeededAC(shore unit.Amp, main bool) (unit.Amp, Cite) {
	return interruptRow("ac", shore, main)
}

func interruptRow(system string, basis unit.Amp, main bool) (amps unit.Amp, cite Cite) {
	column := "branch"
	if main {
		column = "main"
	}
	for _, r := range interruptBreaker() {
		if r["system"] != system {
			continue
		}
		amps, cite = unit.Amp(r.must(column)), Cite{"E-11 interrupting capacity table", r.status()}
		if most, ok := r.num("most"); !ok || float64(basis) <= most {
			break
		}
	}
	return amps, cite
}

var interruptBreaker = sync.OnceValue(func() []row { return rows("interrupt_breaker") })

// UnknownFault is the interrupting capacity usually asked of a lithium battery's
// fuse when its short-circuit current is not known (from memory, uncertain).
const UnknownFault unit.Amp = 20000

// StandardRatings lists a series of ratings in rising order. Series are the fuse
// and breaker family words and nec, iec60898, iec60269; ok is false for others.
func StandardRatings(series string) (amps []unit.Amp, cite Cite, ok bool) {
	for _, r := range standardRatings() {
		if r["series"] != series {
			continue
		}
		for _, a := range strings.Fields(r["amps"]) {
			amps = append(amps, unit.Amp(mustFloat(a)))
		}
		return amps, Cite{r["standard"], r.status()}, true
	}
	return nil, Cite{}, false
}

// NextStandardRating returns the smallest rating of a series that is not below
// amps. A series that is not known is taken as nec. ok is false above its last.
func NextStandardRating(series string, amps unit.Amp) (unit.Amp, Cite, bool) {
	list, cite, known := StandardRatings(series)
	if !known {
		list, cite, _ = StandardRatings("nec")
	}
	i := sort.Search(len(list), func(i int) bool { return float64(list[i]) >= float64(amps)*(1-1e-9) })
	if i == len(list) {
		return 0, cite, false
	}
	return list[i], cite, true
}

// LargestStandardRating returns the largest rating of a series that is not above
// amps; ok is false below its first.
func LargestStandardRating(series string, amps unit.Amp) (unit.Amp, Cite, bool) {
	list, cite, known := StandardRatings(series)
	if !known {
		list, cite, _ = StandardRatings("nec")
	}
	i := sort.Search(len(list), func(i int) bool { return float64(list[i]) > float64(amps)*(1+1e-9) })
	if i == 0 {
		return 0, cite, false
	}
	return list[i-1], cite, true
}

var standardRatings = sync.OnceValue(func() []row { return rows("standard_ratings") })

// Opening is when a fuse opens at a current.
type Opening struct {
	// Earliest is 0 where the standard states no least time.
	Earliest, Latest time.Duration
	// Carries is set where the standard lets the fuse carry the current for good,
	// or says nothing: it need not open.
	Carries bool
	Cite    Cite
}

// OpeningTime returns when a fuse of a family opens at a current. ok is false for
// a family with no published curve, and for glass above twice its rating, where
// the standard says no more. Between published points the time follows a straight
// line in logarithms; beyond the last blade point the energy I²t stays, as a
// melting element behaves.
func OpeningTime(family string, rating, current unit.Amp) (o Opening, ok bool) {
	points := timeCurrent(family)
	if len(points) == 0 || rating <= 0 {
		return Opening{}, false
	}
	o.Cite = points[0].cite
	m := float64(current) / float64(rating)
	if m < points[0].multiple {
		o.Carries = true
		return o, true
	}
	if family == "glass" && m > points[len(points)-1].multiple*(1+1e-9) {
		return Opening{Cite: o.Cite}, false
	}
	o.Latest = seconds(openAt(points, m, func(p timePoint) float64 { return p.latest }))
	if points[0].earliest > 0 {
		o.Earliest = seconds(openAt(points, m, func(p timePoint) float64 { return p.earliest }))
	}
	return o, true
}

// HasCurve reports whether a family has a published time–current curve.
func HasCurve(family string) bool { return len(timeCurrent(family)) > 0 }

// openAt reads one edge of the band at a multiple of the rating. Points without
// that edge are passed over.
func openAt(points []timePoint, m float64, edge func(timePoint) float64) float64 {
	var last timePoint
	for _, p := range points {
		if edge(p) == 0 {
			continue
		}
		if m <= p.multiple && last.multiple > 0 {
			x := math.Log(m/last.multiple) / math.Log(p.multiple/last.multiple)
			return math.Exp(math.Log(edge(last)) + x*math.Log(edge(p)/edge(last)))
		}
		last = p
		if m <= p.multiple {
			break
		}
	}
	return edge(last) * math.Pow(last.multiple/m, 2)
}

type timePoint struct {
	multiple, earliest, latest float64
	cite                       Cite
}

func timeCurrent(family string) []timePoint { return timeCurrents()[family] }

var timeCurrents = sync.OnceValue(func() map[string][]timePoint {
	out := map[string][]timePoint{}
	for _, r := range rows("time_current") {
		p := timePoint{multiple: r.must("multiple"), latest: r.must("latest_s")}
		p.earliest, _ = r.num("earliest_s")
		f, _ := FuseFamily(r["family"])
		p.cite = Cite{f.Standard + " operating times", r.status()}
		out[r["family"]] = append(out[r["family"]], p)
	}
	return out
})

// Sizing is how large a device may be for the conductor it guards.
type Sizing struct {
	// Warn is the share of the corrected ampacity above which a rating is a
	// warning unless it is the next standard size.
	Warn unit.Ratio
	// Most is the share above which it is an error.
	Most unit.Ratio
	// StepUp is set where the next standard size above Warn is allowed.
	StepUp bool
	Cite   Cite
}

// SizingLimit returns how a set sizes devices at a circuit voltage.
func SizingLimit(set Set, volts unit.Volt) Sizing {
	switch {
	case set == ISO && volts < 50:
		return Sizing{1, 1, false, Cite{"ISO 13297 / ISO 10133:2012 clause 8", Memory}}
	case set == ISO:
		return Sizing{1, 1, false, Cite{"ISO 13297:2020, 13.1.5", Standard}}
	case volts < 50:
		return Sizing{1, 1.5, true, Cite{"33 CFR 183.455(c)(1)", Law}}
	}
	return Sizing{1, 1.5, true, Cite{"33 CFR 183.455(c)(2)", Law}}
}

// Fit is how a device rating suits a conductor.
type Fit int

// The three ways.
const (
	// Fits: at or below the ampacity, or the allowed next standard size.
	Fits Fit = iota
	// Oversized: above the ampacity and not the next standard size.
	Oversized
	// Excessive: above the most the set allows.
	Excessive
)

// RatingFit judges a rating (or a sum of ratings) against a corrected ampacity.
// series is the device's family, whose next standard size counts. From 50 V up
// an oversized device is against the law itself, so it is excessive.
func RatingFit(set Set, volts unit.Volt, rating, ampacity unit.Amp, series string) Fit {
	limit := SizingLimit(set, volts)
	const slack = 1 + 1e-9
	if float64(rating) <= float64(ampacity)*float64(limit.Warn)*slack {
		return Fits
	}
	if float64(rating) > float64(ampacity)*float64(limit.Most)*slack {
		return Excessive
	}
	if limit.StepUp {
		if next, _, ok := NextStandardRating(series, ampacity); ok && float64(rating) <= float64(next)*slack {
			return Fits
		}
	}
	if volts >= 50 {
		return Excessive
	}
	return Oversized
}

// LargestDevice returns the largest rating of a series that a set allows on a
// conductor without a finding; ok is false if even the smallest is too large.
func LargestDevice(set Set, volts unit.Volt, ampacity unit.Amp, series string) (unit.Amp, bool) {
	if next, _, ok := NextStandardRating(series, ampacity); ok && RatingFit(set, volts, next, ampacity, series) == Fits {
		return next, true
	}
	a, _, ok := LargestStandardRating(series, ampacity)
	return a, ok
}

// DeviceResistance returns the default resistance of a device whose own is not
// stated, with its least credible value for fault currents. Fuses and breakers
// drop 50 to 200 mV at their rating; a switch or relay about 50 mV. Kind is the
// word of the file; millivolts is a shunt's drop at its rating, 0 takes 50 mV.
// A bus, block or stud has none.
func DeviceResistance(kind, family string, rating unit.Amp, millivolts unit.Volt) (usual, least unit.Ohm, cite Cite) {
	cite = Cite{"default drop at rated current", Practice}
	var drop float64
	switch kind {
	case "fuse":
		drop = 0.1
		switch family {
		case "strip", "strip-48v", "single-bolt", "terminal", "class-t", "class-j":
			drop = 0.06
		}
	case "breaker":
		drop = 0.12
	case "switch", "relay", "selector":
		drop = 0.05
	case "shunt":
		drop = 0.05
		if millivolts > 0 {
			drop = float64(millivolts)
		}
		if rating <= 0 {
			return 0, 0, cite
		}
		r := unit.Ohm(drop / float64(rating))
		return r, r, cite
	}
	if rating <= 0 {
		return 0, 0, cite
	}
	r := unit.Ohm(drop / float64(rating))
	return r, r / 2, cite
}
