package rules

import (
	"fmt"
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var shortCircuit = Rule{
	Name: "short-circuit", Section: "DC, static",
	Asks:     "Are the two poles of a source joined through no load, as the contacts stand or in a position they can be set to?",
	Why:      "the whole bank discharges through the wires",
	Severity: "error at rest or when a relay closes by itself; warning in a position a person can set",
	Source:   "graph test",
	Quiet:    "series strings are no ring: volts are summed round every ring of batteries",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  LT1: {kind: light, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
  - {id: 3, from: LT1.+, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  LT1: {kind: light, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
	Check: checkShortCircuit,
}

func checkShortCircuit(c *Context) {
	known := map[string]bool{}
	c.eachPosition(func(st *survey.State, at position, report bool) int {
		fresh := 0
		for id := range c.Net.Edges {
			e := &c.Net.Edges[id]
			if e.Type != trace.Battery && e.Type != trace.Feed && e.Type != trace.ConvertIn {
				continue
			}
			a, b := c.poles(e)
			if at.words == "" && report {
				c.Looked("short-circuit")
			}
			if a < 0 || b < 0 || a == b && !c.Joined(a) || !st.Same(a, b) {
				continue
			}
			key := fmt.Sprint("pole ", st.Of(a))
			if at.words != "" || !report {
				key = "part " + e.Part.ID
			}
			if known[key] || known["part "+e.Part.ID] {
				known["part "+e.Part.ID] = known["part "+e.Part.ID] || report
				continue
			}
			fresh++
			if report {
				known[key], known["part "+e.Part.ID] = true, true
				c.reportShort(st, at, e, a, b)
			}
		}
		for _, l := range st.Loops {
			if c.isMismatch(l) || known["ring "+l.Edge.Part.ID] {
				continue
			}
			fresh++
			if report {
				known["ring "+l.Edge.Part.ID] = true
				c.reportRing(st, at, l)
			}
		}
		return fresh
	})
}

// poles are the two joints a source pushes current between.
func (c *Context) poles(e *trace.Edge) (a, b int) {
	if e.Type == trace.ConvertIn {
		return c.Net.Node(e.Part, e.Branch.Convert.OutA), c.Net.Node(e.Part, e.Branch.Convert.OutB)
	}
	return e.A, c.Back(e)
}

// isMismatch: a ring that does not cancel drives current without end; one whose
// two sides push the same way with different volts is a matter of unlike
// batteries.
func (c *Context) isMismatch(l survey.Loop) bool {
	return float64(l.Other) > 0.02*float64(l.Edge.Part.Volts("volts").V)
}

func (c *Context) reportShort(st *survey.State, at position, e *trace.Edge, a, b int) {
	path := c.Path(a, b, st.Setting.Passes)
	where := refs(path)
	for _, p := range append(slices.Clone(at.parts), e.Part) {
		if !slices.Contains(where, p.ID) {
			where = append(where, p.ID)
		}
	}
	poles := "+ and −"
	f := diag.Finding{Rule: "short-circuit", Severity: at.severity(), Span: spanOf(path, e.Part), At: where,
		Risk:   "the whole source discharges through the wires, which burn",
		Do:     "take out the conductor that joins the poles",
		Source: "graph test: the two poles are one joint"}
	if e.Medium == schema.AC {
		poles = "line and neutral"
		f.Do += licensed
	}
	f.Message = fmt.Sprintf("%s of %s are joined through no load%s", poles, e.Part.ID, at.with())
	if names := refs(path); len(names) > 0 {
		f.Message += ", by " + brief(names)
	}
	if at.words != "" && !at.automatic {
		f.Do = fmt.Sprintf("wire it so that no position of %s can join the poles", list(ids(at.parts)))
	}
	c.Add(f)
}

func (c *Context) reportRing(st *survey.State, at position, l survey.Loop) {
	e := l.Edge
	names := []string{e.Part.ID}
	if other := c.acrossFrom(st, e); other != nil {
		names = append(names, other.ID)
	}
	where := names
	if w := c.wireTo(e.Part, e.A); w != nil {
		where = append([]string{w.Ref()}, names...)
	}
	volts := math.Abs(float64(l.Other)) + float64(e.Part.Volts("volts").V)
	c.Add(diag.Finding{Rule: "short-circuit", Severity: at.severity(), Span: e.Part.At, At: append(where, ids(at.parts)...),
		Message: fmt.Sprintf("%s push current round a ring with no load in it: %.3g V in all%s", list(names), volts, at.with()),
		Risk:    "they discharge into each other until the wires burn",
		Do:      "turn the leads of one battery round, or open the ring",
		Source:  "graph test: volts summed round the ring; reversed leads are the most frequent battery fire in an insurer's count"})
}

// acrossFrom returns another battery that shares a joint with this one.
func (c *Context) acrossFrom(st *survey.State, e *trace.Edge) *schema.Part {
	for i := range c.Net.Edges {
		o := &c.Net.Edges[i]
		if o.Type == trace.Battery && o != e && (st.Same(o.A, e.B) || st.Same(o.B, e.A) || st.Same(o.A, e.A)) {
			return o.Part
		}
	}
	return nil
}
