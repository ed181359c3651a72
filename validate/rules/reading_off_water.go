package rules

import (
	"fmt"
	"math"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/water"
)

// usualWithin is how far a reading may stray where it does not say.
const usualWithin unit.Ratio = 0.10

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
			c.flowReading(state, r, r.Flow.V, "")
		}
		if r.Rise.Given() {
			q, ok := c.FlowFromThermometers(r.Condition, r.Where.Part, water.Kelvin(r.Rise.V))
			if !ok {
				c.Missing("reading-off", "heat of "+r.Where.Part.ID, r.At, r.Where.String())
				continue
			}
			c.flowReading(state, r, q, fmt.Sprintf("a rise of %.3g K tells of ", float64(r.Rise.V)))
		}
		if r.Head.Given() {
			c.headReading(state, r)
		}
	}
}

func (c *Context) flowReading(state *survey.WaterState, r *schema.Reading, measured unit.LitrePerMin, how string) {
	c.Looked("reading-off")
	computed, missing, ok := state.FlowAt(r.Where.Part, r.Where.Terminal)
	if !ok {
		if len(missing) == 0 {
			missing = []survey.Datum{{Missing: "a running pump at " + r.Where.String(), At: r.At}}
		}
		c.data("reading-off", missing, r.Where.Part.ID)
		return
	}
	c.offReading(r, float64(measured), float64(computed), "L/min", how+litres(measured), litres(computed), flowCause(measured < computed))
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
	cause := "a restriction behind the gauge, or less flow than computed"
	if r.Head.V < h.Pressure {
		cause = "a restriction ahead of the gauge, or a pump below its curve"
	}
	c.offReading(r, float64(r.Head.V), float64(h.Pressure), "m", headText(r.Head.V), headText(h.Pressure), cause)
}

// offReading reports a reading that strays.
func (c *Context) offReading(r *schema.Reading, measured, computed float64, in, said, found, cause string) {
	within := r.Within.Or(usualWithin)
	if math.Abs(measured-computed) <= float64(within)*math.Abs(computed)*(1+1e-9) {
		return
	}
	c.Add(diag.Finding{
		Rule: "reading-off", Severity: diag.Warning, Span: r.At, At: []string{r.Where.Part.ID},
		Message: fmt.Sprintf("the reading at %s %s was %s; %s is computed, and it may stray by %v", r.Where, conditionText(r.Condition), said, found, within),
		Risk:    "the boat is not as the file says, or something is failing",
		Do:      "look for " + cause,
		Source:  "reading of the file against the solution of the condition", Value: diag.Figure(measured), Limit: diag.Figure(computed), Unit: in, Condition: r.Condition.ID,
	})
}
