package survey

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/boattest"
	"fitout/schema/unit"
	"fitout/validate/water"
)

// closeTo fails where got strays from want by more than a share and an amount.
func closeTo(t *testing.T, what string, got, want, share, amount float64) {
	t.Helper()
	if !(math.Abs(got-want) <= share*math.Abs(want)+amount) {
		t.Errorf("%s = %.9g, want %.9g", what, got, want)
	}
}

func condition(t testing.TB, b *schema.Boat, id string) *schema.Condition {
	t.Helper()
	for _, c := range b.Conditions {
		if c.ID == id {
			return c
		}
	}
	t.Fatalf("no condition %s", id)
	return nil
}

func hoseOf(t testing.TB, b *schema.Boat, id string) *schema.Hose {
	t.Helper()
	for _, h := range b.Hoses {
		if h.ID == id {
			return h
		}
	}
	t.Fatalf("no hose %s", id)
	return nil
}

// L-W1 and L-W2 of the outside checks, solved there in SI with g = 9.80665 m/s²
// and the same formulas: 0.1 % of flow and 5 mm of head (the water's viscosity is
// the published one within 0.2 %).
func TestPublishedLoops(t *testing.T) {
	for _, c := range []struct {
		file, condition string
		flows           map[string]float64
		heads           map[string]float64
	}{
		{"lw1", "run", map[string]float64{"P0": 23.44670121, "P5": 23.44670121, "P7b": 23.44670121},
			map[string]float64{"SC.out": -0.032396, "ST.out": -0.254449, "PU.in": -0.316711, "PU.out": 3.407772, "HXI.out": 3.032808, "HXO.out": 1.15238, "TOP.out": 0.858547}},
		{"lw2", "use", map[string]float64{"P1": 15.69455363, "P2a": 15.69455363, "P3a": 4.595993419, "P4a": 11.09856021, "P5a": 3.26748786, "P6a": 7.831072355, "P7a": 4.831072355, "P8": 3, "P9a": 3},
			map[string]float64{"PU.in": 0.134391, "PU.out": 8.738988, "M1": 7.366022, "M2": 6.537741, "M3": 5.929369, "GALLEY.in": 6.80129, "SINK.in": 6.297182, "SHOWER.in": 5.302553, "HEATER.out": 5.883378, "WC.in": 5.716142}},
	} {
		t.Run(c.file, func(t *testing.T) {
			b := boattest.ReadFile(t, "testdata/water/"+c.file+".yaml")
			w := Of(b).Water(condition(t, b, c.condition))
			for id, want := range c.flows {
				f, ok := w.Hose(hoseOf(t, b, id))
				if !ok {
					t.Fatalf("%s not solved: %+v", id, w.Circuits[0])
				}
				closeTo(t, "flow in "+id, float64(f.Flow), want, 1e-3, 0)
			}
			for at, want := range c.heads {
				part, terminal, _ := strings.Cut(at, ".")
				h, ok := w.HeadAt(b.Part(part), terminal)
				if !ok {
					t.Fatalf("head at %s not solved", at)
				}
				closeTo(t, "head at "+at, float64(h.Head), want, 0, 5e-3)
			}
		})
	}
}

// loop is a cooling loop with one figure of each kind open to change.
type loop struct {
	bore, lift, water, length string
	order                     []int
	condition                 string
}

func (l loop) text() string {
	parts := []string{
		`TH1: {kind: through-hull, service: intake, size: 1 in, height: -0.5 m, offset: 0.4 m}`,
		`SC1: {kind: seacock, size: 1 in, height: -0.45 m, offset: 0.4 m}`,
		`ST1: {kind: strainer, size: 1 in, height: -0.3 m, offset: 0.4 m}`,
		`P1: {kind: pump, duty: circulating, drive: ac, height: -0.4 m, offset: 0.3 m, curve: {0 L/min: 4 m head, 20 L/min: 3 m head, 36 L/min: 1 m head}}`,
		`AC1: {kind: aircon, supply: ac, capacity: 12000 BTU/h, height: 0.3 m, offset: 0.1 m, loss: {10 L/min: 0.5 m head}}`,
		`TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: ` + l.lift + `, offset: 1.2 m}`,
	}
	hoses := []string{
		`{id: H1, path: [TH1, SC1, ST1, P1, AC1.water-in], bore: ` + l.bore + `, lengths: [0.2 m, 1 m, 0.5 m, ` + l.length + `]}`,
		`{id: H2, from: AC1.water-out, to: TH2, bore: ` + l.bore + `, length: 2 m, bends: 2x90}`,
	}
	if l.order != nil {
		shuffled := make([]string, len(parts))
		for i, k := range l.order {
			shuffled[i] = parts[k]
		}
		parts = shuffled
		slices.Reverse(hoses)
	}
	return "fitout: 1\nvessel: {length: 10 m, water: " + l.water + "}\nparts:\n  " + strings.Join(parts, "\n  ") + "\nhoses:\n  - " + strings.Join(hoses, "\n  - ") +
		"\nconditions:\n  run: {running: [AC1, P1]" + l.condition + "}\n"
}

