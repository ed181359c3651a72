package water

import "math"

// The limits of the regimes (EPANET 2.2 User Manual, ch. 3).
const (
	laminarLimit   = 2000
	turbulentLimit = 4000
)

// corrugatedFactor is the factor on the friction factor of a corrugated hose: no
// measured roughness was found; common practice, no source.
const corrugatedFactor = 3

// FrictionFactor returns the Darcy friction factor at a Reynolds number and a
// relative roughness (roughness over bore): 64/Re up to 2000, the law from
// 4000, a cubic between that meets both in value and slope. re above 0.
func FrictionFactor(law Friction, re, relative float64) float64 {
	f, _ := factor(law, re, relative)
	return f
}

// factor returns f and df/dRe.
func factor(law Friction, re, e float64) (f, slope float64) {
	switch {
	case re <= laminarLimit:
		return 64 / re, -64 / (re * re)
	case re >= turbulentLimit && law == Colebrook:
		return colebrook(re, e)
	case re >= turbulentLimit:
		return swameeJain(re, e)
	case law == Colebrook:
		return bridge(re, e)
	}
	return dunlop(re, e)
}

// swameeJain is f = 0.25/log10²(e/3.7 + 5.74/Re^0.9).
func swameeJain(re, e float64) (f, slope float64) {
	t := 5.74 / math.Pow(re, 0.9)
	y := e/3.7 + t
	l := math.Log(y) / math.Ln10
	f = 0.25 / (l * l)
	// dl/dRe = −0.9 t/(Re y ln 10); df = −0.5/l³ dl
	return f, 0.45 * t / (re * y * math.Ln10 * l * l * l)
}

// colebrook solves 1/√f = −2 log10(e/3.7 + 2.51/(Re √f)) by Newton on x = 1/√f.
func colebrook(re, e float64) (f, slope float64) {
	f0, _ := swameeJain(re, e)
	x := 1 / math.Sqrt(f0)
	const k = 2 / math.Ln10
	for range 20 {
		y := e/3.7 + 2.51*x/re
		r := x + k*math.Log(y)
		dx := r / (1 + k*2.51/(re*y))
		x -= dx
		if math.Abs(dx) < 1e-14*x {
			break
		}
	}
	y := e/3.7 + 2.51*x/re
	// implicit: x' (1 + k·2.51/(Re y)) = k·2.51 x/(Re² y)
	dx := k * 2.51 * x / (re * re * y) / (1 + k*2.51/(re*y))
	return 1 / (x * x), -2 * dx / (x * x * x)
}

// dunlop is the cubic of EPANET between the regimes, fitted to Swamee–Jain at
// 4000 (EPANET 2.2 User Manual, ch. 12).
func dunlop(re, e float64) (f, slope float64) {
	const aa, ab = -1.5634601348517065795, 0.00328895476345399058690
	y2 := e/3.7 + 5.74/math.Pow(turbulentLimit, 0.9)
	y3 := -2 / math.Ln10 * math.Log(y2)
	fa := 1 / (y3 * y3)
	fb := (2 + aa*ab/(y2*y3)) * fa
	x1, x2, x3, x4 := 7*fa-fb, 0.128-17*fa+2.5*fb, -0.128+13*fa-2*fb, 0.032-3*fa+0.5*fb
	r := re / laminarLimit
	return x1 + r*(x2+r*(x3+r*x4)), (x2 + r*(2*x3+3*r*x4)) / laminarLimit
}

// bridge is the Hermite cubic between 64/Re at 2000 and Colebrook at 4000.
func bridge(re, e float64) (f, slope float64) {
	f0, s0 := factor(Colebrook, laminarLimit, e)
	f1, s1 := colebrook(turbulentLimit, e)
	const w = turbulentLimit - laminarLimit
	t := (re - laminarLimit) / w
	m0, m1 := s0*w, s1*w
	a, b := 2*f0-2*f1+m0+m1, -3*f0+3*f1-2*m0-m1
	return f0 + t*(m0+t*(b+t*a)), (m0 + t*(2*b+3*t*a)) / w
}
