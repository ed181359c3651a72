package schematic_test

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"fitout/render"
	"fitout/render/svg"
	"fitout/schema"
	"fitout/schema/boattest"
)

// TestEverySheet measures the sheets that are no circuits with the same eyes: the
// overview, the panels' fronts, the places and the key of every example and of odd
// boats, on every paper, both ways up.
func TestEverySheet(t *testing.T) {
	if testing.Short() {
		t.Skip("hundreds of sheets; not under the race detector, which has TestSameBytesOnAnyCores")
	}
	files, err := filepath.Glob("../../examples/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatal(err)
	}
	for _, path := range files {
		everySheet(t, filepath.Base(path), boattest.ReadFile(t, path))
	}
	for _, n := range []int{60, 150} {
		everySheet(t, fmt.Sprintf("%d parts", n), boattest.Read(t, makeWhole(n, 3, n > 100)))
	}
	for _, o := range oddBoats() {
		everySheet(t, o.name, boattest.Read(t, o.text))
	}
}

func everySheet(t *testing.T, name string, b *schema.Boat) {
	t.Helper()
	for _, paper := range []string{"A4", "A3", "Letter", "Tabloid"} {
		for _, turn := range []render.Turn{render.Portrait, render.Landscape} {
			sheets := drawBoat(t, b, render.Options{Paper: paper, Turn: turn, Which: []string{"overview", "panels", "places", "key"}})
			if len(sheets) == 0 {
				t.Errorf("%s has no sheet", name)
			}
			for _, s := range sheets {
				read := readCircuit(t, s.ID, asSVG(t, s, svg.Options{NoFont: true}))
				for _, x := range append(read.measure().faults, read.slanted()...) {
					t.Errorf("%s, %s, turned %d: %s", name, paper, turn, x)
				}
			}
		}
	}
}

// slanted lists the texts that a slanted line passes over, which measure, made for
// circuits, does not look for, and those that were cut short.
func (s *svgSheet) slanted() (out []string) {
	for _, t := range s.texts {
		if strings.Contains(t.s, "…") {
			out = append(out, fmt.Sprintf("%s: %q is cut short", s.id, t.s))
		}
		in := t.box.grow(-0.1)
		for _, g := range s.other {
			if g.x0 == g.x1 || g.y0 == g.y1 {
				continue
			}
			for k := 0.0; k <= 1; k += 1.0 / 256 {
				if in.distance(g.x0+k*(g.x1-g.x0), g.y0+k*(g.y1-g.y0)) == 0 {
					out = append(out, fmt.Sprintf("%s: a slanted line passes over %q", s.id, t.s))
					break
				}
			}
		}
	}
	return out
}

type oddBoat struct{ name, text string }

