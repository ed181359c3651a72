package survey_test

import (
	"testing"

	"fitout/schema/boattest"
	"fitout/validate/survey"
)

// A part behind a converter is fed, in the end, by what feeds the converter: by
// hand, the fuse ahead of the converter lies on its way.
func TestWaysGoOnPastConverters(t *testing.T) {
	b := boattest.Read(t, `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 24 V, capacity: 100 Ah}
  F1: {kind: fuse, family: class-t, rating: 20 A}
  DC1: {kind: converter, in-volts: 24 V, volts: 12 V, output: 20 A, isolated: yes}
  VHF: {kind: electronics, draw: 5 A, volts: 12 V}
wires:
  - {id: 1, path: [B1.+, F1, DC1.in+], size: 6 mm2, lengths: [0.1 m, 1 m]}
  - {id: 2, from: DC1.out+, to: VHF.+, size: 4 mm2, length: 1 m}
  - {id: 3, from: VHF.-, to: DC1.out-, size: 4 mm2, length: 1 m}
  - {id: 4, from: DC1.in-, to: B1.-, size: 6 mm2, length: 1 m}
`)
	for _, w := range survey.Of(b).Ways(b.Part("VHF")) {
		if w.To != b.Part("B1") {
			continue
		}
		var got []string
		for _, st := range w.Steps {
			got = append(got, st.ID)
		}
		want := []string{"2", "DC1", "1b", "F1", "1a"}
		if len(got) != len(want) {
			t.Fatalf("steps %v, want %v", got, want)
		}
		for i := range want {
			if got[i] != want[i] {
				t.Fatalf("steps %v, want %v", got, want)
			}
		}
		return
	}
	t.Error("no way leads from VHF to the battery")
}
