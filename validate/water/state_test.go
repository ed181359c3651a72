package water

import (
	"errors"
	"math"
	"testing"

	"fitout/schema/unit"
)

// hose is a smooth hose of 19 mm.
func hose(length float64, k ...float64) Pipe {
	p := Pipe{Length: unit.Metre(length), Bore: mm(19), Roughness: mm(0.0015)}
	for _, v := range k {
		p.Minor = append(p.Minor, Minor{K: v})
	}
	return p
}

// raw builds sea, suction, pump, rise to a vented loop, fall to an outlet.
func raw(t *testing.T, crest, outlet float64, c PumpCurve, stuck bool) (n *Network, pump, vent, fall EdgeID, out NodeID) {
	n = new(Network)
	sea := n.Reservoir(0, -0.4)
	in, to := n.Junction(-0.2), n.Junction(-0.2)
	up, down := n.Junction(unit.Metre(crest)), n.Junction(unit.Metre(crest))
	out = n.Opening(Opening{Height: unit.Metre(outlet), Level: 0, Bore: mm(19)})
	n.Pipe(sea, in, hose(1.5, 0.5, 2))
	pump = n.Pump(in, to, Pump{Curve: c, Speed: 1})
	n.Pipe(to, up, hose(2, 0.6))
	vent = n.Vent(up, down, Vent{Height: unit.Metre(crest), Bore: mm(19), Loss: lossCurve(t, Point{20, 0.05}), Stuck: stuck})
	fall = n.Pipe(down, out, hose(1.2, 0.6))
	return
}

// A vented loop with pressure at its crest is a fitting: the same flow as one
// whose valve is stuck shut.
func TestVentUnderPressureStaysShut(t *testing.T) {
	c := curve(t, Point{0, 5.2}, Point{20, 4.1}, Point{38, 1.6})
	n, pump, vent, _, _ := raw(t, 0.5, 0.48, c, false)
	s := solve(t, n, si(1.19e-6))
	n2, pump2, _, _, _ := raw(t, 0.5, 0.48, c, true)
	if s.Edges[vent].Air || s.Edges[vent].From.Pressure < 0 {
		t.Fatalf("air %v at a crest with pressure %v", s.Edges[vent].Air, s.Edges[vent].From.Pressure)
	}
	near(t, "flow", float64(s.Edges[pump].Flow), float64(solve(t, n2, si(1.19e-6)).Edges[pump2].Flow), 1e-9, 0)
}

// Where the fall behind the crest would suck, the loop admits air, and the
// pump works against the crest as a free end: the same flow as a network cut
// off there. The stand-in the reference gives for EPANET.
func TestVentAdmitsAir(t *testing.T) {
	c := curve(t, Point{0, 5.2}, Point{20, 4.1}, Point{38, 1.6})
	n, pump, vent, fall, out := raw(t, 1.5, 0.2, c, false)
	s := solve(t, n, si(1.19e-6))
	if !s.Edges[vent].Air {
		t.Fatal("no air")
	}
	var cut Network
	sea, in, to := cut.Reservoir(0, -0.4), cut.Junction(-0.2), cut.Junction(-0.2)
	end := cut.Opening(Opening{Height: 1.5, Level: NoWater(), Bore: mm(19)})
	cut.Pipe(sea, in, hose(1.5, 0.5, 2))
	p := cut.Pump(in, to, Pump{Curve: c, Speed: 1})
	cut.Pipe(to, end, hose(2, 0.6))
	want := solve(t, &cut, si(1.19e-6))
	near(t, "flow", float64(s.Edges[pump].Flow), float64(want.Edges[p].Flow), 1e-9, 0)
	near(t, "flow in the fall", float64(s.Edges[fall].Flow), float64(s.Edges[pump].Flow), 1e-7, 0)
	near(t, "pressure at the crest", float64(s.Edges[vent].From.Pressure), 0, 0, 1e-6)
	if s.Edges[vent].To.Head >= 1.5 {
		t.Errorf("the falling leg stands at %v, over the crest", s.Edges[vent].To.Head)
	}
	near(t, "pressure at the outlet", float64(s.Edges[fall].To.Pressure), 0, 0, 1e-6)
	// Full of water the fall would have helped.
	n3, pump3, vent3, _, _ := raw(t, 1.5, 0.2, c, true)
	full := solve(t, n3, si(1.19e-6))
	if !(full.Edges[pump3].Flow > s.Edges[pump].Flow) || full.Edges[vent3].From.Pressure >= 0 {
		t.Errorf("stuck shut: flow %v against %v, pressure %v", full.Edges[pump3].Flow, s.Edges[pump].Flow, full.Edges[vent3].From.Pressure)
	}
	if s.Edges[pump].AirFrom != None {
		t.Error("air behind the pump reaches its inlet")
	}
	if st := s.Nodes[out]; !st.Known || st.Supply > 0 {
		t.Errorf("outlet %+v", st)
	}
}