// oddBoats are what people write who are not done, or who name things at length.
func oddBoats() []oddBoat {
	list := func(head string, n int, line func(i int) string) string {
		for i := range n {
			head += line(i)
		}
		return head
	}
	return []oddBoat{
		{"no length, no beam", `
vessel: {name: No length}
spaces: {cabin: {title: Cabin}}
parts:
  B1: {kind: battery, volts: 12 V, capacity: 100 Ah, station: 4.2 m, offset: -0.4 m, height: 0.1 m, space: cabin}
  LT1: {kind: light, draw: 1 A, volts: 12 V, station: 2 m, offset: 0.9 m, height: 1.1 m, space: cabin}
circuits:
  - {id: C1, feed: B1.+, return: B1.-, loads: [LT1], size: 2.5 mm2, length: 3 m}
`}, {"no positions", `
vessel: {name: No places, length: 8 m}
spaces: {cabin: {title: Cabin}}
parts:
  B1: {kind: battery, volts: 12 V, capacity: 100 Ah, space: cabin}
  LT1: {kind: light, draw: 1 A, volts: 12 V, space: cabin}
wires:
  - {id: 1, path: [B1.+, {F1: {kind: fuse, rating: 5 A, space: cabin}}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 3 m]}
  - {id: 2, path: [LT1.-, B1.-], size: 2.5 mm2, length: 3 m}
`}, {"a battery and a lamp", `
vessel: {name: Bare}
parts:
  B1: {kind: battery, volts: 12 V, capacity: 100 Ah}
  LT1: {kind: light, draw: 1 A, volts: 12 V}
wires:
  - {id: 1, path: [B1.+, LT1.+], size: 2.5 mm2, length: 1 m}
  - {id: 2, path: [LT1.-, B1.-], size: 2.5 mm2, length: 3 m}
`}, {"water alone, several hulls", `
vessel: {name: Water, length: 9 m, beam: 3 m, hull: multihull}
spaces:
  pp: {title: Port pontoon, station: [1 m, 8 m]}
  sp: {title: Starboard pontoon, station: [1 m, 8 m]}
parts:
  TH1: {kind: through-hull, service: intake, size: 1/2 in, material: bronze, height: -0.3 m, offset: 1.3 m, station: 0.4 m, seacock: SC1, space: sp}
  TH2: {kind: through-hull, service: discharge, size: 1 in, material: bronze, height: 0.3 m, offset: -1.45 m, station: 5 m, space: pp}
  SK1: {kind: sink, height: 0.7 m, offset: -1.3 m, station: 5 m, space: pp}
  WC: {kind: toilet, height: 0.2 m, offset: 1.3 m, station: 2 m, space: sp}
  TH3: {kind: through-hull, service: waste, size: 1 1/2 in, material: bronze, height: -0.2 m, offset: 1.2 m, station: 3 m, seacock: SC3, space: sp}
hoses:
  - {id: H1, path: [TH1, WC.supply], bore: 13 mm, length: 1.5 m}
  - {id: H2, path: [WC.out, TH3], bore: 38 mm, length: 1.5 m}
  - {id: H3, path: [SK1, TH2], bore: 25 mm, length: 0.7 m}
`}, {"AC alone, long names in three scripts, feet", `
vessel: {name: Nur Strom äöü Ελλάδα Лодка, length: 38 ft, beam: 12 ft}
spaces:
  saloon: {title: Großer Salon mit Kombüse und Kartentisch und sehr langem Namen, station: [9 ft, 20 ft]}
parts:
  Landanschluss-Steuerbord: {kind: shore-inlet, title: Landanschluß an Steuerbord achtern, rating: 30 A, volts: 120 V, station: 36 ft, offset: 4 ft, height: 3 ft}
  Hauptschalter-mit-Fehlerstrom: {kind: rcd, title: Hauptschalter, rating: 30 A, poles: 2, trip: 30 mA, station: 35 ft, offset: 4 ft, height: 2 ft 6 in}
  Verteilung: {kind: ac-panel, title: Розподіл, space: saloon, station: 12 ft, offset: 3 ft 6 in, height: 4 ft, ways: {1: {title: Steckdosen längs Backbord und Steuerbord, rating: 15 A}, 2: {title: Boiler, rating: 15 A}}}
  Warmwasserbereiter: {kind: water-heater, title: Θερμοσίφωνας, draw: 1200 W, station: 30 ft, offset: -2 ft, height: 0 ft}
wires:
  - {id: 1, path: [Landanschluss-Steuerbord, Hauptschalter-mit-Fehlerstrom, Verteilung], cable: 3 core 6 mm2, lengths: [1 m, 8 m]}
`}, {"all at one place", list("vessel: {name: Pile, length: 10 m, beam: 3 m, sheer: 1 m}\nspaces: {box: {title: Box, station: [4 m, 6 m]}}\nparts:\n", 60, func(i int) string {
			return fmt.Sprintf("  LT%d: {kind: light, title: Lamp %d, draw: 1 A, volts: 12 V, space: box, station: 5 m, offset: 0.5 m, height: 0.2 m}\n", i+1, i+1)
		})},
		{"all nearly at one place", list("vessel: {name: Heap, length: 10 m, beam: 3 m, sheer: 1 m}\nspaces: {box: {title: Box}}\nparts:\n", 40, func(i int) string {
			return fmt.Sprintf("  LT%d: {kind: light, draw: 1 A, volts: 12 V, space: box, station: %.2f m, offset: %.2f m, height: %.2f m}\n", i+1, 5+float64(i%7)*0.05, 0.3+float64(i%5)*0.04, 0.2+float64(i%3)*0.05)
		})},
		{"thirty spaces", list(list("vessel: {name: Thirty, length: 24 m, beam: 6 m, sheer: 2 m}\nspaces:\n", 30, func(i int) string {
			return fmt.Sprintf("  s%d: {title: Compartment number %d of thirty, station: [%.2f m, %.2f m]}\n", i, i+1, 0.75*float64(i), 0.75*float64(i)+0.8)
		})+"parts:\n", 30, func(i int) string {
			return fmt.Sprintf("  LT%d: {kind: light, draw: 1 A, volts: 24 V, space: s%d, station: %.2f m, offset: %.1f m, height: 1 m}\n"+
				"  TH%d: {kind: through-hull, service: drain, size: 1 in, material: bronze, seacock: SC%d, space: s%d, station: %.2f m, offset: %.1f m, height: -0.4 m}\n",
				i+1, i, 0.75*float64(i)+0.4, float64(i%2)-0.5, i+1, i+1, i, 0.75*float64(i)+0.4, 3*float64(i%2)-1.5)
		})},
		{"long designations", list("vessel: {name: Long, length: 12 m, beam: 4 m, sheer: 1.1 m}\nspaces: {c: {title: Cabin}}\nparts:\n", 30, func(i int) string {
			return fmt.Sprintf("  starboard-reading-light-number-%d-forward: {kind: light, title: 'Reading light %d over the berth on the starboard side of the forward cabin, dimmable', draw: 1 A, volts: 24 V, space: c, station: %.1f m, offset: %.1f m, height: %.1f m}\n",
				i+1, i+1, 1+float64(i*7%23)*0.4, float64(i*5%17)*0.1-0.8, float64(i*3%13)*0.09-0.2)
		})},
	}
}
