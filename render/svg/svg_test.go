package svg

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/schema/symbol"
	"fitout/schema/unit"
)

// node is an element of a file read back with the standard XML reader.
type node struct {
	XMLName xml.Name
	Attrs   []xml.Attr `xml:",any,attr"`
	Nodes   []node     `xml:",any"`
	Text    string     `xml:",chardata"`
}

func (n node) get(name string) string {
	for _, a := range n.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func (n node) all(visit func(node)) {
	visit(n)
	for _, c := range n.Nodes {
		c.all(visit)
	}
}

func (n node) find(tag, attr, value string) []node {
	var out []node
	n.all(func(m node) {
		if m.XMLName.Local == tag && (attr == "" || m.get(attr) == value) {
			out = append(out, m)
		}
	})
	return out
}

func render(t *testing.T, s draw.Sheet, o Options) ([]byte, node) {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, s, o); err != nil {
		t.Fatal(err)
	}
	var root node
	if err := xml.Unmarshal(b.Bytes(), &root); err != nil {
		t.Fatalf("not well-formed: %v\n%s", err, b.String())
	}
	return b.Bytes(), root
}

var hull = unit.Metre(-0.6)

// sample has two parts, two wires, a hose, a continuation and a band.
func sample() draw.Sheet {
	o := draw.Point{X: 20, Y: 20}
	get := func(id string) symbol.Symbol {
		s, ok := symbol.Get(id)
		if !ok {
			panic(id)
		}
		return s.With()
	}
	at := func(x, y float64) draw.Point { return draw.GridPoint(o, x, y) }
	bar, _ := symbol.Bar("dc/bus", []symbol.Stud{{Name: "1", X: 0}, {Name: "2", X: 6}}, 0, 12)
	s := draw.Sheet{ID: "dc-1", Title: `House "bank" & <loads>`, Desc: "What it shows", W: 210, H: 148.5}
	th := draw.SymbolPart("TH1", "through-hull", get("water/through-hull=intake"), o, 60, 30, false)
	th.Height = &hull
	s.Add(
		draw.SymbolPart("BP", "bus", bar, o, 0, 4, false),
		draw.SymbolPart("F1", "fuse", get("dc/fuse"), o, 0, 12, false),
		draw.SymbolPart("LT1", "light", get("dc/light"), o, 6, 20, true),
		draw.Run{ID: "1", From: "BP.1", To: "F1.in", Style: draw.Positive, Core: "RD", Points: []draw.Point{at(0, 4), at(0, 10)}},
		draw.Run{ID: "2", From: "BP.2", To: "LT1.+", Style: draw.Positive, Count: 2, Title: "two & more", Points: []draw.Point{at(6, 4), at(6, 18)}},
		draw.Run{ID: "3", From: "F1.out", To: "LT1.-", Style: draw.Negative, Corner: 1.5, Points: []draw.Point{at(0, 14), at(0, 26), at(6, 26), at(6, 22)}},
		draw.Text{At: at(0, 7).Add(-1, 0), S: "1 2.5 RD", Letters: draw.RunLabel, Align: draw.Middle, Up: true, Label: true, LabelOf: "1"},
		draw.Continuation("BP-out", "BP", "BP 2/C4", at(13, 4), symbol.Right),
		draw.FindingMark(at(20, 20), 7, draw.FindingError),
		draw.Band{Items: []draw.Item{
			draw.Waterline{Y: at(0, 25).Y, Left: at(50, 0).X, Right: at(70, 0).X}, th,
			draw.SymbolPart("SC1", "seacock", get("water/seacock"), o, 60, 36, false),
			draw.Run{Kind: draw.Hose, ID: "H1", From: "TH1.out", To: "SC1.in", Style: draw.Sea, Points: []draw.Point{at(60, 28), at(66, 28), at(66, 40), at(60, 40), at(60, 38)}},
		}},
	)
	return s
}

