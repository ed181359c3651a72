// Package draw is the drawing model of the sheets: what is drawn, where, in
// millimetres of paper, and with which meaning. Back ends turn a Sheet into a
// file and decide no position and no colour; those come from the styles of this
// package. Text is measured with the face that the files embed.
package draw

import (
	"math"

	"fitout/schema/symbol"
)

// MM is a length or coordinate on paper in millimetres, y down from the top
// left corner of the sheet.
type MM float64

// Grid is n modules in millimetres.
func Grid(n float64) MM { return MM(n * symbol.Module) }

// Point is a place on the sheet.
type Point struct{ X, Y MM }

// Add moves the point.
func (p Point) Add(dx, dy MM) Point { return Point{p.X + dx, p.Y + dy} }

// GridPoint is the place of a grid crossing on a sheet whose grid starts at
// origin.
func GridPoint(origin Point, x, y float64) Point {
	return Point{origin.X + Grid(x), origin.Y + Grid(y)}
}

// Box is an upright rectangle on the sheet.
type Box struct{ Min, Max Point }

// Width is the breadth of the box.
func (b Box) Width() MM { return b.Max.X - b.Min.X }

// Height is the height of the box.
func (b Box) Height() MM { return b.Max.Y - b.Min.Y }

// Empty reports whether nothing is in the box.
func (b Box) Empty() bool { return b.Min.X > b.Max.X }

// NoBox is the box that holds nothing.
func NoBox() Box {
	inf := MM(math.Inf(1))
	return Box{Point{inf, inf}, Point{-inf, -inf}}
}

// Union is the smallest box that holds both.
func (b Box) Union(c Box) Box {
	if b.Empty() {
		return c
	}
	if c.Empty() {
		return b
	}
	return Box{
		Point{min(b.Min.X, c.Min.X), min(b.Min.Y, c.Min.Y)},
		Point{max(b.Max.X, c.Max.X), max(b.Max.Y, c.Max.Y)},
	}
}

// Grow moves every side outward by d.
func (b Box) Grow(d MM) Box {
	return Box{Point{b.Min.X - d, b.Min.Y - d}, Point{b.Max.X + d, b.Max.Y + d}}
}

// Overlaps reports whether the two boxes share more than a line.
func (b Box) Overlaps(c Box) bool {
	return b.Min.X < c.Max.X && c.Min.X < b.Max.X && b.Min.Y < c.Max.Y && c.Min.Y < b.Max.Y
}

// Contains reports whether c lies within b.
func (b Box) Contains(c Box) bool {
	return b.Min.X <= c.Min.X && b.Min.Y <= c.Min.Y && c.Max.X <= b.Max.X && c.Max.Y <= b.Max.Y
}

func around(pts ...Point) Box {
	b := NoBox()
	for _, p := range pts {
		b = b.Union(Box{p, p})
	}
	return b
}

// arcPoint is the point of an ellipse at an angle in degrees, clockwise from
// the right. Quarter angles are exact.
func arcPoint(c Point, rx, ry MM, deg float64) Point {
	p := symbol.Primitive{Shape: symbol.Ellipse, Points: []symbol.Point{{}}, RX: float64(rx), RY: float64(ry)}.At(deg)
	return Point{c.X + MM(p.X), c.Y + MM(p.Y)}
}
