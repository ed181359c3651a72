package survey_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fitout/schema/boattest"
	"fitout/validate/survey"
)

func failureOf(t *testing.T, list []survey.Failure, name string) *survey.Failure {
	t.Helper()
	for i := range list {
		if list[i].String() == name {
			return &list[i]
		}
	}
	t.Fatalf("no failure %q", name)
	return nil
}

// jet is Torricelli's law with the coefficient of a short tube (0.8; Molesworth's
// pocket-book 0.81), worked here: litres a minute out of a bore under a head.
func jet(bore, head float64) float64 {
	if head <= 0 {
		return 0
	}
	return 0.8 * math.Pi / 4 * bore * bore * math.Sqrt(2*9.80665*head) * 60000
}

func close3(a, b float64) bool { return math.Abs(a-b) <= 1e-3*math.Max(math.Abs(a), math.Abs(b))+1e-9 }

const sweptLine = `fitout: 1
vessel: {length: 10 m, beam: 3 m, heel: 10 deg, laden: 0.05 m}
spaces:
  engine: {engine: yes, fuel: diesel, sole: -0.7 m, area: 2 m2}
parts:
  TH1: {kind: through-hull, service: intake, size: 25 mm, space: engine, height: -0.5 m, offset: 1 m, station: 5 m, seacock: {id: SC1}}
  SR1: {kind: strainer, size: 25 mm, space: engine, height: -0.3 m, offset: 1 m, station: 5 m}
  EN1: {kind: engine, space: engine, injection: 0.1 m, height: -0.1 m, offset: 0 m, station: 5 m}
  VL1: {kind: vented-loop, size: 25 mm, space: engine, height: 0.8 m, offset: 0 m, station: 5 m}
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, space: engine, height: -0.6 m}
hoses:
  - {id: H1, path: [TH1, SR1, EN1.water-in], bore: 20 mm, lengths: [1 m, 1 m]}
  - {id: H2, path: [EN1.water-out, VL1, EN1.elbow], bore: 20 mm, lengths: [1 m, 1 m]}
`

// Inflows of one line against Torricelli, upright and heeled by hand: a place at
// height z and offset y stands at z cos θ − y sin θ; the sea stands at the laden
// 0.05 m.
func TestSweepInflowByHand(t *testing.T) {
	list := survey.Of(boattest.Read(t, sweptLine)).Sweep()
	heeled := func(z, y float64) float64 {
		a := 10 * math.Pi / 180
		return z*math.Cos(a) - y*math.Sin(a)
	}
	for _, c := range []struct {
		name           string
		bore, z, y     float64
		valves, siphon bool
	}{
		{"TH1 lets go", 0.025, -0.5, 1, false, false},
		{"H1a off its fitting or burst", 0.025, -0.5, 1, true, false}, // at the seacock
		{"SR1 lid off or bowl broken", 0.020, -0.3, 1, true, false},   // through the hose
		{"H1b off its fitting or burst", 0.020, -0.3, 1, true, false}, // at the strainer
	} {
		f := failureOf(t, list, c.name)
		if len(f.Floods) == 0 {
			t.Errorf("%s: nothing comes in", c.name)
			continue
		}
		x := f.Floods[0]
		if want := jet(c.bore, 0.05-c.z); !close3(float64(x.AtRest), want) {
			t.Errorf("%s: %v L/min at rest; Torricelli says %v", c.name, x.AtRest, want)
		}
		if want := jet(c.bore, 0.05-heeled(c.z, c.y)); !close3(float64(x.Worst), want) || x.In.Heel != 10 {
			t.Errorf("%s: %v L/min %s; heeled to starboard Torricelli says %v", c.name, x.Worst, x.In, want)
		}
		if (len(x.Valves) == 1) != c.valves || x.Siphon != c.siphon {
			t.Errorf("%s: valves %v, siphon %v", c.name, x.Valves, x.Siphon)
		}
	}
	// The battery at −0.6 m stands under the opening: until the water is there the
	// jet is free, so the time is area × height / inflow.
	x := failureOf(t, list, "TH1 lets go").Floods[0]
	for _, r := range x.Covers {
		if r.What == "battery B1" {
			want := 2 * 0.1 / (jet(0.025, 0.55) / 60000) / 3600
			if !r.ShortTube.Reached || !close3(float64(r.ShortTube.After), want) {
				t.Errorf("the battery is under after %v h; by hand %v h", r.ShortTube.After, want)
			}
		}
	}
	// The vent is all that keeps the sea out of the engine: injection 0.1 m.
	if f := failureOf(t, list, "VL1 vent clogged"); len(f.Fills) != 1 || f.Fills[0].ID != "EN1" {
		t.Errorf("VL1 clogged fills %v", f.Fills)
	}
	if f := failureOf(t, list, "SC1 stuck shut"); len(f.Dry) != 1 || f.Dry[0].ID != "EN1" {
		t.Errorf("SC1 shut leaves %v dry", f.Dry)
	}
	if f := failureOf(t, list, "SC1 stuck open"); f.Unshut == nil || !close3(float64(f.Unshut.ShortTube), jet(0.025, 0.55)) {
		t.Errorf("SC1 open: %v", f.Unshut)
	}
}

