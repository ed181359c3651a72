package render_test

import (
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"fitout/render"
	"fitout/render/draw"
	"fitout/render/pdf"
	"fitout/render/sheet"
)

// Every example on every paper, in colour and in black: every sheet has its
// frame, and what is printed of it is sound.
func TestEveryPaper(t *testing.T) {
	if testing.Short() {
		t.Skip("not in the short run")
	}
	files, _ := filepath.Glob("../examples/*.yaml")
	for _, path := range files {
		example := strings.TrimSuffix(filepath.Base(path), ".yaml")
		for i, p := range sheet.Papers() {
			o := render.Options{Paper: p.Name, Mono: i%2 == 1}
			sheets := sheetsOf(t, example, o)
			for k, s := range sheets {
				framed(t, example+" on "+p.Name, s, k+1, len(sheets))
				elsewhere(t, example+" on "+p.Name, s, sheets)
			}
			t.Run(example+" "+p.Name, func(t *testing.T) { prints(t, sheets, o) })
		}
	}
}

// prints holds files against xmllint, qpdf and poppler: the SVG files are well
// formed, the PDF is sound, its faces are embedded subsets, every text of a sheet
// can be found on its page, and every sheet has its bookmark.
func prints(t *testing.T, sheets []draw.Sheet, o render.Options) {
	xmllint, qpdf, fonts, text := tool(t, "xmllint"), tool(t, "qpdf"), tool(t, "pdffonts"), tool(t, "pdftotext")
	dir := t.TempDir()
	var names []string
	for _, s := range sheets {
		name := filepath.Join(dir, s.ID+".svg")
		put(t, name, svgFile(t, s, o.Theme()))
		names = append(names, name)
	}
	runTool(t, nil, xmllint, append([]string{"--noout"}, names...)...)
	d := pdf.Document{Title: "Kittiwake: drawings", Author: "R. Tern", Created: time.Date(2026, 5, 2, 0, 0, 0, 0, time.UTC), Theme: o.Theme()}
	file := pdfFile(t, dir, sheets, d)
	if out := string(runTool(t, nil, qpdf, "--check", file)); strings.Contains(strings.ToLower(out), "warning") {
		t.Error(out)
	}
	for _, l := range strings.Split(strings.TrimSpace(string(runTool(t, nil, fonts, file))), "\n")[2:] {
		if !regexp.MustCompile(`^[A-Z]{6}\+Go-\w+ .* yes yes yes `).MatchString(l) {
			t.Errorf("not embedded, a subset and mapped to Unicode: %s", l)
		}
	}
	pages := strings.Split(string(runTool(t, nil, text, "-raw", file, "-")), "\f")
	if len(pages) != len(sheets)+1 {
		t.Fatalf("%d pages, %d sheets", len(pages)-1, len(sheets))
	}
	for i, s := range sheets {
		found := packed(pages[i])
		for _, x := range textsIn(s.Items) {
			if want := packed(x.Clean()); !strings.Contains(found, want) {
				t.Errorf("%s: %q is not in the text of page %d", s.ID, x.S, i+1)
			}
		}
	}
	if got, want := bookmarks(t, qpdf, file), titlesOf(sheets); !slices.Equal(got, want) {
		t.Errorf("bookmarks %q, sheets %q", got, want)
	}
	info := string(runTool(t, nil, tool(t, "pdfinfo"), "-l", "999", file))
	for i, s := range sheets {
		m := regexp.MustCompile(fmt.Sprintf(`Page +%d size: +([0-9.]+) x ([0-9.]+) pts`, i+1)).FindStringSubmatch(info)
		if m == nil {
			t.Fatalf("no size of page %d:\n%s", i+1, info)
		}
		for k, mm := range []draw.MM{s.W, s.H} { // a point is 25.4/72 mm (ISO 32000)
			if pt, err := strconv.ParseFloat(m[k+1], 64); err != nil || math.Abs(pt*25.4/72-float64(mm)) > 0.01 {
				t.Errorf("%s: the page is %s points, the sheet %v mm", s.ID, m[k+1], mm)
			}
		}
	}
	for _, want := range []string{"Kittiwake: drawings", "R. Tern", "2026"} {
		if !strings.Contains(info, want) {
			t.Errorf("the properties do not say %q:\n%s", want, info)
		}
	}
}

func packed(s string) string { return strings.Join(strings.Fields(s), "") }