// The pump at rest: the siphon from the sea into a bowl below it is broken by
// a sound vent and runs through a stuck one.
func TestVentBreaksSiphon(t *testing.T) {
	for _, stuck := range []bool{false, true} {
		var n Network
		sea, in := n.Reservoir(0, -0.4), n.Junction(-0.2)
		up, down := n.Junction(0.5), n.Junction(0.5)
		bowl := n.Opening(Opening{Height: -0.1, Level: NoWater(), Bore: mm(19)})
		n.Pipe(sea, in, hose(1))
		n.Pipe(in, up, hose(1.5))
		v := n.Vent(up, down, Vent{Height: 0.5, Bore: mm(19), Stuck: stuck})
		e := n.Pipe(down, bowl, hose(1.5))
		s := solve(t, &n, si(1.19e-6))
		if stuck && s.Edges[e].Flow < 5 {
			t.Errorf("stuck: only %v into the bowl", s.Edges[e].Flow)
		}
		if !stuck && (s.Edges[e].Flow != 0 || !s.Edges[v].Air) {
			t.Errorf("vented: %v into the bowl, air %v", s.Edges[e].Flow, s.Edges[v].Air)
		}
	}
}

// A loop on the suction side: the pump sucks air at its crest and runs dry.
func TestVentOnSuctionRunsDry(t *testing.T) {
	var n Network
	sea, up, down := n.Reservoir(0, -0.4), n.Junction(0.3), n.Junction(0.3)
	in, to := n.Junction(-0.2), n.Junction(-0.2)
	out := n.Opening(Opening{Height: 0.4, Level: 0, Bore: mm(19)})
	n.Pipe(sea, up, hose(1))
	v := n.Vent(up, down, Vent{Height: 0.3, Bore: mm(19)})
	n.Pipe(down, in, hose(1))
	p := n.Pump(in, to, Pump{Curve: curve(t, Point{20, 4}), Speed: 1})
	n.Pipe(to, out, hose(2))
	s := solve(t, &n, si(1.19e-6))
	if s.Edges[p].Pump != Dry || s.Edges[p].Flow != 0 || !s.Edges[v].Air {
		t.Errorf("state %q, flow %v, air %v", s.Edges[p].Pump, s.Edges[p].Flow, s.Edges[v].Air)
	}
	// Fed from a tank above the loop water comes, and air with it.
	var m Network
	tank, up, down := m.Reservoir(0.6, 0.5), m.Junction(0.3), m.Junction(0.3)
	in, to = m.Junction(-0.2), m.Junction(-0.2)
	out = m.Opening(Opening{Height: 0.4, Level: 0, Bore: mm(19)})
	m.Pipe(tank, up, hose(4, 20))
	v = m.Vent(up, down, Vent{Height: 0.3, Bore: mm(19)})
	m.Pipe(down, in, hose(1))
	p = m.Pump(in, to, Pump{Curve: curve(t, Point{30, 4}), Speed: 1})
	m.Pipe(to, out, hose(1))
	s = solve(t, &m, si(1.19e-6))
	if s.Edges[p].Pump == Dry || s.Edges[p].AirFrom != down || !s.Edges[v].Air || s.Edges[p].Flow < 1 {
		t.Errorf("state %q, flow %v, air from %v", s.Edges[p].Pump, s.Edges[p].Flow, s.Edges[p].AirFrom)
	}
}

