package rules

import (
	"cmp"
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var undervoltage = Rule{
	Name: "undervoltage", Section: dcSolved,
	Asks:     "Does every load see its least voltage in every condition, also while another one starts?",
	Why:      "electronics reset, a compressor will not start, a relay drops out",
	Severity: "warning",
	Source:   "the part's own least voltage",
	Quiet:    "one load starts at a time; starter motors are left out",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, emf: 12.2 V, resistance: 10 mohm, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  BP: {kind: bus, rating: 200 A, polarity: positive}
  IN1: {kind: electronics, draw: 2 A, least-volts: 11 V}
  W1: {kind: windlass, draw: 60 A, starting: 150 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 80 A}, BP], size: 2 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 2, path: [BP, {F2: class-t 5 A}, IN1.+], size: 14 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 3, path: [BP, {F3: class-t 70 A}, W1.+], size: 4 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 4, from: IN1.-, to: B1.-, size: 14 AWG, length: 0.4 m}
  - {id: 5, from: W1.-, to: B1.-, size: 4 AWG, length: 0.4 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, emf: 12.8 V, resistance: 3 mohm, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  BP: {kind: bus, rating: 200 A, polarity: positive}
  IN1: {kind: electronics, draw: 2 A, least-volts: 11 V}
  W1: {kind: windlass, draw: 60 A, starting: 150 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 80 A}, BP], size: 2 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 2, path: [BP, {F2: class-t 5 A}, IN1.+], size: 14 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 3, path: [BP, {F3: class-t 80 A}, W1.+], size: 4 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 4, from: IN1.-, to: B1.-, size: 14 AWG, length: 0.4 m}
  - {id: 5, from: W1.-, to: B1.-, size: 4 AWG, length: 0.4 m}
`,
	Check: checkUndervoltage,
}

// sag is the least voltage of one load.
type sag struct {
	part  *schema.Part
	edge  *trace.Edge
	least unit.Volt
	volts unit.Volt
	seen  bool
	cond  *schema.Condition
	when  string       // words the state where no condition does
	start *schema.Part // while this one starts
}

func checkUndervoltage(c *Context) {
	sags := map[*trace.Edge]*sag{}
	var order []*trace.Edge
	note := func(cond *schema.Condition, d *survey.DCState, start *schema.Part) {
		for _, x := range leastVolts(d) {
			if cond == nil && x.part != start {
				continue // while an engine cranks the others may sag
			}
			s := sags[x.edge]
			if s == nil {
				s = &sag{part: x.part, edge: x.edge, least: x.least}
				sags[x.edge] = s
				order = append(order, x.edge)
			}
			if g, hidden := d.Hidden(x.edge); hidden && d.Bounded() {
				c.Missing("", g.What, g.At, g.IDs...)
				continue
			}
			v, ok := d.AcrossEdge(x.edge)
			if !ok || !d.Fed(x.edge.A) {
				continue
			}
			if !s.seen || v < s.volts-1e-9 {
				s.seen, s.volts, s.cond, s.start = true, v, cond, start
			}
		}
	}
	c.eachDC(func(cond *schema.Condition, d *survey.DCState) {
		if d == nil || len(leastVolts(d)) == 0 {
			return
		}
		c.lackDC("", d)
		note(cond, d, nil)
		for _, l := range starters(d) {
			c.startsHere(cond, d, l, note)
		}
	})
	c.eachCranking(func(p *schema.Part, d *survey.DCState) {
		if len(leastVolts(d)) > 0 {
			c.lackDC("", d)
			note(nil, d, p)
		}
	})
	c.acSags(func(l *survey.ACLoad, v unit.Volt, st *survey.ACState, when string, start *schema.Part) {
		s := sags[l.Edge]
		if s == nil {
			s = &sag{part: l.Part, edge: l.Edge, least: l.Data.LeastVolts.V}
			sags[l.Edge] = s
			order = append(order, l.Edge)
		}
		if !s.seen || v < s.volts-1e-9 {
			s.seen, s.volts, s.cond, s.when, s.start = true, v, st.Condition, when, start
		}
	})
	for _, e := range order {
		c.Looked("")
		s := sags[e]
		if !s.seen || s.volts >= s.least*(1-1e-9) {
			continue
		}
		when := whenText(s.when, s.cond)
		switch {
		case s.cond == nil && s.when == "":
		case s.start == s.part:
			when += " while it starts"
		case s.start != nil:
			when += fmt.Sprintf(" while %s starts", s.start.ID)
		}
		at := c.at(s.part, s.edge.A)
		if s.start != nil && s.start != s.part {
			at = append(at, s.start.ID)
		}
		c.Add(figure(diag.Finding{Rule: "undervoltage", Severity: diag.Warning, Span: s.part.At, At: at,
			Message: fmt.Sprintf("%s sees %s %s; it works from %s", s.part.Name(), volts2(s.volts), when, s.least),
			Risk:    "it resets, stalls or does not start",
			Do:      "thicker conductors on the part of the way that they share, a supply of its own, or a stronger bank",
			Source:  "the part's own least voltage; nodal solution, one load starting at a time", Condition: condID(s.cond)}, s.volts, s.least, "V"))
	}
}

// mostStarts bounds the loads that are started one by one in a condition; those
// with the largest starting current come first.
const mostStarts = 40

func starters(d *survey.DCState) []*survey.DCLoad {
	var out []*survey.DCLoad
	if !d.Bounded() {
		return nil
	}
	for _, l := range d.Loads {
		if l.Runs && l.Data.Starting.Given() && !l.Part.Is(schema.Cranking) {
			out = append(out, l)
		}
	}
	if len(out) > mostStarts {
		slices.SortStableFunc(out, func(a, b *survey.DCLoad) int {
			return cmp.Compare(b.Data.Starting.V, a.Data.Starting.V)
		})
		out = out[:mostStarts]
	}
	return out
}

// startsHere solves the condition with one load starting.
func (c *Context) startsHere(cond *schema.Condition, d *survey.DCState, l *survey.DCLoad, note func(*schema.Condition, *survey.DCState, *schema.Part)) {
	st := d.Starting(l.Part)
	if st.Bounded() {
		note(cond, st, l.Part)
		return
	}
	if st.Trouble != nil && l.Data.LeastVolts.Given() {
		c.Add(figure(diag.Finding{Rule: "undervoltage", Severity: diag.Warning, Span: l.Part.At, At: []string{l.Part.ID},
			Message: fmt.Sprintf("%s cannot start %s: its starting current of %s brings the supply down", l.Part.Name(), conditionText(cond), l.Data.Starting.V),
			Risk:    "it does not start, and everything on the same supply goes out", Do: "thicker conductors or a stronger bank",
			Source: "nodal solution: " + st.Trouble.String(), Condition: condID(cond)}, unit.Volt(0), l.Data.LeastVolts.V, "V"))
	}
}

// leastVolts lists what runs in a state and states its least voltage.
func leastVolts(d *survey.DCState) []sag {
	var out []sag
	for _, l := range d.Loads {
		if l.Runs && l.Data.LeastVolts.Given() {
			out = append(out, sag{part: l.Part, edge: l.Edge, least: l.Data.LeastVolts.V})
		}
	}
	for _, s := range d.Sources {
		if v := s.Part.Volts("least-volts"); s.Edge.Type == trace.ConvertIn && v.Given() {
			out = append(out, sag{part: s.Part, edge: s.Edge, least: v.V})
		}
	}
	return out
}
