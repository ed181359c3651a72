package dc_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"fitout/schema/unit"
	"fitout/validate/dc"
)

// deck is a circuit written twice: as a network, and as an ngspice deck by the
// table in checks.md, section 1. Node 0 is the reference.
type deck struct {
	net    dc.Network
	lines  []string
	seed   []float64 // no-load voltage of each node: picks the high root
	probes []probe
}

// probe is a current that the deck can tell: of a voltage source in it.
type probe struct {
	name string
	id   dc.ID
}

func (d *deck) node(seed float64) dc.Node {
	d.seed = append(d.seed, seed)
	return d.net.Node()
}

func spice(n dc.Node) string {
	if n == 0 {
		return "0"
	}
	return fmt.Sprintf("n%d", n)
}

func (d *deck) line(format string, args ...any) {
	d.lines = append(d.lines, fmt.Sprintf(format, args...))
}

func (d *deck) battery(pos, neg dc.Node, e, r float64) {
	id := d.net.Add(dc.EMF{Pos: pos, Neg: neg, E: unit.Volt(e), R: unit.Ohm(r)})
	d.line("vb%d x%d %s dc %.17g", id, id, spice(neg), e)
	d.line("rb%d x%d %s %.17g", id, id, spice(pos), r)
	d.probes = append(d.probes, probe{fmt.Sprintf("vb%d#branch", id), id})
}

func (d *deck) wire(a, b dc.Node, r float64) {
	id := d.net.Add(dc.Resistor{From: a, To: b, R: unit.Ohm(r)})
	d.line("rw%d %s %s %.17g", id, spice(a), spice(b), r)
}

func (d *deck) load(r *rand.Rand, p, m dc.Node) {
	switch r.IntN(6) {
	case 0, 1:
		i := 0.2 + 4*r.Float64()
		id := d.net.Add(dc.CurrentLoad{Pos: p, Neg: m, I: unit.Amp(i)})
		d.line("il%d %s %s dc %.17g", id, spice(p), spice(m), i)
	case 2, 3:
		w := 5 + 60*r.Float64()
		id := d.net.Add(dc.PowerLoad{Pos: p, Neg: m, P: unit.Watt(w)})
		d.line("bl%d %s %s i=%.17g/v(%s,%s)", id, spice(p), spice(m), w, spice(p), spice(m))
	case 4:
		ohm := 2 * math.Pow(100, r.Float64())
		id := d.net.Add(dc.ResistanceLoad{Pos: p, Neg: m, R: unit.Ohm(ohm)})
		d.line("rl%d %s %s %.17g", id, spice(p), spice(m), ohm)
	default:
		d.converter(r, p, m)
	}
}

// converter adds one of the three kinds of the table: holding voltage behind a
// droop, holding current into a battery, or a source of power on the bus.
func (d *deck) converter(r *rand.Rand, p, m dc.Node) {
	v := []float64{5, 12, 24, 48}[r.IntN(4)]
	eff, idle := 0.8+0.2*r.Float64(), 3*r.Float64()
	op, om := d.node(v), d.node(0)
	d.line("rg%d %s 0 1e-3", om, spice(om)) // isolated outputs need a reference in the deck
	d.net.Add(dc.Resistor{From: om, To: 0, R: 1e-3})
	base := dc.Converter{InPos: p, InNeg: m, OutPos: op, OutNeg: om, Efficiency: unit.Ratio(eff), Idle: unit.Watt(idle), Isolated: true}
	in, im, o, on := spice(p), spice(m), spice(op), spice(om)
	switch r.IntN(3) {
	case 0:
		base.Output = dc.Output{V: unit.Volt(v), Droop: 0.0015}
		id := d.net.Add(base)
		d.line("vo%d y%d %s dc %.17g", id, id, on, v)
		d.line("ro%d y%d %s 0.0015", id, id, o)
		d.line("bi%d %s %s i=(%.17g-v(%s,%s)*i(vo%d)/%.17g)/v(%s,%s)", id, in, im, idle, o, on, id, eff, in, im)
		d.probes = append(d.probes, probe{fmt.Sprintf("vo%d#branch", id), id})
		far, back := d.node(v), d.node(0)
		d.wire(op, far, 0.01)
		d.wire(back, om, 0.01)
		w := 5 + 30*r.Float64()
		load := d.net.Add(dc.PowerLoad{Pos: far, Neg: back, P: unit.Watt(w)})
		d.line("bl%d %s %s i=%.17g/v(%s,%s)", load, spice(far), spice(back), w, spice(far), spice(back))
	case 1:
		amps := 0.5 + 3*r.Float64()
		base.Output = dc.Output{V: unit.Volt(v * 1.2), MaxI: unit.Amp(amps)}
		id := d.net.Add(base)
		d.line("io%d %s %s dc %.17g", id, on, o, amps)
		d.line("bi%d %s %s i=(%.17g+v(%s,%s)*%.17g/%.17g)/v(%s,%s)", id, in, im, idle, o, on, amps, eff, in, im)
		d.battery(op, om, v, 0.02)
	default:
		amps := 0.5 + 2*r.Float64()
		base.Output = dc.Output{V: unit.Volt(v)}
		id := d.net.Add(base)
		d.line("vo%d %s %s dc %.17g", id, o, on, v)
		d.line("bi%d %s %s i=(%.17g-v(%s,%s)*i(vo%d)/%.17g)/v(%s,%s)", id, in, im, idle, o, on, id, eff, in, im)
		d.probes = append(d.probes, probe{fmt.Sprintf("vo%d#branch", id), id})
		load := d.net.Add(dc.CurrentLoad{Pos: op, Neg: om, I: unit.Amp(amps)})
		d.line("il%d %s %s dc %.17g", load, o, on, amps)
	}
}

