package survey_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/boattest"
	"fitout/validate/survey"
)

// joint, link and giver are the test's own picture of a random boat: it knows
// nothing of the net the survey walks over.
type link struct{ id, a, b string }

type giver struct {
	id, out string
	in      string // "" lives on nothing
	when    func(survey.Regime) bool
	battery bool
}

type randomBoat struct {
	text   string
	links  []link
	givers []giver
	loads  map[string]string // load, joint
}

func always(survey.Regime) bool { return true }

// newRandomBoat is some buses with batteries, links through fuses and closed
// switches, an alternator, a solar controller's stand-in, battery-to-battery
// chargers with and without an engine, and loads, all on one common minus.
func newRandomBoat(r *rand.Rand) randomBoat {
	var parts, wires strings.Builder
	b := randomBoat{loads: map[string]string{}}
	n := 0
	wire := func(format string, args ...any) {
		n++
		fmt.Fprintf(&wires, "  - {id: W%d, size: 6 mm2, "+format+"}\n", append([]any{n}, args...)...)
	}
	part := func(id, format string, args ...any) { fmt.Fprintf(&parts, "  "+id+": {"+format+"}\n", args...) }
	part("BN", "kind: bus, polarity: negative")
	part("EN1", "kind: engine")
	buses := 2 + r.IntN(4)
	bus := func() string { return fmt.Sprintf("P%d", r.IntN(buses)) }
	for i := range buses {
		part(fmt.Sprintf("P%d", i), "kind: bus, polarity: positive")
	}
	// fused joins a terminal to a bus through a fuse of its own.
	fused := func(id, terminal, to string) {
		f := "F" + id + strings.Trim(terminal, "+-.")
		wire("path: [%s.%s, {%s: class-t 50 A}, %s], lengths: [0.1 m, 1 m]", id, terminal, f, to)
		b.links = append(b.links, link{f, id + "." + terminal, to})
	}
	for i := range 1 + r.IntN(3) {
		id := fmt.Sprintf("B%d", i)
		part(id, "kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah")
		fused(id, "+", bus())
		wire("from: %s.-, to: BN, length: 1 m", id)
		b.givers = append(b.givers, giver{id, id + ".+", "", always, true})
	}
	for i := range r.IntN(4) {
		id, from, to := fmt.Sprintf("S%d", i), bus(), bus()
		if from == to {
			continue
		}
		part(id, "kind: switch")
		wire("path: [%s, %s, %s], lengths: [1 m, 1 m]", from, id, to)
		b.links = append(b.links, link{id, from, to})
	}
	if r.IntN(2) == 0 {
		part("ALT", "kind: alternator, volts: 14 V, output: {1000 rpm: 50 A}, engine: EN1, case-grounded: no")
		fused("ALT", "+", bus())
		wire("from: ALT.-, to: BN, length: 1 m")
		b.givers = append(b.givers, giver{"ALT", "ALT.+", "", func(g survey.Regime) bool { return g == survey.EngineRuns }, false})
	}
	if r.IntN(2) == 0 {
		part("PV", "kind: solar, volts: 14 V, power: 100 W")
		fused("PV", "+", bus())
		wire("from: PV.-, to: BN, length: 1 m")
		b.givers = append(b.givers, giver{"PV", "PV.+", "", func(g survey.Regime) bool { return g == survey.SunShines }, false})
	}
	for i := range r.IntN(3) {
		id, engine := fmt.Sprintf("DC%d", i), ""
		when := func(g survey.Regime) bool { return g != survey.Standing }
		if r.IntN(2) == 0 {
			engine, when = ", engine: EN1", func(g survey.Regime) bool { return g == survey.EngineRuns }
		}
		part(id, "kind: dc-charger, in-volts: 12 V, volts: 14 V, output: 20 A%s", engine)
		fused(id, "in+", bus())
		fused(id, "out+", bus())
		wire("from: %s.in-, to: BN, length: 1 m", id)
		b.givers = append(b.givers, giver{id, id + ".out+", id + ".in+", when, false})
		b.loads[id] = id + ".in+"
	}
	for i := range 2 + r.IntN(5) {
		id := fmt.Sprintf("L%d", i)
		part(id, "kind: light, draw: 1 A")
		fused(id, "+", bus())
		wire("from: %s.-, to: BN, length: 1 m", id)
		b.loads[id] = id + ".+"
	}
	b.text = "fitout: 1\nparts:\n" + parts.String() + "wires:\n" + wires.String()
	return b
}

