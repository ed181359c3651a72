package size_test

import (
	"slices"
	"strings"
	"testing"

	"fitout/schema/boattest"
	"fitout/schema/diag"
	"fitout/validate/rules"
	"fitout/validate/size"
	"fitout/validate/survey"
)

const open = `
fitout: 1
parts:
  B1: {kind: battery, volts: 12 V, emf: 12.8 V, resistance: 4 mohm, chemistry: agm, capacity: 200 Ah}
  S1: {kind: switch, rating: 300 A}
  BN: {kind: bus, rating: 200 A, polarity: negative}
  DP: {kind: panel, rating: 100 A, interrupt: 5 kA, family: thermal, ways: {1: {title: Lights}, 2: {title: Radio, rating: 10 A}, 3: {title: Fridge}, 4: {spare: yes}}}
  LT1: {kind: light, draw: 6 A}
  VHF1: {kind: electronics, draw: 5 A}
  FR1: {kind: refrigerator, draw: 5 A, duty: continuous}
  P1: {kind: pump, duty: bilge, draw: 8 A}
wires:
  - {id: 1, path: [B1.+, {F1: {kind: fuse, family: class-t}}, S1.in, S1.out, DP.in], size: auto, lengths: [0.15 m, 0.5 m, 3 m]}
  - {id: 2, from: BN, to: B1.-, size: auto, length: 3.2 m}
circuits:
  - {id: C1, feed: DP.1, load: LT1, return: BN, size: auto, length: 7 m}
  - {id: C2, feed: DP.2, load: VHF1, return: BN, size: auto, length: 4 m}
  - {id: C3, feed: DP.3, load: FR1, return: BN, size: auto, length: 5 m}
  - {id: C4, feed: S1.in, via: [{F4: {kind: fuse, family: class-t}}], load: P1, return: B1.-, size: auto, lengths: [0.1 m, 4 m]}
`

func value(list []size.Proposal, id string) string {
	for _, p := range list {
		if p.ID == id {
			return p.Value
		}
	}
	return ""
}

// TestSizedBoatIsQuiet: a sized boat raises no finding of the rules that a size or
// rating answers, and nothing of it is left open.
func TestSizedBoatIsQuiet(t *testing.T) {
	b := boattest.Read(t, open)
	list, left := size.Propose(b)
	if len(left) > 0 || len(list) != 10 {
		t.Fatalf("%d proposals, left %v", len(list), left)
	}
	res := rules.Check(survey.Of(b))
	for _, f := range res.Findings {
		if f.Severity > diag.Note && slices.Contains(size.Answered(), f.Rule) {
			t.Errorf("%s at %v: %s", f.Rule, f.At, f.Message)
		}
	}
	for _, u := range res.Unchecked {
		if strings.HasPrefix(u.Missing, "size of") || strings.HasPrefix(u.Missing, "rating of") {
			t.Errorf("still open: %s", u.Missing)
		}
	}
}

// TestNextSmallerFails: every size proposed is the smallest: one step less brings a
// finding back.
func TestNextSmallerFails(t *testing.T) {
	b := boattest.Read(t, open)
	list, _ := size.Propose(b)
	smaller := map[string]string{"16 AWG": "18 AWG", "14 AWG": "16 AWG", "12 AWG": "14 AWG", "10 AWG": "12 AWG", "8 AWG": "10 AWG", "6 AWG": "8 AWG", "4 AWG": "6 AWG", "3 AWG": "4 AWG", "2 AWG": "3 AWG"}
	for _, p := range list {
		if p.Key != "size" || p.Binds == "smallest" {
			continue
		}
		text := open
		for _, q := range list {
			if q.Key != "size" {
				continue
			}
			v := q.Value
			if q.ID == p.ID {
				v = smaller[v]
			}
			lines := strings.Split(text, "\n")
			for i, l := range lines {
				if strings.Contains(l, "{id: "+q.ID+",") {
					lines[i] = strings.Replace(l, "size: auto", "size: "+v, 1)
				}
			}
			text = strings.Join(lines, "\n")
		}
		text = strings.NewReplacer("{F1: {kind: fuse, family: class-t}}", "{F1: class-t "+value(list, "F1")+"}", "{F4: {kind: fuse, family: class-t}}", "{F4: class-t "+value(list, "F4")+"}",
			"1: {title: Lights}", "1: {title: Lights, rating: "+value(list, "DP.1")+"}", "3: {title: Fridge}", "3: {title: Fridge, rating: "+value(list, "DP.3")+"}").Replace(text)
		found := rules.Judge(survey.Of(boattest.Read(t, text)), size.Answered()...).Findings
		if len(found) == 0 {
			t.Errorf("%s: %s is proposed, yet %s passes too", p.ID, p.Value, smaller[p.Value])
		}
	}
}

// TestWorkedSizes: the published sizing examples. W13: 12 V, 3 %, 10 A, 21 ft in
// all: 6271 cmil, so 12 AWG (6530). W16: 10 %, 45 A, 40 ft: 16125 cmil, so 8 AWG
// (16510). W17: 24 V, 3 %, 100 A, 10 ft: the drop asks 8 AWG, ampacity 6 AWG.
func TestWorkedSizes(t *testing.T) {
	for _, c := range []struct{ id, volts, emf, load, length, want string }{
		{"W13", "12 V", "12.8 V", "{kind: electronics, volts: 12 V, draw: 10 A}", "10.5 ft", "12 AWG"},
		{"W16", "12 V", "12.8 V", "{kind: heater, volts: 12 V, draw: 45 A}", "20 ft", "8 AWG"},
		{"W17", "24 V", "25.6 V", "{kind: electronics, volts: 24 V, draw: 100 A}", "5 ft", "6 AWG"},
	} {
		b := boattest.Read(t, `
fitout: 1
parts:
  B1: {kind: battery, volts: `+c.volts+`, emf: `+c.emf+`, resistance: 1 mohm}
  L1: `+c.load+`
wires:
  - {id: 1, from: B1.+, to: L1.+, size: auto, length: `+c.length+`, sheath: yes, impractical: "worked example"}
  - {id: 2, from: L1.-, to: B1.-, size: auto, length: `+c.length+`, sheath: yes}
`)
		list, _ := size.Propose(b)
		for _, p := range list {
			if p.Value != c.want {
				t.Errorf("%s: wire %s is proposed %s, the example has %s (%s)", c.id, p.ID, p.Value, c.want, p.Reason)
			}
		}
	}
}
