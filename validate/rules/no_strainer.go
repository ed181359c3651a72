package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

// noStrainer looks for a strainer on the way of sea water to equipment.
var noStrainer = Rule{
	Name: "no-strainer", Section: waterStatic,
	Asks:     "Does the sea water of every engine, cooling unit and water maker pass a strainer?",
	Why:      "weed and grit stop the pump or block the exchanger",
	Severity: "warning",
	Source:   "46 CFR 182.420(a)(2), 182.425(b)(6); Boat Mechanical Systems Handbook, ch. 17",
	Quiet:    "not for toilets, washdown pumps and keel coolers; a strainer anywhere on the way counts (its place is strainer-order's)",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.6 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, duty: circulating, design: centrifugal, height: -0.3 m, offset: 0 m}
  AC1: {kind: aircon, capacity: 9000 BTU/h, height: 0.4 m, offset: 0 m}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m, offset: 0.5 m}
hoses:
  - {id: H1, path: [TH1, P1, AC1.water-in], bore: 19 mm, lengths: [0.5 m, 2 m], clamps: 2}
  - {id: H2, from: AC1.water-out, to: TH2, bore: 19 mm, length: 2 m, clamps: 2}
`,
	Good: goodCooling,
	Check: func(c *Context) {
		sea := c.Sea()
		for _, p := range c.fitted(schema.SeaUser) {
			for _, in := range seaInlets(p) {
				node := sea.Node(p, in)
				if node < 0 || sea.Joined(p, in) == 0 {
					continue
				}
				c.Looked("no-strainer")
				c.judgeStrainer(p, node)
			}
		}
	},
}

// goodCooling is a sound cooling circuit, the good example of several rules.
const goodCooling = `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.6 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  ST1: {kind: strainer, size: 3/4 in, height: -0.45 m, offset: 0 m}
  P1: {kind: pump, duty: circulating, design: centrifugal, size: 3/4 in, height: -0.3 m, offset: 0 m}
  AC1: {kind: aircon, capacity: 9000 BTU/h, size: 3/4 in, height: 0.4 m, offset: 0 m}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m, offset: 0.5 m}
hoses:
  - {id: H1, path: [TH1, ST1, P1, AC1.water-in], bore: 19 mm, lengths: [0.5 m, 2 m, 2 m], clamps: 2}
  - {id: H2, from: AC1.water-out, to: TH2, bore: 19 mm, length: 2 m, clamps: 2}
`

// seaInlets are the terminals by which equipment takes its sea water: the inlets
// of the ways that take up heat or feed, not coolant.
func seaInlets(p *schema.Part) []string {
	var out []string
	for _, ch := range p.Channels() {
		t, ok := p.Terminal(ch.A)
		if ok && ch.Type == schema.Passage && t.Polarity == schema.WaterIn && !slices.Contains(out, ch.A) {
			out = append(out, ch.A)
		}
	}
	return out
}

// judgeStrainer walks from equipment against the flow to the sea, through pumps,
// over ways without a strainer.
func (c *Context) judgeStrainer(p *schema.Part, inlet int) {
	sea := c.Sea()
	t := sea.Walk([]int{inlet}, trace.Walk{
		Through: func(w *trace.SeaWay, from int) bool {
			if w.Channel == nil {
				return true
			}
			against := w.Pump() == nil || w.B == from
			return against && !w.Part.Is(schema.SeaUser) && !w.Part.Is(schema.Strainer)
		},
		Beyond: func(n int) bool { return !isVessel(&sea.Nodes[n]) },
	})
	for _, m := range seaAt(sea, t) {
		if s := m.Part.Word("service"); s.Given() && s.V != "intake" {
			continue
		}
		c.Add(diag.Finding{
			Rule: "no-strainer", Severity: diag.Warning, Span: p.At, At: []string{p.ID, m.ID()},
			Message: fmt.Sprintf("sea water gets from %s to %s through no strainer", m.ID(), p.ID),
			Risk:    "weed and grit stop the pump or block the exchanger",
			Do:      "fit a strainer just inboard of the seacock",
			Source:  "46 CFR 182.420(a)(2), 182.425(b)(6) as practice; Boat Mechanical Systems Handbook, ch. 17",
		})
	}
}
