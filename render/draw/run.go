package draw

import "math"

// Sizes that every back end draws alike.
const (
	// DotRadius makes a joint of 1.25 mm: half a module (drafting reference, 1.2).
	DotRadius = MM(0.625)
	// casing is the least width of a cased line: 0.7 mm of black round a core of
	// 0.35 (drafting reference, 3.5).
	casing = MM(0.7)
	// maxCorner is the largest radius that the contract of the sheets reads as a
	// rounded corner.
	maxCorner = MM(3)
)

// Strokings resolves a run's style: the line itself, and the coloured core
// drawn on top of it where the insulation colour is known and the theme has
// colours.
func (r Run) Strokings(t Theme) (line, core Stroking, cased bool) {
	line = t.Stroking(r.Style)
	rgb, ok := CoreColour(r.Core)
	if !ok || t == InMono {
		return line, Stroking{}, false
	}
	line.Colour, line.Width = black, max(line.Width, casing)
	return line, Stroking{rgb, line.Width - casing/2, line.Dash}, true
}

// Piece is a step of a run: a straight line to To, or a rounded corner to To
// with Via as the control point of its quadratic curve.
type Piece struct {
	To, Via Point
	Curve   bool
}

// Pieces is the way of the run from Points[0], corners rounded.
func (r Run) Pieces() []Piece {
	var out []Piece
	for i := 1; i < len(r.Points); i++ {
		q := r.Points[i]
		if i == len(r.Points)-1 || r.Corner <= 0 {
			out = append(out, Piece{To: q})
			continue
		}
		p, n := r.Points[i-1], r.Points[i+1]
		c := min(r.Corner, maxCorner, distance(p, q)/2, distance(q, n)/2)
		out = append(out, Piece{To: toward(q, p, c)}, Piece{To: toward(q, n, c), Via: q, Curve: true})
	}
	return out
}

func distance(a, b Point) MM {
	return MM(math.Hypot(float64(b.X-a.X), float64(b.Y-a.Y)))
}

func toward(a, b Point, r MM) Point {
	l := distance(a, b)
	if l == 0 {
		return a
	}
	return Point{a.X + MM((b.X-a.X)*r/l), a.Y + MM((b.Y-a.Y)*r/l)}
}
