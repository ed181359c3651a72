package read_test

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/kinds"
	"fitout/schema/read"
)

// heron holds the snippets of the language page, joined into one file, with the
// parts they name and do not show.
const heron = `fitout: 1                 # version of this format
vessel:
  name: Grey Heron
  type: motor cruiser
  hull: motor             # motor | sail | multihull
  length: 10.4 m
  beam: 3.3 m
  sheer: 1.1 m
  heel: 7 deg
  trim: 1 deg
  laden: 0.06 m
  speed: 8 kn
  water: sea
  water-temperature: 15 °C
  category: C
  persons: 6
rules: {set: us, bundling: practice}
deviations:
  - {rule: voltage-drop, at: C14, why: "owner accepts a dim courtesy light", by: "owner, 2026-05-02"}
defaults: {wires: {insulation: 105 °C}, circuits: {return: BN, cable: 2 core}, hoses: {clamps: 2}, seacock: {material: bronze}}
spaces:
  engine:    {title: Engine space, ambient: 50 °C, engine: yes, fuel: diesel}
  lazarette: {title: Lazarette, ambient: 40 °C, stowage: yes}
  saloon:    {title: Saloon, sleeps: yes, sole: -0.2 m, area: 4.5 m2, station: [3.1 m, 6.4 m], joins: [bilge]}
  bilge:     {title: Main bilge, bilge: yes, watertight: no, below: saloon}
stock:
  pump-24-small: {kind: pump, volts: 24 V, draw: 2 A, design: centrifugal}
parts:
  B1: {kind: battery, title: House battery 1, space: lazarette, chemistry: lfp, volts: 25.6 V, capacity: 230 Ah,
       station: 8.6 m, offset: -0.7 m, height: 0.1 m}
  B2: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  B3: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  F1: {kind: fuse, family: class-t, rating: 225 A, space: lazarette}
  S1: {kind: switch, rating: 300 A}
  BP: {kind: bus}
  BN: {kind: bus}
  BU: {kind: bus}
  DP: {kind: panel, ways: {3: {title: Lights, rating: 10 A}}}
  LT1: {kind: light, title: Saloon lights, draw: 3 A}
  F8: {kind: fuse, family: blade, rating: 7.5 A}
  FS1: {kind: float-switch}
  TH1: {kind: through-hull, service: intake, size: 3/4 in, material: bronze, height: -0.6 m, offset: 0.4 m, station: 7.8 m,
        seacock: {id: SC1, type: flanged-ball, reach: 20 s}}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, material: bronze, height: 0.2 m, seacock: SC2}
  ST1: {kind: strainer}
  P1: {kind: pump, duty: circulating, stock: pump-24-small, space: engine, height: -0.35 m}
  P3: {kind: pump, duty: bilge, draw: 4 A}
  AC1: {kind: aircon, draw: 8 A, flow: 9.5 L/min}
  FR1: {kind: refrigerator, draw: 4 A}
  NAV: {kind: electronics, draw: 3 A}
  EP: {kind: engine}
  SH1: {kind: shunt}
  AB1: {kind: ac-breaker, rating: 16 A}
  CH1: {kind: charger, output: 30 A}
  SI1: {kind: shore-inlet, rating: 16 A}
banks: {house: [B2, B3]}
looms: {L1: {spaces: [engine], longest: 3 m}}
wires:
  - {id: 1, from: B1.+, to: F1, size: 70 mm2, color: red, length: 0.12 m}
  - {id: 2, path: [F1, S1, BP], size: 70 mm2, color: red, lengths: [0.6 m, 0.4 m]}      # two wires: 2a, 2b
  - {id: 3, path: [B2.+, {F2: class-t 200 A}, BP], size: 50 mm2, lengths: [0.15 m, 0.5 m]}
  - {id: 71, path: [SI1, AB1], cable: 3 core 1.5 mm2, length: 1 m}
  - {id: 72, path: [AB1, CH1], cable: 3 core 1.5 mm2, length: 3 m}                       # AC cable: L, N, PE in order
circuits:
  - {id: C3, title: Saloon lights, feed: DP.3, load: LT1, return: BN, size: 2.5 mm2, length: 6 m}   # C3+ and C3-
  - {id: C4, feed: BU, via: [F8, FS1], load: {BP1: {kind: pump, duty: bilge, space: bilge, draw: 5 A}}, return: BN, size: 4 mm2, lengths: [0.15 m, 2.5 m, 0.4 m]}
hoses:
  - {id: H1, path: [TH1, ST1, P1, AC1.water-in], bore: 19 mm, lengths: [0.4 m, 0.5 m, 1.2 m], material: rubber with wire, rating: below waterline, clamps: 2}
  - {id: H2, from: AC1.water-out, to: TH2, bore: 19 mm, length: 2.1 m, peak: 0.9 m, dip: 0.1 m}
  - {id: H3, from: {open: bilge, height: -0.42 m}, to: P3.in, bore: 25 mm, length: 1.5 m}
conditions:
  anchor:   {title: At anchor, hours: 8 h, running: [AC1, P1, FR1 50 %], bank: house, charge: 100 %}
  motoring: {title: Motoring, engine: 1400 rpm, speed: 7 kn, running: [AC1, P1, NAV]}
  sailing:  {title: Sailing, heel: 20 deg, running: [P1, NAV], sun: 4 h}
  dock:     {title: On shore power, shore: yes, running: [AC1, P1], holds: yes}
  laid-up:  {title: Unattended, unattended: yes, hours: 14 d, running: [BP1 2 %], open: [S1], closed: [SC1, SC2]}
day: [{anchor: 14 h}, {motoring: 3 h}, {anchor: 7 h}]
readings:
  - {date: 2026-05-02, condition: anchor, at: SH1, current: 21.4 A}
  - {date: 2026-05-02, condition: anchor, at: TH2, flow: 9 L/min}
  - {date: 2026-05-02, condition: anchor, at: AC1.+, volts: 24.6 V}
sheets: {paper: A4, drawn: "…", checked: "…", revision: B, date: 2026-05-02, owner: "…", hull-number: "…", mono: no, show: [length]}
`

