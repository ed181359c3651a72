package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var pumpNotAlone = Rule{
	Name: "pump-not-alone", Section: "DC, static",
	Asks:     "Has every automatic bilge pump a device of its own, a switch to run it by hand, and a light that shows it runs?",
	Why:      "another load's fault silences the pump, a stuck float cannot be by-passed, and days of pumping go unseen",
	Severity: "warning; note for the missing light",
	Source:   "E-11 bilge pump practice; 46 CFR 182.520 and 182.530 (light that shows an automatic pump runs)",
	Quiet:    "a lamp up to 0.2 A beside the pump is its run light; a float with `manual-override` is by-passed; a pump with a float inside has no contact to by-pass",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  F1: {kind: fuse, title: Pump, family: blade, rating: 10 A, space: cabin}
  BP: {kind: bus, title: Pumps and lights}
  BN: {kind: bus, title: Negative}
  P1: {kind: pump, duty: bilge, automatic: yes, light: yes, draw: 4 A, submersible: yes}
  LT1: {kind: light, draw: 1 A}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, BP], size: 2.5 mm2, lengths: [0.15 m, 1 m]}
  - {id: 2, from: BP, to: P1.+, size: 2.5 mm2, length: 2 m}
  - {id: 3, from: BP, to: LT1.+, size: 2.5 mm2, length: 2 m}
  - {id: 4, from: P1.-, to: BN, size: 2.5 mm2, length: 2 m}
  - {id: 5, from: LT1.-, to: BN, size: 2.5 mm2, length: 2 m}
  - {id: 6, from: B1.-, to: BN, size: 10 mm2, length: 0.5 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  F1: {kind: fuse, title: Pump, family: blade, rating: 10 A, space: cabin}
  F2: {kind: fuse, title: Light, family: blade, rating: 10 A, space: cabin}
  BN: {kind: bus, title: Negative}
  P1: {kind: pump, duty: bilge, automatic: yes, light: yes, draw: 4 A, submersible: yes}
  LT1: {kind: light, draw: 1 A}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, P1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, path: [B1.+, F2, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 3, from: P1.-, to: BN, size: 2.5 mm2, length: 2 m}
  - {id: 4, from: LT1.-, to: BN, size: 2.5 mm2, length: 2 m}
  - {id: 5, from: B1.-, to: BN, size: 10 mm2, length: 0.5 m}
`,
	Check: checkPumpNotAlone,
}

func checkPumpNotAlone(c *Context) {
	c.dutyUnknown("pump-not-alone")
	var pumps []*trace.Edge
	c.eachEdge(trace.Load, schema.DC, func(_ int, e *trace.Edge) {
		if e.Part.Is(schema.Bilge) && c.isFloated(e) {
			pumps = append(pumps, e)
		}
	})
	if len(pumps) == 0 {
		return
	}
	pieces := map[int][]*trace.Edge{} // loads by device-free piece
	c.eachEdge(trace.Load, schema.DC, func(_ int, e *trace.Edge) {
		if p := c.Net.Component(e.A); p >= 0 {
			pieces[p] = append(pieces[p], e)
		}
	})
	c.eachEdge(trace.ConvertIn, schema.DC, func(_ int, e *trace.Edge) {
		if p := c.Net.Component(e.A); p >= 0 {
			pieces[p] = append(pieces[p], e)
		}
	})
	spoken := map[int]bool{}
	for _, e := range pumps {
		c.Looked("pump-not-alone")
		piece := c.Net.Component(e.A)
		if piece >= 0 && !spoken[piece] && c.sharesDevice(e, pieces[piece]) {
			spoken[piece] = true
		}
		c.byHand(e)
		c.showsRunning(e)
	}
}

// sharesDevice reports other loads behind the pump's device.
func (c *Context) sharesDevice(pump *trace.Edge, loads []*trace.Edge) bool {
	var others []*schema.Part
	from := -1
	for _, e := range loads {
		if e.Part != pump.Part && !isRunLight(e) && !e.Part.Is(schema.Sensing) && !slices.Contains(others, e.Part) {
			others = append(others, e.Part)
			if from < 0 {
				from = e.A
			}
		}
	}
	if len(others) == 0 {
		return false
	}
	device := c.nearestDevice(from) // the pump may have a second way by hand
	if device == nil {
		return false // nothing guards it: unfused-run
	}
	name := device.Part.ID
	if device.Branch.Way != "" {
		name += "." + device.Branch.Way
	}
	at := append(c.at(pump.Part, pump.A), device.Part.ID)
	at = append(at, ids(others)...)
	c.Add(diag.Finding{Rule: "pump-not-alone", Severity: diag.Warning, Span: pump.Part.At, At: at,
		Message: fmt.Sprintf("%s shares %s with %s", pump.Part.ID, name, brief(ids(others))),
		Risk:    "a fault in the other load silences the pump",
		Do:      fmt.Sprintf("give %s a fuse or breaker of its own", pump.Part.ID),
		Source:  "E-11 bilge pumps (from memory); trade practice"})
	return true
}

// nearestDevice returns the first device on the way from a joint.
func (c *Context) nearestDevice(node int) *trace.Edge {
	seen := map[int]bool{node: true}
	queue := []int{node}
	for i := 0; i < len(queue); i++ {
		for _, id := range c.Net.Nodes[queue[i]].Edges {
			e := &c.Net.Edges[id]
			if e.Type == trace.Device {
				return e
			}
			if w := e.Other(queue[i]); e.Passes() && !seen[w] && !c.Net.Nodes[w].Grounded {
				seen[w] = true
				queue = append(queue, w)
			}
		}
	}
	return nil
}

// byHand asks for a way round the float that a person can close.
func (c *Context) byHand(pump *trace.Edge) {
	float := c.floatOf(pump)
	if float == nil || float.Part.Flag("manual-override").V {
		return
	}
	node := pump.A
	if c.sensingNear(pump.A) == nil {
		node = pump.B
	}
	if c.liveWithout(node, float.Part) {
		return
	}
	c.Add(diag.Finding{Rule: "pump-not-alone", Severity: diag.Warning, Span: pump.Part.At, At: append(c.at(pump.Part, node), float.Part.ID),
		Message: fmt.Sprintf("%s cannot be run by hand: no switch goes round %s", pump.Part.ID, float.Part.ID),
		Risk:    "a float that sticks leaves the water in",
		Do:      fmt.Sprintf("fit a switch from the feed to %s that goes round %s", pump.Part.ID, float.Part.ID),
		Source:  "46 CFR 182.520 as practice; trade practice"})
}

// liveWithout reports whether a device or source can be reached from a joint
// without the contacts of a part.
func (c *Context) liveWithout(node int, float *schema.Part) bool {
	seen := map[int]bool{node: true}
	queue := []int{node}
	for i := 0; i < len(queue); i++ {
		if len(c.Net.AtNode(queue[i])) > 0 {
			return true
		}
		for _, id := range c.Net.Nodes[queue[i]].Edges {
			e := &c.Net.Edges[id]
			if e.Type == trace.Device {
				return true
			}
			if e.Type == trace.Contact && e.Part.Is(schema.Sensing) && !survey.ByPerson(e) {
				continue
			}
			if w := e.Other(queue[i]); e.Passes() && !seen[w] && !c.Net.Nodes[w].Grounded {
				seen[w] = true
				queue = append(queue, w)
			}
		}
	}
	return false
}

// showsRunning notes a pump with no light that shows it runs.
func (c *Context) showsRunning(pump *trace.Edge) {
	if pump.Part.Flag("light").V {
		return
	}
	seen := map[int]bool{pump.A: true}
	queue := []int{pump.A}
	for i := 0; i < len(queue); i++ {
		for _, id := range c.Net.Nodes[queue[i]].Edges {
			e := &c.Net.Edges[id]
			if e.Type == trace.Load && e.Part != pump.Part && isRunLight(e) {
				return
			}
			if e.Type == trace.Contact && e.Part.Kind.Attr("light") != nil && e.Part.Flag("light").V {
				return
			}
			if w := e.Other(queue[i]); (e.Type == trace.Conductor || e.Type == trace.Series) && !seen[w] && !c.Net.Nodes[w].Grounded {
				seen[w] = true
				queue = append(queue, w)
			}
		}
	}
	c.Add(diag.Finding{Rule: "pump-not-alone", Severity: diag.Note, Span: pump.Part.At, At: []string{pump.Part.ID},
		Message: fmt.Sprintf("no light shows that %s runs", pump.Part.ID),
		Risk:    "weeks of pumping before a sinking go unseen",
		Do:      "fit a light at the helm, fed at the pump, or say `light: yes`",
		Source:  "46 CFR 182.530 as practice"})
}
