package schematic_test

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/render/svg"
)

// The measuring of a finished sheet reads the SVG file alone, by the contract of
// section 11 of the layout note, so that nothing of the drawing's own reckoning is
// used. The project's svg_metrics.py reads the same contract in its own way.

type rect struct{ x0, y0, x1, y1 float64 }

func nothing() rect { return rect{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)} }

func (r rect) add(x, y float64) rect {
	return rect{min(r.x0, x), min(r.y0, y), max(r.x1, x), max(r.y1, y)}
}

func (r rect) join(q rect) rect { return r.add(q.x0, q.y0).add(q.x1, q.y1) }

func (r rect) grow(d float64) rect { return rect{r.x0 - d, r.y0 - d, r.x1 + d, r.y1 + d} }

func (r rect) overlaps(q rect, slack float64) bool {
	return min(r.x1, q.x1)-max(r.x0, q.x0) > slack && min(r.y1, q.y1)-max(r.y0, q.y0) > slack
}

func (r rect) distance(x, y float64) float64 {
	return math.Hypot(max(r.x0-x, 0, x-r.x1), max(r.y0-y, 0, y-r.y1))
}

type segment struct{ x0, y0, x1, y1 float64 }

func (s segment) rect() rect { return nothing().add(s.x0, s.y0).add(s.x1, s.y1) }

// cuts tells whether a level or upright segment runs through the inside of r.
func (s segment) cuts(r rect) bool {
	q := s.rect()
	if r.x0 >= r.x1 || r.y0 >= r.y1 {
		return false
	}
	return q.x0 < r.x1 && q.x1 > r.x0 && q.y0 < r.y1 && q.y1 > r.y0
}

type svgPart struct {
	id, kind, ref string
	box           rect
	strokes       []segment
	terms         map[string]rect
}

type svgRun struct {
	id, from, to string
	segs         []segment
}

func (r *svgRun) bends() int {
	n := 0
	for i := 1; i < len(r.segs); i++ {
		if a, b := r.segs[i-1], r.segs[i]; (a.x0 == a.x1) != (b.x0 == b.x1) {
			n++
		}
	}
	return n
}

type svgText struct {
	s, owner, run string
	box           rect
	size          float64
}

type svgSheet struct {
	id    string
	page  rect
	parts []*svgPart
	runs  []*svgRun
	texts []*svgText
	other []segment // strokes outside parts
	thin  float64   // thinnest stroke
	bare  []string  // runs without a label
}

// readCircuit parses an SVG file.
func readCircuit(t *testing.T, id string, data []byte) *svgSheet {
	t.Helper()
	s := &svgSheet{id: id, thin: math.Inf(1)}
	d := xml.NewDecoder(bytes.NewReader(data))
	type frame struct {
		part  *svgPart
		width string
	}
	stack := []frame{{}}
	var text *svgText
	var textAttr map[string]string
	skip := 0
	for {
		tok, err := d.Token()
		if err == io.EOF {
			return s
		}
		if err != nil {
			t.Fatalf("%s: %v", id, err)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			if skip > 0 || e.Name.Local == "style" || e.Name.Local == "title" || e.Name.Local == "desc" {
				skip++
				continue
			}
			a := map[string]string{}
			for _, x := range e.Attr {
				a[x.Name.Local] = x.Value
			}
			top := stack[len(stack)-1]
			f := frame{top.part, top.width}
			if w, ok := a["stroke-width"]; ok {
				f.width = w
			}
			classes := strings.Fields(a["class"])
			switch e.Name.Local {
			case "svg":
				v := numbers(a["viewBox"])
				s.page = rect{v[0], v[1], v[0] + v[2], v[1] + v[3]}
			case "g":
				if slices.Contains(classes, "part") {
					f.part = &svgPart{id: a["data-part"], kind: a["data-kind"], ref: a["data-ref"], box: nothing(), terms: map[string]rect{}}
					if f.part.id != strings.TrimPrefix(a["id"], "part-") {
						t.Errorf("%s: part %s has the id %s", id, f.part.id, a["id"])
					}
					s.parts = append(s.parts, f.part)
				}
			case "text":
				text = &svgText{run: a["data-wire"] + a["data-hose"], size: number(a["font-size"])}
				if f.part != nil {
					text.owner = f.part.id
				}
				textAttr = a
			default:
				s.shape(t, e.Name.Local, a, classes, f.part, f.width)
			}
			stack = append(stack, f)
		case xml.CharData:
			if skip == 0 && text != nil {
				text.s += string(e)
			}
		case xml.EndElement:
			if skip > 0 {
				skip--
				continue
			}
			if e.Name.Local == "text" {
				text.place(textAttr)
				s.texts = append(s.texts, text)
				text = nil
			}
			stack = stack[:len(stack)-1]
		}
	}
}