// reached floods from the givers over the links until nothing grows.
func (b *randomBoat) reached(r survey.Regime, gone string, batteries bool, without map[string]bool) map[string]bool {
	seen := map[string]bool{}
	for again := true; again; {
		again = false
		mark := func(j string) {
			if !seen[j] {
				seen[j], again = true, true
			}
		}
		for _, g := range b.givers {
			if g.id != gone && !without[g.id] && g.when(r) && (batteries || !g.battery) && (g.in == "" || seen[g.in]) {
				mark(g.out)
			}
		}
		for _, l := range b.links {
			if l.id == gone || l.a == gone || l.b == gone { // a bus takes its wires along
				continue
			}
			if seen[l.a] {
				mark(l.b)
			}
			if seen[l.b] {
				mark(l.a)
			}
		}
	}
	return seen
}

var allRegimes = []survey.Regime{survey.Standing, survey.Relayed, survey.EngineRuns, survey.SunShines, survey.OnShore}

// Every loss of random boats against a search of the test's own: the part taken
// away, what each source reaches in each regime flooded anew.
func TestLossesAgainstSearch(t *testing.T) {
	dead, only, flat, fading := 0, 0, 0, 0
	for seed := range uint64(150) {
		b := newRandomBoat(rand.New(rand.NewPCG(seed, 7)))
		boat := boattest.Read(t, b.text)
		s := survey.Of(boat)
		for _, p := range boat.Parts {
			if p.ID == "BN" || p.ID == "EN1" {
				continue
			}
			l := s.Lost(p, "")
			var wantDead, wantOnly, wantFlat, wantFading []string
			charged := func(gone string) map[string]bool {
				out := map[string]bool{}
				for _, r := range []survey.Regime{survey.EngineRuns, survey.SunShines} {
					for j := range b.reached(r, gone, false, nil) {
						out[j] = true
					}
				}
				return out
			}
			before, after := charged("-"), charged(p.ID)
			spent := map[string]bool{}
			for _, g := range b.givers {
				if g.battery && g.id != p.ID && before[g.out] && !after[g.out] {
					wantFlat = append(wantFlat, g.id)
					spent[g.id] = true
				}
			}
			for id, joint := range b.loads {
				if id == p.ID {
					continue
				}
				had, lost, left := false, false, false
				for _, r := range allRegimes {
					x, y := b.reached(r, "-", true, nil)[joint], b.reached(r, p.ID, true, nil)[joint]
					had, lost, left = had || x, lost || x && !y, left || y
				}
				switch {
				case had && lost && !left:
					wantDead = append(wantDead, id)
				case had && lost:
					wantOnly = append(wantOnly, id)
				}
				if b.reached(survey.Standing, p.ID, true, nil)[joint] && !b.reached(survey.Standing, p.ID, true, spent)[joint] {
					wantFading = append(wantFading, id)
				}
			}
			var haveOnly []string
			for _, k := range l.Only {
				haveOnly = append(haveOnly, k.Part.ID)
			}
			for _, x := range []struct {
				what       string
				have, want []string
			}{{"dead", partIDs(l.Dead), wantDead}, {"only", haveOnly, wantOnly}, {"uncharged", partIDs(l.Uncharged), wantFlat}, {"fading", partIDs(l.Fading), wantFading}} {
				slices.Sort(x.have)
				slices.Sort(x.want)
				if !slices.Equal(x.have, x.want) {
					t.Fatalf("boat %d, %s away: %s %v, the search says %v\n%s", seed, p.ID, x.what, x.have, x.want, b.text)
				}
			}
			dead, only, flat, fading = dead+len(wantDead), only+len(wantOnly), flat+len(wantFlat), fading+len(wantFading)
		}
	}
	if dead < 500 || only < 50 || flat < 50 || fading < 50 {
		t.Errorf("the boats try too little: %d dead, %d only, %d uncharged, %d fading", dead, only, flat, fading)
	}
}

func partIDs(list []*schema.Part) []string {
	var out []string
	for _, p := range list {
		out = append(out, p.ID)
	}
	return out
}

