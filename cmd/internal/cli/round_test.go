package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A survey round goes out beside the pack, is filled in, is shown as a patch, is
// put into the file with its comments kept, once; a row that cannot be placed or
// read is named and leaves the file alone.
func TestRoundIsWritten(t *testing.T) {
	dir := t.TempDir()
	file, sheet := filepath.Join(dir, "boat.yaml"), filepath.Join(dir, "boat-round.csv")
	const before = "fitout: 1\nspaces:\n  box: {}\nparts:\n" +
		"  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, space: box}  # new in May\n" +
		"  F1: {kind: fuse, rating: 30 A, family: class-t, space: box}\n" +
		"  HT1: {kind: heater}  # over the berth\nwires:\n" +
		"  - {id: 1, path: [B1.+, F1, HT1.+], size: 6 AWG, lengths: [0.1 m, null]}  # behind the lining\n" +
		"  - id: 2\n    from: HT1.-\n    to: B1.-  # the post\n    length: 1 m\n"
	put(t, file, before)
	if code, _, words := run("pack", file, "-o", dir); code != Clean {
		t.Fatalf("status %d: %s", code, words)
	}
	raw, err := os.ReadFile(sheet)
	if err != nil {
		t.Fatal(err)
	}
	fill := func(values map[string]string) string {
		var out []string
		for _, line := range strings.Split(strings.TrimSpace(string(raw)), "\n") {
			if cells := strings.Split(line, ","); len(cells) > 5 && values[cells[4]] != "" {
				line = strings.TrimSuffix(line, ",") + "," + values[cells[4]]
				delete(values, cells[4])
			}
			out = append(out, line)
		}
		for k := range values {
			t.Errorf("the round does not ask for %s:\n%s", k, raw)
		}
		return strings.Join(out, "\n") + "\n"
	}
	put(t, sheet, fill(map[string]string{"wire 1b.length": "0.9", "wire 2.size": "6 AWG", "HT1.draw": "20 A", "B1.restrained": "yes"}))
	want := strings.NewReplacer("space: box}  # new", "space: box, restrained: yes}  # new", "kind: heater}", "kind: heater, draw: 20 A}",
		"[0.1 m, null]", "[0.1 m, 0.9 m]", "    length: 1 m\n", "    length: 1 m\n    size: 6 AWG\n").Replace(before)
	code, out, words := run("pack", file, "--round", sheet, "--dry-run")
	if code != Clean || !strings.Contains(out, "+  HT1: {kind: heater, draw: 20 A}  # over the berth") {
		t.Errorf("dry run: status %d\n%s%s", code, out, words)
	}
	if code, out, _ := run("pack", file, "--round", sheet); code != Clean || !strings.Contains(out, "wire 1b.length: 0.9 m\n") {
		t.Errorf("shown: status %d\n%s", code, out)
	}
	if got, _ := os.ReadFile(file); string(got) != before {
		t.Error("looking wrote the file")
	}
	for range 2 {
		if code, _, words := run("pack", file, "--round", sheet, "--write"); code != Clean {
			t.Fatalf("status %d: %s", code, words)
		}
		if got, _ := os.ReadFile(file); string(got) != want {
			t.Errorf("got\n%s\nwant\n%s", got, want)
		}
	}
	const head = "key,unit,value\n"
	for rows, says := range map[string]string{
		"B1.restrained,,yes\nHT9.draw,A,20\n":   "line 3: the file has no part HT9; nothing was written",
		"B1.torque,,5 Nm\nwire 9.length,m,2\n":  "line 3: the file has no wire 9; nothing was written",
		"B1.torque,,5 Nm\nHT1.height,,high\n":   "line 3: HT1.height: ",
		"B1.torque,,5 Nm\nHT1.draw,A,25\n":      "line 3: the file says 20 A for HT1.draw already, the round 25 A",
		"B1.torque,,5 Nm\nHT1.colour,,red\n":    "line 3: a heater has no colour; nothing was written",
		"B1.torque,,5 Nm\nspace hold.area,,2\n": "line 3: the file describes no space hold; nothing was written",
	} {
		put(t, sheet, head+rows)
		if code, _, words := run("pack", file, "--round", sheet, "--write"); code != Misuse || !strings.Contains(words, says) {
			t.Errorf("%q: status %d, %s", rows, code, words)
		}
		if got, _ := os.ReadFile(file); string(got) != want {
			t.Fatalf("%q changed the file", rows)
		}
	}
	put(t, sheet, head+"space box.area,m2,1.5\nvessel.length,ft,31\n")
	if code, _, words := run("pack", file, "--round", sheet, "--write"); code != Clean {
		t.Errorf("space and vessel: status %d, %s", code, words)
	}
	if got, _ := os.ReadFile(file); string(got) != strings.Replace(want, "box: {}", "box: {area: 1.5 m2}", 1)+"vessel: {length: 31 ft}\n" {
		t.Errorf("space and vessel:\n%s", got)
	}
}