var usual = loop{bore: "19 mm", lift: "0.4 m", water: "sea", length: "2 m"}

func flowThrough(t testing.TB, text string) float64 {
	t.Helper()
	b := boattest.Read(t, text)
	w := Of(b).Water(condition(t, b, "run"))
	f, ok := w.Pump(b.Part("P1"))
	if !ok || f.State != water.Runs {
		t.Fatalf("P1 %v %+v", ok, f)
	}
	return float64(f.Flow)
}

// Physics of an unbranched circuit: flow rises with bore and falls with lift and
// length.
func TestFlowFollowsBoreAndLift(t *testing.T) {
	for name, vary := range map[string][]loop{
		"bore":   {{bore: "13 mm"}, {bore: "16 mm"}, {bore: "19 mm"}, {bore: "25 mm"}, {bore: "32 mm"}},
		"lift":   {{lift: "1.5 m"}, {lift: "1 m"}, {lift: "0.4 m"}, {lift: "0 m"}},
		"length": {{length: "20 m"}, {length: "8 m"}, {length: "2 m"}, {length: "0.5 m"}},
	} {
		last := 0.0
		for i, v := range vary {
			l := usual
			l.bore, l.lift, l.length = or(v.bore, l.bore), or(v.lift, l.lift), or(v.length, l.length)
			q := flowThrough(t, l.text())
			if q <= last {
				t.Errorf("%s, step %d: %.4g L/min is not more than %.4g", name, i, q, last)
			}
			last = q
		}
	}
}

func or(a, b string) string {
	if a != "" {
		return a
	}
	return b
}

// The same boat in the other system of units, and written in another order, has
// the same flow.
func TestUnitsAndOrder(t *testing.T) {
	metric := usual
	metric.bore = "19.05 mm"
	want := flowThrough(t, metric.text())
	imperial := strings.NewReplacer("19.05 mm", "3/4 in", "-0.5 m", "-19.68503937 in", "12000 BTU/h", "3516.852842 W", "4 m head", "13.12335958 ft head",
		"20 L/min", "5.283441047 gpm", "10 L/min", "158.5032314 gph", "0.4 m,", "1.312335958 ft,").Replace(metric.text())
	closeTo(t, "flow in inches and gallons", flowThrough(t, imperial), want, 1e-6, 0)
	rng := rand.New(rand.NewPCG(3, 5))
	for range 12 {
		metric.order = rng.Perm(6)
		closeTo(t, "flow in another order", flowThrough(t, metric.text()), want, 1e-9, 0)
	}
}

// What enters a circuit leaves it, at every point, in random branched boats; and
// nothing flows without a pump.
func TestMassBalance(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 2))
	for range 20 {
		text, tees := randomFresh(rng)
		b := boattest.Read(t, text)
		w := Of(b).Water(condition(t, b, "run"))
		for _, id := range tees {
			sum := 0.0
			for _, h := range b.Hoses {
				f, ok := w.Hose(h)
				if !ok {
					t.Fatalf("%s: %+v", h.ID, w.Circuits[0].Missing)
				}
				if h.From.Part.ID == id {
					sum -= float64(f.Flow)
				}
				if h.To.Part.ID == id {
					sum += float64(f.Flow)
				}
			}
			closeTo(t, "balance at "+id, sum, 0, 0, 1e-3)
		}
		idle := Of(b).Water(condition(t, b, "idle"))
		if len(idle.Circuits) != 0 {
			t.Errorf("water runs with no pump: %+v", idle.Circuits[0])
		}
	}
}