func randomDeck(r *rand.Rand, circuits int) *deck {
	d := &deck{}
	minus, plus := d.node(0), d.node(12.8)
	d.net.Ground(minus)
	ohms := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, r.Float64()) * 40 / float64(40+circuits) }
	for range 1 + r.IntN(3) {
		post := d.node(12.8)
		d.battery(post, minus, 12.4+0.6*r.Float64(), 0.002+0.008*r.Float64())
		d.wire(post, plus, ohms(4e-4, 2e-3))
	}
	// A solar controller as a source of power.
	w := 50 + 300*r.Float64()
	sun := d.net.Add(dc.Source{Pos: plus, Neg: minus, Output: dc.Output{V: 60, MaxP: unit.Watt(w)}})
	d.line("bs%d %s %s i=-%.17g/v(%s,%s)", sun, spice(plus), spice(minus), w, spice(plus), spice(minus))
	ps, ms := []dc.Node{plus}, []dc.Node{minus}
	for range circuits/6 + 1 {
		p, m := d.node(12.8), d.node(0)
		d.wire(plus, p, ohms(5e-4, 5e-3))
		d.wire(m, minus, ohms(5e-4, 5e-3))
		ps, ms = append(ps, p), append(ms, m)
	}
	for range circuits / 5 {
		if a, b := ps[r.IntN(len(ps))], ps[r.IntN(len(ps))]; a != b {
			d.wire(a, b, ohms(1e-3, 1e-2))
		}
	}
	for range circuits {
		p, m := d.node(12.8), d.node(0)
		d.wire(ps[r.IntN(len(ps))], p, ohms(4e-3, 6e-2))
		d.wire(m, ms[r.IntN(len(ms))], ohms(4e-3, 6e-2))
		d.load(r, p, m)
	}
	return d
}

// text writes the deck with the options of checks.md.
func (d *deck) text(result, pivrel string, faults []string) string {
	var b strings.Builder
	b.WriteString("random installation\n")
	for _, l := range d.lines {
		b.WriteString(l + "\n")
	}
	for _, l := range faults {
		b.WriteString(l + "\n")
	}
	fmt.Fprintf(&b, ".options reltol=1e-9 abstol=1e-12 vntol=1e-9 gmin=1e-20 itl1=500 pivrel=%s\n", pivrel)
	if faults == nil {
		for k, v := range d.seed[1:] {
			fmt.Fprintf(&b, ".nodeset v(n%d)=%g\n", k+1, v)
		}
	} else {
		b.WriteString(".options rshunt=1e12\n")
	}
	fmt.Fprintf(&b, ".control\nset numdgt=15\nop\nprint all > %s\nquit\n.endc\n.end\n", result)
	return b.String()
}

func (d *deck) run(t testing.TB, ngspice, pivrel string) (map[string]float64, error) {
	dir := t.TempDir()
	result := filepath.Join(dir, "result.txt")
	return simulate(ngspice, dir, result, d.text(result, pivrel, nil))
}

func simulate(ngspice, dir, result, text string) (map[string]float64, error) {
	file := filepath.Join(dir, "circuit.cir")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		return nil, err
	}
	ctx, stop := context.WithTimeout(context.Background(), time.Minute) // it can step for ever
	defer stop()
	cmd := exec.CommandContext(ctx, ngspice, "-b", file)
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	if err != nil {
		return nil, fmt.Errorf("%w: %s", err, out)
	}
	lines, err := os.ReadFile(result)
	if err != nil {
		return nil, fmt.Errorf("%w: %s", err, out)
	}
	values := map[string]float64{}
	for _, l := range strings.Split(string(lines), "\n") {
		if name, value, ok := strings.Cut(l, " = "); ok {
			if v, err := strconv.ParseFloat(strings.TrimSpace(value), 64); err == nil {
				values[strings.TrimSpace(name)] = v
			}
		}
	}
	return values, nil
}

