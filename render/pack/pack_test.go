package pack

import (
	"bytes"
	"html"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"fitout/render/draw"
	"fitout/render/pdf"
	"fitout/schema"
	"fitout/schema/boattest"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

const examples = "../../examples/"

func exampleNames(t testing.TB) []string {
	t.Helper()
	list, err := filepath.Glob(examples + "*.yaml")
	if err != nil || len(list) < 3 {
		t.Fatalf("examples: %v %v", list, err)
	}
	if testing.Short() { // the race detector is slow, and one sound boat and one tired one run the same code
		list = slices.DeleteFunc(list, func(f string) bool {
			return !slices.Contains([]string{"cruiser.yaml", "tired.yaml"}, filepath.Base(f))
		})
	}
	return list
}

func inputOf(b *schema.Boat) Input {
	s := survey.Of(b)
	return Input{Survey: s, Result: rules.Check(s)}
}

func packOf(t testing.TB, file string, a Audience) (*Pack, Input) {
	t.Helper()
	in := inputOf(boattest.ReadFile(t, file))
	p, err := Make(in, Options{For: a})
	if err != nil {
		t.Fatal(err)
	}
	return p, in
}

// texts are the lines of a sheet as they are drawn, the frame left out.
func texts(s draw.Sheet) []string {
	var out []string
	for _, it := range s.Items {
		if g, ok := it.(draw.Group); ok && slices.Contains([]string{"frame", "title-block", "caution"}, g.Class) {
			continue
		}
		draw.EachText(it, func(t draw.Text) { out = append(out, t.S) })
	}
	return out
}

// sheetsWith lists the sheets of a kind (the name behind the number) on which an
// id stands alone in a cell.
func sheetsWith(p *Pack, prefix, id string) []string {
	var out []string
	for _, s := range p.Sheets {
		if strings.HasPrefix(s.ID[4:], prefix) && slices.Contains(texts(s), id) {
			out = append(out, s.ID[4:])
		}
	}
	return out
}

func space(p *schema.Part) string {
	if p.Space == nil {
		return "sheet-space-none"
	}
	return "sheet-space-" + p.Space.ID
}

// Every fuse, breaker, valve and hull opening stands on the sheet of its own
// space and on no other, and every opening on the emergency plan. What is asked
// for is read from the model here, not from the lists of the pack.
func TestEachStandsOnItsSheet(t *testing.T) {
	for _, file := range exampleNames(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			p, in := packOf(t, file, Owner)
			want := map[string]string{}
			for _, q := range in.Survey.Boat.Parts {
				if q.Prepared {
					continue
				}
				for _, br := range q.Branches() {
					if br.Type != schema.Device || br.Device.Inside {
						continue
					}
					id := q.ID
					if w, ok := q.Way(br.Way); br.Way != "" && ok {
						if w.Spare {
							continue
						}
						id += "." + br.Way
					}
					want[id] = space(q)
				}
				if q.Roles().Any(schema.Seacock | schema.Shutoff | schema.SeaOpening | schema.HullHole) {
					want[q.ID] = space(q)
				}
				if q.Roles().Any(schema.SeaOpening|schema.HullHole) && !openingListed(p, q) {
					t.Errorf("%s is not on the emergency plan", q.ID)
				}
			}
			if len(want) == 0 {
				t.Fatal("nothing to look for")
			}
			for id, sheet := range want {
				got := sheetsWith(p, "sheet-space-", id)
				if len(got) == 0 {
					t.Errorf("%s is on no space sheet; it should be on %s", id, sheet)
				}
				for _, g := range got {
					if g != sheet && !regexp.MustCompile(`^`+regexp.QuoteMeta(sheet)+`-\d+$`).MatchString(g) {
						t.Errorf("%s is on %s; it belongs on %s", id, g, sheet)
					}
				}
			}
		})
	}
}

// openingListed reports whether an opening has a row on the plan: its name
// begins a cell there.
func openingListed(p *Pack, q *schema.Part) bool {
	for _, s := range p.Sheets {
		if !strings.HasPrefix(s.ID[4:], "openings") {
			continue
		}
		for _, line := range texts(s) {
			if line == q.ID || strings.HasPrefix(line, q.ID+" ") {
				return true
			}
		}
	}
	return false
}

