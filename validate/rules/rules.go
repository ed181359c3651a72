// Package rules holds the judgements on an installation, one a file: each asks
// one question of the survey, and answers holds, fails, or not checked with the
// datum that is missing. Rules compute no physics and switch on no kind's name.
package rules

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/agnivade/levenshtein"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/source"
	"fitout/validate/survey"
)

// Rule is one judgement. A file declares one Rule, or the few that one walk
// answers together.
type Rule struct {
	// Name is the contract: kebab-case, never changed.
	Name string
	// Section is the part of the catalogue it stands in: "DC, static" …
	Section string
	// Asks is the question in one sentence.
	Asks string
	// Why is the harm a failure can do.
	Why string
	// Severity in words: "error", or the bands.
	Severity string
	// Source is the law, standard or practice, with its status.
	Source string
	// Quiet says when the rule does not fire although a hasty reader would.
	Quiet string
	// Bad and Good are small installations: Bad raises the rule, Good does not.
	Bad, Good string
	// Check judges the boat. Rules that one walk answers together share a Check
	// through the first of them; the others have nil.
	Check func(*Context)
}

// Solved reports whether the rule needs a solution of a condition.
func (r Rule) Solved() bool { return strings.Contains(r.Section, "solved") }

// Context is what a rule sees and where it reports.
type Context struct {
	*survey.Survey
	rule      string
	found     []diag.Finding
	unchecked []diag.Unchecked
	used      []diag.Used
	noted     map[diag.Used]bool // what stands in used
	looked    map[string]int

	ahead   *aheadOf
	lengths int // whether every conductor has a resistance: 1 all, 2 not
}

// Result is everything the rules say about one boat.
type Result struct {
	Findings   []diag.Finding // accepted ones excluded
	Deviations []diag.Finding // accepted, with Deviation set
	Unchecked  []diag.Unchecked
	NotStated  []diag.NotStated
	Used       []diag.Used
	// Looked counts what each rule looked at, in order of the catalogue.
	Looked []Looked
}

// Looked is how many things a rule looked at.
type Looked struct {
	Rule  string
	Count int
}

// Count returns how many findings have the severity.
func (r Result) Count(s diag.Severity) int {
	n := 0
	for _, f := range r.Findings {
		if f.Severity == s {
			n++
		}
	}
	return n
}

// Check runs all rules over the survey.
func Check(s *survey.Survey) Result {
	c := &Context{Survey: s, looked: map[string]int{}}
	for _, r := range All() {
		if r.Check != nil {
			c.rule = r.Name
			r.Check(c)
		}
	}
	return c.result()
}

// Judge runs the named rules alone, and those that answer together with them.
func Judge(s *survey.Survey, names ...string) Result {
	c := &Context{Survey: s, looked: map[string]int{}}
	for _, r := range All() {
		if r.Check != nil && slices.Contains(names, r.Name) {
			c.rule = r.Name
			r.Check(c)
		}
	}
	return c.result()
}

func (c *Context) result() Result {
	var res Result
	found := c.found
	if len(c.Sets()) > 1 {
		found = stricter(found)
	}
	found = diag.Sort(found)
	res.Findings, res.Deviations = accept(c.Survey.Boat, found)
	res.Findings = append(res.Findings, unusedDeviations(c.Survey.Boat, res.Deviations)...)
	res.Findings = diag.Sort(res.Findings)
	res.Unchecked = sortUnchecked(c.unchecked)
	res.NotStated = notStated(c.Survey.Boat)
	res.Used = c.used
	for _, r := range All() {
		res.Looked = append(res.Looked, Looked{r.Name, c.looked[r.Name]})
	}
	return res
}

// stricter keeps, of findings that two rule sets make of one thing, the more
// severe one, and lets it name the other's source.
func stricter(found []diag.Finding) []diag.Finding {
	type key struct{ rule, at, condition string }
	at := map[key]int{}
	var out []diag.Finding
	for _, f := range found {
		if len(f.At) == 0 {
			out = append(out, f)
			continue
		}
		k := key{f.Rule, strings.Join(f.At, " "), f.Condition}
		i, ok := at[k]
		switch {
		case !ok:
			at[k] = len(out)
			out = append(out, f)
		case out[i].Source == f.Source:
			out = append(out, f) // the same set speaks twice: two causes
		case f.Severity > out[i].Severity:
			f.Source += "; also " + out[i].Source
			out[i] = f
		default:
			out[i].Source += "; also " + f.Source
		}
	}
	return out
}

