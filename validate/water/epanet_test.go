package water

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"fitout/schema/unit"
)

// bench describes a network plainly, to be written once as an EPANET input
// file and once as a Network. EPANET 2.3.5 (public domain, US EPA) is the
// outside word; nothing of the solver takes part in writing its input.
type bench struct {
	name  string
	nu    float64
	nodes []benchNode
	pipes []benchPipe
	pumps []benchPump
}

type benchNode struct {
	id    string
	z     float64
	level bool // a reservoir of head z
	draw  float64
	emit  float64
}

type benchPipe struct {
	id, a, b   string
	l, d, e, k float64 // m, mm, mm
	check      bool
}

type benchPump struct {
	id, a, b string
	points   []Point
	speed    float64
}

func (b *bench) inp() string {
	var s [7]strings.Builder
	for _, n := range b.nodes {
		if n.level {
			fmt.Fprintf(&s[1], "%s %.10g\n", n.id, n.z)
			continue
		}
		fmt.Fprintf(&s[0], "%s %.10g %.10g\n", n.id, n.z, n.draw)
		if n.emit > 0 {
			fmt.Fprintf(&s[5], "%s %.10g\n", n.id, n.emit)
		}
	}
	for _, p := range b.pipes {
		status := "OPEN"
		if p.check {
			status = "CV"
		}
		fmt.Fprintf(&s[2], "%s %s %s %.10g %.10g %.10g %.10g %s\n", p.id, p.a, p.b, p.l, p.d, p.e, p.k, status)
	}
	for _, p := range b.pumps {
		fmt.Fprintf(&s[3], "%s %s %s HEAD C%s SPEED %.10g\n", p.id, p.a, p.b, p.id, p.speed)
		for _, c := range p.points {
			fmt.Fprintf(&s[4], "C%s %.10g %.10g\n", p.id, float64(c.Flow), float64(c.Head))
		}
	}
	out := "[TITLE]\n" + b.name + "\n"
	for i, h := range []string{"JUNCTIONS", "RESERVOIRS", "PIPES", "PUMPS", "CURVES", "EMITTERS"} {
		out += "[" + h + "]\n" + s[i].String()
	}
	return out + fmt.Sprintf("[OPTIONS]\nUNITS LPM\nHEADLOSS D-W\nVISCOSITY %.10g\nSPECIFIC GRAVITY 1\nACCURACY 1e-05\nTRIALS 500\n[TIMES]\nDURATION 0\n[END]\n", b.nu)
}

func (b *bench) network(t testing.TB) (*Network, map[string]NodeID, map[string]EdgeID) {
	var n Network
	at, edges := map[string]NodeID{}, map[string]EdgeID{}
	for _, j := range b.nodes {
		if j.level {
			at[j.id] = n.Reservoir(unit.Metre(j.z), unit.Metre(j.z))
			continue
		}
		at[j.id] = n.Junction(unit.Metre(j.z))
		n.Draw(at[j.id], unit.LitrePerMin(j.draw))
		if j.emit > 0 {
			n.Emitter(at[j.id], unit.LitrePerMin(j.emit))
		}
	}
	for _, p := range b.pipes {
		edges[p.id] = n.Pipe(at[p.a], at[p.b], Pipe{Length: unit.Metre(p.l), Bore: mm(p.d), Roughness: mm(p.e), Minor: []Minor{{K: p.k}}, Check: p.check})
	}
	for _, p := range b.pumps {
		edges[p.id] = n.Pump(at[p.a], at[p.b], Pump{Curve: curve(t, p.points...), Speed: unit.Ratio(p.speed)})
	}
	return &n, at, edges
}

// script runs EPANET on every file named and prints heads and flows, and with
// a count the milliseconds of that many hydraulic solutions of the first.
const script = `import fs from "fs";import {Project,Workspace,NodeProperty as N,LinkProperty as L,CountType as C} from "epanet-js";
const w=new Workspace();await w.loadModule();const all=[];
const times=Number(process.argv[1]);
for(const f of process.argv.slice(2)){const m=new Project(w);w.writeFile("a.inp",fs.readFileSync(f));m.open("a.inp","a.rpt","a.out");
m.solveH();const o={flow:{},head:{},ms:0};
for(let i=1;i<=m.getCount(C.LinkCount);i++)o.flow[m.getLinkId(i)]=m.getLinkValue(i,L.Flow);
for(let i=1;i<=m.getCount(C.NodeCount);i++)o.head[m.getNodeId(i)]=m.getNodeValue(i,N.Head);
if(times>0){const t=process.hrtime.bigint();for(let k=0;k<times;k++)m.solveH();o.ms=Number(process.hrtime.bigint()-t)/1e6/times}
m.close();all.push(o)}console.log(JSON.stringify(all))`

type epanetAnswer struct {
	Flow, Head map[string]float64
	MS         float64
}

