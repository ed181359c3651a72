package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

var batteryCurrent = Rule{
	Name: "battery-current", Section: dcSolved,
	Asks:     "Does every battery stay within the current it may give and take, every load at full draw?",
	Why:      "a lithium pack that passes its limit disconnects itself and everything on it goes dark; a lead one overheats",
	Severity: "error",
	Source:   "the battery's own limits",
	Quiet:    "lead batteries without a stated limit have none that is judged here; starter motors are left out",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 100 Ah, max-discharge: 50 A, protection: internal, fault-current: 3 kA, restrained: yes}
  S1: {kind: switch, title: Battery, rating: 200 A}
  HT1: {kind: heater, draw: 60 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 80 A}, S1, HT1.+], size: 4 AWG, lengths: [0.1 m, 0.1 m, 0.3 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 4 AWG, length: 0.4 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 100 Ah, max-discharge: 100 A, protection: internal, fault-current: 3 kA, restrained: yes}
  S1: {kind: switch, title: Battery, rating: 200 A}
  HT1: {kind: heater, draw: 60 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 80 A}, S1, HT1.+], size: 4 AWG, lengths: [0.1 m, 0.1 m, 0.3 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 4 AWG, length: 0.4 m}
`,
	Check: checkBatteryCurrent,
}

func checkBatteryCurrent(c *Context) {
	looked := false
	c.eachEdge(trace.Battery, schema.DC, func(id int, e *trace.Edge) {
		c.Looked("")
		looked = true
		var out, in worstAmps
		c.eachDC(func(cond *schema.Condition, d *survey.DCState) {
			if !d.Bounded() {
				return
			}
			a, _ := d.EdgeAmps(id)
			if a > out.amps*(1+1e-9) {
				out = worstAmps{amps: a, cond: cond, d: d}
			}
			if -a > in.amps*(1+1e-9) {
				in = worstAmps{amps: -a, cond: cond, d: d}
			}
		})
		chem, known := tables.ChemistryOf(e.Part.Word("chemistry").V)
		c.batteryLimit(e, out, e.Part.Amps("max-discharge"), "max-discharge", "gives", known && !chem.Lead())
		c.batteryLimit(e, in, e.Part.Amps("max-charge"), "max-charge", "takes", known && !chem.Lead())
	})
	if looked {
		c.eachDC(func(_ *schema.Condition, d *survey.DCState) { c.lackDC("", d) })
	}
}

func (c *Context) batteryLimit(e *trace.Edge, x worstAmps, limit schema.Val[unit.Amp], name, verb string, needed bool) {
	switch {
	case x.amps < calm:
		return
	case !limit.Given():
		if needed {
			c.Missing("", name+" of "+e.Part.ID, e.Part.At, e.Part.ID)
		}
		return
	case x.amps <= limit.V*(1+1e-9):
		return
	}
	text := fmt.Sprintf("%s %s %s %s; its limit is %s", e.Part.Name(), verb, amps1(x.amps), conditionText(x.cond), limit.V)
	risk := "it overheats and ages"
	at := []string{e.Part.ID}
	if parts := e.Part.Word("protection").V; parts == "internal" || parts == "external" || e.Part.Has("disconnect") {
		risk = "its own protection disconnects it"
		if lost := c.lostWithout(x.d, e.Part); len(lost) > 0 {
			text += "; its protection then disconnects it, and " + brief(lost) + " lose their supply"
			if len(lost) == 1 {
				text = text[:len(text)-len(" lose their supply")] + " loses its supply"
			}
			risk = "it disconnects itself and " + brief(lost) + " go out at once"
		}
	}
	do := "a battery with a higher limit, one more in parallel, or less load at once"
	if verb == "takes" {
		do = "limit the charging sources together, or a battery with a higher limit"
	}
	c.Add(figure(diag.Finding{Severity: diag.Error, Span: e.Part.At, At: at, Message: text, Risk: risk, Do: do,
		Source: "the battery's own limit; nodal solution at full draw", Condition: condID(x.cond)}, x.amps, limit.V, "A"))
}

// lostWithout lists the loads that run in a state and that no source feeds once
// a battery has disconnected itself.
func (c *Context) lostWithout(d *survey.DCState, p *schema.Part) []string {
	after := d.Without(p)
	var lost []string
	for _, l := range d.Loads {
		if !l.Runs || !d.Fed(l.Edge.A) {
			continue
		}
		if after.Bounded() && after.Fed(l.Edge.A) {
			continue
		}
		lost = append(lost, l.Part.ID)
	}
	return lost
}
