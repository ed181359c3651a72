package layout

import (
	"fmt"
	"testing"
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

func TestRandomGraphs(t *testing.T) {
	for seed := range uint64(150) {
		g := anyGraph(seed)
		p, err := Run(g, nil)
		if err != nil {
			t.Fatal(err)
		}
		if faults := Check(g, p); len(faults) > 0 {
			t.Errorf("seed %d: %d faults, first %v", seed, len(faults), faults[0])
		}
	}
}