// The index leads to pages on which the id does stand, and leaves none out.
func TestIndexHoldsWhatThePagesHold(t *testing.T) {
	p, in := packOf(t, examples+"cruiser.yaml", Owner)
	on := func(id string) []int {
		var out []int
		for i, s := range p.Sheets {
			if strings.HasPrefix(s.ID[4:], "index") {
				continue
			}
			found := false
			for _, line := range texts(s) {
				found = found || slices.Contains(words(line), id)
			}
			for _, it := range s.Items {
				found = found || drawsPart(it, id)
			}
			if found {
				out = append(out, i+1)
			}
		}
		return out
	}
	index := map[string][]int{}
	for _, s := range p.Sheets {
		if strings.HasPrefix(s.ID[4:], "index") {
			readIndex(s, index)
		}
	}
	for _, q := range in.Survey.Boat.Parts {
		if got, want := index[q.ID], on(q.ID); !slices.Equal(got, want) {
			t.Errorf("%s: the index says %v; it stands on %v", q.ID, got, want)
		}
	}
}

func drawsPart(it draw.Item, id string) bool {
	switch it := it.(type) {
	case draw.Part:
		return it.ID == id && it.Ref == ""
	case draw.Band:
		return slices.ContainsFunc(it.Items, func(x draw.Item) bool { return drawsPart(x, id) })
	}
	return false
}

// readIndex reads rows of the index by their place on the page: cells of one
// row start on one height; the last column may go on in the lines below.
func readIndex(s draw.Sheet, to map[string][]int) {
	var id string
	for _, it := range s.Items {
		g, ok := it.(draw.Group)
		if !ok || g.Class != "table" {
			continue
		}
		var xs []draw.MM
		for _, st := range g.Strokes {
			if t, ok := st.(draw.Text); ok && !slices.Contains(xs, t.At.X) {
				xs = append(xs, t.At.X)
			}
		}
		slices.Sort(xs)
		for _, st := range g.Strokes {
			t, ok := st.(draw.Text)
			switch {
			case !ok:
			case t.At.X == xs[0]:
				id = t.S
			case t.At.X == xs[len(xs)-1]:
				to[id] = append(to[id], pageList(t.S)...)
			}
		}
	}
}

func pageList(s string) []int {
	var out []int
	for _, f := range strings.FieldsFunc(s, func(r rune) bool { return r == ',' || r == ' ' }) {
		a, b, ok := strings.Cut(f, "–")
		from, err := strconv.Atoi(a)
		if err != nil {
			return nil
		}
		to := from
		if ok {
			to, _ = strconv.Atoi(b)
		}
		for n := from; n <= to; n++ {
			out = append(out, n)
		}
	}
	return out
}

func need(t *testing.T, tool string) string {
	t.Helper()
	path, err := exec.LookPath(tool)
	if err != nil {
		if os.Getenv("FITOUT_REQUIRE_ENGINES") == "1" {
			t.Fatalf("%s is not installed", tool)
		}
		t.Skipf("%s is not installed", tool)
	}
	return path
}

func writePDF(t *testing.T, p *Pack) string {
	t.Helper()
	var b bytes.Buffer
	if err := pdf.Write(&b, p.Sheets, pdf.Document{Title: "pack"}); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "pack.pdf")
	if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return name
}

var (
	pageTag = regexp.MustCompile(`<page width="([\d.]+)" height="([\d.]+)">`)
	wordTag = regexp.MustCompile(`<word xMin="([-\d.]+)" yMin="([-\d.]+)" xMax="([-\d.]+)" yMax="([-\d.]+)">(.*)</word>`)
)

