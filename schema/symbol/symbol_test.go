package symbol

import (
	"encoding/csv"
	"math"
	"strconv"
	"strings"
	"testing"
)

// The extents in the reference table were computed by another program, which
// drew every row; ours must come out the same. Letters are left out of both
// sides where the table leaves them out.
func TestBoxesAgreeWithReferenceTable(t *testing.T) {
	r := csv.NewReader(strings.NewReader(referenceCSV))
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(all) != 108 {
		t.Fatalf("%d rows, the table has 107 symbols and a heading", len(all))
	}
	for _, row := range all[1:] {
		s, ok := Get(row[0])
		if !ok {
			t.Errorf("%s is missing", row[0])
			continue
		}
		got := emptyBox()
		for _, p := range s.Primitives {
			if p.Shape != Text {
				got = got.Union(p.Box())
			}
		}
		var want [4]float64
		for i, f := range strings.Fields(row[5]) {
			if want[i], err = strconv.ParseFloat(f, 64); err != nil {
				t.Fatal(err)
			}
		}
		for i, d := range [4]float64{want[0] - got.Min.X, want[1] - got.Min.Y, want[2] - got.Max.X, want[3] - got.Max.Y} {
			outward := d
			if i < 2 {
				outward = -d
			}
			// the table's boxes hold the letters too and take whole circles for
			// some arcs, so they may be larger than the strokes, never smaller
			if outward < -1e-6 {
				t.Errorf("%s: box %v, table %v", s.ID, got, want)
				break
			}
		}
	}
}

func TestEveryAnchorIsOnTheOutline(t *testing.T) {
	for _, id := range IDs() {
		if !strings.Contains(id, "/") {
			continue
		}
		s, _ := Get(id)
		if s.Box.Empty() || s.Box.Width() == 0 && s.Box.Height() == 0 {
			t.Errorf("%s: empty box %v", id, s.Box)
		}
		for i, a := range s.Anchors {
			for _, b := range s.Anchors[:i] {
				if a.X == b.X && a.Y == b.Y || a.Name == b.Name {
					t.Errorf("%s: anchors %q and %q meet", id, a.Name, b.Name)
				}
			}
			if d := nearest(s, Point{float64(a.X), float64(a.Y)}); d > tolerance(id) {
				t.Errorf("%s: anchor %s at %d,%d is %.2f M from the nearest stroke", id, a.Name, a.X, a.Y, d)
			}
		}
	}
}

// tolerance is how far an anchor may be from a stroke: nothing, but the radius
// of a stud where the conductor ends in its middle.
func tolerance(id string) float64 {
	if id == "dc/block" || id == "dc/stud" {
		return 0.31
	}
	return 1e-6
}

// A conductor reaches its anchor from outside: the anchor is on the edge of the
// box, or in the middle of a bar.
func TestAnchorsAreOnTheEdge(t *testing.T) {
	for _, id := range IDs() {
		s, _ := Get(id)
		if !strings.Contains(id, "/") {
			continue
		}
		for _, u := range []Symbol{s, s.With()} {
			for _, a := range u.Anchors {
				x, y := float64(a.X), float64(a.Y)
				edge := map[Side]float64{Up: y - u.Box.Min.Y, Right: u.Box.Max.X - x, Down: u.Box.Max.Y - y, Left: x - u.Box.Min.X}[a.Side]
				if math.Abs(edge) > 1e-6 && y != 0 || edge > 0.71 {
					t.Errorf("%s: anchor %s (%d,%d, from %s) is %.2f M inside the box %v", id, a.Name, a.X, a.Y, a.Side, edge, u.Box)
				}
			}
		}
	}
}

// nearest is the distance from p to the strokes.
func nearest(s Symbol, p Point) float64 {
	best := math.Inf(1)
	for _, pr := range s.Primitives {
		pts := outline(pr)
		for i := 1; i < len(pts); i++ {
			best = min(best, toSegment(p, pts[i-1], pts[i]))
		}
	}
	return best
}

func outline(p Primitive) []Point {
	switch p.Shape {
	case Line:
		return p.Points
	case Polygon:
		return append(append([]Point(nil), p.Points...), p.Points[0])
	case Rect:
		a, b := p.Points[0], p.Points[1]
		return []Point{a, {b.X, a.Y}, b, {a.X, b.Y}, a}
	case Ellipse, Arc:
		from, to := p.From, p.To
		if p.Shape == Ellipse {
			from, to = 0, 360
		}
		var out []Point
		for i := 0; i <= 24; i++ {
			out = append(out, p.At(from+(to-from)*float64(i)/24))
		}
		return out
	}
	return nil
}

func toSegment(p, a, b Point) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = min(1, max(0, ((p.X-a.X)*dx+(p.Y-a.Y)*dy)/l))
	}
	return math.Hypot(p.X-a.X-t*dx, p.Y-a.Y-t*dy)
}

