package rules

import (
	"fmt"

	"fitout/schema/diag"
)

var noPlace = Rule{
	Name: "no-place", Section: "DC, static",
	Asks:     "Does every device, switch and seacock say in which space it is?",
	Why:      "what nobody can find cannot be closed in time",
	Severity: "note",
	Source:   "trade practice: schedules by space; the fault guide and the hull-opening plan need it",
	Quiet:    "ways of a panel are where the panel is; a seacock is where its through-hull is",
	Bad: `
fitout: 1
parts:
  S1: {kind: switch, title: Battery switch, rating: 200 A}
`,
	Good: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  S1: {kind: switch, title: Battery switch, rating: 200 A, space: cabin}
`,
	Check: checkNoPlace,
}

func checkNoPlace(c *Context) {
	for _, p := range c.Boat.Parts {
		if !labelled(p) {
			continue
		}
		c.Looked("no-place")
		if p.Space != nil {
			continue
		}
		c.Add(diag.Finding{Rule: "no-place", Severity: diag.Note, Span: p.At, At: []string{p.ID},
			Message: fmt.Sprintf("%s has no space", p.Name()),
			Risk:    "what nobody can find cannot be closed in time",
			Do:      fmt.Sprintf("say in which space %s is", p.ID),
			Source:  "trade practice, no source"})
	}
}
