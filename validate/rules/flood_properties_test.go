package rules

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fitout/schema/diag"
	"fitout/validate/survey"
)

// circuit is a random line from the sea to an opening inside, as text.
type circuit struct {
	heel, trim, laden float64
	th, mid, end      [3]float64 // height, offset, station
	peak              float64
	vented, pump      bool
}

func randomCircuit(r *rand.Rand) circuit {
	mm := func(lo, hi float64) float64 { return math.Round((lo+r.Float64()*(hi-lo))*1000) / 1000 }
	at := func(lo, hi float64) [3]float64 { return [3]float64{mm(lo, hi), mm(-1.5, 1.5), mm(0, 10)} }
	return circuit{
		heel: float64(5 + r.IntN(26)), trim: float64(r.IntN(3)), laden: mm(0, 0.1),
		th: at(-0.6, 0.4), mid: at(-0.4, 0.8), end: at(-0.4, 0.6), peak: mm(0, 1), vented: r.IntN(2) == 0, pump: r.IntN(2) == 0,
	}
}

func (c circuit) lines() []string {
	p := func(v [3]float64) string {
		return fmt.Sprintf("height: %.3f m, offset: %.3f m, station: %.3f m", v[0], v[1], v[2])
	}
	mid := "  X1: {kind: strainer, " + p(c.mid) + "}"
	if c.vented {
		mid = "  X1: {kind: vented-loop, " + p(c.mid) + "}"
	} else if c.pump {
		mid = "  X1: {kind: pump, drive: hand, duty: sump, " + p(c.mid) + "}"
	}
	return []string{
		"  TH1: {kind: through-hull, service: discharge, size: 1 in, " + p(c.th) + ", seacock: {id: SC1, type: flanged-ball}}",
		mid,
		"  SK1: {kind: sink, rim: " + fmt.Sprintf("%.3f m, offset: %.3f m, station: %.3f m", c.end[0], c.end[1], c.end[2]) + "}",
	}
}

func (c circuit) text(order []int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "fitout: 1\nvessel: {hull: motor, length: 10 m, heel: %g deg, trim: %g deg, laden: %.3f m}\nparts:\n", c.heel, c.trim, c.laden)
	lines := c.lines()
	for _, i := range order {
		b.WriteString(lines[i] + "\n")
	}
	hoses := []string{
		fmt.Sprintf("  - {id: H1, from: SK1, to: X1.in, bore: 25 mm, length: 1 m, peak: %.3f m}", max(c.peak, c.mid[0], c.end[0])),
		"  - {id: H2, from: X1.out, to: TH1, bore: 25 mm, length: 1 m}",
	}
	b.WriteString("hoses:\n" + hoses[order[0]%2] + "\n" + hoses[1-order[0]%2] + "\n")
	return b.String()
}

var straight = []int{0, 1, 2}

// flooded returns which of the flooding rules speak.
func flooded(t *testing.T, text string) []string {
	t.Helper()
	c := &Context{Survey: survey.Of(boatOf(t, text)), looked: map[string]int{}}
	for _, r := range []Rule{rimFloods, floodsByGravity, siphonPath, loopTooLow, bilgeDischargeLow, noSeacock, ventDips} {
		c.rule = r.Name
		r.Check(c)
	}
	var out []string
	for _, f := range c.found {
		switch f.Rule {
		case "rim-floods", "floods-by-gravity", "siphon-path", "loop-too-low", "bilge-discharge-low", "no-seacock", "vent-dips":
			if f.Severity == diag.Error && !slices.Contains(out, f.Rule) {
				out = append(out, f.Rule)
			}
		}
	}
	slices.Sort(out)
	return out
}

// TestLowerNeverDries: lowering an opening, loading the boat or heeling her more
// never takes away that she floods (it may turn a siphon into plain flooding).
// The law behind it: every height falls, or the set of attitudes grows.
func TestLowerNeverDries(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 30))
	wet := 0
	for range 600 {
		c := randomCircuit(r)
		before := flooded(t, c.text(straight))
		if len(before) == 0 {
			continue
		}
		wet++
		for name, change := range map[string]func(*circuit){
			"a lower through-hull":   func(c *circuit) { c.th[0] -= 0.1 },
			"a lower rim":            func(c *circuit) { c.end[0] -= 0.1 },
			"a lower middle":         func(c *circuit) { c.mid[0] -= 0.1 },
			"a lower peak":           func(c *circuit) { c.peak -= 0.2 },
			"a deeper boat":          func(c *circuit) { c.laden += 0.05 },
			"more heel":              func(c *circuit) { c.heel += 5 },
			"an air valve taken out": func(c *circuit) { c.vented = false },
		} {
			d := c
			change(&d)
			if name == "an air valve taken out" && len(before) == 1 && before[0] == "loop-too-low" {
				continue // what is not there cannot stand too low
			}
			if after := flooded(t, d.text(straight)); len(after) == 0 {
				t.Errorf("%s takes away %v:\n%s", name, before, d.text(straight))
			}
		}
	}
	if wet < 200 {
		t.Fatalf("only %d of the boats flood: the test says little", wet)
	}
}

