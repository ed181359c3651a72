package pack

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/boattest"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// sheetOf is the commissioning sheet of a boat as rows of its CSV, the head first.
func sheetOf(t *testing.T, in Input) [][]string {
	t.Helper()
	m, err := newMaker(in, Options{For: Owner})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := WriteCSV(&out, m.measurements(), in.Survey.Boat.Rules.US()); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&out).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// cellOf returns a cell by the name of its column.
func cellOf(rows [][]string, i int, column string) *string {
	return &rows[i][slices.Index(rows[0], column)]
}

// readBack puts a filled-in sheet into the text of its boat and checks it.
func readBack(t *testing.T, text string, in Input, rows [][]string) rules.Result {
	t.Helper()
	var b bytes.Buffer
	if err := csv.NewWriter(&b).WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	filled, err := Readings(&b, in.Survey.Boat)
	if err != nil {
		t.Fatal(err)
	}
	return rules.Check(survey.Of(boattest.Read(t, withReadings(text, filled.Lines))))
}

func withReadings(text string, lines []string) string {
	if head, tail, has := strings.Cut(text, "\nreadings:\n"); has {
		return head + "\nreadings:\n" + strings.Join(lines, "\n") + "\n" + tail
	}
	return text + "\nreadings:\n" + strings.Join(lines, "\n") + "\n"
}

// What the sheet prints as good is what the check lets pass, to the last digit
// printed: every row of every example, just inside its band and just outside.
func TestBandIsTheChecks(t *testing.T) {
	for _, file := range exampleNames(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			in := inputOf(boattest.Read(t, string(text)))
			for _, c := range []struct {
				column string
				step   float64 // of the last digit printed
				off    bool
			}{{"good_from", 0, false}, {"good_to", 0, false}, {"good_from", -1, true}, {"good_to", 1, true}} {
				rows := sheetOf(t, in)
				want := map[string]bool{}
				for i := range rows[1:] {
					edge, err := strconv.ParseFloat(*cellOf(rows, i+1, c.column), 64)
					if *cellOf(rows, i+1, "quantity") == noteQuantity || err != nil {
						continue // a note, or a rise of any height
					}
					_, after, _ := strings.Cut(*cellOf(rows, i+1, c.column), ".")
					edge += c.step * last(len(after))
					*cellOf(rows, i+1, "measured") = strconv.FormatFloat(edge, 'f', len(after), 64)
					*cellOf(rows, i+1, "note") = "row " + *cellOf(rows, i+1, "no")
					want[*cellOf(rows, i+1, "no")] = true
				}
				found := map[string]bool{}
				for _, f := range off(readBack(t, string(text), in, rows)) {
					_, no, _ := strings.Cut(f.Span.Text(), `note: "row `)
					no, _, _ = strings.Cut(no, `"`)
					found[no] = true
					if !c.off {
						t.Errorf("%s: good by the sheet, off by the check: %s: %s", c.column, f.Span.Text(), f.Message)
					}
				}
				if len(want) == 0 {
					t.Fatal("no row has a band")
				}
				for i := range rows[1:] {
					if no := *cellOf(rows, i+1, "no"); c.off && want[no] && !found[no] {
						t.Errorf("%s: outside the band and not found: %v", c.column, rows[i+1])
					}
				}
			}
		})
	}
}

func last(decimals int) float64 {
	x, _ := strconv.ParseFloat(fmt.Sprintf("1e-%d", decimals), 64)
	return x
}

// The sheet of each example goes out, is filled with what meters show in the boat
// with 0.02 Ω more in one of its conductors, each in turn, comes back, and a finding names
// that conductor; filled with what is predicted it is silent. By Ohm's law
// the joint loses 0.02 Ω times the current, so only conductors are taken whose
// current makes that clear of the tolerance of a volt reading.
func TestEveryExampleRoundTrip(t *testing.T) {
	const joint = 0.02
	tries := 0
	for _, file := range exampleNames(t) {
		t.Run(filepath.Base(file), func(t *testing.T) {
			raw, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			// readings of the example itself would be taken for ones of the trip
			text := withoutReadings(string(raw))
			in := inputOf(boattest.Read(t, text))
			rows := sheetOf(t, in)
			fillRows(t, rows, in.Survey)
			if found := off(readBack(t, text, in, rows)); len(found) > 0 {
				t.Errorf("a boat as computed: %s", found[0].Message)
			}
			for i := range in.Survey.Boat.Wires {
				sound := in.Survey.Boat.Wires[i]
				ohms, missing := in.Survey.WireOhms(sound, false)
				if missing != "" || !carries(in.Survey, sound, joint) {
					continue
				}
				boat := boattest.Read(t, text)
				w := boat.Wires[i]
				w.Resistance = schema.Val[unit.Ohm]{V: ohms + joint, From: schema.Own}
				worn := survey.Of(boat)
				// between batteries side by side the current takes the other way
				if !carries(worn, w, joint) {
					continue
				}
				rows := sheetOf(t, in)
				fillRows(t, rows, worn)
				found := off(readBack(t, text, in, rows))
				tries++
				if !slices.ContainsFunc(found, func(f diag.Finding) bool { return mentions(f.Do, "wire "+w.Ref()) }) {
					t.Errorf("no finding names wire %s from %v to %v; %d were found", w.Ref(), w.From, w.To, len(found))
					for _, f := range found[:min(3, len(found))] {
						t.Log(f.Message, "|", f.Do)
					}
				}
			}
		})
	}
	if tries < 40 && !testing.Short() {
		t.Errorf("only %d joints were tried", tries)
	}
}

func withoutReadings(text string) string {
	head, tail, has := strings.Cut(text, "\nreadings:\n")
	if !has {
		return text
	}
	for strings.HasPrefix(tail, " ") {
		_, tail, _ = strings.Cut(tail, "\n")
	}
	return head + "\n" + tail
}

// mentions reports whether a text names a stretch as a whole word.
func mentions(text, stretch string) bool {
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(",;()", r) }) {
		for _, w := range strings.Split(word, " and ") {
			if strings.HasSuffix(strings.TrimSpace(strings.ReplaceAll(w, " or in the return", "")), stretch) {
				return true
			}
		}
	}
	return false
}

// carries reports whether a joint in a conductor loses 3 % of the volts in a
// condition of the sheet, and what the volts may differ between full draw and the
// mean besides.
func carries(s *survey.Survey, w *schema.Wire, joint float64) bool {
	for _, c := range s.Boat.Conditions {
		if c.Unattended.V || c.BuiltIn {
			continue
		}
		d := s.DC(c)
		a, ok := d.Amps(w)
		most, spread := 12.0, 0.0
		for _, b := range s.Batteries() {
			full, _ := d.Volts(b, "+")
			mean, _ := d.Mean().Volts(b, "+")
			most, spread = max(most, math.Abs(float64(full))), max(spread, math.Abs(float64(full-mean)))
		}
		if ok && math.Abs(float64(a))*joint > 0.03*most+spread {
			return true
		}
	}
	return false
}
