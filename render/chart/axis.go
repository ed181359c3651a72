package chart

import (
	"math"
	"strconv"
	"strings"

	"fitout/render/draw"
)

// axis is one scale of a diagram. Lo and hi are in the unit of the axis.
type axis struct {
	title  string
	log    bool
	lo, hi float64
}

// share is where on the axis a value lies: 0 at lo, 1 at hi.
func (a axis) share(v float64) float64 {
	if !a.log {
		return (v - a.lo) / (a.hi - a.lo)
	}
	return math.Log10(v/a.lo) / math.Log10(a.hi/a.lo)
}

// tick is one line of the grid; text is empty for a fine one.
type tick struct {
	at   float64
	text string
}

func (a axis) ticks() []tick {
	if a.log {
		return a.logTicks()
	}
	step := niceStep(a.hi - a.lo)
	var out []tick
	for k := math.Ceil(a.lo/step - 1e-9); k*step <= a.hi+step*1e-9; k++ {
		out = append(out, tick{k * step, number(k * step)})
	}
	return out
}

// logTicks are the lines 1 to 9 of each decade, with figures at 1, 2 and 5 where
// the scale is short and at 1 alone where it is long.
func (a axis) logTicks() []tick {
	var out []tick
	long := math.Log10(a.hi/a.lo) > 4.5
	for d := math.Floor(math.Log10(a.lo) + 1e-9); ; d++ {
		for m := 1.0; m < 10; m++ {
			v := m * math.Pow(10, d)
			switch {
			case v < a.lo*(1-1e-9):
				continue
			case v > a.hi*(1+1e-9):
				return out
			}
			t := tick{at: v}
			if m == 1 || !long && (m == 2 || m == 5) {
				t.text = number(v)
			}
			out = append(out, t)
		}
	}
}

// niceStep gives five to ten steps of 1, 2 or 5 times a power of ten.
func niceStep(span float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(span/5)))
	for _, m := range []float64{5, 2} {
		if span/(m*p) >= 5-1e-9 {
			return m * p
		}
	}
	return p
}

// logBounds opens a range to the next 1, 2 or 5 times a power of ten.
func logBounds(lo, hi float64) (float64, float64) {
	down, up := math.Pow(10, math.Floor(math.Log10(lo)+1e-9)), math.Pow(10, math.Floor(math.Log10(hi)+1e-9))
	out := [2]float64{down, up * 10}
	for _, m := range []float64{2, 5} {
		if m*down <= lo*(1+1e-9) {
			out[0] = m * down
		}
	}
	for _, m := range []float64{5, 2, 1} {
		if m*up >= hi*(1-1e-9) {
			out[1] = m * up
		}
	}
	return out[0], out[1]
}

// number prints a tick: no exponent, a space between thousands, a true minus.
func number(v float64) string {
	v = math.Round(v*1e6) / 1e6
	s := strconv.FormatFloat(math.Abs(v), 'f', -1, 64)
	whole, frac, dot := strings.Cut(s, ".")
	for i := len(whole) - 3; i > 0 && len(whole) > 4; i -= 3 {
		whole = whole[:i] + " " + whole[i:]
	}
	if dot {
		whole += "." + frac
	}
	if v < 0 {
		return "−" + whole
	}
	return whole
}

// plot is a diagram being drawn: the box of the axes on the sheet, the scales,
// and what already lies in it.
type plot struct {
	box  draw.Box
	x, y axis
	// second gives the same axes in the units of the other system; empty titles for
	// none. Values are multiplied by factorX, factorY to reach them.
	secondX, secondY string
	factorX, factorY float64

	curves []draw.Polyline
	marks  []draw.Item
	texts  []draw.Text
	// pending are the labels still to be placed, once all curves lie.
	pending []tagged
}

// at is the place of a value on the sheet, in or out of the box.
func (p *plot) at(x, y float64) draw.Point {
	return draw.Point{
		X: p.box.Min.X + draw.MM(p.x.share(x))*p.box.Width(),
		Y: p.box.Max.Y - draw.MM(p.y.share(y))*p.box.Height(),
	}
}

// curve draws a chain of values, cut off at the box.
func (p *plot) curve(values [][2]float64, style draw.Style) []draw.Polyline {
	var pts []draw.Point
	for _, v := range values {
		if p.x.log && v[0] <= 0 || p.y.log && v[1] <= 0 {
			continue
		}
		pts = append(pts, p.at(v[0], v[1]))
	}
	made := clip(pts, p.box, style)
	p.curves = append(p.curves, made...)
	return made
}

// clip keeps what of a chain lies in a box.
func clip(pts []draw.Point, b draw.Box, style draw.Style) []draw.Polyline {
	var out []draw.Polyline
	for i := 1; i < len(pts); i++ {
		from, to, ok := clipPiece(pts[i-1], pts[i], b)
		if !ok {
			continue
		}
		if k := len(out) - 1; k >= 0 && out[k].Points[len(out[k].Points)-1] == from {
			out[k].Points = append(out[k].Points, to)
			continue
		}
		out = append(out, draw.Line(from, to, style))
	}
	return out
}

// clipPiece cuts one straight piece (Liang and Barsky 1984).
func clipPiece(a, c draw.Point, b draw.Box) (draw.Point, draw.Point, bool) {
	t0, t1 := 0.0, 1.0
	dx, dy := float64(c.X-a.X), float64(c.Y-a.Y)
	for _, e := range [4][2]float64{
		{-dx, float64(a.X - b.Min.X)}, {dx, float64(b.Max.X - a.X)},
		{-dy, float64(a.Y - b.Min.Y)}, {dy, float64(b.Max.Y - a.Y)},
	} {
		switch {
		case e[0] == 0 && e[1] < 0:
			return a, c, false
		case e[0] < 0:
			t0 = max(t0, e[1]/e[0])
		case e[0] > 0:
			t1 = min(t1, e[1]/e[0])
		}
	}
	if t0 >= t1 {
		return a, c, false
	}
	point := func(t float64) draw.Point {
		switch t {
		case 0:
			return a
		case 1:
			return c
		}
		return a.Add(draw.MM(t*dx), draw.MM(t*dy))
	}
	return point(t0), point(t1), true
}
