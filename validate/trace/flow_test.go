package trace_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/boattest"
	"fitout/schema/unit"
	"fitout/validate/trace"
)

// randomBoat has a few buses joined by fuses and wires at random, batteries and
// limited sources on some, and one wire to judge.
func randomBoat(r *rand.Rand) string {
	var parts, wires strings.Builder
	buses := 3 + r.IntN(4)
	for i := range buses {
		fmt.Fprintf(&parts, "  P%d: {kind: bus}\n", i)
	}
	parts.WriteString("  N: {kind: bus}\n  LT: {kind: light, draw: 1 A}\n")
	id := 0
	wire := func(from, to string) {
		id++
		fmt.Fprintf(&wires, "  - {id: w%d, from: %s, to: %s, size: 16 mm2, length: 1 m}\n", id, from, to)
	}
	for i := range 1 + r.IntN(2) {
		fmt.Fprintf(&parts, "  B%d: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}\n  FB%d: {kind: fuse, rating: %d A}\n", i, i, 50+10*r.IntN(10))
		wire(fmt.Sprintf("B%d.+", i), fmt.Sprintf("FB%d.in", i))
		wire(fmt.Sprintf("FB%d.out", i), fmt.Sprintf("P%d", r.IntN(buses)))
		wire(fmt.Sprintf("B%d.-", i), "N")
	}
	if r.IntN(2) == 0 {
		fmt.Fprintf(&parts, "  C0: {kind: charger, output: %d A, volts: 14.4 V}\n", 10+10*r.IntN(5))
		wire("C0.+", fmt.Sprintf("P%d", r.IntN(buses)))
		wire("C0.-", "N")
	}
	for i := range 2 + r.IntN(4) {
		a, b := r.IntN(buses), r.IntN(buses)
		if a == b {
			continue
		}
		fmt.Fprintf(&parts, "  F%d: {kind: fuse, rating: %d A}\n", i, 20+10*r.IntN(15))
		wire(fmt.Sprintf("P%d", a), fmt.Sprintf("F%d.in", i))
		wire(fmt.Sprintf("F%d.out", i), fmt.Sprintf("P%d", b))
	}
	for range r.IntN(3) {
		a, b := r.IntN(buses), r.IntN(buses)
		if a != b {
			wire(fmt.Sprintf("P%d", a), fmt.Sprintf("P%d", b))
		}
	}
	wire("LT.-", "N")
	fmt.Fprintf(&wires, "  - {id: x, from: P0, to: P1, size: 16 mm2, length: 1 m}\n")
	fmt.Fprintf(&wires, "  - {id: y, from: P1, to: LT.+, size: 16 mm2, length: 1 m}\n")
	return "fitout: 1\nparts:\n" + parts.String() + "wires:\n" + wires.String()
}

// cheapest finds the least sum of ratings that parts a joint from every source,
// with one wire away, by trying every set: max-flow min-cut says that this is
// what the net's flow must equal.
func cheapest(n *trace.Net, wire, end int) float64 {
	var cuts []func(removed map[int]bool)
	var cost []float64
	for id := range n.Edges {
		if e := &n.Edges[id]; e.Type == trace.Device {
			cuts = append(cuts, func(m map[int]bool) { m[id] = true })
			cost = append(cost, float64(e.Branch.Device.Rating.V))
		}
	}
	for i, s := range n.Sources {
		c := math.Inf(1)
		if !s.Unlimited {
			c = float64(s.Amps)
		}
		cuts = append(cuts, func(m map[int]bool) { m[-1-i] = true })
		cost = append(cost, c)
	}
	best := math.Inf(1)
	for set := range 1 << len(cuts) {
		sum := 0.0
		removed := map[int]bool{}
		for k := range cuts {
			if set&(1<<k) != 0 {
				sum += cost[k]
				cuts[k](removed)
			}
		}
		if sum < best && !reaches(n, wire, end, removed) {
			best = sum
		}
	}
	return best
}

