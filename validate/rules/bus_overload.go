package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var busOverload = Rule{
	Name: "bus-overload", Section: dcSolved,
	Asks:     "Does every bus, block, stud and panel bar carry no more than its rating?",
	Why:      "a bar that is too small heats its studs and the lugs on them",
	Severity: "error",
	Source:   "the part's own rating; common practice, no source: sources count on both sides",
	Quiet:    "what enters the bar counts once, by the solution, not the sum of the ratings round it",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 400 Ah, cranking: 500 A}
  BP: {kind: bus, rating: 50 A, polarity: positive}
  HT1: {kind: heater, draw: 30 A}
  HT2: {kind: heater, draw: 30 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 80 A}, BP], size: 4 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 2, path: [BP, {F2: class-t 40 A}, HT1.+], size: 8 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 3, path: [BP, {F3: class-t 40 A}, HT2.+], size: 8 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 4, from: HT1.-, to: B1.-, size: 8 AWG, length: 0.4 m}
  - {id: 5, from: HT2.-, to: B1.-, size: 8 AWG, length: 0.4 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 400 Ah, cranking: 500 A}
  BP: {kind: bus, rating: 100 A, polarity: positive}
  HT1: {kind: heater, draw: 30 A}
  HT2: {kind: heater, draw: 30 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 80 A}, BP], size: 4 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 2, path: [BP, {F2: class-t 40 A}, HT1.+], size: 8 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 3, path: [BP, {F3: class-t 40 A}, HT2.+], size: 8 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 4, from: HT1.-, to: B1.-, size: 8 AWG, length: 0.4 m}
  - {id: 5, from: HT2.-, to: B1.-, size: 8 AWG, length: 0.4 m}
`,
	Check: checkBusOverload,
}

func checkBusOverload(c *Context) {
	looked := false
	for _, p := range c.Boat.Parts {
		if p.Prepared || !p.Is(schema.Distribution) || p.Is(schema.ACPart) {
			continue
		}
		node := c.Net.Node(p, p.Terminals()[0].Name)
		if node < 0 || !c.Joined(node) {
			continue
		}
		c.Looked("")
		looked = true
		amps, cond := c.worstThrough(node)
		rating := p.Amps("rating")
		switch {
		case amps < calm:
		case !rating.Given():
			c.Missing("", "rating of "+p.ID, p.At, p.ID)
		case amps > rating.V*(1+1e-9):
			c.Add(figure(diag.Finding{Severity: diag.Error, Span: p.At, At: []string{p.ID},
				Message: fmt.Sprintf("%s carries %s %s; it is rated %s", p.Name(), amps1(amps), conditionText(cond), rating.V),
				Risk:    "the bar, its studs and the lugs on them overheat",
				Do:      fmt.Sprintf("fit one rated %s or more, or part its loads between two", amps1(amps)),
				Source:  "the part's own rating; common practice, no source", Condition: condID(cond)}, amps, rating.V, "A"))
		}
	}
	if looked {
		c.eachDC(func(_ *schema.Condition, d *survey.DCState) { c.lackDC("", d) })
	}
	c.acBars()
}

// worstThrough is the greatest current that enters and leaves a joint.
func (c *Context) worstThrough(node int) (most unit.Amp, at *schema.Condition) {
	c.eachDC(func(cond *schema.Condition, d *survey.DCState) {
		if !d.Bounded() {
			return
		}
		sum := unit.Amp(0)
		for _, id := range c.Net.Nodes[node].Edges {
			e := &c.Net.Edges[id]
			if e.Medium != schema.DC || e.A == e.B {
				continue
			}
			a, _ := d.EdgeAmps(id)
			sum += absAmp(a)
			if e.Type == trace.ConvertIn {
				for _, src := range d.Sources {
					if src.Edge == e {
						in, _ := d.InAmps(src)
						sum += absAmp(in) - absAmp(a)
					}
				}
			}
		}
		if sum /= 2; sum > most*(1+1e-9) {
			most, at = sum, cond
		}
	})
	return most, at
}