// said writes problems as the command line does.
func said(list []diag.Problem) string {
	var b strings.Builder
	for _, p := range list {
		line, column := p.Span.Position()
		fmt.Fprintf(&b, "%s:%d:%d: %s\n", p.Span.Name(), line, column, p.Message)
		for _, rel := range p.Related {
			fmt.Fprintf(&b, "  %d: %s\n", rel.Span.Line(), rel.Message)
		}
	}
	return b.String()
}

func mustRead(t *testing.T, text string) *schema.Boat {
	t.Helper()
	b, problems := read.Text("boat.yaml", text, kinds.All())
	if len(problems) > 0 {
		t.Fatalf("problems:\n%s", said(problems))
	}
	return b
}

// runs writes what a boat joins, one stretch a line.
func runs(b *schema.Boat) string {
	var out strings.Builder
	for _, w := range b.Wires {
		fmt.Fprintf(&out, "%s: %s - %s", w.ID, w.From, w.To)
		for _, s := range []string{w.Size.Text, w.Length.Text, w.Resistance.Text, w.Color.Text} {
			if s != "" {
				out.WriteString(", " + s)
			}
		}
		if w.Implied {
			out.WriteString(", implied")
		}
		out.WriteString("\n")
	}
	for _, h := range b.Hoses {
		fmt.Fprintf(&out, "%s: %s - %s", h.ID, h.From, h.To)
		if h.Implied {
			out.WriteString(", implied")
		}
		for _, s := range []string{h.Length.Text, h.Peak.Text, h.Dip.Text} {
			if s != "" {
				out.WriteString(", " + s)
			}
		}
		out.WriteString("\n")
	}
	return out.String()
}

