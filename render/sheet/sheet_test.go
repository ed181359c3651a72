package sheet

import (
	"bytes"
	"encoding/xml"
	"flag"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fitout/render/draw"
	"fitout/render/pdf"
	"fitout/render/svg"
	"fitout/schema/symbol"
)

// keep names a folder that the sample sheets are written to, to be looked at:
// go test ./render/sheet -keep /tmp/look
var keep = flag.String("keep", "", "folder for the sample sheets")

func sampleTitle() TitleBlock {
	return TitleBlock{
		Owner: "A. Example", Number: "GH-2026-03", Date: "2026-05-02", Title: "Direct current: house bank", Drawn: "M. Sample",
		Approved: "", Document: "Circuit diagram", Sheet: 2, Of: 5, Revision: "B", Boat: "Grey Heron", Hull: "XX-ABC12345F626",
		System: "12 V, 24 V DC", Rules: "us, 2026-01", Result: "2 errors, 3 warnings, 1 deviation, 4 not checked", Fingerprint: "a1b2c3d4e5f6",
	}
}

// ladder is a small circuit drawn by hand.
func ladder(f Frame) []draw.Item {
	o := f.Origin()
	var items []draw.Item
	put := func(id, kind, form string, x, y int, name, rating string, opt ...string) {
		s, ok := symbol.Get(form)
		if !ok {
			panic(form)
		}
		s = s.With(opt...)
		p := draw.SymbolPart(id, kind, s, o, x, y, false)
		at := draw.GridPoint(o, float64(x)+s.Box.Max.X, float64(y)).Add(1, -0.4)
		p.Strokes = append(p.Strokes,
			draw.Text{At: at, S: name, Letters: draw.Designation},
			draw.Text{At: at.Add(0, 3.6), S: rating, Letters: draw.Rating})
		items = append(items, p)
	}
	bus := func(id string, y int, name string, xs ...int) {
		var studs []symbol.Stud
		for i, x := range xs {
			studs = append(studs, symbol.Stud{Name: string(rune('1' + i)), X: x})
		}
		s, _ := symbol.Bar("dc/bus", studs, 0, 60)
		p := draw.SymbolPart(id, "bus", s, o, 0, y, false)
		p.Strokes = append(p.Strokes, draw.Text{At: draw.GridPoint(o, -1, float64(y)).Add(0, -1.8), S: name, Letters: draw.BarName})
		items = append(items, p)
	}
	wire := func(id, from, to string, st draw.Style, label string, xy ...int) {
		r := draw.Run{ID: id, From: from, To: to, Style: st}
		for i := 0; i < len(xy); i += 2 {
			r.Points = append(r.Points, draw.GridPoint(o, float64(xy[i]), float64(xy[i+1])))
		}
		items = append(items, r)
		a, b := r.Points[0], r.Points[1]
		items = append(items, draw.Text{At: draw.Point{X: a.X - 0.9, Y: (a.Y + b.Y) / 2}, S: label, Letters: draw.RunLabel, Align: draw.Middle, Up: true, Label: true, LabelOf: id})
	}
	bus("BP", 4, "BP 250 A", 10, 22, 34, 46, 58)
	bus("BN", 36, "BN 250 A", 10, 22, 34, 46, 58)
	put("F1", "fuse", "dc/fuse", 10, 14, "F1", "225 A")
	put("B1", "battery", "dc/battery", 10, 26, "B1", "230 Ah")
	put("F2", "breaker", "dc/breaker", 22, 14, "F2", "15 A")
	put("LT1", "light", "dc/light", 22, 26, "LT1", "24 W")
	put("S1", "switch", "dc/switch", 34, 14, "S1", "")
	put("P1", "pump", "dc/pump", 34, 26, "P1", "5 A")
	put("K1", "relay", "dc/relay", 46, 14, "K1", "100 A")
	put("CH1", "charger", "dc/charger", 46, 26, "CH1", "40 A")
	put("F5", "fuse", "dc/fuse", 58, 14, "F5", "10 A")
	put("R1", "refrigerator", "dc/refrigerator", 58, 26, "R1", "60 W")
	names := []string{"F1", "F2", "S1", "K1", "F5"}
	loads := []string{"B1", "LT1", "P1", "CH1", "R1"}
	for i, x := range []int{10, 22, 34, 46, 58} {
		n := string(rune('1' + i))
		st, mn := draw.Positive, draw.Negative
		if i == 0 {
			st, mn = draw.PositiveMain, draw.NegativeMain
		}
		wire(n+"a", "BP."+n, names[i]+".in", st, n+"a 70 mm² RD", x, 4, x, 12)
		wire(n+"b", names[i]+".out", loads[i]+".+", st, n+"b 2.5 RD", x, 16, x, 24)
		wire(n+"n", loads[i]+".-", "BN."+n, mn, n+"n 2.5 BK", x, 28, x, 36)
	}
	items = append(items, draw.FindingMark(draw.GridPoint(o, 13, 9), 1, draw.FindingError), draw.FindingMark(draw.GridPoint(o, 37, 9), 12, draw.FindingWarning))
	return items
}

