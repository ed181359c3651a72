package rules

import (
	"fmt"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/water"
)

var pumpCannotLift = Rule{
	Name: "pump-cannot-lift", Section: waterSolved,
	Asks:     "Can every pump that runs lift its water over the crest of its line and out?",
	Why:      "a pump under its lift turns and moves nothing: what it cools overheats, what it should empty fills",
	Severity: "error",
	Source:   "pump curve at the voltage at its terminals (affinity laws, DOE-HDBK-1012/3); heights of the file",
	Quiet:    "a line that runs full may discharge lower than its crest, but the pump has to fill it first; a valve that usually stands shut is no finding in the built-in condition",
	Bad: `
fitout: 1
parts:
  BP1: {kind: pump, duty: bilge, submersible: yes, drive: ac, height: -0.6 m, curve: {0 L/min: 1.2 m head, 40 L/min: 0 m head}}
  TH1: {kind: through-hull, service: bilge, size: 1 in, height: 0.8 m}
hoses:
  - {id: H1, from: BP1.out, to: TH1, bore: 25 mm, length: 3 m}
`,
	Good: `
fitout: 1
parts:
  BP1: {kind: pump, duty: bilge, submersible: yes, drive: ac, height: -0.6 m, curve: {0 L/min: 3 m head, 40 L/min: 0 m head}}
  TH1: {kind: through-hull, service: bilge, size: 1 in, height: 0.8 m}
hoses:
  - {id: H1, from: BP1.out, to: TH1, bore: 25 mm, length: 3 m}
`,
	Check: checkLift,
}

func checkLift(c *Context) {
	var w worst
	c.eachPump("pump-cannot-lift", func(p runningPump) {
		if p.ShutOff > 0 {
			c.data("pump-cannot-lift", p.Prime.Missing, p.Pump.ID)
		}
		if p.State != water.CannotLift && p.State != water.Dry {
			return
		}
		if p.condition.BuiltIn && len(p.Shut) > 0 {
			return
		}
		if p.Dead && c.diesKnown(p.Pump) {
			return // one cause: unswitched-needed names the switch
		}
		f, over := c.cannotLift(p)
		w.add(p.Pump.ID, over, f)
	})
	w.report(c)
}

// diesKnown reports that a pump which dies with a switch is a finding already.
func (c *Context) diesKnown(p *schema.Part) bool {
	return slices.ContainsFunc(c.found, func(f diag.Finding) bool {
		return f.Rule == "unswitched-needed" && slices.Contains(f.At, p.ID)
	})
}

// cannotLift words the finding and says by how much the pump fails.
func (c *Context) cannotLift(p runningPump) (diag.Finding, float64) {
	f := diag.Finding{
		Rule: "pump-cannot-lift", Severity: diag.Error, Span: p.Pump.At, At: []string{p.Pump.ID},
		Risk:   "it turns and moves no water",
		Source: "pump curve against the heights of the line; affinity laws: DOE-HDBK-1012/3-92", Condition: p.condition.ID, Attitude: leaning(p.run),
	}
	switch {
	case p.Dead:
		f.Message = fmt.Sprintf("%s is said to run %s, and a switch keeps every source from it: it gets no voltage", p.Pump.Name(), conditionText(p.condition))
		f.Do = "close its switch in this condition, feed it ahead of that switch, or take it from what runs"
		f.Source = "DC solution of the condition"
		return f, 0.5
	case len(p.Shut) > 0:
		ids := idsOf(p.Shut)
		f.At = append(f.At, ids...)
		f.Message = fmt.Sprintf("%s runs %s while %s shut", p.Pump.Name(), conditionText(p.condition), standing(ids))
		f.Do = "open it before the pump runs, or let the pump rest in this condition"
		return f, 0.5
	case p.State == water.Dry:
		f.Message = fmt.Sprintf("no water reaches the inlet of %s %s", p.Pump.Name(), conditionText(p.condition))
		f.Do = "bring its intake under water in every attitude it runs in, and join its inlet to it"
		return f, 1
	case !p.Prime.Known || p.ShutOff > p.Prime.Lift:
		f.Message = fmt.Sprintf("%s moves no water %s: its %s of head at no flow%s is under what stands against it", p.Pump.Name(), conditionText(p.condition), headText(p.ShutOff), voltsText(p.PumpFlow))
		f.Do = "another pump or a head of water holds against it: part the lines, or fit a pump with more head"
		return f, 1
	}
	f.Message = fmt.Sprintf("%s can raise %s%s; its line asks for %s, over %s, before any water runs", p.Pump.Name(), headText(p.ShutOff), voltsText(p.PumpFlow), headText(p.Prime.Lift), p.Prime.At)
	f.Do = fmt.Sprintf("lower the crest at %s, or fit a pump with well over %s of head at no flow", p.Prime.At, headText(p.Prime.Lift))
	if !slices.Contains(f.At, p.Prime.At) && !strings.Contains(p.Prime.At, ".") && p.Prime.At != "" {
		f.At = append(f.At, p.Prime.At)
	}
	f.Value, f.Limit, f.Unit = diag.Figure(p.ShutOff), diag.Figure(p.Prime.Lift), "m"
	return f, 1 + float64(p.Prime.Lift-p.ShutOff)
}