func (s *svgSheet) shape(t *testing.T, name string, a map[string]string, classes []string, part *svgPart, width string) {
	if slices.Contains(classes, "core") || slices.Contains(classes, "paper") {
		return
	}
	stroked := a["stroke"] != "none"
	if stroked && width != "" {
		s.thin = min(s.thin, number(width))
	}
	if slices.Contains(classes, "wire") || slices.Contains(classes, "hose") {
		r := &svgRun{id: a["data-wire"] + a["data-hose"], from: a["data-from"], to: a["data-to"], segs: path(a["d"])}
		s.runs = append(s.runs, r)
		return
	}
	segs := outline(t, name, a)
	box := nothing()
	for _, g := range segs {
		box = box.join(g.rect())
	}
	if part == nil {
		if stroked {
			s.other = append(s.other, segs...)
		}
		return
	}
	if slices.Contains(classes, "terminal") {
		if n := a["data-terminal"]; n != "" {
			part.terms[n] = box
		}
		return
	}
	part.box = part.box.join(box)
	if stroked {
		part.strokes = append(part.strokes, segs...)
	}
}

func number(s string) float64 {
	v, _ := strconv.ParseFloat(strings.TrimSuffix(s, "mm"), 64)
	return v
}

func numbers(s string) []float64 {
	var out []float64
	for _, f := range strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == ',' }) {
		out = append(out, number(f))
	}
	return out
}

// path reads the straight pieces of M and L, which is all that the runs have.
func path(d string) []segment {
	d = strings.NewReplacer("M", " M ", "L", " L ", "Q", " Q ", "A", " A ", "Z", " Z ", ",", " ").Replace(d)
	var out []segment
	var x, y, x0, y0 float64
	f := strings.Fields(d)
	for i := 0; i < len(f); {
		take := func(n int) []float64 {
			v := make([]float64, n)
			for k := range v {
				v[k] = number(f[i+1+k])
			}
			i += n + 1
			return v
		}
		switch f[i] {
		case "M":
			v := take(2)
			x, y, x0, y0 = v[0], v[1], v[0], v[1]
		case "L":
			v := take(2)
			out = append(out, segment{x, y, v[0], v[1]})
			x, y = v[0], v[1]
		case "A": // only arcs of symbols: their chord and bulge are within the box of ends and radius
			v := take(7)
			out = append(out, segment{x, y, v[5], v[6]})
			x, y = v[5], v[6]
		case "Q":
			v := take(4)
			out = append(out, segment{x, y, v[2], v[3]})
			x, y = v[2], v[3]
		case "Z":
			out = append(out, segment{x, y, x0, y0})
			i++
		default:
			return out
		}
	}
	return out
}

func outline(t *testing.T, name string, a map[string]string) []segment {
	g := func(k string) float64 { return number(a[k]) }
	box := func(x0, y0, x1, y1 float64) []segment {
		return []segment{{x0, y0, x1, y0}, {x1, y0, x1, y1}, {x1, y1, x0, y1}, {x0, y1, x0, y0}}
	}
	switch name {
	case "line":
		return []segment{{g("x1"), g("y1"), g("x2"), g("y2")}}
	case "rect":
		return box(g("x"), g("y"), g("x")+g("width"), g("y")+g("height"))
	case "circle":
		return box(g("cx")-g("r"), g("cy")-g("r"), g("cx")+g("r"), g("cy")+g("r"))
	case "ellipse":
		return box(g("cx")-g("rx"), g("cy")-g("ry"), g("cx")+g("rx"), g("cy")+g("ry"))
	case "path":
		return path(a["d"])
	case "a":
		return nil
	}
	t.Errorf("element %s is not expected", name)
	return nil
}

