// Package compare says what changed between two states of one installation: by
// part, run, hose and condition, by figure, and by finding. It reads meaning, not
// text: another spelling of the same value is no change.
package compare

import (
	"fmt"
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/figures"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// Side is one of the two states.
type Side struct {
	Name   string
	Survey *survey.Survey
	Result rules.Result
}

// Kind of a change.
type Kind string

// The kinds of change.
const (
	Added   Kind = "added"
	Removed Kind = "removed"
	Changed Kind = "changed"
)

// Item is one thing of the file that changed.
type Item struct {
	Kind Kind
	// Section is the part of the file: "part", "wire", "hose", "condition" …
	Section string
	ID      string
	// Title names it for a reader: "House main fuse 225 A".
	Title string
	// Fields are what changed in it, in order of the model; empty for what was
	// added or removed.
	Fields []Field
}

// Field is one value of an item that changed. Old or New is empty where it was
// not given.
type Field struct{ Name, Old, New string }

// Figure is a computed value that changed.
type Figure struct {
	ID, Condition string
	Quantity      figures.Quantity
	Unit          string
	// Old and New are nil where the value is not known on that side.
	Old, New *float64
}

// Finding is a judgement that came, went or changed.
type Finding struct {
	Kind     Kind
	Old, New *diag.Finding
}

// Unchecked is a judgement that could be made on one side only.
type Unchecked struct {
	Kind Kind
	diag.Unchecked
}

// Result is all that changed. Lists are in order of the new file, what was
// removed behind it in order of the old.
type Result struct {
	Old, New  string
	Items     []Item
	Figures   []Figure
	Findings  []Finding
	Unchecked []Unchecked
}

// Empty reports whether nothing changed.
func (r Result) Empty() bool {
	return len(r.Items)+len(r.Figures)+len(r.Findings)+len(r.Unchecked) == 0
}

// Worse reports whether a finding of at least the severity was added, or became
// as severe.
func (r Result) Worse(s diag.Severity) bool {
	return slices.ContainsFunc(r.Findings, func(f Finding) bool {
		return f.New != nil && f.New.Severity >= s && (f.Old == nil || f.Old.Severity < f.New.Severity)
	})
}

// Of compares two states.
func Of(before, after Side) Result {
	r := Result{Old: before.Name, New: after.Name}
	r.items(before.Survey.Boat, after.Survey.Boat)
	r.figures(figures.Of(before.Survey), figures.Of(after.Survey))
	r.findings(before.Result.Findings, after.Result.Findings)
	r.unchecked(before.Result.Unchecked, after.Result.Unchecked)
	return r
}

func (r *Result) items(a, b *schema.Boat) {
	r.one("vessel", a.Vessel.Name.V, fieldsOf(a.Vessel), fieldsOf(b.Vessel))
	r.one("rules", "", fieldsOf(a.Rules), fieldsOf(b.Rules))
	match(r, "space", a.Spaces, b.Spaces, func(s *schema.Space) entry { return entry{s.ID, s.Title.V, fieldsOf(*s)} })
	match(r, "part", a.Parts, b.Parts, func(p *schema.Part) entry { return entry{p.ID, partTitle(p), partFields(p)} })
	match(r, "bank", a.Banks, b.Banks, func(k schema.Bank) entry { return entry{k.ID, "", fieldsOf(k)} })
	match(r, "loom", a.Looms, b.Looms, func(l schema.Loom) entry { return entry{l.ID, "", fieldsOf(l)} })
	match(r, "wire", fitted(a.Wires), fitted(b.Wires), wireEntry)
	match(r, "hose", hoses(a), hoses(b), hoseEntry)
	match(r, "condition", stated(a.Conditions), stated(b.Conditions), func(c *schema.Condition) entry { return entry{c.ID, c.Title.V, fieldsOf(*c)} })
	match(r, "deviation", a.Deviations, b.Deviations, func(d diag.Deviation) entry {
		return entry{d.Rule + " at " + d.At, d.Why, []field{{"why", d.Why, d.Why}, {"by", d.By, d.By}}}
	})
	match(r, "reading", a.Readings, b.Readings, func(d schema.Reading) entry {
		return entry{d.Where.String() + " " + d.Date.V, d.Note.V, fieldsOf(d)}
	})
	r.one("sheets", "", fieldsOf(a.Sheets), fieldsOf(b.Sheets))
}

func fitted(list []*schema.Wire) []*schema.Wire {
	return slices.DeleteFunc(slices.Clone(list), func(w *schema.Wire) bool { return w.Implied })
}

// stated leaves out the built-in condition: it follows from the parts.
func stated(list []*schema.Condition) []*schema.Condition {
	return slices.DeleteFunc(slices.Clone(list), func(c *schema.Condition) bool { return c.BuiltIn })
}

func hoses(b *schema.Boat) []*schema.Hose {
	return slices.DeleteFunc(slices.Clone(b.Hoses), func(h *schema.Hose) bool { return h.Implied })
}

func wireEntry(w *schema.Wire) entry {
	return entry{w.ID, fmt.Sprintf("%s to %s, %s, %s", w.From, w.To, given(w.Size.Text, "size not given"), given(w.Length.Text, "length not given")), fieldsOf(*w)}
}

func hoseEntry(h *schema.Hose) entry {
	return entry{h.ID, fmt.Sprintf("%s to %s, %s, %s", h.From, h.To, given(h.Bore.Text, "bore not given"), given(h.Length.Text, "length not given")), fieldsOf(*h)}
}

func given(text, otherwise string) string {
	if text == "" {
		return otherwise
	}
	return text
}

func partTitle(p *schema.Part) string {
	text := p.Kind.Title
	if p.Kind.Rating != nil {
		if r := p.Kind.Rating(p); r != "" {
			text += " " + r
		}
	}
	if t := p.Title(); t != "" {
		text += ", " + t
	}
	return text
}

// entry is an item on one side.
type entry struct {
	id, title string
	fields    []field
}

// match pairs the items of a section by id.
func match[T any](r *Result, section string, a, b []T, of func(T) entry) {
	old := map[string]entry{}
	for _, x := range a {
		e := of(x)
		old[e.id] = e
	}
	seen := map[string]bool{}
	for _, x := range b {
		e := of(x)
		if seen[e.id] {
			continue
		}
		seen[e.id] = true
		before, ok := old[e.id]
		if !ok {
			r.Items = append(r.Items, Item{Kind: Added, Section: section, ID: e.id, Title: e.title})
			continue
		}
		if f := differ(before.fields, e.fields); len(f) > 0 {
			r.Items = append(r.Items, Item{Kind: Changed, Section: section, ID: e.id, Title: e.title, Fields: f})
		}
	}
	for _, x := range a {
		if e := of(x); !seen[e.id] {
			seen[e.id] = true
			r.Items = append(r.Items, Item{Kind: Removed, Section: section, ID: e.id, Title: e.title})
		}
	}
}

// one compares a section that stands once in a file.
func (r *Result) one(section, title string, a, b []field) {
	if f := differ(a, b); len(f) > 0 {
		r.Items = append(r.Items, Item{Kind: Changed, Section: section, Title: title, Fields: f})
	}
}

// least is the share by which a figure must differ to count as changed: what a
// reader of three figures cannot see is no change.
const least = 5e-3

func (r *Result) figures(a, b []figures.Figure) {
	type key struct {
		id, condition string
		quantity      figures.Quantity
	}
	of := func(f figures.Figure) key { return key{f.ID, f.Condition, f.Quantity} }
	old := map[key]figures.Figure{}
	for _, f := range a {
		old[of(f)] = f
	}
	seen := map[key]bool{}
	add := func(f figures.Figure, o, n *float64) {
		r.Figures = append(r.Figures, Figure{f.ID, f.Condition, f.Quantity, f.Unit, o, n})
	}
	for _, f := range b {
		seen[of(f)] = true
		before, ok := old[of(f)]
		switch {
		case !ok:
			add(f, nil, value(f))
		case before.Known() != f.Known(), f.Known() && math.Abs(before.Value-f.Value) > least*math.Max(math.Abs(before.Value), math.Abs(f.Value))+1e-9:
			add(f, value(before), value(f))
		}
	}
	for _, f := range a {
		if !seen[of(f)] {
			add(f, value(f), nil)
		}
	}
}

func value(f figures.Figure) *float64 {
	if !f.Known() {
		return nil
	}
	return &f.Value
}

// findings pairs judgements by rule, place and condition, what is left by rule
// and the first id they share.
func (r *Result) findings(a, b []diag.Finding) {
	taken := make([]bool, len(a))
	pair := make([]int, len(b))
	for i := range pair {
		pair[i] = -1
	}
	for _, same := range []func(x, y diag.Finding) bool{sameAll, samePlace} {
		for i := range b {
			for k := range a {
				if pair[i] < 0 && !taken[k] && same(a[k], b[i]) {
					pair[i], taken[k] = k, true
				}
			}
		}
	}
	for i := range b {
		switch k := pair[i]; {
		case k < 0:
			r.Findings = append(r.Findings, Finding{Kind: Added, New: &b[i]})
		case a[k].Message != b[i].Message || a[k].Severity != b[i].Severity:
			r.Findings = append(r.Findings, Finding{Kind: Changed, Old: &a[k], New: &b[i]})
		}
	}
	for k := range a {
		if !taken[k] {
			r.Findings = append(r.Findings, Finding{Kind: Removed, Old: &a[k]})
		}
	}
}

func sameAll(x, y diag.Finding) bool {
	return x.Rule == y.Rule && slices.Equal(x.At, y.At) && x.Condition == y.Condition && x.Attitude == y.Attitude
}

func samePlace(x, y diag.Finding) bool {
	return x.Rule == y.Rule && (len(x.At) == 0 && len(y.At) == 0 || len(x.At) > 0 && len(y.At) > 0 && x.At[0] == y.At[0])
}

func (r *Result) unchecked(a, b []diag.Unchecked) {
	same := func(x diag.Unchecked) func(diag.Unchecked) bool {
		return func(y diag.Unchecked) bool { return x.Rule == y.Rule && x.Missing == y.Missing }
	}
	for _, x := range b {
		if !slices.ContainsFunc(a, same(x)) {
			r.Unchecked = append(r.Unchecked, Unchecked{Added, x})
		}
	}
	for _, x := range a {
		if !slices.ContainsFunc(b, same(x)) {
			r.Unchecked = append(r.Unchecked, Unchecked{Removed, x})
		}
	}
}
