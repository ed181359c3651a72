package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
)

// ventSags looks for vent lines in which water stands.
var ventSags = Rule{
	Name: "vent-sags", Section: waterStatic,
	Asks:     "Does every vent line of a tank or a vented loop rise all the way, so that no water stands in it?",
	Why:      "water in a sag shuts the vent as well as a plug does",
	Severity: "warning",
	Source:   "physics; common practice, no source",
	Quiet:    "not for a line without a stated dip or peak",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  FT1: {kind: tank, contents: fresh, capacity: 200 L, height: 0.3 m, offset: 0 m}
  TV1: {kind: tank-vent, size: 5/8 in, height: 1 m, offset: 1.2 m}
  P1: {kind: pump, drive: hand, duty: pressure, height: 0 m, offset: 0 m}
  TP1: {kind: tap, height: 0.9 m, offset: 0 m}
hoses:
  - {id: H1, path: [FT1.outlet, P1, TP1.in], bore: 13 mm, lengths: [1 m, 2 m], rating: potable}
  - {id: H2, from: FT1.vent, to: TV1, bore: 16 mm, length: 2 m, dip: 0.1 m}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  FT1: {kind: tank, contents: fresh, capacity: 200 L, height: 0.3 m, offset: 0 m}
  TV1: {kind: tank-vent, size: 5/8 in, height: 1 m, offset: 1.2 m}
  P1: {kind: pump, drive: hand, duty: pressure, height: 0 m, offset: 0 m}
  TP1: {kind: tap, height: 0.9 m, offset: 0 m}
hoses:
  - {id: H1, path: [FT1.outlet, P1, TP1.in], bore: 13 mm, lengths: [1 m, 2 m], rating: potable}
  - {id: H2, from: FT1.vent, to: TV1, bore: 16 mm, length: 2 m}
`,
	Check: checkVentSags,
}

func checkVentSags(c *Context) {
	sea, upright := c.Sea(), survey.NewAttitude(0, 0)
	for i := range sea.Ways {
		w := &sea.Ways[i]
		if w.Hose == nil || !ventLine(w.Hose) {
			continue
		}
		c.Looked("vent-sags")
		if len(w.Dips) == 0 {
			continue
		}
		low := c.LowestOf(w.Dips, upright)
		for _, n := range [2]int{w.A, w.B} {
			if d, lacks := c.Lacks(sea.Nodes[n].Point, upright); lacks {
				c.lacks("vent-sags", []survey.Lack{d}, w.Hose.ID)
			}
		}
		a, b := c.HeightOf(sea.Nodes[w.A].Point, upright), c.HeightOf(sea.Nodes[w.B].Point, upright)
		sag := min(a.Lo, b.Lo) - low.Lo
		if !a.Known() || !b.Known() || sag <= tinyHeight {
			continue
		}
		c.Add(diag.Finding{
			Rule: "vent-sags", Severity: diag.Warning, Span: w.Hose.At, At: []string{w.Hose.ID, sea.Nodes[w.A].ID(), sea.Nodes[w.B].ID()},
			Value: diag.Figure(sag), Limit: diag.Figure(0.0), Unit: "m",
			Message: fmt.Sprintf("vent line %s sags %s below its lower end", w.Hose.ID, tall(sag)),
			Risk:    "water stands in the sag and shuts the vent", Do: "let the line rise all the way from what it vents",
			Source: "physics; common practice, no source",
		})
	}
}

// ventLine reports whether a hose leads from the vent of a tank or a vented loop.
func ventLine(h *schema.Hose) bool {
	for _, e := range []schema.HoseEnd{h.From, h.To} {
		if e.Part != nil && e.Part.Roles().Any(schema.Holding|schema.Vent) && survey.IsVent(e.Terminal) {
			return true
		}
	}
	return false
}
