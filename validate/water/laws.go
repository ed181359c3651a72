package water

import "math"

// A law gives the head lost from → to at a flow in m³/s, and its slope. Laws
// never fall with the flow: then the network has one solution.
type law interface {
	loss(q float64) (h, slope float64)
}

const (
	// floor is the resistance of a passage said to have none, s/m²: 0.3 µm at
	// 18 L/min. Without it the flow would not follow from the heads.
	floor = 1e-3
	// core is the flow in m³/s (0.006 L/min) under which a square law is
	// carried on to nothing by a cubic with a slope at its middle.
	core = 1e-7
	// back is the resistance, s/m², of what lets nothing back: a metre of head
	// leaks 0.0006 L/min while the state of the valves is sought; those that
	// hold are then taken out.
	back = 1e8
)

// square returns k·q·|q| with its core.
func square(k, q float64) (h, slope float64) {
	if a := math.Abs(q); a < core {
		return k * (core*q/2 + q*q*q/(2*core)), k * (core/2 + 1.5*q*q/core)
	}
	return k * q * math.Abs(q), 2 * k * math.Abs(q)
}

// pipeLaw is Darcy–Weisbach and minor losses.
type pipeLaw struct {
	law      Friction
	relative float64
	re       float64 // Reynolds number of 1 m³/s
	wall     float64 // L/D /(2gA²), with the corrugated factor
	laminar  float64 // head of 1 m³/s in laminar flow
	minor    float64 // ΣK/(2gA²)
}

func newPipeLaw(p Pipe, m Model) pipeLaw {
	d, g, nu := float64(p.Bore), m.g(), float64(m.Fluid.Viscosity)
	a := math.Pi / 4 * d * d
	w := pipeLaw{law: m.Friction, relative: float64(p.Roughness) / d, re: d / (nu * a)}
	w.wall = float64(p.Length) / d / (2 * g * a * a)
	if p.Corrugated {
		w.wall *= corrugatedFactor
	}
	w.laminar = w.wall * 64 / w.re
	for _, k := range p.Minor {
		b := float64(k.Bore)
		if b == 0 {
			b = d
		}
		w.minor += k.K * velocityHead(b, g)
	}
	return w
}

// velocityHead returns v²/2g of 1 m³/s in a bore; 0 without a bore.
func velocityHead(bore, g float64) float64 {
	if bore == 0 {
		return 0
	}
	a := math.Pi / 4 * bore * bore
	return 1 / (2 * g * a * a)
}

func (w pipeLaw) loss(q float64) (h, slope float64) {
	h, slope = square(w.minor, q)
	a := math.Abs(q)
	if re := a * w.re; re <= laminarLimit {
		h += w.laminar * q
		slope += w.laminar
	} else if w.wall > 0 {
		f, df := factor(w.law, re, w.relative)
		h += w.wall * f * q * a
		slope += w.wall * a * (2*f + df*re)
	}
	if w.wall == 0 && w.minor*core < floor {
		h += floor * q
		slope += floor
	}
	return h, slope
}

// tableLaw is a fitting's loss: straight lines in flow squared.
type tableLaw struct{ curve LossCurve }

func (t tableLaw) loss(q float64) (h, slope float64) {
	if len(t.curve.s) == 0 {
		return floor * q, floor
	}
	if t.curve.spring {
		return t.spring(q)
	}
	a := math.Abs(q)
	h, k := lines(t.curve.s, t.curve.h, q*q)
	if q*q < t.curve.s[1] || len(t.curve.s) == 2 {
		h, slope = square(k, a)
	} else {
		slope = 2 * k * a
	}
	if k0 := t.curve.h[1] / t.curve.s[1]; k0*core < floor {
		h, slope = h+floor*a, slope+floor
	}
	return math.Copysign(h, q), math.Max(slope, floor)
}

// spring is a loss that stands before anything flows; its first stretch is
// straight in the flow.
func (t tableLaw) spring(q float64) (h, slope float64) {
	s, y := t.curve.s, t.curve.h
	a, q1 := math.Abs(q), math.Sqrt(s[1])
	if a < q1 {
		k := y[1] / q1
		return k * q, k
	}
	if len(s) == 2 {
		return math.Copysign(y[1], q) + floor*q, floor
	}
	v, dv := lines(s[1:], y[1:], a*a)
	return math.Copysign(v, q), 2*dv*a + floor
}

// pumpLaw is minus the head of a running pump.
type pumpLaw struct {
	curve PumpCurve
	speed float64
}

func (p pumpLaw) loss(q float64) (h, slope float64) {
	if q < 0 {
		h, _ = p.curve.at(0, p.speed)
		return -h, 0
	}
	h, slope = p.curve.at(q, p.speed)
	// A level stretch would leave the flow open: the slope, not the head, is
	// held up there, which only shortens the steps.
	return -h, math.Max(-slope, floor)
}

// outletLaw is the velocity head lost at an opening: k out, k/2 in.
type outletLaw struct{ k float64 }

func (o outletLaw) loss(q float64) (h, slope float64) {
	k := o.k
	if q < 0 {
		k /= 2
	}
	h, slope = square(k, q)
	if o.k*core < floor {
		h, slope = h+floor*q, slope+floor
	}
	return h, slope
}

// oneWay lets nothing back.
type oneWay struct{ law }

func (o oneWay) loss(q float64) (h, slope float64) {
	if q >= 0 {
		return o.law.loss(q)
	}
	h, _ = o.law.loss(0)
	return h + back*q, back
}
