package draw

import "fitout/schema/symbol"

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
