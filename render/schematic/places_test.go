package schematic_test

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/render/schematic"
	"fitout/render/sheet"
	"fitout/schema/boattest"
	"fitout/validate/survey"
)

// What the file puts within the boat has its place within the outline, from above
// and from the side, on every paper; and no mark lies on another.
func TestPlacesWithinTheHull(t *testing.T) {
	files, _ := filepath.Glob("../../examples/*.yaml")
	seen := 0
	for _, path := range files {
		in := readBoat(t, path)
		for _, paper := range sheet.Papers() {
			in.Papers = []sheet.Paper{paper.Portrait(), paper.Landscape()}
			pages, err := schematic.Places(in)
			if err != nil {
				t.Fatal(err)
			}
			for _, p := range pages {
				if !strings.Contains(p.Title, "key") {
					seen += marksWithin(t, in, path, p, strings.Contains(p.Title, "from above"))
				}
			}
		}
	}
	if seen < 500 {
		t.Errorf("only %d marks were looked at", seen)
	}
}

func marksWithin(t *testing.T, in schematic.Input, path string, p sheet.Page, plan bool) (seen int) {
	t.Helper()
	var hull []draw.Point
	type mark struct {
		id  string
		box draw.Box
		at  draw.Point // true place: the dot its leader leads to, else its middle
	}
	var marks []mark
	var leaders []draw.Polyline
	for _, it := range p.Items {
		switch it := it.(type) {
		case draw.Group:
			if it.Class == "hull" {
				hull = it.Strokes[0].(draw.Polyline).Points
			}
			for _, s := range it.Strokes {
				if l, ok := s.(draw.Polyline); ok && it.Class == "leaders" {
					leaders = append(leaders, l)
				}
			}
		case draw.Part:
			b := it.Strokes[0].Bounds()
			marks = append(marks, mark{it.ID, b, draw.Point{X: (b.Min.X + b.Max.X) / 2, Y: (b.Min.Y + b.Max.Y) / 2}})
		}
	}
	v := in.Survey.Boat.Vessel
	boxes := make([]draw.Box, len(marks))
	for i, m := range marks {
		boxes[i] = m.box
	}
	for i, m := range marks {
		m.at = placeOf(i, boxes, leaders)
		for _, o := range marks[:i] {
			if m.box.Grow(-0.01).Overlaps(o.box) {
				t.Errorf("%s, %s on %s: the marks of %s and %s lie on each other", path, p.Title, p.Frame.Paper.Name, m.id, o.id)
			}
		}
		part := in.Survey.Boat.Part(m.id)
		s := float64(part.Station().V)
		inside := s > 0 && s < float64(v.Length.V)
		if plan {
			inside = inside && math.Abs(float64(part.Offset().V)) <= float64(v.Beam.V)/2
		} else {
			inside = inside && float64(part.Height().V) < float64(v.Sheer.V)
		}
		if !inside {
			continue
		}
		seen++
		if winding(hull, m.at) == 0 {
			t.Errorf("%s, %s on %s: the place of %s lies outside the hull", path, p.Title, p.Frame.Paper.Name, m.id)
		}
	}
	return seen
}

// placeOf is the true place of a mark: where the leader leads that starts at its
// box, or at one that it is stacked with; without one the middle of the box.
func placeOf(i int, boxes []draw.Box, leaders []draw.Polyline) draw.Point {
	stack := []int{i}
	for n := 0; n < len(stack); n++ {
		b := boxes[stack[n]].Grow(0.01)
		for _, l := range leaders {
			if b.Contains(draw.Box{Min: l.Points[0], Max: l.Points[0]}) {
				return l.Points[1]
			}
		}
		for k := range boxes {
			if b.Overlaps(boxes[k]) && !slices.Contains(stack, k) {
				stack = append(stack, k)
			}
		}
	}
	b := boxes[i]
	return draw.Point{X: (b.Min.X + b.Max.X) / 2, Y: (b.Min.Y + b.Max.Y) / 2}
}

// winding counts how often an outline goes round a point, by the angles at which
// it sees the corners.
func winding(shape []draw.Point, p draw.Point) int {
	sum := 0.0
	for i, a := range shape {
		b := shape[(i+1)%len(shape)]
		d := math.Atan2(float64(b.Y-p.Y), float64(b.X-p.X)) - math.Atan2(float64(a.Y-p.Y), float64(a.X-p.X))
		sum += math.Remainder(d, 2*math.Pi)
	}
	return int(math.Round(sum / (2 * math.Pi)))
}

// A boat with more parts than a sheet can show has its places on several sheets
// of the paper asked for, each part on one plan.
func TestPlacesOfManyParts(t *testing.T) {
	text := "vessel: {name: Many, length: 14 m, beam: 4 m, sheer: 1.2 m}\nspaces:\n  fore: {title: Fore}\n  aft: {title: Aft}\nparts:\n"
	for i := range 310 {
		text += fmt.Sprintf("  LT%d: {kind: light, draw: 1 A, space: %s, station: %.2f m, offset: %.2f m, height: %.2f m}\n",
			i+1, []string{"fore", "aft"}[i/150%2], 2+float64(i%31)*0.37, float64(i%7)*0.2-0.6, float64(i%5)*0.2)
	}
	in := schematic.Input{Survey: survey.Of(boattest.Read(t, text)), Papers: papers("A4"), Larger: papers("A3"), First: 1}
	pages, err := schematic.Places(in)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]int{}
	for _, p := range pages {
		if p.Frame.Paper.Name != "A4" {
			t.Errorf("%q stands on %s", p.Title, p.Frame.Paper.Name)
		}
		marks := 0
		for _, it := range p.Items {
			if part, ok := it.(draw.Part); ok {
				marks++
				if strings.Contains(p.Title, "from above") {
					seen[part.ID]++
				}
			}
		}
		if marks > 120 {
			t.Errorf("%q has %d marks", p.Title, marks)
		}
	}
	if len(seen) != 310 {
		t.Errorf("%d parts of 310 stand on the plans", len(seen))
	}
	for id, n := range seen {
		if n != 1 {
			t.Errorf("%s stands on %d plans", id, n)
		}
	}
}
