package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// lossBetween says where a voltage that is too low must be lost: between the
// nearest reading upstream that agrees, else the source, and the place.
func (c *Context) lossBetween(d *survey.DCState, r *schema.Reading) string {
	node, back := c.sidesOf(r.Where)
	way := c.currentTo(d, node)
	if way.name == "" {
		return "a joint of high resistance, a conductor longer or thinner than stated, or more load than stated"
	}
	from, start, before := way.name, 0, 0.0
	at := way.from
	for i, e := range way.edges {
		at = e.Other(at)
		if o, lost, ok := c.agreesAt(d, r, at); ok {
			from, start, before = o.Where.Part.ID, i+1, lost
		}
	}
	lost := ""
	if e, ok := d.ExpectedVolts(r.Where); ok {
		lost = volts2(unit.Volt(e.Predicted-float64(r.Volts.V)-before)) + " too much "
	}
	on := stretchNames(way.edges[start:])
	in := "in the return"
	if names := stretchNames(c.returnOf(d, way, back)); len(names) > 0 {
		in += " (" + brief(names) + ")"
	}
	if len(on) > 0 {
		in = brief(on) + " or " + in
	}
	return fmt.Sprintf("what loses %sbetween %s and %s: a joint of high resistance, or a conductor longer or thinner than stated, on %s", lost, from, r.Where.Part.ID, in)
}

// agreesAt is a reading of the same condition at a joint that agrees, and what it
// lies below the computed value.
func (c *Context) agreesAt(d *survey.DCState, r *schema.Reading, node int) (o *schema.Reading, lost float64, ok bool) {
	for k := range c.Boat.Readings {
		x := &c.Boat.Readings[k]
		if x == r || x.Condition != r.Condition || !x.Volts.Given() || x.Where.Part == nil || c.Net.Node(x.Where.Part, x.Where.Terminal) != node {
			continue
		}
		e, known := d.ExpectedVolts(x.Where)
		if _, off := e.Stray(float64(x.Volts.V), x.Within.Or(survey.UsualWithin)); known && !off {
			o, lost, ok = x, e.Predicted-float64(x.Volts.V), true
		}
	}
	return o, lost, ok
}

// sidesOf are the joints of a reading: its terminal, and -1; of a part whose
// terminal is not named both ends of its load or source.
func (c *Context) sidesOf(at schema.End) (plus, minus int) {
	if n := c.Net.Node(at.Part, at.Terminal); n >= 0 && (at.Terminal != "" || c.Joined(n)) {
		return n, -1
	}
	for i := range c.Net.Edges {
		e := &c.Net.Edges[i]
		if e.Part == at.Part && e.Medium == schema.DC && (e.Type == trace.Load || e.Type == trace.ConvertIn || e.Type == trace.Battery) {
			return e.A, e.B
		}
		if e.Part == at.Part && e.Type == trace.Feed {
			return e.A, c.Back(e)
		}
	}
	return c.Net.Node(at.Part, at.Terminal), -1
}

func stretchNames(path []*trace.Edge) []string {
	var on []string
	for _, e := range path {
		switch {
		case e.Wire != nil:
			on = append(on, "wire "+e.Wire.Ref())
		case e.Type == trace.Device || e.Type == trace.Contact || e.Type == trace.Series:
			on = append(on, edgeName(e))
		}
	}
	return on
}

