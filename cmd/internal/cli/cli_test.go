package cli

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fitout/validate/rules"
)

const sound = `fitout: 1
parts:
  B1: {kind: battery, title: Battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, fault-current: 1 kA}
  S1: {kind: switch, title: Switch, rating: 100 A}
  LT1: {kind: light, draw: 2 A}
wires:
  - {id: 1, path: [B1.+, {F1: {kind: fuse, family: class-t, rating: 15 A, title: Light}}, S1, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 1 m, 1 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`

func fitout(t *testing.T, stdin string, args ...string) (code int, out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	code = Run(args, Streams{In: strings.NewReader(stdin), Out: &o, Err: &e})
	return code, o.String(), e.String()
}

func TestExitStatus(t *testing.T) {
	bare := strings.Replace(sound, "{F1: {kind: fuse, family: class-t, rating: 15 A, title: Light}}, ", "", 1)
	bare = strings.Replace(bare, "lengths: [0.15 m, 1 m, 1 m]", "lengths: [1 m, 1 m]", 1)
	for _, c := range []struct {
		name  string
		stdin string
		args  []string
		want  int
	}{
		{"a sound boat", sound, []string{"check", "-"}, Clean},
		{"an unfused run", bare, []string{"check", "-"}, Findings},
		{"notes asked for", sound, []string{"check", "--fail-on", "note", "-"}, Findings}, // parts without a space
		{"a mistake in the file", strings.Replace(sound, "light", "lihgt", 1), []string{"check", "-"}, Misuse},
		{"no such file", "", []string{"check", "/nowhere/boat.yaml"}, Misuse},
		{"no file", "", []string{"check"}, Misuse},
		{"an unknown flag", sound, []string{"check", "--frobnicate", "-"}, Misuse},
		{"an unknown format", sound, []string{"check", "--format", "xml", "-"}, Misuse},
		{"an unknown command", "", []string{"chekc"}, Misuse},
		{"an unknown rule", "", []string{"explain", "unfused"}, Misuse},
		{"an unknown list", sound, []string{"list", "wire", "-"}, Misuse},
		{"a list", sound, []string{"list", "wires", "-"}, Clean},
		{"an unknown part", sound, []string{"trace", "-", "LT9"}, Misuse},
	} {
		if got, out, errs := fitout(t, c.stdin, c.args...); got != c.want {
			t.Errorf("%s: status %d, want %d\n%s%s", c.name, got, c.want, out, errs)
		}
	}
}

func TestMissingDatumIsStrictOnly(t *testing.T) {
	text := strings.Replace(sound, "size: 2.5 mm2, lengths", "lengths", 1)
	if got, out, _ := fitout(t, text, "check", "-"); got != Clean {
		t.Errorf("status %d without --strict\n%s", got, out)
	}
	got, out, _ := fitout(t, text, "check", "--strict", "-")
	if got != Findings || !strings.Contains(out, "size of wire 1") {
		t.Errorf("status %d with --strict, and the missing datum must be named\n%s", got, out)
	}
}

func TestCheckJSONHoldsTheContract(t *testing.T) {
	code, out, _ := fitout(t, strings.Replace(sound, "lengths: [0.15 m", "lengths: [2.1 m", 1), "check", "--format", "json", "-")
	if code != Findings {
		t.Fatalf("status %d", code)
	}
	var got struct {
		Files []struct {
			File     string
			Findings []struct {
				Rule, Severity, Class, File, Message, Risk, Do, Source string
				Line, Column                                           int
				At                                                     []string
				Value, Limit                                           *float64
				Unit                                                   *string
			}
			Deviations, Unchecked []any
			NotStated             []any `json:"not_stated"`
		}
		Counts map[string]int
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	for _, f := range got.Files[0].Findings {
		if f.Rule != "fuse-too-far" {
			continue
		}
		if f.Severity != "error" || f.Class != "A" || f.Line != 7 || f.Column != 5 || f.At[0] != "1a" || f.At[1] != "B1" {
			t.Errorf("finding %+v", f)
		}
		if *f.Value != 2.1 || *f.Limit < 1.828 || *f.Limit > 1.829 || *f.Unit != "m" {
			t.Errorf("value %v, limit %v %v; want 2.1 m against 72 in", *f.Value, *f.Limit, *f.Unit)
		}
		if f.Risk == "" || f.Do == "" || f.Source == "" {
			t.Errorf("the finding does not stand alone: %+v", f)
		}
		return
	}
	t.Errorf("no fuse-too-far in %s", out)
}

func TestMistakesInJSON(t *testing.T) {
	code, out, _ := fitout(t, strings.Replace(sound, "kind: light", "kind: lihgt", 1), "check", "--format", "json", "-")
	var got struct {
		Errors []struct {
			File, Message, Near string
			Line, Column        int
		}
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil || code != Misuse {
		t.Fatalf("status %d, %v\n%s", code, err, out)
	}
	if len(got.Errors) != 1 || got.Errors[0].Line != 5 || got.Errors[0].Column != 15 || got.Errors[0].Near != "light" {
		t.Errorf("%+v", got.Errors)
	}
}

func TestExplainEveryRule(t *testing.T) {
	for _, name := range rules.Names() {
		code, out, errs := fitout(t, "", "explain", name)
		if code != Clean || !strings.Contains(out, "fails:") || !strings.Contains(out, "passes:") || !strings.Contains(out, "source") {
			t.Errorf("%s: status %d\n%s%s", name, code, out, errs)
		}
	}
}

func TestNewReadsCleanAndOverwritesNothing(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "heron")
	if code, _, errs := fitout(t, "", "new", dir); code != Clean {
		t.Fatal(errs)
	}
	file := filepath.Join(dir, "boat.yaml")
	if code, out, errs := fitout(t, "", "check", file); code != Clean {
		t.Errorf("the new boat has findings: %s%s", out, errs)
	}
	if code, _, _ := fitout(t, "", "new", dir); code != Misuse {
		t.Error("a second `new` overwrote the file")
	}
}

func TestEveryCommandHelpShowsAnExample(t *testing.T) {
	for _, c := range commands(Streams{}) {
		if c.Hidden {
			continue
		}
		code, out, _ := fitout(t, "", c.Name(), "--help")
		if code != Clean || !strings.Contains(out, "Examples:") {
			t.Errorf("%s --help: status %d, no example\n%s", c.Name(), code, out)
		}
	}
}

func TestFleetIsSummed(t *testing.T) {
	dir := t.TempDir()
	for _, n := range []string{"a.yaml", "b.yaml"} {
		if err := os.WriteFile(filepath.Join(dir, n), []byte(sound), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "other.yaml"), []byte("not: ours\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	code, out, errs := fitout(t, "", "check", dir)
	if code != Clean || !strings.Contains(out, "2 files: 2 without error or warning") {
		t.Errorf("status %d\n%s%s", code, out, errs)
	}
}
