package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// bilgeDischargeLow judges where bilge pumps discharge.
var bilgeDischargeLow = Rule{
	Name: "bilge-discharge-low", Section: waterStatic,
	Asks:     "Does every bilge discharge stay above the sea, or have a vented loop and a seacock, and can no pump fill another's bilge?",
	Why:      "a discharge under water siphons back through the idle pump and fills what it should empty",
	Severity: "error; warning within 200 mm above the sea",
	Source:   "common practice, no source (said to follow H-22, not read); 200 mm: common practice, no source",
	Quiet:    "not with a vented loop in the line and a seacock at the hull; how high the loop stands is loop-too-low's",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  P1: {kind: pump, duty: bilge, submersible: yes, height: -0.5 m, offset: 0 m}
  TH1: {kind: through-hull, service: bilge, size: 1 in, height: 0.15 m, offset: 1.5 m, seacock: {id: SC1, type: flanged-ball}}
hoses:
  - {id: H1, from: P1.out, to: TH1, bore: 25 mm, length: 3 m, peak: 0.6 m, clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  P1: {kind: pump, duty: bilge, submersible: yes, height: -0.5 m, offset: 0 m}
  TH1: {kind: through-hull, service: bilge, size: 1 in, height: 0.5 m, offset: 1.5 m}
hoses:
  - {id: H1, from: P1.out, to: TH1, bore: 25 mm, length: 3 m, peak: 0.6 m, clamps: 2}
`,
	Check: checkBilgeDischarge,
}

func checkBilgeDischarge(c *Context) {
	c.floodDefaults()
	c.dutyUnknown("bilge-discharge-low")
	sea := c.Sea()
	var pumps []*schema.Part
	for _, p := range c.fitted(schema.Bilge) {
		if p.Is(schema.Mover) && sea.Node(p, "out") >= 0 {
			pumps = append(pumps, p)
		}
	}
	type outlet struct {
		mouth *trace.Mouth
		pumps []*schema.Part
		path  []trace.Step
	}
	var outlets []*outlet
	for _, p := range pumps {
		t := c.downstream(p)
		for _, m := range seaAt(sea, t) {
			i := slices.IndexFunc(outlets, func(o *outlet) bool { return o.mouth == m })
			if i < 0 {
				outlets = append(outlets, &outlet{mouth: m, path: t.Path(t.Find(m.Node))})
				i = len(outlets) - 1
			}
			outlets[i].pumps = append(outlets[i].pumps, p)
		}
	}
	for _, o := range outlets {
		c.Looked("bilge-discharge-low")
		c.judgeBilgeOutlet(o.mouth, o.pumps)
	}
	c.pumpsFillEachOther(pumps)
}

// downstream walks from a pump's outlet without going back through a pump.
func (c *Context) downstream(p *schema.Part) *trace.Trail {
	sea := c.Sea()
	return sea.Walk([]int{sea.Node(p, "out")}, trace.Walk{
		Through: func(w *trace.SeaWay, from int) bool { return w.Pump() == nil },
		Beyond:  func(n int) bool { return !isVessel(&sea.Nodes[n]) },
	})
}

func (c *Context) judgeBilgeOutlet(m *trace.Mouth, pumps []*schema.Part) {
	first, way := firstInboard(c.Sea(), m)
	valve := first != nil && first.Is(schema.Shutoff) && way.Close()
	loops := true
	for _, p := range pumps {
		loops = loops && c.ventedTo(p, m)
	}
	if valve && loops {
		return
	}
	margin := tables.BilgeMargin()
	least, worst, missing := c.Margin(m.Point)
	f := diag.Finding{
		Rule: "bilge-discharge-low", Span: m.Span(), At: append([]string{m.ID()}, partIDs(pumps)...), Attitude: worst.String(),
		Value: diag.Figure(least), Unit: "m",
		Risk: "the sea siphons back through the idle pump, whose valves and check valves are no barrier",
	}
	switch {
	case least < -tinyHeight:
		f.Severity, f.Limit = diag.Error, diag.Figure(0.0)
		lack := "neither a vented loop nor a seacock"
		switch {
		case valve:
			lack = "no vented loop"
		case loops:
			lack = "no seacock"
		}
		f.Message = fmt.Sprintf("bilge discharge %s of %s lies %s when %s, with %s", m.ID(), named(partIDs(pumps)), againstSea(least), worst, lack)
		f.Do = fmt.Sprintf("move %s to at least %s above the sea in every attitude, or fit both a vented loop and a seacock", m.ID(), tall(margin.Margin))
		f.Source = "common practice, no source (said to follow H-22); " + c.heelSource()
		c.Add(f)
		return
	case least < float64(margin.Margin)-tinyHeight:
		f.Severity, f.Limit = diag.Warning, diag.Figure(margin.Margin)
		f.Message = fmt.Sprintf("bilge discharge %s of %s lies only %s when %s; %s is usual", m.ID(), named(partIDs(pumps)), againstSea(least), worst, tall(margin.Margin))
		f.Do = fmt.Sprintf("raise %s, or fit a vented loop and a seacock", m.ID())
		f.Source = margin.Cite.String() + "; " + c.heelSource()
		c.Add(f)
	}
	c.lacks("bilge-discharge-low", missing, m.ID())
}

// ventedTo reports whether every way from a pump to an outlet passes a vented
// loop.
func (c *Context) ventedTo(p *schema.Part, m *trace.Mouth) bool {
	sea := c.Sea()
	t := sea.Walk([]int{sea.Node(p, "out")}, trace.Walk{
		Through: func(w *trace.SeaWay, _ int) bool { return w.Pump() == nil && !w.Vented() },
	})
	return t.Find(m.Node) < 0
}

// pumpsFillEachOther reports pumps whose outlets meet with no vented loop
// between: one that runs pushes water back through the idle one.
func (c *Context) pumpsFillEachOther(pumps []*schema.Part) {
	sea := c.Sea()
	done := map[*schema.Part]bool{}
	for _, p := range pumps {
		if done[p] {
			continue
		}
		t := sea.Walk([]int{sea.Node(p, "out")}, trace.Walk{
			Through: func(w *trace.SeaWay, _ int) bool { return w.Pump() == nil && !w.Vented() },
			Beyond:  func(n int) bool { return !isVessel(&sea.Nodes[n]) },
		})
		group := []*schema.Part{p}
		for _, q := range pumps {
			if q != p && t.Find(sea.Node(q, "out")) >= 0 {
				group = append(group, q)
				done[q] = true
			}
		}
		if len(group) < 2 {
			continue
		}
		c.Add(diag.Finding{
			Rule: "bilge-discharge-low", Severity: diag.Error, Span: group[0].At, At: partIDs(group),
			Message: fmt.Sprintf("bilge pumps %s share one discharge with no vented loop between them", named(partIDs(group))),
			Risk:    "the pump that runs pushes its water back through the idle one into that one's bilge; a check valve is no barrier",
			Do:      "give each pump its own discharge, or bring each up through its own vented loop before they meet",
			Source:  "common practice, no source (said to follow H-22)",
		})
	}
}
