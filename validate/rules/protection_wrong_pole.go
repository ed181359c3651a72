package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var protectionWrongPole = Rule{
	Name: "protection-wrong-pole", Section: "DC, static",
	Asks:     "Does every device stand in the ungrounded conductor, and none in the grounded one alone?",
	Why:      "a device in the grounded return does not open a short of the positive to ground, and leaves the load live when it opens",
	Severity: "error",
	Source:   "33 CFR 183.455(a): each ungrounded conductor; 46 CFR 111.05-37 and 183.380(b); E-11 11.5.4.7",
	Quiet:    "both poles of an insulated two-pole system carry devices: a boat with no ground part where every way out of a battery, at either pole, ends in a device; a device that opens all poles at once may open the neutral with them",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  F1: {kind: fuse, title: Light, family: blade, rating: 10 A, space: cabin}
  F2: {kind: fuse, title: Light return, family: blade, rating: 10 A, space: cabin}
  LT1: {kind: light, draw: 1 A}
  GND: {kind: ground}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, path: [LT1.-, F2, B1.-], size: 2.5 mm2, lengths: [2 m, 0.15 m]}
  - {id: 3, from: B1.-, to: GND, size: 10 mm2, length: 0.5 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  F1: {kind: fuse, title: Light, family: blade, rating: 10 A, space: cabin}
  LT1: {kind: light, draw: 1 A}
  GND: {kind: ground}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
  - {id: 3, from: B1.-, to: GND, size: 10 mm2, length: 0.5 m}
`,
	Check: checkProtectionWrongPole,
}

func checkProtectionWrongPole(c *Context) {
	if c.shortedAtRest() {
		c.neutralAlone()
		return // the shorted pole is grounded too: short-circuit tells
	}
	live := c.batteryPieces()
	c.eachEdge(trace.Device, schema.DC, func(_ int, e *trace.Edge) {
		c.Looked("protection-wrong-pole")
		a, b := c.Net.Nodes[e.A].Grounded, c.Net.Nodes[e.B].Grounded
		if !a && !b {
			return
		}
		node, other := e.A, e.B
		if !a {
			node, other = e.B, e.A
		}
		if live[c.Net.Component(other)] || c.Net.Nodes[other].Earthed && !c.Net.Nodes[other].Grounded {
			return // a positive joined to ground through it: short-circuit; an earth: shore-earth
		}
		c.Add(diag.Finding{Rule: "protection-wrong-pole", Severity: diag.Error, Span: e.Part.At, At: c.at(e.Part, node),
			Message: fmt.Sprintf("%s stands in the grounded return and opens it alone", e.Part.ID),
			Risk:    "a short of the positive to ground is not opened, and an open device leaves the load live",
			Do:      fmt.Sprintf("move %s into the ungrounded conductor, at its source, and join the return without it", e.Part.ID),
			Source:  c.LawSource("183.455(a)") + "; 46 CFR 111.05-37"})
	})
	c.neutralAlone()
}

// neutralAlone finds AC devices that open the neutral and not the line.
func (c *Context) neutralAlone() {
	var devices []*trace.Edge
	c.eachEdge(trace.Device, schema.AC, func(_ int, e *trace.Edge) { devices = append(devices, e) })
	if len(devices) == 0 {
		return
	}
	g := c.Groups(func(e *trace.Edge) bool { return e.Medium == schema.AC && e.Passes() && !survey.Bond(e) })
	neutral := map[int]bool{}
	c.eachEdge(trace.Feed, schema.AC, func(_ int, e *trace.Edge) { neutral[g.Of(e.B)] = true })
	// Neutrals behind devices are neutrals too.
	for changed := true; changed; {
		changed = false
		for _, e := range devices {
			a, b := g.Of(e.A), g.Of(e.B)
			if neutral[a] != neutral[b] {
				neutral[a], neutral[b], changed = true, true, true
			}
		}
	}
	shorted := false
	c.eachEdge(trace.Feed, schema.AC, func(_ int, e *trace.Edge) { shorted = shorted || neutral[g.Of(e.A)] })
	if shorted {
		return // line and neutral are one: short-circuit tells
	}
	line := map[string]bool{} // part and way that also open a line
	for _, e := range devices {
		if !neutral[g.Of(e.A)] {
			line[e.Part.ID+"."+e.Branch.Way] = true
		}
	}
	for _, e := range devices {
		if neutral[g.Of(e.A)] && !line[e.Part.ID+"."+e.Branch.Way] {
			c.Add(diag.Finding{Rule: "protection-wrong-pole", Severity: diag.Error, Span: e.Part.At, At: c.at(e.Part, e.A),
				Message: fmt.Sprintf("%s opens the neutral alone", e.Part.ID),
				Risk:    "what it switches off stays live",
				Do:      "let it open the line, or line and neutral together" + licensed,
				Source:  "E-11 11.10.2.6.1; 46 CFR 111.05-37"})
		}
	}
}
