package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
)

var cannotSustain = Rule{
	Name: "cannot-sustain", Section: dcSolved,
	Asks:     "Does a condition that must hold its bank hold it, and if not, at what engine speed would it?",
	Why:      "the bank empties under way or at the dock, where nobody expects it",
	Severity: "warning",
	Source:   "nodal solution at mean draw; the alternator's own curve",
	Quiet:    "the energy of the sun is spread over the hours of the condition, a day at most",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  ALT1: {kind: alternator, volts: 14.2 V, ratio: 2, output: {1500 rpm: 0 A, 6000 rpm: 45 A}, self-limiting: yes}
  HT1: {kind: heater, draw: 12 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 50 A}, ALT1.+], size: 6 AWG, lengths: [0.15 m, 1 m]}
  - {id: 2, path: [ALT1.-, B1.-], size: 6 AWG, length: 1 m}
  - {id: 3, path: [B1.+, {F2: class-t 20 A}, HT1.+], size: 10 AWG, lengths: [0.15 m, 1 m]}
  - {id: 4, from: HT1.-, to: B1.-, size: 10 AWG, length: 1 m}
conditions:
  slow: {title: Under way slowly, engine: 900 rpm, running: [HT1], holds: yes, bank: B1}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  ALT1: {kind: alternator, volts: 14.2 V, ratio: 2, output: {1500 rpm: 0 A, 6000 rpm: 45 A}, self-limiting: yes}
  HT1: {kind: heater, draw: 12 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 50 A}, ALT1.+], size: 6 AWG, lengths: [0.15 m, 1 m]}
  - {id: 2, path: [ALT1.-, B1.-], size: 6 AWG, length: 1 m}
  - {id: 3, path: [B1.+, {F2: class-t 20 A}, HT1.+], size: 10 AWG, lengths: [0.15 m, 1 m]}
  - {id: 4, from: HT1.-, to: B1.-, size: 10 AWG, length: 1 m}
conditions:
  slow: {title: Under way slowly, engine: 1600 rpm, running: [HT1], holds: yes, bank: B1}
`,
	Check: checkCannotSustain,
}

// holdsWithin is the discharge under which a bank counts as held.
const holdsWithin unit.Amp = 0.01

func checkCannotSustain(c *Context) {
	for _, cond := range c.Conditions() {
		if !cond.Holds.V {
			continue
		}
		c.Looked("")
		c.lackDC("", c.DCWithoutCranking(cond))
		amps, ok := c.NetAmps(cond)
		if !ok || amps <= holdsWithin {
			continue
		}
		text := fmt.Sprintf("%s loses %s %s, though it is to hold", list(bankNames(c, cond)), amps1(amps), conditionText(cond))
		do := "charge with more, or run less"
		if rpm, ok := c.HoldsAt(cond); ok {
			text += fmt.Sprintf("; it holds from an engine speed of %.0f rpm", float64(rpm))
			do = fmt.Sprintf("run the engine at %.0f rpm or more, charge with more, or run less", float64(rpm))
		} else if c.hasAlternator() {
			text += "; no engine speed holds it"
		}
		c.Add(figure(diag.Finding{Severity: diag.Warning, Span: cond.At, At: append(bankNames(c, cond), cond.ID), Message: text,
			Risk: "the bank empties unnoticed, and what depends on it stops", Do: do,
			Source: "nodal solution at mean draw; output curve of the alternator, straight between its points", Condition: cond.ID}, amps, unit.Amp(0), "A"))
	}
}

func bankNames(c *Context, cond *schema.Condition) []string {
	if cond.Bank.Given() {
		return []string{cond.Bank.V}
	}
	return ids(c.BankBatteries(cond))
}

func (c *Context) hasAlternator() bool {
	for i := range c.Net.Edges {
		if e := &c.Net.Edges[i]; e.Branch != nil && e.Branch.Feed != nil && e.Branch.Feed.Needs == "engine" && e.Medium == schema.DC {
			return true
		}
	}
	return false
}