// Hoses off in random nets of tees against a search of the test's own: every joint
// that a through-hull under water can get to, and what the lowest place there
// gives. No vents, one bore, upright.
func TestSweepFloodsAgainstSearch(t *testing.T) {
	type hose struct {
		id   string
		a, b int
	}
	floods, dry, siphons := 0, 0, 0
	for seed := range uint64(120) {
		r := rand.New(rand.NewPCG(seed, 11))
		tees, hulls := 3+r.IntN(5), 1+r.IntN(3)
		z := make([]float64, tees+hulls)
		shut := make([]bool, hulls)
		var parts, lines strings.Builder
		for i := range z {
			z[i] = math.Round((r.Float64()*1.2-0.7)*100) / 100
			if z[i] == 0 {
				z[i] = 0.01
			}
		}
		for i := range tees {
			fmt.Fprintf(&parts, "  T%d: {kind: tee, size: 25 mm, height: %v m}\n", i, z[i])
		}
		for i := range hulls {
			position := "open"
			if shut[i] = r.IntN(4) == 0; shut[i] {
				position = "closed"
			}
			fmt.Fprintf(&parts, "  TH%d: {kind: through-hull, service: intake, size: 25 mm, height: %v m, seacock: {id: SC%d, position: %s}}\n", i, z[tees+i], i, position)
		}
		var hoses []hose
		name := func(n int) string {
			if n < tees {
				return fmt.Sprintf("T%d", n)
			}
			return fmt.Sprintf("TH%d", n-tees)
		}
		join := func(a, b int) {
			id := fmt.Sprintf("H%d", len(hoses))
			hoses = append(hoses, hose{id, a, b})
			fmt.Fprintf(&lines, "  - {id: %s, from: %s, to: %s, bore: 25 mm, length: 1 m}\n", id, name(a), name(b))
		}
		for i := range hulls {
			join(tees+i, r.IntN(tees))
		}
		for i := 1; i < tees; i++ {
			if r.IntN(5) > 0 {
				join(r.IntN(i), i)
			}
		}
		for range r.IntN(3) {
			if a, b := r.IntN(tees), r.IntN(tees); a != b {
				join(a, b)
			}
		}
		text := "fitout: 1\nvessel: {length: 10 m, heel: 0 deg}\nparts:\n" + parts.String() + "hoses:\n" + lines.String()
		list := survey.Of(boattest.Read(t, text)).Sweep()
		for _, off := range hoses {
			// what each through-hull reaches without the hose, wet all the way or not
			want, siphon := make([]float64, hulls), make([]bool, hulls)
			for h := range hulls {
				if shut[h] || z[tees+h] >= 0 {
					continue
				}
				reach := func(under bool) map[int]bool {
					seen := map[int]bool{tees + h: true}
					for again := true; again; {
						again = false
						for _, x := range hoses {
							if x.id == off.id {
								continue
							}
							for _, e := range [][2]int{{x.a, x.b}, {x.b, x.a}} {
								// a through-hull's valve lies behind it
								if e[1] >= tees && shut[e[1]-tees] {
									continue
								}
								if seen[e[0]] && !seen[e[1]] && (!under || z[e[1]] < 0) {
									seen[e[1]], again = true, true
								}
							}
						}
					}
					return seen
				}
				all, wet := reach(false), reach(true)
				for _, e := range [][2]int{{off.a, off.b}, {off.b, off.a}} {
					if !all[e[0]] {
						continue
					}
					for _, place := range e {
						if q := jet(0.025, -z[place]); q > want[h]+1e-9 {
							want[h], siphon[h] = q, !wet[e[0]]
						}
					}
				}
			}
			f := failureOf(t, list, off.id+" off its fitting or burst")
			have := map[string]survey.Inrush{}
			for _, x := range f.Floods {
				have[x.Sea.ID] = x
			}
			for h := range hulls {
				x, ok := have[name(tees+h)]
				if ok != (want[h] > 0) || ok && !close3(float64(x.AtRest), want[h]) {
					t.Fatalf("net %d, %s off: by %s %v L/min; the search says %v\n%s", seed, off.id, name(tees+h), x.AtRest, want[h], text)
				}
				if ok {
					floods++
					if x.Siphon != siphon[h] {
						t.Errorf("net %d, %s off: by %s siphon %v; the search says %v\n%s", seed, off.id, name(tees+h), x.Siphon, siphon[h], text)
					}
					if siphon[h] {
						siphons++
					}
				} else {
					dry++
				}
			}
		}
	}
	if floods < 300 || dry < 100 || siphons < 20 {
		t.Errorf("the nets try too little: %d floods, %d dry, %d siphons", floods, dry, siphons)
	}
}

