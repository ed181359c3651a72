package rules

import (
	"fmt"
	"math"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

var readingOff = Rule{
	Name: "reading-off", Section: boatSection,
	Asks:     "Does every value measured aboard agree with the computed one?",
	Why:      "the boat is not as the file says, or a joint, a pump or a strainer is failing",
	Severity: "warning",
	Source:   "the file's own readings against the solution of the condition",
	Quiet:    "within 10 %, or what the reading says; volts and amperes may lie anywhere between full draw and the mean of the loads that come and go",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, emf: 12.8 V, resistance: 5 mohm, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  HT1: {kind: heater, draw: 20 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 30 A}, HT1.+], size: 6 AWG, lengths: [0.1 m, 0.9 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 6 AWG, length: 1 m}
conditions:
  warm: {title: Heater on, running: [HT1]}
readings:
  - {date: 2026-05-02, condition: warm, at: HT1.+, volts: 10.9 V}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, emf: 12.8 V, resistance: 5 mohm, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  HT1: {kind: heater, draw: 20 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 30 A}, HT1.+], size: 6 AWG, lengths: [0.1 m, 0.9 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 6 AWG, length: 1 m}
conditions:
  warm: {title: Heater on, running: [HT1]}
readings:
  - {date: 2026-05-02, condition: warm, at: HT1.+, volts: 12.5 V}
`,
	Check: func(c *Context) {
		electricReadings(c)
		waterReadings(c)
	},
}

// electricReadings holds readings of volts and amperes against the solution.
func electricReadings(c *Context) {
	for i := range c.Boat.Readings {
		r := &c.Boat.Readings[i]
		if r.Condition == nil || r.Where.Part == nil || !r.Current.Given() && !r.Volts.Given() {
			continue
		}
		c.Looked("reading-off")
		d := c.DC(r.Condition)
		if !d.Solved() {
			c.lackDC("reading-off", d)
			continue
		}
		if r.Volts.Given() {
			c.voltReading(d, r)
		}
		if r.Current.Given() {
			c.ampReading(d, r)
		}
	}
}

func (c *Context) voltReading(d *survey.DCState, r *schema.Reading) {
	e, ok := d.ExpectedVolts(r.Where)
	if !ok {
		c.Missing("reading-off", "volts at "+r.Where.String(), r.At, r.Where.Part.ID)
		return
	}
	v, off := e.Stray(float64(r.Volts.V), r.Within.Or(survey.UsualWithin))
	if !off {
		return
	}
	cause := "a battery fuller than the file says, or a charging source that the condition does not name"
	switch over := d.OverDevice(r.Where); {
	case over && float64(r.Volts.V) > v:
		cause = fmt.Sprintf("%s too much over %s: a contact or a lug of high resistance in it", volts2(r.Volts.V-unit.Volt(v)), r.Where.Part.ID)
	case over:
		cause = "a load of the condition that does not run, or another way for the current past " + r.Where.Part.ID
	case float64(r.Volts.V) < v:
		cause = c.lossBetween(d, r)
	default:
		if beyond := c.lossBeyond(d, r); beyond != "" {
			cause = beyond + "; or " + cause
		}
	}
	c.offReading(r, float64(r.Volts.V), v, "V", volts2(r.Volts.V), volts2(unit.Volt(v)), cause)
}

func (c *Context) ampReading(d *survey.DCState, r *schema.Reading) {
	e, ok := d.ExpectedAmps(r.Where)
	if !ok {
		c.Missing("reading-off", "a current that the file gives a place at "+r.Where.String(), r.At, r.Where.Part.ID)
		return
	}
	read := math.Abs(float64(r.Current.V))
	computed, off := e.Stray(read, r.Within.Or(survey.UsualWithin))
	if !off {
		return
	}
	cause := "a load the condition does not name, one that draws more than stated, or leakage, behind " + r.Where.Part.ID
	if read < computed {
		cause = "a load of the condition that does not run or draws less than stated, behind " + r.Where.Part.ID + c.weakSource(d, r)
	}
	c.offReading(r, read, computed, "A", amps1(unit.Amp(read)), amps1(unit.Amp(computed)), cause)
}

func (c *Context) leftOnBattery() {
	for _, cond := range c.Conditions() {
		if !cond.Unattended.V || !cond.Hours.Given() {
			continue
		}
		c.Looked("left-on")
		c.lackDC("left-on", c.DCWithoutCranking(cond))
		for _, s := range c.emptying(cond, "left-on") {
			d := c.DC(cond).Mean()
			var names []string
			most, heaviest := unit.Amp(0), ""
			for _, l := range d.Loads {
				if a, ok := d.LoadAmps(l); ok && l.Runs && a > 0 {
					names = append(names, l.Part.ID)
					if a > most {
						most, heaviest = a, l.Part.ID
					}
				}
			}
			at := append(append([]string(nil), names...), ids(s.Batteries)...)
			if len(names) == 0 {
				at = ids(s.Batteries)
			}
			text := fmt.Sprintf("%s is empty after %s %s, at a mean of %s", list(ids(s.Batteries)), hoursText(s.Hours), conditionText(cond), amps1(s.Amps))
			if heaviest != "" {
				text += fmt.Sprintf(" (%s takes %s)", heaviest, amps1(most))
			}
			c.Add(figure(diag.Finding{Rule: "left-on", Severity: diag.Warning, Span: cond.At, At: at, Message: fmt.Sprintf("%s; nobody is aboard for %s", text, hoursText(cond.Hours.V)),
				Risk:   "the bilge pump and the alarms stop with it",
				Do:     "switch off what need not run, charge by sun or shore, or come sooner",
				Source: "mean current against the usable share, Peukert in the rated-hour form", Condition: cond.ID}, s.Hours, cond.Hours.V, "h"))
		}
	}
}