// A letter on its own symbol's outline cannot be read: ISO 128 wants lines
// broken for text (from memory); here there is none to break.
func TestLettersClearOfStrokes(t *testing.T) {
	for _, id := range IDs() {
		if !strings.Contains(id, "/") {
			continue
		}
		s, _ := Get(id)
		for _, txt := range s.Primitives {
			if txt.Shape != Text {
				continue
			}
			if txt.RY < 0.72 {
				t.Errorf("%s: %q has capitals of %.2f mm, 1.8 mm is the least (ISO 3098)", id, txt.Text, txt.RY*Module)
			}
			w := float64(len([]rune(txt.Text))) * txt.RY * 0.65
			c := txt.Points[0]
			b := Box{Point{c.X - w/2, c.Y - txt.RY/2}, Point{c.X + w/2, c.Y + txt.RY/2}}
			for _, p := range s.Primitives {
				pts := outline(p)
				for i := 1; i < len(pts); i++ {
					if crosses(pts[i-1], pts[i], b) {
						t.Errorf("%s: a stroke runs through %q", id, txt.Text)
					}
				}
			}
		}
	}
}

func crosses(a, b Point, box Box) bool {
	for i := 0; i <= 40; i++ {
		f := float64(i) / 40
		x, y := a.X+(b.X-a.X)*f, a.Y+(b.Y-a.Y)*f
		if x > box.Min.X && x < box.Max.X && y > box.Min.Y && y < box.Max.Y {
			return true
		}
	}
	return false
}

// Four quarter turns, or two mirrors, give back every symbol; a turn and a
// mirror keep anchors on strokes. Closed form.
func TestTurnAndMirror(t *testing.T) {
	for _, id := range IDs() {
		s, _ := Get(id)
		for name, u := range map[string]Symbol{
			"four turns": s.Turn(1).Turn(1).Turn(1).Turn(1), "two mirrors": s.Mirror().Mirror(),
			"there and back": s.Turn(3).Turn(1), "mirror law": s.Turn(1).Mirror().Turn(1).Mirror(),
		} {
			if u.Quarters != 0 || u.Mirrored {
				t.Errorf("%s: %s: %d quarters, mirrored %v", id, name, u.Quarters, u.Mirrored)
			}
			if !close(u.Box, s.Box) {
				t.Errorf("%s: %s: box %v, was %v", id, name, u.Box, s.Box)
			}
			for i := range s.Anchors {
				if u.Anchors[i] != s.Anchors[i] {
					t.Errorf("%s: %s: anchor %v, was %v", id, name, u.Anchors[i], s.Anchors[i])
				}
			}
		}
		for q := range 4 {
			for _, u := range []Symbol{s.Turn(q), s.Mirror().Turn(q)} {
				if !strings.Contains(id, "/") {
					continue
				}
				for _, a := range u.Anchors {
					if d := nearest(u, Point{float64(a.X), float64(a.Y)}); d > tolerance(id) {
						t.Errorf("%s turned %d: anchor %s off its stroke by %.2f", id, q, a.Name, d)
					}
				}
			}
		}
	}
}

func close(a, b Box) bool {
	const e = 1e-9
	return math.Abs(a.Min.X-b.Min.X) < e && math.Abs(a.Min.Y-b.Min.Y) < e && math.Abs(a.Max.X-b.Max.X) < e && math.Abs(a.Max.Y-b.Max.Y) < e
}

// Letters of a turned symbol stay where they belong and are never turned: they
// carry no angle at all, and their centre turns with the symbol.
func TestTurnMovesLetters(t *testing.T) {
	s, _ := Get("dc/battery")
	u := s.Turn(1)
	for i, p := range s.Primitives {
		if p.Shape == Text {
			q := u.Primitives[i]
			if q.Text != p.Text || q.Points[0] != (Point{-p.Points[0].Y, p.Points[0].X}) {
				t.Errorf("%q went from %v to %v", p.Text, p.Points[0], q.Points[0])
			}
		}
	}
}

