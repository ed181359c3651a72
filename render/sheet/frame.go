// Package sheet draws what every sheet of paper has: frame with zones, title
// block, check bar and caution, and the tables, keys and running text that fill
// the sheets between the drawings.
package sheet

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fitout/render/draw"
	"fitout/schema/symbol"
)

// Paper is a size of paper, one way up.
type Paper struct {
	Name string
	W, H draw.MM
}

// The sizes, upright: ISO 216, and ASME Y14.1 sizes A and B (from memory).
var papers = []Paper{
	{"A4", 210, 297}, {"A3", 297, 420}, {"Letter", 215.9, 279.4}, {"Tabloid", 279.4, 431.8},
}

// Papers lists the sizes, upright.
func Papers() []Paper { return append([]Paper(nil), papers...) }

// PaperNamed finds a size by name, whatever its case; upright.
func PaperNamed(name string) (Paper, error) {
	for _, p := range papers {
		if strings.EqualFold(p.Name, strings.TrimSpace(name)) {
			return p, nil
		}
	}
	return Paper{}, fmt.Errorf("paper %q is not one of A4, A3, Letter, Tabloid", name)
}

// Landscape is the paper lying.
func (p Paper) Landscape() Paper {
	if p.H > p.W {
		p.W, p.H = p.H, p.W
	}
	return p
}

// Portrait is the paper upright.
func (p Paper) Portrait() Paper {
	if p.W > p.H {
		p.W, p.H = p.H, p.W
	}
	return p
}

// Margins and borders of ISO 5457:1999 (from memory): 20 mm at the left for
// filing, 10 mm elsewhere, a border of 5 mm for the zones outside the frame,
// zones of 50 mm from the centring marks, the remainder in the end zones.
const (
	filingMargin = draw.MM(20)
	margin       = draw.MM(10)
	zoneBorder   = draw.MM(5)
	zonePitch    = draw.MM(50)
)

// The strip at the foot of the sheet.
const (
	blockWidth   = draw.MM(180) // title block, ISO 7200
	blockHeight  = draw.MM(20)
	cautionRow   = draw.MM(7.5) // caution and check bar where they stand above the block
	cautionWidth = draw.MM(70)  // least room that they take beside it
	inset        = draw.MM(symbol.Module)
)

// Frame is the frame of one sheet: where the drawing may go, and the names of
// its zones.
type Frame struct {
	Paper Paper
	// Inner is the frame line.
	Inner draw.Box
	// Area is the drawing space above the strip, on whole modules of the sheet.
	Area draw.Box
	// cols, rows are the borders between zones.
	cols, rows []draw.MM
}

// NewFrame lays out the frame of a sheet of paper.
func NewFrame(p Paper) Frame {
	f := Frame{Paper: p, Inner: draw.Box{
		Min: draw.Point{X: filingMargin, Y: margin},
		Max: draw.Point{X: p.W - margin, Y: p.H - margin},
	}}
	bottom := f.Inner.Max.Y - blockHeight
	if f.narrow() {
		bottom -= cautionRow
	}
	w := modules(f.Inner.Width() - 2*inset)
	h := modules(bottom - f.Inner.Min.Y - inset)
	o := f.Inner.Min.Add(inset, inset)
	f.Area = draw.Box{Min: o, Max: o.Add(draw.Grid(float64(w)), draw.Grid(float64(h)))}
	f.cols = zones(p.W, f.Inner.Min.X, f.Inner.Max.X)
	f.rows = zones(p.H, f.Inner.Min.Y, f.Inner.Max.Y)
	return f
}

func modules(v draw.MM) int { return int(math.Floor(float64(v)/symbol.Module + 1e-9)) }

// narrow reports whether caution and check bar need a row of their own.
func (f Frame) narrow() bool { return f.Inner.Width() < blockWidth+cautionWidth }

// GridSize is the drawing space in modules.
func (f Frame) GridSize() (w, h int) { return modules(f.Area.Width()), modules(f.Area.Height()) }

// Origin is the place of the grid crossing 0, 0 on the sheet.
func (f Frame) Origin() draw.Point { return f.Area.Min }

