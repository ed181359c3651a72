package symbol

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// parsePrimitives reads the primitive language of the tables: entries separated
// by ";", each a code and numbers.
//
//	L x y …        open polyline            P x y …  closed outline
//	R x y w h      rectangle                C x y r  circle
//	E x y rx ry    ellipse                  A x y r from to  arc, degrees clockwise
//	T x y h text   letters, cap height h    U id [quarter turns]  another symbol
//
// A suffix F fills with ink, W with paper, d dashes, c chains, k thickens.
// "@name " before a code ties the entry to the optional anchor name.
func parsePrimitives(text string, get func(id string) (Symbol, bool)) ([]Primitive, error) {
	var out []Primitive
	for _, entry := range strings.Split(text, ";") {
		entry = strings.TrimSpace(entry)
		if entry == "" {
			continue
		}
		lead := ""
		if strings.HasPrefix(entry, "@") {
			name, rest, _ := strings.Cut(entry[1:], " ")
			lead, entry = name, strings.TrimSpace(rest)
		}
		ps, err := parseEntry(entry, get)
		if err != nil {
			return nil, fmt.Errorf("%q: %w", entry, err)
		}
		for _, p := range ps {
			if lead != "" {
				p.Lead = lead
			}
			out = append(out, p)
		}
	}
	return out, nil
}

func parseEntry(entry string, get func(string) (Symbol, bool)) ([]Primitive, error) {
	code, rest, _ := strings.Cut(entry, " ")
	if code == "U" {
		return parseUse(rest, get)
	}
	p := Primitive{}
	if err := p.setCode(code); err != nil {
		return nil, err
	}
	if p.Shape == Text {
		f := strings.SplitN(strings.TrimSpace(rest), " ", 4)
		if len(f) != 4 {
			return nil, fmt.Errorf("a text needs x, y, height and letters")
		}
		v, err := floats(f[:3])
		if err != nil {
			return nil, err
		}
		p.Points, p.RY, p.Text = []Point{{v[0], v[1]}}, v[2], f[3]
		return []Primitive{p}, nil
	}
	v, err := floats(strings.Fields(rest))
	if err != nil {
		return nil, err
	}
	if err := p.setNumbers(code[0], v); err != nil {
		return nil, err
	}
	return []Primitive{p}, nil
}

func (p *Primitive) setCode(code string) error {
	if code == "" {
		return fmt.Errorf("no code")
	}
	switch code[0] {
	case 'L':
		p.Shape = Line
	case 'P':
		p.Shape = Polygon
	case 'R':
		p.Shape = Rect
	case 'C', 'E':
		p.Shape = Ellipse
	case 'A':
		p.Shape = Arc
	case 'T':
		p.Shape = Text
	default:
		return fmt.Errorf("unknown code")
	}
	for _, c := range code[1:] {
		switch c {
		case 'F':
			p.Fill = Solid
		case 'W':
			p.Fill = Paper
		case 'd':
			p.Pen = Dashed
		case 'c':
			p.Pen = Chain
		case 'k':
			p.Pen = Thick
		default:
			return fmt.Errorf("unknown suffix %q", c)
		}
	}
	return nil
}

// setNumbers gives the primitive its geometry.
func (p *Primitive) setNumbers(code byte, v []float64) error {
	want := map[byte]int{'R': 4, 'C': 3, 'E': 4, 'A': 5}[code]
	if want != 0 && len(v) != want {
		return fmt.Errorf("%d numbers, %d are needed", len(v), want)
	}
	switch code {
	case 'L', 'P':
		if len(v) < 4 || len(v)%2 != 0 {
			return fmt.Errorf("%d numbers are not two or more points", len(v))
		}
		for i := 0; i < len(v); i += 2 {
			p.Points = append(p.Points, Point{v[i], v[i+1]})
		}
	case 'R':
		p.Points = []Point{{v[0], v[1]}, {v[0] + v[2], v[1] + v[3]}}
	case 'C':
		p.Points, p.RX, p.RY = []Point{{v[0], v[1]}}, v[2], v[2]
	case 'E':
		p.Points, p.RX, p.RY = []Point{{v[0], v[1]}}, v[2], v[3]
	case 'A':
		p.Points, p.RX, p.RY, p.From, p.To = []Point{{v[0], v[1]}}, v[2], v[2], v[3], v[4]
	}
	return nil
}

func parseUse(rest string, get func(string) (Symbol, bool)) ([]Primitive, error) {
	f := strings.Fields(rest)
	if len(f) == 0 {
		return nil, fmt.Errorf("no symbol named")
	}
	s, ok := get(f[0])
	if !ok {
		return nil, fmt.Errorf("no symbol %q above this row", f[0])
	}
	if len(f) > 1 {
		n, err := strconv.Atoi(f[1])
		if err != nil {
			return nil, err
		}
		s = s.Turn(n)
	}
	return s.Primitives, nil
}

func floats(fields []string) ([]float64, error) {
	out := make([]float64, len(fields))
	for i, f := range fields {
		v, err := strconv.ParseFloat(f, 64)
		if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
			return nil, fmt.Errorf("%q is not a number", f)
		}
		out[i] = v
	}
	return out, nil
}

// parseAnchors reads "name:x,y" entries separated by blanks. A "?" after the
// name marks an optional anchor; a letter u, r, d or l after y fixes the side,
// otherwise the nearest side of the box is taken. Words that are no anchor (the
// reference table has notes in this column) are passed over.
func parseAnchors(text string, b Box) []Anchor {
	var out []Anchor
	for _, f := range strings.Fields(text) {
		i := strings.LastIndexByte(f, ':')
		if i <= 0 {
			continue
		}
		a, ok := parseAnchor(f[:i], f[i+1:], b)
		if ok {
			out = append(out, a)
		}
	}
	return out
}

func parseAnchor(name, at string, b Box) (Anchor, bool) {
	a := Anchor{Name: name}
	if n, ok := strings.CutSuffix(name, "?"); ok {
		a.Name, a.Optional = n, true
	}
	side := -1
	if at != "" {
		if i := strings.IndexByte("urdl", at[len(at)-1]); i >= 0 {
			side, at = i, at[:len(at)-1]
		}
	}
	xs, ys, ok := strings.Cut(at, ",")
	x, ex := strconv.Atoi(xs)
	y, ey := strconv.Atoi(ys)
	if !ok || ex != nil || ey != nil {
		return Anchor{}, false
	}
	a.X, a.Y = x, y
	a.Side = nearestSide(Point{float64(x), float64(y)}, b)
	if side >= 0 {
		a.Side = Side(side)
	}
	return a, true
}

// nearestSide prefers up and down on ties: conductors of a ladder run that way.
func nearestSide(p Point, b Box) Side {
	if b.Empty() {
		return Up
	}
	d := [4]float64{Up: p.Y - b.Min.Y, Right: b.Max.X - p.X, Down: b.Max.Y - p.Y, Left: p.X - b.Min.X}
	best := Up
	for _, s := range []Side{Down, Left, Right} {
		if d[s] < d[best]-1e-9 {
			best = s
		}
	}
	return best
}
