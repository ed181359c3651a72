package rules

import (
	"fmt"
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/dc"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var sourceOverload = Rule{
	Name: "source-overload", Section: dcSolved,
	Asks:     "Is any source asked for more than it gives?",
	Why:      "its voltage falls or its device opens; a shore inlet or an inverter overheats",
	Severity: "warning; error for a shore inlet and an inverter",
	Source:   "the source's own rating",
	Quiet:    "a source beside a battery is never overloaded: the battery gives the rest",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 24 V, capacity: 100 Ah, cranking: 500 A}
  CV1: {kind: converter, in-volts: 24 V, volts: 12 V, output: 10 A, self-limiting: yes}
  HT1: {kind: heater, volts: 12 V, draw: 12 A, model: resistance}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 10 A}, CV1.in+], size: 10 AWG, lengths: [0.15 m, 0.4 m]}
  - {id: 2, from: CV1.in-, to: B1.-, size: 10 AWG, length: 0.4 m}
  - {id: 3, path: [CV1.out+, {F2: class-t 15 A}, HT1.+], size: 10 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 4, from: HT1.-, to: CV1.out-, size: 10 AWG, length: 0.4 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 24 V, capacity: 100 Ah, cranking: 500 A}
  CV1: {kind: converter, in-volts: 24 V, volts: 12 V, output: 20 A, self-limiting: yes}
  HT1: {kind: heater, volts: 12 V, draw: 12 A, model: resistance}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 10 A}, CV1.in+], size: 10 AWG, lengths: [0.15 m, 0.4 m]}
  - {id: 2, from: CV1.in-, to: B1.-, size: 10 AWG, length: 0.4 m}
  - {id: 3, path: [CV1.out+, {F2: class-t 15 A}, HT1.+], size: 10 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 4, from: HT1.-, to: CV1.out-, size: 10 AWG, length: 0.4 m}
