package rules

import (
	"fmt"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/water"
)

var flowTooLow = Rule{
	Name: "flow-too-low", Section: waterSolved,
	Asks:     "Does every unit get the water it needs, with all that runs beside it, in every condition?",
	Why:      "a unit that is short of water overheats or trips, most likely on the hottest day",
	Severity: "error",
	Source:   "the unit's stated need; else heat / (density × specific heat × rise), rise 5.6 K (10 °F) by the condenser rating convention (AHRI 450 basis)",
	Quiet:    "units that stand in a condition are not judged in it; a pump that cannot lift speaks for the units behind it",
	Bad: `
fitout: 1
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.5 m}
  P1: {kind: pump, duty: circulating, drive: ac, height: -0.3 m, curve: {0 L/min: 2 m head, 12 L/min: 0 m head}}
  AC1: {kind: aircon, supply: ac, capacity: 9000 BTU/h, flow: 10 L/min, height: 0.2 m, loss: {10 L/min: 0.9 m head}}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m}
hoses:
  - {id: H1, path: [TH1, P1, AC1.water-in], bore: 16 mm, lengths: [0.5 m, 2 m]}
  - {id: H2, from: AC1.water-out, to: TH2, bore: 16 mm, length: 2 m}
conditions:
  anchor: {running: [AC1, P1]}
`,
	Good: `
fitout: 1
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.5 m}
  P1: {kind: pump, duty: circulating, drive: ac, height: -0.3 m, curve: {0 L/min: 3 m head, 40 L/min: 0 m head}}
  AC1: {kind: aircon, supply: ac, capacity: 9000 BTU/h, flow: 10 L/min, height: 0.2 m, loss: {10 L/min: 0.9 m head}}
  TH2: {kind: through-hull, service: discharge, size: 3/4 in, height: 0.3 m}
hoses:
  - {id: H1, path: [TH1, P1, AC1.water-in], bore: 19 mm, lengths: [0.5 m, 2 m]}
  - {id: H2, from: AC1.water-out, to: TH2, bore: 19 mm, length: 2 m}
conditions:
  anchor: {running: [AC1, P1]}
`,
	Check: checkFlow,
}

func checkFlow(c *Context) {
	var w worst
	for _, cond := range c.conditions() {
		state := c.Water(cond)
		c.assumed(state)
		for _, p := range c.SeaUsers() {
			c.judgeFlow(&w, state, p)
		}
	}
	w.report(c)
}

// judgeFlow judges one unit in one condition, in every attitude.
func (c *Context) judgeFlow(w *worst, state *survey.WaterState, p *schema.Part) {
	cond, circuit := state.Condition, state.Of(p)
	if !wantsWater(c, state, p) {
		return
	}
	if circuit == nil {
		e, _ := state.Equipment(p)
		c.unfed(w, state, p, e)
		return
	}
	c.Looked("flow-too-low")
	if len(circuit.Missing) > 0 {
		if c.neverEnough(w, state, circuit, p) {
			return
		}
		c.data("flow-too-low", circuit.Missing, p.ID)
		return
	}
	if circuit.Failed != nil {
		c.unsolved("flow-too-low", circuit)
	}
	for _, r := range circuit.Runs {
		e, ok := r.Equipment(p)
		if !ok || !e.HasNeeds {
			c.Missing("flow-too-low", "flow of "+p.ID, p.At, p.ID)
			return
		}
		if e.ByHeat {
			c.Default(p.ID, "flow", fmt.Sprintf("%.1f L/min", float64(e.Needs)), fmt.Sprintf("what its heat needs for a rise of %.1f K (10 °F), AHRI 450 basis", float64(tables.WaterRise)))
		}
		if float64(e.Flow) >= float64(e.Needs)*(1-1e-9) || pumpSpeaks(r, circuit) {
			continue
		}
		w.add(p.ID, 1-float64(e.Flow)/float64(e.Needs), c.tooLow(e, cond, r, circuit))
	}
}

