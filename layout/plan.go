package layout

// Point is a place on a sheet in grid units; y grows downwards.
type Point struct{ X, Y int }

// Rect is an area on a sheet: its upper left corner and its size.
type Rect struct{ X, Y, W, H int }

// Plan is the finished layout. Everything in it is in whole grid units and in a fixed order, so that equal graphs give
// equal bytes.
type Plan struct {
	Sheets []Sheet
	Notes  []Note // what could not be had, such as a sheet that is larger than its page
}

// Note says what the layout could not do for a graph that it drew all the same.
type Note struct {
	Sheet int    // index into Sheets, -1 for the whole plan
	ID    string // box, bar or link concerned, if one is
	Text  string
}

// Sheet is one page of the drawing. All of it lies between (0,0) and (W,H).
type Sheet struct {
	Page  Page // zero for an endless sheet
	W, H  int  // extent of what is drawn
	Fits  bool // W and H are within the page
	Level int  // level of link labels used
	Boxes []PlacedBox
	Bars  []PlacedBar
	Wires []Wire
	Marks []Mark
}

// PlacedBox is a box on a sheet. X and Y are its upper left corner, without reserve and landing bars.
type PlacedBox struct {
	ID       string
	X, Y     int
	Mirrored bool
	Text     Rect // where the text block of the box goes; zero size if it has none
	Landings []Landing
}

// Landing is the short bar on which several links of one port end, and the stem that joins it to the port. Where a single
// link had to step aside for a neighbour's landing bar it gets one too.
type Landing struct {
	Port    string
	Port0   Point    // the port itself
	Stem    Point    // where the stem meets the bar
	Bar     [2]Point // ends of the bar
	Studs   []Point  // one landing for each link, in the order of Links
	Links   []string
	LinkEnd []int // 0: the link's From ends here, 1: its To
}

// PlacedBar is a bar on a sheet: its rectangle and studs.
type PlacedBar struct {
	ID    string
	Rect  Rect
	Name  Rect // where its name goes; zero size if it has none
	Studs []Stud
}

// Stud is the place on a bar where one link ends.
type Stud struct {
	Link string
	End  int // 0: the link's From, 1: its To
	At   Point
}

// Wire is one link on a sheet: a line of horizontal and vertical pieces from its From to its To. If the link is cut, one end
// is a continuation mark instead and CutFrom or CutTo is set.
type Wire struct {
	ID              string
	Points          []Point
	Labels          []PlacedText
	CutFrom, CutTo  bool
	FromTag, ToTag  PlacedText // the short texts beside the ends; zero size if there are none
	Bridge          bool
	MissingLabelKey []string // labels for which there was no room anywhere along the wire
}

// PlacedText is a text and the cell kept free for it. A turned text is read from the right: it runs upwards, and its cell is
// as wide as the text is high.
type PlacedText struct {
	Key    string
	Cell   Rect
	Turned bool
}

// Mark is a continuation mark: a flag at the end of a bar or of a cut link that goes on elsewhere.
type Mark struct {
	Ref  string // the bar or link that goes on; the same on every sheet
	Bar  bool   // Ref is a bar
	End  int    // for a link, the end this mark stands for: 0 From, 1 To
	Side Side   // the side of the mark on which the bar or link comes in
	Rect Rect
	At   Point // where the bar or link meets the mark
	To   []Target
}

// Target is a place where a continued bar or link is drawn again. The caller turns the point into a zone of the frame.
type Target struct {
	Sheet int // index into Plan.Sheets
	At    Point
}