`,
	Check: checkSourceOverload,
}

// demandOn is what one source is asked for in the worst condition.
type demandOn struct {
	value, limit float64
	in           string
	cond         *schema.Condition
	loads        []string
	severity     diag.Severity
	ac           bool
}

func checkSourceOverload(c *Context) {
	worst := map[*schema.Part]*demandOn{}
	var order []*schema.Part
	note := func(p *schema.Part, d demandOn) {
		c.Looked("")
		w := worst[p]
		if w == nil {
			worst[p] = &d
			order = append(order, p)
			return
		}
		if d.value/d.limit > w.value/w.limit*(1+1e-9) {
			*w = d
		}
	}
	c.eachDC(func(cond *schema.Condition, d *survey.DCState) {
		c.dcDemands(cond, d, note)
		c.acDemands(cond, note)
	})
	for _, p := range order {
		if d := worst[p]; d.value > d.limit*(1+1e-6) {
			c.overSource(p, d)
		}
	}
}

func (c *Context) overSource(p *schema.Part, d *demandOn) {
	round := func(v float64) string {
		if d.in == "W" {
			return fmt.Sprintf("%.0f W", v)
		}
		return amps1(unit.Amp(v))
	}
	do := "run less at once, or fit a source that gives more"
	if d.ac {
		do += licensed
	}
	risk := "its voltage falls and what hangs on it drops out"
	if d.severity == diag.Error {
		risk = "it overheats, or its device opens and everything on it goes out"
	}
	c.Add(diag.Finding{Severity: d.severity, Span: p.At, At: append([]string{p.ID}, d.loads...),
		Message: fmt.Sprintf("%s is asked for %s by %s %s; it gives %s", p.Name(), round(d.value), brief(d.loads), conditionText(d.cond), round(d.limit)),
		Risk:    risk, Do: do, Source: "the source's own rating", Condition: condID(d.cond), Value: &d.value, Limit: &d.limit, Unit: d.in})
}

// dcDemands adds up what hangs on each limited DC source that has no battery
// beside it.
func (c *Context) dcDemands(cond *schema.Condition, d *survey.DCState, note func(*schema.Part, demandOn)) {
	if d == nil {
		return
	}
	alone := false
	defer func() { c.lackDemand(d, alone) }()
	for _, s := range d.Sources {
		node := s.Edge.A
		if s.Edge.Type == trace.ConvertIn {
			node = c.Net.Node(s.Part, s.Edge.Branch.Convert.OutA)
		}
		if d.HasBattery(node) || isPanelOfSunFeed(s.Edge) {
			continue
		}
		alone = true
		volts := s.Output.V
		limit := float64(s.Output.MaxI)
		if s.Output.MaxP > 0 && volts > 0 {
			if byPower := float64(s.Output.MaxP) / float64(volts); limit == 0 || byPower < limit {
				limit = byPower
			}
		}
		asks, loads := c.asksAt(d, node, volts, 0)
		if limit == 0 {
			if asks > 0 && s.Edge.Type == trace.ConvertIn {
				c.Missing("", "output of "+s.Part.ID, s.Part.At, s.Part.ID)
			}
			continue
		}
		others := 0.0
		for _, o := range d.Sources {
			on := o.Edge.A
			if o.Edge.Type == trace.ConvertIn {
				on = c.Net.Node(o.Part, o.Edge.Branch.Convert.OutA)
			}
			if o != s && d.Together(on, node) {
				others += float64(o.Output.MaxI)
			}
		}
		note(s.Part, demandOn{value: math.Max(0, asks-others), limit: limit, in: "A", cond: cond, loads: loads, severity: diag.Warning})
	}
}

// lackDemand says what is not known of a condition's DC parts: of all where a
// source stands on its own, of converters and other sources in any case, since one
// without its figures is not among those that give.
func (c *Context) lackDemand(d *survey.DCState, alone bool) {
	for _, g := range d.Missing {
		source := slices.ContainsFunc(g.IDs, func(id string) bool {
			p := c.Boat.Part(id)
			return p != nil && p.Roles().Any(schema.Source|schema.Converter) && !p.Is(schema.Storage)
		})
		if alone || source {
			c.Missing("", g.What, g.At, g.IDs...)
		}
	}
}

// isPanelOfSunFeed leaves out panels: a controller takes what they have.
func isPanelOfSunFeed(e *trace.Edge) bool {
	return e.Branch.Feed != nil && (e.Branch.Feed.Needs == "sun" || e.Branch.Feed.Needs == "input")
}

// asksAt is what the running loads on a joined group ask for at a voltage,
// converters there included.
func (c *Context) asksAt(d *survey.DCState, node int, volts unit.Volt, depth int) (sum float64, loads []string) {
	for _, l := range d.Loads {
		if l.Runs && d.Together(l.Edge.A, node) {
			if a := l.Asks(volts); a > 0 {
				sum += float64(a)
				loads = append(loads, l.Part.ID)
			}
		}
	}
	for _, s := range d.Sources {
		if s.Edge.Type != trace.ConvertIn || !d.Together(s.Edge.A, node) || depth > 4 || volts <= 0 {
			continue
		}
		out := c.Net.Node(s.Part, s.Edge.Branch.Convert.OutA)
		if d.Together(out, node) {
			continue
		}
		amps := float64(s.Output.MaxI)
		if !d.HasBattery(out) {
			asks, _ := c.asksAt(d, out, s.Output.V, depth+1)
			if amps == 0 || asks < amps {
				amps = asks
			}
		}
		power := amps*float64(s.Output.V)/float64(s.Edge.Branch.Convert.Efficiency.Or(0.9)) + float64(s.Edge.Branch.Convert.Idle.V)
		sum += power / float64(volts)
		loads = append(loads, s.Part.ID)
	}
	return sum, loads
}

// acDemands holds what each AC source is asked for against its rating.
func (c *Context) acDemands(cond *schema.Condition, note func(*schema.Part, demandOn)) {
	for _, a := range c.ACDemands(cond) {
		for _, m := range a.Missing {
			c.Missing("", m, a.Part.At, a.Part.ID)
		}
		if len(a.Loads) == 0 {
			continue
		}
		d := demandOn{value: float64(a.Amps), limit: float64(a.Feed.Amps.V), in: "A", cond: cond, loads: ids(a.Loads), severity: diag.Warning, ac: true}
		switch {
		case a.Part.Is(schema.ShorePower):
			d.severity = diag.Error
		case a.Part.Is(schema.Inverting) && a.Feed.Watts.Given():
			d.severity = diag.Error
			d.value, d.limit, d.in = float64(a.Watts), float64(a.Feed.Watts.V), "W"
		case a.Part.Is(schema.Inverting):
			d.severity = diag.Error
		case a.Feed.Watts.Given():
			d.value, d.limit, d.in = float64(a.Watts), float64(a.Feed.Watts.V), "W"
		}
		switch {
		case d.in == "A" && !a.Feed.Amps.Given():
			c.Missing("", "rating of "+a.Part.ID, a.Part.At, a.Part.ID)
		case d.in == "A" && a.Volts <= 0:
			c.Missing("", "volts of "+a.Part.ID, a.Part.At, a.Part.ID)
		default:
			note(a.Part, d)
		}
	}
}

var noSolution = Rule{
	Name: "no-solution", Section: dcSolved,
	Asks:     "Has the DC network a solution in every condition?",
	Why:      "loads that ask for more than their supply can give at any voltage bring it down altogether",
	Severity: "warning",
	Source:   "nodal solution: of the two voltages of a constant-power load the higher is meant; where there is none the supply collapses",
	Quiet:    "a source that is asked for more than it gives is source-overload's",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, emf: 12 V, resistance: 0.1 ohm, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  HT1: {kind: heater, draw: 370 W}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 50 A}, HT1.+], size: 6 AWG, lengths: [0.1 m, 0.1 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 6 AWG, length: 0.2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, emf: 12 V, resistance: 5 mohm, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  HT1: {kind: heater, draw: 370 W}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 50 A}, HT1.+], size: 6 AWG, lengths: [0.1 m, 0.1 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 6 AWG, length: 0.2 m}
`,
	Check: checkNoSolution,
}

