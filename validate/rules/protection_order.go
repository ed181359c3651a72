package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

var protectionOrder = Rule{
	Name: "protection-order", Section: dcSolved,
	Asks:     "Of two devices in a row, does the one nearer the fault open first?",
	Why:      "one faulty lamp takes the whole panel, the radio and the pump with it",
	Severity: "warning",
	Source:   "46 CFR 111.51-3 (only the nearest device clears), as practice; published opening times; ratings",
	Quiet:    "devices of equal rating, and families whose curves are not published, are left alone unless the upstream one is the smaller",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 400 Ah, cranking: 500 A}
  BP: {kind: bus, rating: 100 A, polarity: positive}
  HT1: {kind: heater, draw: 20 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 30 A}, BP], size: 6 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 2, path: [BP, {F2: class-t 40 A}, HT1.+], size: 8 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 3, from: HT1.-, to: B1.-, size: 8 AWG, length: 0.4 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 400 Ah, cranking: 500 A}
  BP: {kind: bus, rating: 100 A, polarity: positive}
  HT1: {kind: heater, draw: 20 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 80 A}, BP], size: 6 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 2, path: [BP, {F2: class-t 40 A}, HT1.+], size: 8 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 3, from: HT1.-, to: B1.-, size: 8 AWG, length: 0.4 m}
`,
	Check: checkProtectionOrder,
}

func checkProtectionOrder(c *Context) {
	for id := range c.Net.Edges {
		up := &c.Net.Edges[id]
		if up.Type != trace.Device || up.Medium != schema.DC || spareWay(up) {
			continue
		}
		for _, side := range [2]int{up.B, up.A} {
			if c.Net.Nodes[side].Grounded {
				continue
			}
			if atRest, ok := c.upstream(id, up.Other(side), side); ok {
				c.ordered(id, up, side, atRest)
			}
		}
	}
}

// upstream reports whether a fault beyond one side of a device is fed chiefly
// through the device, from its other side: with every contact closed, else as the
// contacts stand at rest (a combiner open). Chargers and the like on the fault's
// side are held to their own limits; a battery there is not.
func (c *Context) upstream(device, feed, side int) (atRest, ok bool) {
	for _, atRest = range [2]bool{false, true} {
		sides := c.DeviceSides(atRest)
		near, far := sides.Of(device, side), sides.Of(device, feed)
		if !near.Loop && !near.Battery && far.Source && (far.Battery || !near.Source) {
			return atRest, true
		}
	}
	return false, false
}

// ordered judges a device against the next ones behind it, past contacts that
// stand open only where every contact is taken as closed.
func (c *Context) ordered(id int, up *trace.Edge, side int, atRest bool) {
	n := c.Net
	seen := map[int]bool{side: true, up.Other(side): true}
	work := []int{side}
	var slower []*trace.Edge
	why := ""
	for len(work) > 0 {
		v := work[0]
		work = work[1:]
		for _, next := range n.Nodes[v].Edges {
			e := &n.Edges[next]
			if e.Medium != schema.DC || next == id {
				continue
			}
			if e.Type == trace.Device {
				loads, _ := c.loadsBehind(next, e.Other(v))
				if spareWay(e) || len(loads) == 0 && !c.devicesBehind(e.Other(v), next) {
					continue
				}
				c.Looked("")
				switch words, missing := opensFirst(up, e); {
				case missing != nil:
					c.Missing("", "rating of "+edgeName(missing), missing.Part.At, missing.Part.ID)
				case words != "":
					slower = append(slower, e)
					why = words
				}
				continue
			}
			if !e.Passes() || atRest && e.Type == trace.Contact && !(survey.Setting{}).Closed(e) {
				continue
			}
			if w := e.Other(v); !seen[w] {
				seen[w] = true
				work = append(work, w)
			}
		}
	}
	if len(slower) == 0 {
		return
	}
	at := c.atDevice(up)
	var names []string
	largest := slower[0]
	for _, e := range slower {
		at = append(at, e.Part.ID)
		names = append(names, fmt.Sprintf("%s (%s)", edgeName(e), e.Branch.Device.Rating.V))
		if e.Branch.Device.Rating.V > largest.Branch.Device.Rating.V {
			largest = e
		}
	}
	a, b := up.Branch.Device, largest.Branch.Device
	c.Add(figure(diag.Finding{Severity: diag.Warning, Span: up.Part.At, At: at,
		Message: fmt.Sprintf("%s, %s, opens before %s behind it: %s", edgeName(up), a.Rating.V, brief(names), why),
		Risk:    "a fault or overload in one circuit takes every other behind the same device with it",
		Do:      "raise the rating upstream if its wire allows, or lower it behind",
		Source:  "46 CFR 111.51-3 as practice: only the device nearest the fault clears"}, a.Rating.V, b.Rating.V, "A"))
}

// devicesBehind reports whether further devices follow a joint.
func (c *Context) devicesBehind(node, except int) bool {
	for _, id := range c.Net.Nodes[node].Edges {
		if id != except && c.Net.Edges[id].Type != trace.Sense && c.Net.Edges[id].Medium == schema.DC {
			return true
		}
	}
	return false
}

// opensFirst says why an upstream device opens before one behind it, "" where it
// does not or where that is not known.
func opensFirst(up, down *trace.Edge) (why string, missing *trace.Edge) {
	a, b := up.Branch.Device, down.Branch.Device
	switch {
	case !a.Rating.Given():
		return "", up
	case !b.Rating.Given():
		return "", down
	case a.Rating.V < b.Rating.V:
		return "it has the smaller rating", nil
	}
	// With both curves published the bands at several times the downstream
	// rating are compared.
	if !tables.HasCurve(a.Family) || !tables.HasCurve(b.Family) {
		return "", nil
	}
	for _, m := range []float64{1.5, 2, 3.5, 6, 10} {
		x := b.Rating.V * unitAmp(m)
		oa, okA := tables.OpeningTime(a.Family, a.Rating.V, x)
		ob, okB := tables.OpeningTime(b.Family, b.Rating.V, x)
		if okA && okB && !oa.Carries && !ob.Carries && ob.Earliest > 0 && oa.Latest < ob.Earliest {
			return fmt.Sprintf("at %s it opens within %s, the other takes at least %s", x, secondsText(oa.Latest.Seconds()), secondsText(ob.Earliest.Seconds())), nil
		}
	}
	return "", nil
}