// randomFresh is a fresh-water system that branches at random.
func randomFresh(rng *rand.Rand) (text string, tees []string) {
	var parts, hoses []string
	parts = append(parts, `TK: {kind: tank, contents: fresh, height: 0 m, level: 0.4 m}`,
		`P1: {kind: pump, duty: pressure, drive: ac, height: 0 m, curve: {0 L/min: 25 m head, 10 L/min: 18 m head, 22 L/min: 0 m head}}`)
	hose := func(from, to string) {
		hoses = append(hoses, fmt.Sprintf(`{id: H%d, from: %s, to: %s, bore: %d mm, length: %.2f m}`, len(hoses), from, to, 10+rng.IntN(6), 0.5+4*rng.Float64()))
	}
	hose("TK.outlet", "P1.in")
	var grow func(from string, depth int)
	grow = func(from string, depth int) {
		if depth == 0 || rng.IntN(4) == 0 && depth < 3 {
			id := fmt.Sprintf("TP%d", len(parts))
			parts = append(parts, fmt.Sprintf(`%s: {kind: tap, height: %.2f m, loss: {5 L/min: %.2f m head}}`, id, 2*rng.Float64(), 1+8*rng.Float64()))
			hose(from, id+".in")
			return
		}
		id := fmt.Sprintf("T%d", len(parts))
		tees = append(tees, id)
		parts = append(parts, fmt.Sprintf(`%s: {kind: tee, height: %.2f m}`, id, rng.Float64()))
		hose(from, id)
		for range 2 + rng.IntN(2) {
			grow(id, depth-1)
		}
	}
	grow("P1.out", 3)
	return "fitout: 1\nvessel: {water: sea}\nparts:\n  " + strings.Join(parts, "\n  ") + "\nhoses:\n  - " + strings.Join(hoses, "\n  - ") + "\nconditions:\n  run: {running: [P1]}\n  idle: {}\n", tees
}

// An outlet 1.2 m to starboard is judged on both tacks: it goes under on the one,
// stands higher on the other, and less flows there.
func TestHeelIsJudgedToBothSides(t *testing.T) {
	upright := flowThrough(t, usual.text())
	heeled := usual
	heeled.condition = ", heel: 20 deg"
	b := boattest.Read(t, heeled.text())
	c := Of(b).Water(condition(t, b, "run")).Circuits[0]
	if len(c.Runs) != 2 {
		t.Fatalf("%d attitudes, want both tacks: %+v", len(c.Runs), c.Missing)
	}
	// h = z cos θ − y sin θ: 0.4 m at 1.2 m to starboard comes to −34 mm and 786 mm.
	if a := c.Worst.Attitude; a.Heel >= 0 {
		t.Errorf("worst %v, want heeled to port", a)
	}
	f, _ := c.Worst.Pump(b.Part("P1"))
	if float64(f.Flow) >= upright {
		t.Errorf("%.4g L/min with the outlet 0.79 m up, %.4g upright", float64(f.Flow), upright)
	}
	closeTo(t, "crest", float64(f.Prime.Lift), 0.4*math.Cos(20*math.Pi/180)+1.2*math.Sin(20*math.Pi/180), 0, 1e-9)
}

// A shut seacock in the condition stops the water; a datum that one circuit lacks
// leaves the other solved.
func TestValvesAndMissingData(t *testing.T) {
	shut := usual
	shut.condition = ", closed: [SC1]"
	b := boattest.Read(t, shut.text())
	f, _ := Of(b).Water(condition(t, b, "run")).Pump(b.Part("P1"))
	if f.State != water.Dry || len(f.Shut) != 1 || f.Shut[0].ID != "SC1" {
		t.Errorf("with SC1 shut: %+v", f)
	}
	two := strings.Replace(usual.text(), "hoses:\n", `  P2: {kind: pump, duty: transfer, drive: ac, height: 0 m}
  T1: {kind: tank, height: 0 m, level: 0.1 m}
  T2: {kind: tank, height: 0 m, level: 0.2 m}
hoses:
  - {id: H9, path: [T1.outlet, P2, T2.inlet], bore: 19 mm, lengths: [1 m, 1 m]}
`, 1)
	two = strings.Replace(two, "running: [AC1, P1]", "running: [AC1, P1, P2]", 1)
	b = boattest.Read(t, two)
	w := Of(b).Water(condition(t, b, "run"))
	if f, ok := w.Pump(b.Part("P1")); !ok || f.State != water.Runs {
		t.Errorf("P1 is not solved beside P2: %+v", f)
	}
	if m := w.Missing(b.Part("P2")); len(m) != 1 || m[0].Missing != "curve of P2" {
		t.Errorf("missing at P2: %+v", m)
	}
}

