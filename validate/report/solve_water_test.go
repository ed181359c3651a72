package report

import (
	"encoding/json"
	"math"
	"testing"

	"fitout/schema/boattest"
	"fitout/validate/survey"
)

// A displacement pump sets the flow: 12 L/min in 19 mm is 12/60000/(π/4·0.019²) =
// 0.70539 m/s; 3 kW into it is a rise of 2.196815 K · 20/12 (C11 of the outside
// checks). The pressure at a free outlet is that of the air.
func TestSolveWater(t *testing.T) {
	b := boattest.Read(t, `
fitout: 1
vessel: {water: sea}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.5 m, loss: 0 m head}
  P1: {kind: pump, duty: circulating, drive: ac, design: impeller, flow: 12 L/min, height: -0.3 m}
  HX1: {kind: heat-exchanger, height: 0.2 m, heat: 3 kW, flow: 11 L/min, loss: {12 L/min: 0.5 m head}}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m, loss: 0 m head}
  BP1: {kind: pump, duty: bilge, submersible: yes, drive: ac, height: -0.5 m, curve: {0 L/min: 0.5 m head, 20 L/min: 0 m head}}
  TH3: {kind: through-hull, service: bilge, size: 3/4 in, height: 0.4 m}
hoses:
  - {id: H1, path: [TH1, P1, HX1], bore: 19 mm, lengths: [0.5 m, 1 m]}
  - {id: H2, from: HX1, to: TH2, bore: 19 mm, length: 1 m, peak: 0.6 m}
  - {id: H3, from: BP1.out, to: TH3, bore: 19 mm, length: 2 m}
conditions:
  run: {running: [P1, BP1]}
`)
	w := SolveWater(survey.Of(b), b.Conditions[0])
	check := func(what string, got *float64, want, within float64) {
		t.Helper()
		if got == nil || math.Abs(*got-want) > within {
			t.Errorf("%s = %v, want %v", what, got, want)
		}
	}
	check("flow in H1a", w.Hoses[0].Flow, 12, 1e-9)
	check("velocity in H1a", w.Hoses[0].Velocity, 0.705389, 1e-5)
	check("crest of H2", w.Hoses[2].Crest, 0.6, 1e-9)
	// Behind the crest stands the outlet at 0.3 m and its velocity head.
	check("pressure at the crest", w.Hoses[2].CrestPressure, -0.3, 1e-6)
	if p := w.Pumps[1]; p.Part != "BP1" || p.State != "cannot-lift" || p.Flow != nil || p.Head != nil {
		t.Errorf("a pump under its lift is a state and no number: %+v", p)
	}
	check("rise", w.Equipment[0].Rise, 2.196815*20/12, 5e-3)
	check("need", w.Equipment[0].Needs, 11, 1e-9)
	for _, at := range w.Terminals {
		if at.At == "TH2.out" {
			check("pressure at the outlet", at.Pressure, 0, 1e-6)
		}
	}
	if _, err := json.Marshal(w); err != nil {
		t.Error(err)
	}
}
