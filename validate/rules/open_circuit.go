package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var openCircuit = Rule{
	Name: "open-circuit", Section: "DC, static",
	Asks:     "Is there a way out and back to a source for every load, and is every terminal joined that must be?",
	Why:      "what has no complete circuit does not work: found at sea, or never for an alarm",
	Severity: "warning; error for a bilge pump or alarm",
	Source:   "graph test; common practice, no source",
	Quiet:    "spare ways, spare studs and ends of a medium that the file does not wire at all are spare; one position in which the load works is enough",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  LT1: {kind: light, draw: 1 A}
  LT2: {kind: light, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
  - {id: 3, path: [B1.+, {F2: blade 10 A}, LT2.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  LT1: {kind: light, draw: 1 A}
  LT2: {kind: light, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
  - {id: 3, path: [B1.+, {F2: blade 10 A}, LT2.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 4, from: LT2.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
	Check: checkOpenCircuit,
}

func checkOpenCircuit(c *Context) {
	wired := map[schema.Medium]bool{schema.DC: c.HasWires(schema.DC), schema.AC: c.HasWires(schema.AC)}
	spoken := map[*schema.Part]bool{}
	later := c.preparedEnds()
	for _, p := range c.Boat.Parts {
		if !p.Prepared {
			c.looseTerminals(p, wired, later, spoken)
		}
	}
	any := c.Live(c.AnyPosition(), true)
	var rest *survey.Live
	var shorted map[int]bool
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		if !draws(e) || !wired[e.Medium] || spoken[e.Part] {
			continue
		}
		c.Looked("open-circuit")
		if any.Feeds(e.A, e.B) || !c.Joined(e.A) && !c.Joined(e.B) && !c.needed(e.Part, e.Branch.A) {
			continue
		}
		if any.Same(e.A, e.B) {
			if rest == nil {
				rest, shorted = c.Live(c.AtRest().Groups, true), c.shortedGroups()
			}
			if rest.Feeds(e.A, e.B) || shorted[rest.Of(e.A)] && rest.Same(e.A, e.B) {
				continue
			}
		}
		spoken[e.Part] = true
		c.noCircuit(e)
	}
}

// needed reports whether a terminal must be joined.
func (c *Context) needed(p *schema.Part, terminal string) bool {
	t, ok := p.Terminal(terminal)
	return ok && t.Needed
}

// looseTerminals reports the needed terminals of a part that nothing joins.
// Protective earths are asked for by shore-earth.
func (c *Context) looseTerminals(p *schema.Part, wired map[schema.Medium]bool, later map[schema.End]bool, spoken map[*schema.Part]bool) {
	var loose []string
	for _, t := range p.Terminals() {
		if !t.Needed || t.Hidden || t.Medium == schema.Water || !wired[t.Medium] || t.Polarity == schema.Earth {
			continue
		}
		if t.Medium == schema.AC && !p.Is(schema.ACPart) {
			continue
		}
		if n := c.Net.Node(p, t.Name); n >= 0 && !c.Joined(n) && !later[schema.End{Part: p, Terminal: t.Name}] {
			loose = append(loose, schema.End{Part: p, Terminal: t.Name}.String())
		}
	}
	if len(loose) == 0 {
		return
	}
	spoken[p] = true
	verb := "is"
	if len(loose) > 1 {
		verb = "are"
	}
	c.Add(diag.Finding{Rule: "open-circuit", Severity: openSeverity(p), Span: p.At, At: []string{p.ID},
		Message: fmt.Sprintf("%s %s joined to nothing", list(loose), verb),
		Risk:    fmt.Sprintf("%s does not work", p.Name()),
		Do:      fmt.Sprintf("join %s, or say `prepared: yes` if %s is not fitted", list(loose), p.ID),
		Source:  "common practice, no source"})
}

func (c *Context) noCircuit(e *trace.Edge) {
	c.Add(diag.Finding{Rule: "open-circuit", Severity: openSeverity(e.Part), Span: e.Part.At, At: c.at(e.Part, e.A),
		Message: fmt.Sprintf("%s has no way out and back to a source in any position", e.Part.ID),
		Risk:    fmt.Sprintf("%s does not work", e.Part.Name()),
		Do:      fmt.Sprintf("trace both poles of %s to its source and close the gap", e.Part.ID),
		Source:  "common practice, no source"})
}

func openSeverity(p *schema.Part) diag.Severity {
	if p.Roles().Any(schema.Bilge | schema.AlarmRole) {
		return diag.Error
	}
	return diag.Warning
}

// shortedGroups marks joints that hold both poles of a source: short-circuit
// speaks there.
func (c *Context) shortedGroups() map[int]bool {
	st, found := c.AtRest(), map[int]bool{}
	for i := range c.Net.Edges {
		e := &c.Net.Edges[i]
		if e.Type != trace.Battery && e.Type != trace.Feed && e.Type != trace.ConvertIn {
			continue
		}
		if a, b := c.poles(e); st.Same(a, b) {
			found[st.Of(a)] = true
		}
	}
	return found
}

// preparedEnds are the terminals that a conductor is prepared for: what is not
// fitted yet joins them.
func (c *Context) preparedEnds() map[schema.End]bool {
	ends := map[schema.End]bool{}
	for _, w := range c.Boat.Wires {
		if w.Implied || c.Net.WireEdge[w] >= 0 {
			continue
		}
		for _, e := range []schema.End{w.From, w.To} {
			ends[schema.End{Part: e.Part, Terminal: e.Terminal}] = true
		}
	}
	return ends
}
