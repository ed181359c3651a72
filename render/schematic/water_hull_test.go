package schematic_test

import (
	"fmt"
	"math"
)

// hullFigures are what a reader sees of the hull on a sheet.
type hullFigures struct{ plates, joined int } // ends of the fittings' plates, those where the hull goes on

// measureHull walks along the hull's lines on a sheet: they touch no text, no hose
// and no part but the plates of the fittings, and it counts at how many ends of those
// the hull goes on.
func measureHull(f *waterFile, s *svgSheet) (sum hullFigures, faults []string) {
	var ends [][2]float64
	for _, line := range f.hull {
		ends = append(ends, line[0], line[len(line)-1])
		for i := 1; i < len(line); i++ {
			a, b := line[i-1], line[i]
			n := math.Ceil(4 * math.Hypot(b[0]-a[0], b[1]-a[1]))
			for k := 1.0; k < n; k++ {
				at := [2]float64{a[0] + (b[0]-a[0])*k/n, a[1] + (b[1]-a[1])*k/n}
				if what := met(s, at); what != "" {
					faults = append(faults, fmt.Sprintf("the hull touches %s at %.1f, %.1f", what, at[0], at[1]))
				}
			}
		}
	}
	for _, p := range f.plates {
		for _, e := range [][2]float64{{p[0], p[1]}, {p[2], p[3]}} {
			sum.plates++
			// the line is hollow: its two lines end half a millimetre beside its middle
			near := 0
			for _, o := range ends {
				if math.Hypot(o[0]-e[0], o[1]-e[1]) < 0.6 {
					near++
				}
			}
			if near >= 2 {
				sum.joined++
			}
		}
	}
	return sum, faults
}

// met is what lies at a place; a line may end on the edge of a part.
func met(s *svgSheet, at [2]float64) string {
	in := func(r rect) bool { return at[0] > r.x0 && at[0] < r.x1 && at[1] > r.y0 && at[1] < r.y1 }
	for _, t := range s.texts {
		if in(t.box) {
			return fmt.Sprintf("%q", t.s)
		}
	}
	for _, p := range s.parts {
		if in(p.box.grow(-0.6)) {
			return p.id
		}
	}
	for _, r := range s.runs {
		for _, g := range r.segs {
			if in(g.rect().grow(0.1)) {
				return r.id
			}
		}
	}
	return ""
}
