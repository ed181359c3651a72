package rules

import (
	"fmt"
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/tables"
)

var velocityHigh = Rule{
	Name: "velocity-high", Section: waterSolved,
	Asks:     "Does the water run no faster than is good for the line: 1.5 m/s to a pump, 2.5 m/s behind it?",
	Why:      "fast water costs head with the square of its speed, draws a suction down, and wears metal",
	Severity: "warning",
	Source:   "velocity limits: from memory; building practice for bores to 50 mm is 0.6 to 1.5 m/s",
	Bad: `
fitout: 1
parts:
  TH1: {kind: through-hull, service: intake, size: 1/2 in, height: -0.5 m}
  P1: {kind: pump, duty: circulating, drive: ac, height: -0.3 m, curve: {0 L/min: 8 m head, 60 L/min: 0 m head}}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m}
hoses:
  - {id: H1, path: [TH1, P1, TH2], bore: 13 mm, lengths: [0.5 m, 1 m]}
conditions:
  run: {running: [P1]}
`,
	Good: `
fitout: 1
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.5 m}
  P1: {kind: pump, duty: circulating, drive: ac, height: -0.3 m, curve: {0 L/min: 2 m head, 20 L/min: 0 m head}}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m}
hoses:
  - {id: H1, path: [TH1, P1, TH2], bore: 19 mm, lengths: [0.5 m, 1 m]}
conditions:
  run: {running: [P1]}
`,
	Check: checkVelocity,
}

func checkVelocity(c *Context) {
	var w worst
	seen := map[string][]string{}
	for _, cond := range c.conditions() {
		for _, k := range c.Water(cond).Circuits {
			if len(k.Pumps) == 0 {
				continue
			}
			c.data("velocity-high", k.Missing, idsOf(k.Pumps)...)
			for _, r := range k.Runs {
				c.velocities(&w, seen, cond, k, r)
			}
		}
	}
	for _, key := range w.keys {
		f := w.found[key]
		for _, id := range seen[key] {
			if !slices.Contains(f.At, id) {
				f.At = append(f.At, id)
			}
		}
		w.found[key] = f
	}
	w.report(c)
}

// velocities judges the hoses of one run; the stretches of one path on one side
// of the pump are one finding.
func (c *Context) velocities(w *worst, seen map[string][]string, cond *schema.Condition, k *survey.WaterCircuit, r *survey.WaterRun) {
	suctions := r.Suctions()
	for _, h := range k.Hoses() {
		f, ok := r.Hose(h)
		if !ok || h.Implied || f.Velocity == 0 || h.Length.Given() && h.Length.V == 0 {
			continue
		}
		c.Looked("velocity-high")
		limit, cite := tables.VelocityLimit(suctions[h])
		v := unit.MetrePerSecond(math.Abs(float64(f.Velocity)))
		if float64(v) <= float64(limit)*(1+1e-9) {
			continue
		}
		side, key := "behind", h.Path
		if suctions[h] {
			side, key = "to", h.Path+" suction"
		}
		if !slices.Contains(seen[key], h.ID) {
			seen[key] = append(seen[key], h.ID)
		}
		q := unit.LitrePerMin(math.Abs(float64(f.Flow)))
		w.add(key, float64(v)/float64(limit), diag.Finding{
			Rule: "velocity-high", Severity: diag.Warning, Span: h.At, At: []string{h.ID},
			Message: fmt.Sprintf("water runs at %.2f m/s (%.1f ft/s) in %s, the line %s the pump, %s: %s through %s; %.1f m/s is the limit there", float64(v), float64(v)/0.3048, h.ID, side, conditionText(cond), litres(q), h.Bore.V.BoreText(), float64(limit)),
			Risk:    "head lost with the square of the speed, noise, wear; on a suction the pump cavitates",
			Do:      fmt.Sprintf("use a bore of at least %s here", widerBore(q, unit.MetrePerSecond(limit)).BoreText()),
			Source:  cite.String(), Value: diag.Figure(v), Limit: diag.Figure(limit), Unit: "m/s", Condition: cond.ID, Attitude: leaning(r),
		})
	}
}

// widerBore is the least hose bore that carries a flow within a velocity.
func widerBore(q unit.LitrePerMin, limit unit.MetrePerSecond) unit.Metre {
	need := unit.Metre(math.Sqrt(float64(q) / 60000 / float64(limit) * 4 / math.Pi))
	for _, b := range tables.HoseBores() {
		if b >= need {
			return b
		}
	}
	return need
}
