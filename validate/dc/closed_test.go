package dc_test

import (
	"math"
	"testing"

	"fitout/schema/unit"
	"fitout/validate/dc"
)

// circuit gives the tests names for nodes.
type circuit struct {
	dc.Network
	nodes map[string]dc.Node
}

func (c *circuit) at(name string) dc.Node {
	if c.nodes == nil {
		c.nodes = map[string]dc.Node{}
	}
	n, ok := c.nodes[name]
	if !ok {
		n = c.Node()
		c.nodes[name] = n
	}
	return n
}

func (c *circuit) emf(pos, neg string, e, r float64) dc.ID {
	return c.Add(dc.EMF{Pos: c.at(pos), Neg: c.at(neg), E: unit.Volt(e), R: unit.Ohm(r)})
}

func (c *circuit) wire(from, to string, r float64) dc.ID {
	return c.Add(dc.Resistor{From: c.at(from), To: c.at(to), R: unit.Ohm(r)})
}

func (c *circuit) watts(pos, neg string, p float64) dc.ID {
	return c.Add(dc.PowerLoad{Pos: c.at(pos), Neg: c.at(neg), P: unit.Watt(p)})
}

func (c *circuit) amps(pos, neg string, i float64) dc.ID {
	return c.Add(dc.CurrentLoad{Pos: c.at(pos), Neg: c.at(neg), I: unit.Amp(i)})
}

func (c *circuit) ohms(pos, neg string, r float64) dc.ID {
	return c.Add(dc.ResistanceLoad{Pos: c.at(pos), Neg: c.at(neg), R: unit.Ohm(r)})
}

func (c *circuit) solve(t *testing.T) *dc.Solution {
	t.Helper()
	s, err := dc.Solve(&c.Network)
	if err != nil {
		t.Fatalf("no solution: %v", err)
	}
	if s.Residual > 1e-7 {
		t.Errorf("residual %g A at node %d", s.Residual, s.WorstNode)
	}
	if s.Imbalance() > 1e-6 {
		t.Errorf("supplied %g W, used %g W", s.Supplied, s.Used)
	}
	return s
}

// failure solves what has no solution.
func (c *circuit) failure(t *testing.T, want dc.Cause) *dc.Failure {
	t.Helper()
	s, err := dc.Solve(&c.Network)
	if err == nil {
		t.Fatalf("a solution where there is none: %v", s.Amps)
	}
	f := err.(*dc.Failure)
	if f.Cause != want {
		t.Fatalf("%v, want %v", f, want)
	}
	if f.Node == dc.None && f.Element == dc.None {
		t.Fatalf("%v names nothing", f)
	}
	return f
}

func (c *circuit) volts(t *testing.T, s *dc.Solution, a, b string) float64 {
	t.Helper()
	v, ok := s.Across(c.at(a), c.at(b))
	if !ok {
		t.Fatalf("no volts from %s to %s", a, b)
	}
	return float64(v)
}

// near compares with a relative tolerance.
func near[F ~float64](t *testing.T, what string, got F, want, within float64) {
	t.Helper()
	if !(math.Abs(float64(got)-want) <= within*math.Max(math.Abs(want), 1e-3)) {
		t.Errorf("%s: %.12g, want %.12g", what, float64(got), want)
	}
}

// checks.md C1: V = E/2 + √(E²/4 − P R), the root with the higher voltage.
func TestConstantPowerTakesHighRoot(t *testing.T) {
	var c circuit
	b := c.emf("+", "-", 12, 0.1)
	c.watts("+", "-", 350)
	s := c.solve(t)
	near(t, "volts", c.volts(t, s, "+", "-"), 7, 1e-9)
	near(t, "amps", s.Amps[b], 50, 1e-9)
}

// checks.md C2: the most a load can draw is E²/4R = 360 W.
func TestConstantPowerCollapses(t *testing.T) {
	for _, p := range []float64{360.5, 370, 1000, 1e6} {
		var c circuit
		c.emf("+", "-", 12, 0.1)
		load := c.watts("+", "-", p)
		f := c.failure(t, dc.Collapse)
		if f.Element != load {
			t.Errorf("%g W: collapse at element %d, want the load", p, f.Element)
		}
		near(t, "share reached", f.Reached, 360/p, 1e-3)
	}
	var c circuit
	c.emf("+", "-", 12, 0.1)
	c.watts("+", "-", 359.9)
	s := c.solve(t)
	near(t, "volts just before", c.volts(t, s, "+", "-"), 6+math.Sqrt(36-35.99), 1e-8)
}

// checks.md C3: 0.25 V over 11 mΩ.
func TestUnequalBatteriesCirculate(t *testing.T) {
	var c circuit
	b1 := c.emf("a", "-", 12.80, 0.004)
	b2 := c.emf("b", "-", 12.55, 0.007)
	w := c.wire("a", "b", 0)
	s := c.solve(t)
	near(t, "B1", s.Amps[b1], 22.72727273, 1e-9)
	near(t, "B2", s.Amps[b2], -22.72727273, 1e-9)
	near(t, "link", s.Amps[w], 22.72727273, 1e-9)
	near(t, "volts", c.volts(t, s, "b", "-"), 12.70909091, 1e-9)
}

// checks.md C6: 240 W / 0.9 / 24 V.
func TestConverterReflectsLoad(t *testing.T) {
	var c circuit
	c.emf("24", "-", 24, 0)
	conv := c.Add(dc.Converter{InPos: c.at("24"), InNeg: c.at("-"), OutPos: c.at("12"), OutNeg: c.at("-"),
		Output: dc.Output{V: 12}, Efficiency: 0.9})
	c.amps("12", "-", 20)
	s := c.solve(t)
	near(t, "input", s.InAmps[conv], 240/0.9/24, 1e-12)
	near(t, "output", s.Amps[conv], 20, 1e-12)
}