func sampleSheet(p Paper) draw.Sheet {
	f := NewFrame(p)
	s := draw.Sheet{ID: "dc-1", Title: "Direct current: house bank", Desc: "Batteries, fuses, loads", W: p.W, H: p.H}
	s.Add(f.Items(sampleTitle())...)
	s.Add(ladder(f)...)
	return s
}

func keySheets() []draw.Sheet {
	f := NewFrame(papers[0])
	fl := NewFlow(f)
	for _, m := range []symbol.Medium{symbol.DC, symbol.AC, symbol.Water} {
		fl.Heading(map[symbol.Medium]string{symbol.DC: "Direct current", symbol.AC: "Alternating current", symbol.Water: "Water"}[m])
		var es []KeyEntry
		for _, id := range symbol.Forms(m) {
			s, _ := symbol.Get(id)
			es = append(es, KeyEntry{s.With(), s.Title})
		}
		fl.SymbolKey(es)
	}
	fl.Heading("Lines")
	var ls []LineEntry
	for _, s := range draw.Styles() {
		if s.Meaning() != "" {
			ls = append(ls, LineEntry{s, s.Meaning()})
		}
	}
	fl.LineKey(ls)
	t := sampleTitle()
	t.Title, t.Document = "Symbols and lines", "Key"
	return fl.Sheets("key", t, 4, 0)
}

func listSheets() []draw.Sheet {
	fl := NewFlow(NewFrame(papers[2].Landscape()))
	fl.Heading("Wires")
	fl.Paragraph("Lengths are one way. A wire without a length or size is listed as not checked.", draw.Note)
	t := Table{Columns: []Column{{Head: "No."}, {Head: "From"}, {Head: "To"}, {Head: "Size", Align: draw.End}, {Head: "Length", Align: draw.End}, {Head: "Note", Grow: 1}}}
	for i := range 90 {
		note := ""
		if i%7 == 0 {
			note = "Runs with loom L1 through the engine space; keep clear of the exhaust, sheathe over the whole length and clip every 450 mm."
		}
		t.Rows = append(t.Rows, []string{string(rune('A'+i%26)) + "12", "B1.+", "F1.in", "70 mm²", "0.12 m", note})
	}
	t.Rows = append(t.Rows, []string{"Z", strings.Repeat("long ", 900), "x", "y", "z", strings.Repeat("word ", 2000)})
	fl.Table(t)
	ti := sampleTitle()
	ti.Title = "Wires"
	return fl.Sheets("wires", ti, 1, 0)
}

func allSheets() []draw.Sheet {
	var out []draw.Sheet
	for _, p := range papers {
		for _, q := range []Paper{p, p.Landscape()} {
			s := sampleSheet(q)
			s.ID = strings.ToLower(p.Name)
			if q.W > q.H {
				s.ID += "-lying"
			}
			out = append(out, s)
		}
	}
	out = append(out, keySheets()...)
	return append(out, listSheets()...)
}

