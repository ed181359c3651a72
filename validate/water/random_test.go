package water

import (
	"math"
	"math/rand/v2"
	"testing"

	"fitout/schema/unit"
)

// part is one edge of a random boat, kept so that it can be added in any order.
type part func(n *Network, at []NodeID) EdgeID

// randomBoat makes nodes and parts of every kind: pipes, devices, check and
// shut valves, pumps running and idle, displacement pumps, vents, ends in air
// and under water.
func randomBoat(rng *rand.Rand) (nodes []func(n *Network) NodeID, parts []part) {
	count := 3 + rng.IntN(20)
	height := func() unit.Metre { return unit.Metre(3*rng.Float64() - 1) }
	for i := range count {
		h, level, bore := height(), unit.Metre(rng.Float64()-0.3), mm(8+40*rng.Float64())
		switch k := rng.IntN(6); {
		case i == 0 || k == 0:
			nodes = append(nodes, func(n *Network) NodeID { return n.Reservoir(level, min(h, level)) })
		case k == 1:
			nodes = append(nodes, func(n *Network) NodeID { return n.Opening(Opening{Height: h, Level: level, Bore: bore}) })
		default:
			nodes = append(nodes, func(n *Network) NodeID { return n.Junction(h) })
		}
	}
	for i := 1; i < count; i++ {
		parts = append(parts, randomPart(rng, i, rng.IntN(i)))
	}
	for range rng.IntN(count) {
		if a, b := rng.IntN(count), rng.IntN(count); a != b {
			parts = append(parts, randomPart(rng, a, b))
		}
	}
	return nodes, parts
}

func randomPart(rng *rand.Rand, a, b int) part {
	if rng.IntN(2) == 0 {
		a, b = b, a
	}
	x, y, z := rng.Float64(), rng.Float64(), rng.Float64()
	p := Pipe{Length: unit.Metre(4 * x), Bore: mm(8 + 40*y), Roughness: mm(0.05 * z), Minor: []Minor{{K: 6 * z}}, Corrugated: rng.IntN(6) == 0, Check: rng.IntN(6) == 0, Closed: rng.IntN(12) == 0}
	loss, _ := NewLossCurve([]Point{{unit.LitrePerMin(5 + 20*x), unit.Head(y)}, {unit.LitrePerMin(30 + 20*x), unit.Head(y + 2*z)}})
	pump, _ := NewPumpCurve([]Point{{0, unit.Head(2 + 5*x)}, {unit.LitrePerMin(10 + 30*y), unit.Head(1 + 3*x)}, {unit.LitrePerMin(50 + 60*y), unit.Head(0.5 + x)}})
	switch rng.IntN(9) {
	case 0:
		return func(n *Network, at []NodeID) EdgeID {
			return n.Pump(at[a], at[b], Pump{Curve: pump, Speed: unit.Ratio(0.5 + z)})
		}
	case 1:
		return func(n *Network, at []NodeID) EdgeID {
			return n.Idle(at[a], at[b], Device{Loss: loss, Check: x < 0.5})
		}
	case 2:
		return func(n *Network, at []NodeID) EdgeID {
			return n.Displacement(at[a], at[b], Displacement{Flow: unit.LitrePerMin(20 * x), Limit: unit.Head(20 * z)})
		}
	case 3:
		return func(n *Network, at []NodeID) EdgeID { return n.Device(at[a], at[b], Device{Loss: loss, Bore: mm(20)}) }
	case 4:
		return func(n *Network, at []NodeID) EdgeID {
			h := unit.Metre(3*x - 1)
			u, d := n.Junction(h), n.Junction(h)
			n.Pipe(at[a], u, p)
			n.Pipe(d, at[b], p)
			return n.Vent(u, d, Vent{Height: h, Bore: p.Bore})
		}
	}
	return func(n *Network, at []NodeID) EdgeID { return n.Pipe(at[a], at[b], p) }
}

func build(nodes []func(n *Network) NodeID, parts []part, order []int) (*Network, []NodeID, []EdgeID) {
	var n Network
	var at []NodeID
	for _, f := range nodes {
		at = append(at, f(&n))
	}
	edges := make([]EdgeID, len(parts))
	for _, k := range order {
		edges[k] = parts[k](&n, at)
	}
	return &n, at, edges
}

