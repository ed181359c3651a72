package dc_test

import (
	"errors"
	"math"
	"testing"

	"fitout/schema/unit"
	"fitout/validate/dc"
)

func (c *circuit) source(pos, neg string, o dc.Output) dc.ID {
	return c.Add(dc.Source{Pos: c.at(pos), Neg: c.at(neg), Output: o})
}

func (c *circuit) converter(in, inNeg, out, outNeg string, o dc.Output, eff, idle float64, isolated bool) dc.ID {
	return c.Add(dc.Converter{InPos: c.at(in), InNeg: c.at(inNeg), OutPos: c.at(out), OutNeg: c.at(outNeg),
		Output: o, Efficiency: unit.Ratio(eff), Idle: unit.Watt(idle), Isolated: isolated})
}

func (c *circuit) diode(a, k string, drop, r float64) dc.ID {
	return c.Add(dc.Diode{Anode: c.at(a), Cathode: c.at(k), Drop: unit.Volt(drop), R: unit.Ohm(r)})
}

func TestRingOfJointsSharesEqually(t *testing.T) {
	// A square of four links, fed at one corner, drawn at the opposite one: by
	// symmetry half each way. A fifth link of a node to itself carries nothing.
	var c circuit
	c.emf("a", "-", 12, 0.01)
	ab, bc := c.wire("a", "b", 0), c.wire("b", "c", 0)
	ad, dcw := c.wire("a", "d", 0), c.wire("d", "c", 0)
	self := c.wire("c", "c", 0)
	c.amps("c", "-", 10)
	s := c.solve(t)
	for _, id := range []dc.ID{ab, bc, ad, dcw} {
		near(t, "link", s.Amps[id], 5, 1e-9)
	}
	if s.Amps[self] != 0 {
		t.Errorf("a link of a node to itself carries %g A", s.Amps[self])
	}
	near(t, "volts", c.volts(t, s, "c", "-"), 11.9, 1e-12)
}

func TestIdealSources(t *testing.T) {
	t.Run("equal in parallel share equally", func(t *testing.T) {
		var c circuit
		a, b := c.emf("+", "-", 12, 0), c.emf("+", "-", 12, 0)
		c.amps("+", "-", 30)
		s := c.solve(t)
		near(t, "first", s.Amps[a], 15, 1e-9)
		near(t, "second", s.Amps[b], 15, 1e-9)
	})
	t.Run("unequal in parallel", func(t *testing.T) {
		var c circuit
		c.emf("+", "-", 12, 0)
		b := c.emf("+", "-", 12.1, 0)
		if f := c.failure(t, dc.Conflict); f.Element != b {
			t.Errorf("names %d", f.Element)
		}
	})
	t.Run("shorted", func(t *testing.T) {
		var c circuit
		c.emf("+", "-", 12, 0)
		w := c.wire("-", "+", 0)
		if f := c.failure(t, dc.Conflict); f.Element != w {
			t.Errorf("names %d", f.Element)
		}
	})
	t.Run("two sixes beside a twelve", func(t *testing.T) {
		var c circuit
		low, high := c.emf("m", "-", 6, 0), c.emf("+", "m", 6, 0)
		whole := c.emf("+", "-", 12, 0)
		c.amps("+", "-", 30)
		s := c.solve(t)
		// Least squares of i₁, i₁, i₂ with i₁ + i₂ = 30: as one link in
		// parallel with two in series.
		near(t, "string", s.Amps[low], 10, 1e-9)
		near(t, "string", s.Amps[high], 10, 1e-9)
		near(t, "whole", s.Amps[whole], 20, 1e-9)
		near(t, "middle", c.volts(t, s, "m", "-"), 6, 1e-12)
	})
}

