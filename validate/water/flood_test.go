package water

import (
	"math"
	"testing"

	"fitout/schema/unit"
)

// Filling through a hole without pumps, closed form. While the hole is clear
// the inflow is constant; once covered, a space of area S fills by
// dz/dt = (c/S)√(H − z), so t = 2S/c (√(H−z0) − √(H−z)).
func TestTimeToLevelClosedForm(t *testing.T) {
	const g, d, area = 9.80665, 0.025, 1.5
	c := 0.8 * math.Pi / 4 * d * d * math.Sqrt(2*g)
	f := Flooding{Basin: Prism(-0.8, area), Start: -0.8, Outside: 0, Holes: []Hole{{Bore: d, Height: -0.5, Cd: ShortTube}}}
	clear := func(z float64) float64 { return area * (z + 0.8) / (c * math.Sqrt(0.5)) }
	covered := func(z float64) float64 { return 2 * area / c * (math.Sqrt(0.5) - math.Sqrt(-z)) }
	for _, r := range []struct{ level, seconds float64 }{
		{-0.6, clear(-0.6)}, {-0.5, clear(-0.5)}, {-0.3, clear(-0.5) + covered(-0.3)}, {-0.01, clear(-0.5) + covered(-0.01)}, {0, clear(-0.5) + covered(0)},
	} {
		got := f.TimeTo(unit.Metre(r.level))
		if !got.Reached {
			t.Fatalf("%v not reached: %+v", r.level, got)
		}
		near(t, "seconds", float64(got.After)*3600, r.seconds, 1e-7, 0)
	}
	if got := f.TimeTo(0.1); got.Reached {
		t.Error("water rose over the water outside")
	} else {
		near(t, "holds at", float64(got.Holds), 0, 0, 1e-9)
	}
	if got := f.TimeTo(-0.9); !got.Reached || got.After != 0 {
		t.Errorf("below the start: %+v", got)
	}
}

// With a steady pump p once covered: t = (2S/c)[u0 − u + (p/c) ln((c·u0−p)/(c·u−p))],
// u = √(H−z): integrated by hand.
func TestTimeToLevelAgainstPump(t *testing.T) {
	const g, d, area = 9.80665, 0.038, 2.0
	c := 0.8 * math.Pi / 4 * d * d * math.Sqrt(2*g)
	pump := 60.0 / 60000
	f := Flooding{Basin: Prism(-0.5, area), Start: -0.5, Holes: []Hole{{Bore: d, Height: -0.5, Cd: ShortTube}}, Drains: []Drain{SteadyDrain(-0.5, 60)}}
	u0 := math.Sqrt(0.5)
	for _, z := range []float64{-0.4, -0.25, -0.15} {
		u := math.Sqrt(-z)
		want := 2 * area / c * (u0 - u + pump/c*math.Log((c*u0-pump)/(c*u-pump)))
		got := f.TimeTo(unit.Metre(z))
		if !got.Reached {
			t.Fatalf("%v: %+v", z, got)
		}
		near(t, "seconds", float64(got.After)*3600, want, 1e-7, 0)
	}
	// The pump holds where the inflow has fallen to its own.
	hold := -(pump / c) * (pump / c)
	got := f.TimeTo(0)
	if got.Reached {
		t.Fatal("the pump should hold the water")
	}
	near(t, "holds at", float64(got.Holds), hold, 0, 1e-6)
	// A pump as large as the inflow never lets it rise.
	f.Drains = []Drain{SteadyDrain(-0.5, 200)}
	if got := f.TimeTo(-0.4); got.Reached || got.Holds != -0.5 {
		t.Errorf("%+v", got)
	}
}

// Pumps that start on the way, a basin that widens, two holes: against a plain
// march in small steps.
func TestTimeToLevelAgainstMarch(t *testing.T) {
	f := Flooding{
		Basin:   Basin{{-0.7, 0}, {-0.5, 0.1}, {-0.2, 0.6}, {0.2, 1.6}},
		Start:   -0.65,
		Outside: 0.05,
		Holes:   []Hole{{Bore: 0.025, Height: -0.4, Cd: ShortTube}, {Bore: 0.019, Height: -0.1, Cd: SharpEdge}},
		Drains:  []Drain{SteadyDrain(-0.45, 20), {On: -0.3, Flow: func(z unit.Metre) unit.LitrePerMin { return 25 + 10*unit.LitrePerMin(z) }}},
		Gravity: StandardGravity,
	}
	const level, dt = -0.08, 0.002
	z, secs := float64(f.Start), 0.0
	for z < level {
		z += f.net(z, true) / f.area(z) * dt
		secs += dt
	}
	got := f.TimeTo(level)
	if !got.Reached {
		t.Fatalf("%+v", got)
	}
	near(t, "seconds", float64(got.After)*3600, secs, 1e-4, 0.02)
}

// More water, more hole or less pump never takes longer.
func TestFloodingIsMonotone(t *testing.T) {
	at := func(bore, depth, pump float64) float64 {
		f := Flooding{Basin: Prism(-1, 1), Start: -1, Holes: []Hole{{Bore: unit.Metre(bore), Height: unit.Metre(-depth), Cd: ShortTube}}, Drains: []Drain{SteadyDrain(-0.9, unit.LitrePerMin(pump))}}
		r := f.TimeTo(-0.6)
		if !r.Reached {
			return math.Inf(1)
		}
		return float64(r.After)
	}
	last := math.Inf(1)
	for _, b := range []float64{0.01, 0.019, 0.025, 0.038, 0.05} {
		if v := at(b, 0.5, 15); !(v <= last) {
			t.Errorf("bore %g: %g h after %g h", b, v, last)
		} else {
			last = v
		}
	}
	if !(at(0.038, 0.8, 15) < at(0.038, 0.4, 15)) || !(at(0.038, 0.5, 0) < at(0.038, 0.5, 50)) {
		t.Error("depth or pump the wrong way")
	}
}

// Heights of plumbing reference 0.1: table water-heel-heights.csv, the height a
// point needs to stay dry at a heel.
func TestHeightInAttitude(t *testing.T) {
	for _, r := range []struct{ heel, offset, height float64 }{
		{7, 0.25, 0.031}, {7, 1, 0.123}, {15, 0.5, 0.134}, {20, 1.5, 0.546}, {30, 0.25, 0.144}, {30, 1, 0.577}, {30, 2, 1.155},
	} {
		a := Attitude{Heel: unit.Degree(r.heel)}
		near(t, "waterline", float64(a.HeightOf(Place{Offset: unit.Metre(r.offset), Height: unit.Metre(r.height)})), 0, 0, 0.0006)
	}
	// Bow down puts a point forward lower; both signs by hand.
	h := Attitude{Heel: 10, Trim: 2}.HeightOf(Place{Forward: 3, Offset: -1, Height: 0.5})
	near(t, "both", float64(h), 0.5*math.Cos(10*math.Pi/180)*math.Cos(2*math.Pi/180)+math.Sin(10*math.Pi/180)-3*math.Sin(2*math.Pi/180), 1e-12, 0)
	if (Attitude{}).HeightOf(Place{3, 1, 0.5}) != 0.5 {
		t.Error("upright changes the height")
	}
}
