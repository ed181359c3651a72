package sheet

import (
	"fitout/render/draw"
	"fitout/schema/symbol"
)

// KeyEntry is one symbol with what it stands for.
type KeyEntry struct {
	Symbol symbol.Symbol
	Text   string
}

// SymbolKey sets a key of symbols in columns, in the order given.
func (f *Flow) SymbolKey(entries []KeyEntry) {
	const cell, symbolWidth = draw.MM(62), draw.MM(28)
	columns := max(1, int(f.Width()/cell))
	width := f.Width() / draw.MM(columns)
	for len(entries) > 0 {
		n := min(columns, len(entries))
		line := entries[:n]
		entries = entries[n:]
		h := draw.MM(0)
		for _, e := range line {
			b := e.Symbol.Box
			h = max(h, draw.Grid(b.Height())+4, textHeight(e, width, symbolWidth)+4)
		}
		f.Figure(h, func(at draw.Point) []draw.Item {
			var out []draw.Item
			for i, e := range line {
				out = append(out, keyCell(e, at.Add(draw.MM(float64(i)*float64(width)), 0), width, symbolWidth, h))
			}
			return out
		})
	}
}

func keyText(e KeyEntry, width, symbolWidth draw.MM) (lines []string, from draw.MM) {
	from = max(symbolWidth, draw.Grid(e.Symbol.Box.Width())) + 3
	return draw.Note.Wrap(e.Text, max(width-from-2, 12)), from
}

func textHeight(e KeyEntry, width, symbolWidth draw.MM) draw.MM {
	lines, _ := keyText(e, width, symbolWidth)
	return draw.MM(float64(len(lines)) * float64(draw.Note.LinePitch()))
}

// keyCell draws a symbol in the middle of its room and its text beside it.
func keyCell(e KeyEntry, at draw.Point, width, symbolWidth, h draw.MM) draw.Group {
	b := e.Symbol.Box
	lines, from := keyText(e, width, symbolWidth)
	room := from - 3
	origin := at.Add((room-draw.Grid(b.Width()))/2-draw.Grid(b.Min.X), (h-draw.Grid(b.Height()))/2-draw.Grid(b.Min.Y))
	g := draw.Group{Class: "key", Strokes: draw.SymbolStrokes(e.Symbol, origin, 0, 0, false)}
	l := draw.Note
	top := at.Y + h/2 - draw.MM(float64(len(lines)-1)*float64(l.LinePitch()))/2 + l.Cap()/2
	for i, s := range lines {
		g.Strokes = append(g.Strokes, draw.Text{At: draw.Point{X: at.X + from, Y: top + draw.MM(float64(i)*float64(l.LinePitch()))}, S: s, Letters: l})
	}
	return g
}

// LineEntry is one style of line with what it stands for.
type LineEntry struct {
	Style draw.Style
	Text  string
}

// LineKey sets a key of lines in columns.
func (f *Flow) LineKey(entries []LineEntry) {
	const cell, sample, h = draw.MM(62), draw.MM(25), draw.MM(7.5)
	columns := max(1, int(f.Width()/cell))
	width := f.Width() / draw.MM(columns)
	for len(entries) > 0 {
		n := min(columns, len(entries))
		line := entries[:n]
		entries = entries[n:]
		f.Figure(h, func(at draw.Point) []draw.Item {
			var g draw.Group
			g.Class = "key"
			for i, e := range line {
				p := at.Add(draw.MM(float64(i)*float64(width)), h/2)
				l := draw.Note
				g.Strokes = append(g.Strokes, draw.Line(p, p.Add(sample, 0), e.Style),
					draw.Text{At: p.Add(sample+3, l.Cap()/2), S: l.Fit(e.Text, width-sample-5), Letters: l})
			}
			return []draw.Item{g}
		})
	}
}
