package schematic

import (
	"math"

	"fitout/render/draw"
)

// hullWidth is the distance of the two lines that the hull is drawn with: as thick
// as the plates of the fittings, and hollow, so that none takes it for a hose.
const hullWidth = draw.MM(1)

// hull draws the boat's bottom and side between the fittings that pierce it.
func (d *bandPen) hull() {
	g := draw.Group{Class: "hull", Title: "hull, the inside above it or at its left"}
	for _, line := range d.band.Hull {
		pts := make([]draw.Point, len(line))
		for i, p := range line {
			pts[i] = d.at(p)
		}
		g.Strokes = append(g.Strokes, skin(pts)...)
		d.places.hull(pts)
	}
	if len(g.Strokes) > 0 {
		d.add(g)
	}
}

// skin is a hull along a line.
func skin(pts []draw.Point) []draw.Stroke {
	var out []draw.Stroke
	for _, off := range []draw.MM{-hullWidth / 2, hullWidth / 2} {
		out = append(out, draw.Polyline{Points: aside(pts, off), Pen: draw.Pen{Style: draw.Outline}})
	}
	return out
}

// aside is a line that runs beside another, its corners mitred; no two pieces of
// the other may turn back on each other.
func aside(pts []draw.Point, off draw.MM) []draw.Point {
	out := make([]draw.Point, len(pts))
	for i, p := range pts {
		var nx, ny draw.MM
		n := 0
		for k := max(i, 1); k <= min(i+1, len(pts)-1); k++ {
			dx, dy := pts[k].X-pts[k-1].X, pts[k].Y-pts[k-1].Y
			l := draw.MM(math.Hypot(float64(dx), float64(dy)))
			nx, ny, n = nx-dy/l, ny+dx/l, n+1
		}
		if n == 2 { // half the sum of both normals, lengthened to the corner
			nx, ny = nx/2, ny/2
			l := nx*nx + ny*ny
			nx, ny = nx/l, ny/l
		}
		out[i] = p.Add(off*nx, off*ny)
	}
	return out
}
