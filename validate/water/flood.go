package water

import (
	"math"
	"sort"

	"fitout/schema/unit"
)

// Orifice coefficients. The published flooding tables differ by as much, so
// the first two are printed side by side.
const (
	Frictionless unit.Ratio = 1.0 // the ideal jet, upper bound
	ShortTube    unit.Ratio = 0.8 // a hose stub on an open seacock; Molesworth's pocket-book gives 0.81
	SharpEdge    unit.Ratio = 0.6 // a clean hole in thin plate; Encyclopaedia Britannica 11th ed., Hydraulics: 0.603 to 0.620
)

// Hole is an opening below the waterline with its hose off.
type Hole struct {
	Bore   unit.Metre
	Height unit.Metre
	Cd     unit.Ratio
}

// Inflow returns what runs in through a hole with the water at outside without
// and at inside within: Cd · A · √(2gh), h from outside down to the hole, or
// down to the water inside once that covers it. 0 when nothing drives it.
func (h Hole) Inflow(outside, inside unit.Metre, g Acceleration) unit.LitrePerMin {
	drive := float64(outside - max(h.Height, inside))
	if drive <= 0 {
		return 0
	}
	d := float64(h.Bore)
	return litres(float64(h.Cd) * math.Pi / 4 * d * d * math.Sqrt(2*float64(g)*drive))
}

// Inflows is what runs in through one hole by each coefficient.
type Inflows struct {
	Frictionless, ShortTube, SharpEdge unit.LitrePerMin
}

// HoseOff returns the inflow through an opening of a bore at a depth below the
// waterline, into an empty space.
func HoseOff(bore, depth unit.Metre, g Acceleration) Inflows {
	at := func(cd unit.Ratio) unit.LitrePerMin {
		return Hole{Bore: bore, Height: -depth, Cd: cd}.Inflow(0, unit.Metre(math.Inf(-1)), g)
	}
	return Inflows{at(Frictionless), at(ShortTube), at(SharpEdge)}
}

// Stage is the volume of a space up to a height.
type Stage struct {
	Height unit.Metre
	Volume unit.CubicMetre
}

// Basin is a space that fills: stages of rising height and volume, straight
// between them, the last stretch extended.
type Basin []Stage

// Prism returns a basin of constant area above its floor.
func Prism(floor unit.Metre, area unit.SquareMetre) Basin {
	return Basin{{floor, 0}, {floor + 1, unit.CubicMetre(area)}}
}

// Drain is a pump that empties the space while water stands at On or higher.
// Flow gives what it moves with the water at a level.
type Drain struct {
	On   unit.Metre
	Flow func(level unit.Metre) unit.LitrePerMin
}

// SteadyDrain returns a pump that moves the same at every level.
func SteadyDrain(on unit.Metre, flow unit.LitrePerMin) Drain {
	return Drain{On: on, Flow: func(unit.Metre) unit.LitrePerMin { return flow }}
}

// Flooding is a space with water coming in and going out.
type Flooding struct {
	Basin   Basin
	Start   unit.Metre // level inside at the beginning, at the lowest its floor
	Outside unit.Metre // level of the water outside
	Holes   []Hole
	Drains  []Drain
	Gravity Acceleration // 0: StandardGravity
}

// Rise is how a level is reached.
type Rise struct {
	Reached bool
	After   unit.Hour  // when Reached
	Holds   unit.Metre // when not Reached: the level at which the water stops
}

// TimeTo returns when the water reaches a level, by integrating the volume
// over the net inflow. Not reached: the pumps hold it below, or the water
// outside does not stand so high.
func (f Flooding) TimeTo(level unit.Metre) Rise {
	if f.Gravity == 0 {
		f.Gravity = StandardGravity
	}
	at := max(float64(f.Start), f.floor())
	to := float64(level)
	if to <= at {
		return Rise{Reached: true}
	}
	var seconds float64
	for _, next := range f.kinks(at, to) {
		if !(f.net(at, true) > 0) {
			return Rise{Holds: unit.Metre(at)}
		}
		if !(f.net(next, false) > 0) && !(next == float64(f.Outside) && f.pumped(next, false) == 0) {
			return Rise{Holds: unit.Metre(f.balance(at, next))}
		}
		seconds += f.area((at+next)/2) * f.integrate(at, next)
		at = next
	}
	return Rise{Reached: true, After: unit.Hour(seconds / 3600)}
}