// place finds the box of the letters: capitals of 0.716 of the size, descenders
// 0.212 below the line, turned texts rotated by -90 degrees.
func (x *svgText) place(a map[string]string) {
	w, px, py := number(a["textLength"]), number(a["x"]), number(a["y"])
	left := px
	switch a["text-anchor"] {
	case "middle":
		left = px - w/2
	case "end":
		left = px - w
	}
	cap, desc := 0.716*x.size, 0.0
	if strings.ContainsAny(x.s, "gjpqy,;()[]{}|_/\\@Q$µμ") {
		desc = 0.212 * x.size
	}
	x.box = rect{left, py - cap, left + w, py + desc}
	if strings.HasPrefix(a["transform"], "rotate(-90") {
		// (dx, dy) from the point becomes (dy, -dx)
		x.box = rect{px - cap, py - (left + w - px), px + desc, py - (left - px)}
	}
}

// figures of a sheet.
type figures struct {
	parts, runs, crossings, bends, worst, cut int
	faults                                    []string
}

// measure finds every fault of a sheet and counts what is scored.
func (s *svgSheet) measure() figures {
	var f figures
	fault := func(format string, args ...any) {
		f.faults = append(f.faults, s.id+": "+fmt.Sprintf(format, args...))
	}
	f.parts, f.runs = len(s.parts), len(s.runs)
	byID := map[string]*svgPart{}
	for _, p := range s.parts {
		if byID[p.id] != nil {
			fault("part %s is there twice", p.id)
		}
		byID[p.id] = p
		if math.IsInf(p.box.x0, 1) {
			fault("part %s is empty", p.id)
		}
	}
	for i, p := range s.parts {
		for _, q := range s.parts[i+1:] {
			if p.box.overlaps(q.box, 0.1) {
				fault("parts %s and %s overlap", p.id, q.id)
			}
		}
	}
	s.ends(byID, fault)
	for _, r := range s.runs {
		f.bends += r.bends()
		f.worst = max(f.worst, r.bends())
		if strings.HasPrefix(r.from, "go-") || strings.HasPrefix(r.to, "go-") {
			f.cut++
		}
		for _, g := range r.segs {
			if g.x0 != g.x1 && g.y0 != g.y1 {
				fault("run %s is slanted", r.id)
			}
			for _, p := range s.parts {
				own := owner(r.from, byID) == p || owner(r.to, byID) == p
				if !own && g.cuts(p.box.grow(-0.25)) {
					fault("run %s goes through %s", r.id, p.id)
				}
			}
		}
	}
	f.crossings = s.meetings(fault)
	s.lettering(fault)
	return f
}

// owner is the part that PART.TERMINAL names, by the longest id that is known.
func owner(ref string, byID map[string]*svgPart) *svgPart {
	for cut := len(ref); cut > 0; cut = strings.LastIndexByte(ref[:cut], '.') {
		if p := byID[ref[:cut]]; p != nil {
			return p
		}
	}
	return nil
}

func (s *svgSheet) ends(byID map[string]*svgPart, fault func(string, ...any)) {
	var x0, y0 float64
	first := true
	for _, r := range s.runs {
		if len(r.segs) == 0 {
			fault("run %s has no line", r.id)
			continue
		}
		last := r.segs[len(r.segs)-1]
		for _, e := range []struct {
			ref  string
			x, y float64
		}{{r.from, r.segs[0].x0, r.segs[0].y0}, {r.to, last.x1, last.y1}} {
			p := owner(e.ref, byID)
			if p == nil {
				fault("run %s ends on %s, which is not there", r.id, e.ref)
				continue
			}
			at := p.box
			if term := strings.TrimPrefix(strings.TrimPrefix(e.ref, p.id), "."); term != "" {
				mark, ok := p.terms[term]
				if !ok {
					fault("run %s: %s has no terminal %q", r.id, p.id, term)
					continue
				}
				at = mark
			}
			if at.distance(e.x, e.y) > 0.6 {
				fault("run %s ends %.2f mm off %s", r.id, at.distance(e.x, e.y), e.ref)
			}
			if first {
				x0, y0, first = e.x, e.y, false
			}
			for _, v := range []float64{e.x - x0, e.y - y0} {
				if k := v / 2.5; math.Abs(k-math.Round(k)) > 0.02 {
					fault("run %s ends off the grid at %s", r.id, e.ref)
				}
			}
		}
	}
}

