package label_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/render/label"
	"fitout/render/list"
	"fitout/render/pack"
	"fitout/render/pdf"
	"fitout/render/svg"
	"fitout/schema"
	"fitout/schema/boattest"
	"fitout/validate/survey"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
)

const page = "https://boat.example/curlew/boat-pack.html"

func inputOf(b *schema.Boat) pack.Input {
	return pack.Input{Survey: survey.Of(b)} // labels need no findings
}

func labels(t testing.TB, b *schema.Boat, o label.Options) *label.Set {
	t.Helper()
	s, err := pack.Labels(inputOf(b), o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// example is one boat with its labels; made keeps them from test to test.
type example struct {
	boat *schema.Boat
	set  *label.Set
}

var made = map[string]example{}

// eachExample runs a test on every example, on the usual stock of both papers, on
// tape and on sleeves.
func eachExample(t *testing.T, do func(*testing.T, *schema.Boat, *label.Set)) {
	files, err := filepath.Glob("../../examples/*.yaml")
	if err != nil || len(files) < 3 {
		t.Fatalf("examples: %v %v", files, err)
	}
	for _, f := range files {
		for _, o := range []label.Options{
			{}, {Letter: true, Page: page, Skip: 3}, {Page: page, Outlines: true},
			{Stock: map[label.Kind]string{"": "tape-12"}}, {Stock: map[label.Kind]string{label.Wires: "sleeve", label.Valves: "a4-8", label.Panels: "tape-24"}},
		} {
			t.Run(fmt.Sprintf("%s/%v/%v", filepath.Base(f), o.Letter, o.Stock), func(t *testing.T) {
				key := fmt.Sprintf("%s %+v", f, o)
				if _, ok := made[key]; !ok {
					b := boattest.ReadFile(t, f)
					made[key] = example{b, labels(t, b, o)}
				}
				do(t, made[key].boat, made[key].set)
			})
		}
	}
}

// drawn are the groups of the labels, in the order of Placed.
func drawn(t testing.TB, s *label.Set) []draw.Group {
	t.Helper()
	var out []draw.Group
	for i, sh := range s.Sheets {
		n := 0
		for _, it := range sh.Items {
			if g, ok := it.(draw.Group); ok && strings.HasPrefix(g.Class, "tag ") {
				out = append(out, g)
				n++
			}
		}
		if n == 0 {
			t.Errorf("sheet %d is empty", i)
		}
	}
	if len(out) != len(s.Placed) {
		t.Fatalf("%d labels are drawn, %d placed", len(out), len(s.Placed))
	}
	return out
}

func textsOf(g draw.Group) []draw.Text {
	var out []draw.Text
	for _, s := range g.Strokes {
		if x, ok := s.(draw.Text); ok {
			out = append(out, x)
		}
	}
	return out
}

// tight is a text without its blanks, which rows may take away.
func tight(s string) string { return strings.Join(strings.Fields(draw.Text{S: s}.Clean()), "") }

// Both ends of every run of the wire list have their markers side by side, each
// naming the end it is stuck to and the far one. The wire list is made elsewhere,
// from the model.
func TestMarkersOfBothEnds(t *testing.T) {
	eachExample(t, func(t *testing.T, b *schema.Boat, s *label.Set) {
		in := pack.Input{Survey: survey.Of(b)}
		table, _ := list.Of("wires", list.Input{Survey: in.Survey, Result: in.Result})
		col := map[string]int{}
		for i, c := range table.Columns {
			col[c.Key] = i
		}
		var marks []label.Placed
		at := map[string][]int{}
		for _, p := range s.Placed {
			if p.Kind == label.Wires {
				at[p.ID] = append(at[p.ID], len(marks))
				marks = append(marks, p)
			}
		}
		for _, r := range table.Rows {
			id, from, to := r[col["id"]].Text, r[col["from"]].Text, r[col["to"]].Text
			got := at[id]
			delete(at, id)
			copies := 1
			for _, w := range b.Wires {
				if w.Ref() == id {
					copies = max(1, w.Parallel.Or(1))
				}
			}
			if len(got) != 2*copies || got[len(got)-1]-got[0] != 2*copies-1 {
				t.Errorf("wire %s: markers at %v, want %d side by side", id, got, 2*copies)
				continue
			}
			for i, want := range [2][2]string{{from, to}, {to, from}} {
				m := marks[got[i*copies]]
				if m.At != want[0] || !has(m.Lines, want[0]) || !has(m.Lines, "→"+want[1]) || !has(m.Lines, id) {
					t.Errorf("wire %s, end %s: %v, want the far end %s", id, want[0], m.Lines, want[1])
				}
			}
		}
		for id := range at {
			t.Errorf("%s has markers and stands in no wire list", id)
		}
	})
}

func has(lines []label.Line, text string) bool {
	return slices.ContainsFunc(lines, func(l label.Line) bool { return l.Text == text })
}

// A valve that stands where its way is open says OPEN, else SHUT, in the largest
// letters of the tag: by the model's channels, which the solver uses.
func TestValveTagsSayTheUsualState(t *testing.T) {
	eachExample(t, func(t *testing.T, b *schema.Boat, s *label.Set) {
		tagged := map[string]bool{}
		groups := drawn(t, s)
		for i, p := range s.Placed {
			if p.Kind != label.Valves {
				continue
			}
			tagged[p.ID] = true
			c := b.Part(p.ID).Channels()[0]
			want := "SHUT"
			switch {
			case c.Position != "open" && c.Position != "closed":
				want = strings.ToUpper(c.Position)
			case slices.Contains(c.MakesIn, c.Position):
				want = "OPEN"
			}
			if !has(p.Lines, want) {
				t.Errorf("%s: %v, want %s", p.ID, p.Lines, want)
			}
			for _, other := range []string{"OPEN", "SHUT"} {
				if other != want && has(p.Lines, other) {
					t.Errorf("%s says %s", p.ID, other)
				}
			}
			var state, most draw.MM
			for _, x := range textsOf(groups[i]) {
				most = max(most, x.Letters.Cap())
				if x.S == want {
					state = x.Letters.Cap()
				}
			}
			if state < most && !strings.HasPrefix(p.Stock, "tape") {
				t.Errorf("%s: %s in letters of %v mm, others have %v", p.ID, want, state, most)
			}
		}
		for _, p := range b.Parts {
			if p.Roles().Any(schema.Seacock|schema.Shutoff) && !p.Prepared && !tagged[p.ID] {
				t.Errorf("%s has no tag", p.ID)
			}
		}
	})
}

// soundly holds one set to what must be true of all: every text within its label,
// none on another, letters of at least 1.8 mm (ISO 3098), turned text read from
// the right, labels clear of each other and on the paper, every label printed as
// often as it is wanted with all its lines, or named in words.
func soundly(t testing.TB, s *label.Set) {
	t.Helper()
	groups := drawn(t, s)
	notes := strings.Join(s.Notes, "\n")
	count := map[*label.Label]int{}
	bySheet := map[int][]draw.Box{}
	for i, p := range s.Placed {
		count[p.Label]++
		edge := p.Box.Grow(0.001)
		if sh := s.Sheets[p.Sheet]; p.Box.Min.X < -0.001 || p.Box.Min.Y < -0.001 || p.Box.Max.X > sh.W+0.001 || p.Box.Max.Y > sh.H+0.001 {
			t.Errorf("%s reaches over its paper: %v on %v × %v", groups[i].Title, p.Box, sh.W, sh.H)
		}
		for _, other := range bySheet[p.Sheet] {
			if p.Box.Grow(-0.001).Overlaps(other) {
				t.Errorf("%s lies on another label", groups[i].Title)
			}
		}
		bySheet[p.Sheet] = append(bySheet[p.Sheet], p.Box)
		var boxes []draw.Box
		all := ""
		for _, x := range textsOf(groups[i]) {
			b := x.Bounds()
			if !edge.Contains(b) {
				t.Errorf("%s: %q reaches over the edge: %v in %v", groups[i].Title, x.S, b, p.Box)
			}
			for _, o := range boxes {
				if o.Overlaps(b.Grow(-0.001)) {
					t.Errorf("%s: %q lies on another text", groups[i].Title, x.S)
				}
			}
			boxes = append(boxes, b)
			if x.Letters.Cap() < 1.8 {
				t.Errorf("%s: %q in letters of %v mm", groups[i].Title, x.S, x.Letters.Cap())
			}
			all += tight(x.S)
		}
		for _, st := range groups[i].Strokes {
			r, ok := st.(draw.Rect)
			if !ok || r.Pen.Class != "qr" {
				continue
			}
			for _, b := range boxes {
				if b.Overlaps(r.Box) {
					t.Errorf("%s: a text lies on the code", groups[i].Title)
				}
			}
		}
		for _, l := range p.Lines {
			if !strings.Contains(all, tight(l.Text)) && !strings.Contains(notes, fmt.Sprintf("left out %q", l.Text)) {
				t.Errorf("%s on %s: %q is neither printed nor named: %s", groups[i].Title, p.Stock, l.Text, all)
			}
		}
	}
	for _, l := range s.Rows() {
		switch {
		case count[l] == 0 && l.Stock == "" && strings.Contains(notes, string(l.Kind)+" "+l.ID):
		case l.Kind == label.Panels && l.At == "" && count[l] > 0: // the head stands on every piece of a strip
		case count[l] != l.Copies:
			t.Errorf("%s %s %s is printed %d times, want %d", l.Kind, l.ID, l.At, count[l], l.Copies)
		}
	}
}

func TestLabelsAreSound(t *testing.T) {
	eachExample(t, func(t *testing.T, _ *schema.Boat, s *label.Set) { soundly(t, s) })
}

// On the usual stock nothing of the examples is left out.
func TestExamplesLoseNothing(t *testing.T) {
	files, _ := filepath.Glob("../../examples/*.yaml")
	for _, f := range files {
		for _, letter := range []bool{false, true} {
			if s := labels(t, boattest.ReadFile(t, f), label.Options{Letter: letter}); len(s.Notes) > 0 {
				t.Errorf("%s: %s", f, strings.Join(s.Notes, "\n"))
			}
		}
	}
}

// A marker goes round: what a flag says stands on both halves, clear of the wire;
// what is wrapped shows at least twice, read from the right.
func TestMarkersReadFromBothSides(t *testing.T) {
	eachExample(t, func(t *testing.T, _ *schema.Boat, s *label.Set) {
		groups := drawn(t, s)
		for i, p := range s.Placed {
			if p.Outside == 0 || strings.HasPrefix(p.Stock, "sleeve") || strings.HasPrefix(p.Stock, "tape") && p.Outside > 15 {
				continue
			}
			list := textsOf(groups[i])
			times := map[string]int{}
			for _, x := range list {
				times[x.S]++
			}
			if times[p.Lines[0].Text] < 2 {
				t.Errorf("%s: its number shows %d times", groups[i].Title, times[p.Lines[0].Text])
			}
			if list[0].Up {
				continue
			}
			middle := (p.Box.Min.X + p.Box.Max.X) / 2
			for _, x := range list {
				if b := x.Bounds(); b.Min.X < middle+math.Pi*p.Outside/2 && b.Max.X > middle-math.Pi*p.Outside/2 {
					t.Errorf("%s: %q lies under the wire", groups[i].Title, x.S)
				}
			}
		}
	})
}

// The stock fills its paper: with equal margins left and right, top and bottom,
// the sizes, gaps and margins add up to the sheet.
func TestStockFillsItsPaper(t *testing.T) {
	for _, s := range label.Stocks() {
		if s.Form != label.Sheet {
			continue
		}
		w := 2*s.Left + draw.MM(s.Columns-1)*s.PitchX + s.W
		h := 2*s.Top + draw.MM(s.Rows-1)*s.PitchY + s.H
		if math.Abs(float64(w-s.PaperW)) > 0.1 || math.Abs(float64(h-s.PaperH)) > 0.1 {
			t.Errorf("%s: %.2f × %.2f mm, the paper has %.2f × %.2f", s.Name, w, h, s.PaperW, s.PaperH)
		}
		if n, err := strconv.Atoi(s.Name[strings.LastIndex(s.Name, "-")+1:]); err != nil || n != s.Columns*s.Rows {
			t.Errorf("%s has %d labels", s.Name, s.Columns*s.Rows)
		}
	}
}

// Places in the SVG file to 0.1 mm, worked by hand from the sizes: the n-th label,
// counted from 0.
func TestPlacesOnTheSheet(t *testing.T) {
	for _, c := range []struct {
		stock      string
		cell       int
		x, y, w, h float64
	}{
		{"a4-65", 7, 4.75 + 2*40.6, 10.7 + 21.2, 38.1, 21.2}, // second row, third
		{"a4-24", 23, 7.25 + 2*66, 12.9 + 7*33.9, 63.5, 33.9},
		{"a4-8", 0, 4.65, 13.1, 99.1, 67.7},
		{"letter-30", 4, 4.7625 + 69.85, 12.7 + 25.4, 66.675, 25.4},
		{"letter-10", 9, 3.96875 + 106.3625, 12.7 + 4*50.8, 101.6, 50.8},
	} {
		b := boattest.ReadFile(t, "../../examples/dayboat.yaml")
		s := labels(t, b, label.Options{Only: []label.Kind{label.Batteries}, Stock: map[label.Kind]string{"": c.stock}, Skip: c.cell, Outlines: true})
		var out bytes.Buffer
		if err := svg.Write(&out, s.Sheets[0], svg.Options{}); err != nil {
			t.Fatal(err)
		}
		m := regexp.MustCompile(`<title>batteries [^<]*</title>\s*<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"`).FindStringSubmatch(out.String())
		if m == nil {
			t.Fatalf("%s: no edge in %.2000s", c.stock, out.String())
		}
		for i, want := range []float64{c.x, c.y, c.w, c.h} {
			if got, _ := strconv.ParseFloat(m[i+1], 64); math.Abs(got-want) > 0.1 {
				t.Errorf("%s, label %d: %v, want %.2f %.2f %.2f %.2f", c.stock, c.cell, m[1:], c.x, c.y, c.w, c.h)
			}
		}
	}
	if _, err := pack.Labels(inputOf(boattest.ReadFile(t, "../../examples/dayboat.yaml")), label.Options{Stock: map[label.Kind]string{"": "a4-24"}, Skip: 24}); err == nil {
		t.Error("a sheet without a label left was taken")
	}
}

// The ways of a panel stand in the order of the file, each at its pitch.
func TestStripsKeepThePitch(t *testing.T) {
	for _, pitch := range []draw.MM{15, 0, 25.4} {
		b := boattest.ReadFile(t, "../../examples/cruiser.yaml")
		s := labels(t, b, label.Options{Only: []label.Kind{label.Panels}, Pitch: pitch})
		want := pitch
		if pitch == 0 {
			want = 19.05
		}
		var head draw.MM
		n, next := 0, map[string]int{} // ways since the head; ways of the panel so far
		for _, p := range s.Placed {
			if p.At == "" {
				head, n = p.Box.Min.Y, 0
				continue
			}
			n++
			if got := p.Box.Min.Y - head; math.Abs(float64(got-want*draw.MM(n))) > 0.1 {
				t.Errorf("pitch %v: %s.%s stands %v below the head, want %v", want, p.ID, p.At, got, want*draw.MM(n))
			}
			if key := b.Part(p.ID).Ways[next[p.ID]].Key; key != p.At {
				t.Errorf("%s: way %s stands where %s belongs", p.ID, p.At, key)
			}
			next[p.ID]++
		}
		for _, q := range b.Parts {
			if next[q.ID] != len(q.Ways) {
				t.Errorf("%s has %d ways, its strip %d", q.ID, len(q.Ways), next[q.ID])
			}
		}
	}
}

// The printer's file read back names what the model has: a row for both ends of
// runs, for every way of every panel, for every hull opening, with copies.
func TestPrinterFile(t *testing.T) {
	eachExample(t, func(t *testing.T, b *schema.Boat, s *label.Set) {
		var out bytes.Buffer
		if err := label.WriteCSV(&out, s); err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(&out).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		col := map[string]int{}
		for i, h := range rows[0] {
			col[h] = i
		}
		n := map[string]int{}
		for i, r := range rows[1:] {
			n[r[col["kind"]]+" "+r[col["id"]]]++
			n[r[col["kind"]]+" "+r[col["id"]]+"@"+r[col["at"]]]++
			l := s.Rows()[i]
			if r[col["copies"]] != strconv.Itoa(l.Copies) || r[col["qr"]] != l.Code || r[col["stock"]] != l.Stock || r[col["line1"]] != l.Lines[0].Text {
				t.Errorf("row %d: %v", i+1, r)
			}
		}
		expect := func(key string, want int) {
			if n[key] != want {
				t.Errorf("%s: %d rows, want %d", key, n[key], want)
			}
		}
		for _, h := range b.Hoses {
			if !h.Implied && !h.Prepared {
				expect("hoses "+h.ID, 2)
			}
		}
		for _, p := range b.Parts {
			if p.Prepared {
				continue
			}
			if p.Is(schema.Panel) {
				for _, w := range p.Ways {
					expect("panels "+p.ID+"@"+w.Key, 1)
				}
			}
			if p.Roles().Any(schema.SeaOpening | schema.HullHole) {
				expect("openings "+p.ID, 1)
			}
			if p.Roles().Any(schema.Storage) {
				expect("batteries "+p.ID, 1)
			}
			if p.Roles().Any(schema.Protection) && !p.Is(schema.Panel) {
				expect("devices "+p.ID, 1)
			}
		}
	})
}

// Codes are read from the sheet by a decoder of its own and lead to an address
// that the pack's page has.
func TestCodesLeadToThePage(t *testing.T) {
	for _, name := range []string{"cruiser", "dayboat", "yacht"} {
		in := inputOf(boattest.ReadFile(t, "../../examples/"+name+".yaml"))
		p, err := pack.Make(in, pack.Options{For: pack.Aboard, Page: page})
		if err != nil {
			t.Fatal(err)
		}
		ids := map[string]bool{}
		for _, m := range regexp.MustCompile(` id="([^"]+)"`).FindAllStringSubmatch(string(p.HTML), -1) {
			ids[m[1]] = true
		}
		groups := drawn(t, p.Labels)
		coded := 0
		for i, x := range p.Labels.Placed {
			if x.Code != "" {
				at, ok := strings.CutPrefix(x.Code, page+"#")
				if !ok || !ids[at] {
					t.Errorf("%s %s leads to %q, which the page does not have", name, x.ID, x.Code)
				}
			}
			if !x.Coded {
				continue
			}
			coded++
			if got := scan(t, groups[i], x.Box); got != x.Code {
				t.Errorf("%s %s: the code reads %q, want %q", name, x.ID, got, x.Code)
			}
		}
		if coded < 3 {
			t.Errorf("%s: %d codes are printed", name, coded)
		}
	}
}

// scan prints a label at 12 dots a millimetre, about 300 an inch, with texts as
// black boxes, and reads its code.
func scan(t *testing.T, g draw.Group, box draw.Box) string {
	t.Helper()
	const dots = 12
	img := image.NewGray(image.Rect(0, 0, int(box.Width()*dots)+1, int(box.Height()*dots)+1))
	for i := range img.Pix {
		img.Pix[i] = 255
	}
	least := draw.MM(9)
	for _, s := range g.Strokes {
		r, isRect := s.(draw.Rect)
		if _, isText := s.(draw.Text); !isText && (!isRect || r.Pen.Class != "qr") {
			continue
		}
		b := s.Bounds()
		if isRect {
			least = min(least, b.Height())
		}
		for y := int((b.Min.Y-box.Min.Y)*dots + 0.5); y < int((b.Max.Y-box.Min.Y)*dots+0.5); y++ {
			for x := int((b.Min.X-box.Min.X)*dots + 0.5); x < int((b.Max.X-box.Min.X)*dots+0.5); x++ {
				img.SetGray(x, y, color.Gray{})
			}
		}
	}
	if least < 0.5-1e-9 {
		t.Errorf("%s: modules of %v mm", g.Title, least)
	}
	bmp, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	r, err := qrcode.NewQRCodeReader().Decode(bmp, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
	if err != nil {
		return err.Error()
	}
	return r.GetText()
}

// A warning hangs where a small circuit, followed by eye, stays live with every
// switch off: the fuse and the switch ahead of the first contact, not what lies
// behind it.
func TestWarningsHangWhereItIsLive(t *testing.T) {
	b := boattest.Read(t, `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  F1: {kind: fuse, family: class-t, rating: 100 A}
  S1: {kind: switch, rating: 300 A}
  BP: {kind: bus, rating: 100 A}
  BN: {kind: bus, rating: 100 A, polarity: negative}
  F2: {kind: fuse, family: blade, rating: 10 A}
  LT: {kind: light, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, F1.in, F1.out, S1.in, S1.out, BP], size: 35 mm2}
  - {id: 2, path: [BP, F2.in, F2.out, LT.+], size: 2.5 mm2}
  - {id: 3, path: [LT.-, BN, B1.-], size: 35 mm2}
`)
	var got []string
	for _, l := range labels(t, b, label.Options{Only: []label.Kind{label.Warnings}}).Labels {
		got = append(got, l.ID)
	}
	if !slices.Equal(got, []string{"F1", "S1"}) {
		t.Errorf("warnings at %v, want F1 and S1", got)
	}
}

// Every line of the list of labels has its label.
func TestListOfLabelsIsPrinted(t *testing.T) {
	eachExample(t, func(t *testing.T, b *schema.Boat, s *label.Set) {
		there := map[string]int{}
		for _, l := range s.Rows() {
			there[l.ID]++
			there[l.ID+"."+l.At]++
		}
		table, _ := list.Of("labels", list.Input{Survey: survey.Of(b)})
		for _, r := range table.Rows {
			if there[r[0].Text] == 0 {
				t.Errorf("%s (%s) has no label", r[0].Text, r[3].Text)
			}
		}
	})
}

// Which way the water goes, and the engine that must not start dry, in a boat
// followed by eye: sea to engine, sink to sea.
func TestDirectionsAndStarting(t *testing.T) {
	b := boattest.Read(t, `
fitout: 1
parts:
  TH1: {kind: through-hull, service: intake, size: 1 in, height: -0.5 m, seacock: {id: SC1, type: flanged-ball, size: 1 in}}
  TH2: {kind: through-hull, service: drain, size: 1 in, height: 0.1 m, seacock: {id: SC2, type: flanged-ball, size: 1 in, position: closed}}
  EN1: {kind: engine, title: Main engine, fuel: diesel}
  SK1: {kind: sink, title: Galley sink}
hoses:
  - {id: H1, from: SC1.out, to: EN1.water-in, bore: 1 in, length: 1 m}
  - {id: H2, from: SC2.out, to: SK1.out, bore: 1 in, length: 1 m}
`)
	s := labels(t, b, label.Options{})
	for _, c := range []struct{ kind, id, at, line string }{
		{"hoses", "H1", "SC1.out", "→EN1.water-in"}, {"hoses", "H1", "EN1.water-in", "←SC1.out"},
		{"hoses", "H2", "SC2.out", "←SK1.out"}, {"hoses", "H2", "SK1.out", "→SC2.out"},
		{"valves", "SC1", "", "OPEN"}, {"valves", "SC1", "", "intake: sea → boat"}, {"valves", "SC1", "", "open before starting EN1 Main engine"},
		{"valves", "SC2", "", "SHUT"}, {"valves", "SC2", "", "drain: boat → sea"}, {"valves", "SC2", "", "serves SK1 Galley sink"},
	} {
		ok := slices.ContainsFunc(s.Labels, func(l *label.Label) bool {
			return string(l.Kind) == c.kind && l.ID == c.id && l.At == c.at && has(l.Lines, c.line)
		})
		if !ok {
			t.Errorf("no %s %s %s with %q", c.kind, c.id, c.at, c.line)
		}
	}
}

// Diameters against the span of mean overall diameters for single cores with fine
// strands (EN 50525-2-31 type H07V-K, from memory), by mm².
func TestOutsideDiameters(t *testing.T) {
	for _, c := range []struct{ area, least, most float64 }{
		{1.5, 2.8, 3.4}, {2.5, 3.4, 4.1}, {4, 3.9, 4.8}, {6, 4.4, 5.3}, {10, 5.7, 6.8}, {16, 6.7, 8.1}, {25, 8.4, 10.2},
		{35, 9.7, 11.7}, {50, 11.5, 13.9}, {70, 13.2, 16.0}, {95, 15.1, 18.2}, {120, 16.7, 20.2},
	} {
		b := boattest.Read(t, fmt.Sprintf("\nfitout: 1\nparts:\n  A: {kind: bus}\n  B: {kind: bus}\nwires:\n  - {id: 1, from: A, to: B, size: %g mm2}\n", c.area))
		s := labels(t, b, label.Options{Only: []label.Kind{label.Wires}, Stock: map[label.Kind]string{"": "sleeve"}})
		d := float64(s.Labels[0].Outside)
		if d < c.least || d > c.most {
			t.Errorf("%g mm²: %.1f mm, makers have %g to %g", c.area, d, c.least, c.most)
		}
		st, err := label.StockNamed(s.Labels[0].Stock)
		if err != nil {
			t.Fatal(err)
		}
		// it slips over and holds when shrunk to half; laid flat it is half its round
		if bore := float64(st.Bore); bore < 1.05*c.least || bore/2 > c.most || math.Abs(float64(st.H)-math.Pi*bore/2) > 0.01 {
			t.Errorf("%g mm²: sleeve of %g mm, %.2f mm flat", c.area, bore, st.H)
		}
	}
}

// Random boats with long names, many ways and letters of other scripts, on any
// stock: no label is lost, no text is cut in silence, nothing overlaps.
func TestRandomBoatsLoseNoLabel(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	stocks := []string{"", "", "a4-65", "a4-24", "a4-8", "letter-30", "letter-10", "tape-9", "tape-12", "tape-18", "tape-24", "sleeve", "sleeve-4.8"}
	for n := range 150 {
		text := randomBoat(r)
		o := label.Options{Letter: r.IntN(2) == 0, Outlines: r.IntN(2) == 0, Skip: r.IntN(8), Pitch: draw.MM(r.IntN(4) * 8)}
		if st := stocks[r.IntN(len(stocks))]; st != "" {
			o.Stock = map[label.Kind]string{"": st}
		}
		if r.IntN(2) == 0 {
			o.Page = page
		}
		if s := (o.Stock[""]); s == "a4-8" || s == "letter-10" {
			o.Skip = 0
		}
		soundly(t, labels(t, boattest.Read(t, text), o))
		if t.Failed() {
			t.Fatalf("boat %d with %+v:\n%s", n, o, text)
		}
	}
}

func randomBoat(r *rand.Rand) string {
	words := []string{"Anchor", "windlass", "Refrigerator-compressor", "VHF", "鍋", "Kühlschrank", "navigation lights", "A/B", "x", "Überwachungsrelais", "pump_2.b"}
	title := func() string {
		var out []string
		for range 1 + r.IntN(6) {
			out = append(out, words[r.IntN(len(words))])
		}
		return strings.Join(out, " ")
	}
	var parts, wires strings.Builder
	buses := 2 + r.IntN(3)
	for i := range buses {
		fmt.Fprintf(&parts, "  %s%d: {kind: bus, title: %q, polarity: %s}\n", []string{"P", "Positive-distribution-bar"}[r.IntN(2)], i, title(), []string{"positive", "negative"}[r.IntN(2)])
	}
	names := regexp.MustCompile(`(?m)^  ([\w-]+):`).FindAllStringSubmatch(parts.String(), -1)
	bus := func() string { return names[r.IntN(buses)][1] }
	for i := range 1 + r.IntN(12) {
		fmt.Fprintf(&parts, "  F%d: {kind: fuse, title: %q, rating: %d A}\n", i, title(), 1+r.IntN(400))
		size := []string{"1 mm2", "2.5 mm2", "16 mm2", "120 mm2", "4/0 AWG", "18 AWG"}[r.IntN(6)]
		fmt.Fprintf(&wires, "  - {id: w%d, path: [%s, F%d.in, F%d.out, %s], size: %s, color: %s, parallel: %d}\n", i, bus(), i, i, bus(), size, []string{"RD", "green/yellow", "tan"}[r.IntN(3)], 1+r.IntN(3))
	}
	ways := []string{}
	for i := range 1 + r.IntN(30) {
		ways = append(ways, fmt.Sprintf("%d: {title: %q, rating: %d A}", i+1, title(), 1+r.IntN(60)))
	}
	fmt.Fprintf(&parts, "  DP: {kind: panel, title: %q, ways: {%s}}\n", title(), strings.Join(ways, ", "))
	for i := range r.IntN(5) {
		fmt.Fprintf(&parts, "  SC%d: {kind: seacock, title: %q, size: 3/4 in, position: %s}\n  TH%d: {kind: through-hull, title: %q, service: drain, size: 3/4 in, height: -0.2 m}\n", i, title(), []string{"open", "closed"}[r.IntN(2)], i, title())
		fmt.Fprintf(&wires, "")
	}
	return "fitout: 1\nparts:\n" + parts.String() + "wires:\n" + wires.String()
}

// In the PDF every word of a label lies within its label (pdftotext -bbox), and
// qpdf passes the file.
func TestPDF(t *testing.T) {
	for _, tool := range []string{"qpdf", "pdftotext"} {
		if _, err := exec.LookPath(tool); err != nil {
			if os.Getenv("FITOUT_REQUIRE_ENGINES") == "1" {
				t.Fatalf("%s is not installed", tool)
			}
			t.Skipf("%s is not installed", tool)
		}
	}
	s := labels(t, boattest.ReadFile(t, "../../examples/cruiser.yaml"), label.Options{Page: page})
	var b bytes.Buffer
	if err := pdf.Write(&b, s.Sheets, pdf.Document{Title: "labels"}); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "labels.pdf")
	if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command("qpdf", "--check", name).CombinedOutput(); err != nil {
		t.Fatalf("qpdf: %v\n%s", err, out)
	}
	out, err := exec.Command("pdftotext", "-bbox", name, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	word := regexp.MustCompile(`<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*)</word>`)
	sheet, words := -1, 0
	for _, line := range strings.Split(string(out), "\n") {
		if strings.Contains(line, "<page ") {
			sheet++
		}
		m := word.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		var v [4]draw.MM
		for i := range v {
			f, _ := strconv.ParseFloat(m[i+1], 64)
			v[i] = draw.MM(f * 25.4 / 72)
		}
		middle := draw.Point{X: (v[0] + v[2]) / 2, Y: (v[1] + v[3]) / 2}
		if middle.Y < 9 {
			continue // the caption in the margin
		}
		words++
		inside := slices.ContainsFunc(s.Placed, func(p label.Placed) bool {
			return p.Sheet == sheet && p.Box.Contains(draw.Box{Min: draw.Point{X: v[0], Y: middle.Y}, Max: draw.Point{X: v[2], Y: middle.Y}})
		})
		if !inside {
			t.Errorf("sheet %d: %q lies over the edge of its label", sheet, m[5])
		}
	}
	if sheet != len(s.Sheets)-1 || words < 500 {
		t.Errorf("%d pages, %d words", sheet+1, words)
	}
}

func TestPageOf(t *testing.T) {
	for given, want := range map[string]string{
		"": "", "https://boat.example": "https://boat.example/b-pack.html", "https://boat.example/x/": "https://boat.example/x/b-pack.html",
		"https://boat.example/heron.html#top": "https://boat.example/heron.html", "file:///mnt/b-pack.html": "file:///mnt/b-pack.html",
	} {
		if got := label.PageOf(given, "b-pack.html"); got != want {
			t.Errorf("%q: %q, want %q", given, got, want)
		}
	}
	// RFC 3986: no blank and no letter outside ASCII stands in an address
	if got, want := label.Address(label.PageOf("https://boat.example", "my boat-pack.html"), "at-space-Größe"), "https://boat.example/my%20boat-pack.html#at-space-Gr%C3%B6%C3%9Fe"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}
