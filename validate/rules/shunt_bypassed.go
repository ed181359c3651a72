package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

var shuntBypassed = Rule{
	Name: "shunt-bypassed", Section: "DC, static",
	Asks:     "Does every load and source come back to the battery through the shunt?",
	Why:      "what goes round the shunt is not counted: the monitor shows charge that is not there",
	Severity: "warning",
	Source:   "graph test: cutting the shunt must part all loads and sources from that battery; common practice, no source",
	Quiet:    "the batteries it measures, the monitor that reads it and signal wires may sit on its battery side",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  SH1: {kind: shunt, rating: 500 A, millivolts: 50 mV}
  BN: {kind: bus, title: Negative}
  BP: {kind: bus, title: Positive}
  F1: {kind: fuse, title: Main, family: class-t, rating: 40 A, space: cabin}
  M1: {kind: load, draw: 10 A}
  M2: {kind: load, draw: 10 A}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, BP], size: 10 mm2, lengths: [0.15 m, 1 m]}
  - {id: 2, from: BP, to: M1.+, size: 10 mm2, length: 1 m}
  - {id: 3, from: BP, to: M2.+, size: 10 mm2, length: 1 m}
  - {id: 4, path: [B1.-, SH1, BN], size: 10 mm2, lengths: [0.3 m, 0.3 m]}
  - {id: 5, from: M1.-, to: BN, size: 10 mm2, length: 1 m}
  - {id: 6, from: M2.-, to: B1.-, size: 10 mm2, length: 1 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  SH1: {kind: shunt, rating: 500 A, millivolts: 50 mV}
  BN: {kind: bus, title: Negative}
  BP: {kind: bus, title: Positive}
  F1: {kind: fuse, title: Main, family: class-t, rating: 40 A, space: cabin}
  M1: {kind: load, draw: 10 A}
  M2: {kind: load, draw: 10 A}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, BP], size: 10 mm2, lengths: [0.15 m, 1 m]}
  - {id: 2, from: BP, to: M1.+, size: 10 mm2, length: 1 m}
  - {id: 3, from: BP, to: M2.+, size: 10 mm2, length: 1 m}
  - {id: 4, path: [B1.-, SH1, BN], size: 10 mm2, lengths: [0.3 m, 0.3 m]}
  - {id: 5, from: M1.-, to: BN, size: 10 mm2, length: 1 m}
  - {id: 6, from: M2.-, to: BN, size: 10 mm2, length: 1 m}
`,
	Check: checkShuntBypassed,
}

func checkShuntBypassed(c *Context) {
	var shunts []*trace.Edge
	c.eachEdge(trace.Series, schema.DC, func(_ int, e *trace.Edge) {
		if e.Part.Is(schema.Measuring) {
			shunts = append(shunts, e)
		}
	})
	if len(shunts) == 0 {
		return
	}
	back := c.caseReturns()
	for _, e := range shunts {
		c.Looked("shunt-bypassed")
		c.judgeShunt(e, back)
	}
}

// judgeShunt walks the battery side of a shunt with the shunt cut.
func (c *Context) judgeShunt(shunt *trace.Edge, back map[int][]*trace.Edge) {
	side := c.sideOf(shunt, shunt.A, back)
	if len(side.batteries) == 0 {
		side = c.sideOf(shunt, shunt.B, back)
	}
	if len(side.batteries) == 0 {
		return // no battery hangs on it
	}
	if len(side.strangers) == 0 && !side.both {
		return
	}
	wires := append([]string(nil), side.wires...)
	what := "the current of " + brief(ids(side.strangers))
	if side.both {
		what = "current"
		if path := c.Path(shunt.A, shunt.B, func(e *trace.Edge) bool { return passesAtRest(e) && e != shunt }); path != nil {
			wires = refs(path)
		}
	}
	at := append(wires, shunt.Part.ID)
	for _, id := range ids(side.strangers) {
		if !side.both && !slices.Contains(at, id) {
			at = append(at, id)
		}
	}
	c.Add(diag.Finding{Rule: "shunt-bypassed", Severity: diag.Warning, Span: shunt.Part.At, At: at,
		Message: fmt.Sprintf("%s goes round shunt %s to %s", what, shunt.Part.ID, list(ids(side.batteries))),
		Risk:    "the monitor does not count it and shows charge that is not there",
		Do:      fmt.Sprintf("land every return on the load side of %s, and nothing but the battery on the other", shunt.Part.ID),
		Source:  "common practice, no source"})
}

// shuntSide is what hangs on one side of a cut shunt.
type shuntSide struct {
	batteries []*schema.Part
	strangers []*schema.Part
	wires     []string
	both      bool // the other side is reached round the shunt
}

func passesAtRest(e *trace.Edge) bool {
	return e.Type == trace.Conductor || e.Type == trace.Series || e.Type == trace.Device || e.Type == trace.Contact
}

func (c *Context) sideOf(shunt *trace.Edge, start int, back map[int][]*trace.Edge) shuntSide {
	var s shuntSide
	far := shunt.B
	if start == shunt.B {
		far = shunt.A
	}
	seen := map[int]bool{start: true}
	queue := []int{start}
	for i := 0; i < len(queue); i++ {
		v := queue[i]
		if v == far {
			s.both = true
			return s
		}
		for _, e := range append(c.edgesAt(v), back[v]...) {
			switch {
			case e == shunt:
			case e.Type == trace.Battery:
				s.batteries = append(s.batteries, e.Part)
			case e.Type == trace.Load || e.Type == trace.ConvertIn || e.Type == trace.Feed:
				s.meets(c, e, v)
			case passesAtRest(e) && !seen[e.Other(v)]:
				seen[e.Other(v)] = true
				queue = append(queue, e.Other(v))
			}
		}
		for _, end := range c.Net.Nodes[v].Ends {
			if end.Part.Is(schema.Converter) && end.Terminal != "case" && end.Terminal != "sense" && end.Terminal != "remote" && !slices.Contains(s.strangers, end.Part) {
				s.strangers = append(s.strangers, end.Part)
			}
		}
	}
	return s
}

// meets takes a load or source that comes back on this side.
func (s *shuntSide) meets(c *Context, e *trace.Edge, node int) {
	p := e.Part
	if readsShunt(p) || e.Medium != schema.DC || p.Is(schema.Storage) || slices.Contains(s.strangers, p) {
		return
	}
	w := c.wireTo(p, node)
	if w != nil && w.Carries.V == "signal" {
		return
	}
	s.strangers = append(s.strangers, p)
	if w != nil && (w.From.Part == p || w.To.Part == p) && !slices.Contains(s.wires, w.Ref()) {
		s.wires = append(s.wires, w.Ref())
	}
}

func (c *Context) edgesAt(node int) []*trace.Edge {
	var out []*trace.Edge
	for _, id := range c.Net.Nodes[node].Edges {
		out = append(out, &c.Net.Edges[id])
	}
	return out
}

// caseReturns lists the sources that come back through their case, by the joint
// they come back to.
func (c *Context) caseReturns() map[int][]*trace.Edge {
	out := map[int][]*trace.Edge{}
	c.eachEdge(trace.Feed, schema.DC, func(_ int, e *trace.Edge) {
		if b := c.Back(e); b >= 0 && b != e.B {
			out[b] = append(out[b], e)
		}
	})
	return out
}
