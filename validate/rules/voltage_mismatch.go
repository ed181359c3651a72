package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var voltageMismatch = Rule{
	Name: "voltage-mismatch", Section: "DC, static",
	Asks:     "Does every part get its nominal voltage, the right way round?",
	Why:      "twice the voltage burns equipment, half of it lets it fail when it is needed",
	Severity: "error at rest or when a relay closes by itself; warning in a position a person can set",
	Source:   "nominal voltages summed along the batteries of a string; nominal systems 12, 24, 36, 48 V",
	Quiet:    "12, 12.8 and 14.6 V are one system; a tap at the mid-point of a 24 V bank has 12 V; what a converter feeds has the converter's volts; charge sources are judged by charge-mismatch, batteries by unlike-batteries",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 24 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  LT1: {kind: light, draw: 1 A, volts: 12 V}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 24 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  LT1: {kind: light, draw: 1 A, volts: 24 V}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
	Check: checkVoltageMismatch,
}

// rated is a part's input with the voltage it is made for.
type ratedInput struct {
	edge  *trace.Edge
	volts unit.Volt
}

func checkVoltageMismatch(c *Context) {
	var inputs []ratedInput
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		switch {
		case e.Type == trace.Load && e.Branch.Load.Volts.Given():
			inputs = append(inputs, ratedInput{e, e.Branch.Load.Volts.V})
		case e.Type == trace.ConvertIn && e.Branch.Convert.InVolts.Given():
			inputs = append(inputs, ratedInput{e, e.Branch.Convert.InVolts.V})
		}
	}
	known := map[*trace.Edge]bool{}
	c.eachPosition(func(st *survey.State, at position, report bool) int {
		fresh := 0
		for _, in := range inputs {
			if at.words == "" && report {
				c.Looked("voltage-mismatch")
			}
			e := in.edge
			v, _, ok := st.Volts(e.A, e.B)
			if !ok || v == 0 && st.Same(e.A, e.B) || survey.SameNominal(v, in.volts) || v < 0 && e.Medium == schema.AC && survey.SameNominal(-v, in.volts) || known[e] {
				continue
			}
			if v == 0 {
				continue // two rails of one voltage
			}
			fresh++
			if report {
				known[e] = true
				c.reportMismatch(at, in, v)
			}
		}
		return fresh
	})
	c.solarTooHigh()
	c.mainsOnDC()
	c.unknownVolts()
}

// mainsOnDC finds the line of a mains source joined to a pole of a DC battery or
// load.
func (c *Context) mainsOnDC() {
	g := c.AnyPosition()
	c.eachEdge(trace.Feed, schema.AC, func(_ int, src *trace.Edge) {
		for id := range c.Net.Edges {
			e := &c.Net.Edges[id]
			if e.Medium != schema.DC || e.Type != trace.Battery && !draws(e) || e.Part == src.Part {
				continue
			}
			node := e.A
			if !g.Same(src.A, node) {
				node = e.B
			}
			if !g.Same(src.A, node) {
				continue
			}
			path := c.Path(src.A, node, func(e *trace.Edge) bool { return (e.Passes() || e.Type == trace.Device) && !survey.Bond(e) })
			c.Add(diag.Finding{Rule: "voltage-mismatch", Severity: diag.Error, Span: spanOf(path, e.Part), At: appendNew(refs(path), src.Part.ID, e.Part.ID),
				Message: fmt.Sprintf("the line of %s, mains power, is joined to %s of the DC system", src.Part.ID, e.Part.ID),
				Risk:    "everything on DC stands at mains voltage: people are killed, equipment burns",
				Do:      "part the two systems: a charger or an inverter stands between them" + licensed,
				Source:  "nominal voltages along the net; common practice, no source"})
			return
		}
	})
}

