package survey_test

import (
	"fmt"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/validate/survey"
)

// acOf is the current of an AC conductor in a state, and what is missing for it.
func acOf(t *testing.T, s *survey.Survey, st *survey.ACState, wire string) (float64, string) {
	t.Helper()
	for _, w := range s.Boat.Wires {
		if w.ID == wire {
			x, missing := st.Edge(s.Net.WireEdge[w])
			return float64(x.Amps), missing
		}
	}
	t.Fatalf("no wire %s", wire)
	return 0, ""
}

func acDrop(t *testing.T, st *survey.ACState, part string) (survey.Drop, string) {
	t.Helper()
	for _, f := range st.Feeds {
		for _, l := range f.Loads {
			if l.Part.ID == part {
				return st.Drop(f, l, nil)
			}
		}
	}
	t.Fatalf("%s is not fed", part)
	return survey.Drop{}, ""
}

// TestACTree holds a radial mains system against I = P / (V · power factor) and
// Kirchhoff's law at the panel, worked by hand.
func TestACTree(t *testing.T) {
	s := surveyOf(t, `
fitout: 1
parts:
  SI1: {kind: shore-inlet, volts: 230 V, rating: 32 A}
  RC1: {kind: rcd, rating: 32 A, trip: 30 mA, resistance: 0 ohm}
  AP1: {kind: ac-panel, poles: 2, ways: {1: {rating: 16 A}, 2: {rating: 16 A}, 3: {rating: 10 A}}}
  HT1: {kind: ac-load, power: 2.3 kW}
  MO1: {kind: ac-load, power: 1.84 kW, power-factor: 0.8}
  LT1: {kind: ac-load, draw: 0.5 A, count: 4}
wires:
  - {id: 70, path: [SI1, RC1, AP1], cable: 3 core 6 mm2, lengths: [0.4 m, 2 m], resistances: [0 ohm, 0.05 ohm]}
  - {id: 71, from: AP1.1, to: HT1, cable: 3 core 2.5 mm2, resistance: 0.1 ohm}
  - {id: 72, from: AP1.2, to: MO1, cable: 3 core 2.5 mm2, length: 4 m}
  - {id: 73, from: AP1.3, to: LT1, cable: 3 core 1.5 mm2}
conditions:
  dock: {shore: yes, running: [HT1, MO1, LT1]}
`)
	st := s.AC(condition(t, s, "dock"))
	for wire, want := range map[string]float64{"71.L": 10, "71.N": 10, "72.L": 10, "73.L": 2, "70a.L": 22, "70b.N": 22} {
		got, missing := acOf(t, s, st, wire)
		if missing != "" {
			t.Errorf("%s: %s is missing, and no current depends on it", wire, missing)
		}
		within(t, wire, got, want, 1e-6)
	}
	// Two cores of the feeder at 22 A, two of the branch at 10 A; a breaker's own
	// resistance is its default: it is taken off.
	d, missing := acDrop(t, st, "HT1")
	if missing != "" || d.Panel == nil || d.Panel.ID != "AP1" || d.Source.ID != "SI1" {
		t.Fatalf("drop of HT1: %+v, missing %q", d, missing)
	}
	within(t, "from the source, less from the panel", float64(d.Volts-d.FromPanel), 2*0.05*22, 1e-6)
	if own := float64(d.FromPanel); own < 2*0.1*10 || own > 2*0.1*10+0.5 {
		t.Errorf("from the panel: %g V, want 2 V and two contacts of its breaker", own)
	}
	if _, missing := acDrop(t, st, "LT1"); missing != "length of wire 73" {
		t.Errorf("drop of LT1: missing %q", missing)
	}
}

// TestACTwoWire is the two-wire drop P-E12 of the outside checks: 100 ft of 16 AWG
// at 4.99 ohm per 1000 ft each way, 4 A, 24 V: 3.992 V.
func TestACTwoWire(t *testing.T) {
	s := surveyOf(t, `
fitout: 1
parts:
  SI1: {kind: shore-inlet, volts: 24 V, rating: 16 A}
  HT1: {kind: ac-load, draw: 4 A}
wires:
  - {id: 70, path: [SI1, HT1], cable: 3 core 16 AWG, length: 100 ft, resistance: 0.499 ohm}
conditions:
  dock: {shore: yes, running: [HT1]}
`)
	d, _ := acDrop(t, s.AC(condition(t, s, "dock")), "HT1")
	within(t, "drop", float64(d.Volts), 3.992, 1e-9)
}

