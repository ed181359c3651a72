package water

import (
	"math"
	"testing"

	"fitout/schema/unit"
)

// The three networks of /work/shared/reference/checks.md section 2, with the
// answers EPANET 2.3.5 gave for them and the SI answers worked out there.

// loop builds L-W1: a raw-water loop, one pump with a three-point curve.
func loop(t testing.TB) (n *Network, nodes map[string]NodeID, flow EdgeID, pump EdgeID) {
	n = new(Network)
	nodes = map[string]NodeID{}
	for _, j := range []struct {
		id string
		z  unit.Metre
	}{{"TH", -0.45}, {"SC", -0.4}, {"ST", -0.1}, {"PI", -0.05}, {"PO", -0.05}, {"HXI", 0.3}, {"HXO", 0.3}, {"TOP", 0.95}} {
		nodes[j.id] = n.Junction(j.z)
	}
	nodes["SEA"], nodes["OUT"] = n.Reservoir(0, 0), n.Reservoir(0.35, 0.35)
	for _, p := range []struct {
		a, b       string
		l, d, e, k float64
	}{
		{"SEA", "TH", 0.1, 25.4, 0.0015, 0.5}, {"TH", "SC", 0.15, 25.4, 0.0015, 0.3}, {"SC", "ST", 1.2, 25.4, 0.01, 6.0},
		{"ST", "PI", 1.5, 25.4, 0.01, 0.4}, {"PO", "HXI", 2.2, 19.0, 0.01, 0.8}, {"HXI", "HXO", 0.5, 16.0, 0.0015, 9.0},
		{"HXO", "TOP", 1.6, 19.0, 0.01, 0.8}, {"TOP", "OUT", 2.4, 19.0, 0.01, 1.9},
	} {
		flow = n.Pipe(nodes[p.a], nodes[p.b], Pipe{Length: unit.Metre(p.l), Bore: mm(p.d), Roughness: mm(p.e), Minor: []Minor{{K: p.k}}})
	}
	pump = n.Pump(nodes["PI"], nodes["PO"], Pump{Curve: curve(t, Point{0, 5.2}, Point{20, 4.1}, Point{38, 1.6}), Speed: 1})
	return n, nodes, flow, pump
}

func TestLW1(t *testing.T) {
	n, nodes, flow, _ := loop(t)
	s := solve(t, n, engine(1.19e-6))
	near(t, "flow, engine's g", float64(s.Edges[flow].Flow), 23.45418586, 1e-4, 0)
	for _, h := range []struct {
		id string
		h  float64
	}{
		{"TH", -0.0184117625}, {"SC", -0.03238704193}, {"ST", -0.2543815372}, {"PI", -0.3166284637}, {"PO", 3.406984652},
		{"HXI", 3.032108379}, {"HXO", 1.15218716}, {"TOP", 0.8584239259}, {"SEA", 0}, {"OUT", 0.35},
	} {
		near(t, "head "+h.id, float64(s.Nodes[nodes[h.id]].Head), h.h, 0, 5e-4)
	}
	s = solve(t, n, si(1.19e-6))
	near(t, "flow, SI", float64(s.Edges[flow].Flow), 23.44670121, 1e-9, 0)
	for _, h := range []struct {
		id string
		h  float64
	}{
		{"TH", -0.018417}, {"SC", -0.032396}, {"ST", -0.254449}, {"PI", -0.316711}, {"PO", 3.407772},
		{"HXI", 3.032808}, {"HXO", 1.15238}, {"TOP", 0.858547},
	} {
		near(t, "SI head "+h.id, float64(s.Nodes[nodes[h.id]].Head), h.h, 0, 1e-6)
	}
	m := si(1.19e-6)
	m.Friction = Colebrook
	near(t, "flow, Colebrook", float64(solve(t, n, m).Edges[flow].Flow), 23.451705, 1e-7, 0)
}

func TestLW1CurveConstants(t *testing.T) {
	c := curve(t, Point{0, 5.2}, Point{20, 4.1}, Point{38, 1.6})
	near(t, "A", c.a, 5.2, 1e-12, 0)
	near(t, "C", c.c, 1.8471862385, 1e-9, 0)
	// B is printed for L/min.
	near(t, "H at 30 L/min", float64(c.Head(30, 1)), 5.2-0.0043465830*math.Pow(30, 1.8471862385), 1e-8, 0)
}

