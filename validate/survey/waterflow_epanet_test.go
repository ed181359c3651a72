package survey

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"sort"
	"strconv"
	"strings"
	"testing"

	"fitout/schema/boattest"
	"gopkg.in/yaml.v3"
)

// The outside word on the boat's water is EPANET 2.3.5 (public domain, US EPA).
// Its input is written here from the installation file itself: what stands below
// shares the YAML library with fitout and nothing else. It knows what the test
// boats use: hoses with bends, walls, peaks; losses by one point; default losses
// of the EPANET table; pumps by points.

// twin is an EPANET network written from a boat file.
type twin struct {
	nu        float64
	junctions map[string]float64
	levels    map[string]float64
	pipes     []string
	pumps     []string
	curves    []string
	flow      map[string]string // boat's hose or part → EPANET link
}

type yamlBoat struct {
	Parts map[string]map[string]any `yaml:"parts"`
	Hoses []map[string]any          `yaml:"hoses"`
}

const engineG = 32.2 * 0.3048

// inOut are the terminals of the kinds the test boats use, in the order a path
// passes them.
var inOut = map[string][2]string{"seacock": {"in", "out"}, "strainer": {"in", "out"}, "pump": {"in", "out"}, "bleed": {"in", "out"},
	"heat-exchanger": {"in", "out"}, "aircon": {"water-in", "water-out"}, "tee": {"", ""}, "through-hull": {"out", "out"}, "tap": {"in", "in"}, "sink": {"out", "out"}}

// number reads "3/4 in", "0.5 m", "19 mm", "20 L/min", "1.5 m head" in metres or
// L/min.
func number(t *testing.T, v any) float64 {
	t.Helper()
	text := strings.TrimSpace(fmt.Sprint(v))
	m := regexp.MustCompile(`^(-?[0-9./-]+) ?(mm|m head|m|in|L/min|gpm|ft head|ft|mH2O)?$`).FindStringSubmatch(text)
	if m == nil {
		t.Fatalf("the test's own reader does not know %q", text)
	}
	figure := 0.0
	for _, p := range strings.Split(strings.TrimPrefix(m[1], "-"), "-") {
		f := strings.Split(p, "/")
		x, err := strconv.ParseFloat(f[0], 64)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if len(f) == 2 {
			y, _ := strconv.ParseFloat(f[1], 64)
			x /= y
		}
		figure += x
	}
	if strings.HasPrefix(m[1], "-") {
		figure = -figure
	}
	return figure * map[string]float64{"": 1, "m": 1, "m head": 1, "mm": 1e-3, "in": 0.0254, "L/min": 1, "gpm": 3.785411784, "ft": 0.3048, "ft head": 0.3048}[m[2]]
}

func points(t *testing.T, v any) [][2]float64 {
	var out [][2]float64
	for q, h := range v.(map[string]any) {
		out = append(out, [2]float64{number(t, q), number(t, h)})
	}
	sort.Slice(out, func(i, j int) bool { return out[i][0] < out[j][0] })
	return out
}

// writeTwin writes the network of the hoses whose ids begin with one of the names.
func writeTwin(t *testing.T, text string, nu float64, hoses ...string) *twin {
	t.Helper()
	var b yamlBoat
	if err := yaml.Unmarshal([]byte(text), &b); err != nil {
		t.Fatal(err)
	}
	w := &twin{nu: nu, junctions: map[string]float64{}, levels: map[string]float64{}, flow: map[string]string{}}
	cocks := map[string]string{} // through-hull → the seacock it carries
	for id, p := range b.Parts {
		if s, ok := p["seacock"].(map[string]any); ok {
			cock := map[string]any{"kind": "seacock", "size": p["size"], "height": p["height"]}
			b.Parts[fmt.Sprint(s["id"])] = cock
			cocks[id] = fmt.Sprint(s["id"])
		}
	}
	passed := map[string]bool{}
	for _, h := range b.Hoses {
		id := fmt.Sprint(h["id"])
		for _, want := range hoses {
			if want == id {
				w.path(t, &b, cocks, passed, id, h)
			}
		}
	}
	return w
}

// stop is one stop of a path: the terminals it is entered and left by.
type stopAt struct{ part, in, out string }

