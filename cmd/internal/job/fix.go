package job

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"fitout/schema/diag"
	"fitout/schema/edit"
	"fitout/schema/source"
)

// Repair is what the edits that findings offer make of an installation.
type Repair struct {
	// Changed are the files whose text changes, in order of reading.
	Changed []Changed
	// Done are the findings that are settled, Refused those whose edit was not
	// taken, with the reason.
	Done    []diag.Finding
	Refused []Refused
	// After is the installation with all of it made, read and judged again.
	After *Job
}

// Changed is one file before and after.
type Changed struct{ Name, Before, After string }

// Refused is an edit that was not taken.
type Refused struct {
	Finding diag.Finding
	Why     string
}

// mostRounds bounds how often edits are looked for in a text that edits made: a
// thicker wire may settle one finding and leave another that offers an edit.
const mostRounds = 8

// Repair makes the edits that the findings of a judged job offer, in memory.
// After each round the result is read and judged again. An edit is refused whose
// result does not read, leaves its finding standing, or raises an error or a
// warning that was not there; one that could not be judged before and now can is
// no such.
func (j *Job) Repair() *Repair {
	r := &repairer{texts: map[string]string{}, at: j, Repair: &Repair{}}
	for range mostRounds + len(j.Result.Findings) {
		offers := r.offers()
		if len(offers) == 0 {
			break
		}
		if next, why := r.try(offers); why == "" {
			r.take(next, offers)
			continue
		}
		if !r.oneByOne(offers) {
			break
		}
	}
	r.After = r.at
	r.Refused = slices.DeleteFunc(r.Refused, func(x Refused) bool { // settled by another edit since
		return !slices.ContainsFunc(r.at.Result.Findings, func(f diag.Finding) bool { return sameFinding(f, x.Finding) })
	})
	for _, f := range j.Boat.Files {
		if text, ok := r.texts[f.Name]; ok && text != f.Text {
			r.Changed = append(r.Changed, Changed{f.Name, f.Text, text})
		}
	}
	return r.Repair
}

type repairer struct {
	*Repair
	at    *Job
	texts map[string]string
}

// offers are the findings with an edit that do not meet in the text: where two
// do, the graver one is made first and the other looked at again.
func (r *repairer) offers() []diag.Finding {
	var out []diag.Finding
	var taken []diag.Edit
	for _, f := range r.at.Result.Findings {
		if f.Fix == nil || r.refused(f) || meets(taken, f.Fix.Edits) {
			continue
		}
		taken = append(taken, f.Fix.Edits...)
		out = append(out, f)
	}
	return out
}

func meets(taken, edits []diag.Edit) bool {
	return slices.ContainsFunc(edits, func(e diag.Edit) bool {
		return slices.ContainsFunc(taken, func(t diag.Edit) bool {
			return t != e && t.Span.File == e.Span.File && t.Span.Start <= e.Span.End && e.Span.Start <= t.Span.End
		})
	})
}

func (r *repairer) refused(f diag.Finding) bool {
	return slices.ContainsFunc(r.Refused, func(x Refused) bool { return sameFinding(x.Finding, f) })
}

// try makes edits in memory and reads and judges the result; why says what is
// wrong with it.
func (r *repairer) try(offers []diag.Finding) (next *Job, why string) {
	var edits []diag.Edit
	for _, f := range offers {
		edits = append(edits, f.Fix.Edits...)
	}
	texts := maps.Clone(r.texts)
	for _, file := range edit.Files(edits) {
		text, err := edit.Apply(file, edits)
		if err != nil {
			return nil, err.Error()
		}
		texts[file.Name] = text
	}
	next = From(r.at.Name, Overlay(r.at.Open, texts))
	if !next.OK() {
		return nil, "the file would no longer read: " + next.Problems[0].Message
	}
	next.Check()
	for _, f := range offers {
		if slices.ContainsFunc(next.Result.Findings, func(g diag.Finding) bool { return sameFinding(f, g) && f.Message == g.Message }) {
			return nil, "the finding would stand"
		}
	}
	for _, g := range next.Result.Findings {
		known := slices.ContainsFunc(r.at.Result.Findings, func(f diag.Finding) bool { return f.Rule == g.Rule && overlap(f.At, g.At) })
		known = known || slices.ContainsFunc(r.at.Result.Unchecked, func(u diag.Unchecked) bool { return u.Rule == g.Rule && overlap(u.At, g.At) })
		if g.Severity >= diag.Warning && !known {
			return nil, fmt.Sprintf("it would raise %s: %s", g.Rule, g.Message)
		}
	}
	return next, ""
}

func (r *repairer) take(next *Job, offers []diag.Finding) {
	for _, file := range next.Boat.Files {
		r.texts[file.Name] = file.Text
	}
	r.Done = append(r.Done, offers...)
	r.at = next
}

// oneByOne takes the first edit that can be made alone and refuses those before
// it; it reports whether one was taken.
func (r *repairer) oneByOne(offers []diag.Finding) bool {
	for _, f := range offers {
		next, why := r.try([]diag.Finding{f})
		if why == "" {
			r.take(next, []diag.Finding{f})
			return true
		}
		r.Refused = append(r.Refused, Refused{f, why})
	}
	return false
}

func sameFinding(a, b diag.Finding) bool {
	return a.Rule == b.Rule && slices.Equal(a.At, b.At)
}

func overlap(a, b []string) bool {
	return len(a) == 0 && len(b) == 0 || slices.ContainsFunc(a, func(id string) bool { return slices.Contains(b, id) })
}

// Write writes the changed files to disk, each whole or not at all.
func (r *Repair) Write() error {
	for _, c := range r.Changed {
		text, err := readFile(c.Name)
		if err != nil {
			return err
		}
		if string(text) != c.Before {
			return fmt.Errorf("%s changed while it was being judged; nothing more was written", c.Name)
		}
		if err := WriteFile(c.Name, []byte(c.After)); err != nil {
			return err
		}
	}
	return nil
}

// Place names where a finding stands: "heron.yaml:41:5".
func Place(s source.Span) string {
	if !s.Valid() {
		return "-"
	}
	line, column := s.Position()
	return strings.TrimSpace(fmt.Sprintf("%s:%d:%d", s.Name(), line, column))
}
