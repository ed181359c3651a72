package survey_test

import (
	"bufio"
	"context"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fitout/schema"
	"fitout/schema/boattest"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// simulator returns the path of ngspice. Where it is missing the test is skipped,
// unless FITOUT_REQUIRE_ENGINES=1.
func simulator(t *testing.T) string {
	path, err := exec.LookPath("ngspice")
	if err == nil {
		return path
	}
	if os.Getenv("FITOUT_REQUIRE_ENGINES") == "1" {
		t.Fatal("ngspice is not installed and FITOUT_REQUIRE_ENGINES=1 asks for it")
	}
	t.Skip("ngspice is not installed: the cross-check is left out")
	return ""
}

// spice runs a deck and returns what it printed, by name.
func spice(t *testing.T, d *deckBoat, reference string, volts float64, extra ...string) map[string]float64 {
	dir := t.TempDir()
	ref := d.n(reference)
	var b strings.Builder
	b.WriteString("boat\n")
	fmt.Fprintf(&b, "vref %s 0 dc 0\n", ref)
	for _, l := range append(append([]string(nil), d.lines...), extra...) {
		b.WriteString(l + "\n")
	}
	// checks.md, section 1: seed every node, tie floating groups, print all digits.
	b.WriteString(".options reltol=1e-9 abstol=1e-12 vntol=1e-9 gmin=1e-20 itl1=500 pivrel=0.9 rshunt=1e12\n")
	for terminal, k := range d.node {
		v := volts
		if strings.HasSuffix(terminal, "-") || terminal == reference {
			v = 0
		}
		fmt.Fprintf(&b, ".nodeset v(n%d)=%g\n", k, v)
	}
	b.WriteString(".control\nset numdgt=15\nop\nprint all > result.txt\nquit\n.endc\n.end\n")
	if err := os.WriteFile(filepath.Join(dir, "deck.cir"), []byte(b.String()), 0o666); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	cmd := exec.CommandContext(ctx, simulator(t), "-b", "deck.cir")
	cmd.Dir = dir
	out, _ := cmd.CombinedOutput()
	f, err := os.Open(filepath.Join(dir, "result.txt"))
	if err != nil {
		t.Fatalf("ngspice gave no result:\n%s\n%s", out, b.String())
	}
	defer f.Close()
	got := map[string]float64{}
	for sc := bufio.NewScanner(f); sc.Scan(); {
		if name, value, ok := strings.Cut(sc.Text(), " = "); ok {
			got[strings.TrimSpace(name)] = atof(strings.TrimSpace(value))
		}
	}
	if len(got) < len(d.node) {
		t.Fatalf("ngspice found no operating point:\n%s\n%s", out, b.String())
	}
	return got
}

func (d *deckBoat) volts(got map[string]float64, terminal string) (float64, bool) {
	id, _, _ := strings.Cut(terminal, ".")
	if d.joint(id) {
		terminal = id
	}
	k, ok := d.node[terminal]
	v, has := got[fmt.Sprintf("n%d", k)]
	return v, ok && has
}

// near: within 0.1 % or 1 mV / 1 mA.
func near(a, b float64) bool { return math.Abs(a-b) <= math.Max(1e-3, 1e-3*math.Abs(b)) }

const twoSources = `
fitout: 1
parts:
  B1: {kind: battery, volts: 12 V, emf: 12.8 V, resistance: 4 mohm}
  B2: {kind: battery, volts: 12 V, emf: 12.55 V, resistance: 7 mohm}
  PB: {kind: bus, rating: 200 A, polarity: positive}
  NB: {kind: bus, rating: 200 A, polarity: negative}
  L1: {kind: load, draw: 40 A}
wires:
  - {id: 1, path: [B1.+, {F1: {kind: fuse, family: class-t, rating: 150 A}}, PB], size: 35 mm2, lengths: [0.2 m, 1 m]}
  - {id: 2, path: [B2.+, {F2: {kind: fuse, family: class-t, rating: 150 A}}, PB], size: 2 AWG, lengths: [0.5 ft, 4 ft]}
  - {id: 3, from: NB, to: B1.-, size: 35 mm2, length: 1.2 m}
  - {id: 4, from: NB, to: B2.-, size: 35 mm2, length: 1.4 m, parallel: 2}
circuits:
  - {id: C1, feed: PB, load: L1, return: NB, size: 16 mm2, length: 3 m}
conditions:
  on: {running: [L1]}
`

const constantPower = `
fitout: 1
spaces: {engine: {engine: yes, ambient: 60 °C}}
parts:
  B1: {kind: battery, volts: 24 V, emf: 25.6 V, resistance: 8 mohm}
  DP: {kind: panel, rating: 100 A, ways: {1: {rating: 40 A}, 2: {rating: 20 A}, 3: {rating: 15 A, family: blade}}}
  NB: {kind: bus, rating: 200 A, polarity: negative}
  H1: {kind: heater, draw: 600 W, volts: 24 V}
  L1: {kind: light, draw: 60 W, volts: 24 V, model: resistance, count: 3, space: engine}
  R1: {kind: electronics, draw: 5 A, volts: 24 V, model: power}
wires:
  - {id: 1, path: [B1.+, {F1: {kind: fuse, family: class-t, rating: 100 A}}, {S1: {kind: switch, rating: 200 A}}, DP.in], size: 16 mm2, lengths: [0.2 m, 0.5 m, 6 m]}
  - {id: 2, path: [NB, {SH1: {kind: shunt, rating: 300 A, millivolts: 50 mV}}, B1.-], size: 16 mm2, lengths: [6 m, 0.5 m]}
circuits:
  - {id: C1, feed: DP.1, load: H1, return: NB, size: 6 mm2, length: 8 m}
  - {id: C2, feed: DP.2, load: L1, return: NB, size: 2.5 mm2, length: 9 m}
  - {id: C3, feed: DP.3, load: R1, return: NB, size: 1.5 mm2, length: 5 m}
conditions:
  on: {running: [H1, L1, R1]}
`

// crossBoat is one boat held against the simulator in some of its conditions, and
// with a short at some of its devices.
type crossBoat struct {
	name, file, text string
	conditions       []string
	shorts           []string
	volts            float64
}

var crossBoats = []crossBoat{
	{name: "cruiser", file: "../../examples/cruiser.yaml", conditions: []string{"anchor", "motoring", "all"}, shorts: []string{"F1", "F13", "F20"}, volts: 12.8},
	{name: "dayboat", file: "../../examples/dayboat.yaml", conditions: []string{"day", "unattended", "all"}, shorts: []string{"F1", "F2"}, volts: 12.8},
	{name: "yacht", file: "../../examples/yacht.yaml", conditions: []string{"sailing", "night"}, volts: 12.8},
	{name: "workboat", file: "../../examples/workboat.yaml", conditions: []string{"alongside"}, shorts: []string{"F2", "F5"}, volts: 25},
	{name: "tired", file: "../../examples/tired.yaml", conditions: []string{"anchor"}, shorts: []string{"F2", "F3"}, volts: 12.6},
	{name: "two unequal sources", text: twoSources, conditions: []string{"on"}, shorts: []string{"F1", "F2"}, volts: 12.6},
	{name: "constant power", text: constantPower, conditions: []string{"on"}, shorts: []string{"F1"}, volts: 25.6},
	{name: "L-DC10", file: "../../testdata/boats/l-dc10.yaml", conditions: []string{"on"}, shorts: []string{"F1", "CB1", "CB2"}, volts: 12.7},
}

func (c crossBoat) read(t *testing.T) (*survey.Survey, []byte) {
	text := []byte(c.text)
	if c.file != "" {
		var err error
		if text, err = os.ReadFile(c.file); err != nil {
			t.Fatal(err)
		}
	}
	return survey.Of(boattest.Read(t, string(text))), text
}

func condition(t *testing.T, s *survey.Survey, id string) *schema.Condition {
	for _, c := range s.Conditions() {
		if c.ID == id {
			return c
		}
	}
	t.Fatalf("no condition %s", id)
	return nil
}

// TestAgainstNgspice holds every voltage and every wire's current of each boat
// against ngspice, whose deck is written from the boat's text by the code of
// ngspice_deck_test.go.
func TestAgainstNgspice(t *testing.T) {
	simulator(t)
	for _, boat := range crossBoats {
		for _, id := range boat.conditions {
			t.Run(boat.name+"/"+id, func(t *testing.T) {
				s, text := boat.read(t)
				state := s.DC(condition(t, s, id))
				if !state.Solved() {
					t.Fatalf("no solution: %v %v", state.Trouble, state.Missing)
				}
				deck := loadDeck(t, text)
				cond, _ := decode(t, text)["conditions"].(map[string]any)[id].(map[string]any)
				deck.write(cond, id == "all")
				got := spice(t, deck, s.Reference(), boat.volts)
				compareVolts(t, s, state, deck, got)
				compareAmps(t, s, state, deck, got)
			})
		}
	}
}

func compareVolts(t *testing.T, s *survey.Survey, state *survey.DCState, deck *deckBoat, got map[string]float64) {
	count := 0
	for _, p := range s.Boat.Parts {
		for _, term := range p.Terminals() {
			v, ok := state.Volts(p, term.Name)
			want, known := deck.volts(got, survey.TerminalName(p, term.Name))
			if twoWay(p) || !ok || !known {
				continue
			}
			count++
			if !near(float64(v), want) {
				t.Errorf("%s.%s: %.6f V, ngspice %.6f V", p.ID, term.Name, float64(v), want)
			}
		}
	}
	if count < 4 {
		t.Errorf("only %d voltages were compared", count)
	}
}

// twoWay parts may be met either way round by the two readers.
func twoWay(p *schema.Part) bool {
	_, in := p.Terminal("in")
	_, out := p.Terminal("out")
	return in && out && !p.Is(schema.Panel)
}

func compareAmps(t *testing.T, s *survey.Survey, state *survey.DCState, deck *deckBoat, got map[string]float64) {
	byID := map[string]deckWire{}
	for _, w := range deck.wires {
		byID[w.id] = w
	}
	count := 0
	for _, w := range s.Boat.Wires {
		if w.Medium != schema.DC || w.Implied {
			continue
		}
		x, ok := byID[w.ID]
		if !ok {
			t.Errorf("the deck has no wire %s", w.ID)
			continue
		}
		a, known := state.Amps(w)
		v1, ok1 := deck.volts(got, x.from)
		v2, ok2 := deck.volts(got, x.to)
		if !known || !ok1 || !ok2 || x.ohms < 1e-9 {
			continue
		}
		count++
		// the current by the simulator's own voltages, cut off where they have no
		// digits left
		want := (v1 - v2) / x.ohms
		if !near(float64(a), want) && math.Abs(float64(a)-want)*x.ohms > 1e-9 {
			t.Errorf("wire %s: %.6f A, ngspice %.6f A", w.ID, float64(a), want)
		}
		if r, ok := state.Ohms(w); !ok || math.Abs(float64(r)-x.ohms) > 1e-6*x.ohms {
			t.Errorf("wire %s: %.9g Ω, by hand %.9g Ω", w.ID, float64(r), x.ohms)
		}
	}
	if count < 4 {
		t.Errorf("only %d currents were compared", count)
	}
}

// TestShortsAgainstNgspice holds prospective currents against ngspice: every load
// and converter removed, contacts as they give most, copper at 20 °C, batteries
// at the low end of their internal resistance, alternators and chargers at their
// limits; the device a link, both its ends joined to the return.
func TestShortsAgainstNgspice(t *testing.T) {
	simulator(t)
	for _, boat := range crossBoats {
		for _, device := range boat.shorts {
			t.Run(boat.name+"/"+device, func(t *testing.T) {
				s, text := boat.read(t)
				p := s.Boat.Part(device)
				edge := -1
				for i := range s.Net.Edges {
					if e := &s.Net.Edges[i]; e.Part == p && e.Type == trace.Device {
						edge = i
					}
				}
				x := s.FaultAt(edge)
				if !x.Known || x.Trouble != "" {
					t.Fatalf("no figure: %v %s", x.Missing, x.Trouble)
				}
				deck := loadDeck(t, text)
				delete(deck.parts, device)
				deck.network(func(string, string) bool { return true }, true)
				deck.shortSources()
				a, b, ret := deck.n(device+".in"), deck.n(device+".out"), deck.n(x.Return)
				got := spice(t, deck, x.Return, 0,
					fmt.Sprintf("vfa %s %s dc 0", a, ret), fmt.Sprintf("vfb %s %s dc 0", b, ret))
				want := math.Max(math.Abs(got["vfa#branch"]), math.Abs(got["vfb#branch"]))
				if !near(float64(x.Amps), want) {
					t.Errorf("%s: %.4f A, ngspice %.4f A", device, float64(x.Amps), want)
				}
			})
		}
	}
}

// shortSources writes what feeds a short.
func (d *deckBoat) shortSources() {
	for _, id := range d.order {
		p := d.parts[id]
		s := safe(id)
		limit := func(plus, minus string, amps float64) {
			d.line("ia%s %s %s dc %.17g", safe(plus), d.n(id+"."+minus), d.n(id+"."+plus), amps)
		}
		switch fmt.Sprint(p["kind"]) {
		case "battery":
			emf, ohms := d.battery(id, 1, true)
			d.line("vb%s x%s %s dc %.17g", s, s, d.n(id+".-"), emf)
			d.line("rb%s x%s %s %.17g", s, s, d.n(id+".+"), ohms)
		case "alternator":
			d.line("ia%s %s %s dc %.17g", s, d.n(id+".-"), d.n(id+".+"), d.curve(p["output"], 1e6))
		case "charger":
			if n := fmt.Sprint(p["outputs"]); n == "2" {
				limit("+1", "-", d.num(p["output"]))
				limit("+2", "-", d.num(p["output"]))
			} else {
				d.line("ia%s %s %s dc %.17g", s, d.n(id+".-"), d.n(id+".+"), d.num(p["output"]))
			}
		case "inverter-charger":
			d.line("ia%s %s %s dc %.17g", s, d.n(id+".-"), d.n(id+".+"), d.num(p["output"]))
		case "dc-charger", "converter":
			d.line("vn%s %s %s dc 0", s, d.n(id+".in-"), d.n(id+".out-"))
			d.line("ia%s %s %s dc %.17g", s, d.n(id+".out-"), d.n(id+".out+"), d.num(p["output"]))
		}
	}
}
