package render

import (
	"fitout/render/sheet"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// Pages draws the boat for a larger set: the sheets still without frame and
// number. first is the number that the first of them will have in the set, so
// that references from sheet to sheet hold there.
func Pages(s *survey.Survey, r rules.Result, o Options, first int) ([]sheet.Page, error) {
	j := &job{survey: s, result: r, options: o, first: first}
	if err := j.choosePaper(); err != nil {
		return nil, err
	}
	return j.pages()
}

// Title is what the title blocks of all sheets of a set say.
func Title(s *survey.Survey, r rules.Result) sheet.TitleBlock {
	return (&job{survey: s, result: r}).title()
}

// pages runs the producers that the options ask for.
func (j *job) pages() ([]sheet.Page, error) {
	var out []sheet.Page
	for _, p := range producers() {
		if !j.options.wants(p.kind) {
			continue
		}
		made, err := p.pages(j)
		if err != nil {
			return nil, err
		}
		out = append(out, made...)
		j.first += len(made)
	}
	return out, nil
}

// wants reports whether a kind of sheet is asked for.
func (o Options) wants(kind string) bool {
	for _, w := range o.Which {
		if w == kind {
			return true
		}
	}
	return len(o.Which) == 0
}