// Two vents in one line, and two loops on one pump: states that depend on each
// other.
func TestTwoVents(t *testing.T) {
	var n Network
	c := curve(t, Point{0, 8}, Point{20, 6}, Point{40, 1})
	sea, in, to := n.Reservoir(0, -0.4), n.Junction(-0.2), n.Junction(-0.2)
	a1, a2, b1, b2 := n.Junction(1), n.Junction(1), n.Junction(0.8), n.Junction(0.8)
	out := n.Opening(Opening{Height: -0.2, Level: 0, Bore: mm(19)})
	n.Pipe(sea, in, hose(1))
	p := n.Pump(in, to, Pump{Curve: c, Speed: 1})
	n.Pipe(to, a1, hose(1))
	va := n.Vent(a1, a2, Vent{Height: 1, Bore: mm(19)})
	n.Pipe(a2, b1, hose(8, 3))
	vb := n.Vent(b1, b2, Vent{Height: 0.8, Bore: mm(19)})
	n.Pipe(b2, out, hose(1))
	s := solve(t, &n, si(1.19e-6))
	// Between the loops the line is long: the first is under pressure, the second sucks.
	if s.Edges[va].Air || !s.Edges[vb].Air {
		t.Errorf("air %v, %v", s.Edges[va].Air, s.Edges[vb].Air)
	}
	for e := range s.Edges {
		near(t, "flow", float64(s.Edges[e].Flow), float64(s.Edges[p].Flow), 1e-6, 0)
	}
}

// An end in air gives no water back: an idle unit beside a running one does not
// feed it, and says so when its hose runs empty to the pump.
func TestOpenEndsDrawNoWater(t *testing.T) {
	build := func(tee float64) (*Network, EdgeID, EdgeID) {
		var n Network
		sea, mid := n.Reservoir(0, -0.4), n.Junction(unit.Metre(tee))
		in, to := n.Junction(-0.2), n.Junction(-0.2)
		out := n.Opening(Opening{Height: 0.3, Level: 0, Bore: mm(19)})
		idle := n.Opening(Opening{Height: 0.3, Level: 0, Bore: mm(19)})
		n.Pipe(sea, mid, hose(2, 8))
		n.Pipe(mid, in, hose(0.5))
		p := n.Pump(in, to, Pump{Curve: curve(t, Point{20, 4}), Speed: 1})
		n.Pipe(to, out, hose(2))
		ip, iq := n.Junction(-0.2), n.Junction(-0.2)
		n.Pipe(mid, ip, hose(0.5))
		e := n.Idle(ip, iq, Device{Loss: lossCurve(t, Point{20, 0.3})})
		n.Pipe(iq, idle, hose(2))
		return &n, p, e
	}
	n, p, e := build(-0.3)
	s := solve(t, n, si(1.19e-6))
	if s.Edges[e].Flow != 0 && math.Abs(float64(s.Edges[e].Flow)) > 1e-5 || s.Edges[e].Pump != Idle {
		t.Errorf("idle unit: %v, %q", s.Edges[e].Flow, s.Edges[e].Pump)
	}
	if s.Edges[p].Pump != Runs {
		t.Errorf("pump %q", s.Edges[p].Pump)
	}
	// The tee above the head left there: air comes down the idle hose.
	n, p, _ = build(0.25)
	if s = solve(t, n, si(1.19e-6)); s.Edges[p].AirFrom == None {
		t.Errorf("no air through the idle unit with the tee at pressure %v", s.Nodes[1].Pressure)
	}
}