// TestACParallel: two cables between the same bars share by their conductances; an
// unknown length in one of them hides the share, and not the sum.
func TestACParallel(t *testing.T) {
	text := `
fitout: 1
parts:
  SI1: {kind: shore-inlet, volts: 230 V, rating: 32 A}
  RC1: {kind: rcd, rating: 32 A, trip: 30 mA}
  RC2: {kind: rcd, rating: 32 A, trip: 30 mA}
  HT1: {kind: ac-load, power: 4600 W}
wires:
  - {id: 70, path: [SI1, RC1], cable: 3 core 6 mm2, length: 1 m}
  - {id: 71, from: RC1.out, to: RC2.in, cable: 3 core 6 mm2, resistance: 0.01 ohm}
  - {id: 72, from: RC1.out, to: RC2.in, cable: 3 core 6 mm2, resistance: 0.03 ohm}
  - {id: 73, from: RC2.out, to: HT1, cable: 3 core 6 mm2, length: 1 m}
conditions:
  dock: {shore: yes, running: [HT1]}
`
	text = strings.Replace(text, "path: [SI1, RC1]", "from: SI1, to: RC1.in", 1)
	s := surveyOf(t, text)
	st := s.AC(condition(t, s, "dock"))
	for wire, want := range map[string]float64{"70.L": 20, "71.L": 15, "72.L": 5, "73.L": 20} {
		got, _ := acOf(t, s, st, wire)
		within(t, wire, got, want, 1e-6)
	}
	s = surveyOf(t, strings.Replace(text, "cable: 3 core 6 mm2, resistance: 0.03 ohm", "cable: 3 core 6 mm2", 1))
	st = s.AC(condition(t, s, "dock"))
	if _, missing := acOf(t, s, st, "71.L"); missing != "length of wire 72" {
		t.Errorf("wire 71: missing %q", missing)
	}
	got, missing := acOf(t, s, st, "73.L")
	if missing != "" {
		t.Errorf("wire 73: missing %q", missing)
	}
	within(t, "wire 73", got, 20, 1e-6)
}

// TestACSources: the selector says which source a load hangs on, an inverter and
// charger passes what is joined to its input and charges from it, and a transformer
// passes its load at its efficiency. The charger: 60 A · 28.8 V / 0.9 / 120 V = 16 A.
func TestACSources(t *testing.T) {
	s := surveyOf(t, `
fitout: 1
parts:
  B1: {kind: battery, volts: 24 V, chemistry: agm, capacity: 400 Ah, emf: 25.6 V, resistance: 4 mohm}
  SI1: {kind: shore-inlet, volts: 240 V, rating: 30 A}
  T1: {kind: transformer, in-volts: 240 V, volts: 120 V, power: 6 kW, efficiency: 96 %, neutral-bond: always}
  G1: {kind: generator, volts: 120 V, power: 5 kW, neutral-bond: always}
  S1: {kind: selector-ac, rating: 60 A}
  IC1: {kind: inverter-charger, in-volts: 24 V, volts: 120 V, power: 3000 W, output: 60 A, charge-volts: 28.8 V, neutral-bond: inverting}
  HT1: {kind: ac-load, power: 960 W}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 200 A}, IC1.+], size: 3/0 AWG, lengths: [0.15 m, 1.5 m]}
  - {id: 2, from: IC1.-, to: B1.-, size: 3/0 AWG, length: 1.6 m}
  - {id: 70, path: [SI1, T1], cable: 3 core 6 AWG, length: 0.4 m}
  - {id: 71, from: T1.out, to: S1.1, cable: 3 core 6 AWG, length: 1 m}
  - {id: 72, from: G1, to: S1.2, cable: 3 core 6 AWG, length: 1 m}
  - {id: 73, path: [S1, IC1, HT1], cable: 3 core 6 AWG, lengths: [1 m, 3 m]}
conditions:
  dock: {shore: yes, running: [HT1]}
  sea: {running: [HT1, G1], positions: {S1: 2}}
  sail: {running: [HT1]}
`)
	check := func(cond string, want map[string]float64) {
		t.Helper()
		st := s.AC(condition(t, s, cond))
		for wire, a := range want {
			got, _ := acOf(t, s, st, wire)
			within(t, cond+" "+wire, got, a, 1e-6)
		}
	}
	const charge = 60 * 28.8 / 0.9 / 120
	check("dock", map[string]float64{"73b.L": 8, "73a.L": 8 + charge, "71.L": 8 + charge, "72.L": 0, "70.L": (8 + charge) * 120 / 0.96 / 240})
	check("sea", map[string]float64{"73b.L": 8, "72.L": 8 + charge, "71.L": 0, "70.L": 0})
	check("sail", map[string]float64{"73b.L": 8, "73a.L": 0, "72.L": 0})
	if s.AC((*schema.Condition)(nil)) != nil {
		t.Error("no condition has a state")
	}
}

// TestACManySelectors: where there are more selectors than combinations are tried
// of, each is still moved on its own, and no load behind one is passed over.
func TestACManySelectors(t *testing.T) {
	const most = 9
	var b strings.Builder
	b.WriteString("fitout: 1\nparts:\n  SI1: {kind: shore-inlet, volts: 230 V, rating: 16 A}\n")
	for k := range most {
		fmt.Fprintf(&b, "  S%[1]d: {kind: selector-ac, rating: 16 A}\n  HT%[1]d: {kind: ac-load, power: %[2]d W}\n", k+1, 230*(k+1))
	}
	b.WriteString("wires:\n")
	for k := range most {
		fmt.Fprintf(&b, "  - {id: %[1]d, from: SI1, to: S%[1]d.2, cable: 3 core 2.5 mm2, length: 1 m}\n  - {id: %[2]d, path: [S%[1]d, HT%[1]d], cable: 3 core 2.5 mm2, length: 1 m}\n", k+1, k+51)
	}
	s := surveyOf(t, b.String())
	found := map[string]float64{}
	for _, st := range s.ACAlone() {
		for _, f := range st.Feeds {
			for _, l := range f.Loads {
				found[l.Part.ID] = max(found[l.Part.ID], float64(l.Amps))
			}
		}
	}
	for k := range most {
		within(t, fmt.Sprintf("HT%d", k+1), found[fmt.Sprintf("HT%d", k+1)], float64(k+1), 1e-9)
	}
}
