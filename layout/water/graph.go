// Package waterlayout places and routes a boat's water circuits on a height
// scale: every part above or below the waterline in its true order of height.
//
// It knows no boats and measures no text. Boxes, runs and the sizes of their
// texts come in; positions, polylines and text places go out. All lengths are
// whole grid units; one unit is 2.5 mm on paper. Real heights are whole
// millimetres above the static waterline, up positive.
package waterlayout

// Side is the side of a box on which a port lies.
type Side uint8

// The four sides of a box.
const (
	Left Side = iota
	Right
	Top
	Bottom
)

// Size is a width and a height in grid units.
type Size struct{ W, H int }

// Point is a place on the sheet in grid units, x to the right, y downward.
type Point struct{ X, Y int }

// Rect is a closed rectangle with its corner of least x and y.
type Rect struct{ X, Y, W, H int }

// Level is a real height in millimetres above the static waterline (below:
// negative), or not known. The zero value is not known.
type Level struct {
	Known bool
	MM    int
}

// At is the known height of mm millimetres above the static waterline.
func At(mm int) Level { return Level{Known: true, MM: mm} }

// Hint says which end of its system a box belongs to.
type Hint uint8

// Where a box goes in its system.
const (
	Anywhere Hint = iota // wherever the flow puts it
	Inlet                // first column: where water comes in
	Outlet               // last column: where water leaves
)

// Port is a place on a box where runs end. Offset counts from the box's left
// end (top and bottom sides) or upper end (left and right sides).
type Port struct {
	Name   string
	Side   Side
	Offset int
}

// Box is one part.
type Box struct {
	ID     string
	Size   Size
	Anchor int // row, counted from the top, that stands at the part's height
	// Lean is how far, in hundredths of a unit, the middle of what is drawn lies
	// below the middle of the box.
	Lean  int
	Level Level
	// Straddle lets the box lie across the waterline.
	Straddle bool
	Hint     Hint
	Ports    []Port
	// Swaps lets the runs of the box change places among its ports, those without
	// a run included: the branches of a tee. The plan's runs name the ports.
	Swaps bool
	// Mirrors lets the box be drawn with left and right exchanged.
	Mirrors bool
	// Flips lets a box with one port on its left or right lie either way round.
	Flips bool
	// Skin is where the hull passes through the box.
	Skin Skin
	// Mate is the box at which a mark's run goes on.
	Mate string
	// Name is the size of the text block that stands outside the box (name,
	// true height); zero if there is none.
	Name Size
}

// End is one end of a run.
type End struct{ Box, Port string }

// Flow is the direction of the water in a run.
type Flow uint8

// Directions of flow.
const (
	Forward  Flow = iota // from From to To
	Backward             // from To to From
	Either               // not known, or both ways
)

// Via is a crest or a dip of a run between its ends.
type Via struct {
	Level Level
	Dip   bool // lowest place of a sag; otherwise the top of a rise
}

// Run is one hose.
type Run struct {
	ID       string
	From, To End
	Flow     Flow
	Vias     []Via // in order from From to To
	// Labels are the sizes of the label's wordings, the preferred one first,
	// their clearance included: the plan may set them edge to edge with the run,
	// so a text of 2.5 mm wants a height of 2. None: the run carries no label.
	Labels []Size
	// Seam marks a run at which its system falls into parts that a reader takes for
	// two: a natural place to cut a system that no page holds.
	Seam bool
}

// Stack sets one box directly on another: the two ports fall together. The
// ports must lie on opposite sides.
type Stack struct{ Base, On End }

// Graph is everything to be drawn.
type Graph struct {
	Boxes  []Box
	Runs   []Run
	Stacks []Stack
	// Pages are the usable areas to choose from; the one with the fewest
	// sheets is taken, the earlier one of equals.
	Pages []Size
	// Mark is the size of a continuation mark; zero is 10 by 2.
	Mark Size
	// Ruler is the width kept free at the left of each band; zero is 8.
	Ruler int
	// Scales are the height scales to try, in millimetres of paper per metre,
	// the largest first; nil is 100 down to 0. Scale 0 keeps the order only.
	Scales []int
	// Rough leaves out the search for better columns: a plan to compare with others.
	Rough bool
	// Like is an earlier plan of the same boxes and runs: its columns and ports are
	// kept where they still fit, so that a page of another height or a search for
	// better columns starts from what is drawn already.
	Like *Plan
	// Feet are rows to keep free at the foot of each sheet of Like.
	Feet []int
	// Lines are real heights (millimetres) of further horizontal lines, such as
	// heeled waterlines, that the plan breaks at boxes and texts.
	Lines []int
}
