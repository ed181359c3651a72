package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

var shoreGalvanic = Rule{
	Name: "shore-galvanic", Section: "Shore power, static",
	Asks:     "Does the shore earth meet the boat's metal only through a galvanic isolator or an isolation transformer?",
	Why:      "through the shore earth every boat on the dock is one galvanic cell: anodes and propellers vanish",
	Severity: "warning",
	Source:   "E-11 11.5.5.5 (only an isolator to A-28 in the earth); common practice, no source",
	Quiet:    "an isolation transformer keeps the shore earth out; an earth that meets no DC negative makes no cell (shore-earth says that)",
	Bad: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  SI: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  RC1: {kind: rcd, title: Shore main, rating: 16 A, trip: 30 mA, space: cabin}
  AP: {kind: ac-panel, space: cabin, ways: {1: {title: Heater, rating: 16 A, poles: 2}}}
  HE1: {kind: ac-load, volts: 230 V, power: 1 kW}
  G: {kind: ground}
wires:
  - {id: 70, path: [SI, RC1, AP], cable: 3 core 2.5 mm2, lengths: [1 m, 2 m]}
  - {id: 71, from: AP.1, to: HE1, cable: 3 core 2.5 mm2, length: 2 m}
  - {id: 72, from: AP.PE, to: G, size: 6 mm2, length: 2 m}
`,
	Good: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  SI: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  GI1: {kind: galvanic-isolator, rating: 60 A}
  RC1: {kind: rcd, title: Shore main, rating: 16 A, trip: 30 mA, space: cabin}
  AP: {kind: ac-panel, space: cabin, ways: {1: {title: Heater, rating: 16 A, poles: 2}}}
  HE1: {kind: ac-load, volts: 230 V, power: 1 kW}
  G: {kind: ground}
wires:
  - {id: 70, path: [SI, GI1, RC1, AP], cable: 3 core 2.5 mm2, lengths: [0.5 m, 0.5 m, 2 m]}
  - {id: 71, from: AP.1, to: HE1, cable: 3 core 2.5 mm2, length: 2 m}
  - {id: 72, from: AP.PE, to: G, size: 6 mm2, length: 2 m}
`,
	Check: checkShoreGalvanic,
}

func checkShoreGalvanic(c *Context) {
	isolator := func(e *trace.Edge) bool { return e.Type == trace.Series && e.Branch.Type == schema.Isolate }
	metal := func(e *trace.Edge) bool { return earthPasses(e) && !isolator(e) }
	whole, past := c.Groups(earthPasses), c.Groups(metal)
	ground := c.groundGroups(past)
	for _, s := range c.acSources() {
		if !s.shore || s.pe < 0 {
			continue
		}
		c.Looked("shore-galvanic")
		target := c.boatMetal(past, ground, past.Of(s.pe))
		if target < 0 {
			continue
		}
		var fitted *schema.Part
		c.eachEdge(trace.Series, schema.AC, func(_ int, e *trace.Edge) {
			if isolator(e) && fitted == nil && whole.Same(e.A, s.pe) {
				fitted = e.Part
			}
		})
		path := c.Path(s.pe, target, metal)
		f := diag.Finding{Rule: "shore-galvanic", Severity: diag.Warning, Span: spanOf(path, s.part), At: appendNew(refs(path), s.part.ID),
			Message: fmt.Sprintf("the earth of inlet %s meets the boat's metal with no galvanic isolator", s.part.ID),
			Risk:    "anodes, propeller and through-hulls are eaten by the other boats' metal",
			Do:      "fit a galvanic isolator in the earth next to the inlet, or an isolation transformer" + licensed,
			Source:  "E-11 11.5.5.5; common practice, no source"}
		if fitted != nil {
			f.Message = fmt.Sprintf("the earth of inlet %s meets the boat's metal past isolator %s, by %s", s.part.ID, fitted.ID, brief(refs(path)))
			f.At = appendNew(f.At, fitted.ID)
			f.Do = fmt.Sprintf("lead every earth from the inlet through %s%s", fitted.ID, licensed)
		}
		c.Add(f)
	}
}

// boatMetal returns a joint of DC negative or bonding in a group, or -1.
func (c *Context) boatMetal(g interface{ Of(int) int }, ground map[int]bool, group int) int {
	for _, p := range c.Boat.Parts {
		if p.Prepared || !p.Roles().Any(schema.Grounding|schema.Bonding) {
			continue
		}
		for _, t := range p.Terminals() {
			if n := c.Net.Node(p, t.Name); n >= 0 && g.Of(n) == group {
				return n
			}
		}
	}
	if !ground[group] {
		return -1
	}
	for i := range c.Net.Edges {
		if e := &c.Net.Edges[i]; e.Type == trace.Battery && g.Of(e.B) == group {
			return e.B
		}
	}
	return -1
}