// laws checks a solution against physics that needs no solver: mass balance at
// every junction, energy along every edge, what may not flow back, crests.
func laws(t *testing.T, n *Network, s *Solution, m Model) {
	t.Helper()
	mass := make([]float64, len(n.nodes))
	for e, ed := range n.edges {
		st := s.Edges[e]
		mass[ed.from] -= float64(st.Flow)
		mass[ed.to] += float64(st.Flow)
		if (ed.oneWay || ed.kind == fixedEdge) && st.Flow < 0 || ed.closed && st.Flow != 0 {
			t.Errorf("edge %d: %v where nothing may pass back", e, st.Flow)
		}
		if st.Known && st.Flow != 0 && ed.kind == pipeEdge {
			q := float64(st.Flow) / 60000
			a := math.Pi / 4 * ed.bore * ed.bore
			v := math.Abs(q) / a
			k := 0.0
			for _, mi := range ed.pipe.Minor {
				k += mi.K
			}
			if re := v * ed.bore / float64(m.Fluid.Viscosity); re > 1 {
				f := FrictionFactor(m.Friction, re, float64(ed.pipe.Roughness)/ed.bore)
				if ed.pipe.Corrugated {
					f *= 3
				}
				want := math.Copysign((f*float64(ed.pipe.Length)/ed.bore+k)*v*v/2/m.g(), q)
				near(t, "loss", float64(st.Loss), want, 1e-5, 1e-5)
			}
		}
		if ed.kind == ventEdge && st.Known && !st.Air && float64(st.From.Pressure) < -1e-5 && ed.bore > 0 {
			t.Errorf("vent %d stays shut at %v", e, st.From.Pressure)
		}
		if ed.kind == pumpEdge && st.Known && st.Flow > 0 && (st.Pump == Runs || st.Pump == OffCurve) {
			near(t, "pump head", -float64(st.Loss), float64(ed.curve.Head(st.Flow, unit.Ratio(ed.speed))), 1e-6, 1e-6)
		}
	}
	for i, nd := range n.nodes {
		bal := mass[i]
		if s.Nodes[i].Known || nd.kind != junction {
			bal += float64(s.Nodes[i].Supply)
		}
		if math.Abs(bal) > 2e-4 {
			t.Errorf("node %d: %g L/min do not balance", i, bal)
		}
		if nd.kind == opening && nd.height > nd.level && s.Nodes[i].Supply > 1e-4 {
			t.Errorf("opening %d in air gives %v", i, s.Nodes[i].Supply)
		}
	}
}

func TestRandomNetworks(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5))
	failed := 0
	for trial := range 3000 {
		nodes, parts := randomBoat(rng)
		order := make([]int, len(parts))
		for i := range order {
			order[i] = i
		}
		n, _, edges := build(nodes, parts, order)
		m := si(1e-6)
		if trial%3 == 0 {
			m.Friction = Colebrook
		}
		s, err := Solve(n, m)
		if err != nil {
			failed++
			t.Logf("trial %d: %v", trial, err)
			continue
		}
		laws(t, n, s, m)
		if t.Failed() {
			t.Fatalf("trial %d", trial)
		}
		if trial%7 == 0 {
			rng.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
			n2, _, edges2 := build(nodes, parts, order)
			s2, err := Solve(n2, m)
			if err != nil {
				t.Fatalf("trial %d in another order: %v", trial, err)
			}
			for k := range edges {
				near(t, "flow in another order", float64(s2.Edges[edges2[k]].Flow), float64(s.Edges[edges[k]].Flow), 1e-5, 2e-3)
			}
			if t.Failed() {
				t.Fatalf("trial %d", trial)
			}
		}
	}
	if failed > 0 {
		t.Errorf("%d of 3000 networks did not settle", failed)
	}
}

