// Package qr makes QR codes as squares on paper, of modules that a telephone
// still reads off a damp sticker. It is the only importer of the encoder.
package qr

import (
	"fmt"

	"fitout/render/draw"

	encoder "github.com/piglig/go-qr"
)

// Quiet is the empty border in modules that ISO/IEC 18004 asks for on all sides
// (from memory).
const Quiet = 4

// LeastModule is the smallest square printed: office printers and telephones
// manage it (common practice, no source).
const LeastModule = draw.MM(0.5)

// Code is one QR code.
type Code struct {
	// Text is what it leads to.
	Text string
	dark [][]bool // by row, without the quiet zone
}

// Encode makes the code of a text, correcting at least about 15 % of it (level
// M), more where that costs no size. It fails where the text is too long for any
// code.
func Encode(text string) (Code, error) {
	q, err := encoder.EncodeText(text, encoder.Medium)
	if err != nil {
		return Code{}, fmt.Errorf("QR code of %q: %w", text, err)
	}
	c := Code{Text: text, dark: make([][]bool, q.Size())}
	for y := range c.dark {
		c.dark[y] = make([]bool, q.Size())
		for x := range c.dark[y] {
			c.dark[y][x] = q.Module(x, y)
		}
	}
	return c, nil
}

// Modules is the breadth of the code with its quiet zone.
func (c Code) Modules() int { return len(c.dark) + 2*Quiet }

// Dark reports whether a module is black; the quiet zone begins at 0, 0.
func (c Code) Dark(x, y int) bool {
	x, y = x-Quiet, y-Quiet
	return y >= 0 && y < len(c.dark) && x >= 0 && x < len(c.dark) && c.dark[y][x]
}

// Side is the breadth of the code with its quiet zone on paper.
func (c Code) Side(module draw.MM) draw.MM { return draw.MM(c.Modules()) * module }

// Strokes are the black squares, those side by side in a row as one bar; at is
// the upper left corner of the quiet zone.
func (c Code) Strokes(at draw.Point, module draw.MM) []draw.Stroke {
	var out []draw.Stroke
	n := c.Modules()
	for y := range n {
		for x := 0; x < n; x++ {
			if !c.Dark(x, y) {
				continue
			}
			from := x
			for c.Dark(x+1, y) {
				x++
			}
			out = append(out, draw.Rect{
				Box: draw.Box{Min: at.Add(draw.MM(from)*module, draw.MM(y)*module), Max: at.Add(draw.MM(x+1)*module, draw.MM(y+1)*module)},
				Pen: draw.Pen{Style: draw.Outline, Fill: draw.Ink, Class: "qr"},
			})
		}
	}
	return out
}
