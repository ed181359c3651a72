package survey_test

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/boattest"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

func surveyOf(t testing.TB, text string) *survey.Survey {
	t.Helper()
	return survey.Of(boattest.Read(t, text))
}

func within(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > tolerance {
		t.Errorf("%s: %.10g, want %.10g ± %g", what, got, want, tolerance)
	}
}

// TestLDC10 holds the boat of the ten-node circuit against the figures printed in
// the outside checks (section 1, L-DC10), to all their digits.
func TestLDC10(t *testing.T) {
	text, err := os.ReadFile("../../testdata/boats/l-dc10.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s := surveyOf(t, string(text))
	d := s.DC(condition(t, s, "on"))
	for _, v := range []struct {
		part, terminal string
		volts          float64
	}{
		{"B1", "+", 12.63844188}, {"B2", "+", 12.59875295}, {"F1", "out", 12.6283445}, {"PB", "", 12.6040003},
		{"CB1", "out", 12.55387526}, {"L1", "+", 12.2619703}, {"L1", "-", 0.2919049564}, {"CB2", "out", 12.58082649}, {"L2", "+", 12.35936434},
	} {
		got, ok := d.Volts(s.Boat.Part(v.part), v.terminal)
		if !ok {
			t.Errorf("%s.%s has no volts", v.part, v.terminal)
		}
		within(t, v.part+"."+v.terminal, float64(got), v.volts, 2e-8)
	}
	amps := map[string]float64{"W1": 40.38952883, "W2": -6.964707651, "W3P": 25.06251982, "W3N": 25.06251982, "W4P": 3.862301356}
	for _, w := range s.Boat.Wires {
		if want, ok := amps[w.ID]; ok {
			got, _ := d.Amps(w)
			within(t, w.ID, float64(got), want, 2e-8)
		}
	}
	// Its table of prospective currents leaves out nothing but loads: here too.
	for _, f := range []struct {
		device string
		amps   float64
	}{{"F1", 3200}, {"CB1", 4256.32822}, {"CB2", 4256.32822}} {
		for i := range s.Net.Edges {
			if e := &s.Net.Edges[i]; e.Part != nil && e.Part.ID == f.device && e.Type == trace.Device {
				within(t, "short at "+f.device, float64(s.FaultAt(i).Amps), f.amps, 2e-5)
			}
		}
	}
}

// TestBalance: in every example and condition power supplied equals power used to
// a millionth (energy is conserved), and currents add up to nothing at each joint.
func TestBalance(t *testing.T) {
	for _, name := range []string{"dayboat", "cruiser", "yacht", "workboat", "tired"} {
		s := survey.Of(boattest.ReadFile(t, "../../examples/"+name+".yaml"))
		for _, c := range s.Conditions() {
			d := s.DC(c)
			if !d.Bounded() {
				t.Errorf("%s %s: no solution: %v", name, c.ID, d.Trouble)
				continue
			}
			share, residual, worst := d.Balance()
			if share > 1e-6 || float64(residual) > 1e-6 {
				t.Errorf("%s %s: power off by %g, currents by %g A at %s", name, c.ID, share, float64(residual), worst)
			}
		}
	}
}

const plainBoat = `
fitout: 1
parts:
  B1: {kind: battery, volts: 12 V, emf: 12.8 V, resistance: %s}
  PB: {kind: bus, rating: 200 A, polarity: positive}
  NB: {kind: bus, rating: 200 A, polarity: negative}
  L1: {kind: load, draw: 20 A}
  L2: {kind: light, draw: 5 A}
wires:
  - {id: 1, path: [B1.+, {F1: {kind: fuse, family: class-t, rating: 80 A, resistance: 0 ohm}}, PB], size: 16 mm2, lengths: [%s, %s]}
  - {id: 2, from: NB, to: B1.-, size: 16 mm2, length: %s}
circuits:
  - {id: C1, feed: PB, load: L1, return: NB, size: 6 mm2, length: %s}
  - {id: C2, feed: PB, load: L2, return: NB, size: 2.5 mm2, length: %s}
conditions:
  on: {running: [L1, L2]}
`

// TestDoubledLengths: with constant-current loads and resistance in the wires
// alone, twice the length is twice the drop, exactly (Ohm's law).
func TestDoubledLengths(t *testing.T) {
	drops := func(k float64) []float64 {
		m := func(x float64) string { return fmt.Sprintf("%g m", k*x) }
		s := surveyOf(t, fmt.Sprintf(plainBoat, "0.001 mohm", m(0.2), m(1.5), m(2), m(4), m(7)))
		d := s.DC(condition(t, s, "on"))
		var out []float64
		for _, l := range d.Loads {
			x, ok := d.DropTo(l.Edge)
			if !ok {
				t.Fatalf("no drop to %s", l.Part.ID)
			}
			out = append(out, float64(x.Volts))
		}
		return out
	}
	one, two := drops(1), drops(2)
	for i := range one {
		within(t, "drop doubled", two[i], 2*one[i], 1e-12)
	}
}

// TestDropsNeverFall: on the examples, conductors twice as long never lose less
// on the way to a load that takes what it takes at any voltage.
func TestDropsNeverFall(t *testing.T) {
	for _, name := range []string{"dayboat", "cruiser", "workboat"} {
		short, long := boattest.ReadFile(t, "../../examples/"+name+".yaml"), boattest.ReadFile(t, "../../examples/"+name+".yaml")
		for _, w := range long.Wires {
			w.Length.V *= 2
		}
		a, b := survey.Of(short), survey.Of(long)
		for k, c := range a.Conditions() {
			da, db := a.DC(c), b.DC(b.Conditions()[k])
			if !da.Solved() || !db.Solved() || len(da.Sources) > 0 {
				continue
			}
			for i, l := range da.Loads {
				x, ok := da.DropTo(l.Edge)
				y, ok2 := db.DropTo(db.Loads[i].Edge)
				if ok && ok2 && l.Runs && y.Volts < x.Volts-1e-9 {
					t.Errorf("%s %s: %s loses %v, with doubled wires %v", name, c.ID, l.Part.ID, x.Volts, y.Volts)
				}
			}
		}
	}
}

// figures are all volts and amperes of a boat in one condition, by name.
func figures(t *testing.T, s *survey.Survey, id string) map[string]float64 {
	d := s.DC(condition(t, s, id))
	if !d.Solved() {
		t.Fatalf("no solution: %v %v", d.Trouble, d.Missing)
	}
	out := map[string]float64{}
	for _, p := range s.Boat.Parts {
		for _, term := range p.Terminals() {
			if v, ok := d.Volts(p, term.Name); ok {
				out[p.ID+"."+term.Name] = float64(v)
			}
		}
	}
	for _, w := range s.Boat.Wires {
		if a, ok := d.Amps(w); ok {
			out["wire "+w.ID] = float64(a)
		}
	}
	return out
}

// TestMetricAndImperial: the same boat in metres and in feet.
func TestMetricAndImperial(t *testing.T) {
	metric := fmt.Sprintf(plainBoat, "4 mohm", "0.3048 m", "1.8288 m", "2.1336 m", "3.048 m", "6.7056 m")
	imperial := fmt.Sprintf(plainBoat, "0.004 ohm", "12 in", "6 ft", "7 ft", "10 ft", "22 ft")
	a, b := figures(t, surveyOf(t, metric), "on"), figures(t, surveyOf(t, imperial), "on")
	for name, x := range a {
		within(t, name, b[name], x, 1e-9)
	}
}

// TestOrderDoesNotMatter: the figures are the same when parts and wires stand in
// the opposite order.
func TestOrderDoesNotMatter(t *testing.T) {
	text := fmt.Sprintf(plainBoat, "4 mohm", "0.2 m", "1.5 m", "2 m", "4 m", "7 m")
	lines := strings.Split(text, "\n")
	flip := func(head, indent string) {
		i := slices.Index(lines, head) + 1
		j := i
		for j < len(lines) && strings.HasPrefix(lines[j], indent) {
			j++
		}
		slices.Reverse(lines[i:j])
	}
	flip("parts:", "  ")
	flip("wires:", "  - ")
	flip("circuits:", "  - ")
	a, b := figures(t, surveyOf(t, text), "on"), figures(t, surveyOf(t, strings.Join(lines, "\n")), "on")
	for name, x := range a {
		within(t, name, b[name], x, 1e-9)
	}
}

// TestRunHours recomputes a run time by hand.
//
// AGM, 100 Ah at the 20 h rate, half usable, Peukert 1.2, one load of 10 A half
// the time: 5 A mean, which is the rated current, so T = C / I = 20 h; the usable
// half lasts 10 h. At 10 A: T = 20 h · (100 / (20 · 10))^1.2 = 20 · 0.5^1.2 =
// 20 · 0.4352752816 = 8.705505633 h (the published C7 figure), half of it
// 4.352752816 h. At 80 % charge only 30 % of the capacity is left above the floor:
// 0.3 · 8.705505633 = 2.611651690 h.
func TestRunHours(t *testing.T) {
	s := surveyOf(t, `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, usable: 50 %, peukert: 1.2, resistance: 4 mohm}
  L1: {kind: load, draw: 10 A}
wires:
  - {id: 1, path: [B1.+, {F1: {kind: fuse, family: class-t, rating: 20 A}}, L1.+], size: 6 mm2, lengths: [0.1 m, 1 m]}
  - {id: 2, from: L1.-, to: B1.-, size: 6 mm2, length: 1 m}
conditions:
  half: {hours: 8 h, running: [L1 50 %]}
  full: {hours: 8 h, running: [L1]}
  low:  {hours: 8 h, running: [L1], charge: 80 %, bank: B1}
`)
	b := s.Boat.Part("B1")
	for _, c := range []struct {
		id    string
		hours float64
	}{{"half", 10}, {"full", 4.3527528165}, {"low", 2.6116516899}} {
		h, ok := s.DC(condition(t, s, c.id)).Hours(b)
		if !ok {
			t.Errorf("%s: no hours", c.id)
		}
		within(t, c.id, float64(h), c.hours, 1e-8)
	}
	full, _ := s.DC(condition(t, s, "half")).BatteryAmps(b)
	within(t, "full draw", float64(full), 10, 1e-9)
}

// TestCabinUnitDraws: common practice, no source: a water-cooled cabin unit of
// about 7000 BTU/h (2.05 kW) with its pump draws 28 to 29 A at 12 V nominal.
func TestCabinUnitDraws(t *testing.T) {
	s := surveyOf(t, `
fitout: 1
parts:
  B1: {kind: battery, volts: 12 V, emf: 12.4 V, resistance: 2 mohm}
  AC1: {kind: aircon, supply: dc, volts: 12 V, capacity: 7000 BTU/h, draw: 315 W}
  P1: {kind: pump, duty: circulating, volts: 12 V, draw: 2.2 A}
  BN: {kind: bus, rating: 100 A, polarity: negative}
wires:
  - {id: 1, path: [B1.+, {F1: {kind: fuse, family: class-t, rating: 50 A}}, AC1.+], size: 16 mm2, lengths: [0.15 m, 6 m]}
  - {id: 2, from: AC1.-, to: BN, size: 16 mm2, length: 6 m}
  - {id: 3, path: [B1.+, {F2: {kind: fuse, family: class-t, rating: 10 A}}, P1.+], size: 4 mm2, lengths: [0.15 m, 5 m]}
  - {id: 4, from: P1.-, to: BN, size: 4 mm2, length: 5 m}
  - {id: 5, from: BN, to: B1.-, size: 25 mm2, length: 0.5 m}
conditions:
  cool: {running: [AC1, P1]}
`)
	a, ok := s.DC(condition(t, s, "cool")).BatteryAmps(s.Boat.Part("B1"))
	if !ok || a < 28 || a > 29 {
		t.Errorf("the unit and its pump draw %v: 28 to 29 A at 12 V nominal is common practice", a)
	}
}

// TestEightHours: common practice, no source: a 250 Ah lithium bank of which 90 %
// is used runs a load of 28 to 29 A for about eight hours.
func TestEightHours(t *testing.T) {
	s := surveyOf(t, `
fitout: 1
parts:
  B7: {kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 250 Ah, usable: 90 %, max-discharge: 200 A}
  L7: {kind: load, draw: 28.5 A}
wires:
  - {id: 1, path: [B7.+, {F1: {kind: fuse, family: class-t, rating: 60 A}}, L7.+], size: 10 mm2, lengths: [0.1 m, 2 m]}
  - {id: 2, from: L7.-, to: B7.-, size: 10 mm2, length: 2 m}
conditions:
  night: {hours: 8 h, running: [L7]}
`)
	h, ok := s.DC(condition(t, s, "night")).Hours(s.Boat.Part("B7"))
	if !ok || h < 7.4 || h > 8.6 {
		t.Errorf("it lasts %v; about eight hours is common practice", h)
	}
}

// TestAlternatorHolds: common practice, no source: an outboard-size alternator
// holds such a load at roughly 1000 rpm. By hand: 28.5 A of a curve from nothing at
// 1500 to 60 A at 4500 rpm of the shaft, straight between, is reached at
// 1500 + 3000 · 28.5/60 = 2925 rpm; at a ratio of 2.8 the engine turns 1044.64 rpm.
func TestAlternatorHolds(t *testing.T) {
	s := surveyOf(t, `
fitout: 1
parts:
  B1: {kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 200 Ah, resistance: 3 mohm}
  ALT1: {kind: alternator, volts: 14.4 V, ratio: 2.8, output: {1500 rpm: 0 A, 4500 rpm: 60 A}, self-limiting: yes}
  L1: {kind: load, draw: 28.5 A}
wires:
  - {id: 1, path: [B1.+, {F1: {kind: fuse, family: class-t, rating: 80 A}}, ALT1.+], size: 16 mm2, lengths: [0.15 m, 1.5 m]}
  - {id: 2, from: ALT1.-, to: B1.-, size: 16 mm2, length: 1.5 m}
  - {id: 3, path: [B1.+, {F2: {kind: fuse, family: class-t, rating: 40 A}}, L1.+], size: 10 mm2, lengths: [0.15 m, 1 m]}
  - {id: 4, from: L1.-, to: B1.-, size: 10 mm2, length: 1 m}
conditions:
  way: {running: [L1], engine: 800 rpm, holds: yes}
`)
	c := condition(t, s, "way")
	rpm, ok := s.HoldsAt(c)
	if !ok {
		t.Fatal("no speed holds it")
	}
	within(t, "engine speed", float64(rpm), 1500/2.8+3000*28.5/60/2.8, 0.05)
	if rpm < 800 || rpm > 1200 {
		t.Errorf("it holds from %v: roughly 1000 rpm is common practice", rpm)
	}
	// Below the first point of the curve the alternator gives nothing.
	d := s.DC(c)
	a, _ := d.BatteryAmps(s.Boat.Part("B1"))
	within(t, "at 800 rpm", float64(a), 28.5-60*(800*2.8-1500)/3000, 1e-6)
}

// TestConverterReflects: closed form C6 of the outside checks: 24 V stiff,
// efficiency 0.9, 12 V 20 A out: 240 / 0.9 / 24 = 11.11111111 A in.
func TestConverterReflects(t *testing.T) {
	s := surveyOf(t, `
fitout: 1
parts:
  B1: {kind: battery, volts: 24 V, emf: 24 V, resistance: 0 ohm}
  CV1: {kind: converter, in-volts: 24 V, volts: 12 V, output: 30 A, efficiency: 90 %}
  L1: {kind: load, volts: 12 V, draw: 20 A}
wires:
  - {id: 1, from: B1.+, to: CV1.in+, length: 0}
  - {id: 2, from: CV1.in-, to: B1.-, length: 0}
  - {id: 3, from: CV1.out+, to: L1.+, length: 0}
  - {id: 4, from: L1.-, to: CV1.out-, length: 0}
conditions:
  on: {running: [L1]}
`)
	a, ok := s.DC(condition(t, s, "on")).BatteryAmps(s.Boat.Part("B1"))
	if !ok {
		t.Fatal("no solution")
	}
	within(t, "input", float64(a), 240/0.9/24, 1e-8)
}

// TestConstantPowerRoots: C1 and C2 of the outside checks: 12 V behind 0.1 ohm
// gives 350 W at 7 V and 50 A, never at 5 V; 370 W has no solution.
func TestConstantPowerRoots(t *testing.T) {
	boat := func(watts string) *survey.DCState {
		s := surveyOf(t, `
fitout: 1
parts:
  B1: {kind: battery, volts: 12 V, emf: 12 V, resistance: 0.1 ohm}
  L1: {kind: heater, draw: `+watts+`}
wires:
  - {id: 1, from: B1.+, to: L1.+, length: 0}
  - {id: 2, from: L1.-, to: B1.-, length: 0}
conditions:
  on: {running: [L1]}
`)
		return s.DC(condition(t, s, "on"))
	}
	d := boat("350 W")
	v, ok := d.LoadVolts(d.Loads[0])
	if !ok {
		t.Fatal("350 W has a solution")
	}
	within(t, "volts", float64(v), 7, 1e-9)
	if d := boat("370 W"); d.Solved() || d.Trouble == nil || !strings.Contains(d.Trouble.String(), "L1") {
		t.Errorf("370 W has no solution, and that is to be said at L1: %v", d.Trouble)
	}
}

// TestMissingHidesNoMore: a conductor without a length hides the volts behind it
// and nothing else where it feeds a load of known current; it hides everything
// where current could take two ways.
func TestMissingHidesNoMore(t *testing.T) {
	text := fmt.Sprintf(plainBoat, "4 mohm", "0.2 m", "1.5 m", "2 m", "4 m", "7 m")
	s := surveyOf(t, strings.Replace(text, ", length: 7 m", "", 1))
	d := s.DC(condition(t, s, "on"))
	if !d.Solved() {
		t.Fatalf("the rest has a solution: %v", d.Missing)
	}
	if _, ok := d.Volts(s.Boat.Part("L2"), "+"); ok {
		t.Error("L2.+ has volts though its wire has no length")
	}
	if v, ok := d.Volts(s.Boat.Part("L1"), "+"); !ok || v < 11 {
		t.Error("L1.+ has none though its way is known")
	}
	found := false
	for _, g := range d.Missing {
		found = found || strings.HasPrefix(g.What, "length of wire C2")
	}
	if !found {
		t.Errorf("the length of C2 is not named: %v", d.Missing)
	}
	two := strings.Replace(text, "circuits:", "  - {id: 3, from: B1.+, to: PB, size: 16 mm2}\ncircuits:", 1)
	s = surveyOf(t, two)
	if d := s.DC(condition(t, s, "on")); d.Solved() || len(d.Missing) == 0 {
		t.Error("a second way of unknown length shares the current: nothing is known")
	}
}

// TestDrawNotStated: a load without a draw leaves currents that are too low: no
// figure is given out, and what is known for certain still is.
func TestDrawNotStated(t *testing.T) {
	text := strings.Replace(fmt.Sprintf(plainBoat, "4 mohm", "0.2 m", "1.5 m", "2 m", "4 m", "7 m"), "{kind: light, draw: 5 A}", "{kind: light}", 1)
	s := surveyOf(t, text)
	d := s.DC(condition(t, s, "on"))
	if d.Solved() || !d.Bounded() {
		t.Fatalf("solved %v, bounded %v", d.Solved(), d.Bounded())
	}
	if _, ok := d.BatteryAmps(s.Boat.Part("B1")); ok {
		t.Error("the battery's current is not known")
	}
	var w *schema.Wire
	for _, x := range s.Boat.Wires {
		if x.ID == "2" {
			w = x
		}
	}
	least, ok := d.LeastAmps(w)
	if !ok {
		t.Fatal("the least current is known")
	}
	within(t, "least", float64(least), 20, 1e-9)
}

// TestDayInAmpereHours: the day of C12 in the outside checks, loads alone: 136.8 Ah
// out of a bank at 12 V (refrigerator 5.0 A × 45 % × 24 h, lights 3.2 A × 5 h,
// pilot 6.5 A × 60 % × 8 h, instruments 1.4 A × 24 h, pump 8 A × 0.25 h).
func TestDayInAmpereHours(t *testing.T) {
	s := surveyOf(t, `
fitout: 1
parts:
  B1: {kind: battery, volts: 12 V, emf: 12.6 V, resistance: 4 mohm, capacity: 800 Ah, usable: 50 %, peukert: 1}
  NB: {kind: bus, rating: 100 A, polarity: negative}
  PB: {kind: bus, rating: 100 A, polarity: positive}
  FR1: {kind: load, draw: 5 A}
  LT1: {kind: load, draw: 3.2 A}
  PL1: {kind: load, draw: 6.5 A}
  IN1: {kind: load, draw: 1.4 A}
  P1: {kind: load, draw: 8 A}
wires:
  - {id: 1, path: [B1.+, {F1: {kind: fuse, family: class-t, rating: 40 A}}, PB], size: 10 mm2, lengths: [0.1 m, 1 m]}
  - {id: 2, from: NB, to: B1.-, size: 10 mm2, length: 1 m}
circuits:
  - {id: C1, feed: PB, load: FR1, return: NB, size: 4 mm2, length: 2 m}
  - {id: C2, feed: PB, load: LT1, return: NB, size: 4 mm2, length: 2 m}
  - {id: C3, feed: PB, load: PL1, return: NB, size: 4 mm2, length: 2 m}
  - {id: C4, feed: PB, load: IN1, return: NB, size: 4 mm2, length: 2 m}
  - {id: C5, feed: PB, load: P1, return: NB, size: 4 mm2, length: 2 m}
conditions:
  pilot: {running: [FR1 45 %, IN1, PL1 60 %]}
  lit:   {running: [FR1 45 %, IN1, LT1]}
  pump:  {running: [FR1 45 %, IN1, P1]}
  idle:  {running: [FR1 45 %, IN1]}
day: [{pilot: 8 h}, {lit: 5 h}, {pump: 15 min}, {idle: 10.75 h}]
`)
	books, missing, trouble := s.Day()
	if len(books) != 1 {
		t.Fatalf("no day: %v %v", missing, trouble)
	}
	within(t, "used", float64(books[0].Used), 136.8, 1e-6)
	within(t, "net", float64(books[0].Net()), -136.8, 1e-6)
	within(t, "end", float64(books[0].End), 1-136.8/800, 1e-6)
}

// TestSunOverTheDay: power × hours, once a day: 120 W of sun for 4 h in a day of
// two stretches of the condition gives 480 Wh less what the controller loses.
func TestSunOverTheDay(t *testing.T) {
	s := surveyOf(t, `
fitout: 1
parts:
  B1: {kind: battery, volts: 12 V, emf: 12 V, resistance: 0 ohm, capacity: 400 Ah, usable: 50 %, peukert: 1, charge: 40 %, charge-efficiency: 100 %}
  PV1: {kind: solar, power: 120 W, volts: 18 V}
  CC1: {kind: charge-controller, rating: 20 A, volts: 14.4 V, efficiency: 95 %}
wires:
  - {id: 1, from: PV1.+, to: CC1.pv+, size: 6 mm2, length: 3 m}
  - {id: 2, from: PV1.-, to: CC1.pv-, size: 6 mm2, length: 3 m}
  - {id: 3, from: CC1.+, to: B1.+, length: 0}
  - {id: 4, from: CC1.-, to: B1.-, length: 0}
conditions:
  calm: {sun: 4 h}
  dark: {}
day: [{calm: 6 h}, {dark: 12 h}, {calm: 6 h}]
`)
	books, missing, trouble := s.Day()
	if len(books) != 1 {
		t.Fatalf("no day: %v %v", missing, trouble)
	}
	within(t, "charged", float64(books[0].Charged), 120*4*0.95/12, 1e-6)
	d := s.DC(condition(t, s, "calm"))
	a, _ := d.BatteryAmps(s.Boat.Part("B1"))
	within(t, "full sun", float64(a), -120*0.95/12, 1e-9)
}

// TestShortAtFarEnd: closed form C5: 12.8 V, 5 mΩ, 2 × 3 m of 16 mm² at 20 °C:
// 1116.405 A; and C4, three batteries of 12.8 V and 5 mΩ on a bus: 7680 A.
func TestShortAtFarEnd(t *testing.T) {
	s := surveyOf(t, `
fitout: 1
parts:
  B1: {kind: battery, volts: 12 V, emf: 12.8 V, resistance: 5 mohm}
  L1: {kind: load, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, {F1: {kind: fuse, family: class-t, rating: 60 A, resistance: 0 ohm}}, L1.+], size: 16 mm2, lengths: [0 m, 3 m]}
  - {id: 2, from: L1.-, to: B1.-, size: 16 mm2, length: 3 m}
`)
	l := s.Boat.Part("L1")
	short, ok := s.ShortBetween(s.Net.Node(l, "+"), s.Net.Node(l, "-"))
	if !ok {
		t.Fatal("no short")
	}
	within(t, "far end", float64(short.Total()), 1116.405, 1e-3)
	if least := s.ShortAtLeast(s.Net.Node(l, "+"), s.Net.Node(l, "-")); least <= 0 || least > short.Total()*(1+1e-9) {
		t.Errorf("the quick bound %v is not below %v", least, short.Total())
	}
	s = surveyOf(t, `
fitout: 1
parts:
  B1: {kind: battery, volts: 12 V, emf: 12.8 V, resistance: 5 mohm}
  B2: {kind: battery, volts: 12 V, emf: 12.8 V, resistance: 5 mohm}
  B3: {kind: battery, volts: 12 V, emf: 12.8 V, resistance: 5 mohm}
  PB: {kind: bus, rating: 500 A}
  NB: {kind: bus, rating: 500 A, polarity: negative}
  L1: {kind: load, draw: 1 A}
wires:
  - {id: 1, from: B1.+, to: PB, length: 0}
  - {id: 2, from: B2.+, to: PB, length: 0}
  - {id: 3, from: B3.+, to: PB, length: 0}
  - {id: 4, from: B1.-, to: NB, length: 0}
  - {id: 5, from: B2.-, to: NB, length: 0}
  - {id: 6, from: B3.-, to: NB, length: 0}
  - {id: 7, path: [PB, {F1: {kind: fuse, family: class-t, rating: 60 A}}, L1.+], size: 16 mm2, lengths: [0 m, 3 m]}
  - {id: 8, from: L1.-, to: NB, size: 16 mm2, length: 3 m}
`)
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Type == trace.Device {
			x := s.FaultAt(i)
			within(t, "three on a bus", float64(x.Amps), 7680, 1e-6)
			if len(x.Shares) != 3 {
				t.Errorf("%d sources share, want 3", len(x.Shares))
			}
		}
	}
}

