package pack

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fitout/schema/unit"
)

// Every failure that costs something stands on the reviewer's pages; on the
// owner's every grave one, and no part whose failures are all harmless.
func TestSweepPages(t *testing.T) {
	for _, file := range exampleNames(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			for _, a := range []Audience{Owner, Reviewer} {
				p, in := packOf(t, file, a)
				var named []string
				for i, s := range p.Sheets {
					if strings.HasPrefix(s.ID[4:], "sweep") {
						for _, line := range texts(p.Sheets[i]) {
							named = append(named, words(line)...)
						}
					}
				}
				found := 0
				for _, f := range in.Survey.Sweep() {
					want := f.Costs() && (a == Reviewer || f.Grave())
					for _, word := range words(f.ID) {
						if want && !slices.Contains(named, word) {
							t.Errorf("%s: %s is not on the pages", a, f.String())
						}
					}
					if want {
						found++
					}
				}
				if found < 3 {
					t.Errorf("%s: %d failures only", a, found)
				}
			}
		})
	}
	// the small numbers of one line, read off the page
	p, in := packOf(t, examples+"cruiser.yaml", Owner)
	text := under(p, paperText(t, p), "sweep")
	f, ok := in.Survey.Inflow(in.Survey.Boat.Part("HF1"))
	if line := lineWith(text, "HF1"); !ok || !strings.Contains(line, litresOnly(float64(f.ShortTube))) || !strings.Contains(line, "plug of 51 mm") {
		t.Errorf("HF1: %q; %v L/min", line, f.ShortTube)
	}
	if line := lineWith(text, "H5a"); !strings.Contains(line, "shut SC4 (Engine space, 20 s") {
		t.Errorf("H5a: %q", line)
	}
}

func litresOnly(q float64) string {
	return strings.TrimSuffix(litresPerMin(unit.LitrePerMin(q)), " L/min")
}