func TestFloatingPartsHaveNoVolts(t *testing.T) {
	var c circuit
	c.emf("+", "-", 12, 0.01)
	run := c.ohms("+", "-", 6)
	lone := c.wire("x", "y", 0.1)
	dead := c.ohms("x", "z", 5)
	cut := c.amps("q", "-", 4) // behind an open switch
	cutP := c.watts("p", "-", 40)
	s := c.solve(t)
	near(t, "the rest works", s.Amps[run], 12/6.01, 1e-12)
	for _, n := range []string{"x", "y", "z", "q", "p"} {
		if v, ok := s.Volts(c.at(n)); ok {
			t.Errorf("%s has %g V", n, v)
		}
	}
	if len(s.Islands) != 3 || len(s.Islands[0]) != 3 {
		t.Errorf("islands %v", s.Islands)
	}
	for _, id := range []dc.ID{dead, cut, cutP} {
		if s.Modes[id] != dc.Unfed || s.Amps[id] != 0 {
			t.Errorf("element %d: %v, %g A", id, s.Modes[id], s.Amps[id])
		}
	}
	if s.Amps[lone] != 0 {
		t.Errorf("dead wire carries %g A", s.Amps[lone])
	}
}

func TestNothingAtAll(t *testing.T) {
	var c circuit
	s := c.solve(t)
	if s.WorstNode != dc.None || len(s.References) != 0 {
		t.Errorf("%+v", s)
	}
	c.wire("a", "b", 1)
	c.converter("a", "b", "c", "d", dc.Output{V: 12}, 0.9, 1, true)
	s = c.solve(t)
	if len(s.Islands) != 3 { // a dead converter's output joins nothing
		t.Errorf("islands %v", s.Islands)
	}
}

func TestEachIslandHasItsReference(t *testing.T) {
	var c circuit
	c.emf("a+", "a-", 12, 0.01)
	c.emf("b+", "b-", 24, 0.01)
	c.amps("a+", "b-", 5) // one wire between two islands is no circuit
	c.Ground(c.at("b+"))
	s := c.solve(t)
	near(t, "a", c.volts(t, s, "a+", "a-"), 12, 1e-12)
	near(t, "b", c.volts(t, s, "b+", "b-"), 24, 1e-12)
	if v, _ := s.Volts(c.at("b+")); v != 0 {
		t.Errorf("the asked reference stands at %g V", v)
	}
	if len(s.References) != 2 {
		t.Errorf("references %v", s.References)
	}
}

func TestLoadsWithoutACircuit(t *testing.T) {
	var c circuit
	b := c.emf("+", "-", 12, 0.01)
	c.wire("-", "n", 0.1)
	short := c.amps("n", "-", 5) // both ends at the negative
	series := c.ohms("+", "mid", 3)
	c.watts("mid", "-", 9) // 12 V behind 3.01 Ω
	s := c.solve(t)
	if s.Amps[short] != 0 || s.Modes[short] != dc.Unfed {
		t.Errorf("load between two negatives: %g A, %v", s.Amps[short], s.Modes[short])
	}
	want := (12 - math.Sqrt(144-4*3.01*9)) / 6.02
	near(t, "series", s.Amps[series], want, 1e-9)
	near(t, "battery", s.Amps[b], want, 1e-9)
}

// Two constant-power loads in series: where one sags it draws more current and
// the other gets less. The point between them has no stable voltage.
func TestPowerLoadsInSeries(t *testing.T) {
	var c circuit
	c.emf("+", "-", 12, 0.01)
	c.watts("+", "mid", 20)
	c.watts("mid", "-", 20)
	c.failure(t, dc.Collapse)
}

func TestReversedLoad(t *testing.T) {
	var c circuit
	b := c.emf("+", "-", 12, 0.01)
	i := c.amps("-", "+", 5)
	s := c.solve(t)
	near(t, "a load the wrong way round still draws", s.Amps[b], 5, 1e-12)
	near(t, "from its negative", s.Amps[i], -5, 1e-12)
}

func TestConstantCurrentCollapse(t *testing.T) {
	var c circuit
	c.emf("+", "-", 12, 0.1)
	load := c.amps("+", "-", 200)
	f := c.failure(t, dc.Collapse)
	if f.Element != load {
		t.Errorf("names %d", f.Element)
	}
	near(t, "share reached", f.Reached, 0.6, 1e-3)
}

