package rules

import (
	"fmt"

	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

// pumpNotFlooded judges how low centrifugal circulating pumps stand.
var pumpNotFlooded = Rule{
	Name: "pump-not-flooded", Section: waterStatic,
	Asks:     "Is the inlet of every centrifugal circulating pump below the sea in every attitude it runs in?",
	Why:      "it does not draw water up: with its inlet above the sea it runs dry and is ruined",
	Severity: "error upright, warning heeled in a condition it runs in",
	Source:   "common practice, no source; class rules on sea-water cooling pumps",
	Quiet:    "not for a pump that primes itself, nor for bilge, sump and waste pumps",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.6 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  ST1: {kind: strainer, size: 3/4 in, height: -0.45 m, offset: 0 m}
  P1: {kind: pump, duty: circulating, design: centrifugal, height: 0.1 m, offset: 0 m}
  AC1: {kind: aircon, capacity: 9000 BTU/h, height: 0.4 m, offset: 0 m}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m, offset: 0.5 m}
hoses:
  - {id: H1, path: [TH1, ST1, P1, AC1.water-in], bore: 19 mm, lengths: [0.5 m, 2 m, 2 m], clamps: 2}
  - {id: H2, from: AC1.water-out, to: TH2, bore: 19 mm, length: 2 m, clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.6 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  ST1: {kind: strainer, size: 3/4 in, height: -0.45 m, offset: 0 m}
  P1: {kind: pump, duty: circulating, design: centrifugal, height: -0.3 m, offset: 0 m}
  AC1: {kind: aircon, capacity: 9000 BTU/h, height: 0.4 m, offset: 0 m}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m, offset: 0.5 m}
hoses:
  - {id: H1, path: [TH1, ST1, P1, AC1.water-in], bore: 19 mm, lengths: [0.5 m, 2 m, 2 m], clamps: 2}
  - {id: H2, from: AC1.water-out, to: TH2, bore: 19 mm, length: 2 m, clamps: 2}
`,
	Check: checkFloodedPumps,
}

func checkFloodedPumps(c *Context) {
	for _, p := range c.seaPumps() {
		if p.own || !p.centrifugal || p.data.Duty != "circulating" && p.data.Duty != "" {
			continue
		}
		c.nameDesign(p)
		c.Looked("pump-not-flooded")
		c.judgeFlooded(p)
	}
}

// judgeFlooded takes the static waterline, the boat at her lightest: laden the
// pump only lies deeper.
func (c *Context) judgeFlooded(p seaPump) {
	point := c.Sea().Nodes[p.in].Point
	var worst *diag.Finding
	var missing []survey.Lack
	for _, a := range c.FlowAttitudes() {
		if !a.Upright() && !runsIn(a, p.part.ID) {
			continue
		}
		l := c.HeightOf(point, a.Attitude)
		if d, lacks := c.Lacks(point, a.Attitude); lacks {
			missing = addLack(missing, d)
			continue
		}
		if l.Lo < -tinyHeight {
			continue
		}
		f := c.notFlooded(p, a, l.Lo)
		if worst == nil || worst.Severity < f.Severity || worst.Severity == f.Severity && *worst.Value < *f.Value && worst.Attitude != "upright" {
			worst = f
		}
	}
	if worst != nil {
		c.Add(*worst)
		return
	}
	c.lacks("pump-not-flooded", missing, p.part.ID)
}

// runsIn reports whether a part runs in the condition that gives an attitude.
func runsIn(a survey.FlowAttitude, id string) bool {
	if a.Condition == nil {
		return false
	}
	for _, r := range a.Condition.Running {
		if r.Part != nil && r.Part.ID == id {
			return true
		}
	}
	return false
}

func (c *Context) notFlooded(p seaPump, a survey.FlowAttitude, h float64) *diag.Finding {
	f := &diag.Finding{
		Rule: "pump-not-flooded", Severity: diag.Error, Span: p.part.At, At: []string{p.part.ID}, Attitude: a.Attitude.String(),
		Value: diag.Figure(unit.Metre(h)), Limit: diag.Figure(0.0), Unit: "m",
		Message: fmt.Sprintf("the inlet of centrifugal pump %s stands %s above the static waterline when %s; it does not prime itself",
			p.part.ID, tall(h), a.Attitude),
		Risk:   "the pump runs dry, and the equipment without water",
		Do:     "put the pump below the waterline, 0.3 m (1 ft) under it where there is room, or use one that primes itself",
		Source: "common practice, no source; the boat at her lightest, the static waterline, is the worst",
	}
	if !a.Upright() {
		f.Severity, f.Condition = diag.Warning, conditionID(a.Condition)
	}
	return f
}
