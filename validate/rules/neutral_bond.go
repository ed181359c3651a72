package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var neutralBond = Rule{
	Name: "neutral-bond", Section: "Shore power, static",
	Asks:     "Is the neutral joined to earth at the source alone: ashore on shore power, at the inverter or generator when that is the source?",
	Why:      "a second bond sends current through the water; a missing one leaves no way to trip on a fault",
	Severity: "error",
	Source:   "E-11 11.5.5.2 and 11.5.5.2.4",
	Quiet:    "`inverting` opens while shore power passes; a generator or inverter that a two-pole change-over parts from shore may bond always",
	Bad: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  SI: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  RC1: {kind: rcd, title: Shore main, rating: 16 A, trip: 30 mA, space: cabin}
  AP: {kind: ac-panel, space: cabin, ways: {1: {title: Heater, rating: 16 A, poles: 2}}}
  HE1: {kind: ac-load, volts: 230 V, power: 1 kW}
wires:
  - {id: 70, path: [SI, RC1, AP], cable: 3 core 2.5 mm2, lengths: [1 m, 2 m]}
  - {id: 71, from: AP.1, to: HE1, cable: 3 core 2.5 mm2, length: 2 m}
  - {id: 72, from: AP.N, to: AP.PE, size: 2.5 mm2, length: 0.1 m}
`,
	Good: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  SI: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  RC1: {kind: rcd, title: Shore main, rating: 16 A, trip: 30 mA, space: cabin}
  AP: {kind: ac-panel, space: cabin, ways: {1: {title: Heater, rating: 16 A, poles: 2}}}
  HE1: {kind: ac-load, volts: 230 V, power: 1 kW}
wires:
  - {id: 70, path: [SI, RC1, AP], cable: 3 core 2.5 mm2, lengths: [1 m, 2 m]}
  - {id: 71, from: AP.1, to: HE1, cable: 3 core 2.5 mm2, length: 2 m}
`,
	Check: checkNeutralBond,
}

func checkNeutralBond(c *Context) {
	sources := c.acSources()
	if len(sources) == 0 {
		return
	}
	f := newFeeding(c)
	// Neutrals and earths apart: the links between them are what is asked for.
	links := c.neutralLinks()
	for _, s := range sources {
		c.Looked("neutral-bond")
		switch {
		case s.shore:
			c.bondOnShore(f, s, sources, links)
		case !s.derived:
			c.bondAtSource(f, s, links)
		}
	}
}

// neutralLink is a conductor, or a bond inside a source, between neutral and
// earth.
type neutralLink struct {
	edge *trace.Edge
	mode string // always, inverting; "" for a conductor
}

// neutralLinks lists what joins neutral to earth: bonds, and conductors with one
// end on a neutral terminal and the other on an earth or ground.
func (c *Context) neutralLinks() []neutralLink {
	var list []neutralLink
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		switch {
		case survey.Bond(e):
			list = append(list, neutralLink{e, e.Branch.Contact.MakesIn[0]})
		case e.Type == trace.Conductor && c.poleAt(e.A) != 0 && c.poleAt(e.A)+c.poleAt(e.B) == 3:
			list = append(list, neutralLink{edge: e})
		}
	}
	return list
}

// poleAt is 1 for a joint with a neutral terminal, 2 for one with an earth or DC
// ground, 0 for others.
func (c *Context) poleAt(node int) int {
	for _, end := range c.Net.Nodes[node].Ends {
		t, _ := end.Part.Terminal(end.Terminal)
		switch t.Polarity {
		case schema.Neutral:
			return 1
		case schema.Earth:
			return 2
		}
		if end.Part.Roles().Any(schema.Grounding | schema.Bonding) {
			return 2
		}
	}
	return 0
}

// neutralsOf marks the groups that a source's neutral reaches when it feeds the
// boat, transfer relays passing unless the source is the inverter's own.
func (f *feeding) neutralsOf(s acSource) map[int]bool {
	reach := map[int]bool{f.g.Of(s.n): true}
	queue := []int{f.g.Of(s.n)}
	for i := 0; i < len(queue); i++ {
		for _, e := range f.contacts[queue[i]] {
			if transfers(e) && e.Part == s.part {
				continue
			}
			// A selector is passed toward its common lead only.
			if e.Branch.Contact.Exclusive && f.g.Of(e.A) != queue[i] {
				continue
			}
			next := f.g.Of(e.B)
			if next == queue[i] {
				next = f.g.Of(e.A)
			}
			if !reach[next] {
				reach[next] = true
				queue = append(queue, next)
			}
		}
	}
	return reach
}

// neutralEnd returns the joint of a link on the neutral's side.
func (c *Context) neutralEnd(l neutralLink) int {
	if l.edge.Type == trace.Conductor && c.poleAt(l.edge.A) == 2 {
		return l.edge.B
	}
	return l.edge.A
}

func (c *Context) bondOnShore(f *feeding, s acSource, sources []acSource, links []neutralLink) {
	reach := f.neutralsOf(s)
	for _, l := range links {
		if l.mode == "never" || l.mode == "inverting" && l.edge.Part.Is(schema.Inverting) || !reach[f.g.Of(c.neutralEnd(l))] {
			continue
		}
		// A change-over that leaves neutrals joined is two-sources-live's finding.
		blamed := slices.ContainsFunc(sources, func(o acSource) bool {
			return l.edge.Part != nil && o.part == l.edge.Part && !o.shore && f.neutralsMeet(s, o)
		})
		if blamed {
			continue
		}
		at, by, span := []string{s.part.ID}, "", s.part.At
		switch {
		case l.edge.Wire != nil:
			at, by, span = []string{l.edge.Wire.Ref(), s.part.ID}, "wire "+l.edge.Wire.Ref(), l.edge.Wire.At
		case l.edge.Part != nil:
			at, by, span = append(at, l.edge.Part.ID), l.edge.Part.ID, l.edge.Part.At
		}
		c.Add(diag.Finding{Rule: "neutral-bond", Severity: diag.Error, Span: span, At: at,
			Message: fmt.Sprintf("%s joins neutral to earth aboard while inlet %s feeds the boat", by, s.part.ID),
			Risk:    "the return current runs through the earth and the water: swimmers die, metal is eaten",
			Do:      "take the bond out, or let it open while shore power passes (`neutral-bond: inverting`)" + licensed,
			Source:  "E-11 11.5.5.2"})
	}
}

func (c *Context) bondAtSource(f *feeding, s acSource, links []neutralLink) {
	own := s.part.Word("neutral-bond")
	if own.V == "always" || own.V == "inverting" {
		return
	}
	reach := f.neutralsOf(s)
	for _, l := range links {
		if l.mode != "never" && (l.mode == "" || l.edge.Part != s.part) && reach[f.g.Of(c.neutralEnd(l))] {
			return
		}
	}
	if !own.Given() {
		c.Missing("neutral-bond", "neutral-bond of "+s.part.ID, s.part.At, s.part.ID)
		return
	}
	c.Add(diag.Finding{Rule: "neutral-bond", Severity: diag.Error, Span: s.part.At, At: c.at(s.part, s.n),
		Message: fmt.Sprintf("the neutral of %s is joined to earth nowhere while it is the source", s.part.ID),
		Risk:    "a fault to earth trips nothing: cases stay live",
		Do:      fmt.Sprintf("let %s join neutral to earth while it is the source%s", s.part.ID, licensed),
		Source:  "E-11 11.5.5.2"})
}
