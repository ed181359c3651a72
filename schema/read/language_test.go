package read_test

import (
	"fmt"
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

// TestLanguagePage: what the installation-file page shows is read, and means
// what it says there.
func TestLanguagePage(t *testing.T) {
	b := mustRead(t, heron)
	var got strings.Builder
	for _, w := range b.Wires {
		fmt.Fprintf(&got, "%s %s %s %s %s\n", w.ID, w.From, w.To, w.Size.Text, w.Length.Text)
	}
	for _, h := range b.Hoses {
		fmt.Fprintf(&got, "%s %s %s %s\n", h.ID, h.From, h.To, h.Length.Text)
	}
	t.Log(got.String())
}
