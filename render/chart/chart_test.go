package chart

import (
	"math"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/boattest"
	"fitout/validate/survey"
)

func frame(t *testing.T) sheet.Frame {
	t.Helper()
	p, err := sheet.PaperNamed("A4")
	if err != nil {
		t.Fatal(err)
	}
	return sheet.NewFrame(p.Landscape())
}

// By hand: on 1 A … 10 kA over 100 mm a decade takes 25 mm, and 2 A lies at
// 25 × log10 2 = 7.526 mm; on 0 … 50 over 100 mm, 20 lies at 40 mm.
func TestPlaces(t *testing.T) {
	box := draw.Box{Min: draw.Point{X: 30, Y: 20}, Max: draw.Point{X: 130, Y: 120}}
	p := &plot{box: box, x: axis{log: true, lo: 1, hi: 1e4}, y: axis{hi: 50}}
	for _, c := range []struct {
		x, y float64
		want draw.Point
	}{
		{1, 0, draw.Point{X: 30, Y: 120}},
		{100, 20, draw.Point{X: 80, Y: 80}},
		{2, 50, draw.Point{X: 37.526, Y: 20}},
		{1e4, 25, draw.Point{X: 130, Y: 70}},
	} {
		got := p.at(c.x, c.y)
		if math.Hypot(float64(got.X-c.want.X), float64(got.Y-c.want.Y)) > 1e-3 {
			t.Errorf("%v, %v lies at %v, want %v", c.x, c.y, got, c.want)
		}
	}
}

// The adiabatic line t = (kS/I)² falls two decades of time in one of current; a
// line through the box is cut off at its sides.
func TestCurveIsCutAtTheBox(t *testing.T) {
	box := draw.Box{Max: draw.Point{X: 100, Y: 100}}
	p := &plot{box: box, x: axis{log: true, lo: 10, hi: 1000}, y: axis{log: true, lo: 0.01, hi: 1}}
	// 100 A at 1 s, 1000 A at 0.01 s: from the middle of the top to the right corner
	got := points(p.curve([][2]float64{{10, 100}, {1e4, 1e-4}}, draw.CurveDamage))
	if len(got) != 2 || math.Abs(float64(got[0].X-50)) > 1e-6 || math.Abs(float64(got[0].Y)) > 1e-6 ||
		math.Abs(float64(got[1].X-100)) > 1e-6 || math.Abs(float64(got[1].Y-100)) > 1e-6 {
		t.Errorf("cut to %v", got)
	}
}

// sound checks a finished sheet: inside the paper, letters of our own at least
// 2.5 mm, no two texts on each other.
func sound(t *testing.T, name string, p sheet.Page) {
	t.Helper()
	var texts []draw.Text
	var walk func(i draw.Item)
	walk = func(i draw.Item) {
		if b := i.Bounds(); !b.Empty() && !p.Frame.Inner.Contains(b) {
			t.Errorf("%s: %T lies at %v, outside the frame", name, i, b)
		}
		switch i := i.(type) {
		case draw.Text:
			texts = append(texts, i)
		case draw.Group:
			for _, s := range i.Strokes {
				walk(s)
			}
		}
	}
	for _, i := range p.Items {
		walk(i)
	}
	for i, a := range texts {
		if a.Letters.Cap() < 2.5 {
			t.Errorf("%s: %q is %v mm high", name, a.S, a.Letters.Cap())
		}
		for _, b := range texts[:i] {
			if a.Bounds().Overlaps(b.Bounds()) {
				t.Errorf("%s: %q and %q overlap", name, b.S, a.S)
			}
		}
	}
}

// Every device and pump of every example is drawn or says what is missing.
func TestExamples(t *testing.T) {
	f := frame(t)
	charts, diagrams := 0, 0
	for _, name := range []string{"cruiser", "dayboat", "tired", "workboat", "yacht"} {
		s := survey.Of(boattest.ReadFile(t, "../../examples/"+name+".yaml"))
		for _, x := range devices(s.Boat) {
			id := name + " " + x.Part.ID + "." + x.Way
			c, missing := s.ChartOf(x)
			if len(missing) > 0 {
				named(t, id, missing[0].Missing)
				continue
			}
			p, err := TimeCurrent(f, c)
			if err != nil {
				named(t, id, err.Error())
				continue
			}
			charts++
			sound(t, id, p)
		}
		for _, part := range s.Boat.Parts {
			for _, c := range s.Conditions() {
				if !moves(part) {
					continue
				}
				id := name + " " + part.ID + " " + c.ID
				d, missing, err := s.PumpDiagram(c, part)
				if len(missing) > 0 || err != nil {
					if err == nil {
						named(t, id, missing[0].Missing)
					}
					continue
				}
				p, err := PumpAndLine(f, d)
				if err != nil {
					named(t, id, err.Error())
					continue
				}
				diagrams++
				sound(t, id, p)
			}
		}
	}
	if charts < 50 || diagrams < 10 {
		t.Errorf("%d charts and %d diagrams drawn", charts, diagrams)
	}
}

func named(t *testing.T, id, word string) {
	t.Helper()
	if len(strings.TrimSpace(word)) < 8 {
		t.Errorf("%s is not drawn and says only %q", id, word)
	}
}

func moves(p *schema.Part) bool {
	for _, c := range p.Channels() {
		if c.Pump != nil {
			return true
		}
	}
	return false
}

func devices(b *schema.Boat) []survey.ChartSubject {
	var out []survey.ChartSubject
	for _, p := range b.Parts {
		for _, br := range p.Branches() {
			if br.Device != nil && br.Medium == schema.DC {
				out = append(out, survey.ChartSubject{Part: p, Way: br.Way})
			}
		}
	}
	return out
}

// A circuit of which nothing is known is refused with what is missing.
func TestNothingToDraw(t *testing.T) {
	_, err := TimeCurrent(frame(t), survey.CircuitChart{Chart: survey.Chart{Circuit: "C1",
		Devices: []survey.ChartDevice{{Name: "F1", Rating: 10}}}})
	if err == nil || !strings.Contains(err.Error(), "family of F1") {
		t.Errorf("says %v", err)
	}
	_, err = PumpAndLine(frame(t), survey.PumpDiagram{Pump: &schema.Part{ID: "P9"}})
	if err == nil || !strings.Contains(err.Error(), "P9") {
		t.Errorf("says %v", err)
	}
}

// 3.785411784 L is a US gallon and 0.3048 m a foot, both by definition.
func TestBothSystems(t *testing.T) {
	p := &plot{box: draw.Box{Max: draw.Point{X: 100, Y: 100}}, x: axis{hi: 3.785411784 * 10}, y: axis{hi: 3.048},
		secondX: "gpm", factorX: gallons, secondY: "ft", factorY: feet}
	found := 0
	for _, s := range p.otherSystem(nil) {
		if text, ok := s.(draw.Text); ok && text.S == "10" {
			found++
			if math.Abs(float64(text.At.X-100)) > 2 && text.Align == draw.Middle {
				t.Errorf("10 gpm at %v", text.At)
			}
		}
	}
	if found != 2 {
		t.Errorf("%d scales end at 10", found)
	}
}
