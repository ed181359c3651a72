package water

import (
	"errors"
	"math"

	"fitout/schema/unit"
)

// Point is one point of a curve: a head at a flow.
type Point struct {
	Flow unit.LitrePerMin
	Head unit.Head
}

// ErrCurve is wrapped by every error about the points of a curve.
var ErrCurve = errors.New("water: curve")

type curveForm int

const (
	powerForm curveForm = iota + 1 // H = A − B·Q^C
	lineForm                       // straight lines between points
)

// PumpCurve is a pump's head over flow at the speed it was stated for.
//
// One point: 4/3 of its head at no flow, twice its flow at no head. Three
// points from zero flow: H = A − B·Q^C through them. Otherwise straight lines,
// the outer two extended. (EPANET 2.2 User Manual, ch. 3.)
type PumpCurve struct {
	form    curveForm
	a, b, c float64 // m, m/(m³/s)^c
	q, h    []float64
}

// NewPumpCurve reads a curve. The points need flows that rise and heads that
// do not rise with them, and one of them a head above 0.
func NewPumpCurve(points []Point) (PumpCurve, error) {
	q, h, err := sorted(points)
	if err != nil {
		return PumpCurve{}, err
	}
	for i := range h {
		if i > 0 && h[i] > h[i-1] {
			return PumpCurve{}, curveError("the head rises with the flow")
		}
	}
	if h[0] <= 0 {
		return PumpCurve{}, curveError("no head above 0")
	}
	switch {
	case len(q) == 1 && q[0] == 0:
		return PumpCurve{}, curveError("one point at no flow says nothing of the flow")
	case len(q) == 1:
		return PumpCurve{form: powerForm, a: 4 * h[0] / 3, b: h[0] / 3 / (q[0] * q[0]), c: 2, q: q, h: h}, nil
	case len(q) == 3 && q[0] == 0:
		if p, ok := powerThrough(q, h); ok {
			return p, nil
		}
	}
	if h[len(h)-1] == h[0] {
		return PumpCurve{}, curveError("the head does not fall with the flow")
	}
	return PumpCurve{form: lineForm, q: q, h: h}, nil
}

// powerThrough fits H = A − B·Q^C; it refuses what the fit cannot carry (a
// level stretch, an exponent outside 0 to 20, as EPANET does).
func powerThrough(q, h []float64) (PumpCurve, bool) {
	d1, d2 := h[0]-h[1], h[0]-h[2]
	if d1 <= 0 || d2 <= d1 {
		return PumpCurve{}, false
	}
	c := math.Log(d2/d1) / math.Log(q[2]/q[1])
	if !(c > 0 && c <= 20) {
		return PumpCurve{}, false
	}
	b := d1 / math.Pow(q[1], c)
	if math.IsInf(b, 0) || b == 0 {
		return PumpCurve{}, false
	}
	return PumpCurve{form: powerForm, a: h[0], b: b, c: c, q: q, h: h}, true
}

// ShutOff returns the head at no flow at a speed ratio.
func (p PumpCurve) ShutOff(speed unit.Ratio) unit.Head { return p.Head(0, speed) }

// MaxFlow returns the flow at which the curve ends at a speed ratio: where the
// head of the fitted form is 0, or the last point of a curve of straight lines.
func (p PumpCurve) MaxFlow(speed unit.Ratio) unit.LitrePerMin {
	if p.form == powerForm {
		return litres(float64(speed) * math.Pow(p.a/p.b, 1/p.c))
	}
	return litres(float64(speed) * p.q[len(p.q)-1])
}

// MinFlow returns the flow at which the curve begins: 0, or the first point of
// a curve of straight lines.
func (p PumpCurve) MinFlow(speed unit.Ratio) unit.LitrePerMin {
	if p.form == powerForm {
		return 0
	}
	return litres(float64(speed) * p.q[0])
}

// LastPoint returns the greatest flow that was stated, at a speed ratio.
func (p PumpCurve) LastPoint(speed unit.Ratio) unit.LitrePerMin {
	return litres(float64(speed) * p.q[len(p.q)-1])
}

