package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
)

// boreMismatch compares hoses with the tails they are on.
var boreMismatch = Rule{
	Name: "bore-mismatch", Section: waterStatic,
	Asks:     "Has every hose the bore of the fittings at its ends?",
	Why:      "a hose too wide cannot be clamped tight, one too tight splits at the tail",
	Severity: "warning",
	Source:   "common practice, no source; sizes within 1 mm or 3 % are one (3/4 in and 19 mm)",
	Quiet:    "not where a suction or discharge narrows along a line: bore-reduced tells that; nor for a thinner branch of a tee or manifold that has a hose of its own size",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 1 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, drive: hand, duty: wash, size: 3/4 in, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, size: 3/4 in, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, drive: hand, duty: wash, size: 3/4 in, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, size: 3/4 in, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 2}
`,
	Check: checkBoreFit,
}

func checkBoreFit(c *Context) {
	reduced := map[*schema.Hose]bool{}
	list, _ := c.reducedHoses()
	for _, r := range list {
		reduced[r.hose] = true
	}
	for _, h := range c.Boat.Hoses {
		if h.Prepared || h.Implied || h.Length.Given() && h.Length.V == 0 {
			continue
		}
		c.Looked("bore-mismatch")
		if !h.Bore.Given() {
			c.Missing("bore-mismatch", "bore of "+h.ID, h.At, h.ID)
			continue
		}
		for _, e := range []schema.HoseEnd{h.From, h.To} {
			if e.Part != nil && !e.Part.Prepared && hasTail(e.Part, e.Terminal) {
				c.judgeFit(h, e, reduced[h])
			}
		}
	}
}

func (c *Context) judgeFit(h *schema.Hose, e schema.HoseEnd, reduced bool) {
	size := tailSize(e.Part, e.Terminal)
	if !size.Given() {
		c.Missing("bore-mismatch", "size of "+e.Part.ID, e.Part.At, e.Part.ID, h.ID)
		return
	}
	if fits(h.Bore.V, size.V) || h.Bore.V < size.V && (reduced || c.branchOf(e.Part, size.V)) {
		return
	}
	c.Add(diag.Finding{
		Rule: "bore-mismatch", Severity: diag.Warning, Span: h.At, At: []string{h.ID, e.Part.ID},
		Value: diag.Figure(float64(h.Bore.V) * 1000), Limit: diag.Figure(float64(size.V) * 1000), Unit: "mm",
		Message: fmt.Sprintf("hose %s of %s bore is on %s, whose tail is %s", h.ID, millimetres(h.Bore.V), e.String(), millimetres(size.V)),
		Risk:    "a hose that does not fit its tail leaks or comes off",
		Do:      "use hose of the tail's size, or a reducing fitting",
		Source:  "common practice, no source",
	})
}

// branchOf reports whether a joint of three hoses or more has one of its own
// size: a thinner one is a branch, and such joints are sold with it.
func (c *Context) branchOf(p *schema.Part, size unit.Metre) bool {
	if !p.Is(schema.Junction) || c.Sea().HosesAt(p) < 3 {
		return false
	}
	return slices.ContainsFunc(c.Boat.Hoses, func(h *schema.Hose) bool {
		return !h.Prepared && (h.From.Part == p || h.To.Part == p) && h.Bore.Given() && fits(h.Bore.V, size)
	})
}
