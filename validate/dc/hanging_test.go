package dc_test

import (
	"testing"

	"fitout/validate/dc"
)

// Kirchhoff's current law: what enters a part of the network that has no source
// and is joined to one node only must leave through that node again, so its loads
// carry nothing. Here a charger and an inverter stand behind an open switch, and
// the charging current of another source lifts one of their negatives by 50 mV.
func TestBehindAnOpenSwitch(t *testing.T) {
	for _, idle := range []float64{0, 8} {
		var n dc.Network
		bus, bar, in, battery, dead, far := n.Node(), n.Node(), n.Node(), n.Node(), n.Node(), n.Node()
		n.Add(dc.EMF{Pos: battery, Neg: bus, E: 12.8, R: 0.003})
		n.Add(dc.Resistor{From: bus, To: bar, R: 0.004})
		n.Add(dc.Resistor{From: bar, To: in, R: 0.003})
		n.Add(dc.Resistor{From: dead, To: far, R: 0.002})
		n.Add(dc.Source{Pos: battery, Neg: in, Output: dc.Output{V: 14.2, MaxI: 15}})
		conv := n.Add(dc.Converter{InPos: far, InNeg: in, OutPos: battery, OutNeg: in,
			Output: dc.Output{V: 14.2, MaxI: 15}, Efficiency: 0.9, Isolated: true})
		load := dc.ID(dc.None)
		if idle > 0 {
			load = n.Add(dc.PowerLoad{Pos: dead, Neg: bus, P: 8})
		}
		s, err := dc.Solve(&n)
		if err != nil {
			t.Fatalf("idle %g W: %v", idle, err)
		}
		if s.Modes[conv] != dc.Unfed || s.Amps[conv] != 0 {
			t.Errorf("idle %g W: converter is %v and gives %g A", idle, s.Modes[conv], s.Amps[conv])
		}
		if load != dc.None && s.Modes[load] != dc.Unfed {
			t.Errorf("idle %g W: load is %v", idle, s.Modes[load])
		}
	}
}

// Two loads in series between the poles do carry current: their middle has no
// source, but two parts lie beyond it.
func TestLoadsInSeriesAreFed(t *testing.T) {
	var n dc.Network
	minus, mid, plus := n.Node(), n.Node(), n.Node()
	n.Add(dc.EMF{Pos: plus, Neg: minus, E: 24, R: 0.01})
	a := n.Add(dc.ResistanceLoad{Pos: plus, Neg: mid, R: 1})
	b := n.Add(dc.CurrentLoad{Pos: mid, Neg: minus, I: 2})
	s, err := dc.Solve(&n)
	if err != nil {
		t.Fatal(err)
	}
	if s.Modes[b] != dc.Working || s.Amps[a] < 1.999 || s.Amps[a] > 2.001 {
		t.Errorf("in series: %v, %g A", s.Modes[b], s.Amps[a])
	}
}
