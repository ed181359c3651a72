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
	const cell, symbolWidth = draw.MM(58), draw.MM(25) // as wide as a panel
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
	g := draw.Group{Class: "symbols", Strokes: draw.SymbolStrokes(e.Symbol, origin, 0, 0, false)}
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
	const cell, sample, gap = draw.MM(58), draw.MM(25), draw.MM(3) // texts stand under those of the symbols
	l := draw.Note
	columns := max(1, int(f.Width()/cell))
	width := f.Width() / draw.MM(columns)
	for len(entries) > 0 {
		n := min(columns, len(entries))
		line := entries[:n]
		entries = entries[n:]
		texts := make([][]string, n)
		most := 1
		for i, e := range line {
			texts[i] = l.Wrap(e.Text, width-sample-gap-2)
			most = max(most, len(texts[i]))
		}
		h := 3.3 + draw.MM(most)*l.LinePitch()
		f.Figure(h, func(at draw.Point) []draw.Item {
			g := draw.Group{Class: "key"}
			for i, e := range line {
				p := at.Add(draw.MM(i)*width, h/2)
				g.Strokes = append(g.Strokes, draw.Line(p, p.Add(sample, 0), e.Style))
				top := p.Y - draw.MM(len(texts[i])-1)*l.LinePitch()/2 + l.Cap()/2
				for k, s := range texts[i] {
					g.Strokes = append(g.Strokes, draw.Text{At: draw.Point{X: p.X + sample + gap, Y: top + draw.MM(k)*l.LinePitch()}, S: s, Letters: l})
				}
			}
			return []draw.Item{g}
		})
	}
}