// meetings counts crossings and reports runs that touch or lie on each other.
func (s *svgSheet) meetings(fault func(string, ...any)) int {
	type piece struct {
		r *svgRun
		segment
	}
	var all []piece
	for _, r := range s.runs {
		for _, g := range r.segs {
			all = append(all, piece{r, g})
		}
	}
	n := 0
	for i, a := range all {
		for _, b := range all[i+1:] {
			ra, rb := a.rect(), b.rect()
			av, bv := a.x0 == a.x1, b.x0 == b.x1
			if av == bv {
				if a.r != b.r && min(ra.x1, rb.x1)-max(ra.x0, rb.x0) > -0.01 && min(ra.y1, rb.y1)-max(ra.y0, rb.y0) > -0.01 &&
					(av && min(ra.y1, rb.y1)-max(ra.y0, rb.y0) > 0.1 || !av && min(ra.x1, rb.x1)-max(ra.x0, rb.x0) > 0.1) {
					fault("runs %s and %s lie on each other", a.r.id, b.r.id)
				}
				continue
			}
			h, v := ra, rb
			if av {
				h, v = rb, ra
			}
			if a.r != b.r && v.x0 > h.x0+0.02 && v.x0 < h.x1-0.02 && h.y0 > v.y0+0.02 && h.y0 < v.y1-0.02 {
				n++
			}
		}
	}
	return n
}

const (
	leastCap    = 1.8  // mm, ISO 3098 (from memory)
	leastStroke = 0.18 // mm, ISO 128 (from memory)
)

func (s *svgSheet) lettering(fault func(string, ...any)) {
	labelled := map[string]bool{}
	for i, t := range s.texts {
		if 0.716*t.size < leastCap {
			fault("%q is %.2f mm high", t.s, 0.716*t.size)
		}
		if t.box.x0 < s.page.x0 || t.box.y0 < s.page.y0 || t.box.x1 > s.page.x1 || t.box.y1 > s.page.y1 {
			fault("%q is off the page", t.s)
		}
		for _, q := range s.texts[i+1:] {
			if t.box.overlaps(q.box, 0.1) {
				fault("%q lies on %q", t.s, q.s)
			}
		}
		in := t.box.grow(-0.1)
		for _, p := range s.parts {
			if p.id != t.owner && t.box.overlaps(p.box, 0.1) {
				fault("%q lies on part %s", t.s, p.id)
			}
			if p.id == t.owner {
				for _, g := range p.strokes {
					if (g.x0 == g.x1 || g.y0 == g.y1) && g.cuts(in) {
						fault("%q lies on a stroke of %s", t.s, p.id)
						break
					}
				}
			}
		}
		near := math.Inf(1)
		for _, r := range s.runs {
			for _, g := range r.segs {
				if g.cuts(in) {
					fault("%q lies on run %s", t.s, r.id)
				}
				if t.run == r.id {
					q := g.rect()
					near = min(near, math.Hypot(max(q.x0-t.box.x1, t.box.x0-q.x1, 0), max(q.y0-t.box.y1, t.box.y0-q.y1, 0)))
				}
			}
			if t.run == r.id {
				labelled[r.id] = true
			}
		}
		if t.run != "" && near > 3 {
			fault("label %q is %.1f mm from run %s", t.s, near, t.run)
		}
		for _, g := range s.other {
			if (g.x0 == g.x1 || g.y0 == g.y1) && g.cuts(in) {
				fault("%q at %.1f, %.1f to %.1f, %.1f lies on the line %.1f, %.1f to %.1f, %.1f", t.s, t.box.x0, t.box.y0, t.box.x1, t.box.y1, g.x0, g.y0, g.x1, g.y1)
			}
		}
	}
	for _, r := range s.runs {
		if !labelled[r.id] {
			s.bare = append(s.bare, r.id)
		}
		for _, g := range r.segs {
			if q := g.rect(); q.x0 < s.page.x0 || q.y0 < s.page.y0 || q.x1 > s.page.x1 || q.y1 > s.page.y1 {
				fault("run %s is off the page", r.id)
			}
		}
	}
	if s.thin < leastStroke {
		fault("a stroke is %.2f mm wide", s.thin)
	}
}

// continued reports continuation marks whose name stands on one sheet only.
func continued(sheets []*svgSheet) []string {
	on := map[string]map[string]bool{}
	var names []string
	for _, s := range sheets {
		for _, p := range s.parts {
			if p.kind != "continuation" {
				continue
			}
			if on[p.ref] == nil {
				on[p.ref] = map[string]bool{}
				names = append(names, p.ref)
			}
			on[p.ref][s.id] = true
		}
	}
	var out []string
	for _, n := range names {
		if len(on[n]) < 2 {
			out = append(out, fmt.Sprintf("%s goes on nowhere", n))
		}
	}
	return out
}

func asSVG(t *testing.T, s draw.Sheet, o svg.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := svg.Write(&b, s, o); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
