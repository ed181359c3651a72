package layout

import (
	"fmt"
	"testing"
	"time"
)

func checkPlan(t *testing.T, g Graph, p *Plan) {
	t.Helper()
	faults := Check(g, p)
	for i, f := range faults {
		if i == 8 {
			t.Errorf("… %d faults", len(faults))
			break
		}
		t.Error(f)
	}
}

func TestEndless(t *testing.T) {
	for _, n := range []int{20, 59, 150, 300, 600} {
		for _, twin := range []bool{false, true} {
			t.Run(fmt.Sprint(n, twin), func(t *testing.T) {
				g := boat(n, 1)
				if twin {
					g = careless(g, 1)
				}
				p, err := Run(g, nil)
				if err != nil {
					t.Fatal(err)
				}
				checkPlan(t, g, p)
				f := Measure(&p.Sheets[0])
				t.Logf("%+v size %dx%d mm bends/wire %.2f notes %d", f, p.Sheets[0].W*5/2, p.Sheets[0].H*5/2, float64(f.Bends)/float64(f.Wires), len(p.Notes))
			})
		}
	}
}

// TestRandomGraphs holds plans of graphs without sense against Check, on one endless sheet and on small pages.
func TestRandomGraphs(t *testing.T) {
	for seed := range uint64(150) {
		g := anyGraph(seed)
		for _, pages := range [][]Page{nil, {{"small", 40, 60, 0}, {"turned", 60, 40, 0}, {"larger", 80, 60, 1}}} {
			p, err := Run(g, pages)
			if err != nil {
				t.Fatal(err)
			}
			if faults := Check(g, p); len(faults) > 0 {
				t.Errorf("seed %d, %d pages: %d faults, first %v", seed, len(pages), len(faults), faults[0])
			}
		}
	}
}

// Usable areas in units of 2.5 mm.
var (
	a3  = []Page{{"A3 landscape", 156, 100, 0}}
	a4p = []Page{{"A4 portrait", 72, 102, 0}}
	a4l = []Page{{"A4 landscape", 106, 68, 0}}
)

func TestSheets(t *testing.T) {
	for _, n := range []int{20, 59, 150, 300, 600} {
		for _, twin := range []bool{false, true} {
			for _, pages := range [][]Page{a3, a4p, a4l} {
				t.Run(fmt.Sprint(n, twin, pages[0].Name), func(t *testing.T) {
					g := boat(n, 1)
					if twin {
						g = careless(g, 1)
					}
					start := time.Now()
					p, err := Run(g, pages)
					if err != nil {
						t.Fatal(err)
					}
					took := time.Since(start)
					checkPlan(t, g, p)
					var sum Figures
					worst, worstB := 0, 0
					for i := range p.Sheets {
						f := Measure(&p.Sheets[i])
						sum.Crossings += f.Crossings
						sum.Bends += f.Bends
						sum.Wires += f.Wires
						sum.Cut += f.Cut
						worst = max(worst, f.Crossings)
						worstB = max(worstB, f.WorstWire)
						sum.LabelsMissing += f.LabelsMissing
					}
					t.Logf("sheets %d misfit %d crossings %d (worst %d) bends %.2f (worst %d) cut %d missing labels %d notes %d in %v", len(p.Sheets), p.misfits(), sum.Crossings, worst,
						float64(sum.Bends)/float64(sum.Wires), worstB, sum.Cut, sum.LabelsMissing, len(p.Notes), took)
				})
			}
		}
	}
}