func TestLW2(t *testing.T) {
	var n Network
	nodes := map[string]NodeID{}
	for _, j := range []struct {
		id string
		z  unit.Metre
	}{{"PI", 0.05}, {"PO", 0.05}, {"M1", 0.3}, {"M2", 0.35}, {"GALLEY", 0.95}, {"SINK", 0.85}, {"M3", 0.4}, {"SHOWER", 1.85}, {"HEATER", 0.45}, {"WC", 0.6}} {
		nodes[j.id] = n.Junction(j.z)
	}
	nodes["TANK"] = n.Reservoir(0.42, 0)
	n.Draw(nodes["WC"], 3)
	edges := map[string]EdgeID{}
	for _, p := range []struct {
		id, a, b   string
		l, d, e, k float64
	}{
		{"P1", "TANK", "PI", 0.8, 15.0, 0.0015, 1.2}, {"P2", "PO", "M1", 2.0, 12.0, 0.0015, 1.0}, {"P3", "M1", "GALLEY", 3.0, 10.0, 0.0015, 2.2},
		{"P4", "M1", "M2", 2.5, 12.0, 0.0015, 0.6}, {"P5", "M2", "SINK", 2.2, 10.0, 0.0015, 2.2}, {"P6", "M2", "M3", 3.5, 12.0, 0.0015, 0.6},
		{"P7", "M3", "SHOWER", 2.8, 10.0, 0.0015, 3.0}, {"P8", "M3", "HEATER", 1.0, 12.0, 0.0015, 1.5}, {"P9", "HEATER", "WC", 2.0, 10.0, 0.0015, 1.0},
	} {
		edges[p.id] = n.Pipe(nodes[p.a], nodes[p.b], Pipe{Length: unit.Metre(p.l), Bore: mm(p.d), Roughness: mm(p.e), Minor: []Minor{{K: p.k}}})
	}
	edges["PU"] = n.Pump(nodes["PI"], nodes["PO"], Pump{Curve: curve(t, Point{0, 28}, Point{9, 20}, Point{16, 8}), Speed: 1})
	n.Emitter(nodes["GALLEY"], 1.9)
	n.Emitter(nodes["SINK"], 1.4)
	n.Emitter(nodes["SHOWER"], 2.6)
	type row struct {
		id string
		v  float64
	}
	s := solve(t, &n, engine(1.004e-6))
	for _, r := range []row{
		{"P1", 15.69535952}, {"P2", 15.69535952}, {"P3", 4.59602426}, {"P4", 11.09933526}, {"P5", 3.267599357}, {"P6", 7.8317359},
		{"P7", 4.8317359}, {"P8", 3}, {"P9", 3}, {"PU", 15.69535952},
	} {
		near(t, "flow "+r.id, float64(s.Edges[edges[r.id]].Flow), r.v, 1e-4, 0)
	}
	for _, r := range []row{
		{"PI", 0.1346064057}, {"PO", 8.737616975}, {"M1", 7.365646455}, {"M2", 6.53793026}, {"GALLEY", 6.801368144}, {"SINK", 6.297553855},
		{"M3", 5.929955802}, {"SHOWER", 5.303501747}, {"HEATER", 5.884003246}, {"WC", 5.716901969}, {"TANK", 0.42},
	} {
		near(t, "head "+r.id, float64(s.Nodes[nodes[r.id]].Head), r.v, 0, 5e-4)
	}
	s = solve(t, &n, si(1.004e-6))
	for _, r := range []row{
		{"P1", 15.69455363}, {"P3", 4.595993419}, {"P4", 11.09856021}, {"P5", 3.26748786}, {"P6", 7.831072355}, {"P7", 4.831072355}, {"P8", 3},
	} {
		near(t, "SI flow "+r.id, float64(s.Edges[edges[r.id]].Flow), r.v, 1e-8, 0)
	}
	for _, r := range []row{
		{"PI", 0.134391}, {"PO", 8.738988}, {"M1", 7.366022}, {"M2", 6.537741}, {"GALLEY", 6.80129}, {"SINK", 6.297182}, {"M3", 5.929369},
		{"SHOWER", 5.302553}, {"HEATER", 5.883378}, {"WC", 5.716142},
	} {
		near(t, "SI head "+r.id, float64(s.Nodes[nodes[r.id]].Head), r.v, 0, 1e-6)
	}
}

// siphon builds L-W3.
func siphon() (*Network, NodeID, EdgeID) {
	var n Network
	up, crest, out := n.Reservoir(1, 0.5), n.Junction(1.6), n.Reservoir(0, 0)
	n.Pipe(up, crest, Pipe{Length: 1.5, Bore: mm(19), Roughness: mm(0.0015), Minor: []Minor{{K: 0.8}}})
	e := n.Pipe(crest, out, Pipe{Length: 2.5, Bore: mm(19), Roughness: mm(0.0015), Minor: []Minor{{K: 1.3}}})
	return &n, crest, e
}

func TestLW3(t *testing.T) {
	n, crest, e := siphon()
	s := solve(t, n, engine(1.004e-6))
	near(t, "flow", float64(s.Edges[e].Flow), 28.4661874, 1e-4, 0)
	near(t, "crest head", float64(s.Nodes[crest].Head), 0.6232171061, 0, 5e-4)
	s = solve(t, n, si(1.004e-6))
	near(t, "SI flow", float64(s.Edges[e].Flow), 28.45334778, 1e-9, 0)
	near(t, "SI crest head", float64(s.Nodes[crest].Head), 0.623217, 0, 1e-6)
	near(t, "crest pressure with the velocity head off", float64(s.Nodes[crest].Pressure), -1.119, 0, 6e-4)
	near(t, "velocity", float64(s.Edges[e].Velocity), 1.673, 0, 6e-4)
	m := si(1.004e-6)
	m.Friction = Colebrook
	near(t, "Colebrook", float64(solve(t, n, m).Edges[e].Flow), 28.415084, 1e-7, 0)
}