// engine finds ngspice; where engines are required its absence is a failure.
func engine(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("ngspice")
	if err != nil {
		if os.Getenv("FITOUT_REQUIRE_ENGINES") == "1" {
			t.Fatal("ngspice is not installed and FITOUT_REQUIRE_ENGINES=1 asks for it")
		}
		t.Skip("NOT CHECKED against ngspice: it is not installed (apt-get install ngspice)")
	}
	return path
}

// Every voltage and the current of every battery and converter of random
// installations, with constant-power loads and unequal batteries in parallel,
// against ngspice: within 1e-7 relative or 1e-6 V and A. The issue asks for
// 0.1 % or 1 mV.
func TestNgspiceAgrees(t *testing.T) {
	path := engine(t)
	r := rand.New(rand.NewPCG(51, 52))
	for trial := range 24 {
		d := randomDeck(r, 1+r.IntN(40))
		s, err := dc.Solve(&d.net)
		if err != nil {
			t.Fatalf("trial %d: %v", trial, err)
		}
		// A deck in several hundred goes wrong in ngspice with one pivot
		// setting (checks.md, trap 7); it is asked a second time then.
		var bad string
		for _, pivrel := range []string{"0.9", "0.3"} {
			values, err := d.run(t, path, pivrel)
			if err != nil {
				t.Fatal(err)
			}
			if bad = d.differs(s, values); bad == "" {
				break
			}
		}
		if bad != "" {
			t.Errorf("trial %d: %s", trial, bad)
		}
	}
}

// differs names the first figure that does not agree.
func (d *deck) differs(s *dc.Solution, values map[string]float64) string {
	apart := func(name string, got float64) string {
		want, ok := values[name]
		if !ok {
			return name + " is missing in the result"
		}
		if math.Abs(got-want) > 1e-6+1e-7*math.Abs(want) {
			return fmt.Sprintf("%s: %.12g, ngspice %.12g", name, got, want)
		}
		return ""
	}
	for k := range d.seed[1:] {
		v, ok := s.Volts(dc.Node(k + 1))
		if !ok {
			return fmt.Sprintf("node %d has no volts", k+1)
		}
		if bad := apart(fmt.Sprintf("n%d", k+1), float64(v)); bad != "" {
			return bad
		}
	}
	for _, p := range d.probes {
		if bad := apart(p.name, -float64(s.Amps[p.id])); bad != "" {
			return bad
		}
	}
	return ""
}

// A short at random nodes of the same installations, loads and converters
// removed: the deck keeps batteries and wires, and one ideal source of 0 V.
func TestNgspiceAgreesOnShorts(t *testing.T) {
	path := engine(t)
	r := rand.New(rand.NewPCG(61, 62))
	for trial := range 12 {
		d := randomDeck(r, 1+r.IntN(25))
		var bare deck
		bare.seed = d.seed
		nodes, elements := d.net.Len()
		bare.net.Nodes(nodes)
		for _, l := range d.lines {
			if strings.HasPrefix(l, "vb") || strings.HasPrefix(l, "rb") || strings.HasPrefix(l, "rw") || strings.HasPrefix(l, "rg") {
				bare.lines = append(bare.lines, l)
			}
		}
		for k := range elements {
			switch e := d.net.Element(dc.ID(k)).(type) {
			case dc.Source, dc.Converter: // not in the deck: its limit would add
			default:
				bare.net.Add(e)
			}
		}
		f, err := dc.NewFaults(&bare.net)
		if err != nil {
			t.Fatal(err)
		}
		for range 4 {
			node := dc.Node(1 + r.IntN(nodes-1))
			got, err := f.At(node, 0)
			if err != nil {
				t.Fatal(err)
			}
			dir := t.TempDir()
			result := filepath.Join(dir, "result.txt")
			values, err := simulate(path, dir, result, bare.text(result, "0.9", []string{"vfault " + spice(node) + " 0 dc 0"}))
			if err != nil {
				t.Fatal(err)
			}
			want, ok := values["vfault#branch"]
			if !ok || math.Abs(float64(got.Total)-want) > 1e-6+1e-7*math.Abs(want) {
				t.Errorf("trial %d, node %d: %.10g A, ngspice %.10g A (%v)", trial, node, got.Total, want, ok)
			}
		}
	}
}
