// Package render makes the sheets of a boat: Sheets runs the producers in order,
// numbers what they make as one set and closes every sheet with its frame and
// title block.
package render

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// Options choose what is drawn and on what.
type Options struct {
	// Paper is the name of a size; empty takes the file's, else A4.
	Paper string
	// Turn says which way up; the zero value lets the drawing decide.
	Turn Turn
	// Mono says that the sheets will be printed in black. It changes no position.
	Mono bool
	// Clean leaves the findings' marks and legends out.
	Clean bool
	// Which names the kinds of sheet wanted, as in the table of kinds; empty: all.
	Which []string
}

// Turn is which way up the paper lies.
type Turn int

// The ways up.
const (
	Auto Turn = iota
	Portrait
	Landscape
)

// job is one run of the producers.
type job struct {
	survey  *survey.Survey
	result  rules.Result
	options Options
	// papers may be used; larger are for what does not fit on them.
	papers, larger []sheet.Paper
	// first is the number in the set of the first sheet; before counts the sheets
	// that stand before a producer's own, and waits until they are made.
	first  int
	before func() int
}

func (j *job) boat() *schema.Boat { return j.survey.Boat }

// producer makes the sheets of one kind, each kind in a file of its own.
type producer struct {
	kind  string
	pages func(*job) ([]sheet.Page, error)
}

// producers in the order of the set.
func producers() []producer {
	return []producer{
		{"overview", overviewPages},
		{"dc", dcPages},
		{"ac", acPages},
		{"water", waterPages},
		{"panels", panelsPages},
		{"places", placesPages},
		{"key", keyPages},
	}
}

// Kinds lists the kinds of sheet that Options.Which may name.
func Kinds() []string {
	var out []string
	for _, p := range producers() {
		out = append(out, p.kind)
	}
	return out
}

// Theme is the table of colours for the options.
func (o Options) Theme() draw.Theme {
	if o.Mono {
		return draw.InMono
	}
	return draw.InColour
}

// Sheets draws the boat. It fails on a paper or a kind of sheet that is not
// known. The same boat and options give the same sheets.
func Sheets(s *survey.Survey, r rules.Result, o Options) ([]draw.Sheet, error) {
	j := &job{survey: s, result: r, options: o, first: 1}
	if err := j.choosePaper(); err != nil {
		return nil, err
	}
	for _, w := range o.Which {
		if !slices.Contains(Kinds(), w) {
			return nil, fmt.Errorf("sheet %q is not one of %s", w, strings.Join(Kinds(), ", "))
		}
	}
	pages, err := j.pages()
	if err != nil {
		return nil, err
	}
	title := j.title()
	out := make([]draw.Sheet, len(pages))
	for i, p := range pages {
		out[i] = p.Finish(title, i+1, len(pages))
	}
	return out, nil
}

func (j *job) choosePaper() error {
	name := j.options.Paper
	if name == "" {
		name = j.boat().Sheets.Paper.Or("A4")
	}
	p, err := sheet.PaperNamed(name)
	if err != nil {
		return err
	}
	j.papers = turns(p, j.options.Turn)
	for small, large := range map[string]string{"A4": "A3", "Letter": "Tabloid"} {
		if p.Name == small {
			q, err := sheet.PaperNamed(large)
			if err != nil {
				return err
			}
			j.larger = turns(q, j.options.Turn)
		}
	}
	return nil
}

func turns(p sheet.Paper, t Turn) []sheet.Paper {
	switch t {
	case Portrait:
		return []sheet.Paper{p.Portrait()}
	case Landscape:
		return []sheet.Paper{p.Landscape()}
	}
	return []sheet.Paper{p.Portrait(), p.Landscape()}
}

// title is what all title blocks of the set say.
func (j *job) title() sheet.TitleBlock {
	b := j.boat()
	s := b.Sheets
	owner := s.Owner.V
	return sheet.TitleBlock{
		Owner: owner, Number: s.Number.V, Date: s.Date.V, Approved: s.Checked.V, Drawn: s.Drawn.V, Revision: s.Revision.V,
		Boat: b.Vessel.Name.V, Hull: s.HullNumber.V, System: voltages(b), Rules: ruleSet(b), Result: counts(j.result),
		Fingerprint: Fingerprint(b),
	}
}

// Fingerprint is the start of the SHA-256 of the files the boat was read from.
func Fingerprint(b *schema.Boat) string {
	h := sha256.New()
	for _, f := range b.Files {
		h.Write([]byte(f.Text))
	}
	return hex.EncodeToString(h.Sum(nil))[:12]
}

func ruleSet(b *schema.Boat) string {
	set := b.Rules.Set.Or("us")
	if set == "both" {
		set = "us and iso"
	}
	return set
}

// counts says what the check found.
func counts(r rules.Result) string {
	var out []string
	add := func(n int, one, many string) {
		switch n {
		case 0:
		case 1:
			out = append(out, "1 "+one)
		default:
			out = append(out, strconv.Itoa(n)+" "+many)
		}
	}
	add(r.Count(diag.Error), "error", "errors")
	add(r.Count(diag.Warning), "warning", "warnings")
	add(r.Count(diag.Note), "note", "notes")
	if len(out) == 0 {
		out = append(out, "no finding")
	}
	add(len(r.Deviations), "deviation", "deviations")
	add(len(r.Unchecked), "not checked", "not checked")
	return strings.Join(out, ", ")
}

// voltages lists the nominal voltages of batteries and AC sources.
func voltages(b *schema.Boat) string {
	var dc, ac []float64
	add := func(list []float64, v float64) []float64 {
		if v > 0 && !slices.Contains(list, v) {
			list = append(list, v)
		}
		return list
	}
	for _, p := range b.Parts {
		v := 0.0
		if p.Kind.Attr("volts") != nil {
			v = float64(p.Volts("volts").V)
		}
		switch {
		case p.Is(schema.Storage):
			dc = add(dc, nominal(v))
		case p.Is(schema.ShorePower), p.Is(schema.Inverting):
			ac = add(ac, v)
		}
	}
	var out []string
	if len(dc) > 0 {
		out = append(out, list(dc)+" V DC")
	}
	if len(ac) > 0 {
		out = append(out, list(ac)+" V AC")
	}
	return strings.Join(out, " · ")
}

// nominal rounds a battery's voltage to the system's name: 12.8 V is a 12 V
// battery, 25.6 V one of 24 V. Single cells keep theirs.
func nominal(v float64) float64 {
	if v < 10 {
		return v
	}
	return 12 * math.Max(1, math.Round(v/12.6))
}

func list(v []float64) string {
	slices.Sort(v)
	out := make([]string, len(v))
	for i, x := range v {
		out[i] = strconv.FormatFloat(x, 'f', -1, 64)
	}
	return strings.Join(out, ", ")
}
