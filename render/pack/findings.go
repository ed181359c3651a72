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
	s.blocks = append(s.blocks, heading("Not stated"), para(fmt.Sprintf("%d facts that only eyes can tell are not in the file: %s.", len(r.NotStated), m.roundHint())))
	return []section{s}
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

// surveyRound is a form to be taken round the boat, a table a space, for exactly
// what the file does not say.
func (m *maker) surveyRound() []section {
	s := section{id: "round", title: "Survey round: what is still to be looked at", document: "Blank form by space", blocks: []block{
		para("Walk the spaces in this order and write down what you see. Then type it into the file: under the id of the second column, with the word before the colon as the key."),
	}}
	no := 0
	for _, g := range m.notStatedBySpace() {
		var lines [][]string
		for _, n := range g.list {
			no++
			title := ""
			if p := m.boat().Part(n.At); p != nil {
				title = titleOf(p)
			}
			lines = append(lines, []string{fmt.Sprint(no), n.At, title, askFor(n.What), ""})
		}
		s.blocks = append(s.blocks, heading(g.space), table([]sheet.Column{num("No."), col("At"), col("It is"), wide("What to write down"), {Head: "Seen", Least: 45}}, lines))
	}
	s.blocks = append(s.blocks, m.missingData(no)...)
	if no == 0 && len(m.Result.Unchecked) == 0 {
		s.blocks = append(s.blocks, para("Nothing is open: every fact that the file can hold of what only eyes can tell is stated. Date the round again after a year."))
	}
	return []section{s}
}

// askFor puts a key that only eyes can fill into a question.
func askFor(key string) string {
	questions := map[string]string{
		"restrained":        "is it held so that it cannot move?",
		"terminals-covered": "are both posts covered?",
		"exercised":         "date on which it was last worked to and fro",
		"fitted":            "date on which it was fitted, or the one printed on it",
		"chafe-guard":       "is it guarded wherever it passes an edge or a bulkhead?",
		"tested":            "date on which it was last tested",
		"torque":            "the torque its joints were tightened to, by the maker's sheet",
	}
	if q, ok := questions[key]; ok {
		return key + ": " + q
	}
	return key
}

// missingData is what checks lacked, to be measured in the same round.
func (m *maker) missingData(no int) []block {
	seen := map[string]bool{}
	var lines [][]string
	for _, u := range m.Result.Unchecked {
		if seen[u.Missing] {
			continue
		}
		seen[u.Missing] = true
		no++
		lines = append(lines, []string{fmt.Sprint(no), strings.Join(u.At, ", "), u.Missing, ""})
	}
	if len(lines) == 0 {
		return nil
	}
	return []block{heading("Data that checks lacked"), table([]sheet.Column{num("No."), col("At"), wide("What to measure or read"), {Head: "Value", Least: 45}}, lines)}
}

type openFacts struct {
	space string
	list  []diag.NotStated
}

func (m *maker) notStatedBySpace() []openFacts {
	var out []openFacts
	at := map[string]int{}
	for _, n := range m.Result.NotStated {
		title := "Space not stated"
		if sp := m.boat().Space(n.Space); sp != nil {
			title = sp.Name()
		} else if n.Space != "" {
			title = n.Space
		}
		i, ok := at[title]
		if !ok {
			i = len(out)
			at[title] = i
			out = append(out, openFacts{space: title})
		}
		out[i].list = append(out[i].list, n)
	}
	return out
}