func standing(ids []string) string {
	if len(ids) == 1 {
		return ids[0] + " stands"
	}
	return strings.Join(ids, ", ") + " stand"
}

var pumpOffCurve = Rule{
	Name: "pump-off-curve", Section: waterSolved,
	Asks:     "Does every pump work on its curve?",
	Why:      "past the end of its curve a pump overloads its motor and draws its inlet down; no figure of its maker holds there",
	Severity: "warning",
	Source:   "pump curve of the file; EPANET 2.2 User Manual, ch. 3, for its form",
	Bad: `
fitout: 1
parts:
  T1: {kind: tank, contents: fresh, height: 1.5 m, level: 2 m, loss: 0 m head}
  P1: {kind: pump, duty: transfer, drive: ac, height: 1 m, curve: {0 L/min: 1 m head, 10 L/min: 0.5 m head, 14 L/min: 0 m head, 15 L/min: 0 m head}}
  T2: {kind: tank, contents: fresh, height: -0.5 m, level: 0 m, loss: 0 m head}
hoses:
  - {id: H1, path: [T1.outlet, P1, T2.inlet], bore: 25 mm, lengths: [0.5 m, 0.5 m]}
`,
	Good: `
fitout: 1
parts:
  T1: {kind: tank, contents: fresh, height: -0.5 m, level: 0 m, loss: 0 m head}
  P1: {kind: pump, duty: transfer, drive: ac, height: -0.6 m, curve: {0 L/min: 3 m head, 40 L/min: 0 m head}}
  T2: {kind: tank, contents: fresh, height: 0.5 m, level: 1 m, loss: 0 m head}
hoses:
  - {id: H1, path: [T1.outlet, P1, T2.inlet], bore: 19 mm, lengths: [0.5 m, 3 m]}
`,
	Check: checkOffCurve,
}

func checkOffCurve(c *Context) {
	var w worst
	c.eachPump("pump-off-curve", func(p runningPump) {
		if p.State != water.OffCurve {
			return
		}
		f := diag.Finding{
			Rule: "pump-off-curve", Severity: diag.Warning, Span: p.Pump.At, At: []string{p.Pump.ID},
			Message: fmt.Sprintf("%s works outside its curve %s: its line would pass %s, the curve ends at %s%s", p.Pump.Name(), conditionText(p.condition), litres(p.Flow), litres(p.MaxFlow), voltsText(p.PumpFlow)),
			Risk:    "its motor overloads, its inlet cavitates, and no figure computed from its curve holds",
			Do:      "throttle the line or fit a pump for this flow; a curve with more points may tell more",
			Source:  "pump curve of the file", Value: diag.Figure(p.Flow), Limit: diag.Figure(p.MaxFlow), Unit: "L/min", Condition: p.condition.ID, Attitude: leaning(p.run),
		}
		if p.Flow < p.MaxFlow {
			f.Message = fmt.Sprintf("%s works outside its curve %s: it moves %s, less than the first point of the curve", p.Pump.Name(), conditionText(p.condition), litres(p.Flow))
			f.Limit = nil
		}
		w.add(p.Pump.ID, float64(p.Flow), f)
	})
	w.report(c)
}

// suctionLow is judged at pump inlets and at crests.
var suctionLow = Rule{
	Name: "suction-low", Section: waterSolved,
	Asks:     "Is the pressure at every pump inlet above what the pump needs, and at every crest above boiling?",
	Why:      "below it the water boils in the pump: it rattles, loses its head and wears out",
	Severity: "warning",
	Source:   "NPSH available at least 1.3 times the need: TP-410, example 7.32; vapour pressure by temperature and salinity",
	Quiet:    "a submersible pump stands in its water",
	Bad: `
fitout: 1
parts:
  TH1: {kind: through-hull, service: intake, size: 1 in, height: -0.5 m}
  P1: {kind: pump, duty: wash, drive: ac, design: diaphragm, height: 3.5 m, npsh: 6 m head, curve: {0 L/min: 30 m head, 25 L/min: 0 m head}}
  WD1: {kind: washdown, height: 3.6 m, loss: {10 L/min: 10 m head}}
hoses:
  - {id: H1, path: [TH1, P1, WD1], bore: 19 mm, lengths: [5 m, 3 m]}
`,
	Good: `
fitout: 1
parts:
  TH1: {kind: through-hull, service: intake, size: 1 in, height: -0.5 m}
  P1: {kind: pump, duty: wash, drive: ac, design: diaphragm, height: 0.2 m, npsh: 6 m head, curve: {0 L/min: 30 m head, 25 L/min: 0 m head}}
  WD1: {kind: washdown, height: 2.6 m, loss: {10 L/min: 10 m head}}
hoses:
  - {id: H1, path: [TH1, P1, WD1], bore: 19 mm, lengths: [1 m, 5 m]}
`,
	Check: checkSuction,
}