// lossBeyond says where a voltage that is too high must be lost: a source that
// gives raises its volts by what a joint behind it takes, and a joint in the
// return lifts a whole bank above the reference. It is "" where neither can be.
func (c *Context) lossBeyond(d *survey.DCState, r *schema.Reading) string {
	node, back := c.sidesOf(r.Where)
	e, ok := d.ExpectedVolts(r.Where)
	if node < 0 || !ok {
		return ""
	}
	much := volts2(r.Volts.V - unit.Volt(e.Predicted))
	way := c.currentTo(d, node)
	if way.discharges {
		if on := c.toReference(way.to); len(on) > 0 && back < 0 {
			return fmt.Sprintf("what lifts the minus of %s by %s: a joint of high resistance on %s", way.name, much, brief(on))
		}
		return ""
	}
	path, sink := c.currentFrom(d, node)
	to, at := "", node
	if sink != nil {
		to = sink.Part.ID
	}
	for i, e := range path {
		at = e.Other(at)
		if o, _, ok := c.agreesAt(d, r, at); ok {
			to, path, sink = o.Where.Part.ID, path[:i+1], nil
			break
		}
	}
	if to == "" {
		return ""
	}
	on := stretchNames(path)
	if sink != nil {
		on = append(on, c.toReference(sink.Other(at))...)
	}
	if back >= 0 {
		on = append(on, c.toReference(back)...)
	}
	if len(on) == 0 {
		return ""
	}
	return fmt.Sprintf("what loses %s too much between %s and %s, the way the current goes: a joint of high resistance on %s", much, r.Where.Part.ID, to, brief(on))
}

// toReference names the stretches between a joint and the reference.
func (c *Context) toReference(node int) []string {
	return stretchNames(c.wayToReference(node))
}

// wayToReference is a shortest way from a joint to the reference, through the
// batteries of a string where there is no other.
func (c *Context) wayToReference(node int) []*trace.Edge {
	if node < 0 {
		return nil
	}
	passes := survey.Setting{}.Passes
	if to := c.ReferenceNode(node, passes); to != node {
		return c.Path(node, to, passes)
	}
	along := func(e *trace.Edge) bool { return passes(e) || e.Type == trace.Battery && e.Medium == schema.DC }
	return c.Path(node, c.ReferenceNode(node, along), along)
}

// currentFrom is the shortest way along which current runs from a joint into a
// battery, which is the sink; where none charges, the way of the largest current.
func (c *Context) currentFrom(d *survey.DCState, node int) (path []*trace.Edge, sink *trace.Edge) {
	via := map[int]*trace.Edge{node: nil}
	for queue := []int{node}; len(queue) > 0; queue = queue[1:] {
		at := queue[0]
		for _, id := range c.Net.Nodes[at].Edges {
			e := &c.Net.Edges[id]
			if c.inflow(d, id, at) > -leastFlow {
				continue
			}
			if e.Type == trace.Battery {
				for n := at; via[n] != nil; n = via[n].Other(n) {
					path = append(path, via[n])
				}
				slices.Reverse(path)
				return path, e
			}
			if next := e.Other(at); runs(e) {
				if _, seen := via[next]; !seen {
					via[next] = e
					queue = append(queue, next)
				}
			}
		}
	}
	seen := map[int]bool{}
	for at := node; !seen[at]; {
		seen[at] = true
		e := c.strongest(d, at, -1)
		if e == nil || !runs(e) {
			break
		}
		path = append(path, e)
		at = e.Other(at)
	}
	return path, nil
}

// currentWay is the way of a current from a source to a joint.
type currentWay struct {
	name       string // of the source, "" for none
	discharges bool   // it is a battery
	from, to   int    // the source's joint from which it comes, and its other one
	edges      []*trace.Edge
}

// currentTo follows the largest current upstream from a joint to the source that
// gives it; where nothing flows it is a shortest way from a battery.
func (c *Context) currentTo(d *survey.DCState, node int) currentWay {
	var back []*trace.Edge
	seen := map[int]bool{}
	for at := node; at >= 0 && !seen[at]; {
		seen[at] = true
		e := c.strongest(d, at, 1)
		if e != nil && runs(e) {
			back = append(back, e)
			at = e.Other(at)
			continue
		}
		slices.Reverse(back)
		w := currentWay{from: at, edges: back}
		switch {
		case e == nil:
			if w.name, w.to = c.converterAt(at); w.name == "" {
				return c.wayFromBattery(node)
			}
		case e.Type == trace.Feed:
			w.name, w.to = e.Part.ID, c.Back(e)
		default:
			w.name, w.to, w.discharges = e.Part.ID, e.Other(at), true
		}
		return w
	}
	return c.wayFromBattery(node)
}

