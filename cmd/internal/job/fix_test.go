package job

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fitout/schema/diag"
)

// judged reads and judges texts that stand in memory; the first is the main file.
func judged(t *testing.T, texts map[string]string) *Job {
	t.Helper()
	none := func(name string) ([]byte, error) { return nil, fmt.Errorf("no %s", name) }
	j := From("boat.yaml", Overlay(none, texts))
	if !j.OK() {
		t.Fatalf("does not read: %+v", j.Problems)
	}
	return j.Check()
}

// The edits are small: what is written and what must stand afterwards. The
// limits behind them are checked where the rules are.
func TestRepair(t *testing.T) {
	const clamps = `fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, title: Wash, type: flanged-ball}}
  P1: {kind: pump, drive: hand, duty: wash, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 1}   # one a tail
`
	const lamp = `fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  LT1: {kind: light, title: Lamp, draw: 2 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 80 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`
	const heater = `fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 400 Ah, cranking: 500 A}
  HT1: {kind: heater, title: Heater, draw: 30 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 40 A}, HT1.+], size: 14 AWG, insulation: 60 °C, lengths: [0.1 m, 0.3 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 8 AWG, length: 0.4 m}
`
	const drop = `fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  DP: {kind: panel, rating: 50 A, ways: {1: {title: Lamp, rating: 10 A}}}
  BN: {kind: bus}
  LT1: {kind: light, title: Lamp, draw: 8 A}
wires:
  - {id: 5, path: [B1.+, {F3: class-t 50 A}, DP.in], size: 16 mm2, lengths: [0.1 m, 1 m]}
  - {id: 6, from: BN, to: B1.-, size: 16 mm2, length: 1 m}
circuits:
  - {id: C1, feed: DP.1, load: LT1, return: BN, size: 2.5 mm2, length: 20 m}
`
	const labelled = `fitout: 1
parts:
  F1: {kind: fuse, family: blade, rating: 20 A}
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  LT1: {kind: light, title: Lamp, draw: 2 A}
wires:
  - {id: 1, path: [B1.+, F1, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`
	entry := `  - {rule: no-label, at: F9, why: "old", by: owner}  # gone` + "\n"
	for _, c := range []struct {
		name, rule, text, old, new string
	}{
		{"clamps", "single-clamp", clamps, "clamps: 1", "clamps: 2"},
		{"clamps with CRLF", "single-clamp", strings.ReplaceAll(clamps, "\n", "\r\n"), "clamps: 1", "clamps: 2"},
		// 2.5 mm² in Table 5 of 33 CFR 183.455 at 105 °C counts as 14 AWG, 35 A.
		{"rating", "fuse-exceeds-wire", lamp, "blade 80 A", "blade 35 A"},
		{"colour", "colour-code", strings.Replace(lamp, "id: 2, from", "color: blue, id: 2, from", 1), "color: blue", "color: black"},
		{"label", "no-label", labelled, "F1: {kind: fuse, family: blade", "F1: {title: Lamp, kind: fuse, family: blade"},
		// 48 V lithium charges above 32 V, the lowest type of a bolt-on strip.
		{"voltage", "protection-voltage", strings.NewReplacer("agm, volts: 12 V", "lfp, protection: internal, volts: 51.2 V", "{F1: blade 80 A}", "{F1: {kind: fuse, title: Lamp, family: strip, rating: 30 A}}").Replace(lamp), "family: strip,", "family: strip-48v,"},
		// 30 A in 2.5 mm² at 60 °C, 14 AWG in Table 5: 20 A; 10 AWG: 40 A.
		{"overloaded", "wire-overloaded", heater, "size: 14 AWG", "size: 10 AWG"},
		// 8 A over 2 × 20 m of 2.5 mm² lose 8 A × 40 m × 0.0175 Ωmm²/m / 2.5 mm² = 2.2 V of
		// 12 V, 18 %; 10 % are allowed: at least 4.7 mm².
		{"drop", "voltage-drop", drop, "size: 2.5 mm2", "size: 6 mm2"},
		{"deviation in a list of lines", "deviation-unused", strings.Replace(lamp, "parts:", "deviations:\n"+entry+"  # kept\nparts:", 1), entry, ""},
		{"deviation over several lines", "deviation-unused", strings.Replace(lamp, "parts:", "deviations:\n  - rule: no-label\n    at: [F8, F9]\n    why: old\n    by: owner\nparts:", 1), "  - rule: no-label\n    at: [F8, F9]\n    why: old\n    by: owner\n", ""},
		{"the one deviation of a flow list", "deviation-unused", strings.Replace(lamp, "parts:", "deviations: [{rule: no-label, at: F9, why: old, by: owner}]\nparts:", 1), "[{rule: no-label, at: F9, why: old, by: owner}]", "[]"},
		{"the last of a flow list", "deviation-unused", strings.Replace(lamp, "parts:", "deviations: [{rule: fuse-exceeds-wire, at: F1, why: old, by: owner}, {rule: no-label, at: F9, why: old, by: owner}]\nparts:", 1), ", {rule: no-label, at: F9, why: old, by: owner}]", "]"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if strings.Count(c.text, c.old) != 1 {
				t.Fatalf("the case does not hold %q once", c.old)
			}
			r := judged(t, map[string]string{"boat.yaml": c.text}).Repair()
			got := c.text
			if len(r.Changed) == 1 {
				got = r.Changed[0].After
			}
			if !strings.Contains(got, c.new) || strings.Contains(got, c.old) {
				t.Errorf("after:\n%s", got)
			}
			for _, f := range r.After.Result.Findings {
				if f.Rule == c.rule {
					t.Errorf("still: %s", f.Message)
				}
			}
			if n := strings.Count(c.text, "#"); strings.Count(got, "#") < n-1 {
				t.Error("comments are lost")
			}
		})
	}
}