// Add reports a finding. Rule is filled in where it is empty.
func (c *Context) Add(f diag.Finding) {
	if f.Rule == "" {
		f.Rule = c.rule
	}
	c.found = append(c.found, f)
}

// Missing reports that the rule could not judge something for want of a datum.
// Missing data are named as the file would: "height of TH2".
func (c *Context) Missing(rule, missing string, at source.Span, ids ...string) {
	if rule == "" {
		rule = c.rule
	}
	if !at.Valid() {
		at = c.somewhere(ids)
	}
	c.unchecked = append(c.unchecked, diag.Unchecked{Rule: rule, At: ids, Missing: missing, Key: c.KeyOf(missing), Span: at})
}

// somewhere is a place in the file for a datum whose section it does not have:
// the first item it concerns, else the head of the file.
func (c *Context) somewhere(ids []string) source.Span {
	for _, id := range ids {
		if p := c.Boat.Part(id); p != nil && p.At.Valid() {
			return p.At
		}
		if sp := c.Boat.Space(id); sp != nil && sp.At.Valid() {
			return sp.At
		}
	}
	for _, p := range c.Boat.Parts {
		if p.At.Valid() {
			return source.Span{File: p.At.File}
		}
	}
	return source.Span{}
}

// Default notes that a documented default stood in for a datum.
func (c *Context) Default(at, what, value, source string) {
	u := diag.Used{At: at, What: what, Value: value, Source: source}
	if c.noted == nil {
		c.noted = map[diag.Used]bool{}
	}
	if !c.noted[u] {
		c.noted[u] = true
		c.used = append(c.used, u)
	}
}

// Looked counts a thing the rule has judged.
func (c *Context) Looked(rule string) { c.looked[rule]++ }

func sortUnchecked(list []diag.Unchecked) []diag.Unchecked {
	slices.SortStableFunc(list, func(a, b diag.Unchecked) int {
		return cmp.Or(a.Span.Compare(b.Span), strings.Compare(a.Rule, b.Rule), strings.Compare(a.Missing, b.Missing))
	})
	return slices.CompactFunc(list, func(a, b diag.Unchecked) bool {
		return a.Rule == b.Rule && a.Missing == b.Missing && a.Span == b.Span
	})
}

// Named returns the rule with the name.
func Named(name string) (Rule, bool) {
	for _, r := range All() {
		if r.Name == name {
			return r, true
		}
	}
	return Rule{}, false
}

// Names returns the names of all rules in order of the catalogue.
func Names() []string {
	var names []string
	for _, r := range All() {
		names = append(names, r.Name)
	}
	return names
}

// accept parts the findings that a deviation accepts from the others.
func accept(b *schema.Boat, found []diag.Finding) (open, accepted []diag.Finding) {
	for _, f := range found {
		if d := deviationFor(b, f); d != nil {
			f.Deviation = d
			accepted = append(accepted, f)
			continue
		}
		open = append(open, f)
	}
	return open, accepted
}

func deviationFor(b *schema.Boat, f diag.Finding) *diag.Deviation {
	for i := range b.Deviations {
		d := &b.Deviations[i]
		if d.Rule == f.Rule && (d.At == "" || slices.Contains(f.At, d.At)) {
			return d
		}
		// A deviation may name the written id of a path or circuit.
		if d.Rule == f.Rule && slices.ContainsFunc(f.At, func(at string) bool { return pathOf(b, at) == d.At }) {
			return d
		}
	}
	return nil
}

// pathOf returns the written id that a stretch belongs to: "2" for 2a, "C3" for
// C3+.
func pathOf(b *schema.Boat, id string) string {
	for _, w := range b.Wires {
		if w.ID == id || w.Cable != "" && w.Cable == id {
			if w.Circuit != nil {
				return w.Circuit.ID
			}
			return w.Path
		}
	}
	for _, h := range b.Hoses {
		if h.ID == id && !h.Implied {
			return h.Path
		}
	}
	return ""
}

