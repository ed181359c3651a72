// Package symbol holds the circuit symbols of the sheets: strokes, boxes and
// named anchors on the 2.5 mm module of IEC 60617, so that layout and drawing
// agree on where a wire or hose may end.
//
// Coordinates are in modules (M), x to the right, y down, the origin inside the
// symbol. Every anchor lies on a whole module. Symbols are values: Turn, Mirror
// and With return new ones, and the slices of a symbol that Get returned are
// shared and must not be written to.
package symbol

import (
	"math"
	"slices"
	"strings"
)

// Module is the grid of every sheet in millimetres: the module M of IEC 60617
// and IEC 61082-1 (from memory).
const Module = 2.5

// Point is a place in modules.
type Point struct{ X, Y float64 }

// Box is an upright rectangle in modules.
type Box struct{ Min, Max Point }

// Width is the breadth of the box in modules.
func (b Box) Width() float64 { return b.Max.X - b.Min.X }

// Height is the height of the box in modules.
func (b Box) Height() float64 { return b.Max.Y - b.Min.Y }

// Empty reports whether nothing has been added to the box.
func (b Box) Empty() bool { return b.Min.X > b.Max.X }

// Union is the smallest box that holds both.
func (b Box) Union(c Box) Box {
	if b.Empty() {
		return c
	}
	if c.Empty() {
		return b
	}
	return Box{
		Point{math.Min(b.Min.X, c.Min.X), math.Min(b.Min.Y, c.Min.Y)},
		Point{math.Max(b.Max.X, c.Max.X), math.Max(b.Max.Y, c.Max.Y)},
	}
}

// Grid is the smallest box on whole modules that holds b: what a placement on
// whole grid units must keep free.
func (b Box) Grid() Box {
	const slack = 1e-9 // a box that ends on the grid but for rounding stays there
	return Box{
		Point{math.Floor(b.Min.X + slack), math.Floor(b.Min.Y + slack)},
		Point{math.Ceil(b.Max.X - slack), math.Ceil(b.Max.Y - slack)},
	}
}

func emptyBox() Box {
	return Box{Point{math.Inf(1), math.Inf(1)}, Point{math.Inf(-1), math.Inf(-1)}}
}

func (b Box) grow(p Point) Box {
	return b.Union(Box{p, p})
}

// Side is the side of a symbol from which an anchor is reached.
type Side uint8

// The four sides.
const (
	Up Side = iota
	Right
	Down
	Left
)

func (s Side) String() string { return [...]string{"up", "right", "down", "left"}[s&3] }

// Anchor is a point where a conductor or hose may end.
type Anchor struct {
	// Name is the terminal's name in the installation file; the only terminal
	// of a part that has one is called "1".
	Name string
	// X, Y in whole modules.
	X, Y int
	// Side from which the conductor comes.
	Side Side
	// Optional anchors draw their lead only when With keeps them.
	Optional bool
}

// Shape is the kind of a primitive.
type Shape uint8

// The primitives of the table.
const (
	Line    Shape = iota // open polyline through Points
	Polygon              // closed outline through Points
	Rect                 // Points[0] top left, Points[1] bottom right
	Ellipse              // Points[0] centre, RX, RY
	Arc                  // Points[0] centre, RX radius, From to To in degrees, clockwise from the right
	Text                 // Points[0] centre, RY cap height
)

// Fill says what is inside an outline.
type Fill uint8

// Fills.
const (
	Hollow Fill = iota // outline only
	Solid              // filled with the ink
	Paper              // filled with the paper, hides what is under it
)

// Pen is the weight and dash of a primitive.
type Pen uint8

// Pens.
const (
	Plain  Pen = iota
	Dashed     // mechanical link, liquid level, screen
	Chain      // boundary of an enclosure
	Thick      // bus bar, hull
)

// Primitive is one stroke or letter of a symbol.
type Primitive struct {
	Shape    Shape
	Points   []Point
	RX, RY   float64
	From, To float64
	Text     string
	Fill     Fill
	Pen      Pen
	// Lead names the optional anchor that this primitive belongs to.
	Lead string
}