// For every example, every audience, on A4 and on Letter: a PDF that qpdf passes;
// every word of it well inside its page (pdftotext -bbox); no words over one
// another on the sheets that are set here; and each letter that was set there, so
// that nothing is cut.
func TestPrints(t *testing.T) {
	qpdf, totext := need(t, "qpdf"), need(t, "pdftotext")
	for i, file := range exampleNames(t) {
		in := inputOf(boattest.ReadFile(t, file))
		for j, a := range Audiences() {
			// Every example meets every audience, on one paper and the next in turn.
			for _, paper := range []string{"A4", "Letter"}[(i+j)%2 : (i+j)%2+1] {
				if testing.Short() && a != Reviewer {
					continue
				}
				t.Run(filepath.Base(file)+"/"+string(a)+"/"+paper, func(t *testing.T) {
					p, err := Make(in, Options{For: a, Paper: paper})
					if err != nil {
						t.Fatal(err)
					}
					name := writePDF(t, p)
					if out, err := exec.Command(qpdf, "--check", name).CombinedOutput(); err != nil {
						t.Fatalf("qpdf: %v\n%s", err, out)
					}
					out, err := exec.Command(totext, "-bbox", name, "-").Output()
					if err != nil {
						t.Fatal(err)
					}
					printed(t, p, string(out))
				})
			}
		}
	}
}

// margin to the edge of the paper that a word keeps, in points: 4 mm, what a
// printer leaves white (common practice, no source).
const whiteEdge = 4 * 72 / 25.4

// printed holds the boxes of a PDF's words against the sheets it was made from.
func printed(t *testing.T, p *Pack, boxes string) {
	t.Helper()
	page, count := 0, 0
	var w, h float64
	var words []wordBox
	end := func() {
		if page > 0 && setHere(p.Sheets[page-1]) {
			overlapping(t, page, words)
			whole(t, page, p.Sheets[page-1], words)
		}
		words = nil
	}
	for _, line := range strings.Split(boxes, "\n") {
		if m := pageTag.FindStringSubmatch(line); m != nil {
			end()
			page++
			w, h = number(m[1]), number(m[2])
		}
		if m := wordTag.FindStringSubmatch(line); m != nil {
			count++
			x := wordBox{number(m[1]), number(m[2]), number(m[3]), number(m[4]), html.UnescapeString(m[5])}
			if x.x0 < whiteEdge || x.y0 < whiteEdge || x.x1 > w-whiteEdge || x.y1 > h-whiteEdge {
				t.Errorf("page %d: %q reaches to the edge of the paper", page, x.s)
			}
			words = append(words, x)
		}
	}
	end()
	if page != len(p.Sheets) || count < 500 {
		t.Errorf("%d pages with %d words; %d sheets were set", page, count, len(p.Sheets))
	}
}

// whole compares the letters of a page with those that were set on its sheet.
func whole(t *testing.T, page int, s draw.Sheet, words []wordBox) {
	t.Helper()
	count := map[rune]int{}
	for _, it := range s.Items {
		draw.EachText(it, func(x draw.Text) {
			if strings.HasSuffix(x.S, "…") {
				t.Errorf("page %d (%s): %q is cut", page, s.ID, x.S)
			}
			for _, c := range x.S {
				count[c]++
			}
		})
	}
	for _, w := range words {
		for _, c := range w.s {
			count[c]--
		}
	}
	for c, n := range count {
		if n != 0 && !unicode.IsSpace(c) {
			t.Errorf("page %d (%s): %q stands there %d times less than it was set", page, s.ID, c, n)
		}
	}
}

type wordBox struct {
	x0, y0, x1, y1 float64
	s              string
}

func number(s string) float64 { f, _ := strconv.ParseFloat(s, 64); return f }

// setHere reports whether a sheet is of the pack's own: the drawings have tests
// of their own.
func setHere(s draw.Sheet) bool {
	for _, it := range s.Items {
		if _, ok := it.(draw.Part); ok {
			return false
		}
		if _, ok := it.(draw.Band); ok {
			return false
		}
	}
	return true
}

// overlapping finds words whose bodies share room. The boxes of pdftotext reach
// from ascent to descent; the middle half of the height is the body.
func overlapping(t *testing.T, page int, list []wordBox) {
	t.Helper()
	for i, a := range list {
		for _, b := range list[i+1:] {
			w := min(a.x1, b.x1) - max(a.x0, b.x0)
			ah, bh := (a.y1-a.y0)/4, (b.y1-b.y0)/4
			h := min(a.y1-ah, b.y1-bh) - max(a.y0+ah, b.y0+bh)
			if w > 0.5 && h > 0.5 {
				t.Errorf("page %d: %q and %q lie over one another", page, a.s, b.s)
			}
		}
	}
}