func TestContract(t *testing.T) {
	_, root := render(t, sample(), Options{})
	if root.get("width") != "210.00mm" || root.get("height") != "148.50mm" || root.get("viewBox") != "0 0 210.00 148.50" {
		t.Errorf("size %s by %s, view box %s", root.get("width"), root.get("height"), root.get("viewBox"))
	}
	if titles := root.find("title", "", ""); len(titles) == 0 || titles[0].Text != `House "bank" & <loads>` {
		t.Errorf("title %v", titles)
	}
	for id, kind := range map[string]string{"BP": "bus", "F1": "fuse", "LT1": "light", "TH1": "through-hull", "BP-out": "continuation"} {
		g := root.find("g", "data-part", id)
		if len(g) != 1 || g[0].get("id") != "part-"+id || g[0].get("data-kind") != kind || g[0].get("class") != "part" {
			t.Errorf("part %s: %v", id, g)
		}
		g[0].all(func(n node) {
			if n.get("data-part") != "" && n.get("data-part") != id {
				t.Errorf("part %s holds part %s", id, n.get("data-part"))
			}
		})
	}
	if g := root.find("g", "data-part", "TH1")[0]; g.get("data-height") != "-0.6" {
		t.Errorf("height %s", g.get("data-height"))
	}
	if g := root.find("g", "data-part", "BP-out")[0]; g.get("data-ref") != "BP" {
		t.Errorf("ref %s", g.get("data-ref"))
	}
	w := root.find("path", "data-wire", "2")[0]
	if w.get("class") != "wire positive" || w.get("data-from") != "BP.2" || w.get("data-to") != "LT1.+" || w.get("data-count") != "2" || w.get("d") != "M35.00 30.00 L35.00 65.00" {
		t.Errorf("wire 2: %v", w.Attrs)
	}
	if h := root.find("path", "data-hose", "H1"); len(h) != 1 || h[0].get("class") != "hose sea" {
		t.Errorf("hose H1: %v", h)
	}
	l := root.find("text", "data-wire", "1")
	if len(l) != 1 || !strings.HasPrefix(l[0].get("class"), "label ") || l[0].get("transform") != "rotate(-90 19.00 37.50)" {
		t.Errorf("label: %v", l)
	}
	if len(root.find("line", "class", "waterline")) != 1 || len(root.find("g", "class", "band")) != 1 {
		t.Error("waterline and band are due, once each")
	}
	if len(root.find("path", "class", "core")) != 1 {
		t.Error("the coloured core of wire 1 is missing")
	}
	ids := map[string]bool{}
	root.all(func(n node) {
		if id := n.get("id"); id != "" {
			if ids[id] {
				t.Errorf("id %s twice", id)
			}
			ids[id] = true
		}
	})
}

// Every text says how long it is, by our own table, and has letters of at least
// 1.8 mm capitals; every stroke is at least 0.18 mm wide (layout.md section 9).
func TestTextAndStrokes(t *testing.T) {
	for _, theme := range []draw.Theme{draw.InColour, draw.InMono} {
		_, root := render(t, sample(), Options{Theme: theme})
		root.all(func(n node) {
			if n.XMLName.Local == "text" {
				size, err := strconv.ParseFloat(n.get("font-size"), 64)
				if err != nil || size*0.716 < 1.8 {
					t.Errorf("%q: letters of %s mm", n.Text, n.get("font-size"))
				}
				if w, err := strconv.ParseFloat(n.get("textLength"), 64); err != nil || w <= 0 || n.get("lengthAdjust") != "spacingAndGlyphs" {
					t.Errorf("%q: text length %q %q", n.Text, n.get("textLength"), n.get("lengthAdjust"))
				}
			}
			if w := n.get("stroke-width"); w != "" {
				if v, err := strconv.ParseFloat(w, 64); err != nil || v < 0.18 {
					t.Errorf("%s: stroke of %s mm", n.XMLName.Local, w)
				}
			}
			if theme == draw.InMono {
				for _, a := range []string{"stroke", "fill"} {
					if c := n.get(a); c != "" && c != "none" && c != "#000000" && c != "#FFFFFF" {
						t.Errorf("%s %s %s on a sheet in black and white", n.XMLName.Local, a, c)
					}
				}
			}
		})
	}
}

func TestInlineSheetsKeepIdsApart(t *testing.T) {
	a, b := sample(), sample()
	b.ID = "dc-2"
	seen := map[string]bool{}
	for _, s := range []draw.Sheet{a, b} {
		out, root := render(t, s, Options{Inline: true, NoFont: true})
		if !strings.HasPrefix(string(out), "<svg") {
			t.Errorf("starts with %.20q", out)
		}
		if bytes.Contains(out, []byte("font-face")) {
			t.Error("the face is there though the page has it")
		}
		root.all(func(n node) {
			if id := n.get("id"); id != "" {
				if !strings.HasPrefix(id, s.ID+"-") || seen[id] {
					t.Errorf("id %s on sheet %s", id, s.ID)
				}
				seen[id] = true
			}
		})
		if p := root.find("g", "data-part", "F1"); len(p) != 1 || p[0].get("id") != s.ID+"-part-F1" {
			t.Errorf("part: %v", p)
		}
	}
	css, err := FontCSS(a, b)
	if err != nil || strings.Count(css, "@font-face") != 2 {
		t.Errorf("%d faces: %v", strings.Count(css, "@font-face"), err)
	}
}