// zones gives the borders between zones along one side of the paper.
func zones(length, from, to draw.MM) []draw.MM {
	var out []draw.MM
	centre := length / 2
	for k := -math.Floor(float64((centre - from) / zonePitch)); ; k++ {
		v := centre + draw.MM(k*float64(zonePitch))
		if v >= to {
			return out
		}
		if v > from {
			out = append(out, v)
		}
	}
}

// zoneLetters leave out I and O, which read as 1 and 0 (ISO 5457).
const zoneLetters = "ABCDEFGHJKLMNPQRSTUVWXYZ"

// Zone names the zone of a point, a letter downward and a number rightward:
// "C4". Points outside the frame belong to the nearest zone.
func (f Frame) Zone(p draw.Point) string {
	return string(zoneLetters[zoneIndex(f.rows, p.Y)]) + strconv.Itoa(zoneIndex(f.cols, p.X)+1)
}

func zoneIndex(borders []draw.MM, v draw.MM) int {
	i := 0
	for i < len(borders) && v >= borders[i] {
		i++
	}
	return i
}

// Items draws frame, zones, centring marks, title block, check bar and caution.
func (f Frame) Items(t TitleBlock) []draw.Item {
	g := draw.Group{Class: "frame", Strokes: f.border()}
	return []draw.Item{g, f.titleBlock(t), f.foot(t.caution())}
}

func (f Frame) border() []draw.Stroke {
	in, out := f.Inner, f.Inner.Grow(zoneBorder)
	s := []draw.Stroke{
		draw.Rect{Box: out, Pen: draw.Pen{Style: draw.FrameThin}},
		draw.Rect{Box: in, Pen: draw.Pen{Style: draw.Frame}},
	}
	s = append(s, f.marks(in, out)...)
	name := func(at draw.Point, text string) {
		s = append(s, draw.Text{At: at.Add(0, draw.ZoneMark.Cap()/2), S: text, Letters: draw.ZoneMark, Align: draw.Middle})
	}
	edges := func(lo, hi draw.MM, borders []draw.MM, each func(i int, mid draw.MM), tick func(v draw.MM)) {
		prev := lo
		for i, b := range append(append([]draw.MM(nil), borders...), hi) {
			each(i, (prev+b)/2)
			if i < len(borders) {
				tick(b)
			}
			prev = b
		}
	}
	thin := func(x0, y0, x1, y1 draw.MM) {
		s = append(s, draw.Line(draw.Point{X: x0, Y: y0}, draw.Point{X: x1, Y: y1}, draw.FrameThin))
	}
	edges(in.Min.X, in.Max.X, f.cols, func(i int, x draw.MM) {
		name(draw.Point{X: x, Y: in.Min.Y - zoneBorder/2}, strconv.Itoa(i+1))
		name(draw.Point{X: x, Y: in.Max.Y + zoneBorder/2}, strconv.Itoa(i+1))
	}, func(x draw.MM) {
		thin(x, out.Min.Y, x, in.Min.Y)
		thin(x, in.Max.Y, x, out.Max.Y)
	})
	edges(in.Min.Y, in.Max.Y, f.rows, func(i int, y draw.MM) {
		name(draw.Point{X: in.Min.X - zoneBorder/2, Y: y}, string(zoneLetters[i]))
		name(draw.Point{X: in.Max.X + zoneBorder/2, Y: y}, string(zoneLetters[i]))
	}, func(y draw.MM) {
		thin(out.Min.X, y, in.Min.X, y)
		thin(in.Max.X, y, out.Max.X, y)
	})
	return s
}

// marks are the centring marks, at the middle of each side of the paper, drawn
// across the border of the zones. ISO 5457 lets them reach 5 mm into the frame
// (from memory); here they stop at it, so that nothing of the drawing is hit.
func (f Frame) marks(in, out draw.Box) []draw.Stroke {
	cx, cy := f.Paper.W/2, f.Paper.H/2
	bold := func(x0, y0, x1, y1 draw.MM) draw.Stroke {
		return draw.Line(draw.Point{X: x0, Y: y0}, draw.Point{X: x1, Y: y1}, draw.Frame)
	}
	return []draw.Stroke{
		bold(cx, out.Min.Y, cx, in.Min.Y), bold(cx, in.Max.Y, cx, out.Max.Y),
		bold(out.Min.X, cy, in.Min.X, cy), bold(in.Max.X, cy, out.Max.X, cy),
	}
}