// With every surface at one level and no pump nothing flows.
func TestNoFlowWithoutHead(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 1))
	for trial := range 200 {
		var n Network
		var at []NodeID
		for i := range 3 + rng.IntN(20) {
			h := unit.Metre(-rng.Float64())
			switch {
			case i%5 == 0:
				at = append(at, n.Reservoir(0.4, h))
			case i%7 == 1:
				at = append(at, n.Opening(Opening{Height: h, Level: 0.4, Bore: mm(19)}))
			default:
				at = append(at, n.Junction(h))
			}
		}
		for i := 1; i < len(at); i++ {
			n.Pipe(at[i], at[rng.IntN(i)], hose(1+rng.Float64(), rng.Float64()))
		}
		for range len(at) {
			if a, b := at[rng.IntN(len(at))], at[rng.IntN(len(at))]; a != b {
				n.Pipe(a, b, hose(1+rng.Float64()))
			}
		}
		s := solve(t, &n, si(1e-6))
		for e := range s.Edges {
			if q := math.Abs(float64(s.Edges[e].Flow)); q > 1e-5 {
				t.Fatalf("trial %d: %g L/min in edge %d", trial, q, e)
			}
		}
	}
}

// On an unbranched circuit the flow never falls with the bore of any hose, and
// never rises with the lift, over every regime of friction.
func TestFlowFollowsBoreAndLift(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for trial := range 150 {
		k, l := 5*rng.Float64(), 1+6*rng.Float64()
		shutoff, end := 1+5*rng.Float64(), 2+60*rng.Float64()
		which := rng.IntN(3)
		law := Friction(trial % 2)
		flow := func(bore, lift float64) float64 {
			var n Network
			sea, in, to, mid := n.Reservoir(0, -0.4), n.Junction(-0.2), n.Junction(-0.2), n.Junction(0.1)
			out := n.Opening(Opening{Height: unit.Metre(lift), Level: NoWater(), Bore: mm(16)})
			ends := [4]NodeID{sea, to, mid, out}
			pipe := func(i int) Pipe {
				p := Pipe{Length: unit.Metre(l), Bore: mm(16), Roughness: mm(0.0015), Minor: []Minor{{K: k}}}
				if i == which {
					p.Bore = mm(bore)
				}
				return p
			}
			n.Pipe(sea, in, pipe(0))
			p := n.Pump(in, to, Pump{Curve: curve(t, Point{0, unit.Head(shutoff)}, Point{unit.LitrePerMin(end / 2), unit.Head(0.8 * shutoff)}, Point{unit.LitrePerMin(end), unit.Head(0.2 * shutoff)}), Speed: 1})
			n.Pipe(ends[1], ends[2], pipe(1))
			n.Pipe(ends[2], ends[3], pipe(2))
			m := si(1e-6)
			m.Friction = law
			return float64(solve(t, &n, m).Edges[p].Flow)
		}
		last := 0.0
		for bore := 4.0; bore < 40; bore *= 1.07 {
			q := flow(bore, 0.3)
			if q < last-1e-7 {
				t.Fatalf("trial %d: bore %.1f mm: %g after %g L/min", trial, bore, q, last)
			}
			last = q
		}
		last = math.Inf(1)
		for lift := -0.5; lift < 7; lift += 0.1 {
			q := flow(16, lift)
			if q > last+1e-7 {
				t.Fatalf("trial %d: lift %.1f m: %g after %g L/min", trial, lift, q, last)
			}
			last = q
		}
		if last != 0 {
			t.Fatalf("trial %d: %g L/min over a lift above shut-off", trial, last)
		}
	}
}

// FuzzSolve holds whatever network the bytes spell to its laws: it solves or
// names a place, and never panics.
func FuzzSolve(f *testing.F) {
	f.Add(uint64(1), uint64(2), 1e-6)
	f.Add(uint64(77), uint64(0), 1e-3)
	f.Fuzz(func(t *testing.T, a, b uint64, nu float64) {
		rng := rand.New(rand.NewPCG(a, b))
		nodes, parts := randomBoat(rng)
		order := rng.Perm(len(parts))
		n, _, _ := build(nodes, parts, order)
		m := si(nu)
		s, err := Solve(n, m)
		if err != nil {
			if fail := err.(*Failure); fail.Reason == 0 || fail.Error() == "" {
				t.Error("a failure without a reason")
			}
			return
		}
		if nu > 1e-7 && nu < 1e-4 {
			laws(t, n, s, m)
		}
	})
}
