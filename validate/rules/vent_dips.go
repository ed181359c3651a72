package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

// ventDips judges openings on deck and in the topsides that are meant to stay
// dry.
var ventDips = Rule{
	Name: "vent-dips", Section: waterStatic,
	Asks:     "Does every tank vent, deck fill, hull vent and heater exhaust stay above the sea in every attitude?",
	Why:      "the sea runs into the tank, the heater or the boat while she heels",
	Severity: "error for fresh water, warning for waste and others",
	Source:   "physics; heel by ISO 9093:2020 (summary) and H-27 (as quoted)",
	Quiet:    "not for a vent that ends inside: it is an inside opening",
	Bad: `
fitout: 1
vessel: {hull: sail, beam: 3.4 m, sheer: 1.2 m}
parts:
  FT1: {kind: tank, contents: fresh, capacity: 200 L, height: 0 m, offset: 0 m}
  TV1: {kind: tank-vent, size: 5/8 in, height: 0.7 m, offset: 1.5 m}
hoses:
  - {id: H1, from: FT1.vent, to: TV1, bore: 16 mm, length: 2 m, rating: potable}
`,
	Good: `
fitout: 1
vessel: {hull: sail, beam: 3.4 m, sheer: 1.2 m}
parts:
  FT1: {kind: tank, contents: fresh, capacity: 200 L, height: 0 m, offset: 0 m}
  TV1: {kind: tank-vent, size: 5/8 in, height: 1.3 m, offset: 1.5 m}
hoses:
  - {id: H1, from: FT1.vent, to: TV1, bore: 16 mm, length: 2 m, rating: potable}
`,
	Check: checkVents,
}

func checkVents(c *Context) {
	c.floodDefaults()
	sea := c.Sea()
	for _, m := range sea.Air {
		if m.Part != nil && m.Part.Is(schema.DeckOpening) {
			c.judgeVent(m, c.tankAt(m))
		}
	}
	for _, m := range sea.Holes {
		if t := m.Part.Word("type").V; t == "vent" || t == "heater-exhaust" {
			c.judgeVent(m, nil)
		}
	}
}

// tankAt returns the tank an opening on deck leads to, a fresh one first.
func (c *Context) tankAt(m *trace.Mouth) *schema.Part {
	sea := c.Sea()
	var tank *schema.Part
	t := sea.Walk([]int{m.Node}, trace.Walk{Beyond: func(n int) bool { return sea.Nodes[n].Part == nil || !sea.Nodes[n].Part.Is(schema.Holding) }})
	for _, st := range t.Steps {
		if p := sea.Nodes[st.Node].Part; p != nil && p.Is(schema.Holding) && (tank == nil || contentsOf(p) == "fresh") {
			tank = p
		}
	}
	return tank
}

// contentsOf is what a tank or heater holds.
func contentsOf(p *schema.Part) string {
	if p.Kind.Attr("contents") == nil {
		if p.Is(schema.Holding) {
			return "fresh" // a water heater
		}
		return ""
	}
	w := p.Word("contents")
	if !w.Given() {
		if a := p.Kind.Attr("contents"); a.Default != "" {
			return a.Default
		}
	}
	return w.V
}

func (c *Context) judgeVent(m *trace.Mouth, tank *schema.Part) {
	c.Looked("vent-dips")
	least, worst, missing := c.Margin(m.Point)
	if least >= -tinyHeight {
		c.lacks("vent-dips", missing, m.ID())
		return
	}
	f := diag.Finding{
		Rule: "vent-dips", Severity: diag.Warning, Span: m.Span(), At: []string{m.ID()}, Attitude: worst.String(),
		Value: diag.Figure(least), Limit: diag.Figure(0.0), Unit: "m",
		Message: fmt.Sprintf("%s lies %s when %s", mouthWords(m), againstSea(least), worst),
		Risk:    "the sea runs in there while she heels",
		Do:      "move it higher or nearer the centreline, or lead it over a loop that stays above the sea",
		Source:  "physics; " + c.heelSource(),
	}
	if m.Part.Is(schema.HullHole) {
		f.Message = fmt.Sprintf("%s %s lies %s when %s", m.What, m.ID(), againstSea(least), worst)
	}
	if tank != nil {
		f.At = append(f.At, tank.ID)
		f.Message += ", and leads to " + tank.ID
		f.Risk = "the sea runs into the tank"
		if contentsOf(tank) == "fresh" {
			f.Severity, f.Risk = diag.Error, "the sea runs into the drinking water, and a full tank runs over"
		}
	}
	c.Add(f)
}
