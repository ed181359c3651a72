package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var chargeBypass = Rule{
	Name: "charge-bypass", Section: "DC, static",
	Asks:     "Does every charge path to lithium cells pass the disconnect that the battery's own protection opens?",
	Why:      "with the protection by-passed, overcharged cells run away: two yachts were lost so in 2024",
	Severity: "error",
	Source:   "E-13 (battery management), trade summaries; NTSB report on a fire of 28 April 2024; AMSA lessons report 27",
	Quiet:    "`protection: internal` lies behind the posts; a contactor in either pole counts; of two disconnects the one for charge counts",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 100 Ah, protection: external, disconnect: K1, max-charge: 50 A}
  K1: {kind: relay, title: Battery contactor, type: remote, rating: 200 A, volts: 60 V, space: cabin}
  F1: {kind: fuse, title: Main, family: class-t, rating: 40 A, space: cabin}
  F2: {kind: fuse, title: Charger, family: class-t, rating: 40 A, space: cabin}
  M1: {kind: load, draw: 10 A}
  CH1: {kind: charger, output: 20 A, volts: 14.4 V, profile: lfp}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, K1.in], size: 10 mm2, lengths: [0.15 m, 0.5 m]}
  - {id: 2, from: K1.out, to: M1.+, size: 10 mm2, length: 2 m}
  - {id: 3, from: M1.-, to: B1.-, size: 10 mm2, length: 2 m}
  - {id: 4, path: [B1.+, F2, CH1.+], size: 10 mm2, lengths: [0.15 m, 2 m]}
  - {id: 5, from: CH1.-, to: B1.-, size: 10 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 100 Ah, protection: external, disconnect: K1, max-charge: 50 A}
  K1: {kind: relay, title: Battery contactor, type: remote, rating: 200 A, volts: 60 V, space: cabin}
  F1: {kind: fuse, title: Main, family: class-t, rating: 40 A, space: cabin}
  M1: {kind: load, draw: 10 A}
  CH1: {kind: charger, output: 20 A, volts: 14.4 V, profile: lfp}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, K1.in], size: 10 mm2, lengths: [0.15 m, 0.5 m]}
  - {id: 2, from: K1.out, to: M1.+, size: 10 mm2, length: 2 m}
  - {id: 3, from: M1.-, to: B1.-, size: 10 mm2, length: 2 m}
  - {id: 4, from: K1.out, to: CH1.+, size: 10 mm2, length: 2 m}
  - {id: 5, from: CH1.-, to: B1.-, size: 10 mm2, length: 2 m}
`,
	Check: checkChargeBypass,
}

// chargeCut returns the parts whose contacts open on a battery's charge side, as
// its protection states them.
func (c *Context) chargeCut(p *schema.Part) []*schema.Part {
	refs := p.Refs("disconnect")
	if len(refs) == 0 || refs[0] == "" {
		return nil
	}
	if k := c.Boat.Part(refs[0]); k != nil { // the first is for charge
		return []*schema.Part{k}
	}
	return nil
}

func checkChargeBypass(c *Context) {
	// Batteries by what cuts them, so that one walk serves all of them.
	type cut struct {
		parts     []*schema.Part
		batteries []*trace.Edge
	}
	var cuts []*cut
	c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) {
		if e.Part.Word("chemistry").V != "lfp" {
			return
		}
		c.Looked("charge-bypass")
		ks := c.chargeCut(e.Part)
		for _, have := range cuts {
			if slices.Equal(have.parts, ks) {
				have.batteries = append(have.batteries, e)
				return
			}
		}
		cuts = append(cuts, &cut{ks, []*trace.Edge{e}})
	})
	if len(cuts) == 0 {
		return
	}
	sources := c.chargeSources()
	for _, k := range cuts {
		g := c.Groups(func(e *trace.Edge) bool {
			return (e.Passes() || e.Type == trace.Device) && !survey.Bond(e) && !(e.Part != nil && slices.Contains(k.parts, e.Part))
		})
		x := c.chains(g)
		for _, e := range k.batteries {
			c.judgeBypass(x, e, len(k.parts) > 0, sources)
		}
	}
}

func (c *Context) judgeBypass(x *chains, e *trace.Edge, cut bool, sources []chargeSource) {
	p := e.Part
	reach, others := c.reaching(x, e, sources)
	if len(reach) == 0 && others == nil {
		return
	}
	message := ""
	protection := p.Word("protection")
	switch {
	case protection.V == "internal":
		return
	case !protection.Given() && !cut:
		c.Missing("charge-bypass", "protection of "+p.ID, p.At, p.ID)
		return
	case protection.V == "external" && !cut:
		c.Missing("charge-bypass", "disconnect of "+p.ID, p.At, p.ID)
		return
	case protection.V == "none" && !cut:
		message = "has no protection that could open"
	}
	var from []*schema.Part
	node := -1
	for _, s := range reach {
		from = append(from, s.part)
		if node < 0 {
			node = s.a
		}
	}
	if others != nil {
		from = append(from, others.Part)
		if node < 0 {
			node = others.A
		}
	}
	where := append(c.at(from[0], node), ids(from[1:])...)
	where = append(where, p.ID)
	if message == "" {
		ks := c.chargeCut(p)
		message = fmt.Sprintf("is reached without passing %s, which its protection opens", list(ids(ks)))
		where = append(where, ids(ks)...)
	}
	c.Add(diag.Finding{Rule: "charge-bypass", Severity: diag.Error, Span: from[0].At, At: where,
		Message: fmt.Sprintf("%s charges the lithium cells of %s, which %s", list(ids(from)), p.ID, message),
		Risk:    "charging goes on when the protection has cut off: the cells overheat and burn",
		Do:      fmt.Sprintf("land every charging lead on the far side of the disconnect of %s", p.ID),
		Source:  "E-13 (trade summaries); NTSB report on a fire of 28 April 2024"})
}

// reaching lists the charging sources, and a lead battery, that still reach a
// battery's two posts with its disconnect open.
func (c *Context) reaching(x *chains, e *trace.Edge, sources []chargeSource) (list []chargeSource, lead *trace.Edge) {
	for _, s := range sources {
		twice := slices.ContainsFunc(list, func(o chargeSource) bool { return o.part == s.part })
		if !twice && slices.Contains(x.between(s.a, s.b), e) {
			list = append(list, s)
		}
	}
	for _, o := range x.top[x.g.Of(e.A)] {
		if o != e && o.Part.Word("chemistry").V != "lfp" && x.g.Same(o.B, e.B) {
			return list, o
		}
	}
	return list, nil
}
