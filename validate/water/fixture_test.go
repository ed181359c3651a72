package water

import (
	"math"
	"testing"

	"fitout/schema/unit"
)

// near fails where got strays from want by more than the share rel and abs.
func near(t *testing.T, what string, got, want, rel, abs float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)+abs) {
		t.Errorf("%s = %.10g, want %.10g (off by %.3g, allowed %.3g)", what, got, want, got-want, rel*math.Abs(want)+abs)
	}
}

func curve(t testing.TB, points ...Point) PumpCurve {
	t.Helper()
	c, err := NewPumpCurve(points)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func lossCurve(t testing.TB, points ...Point) LossCurve {
	t.Helper()
	c, err := NewLossCurve(points)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func solve(t testing.TB, n *Network, m Model) *Solution {
	t.Helper()
	s, err := Solve(n, m)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// mm returns a length written in millimetres.
func mm(v float64) unit.Metre { return unit.Metre(v / 1000) }

// si is a model with standard gravity and a viscosity.
func si(nu float64) Model {
	return Model{Fluid: Fluid{Density: 1000, Viscosity: KinematicViscosity(nu), Heat: 4184, Vapour: 1705.8}}
}

// engine is the same with the gravity EPANET has: 32.2 ft/s².
func engine(nu float64) Model {
	m := si(nu)
	m.Gravity = 32.2 * 0.3048
	return m
}
