package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/source"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var neutralBond = Rule{
	Name: "neutral-bond", Section: "Shore power, static",
	Asks:     "Is the neutral joined to earth at the source alone: ashore on shore power, at the inverter, generator or transformer when that is the source?",
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
	links := c.neutralLinks()
	spoken := map[*trace.Edge]bool{}
	for _, s := range sources {
		c.Looked("neutral-bond")
		if s.shore {
			c.bondOnShore(f, s, sources, links, spoken)
		}
	}
	for _, s := range sources {
		if !s.shore {
			c.bondAtSource(f, s, sources, links, spoken)
		}
	}
}

// neutralLink is a conductor, or a bond inside a source, between neutral and
// earth.
type neutralLink struct {
	edge    *trace.Edge
	neutral int    // its joint on the neutral's side
	mode    string // always, inverting, never; "" for a conductor
}

// neutralLinks lists what joins neutral to earth: bonds, and conductors that
// have a neutral on one side and an earth or ground on the other. Bars and studs
// between them are what their conductors lead to.
func (c *Context) neutralLinks() []neutralLink {
	pole := c.mainsPoles()
	var list []neutralLink
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		switch {
		case survey.Bond(e):
			list = append(list, neutralLink{e, e.A, e.Branch.Contact.MakesIn[0]})
		case !leads(e):
		case pole[e.A] == atNeutral && pole[e.B] == atEarth:
			list = append(list, neutralLink{edge: e, neutral: e.A})
		case pole[e.B] == atNeutral && pole[e.A] == atEarth:
			list = append(list, neutralLink{edge: e, neutral: e.B})
		}
	}
	return list
}

// pole is what a joint of the boat is to mains power.
type pole int

const (
	atNeutral pole = iota + 1
	atEarth
	atLine
)

// leads reports an edge that joins two joints through no load, bonds excepted.
func leads(e *trace.Edge) bool {
	return (e.Passes() || e.Type == trace.Device) && !survey.Bond(e)
}

// mainsPoles tells what each joint is: by the terminals that meet there, and for bars
// and studs by what their conductors reach first.
func (c *Context) mainsPoles() []pole {
	out := make([]pole, len(c.Net.Nodes))
	var queue []int
	for node := range out {
		if out[node] = c.poleAt(node); out[node] != 0 {
			queue = append(queue, node)
		}
	}
	for i := 0; i < len(queue); i++ {
		for _, id := range c.Net.Nodes[queue[i]].Edges {
			e := &c.Net.Edges[id]
			if w := e.Other(queue[i]); leads(e) && out[w] == 0 {
				out[w] = out[queue[i]]
				queue = append(queue, w)
			}
		}
	}
	return out
}

