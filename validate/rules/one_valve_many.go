package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

var oneValveMany = Rule{
	Name: "one-valve-many", Section: boatSection,
	Asks:     "Can each user of sea water be shut off alone?",
	Why:      "to mend one, the others must stand still: a leak in the refrigerator's line stops the toilet, or the engine",
	Severity: "note",
	Source:   "an owner's refit log in the trade reference; trade practice",
	Quiet:    "users behind a valve of their own each can be shut off alone",
	Bad: `
fitout: 1
vessel: {hull: motor, length: 6 m}
parts:
  TH1: {kind: through-hull, service: intake, size: 1-1/2 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, title: Intake, type: flanged-ball}}
  ST1: {kind: strainer, size: 1-1/2 in, height: -0.3 m, offset: 0 m}
  T1: {kind: tee, height: -0.3 m, offset: 0 m}
  TH2: {kind: through-hull, service: discharge, size: 1 in, height: 0.3 m, offset: 0 m, seacock: {id: SC2, title: Out, type: flanged-ball}}
  T2: {kind: tee, size: 1 in, height: 0.2 m, offset: 0 m}
  HX1: {kind: heat-exchanger, heat: 2 kW, flow: 5 L/min, height: -0.2 m, offset: 0 m}
  HX2: {kind: heat-exchanger, heat: 2 kW, flow: 5 L/min, height: -0.2 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, ST1, T1], bore: 38 mm, lengths: [0.3 m, 0.2 m], clamps: 2, rating: below waterline}
  - {id: H4, from: HX1.out, to: T2, bore: 25 mm, length: 0.5 m, clamps: 2, rating: below waterline}
  - {id: H5, from: HX2.out, to: T2, bore: 25 mm, length: 0.5 m, clamps: 2, rating: below waterline}
  - {id: H6, from: T2, to: TH2, bore: 25 mm, length: 0.5 m, clamps: 2, rating: below waterline}
  - {id: H2, from: T1, to: HX1.in, bore: 25 mm, length: 0.5 m, clamps: 2, rating: below waterline}
  - {id: H3, from: T1, to: HX2.in, bore: 25 mm, length: 0.5 m, clamps: 2, rating: below waterline}
`,
	Good: `
fitout: 1
vessel: {hull: motor, length: 6 m}
parts:
  TH1: {kind: through-hull, service: intake, size: 1-1/2 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, title: Intake, type: flanged-ball}}
  ST1: {kind: strainer, size: 1-1/2 in, height: -0.3 m, offset: 0 m}
  T1: {kind: tee, height: -0.3 m, offset: 0 m}
  TH2: {kind: through-hull, service: discharge, size: 1 in, height: 0.3 m, offset: 0 m, seacock: {id: SC2, title: Out, type: flanged-ball}}
  T2: {kind: tee, size: 1 in, height: 0.2 m, offset: 0 m}
  V1: {kind: valve, type: inline-ball, size: 1 in, height: -0.3 m, offset: 0 m}
  V2: {kind: valve, type: inline-ball, size: 1 in, height: -0.3 m, offset: 0 m}
  HX1: {kind: heat-exchanger, heat: 2 kW, flow: 5 L/min, height: -0.2 m, offset: 0 m}
  HX2: {kind: heat-exchanger, heat: 2 kW, flow: 5 L/min, height: -0.2 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, ST1, T1], bore: 38 mm, lengths: [0.3 m, 0.2 m], clamps: 2, rating: below waterline}
  - {id: H4, from: HX1.out, to: T2, bore: 25 mm, length: 0.5 m, clamps: 2, rating: below waterline}
  - {id: H5, from: HX2.out, to: T2, bore: 25 mm, length: 0.5 m, clamps: 2, rating: below waterline}
  - {id: H6, from: T2, to: TH2, bore: 25 mm, length: 0.5 m, clamps: 2, rating: below waterline}
  - {id: H2, path: [T1, V1, HX1.in], bore: 25 mm, lengths: [0.2 m, 0.3 m], clamps: 2, rating: below waterline}
  - {id: H3, path: [T1, V2, HX2.in], bore: 25 mm, lengths: [0.2 m, 0.3 m], clamps: 2, rating: below waterline}
`,
	Check: checkOneValveMany,
}

