package symbol

import (
	"math"
	"slices"
	"strings"
	"testing"
)

// apart is how far, in modules, the ink of two kinds' symbols must differ at one
// place at least, however they are turned: 0.75 mm on paper, at 40 cm six minutes
// of arc; the detail of a letter that can just be read is one (the definition of
// visual acuity 1.0).
const apart = 0.3

// Two kinds of part that stand on one kind of sheet are never confused: turned
// and mirrored as the sheets turn them, their symbols differ by apart somewhere,
// or by their letters.
func TestKindsAreToldApart(t *testing.T) {
	for _, m := range []Medium{DC, AC, Water} {
		var ids []string
		pts := map[string][][]Point{}
		for _, id := range Forms(m) {
			s, _ := Get(id)
			if s = s.With(); len(s.Primitives) == 0 {
				continue
			}
			ids = append(ids, id)
			for _, mirrored := range []bool{false, true} {
				for q := range 4 {
					v := s
					if mirrored {
						v = v.Mirror()
					}
					pts[id] = append(pts[id], inkOf(v.Turn(q)))
				}
			}
		}
		for i, a := range ids {
			for _, b := range ids[:i] {
				ka, kb := kindOf(a), kindOf(b)
				if ka == kb || lettersOf(a) != lettersOf(b) {
					continue
				}
				least := math.Inf(1)
				for _, v := range pts[b] {
					least = math.Min(least, hausdorff(pts[a][0], v))
				}
				if least < apart {
					t.Errorf("%s and %s differ by %.2f modules only", a, b, least)
				}
			}
		}
	}
}

func kindOf(id string) string {
	id = id[strings.IndexByte(id, '/')+1:]
	kind, _, _ := strings.Cut(id, "=")
	return kind
}

// lettersOf are the words within a symbol, whatever their order.
func lettersOf(id string) string {
	s, _ := Get(id)
	var out []string
	for _, p := range s.With().Primitives {
		if p.Shape == Text {
			out = append(out, p.Text)
		}
	}
	slices.Sort(out)
	return strings.Join(out, " ")
}

// inkOf samples the ink of a symbol every tenth of a module, about its centre.
func inkOf(s Symbol) (out []Point) {
	const step = 0.1
	add := func(x, y float64) { out = append(out, Point{x, y}) }
	line := func(a, b Point) {
		n := int(math.Hypot(b.X-a.X, b.Y-a.Y)/step) + 1
		for i := 0; i <= n; i++ {
			k := float64(i) / float64(n)
			add(a.X+(b.X-a.X)*k, a.Y+(b.Y-a.Y)*k)
		}
	}
	for _, p := range s.Primitives {
		var path []Point
		closed := true
		switch p.Shape {
		case Line:
			path, closed = p.Points, false
		case Polygon:
			path = p.Points
		case Rect:
			a, b := p.Points[0], p.Points[1]
			path = []Point{a, {b.X, a.Y}, b, {a.X, b.Y}}
		case Ellipse, Arc:
			from, to, ry := p.From, p.To, p.RX
			if p.Shape == Ellipse {
				from, to, ry = 0, 360, p.RY
			}
			closed = p.Shape == Ellipse
			for i := range 33 {
				s, c := math.Sincos((from + (to-from)*float64(i)/32) * math.Pi / 180)
				path = append(path, Point{p.Points[0].X + p.RX*c, p.Points[0].Y + ry*s})
			}
		}
		for i := range path {
			if i > 0 || closed {
				line(path[(i+len(path)-1)%len(path)], path[i])
			}
		}
		if p.Fill == Solid { // towards the middle
			mid := Point{}
			for _, q := range path {
				mid.X, mid.Y = mid.X+q.X/float64(len(path)), mid.Y+q.Y/float64(len(path))
			}
			for _, q := range path {
				line(mid, q)
			}
		}
	}
	b := emptyBox()
	for _, q := range out {
		b = b.grow(q)
	}
	for i := range out {
		out[i].X -= (b.Min.X + b.Max.X) / 2
		out[i].Y -= (b.Min.Y + b.Max.Y) / 2
	}
	return out
}

func hausdorff(a, b []Point) float64 { return math.Max(farthest(a, b), farthest(b, a)) }

// farthest is how far from b the farthest point of a lies.
func farthest(a, b []Point) (most float64) {
	for _, p := range a {
		least := math.Inf(1)
		for _, q := range b {
			if d := (p.X-q.X)*(p.X-q.X) + (p.Y-q.Y)*(p.Y-q.Y); d < least {
				least = d
				if d <= most { // cannot raise the most any more
					break
				}
			}
		}
		most = math.Max(most, least)
	}
	return math.Sqrt(most)
}
