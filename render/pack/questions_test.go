package pack

import (
	"fmt"
	"math"
	"os/exec"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/boattest"
)

// paperText is the text of the PDF, page by page, as pdftotext reads it.
func paperText(t *testing.T, p *Pack) []string {
	t.Helper()
	tool := need(t, "pdftotext")
	out, err := exec.Command(tool, "-layout", writePDF(t, p), "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	pages := strings.Split(string(out), "\f")
	if len(pages) < len(p.Sheets) {
		t.Fatalf("%d pages of text; %d sheets", len(pages), len(p.Sheets))
	}
	return pages[:len(p.Sheets)]
}

// under joins the pages of one kind of sheet, blanks as one.
func under(p *Pack, pages []string, prefix string) string {
	var out []string
	for i, s := range p.Sheets {
		if strings.HasPrefix(s.ID[4:], prefix) {
			out = append(out, pages[i])
		}
	}
	return strings.Join(out, "\n")
}

// lineWith finds the first line that holds all words, with what follows it.
func lineWith(text string, want ...string) string {
	lines := strings.Split(text, "\n")
	for i, l := range lines {
		ok := true
		for _, w := range want {
			ok = ok && strings.Contains(l, w)
		}
		if ok {
			return strings.Join(strings.Fields(strings.Join(lines[i:min(i+3, len(lines))], " ")), " ")
		}
	}
	return ""
}

// Ten questions of a technician, answered from the text of the PDF alone. What is
// right comes from the model and its solution, asked here.
func TestTenQuestions(t *testing.T) {
	p, in := packOf(t, examples+"cruiser.yaml", Aboard)
	pages := paperText(t, p)
	s, b := in.Survey, in.Survey.Boat
	anchor := b.Conditions[0]
	faults, protection := under(p, pages, "faults"), under(p, pages, "protection")
	ask := func(question, answer string, text string) {
		t.Helper()
		if answer == "" || !strings.Contains(text, answer) {
			t.Errorf("%s\n  the model says %q\n  the paper says %q", question, answer, text)
		}
	}

	// 1, 2: the fuse of the cabin unit is the device at its feed; and where it sits.
	fuse := b.Part("AC1").Circuit.Via[0]
	glance := lineWith(faults, "AC1 Cabin unit", "→")
	ask("Which fuse feeds the cabin unit?", fuse.ID, glance)
	ask("Where does that fuse sit?", fuse.Space.Name(), lineWith(protection, fuse.ID+" "))

	// 3: the valve of the engine's intake.
	ask("Which valve shuts the engine's intake?", b.Part("TH4").Cock.ID, lineWith(under(p, pages, "openings"), "TH4"))

	// 4: what stops when the breaker of the refrigerator opens.
	lost := s.Lost(b.Part("DP"), "6").Dead
	if len(lost) != 1 {
		t.Fatalf("DP.6 stops %v", lost)
	}
	ask("What stops when DP.6 opens?", lost[0].ID, lineWith(protection, "DP.6"))

	// 5: what still runs with both battery switches off: the bilge pump, whose way
	// to the battery crosses no switch.
	ask("What stays live in the bilge with every switch off?", "P3 Bilge pump", lineWith(under(p, pages, "sheet-space-bilge"), "P3", "B2 House battery"))

	// 6: what a meter should read at the radio.
	radio := b.Part("VHF1")
	var motoring *schema.Condition
	for _, c := range b.Conditions {
		if c.ID == "motoring" {
			motoring = c
		}
	}
	v, ok := s.DC(motoring).Across(radio)
	if !ok {
		t.Fatal("no volts at VHF1")
	}
	ask("What is good at the radio?", fmt.Sprintf("%.2f V", float64(v)), lineWith(faults, "VHF1 VHF radio", "→"))

	// 7: how much water by bucket.
	q, ok := s.Water(anchor).Equipment(b.Part("AC1"))
	if !ok {
		t.Fatal("no flow through AC1")
	}
	ask("How much water must the cabin unit give?", fmt.Sprintf("%.3g L/min", math.Abs(float64(q.Flow))), faults)

	// 8: the plug for the hole of the transducer, by its size.
	ask("Which plug fits the transducer's hole?", fmt.Sprintf("%.0f", 1000*float64(b.Part("HF1").Metres("size").V)), lineWith(under(p, pages, "openings"), "HF1"))

	// 9: what lies on the plus post of the house battery, the heaviest below.
	post := under(p, pages, "terminals")
	post = post[strings.Index(post, "B2 House battery, "):]
	first, second := lineWith(post, "1", "6a"), lineWith(post, "2", "15a")
	ask("Which cable lies at the bottom of B2's plus post?", "6a red 2/0 AWG", first)
	ask("Which lies on it?", "15a red 12 AWG", second)

	// 10: how long the house battery keeps the bilge pump alive.
	away := away(b)
	for _, sup := range s.Supplies(away) {
		if sup.Batteries[0].ID == "B2" {
			ask("How long does the house battery last unattended?", fmt.Sprintf("%.1f days", float64(sup.Hours)/24), lineWith(under(p, pages, "sheet-card-leaving"), "House battery: "))
		}
	}
}

func away(b *schema.Boat) *schema.Condition {
	for _, c := range b.Conditions {
		if c.Unattended.V {
			return c
		}
	}
	return nil
}

// The steps at a strainer stand in the order in which no opened line lets the
// sea in: pump off, valve shut, strainer open, valve open, bleed, start.
func TestStrainerStepsAreInTheSafeOrder(t *testing.T) {
	_, in := packOf(t, examples+"cruiser.yaml", Aboard)
	m, err := newMaker(in, Options{For: Aboard})
	if err != nil {
		t.Fatal(err)
	}
	line, outlets := m.intake(in.Survey.Boat.Part("AC1"))
	steps := strings.Join(m.strainerSteps(in.Survey.Boat.Part("AC1"), line, outlets), "\n")
	at := -1
	for _, word := range []string{"Stop AC1", "Close SC1", "Open SR1", "Fill the strainer", "Open SC1", "bleed BL1", "Start again"} {
		k := strings.Index(steps, word)
		if k < 0 || k <= at {
			t.Errorf("%q is missing or out of order:\n%s", word, steps)
		}
		at = max(at, k)
	}
}

// Both fuses of a charge run stand on one line: at the charger and at the
// battery end.
func TestChargeRunNamesBothFuses(t *testing.T) {
	_, in := packOf(t, examples+"cruiser.yaml", Aboard)
	m, err := newMaker(in, Options{For: Aboard})
	if err != nil {
		t.Fatal(err)
	}
	e, ok := m.chargeFault(in.Survey.Boat.Part("CH1"))
	if !ok {
		t.Fatal("no page for CH1")
	}
	for _, r := range e.blocks[0].(rows).Rows {
		if strings.Contains(r[1], "F12") && strings.Contains(r[1], "F1 House main") {
			return
		}
	}
	t.Error("F12 and F1 stand on no common line")
}

// What stays live with every switch off, on a boat small enough to see: the
// bilge pump behind its fuse is live, the lamp behind the switch is not; a bus
// that two batteries reach is dead only when both are away.
func TestLiveWithEverySwitchOff(t *testing.T) {
	in := inputOf(boattest.Read(t, `fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  B2: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  S1: {kind: switch, rating: 100 A}
  HP: {kind: bus, polarity: positive}
  BN: {kind: bus, polarity: negative}
  GND: {kind: ground}
  BP1: {kind: pump, duty: bilge, draw: 5 A}
  LT1: {kind: light, draw: 2 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 60 A}, HP], size: 16 mm2, lengths: [0.1 m, 1 m]}
  - {id: 2, path: [B2.+, {F2: class-t 60 A}, HP], size: 16 mm2, lengths: [0.1 m, 1 m]}
  - {id: 3, path: [HP, {F3: class-t 10 A}, BP1.+], size: 2.5 mm2, lengths: [0.1 m, 1 m]}
  - {id: 4, path: [HP, S1, LT1.+], size: 2.5 mm2, lengths: [0.1 m, 1 m]}
  - {id: 5, from: BP1.-, to: BN, size: 2.5 mm2, length: 1 m}
  - {id: 6, from: LT1.-, to: BN, size: 2.5 mm2, length: 1 m}
  - {id: 7, from: B1.-, to: BN, size: 16 mm2, length: 1 m}
  - {id: 8, from: B2.-, to: BN, size: 16 mm2, length: 1 m}
  - {id: 9, from: BN, to: GND, size: 16 mm2, length: 1 m}
`))
	m, err := newMaker(in, Options{})
	if err != nil {
		t.Fatal(err)
	}
	live := m.withSwitchesOff()
	for id, want := range map[string]string{"LT1": "", "BN": "", "GND": "",
		"BP1": "pull fuse F3", "HP": "pull fuse F1 (place not stated); and pull fuse F2 (place not stated)"} {
		_, kill, ok := live.part(in.Survey.Boat.Part(id))
		if ok != (want != "") || !strings.HasPrefix(kill, want) {
			t.Errorf("%s: live %v, %q; wanted %q", id, ok, kill, want)
		}
	}
}
