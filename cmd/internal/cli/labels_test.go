package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const dayboat = "../../../examples/dayboat.yaml"

// filesIn reads a folder.
func filesIn(t *testing.T, dir string) map[string]string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for _, e := range entries {
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		out[e.Name()] = string(data)
	}
	return out
}

// Sheets, one PDF and the printer's file, nothing else; the same bytes twice; what
// finds no room is said on standard error.
func TestLabels(t *testing.T) {
	args := []string{"labels", dayboat, "--stock", "wires=sleeve", "--stock", "devices=a4-65", "--qr", "https://boat.example", "--skip", "2", "--pitch", "1 in", "-o"}
	first, second := t.TempDir(), t.TempDir()
	for _, dir := range []string{first, second} {
		code, out, errs := fitout(t, "", append(args, dir)...)
		if code != Clean || out != "" {
			t.Fatalf("exit status %d: %s%s", code, out, errs)
		}
		if !strings.Contains(errs, "devices: no room for the code of 4 on a4-65") {
			t.Errorf("what has no room is not said: %q", errs)
		}
	}
	got, again := filesIn(t, first), filesIn(t, second)
	for name, data := range got {
		if again[name] != data {
			t.Errorf("%s differs the second time", name)
		}
		switch {
		case name == "dayboat-labels.pdf" && strings.HasPrefix(data, "%PDF-"):
		case name == "dayboat-label-printer.csv" && strings.HasPrefix(data, "kind,id,at,space,line1,"):
		case strings.HasPrefix(name, "dayboat-labels-") && strings.HasSuffix(name, ".svg"):
		default:
			t.Errorf("unexpected file %s", name)
		}
	}
	for _, want := range []string{"dayboat-labels.pdf", "dayboat-label-printer.csv", "dayboat-labels-a4-65-1.svg", "dayboat-labels-sleeve-4.8-1.svg", "dayboat-labels-a4-1.svg"} {
		if got[want] == "" {
			t.Errorf("%s is missing", want)
		}
	}
}

// A wrong command line writes nothing and says what would be right.
func TestLabelsMisuse(t *testing.T) {
	for _, c := range []struct{ args, want string }{
		{"--only wire", "the nearest is wires"},
		{"--stock a4-66", "is not one of"},
		{"--stock valve=a4-24", "the nearest is valves"},
		{"--stock valves=sleeve", "sleeves go over wires"},
		{"--stock panels=a4-24", "need a whole page or a tape"},
		{"--stock wires=a4", "is for panel strips"},
		{"--stock a4-24 --skip 24", "a sheet has 24 labels"},
		{"--skip 30", "leaves nothing of a4-24"},
		{"--skip -1", "less than none"},
		{"--pitch 2mm", "outside 5 to 100 mm"},
		{"--pitch 2kg", "--pitch"},
		{"--only valves", "nothing to label"},
	} {
		dir := filepath.Join(t.TempDir(), "out")
		code, _, errs := fitout(t, "", append([]string{"labels", dayboat, "-o", dir}, strings.Fields(c.args)...)...)
		if code != Misuse || !strings.Contains(errs, c.want) {
			t.Errorf("%s: exit status %d, %q, want %q", c.args, code, errs, c.want)
		}
		if _, err := os.Stat(dir); err == nil {
			t.Errorf("%s: something was written", c.args)
		}
	}
}

// The labels lie beside the pack for those who stick them on.
func TestPackHasLabels(t *testing.T) {
	for audience, want := range map[string]bool{"aboard": true, "owner": true, "yard": true, "reviewer": false} {
		dir := t.TempDir()
		if code, _, errs := fitout(t, "", "pack", dayboat, "--for", audience, "-o", dir); code != Clean {
			t.Fatal(errs)
		}
		got := filesIn(t, dir)
		for _, name := range []string{"dayboat-labels.pdf", "dayboat-label-printer.csv", "dayboat-labels-a4-65-1.svg"} {
			if _, ok := got[name]; ok != want {
				t.Errorf("for %s: %s is there: %v, want %v", audience, name, ok, want)
			}
		}
		if strings.Contains(got["dayboat-pack.html"], "Which label goes where?") != want {
			t.Errorf("for %s: the contents say otherwise", audience)
		}
	}
}