// Symbol is a drawable symbol.
type Symbol struct {
	ID, Title  string
	Primitives []Primitive
	Anchors    []Anchor
	Box        Box    // all strokes and letters, in modules
	Standard   string // where the shape comes from
	Status     string // read, from memory, or proposed here
	Note       string
	Quarters   int  // quarter turns clockwise so far
	Mirrored   bool // mirrored left to right before turning
}

// Anchor finds an anchor by terminal name. A symbol with one anchor answers to
// every name: its part has one terminal.
func (s Symbol) Anchor(name string) (Anchor, bool) {
	for _, a := range s.Anchors {
		if a.Name == name {
			return a, true
		}
	}
	if len(s.Anchors) == 1 {
		return s.Anchors[0], true
	}
	return Anchor{}, false
}

// With keeps, of the optional anchors, those named, together with their leads;
// the rest of the symbol stays. Names that the symbol does not have are ignored.
func (s Symbol) With(names ...string) Symbol {
	keep := func(n string) bool { return slices.Contains(names, n) }
	s.Anchors = slices.DeleteFunc(slices.Clone(s.Anchors), func(a Anchor) bool {
		return a.Optional && !keep(a.Name)
	})
	s.Primitives = slices.DeleteFunc(slices.Clone(s.Primitives), func(p Primitive) bool {
		return p.Lead != "" && !keep(p.Lead)
	})
	s.Box = boxOf(s.Primitives, s.Anchors)
	return s
}

// boxOf measures strokes and letters. Anchors count only where no stroke is.
func boxOf(ps []Primitive, as []Anchor) Box {
	b := emptyBox()
	for _, p := range ps {
		b = b.Union(p.Box())
	}
	if b.Empty() {
		for _, a := range as {
			b = b.grow(Point{float64(a.X), float64(a.Y)})
		}
	}
	return b
}

// lettersWidth is the room taken for letters, in modules, when a box is
// measured: the usual advances of a plain sans face against its cap height, on
// the wide side. The drawing measures text exactly.
func lettersWidth(text string, capHeight float64) float64 {
	w := 0.0
	for _, r := range text {
		switch {
		case strings.ContainsRune("iljtf.,:;'|!- ", r):
			w += 0.5
		case strings.ContainsRune("MWmw%", r):
			w += 1.25
		case r >= 'A' && r <= 'Z':
			w += 1.0
		default:
			w += 0.8
		}
	}
	return w * capHeight
}

// Box is the extent of one primitive.
func (p Primitive) Box() Box {
	b := emptyBox()
	switch p.Shape {
	case Line, Polygon, Rect:
		for _, q := range p.Points {
			b = b.grow(q)
		}
	case Ellipse:
		c := p.Points[0]
		b = Box{Point{c.X - p.RX, c.Y - p.RY}, Point{c.X + p.RX, c.Y + p.RY}}
	case Arc:
		b = p.arcBox()
	case Text:
		c, w := p.Points[0], lettersWidth(p.Text, p.RY)
		b = Box{Point{c.X - w/2, c.Y - p.RY/2}, Point{c.X + w/2, c.Y + p.RY/2}}
	}
	return b
}

func (p Primitive) arcBox() Box {
	b := emptyBox().grow(p.At(p.From)).grow(p.At(p.To))
	for a := math.Ceil(p.From/90) * 90; a <= p.To; a += 90 {
		b = b.grow(p.At(a))
	}
	return b
}

// At is the point of an arc or ellipse at an angle in degrees, clockwise from
// the right. Quarter angles are exact.
func (p Primitive) At(deg float64) Point {
	ry := p.RY
	if p.Shape == Arc {
		ry = p.RX
	}
	s, c := sincos(deg)
	return Point{p.Points[0].X + p.RX*c, p.Points[0].Y + ry*s}
}

func sincos(deg float64) (s, c float64) {
	switch d := math.Mod(math.Mod(deg, 360)+360, 360); d {
	case 0:
		return 0, 1
	case 90:
		return 1, 0
	case 180:
		return 0, -1
	case 270:
		return -1, 0
	}
	return math.Sincos(deg * math.Pi / 180)
}
