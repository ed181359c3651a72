package draw

import (
	"math"
	"strconv"

	"fitout/schema/symbol"
)

// SymbolStrokes draws a symbol whose origin lies at the grid crossing x, y of a
// sheet whose grid starts at origin. With prepared every line is dashed: the
// part is prepared for, not fitted.
func SymbolStrokes(s symbol.Symbol, origin Point, x, y int, prepared bool) []Stroke {
	at := func(p symbol.Point) Point {
		return GridPoint(origin, float64(x)+p.X, float64(y)+p.Y)
	}
	out := make([]Stroke, 0, len(s.Primitives))
	for _, p := range s.Primitives {
		out = append(out, primitive(p, at, symbolPen(p, prepared)))
	}
	return out
}

func symbolPen(p symbol.Primitive, prepared bool) Pen {
	pen := Pen{Style: Outline}
	switch p.Pen {
	case symbol.Dashed:
		pen.Style = OutlineDashed
	case symbol.Chain:
		pen.Style = OutlineChain
	case symbol.Thick:
		pen.Style = OutlineThick
	}
	if prepared && p.Pen == symbol.Plain {
		pen.Style = OutlinePrepared
	}
	switch p.Fill {
	case symbol.Solid:
		pen.Fill = Ink
	case symbol.Paper:
		pen.Fill = Paper
	}
	return pen
}

func primitive(p symbol.Primitive, at func(symbol.Point) Point, pen Pen) Stroke {
	switch p.Shape {
	case symbol.Rect:
		return Rect{Box{at(p.Points[0]), at(p.Points[1])}, pen}
	case symbol.Ellipse:
		return Ellipse{at(p.Points[0]), Grid(p.RX), Grid(p.RY), pen}
	case symbol.Arc:
		return Arc{at(p.Points[0]), Grid(p.RX), p.From, p.To, pen}
	case symbol.Text:
		c := at(p.Points[0])
		l := lettersOf(Grid(p.RY))
		return Text{At: c.Add(0, l.Cap()/2), S: p.Text, Letters: l, Align: Middle}
	}
	pts := make([]Point, len(p.Points))
	for i, q := range p.Points {
		pts[i] = at(q)
	}
	return Polyline{pts, p.Shape == symbol.Polygon, pen}
}

// lettersOf picks the letters of a symbol's text by its height.
func lettersOf(cap MM) Letters {
	switch {
	case cap < 2.2:
		return SymbolSmall
	case cap < 2.9:
		return SymbolLetter
	default:
		return SymbolLarge
	}
}

// SymbolPart is a part drawn with its symbol at a grid crossing, with a mark on
// every anchor the symbol still has.
func SymbolPart(id, kind string, s symbol.Symbol, origin Point, x, y int, prepared bool) Part {
	p := Part{ID: id, Kind: kind, Strokes: SymbolStrokes(s, origin, x, y, prepared)}
	for _, a := range s.Anchors {
		at := GridPoint(origin, float64(x+a.X), float64(y+a.Y))
		p.Terminals = append(p.Terminals, Terminal{Name: a.Name, A: at, B: at})
	}
	return p
}

// FindingMark is the numbered circle that ties a place on the sheet to the
// legend: its centre at p, error, warning or note by the style of its ring.
func FindingMark(p Point, number int, s Style) Group {
	t := Text{S: strconv.Itoa(number), Letters: MarkNumber, Align: Middle}
	t.At = p.Add(0, t.Letters.Cap()/2)
	return Group{Class: "finding " + s.String(), Strokes: []Stroke{
		Circle(p, MarkRadius(number), Pen{Style: s, Fill: Paper}), t,
	}}
}

// MarkRadius is the radius of a finding's mark: wide enough for its number.
func MarkRadius(number int) MM {
	w := MarkNumber.Width(strconv.Itoa(number))
	return MM(math.Hypot(float64(w/2), float64(MarkNumber.Cap()/2))) + 0.6
}

// Continuation is the mark at the end of a bar or run that goes on elsewhere: a
// flag that holds text (name, sheet and zone) and points away from at, where the
// run ends. ref is the name that occurs on all sheets concerned.
func Continuation(id, ref, text string, at Point, away symbol.Side) Part {
	const half, tip, pad = MM(2), MM(2), MM(1)
	t := Text{S: text, Letters: TerminalName, Align: Middle}
	long := t.Width() + 2*pad
	// along, across: a place on the flag, seen from at
	place := func(along, across MM) Point {
		switch away {
		case symbol.Left:
			return at.Add(-along, across)
		case symbol.Up:
			return at.Add(across, -along)
		case symbol.Down:
			return at.Add(across, along)
		}
		return at.Add(along, across)
	}
	cap2 := t.Letters.Cap() / 2
	t.At = place(pad+long/2, 0).Add(0, cap2)
	if away == symbol.Up || away == symbol.Down {
		t.Up = true
		t.At = place(pad+long/2, 0).Add(cap2, 0)
	}
	flag := Polyline{Closed: true, Pen: Pen{Style: Outline}, Points: []Point{
		place(0, 0), place(0, -half), place(long+pad, -half), place(long+pad+tip, 0), place(long+pad, half), place(0, half),
	}}
	return Part{ID: id, Kind: "continuation", Ref: ref, Strokes: []Stroke{flag, t}, Terminals: []Terminal{{Name: "1", A: at, B: at}}}
}

// FlowArrow is a filled arrow head on a hose, its tip and foot on either side of
// at (ISO 14617-2, from memory).
func FlowArrow(at Point, to symbol.Side, s Style) Polyline {
	const half, long = MM(1.1), MM(1.5)
	dx, dy := MM(0), MM(0)
	switch to {
	case symbol.Up:
		dy = -1
	case symbol.Down:
		dy = 1
	case symbol.Left:
		dx = -1
	default:
		dx = 1
	}
	return Polyline{Closed: true, Pen: Pen{Style: s, Fill: Ink, Class: "flow"}, Points: []Point{
		at.Add(dx*long, dy*long), at.Add(-dx*long-dy*half, -dy*long-dx*half), at.Add(-dx*long+dy*half, -dy*long+dx*half),
	}}
}

// Clamps are n short bars across a hose at its end, one a hose clamp.
func Clamps(at Point, level bool, n int) []Stroke {
	var out []Stroke
	for i := range n {
		d := MM(i) * 1.2
		if level {
			out = append(out, Line(at.Add(d, -1.5), at.Add(d, 1.5), Outline))
			continue
		}
		out = append(out, Line(at.Add(-1.5, d), at.Add(1.5, d), Outline))
	}
	return out
}

// CoreStrokes are the n slanted strokes across a cable drawn as one line that
// tell how many cores it has (IEC 60617-3 03-01-02, from memory).
func CoreStrokes(at Point, level bool, n int) []Stroke {
	var out []Stroke
	for i := range n {
		d := MM(i)*1.2 - MM(n-1)*0.6
		p := at.Add(0, d)
		if level {
			p = at.Add(d, 0)
		}
		out = append(out, Line(p.Add(-0.9, 0.9), p.Add(0.9, -0.9), Outline))
	}
	return out
}