func TestPumpStates(t *testing.T) {
	c := curve(t, Point{0, 5}, Point{20, 4}, Point{40, 1})
	line := func(lift float64, level float64, p func(n *Network, in, to NodeID) EdgeID) EdgeState {
		var n Network
		sea, in, to := n.Reservoir(unit.Metre(level), -0.4), n.Junction(-0.2), n.Junction(-0.2)
		out := n.Opening(Opening{Height: unit.Metre(lift), Level: NoWater(), Bore: mm(19)})
		n.Pipe(sea, in, hose(1))
		e := p(&n, in, to)
		n.Pipe(to, out, hose(1))
		return solve(t, &n, si(1.19e-6)).Edges[e]
	}
	running := func(n *Network, in, to NodeID) EdgeID { return n.Pump(in, to, Pump{Curve: c, Speed: 1}) }
	disp := func(limit unit.Head) func(n *Network, in, to NodeID) EdgeID {
		return func(n *Network, in, to NodeID) EdgeID {
			return n.Displacement(in, to, Displacement{Flow: 15, Limit: limit})
		}
	}
	for _, r := range []struct {
		name  string
		st    EdgeState
		state PumpState
		flow  float64 // −1: above 0
	}{
		{"runs", line(1, 0, running), Runs, -1},
		{"lift just under shut-off", line(4.99, 0, running), Runs, -1},
		{"lift just over shut-off", line(5.01, 0, running), CannotLift, 0},
		{"water pushed through by its own fall", line(-8, 0, running), OffCurve, -1},
		{"sea below the hole", line(1, -0.5, running), Dry, 0},
		{"displacement", line(1, 0, disp(0)), Runs, 15},
		{"displacement over its limit", line(7, 0, disp(6)), CannotLift, 0},
		{"displacement, sea below the hole", line(1, -0.5, disp(0)), Dry, 0},
		{"displacement against a shut valve", line(1, 0, func(n *Network, in, to NodeID) EdgeID {
			mid := n.Junction(0)
			out := n.Reservoir(0, 0)
			e := n.Displacement(in, mid, Displacement{Flow: 15})
			n.Pipe(mid, out, Pipe{Length: 1, Bore: mm(19), Closed: true})
			return e
		}), CannotLift, 0},
		{"shut valve", line(1, 0, func(n *Network, in, to NodeID) EdgeID {
			mid := n.Junction(0)
			e := n.Pump(in, mid, Pump{Curve: c, Speed: 1})
			n.Device(mid, to, Device{Closed: true})
			return e
		}), CannotLift, 0},
	} {
		t.Run(r.name, func(t *testing.T) {
			if r.st.Pump != r.state {
				t.Errorf("state %q, want %q (flow %v)", r.st.Pump, r.state, r.st.Flow)
			}
			if r.flow >= 0 && math.Abs(float64(r.st.Flow)-r.flow) > 1e-6 || r.flow < 0 && r.st.Flow <= 0 {
				t.Errorf("flow %v, want %v", r.st.Flow, r.flow)
			}
		})
	}
}

// Straight lines end at their last point, and begin at their first.
func TestOffCurveOfStraightLines(t *testing.T) {
	c := curve(t, Point{10, 4}, Point{20, 3}, Point{30, 1.5}, Point{35, 1})
	for _, r := range []struct {
		k     float64
		state PumpState
	}{{5e4, OffCurve}, {100, Runs}, {0.5, OffCurve}} {
		var n Network
		a, b, out := n.Reservoir(0, 0), n.Junction(0), n.Reservoir(0, 0)
		p := n.Pump(a, b, Pump{Curve: c, Speed: 1})
		n.Pipe(b, out, hose(0, r.k))
		if s := solve(t, &n, si(1e-6)); s.Edges[p].Pump != r.state {
			t.Errorf("K %g: %v L/min, state %q, want %q", r.k, s.Edges[p].Flow, s.Edges[p].Pump, r.state)
		}
	}
}

// A check valve against the head holds; with it, it is a pipe. A shut stretch
// between two valves has no head.
func TestCheckValves(t *testing.T) {
	for _, r := range []struct{ a, b, flow float64 }{{0, 1, 0}, {1, 0, 1}, {0.5, 0.5, 0}} {
		var n Network
		a, b := n.Reservoir(unit.Metre(r.a), 0), n.Reservoir(unit.Metre(r.b), 0)
		p := hose(1)
		p.Check = true
		e := n.Pipe(a, b, p)
		st := solve(t, &n, si(1e-6)).Edges[e]
		if (st.Flow > 0) != (r.flow > 0) || st.Flow < 0 {
			t.Errorf("%v to %v: %v", r.a, r.b, st.Flow)
		}
		if st.Shut != (r.a < r.b) {
			t.Errorf("%v to %v: shut %v", r.a, r.b, st.Shut)
		}
	}
	var n Network
	a, m, b := n.Reservoir(0, 0), n.Junction(0), n.Reservoir(0, 0)
	n.Device(a, m, Device{Closed: true})
	n.Device(m, b, Device{Closed: true})
	if s := solve(t, &n, si(1e-6)); s.Nodes[m].Known {
		t.Error("a stretch shut on both sides has a head")
	}
}

