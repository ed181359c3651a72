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
	s.circuits = nodes * 10 / 46
	b := build(rand.New(rand.NewPCG(7, 7)), shape{circuits: s.circuits, stretch: 40 / float64(40+s.circuits), current: true, power: true, resistance: true, sources: true, joints: true, converters: true, rings: true})
	return b
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

// BenchmarkBesideNgspice times both on the same random decks; ngspice with its
// process start, as a program that calls it would pay.
func BenchmarkBesideNgspice(b *testing.B) {
	path, err := exec.LookPath("ngspice")
	if err != nil {
		b.Skip("ngspice is not installed")
	}
	for _, circuits := range []int{30, 250, 2500} {
		d := randomDeck(rand.New(rand.NewPCG(3, 3)), circuits)
		nodes, _ := d.net.Len()
		b.Run(fmt.Sprintf("fitout/%dnodes", nodes), func(b *testing.B) {
			for b.Loop() {
				if _, err := dc.Solve(&d.net); err != nil {
					b.Fatal(err)
				}
			}
		})
		b.Run(fmt.Sprintf("ngspice/%dnodes", nodes), func(b *testing.B) {
			for b.Loop() {
				if _, err := d.run(b, path, "0.9"); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
