package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
)

var runTime = Rule{
	Name: "run-time", Section: dcSolved,
	Asks:     "Does the bank last the hours of each condition, within the capacity that may be used?",
	Why:      "the bank is empty before morning, and the pump and the lights with it",
	Severity: "warning",
	Source:   "Peukert's law in the rated-hour form; usable share by chemistry: common practice, no source",
	Quiet:    "mean draw by duty; the energy of the sun is spread over the hours; an unattended condition is left-on's, one that holds is cannot-sustain's",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  FR1: {kind: refrigerator, draw: 6 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 10 A}, FR1.+], size: 10 AWG, lengths: [0.15 m, 2 m]}
  - {id: 2, from: FR1.-, to: B1.-, size: 10 AWG, length: 2 m}
conditions:
  night: {title: A night, hours: 12 h, running: [FR1], bank: B1}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  FR1: {kind: refrigerator, draw: 6 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 10 A}, FR1.+], size: 10 AWG, lengths: [0.15 m, 2 m]}
  - {id: 2, from: FR1.-, to: B1.-, size: 10 AWG, length: 2 m}
conditions:
  night: {title: A night, hours: 12 h, running: [FR1 50 %], bank: B1}
`,
	Check: checkRunTime,
}

func checkRunTime(c *Context) {
	for _, cond := range c.Conditions() {
		if cond.BuiltIn || !cond.Hours.Given() || cond.Unattended.V || cond.Holds.V {
			continue
		}
		if c.DC(cond).Shorted() {
			c.lackShorted(cond)
			continue
		}
		c.Looked("")
		c.lackDC("", c.DCWithoutCranking(cond))
		for _, s := range c.emptying(cond, "run-time") {
			c.Add(figure(diag.Finding{Severity: diag.Warning, Span: cond.At, At: supplyIDs(c, cond, s),
				Message: fmt.Sprintf("%s lasts %s %s at a mean of %s; it is asked for %s", list(ids(s.Batteries)), hoursText(s.Hours), conditionText(cond), amps1(s.Amps), hoursText(cond.Hours.V)),
				Risk:    "it is empty before the hours are over; what must run then does not, and lead ages each time",
				Do:      "a larger bank, less load, or charging in between",
				Source:  "mean current against the usable share, Peukert in the rated-hour form", Condition: cond.ID}, s.Hours, cond.Hours.V, "h"))
		}
	}
}

// emptying lists the batteries of a condition's bank whose usable share is spent
// before its hours are over, and reports those it cannot tell of.
func (c *Context) emptying(cond *schema.Condition, rule string) []survey.Supply {
	bank := c.BankBatteries(cond)
	var out []survey.Supply
	for _, s := range c.Supplies(cond) {
		if !slices.ContainsFunc(s.Batteries, func(p *schema.Part) bool { return slices.Contains(bank, p) }) {
			continue
		}
		if s.Missing != "" {
			c.Missing(rule, s.Missing, s.Batteries[0].At, ids(s.Batteries)...)
			continue
		}
		for _, p := range s.Batteries {
			for _, u := range c.StoreDefaults(p) {
				c.Default(p.ID, u[0], u[1], u[2])
			}
		}
		if s.Hours < cond.Hours.V*(1-1e-9) {
			out = append(out, s)
		}
	}
	return out
}

// supplyIDs names the batteries, and the bank where the condition names one.
func supplyIDs(c *Context, cond *schema.Condition, s survey.Supply) []string {
	at := ids(s.Batteries)
	if cond.Bank.Given() && !slices.Contains(at, cond.Bank.V) {
		at = append(at, cond.Bank.V)
	}
	return append(at, cond.ID)
}