// Hostile names stay text: no element, no attribute, no script, no link out.
func TestHostileTextIsInert(t *testing.T) {
	evil := "\"><script>alert(1)</script><g onload='x' \x00\x1b\u202e]]>&lt;--"
	s := draw.Sheet{ID: evil, Title: evil, Desc: evil, W: 100, H: 100}
	s.Add(
		draw.Part{ID: evil, Kind: evil, Title: evil, Ref: evil, Class: evil, Terminals: []draw.Terminal{{Name: evil}},
			Strokes: []draw.Stroke{draw.Text{S: evil, Letters: draw.Note, Class: evil, Link: "javascript:alert(1)"}}},
		draw.Run{ID: evil, From: evil, To: evil, Title: evil, Core: evil, Class: evil, Points: []draw.Point{{}, {X: 9}}},
		draw.Group{Class: evil, Title: evil, Strokes: []draw.Stroke{draw.Polyline{Points: []draw.Point{{}, {X: 1}, {Y: 1}}, Pen: draw.Pen{Class: evil}}}},
		draw.Text{S: evil, Letters: draw.RunLabel, Label: true, LabelOf: evil, Link: "//evil.example/x"},
		draw.Text{S: "ok", Letters: draw.Note, Link: "dc-2.svg#part-F1"},
	)
	for _, o := range []Options{{}, {Inline: true}} {
		out, root := render(t, s, o)
		if n := root.find("script", "", ""); len(n) != 0 {
			t.Error("a script got in")
		}
		links := 0
		root.all(func(n node) {
			for _, a := range n.Attrs {
				if strings.HasPrefix(a.Name.Local, "on") {
					t.Errorf("attribute %s got in", a.Name.Local)
				}
				if a.Name.Local == "href" {
					links++
				}
			}
		})
		if links != 1 {
			t.Errorf("%d links, one is harmless", links)
		}
		if bytes.ContainsAny(out, "\x00\x1b\u202e") {
			t.Error("control characters got in")
		}
	}
}

func TestSameBytes(t *testing.T) {
	a, _ := render(t, sample(), Options{})
	for range 5 {
		if b, _ := render(t, sample(), Options{}); !bytes.Equal(a, b) {
			t.Fatal("the same sheet gave different files")
		}
	}
}

// failing takes a number of bytes and then reports a full disk.
type failing struct{ left int }

var errFull = errors.New("disk full")

func (f *failing) Write(p []byte) (int, error) {
	if f.left -= len(p); f.left < 0 {
		return 0, errFull
	}
	return len(p), nil
}

func TestFirstErrorIsKept(t *testing.T) {
	for _, n := range []int{0, 100, 5000, 9000} {
		if err := Write(&failing{n}, sample(), Options{}); !errors.Is(err, errFull) {
			t.Errorf("after %d bytes: %v", n, err)
		}
	}
	if err := Write(io.Discard, sample(), Options{}); err != nil {
		t.Error(err)
	}
}

// An arc's ends and sweep are those of its angles: drawn clockwise with y down,
// from the right through the foot. Closed form.
func TestArc(t *testing.T) {
	s := draw.Sheet{ID: "a", W: 50, H: 50}
	s.Add(draw.Arc{Centre: draw.Point{X: 20, Y: 20}, R: 5, From: 0, To: 90, Pen: draw.Pen{Style: draw.Leader}},
		draw.Arc{Centre: draw.Point{X: 20, Y: 20}, R: 5, From: 90, To: 360, Pen: draw.Pen{Style: draw.Leader}})
	_, root := render(t, s, Options{})
	p := root.find("path", "", "")
	if p[0].get("d") != "M25.00 20.00 A5.00 5.00 0 0 1 20.00 25.00" || p[1].get("d") != "M20.00 25.00 A5.00 5.00 0 1 1 25.00 20.00" {
		t.Errorf("%s and %s", p[0].get("d"), p[1].get("d"))
	}
}

// The project's own checker, written apart from this package, reads the same
// contract; it must find the parts and runs, and no fault.
func TestCheckerAgrees(t *testing.T) {
	const checker = "../../../shared/checks/svg_metrics.py"
	python, err := exec.LookPath("python3")
	if _, gone := os.Stat(checker); err != nil || gone != nil {
		t.Skip("the checker or python3 is not here")
	}
	name := filepath.Join(t.TempDir(), "dc-1.svg")
	data, _ := render(t, sample(), Options{})
	if err := os.WriteFile(name, data, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(python, checker, "--details", name).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	var m struct {
		Parts, Wires, Hoses, Faults, Texts int
		Min_cap_height_mm, Min_stroke_mm   float64
		Off_grid_ends                      int
		Parts_with_height                  int
	}
	if err := json.Unmarshal(out, &m); err != nil {
		t.Fatal(err)
	}
	if m.Parts != 6 || m.Wires != 3 || m.Hoses != 1 || m.Faults != 0 || m.Off_grid_ends != 0 || m.Parts_with_height != 1 || m.Min_cap_height_mm < 1.8 || m.Min_stroke_mm < 0.18 {
		t.Errorf("%s", out)
	}
}

func BenchmarkWrite(b *testing.B) {
	s := sample()
	for i := range 150 {
		x, y := float64(i%20)*3, math.Floor(float64(i)/20)*5
		f, _ := symbol.Get("dc/inverter-charger")
		s.Add(draw.SymbolPart("X"+strconv.Itoa(i), "inverter-charger", f, draw.Point{}, int(x), int(y), false))
	}
	b.ReportAllocs()
	for b.Loop() {
		if err := Write(io.Discard, s, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
