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

// The limits are the targets of the project's layout note: at most 2 crossings
// and 1.8 bends per hose on a sheet, no fault of any other kind.
func TestSampleSystems(t *testing.T) {
	for _, c := range []struct {
		name string
		g    Graph
	}{
		{"raw water", together(a4, rawWater(""))}, {"bilge", together(a4, bilge(""))},
		{"toilet", together(a4, toilet(""))}, {"fresh water", together(a4, fresh(""))},
		{"all on A3", fourSystems(a3)}, {"all on A4", fourSystems(a4)},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := mustLayout(t, c.g)
			report(t, c.g, p)
			for i, s := range p.Sheets {
				bends, runs := s.Bends()
				t.Logf("sheet %d: %d crossings, %d bends on %d runs, %d bands, scale %d", i+1, s.Crossings(), bends, runs, len(s.Bands), s.Bands[0].Scale)
				if s.Crossings() > 2 || 10*bends > 18*runs {
					t.Errorf("sheet %d: %d crossings, %d bends on %d runs", i+1, s.Crossings(), bends, runs)
				}
			}
		})
	}
}

func TestInventedBoats(t *testing.T) {
	for systems := 1; systems <= 8; systems++ {
		for _, parts := range []int{10, 20, 31, 45, 60, 80, 100, 120} {
			for k, pages := range [][]Size{a3, a4} {
				g := boat(int64(1000*systems+parts), systems, parts, pages)
				t.Run(fmt.Sprintf("%d systems %d parts page %d", systems, parts, k), func(t *testing.T) {
					p := mustLayout(t, g)
					report(t, g, p)
					cross, bends, runs := 0, 0, 0
					for _, s := range p.Sheets {
						cross += s.Crossings()
						b, r := s.Bends()
						bends, runs = bends+b, runs+r
					}
					t.Logf("%d sheets, %d crossings, %.2f bends per run", len(p.Sheets), cross, float64(bends)/float64(max(1, runs)))
				})
			}
		}
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
