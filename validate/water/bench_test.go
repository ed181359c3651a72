package water

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// smallBoat is a boat of about 120 edges: intakes with pumps, manifolds, units
// and outlets.
func smallBoat() *bench {
	b := &bench{name: "small", nu: 1.19e-6, nodes: []benchNode{{id: "SEA", level: true}}}
	pipe := func(a, c string, l, d, k float64) {
		b.pipes = append(b.pipes, benchPipe{fmt.Sprint("H", len(b.pipes)), a, c, l, d, 0.0015, k, false})
	}
	node := func(id string, z float64) string { b.nodes = append(b.nodes, benchNode{id: id, z: z}); return id }
	for i := range 8 {
		at := func(s string) string { return fmt.Sprint(s, i) }
		pipe("SEA", node(at("T"), -0.5), 0.2, 25, 0.5)
		pipe(at("T"), node(at("S"), -0.3), 1.2, 25, 5)
		pipe(at("S"), node(at("I"), -0.3), 0.8, 25, 0.5)
		node(at("O"), -0.3)
		b.pumps = append(b.pumps, benchPump{at("P"), at("I"), at("O"), threePoint, 1 - 0.02*float64(i)})
		pipe(at("O"), node(at("M"), 0.1), 1.5, 25, 0.9)
		for k := range 3 {
			u := func(s string) string { return fmt.Sprint(s, i, "_", k) }
			pipe(at("M"), node(u("A"), 0.3), 1+float64(k), 16, 4)
			pipe(u("A"), node(u("B"), 0.4), 0.5, 16, 9)
			b.nodes = append(b.nodes, benchNode{id: u("X"), z: 0.3, level: true})
			pipe(u("B"), u("X"), 2, 16, 2)
		}
	}
	return b
}

func large() *bench { return randomBench(rand.New(rand.NewPCG(1, 1)), 53, 53) }

func benchSolve(b *testing.B, net *bench) {
	n, _, _ := net.network(b)
	m := engine(net.nu)
	b.ResetTimer()
	for range b.N {
		solve(b, n, m)
	}
	b.ReportMetric(float64(len(net.pipes)+len(net.pumps)), "edges")
}

func BenchmarkSmallBoat(b *testing.B) { benchSolve(b, smallBoat()) }
func BenchmarkLarge(b *testing.B)     { benchSolve(b, large()) }

// The same networks in EPANET's WebAssembly, hydraulic solution only.
func benchEPANET(b *testing.B, net *bench, times int) {
	for range b.N {
		b.ReportMetric(epanet(b, times, net)[0].MS, "ms/solve")
	}
}

func BenchmarkSmallBoatEPANET(b *testing.B) { benchEPANET(b, smallBoat(), 200) }
func BenchmarkLargeEPANET(b *testing.B)     { benchEPANET(b, large(), 3) }
