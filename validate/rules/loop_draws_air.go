package rules

import (
	"fmt"

	"fitout/schema/diag"
)

var loopDrawsAir = Rule{
	Name: "loop-draws-air", Section: waterSolved,
	Asks:     "Does a vented loop stay above atmosphere while its line runs?",
	Why:      "below it the valve lets air in while the pump works: the flow is less than a full line would give, and the valve wears and weeps",
	Severity: "note",
	Source:   "computed pressure at the crest; the falling leg is taken as part-full, so its head is lost",
	Bad: `
fitout: 1
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.5 m}
  P1: {kind: pump, duty: circulating, drive: ac, height: -0.3 m, curve: {0 L/min: 4 m head, 30 L/min: 0 m head}}
  VL1: {kind: vented-loop, size: 3/4 in, height: 0.8 m}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: -0.2 m}
hoses:
  - {id: H1, path: [TH1, P1, VL1, TH2], bore: 19 mm, lengths: [0.5 m, 1.5 m, 1.5 m]}
conditions:
  run: {running: [P1]}
`,
	Good: `
fitout: 1
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.5 m}
  P1: {kind: pump, duty: circulating, drive: ac, height: -0.3 m, curve: {0 L/min: 4 m head, 30 L/min: 0 m head}}
  VL1: {kind: vented-loop, size: 3/4 in, height: 0.5 m}
  AC1: {kind: aircon, supply: ac, flow: 8 L/min, height: 0.4 m, loss: {10 L/min: 1.5 m head}}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m}
hoses:
  - {id: H1, path: [TH1, P1, VL1, AC1.water-in], bore: 19 mm, lengths: [0.5 m, 1.5 m, 0.5 m]}
  - {id: H2, from: AC1.water-out, to: TH2, bore: 19 mm, length: 1 m}
conditions:
  run: {running: [P1]}
`,
	Check: checkLoopAir,
}

func checkLoopAir(c *Context) {
	var w worst
	for _, cond := range c.conditions() {
		for _, k := range c.Water(cond).Circuits {
			if vents := k.Vents(); len(vents) > 0 {
				c.Looked("loop-draws-air")
				c.data("loop-draws-air", k.Missing, idsOf(vents)...)
			}
			for _, r := range k.Runs {
				for _, p := range r.VentsDrawing() {
					w.add(p.ID, 0, diag.Finding{
						Rule: "loop-draws-air", Severity: diag.Note, Span: p.At, At: []string{p.ID},
						Message: fmt.Sprintf("%s lets air in while its line runs %s: the pressure at its crest is below atmosphere", p.Name(), conditionText(cond)),
						Risk:    "less flow than a full line gives; a valve that works all the time weeps and sticks sooner",
						Do:      "expect it, or set the loop nearer the outlet's height or ahead of a restriction",
						Source:  "computed pressure at the crest", Condition: cond.ID, Attitude: leaning(r),
					})
				}
			}
		}
	}
	w.report(c)
}