// A charger at its limit charges a battery: 12.5 V + 30 A × 10 mΩ = 12.8 V,
// with 10 A of load on the way.
func TestLimitedSourceChargesABattery(t *testing.T) {
	var c circuit
	b := c.emf("+", "-", 12.5, 0.01)
	ch := c.source("+", "-", dc.Output{V: 14.4, MaxI: 40})
	c.amps("+", "-", 10)
	s := c.solve(t)
	near(t, "battery", s.Amps[b], -30, 1e-12)
	near(t, "charger", s.Amps[ch], 40, 1e-12)
	near(t, "volts", c.volts(t, s, "+", "-"), 12.8, 1e-12)
	if s.Modes[ch] != dc.CurrentLimit {
		t.Errorf("mode %v", s.Modes[ch])
	}
}

func TestSourceModes(t *testing.T) {
	for _, tc := range []struct {
		name    string
		e       float64
		out     dc.Output
		load    float64
		mode    dc.Mode
		charger float64
	}{
		// 14.4 V held on a battery of 14.3 V behind 10 mΩ: 10 A, and the load.
		{"regulates", 14.3, dc.Output{V: 14.4, MaxI: 40}, 5, dc.Regulating, 15},
		// With a droop of 10 mΩ: (14.4 − 14.3 − 0.01×(i−5))/0.01 = i.
		{"regulates with droop", 14.3, dc.Output{V: 14.4, Droop: 0.01, MaxI: 40}, 5, dc.Regulating, 7.5},
		{"limits", 12.5, dc.Output{V: 14.4, MaxI: 40}, 5, dc.CurrentLimit, 40},
		// v = 12 + 0.01 i and v i = 120.996: i = 10 at 12.0996... solved below.
		{"gives its power", 12, dc.Output{V: 14.4, MaxP: 121}, 0, dc.PowerLimit, (-12 + math.Sqrt(144+4*0.01*121)) / 0.02},
		{"power but no more than its current", 12, dc.Output{V: 14.4, MaxP: 500, MaxI: 20}, 0, dc.CurrentLimit, 20},
		{"never takes current", 15, dc.Output{V: 14.4, MaxI: 40}, 5, dc.Off, 0},
		{"holds current without a ceiling", 12, dc.Output{MaxI: 15}, 0, dc.CurrentLimit, 15},
		{"holds power without a ceiling", 12, dc.Output{MaxP: 121}, 0, dc.PowerLimit, (-12 + math.Sqrt(144+4*0.01*121)) / 0.02},
	} {
		t.Run(tc.name, func(t *testing.T) {
			var c circuit
			c.emf("+", "-", tc.e, 0.01)
			ch := c.source("+", "-", tc.out)
			c.amps("+", "-", tc.load)
			s := c.solve(t)
			near(t, "amps", s.Amps[ch], tc.charger, 1e-9)
			if s.Modes[ch] != tc.mode {
				t.Errorf("mode %v, want %v", s.Modes[ch], tc.mode)
			}
		})
	}
}

func TestSourceAlone(t *testing.T) {
	var c circuit
	a := c.source("+", "-", dc.Output{V: 14.4, MaxI: 20})
	load := c.watts("+", "-", 280)
	s := c.solve(t)
	near(t, "holds its voltage", c.volts(t, s, "+", "-"), 14.4, 1e-12)
	near(t, "amps", s.Amps[a], 280/14.4, 1e-12)

	var over circuit
	over.source("+", "-", dc.Output{V: 14.4, MaxI: 20})
	over.watts("+", "-", 300)
	if f := over.failure(t, dc.Collapse); f.Element != load {
		t.Errorf("names %d", f.Element)
	}
}