// What a relay, a hand switch and an engine change, on boats small enough to see.
func TestLossesByHand(t *testing.T) {
	const head = `fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  BN: {kind: bus, polarity: negative}
`
	const minus = "  - {id: 90, from: B1.-, to: BN, size: 6 mm2, length: 1 m}\n"
	for _, c := range []struct{ name, text, gone, want string }{
		{"the fuse of a relay's coil kills what the relay feeds", head + `  K1: {kind: relay, position: open}
  S1: {kind: switch, position: open}
  W1: {kind: windlass, draw: 80 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 100 A}, K1.in], size: 25 mm2, lengths: [0.1 m, 1 m]}
  - {id: 2, from: K1.out, to: W1.+, size: 25 mm2, length: 1 m}
  - {id: 3, path: [B1.+, {F2: blade 5 A}, S1, K1.coil+], size: 1.5 mm2, lengths: [0.1 m, 1 m, 1 m]}
  - {id: 4, from: K1.coil-, to: BN, size: 1.5 mm2, length: 1 m}
  - {id: 5, from: W1.-, to: BN, size: 25 mm2, length: 1 m}
` + minus, "F2", "dead W1"},
		{"a float dead, the hand switch brings the pump back", head + `  P1: {kind: pump, duty: bilge, draw: 5 A}
  FS1: {kind: float-switch}
  S1: {kind: switch, position: open}
  U: {kind: bus, polarity: positive}
  V: {kind: stud}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, U], size: 2.5 mm2, lengths: [0.1 m, 1 m]}
  - {id: 2, path: [U, FS1, V], size: 2.5 mm2, lengths: [1 m, 1 m]}
  - {id: 3, path: [U, S1, V], size: 2.5 mm2, lengths: [1 m, 1 m]}
  - {id: 4, from: V, to: P1.+, size: 2.5 mm2, length: 1 m}
  - {id: 5, from: P1.-, to: BN, size: 2.5 mm2, length: 1 m}
` + minus, "FS1", "dead P1 hand P1 by S1"},
		{"a combining relay feeds only while something charges", head + `  B2: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  K1: {kind: relay, type: combining}
  ALT: {kind: alternator, volts: 14 V, output: {1000 rpm: 50 A}, engine: EN1}
  EN1: {kind: engine}
  U: {kind: bus, polarity: positive}
  L1: {kind: light, draw: 1 A}
wires:
  - {id: 1, from: ALT.+, to: B1.+, size: 16 mm2, length: 1 m}
  - {id: 2, path: [B1.+, K1, U], size: 16 mm2, lengths: [1 m, 1 m]}
  - {id: 3, path: [B2.+, {F1: class-t 60 A}, U], size: 16 mm2, lengths: [0.1 m, 1 m]}
  - {id: 4, path: [U, {F2: blade 5 A}, L1.+], size: 1.5 mm2, lengths: [0.1 m, 1 m]}
  - {id: 5, from: L1.-, to: BN, size: 1.5 mm2, length: 1 m}
  - {id: 6, from: B2.-, to: BN, size: 16 mm2, length: 1 m}
` + minus, "F1", "only L1 while the engine runs uncharged B2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := boattest.Read(t, c.text)
			l := survey.Of(b).Lost(b.Part(c.gone), "")
			var out []string
			for _, p := range l.Dead {
				out = append(out, "dead "+p.ID)
			}
			for _, k := range l.Only {
				out = append(out, "only "+k.Part.ID+" "+k.While())
			}
			for _, p := range l.Uncharged {
				out = append(out, "uncharged "+p.ID)
			}
			for _, h := range l.Hand {
				out = append(out, "hand "+h.Part.ID+" by "+h.Switch.ID)
			}
			if got := strings.Join(out, " "); got != c.want {
				t.Errorf("%s away: %q; wanted %q", c.gone, got, c.want)
			}
		})
	}
}

// A load that runs has its relay closed: what a coil or float moves and stands
// open at rest carries the load's current wherever the load is named, and a
// condition's own word wins. A person's switch stays as it stands, save in the
// built-in condition, in which every load runs.
func TestRunningLoadClosesItsRelay(t *testing.T) {
	b := boattest.Read(t, `fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, emf: 12.6 V}
  K1: {kind: relay, position: open}
  S1: {kind: switch, position: open}
  W1: {kind: windlass, draw: 80 A, model: current}
  L1: {kind: light, draw: 2 A, model: current}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 100 A}, K1, W1.+], size: 25 mm2, lengths: [0.1 m, 1 m, 1 m]}
  - {id: 2, path: [B1.+, {F2: blade 5 A}, S1, L1.+], size: 25 mm2, lengths: [0.1 m, 1 m, 1 m]}
  - {id: 3, from: W1.-, to: B1.-, size: 25 mm2, length: 1 m}
  - {id: 4, from: L1.-, to: B1.-, size: 2.5 mm2, length: 1 m}
conditions:
  up: {running: [W1]}
  rest: {running: [L1]}
  stuck: {running: [W1], open: [K1]}
`)
	s := survey.Of(b)
	for id, want := range map[string][2]float64{"up": {80, 0}, "rest": {0, 0}, "stuck": {0, 0}, "all": {80, 2}} {
		for _, c := range b.Conditions {
			if c.ID != id {
				continue
			}
			for k, fuse := range []string{"F1", "F2"} {
				amps, ok := s.DC(c).DeviceAmps(b.Part(fuse), "")
				if !ok || float64(amps) < want[k]-1e-6 || float64(amps) > want[k]+1e-6 {
					t.Errorf("%s: %s carries %v A (%v); wanted %v", id, fuse, float64(amps), ok, want[k])
				}
			}
		}
	}
}
