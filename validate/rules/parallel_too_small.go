package rules

import (
	"fmt"
	"math"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/tables"
)

var parallelTooSmall = Rule{
	Name: "parallel-too-small", Section: "DC, static",
	Asks:     "Are conductors in parallel as thick as the set allows, and alike in size and length?",
	Why:      "the shorter or thicker one takes most of the current, and a broken one leaves the rest overloaded unseen",
	Severity: "error",
	Source:   "land practice, 1/0 AWG and thicker (from memory); E-11: equal length, size and termination (from memory)",
	Quiet:    "the returns of an input and an output that a part joins inside itself carry two currents, not one; signal wires and links of no length beside a conductor are not in parallel with it; lengths within 2 % are alike",
	Bad: `
fitout: 1
parts:
  BP: {kind: bus, title: One}
  BQ: {kind: bus, title: Two}
wires:
  - {id: 1, from: BP, to: BQ, size: 35 mm2, length: 1 m, parallel: 2}
`,
	Good: `
fitout: 1
parts:
  BP: {kind: bus, title: One}
  BQ: {kind: bus, title: Two}
wires:
  - {id: 1, from: BP, to: BQ, size: 70 mm2, length: 1 m, parallel: 2}
`,
	Check: checkParallelTooSmall,
}

func checkParallelTooSmall(c *Context) {
	type pair struct {
		a, b   int
		inside string // terminals that one part joins inside itself
	}
	beside := map[pair][]*schema.Wire{}
	var order []pair
	for _, w := range c.Boat.Wires {
		id := c.Net.WireEdge[w]
		if id < 0 || w.Medium != schema.DC || w.Carries.V == "signal" || isLink(w) {
			continue
		}
		e := &c.Net.Edges[id]
		if e.A == e.B {
			continue
		}
		k := pair{min(e.A, e.B), max(e.A, e.B), c.ownTerminal(w.From) + c.ownTerminal(w.To)}
		if beside[k] == nil {
			order = append(order, k)
		}
		beside[k] = append(beside[k], w)
	}
	for _, k := range order {
		if list := beside[k]; len(list) > 1 || list[0].Parallel.Or(1) > 1 {
			c.Looked("parallel-too-small")
			c.judgeParallel(list)
		}
	}
}

// ownTerminal names the end where its part joins several of its terminals inside
// itself (in- and out- of a converter that does not insulate): each carries its
// own current, so their conductors are not in parallel. A bar is one terminal.
func (c *Context) ownTerminal(end schema.End) string {
	if end.Part.Kind.Open {
		return ""
	}
	node := c.Net.Node(end.Part, end.Terminal)
	for _, t := range end.Part.Terminals() {
		if t.Name != end.Terminal && !t.Hidden && c.Net.Node(end.Part, t.Name) == node {
			return end.String() + " "
		}
	}
	return ""
}

// judgeParallel compares conductors that join the same two joints.
func (c *Context) judgeParallel(wires []*schema.Wire) {
	first := wires[0]
	for _, w := range wires {
		if !c.sized("parallel-too-small", w) {
			return
		}
	}
	least := tables.ParallelLeast()
	var names []string
	for _, w := range wires {
		names = append(names, w.Ref())
	}
	f := diag.Finding{Rule: "parallel-too-small", Severity: diag.Error, Span: first.At, At: append(names, ends(first)...),
		Risk:   "one takes most of the current, and a broken one leaves the others overloaded unseen",
		Do:     "use one conductor that is thick enough, or several alike",
		Source: "E-11: equal length, size and termination (from memory)"}
	for _, w := range wires {
		if !least.Meets(w.Size.V) {
			f.Message = fmt.Sprintf("%s in parallel: %s; %s is the least", parallelName(wires), w.Size.V, least.Size)
			f.Value, f.Limit, f.Unit = diag.Figure(w.Size.V.Area), diag.Figure(least.Size.Area), "mm²"
			f.Source = least.Cite.String()
			c.addParallel(f, first)
			return
		}
	}
	for _, w := range wires[1:] {
		if math.Abs(float64(w.Size.V.Area-first.Size.V.Area)) > 0.001*float64(first.Size.V.Area) {
			f.Message = fmt.Sprintf("wires %s in parallel are unlike: %s and %s", list(names), first.Size.V, w.Size.V)
			f.Value, f.Limit, f.Unit = diag.Figure(w.Size.V.Area), diag.Figure(first.Size.V.Area), "mm²"
			c.Add(f)
			return
		}
	}
	for _, w := range wires {
		if !w.Length.Given() || w.Length.From == schema.Derived {
			if len(wires) > 1 {
				c.Missing("parallel-too-small", "length of wire "+w.Ref(), w.At, w.Ref())
			}
			return
		}
	}
	for _, w := range wires[1:] {
		if math.Abs(float64(w.Length.V-first.Length.V)) > 0.02*float64(first.Length.V)+1e-9 {
			f.Message = fmt.Sprintf("wires %s in parallel are unlike: %s and %s long", list(names), metres(first.Length.V), metres(w.Length.V))
			f.Value, f.Limit, f.Unit = diag.Figure(w.Length.V), diag.Figure(first.Length.V), "m"
			c.Add(f)
			return
		}
	}
}

// addParallel reports the stretches of one written run as one finding.
func (c *Context) addParallel(f diag.Finding, w *schema.Wire) {
	for i := range c.found {
		have := &c.found[i]
		if have.Rule == f.Rule && w.Path != "" && have.Span == f.Span && have.Source == f.Source && *have.Value == *f.Value {
			have.At = appendNew(have.At, f.At...)
			return
		}
	}
	c.Add(f)
}

func parallelName(wires []*schema.Wire) string {
	if len(wires) == 1 {
		return fmt.Sprintf("wire %s is %d conductors", wires[0].Ref(), wires[0].Parallel.V)
	}
	var names []string
	for _, w := range wires {
		names = append(names, w.Ref())
	}
	return "wires " + list(names) + " lie"
}
