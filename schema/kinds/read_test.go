package kinds_test

import (
	"fmt"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/kinds"
	"fitout/schema/read"
)

// around is what the attributes that name something refer to.
const around = `fitout: 1
spaces: {bilge: {title: Bilge}}
parts:
  EP: {kind: engine}
  K1: {kind: relay}
  K2: {kind: relay}
`

func problems(t *testing.T, text string) []string {
	t.Helper()
	_, found := read.Text("boat.yaml", text, kinds.All())
	var out []string
	for _, p := range found {
		out = append(out, p.Message)
	}
	return out
}

// Every kind's own example reads.
func TestExamplesRead(t *testing.T) {
	for _, k := range kinds.All().All() {
		for _, name := range append([]string{k.Name}, k.Aliases...) {
			example := strings.Replace(k.Example, "kind: "+k.Name, "kind: "+name, 1)
			if got := problems(t, around+"  X1: "+example+"\n"); len(got) > 0 {
				t.Errorf("%s: %s", name, strings.Join(got, "; "))
			}
		}
	}
}

// Every attribute of every kind reads with its own example, every word of an
// enumeration, every other spelling, and every dimension's example.
func TestEveryAttributeReads(t *testing.T) {
	for _, k := range kinds.All().All() {
		var text strings.Builder
		text.WriteString(around)
		n := 0
		for _, a := range append(append([]schema.Attr(nil), schema.Common...), k.Attrs...) {
			if b := k.Attr(a.Name); b == nil || b.Type != a.Type {
				continue // the kind's own attribute wins over the common one
			}
			for _, value := range valuesOf(a) {
				for _, name := range append([]string{a.Name}, a.Aliases...) {
					n++
					fmt.Fprintf(&text, "  X%d: {kind: %s, %s: %s}\n", n, k.Name, name, value)
				}
			}
		}
		_, found := read.Text("boat.yaml", text.String(), kinds.All())
		for _, p := range found {
			t.Errorf("%s: %s", p.Span.File.Line(p.Span.Line()), p.Message)
		}
	}
}

func valuesOf(a schema.Attr) []string {
	var out []string
	switch a.Name {
	case "space":
		return []string{"bilge"}
	case "shunt":
		return []string{"K1"}
	}
	if a.Example != "" {
		out = append(out, a.Example)
	}
	for _, w := range a.Words {
		out = append(out, `"`+w+`"`)
	}
	for _, also := range a.Also {
		out = append(out, `"`+also[0]+`"`)
	}
	return out
}