func (c *Context) reportMismatch(at position, in ratedInput, v unit.Volt) {
	p := in.edge.Part
	message := fmt.Sprintf("%s is made for %s and gets %s%s", p.ID, in.volts, v, at.with())
	risk := "it burns, or works at a fraction of what it should"
	do := "feed it through a converter, or from a net of its own voltage"
	if v < 0 && survey.SameNominal(-v, in.volts) {
		message = fmt.Sprintf("%s is joined the wrong way round: its + lies %s below its −%s", p.ID, -v, at.with())
		risk, do = "electronics burn at once, a motor turns backwards", "swap its two leads"
	}
	if in.edge.Medium == schema.AC {
		do += licensed
	}
	where := c.at(p, in.edge.A)
	for _, id := range ids(at.parts) {
		if !slices.Contains(where, id) {
			where = append(where, id)
		}
	}
	c.Add(diag.Finding{Rule: "voltage-mismatch", Severity: at.severity(), Span: p.At, At: where,
		Message: message, Risk: risk, Do: do, Source: "nominal voltages along the batteries; common practice, no source",
		Value: diag.Figure(v), Limit: diag.Figure(in.volts), Unit: "V"})
}

// panelString is panels in series that end at one joint, the topmost first.
type panelString struct {
	panels []*trace.Edge
	volts  unit.Volt
	lacks  *schema.Part // a panel that states no voltage
}

// highestString finds, of the strings of panels whose top stands on a group of
// joints, the one of most volts without load.
func highestString(g *survey.Groups, panels map[int][]*trace.Edge, group int, known map[int]panelString) (best panelString) {
	if have, ok := known[group]; ok {
		return have
	}
	known[group] = best // a ring of panels ends here
	for _, e := range panels[group] {
		s := panelString{panels: []*trace.Edge{e}}
		open := e.Part.Volts("emf")
		if !open.Given() {
			open = e.Part.Volts("volts")
		}
		if s.volts = open.V; !open.Given() {
			s.lacks = e.Part
		}
		if below := g.Of(e.B); below != group {
			more := highestString(g, panels, below, known)
			s.panels, s.volts = append(s.panels, more.panels...), s.volts+more.volts
			if s.lacks == nil {
				s.lacks = more.lacks
			}
		}
		if best.panels == nil || s.volts > best.volts {
			best = s
		}
	}
	known[group] = best
	return best
}

// solarTooHigh compares the panels on a controller's input, series strings summed,
// with what it bears.
func (c *Context) solarTooHigh() {
	g := c.AtRest()
	panels := map[int][]*trace.Edge{}
	c.eachEdge(trace.Feed, schema.DC, func(_ int, e *trace.Edge) {
		if e.Branch.Feed.Needs == "sun" {
			panels[g.Of(e.A)] = append(panels[g.Of(e.A)], e)
		}
	})
	if len(panels) == 0 {
		return
	}
	for _, p := range c.Boat.Parts {
		in := c.Net.Node(p, "pv+")
		if in < 0 || p.Prepared || len(panels[g.Of(in)]) == 0 {
			continue
		}
		s := highestString(g.Groups, panels, g.Of(in), map[int]panelString{})
		panel, bears := s.panels[0].Part, p.Volts("in-volts")
		var names []string
		for _, e := range s.panels {
			names = append(names, e.Part.ID)
		}
		switch {
		case !bears.Given():
			c.Missing("voltage-mismatch", "in-volts of "+p.ID, p.At, p.ID)
		case s.volts > bears.V:
			at := appendNew(c.at(panel, s.panels[0].A, p), names[1:]...)
			message := fmt.Sprintf("%s gives up to %s; %s bears %s", panel.ID, s.volts, p.ID, bears.V)
			if len(names) > 1 {
				message = fmt.Sprintf("%s in series give up to %s; %s bears %s", brief(names), s.volts, p.ID, bears.V)
			}
			c.Add(diag.Finding{Rule: "voltage-mismatch", Severity: diag.Error, Span: panel.At, At: at,
				Message: message,
				Risk:    "the controller fails and passes the panel's voltage on",
				Do:      "use panels of a lower voltage, or a controller that bears it",
				Source:  "the controller's own rating",
				Value:   diag.Figure(s.volts), Limit: diag.Figure(bears.V), Unit: "V"})
		case s.lacks != nil:
			c.Missing("voltage-mismatch", "emf of "+s.lacks.ID, s.lacks.At, s.lacks.ID)
		}
	}
}

// unknownVolts says which batteries state no voltage.
func (c *Context) unknownVolts() {
	c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) {
		if v := e.Part.Volts("volts"); !v.Given() || v.V <= 0 {
			c.Missing("voltage-mismatch", "volts of "+e.Part.ID, e.Part.At, e.Part.ID)
		}
	})
}