func (w *twin) path(t *testing.T, b *yamlBoat, cocks map[string]string, passed map[string]bool, id string, h map[string]any) {
	var names []any
	if p, ok := h["path"].([]any); ok {
		names = p
	} else {
		names = []any{h["from"], h["to"]}
	}
	var stops []stopAt
	for _, n := range names {
		name := fmt.Sprint(n)
		part, terminal, named := strings.Cut(name, ".")
		kind := fmt.Sprint(b.Parts[part]["kind"])
		s := stopAt{part, inOut[kind][0], inOut[kind][1]}
		if named {
			s.in, s.out = terminal, terminal
		}
		if c, ok := cocks[part]; ok { // the path lands on the seacock it carries
			s = stopAt{c, "out", "out"}
			if !passed[part] {
				w.opening(t, b, part, c+".in", 0, "")
				passed[part] = true
			}
		}
		stops = append(stops, s)
	}
	lengths, _ := h["lengths"].([]any)
	if lengths == nil {
		lengths = []any{h["length"]}
	}
	for i := range lengths {
		stretch := id
		if len(lengths) > 1 {
			stretch += string(rune('a' + i))
		}
		w.stretch(t, b, h, stretch, stops[i], stops[i+1], number(t, lengths[i]), i == 0, i == len(lengths)-1)
	}
	for _, s := range stops {
		if !passed[s.part] {
			passed[s.part] = true
			w.inner(t, b, s.part)
		}
	}
}

// tailK is the loss of a hose on a tail one hose size smaller: a sudden
// contraction to it and a sudden expansion back (Borda–Carnot; TP-410).
func tailK(bore float64) float64 {
	sizes := []float64{0.0127, 0.0159, 0.01905, 0.0254, 0.03175, 0.0381}
	small := 0.8 * bore
	for _, s := range sizes {
		if s < bore-0.0005 {
			small = s
		}
	}
	r := (small / bore) * (small / bore)
	return (0.5*(1-r) + (1-r)*(1-r)) / (r * r)
}

func tailless(p map[string]any) bool {
	return p["loss"] != nil || p["curve"] != nil
}

func (w *twin) stretch(t *testing.T, b *yamlBoat, h map[string]any, id string, from, to stopAt, length float64, first, last bool) {
	bore := number(t, h["bore"])
	k := 0.0
	if first && h["bends"] != nil {
		var n, angle float64
		fmt.Sscanf(fmt.Sprint(h["bends"]), "%gx%g", &n, &angle)
		k += 0.25 * n * angle / 90
	}
	if !tailless(b.Parts[from.part]) {
		k += tailK(bore)
	}
	if !tailless(b.Parts[to.part]) {
		k += tailK(bore)
	}
	roughness := 0.0015e-3 // smooth plastic, EPANET 2.2 User Manual
	if h["roughness"] != nil {
		roughness = number(t, h["roughness"])
	}
	a, c := w.end(t, b, from.part, from.out, bore, first), w.end(t, b, to.part, to.in, bore, false)
	w.pipe(id, a, c, length, bore, roughness, k)
	w.flow[id] = id
}

func dot(part, terminal string) string {
	if terminal == "" {
		return part
	}
	return part + "." + terminal
}

// end returns the node of a hose end, and adds what lies behind an opening.
func (w *twin) end(t *testing.T, b *yamlBoat, part, terminal string, bore float64, draws bool) string {
	p := b.Parts[part]
	node := dot(part, terminal)
	switch p["kind"] {
	case "through-hull", "tap", "tank", "sink":
		if terminal == "" {
			terminal = "outlet"
		}
		w.opening(t, b, part, node, bore, terminal)
	default:
		w.junction(t, node, p)
	}
	return node
}

func (w *twin) junction(t *testing.T, node string, p map[string]any) {
	height := 0.0
	if p["height"] != nil {
		height = number(t, p["height"])
	}
	w.junctions[node] = height
}

// opening adds the reservoir behind an opening and the link to it.
func (w *twin) opening(t *testing.T, b *yamlBoat, part, node string, bore float64, terminal string) {
	p := b.Parts[part]
	w.junction(t, node, p)
	outside := part + "_" + terminal + "_x"
	if _, done := w.levels[outside]; done {
		return
	}
	height := w.junctions[node]
	level, k, d := height, 0.0, bore
	intake := p["service"] == "intake" || terminal == "outlet" || p["kind"] == "sink"
	if p["kind"] == "through-hull" {
		level = math.Max(height, 0)
	}
	for _, key := range []string{"rim", "level"} {
		if p[key] != nil {
			level = number(t, p[key])
		}
	}
	if intake && p["loss"] == nil {
		k = 0.5 // entrance, flush: EPANET table
		if p["size"] != nil {
			d = number(t, p["size"])
		}
	}
	if !intake {
		k = 1 // the velocity head lost at an outlet, on the last hose
		if d == 0 {
			d = w.lastBore(t, b, part)
		}
	}
	w.levels[outside] = level
	mid := node
	if p["loss"] != nil {
		mid = node + "_m"
		w.junctions[mid] = height
		a, c := mid, node
		if !intake {
			a, c = node, mid
		}
		w.lossLink(t, "L"+part+terminal, a, c, p["loss"])
	}
	a, c := outside, mid
	if !intake {
		a, c = mid, outside
	}
	w.pipe("X"+part+terminal, a, c, 0.001, d, 0.0015e-3, k)
}