// Conductors that a bypassed fuse leaves bare against every set of devices: the
// cheapest set that parts a conductor's end from all batteries, tried one by one.
func TestSweepBareAgainstEverySubset(t *testing.T) {
	type link struct {
		id     string
		a, b   int
		rating float64 // 0: a plain wire
	}
	bare, held := 0, 0
	for seed := range uint64(60) {
		r := rand.New(rand.NewPCG(seed, 5))
		buses := 3 + r.IntN(3)
		nodes := buses
		var parts, wires strings.Builder
		var links []link
		wire := func(a, b int) {
			links = append(links, link{fmt.Sprintf("W%d", len(links)), a, b, 0})
		}
		names := map[int]string{}
		for i := range buses {
			names[i] = fmt.Sprintf("P%d", i)
			fmt.Fprintf(&parts, "  P%d: {kind: bus, polarity: positive}\n", i)
		}
		fmt.Fprint(&parts, "  BN: {kind: bus, polarity: negative}\n")
		fuse := func(a, b int) {
			rating := []float64{10, 20, 40, 60}[r.IntN(4)]
			id := fmt.Sprintf("F%d", len(names))
			fmt.Fprintf(&parts, "  %s: {kind: fuse, family: class-t, rating: %v A}\n", id, rating)
			in, out := nodes, nodes+1
			nodes += 2
			names[in], names[out] = id+".in", id+".out"
			links = append(links, link{id, in, out, rating})
			wire(a, in)
			wire(out, b)
		}
		var posts []int
		for i := range 1 + r.IntN(2) {
			fmt.Fprintf(&parts, "  B%d: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}\n", i)
			post := nodes
			nodes++
			names[post] = fmt.Sprintf("B%d.+", i)
			posts = append(posts, post)
			fuse(post, r.IntN(buses))
		}
		for range 2 + r.IntN(4) {
			a, b := r.IntN(buses), r.IntN(buses)
			if a == b {
				continue
			}
			if r.IntN(3) == 0 {
				wire(a, b)
			} else {
				fuse(a, b)
			}
		}
		for _, l := range links {
			if l.rating == 0 {
				fmt.Fprintf(&wires, "  - {id: %s, from: %s, to: %s, size: 2.5 mm2, length: 1 m}\n", l.id, names[l.a], names[l.b])
			}
		}
		for i := range posts {
			fmt.Fprintf(&wires, "  - {id: N%d, from: B%d.-, to: BN, size: 16 mm2, length: 1 m}\n", i, i)
		}
		text := "fitout: 1\nparts:\n" + parts.String() + "wires:\n" + wires.String()
		boat := boattest.Read(t, text)
		s := survey.Of(boat)
		list := s.Sweep()
		var fuses []int
		for i, l := range links {
			if l.rating > 0 {
				fuses = append(fuses, i)
			}
		}
		// cheapest is the least sum of ratings that parts a joint from every post
		// with the wire away and one fuse a link.
		cheapest := func(from, away, bypass int) float64 {
			best := math.Inf(1)
			for set := range 1 << len(fuses) {
				cost, gone := 0.0, map[int]bool{away: true}
				for k, i := range fuses {
					if set>>k&1 == 1 {
						cost += links[i].rating
						gone[i] = true
						if i == bypass {
							cost = math.Inf(1)
						}
					}
				}
				if cost >= best {
					continue
				}
				seen := map[int]bool{from: true}
				for again := true; again; {
					again = false
					for i, l := range links {
						if !gone[i] && seen[l.a] != seen[l.b] {
							seen[l.a], seen[l.b], again = true, true, true
						}
					}
				}
				if !slices.ContainsFunc(posts, func(p int) bool { return seen[p] }) {
					best = cost
				}
			}
			return best
		}
		for _, fi := range fuses {
			f := failureOf(t, list, links[fi].id+" replaced by a link")
			var have, want []string
			for _, b := range f.Bare {
				have = append(have, b.Wire.Ref())
			}
			for wi, l := range links {
				if l.rating > 0 {
					continue
				}
				ampacity := 0.0
				for _, w := range boat.Wires {
					if w.Ref() == l.id {
						a, missing := s.Ampacity(w, s.Sets()[0])
						if missing != "" {
							t.Fatal(missing)
						}
						ampacity = float64(a.Amps)
					}
				}
				for _, end := range []int{l.a, l.b} {
					before, after := cheapest(end, wi, -1), cheapest(end, wi, fi)
					if after > before && after > ampacity {
						want = append(want, l.id)
						break
					}
				}
			}
			slices.Sort(have)
			slices.Sort(want)
			if !slices.Equal(have, want) {
				t.Fatalf("boat %d, %s bypassed: bare %v; every subset says %v\n%s", seed, links[fi].id, have, want, text)
			}
			bare, held = bare+len(want), held+1
		}
	}
	if bare < 100 || held < 100 {
		t.Errorf("the boats try too little: %d bare wires, %d fuses", bare, held)
	}
}

