package dc_test

import (
	"fmt"
	"math/rand/v2"
	"os/exec"
	"testing"

	"fitout/schema/unit"
	"fitout/validate/dc"
)

// sized builds a boat of about so many nodes: four for each circuit.
func sized(nodes int) *boat {
	s := everything
	s.circuits = nodes * 10 / 38
	s.draw = 30 / float64(30+s.circuits)
	s.limit = 5
	return build(rand.New(rand.NewPCG(7, 7)), s)
}

// feeder is a two-pole ladder with constant-power loads on its rungs.
func feeder(nodes int) *dc.Network {
	var n dc.Network
	first := n.Nodes(nodes)
	n.Add(dc.EMF{Pos: first + 1, Neg: first, E: 12.8, R: 0.004})
	n.Ground(first)
	rungs := float64(nodes / 2)
	for k := first; int(k)+3 < nodes; k += 2 {
		n.Add(dc.Resistor{From: k + 1, To: k + 3, R: unit.Ohm(0.05 / rungs)})
		n.Add(dc.Resistor{From: k + 2, To: k, R: unit.Ohm(0.05 / rungs)})
		n.Add(dc.PowerLoad{Pos: k + 3, Neg: k + 2, P: unit.Watt(200 / rungs)})
	}
	return &n
}

func BenchmarkSolveBoat(b *testing.B) {
	for _, nodes := range []int{120, 250, 1000, 10000} {
		boat := sized(nodes)
		have, _ := boat.net.Len()
		b.Run(fmt.Sprintf("%dnodes", have), func(b *testing.B) {
			for b.Loop() {
				if _, err := dc.Solve(&boat.net); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkSolveLadder(b *testing.B) {
	for _, nodes := range []int{1000, 10000, 100000} {
		n := feeder(nodes)
		b.Run(fmt.Sprintf("%dnodes", nodes), func(b *testing.B) {
			for b.Loop() {
				if _, err := dc.Solve(n); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkCollapse is the way to a failure: twice the load there can be.
func BenchmarkCollapse(b *testing.B) {
	for _, nodes := range []int{250, 10000} {
		n := feeder(nodes)
		n.Add(dc.PowerLoad{Pos: dc.Node(nodes - 1), Neg: dc.Node(nodes - 2), P: 800})
		b.Run(fmt.Sprintf("%dnodes", nodes), func(b *testing.B) {
			for b.Loop() {
				if _, err := dc.Solve(n); err == nil {
					b.Fatal("a solution")
				}
			}
		})
	}
}

func BenchmarkFaultsEveryDevice(b *testing.B) {
	for _, nodes := range []int{250, 10000} {
		boat := sized(nodes)
		have, _ := boat.net.Len()
		b.Run(fmt.Sprintf("%dnodes", have), func(b *testing.B) {
			for b.Loop() {
				f, err := dc.NewFaults(&boat.net)
				if err != nil {
					b.Fatal(err)
				}
				for _, d := range append(boat.devices, boat.wires...) {
					if _, err := f.Device(d, boat.minus); err != nil {
						b.Fatal(err)
					}
				}
			}
		})
	}
}

// ladderDeck is a feeder with batteries, wires, current and resistance loads:
// ngspice steps without end on large decks with hundreds of constant-power
// loads, so only every twentieth rung has one.
func ladderDeck(circuits int) *deck {
	d := &deck{}
	minus, plus := d.node(0), d.node(12.8)
	d.net.Ground(minus)
	d.battery(plus, minus, 12.8, 0.004)
	p, m, share := plus, minus, 1/float64(circuits)
	for k := range circuits {
		np, nm := d.node(12.8), d.node(0)
		d.wire(p, np, 0.05*share)
		d.wire(nm, m, 0.05*share)
		p, m = np, nm
		switch {
		case k%20 == 0:
			id := d.net.Add(dc.PowerLoad{Pos: p, Neg: m, P: unit.Watt(200 * share)})
			d.line("bl%d %s %s i=%g/v(%s,%s)", id, spice(p), spice(m), 200*share, spice(p), spice(m))
		case k%2 == 0:
			id := d.net.Add(dc.CurrentLoad{Pos: p, Neg: m, I: unit.Amp(20 * share)})
			d.line("il%d %s %s dc %g", id, spice(p), spice(m), 20*share)
		default:
			id := d.net.Add(dc.ResistanceLoad{Pos: p, Neg: m, R: unit.Ohm(1 / share)})
			d.line("rl%d %s %s %g", id, spice(p), spice(m), 1/share)
		}
	}
	return d
}

// BenchmarkBesideNgspice times both on the same decks; ngspice with its
// process start, as a program that calls it would pay.
func BenchmarkBesideNgspice(b *testing.B) {
	path, err := exec.LookPath("ngspice")
	if err != nil {
		b.Skip("ngspice is not installed")
	}
	for _, tc := range []struct {
		name string
		deck *deck
	}{
		{"boat", randomDeck(rand.New(rand.NewPCG(3, 3)), 40)},
		{"ladder1000", ladderDeck(500)},
		{"ladder10000", ladderDeck(5000)},
	} {
		nodes, _ := tc.deck.net.Len()
		b.Run(fmt.Sprintf("fitout/%s/%dnodes", tc.name, nodes), func(b *testing.B) {
			for b.Loop() {
				if _, err := dc.Solve(&tc.deck.net); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprintf("ngspice/%s/%dnodes", tc.name, nodes), func(b *testing.B) {
			for b.Loop() {
				if _, err := tc.deck.run(b, path, "0.9"); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
