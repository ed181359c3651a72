package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var switchOverload = Rule{
	Name: "switch-overload", Section: dcSolved,
	Asks:     "Does every switch, selector, relay and shunt carry no more than its rating?",
	Why:      "its contacts heat, weld or burn, and it fails when it is to be opened",
	Severity: "error",
	Source:   "E-11 11.6.1.2.3: continuous rating, and an intermittent one for cranking",
	Quiet:    "cranking is held against the cranking or intermittent rating of the switch where that is stated; where it is not, up to one and a half times its rating is not checked",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 400 Ah, cranking: 500 A}
  S1: {kind: switch, title: Battery, rating: 20 A}
  HT1: {kind: heater, draw: 30 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 40 A}, S1, HT1.+], size: 8 AWG, lengths: [0.1 m, 0.1 m, 0.3 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 8 AWG, length: 0.4 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 400 Ah, cranking: 500 A}
  S1: {kind: switch, title: Battery, rating: 100 A}
  HT1: {kind: heater, draw: 30 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 40 A}, S1, HT1.+], size: 8 AWG, lengths: [0.1 m, 0.1 m, 0.3 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 8 AWG, length: 0.4 m}
`,
	Check: checkSwitchOverload,
}

func checkSwitchOverload(c *Context) {
	worst := c.worstByEdge()
	cranked := c.crankedAmps()
	looked := false
	spoken := map[*schema.Part]bool{}
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		if e.Medium != schema.DC || e.Type != trace.Contact && !(e.Type == trace.Series && e.Part.Is(schema.Measuring)) {
			continue
		}
		c.Looked("")
		looked = true
		rating := e.Part.Amps("rating")
		if e.Branch.Contact != nil {
			rating = e.Branch.Contact.Rating
		}
		x := worst[id]
		switch {
		case spoken[e.Part]:
		case x.amps < calm:
			spoken[e.Part] = c.crankedSwitch(id, e, rating, cranked)
		case !rating.Given():
			c.Missing("", "rating of "+edgeName(e), e.Part.At, e.Part.ID)
		case x.amps > rating.V*(1+1e-9):
			spoken[e.Part] = true
			c.Add(figure(diag.Finding{Severity: diag.Error, Span: e.Part.At, At: c.at(e.Part, e.A),
				Message: fmt.Sprintf("%s carries %s %s; it is rated %s", edgeName(e), amps1(x.amps), conditionText(x.cond), rating.V),
				Risk:    "its contacts heat, weld or burn: it fails when it is to be opened",
				Do:      fmt.Sprintf("fit one rated %s or more, or take load off it", amps1(x.amps)),
				Source:  "the part's own rating; E-11 11.6.1.2.3", Condition: condID(x.cond)}, x.amps, rating.V, "A"))
		default:
			spoken[e.Part] = c.crankedSwitch(id, e, rating, cranked)
		}
	}
	if looked {
		c.eachDC(func(_ *schema.Condition, d *survey.DCState) { c.lackDC("", d) })
	}
	c.acContacts()
}

// crankedAmps is the most that each contact carries while one engine is cranked and
// everything else stands.
func (c *Context) crankedAmps() map[int]unit.Amp {
	most := map[int]unit.Amp{}
	c.eachCranking(func(_ *schema.Part, d *survey.DCState) {
		if !d.Bounded() {
			return
		}
		for id := range c.Net.Edges {
			if t := c.Net.Edges[id].Type; t == trace.Contact || t == trace.Series {
				if a, ok := d.EdgeAmps(id); ok {
					most[id] = max(most[id], absAmp(a))
				}
			}
		}
	})
	return most
}

// shortTime is what a battery switch bears for minutes over its continuous rating,
// where its maker's figure is not stated: common practice, no source. Up to it
// cranking is not checked, beyond it the switch fails.
const shortTime unit.Amp = 1.5

// crankedSwitch holds what a starter draws through a switch against its cranking
// or intermittent rating, and reports whether it speaks.
func (c *Context) crankedSwitch(id int, e *trace.Edge, rating schema.Val[unit.Amp], cranked map[int]unit.Amp) (speaks bool) {
	if a := cranked[id]; a > calm && !(rating.Given() && a <= rating.V) {
		short := e.Part.Amps("cranking")
		if !short.Given() {
			short = e.Part.Amps("intermittent")
		}
		speaks = true
		switch {
		case !short.Given() && rating.Given() && a > shortTime*rating.V:
			c.Add(figure(diag.Finding{Severity: diag.Error, Span: e.Part.At, At: c.at(e.Part, e.A),
				Message: fmt.Sprintf("%s carries %s while the engine is cranked; it is rated %s, and states no cranking or intermittent rating", e.Part.ID, amps1(a), rating.V),
				Risk:    "its contacts weld or burn when the engine is started",
				Do:      fmt.Sprintf("fit one with a cranking rating of %s or more, or state the one it has (`cranking`)", amps1(a)),
				Source:  "E-11 11.6.1.2.3: intermittent rating at least the largest cranking current; that a switch bears half as much again for minutes is common practice, no source"}, a, rating.V, "A"))
		case !short.Given():
			c.Missing("", "cranking rating of "+e.Part.ID, e.Part.At, e.Part.ID)
		case a > short.V*(1+1e-9):
			c.Add(figure(diag.Finding{Severity: diag.Error, Span: e.Part.At, At: c.at(e.Part, e.A),
				Message: fmt.Sprintf("%s carries %s while the engine is cranked; it is rated %s for that", e.Part.ID, amps1(a), short.V),
				Risk:    "its contacts weld or burn when the engine is started",
				Do:      fmt.Sprintf("fit one with a cranking rating of %s or more", amps1(a)),
				Source:  "E-11 11.6.1.2.3: intermittent rating at least the largest cranking current"}, a, short.V, "A"))
		default:
			speaks = false
		}
	}
	return speaks
}