// lastBore is the bore of the hose that ends at an opening through its seacock.
func (w *twin) lastBore(t *testing.T, b *yamlBoat, part string) float64 {
	for _, h := range b.Hoses {
		ends := []any{h["to"]}
		if p, ok := h["path"].([]any); ok {
			ends = []any{p[len(p)-1]}
		}
		if fmt.Sprint(ends[0]) == part {
			return number(t, h["bore"])
		}
	}
	t.Fatalf("no hose ends at %s", part)
	return 0
}

// lossLink is a loss by one point as K on 25 mm, or nothing.
func (w *twin) lossLink(t *testing.T, id, a, c string, loss any) {
	k := 0.0
	if m, ok := loss.(map[string]any); ok {
		p := points(t, m)
		if len(p) != 1 {
			t.Fatalf("%s: the test writes losses of one point", id)
		}
		v := p[0][0] / 60000 / (math.Pi / 4 * 0.025 * 0.025)
		k = p[0][1] * 2 * engineG / (v * v)
	}
	w.pipe(id, a, c, 0.001, 0.025, 0.0015e-3, k)
}

// inner adds the way through a part.
func (w *twin) inner(t *testing.T, b *yamlBoat, part string) {
	p := b.Parts[part]
	kind := fmt.Sprint(p["kind"])
	ends := inOut[kind]
	a, c := dot(part, ends[0]), dot(part, ends[1])
	if kind == "pump" {
		w.junction(t, a, p)
		w.junction(t, c, p)
		w.pumps = append(w.pumps, fmt.Sprintf("%s %s %s HEAD C%s", part, a, c, part))
		for _, q := range points(t, p["curve"]) {
			w.curves = append(w.curves, fmt.Sprintf("C%s %.10g %.10g", part, q[0], q[1]))
		}
		w.flow[part] = part
		return
	}
	ks := map[string]float64{"strainer": 4, "bleed": 0.6, "seacock": 3 * 0.0243} // from memory; EPANET tee run; TP-410 3 fT
	if _, two := ks[kind]; !two && kind != "aircon" && kind != "heat-exchanger" {
		return
	}
	w.junction(t, a, p)
	w.junction(t, c, p)
	if p["loss"] != nil {
		w.lossLink(t, "W"+part, a, c, p["loss"])
	} else {
		w.pipe("W"+part, a, c, 0.001, number(t, p["size"]), 0.0015e-3, ks[kind])
	}
	w.flow[part] = "W" + part
}

func (w *twin) pipe(id, a, b string, length, bore, roughness, k float64) {
	w.pipes = append(w.pipes, fmt.Sprintf("%s %s %s %.10g %.10g %.10g %.10g OPEN", id, a, b, length, bore*1e3, roughness*1e3, k))
}

func (w *twin) inp() string {
	section := func(name string, lines []string) string { return "[" + name + "]\n" + strings.Join(lines, "\n") + "\n" }
	list := func(m map[string]float64, tail string) []string {
		var out []string
		for id, v := range m {
			out = append(out, fmt.Sprintf("%s %.10g%s", id, v, tail))
		}
		sort.Strings(out)
		return out
	}
	return "[TITLE]\nboat\n" + section("JUNCTIONS", list(w.junctions, " 0")) + section("RESERVOIRS", list(w.levels, "")) +
		section("PIPES", w.pipes) + section("PUMPS", w.pumps) + section("CURVES", w.curves) +
		fmt.Sprintf("[OPTIONS]\nUNITS LPM\nHEADLOSS D-W\nVISCOSITY %.10g\nSPECIFIC GRAVITY 1\nACCURACY 1e-05\nTRIALS 500\n[TIMES]\nDURATION 0\n[END]\n", w.nu)
}

const epanetScript = `import fs from "fs";import {Project,Workspace,NodeProperty as N,LinkProperty as L,CountType as C} from "epanet-js";
const w=new Workspace();await w.loadModule();const m=new Project(w);w.writeFile("a.inp",fs.readFileSync(process.argv[1]));m.open("a.inp","a.rpt","a.out");
m.solveH();const o={flow:{},head:{}};
for(let i=1;i<=m.getCount(C.LinkCount);i++)o.flow[m.getLinkId(i)]=m.getLinkValue(i,L.Flow);
for(let i=1;i<=m.getCount(C.NodeCount);i++)o.head[m.getNodeId(i)]=m.getNodeValue(i,N.Head);
console.log(JSON.stringify(o))`