// converterAt is the converter that gives at a joint, and the joint of its minus.
func (c *Context) converterAt(node int) (name string, minus int) {
	for _, end := range c.Net.Nodes[node].Ends {
		for _, b := range end.Part.Branches() {
			if b.Convert != nil && b.Convert.OutA == end.Terminal {
				return end.Part.ID, c.Net.Node(end.Part, b.Convert.OutB)
			}
		}
	}
	return "", -1
}

// runs reports whether a current only passes along an edge.
func runs(e *trace.Edge) bool {
	return e.Type == trace.Conductor || e.Type == trace.Device || e.Type == trace.Contact || e.Type == trace.Series
}

// leastFlow is a current that is no rounding of the solver, A.
const leastFlow = 1e-4

// strongest is the edge that brings most current to a joint (sign 1) or takes
// most away (sign -1), loads left out; nil where nothing flows.
func (c *Context) strongest(d *survey.DCState, node int, sign float64) *trace.Edge {
	var best *trace.Edge
	most := leastFlow
	for _, id := range c.Net.Nodes[node].Edges {
		if in := sign * c.inflow(d, id, node); in > most {
			best, most = &c.Net.Edges[id], in
		}
	}
	return best
}

// inflow is the current in A that an edge brings to a joint, 0 for a load's.
func (c *Context) inflow(d *survey.DCState, id, node int) float64 {
	e := &c.Net.Edges[id]
	source := e.Type == trace.Battery || e.Type == trace.Feed
	if e.Medium != schema.DC || !runs(e) && !source {
		return 0
	}
	a, _ := d.EdgeAmps(id)
	// from A to B along an edge, out of A for a source
	if (e.A == node) != source {
		return -float64(a)
	}
	return float64(a)
}

// returnOf is the way back of a current: from the load's minus to the source's,
// or, of a reading against the reference, from the reference.
func (c *Context) returnOf(d *survey.DCState, way currentWay, back int) []*trace.Edge {
	var out []*trace.Edge
	if back < 0 {
		return c.wayToReference(way.to)
	}
	seen := map[int]bool{}
	for at := back; at >= 0 && at != way.to && !seen[at]; {
		seen[at] = true
		e := c.strongest(d, at, -1)
		if e == nil || !runs(e) {
			break
		}
		out = append(out, e)
		at = e.Other(at)
	}
	return out
}

// wayFromBattery is a shortest way from a battery's post to a joint.
func (c *Context) wayFromBattery(node int) currentWay {
	var best currentWay
	c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) {
		for _, post := range [2]int{e.A, e.B} {
			p := c.Path(post, node, survey.Setting{}.Passes)
			if p == nil && post != node || best.name != "" && len(p) >= len(best.edges) {
				continue
			}
			if post == e.B && c.Net.Nodes[node].Grounded != c.Net.Nodes[post].Grounded {
				continue
			}
			best = currentWay{name: e.Part.ID, discharges: true, from: post, to: e.Other(post), edges: p}
		}
	})
	return best
}

// weakSource says what may keep a source from giving: its own leads to the battery
// and back. It is "" for anything else.
func (c *Context) weakSource(d *survey.DCState, r *schema.Reading) string {
	for i := range c.Net.Edges {
		e := &c.Net.Edges[i]
		if e.Part != r.Where.Part || e.Type != trace.Feed || e.Medium != schema.DC {
			continue
		}
		path, _ := c.currentFrom(d, e.A)
		back := c.Back(e)
		on := append(stretchNames(path), c.toReference(back)...)
		if len(on) > 0 {
			return "; or a joint of high resistance on its way to the battery and back: " + brief(on)
		}
	}
	return ""
}