// A short opens the fuse before it and takes along what that feeds; ahead of every
// fuse nothing opens.
func TestSweepShorts(t *testing.T) {
	list := survey.Of(boattest.Read(t, `fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  P: {kind: bus, polarity: positive}
  L1: {kind: light, draw: 1 A}
  BP1: {kind: pump, duty: bilge, draw: 5 A, automatic: yes, space: bilge}
spaces: {bilge: {bilge: yes}}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 60 A}, P], size: 16 mm2, lengths: [0.1 m, 1 m]}
  - {id: 2, path: [P, {F2: blade 5 A}, L1.+], size: 1.5 mm2, lengths: [0.1 m, 1 m]}
  - {id: 3, path: [P, {F3: blade 10 A}, BP1.+], size: 2.5 mm2, lengths: [0.1 m, 1 m]}
  - {id: 4, from: L1.-, to: B1.-, size: 1.5 mm2, length: 1 m}
  - {id: 5, from: BP1.-, to: B1.-, size: 2.5 mm2, length: 1 m}
`)).Sweep()
	for _, c := range []struct{ name, opens, source, dead, spaces string }{
		{"2b shorted to minus", "F2", "", "L1", ""},
		{"1b shorted to minus", "F1", "", "L1 BP1", "bilge"},
		{"1a shorted to minus", "", "B1", "L1 BP1", "bilge"},
		{"3b shorted to minus", "F3", "", "BP1", "bilge"},
		{"F2 opens", "", "", "L1", ""},
		{"F3 opens", "", "", "BP1", "bilge"},
		{"BP1 stops", "", "", "", "bilge"},
	} {
		f := failureOf(t, list, c.name)
		var spaces []string
		for _, sp := range f.Unpumped {
			spaces = append(spaces, sp.ID)
		}
		if strings.Join(f.Opens, " ") != c.opens || strings.Join(partIDs(f.NoDevice), " ") != c.source || strings.Join(partIDs(f.Dead), " ") != c.dead || strings.Join(spaces, " ") != c.spaces {
			t.Errorf("%s: opens %v, fed by %v, dead %v, unpumped %v", c.name, f.Opens, partIDs(f.NoDevice), partIDs(f.Dead), spaces)
		}
	}
	for i := 1; i < len(list); i++ {
		if !list[i-1].Costs() && list[i].Costs() {
			t.Errorf("%s costs nothing and stands before %s", list[i-1].String(), list[i].String())
		}
	}
}

