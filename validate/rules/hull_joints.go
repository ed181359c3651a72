package rules

import (
	"fitout/schema"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// screwedJoint is two parts screwed together, the one nearer the sea first.
type screwedJoint struct {
	a, b *schema.Part
	way  *trace.SeaWay
	// unsure is set where the length of what joins them is not given.
	unsure bool
}

// screwedJoints returns the close joints between fitted parts, in file order, and
// those between a hull opening and a valve that may be close.
func (c *Context) screwedJoints() []screwedJoint {
	sea := c.Sea()
	var out []screwedJoint
	for i := range sea.Ways {
		w := &sea.Ways[i]
		a, b := sea.Nodes[w.A].Part, sea.Nodes[w.B].Part
		if w.Hose == nil || a == nil || b == nil || a == b {
			continue
		}
		if b.Is(schema.SeaOpening) {
			a, b = b, a
		}
		unsure := !w.Hose.Length.Given() && a.Is(schema.SeaOpening) && b.Is(schema.Shutoff)
		if w.Close() || unsure {
			out = append(out, screwedJoint{a, b, w, unsure})
		}
	}
	return out
}

// hullSide returns the fittings that hold the sea out: through-hulls, seacocks,
// and what is screwed to them one after the other up to and with the first valve,
// each with the opening it belongs to.
func (c *Context) hullSide() []hullFitted {
	sea := c.Sea()
	var out []hullFitted
	seen := map[*schema.Part]bool{}
	for _, m := range sea.Hull {
		t := sea.Walk([]int{m.Node}, trace.Walk{Through: func(w *trace.SeaWay, from int) bool {
			return w.Close() || w.Channel != nil && !sea.Nodes[from].Part.Is(schema.Equipment)
		}})
		for _, st := range t.Steps {
			p := sea.Nodes[st.Node].Part
			if p == nil || seen[p] || p.Is(schema.Equipment) {
				continue
			}
			seen[p] = true
			out = append(out, hullFitted{p, m})
		}
	}
	for _, p := range c.fitted(schema.Seacock) {
		if !seen[p] {
			seen[p] = true
			out = append(out, hullFitted{p, c.openingOf(p)})
		}
	}
	return out
}

// hullFitted is a fitting with the sea opening it belongs to (nil: none known).
type hullFitted struct {
	part  *schema.Part
	mouth *trace.Mouth
}

// openingOf returns the nearest sea opening of a part.
func (c *Context) openingOf(p *schema.Part) *trace.Mouth {
	sea := c.Sea()
	if found := seaAt(sea, sea.Walk(sea.NodesOf(p), trace.Walk{})); len(found) > 0 {
		return found[0]
	}
	return nil
}

// low reports whether a fitting lies under the sea in some attitude, by its
// opening where it has one; missing names what would tell.
func (c *Context) low(f hullFitted) (under, known bool, missing []survey.Lack) {
	if f.mouth != nil {
		return c.Submerged(f.mouth.Point)
	}
	if nodes := c.Sea().NodesOf(f.part); len(nodes) > 0 {
		return c.Submerged(c.Sea().Nodes[nodes[0]].Point)
	}
	return false, true, nil
}

// wordOf is an attribute of a part, a seacock's taken from the through-hull it is
// fixed to where it has none.
func wordOf(p *schema.Part, name string) schema.Val[string] {
	w := p.Word(name)
	if !w.Given() && p.Host != nil && name == "material" {
		return p.Host.Word(name)
	}
	return w
}
