package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var alternatorUnprotected = Rule{
	Name: "alternator-unprotected", Section: "DC, static",
	Asks:     "Does every alternator keep a battery while it turns, and is none straight on a lithium bank that can cut itself off?",
	Why:      "without a battery its voltage leaps and destroys its diodes and what hangs on the net",
	Severity: "warning",
	Source:   "E-13 (trade summaries), load dump from memory; common practice, no source",
	Quiet:    "a lead battery beside the lithium one takes the surge; `regulator: external` cuts the field; a second battery behind another switch stays when one is opened",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 300 A, max-charge: 80 A}
  S1: {kind: switch, title: Battery switch, rating: 100 A, space: cabin}
  F1: {kind: fuse, title: Alternator, family: class-t, rating: 80 A, space: cabin}
  G: {kind: ground}
  ALT1: {kind: alternator, volts: 14.2 V, output: 60 A, self-limiting: yes}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, S1, ALT1.+], size: 25 mm2, lengths: [0.15 m, 0.5 m, 1 m]}
  - {id: 2, from: B1.-, to: G, size: 25 mm2, length: 1 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 300 A, max-charge: 80 A}
  F1: {kind: fuse, title: Alternator, family: class-t, rating: 80 A, space: cabin}
  G: {kind: ground}
  ALT1: {kind: alternator, volts: 14.2 V, output: 60 A, self-limiting: yes}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, ALT1.+], size: 25 mm2, lengths: [0.15 m, 1 m]}
  - {id: 2, from: B1.-, to: G, size: 25 mm2, length: 1 m}
`,
	Check: checkAlternatorUnprotected,
}

func checkAlternatorUnprotected(c *Context) {
	var alternators []*trace.Edge
	c.eachEdge(trace.Feed, schema.DC, func(_ int, e *trace.Edge) {
		if e.Branch.Feed.Needs == "engine" {
			alternators = append(alternators, e)
		}
	})
	if len(alternators) == 0 {
		return
	}
	fixed := c.Groups(func(e *trace.Edge) bool {
		return (e.Type == trace.Conductor || e.Type == trace.Series || e.Type == trace.Device) || e.Type == trace.Contact && !survey.Disconnects(e) && survey.Setting(nil).Closed(e)
	})
	rest := c.AtRest()
	on := func(g *survey.Groups) map[int][]*trace.Edge {
		m := map[int][]*trace.Edge{}
		c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) { m[g.Of(e.A)] = append(m[g.Of(e.A)], e) })
		return m
	}
	always, usually := on(fixed), on(rest.Groups)
	crossing := map[int][]*trace.Edge{} // a person's closed contacts, by fixed group
	c.eachEdge(trace.Contact, schema.DC, func(_ int, e *trace.Edge) {
		if survey.Disconnects(e) && survey.Setting(nil).Closed(e) {
			crossing[fixed.Of(e.A)] = append(crossing[fixed.Of(e.A)], e)
			crossing[fixed.Of(e.B)] = append(crossing[fixed.Of(e.B)], e)
		}
	})
	for _, e := range alternators {
		c.Looked("alternator-unprotected")
		batteries := usually[rest.Of(e.A)]
		if len(batteries) == 0 {
			continue
		}
		if c.dumps(e, batteries) {
			continue
		}
		if len(always[fixed.Of(e.A)]) == 0 {
			c.losesBattery(e, fixed, always, crossing)
		}
	}
}

// dumps reports an alternator straight on lithium alone that can part itself.
func (c *Context) dumps(e *trace.Edge, batteries []*trace.Edge) bool {
	for _, b := range batteries {
		if b.Part.Word("chemistry").V != "lfp" {
			return false
		}
	}
	p := batteries[0].Part
	external := slices.ContainsFunc(e.Part.WordList("regulator"), func(w schema.Val[string]) bool { return w.V == "external" })
	cuts := p.Word("protection").V == "internal" || p.Word("protection").V == "external" || len(p.Refs("disconnect")) > 0
	switch {
	case external:
		return false
	case !p.Word("protection").Given() && !cuts:
		c.Missing("alternator-unprotected", "protection of "+p.ID, p.At, p.ID)
		return false
	case !cuts:
		return false
	}
	c.Add(diag.Finding{Rule: "alternator-unprotected", Severity: diag.Warning, Span: e.Part.At, At: append(c.at(e.Part, e.A), ids(parts(batteries))...),
		Message: fmt.Sprintf("%s charges %s straight, and its protection can cut it off under charge", e.Part.ID, list(ids(parts(batteries)))),
		Risk:    "the voltage leaps when the battery goes: diodes and electronics are destroyed; at low speed the alternator overheats",
		Do:      "charge a lead battery and pass on through a battery-to-battery charger, or fit an external regulator whose field the protection cuts first",
		Source:  "E-13 (trade summaries); load dump from memory"})
	return true
}

// losesBattery reports an alternator whose only battery hangs on one switch.
func (c *Context) losesBattery(e *trace.Edge, fixed *survey.Groups, always map[int][]*trace.Edge, crossing map[int][]*trace.Edge) {
	var switches []*schema.Part
	seen := map[int]bool{fixed.Of(e.A): true}
	queue := []int{fixed.Of(e.A)}
	for i := 0; i < len(queue); i++ {
		for _, x := range crossing[queue[i]] {
			next := fixed.Of(x.A)
			if next == queue[i] {
				next = fixed.Of(x.B)
			}
			if i == 0 && !slices.Contains(switches, x.Part) && c.leadsToBattery(next, fixed, always, crossing, queue[0]) {
				switches = append(switches, x.Part)
			}
			seen[next] = true
		}
	}
	if len(switches) != 1 {
		return
	}
	sw := switches[0]
	c.Add(diag.Finding{Rule: "alternator-unprotected", Severity: diag.Warning, Span: e.Part.At, At: append(c.at(e.Part, e.A), sw.ID),
		Message: fmt.Sprintf("%s loses its battery when %s is opened", e.Part.ID, sw.ID),
		Risk:    "its voltage leaps: diodes and electronics are destroyed",
		Do:      fmt.Sprintf("lead %s to the battery ahead of %s, through a fuse at the battery", e.Part.ID, sw.ID),
		Source:  "load dump, from memory; common practice, no source"})
}

// leadsToBattery reports a battery behind a contact, through further closed ones.
func (c *Context) leadsToBattery(from int, fixed *survey.Groups, always, crossing map[int][]*trace.Edge, not int) bool {
	seen := map[int]bool{from: true, not: true}
	queue := []int{from}
	for i := 0; i < len(queue); i++ {
		if len(always[queue[i]]) > 0 {
			return true
		}
		for _, x := range crossing[queue[i]] {
			for _, n := range []int{fixed.Of(x.A), fixed.Of(x.B)} {
				if !seen[n] {
					seen[n] = true
					queue = append(queue, n)
				}
			}
		}
	}
	return false
}
