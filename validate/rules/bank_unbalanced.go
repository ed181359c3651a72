package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

var bankUnbalanced = Rule{
	Name: "bank-unbalanced", Section: "DC, static",
	Asks:     "Does no load hang on the mid-point of a series bank that nothing balances?",
	Why:      "the lower battery is drained and the upper overcharged until both fail",
	Severity: "warning",
	Source:   "common practice, no source",
	Quiet:    "a converter or charger with a pole on the mid-point balances it; monitors and signal wires take next to nothing",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 300 A, fault-current: 900 A}
  B2: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 300 A, fault-current: 900 A}
  LT1: {kind: light, draw: 1 A, volts: 12 V}
  LT2: {kind: light, draw: 1 A, volts: 24 V}
wires:
  - {id: 4, path: [B2.+, {F2: blade 10 A}, LT2.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 5, from: LT2.-, to: B1.-, size: 2.5 mm2, length: 2 m}
  - {id: 1, from: B1.+, to: B2.-, size: 35 mm2, length: 0.15 m}
  - {id: 2, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 3, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 300 A, fault-current: 900 A}
  B2: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 300 A, fault-current: 900 A}
  LT1: {kind: light, draw: 1 A, volts: 24 V}
wires:
  - {id: 1, from: B1.+, to: B2.-, size: 35 mm2, length: 0.15 m}
  - {id: 2, path: [B2.+, {F1: blade 10 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 3, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
	Check: checkBankUnbalanced,
}

func checkBankUnbalanced(c *Context) {
	st := c.AtRest()
	plus, minus := map[int]*schema.Part{}, map[int]*schema.Part{}
	c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) {
		plus[st.Of(e.A)], minus[st.Of(e.B)] = e.Part, e.Part
	})
	middle := func(node int) (lower, upper *schema.Part) {
		g := st.Of(node)
		if node < 0 || plus[g] == nil || minus[g] == nil || plus[g] == minus[g] {
			return nil, nil
		}
		return plus[g], minus[g]
	}
	balanced := map[int]bool{}
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		if e.Type == trace.ConvertIn || e.Type == trace.Feed && e.Part.Is(schema.Charging) {
			for _, t := range e.Part.Terminals() {
				if n := c.Net.Node(e.Part, t.Name); n >= 0 && t.Medium == schema.DC && c.Joined(n) {
					balanced[st.Of(n)] = true
				}
			}
		}
	}
	c.eachEdge(trace.Load, schema.DC, func(_ int, e *trace.Edge) {
		if readsShunt(e.Part) {
			return
		}
		for _, node := range []int{e.A, e.B} {
			lower, upper := middle(node)
			if lower == nil || !c.Joined(node) {
				continue
			}
			c.Looked("bank-unbalanced")
			if balanced[st.Of(node)] {
				continue
			}
			c.Add(diag.Finding{Rule: "bank-unbalanced", Severity: diag.Warning, Span: e.Part.At, At: append(c.at(e.Part, node), lower.ID, upper.ID),
				Message: fmt.Sprintf("%s hangs on the mid-point between %s and %s, which nothing balances", e.Part.ID, lower.ID, upper.ID),
				Risk:    "one battery is drained and the other overcharged until both fail",
				Do:      "feed it from the whole bank through a converter, or fit an equaliser",
				Source:  "common practice, no source"})
			break
		}
	})
}
