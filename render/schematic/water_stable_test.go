package schematic_test

import (
	"math"
	"os"
	"strings"
	"testing"

	"fitout/render/schematic"
	"fitout/render/sheet"
	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// waterPlaces are the upper left corners of all parts, by sheet and part.
func waterPlaces(t *testing.T, text, paper string, edit func(*schematic.Input)) map[string][2]float64 {
	t.Helper()
	boat, problems := read.Boat(func(string) ([]byte, error) { return []byte(text), nil }, "boat.yaml", kinds.All())
	if len(problems) > 0 {
		t.Fatal(problems[0].Message)
	}
	s := survey.Of(boat)
	in := schematic.Input{Survey: s, Result: rules.Check(s), First: 1, Papers: papers(paper)}
	if edit != nil {
		edit(&in)
	}
	pages, err := schematic.Water(in)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][2]float64{}
	for i, p := range pages {
		f := readSheet(t, p.Finish(sheet.TitleBlock{}, i+1, len(pages)))
		for id, x := range f.parts {
			out[p.ID+" "+id] = [2]float64{x.x0, x.y0}
		}
	}
	return out
}

// A small edit moves nothing here, though the purpose of the drawings allows that
// one part in five moves more than 4 units (10 mm) on the sheet with the change. Nor
// do the findings, but for the yacht on A4, where the legend of one sheet is longer
// than the rows kept free for it.
func TestWaterStable(t *testing.T) {
	for _, c := range []struct {
		boat, what, from, to string
		findings             float64 // share that keeps its place without the findings, on A4
	}{
		{"yacht", "a hose is longer", "lengths: [0.9 m, 0.8 m]", "lengths: [1.1 m, 0.8 m]", 0.7},
		{"cruiser", "a hose is longer", "length: 0.9 m", "length: 1.1 m", 1},
		{"workboat", "a hose is longer", "length: 3.2 m", "length: 3.4 m", 1},
	} {
		text, err := os.ReadFile("../../examples/" + c.boat + ".yaml")
		if err != nil {
			t.Fatal(err)
		}
		after := strings.Replace(string(text), c.from, c.to, 1)
		if after == string(text) {
			t.Errorf("%s has no %q", c.boat, c.from)
		}
		for _, paper := range []string{"A4", "A3"} {
			before := waterPlaces(t, string(text), paper, nil)
			if kept := keep(before, waterPlaces(t, after, paper, nil)); kept < 1 {
				t.Errorf("%s, %s: %s: %.0f %% of the parts keep their place", c.boat, paper, c.what, 100*kept)
			}
			clean := waterPlaces(t, string(text), paper, func(in *schematic.Input) { in.Clean = true })
			kept := keep(before, clean)
			least := 1.0
			if paper == "A4" {
				least = c.findings
			}
			if kept < least {
				t.Errorf("%s, %s: without the findings %.0f %% of the parts keep their place", c.boat, paper, 100*kept)
			}
		}
	}
}

func keep(before, after map[string][2]float64) float64 {
	n := 0
	for id, p := range before {
		if q, ok := after[id]; ok && math.Abs(p[0]-q[0]) <= 10 && math.Abs(p[1]-q[1]) <= 10 {
			n++
		}
	}
	return float64(n) / float64(len(before))
}
