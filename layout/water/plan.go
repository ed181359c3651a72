package waterlayout

// Plan is the finished layout.
type Plan struct {
	Page   int // index into Graph.Pages
	Size   Size
	Sheets []Sheet
	// Problems lists what could not be met; empty on a sound plan.
	Problems []Problem
	made     *recipe
}

// recipe is how a plan was made, for the next one like it.
type recipe struct {
	page, push int
	pages      []Size
	options
}

// Sheet is one page.
type Sheet struct{ Bands []Band }

// Band is a row of systems around a waterline of its own.
type Band struct {
	Area      Rect // on the sheet, the ruler's room included
	RulerX    int  // the ruler's room is Area.X to RulerX
	Waterline int  // y
	Scale     int  // millimetres of paper per metre; 0: order only
	Ruler     Ruler
	Boxes     []PlacedBox
	Runs      []PlacedRun
	Lines     []Line
	// Hull are the lines of the hull between the fittings that pierce it, the inside
	// above them or at their left; they may slant.
	Hull [][]Point
}

// PlacedBox is a box or a continuation mark in its place.
type PlacedBox struct {
	ID     string
	Rect   Rect
	Anchor int // y that stands for the part's height
	Level  Level
	// Moved is how far, in units, the anchor lies farther from the waterline
	// than the scale alone would put it.
	Moved int
	// HeightUnknown is set where the place says nothing about the height.
	HeightUnknown bool
	Name          Text
	// Mark names the run that a continuation mark stands for; empty on parts.
	Mark string
	// Mirrored is set where left and right of the box are exchanged.
	Mirrored bool
	// Elsewhere lists the other sheets (from 0) that carry the same mark.
	Elsewhere []int
	// System counts the connected systems in the order of the graph.
	System int
	// Landings are the ports that several runs share, drawn as short bars.
	Landings []Landing
}

// Landing is the bar on which several runs meet one port.
type Landing struct {
	Port string
	A, B Point
}

// PlacedRun is a run, or the piece of one that this band shows.
type PlacedRun struct {
	ID       string
	From, To End // a continuation mark's port is named "mark"
	Points   []Point
	// Crests are the places of the run's vias, in order.
	Crests []Point
	Label  Text
}

// Text is the place of a text block.
type Text struct {
	Placed bool
	Rect   Rect
	// Turned texts read upward, along a vertical run; Rect is as they stand.
	Turned bool
	// Variant is the index into Run.Labels of the wording that was placed.
	Variant int
	// Side is where a name lies against its box, and a label against its run.
	Side Side
}

// Line is a horizontal line of Graph.Lines.
type Line struct {
	MM int
	Y  float64
	// Spans are the pieces, from x to x, that touch no box and no text.
	Spans [][2]int
}

// Problem is something the layout could not meet.
type Problem struct {
	Kind string // a word: label, route, height, width, stack, order, …
	ID   string
	Text string
}

// Knot is one corner of a ruler's broken line.
type Knot struct{ MM, Y int }

// Ruler maps real heights to rows of one band: a monotone broken line through
// the waterline and the parts of known height. Knots are in ascending height;
// their y never rises with falling height.
type Ruler struct {
	Knots []Knot
	scale int
}

// Y is the row, in units, of the height mm millimetres above the waterline.
// Between knots it runs straight; beyond the last it follows the scale.
func (r Ruler) Y(mm int) float64 {
	k := r.Knots
	if len(k) == 0 {
		return 0
	}
	if mm <= k[0].MM {
		return float64(k[0].Y) + r.beyond(k[0].MM-mm)
	}
	for i := 1; i < len(k); i++ {
		if mm > k[i].MM {
			continue
		}
		a, b := k[i-1], k[i]
		if mm == b.MM || a.MM == b.MM {
			return float64(b.Y)
		}
		// the product is of whole numbers, so that no processor fuses it
		return float64(a.Y) + float64((mm-a.MM)*(b.Y-a.Y))/float64(b.MM-a.MM)
	}
	last := k[len(k)-1]
	return float64(last.Y) - r.beyond(mm-last.MM)
}

// beyond is the distance, in units, of mm millimetres by the scale alone. An
// order-only ruler counts on at 20 mm of paper per metre.
func (r Ruler) beyond(mm int) float64 {
	s := r.scale
	if s == 0 {
		s = 20
	}
	return float64(mm*s) / 2500
}

// Bends counts the corners of a run.
func (r PlacedRun) Bends() int {
	n := len(r.Points) - 2
	if n < 0 {
		return 0
	}
	return n
}
