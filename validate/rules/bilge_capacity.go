package rules

import (
	"fmt"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/source"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/water"
)

var bilgeCapacity = Rule{
	Name: "bilge-capacity", Section: waterSolved,
	Asks:     "Do the bilge pumps, at their real head, hose and voltage, move what the set asks, and what an opening lets in if its hose comes off?",
	Why:      "a pump's label tells its free flow; through hose and lift it moves a third to two thirds of it",
	Severity: "warning under iso; note under us, and for what an opening lets in",
	Source:   "46 CFR 182.520(a) as practice; ISO 15083:2020 (for what gathers, not for damage); inflow: frictionless and a short tube's coefficient, the sources differ",
	Quiet:    "not judged where the file has neither a bilge pump nor a bilge; openings are held against all powered pumps together",
	Bad: `
fitout: 1
vessel: {length: 9 m}
rules: {set: iso}
parts:
  BP1: {kind: pump, duty: bilge, submersible: yes, drive: ac, height: -0.5 m, curve: {0 L/min: 2 m head, 30 L/min: 0 m head}}
  TH1: {kind: through-hull, service: bilge, size: 3/4 in, height: 0.7 m}
hoses:
  - {id: H1, from: BP1.out, to: TH1, bore: 19 mm, length: 4 m, wall: corrugated}
`,
	Good: `
fitout: 1
vessel: {length: 9 m}
rules: {set: iso}
parts:
  BP1: {kind: pump, duty: bilge, submersible: yes, drive: ac, height: -0.5 m, curve: {0 L/min: 4 m head, 80 L/min: 0 m head}}
  TH1: {kind: through-hull, service: bilge, size: 1-1/8 in, height: 0.7 m}
hoses:
  - {id: H1, from: BP1.out, to: TH1, bore: 28 mm, length: 3 m}
`,
	Check: checkBilge,
}

func checkBilge(c *Context) {
	pumps := c.BilgeOutputs()
	bilge := slices.IndexFunc(c.Boat.Spaces, func(s *schema.Space) bool { return s.Bilge.V })
	if len(pumps) == 0 && bilge < 0 {
		return
	}
	c.Looked("bilge-capacity")
	missing := false
	for _, p := range pumps {
		if len(p.Missing) > 0 {
			missing = true
			c.data("bilge-capacity", p.Missing, p.Pump.ID)
		}
		if p.Derated {
			c.Default(p.Pump.ID, "output", "half of its free flow: no curve is stated", tables.BilgeDerateCite().String())
		}
	}
	for _, set := range c.Sets() {
		c.bilgeTable(set, pumps, missing, bilge)
	}
	if len(pumps) > 0 && !missing {
		c.bilgeOpenings(pumps)
	}
}

// bilgeTable holds the pumps against a set's table.
func (c *Context) bilgeTable(set tables.Set, pumps []survey.BilgeOutput, missing bool, bilge int) {
	v := c.Boat.Vessel
	if !v.Length.Given() {
		c.Missing("bilge-capacity", "length of the vessel", v.At, bilgeIDs(pumps)...)
		return
	}
	need := tables.BilgeCapacity(set, v.Length.V, v.Persons.V, v.Category.V)
	power, hand := bilgeFlows(pumps)
	ask, count, have := need.Power, max(need.Count, 1), power
	if need.Manual {
		ask, have = need.Hand, append(power, hand...)
		slices.SortFunc(have, descending)
	}
	var got unit.LitrePerMin
	if len(have) >= count {
		got = have[count-1]
	}
	if got >= ask || missing && len(pumps) > 0 {
		return
	}
	f := diag.Finding{
		Rule: "bilge-capacity", Severity: diag.Note, Source: need.Cite.String(), At: bilgeIDs(pumps),
		Value: diag.Figure(got), Limit: diag.Figure(ask), Unit: "L/min",
		Risk: "water that gathers is not kept down",
		Do:   "fit a pump whose curve gives this at the lift and hose there is; smooth hose, few bends, a full-bore outlet",
	}
	f.Span = bilgeSpan(c.Boat, pumps, bilge)
	if set == tables.ISO {
		f.Severity = diag.Warning
	}
	each := ""
	if count > 1 {
		each = fmt.Sprintf(" from each of %d pumps", count)
	}
	f.Message = fmt.Sprintf("the bilge pumps move %s at their real lift, hose and voltage; %s asks %s%s of a hull of %s", litres(got), set, litres(ask), each, v.Length.V.Both())
	if len(pumps) == 0 {
		f.Message = fmt.Sprintf("no bilge pump is fitted; %s asks %s of a hull of %s", set, litres(ask), v.Length.V.Both())
		f.Do = "fit one"
	} else {
		f.Message += ": " + bilgeWords(pumps)
	}
	c.Add(f)
}

