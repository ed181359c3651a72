package sheet

import (
	"fmt"
	"strings"

	"fitout/render/draw"
)

// TitleBlock is what the title block says: the fields of ISO 7200:2004 (from
// memory) and those of our own. Empty fields stay empty boxes to be filled in
// by hand.
type TitleBlock struct {
	// ISO 7200, required.
	Owner, Number, Date, Title, Approved, Drawn, Document string
	Sheet, Of                                             int
	// ISO 7200, optional.
	Revision string
	// Our own.
	Boat, Hull  string
	System      string // voltages: "12 V, 24 V DC · 230 V AC"
	Rules       string // rule set and edition
	Result      string // counts of findings
	Fingerprint string // of the input
	// Caution is the caution line; empty for the general one.
	Caution string
}

// GeneralCaution stands on sheets that have no caution of their own.
const GeneralCaution = "Drawn from the owner's description; check against the boat before work. Local codes and licensed practice come first, for shore power above all. Not to scale."

func (t TitleBlock) caution() string {
	if t.Caution != "" {
		return t.Caution
	}
	return GeneralCaution
}

// slack is the share of a line that bold text may fill: readers that pass over
// the embedded face set it in a wider one.
const slack = 0.93

type field struct {
	name, value string
	width       draw.MM // of 180 mm
}

// rowHeights of the block; they add up to blockHeight.
var rowHeights = [3]draw.MM{7, 6.5, 6.5}

func (t TitleBlock) rows(paper string) [3][]field {
	sheet := ""
	if t.Sheet > 0 {
		sheet = fmt.Sprint(t.Sheet)
		if t.Of > 0 {
			sheet += " of " + fmt.Sprint(t.Of)
		}
	}
	return [3][]field{
		{{"", t.Title, 68}, {"Document", t.Document, 34}, {"Result of the check", t.Result, 78}},
		{{"Owner", t.Owner, 36}, {"Hull number", t.Hull, 31}, {"System", t.System, 31}, {"Drawn", t.Drawn, 24}, {"Approved", t.Approved, 24}, {"Date", t.Date, 22}, {"Rev.", t.Revision, 12}},
		{{"Boat", t.Boat, 46}, {"Drawing number", t.Number, 34}, {"Rules", t.Rules, 30}, {"Input", t.Fingerprint, 32}, {"Paper", paper, 16}, {"Sheet", sheet, 22}},
	}
}

// titleBlock draws the block at the lower right of the frame.
func (f Frame) titleBlock(t TitleBlock) draw.Group {
	w := blockWidth
	if f.narrow() {
		w = f.Inner.Width()
	}
	left, top := f.Inner.Max.X-w, f.Inner.Max.Y-blockHeight
	g := draw.Group{Class: "title-block"}
	line := func(x0, y0, x1, y1 draw.MM, s draw.Style) {
		g.Strokes = append(g.Strokes, draw.Line(draw.Point{X: x0, Y: y0}, draw.Point{X: x1, Y: y1}, s))
	}
	line(f.Inner.Min.X, top, f.Inner.Max.X, top, draw.FrameThin)
	if left > f.Inner.Min.X {
		line(left, top, left, f.Inner.Max.Y, draw.FrameThin)
	}
	y := top
	for i, row := range t.rows(f.Paper.Name) {
		x := left
		for k, c := range row {
			cw := draw.MM(float64(c.width) * float64(w/blockWidth))
			g.Strokes = append(g.Strokes, cell(c, draw.Box{Min: draw.Point{X: x, Y: y}, Max: draw.Point{X: x + cw, Y: y + rowHeights[i]}})...)
			x += cw
			if k < len(row)-1 {
				line(x, y, x, y+rowHeights[i], draw.Rule)
			}
		}
		y += rowHeights[i]
		if i < len(rowHeights)-1 {
			line(left, y, f.Inner.Max.X, y, draw.Rule)
		}
	}
	return g
}