// A spring-loaded valve: nothing under its opening head, that head lost over it.
func TestSpringLoadedValve(t *testing.T) {
	loss := lossCurve(t, Point{0, 0.3}, Point{20, 0.5})
	for _, r := range []struct{ head, flow float64 }{{0.25, 0}, {0.5, 20}} {
		var n Network
		a, b := n.Reservoir(unit.Metre(r.head), 0), n.Reservoir(0, 0)
		e := n.Device(a, b, Device{Loss: loss, Check: true})
		near(t, "flow", float64(solve(t, &n, si(1e-6)).Edges[e].Flow), r.flow, 1e-3, 0.06)
	}
}

// A crest counts after the whole loss of its hose.
func TestCrest(t *testing.T) {
	var n Network
	a, mid, b := n.Reservoir(1, 0), n.Junction(0.2), n.Reservoir(0, 0)
	p := hose(2, 1)
	p.Crest, p.HasCrest = 0.9, true
	e := n.Pipe(a, mid, p)
	n.Pipe(mid, b, hose(2, 1))
	m := si(1e-6)
	s := solve(t, &n, m)
	st := s.Edges[e]
	v := float64(st.Velocity)
	near(t, "head", float64(st.CrestHead), float64(s.Nodes[mid].Head), 1e-12, 0)
	near(t, "pressure", float64(st.CrestPressure), float64(s.Nodes[mid].Head)-0.9-v*v/2/9.80665, 1e-9, 0)
	if st.CrestPressure < m.VapourLimit() || st.CrestPressure >= 0 {
		t.Errorf("crest pressure %v", st.CrestPressure)
	}
}

// Corrugated hose: three times the smooth friction, so three times the loss of
// a run at the same flow.
func TestCorrugated(t *testing.T) {
	p := hose(3)
	smooth, _ := lossAt(t, 20, p, si(1e-6))
	p.Corrugated = true
	got, _ := lossAt(t, 20, p, si(1e-6))
	near(t, "loss", got, 3*smooth, 1e-9, 0)
}

// Loss of one point: the square of flow. Of several: straight lines in flow
// squared. Both forwards and backwards.
func TestLossCurves(t *testing.T) {
	one := lossCurve(t, Point{10, 0.6})
	many := lossCurve(t, Point{10, 0.6}, Point{20, 1.8})
	for _, r := range []struct {
		c    LossCurve
		q, h float64
	}{{one, 5, 0.15}, {one, 30, 5.4}, {one, -5, -0.15}, {many, 5, 0.15}, {many, 15, 0.6 + 1.2*125/300}, {many, 30, 1.8 + 1.2*500/300}, {LossCurve{}, 9, 0}} {
		near(t, "curve", float64(r.c.Head(unit.LitrePerMin(r.q))), r.h, 1e-12, 0)
		var n Network
		a, b := n.Junction(0), n.Reservoir(0, 0)
		n.Draw(a, unit.LitrePerMin(-r.q))
		e := n.Device(a, b, Device{Loss: r.c})
		near(t, "solved", float64(solve(t, &n, si(1e-6)).Edges[e].Loss), r.h, 1e-9, 1e-6)
	}
}

