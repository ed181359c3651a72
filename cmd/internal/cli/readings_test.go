package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A filled-in sheet is shown as a patch, put into the file with its comments
// kept, and not put in twice; a row that is wrong leaves the file alone.
func TestReadingsAreWritten(t *testing.T) {
	dir := t.TempDir()
	file, sheet := filepath.Join(dir, "boat.yaml"), filepath.Join(dir, "filled.csv")
	const boat = "fitout: 1\nparts:\n  B1: {kind: battery, emf: 12.8 V, resistance: 5 mohm, chemistry: agm, volts: 12 V, capacity: 100 Ah}  # new in May\n" +
		"  HT1: {kind: heater, draw: 20 A}\nwires:\n  - {id: 1, path: [B1.+, {F1: class-t 30 A}, HT1.+], size: 6 AWG, lengths: [0.1 m, 0.9 m]}\n" +
		"  - {id: 2, from: HT1.-, to: B1.-, size: 6 AWG, length: 1 m}\nconditions:\n  warm: {title: Heater on, running: [HT1]}\n"
	const head = "no,condition,at,measure,where,quantity,unit,predicted,within_percent,measured,date,note\n"
	put(t, file, boat)
	put(t, sheet, head+"1,warm,HT1.+,x,y,volts,V,12.6,2,11.9,2026-05-02,\n2,warm,HT1,x,y,current,A,20,10,,,\n")
	code, out, words := run("pack", file, "--readings", sheet, "--dry-run")
	if code != Clean || !strings.Contains(out, "+  - {date: 2026-05-02, condition: warm, at: HT1.+, volts: 11.9 V, within: 2 %}") {
		t.Errorf("dry run: status %d\n%s%s", code, out, words)
	}
	if got, _ := os.ReadFile(file); string(got) != boat {
		t.Error("a dry run wrote the file")
	}
	want := boat + "readings:\n  - {date: 2026-05-02, condition: warm, at: HT1.+, volts: 11.9 V, within: 2 %}\n"
	for range 2 {
		if code, _, words := run("pack", file, "--readings", sheet, "--write"); code != Clean {
			t.Fatalf("status %d: %s", code, words)
		}
		if got, _ := os.ReadFile(file); string(got) != want {
			t.Errorf("got\n%s\nwant\n%s", got, want)
		}
	}
	if _, out, _ := run("check", file); !strings.Contains(out, "V too much between B1 and HT1") {
		t.Errorf("the finding does not say where:\n%s", out)
	}
	put(t, sheet, head+"1,warm,HT9.+,x,y,volts,V,12.6,2,11.9,2026-05-02,\n")
	if code, _, words := run("pack", file, "--readings", sheet, "--write"); code != Misuse || !strings.Contains(words, `line 2: the boat has no part "HT9"`) {
		t.Errorf("an unknown part: status %d, %s", code, words)
	}
	if got, _ := os.ReadFile(file); string(got) != want {
		t.Error("a wrong row changed the file")
	}
	if code, _, _ := run("pack", file, "--write", "-o", dir); code != Misuse {
		t.Errorf("--write alone: status %d", code)
	}
}