// cell sets a field: its name small at the top, its value below in the largest
// letters that fit. A value that fits in none is set in two lines where it has
// no name above it, else cut with an ellipsis.
func cell(c field, b draw.Box) []draw.Stroke {
	const pad = draw.MM(1)
	room := b.Width() - 2*pad
	at := draw.Point{X: b.Min.X + pad, Y: b.Max.Y - 0.95}
	if c.name == "" {
		for _, l := range []draw.Letters{draw.SheetTitle, draw.TableHead} {
			if l.Width(c.value) <= room*slack {
				mid := (b.Min.Y + b.Max.Y + l.Cap()) / 2
				return []draw.Stroke{draw.Text{At: draw.Point{X: at.X, Y: mid}, S: c.value, Letters: l}}
			}
		}
		return twoLines(c.value, b, pad)
	}
	out := []draw.Stroke{draw.Text{At: b.Min.Add(pad, 0.5+draw.FieldName.Cap()), S: c.name, Letters: draw.FieldName}}
	l := draw.FieldValue
	if l.Width(c.value) > room {
		l = draw.Small
	}
	return append(out, draw.Text{At: at, S: l.Fit(c.value, room), Letters: l})
}

func twoLines(s string, b draw.Box, pad draw.MM) []draw.Stroke {
	l := draw.Caution
	room := (b.Width() - 2*pad) * slack
	lines := l.Wrap(s, room)
	if len(lines) > 2 {
		lines = []string{lines[0], l.Fit(strings.Join(lines[1:], " "), room)}
	}
	var out []draw.Stroke
	for i, line := range lines {
		y := b.Min.Y + 0.9 + l.Cap() + draw.MM(float64(i)*float64(l.LinePitch()))
		out = append(out, draw.Text{At: draw.Point{X: b.Min.X + pad, Y: y}, S: line, Letters: l})
	}
	return out
}

// checkBar is the length of the bar that shows whether the printer scaled.
const checkBar = draw.MM(50)

// foot draws the check bar and the caution beside the title block, or in a row
// above it on narrow paper.
func (f Frame) foot(caution string) draw.Group {
	g := draw.Group{Class: "caution"}
	left := f.Inner.Min.X + 2
	l := draw.Caution
	text := func(x, y draw.MM, s string, l draw.Letters) {
		g.Strokes = append(g.Strokes, draw.Text{At: draw.Point{X: x, Y: y}, S: s, Letters: l})
	}
	lines := func(x, top, width draw.MM, most int) {
		ls := l.Wrap(caution, width*slack)
		if len(ls) > most {
			ls = append(ls[:most-1], l.Fit(ls[most-1]+" "+ls[most], width*slack))
		}
		for i, s := range ls {
			text(x, top+l.Cap()+draw.MM(float64(i)*float64(l.LinePitch())), s, l)
		}
	}
	if f.narrow() {
		top := f.Inner.Max.Y - blockHeight - cautionRow
		g.Strokes = append(g.Strokes, draw.Line(draw.Point{X: f.Inner.Min.X, Y: top}, draw.Point{X: f.Inner.Max.X, Y: top}, draw.Rule))
		g.Strokes = append(g.Strokes, bar(draw.Point{X: left, Y: top + cautionRow - 1.2})...)
		text(left, top+1+draw.Small.Cap(), barText, draw.Small)
		lines(left+checkBar+3, top+1, f.Inner.Max.X-2-(left+checkBar+3), 2)
		return g
	}
	top := f.Inner.Max.Y - blockHeight
	g.Strokes = append(g.Strokes, bar(draw.Point{X: left, Y: f.Inner.Max.Y - 2})...)
	width := f.Inner.Max.X - blockWidth - 2 - left
	text(left+checkBar+2, f.Inner.Max.Y-2, draw.Small.Fit("50 mm", width-checkBar-2), draw.Small)
	lines(left, top+1.5, width, 4)
	return g
}

const barText = "50 mm at full print size"

// bar is 50 mm long with a tick every 10 mm.
func bar(at draw.Point) []draw.Stroke {
	out := []draw.Stroke{draw.Line(at, at.Add(checkBar, 0), draw.FrameThin)}
	for i := range 6 {
		x := draw.MM(i) * checkBar / 5
		h := draw.MM(1)
		if i == 0 || i == 5 {
			h = 2
		}
		out = append(out, draw.Line(at.Add(x, 0), at.Add(x, -h), draw.FrameThin))
	}
	return out
}