func reaches(n *trace.Net, wire, end int, removed map[int]bool) bool {
	seen := map[int]bool{end: true}
	stack := []int{end}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, i := range n.AtNode(v) {
			if !removed[-1-i] {
				return true
			}
		}
		for _, id := range n.Nodes[v].Edges {
			e := &n.Edges[id]
			w := e.Other(v)
			if id == wire || removed[id] || seen[w] || !n.Nodes[w].Live() || !e.Passes() && e.Type != trace.Device {
				continue
			}
			seen[w] = true
			stack = append(stack, w)
		}
	}
	return false
}

func TestFlowIsTheCheapestCut(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 11))
	for range 300 {
		text := randomBoat(r)
		b := boattest.Read(t, text)
		n := trace.Build(b)
		for _, w := range b.Wires {
			id := n.WireEdge[w]
			if !n.Live(id) {
				continue
			}
			for _, end := range []int{n.Edges[id].A, n.Edges[id].B} {
				got := n.Flow(id, end, trace.Options{UnknownAs: math.Inf(1)})
				want := cheapest(n, id, end)
				if got.Unlimited != math.IsInf(want, 1) || !got.Unlimited && math.Abs(float64(got.Amps)-want) > 1e-6 {
					t.Fatalf("wire %s from %s: flow %v (unlimited %v), cheapest cut %v\n%s", w.ID, n.Nodes[end].Name(), got.Amps, got.Unlimited, want, text)
				}
				checkCut(t, got, want)
			}
		}
	}
}

// checkCut: the named devices and sources add up to the flow.
func checkCut(t *testing.T, f trace.Flow, want float64) {
	t.Helper()
	if f.Unlimited {
		return
	}
	sum := unit.Amp(0)
	for _, c := range f.Cut {
		sum += c.Amps
	}
	if math.Abs(float64(sum)-want) > 1e-6 {
		t.Fatalf("the cut named adds up to %v, the flow is %v", sum, want)
	}
}

func TestGroundedLackingAGroundPartIsTheLowestPost(t *testing.T) {
	b := boattest.Read(t, `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  B2: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  BP: {kind: bus}
wires:
  - {id: 1, from: B1.+, to: B2.-, size: 50 mm2, length: 0.1 m}
  - {id: 2, from: B2.+, to: BP, size: 50 mm2, length: 0.1 m}
`)
	n := trace.Build(b)
	for terminal, want := range map[string]bool{"-": true, "+": false} {
		if got := n.Nodes[n.Node(b.Part("B1"), terminal)].Grounded; got != want {
			t.Errorf("B1.%s grounded: %v, want %v", terminal, got, want)
		}
	}
	if n.Nodes[n.Node(b.Part("B2"), "-")].Grounded {
		t.Error("the mid-point of a series string counts as grounded")
	}
}

func TestExclusivePositionsNeverJoinTwoSources(t *testing.T) {
	b := boattest.Read(t, `
fitout: 1
parts:
  SI: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  GE: {kind: generator, power: 4 kW, volts: 230 V}
  SL: {kind: selector-ac, rating: 32 A}
wires:
  - {id: 1, from: SI, to: SL.1, cable: 3 core 2.5 mm2, length: 1 m}
  - {id: 2, from: GE, to: SL.2, cable: 3 core 2.5 mm2, length: 1 m}
`)
	settings := trace.Settings(b)
	if len(settings) != 2 {
		t.Fatalf("%d settings, want the selector's two", len(settings))
	}
	for _, at := range settings {
		n := trace.BuildIn(b, at)
		live := n.Node(b.Part("SL"), "L")
		reached := map[*schema.Part]bool{}
		for _, i := range n.Flow(-1, live, trace.Options{}).Sources {
			reached[n.Sources[i].Part] = true
		}
		if len(reached) != 1 {
			t.Errorf("in %v %d sources reach the common side, want 1", at, len(reached))
		}
	}
}
