package rules

import (
	"fmt"
	"time"

	"fitout/schema"
	"fitout/schema/diag"
)

var alarmUntested = Rule{
	Name: "alarm-untested", Section: boatSection,
	Asks:     "Was every alarm tested in the twelve months before the date of the sheets?",
	Why:      "an alarm last tested seven years before stayed silent when a seiner flooded in 2022",
	Severity: "note",
	Source:   "NTSB, February 2024; trade practice",
	Quiet:    "twelve months to the day are in time; the program knows no other date than that of the sheets",
	Bad: `
fitout: 1
parts:
  AL1: {kind: alarm, title: Bilge alarm, senses: water, battery: yes, tested: 2025-05-01}
sheets: {date: 2026-05-02}
`,
	Good: `
fitout: 1
parts:
  AL1: {kind: alarm, title: Bilge alarm, senses: water, battery: yes, tested: 2025-05-02}
sheets: {date: 2026-05-02}
`,
	Check: checkAlarmUntested,
}

func checkAlarmUntested(c *Context) {
	const form = "2006-01-02"
	today, err := time.Parse(form, c.Boat.Sheets.Date.V)
	for _, p := range c.Boat.Parts {
		if p.Prepared || !p.Is(schema.AlarmRole) {
			continue
		}
		c.Looked("alarm-untested")
		f := diag.Finding{Rule: "alarm-untested", Severity: diag.Note, Span: p.At, At: []string{p.ID},
			Risk:   "nobody knows whether it works",
			Do:     fmt.Sprintf("test %s, with real water where it senses water, and write the date", p.ID),
			Source: "NTSB, February 2024; trade practice"}
		tested := p.Word("tested")
		on, bad := time.Parse(form, tested.V)
		switch {
		case !tested.Given() || bad != nil:
			f.Message = fmt.Sprintf("%s: no test is on record", p.Name())
		case err != nil:
			c.Missing("alarm-untested", "date of the sheets", c.Boat.Sheets.At, p.ID)
			continue
		case on.AddDate(1, 0, 0).Before(today):
			f.Message = fmt.Sprintf("%s was last tested on %s, over twelve months before %s", p.Name(), tested.V, c.Boat.Sheets.Date.V)
		default:
			continue
		}
		c.Add(f)
	}
}