// TestOrderIsNothing: the same boat with its parts and hoses in another order
// says the same.
func TestOrderIsNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for range 100 {
		c := randomCircuit(r)
		want := flooded(t, c.text(straight))
		for _, order := range [][]int{{1, 0, 2}, {2, 1, 0}} {
			if got := flooded(t, c.text(order)); !slices.Equal(got, want) {
				t.Errorf("order %v says %v, want %v:\n%s", order, got, want, c.text(order))
			}
		}
	}
}

// TestFloodsAgreeWithFormula holds floods of an unvented line against the formula
// written out here by hand: in some attitude both ends lie under the laden sea.
// Crest and vent do not matter, since a siphon needs neither.
func TestFloodsAgreeWithFormula(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 9))
	for range 400 {
		c := randomCircuit(r)
		c.vented = false
		if c.th[1]*c.end[1] < 0 {
			c.end[1] = -c.end[1] // one side: no angle between the extremes counts
		}
		want := false
		for _, heel := range []float64{0, c.heel, -c.heel} {
			for _, trim := range []float64{0, c.trim, -c.trim} {
				h := func(p [3]float64) float64 {
					a, b := heel*math.Pi/180, trim*math.Pi/180
					return p[0]*math.Cos(a)*math.Cos(b) - p[1]*math.Sin(a) - (5-p[2])*math.Sin(b) - c.laden
				}
				want = want || h(c.th) < -1e-6 && h(c.end) < -1e-6
			}
		}
		got := flooded(t, c.text(straight))
		has := slices.Contains(got, "rim-floods") || slices.Contains(got, "siphon-path")
		if has != want {
			t.Errorf("floods %v (%v), by the formula %v:\n%s", has, got, want, c.text(straight))
		}
	}
}

// tenderText is a boat with many like circuits of eight parts: an intake, a
// strainer, a pump, a cooler and its discharge, a toilet line and a basin.
func tenderText(circuits int) string {
	var parts, hoses strings.Builder
	for i := range circuits {
		fmt.Fprintf(&parts, `  TH%[1]d: {kind: through-hull, service: intake, size: 3/4 in, height: -0.5 m, offset: 0.2 m, seacock: {id: SC%[1]d, type: flanged-ball}}
  ST%[1]d: {kind: strainer, size: 3/4 in, height: -0.4 m, offset: 0.2 m}
  P%[1]d: {kind: pump, duty: circulating, design: centrifugal, height: -0.3 m, offset: 0.2 m}
  AC%[1]d: {kind: aircon, capacity: 9000 BTU/h, height: 0.3 m, offset: 0.2 m}
  TD%[1]d: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m, offset: 1.2 m}
  SK%[1]d: {kind: sink, rim: 0.1 m, offset: -1.2 m}
  TS%[1]d: {kind: through-hull, service: drain, size: 1-1/2 in, height: -0.2 m, offset: -1 m, seacock: {id: SS%[1]d, type: flanged-ball}}
`, i)
		fmt.Fprintf(&hoses, `  - {id: HA%[1]d, path: [TH%[1]d, ST%[1]d, P%[1]d, AC%[1]d.water-in], bore: 19 mm, lengths: [0.5 m, 1 m, 2 m], clamps: 1}
  - {id: HB%[1]d, from: AC%[1]d.water-out, to: TD%[1]d, bore: 19 mm, length: 2 m}
  - {id: HC%[1]d, from: SK%[1]d, to: TS%[1]d, bore: 38 mm, length: 1 m}
`, i)
	}
	return "fitout: 1\nvessel: {hull: sail, beam: 3.4 m, sheer: 1.2 m, length: 10 m}\nparts:\n" + parts.String() + "hoses:\n" + hoses.String()
}

// BenchmarkStaticWater judges the water of boats of 200 to 20,000 parts, and a
// manifold that joins one opening to as many basins.
func BenchmarkStaticWater(b *testing.B) {
	for _, circuits := range []int{22, 222, 2222} {
		boat := boatOf(b, tenderText(circuits))
		b.Run(fmt.Sprintf("parts=%d", len(boat.Parts)), func(b *testing.B) {
			for b.Loop() {
				c := &Context{Survey: survey.Of(boat), looked: map[string]int{}}
				for _, r := range All() {
					if r.Section == waterStatic && r.Check != nil {
						c.rule = r.Name
						r.Check(c)
					}
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(boat.Parts)), "ns/part")
		})
	}
}
