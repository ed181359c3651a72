package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
)

// singleClamp counts the clamps at the ends of hoses on the sea side.
var singleClamp = Rule{
	Name: "single-clamp", Section: waterStatic,
	Asks:     "Has every hose on the sea side two clamps at each end?",
	Why:      "one clamp that corrodes through lets the hose off and the sea in",
	Severity: "error under iso, warning under us",
	Source:   "iso: ISO small-craft rule as reported in the trade press; us: Boat Mechanical Systems Handbook, ch. 17 (H-27 asks for one clamp only)",
	Quiet:    "not for a close nipple, nor where the line has risen above the heeled waterline",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, drive: hand, duty: wash, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 1}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, drive: hand, duty: wash, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 2}
`,
	Check: checkClamps,
}

// clampLine is the stretches of one written hose on the sea side.
type clampLine struct {
	ids   []string
	first *schema.Hose
	side  *survey.Side
}

func checkClamps(c *Context) {
	c.floodDefaults()
	index := map[string]*clampLine{}
	var order []*clampLine
	sides := c.SeaSide()
	for _, h := range c.Boat.Hoses {
		side := sides[h]
		if side == nil || h.Implied || h.Length.Given() && h.Length.V == 0 {
			continue
		}
		c.Looked("single-clamp")
		if h.Clamps.Given() && h.Clamps.V >= 2 {
			continue
		}
		switch {
		case !side.Wet:
			c.lacks("single-clamp", side.Missing, h.ID)
		case !h.Clamps.Given():
			c.Missing("single-clamp", "clamps of "+h.ID, h.At, h.ID)
		default:
			l := index[h.Path]
			if l == nil || h.Path == "" {
				l = &clampLine{first: h, side: side}
				index[h.Path] = l
				order = append(order, l)
			}
			l.ids = append(l.ids, h.ID)
		}
	}
	for _, l := range order {
		c.addClamps(l)
	}
}

func (c *Context) addClamps(l *clampLine) {
	f := diag.Finding{
		Rule: "single-clamp", Severity: diag.Warning, Span: l.first.At, At: append(l.ids, l.side.From.ID()),
		Value: diag.Figure(float64(l.first.Clamps.V)), Limit: diag.Figure(2.0), Unit: "clamps",
		Message: fmt.Sprintf("%s on the sea side of %s with %s at each end; two are wanted", hoseWords(l.ids), l.side.From.ID(), clampCount(l.first.Clamps.V)),
		Risk:    "one clamp that corrodes or slips lets the sea in",
		Do:      "fit a second stainless clamp at each end where the tail is long enough to carry both",
		Source:  "Boat Mechanical Systems Handbook, ch. 17; H-27 asks for one only (trade press)",
	}
	if c.Boat.Rules.ISO() {
		f.Severity, f.Source = diag.Error, "ISO small-craft rule as reported in the trade press"
	}
	if v := l.first.Clamps; v.From == schema.Own && v.At.Valid() {
		f.Fix = &diag.Fix{Title: "set the clamps of " + l.first.Path + " to 2", Edits: []diag.Edit{{Span: v.At, New: "2"}}}
	}
	c.Add(f)
}

func clampCount(n int) string {
	switch n {
	case 0:
		return "no clamp"
	case 1:
		return "one clamp"
	}
	return fmt.Sprintf("%d clamps", n)
}