func unusedDeviations(b *schema.Boat, accepted []diag.Finding) []diag.Finding {
	var out []diag.Finding
	for i := range b.Deviations {
		d := &b.Deviations[i]
		used := slices.ContainsFunc(accepted, func(f diag.Finding) bool { return f.Deviation == d })
		if used {
			continue
		}
		f := diag.Finding{
			Rule: "deviation-unused", Severity: diag.Note, Span: d.Span, At: []string{d.At},
			Message: fmt.Sprintf("the deviation from %s at %s accepts nothing", d.Rule, d.At),
			Risk:    "a later finding of this rule there would be accepted unseen",
			Do:      "take the deviation out",
			Source:  "good order, no source",
		}
		if _, known := Named(d.Rule); !known {
			f.Message = fmt.Sprintf("the deviation at %s accepts nothing: no rule is called %s", d.At, d.Rule)
			f.Risk = "what it was meant to accept stays a finding"
			f.Do = "name the rule as the finding does"
			if near := nearestRule(d.Rule); near != "" {
				f.Message += fmt.Sprintf("; the nearest is %s", near)
				f.Do = fmt.Sprintf("write %s, if that is meant", near)
			}
		}
		if span := wholeItem(d.Span); span.Valid() && !anyUsed(b, accepted, d.Span) {
			f.Fix = &diag.Fix{Title: fmt.Sprintf("take the deviation from %s at %s out", d.Rule, d.At), Edits: []diag.Edit{{Span: span}}}
		}
		out = append(out, f)
	}
	return out
}

// nearestRule is the rule that a slip of the finger may have meant, or "".
func nearestRule(written string) string {
	best, least := "", 1+max(1, len(written)/3)
	for _, name := range Names() {
		if d := levenshtein.ComputeDistance(strings.ToLower(written), name); d < least {
			best, least = name, d
		}
	}
	return best
}

// anyUsed reports whether an entry that names several places accepts something
// at one of them.
func anyUsed(b *schema.Boat, accepted []diag.Finding, entry source.Span) bool {
	return slices.ContainsFunc(accepted, func(f diag.Finding) bool { return f.Deviation.Span == entry })
}

// notStated is the surveyor's round: facts only eyes can tell, by space.
func notStated(b *schema.Boat) []diag.NotStated {
	var list []diag.NotStated
	for _, p := range b.Parts {
		if p.Prepared {
			continue
		}
		for _, what := range p.Kind.NotStated {
			if p.Has(what) {
				continue
			}
			space := ""
			if p.Space != nil {
				space = p.Space.ID
			}
			list = append(list, diag.NotStated{At: p.ID, What: what, Space: space, Span: p.At})
		}
	}
	for _, h := range b.Hoses {
		if !h.Prepared && !h.Implied && !h.Fitted.Given() {
			list = append(list, diag.NotStated{At: h.ID, What: "fitted", Space: hoseSpace(h), Span: h.At})
		}
	}
	for _, w := range b.Wires {
		if !w.Prepared && !w.Implied && crossesBulkhead(w) && !w.ChafeGuard.Given() {
			list = append(list, diag.NotStated{At: w.Ref(), What: "chafe-guard", Space: spaceID(w.From.Part), Span: w.At})
		}
	}
	slices.SortStableFunc(list, func(a, b diag.NotStated) int { return strings.Compare(a.Space, b.Space) })
	return slices.Compact(list)
}

func spaceID(p *schema.Part) string {
	if p == nil || p.Space == nil {
		return ""
	}
	return p.Space.ID
}

func hoseSpace(h *schema.Hose) string {
	if id := spaceID(h.From.Part); id != "" {
		return id
	}
	return spaceID(h.To.Part)
}

func crossesBulkhead(w *schema.Wire) bool {
	a, b := spaceID(w.From.Part), spaceID(w.To.Part)
	return a != "" && b != "" && a != b || len(w.Through) > 0
}