// usersOf returns the users of sea water that an intake reaches, in order of
// reaching, and which of them it reaches past no valve of their own.
func (c *Context) usersOf(m *trace.Mouth) (users []*schema.Part, direct map[*schema.Part]bool) {
	sea := c.Sea()
	isUser := func(p *schema.Part) bool {
		return p != nil && (p.Roles().Any(schema.SeaUser|schema.Toilet) || runsOut(p))
	}
	walk := func(valves bool) []*schema.Part {
		trail := sea.Walk([]int{m.Node}, trace.Walk{
			Through: func(w *trace.SeaWay, _ int) bool {
				return w.Part == nil || !isUser(w.Part) && (valves || !w.Part.Is(schema.Shutoff) || w.Part == m.Part.Cock || w.Part.Is(schema.Seacock))
			},
			Beyond: func(node int) bool {
				p := sea.Nodes[node].Part
				return p == nil || p == m.Part || !p.Is(schema.SeaOpening)
			},
		})
		var list []*schema.Part
		seen := map[*schema.Part]bool{}
		for _, st := range trail.Steps {
			if p := sea.Nodes[st.Node].Part; isUser(p) && !seen[p] {
				seen[p] = true
				list = append(list, p)
			}
		}
		return list
	}
	users = walk(true)
	direct = map[*schema.Part]bool{}
	for _, p := range walk(false) {
		direct[p] = true
	}
	return users, direct
}

// runsOut reports whether water leaves its pipe at a part for use: a tap, a deck
// wash.
func runsOut(p *schema.Part) bool {
	if p.Roles().Any(schema.SeaOpening | schema.HullHole | schema.Holding | schema.Vent | schema.Mover | schema.DeckOpening) {
		return false
	}
	return slices.ContainsFunc(p.Openings(), func(o schema.Opening) bool {
		t, ok := p.Terminal(o.Terminal)
		return ok && t.Polarity == schema.WaterIn
	})
}

// intakes lists the mouths that sea water is taken from, and how many of them
// reach each user.
func (c *Context) intakes() (list []*trace.Mouth, reach map[*trace.Mouth][]*schema.Part, direct map[*trace.Mouth]map[*schema.Part]bool, count map[*schema.Part]int) {
	reach, direct, count = map[*trace.Mouth][]*schema.Part{}, map[*trace.Mouth]map[*schema.Part]bool{}, map[*schema.Part]int{}
	for _, m := range c.Sea().Hull {
		if m.Part == nil || m.Node < 0 || m.Part.Word("service").V != "intake" {
			continue
		}
		list = append(list, m)
		reach[m], direct[m] = c.usersOf(m)
		for _, p := range reach[m] {
			count[p]++
		}
	}
	return list, reach, direct, count
}

// seacockOf is the valve that shuts an opening: the one it carries, or the one
// that stands first inboard of it; nil where there is none.
func (c *Context) seacockOf(m *trace.Mouth) *schema.Part {
	if m.Part.Cock != nil {
		return m.Part.Cock
	}
	if first, _ := firstInboard(c.Sea(), m); first != nil && first.Is(schema.Shutoff) {
		return first
	}
	return nil
}

func checkOneValveMany(c *Context) {
	list, reach, direct, count := c.intakes()
	for _, m := range list {
		c.Looked("one-valve-many")
		var lost []*schema.Part
		alone := false
		for _, p := range reach[m] {
			if count[p] == 1 {
				lost = append(lost, p)
				alone = alone || direct[m][p]
			}
		}
		if len(lost) < 2 || !alone {
			continue
		}
		cock := c.seacockOf(m)
		if cock == nil {
			continue // nothing to close: no-seacock
		}
		c.Add(diag.Finding{Rule: "one-valve-many", Severity: diag.Note, Span: cock.At, At: append([]string{cock.ID}, ids(lost)...),
			Message: fmt.Sprintf("closing %s stops %s together", cock.ID, brief(ids(lost))),
			Risk:    "a leak in one line can be stopped only by stopping the others",
			Do:      "fit a valve in each branch",
			Source:  "trade practice, no source"})
	}
}
