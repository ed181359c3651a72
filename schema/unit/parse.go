package unit

import (
	"fmt"
	"math"
	"strings"
)

// Error says why a text is not a quantity of the dimension asked for. Callers
// add file, line and column.
type Error struct {
	// Text is what stood in the file.
	Text string
	// Dimension is what was wanted there.
	Dimension Dimension
	// Reason says what is wrong, in words that end no sentence.
	Reason string
}

func (e *Error) Error() string {
	return fmt.Sprintf("%q is not %s: %s", e.Text, e.Dimension.a(), e.Reason)
}

// Parse reads a quantity and returns it in the unit the dimension's Go type
// stores. The Parse functions named after the types are the usual way in.
func (d Dimension) Parse(text string) (float64, error) {
	fail := func(reason string) (float64, error) {
		return 0, &Error{Text: text, Dimension: d, Reason: reason}
	}
	if len(text) > 200 {
		return fail("the text is too long")
	}
	main, aside, hasAside, ok := splitAside(tidyText(text))
	if !ok {
		return fail("a bracket does not close")
	}
	v, reason := d.parsePlain(main)
	if reason != "" {
		return fail(reason)
	}
	if hasAside {
		w, reason := d.parsePlain(aside)
		if reason != "" || !near(v, w) {
			return fail("what stands in brackets is not the same quantity in another unit")
		}
	}
	return v, nil
}

// parsePlain reads one quantity without a bracketed second system.
func (d Dimension) parsePlain(s string) (float64, string) {
	if s == "" {
		return 0, "it is empty; " + d.hint()
	}
	v, rest, reason := scanNumber(s)
	if reason != "" {
		return 0, reason
	}
	if d.Bare() {
		if w, ok := parseRatio(v, rest); ok {
			return d.bounded(w)
		}
	}
	if rest == "" {
		if d.BareZero() && v == 0 {
			return 0, ""
		}
		return 0, "it has no unit; " + d.hint()
	}
	out, reason := d.withUnit(v, strings.TrimPrefix(rest, " "))
	if reason != "" {
		return 0, reason
	}
	return d.bounded(out)
}

// withUnit applies the unit in rest to v, and reads the smaller part of a
// compound such as 14 ft 6 in.
func (d Dimension) withUnit(v float64, rest string) (float64, string) {
	if u, ok := d.find(rest); ok {
		return u.Offset + u.Factor*v, ""
	}
	cut := strings.IndexAny(rest, "0123456789.")
	if cut <= 0 {
		return 0, d.unknownUnit(rest)
	}
	u, ok := d.find(rest[:cut])
	if !ok || u.minor == "" {
		return 0, d.unknownUnit(rest)
	}
	minor, tail, reason := scanNumber(rest[cut:])
	if reason != "" {
		return 0, reason
	}
	small, reason := d.minorPart(u, minor, strings.TrimPrefix(tail, " "))
	if reason != "" {
		return 0, reason
	}
	// The sign in front belongs to the whole compound: -1 ft 6 in.
	return u.Factor*v + math.Copysign(small, v), ""
}

func (d Dimension) minorPart(major Unit, v float64, rest string) (float64, string) {
	name, isMinor := d.find(major.minor)
	if !isMinor {
		return 0, d.unknownUnit(rest)
	}
	if u, ok := d.find(rest); ok && u.Symbol != name.Symbol {
		return 0, fmt.Sprintf("%s may be followed by %s only", major.Symbol, major.minor)
	}
	small, reason := d.withUnit(v, rest)
	if reason != "" {
		return 0, reason
	}
	if small >= major.Factor*(1-1e-12) {
		return 0, fmt.Sprintf("the part after %s is not less than one %s", major.Symbol, major.Symbol)
	}
	return small, ""
}

func (d Dimension) bounded(v float64) (float64, string) {
	if math.IsNaN(v) || math.Abs(v) > d.spec().most {
		return 0, "the figure is beyond anything aboard"
	}
	if v == 0 {
		return 0, "" // no negative zero
	}
	return v, ""
}

// parseRatio reads what is bare in a share or ratio: 1.25, 3/4, 2:1.
func parseRatio(v float64, rest string) (float64, bool) {
	if rest == "" {
		return v, true
	}
	after, ok := strings.CutPrefix(strings.TrimPrefix(rest, " "), ":")
	if !ok {
		return 0, false
	}
	w, tail, reason := scanNumber(strings.TrimPrefix(after, " "))
	if reason != "" || tail != "" || w <= 0 {
		return 0, false
	}
	return v / w, true
}