// TestLimitedShort: fed by limited sources alone the short is the sum of their
// limits, and they are named.
func TestLimitedShort(t *testing.T) {
	s := surveyOf(t, `
fitout: 1
parts:
  B1: {kind: battery, volts: 24 V, emf: 25 V, resistance: 5 mohm}
  CV1: {kind: converter, in-volts: 24 V, volts: 12 V, output: 30 A, isolated: yes}
  L1: {kind: load, volts: 12 V, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, {F0: {kind: fuse, family: class-t, rating: 40 A}}, CV1.in+], size: 10 mm2, lengths: [0.1 m, 1 m]}
  - {id: 2, from: CV1.in-, to: B1.-, size: 10 mm2, length: 1 m}
  - {id: 3, path: [CV1.out+, {F1: {kind: fuse, family: blade, rating: 10 A}}, L1.+], size: 4 mm2, lengths: [0.1 m, 1 m]}
  - {id: 4, from: L1.-, to: CV1.out-, size: 4 mm2, length: 1 m}
`)
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		if e.Type != trace.Device || e.Part.ID != "F1" {
			continue
		}
		x := s.FaultAt(i)
		within(t, "short", float64(x.Amps), 30, 1e-9)
		if len(x.LimitedBy) != 1 || x.LimitedBy[0].ID != "CV1" {
			t.Errorf("limited by %v", x.LimitedBy)
		}
	}
}

