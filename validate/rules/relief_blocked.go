package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

// reliefBlocked judges the relief of pressure heaters.
var reliefBlocked = Rule{
	Name: "relief-blocked", Section: waterStatic,
	Asks:     "Has every pressure water heater a relief valve, with nothing before or behind it that can be shut?",
	Why:      "water that is heated and cannot expand bursts the heater",
	Severity: "error",
	Source:   "46 CFR 182.320(a); building code: no valve between relief and tank, outlet never plugged",
	Quiet:    "not for a heater whose own relief is stated (`relief: 6 bar`) and left free",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  FT1: {kind: tank, contents: fresh, capacity: 200 L, vented: yes, height: 0 m, offset: 0 m}
  P1: {kind: pump, drive: hand, duty: pressure, height: 0 m, offset: 0 m}
  CA1: {kind: calorifier, capacity: 22 L, height: 0 m, offset: 0 m}
  TP1: {kind: tap, height: 0.9 m, offset: 0 m}
hoses:
  - {id: H1, path: [FT1.outlet, P1, CA1.cold], bore: 13 mm, lengths: [1 m, 2 m], rating: potable}
  - {id: H2, from: CA1.hot, to: TP1.hot, bore: 13 mm, length: 2 m, rating: potable}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  FT1: {kind: tank, contents: fresh, capacity: 200 L, vented: yes, height: 0 m, offset: 0 m}
  P1: {kind: pump, drive: hand, duty: pressure, height: 0 m, offset: 0 m}
  CA1: {kind: calorifier, capacity: 22 L, relief: 6 bar, height: 0 m, offset: 0 m}
  TP1: {kind: tap, height: 0.9 m, offset: 0 m}
hoses:
  - {id: H1, path: [FT1.outlet, P1, CA1.cold], bore: 13 mm, lengths: [1 m, 2 m], rating: potable}
  - {id: H2, from: CA1.hot, to: TP1.hot, bore: 13 mm, length: 2 m, rating: potable}
`,
	Check: func(c *Context) {
		for _, p := range c.fitted(schema.Holding) {
			if _, ok := p.Terminal("relief"); !ok {
				continue
			}
			c.Looked("relief-blocked")
			c.judgeRelief(p)
		}
	},
}

func (c *Context) judgeRelief(p *schema.Part) {
	sea := c.Sea()
	own := p.Get("relief")
	built := own != nil && own.Word != "no"
	free, shut := c.reliefAt(p)
	f := diag.Finding{
		Rule: "relief-blocked", Severity: diag.Error, Span: p.At, At: []string{p.ID},
		Risk: "heated water that cannot expand bursts the heater and scalds", Source: "46 CFR 182.320(a); building code (published)",
	}
	switch {
	case built && sea.Joined(p, "relief") > 0:
		valve := c.outletValve(p)
		for _, rv := range c.reliefsOf(p) {
			if valve == nil {
				valve = c.shutBehind(rv)
			}
		}
		if valve != nil {
			f.At = append(f.At, valve.ID)
			f.Message = fmt.Sprintf("valve %s can shut the relief outlet of water heater %s", valve.ID, p.ID)
			f.Do = "take the valve out: the outlet runs free, falling and in sight"
			c.Add(f)
		}
	case built || free:
		for _, rv := range c.reliefsOf(p) {
			if valve := c.shutBehind(rv); valve != nil {
				f.At = append(f.At, rv.ID, valve.ID)
				f.Message = fmt.Sprintf("valve %s can shut the outlet of relief valve %s of water heater %s", valve.ID, rv.ID, p.ID)
				f.Do = "take the valve out: the outlet runs free, falling and in sight"
				c.Add(f)
				return
			}
		}
	case shut != nil:
		f.At = append(f.At, shut.ID)
		f.Message = fmt.Sprintf("valve %s stands between water heater %s and its relief valve", shut.ID, p.ID)
		f.Do = "put the relief valve straight on the heater, with nothing before it that can be shut"
		c.Add(f)
	default:
		f.Message = fmt.Sprintf("water heater %s has no relief valve", p.ID)
		f.Do = "fit a relief valve for pressure and temperature straight on the heater"
		c.Add(f)
	}
}

// reliefAt walks from a heater's water to a relief valve: free, or else the valve
// that stands before the nearest one.
func (c *Context) reliefAt(p *schema.Part) (free bool, before *schema.Part) {
	sea := c.Sea()
	t := sea.Walk(c.storeNodes(p), trace.Walk{Beyond: func(n int) bool { return !isVessel(&sea.Nodes[n]) || sea.Nodes[n].Part == p }})
	for i, st := range t.Steps {
		n := &sea.Nodes[st.Node]
		if n.Part == nil || !n.Part.Is(schema.Relief) {
			continue
		}
		var valve *schema.Part
		for _, s := range t.Path(i) {
			if s.Way >= 0 && (sea.Ways[s.Way].Valve() || sea.Ways[s.Way].Pump() != nil) {
				valve = sea.Ways[s.Way].Part
			}
		}
		if valve == nil {
			return true, nil
		}
		if before == nil {
			before = valve
		}
	}
	return false, before
}

// outletValve returns a valve on the hose from a heater's own relief.
func (c *Context) outletValve(p *schema.Part) *schema.Part {
	sea := c.Sea()
	node := sea.Node(p, "relief")
	for _, id := range sea.Nodes[node].Ways {
		w := &sea.Ways[id]
		if w.Hose == nil || !(w.Hose.From.Part == p && w.Hose.From.Terminal == "relief" || w.Hose.To.Part == p && w.Hose.To.Terminal == "relief") {
			continue
		}
		t := sea.Walk([]int{w.Other(node)}, trace.Walk{Through: func(way *trace.SeaWay, _ int) bool { return way != w }})
		for _, st := range t.Steps {
			if st.Way >= 0 && sea.Ways[st.Way].Valve() {
				return sea.Ways[st.Way].Part
			}
		}
	}
	return nil
}

// reliefsOf returns the relief valves a heater's water reaches past no valve or
// pump, in the order met.
func (c *Context) reliefsOf(p *schema.Part) []*schema.Part {
	sea := c.Sea()
	var out []*schema.Part
	t := sea.Walk(c.storeNodes(p), trace.Walk{
		Through: func(w *trace.SeaWay, _ int) bool { return !w.Valve() && w.Pump() == nil },
		Beyond:  func(n int) bool { return !isVessel(&sea.Nodes[n]) || sea.Nodes[n].Part == p },
	})
	for _, st := range t.Steps {
		if q := sea.Nodes[st.Node].Part; q != nil && q.Is(schema.Relief) && !slices.Contains(out, q) {
			out = append(out, q)
		}
	}
	return out
}

// shutBehind returns a valve behind a relief valve that shuts its only way out;
// nil where some way out is free, or none is led away.
func (c *Context) shutBehind(rv *schema.Part) *schema.Part {
	sea := c.Sea()
	node := sea.Node(rv, "out")
	if node < 0 {
		return nil
	}
	var valve *schema.Part
	t := sea.Walk([]int{node}, trace.Walk{Through: func(w *trace.SeaWay, _ int) bool { return !w.Valve() }})
	for _, st := range t.Steps {
		if len(sea.Nodes[st.Node].Mouths) > 0 {
			return nil
		}
		for _, id := range sea.Nodes[st.Node].Ways {
			if w := &sea.Ways[id]; valve == nil && w.Valve() {
				valve = w.Part
			}
		}
	}
	return valve
}
