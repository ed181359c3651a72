package rules

import (
	"fmt"
	"strings"

	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

var valveDrowns = Rule{
	Name: "valve-drowns", Section: waterSolved,
	Asks:     "If a hose comes off, can a person be at the seacock before water covers it?",
	Why:      "a valve under dark water in a filling space is not found and not closed",
	Severity: "warning",
	Source:   "inflow by a short tube's coefficient 0.8 into the space's area, from its sole or lowest part; the person starts when water meets the alarm; reach as stated",
	Quiet:    "not for valves that stand shut in every condition with people aboard, nor openings above the laden waterline",
	Bad: `
fitout: 1
vessel: {length: 9 m, laden: 0.05 m}
spaces:
  engine: {title: Engine space, sole: -0.5 m, area: 1.5 m2}
parts:
  TH1: {kind: through-hull, service: intake, size: 1-1/2 in, height: -0.45 m, space: engine, seacock: {id: SC1, reach: 90 s, space: engine}}
  AL1: {kind: alarm, senses: water, watches: engine, space: engine, height: -0.47 m}
`,
	Good: `
fitout: 1
vessel: {length: 9 m, laden: 0.05 m}
spaces:
  engine: {title: Engine space, sole: -0.5 m, area: 1.5 m2}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.2 m, space: engine, seacock: {id: SC1, reach: 20 s, space: engine}}
  AL1: {kind: alarm, senses: water, watches: engine, space: engine, height: -0.47 m}
`,
	Check: checkValveDrowns,
}

func checkValveDrowns(c *Context) {
	for _, d := range c.Drownings() {
		c.Looked("valve-drowns")
		if d.Drowns() {
			c.Add(drowns(d))
			continue
		}
		c.data("valve-drowns", d.Missing, d.Cock.ID, d.Part.ID)
	}
}

func drowns(d survey.Drowning) diag.Finding {
	f := diag.Finding{
		Rule: "valve-drowns", Severity: diag.Warning, Span: d.Cock.At, At: []string{d.Cock.ID, d.Part.ID, d.Alarm.ID},
		Risk:   "the valve is not found and not closed; the boat fills through it",
		Do:     "set the alarm lower, the valve where it is reached sooner, or give it a handle that works from above",
		Source: "Q = Cd A √(2gh), Cd 0.8 for a short tube; times from the area of the space; laden and upright",
	}
	timed := len(d.Missing) == 0
	switch {
	case d.Below && !timed:
		f.Message = fmt.Sprintf("%s lies below the alarm %s: water covers it before anybody is told", d.Cock.Name(), d.Alarm.ID)
	case d.Below, d.Covered.Reached && (!d.Person.Reached || d.Covered.After < d.Person.After):
		f.Message = fmt.Sprintf("with its hose off (%s in) water covers %s after %s; a person told by %s is there after %s", litres(d.ShortTube), d.Cock.Name(), clock(d.Covered.After), d.Alarm.ID, arrival(d))
		if d.Below {
			f.Message += "; the valve lies below the alarm"
		}
		f.Value, f.Unit = seconds(d.Covered.After), "s"
		if d.Person.Reached {
			f.Limit = seconds(d.Person.After)
		}
	}
	if len(d.Others) > 0 {
		var list []string
		for _, o := range d.Others {
			list = append(list, fmt.Sprintf("%s after %s", o.What, clock(o.ShortTube.After)))
			f.At = append(f.At, o.Part.ID)
		}
		if f.Message == "" {
			f.Message = fmt.Sprintf("with the hose of %s off a person is there after %s, but water covers %s", d.Cock.Name(), arrival(d), strings.Join(list, ", "))
			f.Value, f.Limit, f.Unit = seconds(d.Others[0].ShortTube.After), seconds(d.Person.After), "s"
		} else {
			f.Message += "; it covers " + strings.Join(list, ", ")
		}
	}
	return f
}

func arrival(d survey.Drowning) string {
	if !d.Person.Reached {
		return "no time that can be told: the water stops short of the alarm"
	}
	return fmt.Sprintf("%s (alarm at %s)", clock(d.Person.After), clock(d.Told.After))
}

// clock prints a time as minutes and seconds: 1 min 40 s.
func clock(h unit.Hour) string {
	s := int(float64(h)*3600 + 0.5)
	switch {
	case s < 60:
		return fmt.Sprintf("%d s", s)
	case s < 7200:
		return fmt.Sprintf("%d min %d s", s/60, s%60)
	}
	return h.String()
}

func seconds(h unit.Hour) *float64 { return diag.Figure(float64(h) * 3600) }