// TestLanguagePage: what the installation-file page shows is read, and means
// what it says there: stretches, cores and returns by their ids.
func TestLanguagePage(t *testing.T) {
	b := mustRead(t, heron)
	want := `1: B1.+ - F1.in, 70 mm2, 0.12 m, red
2a: F1.out - S1.in, 70 mm2, 0.6 m, red
2b: S1.out - BP, 70 mm2, 0.4 m, red
3a: B2.+ - F2.in, 50 mm2, 0.15 m
3b: F2.out - BP, 50 mm2, 0.5 m
71.L: SI1.L - AB1.L-in, 1.5 mm2, 1 m
71.N: SI1.N - AB1.N-in, 1.5 mm2, 1 m
71.PE: SI1.PE - AB1.PE-in, 1.5 mm2, 1 m
72.L: AB1.L-out - CH1.L, 1.5 mm2, 3 m
72.N: AB1.N-out - CH1.N, 1.5 mm2, 3 m
72.PE: AB1.PE-out - CH1.PE, 1.5 mm2, 3 m
C3+: DP.3 - LT1.+, 2.5 mm2, 6 m
C3-: LT1.- - BN, 2.5 mm2, 6 m
C4+a: BU - F8.in, 4 mm2, 0.15 m
C4+b: F8.out - FS1.in, 4 mm2, 2.5 m
C4+c: FS1.out - BP1.+, 4 mm2, 0.4 m
C4-: BP1.- - BN, 4 mm2, 3.05 m
TH1+SC1: TH1.out - SC1.in, implied
TH2+SC2: TH2.out - SC2.in, implied
H1a: SC1.out - ST1.in, 0.4 m
H1b: ST1.out - P1.in, 0.5 m
H1c: P1.out - AC1.water-in, 1.2 m
H2: AC1.water-out - SC2.out, 2.1 m, 0.9 m, 0.1 m
H3: open in bilge - P3.in, 1.5 m
`
	if got := runs(b); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	sc := b.Part("SC1")
	if sc == nil || sc.Host != b.Part("TH1") || sc.Height().V != -0.6 || sc.Word("material").V != "bronze" || sc.Word("type").V != "flanged-ball" {
		t.Errorf("seacock SC1: %+v", sc)
	}
	if p := b.Part("P1"); p.Volts("volts").From != schema.FromStock || p.Height().From != schema.Own {
		t.Error("P1 takes its volts from stock and its height from itself")
	}
	if w := b.Wires[0]; w.Insulation.V != 105 || w.Insulation.From != schema.FromFile {
		t.Error("wire 1 takes its insulation from the defaults")
	}
	if w := b.Wires[11]; w.ID != "C3+" || w.Cores.V != 2 {
		t.Error("C3+ lies in a cable of two cores")
	}
	if f := b.Part("F2"); f.Kind.Name != "fuse" || f.Amps("rating").V != 200 || f.Word("family").V != "class-t" {
		t.Error("F2 is a class-t fuse of 200 A")
	}
	if lt := b.Part("LT1"); lt.Circuit == nil || lt.Circuit.ID != "C3" || lt.Name() != "LT1 (Saloon lights)" {
		t.Error("LT1 belongs to C3")
	}
	anchor := b.Conditions[0]
	if len(anchor.Running) != 3 || anchor.Running[2].Duty != 0.5 || anchor.Running[0].Duty != 1 {
		t.Errorf("running: %+v", anchor.Running)
	}
	laid := b.Conditions[4]
	if laid.Positions["S1"] != "open" || laid.Positions["SC2"] != "closed" {
		t.Errorf("positions: %v", laid.Positions)
	}
	if all := b.Conditions[5]; !all.BuiltIn || all.ID != "all" || len(b.Day) != 3 {
		t.Error("the built-in condition all, and three steps of a day")
	}
}

