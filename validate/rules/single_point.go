package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
)

var singlePoint = Rule{
	Name: "single-point", Section: boatSection,
	Asks:     "Does no fuse or seacock alone carry two things that are marked essential?",
	Why:      "one blown fuse, and both are gone when they are needed",
	Severity: "note",
	Source:   "46 CFR 183.310(a) as practice: vital loads have two sources",
	Quiet:    "only parts with `essential: yes` count; a second feed or intake clears it",
	Bad: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  F1: {kind: fuse, title: Electronics, family: blade, rating: 10 A, space: cabin}
  BP: {kind: bus, title: Electronics}
  BN: {kind: bus, title: Negative}
  E1: {kind: electronics, title: Radio, draw: 2 A, essential: yes}
  E2: {kind: electronics, title: Plotter, draw: 2 A, essential: yes}
wires:
  - {id: 1, path: [B1.+, F1, BP], size: 2.5 mm2, lengths: [0.15 m, 1 m]}
  - {id: 2, from: BP, to: E1.+, size: 2.5 mm2, length: 1 m}
  - {id: 3, from: BP, to: E2.+, size: 2.5 mm2, length: 1 m}
  - {id: 4, from: E1.-, to: BN, size: 2.5 mm2, length: 1 m}
  - {id: 5, from: E2.-, to: BN, size: 2.5 mm2, length: 1 m}
  - {id: 6, from: B1.-, to: BN, size: 4 mm2, length: 1 m}
`,
	Good: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  F1: {kind: fuse, title: Radio, family: blade, rating: 10 A, space: cabin}
  F2: {kind: fuse, title: Plotter, family: blade, rating: 10 A, space: cabin}
  BN: {kind: bus, title: Negative}
  E1: {kind: electronics, title: Radio, draw: 2 A, essential: yes}
  E2: {kind: electronics, title: Plotter, draw: 2 A, essential: yes}
wires:
  - {id: 1, path: [B1.+, F1, E1.+], size: 2.5 mm2, lengths: [0.15 m, 1 m]}
  - {id: 2, path: [B1.+, F2, E2.+], size: 2.5 mm2, lengths: [0.15 m, 1 m]}
  - {id: 3, from: E1.-, to: BN, size: 2.5 mm2, length: 1 m}
  - {id: 4, from: E2.-, to: BN, size: 2.5 mm2, length: 1 m}
  - {id: 5, from: B1.-, to: BN, size: 4 mm2, length: 1 m}
`,
	Check: checkSinglePoint,
}

// opener is a device or seacock that lies on ways to essential things.
type opener struct {
	part  *schema.Part
	way   string
	count int
}

func checkSinglePoint(c *Context) {
	var essential []*schema.Part
	for _, p := range c.Boat.Parts {
		if !p.Prepared && p.Flag("essential").V {
			essential = append(essential, p)
		}
	}
	if len(essential) < 2 {
		return
	}
	for _, o := range c.sharedOpeners(essential) {
		c.Looked("single-point")
		loss := c.Lost(o.part, o.way)
		var lost []*schema.Part
		for _, p := range slices.Concat(loss.AtOnce(), loss.Dry) {
			if p.Flag("essential").V && !slices.Contains(lost, p) {
				lost = append(lost, p)
			}
		}
		if len(lost) < 2 {
			continue
		}
		name := o.part.ID
		if o.way != "" {
			name += "." + o.way
		}
		c.Add(diag.Finding{Rule: "single-point", Severity: diag.Note, Span: o.part.At, At: append([]string{o.part.ID}, ids(lost)...),
			Message: fmt.Sprintf("losing %s stops %s, all marked essential", name, list(ids(lost))),
			Risk:    "one blown fuse or shut valve, and both are gone when they are needed",
			Do:      "give one of them a feed of its own",
			Source:  "46 CFR 183.310(a) as practice"})
	}
}

// sharedOpeners lists the devices and seacocks that lie on the ways of two or more
// essential things, in order of meeting them.
func (c *Context) sharedOpeners(essential []*schema.Part) []*opener {
	type key struct {
		part *schema.Part
		way  string
	}
	index, order := map[key]*opener{}, []*opener{}
	for _, p := range essential {
		met := map[key]bool{}
		for _, way := range c.Ways(p) {
			for _, st := range way.Steps {
				if !opensAlone(st) {
					continue
				}
				k := key{st.Part, st.Way}
				if met[k] {
					continue
				}
				met[k] = true
				if index[k] == nil {
					index[k] = &opener{part: st.Part, way: st.Way}
					order = append(order, index[k])
				}
				index[k].count++
			}
		}
	}
	return slices.DeleteFunc(order, func(o *opener) bool { return o.count < 2 })
}

// opensAlone reports a fuse, breaker or seacock: what fails or is shut by itself.
func opensAlone(st survey.WayStep) bool {
	return st.Opens && st.Part != nil && st.Part.Roles().Any(schema.Protection|schema.Seacock)
}
