package rules_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"fitout/schema/boattest"
	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/validate/rules"
	"fitout/validate/survey"

	"gopkg.in/yaml.v3"
)

// BenchmarkExample reads and checks each example, beside the bare decode of the
// same bytes.
func BenchmarkExample(b *testing.B) {
	catalogue := kinds.All()
	for _, name := range boats {
		text := exampleText(b, name)
		b.Run(name+"/decode", func(b *testing.B) {
			for b.Loop() {
				var v any
				if err := yaml.Unmarshal([]byte(text), &v); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(name+"/read", func(b *testing.B) {
			for b.Loop() {
				if _, p := read.Text("boat.yaml", text, catalogue); len(p) > 0 {
					b.Fatal(p)
				}
			}
		})
		b.Run(name+"/check", func(b *testing.B) {
			for b.Loop() {
				boat, p := read.Text("boat.yaml", text, catalogue)
				if len(p) > 0 {
					b.Fatal(p)
				}
				rules.Check(survey.Of(boat))
			}
		})
	}
}

// tender writes a boat of about n parts: two batteries, a bar, and blocks of a
// fused panel with ten lights and a cooled machine with its sea water, all on one
// network.
func tender(n int) string {
	var b strings.Builder
	b.WriteString(`fitout: 1
vessel: {hull: motor, length: 30 m, beam: 7 m, laden: 0.1 m}
rules: {set: us}
spaces: {hold: {title: Hold, sole: -1 m, area: 40 m2}}
defaults: {hoses: {clamps: 2, rating: below waterline, material: rubber}}
parts:
  B1: {kind: battery, title: Bank, space: hold, chemistry: agm, volts: 24 V, capacity: 2000 Ah, cranking: 1000 A, max-charge: 400 A}
  F0: {kind: fuse, title: Main, space: hold, family: class-t, rating: 400 A}
  S0: {kind: switch, title: Main, space: hold, rating: 600 A}
  HP: {kind: bus, title: Positive, rating: 600 A, studs: 200, covered: yes, polarity: positive}
  BN: {kind: bus, title: Negative, rating: 600 A, studs: 200, polarity: negative}
  G: {kind: ground, title: Ground}
`)
	blocks := n / 19
	for i := range blocks {
		x := float64(i%280)/10 + 1
		fmt.Fprintf(&b, "  F%d: {kind: fuse, title: Panel %d, space: hold, family: class-t, rating: 40 A}\n", i+1, i)
		fmt.Fprintf(&b, "  DP%d: {kind: panel, title: Panel %d, space: hold, rating: 60 A, volts: 32 V, interrupt: 5 kA, ways: {", i, i)
		for k := range 10 {
			fmt.Fprintf(&b, "%d: {title: Light %d, rating: 5 A, family: thermal}, ", k+1, k)
		}
		b.WriteString("11: {title: Pump, rating: 5 A, family: thermal}}}\n")
		for k := range 10 {
			fmt.Fprintf(&b, "  L%dx%d: {kind: light, title: Light, space: hold, draw: 5 mA, volts: 24 V}\n", i, k)
		}
		fmt.Fprintf(&b, "  TH%d: {kind: through-hull, title: Intake, space: hold, service: intake, size: 3/4 in, material: bronze, height: -0.6 m, offset: 0.4 m, station: %.1f m, seacock: {id: SC%d, title: Intake, type: flanged-ball, reach: 20 s}}\n", i, x, i)
		fmt.Fprintf(&b, "  SR%d: {kind: strainer, title: Strainer, space: hold, size: 3/4 in, height: -0.5 m, offset: 0.4 m, station: %.1f m}\n", i, x)
		fmt.Fprintf(&b, "  P%d: {kind: pump, title: Pump, space: hold, duty: circulating, design: centrifugal, draw: 10 mA, volts: 24 V, inlet: 3/4 in, outlet: 3/4 in, npsh: 1 m head, curve: {0 L/min: 4 m head, 30 L/min: 0 m head}, height: -0.4 m, offset: 0.4 m, station: %.1f m}\n", i, x)
		fmt.Fprintf(&b, "  HX%d: {kind: heat-exchanger, title: Machine, space: hold, size: 3/4 in, flow: 8 L/min, loss: {10 L/min: 0.5 m head}, height: 0 m, offset: 0.4 m, station: %.1f m}\n", i, x)
		fmt.Fprintf(&b, "  TX%d: {kind: through-hull, title: Outlet, space: hold, service: discharge, size: 3/4 in, material: bronze, height: 0.3 m, offset: 2.8 m, station: %.1f m, seacock: {id: SX%d, title: Outlet, type: flanged-ball, reach: 20 s}}\n", i, x, i)
	}
	b.WriteString(`wires:
  - {id: W0, path: [B1.+, F0, S0, HP], size: 4/0 AWG, lengths: [0.15 m, 0.5 m, 0.5 m]}
  - {id: W1, from: B1.-, to: BN, size: 4/0 AWG, length: 0.5 m}
  - {id: W2, from: BN, to: G, size: 4/0 AWG, length: 0.5 m}
`)
	for i := range blocks {
		fmt.Fprintf(&b, "  - {id: W%d, path: [HP, F%d, DP%d.in], size: 8 AWG, lengths: [0.15 m, 4 m]}\n", i+3, i+1, i)
	}
	b.WriteString("circuits:\n")
	for i := range blocks {
		for k := range 10 {
			fmt.Fprintf(&b, "  - {id: C%dx%d, feed: DP%d.%d, load: L%dx%d, return: BN, size: 14 AWG, length: 3 m}\n", i, k, i, k+1, i, k)
		}
		fmt.Fprintf(&b, "  - {id: CP%d, feed: DP%d.11, load: P%d, return: BN, size: 14 AWG, length: 3 m}\n", i, i, i)
	}
	b.WriteString("hoses:\n")
	for i := range blocks {
		fmt.Fprintf(&b, "  - {id: H%d, path: [TH%d, SR%d, P%d, HX%d, TX%d], bore: 3/4 in, lengths: [0.3 m, 0.4 m, 0.8 m, 1.2 m]}\n", i, i, i, i, i, i)
	}
	b.WriteString("conditions:\n  work: {title: At work, hours: 2 h, running: [")
	for i := range blocks {
		fmt.Fprintf(&b, "P%d, ", i)
	}
	b.WriteString("], bank: B1}\n")
	return b.String()
}

// BenchmarkTender reads and checks a tender of 200, 2,000 and 20,000 parts.
func BenchmarkTender(b *testing.B) {
	catalogue := kinds.All()
	for _, n := range []int{200, 2000, 20000} {
		text := tender(n)
		b.Run(strconv.Itoa(n)+"/read", func(b *testing.B) {
			for b.Loop() {
				if _, p := read.Text("boat.yaml", text, catalogue); len(p) > 0 {
					b.Fatal(boattest.Problems(p[:1]))
				}
			}
		})
		b.Run(strconv.Itoa(n)+"/check", func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				boat, p := read.Text("boat.yaml", text, catalogue)
				if len(p) > 0 {
					b.Fatal(boattest.Problems(p[:1]))
				}
				rules.Check(survey.Of(boat))
			}
		})
	}
}

// ring writes a boat of n batteries, each with its fuse, bar and light, joined in
// a ring by parallel switches that stand open: with all of them closed every
// battery feeds every bar.
func ring(n int) string {
	var parts, wires, lights strings.Builder
	for i := range n {
		fmt.Fprintf(&parts, `  B%[1]d: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 800 A}
  F%[1]d: {kind: fuse, family: class-t, rating: 200 A}
  P%[1]d: {kind: bus, rating: 600 A, studs: 10, covered: yes, polarity: positive}
  S%[1]d: {kind: switch, rating: 300 A, position: open}
  L%[1]d: {kind: light, draw: 2 A, volts: 12 V}
  K%[1]d: {kind: fuse, family: blade, rating: 5 A}
`, i)
		fmt.Fprintf(&wires, `  - {id: A%[1]d, path: [B%[1]d.+, F%[1]d, P%[1]d], size: 2/0 AWG, lengths: [0.15 m, 0.5 m]}
  - {id: N%[1]d, from: B%[1]d.-, to: BN, size: 2/0 AWG, length: 0.5 m}
  - {id: R%[1]d, path: [P%[1]d, S%[1]d, P%[2]d], size: 2/0 AWG, lengths: [0.5 m, 0.5 m]}
  - {id: W%[1]d, path: [P%[1]d, K%[1]d, L%[1]d.+], size: 14 AWG, lengths: [0.1 m, 3 m]}
  - {id: M%[1]d, from: L%[1]d.-, to: BN, size: 14 AWG, length: 3 m}
`, i, (i+1)%n)
		fmt.Fprintf(&lights, "L%d, ", i)
	}
	return "fitout: 1\nparts:\n  BN: {kind: bus, rating: 600 A, studs: 200, polarity: negative}\n  G: {kind: ground}\n" + parts.String() +
		"wires:\n  - {id: WG, from: BN, to: G, size: 4/0 AWG, length: 0.5 m}\n" + wires.String() +
		"conditions:\n  night: {title: Night, hours: 5 h, running: [" + lights.String() + "], bank: B0}\n"
}

// BenchmarkRing reads and checks 150 banks ringed by open parallel switches.
func BenchmarkRing(b *testing.B) {
	catalogue, text := kinds.All(), ring(150)
	for b.Loop() {
		boat, p := read.Text("boat.yaml", text, catalogue)
		if len(p) > 0 {
			b.Fatal(boattest.Problems(p[:1]))
		}
		rules.Check(survey.Of(boat))
	}
}