// epanet runs the engine of the npm package epanet-js, found beside
// FITOUT_EPANET_DIR or /tmp/epa.
func epanet(t testing.TB, times int, nets ...*bench) []epanetAnswer {
	t.Helper()
	dir := os.Getenv("FITOUT_EPANET_DIR")
	if dir == "" {
		dir = "/tmp/epa"
	}
	_, missing := os.Stat(filepath.Join(dir, "node_modules", "epanet-js"))
	if _, err := exec.LookPath("node"); err != nil {
		missing = err
	}
	if missing != nil {
		if os.Getenv("FITOUT_REQUIRE_ENGINES") == "1" {
			t.Fatalf("EPANET is required here and missing: %v", missing)
		}
		t.Skipf("cross-check against EPANET not run: epanet-js is not installed (npm install --no-save epanet-js@0.9.0, then FITOUT_EPANET_DIR): %v", missing)
	}
	args := []string{"--input-type=module", "-e", script, fmt.Sprint(times)}
	folder := t.TempDir()
	for i, b := range nets {
		name := filepath.Join(folder, fmt.Sprintf("%d.inp", i))
		if err := os.WriteFile(name, []byte(b.inp()), 0o600); err != nil {
			t.Fatal(err)
		}
		args = append(args, name)
	}
	cmd := exec.Command("node", args...)
	cmd.Dir = dir
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("EPANET: %v\n%s\n%s", err, stderr.String(), out)
	}
	// The engine may print words of its own before the answer.
	text := string(out)
	if i := strings.Index(text, `[{"flow"`); i > 0 {
		text = text[i:]
	}
	var answers []epanetAnswer
	if err := json.Unmarshal([]byte(text), &answers); err != nil {
		t.Fatalf("EPANET's answer: %v\n%.500s", err, text)
	}
	return answers
}

var threePoint = []Point{{0, 5.2}, {20, 4.1}, {38, 1.6}}

func unitsOnOnePump() *bench {
	return &bench{name: "two units on one pump", nu: 1.19e-6,
		nodes: []benchNode{{id: "SEA", level: true}, {id: "TH", z: -0.5}, {id: "ST", z: -0.2}, {id: "PI", z: -0.3}, {id: "PO", z: -0.3}, {id: "TEE", z: 0.1},
			{id: "A", z: 0.4}, {id: "B", z: 0.6}, {id: "OA", z: 0.3, level: true}, {id: "OB", z: 0.25, level: true}},
		pipes: []benchPipe{{"H1", "SEA", "TH", 0.1, 25.4, 0.0015, 0.5, false}, {"H2", "TH", "ST", 1.1, 25.4, 0.0015, 5, false}, {"H3", "ST", "PI", 0.8, 25.4, 0.0015, 0.6, false},
			{"H4", "PO", "TEE", 1.5, 25.4, 0.0015, 0.9, false}, {"H5", "TEE", "A", 2.5, 16, 0.0015, 9, false}, {"H6", "TEE", "B", 4.2, 16, 0.0015, 12, false},
			{"H7", "A", "OA", 2.2, 16, 0.0015, 1.9, false}, {"H8", "B", "OB", 3.1, 16, 0.0015, 2.1, false}},
		pumps: []benchPump{{"P1", "PI", "PO", []Point{{40, 3}}, 0.93}}}
}

func freshWater() *bench {
	return &bench{name: "branched fresh water", nu: 1.0e-6,
		nodes: []benchNode{{id: "TANK", z: 0.3, level: true}, {id: "PI", z: 0}, {id: "PO", z: 0}, {id: "M1", z: 0.2}, {id: "M2", z: 0.2}, {id: "G", z: 1, emit: 2.1}, {id: "S", z: 0.9, emit: 1.7},
			{id: "SH", z: 1.9, emit: 2.4}, {id: "WC", z: 0.5, draw: 2.5}},
		pipes: []benchPipe{{"H1", "TANK", "PI", 1, 15, 0.0015, 1.3, false}, {"H2", "PO", "M1", 2, 13, 0.0015, 1, true}, {"H3", "M1", "G", 3, 10, 0.0015, 3, false}, {"H4", "M1", "M2", 2, 13, 0.0015, 0.9, false},
			{"H5", "M2", "S", 3, 10, 0.0015, 3, false}, {"H6", "M2", "SH", 4, 10, 0.0015, 4, false}, {"H7", "M2", "WC", 5, 10, 0.0015, 2, false}},
		pumps: []benchPump{{"P1", "PI", "PO", []Point{{0, 28}, {5, 25}, {10, 18}, {15, 9}, {18, 0}}, 1}}}
}

func lineOf(name string, nu float64, ends [2]float64, z []float64, d, k float64) *bench {
	b := &bench{name: name, nu: nu, nodes: []benchNode{{id: "UP", z: ends[0], level: true}}}
	last := "UP"
	for i, h := range z {
		id := fmt.Sprint("N", i)
		b.nodes = append(b.nodes, benchNode{id: id, z: h})
		b.pipes = append(b.pipes, benchPipe{fmt.Sprint("H", i), last, id, 1.3, d, 0.0015, k, false})
		last = id
	}
	b.nodes = append(b.nodes, benchNode{id: "OUT", z: ends[1], level: true})
	b.pipes = append(b.pipes, benchPipe{"HL", last, "OUT", 1.7, d, 0.0015, k + 1, false})
	return b
}