func (f Flooding) floor() float64 {
	if len(f.Basin) == 0 {
		return math.Inf(-1)
	}
	return float64(f.Basin[0].Height)
}

// kinks returns the levels after from, up to and with to, at which a hole is
// covered, a pump starts, the basin widens or the water outside is met.
func (f Flooding) kinks(from, to float64) []float64 {
	all := []float64{to, float64(f.Outside)}
	for _, h := range f.Holes {
		all = append(all, float64(h.Height))
	}
	for _, d := range f.Drains {
		all = append(all, float64(d.On))
	}
	for _, s := range f.Basin {
		all = append(all, float64(s.Height))
	}
	sort.Float64s(all)
	var out []float64
	for _, k := range all {
		if k > from && k <= to && (len(out) == 0 || k > out[len(out)-1]) {
			out = append(out, k)
		}
	}
	return out
}

// net returns inflow less pumps in m³/s; at a pump's own level, above says
// whether it has started.
func (f Flooding) net(level float64, above bool) float64 {
	var q float64
	for _, h := range f.Holes {
		q += cubic(h.Inflow(f.Outside, unit.Metre(level), f.Gravity))
	}
	return q - f.pumped(level, above)
}

func (f Flooding) pumped(level float64, above bool) float64 {
	var q float64
	for _, d := range f.Drains {
		if level > float64(d.On) || above && level == float64(d.On) {
			q += cubic(max(d.Flow(unit.Metre(level)), 0))
		}
	}
	return q
}

func (f Flooding) area(level float64) float64 {
	b := f.Basin
	if len(b) < 2 {
		return 0
	}
	i := 1
	for i < len(b)-1 && level > float64(b[i].Height) {
		i++
	}
	rise := float64(b[i].Height - b[i-1].Height)
	if rise <= 0 {
		return 0
	}
	return float64(b[i].Volume-b[i-1].Volume) / rise
}

// balance returns the level in a stretch at which the net inflow comes to
// nothing.
func (f Flooding) balance(lo, hi float64) float64 {
	for range 200 {
		mid := (lo + hi) / 2
		if mid <= lo || mid >= hi {
			break
		}
		if f.net(mid, true) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

// integrate returns ∫ dz/net over a stretch without kinks. With u² = outside −
// z the root in the inflow becomes a straight line, and the integrand stays
// finite where the levels meet.
func (f Flooding) integrate(from, to float64) float64 {
	out := float64(f.Outside)
	fn := func(u float64) float64 {
		n := f.net(out-u*u, true)
		if n <= 0 { // only at u = 0 without pumps: the limit
			u = 1e-9
			n = f.net(out-u*u, true)
		}
		return 2 * u / n
	}
	a, b := math.Sqrt(math.Max(out-to, 0)), math.Sqrt(math.Max(out-from, 0))
	fa, fm, fb := fn(a), fn((a+b)/2), fn(b)
	whole := (b - a) / 6 * (fa + 4*fm + fb)
	return simpson(fn, a, b, fa, fm, fb, whole, 1e-11*math.Abs(whole), 40)
}

// simpson is adaptive Simpson quadrature.
func simpson(f func(float64) float64, a, b, fa, fm, fb, whole, tol float64, depth int) float64 {
	m := (a + b) / 2
	fl, fr := f((a+m)/2), f((m+b)/2)
	l, r := (m-a)/6*(fa+4*fl+fm), (b-m)/6*(fm+4*fr+fb)
	if d := l + r - whole; depth == 0 || math.Abs(d) <= 15*tol {
		return l + r + d/15
	}
	return simpson(f, a, m, fa, fl, fm, l, tol/2, depth-1) + simpson(f, m, b, fm, fr, fb, r, tol/2, depth-1)
}
