package layout

import "fmt"

// Side is the side of a box that a port lies on.
type Side uint8

// The four sides. Links leave a box downwards through Bottom and enter it from above through Top; a port on Left or
// Right is led round to whichever of the two its link needs.
const (
	Top Side = iota
	Bottom
	Left
	Right
)

// String returns the side's name in lower case.
func (s Side) String() string {
	switch s {
	case Top:
		return "top"
	case Bottom:
		return "bottom"
	case Left:
		return "left"
	case Right:
		return "right"
	}
	return fmt.Sprintf("side %d", uint8(s))
}

// Size is a width and a height in grid units. For text the width runs along the reading direction; whoever measures the
// text rounds it up to whole units.
type Size struct{ W, H int }

// Graph is what is to be drawn. Every length is a whole number of grid units (1 unit = 2.5 mm on paper). The order of
// the slices is the order in the file: it breaks ties, and nothing else.
type Graph struct {
	Boxes []Box
	Bars  []Bar
	Links []Link
	Same  [][]string // identifiers of boxes and bars that share a rank
	Below []Below    // further demands on the ranks
	First []string   // identifiers of boxes that would rather stand on the left, on the first sheets
}

// Below demands that one box or bar stands at least By ranks below another.
type Below struct {
	Upper, Lower string
	By           int
}

// Box is a part of fixed size with terminals in fixed places.
type Box struct {
	ID      string
	W, H    int
	Ports   []Port
	Mirror  bool    // may be turned over left for right
	Reserve Reserve // room kept free around the box in any case
	Text    Size    // block of text beside the box: right, left, above or below, where there is room; zero for none
	Keep    bool    // room for the text is kept on the right from the start
}

// Port is a terminal of a box. Offset counts from the left for Top and Bottom, from the top for Left and Right.
type Port struct {
	Name   string
	Side   Side
	Offset int
}

// Reserve is room kept free around a box, as seen on paper: it does not change sides when the box is mirrored.
type Reserve struct{ Left, Right, Above, Below int }

// Bar is a bus bar: a row of studs that stretches. The layout chooses length and stud order. Links above it end on its
// upper edge, links below it on its lower edge.
type Bar struct {
	ID   string
	H    int  // thickness, 1 if zero
	Min  int  // least length
	Name Size // its name, written above or below the bar
	Mark Size // the continuation mark at an end where the bar goes on to another sheet
	// Head and Tail are room at the left and the right end that bears no stud.
	Head, Tail int
	// Pitch is the least distance of the studs below the bar, 2 if less.
	Pitch int
	// Grouped keeps studs of one port side by side.
	Grouped bool
	// Grow says that further columns may come to hang on the bar: room for some is kept where the sheets have it. Ports are all the
	// ports that the bar has, in order, if it has a number of its own: those without a link keep theirs first.
	Grow  bool
	Ports []string
}

// End is one end of a link: a box and the name of its port, or a bar (the port is then only carried along).
type End struct {
	Node, Port string
	Tag        Size // a short text beside this end, such as the number of a stud; zero for none
}

// Text is one label of a link, known to the caller by its key.
type Text struct {
	Key string
	Size
}

// Link is a conductor. A directed link runs from the higher to the lower: it leaves From downwards and enters To from
// above. A bridge does not rank; it leaves each port on the side on which the port lies.
type Link struct {
	ID       string
	From, To End
	Bridge   bool
	// Labels are the texts beside the link at each level of detail, the fullest first. Within a level the first text
	// prefers the left of the line and the second the right. The layout falls back to a later level only where a sheet
	// would otherwise be too high; it never shrinks text.
	Labels [][]Text
	Mark   Size // the continuation mark where the link is cut at a sheet's edge
}

// Page is a sheet of paper that may be used: its usable area in units. Pages of a higher tier are tried only if those of
// the lower tiers do not hold the drawing.
type Page struct {
	Name string
	W, H int
	Tier int
}
