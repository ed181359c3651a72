package render_test

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"testing"

	"fitout/render"
	"fitout/render/draw"
	"fitout/render/pdf"
	"fitout/schema/boattest"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

func sheetsOf(t *testing.T, example string, o render.Options) []draw.Sheet {
	t.Helper()
	s := survey.Of(boattest.ReadFile(t, "../examples/"+example+".yaml"))
	sheets, err := render.Sheets(s, rules.Check(s), o)
	if err != nil {
		t.Fatal(err)
	}
	return sheets
}

func pdfFile(t *testing.T, dir string, sheets []draw.Sheet, d pdf.Document) string {
	t.Helper()
	var b bytes.Buffer
	if err := pdf.Write(&b, sheets, d); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(dir, "set.pdf")
	put(t, name, b.Bytes())
	return name
}

// reach is how far apart two rasterisers may put the same line, in millimetres.
const reach = 0.3

// Every sheet looks the same whoever draws it: librsvg and Chromium from the SVG
// file, poppler from the page of the PDF. Where one has surely ink the others
// have some within 0.3 mm, both ways; a letter, a dash or a symbol out of place
// fails with its place on the sheet.
func TestSameSheetEverywhere(t *testing.T) {
	if testing.Short() {
		t.Skip("not in the short run")
	}
	rsvg, poppler, browser := tool(t, "rsvg-convert"), tool(t, "pdftoppm"), chromium(t)
	for _, c := range []struct {
		example string
		o       render.Options
	}{{"dayboat", render.Options{}}, {"cruiser", render.Options{Mono: true, Which: []string{"ac", "water", "places"}}}} {
		dir := t.TempDir()
		sheets := sheetsOf(t, c.example, c.o)
		file := pdfFile(t, dir, sheets, pdf.Document{Theme: c.o.Theme()})
		for i, s := range sheets {
			image := svgFile(t, s, c.o.Theme())
			views := []struct {
				name string
				ink
			}{
				{"Chromium", byChromium(t, browser, s, image)},
				{"rsvg-convert", byRsvg(t, rsvg, dir, s, image)},
				{"the PDF", byPoppler(t, poppler, file, i+1, s)},
			}
			for _, a := range views {
				for _, b := range views {
					if gone := missing(a.ink, b.ink, reach); len(gone) > 0 {
						t.Errorf("%s %s: %d square millimetres that %s shows are not there in %s: at %s", c.example, s.ID, len(gone), a.name, b.name, places(gone))
					}
				}
			}
		}
	}
}

func places(list [][2]float64) string {
	out := ""
	for i, p := range list {
		if i == 5 {
			return out + "…"
		}
		out += fmt.Sprintf("%.1f, %.1f mm; ", p[0], p[1])
	}
	return out
}

// A program that does not read the embedded face, as librsvg, sets the text in
// whatever the machine has, which may be wider: it still stays in the frame.
func TestOtherFacesStayInTheFrame(t *testing.T) {
	if testing.Short() {
		t.Skip("not in the short run")
	}
	rsvg := tool(t, "rsvg-convert")
	for _, example := range []string{"dayboat", "cruiser"} {
		dir := t.TempDir()
		for _, s := range sheetsOf(t, example, render.Options{Which: []string{"dc", "panels", "places"}}) {
			file := svgFile(t, s, draw.InColour)
			own, other := byRsvg(t, rsvg, dir, s, file), rsvgWith(t, nil, rsvg, dir, s, file)
			var out [][2]float64
			for _, p := range missing(other, own, reach) {
				if p[0] > float64(s.W)-10+0.5 && p[1] > 16 && p[1] < float64(s.H)-16 || p[1] > float64(s.H)-10+0.5 && p[1] < float64(s.H)-8 {
					out = append(out, p)
				}
			}
			out = slices.DeleteFunc(out, func(p [2]float64) bool { return zoneMark(s, p) })
			if len(out) > 0 {
				t.Errorf("%s %s: ink beyond the frame at %s", example, s.ID, places(out))
			}
		}
	}
}

// zoneMark reports whether a place is that of a letter or figure of the zones.
func zoneMark(s draw.Sheet, p [2]float64) bool {
	for _, x := range textsIn(s.Items) {
		b := x.Bounds().Grow(1)
		if x.Letters == draw.ZoneMark && p[0] > float64(b.Min.X) && p[0] < float64(b.Max.X) && p[1] > float64(b.Min.Y) && p[1] < float64(b.Max.Y) {
			return true
		}
	}
	return false
}

// The comparison sees what it is there to see: a line moved by half a
// millimetre, a letter left out.
func TestComparisonSees(t *testing.T) {
	rsvg := tool(t, "rsvg-convert")
	dir := t.TempDir()
	sample := func(at draw.MM, text string) ink {
		s := draw.Sheet{ID: "s", W: 40, H: 30}
		s.Add(draw.Line(draw.Point{X: 5, Y: 5 + at}, draw.Point{X: 35, Y: 5 + at}, draw.Negative),
			draw.Text{At: draw.Point{X: 5, Y: 20}, S: text, Letters: draw.Small})
		return byRsvg(t, rsvg, dir, s, svgFile(t, s, draw.InColour))
	}
	still := sample(0, "F1 10 A")
	if gone := missing(still, sample(0.1, "F1 10 A"), reach); len(gone) > 0 {
		t.Errorf("a tenth of a millimetre is too much: %v", gone)
	}
	if len(missing(still, sample(0.8, "F1 10 A"), reach)) < 20 {
		t.Error("a line moved by 0.8 mm was not seen")
	}
	if len(missing(still, sample(0, "F1 10"), reach)) == 0 {
		t.Error("a letter left out was not seen")
	}
}