// meaning are lines of one file and the stretches they are read as.
var meaning = []struct{ name, text, want string }{
	{"a part met twice: first in, second out, whatever the direction", `
parts: {B1: {kind: battery}, F1: {kind: fuse}, BP: {kind: bus}}
wires: [{id: 1, from: F1, to: B1.+}, {id: 2, from: BP, to: F1}]
`, "1: F1.in - B1.+\n2: BP - F1.out\n"},
	{"both terminals in a row pass the part", `
parts: {B1: {kind: battery}, SW1: {kind: switch}, ST1: {kind: starter}, X: {kind: bus}}
wires: [{id: 1, path: [B1.+, SW1.in, SW1.out, ST1.+]}, {id: 2, from: SW1.out, to: X}]
`, "1a: B1.+ - SW1.in\n1b: SW1.out - ST1.+\n2: SW1.out - X\n"},
	{"a shunt is passed in the order of writing", `
parts: {B1: {kind: battery}, SH: {kind: shunt}, BN: {kind: bus}}
wires: [{id: 1, path: [B1.-, SH, BN]}]
`, "1a: B1.- - SH.battery\n1b: SH.load - BN\n"},
	{"a total is shared and marked as derived", `
parts: {B1: {kind: battery}, F1: {kind: fuse}, BP: {kind: bus}}
wires: [{id: 1, path: [B1.+, F1, BP], length: 3 m, resistance: 1 mohm}]
`, "1a: B1.+ - F1.in, 1.5 m, 500 µΩ\n1b: F1.out - BP, 1.5 m, 500 µΩ\n"},
	{"null leaves a stretch without a value", `
parts: {B1: {kind: battery}, F1: {kind: fuse}, BP: {kind: bus}}
wires: [{id: 1, path: [B1.+, F1, BP], lengths: [null, 2 m], sizes: [6 mm2, 10 AWG]}]
`, "1a: B1.+ - F1.in, 6 mm2\n1b: F1.out - BP, 10 AWG, 2 m\n"},
	{"several loads: joints to the others", `
parts: {BP: {kind: bus}, BN: {kind: bus}, L1: {kind: light}, L2: {kind: light}}
circuits: [{id: C1, feed: BP, load: [L1, L2], return: BN, length: 4 m}]
`, "C1+: BP - L1.+, 4 m\nC1+L2: L1.+ - L2.+, implied\nC1-: L1.- - BN, 4 m\nC1-L2: L2.- - L1.-, implied\n"},
	{"several loads with a length each", `
parts: {BP: {kind: bus}, BN: {kind: bus}, L1: {kind: light}, L2: {kind: light}}
circuits: [{id: C1, feed: BP, load: [L1, L2], return: BN, lengths: [4 m, 1 m]}]
`, "C1+a: BP - L1.+, 4 m\nC1+b: L1.+ - L2.+, 1 m\nC1-a: L1.- - BN, 4 m\nC1-b: L2.- - L1.-, 1 m\n"},
	{"a total over devices; the return has all of it", `
parts: {BP: {kind: bus}, BN: {kind: bus}, F1: {kind: fuse}, L1: {kind: light}}
circuits: [{id: C1, feed: BP, via: [F1], load: L1, return: BN, length: 4 m, color: red}]
`, "C1+a: BP - F1.in, 2 m, red\nC1+b: F1.out - L1.+, 2 m, red\nC1-: L1.- - BN, 4 m\n"},
	{"a return of its own length, size and colour", `
parts: {BP: {kind: bus}, BN: {kind: bus}, L1: {kind: light}}
circuits: [{id: C1, feed: BP, load: L1, return: BN, length: 4 m, return-length: 6 m, size: 2.5 mm2, return-size: 4 mm2, return-color: yellow}]
`, "C1+: BP - L1.+, 2.5 mm2, 4 m\nC1-: L1.- - BN, 4 mm2, 6 m, yellow\n"},
	{"a stated resistance holds for each conductor", `
parts: {BP: {kind: bus}, BN: {kind: bus}, L1: {kind: light}}
circuits: [{id: C1, feed: BP, load: L1, return: BN, resistance: 20 mohm}]
`, "C1+: BP - L1.+, 20 mohm\nC1-: L1.- - BN, 20 mohm\n"},
	{"the return of a panel whose - is joined", `
parts: {DP: {kind: panel}, BN: {kind: bus}, L1: {kind: light}}
wires: [{id: 1, from: DP.-, to: BN}]
circuits: [{id: C1, feed: DP.1, load: L1, rating: 10 A}]
`, "1: DP.- - BN\nC1+: DP.1 - L1.+\nC1-: L1.- - DP.-\n"},
	{"a converter as a load", `
parts: {BP: {kind: bus}, BN: {kind: bus}, CV: {kind: converter}, DC: {kind: dc-charger}}
circuits: [{id: C1, feed: BP, load: CV, return: BN}, {id: C2, feed: BP, load: DC.in, return: BN}]
`, "C1+: BP - CV.in+\nC1-: CV.in- - BN\nC2+: BP - DC.in+\nC2-: DC.in- - BN\n"},
	{"a jumper round a switch", `
parts: {B1: {kind: battery}, SW1: {kind: switch}, X: {kind: bus}}
wires: [{id: 1, path: [B1.+, SW1.in, SW1.out, X]}, {id: 2, from: SW1.in, to: SW1.out, length: 0.1 m}]
`, "1a: B1.+ - SW1.in\n1b: SW1.out - X\n2: SW1.in - SW1.out, 0.1 m\n"},
	{"numbered joints of a bus", `
parts: {B1: {kind: battery}, BP: {kind: bus}, BN: {kind: bus}}
wires: [{id: 1, from: B1.+, to: BP.1}, {id: 2, from: BP.2, to: BN.12}]
`, "1: B1.+ - BP.1\n2: BP.2 - BN.12\n"},
	{"AC cable through a two-pole breaker to a panel way", `
parts: {SI: {kind: shore-inlet}, AB: {kind: ac-breaker}, AP: {kind: ac-panel, ways: {1: {rating: 10 A}}}, OUT: {kind: outlet}}
wires:
  - {id: 70, path: [SI, AB, AP], cable: 3 core 2.5 mm2, lengths: [1 m, 4 m]}
  - {id: 71, path: [AP.1, OUT], cable: 3 core 1.5 mm2}
`, `70a.L: SI.L - AB.L-in, 2.5 mm2, 1 m
70a.N: SI.N - AB.N-in, 2.5 mm2, 1 m
70a.PE: SI.PE - AB.PE-in, 2.5 mm2, 1 m
70b.L: AB.L-out - AP.L-in, 2.5 mm2, 4 m
70b.N: AB.N-out - AP.N-in, 2.5 mm2, 4 m
70b.PE: AB.PE-out - AP.PE-in, 2.5 mm2, 4 m
71.L: AP.1.L - OUT.L, 1.5 mm2
71.N: AP.1.N - OUT.N, 1.5 mm2
71.PE: AP.1.PE - OUT.PE, 1.5 mm2
`},
	{"AC cable through a one-pole breaker and a galvanic isolator", `
parts: {SI: {kind: shore-inlet}, GI: {kind: galvanic-isolator}, AB: {kind: ac-breaker, poles: 1}, OUT: {kind: outlet}}
wires: [{id: 7, path: [SI, GI, AB, OUT], cable: 3 core 2.5 mm2}]
`, `7a.L: SI.L - GI.L-in, 2.5 mm2
7a.N: SI.N - GI.N-in, 2.5 mm2
7a.PE: SI.PE - GI.in, 2.5 mm2
7b.L: GI.L-out - AB.in, 2.5 mm2
7b.N: GI.N-out - AB.N-in, 2.5 mm2
7b.PE: GI.out - AB.PE-in, 2.5 mm2
7c.L: AB.out - OUT.L, 2.5 mm2
7c.N: AB.N-out - OUT.N, 2.5 mm2
7c.PE: AB.PE-out - OUT.PE, 2.5 mm2
`},
	{"AC cable against the direction of writing", `
parts: {SI: {kind: shore-inlet}, AB: {kind: ac-breaker}, OUT: {kind: outlet}}
wires: [{id: 1, path: [SI, AB], cable: 2 core}, {id: 2, path: [OUT, AB], cable: 2 core}]
`, `1.L: SI.L - AB.L-in
1.N: SI.N - AB.N-in
2.L: OUT.L - AB.L-out
2.N: OUT.N - AB.N-out
`},
	{"AC cable through parts with a direction", `
parts: {SI: {kind: shore-inlet}, TR: {kind: transformer}, IC: {kind: inverter-charger}, AP: {kind: ac-panel}}
wires: [{id: 1, path: [SI, TR, IC], cable: 2 core}, {id: 2, path: [IC, AP], cable: 2 core}]
`, `1a.L: SI.L - TR.L-in
1a.N: SI.N - TR.N-in
1b.L: TR.L-out - IC.L-in
1b.N: TR.N-out - IC.N-in
2.L: IC.L-out - AP.L-in
2.N: IC.N-out - AP.N-in
`},
	{"a path that names the seacock beside its through-hull", `
parts: {TH: {kind: through-hull, seacock: SC}, ST: {kind: strainer}, P: {kind: pump}}
hoses: [{id: H1, path: [TH, SC, ST, P.in], lengths: [0, 1 m, 2 m]}]
`, "TH+SC: TH.out - SC.in, implied\nH1a: SC.out - ST.in, 1 m\nH1b: ST.out - P.in, 2 m\n"},
	{"a seacock that stands in parts; a path to the sea", `
parts: {TH: {kind: through-hull, seacock: SC}, SC: {kind: seacock, type: cone}, P: {kind: pump}}
hoses: [{id: H1, path: [P.out, SC, TH], length: 1 m}]
`, "TH+SC: TH.out - SC.in, implied\nH1: P.out - SC.out, 1 m\n"},
	{"a path that names both sides of the seacock", `
parts: {TH: {kind: through-hull, seacock: SC}, P: {kind: pump}}
hoses: [{id: H1, path: [TH, SC.in, SC.out, P.in]}]
`, "TH+SC: TH.out - SC.in, implied\nH1: SC.out - P.in\n"},
	{"hoses through a pump, a tee and peaks", `
parts: {TH: {kind: through-hull}, T: {kind: tee}, P: {kind: pump}, E: {kind: engine}, A: {kind: aircon}}
hoses:
  - {id: H1, path: [TH, T, P, A.water-in], peaks: [null, 0.2 m, null], lengths: [1 m, 2 m, 3 m]}
  - {id: H2, from: T, to: E.water-in}
`, "H1a: TH.out - T, 1 m\nH1b: T - P.in, 2 m, 0.2 m\nH1c: P.out - A.water-in, 3 m\nH2: T - E.water-in\n"},
	{"an anchor and a merge key", `
stock:
  lamp: &lamp {kind: light, draw: 1 A}
parts: {BP: {kind: bus}, BN: {kind: bus}, L1: {<<: *lamp, draw: 2 A}, L2: *lamp}
circuits:
  - &c {id: C1, feed: BP, load: L1, return: BN, length: 1 m}
  - {<<: *c, id: C2, load: L2}
`, "C1+: BP - L1.+, 1 m\nC1-: L1.- - BN, 1 m\nC2+: BP - L2.+, 1 m\nC2-: L2.- - BN, 1 m\n"},
	{"ids that look like numbers", `
parts: {010: {kind: battery}, 1E2: {kind: bus}, on: {kind: bus}, 2026-05-02: {kind: light}}
wires: [{id: 010, from: 010.+, to: 1E2}, {id: no, from: 2026-05-02.-, to: on}]
`, "010: 010.+ - 1E2\nno: 2026-05-02.- - on\n"},
}