// A boat of every kind with power, wired the way the trade does: cables pass by
// the earth of two-pole devices, land on ways, and panels feed circuits.
func TestWiringReads(t *testing.T) {
	text := `fitout: 1
parts:
  SI1: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  GI1: {kind: galvanic-isolator, rating: 60 A}
  RCD1: {kind: rcd, rating: 16 A, trip: 30 mA}
  AB1: {kind: ac-breaker, rating: 10 A, poles: 1}
  SEL1: {kind: selector-ac, rating: 32 A}
  AP: {kind: ac-panel, ways: {1: {title: Charger, rating: 10 A}, 2: {title: Sockets, rating: 16 A, poles: 2}}}
  CH1: {kind: charger, output: 40 A, volts: 14.4 V}
  GEN: {kind: generator, power: 4 kW, volts: 230 V}
  OUT1: {kind: outlet}
  GND: {kind: ground}
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  F1: {kind: fuse, family: class-t, rating: 200 A}
  BP: {kind: bus}
  BN: {kind: bus}
  SH1: {kind: shunt, rating: 500 A, millivolts: 50 mV}
  DP: {kind: panel, ways: {1: {title: Light, rating: 10 A}, 2: {title: Pump, rating: 10 A}}}
  LT1: {kind: light, draw: 1 A}
  FS1: {kind: float-switch, height: -0.4 m}
  P1: {kind: pump, duty: bilge, draw: 4 A, submersible: yes}
  SK1: {kind: sink, rim: 0.3 m}
  SC2: {kind: seacock, size: 1 in}
  TH1: {kind: through-hull, service: discharge, size: 1 in, height: -0.1 m}
  TH2: {kind: through-hull, service: bilge, size: 1 in, height: 0.3 m}
  T1: {kind: tank, contents: fresh, capacity: 100 L}
  TV1: {kind: tank-vent, height: 0.8 m}
  P2: {kind: pump, duty: pressure, draw: 5 A}
  TE1: {kind: tee}
  TAP1: {kind: tap, height: 0.6 m}
  TAP2: {kind: tap, height: 0.6 m}
wires:
  - {id: 71, path: [SI1, GI1, RCD1, SEL1.1], cable: 3 core 2.5 mm2, lengths: [0.5 m, 0.5 m, 1 m]}
  - {id: 73, from: GEN, to: SEL1.2, cable: 3 core 2.5 mm2, length: 3 m}
  - {id: 74, path: [SEL1.L, AP.in], cable: 3 core 2.5 mm2, length: 1 m}
  - {id: 75, path: [AP.1, CH1], cable: 3 core 1.5 mm2, length: 3 m}
  - {id: 76, path: [AP.2, AB1, OUT1], cable: 3 core 1.5 mm2, lengths: [1 m, 3 m]}
  - {id: 77, from: AP.PE, to: GND, size: 6 mm2, length: 1 m}
  - {id: 1, path: [B1.+, F1, BP], size: 50 mm2, lengths: [0.1 m, 1 m]}
  - {id: 2, path: [B1.-, SH1, BN], size: 50 mm2, lengths: [0.1 m, 1 m]}
  - {id: 3, from: BP, to: DP.in, size: 16 mm2, length: 1 m}
  - {id: 4, from: BN, to: GND, size: 50 mm2, length: 1 m}
  - {id: 5, from: CH1.+, to: BP.3, size: 16 mm2, length: 1 m}
  - {id: 6, from: CH1.-, to: BN, size: 16 mm2, length: 1 m}
circuits:
  - {id: C1, feed: DP.1, load: LT1, return: BN, size: 2.5 mm2, length: 4 m}
  - {id: C2, feed: DP.2, via: [FS1], load: P1, return: BN, size: 2.5 mm2, lengths: [2 m, 1 m]}
  - {id: C3, feed: BP, via: [{F2: blade 10 A}], load: P2, return: BN, size: 2.5 mm2, lengths: [0.1 m, 4 m]}
hoses:
  - {id: H1, path: [SK1, SC2, TH1], bore: 25 mm, lengths: [1 m, 0]}
  - {id: H2, from: P1.out, to: TH2, bore: 25 mm, length: 2 m}
  - {id: H3, path: [T1.outlet, P2, TE1], bore: 13 mm, lengths: [1 m, 1 m]}
  - {id: H4, from: TE1, to: TAP1, bore: 13 mm, length: 1 m}
  - {id: H5, from: TE1, to: TAP2, bore: 13 mm, length: 1 m}
  - {id: H6, from: T1.vent, to: TV1, bore: 16 mm, length: 1 m}
`
	boat, found := read.Text("boat.yaml", text, kinds.All())
	for _, p := range found {
		t.Errorf("line %d: %s", p.Span.Line(), p.Message)
	}
	if boat == nil {
		return
	}
	for _, w := range boat.Wires {
		for _, e := range []schema.End{w.From, w.To} {
			if _, ok := e.Part.Terminal(e.Terminal); !ok {
				t.Errorf("wire %s ends at %s, which is no terminal", w.ID, e)
			}
		}
	}
	cores := map[string]int{}
	for _, w := range boat.Wires {
		if w.Cable != "" {
			cores[w.Cable]++
		}
	}
	for cable, n := range cores {
		if n != 3 {
			t.Errorf("cable %s has %d cores", cable, n)
		}
	}
}

// The symbol of every kind's example has an anchor for each terminal of its
// sheet: by its name, or, on a panel, by its way.
func TestExampleSymbols(t *testing.T) {
	for _, k := range kinds.All().All() {
		boat, found := read.Text("boat.yaml", around+"  X1: "+k.Example+"\n", kinds.All())
		if len(found) > 0 {
			t.Fatalf("%s: %s", k.Name, found[0].Message)
		}
		p := boat.Part("X1")
		for _, term := range p.Terminals() {
			if term.Hidden || term.Name == "" {
				continue
			}
			s := k.Symbol(p, term.Medium)
			_, byName := s.Anchor(term.Name)
			_, byWay := s.Anchor(term.Way)
			if !byName && (term.Way == "" || !byWay) {
				t.Errorf("%s: terminal %s has no anchor", k.Name, term.Name)
			}
			at := map[[2]int]string{}
			for _, a := range s.Anchors {
				if other, taken := at[[2]int{a.X, a.Y}]; taken {
					t.Errorf("%s: %s and %s share a place", k.Name, a.Name, other)
				}
				at[[2]int{a.X, a.Y}] = a.Name
			}
		}
		if k.Order(p) == "" || strings.Contains(k.Order(p), ", ,") {
			t.Errorf("%s: order line %q", k.Name, k.Order(p))
		}
	}
}