// poleAt is what the terminals at a joint make of it, 0 where none tells.
func (c *Context) poleAt(node int) pole {
	found := pole(0)
	for _, end := range c.Net.Nodes[node].Ends {
		t, _ := end.Part.Terminal(end.Terminal)
		switch {
		case t.Polarity == schema.Neutral:
			return atNeutral
		case t.Polarity == schema.Earth, end.Part.Roles().Any(schema.Grounding | schema.Bonding):
			found = atEarth
		case t.Medium == schema.AC && t.Polarity == schema.Live && found == 0:
			found = atLine
		}
	}
	return found
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

// bondsOf lists the links that join the neutral of a source to earth while it
// feeds the boat: not a bond that opens while power passes through its inverter.
func (f *feeding) bondsOf(s acSource, links []neutralLink) []neutralLink {
	reach := f.neutralsOf(s)
	var list []neutralLink
	for _, l := range links {
		passing := l.mode == "inverting" && l.edge.Part.Is(schema.Inverting) && l.edge.Part != s.part
		if l.mode != "never" && !passing && reach[f.g.Of(l.neutral)] {
			list = append(list, l)
		}
	}
	return list
}

// name is the conductor or the part that makes a link.
func (l neutralLink) name() string {
	if l.edge.Wire != nil {
		return "wire " + l.edge.Wire.Ref()
	}
	return l.edge.Part.ID
}

func (l neutralLink) id() string {
	if l.edge.Wire != nil {
		return l.edge.Wire.Ref()
	}
	return l.edge.Part.ID
}

func (l neutralLink) span() source.Span {
	if l.edge.Wire != nil {
		return l.edge.Wire.At
	}
	return l.edge.Part.At
}

func (c *Context) bondOnShore(f *feeding, s acSource, sources []acSource, links []neutralLink, spoken map[*trace.Edge]bool) {
	for _, l := range f.bondsOf(s, links) {
		// Two sources that meet, and a change-over that leaves neutrals joined, are
		// two-sources-live's finding.
		blamed := slices.ContainsFunc(sources, func(o acSource) bool {
			if l.edge.Part == nil || o.part != l.edge.Part || o.shore {
				return false
			}
			_, meet := f.meet(s.l, o.l, [2]*schema.Part{s.part, o.part})
			_, joined := f.neutralsMeet(s, o)
			return meet || joined
		})
		if blamed {
			continue
		}
		spoken[l.edge] = true
		at := []string{s.part.ID}
		if l.edge.Wire != nil {
			at = []string{l.id(), s.part.ID}
		} else {
			at = appendNew(at, l.id())
		}
		c.Add(diag.Finding{Rule: "neutral-bond", Severity: diag.Error, Span: l.span(), At: at,
			Message: fmt.Sprintf("%s joins neutral to earth aboard while inlet %s feeds the boat", l.name(), s.part.ID),
			Risk:    "the return current runs through the earth and the water: swimmers die, metal is eaten",
			Do:      "take the bond out, or let it open while shore power passes (`neutral-bond: inverting`)" + licensed,
			Source:  "E-11 11.5.5.2"})
	}
}

// bondAtSource judges a source aboard (an inverter, a generator, the secondary of
// a transformer): its neutral wants one bond.
func (c *Context) bondAtSource(f *feeding, s acSource, sources []acSource, links []neutralLink, spoken map[*trace.Edge]bool) {
	bonds := slices.DeleteFunc(f.bondsOf(s, links), func(l neutralLink) bool {
		// The bond of a source whose neutral a change-over leaves joined: two-sources-live.
		return slices.ContainsFunc(sources, func(o acSource) bool {
			if o.part != l.edge.Part || o.part == s.part || l.edge.Part == nil {
				return false
			}
			_, joined := f.neutralsMeet(s, o)
			return joined
		})
	})
	own := s.part.Word("neutral-bond")
	switch {
	case len(bonds) > 1:
		c.bondedTwice(s, bonds, spoken)
	case len(bonds) == 1:
	case !own.Given():
		c.Missing("neutral-bond", "neutral-bond of "+s.part.ID, s.part.At, s.part.ID)
	default:
		c.Add(diag.Finding{Rule: "neutral-bond", Severity: diag.Error, Span: s.part.At, At: c.at(s.part, s.n),
			Message: fmt.Sprintf("the neutral of %s is joined to earth nowhere while it is the source", s.part.ID),
			Risk:    "a fault to earth trips nothing: cases stay live",
			Do:      fmt.Sprintf("let %s join neutral to earth while it is the source%s", s.part.ID, licensed),
			Source:  "E-11 11.5.5.2"})
	}
}

// bondedTwice reports a second bond, save one that is a finding already.
func (c *Context) bondedTwice(s acSource, bonds []neutralLink, spoken map[*trace.Edge]bool) {
	var at, names []string
	var span source.Span
	told := false
	for _, l := range bonds {
		told = told || spoken[l.edge]
		names = appendNew(names, l.name())
		at = appendNew(at, l.id())
		if l.edge.Part != s.part && !span.Valid() {
			span = l.span()
		}
	}
	if told || len(names) < 2 {
		return
	}
	for _, l := range bonds {
		spoken[l.edge] = true
	}
	c.Add(diag.Finding{Rule: "neutral-bond", Severity: diag.Error, Span: span, At: appendNew(at, s.part.ID),
		Message: fmt.Sprintf("neutral is joined to earth more than once while %s is the source: by %s", s.part.ID, list(names)),
		Risk:    "part of the return current runs through the earth: cases and metal carry it, and a residual-current device trips or is blinded",
		Do:      "leave one bond, at the source, and take the others out" + licensed,
		Source:  "E-11 11.5.5.2: neutral grounded at the source alone"})
}