func TestMeaning(t *testing.T) {
	for _, c := range meaning {
		b, problems := read.Text("boat.yaml", c.text, kinds.All())
		if len(problems) > 0 {
			t.Errorf("%s:\n%s", c.name, said(problems))
			continue
		}
		if got := runs(b); got != c.want {
			t.Errorf("%s: got\n%s\nwant\n%s", c.name, got, c.want)
		}
	}
}

// TestStretchLetters: a, b … z, aa (the language page).
func TestStretchLetters(t *testing.T) {
	var text, path strings.Builder
	text.WriteString("parts:\n  B1: {kind: battery}\n")
	path.WriteString("B1.+")
	for i := range 28 {
		fmt.Fprintf(&text, "  F%d: {kind: fuse}\n", i)
		fmt.Fprintf(&path, ", F%d", i)
	}
	text.WriteString("  BP: {kind: bus}\nwires: [{id: 2, path: [" + path.String() + ", BP]}]\n")
	b := mustRead(t, text.String())
	for i, want := range map[int]string{0: "2a", 25: "2z", 26: "2aa", 28: "2ac"} {
		if got := b.Wires[i].ID; got != want {
			t.Errorf("stretch %d is %s, want %s", i, got, want)
		}
	}
}

// TestDerivedLength: a share of a total is no stated length; the values of a
// list and the length of a return are.
func TestDerivedLength(t *testing.T) {
	b := mustRead(t, `
parts: {BP: {kind: bus}, BN: {kind: bus}, F1: {kind: fuse}, F2: {kind: fuse}, L1: {kind: light}, L2: {kind: light}}
circuits:
  - {id: C1, feed: BP, via: [F1], load: L1, return: BN, length: 4 m}
  - {id: C2, feed: BP, via: [F2], load: L2, return: BN, lengths: [1 m, 3 m]}
`)
	want := map[string]schema.Origin{"C1+a": schema.Derived, "C1+b": schema.Derived, "C1-": schema.Own,
		"C2+a": schema.Own, "C2+b": schema.Own, "C2-": schema.Own}
	for _, w := range b.Wires {
		if w.Length.From != want[w.ID] {
			t.Errorf("%s: origin %d, want %d", w.ID, w.Length.From, want[w.ID])
		}
	}
}

