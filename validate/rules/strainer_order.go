package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

// strainerOrder judges where strainers stand.
var strainerOrder = Rule{
	Name: "strainer-order", Section: waterStatic,
	Asks:     "Does every strainer stand behind a valve that shuts it off from the sea, and before the pump?",
	Why:      "behind the pump it protects nothing; ahead of the valve its lid cannot be opened",
	Severity: "warning",
	Source:   "Boat Mechanical Systems Handbook, ch. 17; class practice puts it between sea valve and pump",
	Quiet:    "not where the opening has no valve at all: no-seacock tells that",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.6 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, duty: circulating, design: centrifugal, height: -0.4 m, offset: 0 m}
  ST1: {kind: strainer, size: 3/4 in, height: -0.2 m, offset: 0 m}
  AC1: {kind: aircon, capacity: 9000 BTU/h, height: 0.4 m, offset: 0 m}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m, offset: 0.5 m}
hoses:
  - {id: H1, path: [TH1, P1, ST1, AC1.water-in], bore: 19 mm, lengths: [0.5 m, 2 m, 2 m], clamps: 2}
  - {id: H2, from: AC1.water-out, to: TH2, bore: 19 mm, length: 2 m, clamps: 2}
`,
	Good: goodCooling,
	Check: func(c *Context) {
		for _, p := range c.fitted(schema.Strainer) {
			c.Looked("strainer-order")
			c.judgeOrder(p)
		}
	},
}

func (c *Context) judgeOrder(p *schema.Part) {
	sea := c.Sea()
	nodes := sea.NodesOf(p)
	// Back to the sea, against the flow: through pumps, not through equipment,
	// which discharges.
	back := sea.Walk(nodes, trace.Walk{Through: func(w *trace.SeaWay, from int) bool {
		return w.Channel == nil || !w.Part.Is(schema.SeaUser) && (w.Pump() == nil || w.B == from)
	}})
	for _, m := range seaAt(sea, back) {
		if s := m.Part.Word("service"); s.Given() && s.V != "intake" {
			continue
		}
		path := back.Path(back.Find(m.Node))
		var pump, valve *schema.Part
		for _, st := range path {
			if st.Way < 0 {
				continue
			}
			w := &sea.Ways[st.Way]
			if w.Pump() != nil && pump == nil {
				pump = w.Part
			}
			if w.Valve() {
				valve = w.Part
			}
		}
		switch {
		case pump != nil:
			c.Add(diag.Finding{
				Rule: "strainer-order", Severity: diag.Warning, Span: p.At, At: []string{p.ID, pump.ID},
				Message: fmt.Sprintf("strainer %s stands behind pump %s", p.ID, pump.ID),
				Risk:    "what it should catch has gone through the pump", Do: fmt.Sprintf("move %s between the seacock and %s", p.ID, pump.ID),
				Source: "Boat Mechanical Systems Handbook, ch. 17",
			})
		case valve == nil && c.valveInboard(p):
			c.Add(diag.Finding{
				Rule: "strainer-order", Severity: diag.Warning, Span: p.At, At: []string{p.ID, m.ID()},
				Message: fmt.Sprintf("strainer %s stands between hull opening %s and the valve: it cannot be shut off from the sea", p.ID, m.ID()),
				Risk:    "the sea comes in when its lid is opened, or its bowl cracks", Do: "put the valve at the hull, before the strainer",
				Source: "Boat Mechanical Systems Handbook, ch. 17; common practice, no source",
			})
		}
	}
}

// valveInboard reports whether a valve stands on the line at a strainer, so that
// it is the order that is wrong; or the opening wants no seacock.
func (c *Context) valveInboard(p *schema.Part) bool {
	sea := c.Sea()
	t := sea.Walk(sea.NodesOf(p), trace.Walk{Through: func(w *trace.SeaWay, _ int) bool {
		return w.Channel == nil || !w.Part.Is(schema.SeaUser) && w.Pump() == nil
	}})
	if slices.ContainsFunc(t.Steps, func(st trace.Step) bool {
		return sea.Nodes[st.Node].Part != nil && sea.Nodes[st.Node].Part.Is(schema.Shutoff)
	}) {
		return true
	}
	for _, m := range seaAt(sea, t) {
		if f, _ := c.wantsSeacock(m); f != nil {
			return false
		}
	}
	return true
}
