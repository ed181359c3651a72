package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/tables"
)

// metalsMixed compares the metals of parts screwed together.
var metalsMixed = Rule{
	Name: "metals-mixed", Section: waterStatic,
	Asks:     "Do only metals meet that suit each other in sea water?",
	Why:      "the less noble of the two is eaten away, and the joint holds the sea out",
	Severity: "warning",
	Source:   "ISO 9093:2020, 4.2 (summary); 46 CFR 182.730(b)(2); 0.20 V: published galvanic chart note",
	Quiet:    "not across a hose, nor for stainless steel on a copper alloy (common practice, no source)",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, material: aluminium, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball, material: bronze}}
  P1: {kind: pump, drive: hand, duty: wash, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, material: bronze, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball, material: dzr-brass}}
  P1: {kind: pump, drive: hand, duty: wash, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 2}
`,
	Check: checkMetals,
}

func checkMetals(c *Context) {
	for _, j := range c.screwedJoints() {
		a, b := wordOf(j.a, "material"), wordOf(j.b, "material")
		if !a.Given() && !b.Given() && !j.a.Is(schema.SeaOpening) {
			continue
		}
		c.Looked("metals-mixed")
		if !a.Given() || !b.Given() {
			for _, p := range []*schema.Part{j.a, j.b} {
				if !wordOf(p, "material").Given() && p.Host == nil {
					c.Missing("metals-mixed", "material of "+p.ID, p.At, p.ID)
				}
			}
			continue
		}
		clash, apart, cite := tables.MetalsClash(a.V, b.V)
		if !clash {
			continue
		}
		if j.unsure {
			c.Missing("metals-mixed", "length of "+j.way.Hose.ID, j.way.Hose.At, j.way.Hose.ID, j.b.ID, j.a.ID)
			continue
		}
		c.Add(diag.Finding{
			Rule: "metals-mixed", Severity: diag.Warning, Span: j.b.At, At: []string{j.b.ID, j.a.ID},
			Value: diag.Figure(apart.Mid), Limit: diag.Figure(tables.GalvanicLimit), Unit: "V",
			Message: fmt.Sprintf("%s of %s is screwed to %s of %s: they lie about %.2f V apart in sea water", j.b.ID, b.V, j.a.ID, a.V, float64(apart.Mid)),
			Risk:    "the less noble of the two corrodes away where it holds the sea out",
			Do:      "use parts of one metal, or part them by an insulating piece",
			Source:  cite.String() + "; " + apart.Cite.String(),
		})
	}
}
