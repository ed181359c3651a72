package rules

import (
	"fmt"

	"fitout/schema/diag"
)

// boreReduced looks for hoses that narrow a pump's line.
var boreReduced = Rule{
	Name: "bore-reduced", Section: waterStatic,
	Asks:     "Is a pump's suction as wide as its inlet, and does its discharge not narrow on the way?",
	Why:      "a pump starves behind a narrow suction and works against a narrow discharge",
	Severity: "warning",
	Source:   "common practice, no source",
	Quiet:    "only within one unbranched stretch: branches behind a manifold may be smaller",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, drive: hand, duty: wash, inlet: 1 in, outlet: 1 in, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, size: 1 in, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, from: TH1, to: P1.in, bore: 19 mm, length: 0.5 m, clamps: 2}
  - {id: H2, from: P1.out, to: WD1.in, bore: 25 mm, length: 1 m, clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 1 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, drive: hand, duty: wash, inlet: 1 in, outlet: 1 in, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, size: 1 in, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, from: TH1, to: P1.in, bore: 25 mm, length: 0.5 m, clamps: 2}
  - {id: H2, from: P1.out, to: WD1.in, bore: 25 mm, length: 1 m, clamps: 2}
`,
	Check: func(c *Context) {
		list, missing := c.reducedHoses()
		for _, p := range c.Boat.Parts {
			if p.Kind.Attr("inlet") != nil && !p.Prepared && c.Sea().Node(p, "in") >= 0 {
				c.Looked("bore-reduced")
			}
		}
		c.missingBores("bore-reduced", missing)
		told := map[string]bool{}
		for _, r := range list {
			// A suction of several stretches all too narrow is one line to change.
			key := fmt.Sprint(r.hose.Path, r.pump.ID, r.suction)
			if told[key] {
				continue
			}
			told[key] = true
			f := diag.Finding{
				Rule: "bore-reduced", Severity: diag.Warning, Span: r.hose.At, At: []string{r.hose.ID, r.pump.ID},
				Value: diag.Figure(float64(r.hose.Bore.V) * 1000), Limit: diag.Figure(float64(r.than) * 1000), Unit: "mm",
				Message: fmt.Sprintf("suction hose %s of %s bore is narrower than the inlet of %s, %s", r.hose.ID, millimetres(r.hose.Bore.V), r.pump.ID, millimetres(r.than)),
				Risk:    "the pump starves and gives less than it should", Do: "carry the suction in hose of the inlet's size",
				Source: "common practice, no source",
			}
			if !r.suction {
				f.Message = fmt.Sprintf("the discharge of %s narrows at hose %s, from %s to %s", r.pump.ID, r.hose.ID, millimetres(r.than), millimetres(r.hose.Bore.V))
				f.Risk, f.Do = "the pump works against the narrow end and gives less than it should", "carry the discharge in one bore to its outlet"
			}
			c.Add(f)
		}
	},
}