func TestSourcesOnOnePoint(t *testing.T) {
	// Two chargers on the same post: the higher goes to its limit first, equal
	// ones share.
	var c circuit
	hi := c.source("+", "-", dc.Output{V: 14.4, MaxI: 20})
	lo := c.source("+", "-", dc.Output{V: 14.2, MaxI: 50})
	c.amps("+", "-", 35)
	s := c.solve(t)
	near(t, "higher", s.Amps[hi], 20, 1e-9)
	near(t, "lower", s.Amps[lo], 15, 1e-9)
	near(t, "volts", c.volts(t, s, "+", "-"), 14.2, 1e-6)

	var e circuit
	a := e.source("+", "-", dc.Output{V: 14.4, MaxI: 20})
	b := e.source("+", "-", dc.Output{V: 14.4, MaxI: 20})
	e.amps("+", "-", 10)
	s = e.solve(t)
	near(t, "first", s.Amps[a], 5, 1e-6)
	near(t, "second", s.Amps[b], 5, 1e-6)

	var stiff circuit // a charger on a bank without resistance
	stiff.emf("+", "-", 12.8, 0)
	ch := stiff.source("+", "-", dc.Output{V: 14.4, MaxI: 20})
	s = stiff.solve(t)
	near(t, "at its limit", s.Amps[ch], 20, 1e-9)
}

// 24 → 12 → 48 V: each stage takes its output over efficiency, plus idle.
func TestConverterChain(t *testing.T) {
	for _, isolated := range []bool{true, false} {
		var c circuit
		b := c.emf("24", "-", 25.6, 0)
		neg := func(n string) string {
			if isolated {
				return n
			}
			return "-"
		}
		one := c.converter("24", "-", "12", neg("n12"), dc.Output{V: 12}, 0.9, 2, isolated)
		two := c.converter("12", neg("n12"), "48", neg("n48"), dc.Output{V: 48}, 0.8, 3, isolated)
		c.amps("48", neg("n48"), 2)
		s := c.solve(t)
		in2 := (48.0*2/0.8 + 3) / 12
		in1 := (12*in2/0.9 + 2) / 25.6
		near(t, "second stage", s.InAmps[two], in2, 1e-10)
		near(t, "first stage", s.InAmps[one], in1, 1e-10)
		near(t, "battery", s.Amps[b], in1, 1e-10)
		if isolated && len(s.References) != 3 {
			t.Errorf("references %v", s.References)
		}
	}
}

func TestConverterModes(t *testing.T) {
	t.Run("at its current limit", func(t *testing.T) {
		var c circuit
		c.emf("24", "-", 24, 0)
		conv := c.converter("24", "-", "12", "-", dc.Output{V: 14.4, MaxI: 30}, 0.9, 0, false)
		c.emf("12", "-", 12.5, 0.01)
		s := c.solve(t)
		near(t, "output", s.Amps[conv], 30, 1e-12)
		near(t, "input", s.InAmps[conv], 12.8*30/0.9/24, 1e-12)
	})
	t.Run("idles on a full battery", func(t *testing.T) {
		var c circuit
		c.emf("24", "-", 24, 0)
		conv := c.converter("24", "-", "12", "-", dc.Output{V: 13.2}, 0.9, 6, false)
		b := c.emf("12", "-", 13.6, 0.01)
		s := c.solve(t)
		near(t, "input", s.InAmps[conv], 0.25, 1e-12)
		near(t, "battery", s.Amps[b], 0, 1e-12)
		if s.Modes[conv] != dc.Off {
			t.Errorf("mode %v", s.Modes[conv])
		}
	})
	t.Run("collapse on its input side", func(t *testing.T) {
		// 12 V behind 0.1 Ω gives 360 W at most; 40 A at 12 V over 0.9 is 533 W.
		var c circuit
		c.emf("in", "-", 12, 0.1)
		c.converter("in", "-", "out", "-", dc.Output{V: 12}, 0.9, 0, false)
		c.amps("out", "-", 40)
		f := c.failure(t, dc.Collapse)
		near(t, "share reached", f.Reached*f.Reached, 360/(12*40/0.9), 2e-3) // load and input rise together
	})
	t.Run("dead input, dead output", func(t *testing.T) {
		var c circuit
		c.emf("+", "-", 12, 0.1)
		conv := c.converter("x", "y", "out", "outn", dc.Output{V: 12}, 0.9, 0, true)
		load := c.amps("out", "outn", 3)
		s := c.solve(t)
		if s.Modes[conv] != dc.Unfed || s.Modes[load] != dc.Unfed || len(s.Islands) != 2 {
			t.Errorf("%v %v %v", s.Modes[conv], s.Modes[load], s.Islands)
		}
	})
	t.Run("input the wrong way round", func(t *testing.T) {
		var c circuit
		c.emf("+", "-", 12, 0.1)
		conv := c.converter("-", "+", "out", "outn", dc.Output{V: 12}, 0.9, 5, true)
		c.amps("out", "outn", 3)
		if s := c.solve(t); s.Modes[conv] != dc.Unfed {
			t.Errorf("mode %v", s.Modes[conv])
		}
	})
}

