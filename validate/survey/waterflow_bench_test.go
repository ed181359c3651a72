package survey

import (
	"fmt"
	"strings"
	"testing"

	"fitout/schema/boattest"
)

// big is a boat of 120 water parts: eight cooling loops of two units each, and a
// fresh-water system that branches.
func big() string {
	var parts, hoses, run []string
	add := func(list *[]string, format string, a ...any) { *list = append(*list, fmt.Sprintf(format, a...)) }
	for i := range 8 {
		add(&parts, "TH%d: {kind: through-hull, service: intake, size: 1 in, height: -0.5 m, offset: 0.3 m}", i)
		add(&parts, "SC%d: {kind: seacock, size: 1 in, height: -0.45 m, offset: 0.3 m}", i)
		add(&parts, "ST%d: {kind: strainer, size: 1 in, height: -0.3 m, offset: 0.3 m}", i)
		add(&parts, "P%d: {kind: pump, duty: circulating, drive: ac, height: -0.35 m, offset: 0.3 m, curve: {0 L/min: 5 m head, 30 L/min: 3.5 m head, 60 L/min: 0.5 m head}}", i)
		add(&parts, "T%d: {kind: tee, size: 1 in, height: 0 m, offset: 0.3 m}", i)
		add(&hoses, "{id: H%d, path: [TH%d, SC%d, ST%d, P%d, T%d], bore: 25 mm, lengths: [0.1 m, 1 m, 0.6 m, 1.5 m]}", i, i, i, i, i, i)
		for _, u := range "AB" {
			add(&parts, "AC%d%c: {kind: aircon, supply: ac, height: 0.3 m, offset: 0.3 m, flow: 8 L/min, loss: {10 L/min: 0.6 m head}}", i, u)
			add(&parts, "O%d%c: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m, offset: 1.2 m}", i, u)
			add(&hoses, "{id: S%d%c, from: T%d, to: AC%d%c.water-in, bore: 19 mm, length: 2 m}", i, u, i, i, u)
			add(&hoses, "{id: D%d%c, from: AC%d%c.water-out, to: O%d%c, bore: 19 mm, length: 2 m, peak: 0.6 m}", i, u, i, u, i, u)
			add(&run, "AC%d%c", i, u)
		}
		add(&run, "P%d", i)
	}
	add(&parts, "TK: {kind: tank, contents: fresh, height: 0 m, level: 0.4 m, offset: 0 m}")
	add(&parts, "PF: {kind: pump, duty: pressure, drive: ac, height: 0 m, offset: 0 m, curve: {0 L/min: 28 m head, 9 L/min: 20 m head, 20 L/min: 0 m head}}")
	last := "PF.out"
	for i := range 23 {
		add(&parts, "M%d: {kind: tee, height: 0.3 m, offset: 0 m}", i)
		add(&parts, "TP%d: {kind: tap, height: 0.9 m, offset: 0 m, loss: {5 L/min: 6 m head}}", i)
		add(&hoses, "{id: F%d, from: %s, to: M%d, bore: 15 mm, length: 1 m}", i, last, i)
		add(&hoses, "{id: G%d, from: M%d, to: TP%d.in, bore: 10 mm, length: 1.5 m}", i, i, i)
		last = fmt.Sprintf("M%d", i)
	}
	add(&hoses, "{id: F99, from: TK.outlet, to: PF.in, bore: 15 mm, length: 1 m}")
	return "fitout: 1\nvessel: {length: 12 m}\nparts:\n  " + strings.Join(parts, "\n  ") + "\nhoses:\n  - " + strings.Join(hoses, "\n  - ") +
		"\nconditions:\n  run: {running: [" + strings.Join(run, ", ") + ", PF]}\n"
}

func BenchmarkWaterCondition(b *testing.B) {
	boat := boattest.Read(b, big())
	s := Of(boat)
	c := condition(b, boat, "run")
	s.flowNet()
	b.ReportMetric(float64(len(boat.Parts)), "parts")
	for b.Loop() {
		if w := s.solveWater(c); w.Circuits[0].Worst == nil {
			b.Fatal(w.Circuits[0].Missing)
		}
	}
}