type epanetHeads struct{ Flow, Head map[string]float64 }

// runEPANET runs the npm package epanet-js beside FITOUT_EPANET_DIR or /tmp/epa.
func runEPANET(t *testing.T, inp string) epanetHeads {
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
	name := filepath.Join(t.TempDir(), "a.inp")
	if err := os.WriteFile(name, []byte(inp), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("node", "--input-type=module", "-e", epanetScript, name)
	cmd.Dir = dir
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("EPANET: %v\n%s\n%s\n%s", err, stderr.String(), out, inp)
	}
	text := string(out)
	if i := strings.Index(text, `{"flow"`); i > 0 {
		text = text[i:]
	}
	var a epanetHeads
	if err := json.Unmarshal([]byte(text), &a); err != nil {
		t.Fatalf("EPANET's answer: %v\n%.500s", err, text)
	}
	return a
}

func TestWaterAgainstEPANET(t *testing.T) {
	// Kinematic viscosities at 15 °C: sea water as in L-W1 of the outside checks
	// (from memory), fresh water IAPWS-95.
	const sea, fresh = 1.19e-6, 1.1384e-6
	for _, c := range []struct {
		file, condition string
		nu              float64
		hoses           []string
	}{
		{"testdata/water/loop.yaml", "motoring", sea, []string{"H1", "H2", "H3"}},
		{"testdata/water/two-units.yaml", "both", sea, []string{"H1", "H2", "H3", "H4", "H5"}},
		{"testdata/water/fresh.yaml", "use", fresh, []string{"H1", "H2", "H3", "H4", "H5", "H6", "H7"}},
		{"testdata/water/drain.yaml", "", sea, []string{"H1"}},
		{"../../examples/cruiser.yaml", "anchor", sea, []string{"H1", "H2"}},
	} {
		t.Run(filepath.Base(c.file), func(t *testing.T) {
			text, err := os.ReadFile(c.file)
			if err != nil {
				t.Fatal(err)
			}
			b := boattest.ReadFile(t, c.file)
			s := Of(b)
			s.gravity = engineG
			w := s.drained(t, c.condition)
			tw := writeTwin(t, string(text), nuOf(w, c.nu), c.hoses...)
			if speed := speedOf(w); speed != 1 {
				for i := range tw.pumps {
					tw.pumps[i] += fmt.Sprintf(" SPEED %.12g", speed)
				}
			}
			got := runEPANET(t, tw.inp())
			compared := 0
			for _, h := range b.Hoses {
				link, ok := tw.flow[h.ID]
				if !ok {
					continue
				}
				f, ok := w.Hose(h)
				if !ok {
					t.Errorf("%s: not solved: %v", h.ID, w.OfHose(h))
					continue
				}
				compared++
				want := got.Flow[link]
				if math.Abs(float64(f.Flow)-want) > 1e-3*math.Abs(want)+2e-3 {
					t.Errorf("flow in %s = %.6g L/min, EPANET %.6g", h.ID, float64(f.Flow), want)
				}
			}
			for _, p := range b.Parts {
				for _, term := range p.Terminals() {
					name := dot(p.ID, term.Name)
					want, ok := got.Head[name]
					if !ok {
						continue
					}
					h, ok := w.HeadAt(p, term.Name)
					if !ok {
						t.Errorf("head at %s: not solved", name)
						continue
					}
					compared++
					if math.Abs(float64(h.Head)-want) > 5e-3 {
						t.Errorf("head at %s = %.6g m, EPANET %.6g", name, float64(h.Head), want)
					}
				}
			}
			if compared < 6 {
				t.Errorf("only %d figures compared", compared)
			}
		})
	}
}

// nuOf holds the viscosity the solution used against the published one (0.5 %)
// and returns it, so that what is compared is the network.
func nuOf(w *WaterState, published float64) float64 {
	for _, c := range w.Circuits {
		if c.Worst != nil {
			if nu := float64(c.Worst.model.Fluid.Viscosity); math.Abs(nu-published) < 5e-3*published {
				return nu
			}
		}
	}
	return published
}

// speedOf is the speed ratio of the one pump that is compared.
func speedOf(w *WaterState) float64 {
	for _, c := range w.Circuits {
		for _, p := range c.Pumps {
			if f, ok := c.Worst.Pump(p); ok && p.ID == "P1" {
				return float64(f.Speed)
			}
		}
	}
	return 1
}

// drained returns the water of a condition; without one, what runs by gravity.
func (s *Survey) drained(t *testing.T, id string) *WaterState {
	t.Helper()
	for _, c := range s.Boat.Conditions {
		if c.ID == id {
			return s.Water(c)
		}
	}
	return s.Drains()
}