func checkNoSolution(c *Context) {
	for _, cond := range c.Conditions() {
		d := c.DCWithoutCranking(cond)
		c.Looked("")
		if d == nil || d.Shorted() || d.Trouble == nil {
			continue
		}
		if c.asksTooMuch(cond, d) {
			continue
		}
		t := d.Trouble
		span, at := cond.At, []string{cond.ID}
		switch {
		case t.Wire != nil:
			span, at = t.Wire.At, []string{t.Wire.Ref(), cond.ID}
		case t.Part != nil:
			span, at = t.Part.At, []string{t.Part.ID, cond.ID}
		}
		do := "look for a missing or undersized way to what is named"
		if t.Cause == dc.Collapse {
			do = "thicker conductors, a stronger bank, or less load at once"
		}
		c.Add(diag.Finding{Severity: diag.Warning, Span: span, At: at,
			Message: fmt.Sprintf("the DC network has no solution %s: %s", conditionText(cond), t),
			Risk:    "no current, voltage or drop of this condition is known", Do: do,
			Source: "nodal solution", Condition: cond.ID})
	}
}

// asksTooMuch reports whether a limited source is asked for more than it gives in
// a condition: that is why there is no solution, and source-overload's finding.
func (c *Context) asksTooMuch(cond *schema.Condition, d *survey.DCState) bool {
	over := false
	c.dcDemands(cond, d, func(_ *schema.Part, m demandOn) {
		over = over || m.value > m.limit*(1+1e-6)
	})
	return over
}
