package draw

import "fitout/schema/unit"

// Sheet is one page of drawing.
type Sheet struct {
	// ID is short and unique among the sheets of a set: it names the file and
	// prefixes ids where several sheets share a page.
	ID string
	// Title is what the sheet shows; Desc the same for a reader who cannot see it.
	Title, Desc string
	// W, H is the paper.
	W, H  MM
	Items []Item
}

// Add appends items to the sheet.
func (s *Sheet) Add(items ...Item) { s.Items = append(s.Items, items...) }

// Item is anything that lies on a sheet: a Stroke, a Part, a Run, a Waterline, a
// Group or a Band.
type Item interface {
	// Bounds is the extent on the sheet, without the width of pens.
	Bounds() Box
	item()
}

// Stroke is a shape or a text: what a part's group may hold. That parts are no
// strokes is what keeps part groups from nesting.
type Stroke interface {
	Item
	stroke()
}

// Pen is how a shape is drawn.
type Pen struct {
	Style Style
	Fill  Fill
	// Class is an extra class in the SVG, for pages that style or script it.
	Class string
}

// Fill says what is inside a shape.
type Fill uint8

// Fills.
const (
	NoFill Fill = iota
	Ink         // the colour of the style, without an outline
	Paper       // white, with the outline of the style
)

// Polyline is a chain of straight pieces, closed or open.
type Polyline struct {
	Points []Point
	Closed bool
	Pen    Pen
}

// Line is one straight piece.
func Line(a, b Point, s Style) Polyline { return Polyline{Points: []Point{a, b}, Pen: Pen{Style: s}} }

// Rect is an upright rectangle.
type Rect struct {
	Box Box
	Pen Pen
}

// Ellipse is a circle or ellipse.
type Ellipse struct {
	Centre Point
	RX, RY MM
	Pen    Pen
}

// Circle is a circle.
func Circle(c Point, r MM, p Pen) Ellipse { return Ellipse{c, r, r, p} }

// Arc is part of a circle, From to To in degrees clockwise from the right.
type Arc struct {
	Centre   Point
	R        MM
	From, To float64
	Pen      Pen
}

// Ends are the first and the last point of the arc.
func (a Arc) Ends() (Point, Point) {
	return arcPoint(a.Centre, a.R, a.R, a.From), arcPoint(a.Centre, a.R, a.R, a.To)
}

// Align is the side of a text that its point names.
type Align uint8

// Alignments.
const (
	Start Align = iota
	Middle
	End
)

// RunKind tells electric conductors from hoses.
type RunKind uint8

// Kinds of runs.
const (
	Wire RunKind = iota
	Hose
)

func (k RunKind) String() string {
	if k == Hose {
		return "hose"
	}
	return "wire"
}

// Text is one line of letters.
type Text struct {
	// At is on the baseline, at the side named by Align.
	At      Point
	S       string
	Letters Letters
	Align   Align
	// Up turns the text by 90° so that it is read from the right side of the
	// sheet; At and Align turn with it.
	Up bool
	// Label ties a run's label to it; LabelOf is the run's id.
	Label   bool
	LabelOf string
	Of      RunKind
	// Class is an extra class in the SVG.
	Class string
	// Link is a reference within the set or file, empty for none.
	Link string
}

// Part is a symbol with its texts. One part, one group, never nested.
type Part struct {
	ID, Kind string
	// Title is read out and shown as a tool tip.
	Title string
	// Height above the static waterline, on water sheets.
	Height *unit.Metre
	// Ref is the name that a continuation mark carries on all its sheets.
	Ref string
	// Class is an extra class in the SVG.
	Class     string
	Terminals []Terminal
	Strokes   []Stroke
}

// Terminal marks where runs end on a part: a point, or a landing bar from A to B.
type Terminal struct {
	Name string
	A, B Point
	// Shown draws the bar or a dot; otherwise the mark is there for the reader
	// of the file and cannot be seen.
	Shown bool
	Style Style
}

