package figures

import (
	"math"
	"testing"

	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/validate/survey"
)

// A lamp of 1 Ω on a battery of 12 V without inner resistance, over two wires of
// 0.1 Ω each: I = 12 V / 1.2 Ω = 10 A, 1 V lost in each wire, 10 V at the lamp
// (Ohm's law).
func TestOhmsLaw(t *testing.T) {
	b, problems := read.Text("lamp.yaml", `fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, emf: 12 V, resistance: 0 ohm}
  L1: {kind: light, draw: 12 A, volts: 12 V, model: resistance}
wires:
  - {id: 1, from: B1.+, to: L1.+, size: 2.5 mm2, length: 2 m, resistance: 0.1 ohm}
  - {id: 2, from: L1.-, to: B1.-, size: 2.5 mm2, length: 2 m, resistance: 0.1 ohm}
`, kinds.All())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	want := map[[2]string]float64{
		{"1", string(Current)}: 10, {"2", string(Current)}: 10, {"1", string(Drop)}: 1000, {"2", string(Drop)}: 1000,
		{"L1", string(Voltage)}: 10, {"L1", string(Current)}: 10, {"B1", string(Current)}: 10,
	}
	got := map[[2]string]float64{}
	for _, f := range Of(survey.Of(b)) {
		if f.Condition == "all" {
			got[[2]string{f.ID, string(f.Quantity)}] = f.Value
		}
	}
	for k, v := range want {
		if g, ok := got[k]; !ok || math.Abs(g-v) > 1e-6*v {
			t.Errorf("%s of %s: %v, want %v", k[1], k[0], g, v)
		}
	}
}

func TestRound(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 12.3456: "12.3", 0.012345: "0.0123", 5210.4: "5210", -41.26: "-41.3", 99.96: "100", 0.5: "0.500"} {
		if got := Round(v); got != want {
			t.Errorf("%v: %s, want %s", v, got, want)
		}
	}
}
