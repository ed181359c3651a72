package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
)

var exhaustNoAlarm = Rule{
	Name: "exhaust-no-alarm", Section: boatSection,
	Asks:     "Does a flow or temperature alarm watch every wet exhaust of hose?",
	Why:      "when the water stops, the exhaust hose burns through within minutes",
	Severity: "warning",
	Source:   "NTSB, December 2018: a passenger shuttle burnt after its raw-water pump failed; trade practice",
	Quiet:    "the alarm may watch the engine, its space, or a part of its water; an alarm that names nothing watches its own space",
	Bad: `
fitout: 1
parts:
  E1: {kind: engine, title: Engine, fuel: diesel, cooling: keel, height: 0.5 m}
  TH1: {kind: through-hull, service: exhaust, size: 50 mm, height: 0.4 m, offset: 0 m}
hoses:
  - {id: H1, from: E1.exhaust, to: TH1, bore: 50 mm, length: 2 m, peak: 0.9 m, clamps: 2, rating: exhaust}
`,
	Good: `
fitout: 1
parts:
  E1: {kind: engine, title: Engine, fuel: diesel, cooling: keel, height: 0.5 m}
  TH1: {kind: through-hull, service: exhaust, size: 50 mm, height: 0.4 m, offset: 0 m}
  AL1: {kind: alarm, title: Exhaust alarm, senses: temperature, watches: E1, battery: yes, tested: 2026-04-01}
hoses:
  - {id: H1, from: E1.exhaust, to: TH1, bore: 50 mm, length: 2 m, peak: 0.9 m, clamps: 2, rating: exhaust}
`,
	Check: checkExhaustNoAlarm,
}

func checkExhaustNoAlarm(c *Context) {
	var engines []*schema.Part
	for _, p := range c.Boat.Parts {
		if p.Prepared || !p.Is(schema.Engine) || p.Word("exhaust-type").V == "dry" {
			continue
		}
		if c.exhaustHose(p) != nil {
			engines = append(engines, p)
		}
	}
	if len(engines) == 0 {
		return
	}
	alarms := c.coolingAlarms()
	for _, p := range engines {
		c.Looked("exhaust-no-alarm")
		if c.isWatched(p, alarms) {
			continue
		}
		h := c.exhaustHose(p)
		c.Add(diag.Finding{Rule: "exhaust-no-alarm", Severity: diag.Warning, Span: p.At, At: []string{h.ID, p.ID},
			Message: fmt.Sprintf("the wet exhaust of %s is of hose and no flow or temperature alarm watches it", p.Name()),
			Risk:    "when its water stops the hose burns through: fire, smoke and an open hole in the hull",
			Do:      fmt.Sprintf("fit an exhaust temperature or raw-water flow alarm that watches %s", p.ID),
			Source:  "NTSB, December 2018; trade practice"})
	}
}

func (c *Context) exhaustHose(p *schema.Part) *schema.Hose {
	for _, h := range c.Boat.Hoses {
		if h.Prepared || h.Implied {
			continue
		}
		for _, end := range []schema.HoseEnd{h.From, h.To} {
			if end.Part != p {
				continue
			}
			if t, ok := p.Terminal(end.Terminal); ok && t.Polarity == schema.Exhaust {
				return h
			}
		}
	}
	return nil
}

func (c *Context) coolingAlarms() []*schema.Part {
	var list []*schema.Part
	for _, p := range c.Boat.Parts {
		if !p.Prepared && p.Is(schema.AlarmRole) && (senses(p, "flow") || senses(p, "temperature")) {
			list = append(list, p)
		}
	}
	return list
}

// isWatched reports an alarm on an engine, its space, or a part of its water.
func (c *Context) isWatched(engine *schema.Part, alarms []*schema.Part) bool {
	for _, a := range alarms {
		refs := a.Refs("watches")
		if len(refs) == 0 && (a.Space == engine.Space || a.Space == nil) {
			return true
		}
		for _, id := range refs {
			if id == engine.ID || engine.Space != nil && id == engine.Space.ID {
				return true
			}
		}
	}
	var near map[*schema.Part]bool
	for _, a := range alarms {
		for _, id := range a.Refs("watches") {
			if p := c.Boat.Part(id); p != nil {
				if near == nil {
					near = c.alongHoses(engine)
				}
				if near[p] {
					return true
				}
			}
		}
	}
	return false
}

// alongHoses collects the parts that hoses join to a part, hull fittings apart.
func (c *Context) alongHoses(start *schema.Part) map[*schema.Part]bool {
	beside := map[*schema.Part][]*schema.Part{}
	for _, h := range c.Boat.Hoses {
		if a, b := h.From.Part, h.To.Part; !h.Prepared && a != nil && b != nil {
			beside[a], beside[b] = append(beside[a], b), append(beside[b], a)
		}
	}
	seen := map[*schema.Part]bool{start: true}
	queue := []*schema.Part{start}
	for i := 0; i < len(queue); i++ {
		if queue[i].Is(schema.SeaOpening) || queue[i] != start && queue[i].Is(schema.SeaUser) {
			continue
		}
		for _, p := range beside[queue[i]] {
			if !seen[p] {
				seen[p] = true
				queue = append(queue, p)
			}
		}
	}
	return seen
}