// A datum that is missing is named, never passed in silence: the rating of the
// fuse that is bypassed, that of the one before it, the size of a wire, the height
// of a joint.
func TestSweepNamesWhatIsMissing(t *testing.T) {
	list := survey.Of(boattest.Read(t, `fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  P: {kind: bus, polarity: positive}
  L1: {kind: light, draw: 1 A}
  TH1: {kind: through-hull, service: intake, size: 25 mm, height: -0.5 m, offset: 0 m, station: 1 m, seacock: {id: SC1}}
  SR1: {kind: strainer, size: 25 mm}
  EN1: {kind: engine}
wires:
  - {id: 1, path: [B1.+, {F1: {kind: fuse, family: class-t}}, P], size: 16 mm2, lengths: [0.1 m, 1 m]}
  - {id: 2, path: [P, {F2: blade 5 A}, L1.+], size: 1.5 mm2, lengths: [0.1 m, 1 m]}
  - {id: 3, path: [P, {F3: blade 5 A}, L1.+], lengths: [0.1 m, 1 m]}
  - {id: 4, from: L1.-, to: B1.-, size: 1.5 mm2, length: 1 m}
hoses:
  - {id: H1, path: [TH1, SR1, EN1.water-in], bore: 25 mm, lengths: [1 m, 1 m]}
`)).Sweep()
	for name, want := range map[string]string{
		"F1 replaced by a link":        "rating of F1",
		"F2 replaced by a link":        "rating of F1",
		"F3 replaced by a link":        "size of wire 3b",
		"H1b off its fitting or burst": "height of SR1",
		"SR1 lid off or bowl broken":   "height of SR1",
	} {
		f := failureOf(t, list, name)
		if !slices.ContainsFunc(f.Missing, func(d survey.Datum) bool { return d.Missing == want }) {
			t.Errorf("%s: missing %v; %q was wanted", name, f.Missing, want)
		}
		if !f.Costs() {
			t.Errorf("%s counts as harmless", name)
		}
	}
}

// A clogged vent lets the sea over a crest, by Torricelli from the rim; a second
// loop in the line keeps it out; a rim above the sea stays dry.
func TestSweepSiphonByHand(t *testing.T) {
	for _, c := range []struct {
		name, rim, second string
		want              float64
	}{
		{"one loop", "-0.2 m", "", jet(0.019, 0.2)},
		{"a second loop", "-0.2 m", "VL2, ", 0},
		{"rim above the sea", "0.2 m", "", 0},
	} {
		lengths := "[1 m, 1 m, 1 m]"
		if c.second != "" {
			lengths = "[1 m, 1 m, 1 m, 1 m]"
		}
		list := survey.Of(boattest.Read(t, fmt.Sprintf(`fitout: 1
vessel: {length: 10 m, heel: 0 deg}
parts:
  SK1: {kind: sink, size: 25 mm, rim: %s, height: -0.3 m}
  P1: {kind: pump, duty: sump, height: -0.3 m, inlet: 25 mm, outlet: 19 mm}
  VL1: {kind: vented-loop, size: 19 mm, height: 0.6 m}
  VL2: {kind: vented-loop, size: 19 mm, height: 0.7 m}
  TH1: {kind: through-hull, service: drain, size: 25 mm, height: -0.4 m, seacock: {id: SC1}}
hoses:
  - {id: H0, from: SK1.out, to: P1.in, bore: 25 mm, length: 1 m}
  - {id: H1, path: [P1.out, VL1, %sTH1], bore: 19 mm, lengths: %s}
`, c.rim, c.second, strings.Replace(lengths, "1 m, ", "", 1)))).Sweep()
		f := failureOf(t, list, "VL1 vent clogged")
		got := 0.0
		for _, x := range f.Floods {
			got += float64(x.AtRest)
			if !x.Siphon || x.Sea.ID != "TH1" || len(x.Valves) != 1 {
				t.Errorf("%s: %+v", c.name, x)
			}
		}
		if !close3(got, c.want) {
			t.Errorf("%s: %v L/min; by hand %v", c.name, got, c.want)
		}
	}
}