func TestLookAtSamples(t *testing.T) {
	if *keep == "" {
		t.Skip("-keep names no folder")
	}
	all := allSheets()
	for _, theme := range []draw.Theme{draw.InColour, draw.InMono} {
		suffix := map[draw.Theme]string{draw.InColour: "", draw.InMono: "-mono"}[theme]
		for _, s := range all {
			var b bytes.Buffer
			if err := svg.Write(&b, s, svg.Options{Theme: theme}); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(*keep, s.ID+suffix+".svg"), b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		var b bytes.Buffer
		if err := pdf.Write(&b, all, pdf.Document{Title: "Samples", Created: time.Date(2026, 5, 2, 0, 0, 0, 0, time.UTC), Theme: theme}); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(*keep, "all"+suffix+".pdf"), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// The zone counts of BS EN ISO 5457 (seen in its summary): A4 has 6 by 4, A3
// has 8 by 6 zones, long side first.
func TestZones(t *testing.T) {
	for _, c := range []struct {
		p          Paper
		cols, rows int
	}{{papers[0], 4, 6}, {papers[0].Landscape(), 6, 4}, {papers[1], 6, 8}, {papers[1].Landscape(), 8, 6}} {
		f := NewFrame(c.p)
		if len(f.cols)+1 != c.cols || len(f.rows)+1 != c.rows {
			t.Errorf("%v: %d by %d zones, %d by %d by the standard", c.p, len(f.cols)+1, len(f.rows)+1, c.cols, c.rows)
		}
	}
	// A3 lying, by hand: columns begin at 20, 60, 110, 160, 210 … mm, rows at
	// 10, 48.5, 98.5, 148.5 … mm
	f := NewFrame(papers[1].Landscape())
	for z, p := range map[string]draw.Point{
		"A1": {X: 21, Y: 11}, "A2": {X: 60, Y: 48}, "B1": {X: 59, Y: 49}, "C4": {X: 161, Y: 100}, "F8": {X: 409, Y: 286}, "D5": {X: 210, Y: 148.5},
	} {
		if got := f.Zone(p); got != z {
			t.Errorf("%v is in %s, not %s", p, got, z)
		}
	}
}

// layout.md, section 6, measured with these usable areas or a little more.
func TestUsableArea(t *testing.T) {
	for _, c := range []struct {
		p    Paper
		w, h draw.MM
	}{
		{papers[1].Landscape(), 385, 250}, {papers[0].Landscape(), 260, 165}, {papers[0], 175, 245}, {papers[2].Landscape(), 242.5, 165}, {papers[2], 180, 225},
	} {
		f := NewFrame(c.p)
		if f.Area.Width() < c.w || f.Area.Height() < c.h {
			t.Errorf("%s %vx%v: %v by %v mm, %v by %v needed", c.p.Name, c.p.W, c.p.H, f.Area.Width(), f.Area.Height(), c.w, c.h)
		}
		w, h := f.GridSize()
		if draw.Grid(float64(w)) != f.Area.Width() || draw.Grid(float64(h)) != f.Area.Height() {
			t.Errorf("%s: %d by %d modules do not fill %v", c.p.Name, w, h, f.Area)
		}
		if !f.Inner.Contains(f.Area) {
			t.Errorf("%s: drawing space %v outside the frame %v", c.p.Name, f.Area, f.Inner)
		}
	}
}

func TestPaperNamed(t *testing.T) {
	if p, err := PaperNamed(" a3 "); err != nil || p.W != 297 {
		t.Error(p, err)
	}
	if _, err := PaperNamed("B5"); err == nil {
		t.Error("B5 was taken")
	}
}

// Nothing of a sheet leaves the paper, and no two texts lie on each other.
func TestSheetsAreClean(t *testing.T) {
	for _, s := range allSheets() {
		page := draw.Box{Max: draw.Point{X: s.W, Y: s.H}}
		var texts []draw.Text
		for _, it := range s.Items {
			if b := it.Bounds(); !b.Empty() && !page.Contains(b) {
				t.Errorf("%s: %T %v leaves the paper", s.ID, it, b)
			}
			texts = append(texts, textsOf(it)...)
		}
		for i, a := range texts {
			for _, b := range texts[:i] {
				if a.Bounds().Grow(-0.1).Overlaps(b.Bounds().Grow(-0.1)) {
					t.Errorf("%s: %q and %q overlap", s.ID, a.S, b.S)
				}
			}
		}
	}
}

func textsOf(it draw.Item) []draw.Text {
	var out []draw.Text
	switch it := it.(type) {
	case draw.Text:
		out = append(out, it)
	case draw.Part:
		for _, s := range it.Strokes {
			out = append(out, textsOf(s)...)
		}
	case draw.Group:
		for _, s := range it.Strokes {
			out = append(out, textsOf(s)...)
		}
	}
	return out
}

// Every word of a table stands on its pages, whatever the page height, and no
// piece is higher than the room it was given.
func TestTablePiecesLoseNothing(t *testing.T) {
	tb := Table{Columns: []Column{{Head: "Id"}, {Head: "What", Grow: 1}, {Head: "n", Align: draw.End}}}
	want := 0
	for i := range 40 {
		tb.Rows = append(tb.Rows, []string{"X", strings.Repeat("word ", i*i/4), "1"})
		want += i * i / 4
	}
	for _, h := range []draw.MM{30, 77, 240} {
		for _, first := range []draw.MM{0, 9, 31, h} {
			got := 0
			for i, p := range tb.Pieces(120, first, h) {
				limit := h
				if i == 0 {
					limit = max(first, p.Height*0) // the empty first piece still has its heading
				}
				words := 0
				for _, s := range p.At(draw.Point{}).Strokes {
					if tx, ok := s.(draw.Text); ok {
						words += strings.Count(tx.S, "word")
					}
				}
				got += words
				if p.Height > limit && words > 0 && !(i == 0 && first < 12) {
					t.Errorf("page %v, first %v: piece %d is %v high", h, first, i, p.Height)
				}
			}
			if got != want {
				t.Errorf("page %v, first %v: %d of %d words", h, first, got, want)
			}
		}
	}
	if p := (Table{Columns: tb.Columns}).Pieces(100, 100, 100); len(p) != 1 {
		t.Errorf("an empty table has %d pieces, one with its heading is due", len(p))
	}
}

// Short columns keep their lines whole beside a column of long text, and the
// widths add up to no more than there is.
func TestTableWidths(t *testing.T) {
	tb := Table{Columns: []Column{{Head: "Size"}, {Head: "Note"}, {Head: "Why"}}, Rows: [][]string{
		{"70 mm²", strings.Repeat("long ", 60), strings.Repeat("longer ", 400)},
		{"2.5 mm²", "", strings.Repeat("unbreakable", 40)},
	}}
	for _, total := range []draw.MM{40, 90, 180, 400} {
		w := tb.widths(total)
		if s := sum(w); s > total+1e-6 {
			t.Errorf("%v mm: widths %v add up to %v", total, w, s)
		}
		if total >= 90 && w[0] < draw.TableText.Width("2.5 mm²")+2*cellPadX {
			t.Errorf("%v mm: the first column has %v and breaks its lines", total, w[0])
		}
	}
}

// The sheets are well-formed SVG of the sizes they say, with the checker's
// faults at zero; svg_metrics.py of the project reads the same contract.
func TestSheetsAsSVG(t *testing.T) {
	dir := t.TempDir()
	for _, s := range allSheets() {
		var b bytes.Buffer
		if err := svg.Write(&b, s, svg.Options{}); err != nil {
			t.Fatal(err)
		}
		d := xml.NewDecoder(bytes.NewReader(b.Bytes()))
		for {
			_, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", s.ID, err)
			}
		}
		if err := os.WriteFile(filepath.Join(dir, s.ID+".svg"), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if path, err := exec.LookPath("xmllint"); err == nil {
		files, _ := filepath.Glob(filepath.Join(dir, "*.svg"))
		if out, err := exec.Command(path, append([]string{"--noout"}, files...)...).CombinedOutput(); err != nil {
			t.Errorf("xmllint: %v\n%s", err, out)
		}
	}
}
