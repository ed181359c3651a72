package edit_test

import (
	"strings"
	"testing"

	"fitout/schema/edit"
)

// Comments, blank lines and what follows stay; the entries stand behind those
// that were there, and the file reads with as many readings more.
func TestReadings(t *testing.T) {
	const boat = "fitout: 1\nparts:\n  B1: {kind: battery, volts: 12 V, chemistry: agm, capacity: 100 Ah}  # bought new\n"
	const one, two = "{at: B1.+, volts: 12.6 V}", "{at: B1.+, volts: 12.7 V}"
	for _, c := range []struct{ name, text, want string }{
		{"none", boat, boat + "readings:\n  - " + one + "\n"},
		{"no last line end", strings.TrimSuffix(boat, "\n"), boat + "readings:\n  - " + one},
		{"list", boat + "readings:\n- " + two + "  # by hand\n\n# the sheets\nsheets: {paper: A4}\n", boat + "readings:\n- " + two + "  # by hand\n- " + one + "\n\n# the sheets\nsheets: {paper: A4}\n"},
		{"in lines", boat + "readings:\n  - at: B1.+\n    volts: 12.7 V\nsheets: {paper: A4}\n", boat + "readings:\n  - at: B1.+\n    volts: 12.7 V\n  - " + one + "\nsheets: {paper: A4}\n"},
		{"brackets", boat + "readings: [" + two + "]\n", boat + "readings: [" + two + ", " + one + "]\n"},
		{"empty brackets", boat + "readings: []  # none yet\n", boat + "readings: [" + one + "]  # none yet\n"},
		{"empty", boat + "readings:  # none yet\nsheets: {paper: A4}\n", boat + "readings:  # none yet\n  - " + one + "\nsheets: {paper: A4}\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := mustRead(t, c.text)
			edits, err := edit.On(b).Readings([]string{one})
			if err != nil {
				t.Fatal(err)
			}
			got, err := edit.Apply(b.Files[0], edits)
			if err != nil {
				t.Fatal(err)
			}
			if got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
			if n := len(mustRead(t, got).Readings); n != len(b.Readings)+1 {
				t.Errorf("%d readings", n)
			}
		})
	}
}
