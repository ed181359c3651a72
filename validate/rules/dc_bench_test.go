package rules

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"fitout/schema/boattest"
	"fitout/validate/survey"
)

// solvedRules are the rules of the section "DC, solved".
func solvedRules() []string {
	var out []string
	for _, r := range All() {
		if r.Section == dcSolved {
			out = append(out, r.Name)
		}
	}
	return out
}

// fleet writes a boat of many panels, each with its own battery feed, fuse and
// circuits.
func fleet(panels, ways int) string {
	var parts, wires, circuits strings.Builder
	parts.WriteString("  NB: {kind: bus, rating: 2000 A, polarity: negative}\n  PB: {kind: bus, rating: 2000 A, polarity: positive}\n  B1: {kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 2000 Ah, max-discharge: 2000 A}\n")
	wires.WriteString("  - {id: M1, path: [B1.+, {F0: class-t 600 A}, PB], size: 120 mm2, lengths: [0.1 m, 1 m], parallel: 4}\n  - {id: M2, from: NB, to: B1.-, size: 120 mm2, length: 1 m, parallel: 4}\n")
	for p := range panels {
		fmt.Fprintf(&parts, "  P%d: {kind: panel, rating: 100 A, interrupt: 20 kA, family: thermal, ways: {", p)
		for w := range ways {
			if w > 0 {
				parts.WriteString(", ")
			}
			fmt.Fprintf(&parts, "%d: {rating: 5 A}", w+1)
			fmt.Fprintf(&circuits, "  - {id: C%d-%d, feed: P%d.%d, load: {L%d-%d: {kind: light, draw: 0.2 A, least-volts: 10 V}}, return: NB, size: 1.5 mm2, length: %d m}\n", p, w, p, w+1, p, w, 2+w%5)
		}
		parts.WriteString("}}\n")
		fmt.Fprintf(&wires, "  - {id: W%d, path: [PB, {F%d: class-t 60 A}, P%d.in], size: 16 mm2, lengths: [0.1 m, 2 m]}\n", p, p+1, p)
	}
	return "fitout: 1\nparts:\n" + parts.String() + "wires:\n" + wires.String() + "circuits:\n" + circuits.String()
}

// BenchmarkSolvedRules runs the rules of the section on a boat read once.
func BenchmarkSolvedRules(b *testing.B) {
	text, err := os.ReadFile("../../examples/cruiser.yaml")
	if err != nil {
		b.Fatal(err)
	}
	for _, x := range []struct{ name, text string }{{"cruiser", string(text)}, {"2000 parts", fleet(100, 19)}, {"20000 parts", fleet(1000, 19)}} {
		boat := boattest.Read(b, x.text)
		names := solvedRules()
		b.Run(fmt.Sprintf("%s (%d)", x.name, len(boat.Parts)), func(b *testing.B) {
			for b.Loop() {
				Judge(survey.Of(boat), names...)
			}
		})
	}
}
