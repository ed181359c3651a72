package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

var shoreMain = Rule{
	Name: "shore-main", Section: "Shore power, static",
	Asks:     "Does every way from a shore inlet meet a breaker within the set's distance, measured along the cable?",
	Why:      "the cable ahead of the boat's own breaker is guarded by whatever the dock has",
	Severity: "error",
	Source:   "E-11 11.10.2.8.3, 10 ft; ISO 13297:2020 13.2.2, 0.5 m, or enclosed from inlet to breaker",
	Quiet:    "an rcd with a rating is a breaker too; an extra breaker near the inlet counts; isolators and residual-current devices do not reset the length",
	Bad: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  SI: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  RC1: {kind: rcd, title: Shore main, rating: 16 A, trip: 30 mA, space: cabin}
  HE1: {kind: ac-load, volts: 230 V, power: 1 kW}
wires:
  - {id: 70, path: [SI, RC1, HE1], cable: 3 core 2.5 mm2, lengths: [3.2 m, 2 m]}
`,
	Good: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  SI: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  RC1: {kind: rcd, title: Shore main, rating: 16 A, trip: 30 mA, space: cabin}
  HE1: {kind: ac-load, volts: 230 V, power: 1 kW}
wires:
  - {id: 70, path: [SI, RC1, HE1], cable: 3 core 2.5 mm2, lengths: [3 m, 2 m]}
`,
	Check: checkShoreMain,
}

// shoreWay is one way from an inlet to its first breaker, or to where it ends
// without one.
type shoreWay struct {
	length trace.Range
	bare   bool
	unsure *schema.Wire
	last   *schema.Wire
	device *schema.Part // nil: none
	end    *schema.Part
}

func checkShoreMain(c *Context) {
	for _, s := range c.acSources() {
		if !s.shore || s.edge.Branch.Feed.BuiltIn != nil {
			continue
		}
		c.Looked("shore-main")
		ways := c.shoreWays(s)
		for _, set := range c.Sets() {
			if c.judgeShoreMain(s, ways, set) {
				break
			}
		}
	}
}

// shoreWays walks the line from an inlet through everything that is no breaker.
func (c *Context) shoreWays(s acSource) []shoreWay {
	type place struct {
		node int
		way  shoreWay
	}
	var out []shoreWay
	seen := map[int]bool{s.l: true}
	queue := []place{{s.l, shoreWay{}}}
	for i := 0; i < len(queue); i++ {
		at := queue[i]
		ends := true
		for _, id := range c.Net.Nodes[at.node].Edges {
			e := &c.Net.Edges[id]
			to := e.Other(at.node)
			way := at.way
			switch {
			case e.Medium != schema.AC || e == s.edge:
			case e.Type == trace.Device && !e.Branch.Device.ResidualOnly:
				way.device = e.Part
				out, ends = append(out, way), false
			case e.Type == trace.Load:
				way.end = e.Part
				out, ends = append(out, way), false
			case !acPasses(e) || seen[to]:
			default:
				seen[to] = true
				ends = false
				if e.Type == trace.Conductor {
					way.length = way.length.Add(e.Wire)
					way.bare = way.bare || !e.Wire.Sheath.Or(false)
					way.last = e.Wire
					if way.unsure == nil && (!e.Wire.Length.Given() || e.Wire.Length.From == schema.Derived) {
						way.unsure = e.Wire
					}
				}
				queue = append(queue, place{to, way})
			}
		}
		if ends && i > 0 && at.way.last != nil {
			continue // a spare end
		}
	}
	return out
}

// judgeShoreMain judges the longest way under a set and reports whether it spoke.
func (c *Context) judgeShoreMain(s acSource, ways []shoreWay, set tables.Set) bool {
	var worst *shoreWay
	for i := range ways {
		w := &ways[i]
		if w.device == nil {
			c.noShoreMain(s, w)
			return true
		}
		limit := tables.ProtectionDistance(set, tables.ShoreInlet, !w.bare)
		if limit.Enclosed {
			continue
		}
		if worst == nil || w.length.High > worst.length.High {
			worst = w
		}
	}
	if worst == nil {
		return false
	}
	limit := tables.ProtectionDistance(set, tables.ShoreInlet, false)
	switch {
	case float64(worst.length.High) <= float64(limit.Practice)+1e-9:
		return false
	case float64(worst.length.Low) <= float64(limit.Practice)+1e-9:
		c.Missing("shore-main", "length of wire "+worst.unsure.Ref(), worst.unsure.At, worst.unsure.Ref())
		return true
	}
	enclosed := ""
	if set == tables.ISO {
		enclosed = " unless it is enclosed the whole way"
	}
	c.Add(diag.Finding{Rule: "shore-main", Severity: diag.Error, Span: worst.last.At, At: []string{worst.last.Ref(), s.part.ID, worst.device.ID},
		Message: fmt.Sprintf("%s, the first breaker, is %s from inlet %s along the cable; %s is allowed%s", worst.device.ID, metres(worst.length.Low), s.part.ID, metres(limit.Practice), enclosed),
		Risk:    "the cable ahead of it is guarded by whatever the dock has: it burns inside the boat",
		Do:      fmt.Sprintf("move %s to within %s of the inlet, or fit a further breaker there%s", worst.device.ID, metres(limit.Practice), licensed),
		Source:  limit.Cite.String(),
		Value:   diag.Figure(worst.length.Low), Limit: diag.Figure(limit.Practice), Unit: "m"})
	return true
}

func (c *Context) noShoreMain(s acSource, w *shoreWay) {
	at := []string{s.part.ID}
	span := s.part.At
	if w.last != nil {
		at, span = []string{w.last.Ref(), s.part.ID}, w.last.At
	}
	c.Add(diag.Finding{Rule: "shore-main", Severity: diag.Error, Span: span, At: appendNew(at, w.end.ID),
		Message: fmt.Sprintf("no breaker stands between inlet %s and %s", s.part.ID, w.end.ID),
		Risk:    "the boat's cables are guarded by whatever the dock has",
		Do:      "fit a main breaker that opens line and neutral near the inlet" + licensed,
		Source:  "E-11 11.10.2.8.3; ISO 13297:2020 13.2.2"})
}
