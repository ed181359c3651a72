// Package diag holds what fitout has to say about an installation: findings,
// things not checked, things not stated, and mistakes of the file itself.
package diag

import (
	"cmp"
	"slices"
	"strings"

	"fitout/schema/source"
)

// Severity of a finding. The surveyor's letters go with it.
type Severity int

// The severities, mildest first.
const (
	Note    Severity = iota // C: habit and good order
	Warning                 // B: will become a hazard, fail or disappoint
	Error                   // A: can burn, flood, shock, poison, or breaks the law
)

// String returns "note", "warning" or "error".
func (s Severity) String() string { return [...]string{"note", "warning", "error"}[s] }

// Class returns the surveyor's letter: A, B or C.
func (s Severity) Class() string { return [...]string{"C", "B", "A"}[s] }

// Finding is one judgement that failed. It can stand alone in a survey report.
type Finding struct {
	Rule     string
	Severity Severity
	Span     source.Span
	At       []string // ids concerned: the stretch first, then the parts
	Message  string   // what
	Risk     string
	Do       string
	Source   string
	Value    *float64 // the figure, in Unit
	Limit    *float64 // its limit, in Unit
	Unit     string
	// Condition and Attitude are empty where the finding holds in all.
	Condition string
	Attitude  string
	Related   []Related
	Fix       *Fix
	Deviation *Deviation // set when accepted
}

// Related is a second place in the file that belongs to a finding.
type Related struct {
	Span    source.Span
	Message string
}

// Fix is an edit of the file that settles a finding and needs no choice of a
// person.
type Fix struct {
	Title string // a verb phrase: "set the rating of F1 to 60 A"
	Edits []Edit
}

// Edit replaces the bytes of a span.
type Edit struct {
	Span source.Span
	New  string
}

// Deviation is an accepted departure from a rule.
type Deviation struct {
	Rule, At, Why, By string
	Span              source.Span
}

// Unchecked is a judgement that could not be made, with the datum it lacks.
type Unchecked struct {
	Rule string
	At   []string
	// Missing is the datum in words: "height of TH2".
	Missing string
	// Key is where the file would hold it; it names none where what is missing is
	// no one value: a hose that is not drawn, a solution that needs other data.
	Key  Key
	Span source.Span
}

// NotStated is a fact only eyes can tell that the file leaves out.
type NotStated struct {
	At, What, Space string
	Span            source.Span
}

// Used is a documented default that a rule or solver relied on.
type Used struct {
	At, What, Value, Source string
}

// Problem is a mistake of the file: it cannot be read as an installation.
type Problem struct {
	Span    source.Span
	Message string
	Near    string // the nearest known name, "" if none is near
	Related []Related
}

// Figure returns a pointer for Finding.Value and Finding.Limit.
func Figure[T ~float64](v T) *float64 { f := float64(v); return &f }

// Sort orders findings most severe first, then by place in the file, then by
// rule and message, and drops exact doubles.
func Sort(found []Finding) []Finding {
	slices.SortStableFunc(found, compare)
	return slices.CompactFunc(found, func(a, b Finding) bool {
		return compare(a, b) == 0 && slices.Equal(a.At, b.At) && a.Condition == b.Condition && a.Attitude == b.Attitude
	})
}

func compare(a, b Finding) int {
	if a.Severity != b.Severity {
		return int(b.Severity) - int(a.Severity)
	}
	return cmp.Or(a.Span.Compare(b.Span), strings.Compare(a.Rule, b.Rule), strings.Compare(a.Message, b.Message))
}
