package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/water"
)

// waterReadings holds readings of flow, head and temperature rise against the
// computed values; reading-off calls it for its water part.
func waterReadings(c *Context) {
	for i := range c.Boat.Readings {
		r := &c.Boat.Readings[i]
		if r.Condition == nil || r.Where.Part == nil {
			continue
		}
		state := c.Water(r.Condition)
		if r.Flow.Given() {
			c.flowReading(state, r)
		}
		if r.Rise.Given() {
			c.riseReading(state, r)
		}
		if r.Head.Given() {
			c.headReading(state, r)
		}
	}
}

func (c *Context) flowReading(state *survey.WaterState, r *schema.Reading) {
	c.Looked("reading-off")
	e, missing, ok := state.ExpectedFlow(r.Where)
	if !ok {
		c.flowUnknown(missing, r)
		return
	}
	q, off := e.Stray(float64(r.Flow.V), r.Within.Or(survey.UsualWithin))
	if off {
		c.offReading(r, float64(r.Flow.V), q, "L/min", litres(r.Flow.V), litres(unit.LitrePerMin(q)), flowCause(float64(r.Flow.V) < q))
	}
}

func (c *Context) flowUnknown(missing []survey.Datum, r *schema.Reading) {
	if len(missing) == 0 {
		missing = []survey.Datum{{Missing: "a running pump at " + r.Where.String(), At: r.At}}
	}
	c.data("reading-off", missing, r.Where.Part.ID)
}

// riseReading judges a temperature rise by the flow that it tells of.
func (c *Context) riseReading(state *survey.WaterState, r *schema.Reading) {
	c.Looked("reading-off")
	told, ok := c.FlowFromThermometers(r.Condition, r.Where.Part, water.Kelvin(r.Rise.V))
	if !ok {
		c.Missing("reading-off", "heat of "+r.Where.Part.ID, r.At, r.Where.String())
		return
	}
	computed, missing, ok := state.FlowAt(r.Where.Part, r.Where.Terminal)
	if !ok {
		c.flowUnknown(missing, r)
		return
	}
	if e, ok := state.ExpectedRise(r.Where); ok {
		if _, off := e.Stray(float64(r.Rise.V), r.Within.Or(survey.UsualWithin)); !off {
			return
		}
	}
	c.offReading(r, float64(told), float64(computed), "L/min", fmt.Sprintf("a rise of %.3g K tells of %s", float64(r.Rise.V), litres(told)), litres(computed), flowCause(told < computed))
}

func flowCause(less bool) string {
	if less {
		return "a strainer half blocked, a hose kinked or furred, a weak pump or low voltage: read the head before and behind the pump to tell which"
	}
	return "a bore, length or loss of the line stated worse than it is, or another way for the water"
}

func (c *Context) headReading(state *survey.WaterState, r *schema.Reading) {
	c.Looked("reading-off")
	h, ok := state.HeadAt(r.Where.Part, r.Where.Terminal)
	if !ok || !h.HasPressure {
		missing := state.Missing(r.Where.Part)
		if len(missing) == 0 {
			missing = []survey.Datum{{Missing: "height of " + r.Where.Part.ID, At: r.At}}
		}
		c.data("reading-off", missing, r.Where.Part.ID)
		return
	}
	e, _ := state.ExpectedHead(r.Where)
	from, off := e.Stray(float64(r.Head.V), r.Within.Or(survey.UsualWithin))
	if !off {
		return
	}
	cause := "a restriction behind the gauge, or less flow than computed"
	if float64(r.Head.V) < from {
		cause = "a restriction ahead of the gauge, or a pump below its curve"
	}
	c.offReading(r, float64(r.Head.V), from, "m", headText(r.Head.V), headText(unit.Head(from)), cause)
}

// offReading reports a reading that strays.
func (c *Context) offReading(r *schema.Reading, measured, computed float64, in, said, found, cause string) {
	c.Add(diag.Finding{
		Rule: "reading-off", Severity: diag.Warning, Span: r.At, At: []string{r.Where.Part.ID},
		Message: fmt.Sprintf("the reading at %s %s was %s; %s is computed, and it may stray by %v", r.Where, conditionText(r.Condition), said, found, r.Within.Or(survey.UsualWithin)),
		Risk:    "the boat is not as the file says, or something is failing",
		Do:      "look for " + cause,
		Source:  "reading of the file against the solution of the condition", Value: diag.Figure(measured), Limit: diag.Figure(computed), Unit: in, Condition: r.Condition.ID,
	})
}