// Run is a conductor, cable or hose drawn as one path.
type Run struct {
	Kind     RunKind
	ID       string
	From, To string // PART.TERMINAL
	Points   []Point
	Style    Style
	// Core is the colour name of the insulation, drawn inside a black casing;
	// empty for a plain line. Names as in Core colours.
	Core string
	// Count is how many conductors run side by side, 0 and 1 alike.
	Count int
	// Title is read out and shown as a tool tip.
	Title string
	// Corner rounds the bends, at most 3 mm.
	Corner MM
	// Class is an extra class in the SVG.
	Class string
}

// Waterline is the datum of a water sheet or band. Heeled waterlines and rulers
// are plain lines of another style.
type Waterline struct {
	Y, Left, Right MM
}

// Group holds strokes under one class: a legend, a finding's mark, a ruler.
type Group struct {
	Class, Title string
	Strokes      []Stroke
}

// Band holds one waterline and the parts and hoses measured against it.
type Band struct{ Items []Item }

func (Polyline) item()  {}
func (Rect) item()      {}
func (Ellipse) item()   {}
func (Arc) item()       {}
func (Text) item()      {}
func (Part) item()      {}
func (Run) item()       {}
func (Waterline) item() {}
func (Group) item()     {}
func (Band) item()      {}

func (Polyline) stroke() {}
func (Rect) stroke()     {}
func (Ellipse) stroke()  {}
func (Arc) stroke()      {}
func (Text) stroke()     {}

// Bounds of the points.
func (p Polyline) Bounds() Box { return around(p.Points...) }

// Bounds of the rectangle.
func (r Rect) Bounds() Box { return r.Box }

// Bounds of the ellipse.
func (e Ellipse) Bounds() Box {
	return Box{e.Centre.Add(-e.RX, -e.RY), e.Centre.Add(e.RX, e.RY)}
}

// Bounds of the arc.
func (a Arc) Bounds() Box {
	from, to := a.Ends()
	b := around(from, to)
	for q := -720.0; q <= 720; q += 90 {
		if q > a.From && q < a.To {
			p := arcPoint(a.Centre, a.R, a.R, q)
			b = b.Union(Box{p, p})
		}
	}
	return b
}

// Bounds of the letters, from the top of the capitals to the foot of the
// descenders where there are any.
func (t Text) Bounds() Box {
	w, size := t.Width(), t.Letters.Size()
	x := map[Align]MM{Start: 0, Middle: -w / 2, End: -w}[t.Align]
	up, down := t.Letters.Cap(), MM(0)
	if hasDescender(t.S) {
		down = MM(float64(size) * descent)
	}
	if t.Up {
		return Box{t.At.Add(-up, -x-w), t.At.Add(down, -x)}
	}
	return Box{t.At.Add(x, -up), t.At.Add(x+w, down)}
}

// Bounds of the strokes and landing bars.
func (p Part) Bounds() Box {
	b := p.Outline()
	for _, s := range p.Strokes {
		b = b.Union(s.Bounds())
	}
	return b
}

// Outline is the extent of a part without its texts.
func (p Part) Outline() Box {
	b := NoBox()
	for _, s := range p.Strokes {
		if _, text := s.(Text); !text {
			b = b.Union(s.Bounds())
		}
	}
	for _, t := range p.Terminals {
		if b.Empty() || t.Shown {
			b = b.Union(around(t.A, t.B))
		}
	}
	return b
}

// Bounds of the path.
func (r Run) Bounds() Box { return around(r.Points...) }

// Bounds of the line.
func (w Waterline) Bounds() Box { return Box{Point{w.Left, w.Y}, Point{w.Right, w.Y}} }

// Bounds of the strokes.
func (g Group) Bounds() Box {
	b := NoBox()
	for _, s := range g.Strokes {
		b = b.Union(s.Bounds())
	}
	return b
}

// Bounds of the items.
func (d Band) Bounds() Box {
	b := NoBox()
	for _, i := range d.Items {
		b = b.Union(i.Bounds())
	}
	return b
}

// EachText shows every text of an item, those inside it too, in order.
func EachText(it Item, see func(Text)) {
	switch it := it.(type) {
	case Text:
		see(it)
	case Part:
		for _, s := range it.Strokes {
			EachText(s, see)
		}
	case Group:
		for _, s := range it.Strokes {
			EachText(s, see)
		}
	case Band:
		for _, i := range it.Items {
			EachText(i, see)
		}
	}
}
