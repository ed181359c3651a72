package pack

import (
	"fmt"
	"strings"

	"fitout/render"
	"fitout/schema/diag"
	"fitout/schema/unit"
)

// cover says what the set is, for which boat, and where to find what.
func (m *maker) cover() []section {
	b := m.boat()
	facts := [][]string{}
	fact := func(what, value string) {
		if value != "" {
			facts = append(facts, []string{what, value})
		}
	}
	fact("Boat", strings.TrimSpace(b.Vessel.Name.V+", "+b.Vessel.Type.V))
	fact("Hull number", b.Sheets.HullNumber.V)
	fact("Owner", b.Sheets.Owner.V)
	fact("Length and beam", lengths(b.Vessel.Length.V, b.Vessel.Beam.V, b.Vessel.Length.Given() && b.Vessel.Beam.Given()))
	fact("Electrical system", m.title.System)
	fact("Drawn, checked", strings.Trim(b.Sheets.Drawn.V+", "+b.Sheets.Checked.V, ", "))
	fact("Revision and date", strings.Trim(b.Sheets.Revision.V+", "+b.Sheets.Date.V, ", "))
	fact("Rules asked", rulesWords(m.title.Rules))
	fact("Result of the check", m.resultLine()+". A: can burn, flood, shock or poison; B: will become a hazard")
	fact("Input", "fingerprint "+render.Fingerprint(b)+" of the file: sheets with the same one in the title block belong together")
	s := section{id: "cover", title: m.coverTitle(), document: "Cover and contents", blocks: []block{
		para(m.purpose()),
		table(cols2("This set", ""), facts),
		heading("Before you rely on it"),
		warning("Mains voltage kills. Shore power and inverter circuits are for a licensed person, even when the plug is out."),
		para("A battery cannot be switched off: what lies between its posts and the first fuse is always live. Take rings and watches off. Take the minus cable off first and put it on last."),
		para("These sheets were computed from what someone wrote down about this boat. A blank or \"not given\" means that nobody said it; it never means that all is well. Check against the boat before you work, and correct the sheet when it is wrong: page \"Change log\"."),
		para("The sheets cannot see the condition of things: a seized valve, a cracked hose, a corroded lug look the same on paper as sound ones. Local codes and licensed practice come first."),
		heading("Find it"),
		m.contents(),
	}}
	return []section{s}
}

// rulesWords spells the sets out.
func rulesWords(s string) string {
	words := map[string]string{"us": "us: US law (33 CFR 183) and North American small-craft practice", "iso": "iso: ISO small-craft standards", "both": "both: US law and practice, and ISO; the stricter"}
	if w, ok := words[s]; ok {
		return w
	}
	return s
}

func lengths(a, b unit.Metre, ok bool) string {
	if !ok {
		return ""
	}
	return a.Both() + ", " + b.Both()
}

func (m *maker) coverTitle() string {
	n := m.boat().Vessel.Name.V
	if n == "" {
		n = "Boat without a name"
	}
	return n + ": where it is, what to do"
}

func (m *maker) purpose() string {
	switch m.options.For {
	case Aboard:
		return "Kept aboard. Space sheets are posted in their lockers, the hull-opening plan and the cards at the chart table."
	case Yard:
		return "For the yard: what is wrong, what is fitted where, how it is put together, and what to measure when it is done."
	case Reviewer:
		return "For the reviewer: findings and accepted deviations in survey form, what was not checked, and every sheet the owner gets."
	}
	return "For the owner and the next technician: where each fuse, valve and hull opening is, what to do when something stops, and what to keep in order."
}

// contents leads from what the reader wants to the page.
func (m *maker) contents() block {
	var out [][]string
	row := func(want, title, id string) {
		if n, ok := m.at[id]; ok || len(m.at) == 0 && id != "commissioning" && id != "round" {
			out = append(out, []string{want, title, fmt.Sprint(n)})
		}
	}
	row("Water is coming in", "Hull openings: emergency plan", "openings")
	row("Something stopped working", "Fault guide", "faults")
	row("Smoke, or work on the wiring", "Make safe and restore", "safe")
	row("Where is the …?", "What is where", "where")
	row("What is in this locker?", "Space sheets, one a space", m.firstSpace())
	row("Leaving the boat", "Card", "card-leaving")
	row("Starting up", "Card", "card-starting")
	row("Winter, frost", "Card", "card-frost")
	row("Shore power", "Card", "card-shore")
	row("Put a cable back", "Terminal sheets", "terminals")
	row("What is wrong with the boat", "Findings", "findings")
	row("What if this fuse, hose or valve fails?", "When one thing fails", "sweep")
	if first := m.drawings.first; first > 0 && len(m.drawings.pages) > 0 {
		out = append(out, []string{"How it hangs together", "Drawings", fmt.Sprint(first)})
		for i, p := range m.drawings.pages {
			if p.ID == "key" {
				out = append(out, []string{"What does this symbol mean?", p.Title, fmt.Sprint(first + i)})
			}
		}
	}
	row("Which wire is this?", "Wire lists", "wires")
	row("Which fuse, which spare?", "Fuses and breakers; spares", "protection")
	row("Hoses", "Hoses and pipes", "hoses")
	row("How long do the batteries last?", "Loads and battery hours", "loads")
	row("Serial numbers, settings", "Equipment register", "register")
	row("What is due?", "Maintenance calendar", "maintenance")
	row("I changed something", "Change log", "changes")
	row("Is it as it should be?", "Commissioning sheet", "commissioning")
	row("What is still to be looked at", "Survey round", "round")
	row("A number is all I have", "Index of every id", "index")
	if m.hasLabels() {
		out = append(out, []string{"Which label goes where?", "Files “…-labels” beside this set, to scale for label stock", "–"})
	}
	return table(append(cols2("You want to know", "Look at"), num("Page")), out)
}

// resultLine is the result in the title blocks: open A findings and accepted
// deviations as counts with their page.
func (m *maker) resultLine() string { return m.counts() + ": " + m.page("findings") }

// counts are the findings by class, deviations and what is not checked.
func (m *maker) counts() string {
	a := m.Result.Count(diag.Error)
	var out []string
	switch {
	case a > 0:
		out = append(out, fmt.Sprintf("%d open A", a))
	default:
		out = append(out, "no open A")
	}
	if n := m.Result.Count(diag.Warning); n > 0 {
		out = append(out, fmt.Sprintf("%d B", n))
	}
	if n := len(m.Result.Deviations); n > 0 {
		out = append(out, fmt.Sprintf("%d accepted", n))
	}
	if n := len(m.Result.Unchecked); n > 0 {
		out = append(out, fmt.Sprintf("%d not checked", n))
	}
	return strings.Join(out, ", ")
}