// find looks a unit up by any of its spellings.
func (d Dimension) find(text string) (Unit, bool) {
	text = unitText(text)
	units := d.spec().units
	for _, u := range units {
		if u.Factor != 0 && u.spells(text, func(a, b string) bool { return a == b }) {
			return u, true
		}
	}
	for _, u := range units {
		same := strings.EqualFold
		if u.CaseCounts {
			same = foldTail
		}
		if u.Factor != 0 && u.spells(text, same) {
			return u, true
		}
	}
	return Unit{}, false
}

// foldTail compares without regard to case but for the first letter, which may
// be a prefix: mV is no MV.
func foldTail(a, b string) bool {
	return a != "" && b != "" && a[0] == b[0] && strings.EqualFold(a, b)
}

func (u Unit) spells(text string, same func(a, b string) bool) bool {
	if same(u.Symbol, text) {
		return true
	}
	for _, s := range u.Spellings {
		if same(s, text) {
			return true
		}
	}
	return false
}

// prefixSlip reports that text is a case-counting unit in another case: MV.
func prefixSlip(units []Unit, text string) bool {
	for _, u := range units {
		if u.CaseCounts && u.spells(text, strings.EqualFold) {
			return true
		}
	}
	return false
}

// unitText drops the blanks round / and · and a closing full stop.
func unitText(s string) string {
	s = strings.TrimSpace(s)
	for _, op := range []string{"/", "·"} {
		s = strings.ReplaceAll(s, " "+op, op)
		s = strings.ReplaceAll(s, op+" ", op)
	}
	return s
}

// unknownUnit says what is wrong with a unit that did not fit.
func (d Dimension) unknownUnit(rest string) string {
	rest = strings.TrimSpace(rest)
	if rest == "" {
		return "a figure has no unit; " + d.hint()
	}
	spec := d.spec()
	if prefixSlip(spec.units, unitText(rest)) {
		for _, u := range spec.units {
			if u.CaseCounts && u.spells(unitText(rest), strings.EqualFold) {
				return fmt.Sprintf("in %q the case matters: write %s", rest, u.Symbol)
			}
		}
	}
	if (rest[0] == '-' || strings.HasPrefix(rest, "..")) && strings.ContainsAny(rest, "0123456789") {
		return "a range is not read; give one figure"
	}
	if isDigit(rest[0]) {
		return "two figures stand side by side; write the number without blanks"
	}
	if special := d.special(rest); special != "" {
		return special
	}
	for _, other := range Dimensions() {
		if other == d {
			continue
		}
		if _, ok := other.find(rest); ok {
			return fmt.Sprintf("%q is the unit of %s; %s", rest, other.a(), d.hint())
		}
	}
	return fmt.Sprintf("the unit %q is not known here; %s", rest, d.hint())
}

// special answers units that are common aboard but say too little.
func (d Dimension) special(rest string) string {
	lower := strings.ToLower(unitText(rest))
	switch {
	case d == Pressure && (lower == "m" || lower == "ft"):
		return fmt.Sprintf("a length is no pressure; a height of water is written %s head", lower)
	case d == Power && lower == "btu":
		return "BTU is an energy; write BTU/h"
	case d == Power && (lower == "va" || lower == "kva"):
		return "an apparent power is not a power; give it in W or kW"
	case d == Volume && (lower == "gpm" || lower == "gph"):
		return "that is a flow; write gal"
	case d == Voltage && (strings.HasSuffix(lower, "vac") || strings.HasSuffix(lower, "vdc") || strings.HasSuffix(lower, "v ac") || strings.HasSuffix(lower, "v dc")):
		return "AC and DC follow from the part; write V"
	}
	return ""
}

// hint says which units fit.
func (d Dimension) hint() string {
	return fmt.Sprintf("write it in %s, for example %s", d.Accepts(), d.Example())
}

// splitAside parts "14 ft (4.27 m)" into the quantity and what stands in
// brackets behind it.
func splitAside(s string) (main, aside string, has, ok bool) {
	open := strings.IndexByte(s, '(')
	if open < 0 {
		return s, "", false, !strings.ContainsRune(s, ')')
	}
	if !strings.HasSuffix(s, ")") || strings.ContainsAny(s[open+1:len(s)-1], "()") {
		return s, "", false, false
	}
	return strings.TrimSpace(s[:open]), strings.TrimSpace(s[open+1 : len(s)-1]), true, true
}

// near allows for the rounding of the figure in brackets: two significant
// digits are within 5 %.
func near(a, b float64) bool {
	return math.Abs(a-b) <= 0.05*math.Max(math.Abs(a), math.Abs(b))+1e-9
}