func checkSuction(c *Context) {
	var w worst
	c.eachPump("suction-low", func(p runningPump) {
		if p.State == water.CannotLift || p.State == water.Dry {
			return
		}
		c.crests(&w, p)
		if p.Pump.Flag("submersible").V {
			return
		}
		c.judgeNPSH(&w, p)
		if p.AirAt != "" {
			w.add(p.Pump.ID+" air", 0, diag.Finding{
				Rule: "suction-low", Severity: diag.Warning, Span: p.Pump.At, At: []string{p.Pump.ID},
				Message: fmt.Sprintf("%s draws air at %s %s: its line is below atmosphere there", p.Pump.Name(), p.AirAt, conditionText(p.condition)),
				Risk:    "a pump that draws air loses its prime", Do: "take the opening off the suction side",
				Source: "computed pressure along the line", Condition: p.condition.ID, Attitude: leaning(p.run),
			})
		}
	})
	w.report(c)
}

func (c *Context) judgeNPSH(w *worst, p runningPump) {
	if p.Pump.Kind.Attr("npsh") == nil { // the own pump of equipment: its maker's
		return
	}
	need := p.Pump.Head("npsh")
	switch {
	case !need.Given() && !p.HasNPSH:
		c.data("suction-low", p.run.InletMissing(p.Pump), p.Pump.ID)
		fallthrough
	case !need.Given() && p.HasNPSH && p.NPSH > 0:
		c.Missing("suction-low", "npsh of "+p.Pump.ID, p.Pump.At, p.Pump.ID)
		return
	case !p.HasNPSH:
		c.data("suction-low", p.run.InletMissing(p.Pump), p.Pump.ID)
		return
	}
	limit := unit.Head(tables.NPSHMargin * float64(need.V))
	if p.NPSH >= limit-1e-9 {
		return
	}
	w.add(p.Pump.ID, float64(limit-p.NPSH), diag.Finding{
		Rule: "suction-low", Severity: diag.Warning, Span: p.Pump.At, At: []string{p.Pump.ID},
		Message: fmt.Sprintf("%s has %s of net positive suction head %s; it needs %s, with margin %s", p.Pump.Name(), headText(p.NPSH), conditionText(p.condition), headText(need.V), headText(limit)),
		Risk:    "water boils in the pump: it rattles, loses its head and wears out",
		Do:      "set the pump lower, widen or shorten its suction, clean the strainer",
		Source:  "margin of 1.3: TP-410, example 7.32; computed pressure at the inlet",
		Value:   diag.Figure(p.NPSH), Limit: diag.Figure(limit), Unit: "m", Condition: p.condition.ID, Attitude: leaning(p.run),
	})
}

// crests judges the peaks of hoses against the pressure at which water boils.
func (c *Context) crests(w *worst, p runningPump) {
	for _, h := range p.circuit.Hoses() {
		f, ok := p.run.Hose(h)
		if !ok || !f.HasCrest || f.Flow == 0 {
			continue
		}
		limit := p.run.VapourLimit()
		if f.CrestPressure >= limit {
			continue
		}
		w.add(h.ID, float64(limit-f.CrestPressure), diag.Finding{
			Rule: "suction-low", Severity: diag.Warning, Span: h.At, At: []string{h.ID, p.Pump.ID},
			Message: fmt.Sprintf("the water boils at the crest of %s %s: %.2f m of head there, boiling at %.2f m", h.ID, conditionText(p.condition), float64(f.CrestPressure), float64(limit)),
			Risk:    "the column parts and the flow computed does not come about", Do: "lower the crest of the hose",
			Source: "vapour pressure of the water at its temperature", Value: diag.Figure(f.CrestPressure), Limit: diag.Figure(limit), Unit: "m", Condition: p.condition.ID, Attitude: leaning(p.run),
		})
	}
}