// Every kind of the language has its own form, and no two kinds of one medium
// are drawn with the same strokes.
func TestEveryKindHasItsOwnSymbol(t *testing.T) {
	kinds := map[Medium]string{
		DC: `battery alternator solar charge-controller charger dc-charger converter inverter inverter-charger fuse
			breaker switch relay selector bus block stud panel fuse-block shunt load light windlass thruster starter
			electronics fan heater refrigerator monitor alarm float-switch level-sensor thermostat control ground bond
			anode pump aircon water-maker toilet generator`,
		AC: `shore-inlet rcd ac-breaker ac-panel selector-ac galvanic-isolator transformer outlet ac-load charger
			inverter inverter-charger pump aircon water-maker calorifier generator`,
		Water: `pump aircon water-maker calorifier engine generator toilet through-hull hull-fitting seacock valve
			diverter strainer check-valve relief-valve bleed heat-exchanger waterlock vented-loop tee manifold tank
			accumulator sink shower sump icebox cockpit-drain drain-pan tap mixer washdown dock-water deck-fill
			deck-plate tank-vent refrigerator`,
	}
	for m, list := range kinds {
		seen := map[string]string{}
		for _, k := range strings.Fields(list) {
			s, ok := Form(k, m, "")
			if !ok {
				t.Errorf("%s has no form for %s", k, m)
				continue
			}
			var b strings.Builder
			for _, p := range s.With().Primitives {
				b.WriteString(strings.TrimSpace(strings.Join([]string{p.Text, strconv.Itoa(int(p.Shape))}, " ")))
				for _, q := range p.Points {
					b.WriteString(strconv.FormatFloat(q.X, 'f', 3, 64) + "," + strconv.FormatFloat(q.Y, 'f', 3, 64) + " ")
				}
				b.WriteString(strconv.Itoa(int(p.Fill)) + strconv.Itoa(int(p.Pen)) + ";")
			}
			if other, twice := seen[b.String()]; twice {
				t.Errorf("%s and %s are drawn alike on the %s sheet", k, other, m)
			}
			seen[b.String()] = k
			if s.Standard == "" || s.Status == "" {
				t.Errorf("%s: no source", s.ID)
			}
		}
	}
}

func TestWith(t *testing.T) {
	s, _ := Get("dc/relay")
	bare := s.With()
	if len(bare.Anchors) != 2 || len(bare.Primitives) != len(s.Primitives)-2 {
		t.Errorf("relay without coil leads: %d anchors, %d of %d strokes", len(bare.Anchors), len(bare.Primitives), len(s.Primitives))
	}
	if one := s.With("coil+"); len(one.Anchors) != 3 {
		t.Errorf("relay with one coil lead: anchors %v", one.Anchors)
	}
	g, _ := Get("dc/ground")
	if a, ok := g.Anchor("anything"); !ok || a.Name != "1" {
		t.Errorf("the only anchor of a ground answers to any name: %v %v", a, ok)
	}
	if _, ok := s.Anchor("gate"); ok {
		t.Error("a relay has no anchor gate")
	}
}

func TestBar(t *testing.T) {
	for _, id := range []string{"dc/bus", "dc/block", "dc/stud", "dc/panel", "dc/fuse-block", "ac/ac-panel", "water/manifold"} {
		s, ok := Bar(id, []Stud{{Name: "in", X: 3, Up: true}, {Name: "1", X: 0}, {Name: "2", X: 7}}, -2, 9)
		if !ok {
			t.Fatalf("%s is no bar", id)
		}
		if s.Box.Min.X > -2 || s.Box.Max.X < 9 {
			t.Errorf("%s: box %v does not span -2 to 9", id, s.Box)
		}
		for _, a := range s.Anchors {
			if d := nearest(s, Point{float64(a.X), float64(a.Y)}); d > 0.31 {
				t.Errorf("%s: anchor %s is %.2f off the bar", id, a.Name, d)
			}
		}
		if empty, ok := Bar(id, nil, 0, 0); !ok || empty.Box.Empty() {
			t.Errorf("%s without studs: %v", id, empty.Box)
		}
	}
	if _, ok := Bar("dc/fuse", nil, 0, 0); ok {
		t.Error("a fuse is no bar")
	}
}

func TestBlock(t *testing.T) {
	s := Block("control", "CTL", []string{"+", "pump-auto", "x"}, []string{"-"})
	if len(s.Anchors) != 4 {
		t.Fatal(s.Anchors)
	}
	for _, a := range s.Anchors {
		if d := nearest(s, Point{float64(a.X), float64(a.Y)}); d > 1e-9 {
			t.Errorf("anchor %s is off the frame by %.2f", a.Name, d)
		}
	}
}

// The parser takes hostile tables without a panic and names the fault.
func TestParseFaults(t *testing.T) {
	for _, bad := range []string{"L 1", "Z 1 2", "R 1 2 3", "C 1 2", "A 0 0 1 2", "T 1 2 x", "L a b c d", "U nothing", "Lq 0 0 1 1", "T 0 0 1", "L 0 0 NaN 1", "U", "@x"} {
		if _, err := parsePrimitives(bad, func(string) (Symbol, bool) { return Symbol{}, false }); err == nil && bad != "@x" {
			t.Errorf("%q was read", bad)
		}
	}
	for _, odd := range []string{"x:", ":1,2", "a:1", "a:b,c", "per cell: top 0,-2", "-"} {
		if a := parseAnchors(odd, emptyBox()); len(a) != 0 {
			t.Errorf("%q gave %v", odd, a)
		}
	}
}