func titlesOf(sheets []draw.Sheet) (out []string) {
	for _, s := range sheets {
		out = append(out, s.Title)
	}
	return out
}

func bookmarks(t *testing.T, qpdf, file string) (out []string) {
	t.Helper()
	var doc struct {
		Outlines []struct{ Title string }
	}
	if err := json.Unmarshal(runTool(t, nil, qpdf, "--json", "--json-key=outlines", file), &doc); err != nil {
		t.Fatal(err)
	}
	for _, o := range doc.Outlines {
		out = append(out, o.Title)
	}
	return out
}

func textsIn(items []draw.Item) (out []draw.Text) {
	for _, it := range items {
		switch it := it.(type) {
		case draw.Text:
			out = append(out, it)
		case draw.Part:
			for _, s := range it.Strokes {
				out = append(out, textsIn([]draw.Item{s})...)
			}
		case draw.Group:
			for _, s := range it.Strokes {
				out = append(out, textsIn([]draw.Item{s})...)
			}
		case draw.Band:
			out = append(out, textsIn(it.Items)...)
		}
	}
	return out
}

// shortened is a text that says on which sheet the whole of it stands.
var shortened = regexp.MustCompile(`^(.*) … in full on sheet (\d+)$`)

// elsewhere holds a text that refers to another sheet against that sheet: what it
// begins with stands there, and goes on.
func elsewhere(t *testing.T, what string, s draw.Sheet, sheets []draw.Sheet) {
	t.Helper()
	for _, x := range textsIn(s.Items) {
		m := shortened.FindStringSubmatch(x.S)
		if m == nil {
			continue
		}
		n, err := strconv.Atoi(m[2])
		if err != nil || n < 1 || n > len(sheets) {
			t.Errorf("%s, %s: there is no sheet %q", what, s.ID, m[2])
			continue
		}
		all := ""
		for _, y := range textsIn(sheets[n-1].Items) {
			all += y.S + " "
		}
		if begins := packed(m[1])[:min(len(packed(m[1])), 60)]; !strings.Contains(packed(all), begins) {
			t.Errorf("%s, %s: sheet %d does not hold %q", what, s.ID, n, m[1])
		}
	}
}

// framed holds a sheet against what each has: no text cut short, the fields of ISO
// 7200 (from memory) with the number of the sheet, the caution whole, the bar to check the printer
// by, and nothing outside the frame but the zones.
func framed(t *testing.T, what string, s draw.Sheet, n, of int) {
	t.Helper()
	var title, foot []string
	bar := false
	inner := draw.Box{Min: draw.Point{X: 20, Y: 10}, Max: draw.Point{X: s.W - 10, Y: s.H - 10}}
	for _, it := range s.Items {
		g, ok := it.(draw.Group)
		if b := it.Bounds(); !(ok && g.Class == "frame") && !b.Empty() && !inner.Grow(0.4).Contains(b) {
			t.Errorf("%s, %s: %T at %v leaves the frame", what, s.ID, it, b)
		}
		for _, x := range textsIn([]draw.Item{it}) {
			if ok && g.Class == "title-block" {
				title = append(title, x.S)
			}
			if ok && g.Class == "caution" {
				foot = append(foot, x.S)
			}
		}
		if ok && g.Class == "caution" {
			for _, k := range g.Strokes {
				bar = bar || k.Bounds().Width() == 50
			}
		}
	}
	for _, want := range []string{"Owner", "Drawing number", "Date", "Approved", "Drawn", "Document", "Rev.", "Sheet"} {
		if !slices.Contains(title, want) {
			t.Errorf("%s, %s: the title block has no field %q", what, s.ID, want)
		}
	}
	words := strings.Join(title, " ")
	if want := fmt.Sprintf("%d of %d", n, of); !strings.Contains(words, want) {
		t.Errorf("%s, %s: the title block does not say %q", what, s.ID, want)
	}
	if !bar {
		t.Errorf("%s, %s: no bar of 50 mm", what, s.ID)
	}
	for _, x := range textsIn(s.Items) {
		if strings.Contains(x.S, "…") && !shortened.MatchString(x.S) {
			t.Errorf("%s, %s: cut short: %q", what, s.ID, x.S)
		}
	}
	if len(foot) < 2 {
		t.Errorf("%s, %s: no caution", what, s.ID)
	}
}
