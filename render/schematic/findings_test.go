package schematic_test

import (
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/render/schematic"
	"fitout/render/sheet"
)

// Whatever room the sheets leave, the text of every finding that is marked on a
// DC sheet can be read on one of them; two notes take no sheet of their own.
func TestFindingsAreAllListed(t *testing.T) {
	files, _ := filepath.Glob("../../examples/*.yaml")
	for _, path := range files {
		in := readBoat(t, path)
		pages, err := schematic.DC(in)
		if err != nil {
			t.Fatal(err)
		}
		all, marks := "", map[string]bool{}
		for _, p := range pages {
			for _, x := range textsOf(p.Items) {
				all += squeeze(x.S)
			}
			for _, id := range marked(p) {
				marks[id] = true
			}
			if strings.HasSuffix(p.ID, "-findings") && strings.Contains(path, "dayboat") {
				t.Errorf("%s: two notes stand on a sheet of their own", path)
			}
		}
		for i, f := range in.Result.Findings {
			if marks[strconv.Itoa(i+1)] && !strings.Contains(all, squeeze(f.Message)) {
				t.Errorf("%s: the text of finding %d (%s) stands on no sheet", path, i+1, f.Rule)
			}
		}
	}
}

// marked lists the numbers in the marks of a page.
func marked(p sheet.Page) (out []string) {
	for _, it := range p.Items {
		if g, ok := it.(draw.Group); ok && strings.HasPrefix(g.Class, "finding ") {
			for _, x := range textsOf([]draw.Item{g}) {
				out = append(out, x.S)
			}
		}
	}
	return out
}

// A number in a sheet's legend has its mark on the drawing: a reader who looks for
// what the legend says must find where. The boat is the least there is, with a
// finding on a fuse between two labelled conductors; its reviewer's eye gave the
// example.
func TestLegendAndMarksAgree(t *testing.T) {
	files, _ := filepath.Glob("../../examples/*.yaml")
	check := func(name string, in schematic.Input) {
		pages, err := schematic.DC(in)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range pages {
			marks := marked(p)
			told := map[string]bool{}
			elsewhere := false
			for _, it := range p.Items {
				g, ok := it.(draw.Group)
				if !ok || g.Class != "legend" {
					continue
				}
				for _, x := range textsOf([]draw.Item{g}) {
					told[x.S] = true
					elsewhere = elsewhere || strings.Contains(x.S, "see sheet")
					if _, err := strconv.Atoi(x.S); err == nil && x.Letters == draw.MarkNumber && !slices.Contains(marks, x.S) {
						t.Errorf("%s, %s: finding %s is in the legend and nowhere on the drawing", name, p.ID, x.S)
					}
				}
			}
			for _, m := range marks {
				if !told[m] && !elsewhere {
					t.Errorf("%s, %s: no legend tells what mark %s is, nor where", name, p.ID, m)
				}
			}
		}
	}
	for _, path := range files {
		check(path, readBoat(t, path))
	}
	check("launch", textBoat(t, launch))
}

const launch = `fitout: 1
vessel: {name: Launch}
rules: {set: us}
parts:
  B1: {kind: battery, title: Battery, chemistry: agm, volts: 12 V, capacity: 40 Ah}
  S1: {kind: switch, title: Battery switch, rating: 100 A}
  P1: {kind: pump, title: Bilge pump, duty: bilge, volts: 12 V, draw: 2.5 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 5 A}, S1, P1.+], size: 14 AWG, lengths: [0.15 m, 0.4 m, 0.8 m]}
  - {id: 2, from: P1.-, to: B1.-, size: 14 AWG, length: 1.2 m}
`

// An earth conductor may land on any part of the DC side: on a bus with no other
// earth on it, on a battery's post. The sheet is drawn.
func TestEarthLandsAnywhere(t *testing.T) {
	for _, to := range []string{"BN", "B1.-", "P1.case"} {
		text := strings.Replace(launch, "wires:\n", `  BN: {kind: bus, title: Negative bus, rating: 100 A, polarity: negative}
  SI1: {kind: shore-inlet, title: Shore inlet, volts: 120 V, rating: 15 A}
  AP: {kind: ac-panel, title: AC panel, rating: 15 A, ways: {1: {title: Sockets, rating: 15 A, poles: 2}}}
  OU1: {kind: outlet, title: Socket, rating: 15 A}
wires:
  - {id: 3, from: B1.-, to: BN, size: 14 AWG, length: 1 m}
  - {id: 4, from: AP.PE-in, to: `+to+`, size: 10 AWG, length: 1 m, color: green}
  - {id: 70, from: SI1, to: AP.in, cable: 3 core 10 AWG, length: 1 m}
  - {id: 71, from: AP.1, to: OU1, cable: 3 core 14 AWG, length: 1 m}
`, 1)
		pages, err := schematic.AC(textBoat(t, text))
		if err != nil {
			t.Errorf("to %s: %v", to, err)
			continue
		}
		id, _, _ := strings.Cut(to, ".")
		if !slices.ContainsFunc(pages[0].Items, func(it draw.Item) bool { p, ok := it.(draw.Part); return ok && p.ID == id }) {
			t.Errorf("to %s: the sheet does not show it", to)
		}
	}
}

// A finding on a light's conductor that names the panel too has its mark where the
// conductor is, and not on every sheet that the panel's bar crosses: beside the panel
// it would be taken for a fault of the panel.
func TestMarkStandsWhereTheConductorIs(t *testing.T) {
	in := readBoat(t, "../../examples/tired.yaml")
	pages, err := schematic.DC(in)
	if err != nil {
		t.Fatal(err)
	}
	number, last := "", ""
	for _, p := range pages {
		for _, x := range textsOf(p.Items) {
			if strings.Contains(x.S, "wire-below-minimum") {
				number = last
			}
			if _, err := strconv.Atoi(x.S); err == nil {
				last = x.S
			}
		}
	}
	on := 0
	for _, p := range pages {
		if !slices.Contains(marked(p), number) {
			continue
		}
		on++
		if !slices.ContainsFunc(p.Items, func(it draw.Item) bool { q, ok := it.(draw.Part); return ok && q.ID == "LT1" }) {
			t.Errorf("%s: mark %s stands there, the cabin lights do not", p.ID, number)
		}
	}
	if number == "" || on != 1 {
		t.Errorf("mark %q stands on %d sheets", number, on)
	}
}