// TestIncludes: sections are joined; what is there twice is shown at both
// places; files outside the folder and loops are refused.
func TestIncludes(t *testing.T) {
	for _, c := range []struct {
		name  string
		files map[string]string
		want  string
	}{
		{"joined", map[string]string{
			"d/b.yaml":     "include: [sub/e.yaml]\nvessel: {name: A}\nparts: {B1: {kind: battery}}\nwires: [{id: 1, from: B1.+, to: BP}]\n",
			"d/sub/e.yaml": "include: f.yaml\nvessel: {beam: 3 m}\nparts: {BP: {kind: bus}}\n",
			"d/sub/f.yaml": "wires: [{id: 2, from: B1.-, to: BP}]\n",
		}, ""},
		{"twice", map[string]string{
			"d/b.yaml": "include: [e.yaml]\nvessel: {name: A}\nparts: {B1: {kind: battery}}\n",
			"d/e.yaml": "vessel: {name: B}\nparts: {B1: {kind: bus}}\n",
		}, "d/e.yaml:1:10: \"name\" is there twice in vessel\n  2: the first time\nd/e.yaml:2:9: the part \"B1\" is there twice\n  3: the first time\n"},
		{"loop", map[string]string{
			"d/b.yaml": "include: [e.yaml]\n", "d/e.yaml": "include: [b.yaml]\n",
		}, "d/e.yaml:1:11: b.yaml includes itself\n"},
		{"itself", map[string]string{"d/b.yaml": "include: [b.yaml]\n"}, "d/b.yaml:1:11: b.yaml includes itself\n"},
		{"outside", map[string]string{"d/b.yaml": "include: [../e.yaml]\n", "e.yaml": ""}, "d/b.yaml:1:11: ../e.yaml lies outside the folder of b.yaml\n"},
		{"beside", map[string]string{"d/b.yaml": "include: [../dd/e.yaml]\n"}, "d/b.yaml:1:11: ../dd/e.yaml lies outside the folder of b.yaml\n"},
		{"absolute", map[string]string{"d/b.yaml": "include: [/etc/passwd]\n"}, "d/b.yaml:1:11: an included file is named by a relative path with forward slashes\n"},
		{"drive", map[string]string{"d/b.yaml": "include: ['C:\\x.yaml']\n"}, "d/b.yaml:1:11: an included file is named by a relative path with forward slashes\n"},
		{"missing", map[string]string{"d/b.yaml": "include: [e.yaml]\n"}, "d/b.yaml:1:11: e.yaml cannot be read: no such file\n"},
		{"mistake inside", map[string]string{"d/b.yaml": "include: [e.yaml]\n", "d/e.yaml": "\nparts: {B1: {kind: batery}}\n"}, "d/e.yaml:2:20: unknown kind \"batery\"; did you mean battery?\n"},
		{"main missing", nil, "d/b.yaml:1:1: the file cannot be read: no such file\n"},
	} {
		open := func(name string) ([]byte, error) {
			if text, ok := c.files[name]; ok {
				return []byte(text), nil
			}
			return nil, fmt.Errorf("no such file")
		}
		b, problems := read.Boat(open, "d/b.yaml", kinds.All())
		if got := said(problems); got != c.want {
			t.Errorf("%s: got\n%s\nwant\n%s", c.name, got, c.want)
		}
		if c.name == "joined" && (len(b.Files) != 3 || len(b.Parts) != 2 || len(b.Wires) != 2 || !b.Vessel.Beam.Given()) {
			t.Errorf("joined: %d files, %d parts, %d wires", len(b.Files), len(b.Parts), len(b.Wires))
		}
	}
}