// A converter that feeds its own input makes no power. Alone it is dead; with
// a battery it circulates its limit at a loss; without a limit nothing holds.
func TestConverterFeedsItself(t *testing.T) {
	var alone circuit
	conv := alone.converter("+", "-", "+", "-", dc.Output{V: 12}, 0.9, 1, false)
	alone.amps("+", "-", 1)
	s := alone.solve(t)
	if s.Modes[conv] != dc.Unfed || len(s.Islands) != 1 {
		t.Errorf("%v %v", s.Modes[conv], s.Islands)
	}

	var held circuit
	b := held.emf("+", "-", 12.8, 0.01)
	conv = held.converter("+", "-", "+", "-", dc.Output{V: 14.4, MaxI: 30}, 0.9, 0, false)
	s = held.solve(t)
	near(t, "output", s.Amps[conv], 30, 1e-12)
	near(t, "loss", s.Amps[b], 30/0.9-30, 1e-9)

	var open circuit
	open.emf("+", "-", 12.8, 0.01)
	open.converter("+", "-", "+", "-", dc.Output{V: 14.4}, 0.9, 0, false)
	_, err := dc.Solve(&open.Network)
	var f *dc.Failure
	if !errors.As(err, &f) || f.Element == dc.None && f.Node == dc.None {
		t.Errorf("ends with %v", err)
	}

	var ring circuit // two converters that feed each other
	ring.converter("a", "an", "b", "bn", dc.Output{V: 24, MaxI: 5}, 0.9, 1, true)
	ring.converter("b", "bn", "a", "an", dc.Output{V: 12, MaxI: 5}, 0.9, 1, true)
	if s = ring.solve(t); len(s.Islands) != 2 {
		t.Errorf("islands %v", s.Islands)
	}
}

func TestDiodes(t *testing.T) {
	t.Run("two banks, one load", func(t *testing.T) {
		var c circuit
		a, b := c.emf("a", "-", 12.8, 0.01), c.emf("b", "-", 12.2, 0.01)
		da, db := c.diode("a", "bus", 0.4, 0), c.diode("b", "bus", 0.4, 0)
		c.amps("bus", "-", 20)
		s := c.solve(t)
		near(t, "higher gives", s.Amps[a], 20, 1e-12)
		near(t, "lower rests", s.Amps[b], 0, 1e-9)
		near(t, "volts", c.volts(t, s, "bus", "-"), 12.8-0.2-0.4, 1e-12)
		if s.Modes[da] != dc.Regulating || s.Modes[db] != dc.Off {
			t.Errorf("%v %v", s.Modes[da], s.Modes[db])
		}
	})
	t.Run("alternator through an isolator", func(t *testing.T) {
		var c circuit
		alt := c.source("alt", "-", dc.Output{V: 14.6, MaxI: 50})
		c.diode("alt", "a", 0.7, 0.001)
		c.diode("alt", "b", 0.7, 0.001)
		a, b := c.emf("a", "-", 12.6, 0.01), c.emf("b", "-", 12.6, 0.01)
		s := c.solve(t)
		near(t, "alternator", s.Amps[alt], 50, 1e-12)
		near(t, "shares", s.Amps[a], -25, 1e-9)
		near(t, "shares", s.Amps[b], -25, 1e-9)
	})
	t.Run("load behind a blocking diode", func(t *testing.T) {
		var c circuit
		c.emf("+", "-", 12, 0.01)
		c.diode("x", "+", 0.4, 0) // wrong way
		load := c.amps("x", "-", 3)
		if s := c.solve(t); s.Amps[load] != 0 || s.Modes[load] != dc.Unfed {
			t.Errorf("%g A, %v", s.Amps[load], s.Modes[load])
		}
	})
	t.Run("a point between two blocking diodes", func(t *testing.T) {
		var c circuit
		c.emf("a", "-", 12.8, 0.01)
		c.emf("b", "-", 12.2, 0.01)
		c.diode("x", "a", 0.4, 0)
		c.diode("x", "b", 0.4, 0)
		s := c.solve(t)
		if v := c.volts(t, s, "x", "-"); v > 12.6+1e-9 {
			t.Errorf("the point stands at %g V and nothing flows", v)
		}
	})
}

