package tables

import (
	"errors"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"fitout/schema/unit"
)

// retyped reads a file of testdata: the figures of a reference table, typed a
// second time so that a slip in data/ shows.
func retyped(t *testing.T, name string) []row {
	t.Helper()
	text, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return parseRows(name, string(text))
}

func size(t *testing.T, text string) unit.Size {
	t.Helper()
	s, err := unit.ParseSize(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func near(got, want, rel float64) bool { return math.Abs(got-want) <= rel*math.Abs(want)+1e-300 }

// Every data file names its source in its first line, and its figures equal the
// reference's, row by row, for the columns the reference has.
func TestDataEqualsReference(t *testing.T) {
	for _, name := range []string{"ampacity_us", "ampacity_iso", "engine_space_us", "engine_space_iso", "bundling", "resistance_iec60228", "resistance_awg",
		"interrupt_breaker", "time_current", "battery_facts", "battery_ocv", "k_values", "turbulent_factor", "roughness", "hose_sizes", "threads", "galvanic", "orifice"} {
		ours, ref := rows(name), retyped(t, name+".csv")
		if len(ours) != len(ref) {
			t.Errorf("%s: %d rows, reference %d", name, len(ours), len(ref))
			continue
		}
		for i := range ref {
			for column, want := range ref[i] {
				if ours[i][column] != want {
					t.Errorf("%s row %d %s: %q, reference %q", name, i+1, column, ours[i][column], want)
				}
			}
		}
	}
	files, err := data.ReadDir("data")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		text, err := data.ReadFile("data/" + f.Name())
		if err != nil || !strings.HasPrefix(string(text), "# source: ") {
			t.Errorf("%s names no source (%v)", f.Name(), err)
		}
	}
}

// Through the function, every cell of 33 CFR 183 Table 5 and of the ISO table.
func TestAmpacityCells(t *testing.T) {
	for _, c := range []string{"60", "75", "80", "90", "105", "125", "200"} {
		for _, r := range retyped(t, "ampacity_us.csv") {
			a, err := AmpacityOf(US, Run{Size: size(t, r["awg"]+" AWG"), Insulation: unit.Celsius(mustFloat(c))})
			if err != nil || a.Amps != unit.Amp(r.must(c)) || a.Row.Gauge != mustGauge(r["awg"]) || a.Cite.Status != Law {
				t.Errorf("%s AWG at %s °C: %v, %v, want %s A", r["awg"], c, a, err, r[c])
			}
		}
	}
	for _, c := range []string{"70", "85", "105", "125", "200"} {
		for _, r := range retyped(t, "ampacity_iso.csv") {
			a, err := AmpacityOf(ISO, Run{Size: size(t, r["mm2"]+" mm2"), Insulation: unit.Celsius(mustFloat(c))})
			if err != nil || a.Amps != unit.Amp(r.must(c)) {
				t.Errorf("%s mm² at %s °C: %v, %v, want %s A", r["mm2"], c, a, err, r[c])
			}
		}
	}
}

// Published 105 °C table of 33 CFR 183 with bundling and engine space, 14 sizes by
// eight columns (trade reprint of the Coast Guard guideline); the print rounds to
// a tenth.
func TestAmpacityPublishedBundled(t *testing.T) {
	for _, r := range retyped(t, "electrical-105c-bundled-published.csv") {
		for _, n := range []struct {
			column  string
			bundled int
		}{{"le2", 2}, {"n3", 3}, {"n4_6", 4}, {"n4_6", 6}, {"n7_24", 7}, {"n7_24", 24}} {
			for _, engine := range []bool{false, true} {
				column := n.column + "_outside"
				if engine {
					column = n.column + "_engine_space"
				}
				a, err := AmpacityOf(US, Run{Size: size(t, r["awg"]+" AWG"), EngineSpace: engine, Bundled: n.bundled})
				if err != nil || math.Abs(float64(a.Amps)-r.must(column)) > 0.11 {
					t.Errorf("%s AWG %s: %.3f A, print %s (%v)", r["awg"], column, a.Amps, r[column], err)
				}
			}
		}
	}
}

// Row choice when the size is of another series (areas by ASTM B258): rules.md,
// next smaller AWG under us, next smaller mm² under iso.
func TestAmpacityOtherSeries(t *testing.T) {
	tests := []struct {
		set       Set
		size, row string
		amps      unit.Amp
	}{
		{US, "70 mm2", "2/0 AWG", 330}, {US, "50 mm2", "1 AWG", 245}, {US, "35 mm2", "2 AWG", 210}, {US, "2.5 mm2", "14 AWG", 35}, {US, "1 mm2", "18 AWG", 20},
		{US, "53.475 mm2", "1/0 AWG", 285}, {US, "150 mm2", "4/0 AWG", 445}, {US, "12 SAE", "14 AWG", 35}, {US, "5 AWG", "6 AWG", 120},
		{ISO, "10 AWG", "4 mm²", 40}, {ISO, "16 AWG", "1 mm²", 18}, {ISO, "4/0 AWG", "95 mm²", 330}, {ISO, "185 mm2", "150 mm²", 430},
	}
	for _, tt := range tests {
		a, err := AmpacityOf(tt.set, Run{Size: size(t, tt.size)})
		if err != nil || a.Row.Name() != tt.row || a.Amps != tt.amps {
			t.Errorf("%v %s: row %s, %v A, %v; want %s, %v A", tt.set, tt.size, a.Row.Name(), a.Amps, err, tt.row, tt.amps)
		}
		if a.Row.System != size(t, tt.size).System && !strings.Contains(a.Cite.Source, tt.row) {
			t.Errorf("%s: the source %q hides the row", tt.size, a.Cite)
		}
	}
}

func TestAmpacityUnknown(t *testing.T) {
	for _, tt := range []struct {
		set  Set
		run  Run
		want error
	}{
		{US, Run{}, ErrNoSize}, {US, Run{Size: size(t, "20 AWG")}, ErrTooThin}, {US, Run{Size: size(t, "0.5 mm2")}, ErrTooThin}, {ISO, Run{Size: size(t, "20 AWG")}, ErrTooThin},
		{US, Run{Size: size(t, "10 AWG"), Insulation: 50}, ErrInsulation}, {ISO, Run{Size: size(t, "4 mm2"), Insulation: 60}, ErrInsulation},
	} {
		if a, err := AmpacityOf(tt.set, tt.run); !errors.Is(err, tt.want) {
			t.Errorf("%v: %v, %v, want %v", tt.run, a, err, tt.want)
		}
	}
}

// Physics: more copper, better insulation, cooler air and fewer neighbours never
// carry less.
func TestAmpacityMonotonic(t *testing.T) {
	for _, set := range []Set{US, ISO} {
		last := map[unit.Celsius]unit.Amp{}
		for _, s := range SizesFor(set) {
			before := unit.Amp(0)
			for _, c := range []unit.Celsius{70, 75, 80, 90, 105, 125, 200} {
				a, err := AmpacityOf(set, Run{Size: s, Insulation: c})
				if err != nil {
					t.Fatal(err)
				}
				if a.Amps < before || a.Amps < last[c] {
					t.Errorf("%v %s at %v carries %v", set, s.Name(), c, a.Amps)
				}
				before, last[c] = a.Amps, a.Amps
			}
			hot := unit.Amp(math.Inf(1))
			for _, ambient := range []unit.Celsius{0, 30, 40, 50, 60, 80, 105, 120} {
				for _, n := range []int{0, 2, 3, 5, 10, 40} {
					open, _ := AmpacityOf(set, Run{Size: s, Insulation: 105, Ambient: ambient, Bundled: n})
					engine, _ := AmpacityOf(set, Run{Size: s, Insulation: 105, Ambient: ambient, Bundled: n, EngineSpace: true})
					if n == 0 && open.Amps > hot || engine.Amps > open.Amps && ambient <= 30 || open.Amps < 0 {
						t.Errorf("%v %s at %v, %d bundled: %v, engine space %v", set, s.Name(), ambient, n, open.Amps, engine.Amps)
					}
					if n == 0 {
						hot = open.Amps
					}
				}
			}
		}
	}
}

// Ambient factors of IEC 60364-5-52: PVC (70 °C) 40, 50, 60 °C 0.87, 0.71, 0.50;
// XLPE (90 °C) 0.91, 0.82, 0.71. Note 1 of Table 5 at 50 °C: 60 °C 0.58, 75 °C 0.75,
// 80 °C 0.78, 125 °C 0.89.
func TestAmbientFactor(t *testing.T) {
	for _, tt := range []struct {
		insulation, ambient unit.Celsius
		want                float64
	}{{70, 40, 0.87}, {70, 50, 0.71}, {70, 60, 0.50}, {90, 40, 0.91}, {90, 50, 0.82}, {90, 60, 0.71}, {60, 50, 0.58}, {75, 50, 0.75}, {80, 50, 0.78}, {125, 50, 0.89}, {105, 110, 0}} {
		if f, ok := AmbientFactor(tt.insulation, tt.ambient); !ok || math.Abs(f.Value-tt.want) > 0.006 {
			t.Errorf("%v at %v: %.4f, want %.2f", tt.insulation, tt.ambient, f.Value, tt.want)
		}
	}
	if _, ok := AmbientFactor(105, 30); ok {
		t.Error("30 °C is derated")
	}
	hot, _ := AmpacityOf(US, Run{Size: size(t, "10 AWG"), EngineSpace: true, Ambient: 80})
	if want := 60 * math.Sqrt(25.0/75); !near(float64(hot.Amps), want, 1e-9) || len(hot.Factors) != 1 {
		t.Errorf("engine space at 80 °C: %v, want %.3f by one factor", hot, want)
	}
}

// Rating against conductor: W34 and W35 of the worked examples (33 CFR 183.455(c))
// and the bands of the rules.
func TestSizing(t *testing.T) {
	tests := []struct {
		set              Set
		volts            unit.Volt
		rating, ampacity unit.Amp
		series           string
		want             Fit
	}{
		{US, 12, 60, 60, "blade", Fits}, {US, 12, 90, 60, "nec", Oversized}, {US, 12, 90.01, 60, "nec", Excessive}, {US, 12, 70, 60, "nec", Oversized},
		{US, 120, 45, 42, "nec", Fits}, {US, 120, 50, 42, "nec", Excessive}, {US, 12, 45, 42, "nec", Fits}, {US, 12, 50, 42, "nec", Oversized},
		{ISO, 12, 35, 35, "blade", Fits}, {ISO, 12, 40, 35, "blade", Excessive}, {US, 12, 40, 29.75, "blade", Oversized}, {US, 12, 30, 29.75, "blade", Fits},
		{US, 12, 300, 330, "class-t", Fits}, {US, 12, 350, 330, "class-t", Fits}, {US, 12, 400, 330, "class-t", Oversized},
	}
	for _, tt := range tests {
		if got := RatingFit(tt.set, tt.volts, tt.rating, tt.ampacity, tt.series); got != tt.want {
			t.Errorf("%v %v V: %v A on %v A is %v, want %v", tt.set, tt.volts, tt.rating, tt.ampacity, got, tt.want)
		}
	}
	if a, ok := LargestDevice(US, 12, 35.7, "blade"); !ok || a != 40 {
		t.Errorf("largest blade fuse on 35.7 A: %v", a)
	}
	if a, ok := LargestDevice(ISO, 12, 35.7, "blade"); !ok || a != 35 {
		t.Errorf("largest blade fuse on 35.7 A under iso: %v", a)
	}
	for _, r := range retyped(t, "electrical-ocpd-sizing-limits.csv") {
		var s Sizing
		switch r["clause"] {
		case "183.455(c)(1)":
			s = SizingLimit(US, 12)
		case "183.455(c)(2)":
			s = SizingLimit(US, 120)
		case "13.1.5":
			s = SizingLimit(ISO, 230)
		case "8":
			s = SizingLimit(ISO, 12)
		default:
			continue
		}
		if most := r.must("step_up_cap_pct"); !near(float64(s.Most)*100, most, 1e-12) {
			t.Errorf("%s %s: most %v, want %v %%", r["rule_set"], r["clause"], s.Most, most)
		}
	}
}

func TestStandardRatings(t *testing.T) {
	for _, r := range retyped(t, "standard_ratings.csv") {
		got, _, ok := StandardRatings(r["series"])
		want := strings.Fields(r["amps"])
		if !ok || len(got) != len(want) {
			t.Errorf("%s: %v", r["series"], got)
			continue
		}
		for i := range want {
			if got[i] != unit.Amp(mustFloat(want[i])) {
				t.Errorf("%s: %v, want %s", r["series"], got[i], want[i])
			}
		}
	}
	for _, r := range rows("standard_ratings") {
		list, _, _ := StandardRatings(r["series"])
		for i := 1; i < len(list); i++ {
			if list[i] <= list[i-1] {
				t.Errorf("%s does not rise at %v", r["series"], list[i])
			}
		}
		if f, ok := FuseFamily(r["series"]); ok && list[len(list)-1] > f.Most {
			t.Errorf("%s goes to %v, the family ends at %v", r["series"], list[len(list)-1], f.Most)
		}
	}
	if a, _, ok := NextStandardRating("nec", 42); !ok || a != 45 {
		t.Errorf("next NEC size above 42 A is %v", a)
	}
	if _, _, ok := NextStandardRating("blade", 101); ok {
		t.Error("a blade fuse over 100 A exists")
	}
}

func TestFuseFamilies(t *testing.T) {
	for _, r := range retyped(t, "fuse_families.csv") {
		f, ok := FuseFamily(r["family"])
		least, _, _ := strings.Cut(r["volts"], " or ")
		if !ok || f.Volts != unit.Volt(mustFloat(least)) {
			t.Errorf("%s: %v V, reference %s", r["family"], f.Volts, r["volts"])
		}
		if a, ok := f.Interrupt(12); !ok || a != unit.Amp(r.must("breaking")) {
			t.Errorf("%s breaks %v A, reference %s", r["family"], a, r["breaking"])
		}
	}
	terminal, _ := FuseFamily("terminal")
	for _, tt := range []struct {
		volts unit.Volt
		want  unit.Amp
	}{{14, 10000}, {14.6, 5000}, {32, 5000}, {58, 2000}} {
		if a, ok := terminal.Interrupt(tt.volts); !ok || a != tt.want {
			t.Errorf("terminal at %v: %v, want %v", tt.volts, a, tt.want)
		}
	}
	if _, ok := terminal.Interrupt(60); ok {
		t.Error("a terminal fuse breaks at 60 V")
	}
	strip, _ := FuseFamily("strip")
	if _, ok := strip.Interrupt(58.4); ok {
		t.Error("a 32 V strip fuse breaks at 58.4 V") // trap in the reference, section 5
	}
	glass, _ := FuseFamily("glass")
	if _, ok := glass.Interrupt(12); ok {
		t.Error("an AC rating of glass fuses is carried over to DC")
	}
	for _, word := range []string{"blade", "cartridge", "strip", "strip-48v", "single-bolt", "terminal", "class-t", "class-j", "glass"} {
		if _, ok := FuseFamily(word); !ok {
			t.Errorf("no family %s", word)
		}
	}
}

// W32 of the worked examples: 900 A cranking, main 3000 A, branch 1500 A; the edges
// of the E-11 table.
func TestInterruptNeeded(t *testing.T) {
	for _, tt := range []struct {
		cca          unit.Amp
		main, branch unit.Amp
	}{{900, 3000, 1500}, {650, 1500, 750}, {651, 3000, 1500}, {1100, 3000, 1500}, {1101, 5000, 2500}, {4000, 5000, 2500}} {
		m, _ := InterruptNeeded(tt.cca, true)
		b, _ := InterruptNeeded(tt.cca, false)
		if m != tt.main || b != tt.branch {
			t.Errorf("%v A cranking: %v, %v", tt.cca, m, b)
		}
	}
	if a, _ := InterruptNeededAC(30, true); a != 3000 {
		t.Errorf("AC 30 A: %v", a)
	}
}

// Published points of ISO 8820-3 and UL 248-14, and between and beyond them: time
// falls with current and the energy let through never grows.
func TestOpeningTime(t *testing.T) {
	for _, r := range retyped(t, "time_current.csv") {
		o, ok := OpeningTime(r["family"], 20, unit.Amp(20*r.must("multiple")))
		if !ok || !near(o.Latest.Seconds(), r.must("latest_s"), 1e-6) {
			t.Errorf("%s at %s: %v, want %s s", r["family"], r["multiple"], o.Latest, r["latest_s"])
		}
		if e, stated := r.num("earliest_s"); stated && !near(o.Earliest.Seconds(), e, 1e-6) {
			t.Errorf("%s at %s: not before %v, want %v s", r["family"], r["multiple"], o.Earliest, e)
		}
	}
	if o, ok := OpeningTime("blade", 20, 22); !ok || !o.Carries {
		t.Error("a blade fuse opens at 110 %")
	}
	last, energy := time.Duration(math.MaxInt64), math.Inf(1)
	for m := 1.35; m < 60; m *= 1.1 {
		o, _ := OpeningTime("blade", 20, unit.Amp(20*m))
		e := o.Latest.Seconds() * m * m
		if o.Latest > last || e > energy*(1+1e-5) || o.Earliest > o.Latest {
			t.Errorf("at %.2f times: %v after %v, energy %v after %v", m, o.Latest, last, e, energy)
		}
		last, energy = o.Latest, e
	}
	for _, family := range []string{"strip", "class-t", "terminal", "single-bolt", "cartridge", "class-j", "strip-48v"} {
		if HasCurve(family) {
			t.Errorf("%s has a curve that nobody published", family)
		}
	}
	if _, ok := OpeningTime("glass", 10, 200); ok {
		t.Error("glass is judged beyond its published points")
	}
}

func TestProtectionDistance(t *testing.T) {
	tests := []struct {
		set           Set
		from          Source
		sheathed      bool
		practice, law float64 // mm
	}{
		{US, OtherDC, false, 177.8, 177.8}, {US, OtherDC, true, 1016, 1016}, {US, BatteryTerminal, false, 177.8, 1828.8}, {US, BatteryTerminal, true, 1828.8, 1828.8},
		{US, ACSource, false, 177.8, 177.8}, {US, ACSource, true, 1016, 1016}, {US, ShoreInlet, false, 3048, 3048},
		{ISO, OtherDC, false, 200, 200}, {ISO, BatteryTerminal, false, 200, 200}, {ISO, ChargingSource, false, 1800, 1800}, {ISO, ACSource, false, 500, 500}, {ISO, ShoreInlet, false, 500, 500},
	}
	for _, tt := range tests {
		d := ProtectionDistance(tt.set, tt.from, tt.sheathed)
		if !near(float64(d.Practice)*1e3, tt.practice, 1e-9) || !near(float64(d.Law)*1e3, tt.law, 1e-9) {
			t.Errorf("%v %v sheathed %v: %v, law %v", tt.set, tt.from, tt.sheathed, d.Practice, d.Law)
		}
		if tt.set == ISO && ProtectionDistance(ISO, tt.from, true).Enclosed != true {
			t.Errorf("iso %v: an enclosed conductor has a limit", tt.from)
		}
	}
	// The reference's figures are among ours, to the millimetre it rounds to.
	for _, r := range retyped(t, "electrical-overcurrent-distances.csv") {
		mm, stated := r.num("max_mm")
		if !stated || mm == 0 || strings.HasPrefix(r["rule_set"], "ISO 13590") {
			continue
		}
		found := false
		for _, tt := range tests {
			found = found || math.Abs(tt.practice-mm) < 0.5 || math.Abs(tt.law-mm) < 0.5
		}
		if !found {
			t.Errorf("no distance of %v mm (%s %s)", mm, r["rule_set"], r["clause"])
		}
	}
}

// Conductor resistance: wires of the L-DC10 circuit and case C5 (closed form on
// the annealed copper standard), W36 (NBS), and the two published series beside it.
func TestCopper(t *testing.T) {
	for _, tt := range []struct {
		area   unit.SquareMM
		length unit.Metre
		at     unit.Celsius
		want   float64
	}{
		{35, 1.2, 25, 0.000602735508}, {35, 1.5, 25, 0.000753419385}, {10, 6.5, 30, 0.011647071345}, {2.5, 8, 30, 0.05733942816}, {16, 3, 20, 3.2326875e-3},
	} {
		if got := float64(Copper(tt.area, tt.length, tt.at)); !near(got, tt.want, 1e-9) {
			t.Errorf("%v of %v at %v: %.12g ohm, want %.12g", tt.length, tt.area, tt.at, got, tt.want)
		}
	}
	for _, r := range retyped(t, "resistance_awg.csv") {
		s := size(t, r["awg"]+" AWG")
		table, ok := AWGResistance(s.Gauge, 304.8, 20)
		if !ok || !near(float64(table), r.must("nbs_20c"), 1e-12) {
			t.Errorf("%s AWG: %v, want %s", r["awg"], table, r["nbs_20c"])
		}
		if got := float64(Copper(s.Area, 304.8, 20)); !near(got, r.must("nbs_20c"), 3e-4) {
			t.Errorf("%s AWG by area: %.5f ohm/1000 ft, NBS prints %s", r["awg"], got, r["nbs_20c"])
		}
		if !near(float64(s.Area), r.must("area_mm2"), 6e-4) {
			t.Errorf("%s AWG: %v mm², want %s", r["awg"], s.Area, r["area_mm2"])
		}
		if want, ok := r.num("sae_mm2"); ok {
			if sae := size(t, r["awg"]+" SAE"); math.Abs(float64(sae.Area)-want) > 0.0051 {
				t.Errorf("%s SAE: %.3f mm², want %v", r["awg"], sae.Area, want)
			}
		}
		// NEC chapter 9 table 8 at 75 °C allows 2 % for lay.
		if got := float64(Copper(s.Area, 304.8, 75)); !near(got*1.02, r.must("nec_75c"), 0.01) {
			t.Errorf("%s AWG at 75 °C: %.4f, NEC prints %s", r["awg"], got*1.02, r["nec_75c"])
		}
	}
	for _, r := range retyped(t, "resistance_iec60228.csv") {
		for class, column := range []string{"class2", "class5", "class5_tinned"} {
			got, ok := IEC60228(unit.SquareMM(r.must("mm2")), Stranding(class), 1000, 20)
			if !ok || !near(float64(got), r.must(column), 1e-12) {
				t.Errorf("%s mm² %s: %v", r["mm2"], column, got)
			}
			if float64(got) < 0.95*float64(Copper(unit.SquareMM(r.must("mm2")), 1000, 20)) {
				t.Errorf("%s mm² %s: less than ideal copper", r["mm2"], column)
			}
		}
	}
}

// Published temperature factors (both columns), and the identity with (234.5+T)/254.5.
func TestCopperRise(t *testing.T) {
	for _, r := range retyped(t, "electrical-copper-temperature.csv") {
		at := r.must("temp_c")
		got := CopperRise(unit.Celsius(at))
		if math.Abs(got-r.must("factor_on_r20_alpha_0.00393")) > 6e-5 {
			t.Errorf("%v °C: %.5f", at, got)
		}
		if !near(1/got, r.must("published_kt_iec60228_r20_over_rt"), 0.005) {
			t.Errorf("%v °C: Kt %.4f, IEC 60228 prints %s", at, 1/got, r["published_kt_iec60228_r20_over_rt"])
		}
		if !near(got, (234.5+at)/254.5, 1e-4) {
			t.Errorf("%v °C: %.5f is not on the line", at, got)
		}
	}
}

// k of IEC 60364-4-43 for copper: 115 from 70 to 160 °C, 143 from 90 to 250 °C, by
// the adiabatic form; and t = (kS/I)² in numbers: 10 mm², 143, 1000 A gives 2.045 s.
func TestShortTime(t *testing.T) {
	for _, tt := range []struct {
		insulation, end unit.Celsius
		k               float64
	}{{70, 160, 115}, {90, 250, 143}} {
		k, _ := ShortTimeFactor(tt.insulation)
		if k != tt.k || math.Abs(ShortTimeFactorBetween(tt.insulation, tt.end)-tt.k) > 0.6 {
			t.Errorf("%v: k %v, closed form %.2f", tt.insulation, k, ShortTimeFactorBetween(tt.insulation, tt.end))
		}
	}
	if got := ShortTimeLimit(10, 90, 1000).Seconds(); !near(got, 2.0449, 1e-6) {
		t.Errorf("10 mm² at 1000 A: %v s", got)
	}
	if ShortTimeLimit(10, 90, 0) != math.MaxInt64 || ShortTimeLimit(100, 90, 0.001) != math.MaxInt64 {
		t.Error("a conductor without current reaches its limit")
	}
}

func TestMinimumAndGrounding(t *testing.T) {
	for _, tt := range []struct {
		set    Set
		sheath bool
		length unit.Metre
		size   string
		meets  bool
	}{
		{US, false, 1, "16 AWG", true}, {US, false, 1, "18 AWG", false}, {US, true, 1, "18 AWG", true}, {US, true, 1, "18 SAE", false}, {US, false, 1, "1.5 mm2", true}, {US, false, 1, "1 mm2", false},
		{ISO, false, 1, "1 mm2", true}, {ISO, false, 1, "0.75 mm2", false}, {ISO, true, 1, "0.75 mm2", true}, {ISO, false, 0.2, "0.75 mm2", true}, {ISO, false, 1, "16 AWG", true},
	} {
		if got := MinimumConductor(tt.set, tt.sheath, tt.length).Meets(size(t, tt.size)); got != tt.meets {
			t.Errorf("%v %s sheath %v: %v", tt.set, tt.size, tt.sheath, got)
		}
	}
	for _, tt := range []struct {
		use            GroundingUse
		positive, want string
	}{
		{EquipmentGround, "10 AWG", "12 AWG"}, {EquipmentGround, "16 AWG", "16 AWG"}, {EquipmentGround, "4 mm2", "2.5 mm²"}, {EquipmentGround, "1.5 mm2", "16 AWG"},
		{ChargerCase, "2/0 AWG", "1/0 AWG"}, {ChargerCase, "1/0 SAE", "1 SAE"}, {ChargerCase, "2 SAE", "4 SAE"}, {BondingConductor, "10 AWG", "8 AWG"}, {LightningConductor, "10 AWG", "4 AWG"},
	} {
		if got := GroundingConductor(tt.use, size(t, tt.positive)); got.Size.Name() != tt.want {
			t.Errorf("use %v beside %s: %s, want %s", tt.use, tt.positive, got.Size.Name(), tt.want)
		}
	}
}

// Voltage drop classes of E-11 and ISO 10133, by the reference table's circuits.
func TestDropLimit(t *testing.T) {
	kinds := map[string][3]string{
		"panelboard or switchboard main feeder": {"panel"}, "panel or switchboard main conductor": {"panel"}, "bilge blower": {"fan"}, "electronic equipment": {"electronics"},
		"navigation light": {"light", "", "nav"}, "bilge pump": {"pump", "bilge"}, "cabin lighting and other non-critical": {"light"}, "any other circuit": {"windlass"},
	}
	for _, r := range retyped(t, "electrical-voltage-drop-limits.csv") {
		k, ok := kinds[r["circuit"]]
		if !ok || r["rule_set"] != "E-11" && r["rule_set"] != "ISO 10133" {
			continue
		}
		set := US
		if r["rule_set"] != "E-11" {
			set = ISO
		}
		if got, _ := DropLimit(set, k[0], k[1], k[2] != ""); !near(float64(got)*100, r.must("limit_pct"), 1e-12) {
			t.Errorf("%v %s: %v, want %s %%", set, r["circuit"], got, r["limit_pct"])
		}
	}
}

// Battery figures of the reference at its 12 V 100 Ah, and scaled by series and
// parallel: two in series double the resistance, two in parallel halve it.
func TestChemistry(t *testing.T) {
	for _, word := range []string{"flooded", "agm", "gel", "lfp"} {
		c, ok := ChemistryOf(word)
		if !ok {
			t.Fatalf("no chemistry %s", word)
		}
		v := unit.Volt(12)
		if word == "lfp" {
			v = 12.8
		}
		low, mid, high := c.Resistance(v, 100)
		if !near(float64(low), c.Ohms12.Low, 1e-12) || !near(float64(high), c.Ohms12.High, 1e-12) || low > mid || mid > high {
			t.Errorf("%s: %v, %v, %v", word, low, mid, high)
		}
		if l2, _, _ := c.Resistance(2*v, 100); !near(float64(l2), 2*float64(low), 1e-9) {
			t.Errorf("%s at %v: %v", word, 2*v, l2)
		}
		if l2, _, _ := c.Resistance(v, 200); !near(float64(l2), float64(low)/2, 1e-9) {
			t.Errorf("%s of 200 Ah: %v", word, l2)
		}
		before := unit.Volt(0)
		for s := 0.0; s <= 1.0001; s += 0.05 {
			e := c.OpenCircuit(v, unit.Ratio(s))
			if e < before {
				t.Errorf("%s rests at %v with %.0f %%, below less charge", word, e, 100*s)
			}
			if back := c.ChargeAt(v, e); math.Abs(float64(back)-s) > 1e-6 && s <= 1 {
				t.Errorf("%s: %v tells of %v, not %.2f", word, e, back, s)
			}
			before = e
		}
		if c.Usable <= 0 || c.Coulombic.High > 1 || c.Peukert.Low < 1 || c.Absorption.Low < c.Float.Low {
			t.Errorf("%s: %+v", word, c)
		}
	}
	for _, r := range retyped(t, "battery_ocv.csv") {
		c, _ := ChemistryOf(r["chemistry"])
		v := unit.Volt(12)
		if !c.Lead() {
			v = 12.8
		}
		if got := float64(c.OpenCircuit(v, unit.Ratio(r.must("soc_pct")/100))); got < r.must("low_v")-1e-9 || got > r.must("high_v")+1e-9 {
			t.Errorf("%s at %s %%: %.3f V outside the published span", r["chemistry"], r["soc_pct"], got)
		}
	}
	// 16 lfp cells charge at 58.4 V (reference, section 5).
	lfp, _ := ChemistryOf("lfp")
	if v, _ := lfp.Highest(51.2); !near(float64(v), 58.4, 1e-9) {
		t.Errorf("51.2 V lfp charges at %v", v)
	}
	for _, tt := range []struct {
		word  string
		volts unit.Volt
		cells int
	}{{"agm", 6, 3}, {"agm", 2, 1}, {"agm", 8, 4}, {"agm", 12, 6}, {"agm", 12.8, 6}, {"agm", 24, 12}, {"agm", 36, 18}, {"agm", 48, 24}, {"lfp", 12.8, 4}, {"lfp", 24, 8}, {"lfp", 25.6, 8}, {"lfp", 51.2, 16}, {"lfp", 12, 4}} {
		c, _ := ChemistryOf(tt.word)
		if got := c.Cells(tt.volts); got != tt.cells {
			t.Errorf("%s of %v has %d cells, want %d", tt.word, tt.volts, got, tt.cells)
		}
	}
	// 800 A cranking gives 6.75 mΩ cold (reference, section 6, prints 6.8).
	if cold, warm, _ := CrankingResistance(12, 800); !near(float64(cold), 0.00675, 1e-9) || warm*2 != cold {
		t.Errorf("800 A cranking: %v, %v", cold, warm)
	}
}

func TestColour(t *testing.T) {
	for _, tt := range []struct {
		set    Set
		role   Role
		colour string
		want   ColourVerdict
	}{
		{US, DCPositive, "red", ColourListed}, {US, DCPositive, "RD", ColourListed}, {US, DCPositive, "black", ColourReserved}, {US, DCPositive, "Orange", ColourListed}, {US, DCPositive, "yellow/red", ColourListed},
		{US, DCPositive, "white", ColourUnlisted}, {US, DCNegative, "yellow", ColourListed}, {US, DCNegative, "black", ColourListed}, {US, DCNegative, "red", ColourReserved}, {US, DCNegative, "green", ColourReserved},
		{US, Bonding, "green-yellow", ColourListed}, {US, Bonding, "yellow and green", ColourListed}, {US, DCPositive, "gray", ColourListed}, {US, DCPositive, "purple", ColourListed},
		{US, ACNeutral, "white", ColourListed}, {US, ACNeutral, "black", ColourReserved}, {US, ACLive, "black", ColourListed}, {ISO, ACLive, "brown", ColourListed}, {ISO, ACNeutral, "light blue", ColourListed},
		{ISO, ACNeutral, "green", ColourReserved}, {ISO, DCPositive, "orange", ColourUnlisted}, {ISO, DCNegative, "black", ColourListed}, {US, ACEarth, "GNYE", ColourListed},
	} {
		if got, _, _ := Colour(tt.set, tt.role, tt.colour); got != tt.want {
			t.Errorf("%v %v %q (%s): %v, want %v", tt.set, tt.role, tt.colour, ColourName(tt.colour), got, tt.want)
		}
	}
	for _, set := range []Set{US, ISO} {
		for role := DCPositive; role <= ACEarth; role++ {
			if v, _, _ := Colour(set, role, DefaultColour(set, role)); v != ColourListed {
				t.Errorf("%v %v: its own default %s is not listed", set, role, DefaultColour(set, role))
			}
		}
	}
}

// Defaults stay inside what the reference says of devices: 50 to 200 mV at rating.
func TestDeviceResistance(t *testing.T) {
	for _, d := range []struct{ kind, family string }{{"fuse", "blade"}, {"fuse", "class-t"}, {"breaker", "thermal"}, {"switch", ""}, {"relay", ""}, {"selector", ""}, {"shunt", ""}} {
		usual, least, cite := DeviceResistance(d.kind, d.family, 100, 0)
		if mv := float64(usual) * 100 * 1e3; mv < 50-1e-9 || mv > 200 || least > usual || cite.Status != Practice {
			t.Errorf("%s %s: %.0f mV at rating, %v", d.kind, d.family, mv, cite)
		}
	}
	if r, _, _ := DeviceResistance("shunt", "", 500, 0.05); !near(float64(r), 1e-4, 1e-12) {
		t.Errorf("a 500 A, 50 mV shunt has %v", r)
	}
	for _, kind := range []string{"bus", "block", "stud"} {
		if r, _, _ := DeviceResistance(kind, "", 100, 0); r != 0 {
			t.Errorf("%s has %v", kind, r)
		}
	}
}

func TestCite(t *testing.T) {
	for _, tt := range []struct {
		c    Cite
		want string
	}{{Cite{"33 CFR 183.455(b)", Law}, "33 CFR 183.455(b)"}, {Cite{"ISO 10133", Memory}, "ISO 10133 (from memory)"}, {Cite{"bilge margin", Practice}, "bilge margin (common practice, no source)"}} {
		if tt.c.String() != tt.want {
			t.Errorf("%q, want %q", tt.c, tt.want)
		}
	}
}
