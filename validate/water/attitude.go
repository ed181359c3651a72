package water

import (
	"math"

	"fitout/schema/unit"
)

// Attitude is how the boat lies: Heel starboard down, Trim bow down.
type Attitude struct {
	Heel, Trim unit.Degree
}

// Place is a point in the boat: Forward of midships, Offset to starboard of
// the centreline, Height above the upright waterline.
type Place struct {
	Forward, Offset, Height unit.Metre
}

// HeightOf returns the height of a point above the water in an attitude:
// h = z cos θ cos τ − y sin θ − x sin τ (rotation about the centre of the
// upright waterplane, small trim).
func (a Attitude) HeightOf(p Place) unit.Metre {
	sh, ch := math.Sincos(float64(a.Heel) * math.Pi / 180)
	st, ct := math.Sincos(float64(a.Trim) * math.Pi / 180)
	return unit.Metre(float64(p.Height)*ch*ct - float64(p.Offset)*sh - float64(p.Forward)*st)
}
