package rules

import (
	"slices"

	"fitout/schema"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// acSource is one AC source aboard or ashore with its three joints.
type acSource struct {
	part    *schema.Part
	edge    *trace.Edge
	l, n    int
	pe      int
	shore   bool
	derived bool // transformer: fed by another AC source
}

// acSources lists the AC sources whose line is joined to something, in order of
// the net.
func (c *Context) acSources() []acSource {
	var list []acSource
	c.eachEdge(trace.Feed, schema.AC, func(_ int, e *trace.Edge) {
		if !c.wiredAC(e.A) {
			return
		}
		s := acSource{part: e.Part, edge: e, l: e.A, n: e.B, pe: c.earthOf(e.Part, e.Branch.A), shore: e.Part.Is(schema.ShorePower)}
		s.derived = !s.shore && !e.Part.Is(schema.Inverting) && !e.Part.Is(schema.Engine)
		list = append(list, s)
	})
	return list
}

// wiredAC reports an AC conductor at a joint.
func (c *Context) wiredAC(node int) bool {
	for _, w := range c.wiresAt(node) {
		if w.Medium == schema.AC {
			return true
		}
	}
	return false
}

// earthOf returns the joint of the earth terminal that lies in one cable with a
// line terminal, -1 where the part has none.
func (c *Context) earthOf(p *schema.Part, line string) int {
	t, ok := p.Terminal(line)
	if !ok {
		return -1
	}
	for _, o := range p.Terminals() {
		if o.Polarity == schema.Earth && o.Cable == t.Cable {
			return c.Net.Node(p, o.Name)
		}
	}
	return -1
}

// acPasses reports an edge that joins AC joints through no load, in any position.
func acPasses(e *trace.Edge) bool {
	return e.Medium == schema.AC && (e.Passes() || e.Type == trace.Device) && !survey.Bond(e)
}

// earthPasses reports an edge of a continuous earth: conductors and galvanic
// isolators, AC or DC.
func earthPasses(e *trace.Edge) bool {
	return e.Type == trace.Conductor || e.Type == trace.Series
}

// transfers reports the contact by which an inverter passes shore power on.
func transfers(e *trace.Edge) bool {
	return e.Type == trace.Contact && e.Medium == schema.AC && e.Part.Is(schema.Inverting) && !survey.Bond(e)
}

// groundGroups marks the groups that hold DC negative.
func (c *Context) groundGroups(g *survey.Groups) map[int]bool {
	found := map[int]bool{}
	has := false
	for _, p := range c.Boat.Parts {
		if p.Prepared || !p.Is(schema.Grounding) {
			continue
		}
		has = true
		for _, t := range p.Terminals() {
			if n := c.Net.Node(p, t.Name); n >= 0 {
				found[g.Of(n)] = true
			}
		}
	}
	if has {
		return found
	}
	c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) {
		if c.Net.Nodes[e.B].Grounded {
			found[g.Of(e.B)] = true
		}
	})
	return found
}

// appendNew adds names that are not there yet.
func appendNew(list []string, more ...string) []string {
	for _, m := range more {
		if !slices.Contains(list, m) {
			list = append(list, m)
		}
	}
	return list
}
