package pack

import (
	"fmt"
	"strings"

	"fitout/render/sheet"
	"fitout/schema/diag"
)

func cols2(a, b string) []sheet.Column { return []sheet.Column{col(a), wide(b)} }

// findings are written as surveyors write them: each stands alone.
func (m *maker) findings() []section {
	r := m.Result
	s := section{id: "findings", title: "Findings", document: "Survey of the file", lying: true}
	s.blocks = append(s.blocks, para("Class A: can burn, flood, shock, poison, or breaks the law. B: will become a hazard, fail or disappoint. C: habit and good order. Each stands alone: what is wrong, what it can do, what to do, and by which rule."))
	s.blocks = append(s.blocks, m.found()...)
	s.blocks = append(s.blocks, m.deviations()...)
	s.blocks = append(s.blocks, heading("Not checked"))
	if len(r.Unchecked) == 0 {
		s.blocks = append(s.blocks, para("Every check had the data it needs."))
	} else {
		s.blocks = append(s.blocks, para("These judgements could not be made. Give the datum and ask again; until then nothing is known."), m.unchecked())
	}
	s.blocks = append(s.blocks, heading("Not stated"), para(fmt.Sprintf("%s that only eyes can tell, not in the file: %s.", numberText(m.eyesOnly(), "fact", "facts"), m.roundHint())))
	return []section{s}
}

// eyesOnly is how many rows of the survey round wait for eyes only.
func (m *maker) eyesOnly() int {
	n := 0
	for _, r := range m.round() {
		if len(r.Rules) == 0 {
			n++
		}
	}
	return n
}

func (m *maker) roundHint() string {
	if len(m.Result.NotStated) == 0 {
		return "nothing is open"
	}
	if m.isFor(Aboard) {
		return "the owner's copy lists them by space"
	}
	return "listed by space on " + m.page("round")
}

func (m *maker) found() []block {
	count := map[string]int{}
	var lines [][]string
	for _, f := range m.Result.Findings {
		c := f.Severity.Class()
		count[c]++
		lines = append(lines, []string{fmt.Sprintf("%s-%02d", c, count[c]), what(f), f.Risk, f.Do, f.Source})
	}
	if len(lines) == 0 {
		return []block{para("The check raised nothing.")}
	}
	return []block{table([]sheet.Column{col("No."), {Head: "What", Grow: 2}, {Head: "Risk", Grow: 1}, {Head: "Do", Grow: 1}, {Head: "Source", Grow: 1}}, lines)}
}

// what is the message with where it holds.
func what(f diag.Finding) string {
	s := f.Message
	if len(f.At) > 0 {
		s = strings.Join(f.At, ", ") + ": " + s
	}
	if f.Condition != "" && !strings.Contains(s, f.Condition) {
		s += " (condition " + f.Condition + ")"
	}
	return s + " [" + f.Rule + "]"
}

func (m *maker) deviations() []block {
	if len(m.Result.Deviations) == 0 {
		return []block{heading("Accepted deviations"), para("None.")}
	}
	var lines [][]string
	for i, f := range m.Result.Deviations {
		d := f.Deviation
		lines = append(lines, []string{fmt.Sprintf("D-%02d", i+1), what(f), f.Risk, d.Why, d.By})
	}
	return []block{heading("Accepted deviations"), table([]sheet.Column{col("No."), {Head: "What", Grow: 2}, {Head: "Risk", Grow: 1}, {Head: "Why it was accepted", Grow: 1}, {Head: "By", Grow: 1}}, lines)}
}

func (m *maker) unchecked() block {
	var lines [][]string
	for i, u := range m.Result.Unchecked {
		lines = append(lines, []string{fmt.Sprintf("N-%02d", i+1), u.Rule, strings.Join(u.At, ", "), u.Missing})
	}
	return table([]sheet.Column{col("No."), col("Rule"), col("At"), wide("Missing")}, lines)
}