func descending(a, b unit.LitrePerMin) int {
	switch {
	case a > b:
		return -1
	case a < b:
		return 1
	}
	return 0
}

// bilgeFlows returns the outputs of powered and of hand pumps, largest first.
func bilgeFlows(pumps []survey.BilgeOutput) (power, hand []unit.LitrePerMin) {
	for _, p := range pumps {
		switch {
		case len(p.Missing) > 0:
		case p.Hand:
			hand = append(hand, p.Flow)
		default:
			power = append(power, p.Flow)
		}
	}
	slices.SortFunc(power, descending)
	slices.SortFunc(hand, descending)
	return power, hand
}

func bilgeIDs(pumps []survey.BilgeOutput) []string {
	var ids []string
	for _, p := range pumps {
		ids = append(ids, p.Pump.ID)
	}
	return ids
}

func bilgeSpan(b *schema.Boat, pumps []survey.BilgeOutput, bilge int) source.Span {
	if len(pumps) > 0 {
		return pumps[0].Pump.At
	}
	return b.Spaces[bilge].At
}

func bilgeWords(pumps []survey.BilgeOutput) string {
	var list []string
	for _, p := range pumps {
		text := p.Pump.ID + " " + litres(p.Flow)
		switch {
		case p.Derated:
			text += " (half its free flow; no curve is stated)"
		case p.State == water.CannotLift || p.State == water.Dry:
			text = p.Pump.ID + " moves nothing"
		}
		list = append(list, text)
	}
	return strings.Join(list, ", ")
}

// bilgeOpenings names the openings that let in more with their hose off than the
// powered pumps move together.
func (c *Context) bilgeOpenings(pumps []survey.BilgeOutput) {
	power, _ := bilgeFlows(pumps)
	var sum unit.LitrePerMin
	for _, q := range power {
		sum += q
	}
	var ids, words []string
	var most survey.HullInflow
	for _, f := range c.Inflows() {
		if f.Part.Is(schema.HullHole) {
			continue
		}
		if len(f.Missing) > 0 {
			c.data("bilge-capacity", f.Missing, f.Part.ID)
			continue
		}
		if f.ShortTube <= sum {
			continue
		}
		ids = append(ids, f.Part.ID)
		words = append(words, fmt.Sprintf("%s %s (frictionless %s)", f.Part.ID, litres(f.ShortTube), litres(f.Frictionless)))
		if most.Part == nil || f.ShortTube > most.ShortTube {
			most = f
		}
	}
	if most.Part == nil {
		return
	}
	c.Add(diag.Finding{
		Rule: "bilge-capacity", Severity: diag.Note, Span: most.Part.At, At: append(ids, bilgeIDs(pumps)...),
		Message: fmt.Sprintf("with its hose off an opening lets in more than the %s the powered bilge pumps move: %s", litres(sum), strings.Join(words, "; ")),
		Risk:    "the pumps buy time; only the seacock stops the water",
		Do:      "keep these seacocks free and within reach, their hoses double-clamped, and the alarm low",
		Source:  "Q = Cd A √(2gh), Cd 0.8 for a short tube running full (Molesworth 0.81), 1.0 frictionless as most published tables",
		Value:   diag.Figure(most.ShortTube), Limit: diag.Figure(sum), Unit: "L/min",
	})
}