// neverEnough judges a circuit that cannot be solved: where its pumps give less
// than the unit needs even at no head, no missing loss can make it enough.
func (c *Context) neverEnough(w *worst, state *survey.WaterState, k *survey.WaterCircuit, p *schema.Part) bool {
	e, needs := state.Needs(p)
	most, known := state.FreeFlow(k)
	if !needs || !known || float64(most) >= float64(e.Needs)*(1-1e-9) {
		return false
	}
	e.Flow = most
	f := c.lowFinding(e, state.Condition, fmt.Sprintf("%s needs %s; its pumps give %s at most, at no head and in no line, %s",
		p.Name(), litres(e.Needs), litres(most), conditionText(state.Condition)))
	f.At = append(f.At, idsOf(k.Pumps)...)
	f.Do = "fit a pump whose curve gives this flow at the head of the line, and state what the line takes"
	w.add(p.ID, 1-float64(most)/float64(e.Needs), f)
	return true
}

// wantsWater reports whether a unit works in a condition: it runs, or it is no
// load of its own and its water is pumped.
func wantsWater(c *Context, state *survey.WaterState, p *schema.Part) bool {
	if c.Runs(state.Condition, p) {
		return true
	}
	if p.Is(schema.Load) || p.Is(schema.Engine) {
		return false
	}
	k := state.Of(p)
	return k != nil && len(k.Pumps) > 0
}

// pumpSpeaks reports that every pump of the circuit moves nothing: one cause, one
// finding, at the pump.
func pumpSpeaks(r *survey.WaterRun, k *survey.WaterCircuit) bool {
	for _, p := range k.Pumps {
		if f, ok := r.Pump(p); ok && f.State != water.CannotLift && f.State != water.Dry {
			return false
		}
	}
	return true
}

// unfed judges a unit that runs while nothing moves its water.
func (c *Context) unfed(w *worst, state *survey.WaterState, p *schema.Part, e survey.EquipmentFlow) {
	cond := state.Condition
	c.Looked("flow-too-low")
	if !e.HasNeeds {
		c.Missing("flow-too-low", "flow of "+p.ID, p.At, p.ID)
		return
	}
	f := c.lowFinding(e, cond, fmt.Sprintf("%s gets no water %s: no pump on its line runs", p.Name(), conditionText(cond)))
	f.Do = "let its pump run with it, or join its water to a pump that does"
	w.add(p.ID, 1, f)
}

func (c *Context) tooLow(e survey.EquipmentFlow, cond *schema.Condition, r *survey.WaterRun, k *survey.WaterCircuit) diag.Finding {
	need := "needs"
	if e.ByHeat {
		need = fmt.Sprintf("needs for a rise of %.1f K", float64(tables.WaterRise))
	}
	text := fmt.Sprintf("%s gets %s %s; it %s %s", e.Part.Name(), litres(e.Flow), conditionText(cond), need, litres(e.Needs))
	if e.Rise > 0 {
		text += fmt.Sprintf("; its water leaves %.1f K (%.0f °F) warmer", float64(e.Rise), float64(e.Rise)*1.8)
	}
	f := c.lowFinding(e, cond, text)
	f.Attitude = leaning(r)
	f.At = append(f.At, idsOf(k.Pumps)...)
	f.Do = "shorten the line, widen its hoses and fittings, or fit a pump whose curve gives this flow at this head"
	if others := beside(k, e.Part); others != "" {
		f.Do += "; " + others + " shares its circuit: balance them or give each its own"
	}
	return f
}

func (c *Context) lowFinding(e survey.EquipmentFlow, cond *schema.Condition, text string) diag.Finding {
	source := "computed from hose, fittings and pump curve; need as stated by the file"
	if e.ByHeat {
		source = "computed from hose, fittings and pump curve; need from the heat: " + tables.RatingCite().String()
	}
	return diag.Finding{
		Rule: "flow-too-low", Severity: diag.Error, Span: e.Part.At, At: []string{e.Part.ID},
		Message: text, Risk: "the unit overheats or trips", Source: source,
		Value: diag.Figure(e.Flow), Limit: diag.Figure(e.Needs), Unit: "L/min", Condition: cond.ID,
	}
}

// beside names other units on the same circuit.
func beside(k *survey.WaterCircuit, p *schema.Part) string {
	var ids []string
	for _, o := range k.Units() {
		if o != p {
			ids = append(ids, o.ID)
		}
	}
	return strings.Join(ids, ", ")
}
