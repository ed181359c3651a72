package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

// tankUnvented judges whether tanks can breathe.
var tankUnvented = Rule{
	Name: "tank-unvented", Section: waterStatic,
	Asks:     "Has every tank a vent that leads to open air?",
	Why:      "a tank that cannot breathe bursts when it is filled and collapses when it is pumped out",
	Severity: "error",
	Source:   "ISO 8099-1:2018 (summary); an inland-craft scheme names implosion as the risk",
	Quiet:    "not for an accumulator or heater, nor a tank with `vented: yes`; a file without hoses is not judged",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  FT1: {kind: tank, contents: fresh, capacity: 200 L, height: 0 m, offset: 0 m}
  P1: {kind: pump, drive: hand, duty: pressure, height: 0 m, offset: 0 m}
  TP1: {kind: tap, height: 0.9 m, offset: 0 m}
hoses:
  - {id: H1, path: [FT1.outlet, P1, TP1.in], bore: 13 mm, lengths: [1 m, 2 m], rating: potable}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  FT1: {kind: tank, contents: fresh, capacity: 200 L, height: 0 m, offset: 0 m}
  TV1: {kind: tank-vent, size: 5/8 in, height: 1 m, offset: 1.2 m}
  P1: {kind: pump, drive: hand, duty: pressure, height: 0 m, offset: 0 m}
  TP1: {kind: tap, height: 0.9 m, offset: 0 m}
hoses:
  - {id: H1, path: [FT1.outlet, P1, TP1.in], bore: 13 mm, lengths: [1 m, 2 m], rating: potable}
  - {id: H2, from: FT1.vent, to: TV1, bore: 16 mm, length: 2 m}
`,
	Check: func(c *Context) {
		if !hasHoses(c.Boat) {
			return
		}
		for _, p := range c.fitted(schema.Holding) {
			if p.Kind.Attr("vented") == nil {
				continue
			}
			c.Looked("tank-unvented")
			c.judgeTankVent(p)
		}
	},
}

func (c *Context) judgeTankVent(p *schema.Part) {
	if p.Flag("vented").V || p.Flag("inside").V {
		return
	}
	sea := c.Sea()
	f := diag.Finding{
		Rule: "tank-unvented", Severity: diag.Error, Span: p.At, At: []string{p.ID},
		Message: fmt.Sprintf("tank %s has no vent", p.ID),
		Risk:    "it bursts when it is filled fast and collapses when it is pumped out",
		Do:      "fit a vent, at least 19 mm (3/4 in) for waste up to 400 L, that ends outside above the heeled waterline; or say vented: yes",
		Source:  "ISO 8099-1:2018 (summary)",
	}
	joined := false
	for _, t := range p.Terminals() {
		if !isVentTerminal(t.Name) || t.Name == "relief" || sea.Joined(p, t.Name) == 0 {
			continue
		}
		joined = true
		if c.breathes(p, t.Name) {
			return
		}
	}
	if joined {
		f.Message = fmt.Sprintf("the vent of tank %s leads to no open air", p.ID)
	}
	c.Add(f)
}

// breathes reports whether the hose at a vent leads to an opening; its other end
// must not come back to the tank only.
func (c *Context) breathes(p *schema.Part, vent string) bool {
	sea := c.Sea()
	for _, id := range sea.Nodes[sea.Node(p, vent)].Ways {
		w := &sea.Ways[id]
		if w.Hose == nil || !(w.Hose.From.Part == p && w.Hose.From.Terminal == vent || w.Hose.To.Part == p && w.Hose.To.Terminal == vent) {
			continue
		}
		t := sea.Walk([]int{w.Other(sea.Node(p, vent))}, trace.Walk{Through: func(way *trace.SeaWay, _ int) bool {
			return way != w && way.Pump() == nil
		}})
		for _, st := range t.Steps {
			if len(sea.Nodes[st.Node].Mouths) > 0 {
				return true
			}
		}
	}
	return false
}
