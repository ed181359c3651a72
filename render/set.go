package render

import (
	"fmt"
	"slices"
	"sync"

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

// pages runs the producers that the options ask for, side by side. What they make
// stands in their order, whichever is ready first; the first error in that order
// counts.
func (j *job) pages() ([]sheet.Page, error) {
	type result struct {
		pages []sheet.Page
		err   error
		ready chan struct{}
	}
	var list []*result
	j.warm()
	for _, p := range producers() {
		if !j.options.wants(p.kind) {
			continue
		}
		earlier := slices.Clone(list)
		own := *j
		own.before = sync.OnceValue(func() (n int) {
			for _, r := range earlier {
				<-r.ready
				n += len(r.pages)
			}
			return n
		})
		r := &result{ready: make(chan struct{})}
		list = append(list, r)
		go func() {
			defer close(r.ready)
			if r.pages, r.err = p.pages(&own); r.err != nil {
				r.err = fmt.Errorf("sheet %s: %w", p.kind, r.err)
			}
		}()
	}
	var out []sheet.Page
	var first error
	for _, r := range list { // none is left running
		<-r.ready
		out = append(out, r.pages...)
		if first == nil {
			first = r.err
		}
	}
	if first != nil {
		return nil, first
	}
	return out, nil
}

// warm has the survey work out what producers ask of it, which it keeps from then
// on: it may be read by several at a time, but asked for something new by one only.
func (j *job) warm() {
	j.survey.Attitudes()
	for _, c := range j.boat().Conditions {
		j.survey.Water(c)
	}
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