// fixed returns the networks of the issue.
func fixedBenches() []*bench {
	single := lineOf("single loop", 1.19e-6, [2]float64{0, 0.4}, []float64{-0.4, -0.2, -0.2, 0.4, 0.9}, 19, 0.8)
	single.pipes = append(single.pipes[:2:2], single.pipes[3:]...)
	single.pumps = []benchPump{{"P1", "N1", "N2", threePoint, 1}}
	weak := lineOf("pump that cannot lift", 1.19e-6, [2]float64{0, 6}, []float64{-0.4, -0.2, -0.2, 0.4, 0.9}, 19, 0.8)
	weak.pipes = append(weak.pipes[:2:2], weak.pipes[3:]...)
	weak.pumps = []benchPump{{"P1", "N1", "N2", threePoint, 1}}
	return []*bench{
		single, weak, unitsOnOnePump(), freshWater(),
		lineOf("gravity drain", 1.0e-6, [2]float64{1.2, 0}, []float64{0.9, 0.5, 0.1}, 25, 0.4),
		lineOf("slow drain, between the regimes", 1.3e-6, [2]float64{0.06, 0}, []float64{0.0, -0.1}, 25, 0.3),
		lineOf("laminar trickle", 1.3e-6, [2]float64{0.01, 0}, []float64{0.0, -0.1}, 12, 0.3),
		lineOf("siphon", 1.0e-6, [2]float64{1, 0}, []float64{1.6, 0.4}, 19, 0.6),
	}
}

// randomBench returns a looped network: a grid with bridges taken out, some
// check valves, draws, reservoirs at corners and a pump.
func randomBench(rng *rand.Rand, w, h int) *bench {
	b := &bench{name: "random", nu: 1.0e-6 + 0.5e-6*rng.Float64()}
	id := func(x, y int) string { return fmt.Sprintf("N%d_%d", x, y) }
	for y := range h {
		for x := range w {
			n := benchNode{id: id(x, y), z: 4*rng.Float64() - 1}
			if rng.IntN(4) == 0 {
				n.draw = 3 * rng.Float64()
			}
			b.nodes = append(b.nodes, n)
		}
	}
	add := func(a, c string, check bool) {
		b.pipes = append(b.pipes, benchPipe{fmt.Sprint("H", len(b.pipes)), a, c, 0.3 + 5*rng.Float64(), 10 + 40*rng.Float64(), 0.0015 + 0.2*rng.Float64()*rng.Float64(), 5 * rng.Float64(), check})
	}
	for y := range h {
		for x := range w {
			if x+1 < w && (y == 0 || rng.IntN(5) > 0) {
				add(id(x, y), id(x+1, y), y > 0 && rng.IntN(8) == 0)
			}
			if y+1 < h {
				add(id(x, y), id(x, y+1), false)
			}
		}
	}
	b.nodes = append(b.nodes, benchNode{id: "R0", z: 6 * rng.Float64(), level: true}, benchNode{id: "R1", z: 6 * rng.Float64(), level: true}, benchNode{id: "R2", z: -1, level: true})
	add("R0", id(0, 0), false)
	add(id(w-1, h-1), "R1", false)
	q := 40 + 100*rng.Float64()
	b.pumps = []benchPump{{"P1", "R2", id(w-1, 0), [][]Point{{{unit.LitrePerMin(q), 9}}, {{0, 14}, {unit.LitrePerMin(q / 2), 11}, {unit.LitrePerMin(q), 4}},
		{{0, 14}, {unit.LitrePerMin(q / 3), 12}, {unit.LitrePerMin(q / 2), 9}, {unit.LitrePerMin(q), 2}}}[rng.IntN(3)], 0.8 + 0.3*rng.Float64()}}
	return b
}

func TestAgainstEPANET(t *testing.T) {
	nets := fixedBenches()
	rng := rand.New(rand.NewPCG(7, 11))
	for i := range 24 {
		nets = append(nets, randomBench(rng, 2+i%5, 2+i/5))
	}
	answers := epanet(t, 0, nets...)
	for i, b := range nets {
		t.Run(fmt.Sprint(i, " ", b.name), func(t *testing.T) {
			n, at, edges := b.network(t)
			s := solve(t, n, engine(b.nu))
			for _, p := range b.pipes {
				// 0.1 % of the flow; what EPANET lets through a shut pump or
				// check valve beside.
				near(t, "flow "+p.id, float64(s.Edges[edges[p.id]].Flow), answers[i].Flow[p.id], 1e-3, 2e-3)
			}
			for _, p := range b.pumps {
				near(t, "flow "+p.id, float64(s.Edges[edges[p.id]].Flow), answers[i].Flow[p.id], 1e-3, 2e-3)
			}
			for _, j := range b.nodes {
				near(t, "head "+j.id, float64(s.Nodes[at[j.id]].Head), answers[i].Head[j.id], 0, 5e-3)
			}
			if b.name == "pump that cannot lift" && s.Edges[edges["P1"]].Pump != CannotLift {
				t.Errorf("state %q, want cannot-lift", s.Edges[edges["P1"]].Pump)
			}
		})
	}
}
