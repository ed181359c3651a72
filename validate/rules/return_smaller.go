package rules

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/trace"
)

var returnSmaller = Rule{
	Name: "return-smaller", Section: "DC, static",
	Asks:     "Is the return of every circuit and panel as thick as its supply?",
	Why:      "the return carries all the current of its positives; the devices are chosen for the positive",
	Severity: "warning",
	Source:   "E-11 11.5.4.7.3 (negative bus and its conductor at least the panel's feeder); common practice, no source",
	Quiet:    "areas are compared; a return that is thicker, or shared, is fine; signal wires and links of no length are left out",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  LT1: {kind: light, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 4 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  LT1: {kind: light, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 4 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 4 mm2, length: 2 m}
`,
	Check: checkReturnSmaller,
}

func checkReturnSmaller(c *Context) {
	spoken := map[*schema.Wire]bool{}
	for _, cir := range c.Boat.Circuits {
		c.circuitReturn(cir, spoken)
	}
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		if e.Medium != schema.DC || !draws(e) && e.Type != trace.Feed || e.Part.Circuit != nil && len(e.Part.Circuit.Back) > 0 {
			continue
		}
		a, b := c.poles(e)
		if draws(e) {
			a, b = e.A, e.B
		}
		c.partReturn(e, a, b, spoken)
	}
	c.panelReturns(spoken)
	c.wayReturns(spoken)
	c.bankReturns(spoken)
}

// bankReturns compares the two ways between batteries that a combiner, a switch or a
// link joins: what charges one from the other comes back between their negatives.
func (c *Context) bankReturns(spoken map[*schema.Wire]bool) {
	through := func(e *trace.Edge) bool { return e.Medium == schema.DC && (e.Type == trace.Device || e.Passes()) }
	var all []*trace.Edge
	c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) { all = append(all, e) })
	for i, b := range all {
		supply, back := c.widestFrom([]int{b.A}, through), c.widestFrom([]int{b.B}, through)
		for _, o := range all[i+1:] {
			s, r := supply.area[o.A], back.area[o.B]
			if s == 0 || r == 0 || math.IsInf(s, 1) || math.IsInf(r, 1) || r >= s*0.999 || supply.unsure[o.A] != nil || back.unsure[o.B] != nil {
				continue
			}
			feed, thin := supply.thinnestTo(c, o.A), back.thinnestTo(c, o.B)
			if feed == nil || thin == nil || spoken[thin] || thin.Carries.V == "signal" || thin.From.Part.Is(schema.Grounding) && thin.To.Part.Is(schema.Grounding) {
				continue
			}
			spoken[thin] = true
			c.Add(diag.Finding{Rule: "return-smaller", Severity: diag.Warning, Span: thin.At, At: []string{thin.Ref(), b.Part.ID, o.Part.ID},
				Message: fmt.Sprintf("what %s and %s give each other comes back through wire %s of %s; no wire between their positives is thinner than %s of %s", b.Part.ID, o.Part.ID, thin.Ref(), thin.Size.V, feed.Ref(), feed.Size.V),
				Risk:    "the return carries the same current and heats first: the devices are chosen for the supply",
				Do:      fmt.Sprintf("use %s or thicker between the negatives", feed.Size.V.Name()),
				Source:  "E-11 11.5.4.7.3; common practice, no source",
				Value:   diag.Figure(r), Limit: diag.Figure(s), Unit: "mm²"})
		}
	}
}

// wayReturns compares, battery by battery, the whole way out to a load with the
// whole way back, contacts as they stand when every load runs: beyond the bar a
// return can be thinner than all of the supply.
func (c *Context) wayReturns(spoken map[*schema.Wire]bool) {
	set := c.WorkingSetting()
	through := func(e *trace.Edge) bool { return e.Medium == schema.DC && (e.Type == trace.Device || set.Passes(e)) }
	var all []*trace.Edge
	c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) { all = append(all, e) })
	for _, b := range all {
		supply := c.widestFrom([]int{b.A}, through)
		back := c.widestBack(b, all, through)
		for id := range c.Net.Edges {
			e := &c.Net.Edges[id]
			if !draws(e) || e.Medium != schema.DC || supply.unsure[e.A] != nil || back.unsure[e.B] != nil {
				continue
			}
			s, r := supply.area[e.A], back.area[e.B]
			if s == 0 || r == 0 || math.IsInf(s, 1) || math.IsInf(r, 1) || r >= s*0.999 {
				continue
			}
			feed, thin := supply.thinnestTo(c, e.A), back.thinnestTo(c, e.B)
			if feed == nil || thin == nil || spoken[thin] || thin.Carries.V == "signal" {
				continue
			}
			if thin.From.Part.Is(schema.Grounding) && thin.To.Part.Is(schema.Grounding) {
				continue // between engines: engines-not-joined
			}
			spoken[thin] = true
			c.Add(diag.Finding{Rule: "return-smaller", Severity: diag.Warning, Span: thin.At, At: []string{thin.Ref(), e.Part.ID, b.Part.ID},
				Message: fmt.Sprintf("%s comes back to %s through wire %s of %s; no wire of its supply is thinner than %s of %s", e.Part.ID, b.Part.ID, thin.Ref(), thin.Size.V, feed.Ref(), feed.Size.V),
				Risk:    "the return carries the same current and heats first: the device is chosen for the supply",
				Do:      fmt.Sprintf("use %s or thicker all the way back", feed.Size.V.Name()),
				Source:  "E-11 11.5.4.7.3; common practice, no source",
				Value:   diag.Figure(r), Limit: diag.Figure(s), Unit: "mm²"})
		}
	}
}

// widestBack walks from a battery's negative, and from those of the batteries in
// series below it.
func (c *Context) widestBack(b *trace.Edge, all []*trace.Edge, through func(*trace.Edge) bool) *widest {
	minus := []int{b.B}
	back := c.widestFrom(minus, through)
	for added := true; added; {
		added = false
		for _, q := range all {
			if back.area[q.A] > 0 && !slices.Contains(minus, q.B) {
				minus, added = append(minus, q.B), true
				back = c.widestFrom(minus, through)
			}
		}
	}
	return back
}

// circuitReturn compares the two ways of a circuit.
func (c *Context) circuitReturn(cir *schema.Circuit, spoken map[*schema.Wire]bool) {
	if len(cir.Supply) == 0 || len(cir.Back) == 0 || cir.Supply[0].Prepared || cir.Supply[0].Medium != schema.DC {
		return
	}
	c.Looked("return-smaller")
	supply, back := cir.Supply[len(cir.Supply)-1], cir.Back[0]
	for _, w := range cir.Back[1:] {
		if copper(w) < copper(back) && !isLink(w) {
			back = w
		}
	}
	c.compareReturn(supply, back, cir.Loads, spoken)
}

// partReturn compares the thickest conductors at the two poles of a part.
func (c *Context) partReturn(e *trace.Edge, a, b int, spoken map[*schema.Wire]bool) {
	if a < 0 || b < 0 {
		return
	}
	supply, back := c.ownWires(e.Part, a), c.ownWires(e.Part, b)
	if len(supply) == 0 || len(back) == 0 {
		return
	}
	c.Looked("return-smaller")
	s, sa, su := thickest(supply)
	r, ra, ru := thickest(back)
	switch {
	case su != nil && sa == 0:
		c.Missing("return-smaller", "size of wire "+su.Ref(), su.At, su.Ref())
	case ru != nil && ra == 0:
		c.Missing("return-smaller", "size of wire "+ru.Ref(), ru.At, ru.Ref())
	case s != nil && r != nil && !hasLink(back):
		c.compareReturn(s, r, []*schema.Part{e.Part}, spoken)
	}
}

// ownWires lists the conductors that land on the part itself at a joint.
func (c *Context) ownWires(p *schema.Part, node int) []*schema.Wire {
	var list []*schema.Wire
	for _, w := range c.wiresAt(node) {
		if (w.From.Part == p || w.To.Part == p) && w.Carries.V != "signal" {
			list = append(list, w)
		}
	}
	return list
}

func hasLink(list []*schema.Wire) bool {
	for _, w := range list {
		if isLink(w) {
			return true
		}
	}
	return false
}

func (c *Context) compareReturn(supply, back *schema.Wire, loads []*schema.Part, spoken map[*schema.Wire]bool) {
	s, r := copper(supply), copper(back)
	for _, w := range []*schema.Wire{supply, back} {
		if copper(w) == 0 {
			c.Missing("return-smaller", "size of wire "+w.Ref(), w.At, w.Ref())
			return
		}
	}
	if r >= s*0.999 || spoken[back] || isLink(back) {
		return
	}
	spoken[back] = true
	c.Add(diag.Finding{Rule: "return-smaller", Severity: diag.Warning, Span: back.At, At: append([]string{back.Ref()}, ids(loads)...),
		Message: fmt.Sprintf("return %s is %s; its supply %s is %s", back.Ref(), back.Size.V, supply.Ref(), supply.Size.V),
		Risk:    "the return carries the same current and heats first: the device is chosen for the supply",
		Do:      fmt.Sprintf("use %s for the return too", supply.Size.V.Name()),
		Source:  "E-11 11.5.4.7.3; common practice, no source",
		Value:   diag.Figure(r), Limit: diag.Figure(s), Unit: "mm²"})
}

// panelReturns compares what feeds each panel with what leads from the negative
// bus of its circuits to the battery.
func (c *Context) panelReturns(spoken map[*schema.Wire]bool) {
	var panels []*schema.Part
	for _, p := range c.Boat.Parts {
		if !p.Prepared && p.Is(schema.Panel) && c.Net.Node(p, "in") >= 0 {
			panels = append(panels, p)
		}
	}
	if len(panels) == 0 {
		return
	}
	var all []*trace.Edge
	c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) { all = append(all, e) })
	for _, b := range all {
		c.panelReturnsTo(b, all, panels, spoken)
	}
}

// panelReturnsTo compares the two ways between the panels and one battery: what
// comes from its positive must go back to its own negative, or to that of the
// batteries in series below it; another bank's thick negative does not help.
func (c *Context) panelReturnsTo(b *trace.Edge, all []*trace.Edge, panels []*schema.Part, spoken map[*schema.Wire]bool) {
	through := func(e *trace.Edge) bool { return e.Passes() || e.Type == trace.Device }
	supply := c.widestFrom([]int{b.A}, through)
	back := c.widestBack(b, all, through)
	buses := c.panelBuses(panels, back)
	for _, p := range panels {
		bus := buses[p]
		in := c.Net.Node(p, "in")
		if bus < 0 || supply.area[in] == 0 || back.area[bus] == 0 {
			continue
		}
		c.Looked("return-smaller")
		s, r := supply.area[in], back.area[bus]
		if math.IsInf(s, 1) || math.IsInf(r, 1) || r >= s*0.999 {
			continue
		}
		feed, thin := supply.thinnestTo(c, in), back.thinnestTo(c, bus)
		if feed == nil || thin == nil || spoken[thin] {
			continue
		}
		spoken[thin] = true
		c.Add(diag.Finding{Rule: "return-smaller", Severity: diag.Warning, Span: thin.At, At: []string{thin.Ref(), p.ID},
			Message: fmt.Sprintf("the returns of %s come back through wire %s of %s; its feeder %s is %s", p.ID, thin.Ref(), thin.Size.V, feed.Ref(), feed.Size.V),
			Risk:    "it carries all the current of the panel and heats first: the main device is chosen for the feeder",
			Do:      fmt.Sprintf("use %s or thicker from the negative bus to the battery", unit.MetricSize(unit.SquareMM(s))),
			Source:  "E-11 11.5.4.7.3",
			Value:   diag.Figure(r), Limit: diag.Figure(s), Unit: "mm²"})
	}
}

// panelBuses finds the joint where most of a panel's circuits come back: its own
// `-` where that is joined, else the bar their loads land on; -1 where none is
// shared.
func (c *Context) panelBuses(panels []*schema.Part, back *widest) map[*schema.Part]int {
	owner := map[int]*schema.Part{} // device-free piece behind a way
	buses := map[*schema.Part]int{}
	votes := map[*schema.Part]map[int]int{}
	for _, p := range panels {
		buses[p], votes[p] = -1, map[int]int{}
		if n := c.Net.Node(p, "-"); n >= 0 && c.Joined(n) {
			buses[p] = n
		}
		for _, t := range p.Terminals() {
			if t.Way == "" {
				continue
			}
			if n := c.Net.Node(p, t.Name); n >= 0 && c.Net.Component(n) >= 0 {
				owner[c.Net.Component(n)] = p
			}
		}
	}
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		if !draws(e) || e.Medium != schema.DC || c.Net.Component(e.A) < 0 {
			continue
		}
		if p := owner[c.Net.Component(e.A)]; p != nil {
			for _, w := range c.ownWires(e.Part, e.B) {
				far := c.BeyondSplices(w, e.B)
				if c.Net.Nodes[far].Ends[0].Part.Is(schema.Distribution) {
					votes[p][far]++
				}
			}
		}
	}
	for _, p := range panels {
		if buses[p] >= 0 {
			continue
		}
		most := 0
		for _, node := range slices.Sorted(maps.Keys(votes[p])) {
			// Of two that hold as many, the one on the thicker way is the main bus.
			if n := votes[p][node]; n > most || n == most && n > 0 && back.area[node] > back.area[buses[p]] {
				buses[p], most = node, n
			}
		}
	}
	return buses
}
