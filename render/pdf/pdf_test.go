package pdf

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"fitout/render/draw"
	"fitout/schema/symbol"
)

var day = time.Date(2026, 5, 2, 0, 0, 0, 0, time.UTC)

func samples() []draw.Sheet {
	fuse, _ := symbol.Get("dc/fuse")
	a := draw.Sheet{ID: "dc-1", Title: "Direct current: Bänke — 1", W: 297, H: 210}
	a.Add(draw.SymbolPart("F1", "fuse", fuse, draw.Point{X: 50, Y: 50}, 0, 0, false),
		draw.Text{At: draw.Point{X: 60, Y: 50}, S: "F1 225 A", Letters: draw.Designation},
		draw.Text{At: draw.Point{X: 40, Y: 80}, S: "12a 70 mm² RD Ω θ", Letters: draw.RunLabel, Up: true, Label: true, LabelOf: "12a"},
		draw.Run{ID: "12a", From: "F1.out", To: "B.1", Style: draw.Positive, Core: "RD", Corner: 2, Points: []draw.Point{{X: 50, Y: 55}, {X: 50, Y: 80}, {X: 90, Y: 80}}},
		draw.Arc{Centre: draw.Point{X: 100, Y: 100}, R: 10, From: 30, To: 330, Pen: draw.Pen{Style: draw.Outline}},
		draw.Circle(draw.Point{X: 130, Y: 100}, 3.6, draw.Pen{Style: draw.FindingError, Fill: draw.Paper}),
		draw.Text{At: draw.Point{X: 10, Y: 150}, S: "evil\x00\x1b]0;x\u202e海\U0001F4A3) Tj ET (", Letters: draw.Note})
	b := draw.Sheet{ID: "w", Title: "Water", W: 210, H: 297}
	h := draw.Waterline{Y: 150, Left: 30, Right: 180}
	b.Add(draw.Band{Items: []draw.Item{h}})
	return []draw.Sheet{a, b}
}

func write(t *testing.T, d Document) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, samples(), d); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestSameBytes(t *testing.T) {
	d := Document{Title: "Grey Heron", Created: day}
	a := write(t, d)
	for range 3 {
		if !bytes.Equal(a, write(t, d)) {
			t.Fatal("the same sheets gave different files")
		}
	}
	if bytes.Equal(a, write(t, Document{Title: "Grey Heron", Created: day.AddDate(0, 0, 1)})) {
		t.Error("the date that was passed in is not in the file")
	}
	if strings.Contains(string(a), "utf8fitout") {
		t.Error("a face kept the library's name")
	}
}

type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestErrors(t *testing.T) {
	if err := Write(broken{}, samples(), Document{Created: day}); err == nil || !strings.Contains(err.Error(), "disk full") {
		t.Errorf("a broken writer gave %v", err)
	}
	if err := Write(&bytes.Buffer{}, nil, Document{}); err == nil {
		t.Error("no sheets gave a file")
	}
}

// run calls a PDF tool from outside the project; the test is skipped without it,
// unless FITOUT_REQUIRE_ENGINES=1 asks for it.
func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("FITOUT_REQUIRE_ENGINES") == "1" {
			t.Fatal(name + " is not installed and FITOUT_REQUIRE_ENGINES=1 asks for it")
		}
		t.Skip(name + " is not installed")
	}
	out, err := exec.Command(path, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, out)
	}
	return string(out)
}

func file(t *testing.T) string {
	t.Helper()
	name := filepath.Join(t.TempDir(), "x.pdf")
	if err := os.WriteFile(name, write(t, Document{Title: "Grey Heron", Author: "M. Sample", Subject: "Drawings", Keywords: "boat", Created: day}), 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

func TestQpdfFindsNothing(t *testing.T) {
	if out := run(t, "qpdf", "--check", file(t)); strings.Contains(strings.ToLower(out), "warning") {
		t.Error(out)
	}
}

func TestFontsAreEmbeddedSubsets(t *testing.T) {
	out := run(t, "pdffonts", file(t))
	lines := strings.Split(strings.TrimSpace(out), "\n")[2:]
	if len(lines) != 2 {
		t.Fatalf("two faces are due:\n%s", out)
	}
	for _, l := range lines {
		if !regexp.MustCompile(`^[A-Z]{6}\+Go-\w+ .* yes yes yes `).MatchString(l) {
			t.Errorf("not embedded, a subset and mapped to Unicode: %s", l)
		}
	}
}

func TestTextCanBeFound(t *testing.T) {
	out := run(t, "pdftotext", "-layout", file(t), "-")
	for _, want := range []string{"F1 225 A", "12a 70 mm² RD Ω θ", "evil"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is not in the text:\n%s", want, out)
		}
	}
}

func TestProperties(t *testing.T) {
	out := run(t, "pdfinfo", "-isodates", file(t))
	for _, want := range []string{`Title:\s+Grey Heron`, `Author:\s+M\. Sample`, `Pages:\s+2`, `CreationDate:\s+2026-05-02`, `Page size:\s+841\.89 x 595\.2[78]`} {
		if !regexp.MustCompile(want).MatchString(out) {
			t.Errorf("%s is missing:\n%s", want, out)
		}
	}
}

func TestBookmarks(t *testing.T) {
	out := run(t, "qpdf", "--json", "--json-key=outlines", file(t))
	for _, want := range []string{`"title": "Direct current: Bänke — 1"`, `"title": "Water"`} {
		if !strings.Contains(out, want) {
			t.Errorf("%s is missing:\n%s", want, out)
		}
	}
}

// BenchmarkWrite writes a set of sheets as large as that of a boat of 150 parts.
func BenchmarkWrite(b *testing.B) {
	form, _ := symbol.Get("dc/inverter-charger")
	var set []draw.Sheet
	for range 5 {
		s := draw.Sheet{ID: "x", Title: "x", W: 297, H: 210}
		for i := range 100 {
			x, y := (i%20)*5, i/20*8
			s.Add(draw.SymbolPart("X", "x", form, draw.Point{}, x, y, false),
				draw.Text{At: draw.Point{X: draw.MM(x), Y: draw.MM(y)}, S: "X12 225 A", Letters: draw.Rating},
				draw.Run{Points: []draw.Point{{X: 5}, {X: 5, Y: 80}, {X: 90, Y: 80}}, Style: draw.Positive})
		}
		set = append(set, s)
	}
	b.ReportAllocs()
	for b.Loop() {
		if err := Write(&bytes.Buffer{}, set, Document{Created: day}); err != nil {
			b.Fatal(err)
		}
	}
}

// A closed curve is stroked with round joins (PDF 32000-1, 8.4.3.4: join style 1).
// With mitred ones the hair between its rounded beginning and its end stood out as a
// spike on every ring.
func TestRingsHaveRoundJoins(t *testing.T) {
	out := run(t, "qpdf", "--qdf", "--object-streams=disable", file(t), "-")
	join, last, rings := "0", "", 0
	for _, line := range strings.Split(out, "\n") {
		line = strings.TrimSpace(line)
		switch {
		case strings.HasSuffix(line, " j"):
			join = strings.TrimSuffix(line, " j")
		case line == "h" && strings.HasSuffix(last, " c"):
			rings++
			if join != "1" {
				t.Errorf("a closed curve has joins of style %s", join)
			}
		}
		last = line
	}
	if rings == 0 {
		t.Error("no closed curve on the sheets")
	}
}