func TestSeriesBankWithMidpoint(t *testing.T) {
	// 24 V of two 12 V batteries; 10 A from the middle, 5 A from the top: the
	// lower gives 15, the upper 5.
	var c circuit
	lo, hi := c.emf("m", "-", 12.6, 0.01), c.emf("+", "m", 12.6, 0.01)
	c.amps("m", "-", 10)
	c.amps("+", "-", 5)
	s := c.solve(t)
	near(t, "lower", s.Amps[lo], 15, 1e-12)
	near(t, "upper", s.Amps[hi], 5, 1e-12)
	near(t, "middle", c.volts(t, s, "m", "-"), 12.45, 1e-12)
	near(t, "top", c.volts(t, s, "+", "-"), 12.45+12.55, 1e-12)
}

func TestTinyResistance(t *testing.T) {
	for _, r := range []float64{2e-9, 1e-7, 9e-6, 1.1e-5} {
		var c circuit
		c.emf("+", "-", 12, 0.01)
		w := c.wire("+", "x", r)
		c.amps("x", "-", 100)
		s := c.solve(t)
		near(t, "amps", s.Amps[w], 100, 1e-9)
		near(t, "volts", c.volts(t, s, "x", "-"), 12-100*(0.01+r), 1e-13)
	}
}

func TestInvalidElements(t *testing.T) {
	nan, inf := unit.Ohm(math.NaN()), unit.Ohm(math.Inf(1))
	for _, e := range []dc.Element{
		dc.Resistor{R: -1}, dc.Resistor{R: nan}, dc.Resistor{R: inf}, dc.Resistor{To: 7}, dc.Resistor{From: -1},
		dc.EMF{E: unit.Volt(nan)}, dc.EMF{R: -1}, dc.PowerLoad{P: -1}, dc.CurrentLoad{I: unit.Amp(nan)},
		dc.ResistanceLoad{}, dc.Source{}, dc.Source{Output: dc.Output{V: -1}}, dc.Source{Output: dc.Output{V: 1, MaxI: -1}},
		dc.Converter{Output: dc.Output{V: 12}}, dc.Converter{Output: dc.Output{V: 12}, Efficiency: 1.1},
		dc.Converter{Output: dc.Output{V: 12}, Efficiency: 1, Idle: -1}, dc.Diode{Drop: -1}, dc.Source{Output: dc.Output{V: 1, Droop: inf}}, nil,
	} {
		var n dc.Network
		n.Nodes(2)
		n.Add(dc.EMF{Pos: 0, Neg: 1, E: 12, R: 0.01})
		id := n.Add(e)
		_, err := dc.Solve(&n)
		var f *dc.Failure
		if !errors.As(err, &f) || f.Cause != dc.Invalid || f.Element != id {
			t.Errorf("%+v: %v", e, err)
		}
		if _, err = dc.NewFaults(&n); !errors.As(err, &f) || f.Cause != dc.Invalid {
			t.Errorf("%+v: fault study: %v", e, err)
		}
	}
	var n dc.Network
	n.Ground(3)
	if _, err := dc.Solve(&n); err == nil {
		t.Error("a ground that does not exist passes")
	}
}