// Head returns the head at a flow and a speed ratio: affinity laws, flow with
// the speed and head with its square. Past its end the curve goes on to
// negative heads.
func (p PumpCurve) Head(q unit.LitrePerMin, speed unit.Ratio) unit.Head {
	h, _ := p.at(cubic(q), float64(speed))
	return unit.Head(h)
}

// at returns head in m and its slope at a flow of 0 or more in m³/s.
func (p PumpCurve) at(q, s float64) (h, slope float64) {
	if p.form == powerForm {
		return p.power(q, s)
	}
	x := q / s
	h, slope = lines(p.q, p.h, x)
	return s * s * h, s * slope
}

// power evaluates s²A − s^(2−C)·B·Q^C. Very near no flow the power is replaced
// by a straight line: its slope is 0 or infinite there.
func (p PumpCurve) power(q, s float64) (h, slope float64) {
	const small = 1e-9 // m³/s, 0.00006 L/min
	k := math.Pow(s, 2-p.c) * p.b
	if q < small {
		slope = k * math.Pow(small, p.c-1)
		return s*s*p.a - slope*q, -slope
	}
	y := k * math.Pow(q, p.c)
	return s*s*p.a - y, -p.c * y / q
}

// LossCurve is the head a fitting takes at a flow. One point: it grows with
// the square of flow. Several: straight lines in flow squared, from nothing at
// no flow, the last extended. The zero value takes nothing.
type LossCurve struct {
	s, h   []float64 // flow², head
	spring bool      // a head before anything flows
}

// NewLossCurve reads a loss. Heads must not be negative nor fall with flow.
func NewLossCurve(points []Point) (LossCurve, error) {
	q, h, err := sorted(points)
	if err != nil {
		return LossCurve{}, err
	}
	if h[0] < 0 {
		return LossCurve{}, curveError("a loss below 0")
	}
	var c LossCurve
	if q[0] > 0 || h[0] == 0 {
		c.s, c.h = append(c.s, 0), append(c.h, 0)
	}
	for i := range q {
		if i > 0 && h[i] < h[i-1] {
			return LossCurve{}, curveError("the loss falls with the flow")
		}
		switch {
		case q[i] > 0:
			c.s, c.h = append(c.s, q[i]*q[i]), append(c.h, h[i])
		case h[i] > 0:
			// A head before anything flows (a spring): reached within 0.06 L/min.
			c.s, c.h, c.spring = append(c.s, 0, 1e-12), append(c.h, 0, h[i]), true
		}
	}
	if len(c.s) < 2 {
		return LossCurve{}, curveError("one point at no flow says nothing of the flow")
	}
	return c, nil
}

// Head returns the head lost at a flow (negative for a flow backwards).
func (c LossCurve) Head(q unit.LitrePerMin) unit.Head {
	if len(c.s) == 0 {
		return 0
	}
	x := cubic(q)
	h, _ := lines(c.s, c.h, x*x)
	return unit.Head(math.Copysign(h, x))
}

// lines interpolates, extending the outer two stretches.
func lines(x, y []float64, at float64) (v, slope float64) {
	i := 1
	for i < len(x)-1 && at > x[i] {
		i++
	}
	slope = (y[i] - y[i-1]) / (x[i] - x[i-1])
	return y[i-1] + slope*(at-x[i-1]), slope
}

func sorted(points []Point) (q, h []float64, err error) {
	if len(points) == 0 {
		return nil, nil, curveError("no points")
	}
	for i, p := range points {
		if unsound(float64(p.Flow), float64(p.Head)) || p.Flow < 0 {
			return nil, nil, curveError("a point that is no flow and head")
		}
		if i > 0 && p.Flow <= points[i-1].Flow {
			return nil, nil, curveError("the flows do not rise from point to point")
		}
		q, h = append(q, cubic(p.Flow)), append(h, float64(p.Head))
	}
	return q, h, nil
}

func curveError(s string) error { return &badCurve{s} }

type badCurve struct{ what string }

func (b *badCurve) Error() string { return ErrCurve.Error() + ": " + b.what }
func (b *badCurve) Unwrap() error { return ErrCurve }
