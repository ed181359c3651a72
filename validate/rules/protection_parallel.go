package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/trace"
)

// devicesInParallel finds devices that join the same two joints through nothing
// but conductors and shunts: two fuses side by side are not one large fuse. The
// poles of one part belong together as its maker made them, and feeds that a
// switch or float parts are not in parallel.
func (c *Context) devicesInParallel() {
	g := c.Groups(func(e *trace.Edge) bool { return e.Type == trace.Conductor || e.Type == trace.Series })
	type pair struct{ a, b int }
	beside := map[pair][]*trace.Edge{}
	var order []pair
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		if e.Type != trace.Device || !c.Net.Nodes[e.A].Live() || !c.Net.Nodes[e.B].Live() || e.Branch.Device.ResidualOnly {
			continue
		}
		a, b := g.Of(e.A), g.Of(e.B)
		if a == b {
			continue
		}
		k := pair{min(a, b), max(a, b)}
		if beside[k] == nil {
			order = append(order, k)
		}
		beside[k] = append(beside[k], e)
	}
	for _, k := range order {
		if list := beside[k]; len(list) > 1 {
			c.judgeBeside(list)
		}
	}
}

func (c *Context) judgeBeside(devices []*trace.Edge) {
	var names, at []string
	var parts []*schema.Part
	sum, known := unit.Amp(0), true
	for _, e := range devices {
		d := e.Branch.Device
		name := edgeName(e)
		if d.Rating.Given() {
			sum += d.Rating.V
			name += " " + d.Rating.V.String()
		} else {
			known = false
		}
		names, parts = append(names, name), append(parts, e.Part)
		at = appendNew(at, c.at(e.Part, e.A)...)
	}
	if len(ids(parts)) < 2 && devices[0].Branch.Way == "" {
		return
	}
	for _, f := range c.found {
		named := func(id string) bool { return slices.Contains(f.At, id) }
		if f.Rule == "protection-sum" && !slices.ContainsFunc(ids(parts), func(id string) bool { return !named(id) }) {
			return
		}
	}
	message := fmt.Sprintf("%s lie in parallel", list(names))
	if known {
		message += fmt.Sprintf(": %s before both open", sum)
	}
	c.Add(diag.Finding{Rule: "protection-sum", Severity: diag.Error, Span: devices[0].Part.At, At: at,
		Message: message,
		Risk:    "they do not share the current evenly: one opens early and the other then carries all, or each waits for the other on a fault",
		Do:      "fit one device of the rating the conductor wants",
		Source:  "46 CFR 111.50-3(d): no overcurrent device in parallel with another"})
}
