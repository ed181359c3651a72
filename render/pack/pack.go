// Package pack makes what goes aboard and what the owner keeps: one set of
// sheets to print and one page for the screen, both from the same sections, and
// the lists beside them.
//
// Every section is made from the model, one kind of page a file: cover.go,
// findings.go, where.go, openings.go, sweep.go, spaces.go, terminals.go, safe.go, faults*.go,
// cards*.go, lists.go, commission.go, index.go. A section is headings, text,
// tables and figures without a place; paper.go sets sections on sheets, html.go
// writes them as one page.
package pack

import (
	"fmt"
	"slices"
	"strings"

	"fitout/render"
	"fitout/render/draw"
	"fitout/render/label"
	"fitout/render/list"
	"fitout/render/sheet"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// Input is what a pack is made from.
type Input struct {
	Survey *survey.Survey
	Result rules.Result
}

// Audience is whom the pack is for.
type Audience string

// The audiences. Aboard is what is needed in the dark; Owner is all but the
// yard's part; Yard and Reviewer begin with the findings.
const (
	Aboard   Audience = "aboard"
	Owner    Audience = "owner"
	Yard     Audience = "yard"
	Reviewer Audience = "reviewer"
)

// Audiences lists the audiences.
func Audiences() []Audience { return []Audience{Aboard, Owner, Yard, Reviewer} }

// Options choose what is made.
type Options struct {
	// For is whom it is for; empty is Owner.
	For Audience
	// Paper is the name of a size; empty takes the file's, else A4.
	Paper string
	// Mono says that the sheets will be printed in black.
	Mono bool
	// Page is the address at which the page for the screen will be found; with it
	// the space sheets and the labels carry codes that lead there.
	Page string
}

// Pack is the set, ready to be written.
type Pack struct {
	// Sheets are the pages to print, numbered.
	Sheets []draw.Sheet
	// HTML is the page for the screen: one file, nothing loaded from elsewhere.
	HTML []byte
	// Lists are the tables that lie beside the pages as CSV and in one workbook.
	Lists []list.Table
	// Commissioning is the sheet of measurements, to be filled in.
	Commissioning []Measurement
	// Round are the facts that are still to be looked at or measured, space by
	// space, to be filled in.
	Round []RoundRow
	// Labels are the sheets of labels, on stock of their own; nil for the reviewer.
	Labels *label.Set
}

// Make makes the pack. The same input and options give the same pack.
func Make(in Input, o Options) (*Pack, error) {
	if o.For == "" {
		o.For = Owner
	}
	if !slices.Contains(Audiences(), o.For) {
		return nil, fmt.Errorf("a pack is for %s, not for %q", audienceNames(), o.For)
	}
	m, err := newMaker(in, o)
	if err != nil {
		return nil, err
	}
	sheets, sections, err := m.paper()
	if err != nil {
		return nil, err
	}
	page, err := m.html(sections)
	if err != nil {
		return nil, err
	}
	p := &Pack{Sheets: sheets, HTML: page, Lists: m.lists(), Commissioning: m.measurements(), Round: m.round()}
	if m.hasLabels() {
		if p.Labels, err = m.labels(label.Options{Page: o.Page}); err != nil {
			return nil, err
		}
	}
	return p, nil
}

func audienceNames() string {
	var out []string
	for _, a := range Audiences() {
		out = append(out, string(a))
	}
	return strings.Join(out, ", ")
}

// maker holds what the sections are made from.
type maker struct {
	Input
	options Options
	frame   sheet.Paper
	title   sheet.TitleBlock
	// at is the first page of every section and entry, of the pass before.
	at map[string]int
	// drawn is on which pages of drawings an id stands.
	drawn map[string][]int
	// used is on which pages an id stands, for the index.
	used     map[string][]int
	drawings drawings
	cache    cache
}

func newMaker(in Input, o Options) (*maker, error) {
	name := o.Paper
	if name == "" {
		name = in.Survey.Boat.Sheets.Paper.Or("A4")
	}
	p, err := sheet.PaperNamed(name)
	if err != nil {
		return nil, err
	}
	if p.Name == "A3" || p.Name == "Tabloid" {
		small := map[string]string{"A3": "A4", "Tabloid": "Letter"}[p.Name]
		if p, err = sheet.PaperNamed(small); err != nil {
			return nil, err
		}
	}
	m := &maker{Input: in, options: o, frame: p, title: render.Title(in.Survey, in.Result), at: map[string]int{}, drawn: map[string][]int{}, used: map[string][]int{}}
	return m, nil
}

// isFor reports whether the pack is for one of the audiences.
func (m *maker) isFor(list ...Audience) bool { return slices.Contains(list, m.options.For) }

// sections are the pages in order, drawings left out: they come after the
// sections of before.
func (m *maker) sections() (before, after []section) {
	for _, p := range producers() {
		if len(p.only) > 0 && !m.isFor(p.only...) {
			continue
		}
		made := p.sections(m)
		if p.after {
			after = append(after, made...)
		} else {
			before = append(before, made...)
		}
	}
	return before, after
}

// producer makes the sections of one kind of page.
type producer struct {
	sections func(*maker) []section
	after    bool // behind the drawings
	only     []Audience
}

func producers() []producer {
	return []producer{
		{sections: (*maker).cover},
		{sections: (*maker).findings, only: []Audience{Yard, Reviewer}},
		{sections: (*maker).where},
		{sections: (*maker).openings},
		{sections: (*maker).makeSafe},
		{sections: (*maker).spaces},
		{sections: (*maker).cards},
		{sections: (*maker).faults},
		{sections: (*maker).terminals},
		// whoever is aboard looks for the leak first, for the findings later
		{sections: (*maker).findings, only: []Audience{Aboard, Owner}},
		{sections: (*maker).sweep, after: true},
		{sections: (*maker).listSections, after: true},
		{sections: (*maker).registers, after: true},
		{sections: (*maker).commission, after: true, only: []Audience{Owner, Yard, Reviewer}},
		{sections: (*maker).surveyRound, after: true, only: []Audience{Owner, Yard, Reviewer}},
		{sections: (*maker).index, after: true},
	}
}