// Every other byte stays: the result of an edit is the text with that one value
// replaced.
func TestRepairTouchesNothingElse(t *testing.T) {
	text := "fitout: 1\nvessel: {hull: motor}\n\nparts:   # fitted\n  TH1:   {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, title: Wash, type: flanged-ball}}\n  P1: {kind: pump, drive: hand, duty: wash, height: 0.1 m, offset: 0 m}\n  WD1: {kind: washdown, height: 1 m, offset: 0 m}\n"
	hoses := "hoses:\n  - {id: H1,   path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps:   1 }   # a\n"
	dir := t.TempDir()
	main, water := filepath.Join(dir, "boat.yaml"), filepath.Join(dir, "water.yaml")
	write := func(name, text string) {
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	write(main, "include: [water.yaml]\n"+text)
	write(water, hoses)
	j, err := Read(main, nil)
	if err != nil || !j.OK() {
		t.Fatal(err, j.Problems)
	}
	if err := j.Check().Repair().Write(); err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(water)
	if err != nil {
		t.Fatal(err)
	}
	if want := strings.Replace(hoses, "clamps:   1 ", "clamps:   2 ", 1); string(got) != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, _ := os.ReadFile(main); string(got) != "include: [water.yaml]\n"+text {
		t.Error("the main file changed though nothing in it was to be")
	}
	if st, _ := os.Stat(water); st.Mode().Perm() != 0o600 {
		t.Errorf("permissions became %v", st.Mode())
	}
}

// An edit whose result does not read, or raises a finding, is refused and the
// text left alone.
func TestRepairRefuses(t *testing.T) {
	text := `fitout: 1
parts:
  B1: {kind: battery, title: House, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  LT1: {kind: light, title: Lamp, draw: 2 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 80 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`
	j := judged(t, map[string]string{"boat.yaml": text})
	for i := range j.Result.Findings {
		if f := &j.Result.Findings[i]; f.Rule == "fuse-exceeds-wire" {
			f.Fix = &diag.Fix{Title: "a bad edit", Edits: []diag.Edit{{Span: f.Fix.Edits[0].Span, New: "soon"}}}
		}
	}
	r := j.Repair()
	if len(r.Refused) != 1 || !strings.Contains(r.Refused[0].Why, "no longer read") {
		t.Errorf("refused: %+v", r.Refused)
	}
	if len(r.Changed) > 0 && strings.Contains(r.Changed[0].After, "soon") {
		t.Error("the bad edit was made")
	}
}
