package compare

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strings"
	"testing"

	"fitout/schema/diag"
	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/validate/figures"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

const lamp = `fitout: 1
vessel: {name: Heron, length: 9 m}
spaces: {cabin: {title: Cabin}}
parts:
  B1: {kind: battery, title: House, chemistry: agm, volts: 12 V, capacity: 100 Ah, emf: 12 V, resistance: 0 ohm}
  F1: {kind: fuse, title: Main, family: blade, rating: 20 A, resistance: 0 ohm, space: cabin}
  L1: {kind: light, title: Lamp, draw: 12 A, volts: 12 V, model: resistance, space: cabin}
wires:
  - {id: 1, path: [B1.+, F1, L1.+], size: 6 mm2, lengths: [0.1 m, 2 m], resistances: [0 ohm, 0.1 ohm]}
  - {id: 2, from: L1.-, to: B1.-, size: 6 mm2, length: 2 m, resistance: 0.1 ohm}
conditions:
  on: {title: Lamp on, running: [L1]}
`

func state(t *testing.T, name, text string) Side {
	t.Helper()
	b, problems := read.Text(name, text, kinds.All())
	if len(problems) > 0 {
		t.Fatalf("%s: %v", name, problems)
	}
	s := survey.Of(b)
	return Side{Name: name, Survey: s, Result: rules.Check(s)}
}

func changed(t *testing.T, old, new string) Result {
	t.Helper()
	if strings.Count(lamp, old) != 1 {
		t.Fatalf("%q does not stand once in the file", old)
	}
	return Of(state(t, "old", lamp), state(t, "new", strings.Replace(lamp, old, new, 1)))
}

// Another spelling, order or comment of the same installation is no change.
func TestSameMeaning(t *testing.T) {
	for old, new := range map[string]string{
		"6 mm2, length: 2 m, resistance: 0.1 ohm": "6 mm², length: 200 cm, resistance: 100 mohm",
		"volts: 12 V, capacity: 100 Ah":           "capacity: 100 Ah, volts: 12.0 V",
		"vessel: {name: Heron, length: 9 m}":      "# a comment\nvessel:\n  length: 9 m\n  name: Heron",
	} {
		if r := changed(t, old, new); !r.Empty() {
			t.Errorf("%q for %q: %+v", new, old, r)
		}
	}
}

func TestItems(t *testing.T) {
	for _, c := range []struct{ old, new, want string }{
		{"rating: 20 A, res", "rating: 25 A, res", "changed part F1 rating 20 A>25 A"},
		{"title: Lamp, draw", "title: Cabin lamp, draw", "changed part L1 title Lamp>Cabin lamp"},
		{"length: 2 m, resistance: 0.1 ohm}\n", "length: 3 m, resistance: 0.1 ohm}\n", "changed wire 2 length 2 m>3 m"},
		{"conditions:\n", "  - {id: 3, from: L1.-, to: B1.-, size: 6 mm2, length: 2 m}\nconditions:\n", "added wire 3"},
		{"wires:\n", "  F2: {kind: fuse, title: Spare, family: blade, rating: 5 A, space: cabin}\nwires:\n", "added part F2"},
		{"{title: Lamp on, running: [L1]}", "{title: Lamp on, running: [L1 50 %]}", "changed condition on running L1 100 %>L1 50 %"},
		{"length: 9 m", "length: 10 m", "changed vessel  length 9 m>10 m"},
	} {
		var got []string
		for _, it := range changed(t, c.old, c.new).Items {
			line := fmt.Sprintf("%s %s %s", it.Kind, it.Section, it.ID)
			for _, f := range it.Fields {
				got = append(got, fmt.Sprintf("%s %s %s>%s", line, f.Name, f.Old, f.New))
			}
			if len(it.Fields) == 0 {
				got = append(got, line)
			}
		}
		if strings.Join(got, "; ") != c.want {
			t.Errorf("%q: got %q, want %q", c.new, got, c.want)
		}
	}
}

func TestRemovedIsAddedTurnedRound(t *testing.T) {
	more := strings.Replace(lamp, "wires:\n", "  F2: {kind: fuse, title: Spare, family: blade, rating: 5 A, space: cabin}\nwires:\n", 1)
	r := Of(state(t, "old", more), state(t, "new", lamp))
	if len(r.Items) != 1 || r.Items[0].Kind != Removed || r.Items[0].ID != "F2" {
		t.Errorf("%+v", r.Items)
	}
}

// Ohm's law: a lamp of 1 Ω over 0.2 Ω of wire takes 12 V / 1.2 Ω = 10 A, over
// 0.3 Ω 12 V / 1.3 Ω = 9.2308 A.
func TestFigures(t *testing.T) {
	r := changed(t, "length: 2 m, resistance: 0.1 ohm}\n", "length: 2 m, resistance: 0.2 ohm}\n")
	for _, f := range r.Figures {
		if f.ID == "L1" && f.Condition == "on" && f.Quantity == figures.Current {
			if math.Abs(*f.Old-10) > 1e-6 || math.Abs(*f.New-12/1.3) > 1e-4 {
				t.Errorf("%v -> %v A", *f.Old, *f.New)
			}
			return
		}
	}
	t.Errorf("the lamp's current is not there: %+v", r.Figures)
}

// A fuse above what its wire carries (6 mm² counts as 10 AWG, 60 A by Table 5 of
// 33 CFR 183.455 at 105 °C; 150 % of it is 90 A) comes as a finding and goes
// again.
func TestFindings(t *testing.T) {
	r := changed(t, "rating: 20 A, res", "rating: 120 A, res")
	has := func(r Result, k Kind) bool {
		for _, f := range r.Findings {
			if f.Kind == k && f.now().Rule == "fuse-exceeds-wire" {
				return true
			}
		}
		return false
	}
	if !has(r, Added) || !r.Worse(diag.Error) {
		t.Errorf("not added: %+v", r.Findings)
	}
	back := Of(state(t, "old", strings.Replace(lamp, "rating: 20 A, res", "rating: 120 A, res", 1)), state(t, "new", lamp))
	if !has(back, Removed) || back.Worse(diag.Warning) {
		t.Errorf("not removed: %+v", back.Findings)
	}
}

func TestForms(t *testing.T) {
	r := changed(t, "title: Lamp, draw", "title: \"<script>|`x`\", draw")
	var text, md, js bytes.Buffer
	for _, err := range []error{Text(&text, r), Markdown(&md, r), JSON(&js, r)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	if !strings.Contains(text.String(), "~ L1") {
		t.Error(text.String())
	}
	if s := md.String(); strings.Contains(s, "<script>") || !strings.Contains(s, `\|`) {
		t.Errorf("text of the file is not held in its cell: %s", s)
	}
	var got struct {
		Changes []struct{ Change, Section, ID string }
	}
	if err := json.Unmarshal(js.Bytes(), &got); err != nil || len(got.Changes) != 1 || got.Changes[0].ID != "L1" {
		t.Errorf("%v %s", err, js.String())
	}
}
