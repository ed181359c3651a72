package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

var shoreResidual = Rule{
	Name: "shore-residual", Section: "Shore power, static",
	Asks:     "Does every way from a shore inlet to a load pass a residual-current device of at most 30 mA?",
	Why:      "current that leaks to the water kills swimmers; a live case kills aboard",
	Severity: "error",
	Source:   "E-11 11.11.1, 30 mA within 100 ms; ISO 13297, 30 mA (from memory)",
	Quiet:    "one device for the whole boat, one in the panel's way, or one in the outlet itself is enough",
	Bad: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  SI: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  AB1: {kind: ac-breaker, title: Shore main, rating: 16 A, space: cabin}
  HE1: {kind: ac-load, volts: 230 V, power: 1 kW}
wires:
  - {id: 70, path: [SI, AB1, HE1], cable: 3 core 2.5 mm2, lengths: [1 m, 2 m]}
`,
	Good: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  SI: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  AB1: {kind: rcd, title: Shore main, rating: 16 A, trip: 30 mA, space: cabin}
  HE1: {kind: ac-load, volts: 230 V, power: 1 kW}
wires:
  - {id: 70, path: [SI, AB1, HE1], cable: 3 core 2.5 mm2, lengths: [1 m, 2 m]}
`,
	Check: checkShoreResidual,
}

// trips reports whether a device opens on residual current as it should; unknown
// is set for a residual-current device that states no trip.
func trips(e *trace.Edge) (ok, unknown bool) {
	if e.Branch == nil || e.Branch.Device == nil {
		return false, false
	}
	d := e.Branch.Device
	if d.Trip.Given() {
		return d.Trip.V <= tables.ResidualTrip+1e-9, false
	}
	return false, e.Part.Is(schema.Residual)
}

// bare is what an inlet reaches with no residual-current device on the way.
type unguarded struct {
	loads   []*schema.Part
	passed  []*schema.Part // devices whose trip is too high
	trip    unit.Amp
	cable   *schema.Wire
	unknown *schema.Part // a device on the way to a load that states no trip
}

func checkShoreResidual(c *Context) {
	for _, s := range c.acSources() {
		if !s.shore {
			continue
		}
		c.Looked("shore-residual")
		u := c.residualWalk(s, false)
		if len(u.loads) > 0 {
			c.reportResidual(s, u)
		}
		if open := c.residualWalk(s, true); open.unknown != nil && len(open.loads) > len(u.loads) {
			c.Missing("shore-residual", "trip of "+open.unknown.ID, open.unknown.At, open.unknown.ID)
		}
	}
}

// residualWalk collects the loads that the line of an inlet reaches past no
// device that trips. through lets it pass devices that state no trip.
func (c *Context) residualWalk(s acSource, through bool) unguarded {
	var u unguarded
	seen := map[int]bool{s.l: true}
	queue := []int{s.l}
	for i := 0; i < len(queue); i++ {
		v := queue[i]
		for _, p := range c.chargesAt(v) {
			if !slices.Contains(u.loads, p) {
				u.loads = append(u.loads, p)
			}
		}
		for _, id := range c.Net.Nodes[v].Edges {
			e := &c.Net.Edges[id]
			if e.Medium != schema.AC || e == s.edge {
				continue
			}
			to := e.Other(v)
			if e.Type == trace.Load {
				if ok, _ := trips(e); !ok && e.Branch.Load.Feeds == "" || !ok && e.Part.Is(schema.Charging) {
					u.loads = append(u.loads, e.Part)
				} else if !ok && e.Part.Is(schema.Source) {
					to = c.Net.Node(e.Part, e.Branch.Load.Feeds) // on through a transformer
				} else {
					continue
				}
			} else if !acPasses(e) {
				continue
			}
			if to < 0 || seen[to] || e.Type == trace.Load && !e.Part.Is(schema.Source) {
				continue
			}
			if ok, unknown := trips(e); ok || unknown && !through {
				continue
			} else if unknown && u.unknown == nil {
				u.unknown = e.Part
			}
			if d := e.Branch; d != nil && d.Device != nil && d.Device.Trip.Given() && e.Type == trace.Device {
				u.passed, u.trip = append(u.passed, e.Part), max(u.trip, d.Device.Trip.V)
			}
			if u.cable == nil && e.Wire != nil {
				u.cable = e.Wire
			}
			if e.Type == trace.Load && e.Part.Is(schema.Charging) {
				continue
			}
			seen[to] = true
			queue = append(queue, to)
		}
	}
	return u
}

// chargesAt lists the inverters that charge from what is joined to a joint: loads of
// the inlet like any charger.
func (c *Context) chargesAt(node int) (list []*schema.Part) {
	for _, end := range c.Net.Nodes[node].Ends {
		if end.Part.Is(schema.Inverting|schema.Charging) && slices.ContainsFunc(end.Part.Branches(), func(b schema.Branch) bool {
			return b.Type == schema.Feed && b.Medium == schema.DC && b.Feed.InA == end.Terminal
		}) {
			list = append(list, end.Part)
		}
	}
	return list
}

func (c *Context) reportResidual(s acSource, u unguarded) {
	at := []string{s.part.ID}
	span := s.part.At
	if u.cable != nil {
		at, span = []string{u.cable.Ref(), s.part.ID}, u.cable.At
	}
	at = appendNew(appendNew(at, ids(u.passed)...), ids(u.loads)...)
	f := diag.Finding{Rule: "shore-residual", Severity: diag.Error, Span: span, At: at,
		Message: fmt.Sprintf("%s %s reached from inlet %s past no residual-current device of 30 mA or less", brief(ids(u.loads)), are(ids(u.loads)), s.part.ID),
		Risk:    "current that leaks away kills: aboard through a live case, in the water around the boat",
		Do:      "fit a residual-current device of 30 mA for the whole boat, next to the main breaker" + licensed,
		Source:  "E-11 11.11.1; ISO 13297 (from memory)"}
	if len(u.passed) > 0 {
		f.Message += fmt.Sprintf("; %s trips at %s", list(ids(u.passed)), u.trip)
		f.Value, f.Limit, f.Unit = diag.Figure(u.trip), diag.Figure(tables.ResidualTrip), "A"
	}
	c.Add(f)
}
