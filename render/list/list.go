// Package list makes the lists of an installation: parts, order (bill of
// materials), wires, protection, hoses, openings and labels. Each list is
// rows of plain cells; the same rows go out as text, CSV, Markdown, JSON and
// XLSX, and on to the sheets of the pack.
package list

import (
	"fmt"

	"fitout/validate/rules"
	"fitout/validate/survey"
)

// Column heads one column. Key is the name in JSON and CSV; a unit stands in the
// key where the cells are numbers.
type Column struct {
	Key, Title string
	Right      bool // numbers
}

// Cell is one cell: what a person reads, and the number behind it in the
// column's unit where there is one.
type Cell struct {
	Text   string
	Number *float64
	// Formula is what a workbook computes the cell by, without the equals sign;
	// the row it stands in is written as {row}. Text and Number hold its value.
	Formula string
}

// Table is one list.
type Table struct {
	Name, Title string
	Columns     []Column
	Rows        [][]Cell
	// Notes stand under the list: cautions, allowances, what is missing.
	Notes []string
	// Beside are the lists that go with this one: a workbook's formulas read them,
	// and text, Markdown and JSON carry them below.
	Beside []Table
	// Paper is the size a workbook is printed on: A4 or Letter.
	Paper string
}

// Input is what lists are made from.
type Input struct {
	Survey *survey.Survey
	Result rules.Result
}

// maker makes one list.
type maker struct {
	name, help string
	make       func(Input) Table
}

// makers lists every list in the order the help shows them.
func makers() []maker {
	return []maker{
		{"parts", "everything that is fitted", parts},
		{"order", "what to order: the bill of materials, down to lugs and clamps", order},
		{"cuts", "how cable and hose are cut from reels, and what is left over", cuts},
		{"totals", "what the order costs, by group and currency, as far as prices are given", totals},
		{"wires", "every conductor with its ends, size, length, lugs", wires},
		{"protection", "every fuse and breaker with rating, voltage and interrupt rating", protection},
		{"hoses", "every hose with bore, length, clamps", hoses},
		{"openings", "every hole in the hull, bow to stern", openings},
		{"labels", "what to print for wires, devices and valves", labels},
		{"loads", "the electrical load analysis by condition", loads},
	}
}

// Names returns the names of the lists.
func Names() []string {
	var names []string
	for _, m := range makers() {
		names = append(names, m.name)
	}
	return names
}

// Help returns one line on a list.
func Help(name string) string {
	for _, m := range makers() {
		if m.name == name {
			return m.help
		}
	}
	return ""
}

// Of makes the list with the name; ok is false where there is none.
func Of(name string, in Input) (t Table, ok bool) {
	for _, m := range makers() {
		if m.name == name {
			t = m.make(in)
			t.Name, t.Paper = name, in.Survey.Boat.Sheets.Paper.Or("A4")
			return t, true
		}
	}
	return Table{}, false
}

func text(s string) Cell { return Cell{Text: s} }

// number makes a cell whose text has the digits given.
func number[T ~float64](v T, digits int) Cell {
	f := float64(v)
	return Cell{Text: fmt.Sprintf("%.*f", digits, f), Number: &f}
}

func whole(n int) Cell {
	f := float64(n)
	return Cell{Text: fmt.Sprint(n), Number: &f}
}