// Speed by voltage, affinity laws (DOE-HDBK-1012/3): head at no flow with the
// square of the speed. The voltage is a divider that can be done by hand: 12 V
// behind 0.1 ohm into 1.1 ohm gives 11 V.
func TestSpeedFollowsVoltage(t *testing.T) {
	b := boattest.Read(t, `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, emf: 12 V, resistance: 0 ohm, capacity: 100 Ah}
  P1: {kind: pump, duty: bilge, submersible: yes, volts: 12 V, draw: 130.909091 W, model: resistance, height: -0.4 m, curve: {0 L/min: 4 m head, 60 L/min: 0 m head}}
  TH1: {kind: through-hull, service: bilge, size: 1 in, height: 0.6 m, loss: 0 m head}
wires:
  - {id: 1, from: B1.+, to: P1.+, size: 2.5 mm2, length: 1 m, resistance: 0.1 ohm}
  - {id: 2, from: P1.-, to: B1.-, size: 2.5 mm2, length: 0}
hoses:
  - {id: H1, from: P1.out, to: TH1, bore: 25 mm, length: 2 m}
conditions:
  run: {running: [P1]}
`)
	f, ok := Of(b).Water(condition(t, b, "run")).Pump(b.Part("P1"))
	if !ok {
		t.Fatal("not solved")
	}
	closeTo(t, "volts", float64(f.Volts), 11, 1e-6, 0)
	closeTo(t, "head at no flow", float64(f.ShutOff), 4*(11.0/12)*(11.0/12), 1e-6, 0)
	closeTo(t, "end of the curve", float64(f.MaxFlow), 60*11.0/12, 1e-6, 0)
}

// A pump that must climb over a crest before its line runs full is held against
// the crest, not the outlet.
func TestCrestBeforeTheLineRunsFull(t *testing.T) {
	text := strings.Replace(usual.text(), "length: 2 m, bends: 2x90", "length: 2 m, peak: 4.2 m", 1)
	b := boattest.Read(t, text)
	f, _ := Of(b).Water(condition(t, b, "run")).Pump(b.Part("P1"))
	if f.State != water.CannotLift || f.Prime.At != "H2" {
		t.Errorf("4 m of head against a crest at 4.2 m: %+v", f)
	}
	closeTo(t, "lift", float64(f.Prime.Lift), 4.2, 1e-9, 0)
}

// An engine's own pump moves what it is said to need, unless the file has a pump
// on its line; in the built-in condition engines stand.
func TestOwnPumpOfAnEngine(t *testing.T) {
	const text = `
fitout: 1
parts:
  TH1: {kind: through-hull, service: intake, size: 1 in, height: -0.5 m}
  EN1: {kind: engine, fuel: diesel, flow: 30 L/min, injection: 0.2 m, height: 0 m}
hoses:
  - {id: H1, from: TH1, to: EN1.water-in, bore: 25 mm, length: 1.5 m}
conditions:
  run: {engine: 2000 rpm}
`
	b := boattest.Read(t, text)
	s := Of(b)
	e, ok := s.Water(condition(t, b, "run")).Equipment(b.Part("EN1"))
	if !ok || e.Flow != 30 {
		t.Errorf("own pump: %v %+v", ok, e)
	}
	if w := s.Water(condition(t, b, "all")); len(w.Circuits) != 0 {
		t.Errorf("the engine's water runs in the built-in condition")
	}
	other := strings.Replace(text, "from: TH1, to: EN1.water-in, bore: 25 mm, length: 1.5 m", "path: [TH1, P1, EN1.water-in], bore: 25 mm, lengths: [0.5 m, 1 m]", 1)
	other = strings.Replace(other, "hoses:", "  P1: {kind: pump, duty: circulating, drive: engine, height: -0.2 m, curve: {0 L/min: 6 m head, 50 L/min: 0 m head}}\nhoses:", 1)
	b = boattest.Read(t, other)
	w := Of(b).Water(condition(t, b, "run"))
	if m := w.Missing(b.Part("EN1")); len(m) != 1 || m[0].Missing != "loss of EN1" {
		t.Errorf("behind a pump with a curve the engine's loss counts: %+v", m)
	}
}

// Water that stays in a dip: a V of hose 25 mm wide, 1 m each way from 0 to
// −0.5 m, full to its lower sill at −0.3 m: 0.4 m of the one leg and 0.4 m of the
// other, π/4·25² mm² · 0.8 m = 0.393 L.
func TestTrappedWater(t *testing.T) {
	b := boattest.Read(t, `
fitout: 1
spaces: {bilge: {bilge: yes}}
hoses:
  - {id: H1, from: {open: bilge, height: 0 m}, to: {open: bilge, height: -0.3 m}, bore: 25 mm, length: 2 m, dip: -0.5 m}
`)
	lines := Of(b).Lines()
	if len(lines) != 1 || len(lines[0].Low) != 1 {
		t.Fatalf("%+v", lines)
	}
	// Legs of 1 m: the first falls 0.5 m, the second rises 0.2 m and is full.
	low := lines[0].Low[0]
	closeTo(t, "litres", float64(low.Volume)*1e3, math.Pi/4*0.025*0.025*(0.4+1)*1e3, 1e-9, 0)
	if low.At != "H1" || low.Height != -0.5 {
		t.Errorf("low point %+v", low)
	}
}