// WX-27, the one-point rule of EPANET's manual, and a pump's power of WX-11.
func TestPumpCurves(t *testing.T) {
	c := curve(t, Point{30, 3})
	near(t, "shut-off", float64(c.ShutOff(1)), 4, 1e-12, 0)
	near(t, "flow at no head", float64(c.MaxFlow(1)), 60, 1e-12, 0)
	near(t, "between", float64(c.Head(15, 1)), 4-0.25, 1e-12, 0)
	m := si(1e-6)
	m.Gravity, m.Fluid.Density = usg, 62.364*poundM/(foot*foot*foot)
	near(t, "WX-11 bhp", float64(HydraulicPower(700*gpm, 428*foot, m))/0.707/745.69987, 107.06, 0.002, 0)
	for _, bad := range [][]Point{nil, {{0, 3}}, {{10, 0}}, {{0, 3}, {10, 4}}, {{10, 3}, {10, 2}}, {{-1, 3}}, {{0, 3}, {10, 3}}, {{unit.LitrePerMin(math.NaN()), 3}}} {
		if _, err := NewPumpCurve(bad); !errors.Is(err, ErrCurve) {
			t.Errorf("%v: %v", bad, err)
		}
	}
	for _, bad := range [][]Point{nil, {{0, 0}}, {{10, -1}}, {{10, 2}, {20, 1}}, {{10, 1}, {5, 2}}} {
		if _, err := NewLossCurve(bad); !errors.Is(err, ErrCurve) {
			t.Errorf("%v: %v", bad, err)
		}
	}
}

// The head the system asks at the flow it runs at is the head the pump gives.
func TestSystemCurveMeetsPump(t *testing.T) {
	n, _, _, pump := loop(t)
	s := solve(t, n, si(1.19e-6))
	q := s.Edges[pump].Flow
	c, err := SystemCurve(n, si(1.19e-6), pump, []unit.LitrePerMin{0, q / 2, q, 1.5 * q})
	if err != nil || len(c) != 4 {
		t.Fatal(c, err)
	}
	near(t, "lift at no flow", float64(c[0].Head), 0.35, 0, 1e-9)
	near(t, "head", float64(c[2].Head), -float64(s.Edges[pump].Loss), 1e-9, 0)
	if !(c[0].Head < c[1].Head && c[1].Head < c[2].Head && c[2].Head < c[3].Head) {
		t.Errorf("the system curve does not rise: %v", c)
	}
}

func TestFailuresNameTheirPlace(t *testing.T) {
	for _, r := range []struct {
		name   string
		build  func(n *Network)
		reason Reason
		node   NodeID
		edge   EdgeID
	}{
		{"bore of nothing", func(n *Network) { n.Pipe(n.Junction(0), n.Junction(0), Pipe{Length: 1}) }, BadInput, None, 0},
		{"unknown node", func(n *Network) { n.Pipe(n.Junction(0), 7, hose(1)) }, BadInput, None, 0},
		{"loop on itself", func(n *Network) { a := n.Junction(0); n.Pipe(a, a, hose(1)) }, BadInput, None, 0},
		{"height no number", func(n *Network) { n.Junction(0); n.Junction(unit.Metre(math.NaN())) }, BadInput, 1, None},
		{"pump without curve", func(n *Network) { n.Pump(n.Junction(0), n.Junction(0), Pump{Speed: 1}) }, BadInput, None, 0},
		{"draw without supply", func(n *Network) { a, b := n.Junction(0), n.Junction(0); n.Pipe(a, b, hose(1)); n.Draw(b, 3) }, NotBalanced, 1, None},
		{"draw behind a check valve", func(n *Network) {
			a, b := n.Reservoir(0, 0), n.Junction(0)
			p := hose(1)
			p.Check = true
			n.Pipe(b, a, p)
			n.Draw(b, 3)
		}, NotBalanced, 1, None},
	} {
		var n Network
		r.build(&n)
		_, err := Solve(&n, si(1e-6))
		var f *Failure
		if !errors.As(err, &f) || f.Reason != r.reason || f.Node != r.node || f.Edge != r.edge {
			t.Errorf("%s: %v", r.name, err)
		}
	}
	var n Network
	n.Reservoir(0, 0)
	if _, err := Solve(&n, Model{}); err == nil {
		t.Error("a fluid without viscosity was solved")
	}
	if _, err := Solve(new(Network), si(1e-6)); err != nil {
		t.Error("empty network:", err)
	}
}