// TestLoadAnalysis: the demand of the examples adds up to what the mean solution
// takes where every load is of constant current.
func TestLoadAnalysis(t *testing.T) {
	s := survey.Of(boattest.ReadFile(t, "../../examples/dayboat.yaml"))
	a := s.LoadAnalysis()
	for k, c := range a.Conditions {
		m := s.DC(c).Mean()
		sum := unit.Amp(0)
		for _, b := range s.Batteries() {
			x, _ := m.BatteryAmps(b)
			sum += x
		}
		within(t, c.ID, float64(a.Totals[k].Mean), float64(sum), 1e-9)
	}
}

// TestChart: the way to a load with its devices from the source on, and a fault
// current that the far-end short confirms.
func TestChart(t *testing.T) {
	s := survey.Of(boattest.ReadFile(t, "../../examples/dayboat.yaml"))
	c, ok := s.Chart(s.Boat.Part("VHF1"))
	if !ok || len(c.Devices) != 2 || c.Devices[0].Name != "F1" || c.Devices[1].Name != "DP.3" {
		t.Fatalf("devices %+v", c.Devices)
	}
	// ISO 8820-3 blade, 10 A: within 5 s at twice the rating.
	if len(c.Devices[1].Latest) == 0 || c.Fault <= 0 || c.Load != 5 {
		t.Errorf("fault %v, load %v, curve of %d points", c.Fault, c.Load, len(c.Devices[1].Latest))
	}
}

// BenchmarkCondition solves one condition of an example, the boat read and its
// net built before.
func BenchmarkCondition(b *testing.B) {
	for _, name := range []string{"cruiser", "workboat", "yacht"} {
		boat := boattest.ReadFile(b, "../../examples/"+name+".yaml")
		s := survey.Of(boat)
		c := s.Conditions()[0]
		b.Run(fmt.Sprintf("%s (%d parts)", name, len(boat.Parts)), func(b *testing.B) {
			for b.Loop() {
				s.SolveAgain(c)
			}
		})
	}
}
