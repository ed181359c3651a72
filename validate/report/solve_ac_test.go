package report_test

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"fitout/schema/boattest"
	"fitout/validate/report"
	"fitout/validate/survey"
)

// TestSolveMains works a shore-power system by hand: a charger of 30 A at 14.4 V and
// 85 % takes 508.24 W, 2.2097 A of 230 V; a heater of 2 kW 8.6957 A; the transformer
// before them gives 10.9053 A and takes it at 95 %: 11.4793 A.
func TestSolveMains(t *testing.T) {
	f := report.Solved{Name: "boat.yaml", Condition: "dock", Survey: survey.Of(boattest.Read(t, `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  SI: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  AB: {kind: rcd, rating: 16 A, trip: 30 mA}
  TR: {kind: transformer, power: 3.6 kW, volts: 230 V, in-volts: 230 V, efficiency: 95 %, neutral-bond: always}
  AP: {kind: ac-panel, poles: 2, ways: {1: {rating: 10 A}, 2: {rating: 10 A}}}
  CH: {kind: charger, output: 30 A, volts: 14.4 V, efficiency: 85 %}
  HE: {kind: ac-load, power: 2 kW}
wires:
  - {id: 4, path: [B1.+, {F2: class-t 50 A}, CH.+], size: 10 mm2, lengths: [0.15 m, 1 m]}
  - {id: 5, from: CH.-, to: B1.-, size: 10 mm2, length: 1 m}
  - {id: 70, path: [SI, AB, TR], cable: 3 core 2.5 mm2, lengths: [0.4 m, 1 m]}
  - {id: 71, from: TR.out, to: AP, cable: 3 core 2.5 mm2, resistance: 0.02 ohm}
  - {id: 72, from: AP.1, to: CH, cable: 3 core 1.5 mm2, length: 2 m}
  - {id: 73, from: AP.2, to: HE, cable: 3 core 1.5 mm2}
conditions:
  dock: {shore: yes, running: [HE]}
`))}
	var b bytes.Buffer
	if err := report.SolveJSON(&b, []report.Solved{f}); err != nil {
		t.Fatal(err)
	}
	var out struct {
		Files []struct {
			Conditions []struct {
				Wires []struct {
					ID   string
					Amps *float64
					Drop *float64 `json:"drop_v"`
				}
				Protection []struct {
					Part string
					Amps *float64
				}
				Loads []struct {
					Part  string
					Amps  *float64
					Volts *float64
				}
			}
		}
	}
	if err := json.Unmarshal(b.Bytes(), &out); err != nil {
		t.Fatal(err)
	}
	c := out.Files[0].Conditions[0]
	const charger, heater = 30 * 14.4 / 0.85 / 230, 2000.0 / 230
	want := map[string]float64{"70a.L": (charger + heater) / 0.95, "71.N": charger + heater, "72.L": charger, "73.L": heater,
		"AB": (charger + heater) / 0.95, "AP.2": heater, "HE": heater}
	near := func(what string, got *float64, want float64) {
		t.Helper()
		if got == nil || math.Abs(*got-want) > 1e-4 {
			t.Errorf("%s: %v, want %.4f", what, got, want)
		}
	}
	seen := 0
	for _, w := range c.Wires {
		if x, ok := want[w.ID]; ok {
			near(w.ID, w.Amps, x)
			seen++
		}
		switch w.ID {
		case "71.N":
			near("drop of 71", w.Drop, 0.02*(charger+heater))
		case "73.L":
			if w.Drop != nil {
				t.Error("73 has no length, and a drop")
			}
		}
	}
	for _, d := range c.Protection {
		if x, ok := want[d.Part]; ok {
			near(d.Part, d.Amps, x)
			seen++
		}
	}
	for _, l := range c.Loads {
		if x, ok := want[l.Part]; ok {
			near(l.Part, l.Amps, x)
			seen++
			if l.Volts != nil {
				t.Error("HE sees volts through a cable of unknown length")
			}
		}
	}
	if seen != len(want) {
		t.Errorf("%d rows of %d", seen, len(want))
	}
	b.Reset()
	if err := report.SolveText(&b, f, false); err != nil || !strings.Contains(b.String(), "mains conductors") {
		t.Errorf("no mains in the text: %v", err)
	}
}