// The same input gives the same bytes.
func TestSameInputSameBytes(t *testing.T) {
	one, _ := packOf(t, examples+"dayboat.yaml", Owner)
	two, _ := packOf(t, examples+"dayboat.yaml", Owner)
	if !bytes.Equal(one.HTML, two.HTML) {
		t.Error("the page differs from run to run")
	}
	var a, b bytes.Buffer
	if pdf.Write(&a, one.Sheets, pdf.Document{}) != nil || pdf.Write(&b, two.Sheets, pdf.Document{}) != nil || !bytes.Equal(a.Bytes(), b.Bytes()) {
		t.Error("the PDF differs from run to run")
	}
}

// Page numbers in the title blocks count through, and every page says of how many.
func TestSheetsAreNumbered(t *testing.T) {
	p, _ := packOf(t, examples+"cruiser.yaml", Aboard)
	for i, s := range p.Sheets {
		want, found := strconv.Itoa(i+1)+" of "+strconv.Itoa(len(p.Sheets)), false
		for _, it := range s.Items {
			draw.EachText(it, func(t draw.Text) { found = found || t.S == want })
		}
		if !found {
			t.Errorf("sheet %s does not say %q", s.ID, want)
		}
	}
}

// Who gets what: the yard and the reviewer see every finding, the one aboard no
// commissioning sheet; a name that is not known is refused.
func TestAudiences(t *testing.T) {
	in := inputOf(boattest.ReadFile(t, examples+"tired.yaml"))
	if _, err := Make(in, Options{For: "nobody"}); err == nil {
		t.Error("a pack for nobody was made")
	}
	for _, a := range Audiences() {
		p, err := Make(in, Options{For: a})
		if err != nil {
			t.Fatal(err)
		}
		has := func(prefix string) bool {
			return slices.ContainsFunc(p.Sheets, func(s draw.Sheet) bool { return strings.HasPrefix(s.ID[4:], prefix) })
		}
		if !has("findings") || has("commissioning") != (a != Aboard) {
			t.Errorf("%s: findings %v, commissioning %v", a, has("findings"), has("commissioning"))
		}
	}
}

func BenchmarkPack(b *testing.B) {
	for _, file := range exampleNames(b) {
		b.Run(filepath.Base(file), func(b *testing.B) {
			boat := boattest.ReadFile(b, file)
			for b.Loop() {
				p, err := Make(inputOf(boat), Options{For: Owner})
				if err != nil {
					b.Fatal(err)
				}
				var out bytes.Buffer
				if err := pdf.Write(&out, p.Sheets, pdf.Document{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// Files that hold little or leave ends open make a pack all the same, on either
// paper: an empty boat, a wire to a part that is only prepared for, batteries
// alone, water alone.
func TestThinFiles(t *testing.T) {
	for name, text := range map[string]string{
		"empty": "fitout: 1\n",
		"prepared": `fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  LT1: {kind: light, draw: 1 A}
  LT2: {kind: light, draw: 1 A, prepared: yes}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
  - {id: 3, path: [B1.+, {F2: blade 10 A}, LT2.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
conditions: {a: {running: [LT1]}}
`,
		"battery": "fitout: 1\nparts: {B1: {kind: battery}}\n",
		"water": `fitout: 1
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, seacock: {id: SC1}}
  EN1: {kind: engine}
hoses:
  - {id: H1, from: TH1, to: EN1.water-in}
`,
	} {
		t.Run(name, func(t *testing.T) {
			in := inputOf(boattest.Read(t, text))
			for _, paper := range []string{"A4", "Letter"} {
				p, err := Make(in, Options{For: Reviewer, Paper: paper})
				if err != nil {
					t.Fatal(err)
				}
				cover := strings.Join(texts(p.Sheets[0]), " ")
				if !strings.Contains(cover, "licensed person") || !strings.Contains(cover, "Change log") {
					t.Errorf("%s: the cover has no cautions: %s", paper, cover)
				}
				for _, s := range p.Sheets {
					for _, it := range s.Items {
						if b := it.Bounds(); b.Min.X < 0 || b.Min.Y < 0 || b.Max.X > s.W || b.Max.Y > s.H {
							t.Errorf("%s: sheet %s reaches over the paper", paper, s.ID)
						}
					}
				}
			}
		})
	}
}
