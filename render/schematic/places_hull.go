package schematic

import (
	"math"
	"slices"

	"fitout/render/draw"
)

// hull draws the outline: a sketch from length and beam, from above with a bow
// that comes to a point, from the side with a sheer line and a keel line. It is
// as fine as the places of the parts allow, so that what the file puts in the
// boat lies within it.
func (v *view) hull() {
	g := draw.Group{Class: "hull"}
	line := func(s draw.Style, closed bool, pts ...draw.Point) {
		g.Strokes = append(g.Strokes, draw.Polyline{Points: pts, Closed: closed, Pen: draw.Pen{Style: s}})
		for i := range pts {
			if i > 0 || closed {
				v.lines = append(v.lines, [2]draw.Point{pts[(i+len(pts)-1)%len(pts)], pts[i]})
			}
		}
	}
	datum := draw.StaticWaterline
	if v.plan {
		datum = draw.OutlineChain
		v.shape = v.deck()
	} else {
		v.shape = v.profile()
	}
	edge := draw.OutlineThick
	if v.plan && v.b.box {
		edge = draw.OutlineDashed
	}
	line(edge, true, v.shape...)
	line(datum, false, v.point(0, 0).Add(-datumPast, 0), v.point(v.b.length, 0).Add(datumPast, 0))
	v.outline = append(v.outline, g)
}

// datumPast is how far centreline and waterline reach past the ends of the boat.
const datumPast = draw.MM(3.5)

// fullness of the ends: how bluntly a line leaves the end of the boat. The first
// that holds every part is taken.
var fullness = []float64{1.7, 2, 2.4, 3, 4, 6, 9, 14, 25}

// fullest is the least fullness with which a curve from 0 at the end to 1 at
// share from of the length reaches as far out as every part asks.
func fullest(from float64, ask [][2]float64) float64 {
	for _, p := range fullness {
		if !slices.ContainsFunc(ask, func(a [2]float64) bool { return bluff(a[0]/from, p) < a[1] }) {
			return p
		}
	}
	return fullness[len(fullness)-1]
}

// bluff is the curve: 0 at 0, 1 and level from 1 on.
func bluff(u, p float64) float64 {
	return 1 - math.Pow(1-math.Min(math.Max(u, 0), 1), p)
}

// Shares of the length over which the ends run, and what the stern keeps.
const (
	bowShare   = 0.55
	sternShare = 0.45
	sternBeam  = 0.78
)

// taper is the curve of the after end: keep at 0, 1 and level from 1 on.
func taper(u, keep float64) float64 {
	u = 1 - math.Min(math.Max(u, 0), 1)
	return 1 - (1-keep)*u*u
}

// keeps is how much the stern must keep to hold what is asked.
func keeps(least float64, ask [][2]float64) float64 {
	for keep := least; keep < 1; keep += 0.05 {
		if !slices.ContainsFunc(ask, func(a [2]float64) bool { return taper(a[0]/sternShare, keep) < a[1] }) {
			return keep
		}
	}
	return 1
}

// edgeRoom is how far within the outline a part is kept, as a share of half the
// beam or of the depth.
const edgeRoom = 0.03

// asked lists how far out the parts within the hull stand: share of the length
// from one end, share of the full breadth or depth.
func (v *view) asked(fromStern bool, full float64, out func(placed) (float64, bool)) (ask [][2]float64) {
	for _, p := range v.b.parts {
		o, ok := out(p)
		if !ok || o <= 0 || o > full || p.station < 0 || p.station > v.b.length {
			continue
		}
		t := p.station / v.b.length
		if fromStern {
			t = 1 - t
		}
		ask = append(ask, [2]float64{t, math.Min(o/full+edgeRoom, 1)})
	}
	return ask
}

// deck is the outline from above; of several hulls only the box about them is known.
func (v *view) deck() []draw.Point {
	b := v.b
	half := b.beam / 2
	if b.box {
		return []draw.Point{v.point(0, -half), v.point(b.length, -half), v.point(b.length, half), v.point(0, half)}
	}
	aside := func(p placed) (float64, bool) { return math.Abs(p.offset), p.hasOffset }
	fore, aft := fullest(bowShare, v.asked(false, half, aside)), keeps(sternBeam, v.asked(true, half, aside))
	var port, starboard []draw.Point
	const steps = 60
	for i := 0; i <= steps; i++ {
		t := math.Pow(float64(i)/steps, 1.7)
		y := half * math.Min(bluff(t/bowShare, fore), taper((1-t)/sternShare, aft))
		starboard = append(starboard, v.point(t*b.length, y))
		port = append(port, v.point(t*b.length, -y))
	}
	slices.Reverse(port)
	return append(starboard, port[:len(port)-1]...)
}

// sheerAt is the height of the deck edge: it rises a little forward.
func (b *boatPlan) sheerAt(t float64) float64 {
	s := float64(b.in.boat().Vessel.Sheer.Or(metre(b.length * 0.1)))
	return s + 0.18*s*(1-t)*(1-t)
}

// Shares of the profile.
const (
	stemRake  = 0.035 // of the length, from the deck to the waterline
	footShare = 0.35  // over which the forefoot runs
	runKeeps  = 0.3   // of the depth, at the stern
)

// profile is the outline from the side.
func (v *view) profile() []draw.Point {
	b := v.b
	deep := -b.lo
	down := func(p placed) (float64, bool) { return -p.height, p.hasHeight }
	foot, run := fullest(footShare, v.asked(false, deep, down)), keeps(runKeeps, v.asked(true, deep, down))
	rake := stemRake
	for _, p := range b.parts { // what stands right at the stem makes it plumb
		if t := p.station / b.length; p.hasHeight && t >= 0 && t < stemRake && p.height < b.sheerAt(t) {
			rake = 0
		}
	}
	const steps = 60
	var pts []draw.Point
	for i := 0; i <= 12; i++ {
		t := float64(i) / 12
		pts = append(pts, v.point(t*b.length, -b.sheerAt(t)))
	}
	for i := steps; i >= 0; i-- {
		t := rake + (1-rake)*math.Pow(float64(i)/steps, 1.4)
		d := deep * math.Min(bluff((t-rake)/footShare, foot), taper((1-t)/sternShare, run))
		pts = append(pts, v.point(t*b.length, d))
	}
	return pts
}

// within reports whether a point lies in a closed outline.
func within(shape []draw.Point, p draw.Point) bool {
	in := false
	for i, a := range shape {
		b := shape[(i+len(shape)-1)%len(shape)]
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < a.X+(b.X-a.X)*(p.Y-a.Y)/(b.Y-a.Y) {
			in = !in
		}
	}
	return in
}
