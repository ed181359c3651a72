package pack

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/boattest"
	"fitout/validate/survey"
)

func makerOf(t *testing.T, b *schema.Boat) *maker {
	t.Helper()
	m, err := newMaker(inputOf(b), Options{For: Owner})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// rowsOf are the rows of a block that is a table, each as one line.
func rowsOf(t *testing.T, b block) []string {
	t.Helper()
	tb, ok := b.(rows)
	if !ok {
		t.Fatalf("%T is no table", b)
	}
	var out []string
	for _, r := range tb.Rows {
		out = append(out, strings.Join(r, "|"))
	}
	return out
}

const inLine = `
fitout: 1
vessel: {name: Test, hull: motor}
spaces: {bilge: {bilge: yes}, helm: {}}
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, space: helm}
  F1: {kind: fuse, family: single-bolt, rating: 100 A, space: helm}
  S1: {kind: switch, space: helm}
  N1: {kind: bus, space: helm}
  M1: {kind: bus, space: helm}
  F2: {kind: fuse, family: blade, rating: 5 A, space: bilge}
  F3: {kind: fuse, family: blade, rating: 5 A, space: helm}
  BP1: {kind: pump, duty: bilge, draw: 4 A, submersible: yes, automatic: yes, space: bilge}
  L1: {kind: light, draw: 1 A, space: helm}
  M: {kind: bus, space: helm}
wires:
  - {id: 1, from: B1.+, to: F1.in, size: 16 mm2, length: 0.1 m}
  - {id: 2, from: F1.out, to: M1, size: 16 mm2, length: 1 m}
  - {id: 3, from: M1, to: F2.in, size: 2.5 mm2, length: 1 m}
  - {id: 4, from: F2.out, to: BP1.+, size: 2.5 mm2, length: 1 m}
  - {id: 5, from: M1, to: S1.in, size: 16 mm2, length: 1 m}
  - {id: 6, from: S1.out, to: F3.in, size: 2.5 mm2, length: 1 m}
  - {id: 7, from: F3.out, to: L1.+, size: 2.5 mm2, length: 1 m}
  - {id: 8, from: L1.-, to: N1, size: 2.5 mm2, length: 1 m}
  - {id: 9, from: BP1.-, to: N1, size: 2.5 mm2, length: 1 m}
  - {id: 10, from: N1, to: B1.-, size: 16 mm2, length: 1 m}
`

// The leaving card says of a pump on an in-line fuse that this fuse stays in: the
// fuse at the pump, not the main fuse ahead of it, not that of a lamp. Behind the
// switch that is turned off nothing stays.
func TestInLineFuseStaysIn(t *testing.T) {
	staying := func(text string) (ids []string) {
		m := makerOf(t, boattest.Read(t, text))
		for _, r := range rowsOf(t, m.leaveSwitches(nil)) {
			if cells := strings.Split(r, "|"); cells[4] == "STAYS IN" {
				ids = append(ids, cells[1]+" "+cells[5])
			}
		}
		return ids
	}
	if got := staying(inLine); !slices.Equal(got, []string{"F2 BP1 pump pumps the bilge"}) {
		t.Errorf("stays in: %q", got)
	}
	behind := strings.Replace(inLine, "from: M1, to: F2.in", "from: S1.out, to: F2.in", 1)
	if got := staying(behind); len(got) != 0 {
		t.Errorf("behind the switch stays in: %q", got)
	}
}

// What a line of hoses holds is a cylinder: the bores and lengths of the file,
// added here by hand from its text.
func TestFrostAfloat(t *testing.T) {
	m := makerOf(t, boattest.ReadFile(t, examples+"yacht.yaml"))
	lines := rowsOf(t, m.frostAfloat())
	find := func(id string) string {
		for _, r := range lines {
			if strings.HasPrefix(strings.Split(r, "|")[1], id+" ") {
				return r
			}
		}
		t.Fatalf("no row of %s in %q", id, lines)
		return ""
	}
	litres := func(bore, metres float64) float64 { return 1000 * math.Pi / 4 * bore * bore * metres }
	for id, want := range map[string]float64{
		"SC1":  litres(0.0254, 0.9+0.8) + litres(0.01905, 1.1+1.0), // H1, H2
		"SC9":  litres(0.01905, 0.4+0.5+1.4),                       // H36, H37
		"SC11": litres(0.0381, 0.9),                                // H39
	} {
		if r := find(id); !strings.HasSuffix(r, fmt.Sprintf("|%.2f", want)) {
			t.Errorf("%s: %q; %.2f L by hand", id, r, want)
		}
	}
	for _, id := range []string{"SC11", "SC12"} {
		if r := find(id); !strings.Contains(r, "leave it open") || strings.Contains(r, "shut it") {
			t.Errorf("a cockpit drain afloat: %q", r)
		}
	}
	for _, h := range m.boat().Hoses {
		for _, p := range m.lowPoints() {
			if slices.Contains(p.Hoses, h) && slices.ContainsFunc(lines, func(r string) bool {
				return slices.Contains(strings.Split(strings.Split(r, "|")[3], ", "), h.ID)
			}) {
				t.Errorf("%s is counted as a low point and as held by a valve", h.ID)
			}
		}
	}
}

// A tap on the sea: the pump is stopped before a hose is loosened, no lid is
// looked at where there is no strainer, and no impeller is feared for in a
// diaphragm pump.
func TestSeaTapPage(t *testing.T) {
	text, err := os.ReadFile(examples + "tired.yaml")
	if err != nil {
		t.Fatal(err)
	}
	page := func(text string) string {
		m := makerOf(t, boattest.Read(t, text))
		e, ok := m.tapFault(m.boat().Part("WD1"))
		if !ok {
			t.Fatal("no page of WD1")
		}
		var out []string
		for _, b := range e.blocks {
			switch b := b.(type) {
			case steps:
				out = append(out, b...)
			case rows:
				out = append(out, rowsOf(t, b)...)
			}
		}
		return strings.Join(out, "\n")
	}
	got := page(string(text))
	at := -1
	for _, word := range []string{"Valve SC7", "Stop WP2", "See that SC7", "Loosen hose H17b", "Start again", "Intake TH7"} {
		i := strings.Index(got, word)
		if i <= at {
			t.Errorf("%q is out of order in\n%s", word, got)
		}
		at = i
	}
	for _, word := range []string{"lid", "impeller", "Stop WD1", "Another tap"} {
		if strings.Contains(got, word) {
			t.Errorf("%q in\n%s", word, got)
		}
	}
	if got := page(strings.Replace(string(text), "design: diaphragm, space: lazarette", "design: impeller, space: lazarette", 1)); !strings.Contains(got, "an impeller burns when dry") {
		t.Errorf("an impeller pump:\n%s", got)
	}
}

// Loads that go on for a while are not said to stop only then.
func TestLossWords(t *testing.T) {
	b := boattest.Read(t, inLine)
	lamp, pump := b.Part("L1"), b.Part("BP1")
	for want, l := range map[string]survey.Loss{
		"L1 light":                               {Dead: []*schema.Part{lamp}},
		"L1 light (goes on only on shore power)": {Only: []survey.Kept{{Part: lamp, In: []survey.Regime{survey.OnShore}}}},
		"L1 light; BP1 pump (the last goes on only while the engine runs)": {Dead: []*schema.Part{lamp}, Only: []survey.Kept{{Part: pump, In: []survey.Regime{survey.EngineRuns}}}},
		"L1 light; BP1 pump (all go on only while the sun shines)":         {Only: []survey.Kept{{Part: lamp, In: []survey.Regime{survey.SunShines}}, {Part: pump, In: []survey.Regime{survey.SunShines}}}},
	} {
		if got := lossWords(l); got != want {
			t.Errorf("%q; want %q", got, want)
		}
	}
}

// A tray below a shower is no tap; the water of a mixer comes from the tank, not
// from the pressure vessel behind the pump.
func TestTapPagesNameTheTank(t *testing.T) {
	m := makerOf(t, boattest.ReadFile(t, examples+"yacht.yaml"))
	if e, ok := m.tapFault(m.boat().Part("SWR")); ok {
		t.Errorf("the tray has a page: %+v", e)
	}
	for _, id := range []string{"MX1", "MX2", "WD1"} {
		pump, tank, others := m.tapSource(m.boat().Part(id))
		if pump == nil || pump.ID != "WP2" || tank == nil || tank.ID != "TK1" || len(others) == 0 {
			t.Errorf("%s: pump %v, tank %v, others %v", id, pump, tank, others)
		}
	}
}

// The readings of a fault page are taken against the minus post of the battery
// they name: by Ohm's law 10 A lose 0.1 V in 10 mΩ of the feed and as much in the
// return; the fuse loses 0.04 V in the 4 mΩ that its size has. The return told is that to the same battery.
func TestReadingsAreAgainstTheBattery(t *testing.T) {
	b := boattest.Read(t, readingsBoat)
	m := makerOf(t, b)
	p := b.Part("HT1")
	feed, back := m.feedWay(p)
	if feed == nil || feed.To.ID != "B2" || back == nil || back.To.ID != "B2" {
		t.Fatalf("feed %v, back %v", feed, back)
	}
	var got []string
	for _, l := range m.loadLooks(p, feed, back) {
		got = append(got, l.at+"|"+l.good)
	}
	text := strings.Join(got, "\n")
	for _, want := range []string{"F1 fuse 20 A class-t|11.86 V Warm", "wires 6 → 7|at most 0.20 V Warm"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
}

const readingsBoat = `
fitout: 1
parts:
  B1: {kind: battery, emf: 12 V, resistance: 0.1 mohm, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  B2: {kind: battery, emf: 12 V, resistance: 0.1 mohm, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  ST1: {kind: starter, draw: 100 A}
  HT1: {kind: heater, draw: 10 A, model: current}
  GND: {kind: ground}
  F1: {kind: fuse, rating: 20 A, family: class-t}
wires:
  - {id: 1, from: B1.+, to: ST1.+, size: 35 mm2, length: 1 m}
  - {id: 2, from: ST1.-, to: GND, size: 35 mm2, length: 1 m}
  - {id: 3, from: B1.-, to: GND, size: 35 mm2, length: 1 m}
  - {id: 4, from: B2.+, to: F1.in, size: 6 mm2, resistance: 10 mohm}
  - {id: 5, from: F1.out, to: HT1.+, size: 6 mm2, resistance: 10 mohm}
  - {id: 6, from: HT1.-, to: GND, size: 6 mm2, resistance: 10 mohm}
  - {id: 7, from: GND, to: B2.-, size: 6 mm2, resistance: 10 mohm}
conditions:
  warm: {title: Warm, running: [HT1]}
`

// The boat whose bilge pump hangs behind the house switch is not told to turn that
// off without a word; a boat whose pump has a feed of its own is told nothing.
func TestLeavingWarnsOfADeadPump(t *testing.T) {
	for name, want := range map[string]string{"tired": "BP1 Bilge pump", "yacht": "", "cruiser": "", "workboat": ""} {
		m := makerOf(t, boattest.ReadFile(t, examples+name+".yaml"))
		got := ""
		for _, b := range m.leaving().blocks {
			if w, ok := b.(warning); ok {
				got += string(w)
			}
		}
		if (want == "") != (got == "") || !strings.Contains(got, want) {
			t.Errorf("%s: %q; want %q", name, got, want)
		}
	}
	// alike batteries and pumps are said together
	m := makerOf(t, boattest.ReadFile(t, examples+"workboat.yaml"))
	text := m.aliveText(m.unattended())
	for _, want := range []string{"BA3 Service battery 1; BA4 Service battery 2: ", "with one of BP1 Forepeak bilge pump; BP2 Hold bilge pump"} {
		if strings.Count(text, want) != 1 {
			t.Errorf("%q is not once in %q", want, text)
		}
	}
}
