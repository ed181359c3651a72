package pack

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fitout/schema/boattest"
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
