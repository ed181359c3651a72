package pack

import (
	"fitout/render/draw"
	"fitout/render/qr"
)

// codeModule is the square of the codes on sheets, which hang at arm's length.
const codeModule = draw.MM(0.6)

// code sets a QR code with its address in words beside it. An address that is too
// long for any code stands in words alone.
func (w *writer) code(address string) {
	words := draw.Small.Wrap("On the screen, to search and to follow: "+address, w.flow.Width()-45)
	c, err := qr.Encode(address)
	side := draw.MM(0)
	if err == nil {
		side = c.Side(codeModule)
	}
	pitch := draw.Small.LinePitch()
	w.flow.Figure(max(side, draw.MM(len(words))*pitch)+2, func(at draw.Point) []draw.Item {
		g := draw.Group{Class: "code"}
		x := at.X
		if err == nil {
			g.Strokes = c.Strokes(at, codeModule)
			x += side + 2
		}
		y := at.Y + max(0, side-draw.MM(len(words))*pitch)/2
		for i, line := range words {
			g.Strokes = append(g.Strokes, draw.Text{At: draw.Point{X: x, Y: y + draw.MM(i)*pitch + draw.Small.Cap()}, S: line, Letters: draw.Small})
		}
		return []draw.Item{g}
	})
}