// TestEveryProblem: a hundred mistakes are a hundred problems, in order.
func TestEveryProblem(t *testing.T) {
	var text strings.Builder
	text.WriteString("parts:\n")
	for i := range 100 {
		fmt.Fprintf(&text, "  F%d: {kind: fuse, rating: %d}\n", i, i)
	}
	_, problems := read.Text("boat.yaml", text.String(), kinds.All())
	if len(problems) != 100 {
		t.Fatalf("%d problems", len(problems))
	}
	for i, p := range problems {
		if p.Span.Line() != i+2 {
			t.Errorf("problem %d is at line %d", i, p.Span.Line())
		}
	}
}

// FuzzText: no input makes the reader panic, and every problem has a place.
func FuzzText(f *testing.F) {
	f.Add(heron)
	for _, c := range meaning {
		f.Add(c.text)
	}
	data, err := os.ReadFile("testdata/mistakes.txt")
	if err != nil {
		f.Fatal(err)
	}
	for _, c := range strings.Split(string(data), "=== ")[1:] {
		_, rest, _ := strings.Cut(c, "\n")
		text, _, _ := strings.Cut(rest, "---\n")
		f.Add(text)
	}
	catalogue := kinds.All()
	f.Fuzz(func(t *testing.T, text string) {
		b, problems := read.Text("boat.yaml", text, catalogue)
		for _, p := range problems {
			if !p.Span.Valid() || p.Message == "" || p.Span.Start > p.Span.End || p.Span.End > len(text) {
				t.Errorf("problem without a place: %+v", p)
			}
			p.Span.Excerpt()
		}
		if len(problems) > 0 {
			return
		}
		for _, w := range b.Wires {
			for _, e := range []schema.End{w.From, w.To} {
				if _, ok := e.Part.Terminal(e.Terminal); !ok && e.Terminal != "" {
					t.Errorf("wire %s ends at %s, which is not there", w.ID, e)
				}
			}
		}
		for _, p := range b.Parts {
			p.Branches()
			p.Channels()
			p.Openings()
		}
	})
}