// C10 of the outside checks, Torricelli: 25 mm, 0.5 m below the water, Cd 0.61,
// 56.2615 L/min. Time to fill: closed form for a constant inflow (hole above the
// water inside): area · rise / flow.
func TestHoseOff(t *testing.T) {
	b := boattest.Read(t, `
fitout: 1
vessel: {length: 9 m, laden: 0.1 m}
spaces: {engine: {sole: -0.9 m, area: 2 m2}}
parts:
  TH1: {kind: through-hull, service: intake, size: 25 mm, height: -0.4 m, space: engine, seacock: {id: SC1, reach: 60 s, space: engine}}
  AL1: {kind: alarm, senses: water, watches: engine, height: -0.8 m, space: engine}
`)
	s := Of(b)
	f, _ := s.Inflow(b.Part("TH1"))
	closeTo(t, "frictionless", float64(f.Frictionless), 56.2615/0.61, 1e-5, 0)
	closeTo(t, "short tube", float64(f.ShortTube), 56.2615/0.61*0.8, 1e-5, 0)
	d := s.Drownings()[0]
	q := 56.2615 / 0.61 * 0.8 / 60000
	closeTo(t, "seconds to the alarm", float64(d.Told.After)*3600, 2*0.1/q, 1e-5, 0)
	closeTo(t, "seconds to the valve", float64(d.Covered.After)*3600, 2*0.5/q, 1e-5, 0)
	closeTo(t, "seconds to the person", float64(d.Person.After)*3600, 2*0.1/q+60, 1e-5, 0)
	if d.Drowns() {
		t.Error("a person is there at 223 s, the water over the valve at 813 s")
	}
}

// The system curve meets the pump's at the working point.
func TestPumpDiagram(t *testing.T) {
	b := boattest.Read(t, usual.text())
	d, missing, err := Of(b).PumpDiagram(condition(t, b, "run"), b.Part("P1"))
	if err != nil || len(missing) > 0 {
		t.Fatal(missing, err)
	}
	at := func(list []water.Point, q unit.LitrePerMin) float64 {
		for i := 1; i < len(list); i++ {
			if list[i].Flow >= q {
				k := float64(q-list[i-1].Flow) / float64(list[i].Flow-list[i-1].Flow)
				return float64(list[i-1].Head)*(1-k) + float64(list[i].Head)*k
			}
		}
		return math.NaN()
	}
	closeTo(t, "pump curve at the working point", at(d.Curve, d.Works.Flow), float64(d.Works.Head), 0, 0.01)
	closeTo(t, "system curve at the working point", at(d.System, d.Works.Flow), float64(d.Works.Head), 0, 0.01)
	closeTo(t, "system curve at no flow: outlet above the sea", float64(d.System[0].Head), 0.4, 0, 1e-3)
}

// A bilge pump with its free flow alone counts half: Ocean Navigator 2021 and Gulf
// Coast Fisherman 2017.
func TestBilgeOutput(t *testing.T) {
	b := boattest.Read(t, `
fitout: 1
parts:
  BP1: {kind: pump, duty: bilge, submersible: yes, drive: ac, flow: 60 L/min}
`)
	out := Of(b).BilgeOutputs()
	if len(out) != 1 || !out[0].Derated {
		t.Fatalf("%+v", out)
	}
	closeTo(t, "output", float64(out[0].Flow), 30, 1e-9, 0)
}

// Heat: C11 of the outside checks, 3 kW into 20 L/min of sea water (1025.98 kg/m³,
// 3993.1 J/(kg K)) is 2.196815 K; and back from two thermometers.
func TestHeat(t *testing.T) {
	text := strings.Replace(usual.text(), "capacity: 12000 BTU/h", "capacity: 2.4 kW", 1)
	b := boattest.Read(t, text)
	s := Of(b)
	w := s.Water(condition(t, b, "run"))
	e, _ := w.Equipment(b.Part("AC1"))
	closeTo(t, "heat given to the water, 1.25 × 2.4 kW", float64(e.Heat), 3000, 1e-9, 0)
	closeTo(t, "rise", float64(e.Rise)*float64(e.Flow), 2.196815*20, 1e-3, 0)
	q, _ := s.FlowFromThermometers(condition(t, b, "run"), b.Part("AC1"), e.Rise)
	closeTo(t, "flow from the rise", float64(q), float64(e.Flow), 1e-9, 0)
	closeTo(t, "need at 5.6 K", float64(e.Needs), 2.196815*20/(50.0/9), 1e-3, 0)
}
