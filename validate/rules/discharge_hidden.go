package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// dischargeHidden judges whether the flow of a cooling circuit can be seen.
var dischargeHidden = Rule{
	Name: "discharge-hidden", Section: waterStatic,
	Asks:     "Does every circulating circuit discharge above the static waterline, where its flow can be seen?",
	Why:      "nobody sees that the water has stopped until the unit trips or the pump is ruined",
	Severity: "note",
	Source:   "common practice, no source: 100 to 200 mm above the waterline",
	Quiet:    "not for wet exhausts; judged at rest at the static waterline",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.6 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  ST1: {kind: strainer, size: 3/4 in, height: -0.45 m, offset: 0 m}
  P1: {kind: pump, duty: circulating, design: centrifugal, height: -0.3 m, offset: 0 m}
  AC1: {kind: aircon, capacity: 9000 BTU/h, height: 0.4 m, offset: 0 m}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: -0.1 m, offset: 0.5 m, seacock: {id: SC2, type: flanged-ball}}
hoses:
  - {id: H1, path: [TH1, ST1, P1, AC1.water-in], bore: 19 mm, lengths: [0.5 m, 2 m, 2 m], clamps: 2}
  - {id: H2, from: AC1.water-out, to: TH2, bore: 19 mm, length: 2 m, clamps: 2}
`,
	Good: goodCooling,
	Check: func(c *Context) {
		sea := c.Sea()
		for _, m := range sea.Hull {
			s := m.Part.Word("service")
			if s.Given() && s.V != "discharge" {
				continue
			}
			unit := c.cooledAt(m)
			if unit == nil {
				continue
			}
			c.Looked("discharge-hidden")
			upright := survey.NewAttitude(0, 0)
			if d, lacks := c.Lacks(m.Point, upright); lacks {
				c.lacks("discharge-hidden", []survey.Lack{d}, m.ID(), unit.ID)
				continue
			}
			h := c.HeightOf(m.Point, upright).Lo
			if h >= -tinyHeight {
				continue
			}
			c.Add(diag.Finding{
				Rule: "discharge-hidden", Severity: diag.Note, Span: m.Span(), At: []string{m.ID(), unit.ID},
				Value: diag.Figure(h), Limit: diag.Figure(0.0), Unit: "m",
				Message: fmt.Sprintf("%s discharges through %s, %s under the static waterline: its flow cannot be seen", unit.ID, m.ID(), tall(h)),
				Risk:    "a stopped pump or a blocked strainer goes unseen",
				Do:      "put the discharge 100 to 200 mm above the waterline, or fit a flow alarm",
				Source:  "common practice, no source",
			})
		}
	},
}

// cooledAt returns the equipment, no engine, that discharges through an opening.
func (c *Context) cooledAt(m *trace.Mouth) *schema.Part {
	sea := c.Sea()
	t := sea.Walk([]int{m.Node}, c.outletWalk())
	for _, st := range t.Steps {
		for _, id := range sea.Nodes[st.Node].Ways {
			w := &sea.Ways[id]
			if w.Channel != nil && w.B == st.Node && w.Carries() && w.Pump() == nil && w.Part.Is(schema.SeaUser) && !w.Part.Is(schema.Engine) {
				return w.Part
			}
		}
	}
	return nil
}
