// Package chart draws the two diagrams that a computed boat answers with: the
// time-current chart of a circuit, and a pump's curve against that of its line.
package chart

import (
	"fitout/render/draw"
	"fitout/render/sheet"
)

// column is the room beside a diagram for what is read from it.
const (
	column = draw.MM(72)
	gutter = draw.MM(5)
)

// diagramBox is the box of the axes on a sheet: left of the column, with room for
// its scales; top and right say whether the other system has scales there.
func diagramBox(f sheet.Frame, top, right bool) draw.Box {
	b := draw.Box{
		Min: f.Area.Min.Add(beside, 4),
		Max: f.Area.Max.Add(-column-gutter, -below),
	}
	if top {
		b.Min.Y = f.Area.Min.Y + below
	}
	if right {
		b.Max.X -= beside
	}
	return b
}

// note is a paragraph of the column. A sample of a line stands before it where
// line is set.
type note struct {
	text    string
	head    bool
	sampled bool
	line    draw.Style
}

// notes sets the column from the top right of the drawing space downward.
func notes(f sheet.Frame, list []note) []draw.Item {
	left, y := f.Area.Max.X-column, f.Area.Min.Y+2
	g := draw.Group{Class: "chart-notes"}
	for _, n := range list {
		l, x := draw.Note, left
		switch {
		case n.head:
			l = draw.TableHead
			y += 2
		case n.sampled:
			mid := y + l.Cap()/2
			g.Strokes = append(g.Strokes, draw.Line(draw.Point{X: x, Y: mid}, draw.Point{X: x + 11, Y: mid}, n.line))
			x += 13
		}
		lines := l.Wrap(n.text, f.Area.Max.X-x)
		for i, s := range lines {
			if y+l.Cap() > f.Area.Max.Y-1 {
				return []draw.Item{g}
			}
			// the last line that fits says that there was more
			if y+l.Cap()+l.LinePitch() > f.Area.Max.Y-1 && i < len(lines)-1 {
				s = l.Fit(s+" …", f.Area.Max.X-x)
			}
			g.Strokes = append(g.Strokes, draw.Text{At: draw.Point{X: x, Y: y + l.Cap()}, S: s, Letters: l})
			y += l.LinePitch()
		}
		y += 1.2
	}
	return []draw.Item{g}
}
