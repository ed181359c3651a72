package symbol

import (
	_ "embed" // the two tables
	"encoding/csv"
	"fmt"
	"strings"
	"sync"
)

//go:embed symbols.csv
var referenceCSV string

//go:embed forms.csv
var formsCSV string

// Medium is the sheet a form is drawn on.
type Medium string

// The three schematics.
const (
	DC    Medium = "dc"
	AC    Medium = "ac"
	Water Medium = "water"
)

// library is every symbol of both tables, in table order.
type library struct {
	byID  map[string]Symbol
	order []string
}

// load parses the tables once. A fault in them is a fault of the program, held
// off by the tests.
var load = sync.OnceValue(func() library {
	lib, err := parseTables(referenceCSV, formsCSV)
	if err != nil {
		panic("schema/symbol: " + err.Error())
	}
	return lib
})

func parseTables(reference, forms string) (library, error) {
	lib := library{byID: map[string]Symbol{}}
	get := func(id string) (Symbol, bool) { s, ok := lib.byID[id]; return s, ok }
	add := func(s Symbol, anchors, primitives string) error {
		if _, twice := lib.byID[s.ID]; twice {
			return fmt.Errorf("symbol %s: the id is there twice", s.ID)
		}
		ps, err := parsePrimitives(primitives, get)
		if err != nil {
			return fmt.Errorf("symbol %s: %w", s.ID, err)
		}
		s.Primitives = ps
		s.Box = boxOf(ps, nil)
		s.Anchors = parseAnchors(anchors, s.Box)
		lib.byID[s.ID] = s
		lib.order = append(lib.order, s.ID)
		return nil
	}
	for _, r := range rows(reference, 9) {
		s := Symbol{ID: r[0], Title: r[2], Standard: r[6], Status: r[7], Note: r[8]}
		if err := add(s, r[3], r[4]); err != nil {
			return library{}, err
		}
	}
	for _, r := range rows(forms, 7) {
		s := Symbol{ID: r[0], Title: r[1], Standard: r[4], Status: r[5], Note: r[6]}
		if err := add(s, r[2], r[3]); err != nil {
			return library{}, err
		}
	}
	return lib, lib.drawBars()
}

// drawBars fills in the rows that Bar draws, with their sample studs.
func (lib library) drawBars() error {
	for _, id := range lib.order {
		s := lib.byID[id]
		if len(s.Primitives) > 0 {
			continue
		}
		var studs []Stud
		for _, a := range s.Anchors {
			studs = append(studs, Stud{Name: a.Name, X: a.X, Up: a.Y < 0})
		}
		b, ok := bar(s, studs, 0, 0)
		if !ok {
			return fmt.Errorf("symbol %s: no primitives", id)
		}
		lib.byID[id] = b
	}
	return nil
}

// rows reads a table without its comments and its heading.
func rows(text string, fields int) [][]string {
	r := csv.NewReader(strings.NewReader(text))
	r.Comment, r.FieldsPerRecord = '#', fields
	all, err := r.ReadAll()
	if err != nil {
		panic("schema/symbol: " + err.Error()) // embedded: cannot happen past the tests
	}
	return all[1:]
}

// Get finds a symbol by id: an id of the reference table ("diode"), or
// medium/kind, or medium/kind=variant.
func Get(id string) (Symbol, bool) {
	s, ok := load().byID[id]
	return s, ok
}

// Form finds the form of a part kind on a sheet. A variant that the table does
// not have falls back to the kind's general form; a kind that it does not have
// reports false.
func Form(kind string, m Medium, variant string) (Symbol, bool) {
	id := string(m) + "/" + kind
	if variant != "" {
		if s, ok := Get(id + "=" + variant); ok {
			return s, true
		}
	}
	return Get(id)
}

// IDs lists every symbol in the order of the tables.
func IDs() []string { return append([]string(nil), load().order...) }

// Forms lists the ids of one medium's forms in the order of the table.
func Forms(m Medium) []string {
	var out []string
	for _, id := range load().order {
		if strings.HasPrefix(id, string(m)+"/") {
			out = append(out, id)
		}
	}
	return out
}
