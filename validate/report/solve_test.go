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

const solveBoat = `
fitout: 1
parts:
  B1: {kind: battery, volts: 12 V, emf: 12.8 V, resistance: 4 mohm, chemistry: agm, capacity: 100 Ah, usable: 50 %, peukert: 1}
  BN: {kind: bus, rating: 100 A, polarity: negative}
  L1: {kind: load, draw: 10 A}
  L2: {kind: light, draw: 1 A}
  X1: {kind: light, draw: 1 A}
  X2: {kind: light, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, {F1: {kind: fuse, family: class-t, rating: 60 A, resistance: 1 mohm}}, L1.+], size: 16 mm2, lengths: [0.1 m, 2 m], resistances: [0.1 mohm, 2 mohm]}
  - {id: 2, from: L1.-, to: BN, size: 16 mm2, length: 2 m, resistance: 2 mohm}
  - {id: 3, from: BN, to: B1.-, size: 16 mm2, length: 0.5 m, resistance: 0.5 mohm}
  - {id: 4, from: L1.+, to: L2.+, size: 2.5 mm2}
  - {id: 5, from: L2.-, to: BN, size: 2.5 mm2, length: 2 m}
  - {id: 6, from: X1.+, to: X2.+, size: 2.5 mm2, length: 1 m}
conditions:
  on: {hours: 4 h, running: [L1]}
`

// TestSolveJSON holds the JSON form of solve against figures worked out by hand
// with Ohm's law: 10 A through 4 + 0.1 + 1 + 2 + 2 + 0.5 mΩ.
func TestSolveJSON(t *testing.T) {
	var b bytes.Buffer
	f := report.Solved{Name: "boat.yaml", Survey: survey.Of(boattest.Read(t, solveBoat)), Condition: "on"}
	if err := report.SolveJSON(&b, []report.Solved{f}); err != nil {
		t.Fatal(err)
	}
	var out struct {
		Files []struct {
			File       string
			Conditions []struct {
				ID, Reference string
				Wires         []struct {
					ID, From, To         string
					Amps, Ohms, Ampacity *float64
					Drop                 *float64 `json:"drop_v"`
					Size                 *string
				}
				Terminals []struct {
					At    string
					Volts *float64
				}
				Protection []struct {
					Part                    string
					Amps, Rating, Interrupt *float64
					Fault                   *float64 `json:"fault_amps"`
					LimitedBy               []string `json:"limited_by"`
				}
				Batteries []struct {
					Part        string
					Amps, Hours *float64
				}
				Islands [][]string
				Missing []struct{ What string }
				Holds   *float64 `json:"holds_at_rpm"`
			}
		}
	}
	if err := json.Unmarshal(b.Bytes(), &out); err != nil {
		t.Fatal(err)
	}
	c := out.Files[0].Conditions[0]
	if c.ID != "on" || c.Reference != "BN" {
		t.Errorf("condition %q, reference %q", c.ID, c.Reference)
	}
	volts := map[string]float64{}
	for _, x := range c.Terminals {
		volts[x.At] = *x.Volts
	}
	for at, want := range map[string]float64{"BN": 0, "B1.-": -0.005, "B1.+": 12.755, "F1.in": 12.754, "F1.out": 12.744, "L1.+": 12.724, "L1.-": 0.02} {
		if got, ok := volts[at]; !ok || math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: %v, want %v", at, got, want)
		}
	}
	if _, ok := volts["L2.+"]; ok {
		t.Error("L2.+ has volts though wire 4 has no length")
	}
	w := c.Wires[0]
	if w.ID != "1a" || w.From != "B1.+" || w.To != "F1.in" || *w.Size != "16 mm2" || math.Abs(*w.Amps-10) > 1e-9 || math.Abs(*w.Drop-0.001) > 1e-12 || *w.Ampacity != 100 && *w.Ampacity <= 0 {
		t.Errorf("wire 1a: %+v", w)
	}
	p := c.Protection[0]
	// 12.8 V over 4 + 0.1 mΩ: the short at F1 with its return at the battery's post
	if p.Part != "F1" || *p.Rating != 60 || math.Abs(*p.Fault-12.8/0.0041) > 0.01 || *p.Interrupt != 20000 || len(p.LimitedBy) != 0 {
		t.Errorf("F1: %+v, fault %v", p, *p.Fault)
	}
	// Peukert 1: half of 100 Ah at 10 A lasts 5 h.
	if bt := c.Batteries[0]; math.Abs(*bt.Amps-10) > 1e-9 || math.Abs(*bt.Hours-5) > 1e-9 {
		t.Errorf("B1: %v A, %v h", *bt.Amps, *bt.Hours)
	}
	if len(c.Islands) != 1 || strings.Join(c.Islands[0], " ") != "X1.+ X2.+" {
		t.Errorf("islands %v", c.Islands)
	}
	if len(c.Missing) != 1 || c.Missing[0].What != "length of wire 4" {
		t.Errorf("missing %v", c.Missing)
	}
	if c.Holds != nil {
		t.Errorf("holds at %v without an engine", *c.Holds)
	}
	if !strings.Contains(b.String(), `"holds_at_rpm": null`) || !strings.Contains(b.String(), `"limited_by": []`) {
		t.Error("null and empty lists are written out")
	}
}

// TestSolveStatus: a condition without a solution is told, and so is its place.
func TestSolveStatus(t *testing.T) {
	good := report.Solved{Name: "a", Survey: survey.Of(boattest.Read(t, solveBoat))}
	if !good.SolveOK() {
		t.Error("the boat has a solution")
	}
	bad := report.Solved{Name: "b", Survey: survey.Of(boattest.Read(t, strings.Replace(strings.Replace(solveBoat, "draw: 10 A", "draw: 20 kW", 1), "L2: {kind: light, draw: 1 A}", "L2: {kind: light, draw: 1 A}", 1)))}
	if bad.SolveOK() {
		t.Error("20 kW has none")
	}
	var b bytes.Buffer
	if err := report.SolveText(&b, bad, false); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(b.String(), "no solution: voltage collapse at L1") {
		t.Errorf("the text does not say where:\n%s", b.String())
	}
}

// TestSolveText: the same boat prints the same bytes, and the table holds the
// figures.
func TestSolveText(t *testing.T) {
	var a, b bytes.Buffer
	for _, w := range []*bytes.Buffer{&a, &b} {
		f := report.Solved{Name: "cruiser", Survey: survey.Of(boattest.ReadFile(t, "../../examples/cruiser.yaml"))}
		if err := report.SolveText(w, f, false); err != nil {
			t.Fatal(err)
		}
	}
	if a.String() != b.String() {
		t.Error("two runs differ")
	}
	for _, want := range []string{"anchor: At anchor", "batteries (discharge positive", "short circuits at the devices", "the day"} {
		if !strings.Contains(a.String(), want) {
			t.Errorf("%q is not there", want)
		}
	}
}
