package rules

import (
	"math"

	"fitout/schema"
	"fitout/schema/unit"
)

// fits reports whether a hose of a bore goes on a tail of a nominal size: 19 mm
// and 3/4 in, 38 mm and 1-1/2 in are the same to the trade.
func fits(bore, size unit.Metre) bool {
	return math.Abs(float64(bore-size)) <= math.Max(1e-3, 0.03*float64(size))+tinyHeight
}

// smaller reports whether a bore is smaller than another by more than the trade's
// rounding.
func smaller(bore, than unit.Metre) bool { return bore < than && !fits(bore, than) }

// tailSize is the size of a part's tail at a terminal: a pump's inlet or outlet,
// else the part's size, a seacock's taken from its through-hull.
func tailSize(p *schema.Part, terminal string) schema.Val[unit.Metre] {
	t, _ := p.Terminal(terminal)
	name := ""
	switch {
	case t.Polarity == schema.WaterIn:
		name = "inlet"
	case t.Polarity == schema.WaterOut:
		name = "outlet"
	case t.Polarity == schema.Exhaust:
		name = "exhaust"
	}
	if name != "" && p.Kind.Attr(name) != nil {
		if v := p.Metres(name); v.Given() {
			return v
		}
	}
	if isVentTerminal(terminal) && p.Kind.Attr("vent-size") != nil {
		if v := p.Metres("vent-size"); v.Given() {
			return v
		}
	}
	if v := p.Metres("size"); v.Given() {
		return v
	}
	if p.Host != nil {
		return p.Host.Metres("size")
	}
	return schema.Val[unit.Metre]{}
}

// hasTail reports whether the file can say the size of a part's tail there.
// Equipment and tanks have one inlet and one outlet whose size it states; a drain,
// a vent, a coolant tail or a product line beside them is of its own size.
func hasTail(p *schema.Part, terminal string) bool {
	if p.Is(schema.Vent) && isVentTerminal(terminal) {
		return false // its size is the loop's; the air line is thinner
	}
	if !p.Roles().Any(schema.Holding | schema.Equipment) {
		return true
	}
	t, ok := p.Terminal(terminal)
	if !ok || t.Polarity != schema.WaterIn && t.Polarity != schema.WaterOut {
		return ok && t.Polarity == schema.Exhaust
	}
	main := ""
	for _, o := range p.Terminals() {
		if o.Medium == schema.Water && o.Polarity == t.Polarity && o.Needed {
			main = o.Name
			break
		}
		if o.Medium == schema.Water && o.Polarity == t.Polarity && main == "" {
			main = o.Name
		}
	}
	return main == terminal
}

// stretchOf is the hoses of one unbranched stretch, from its start on.
type stretchOf struct {
	hoses []*schema.Hose
	nodes []int // what lies behind each hose
}

// stretchFrom follows the water from a joint over hoses and two-way parts until
// it branches, meets a pump, equipment or an opening.
func (c *Context) stretchFrom(node int) stretchOf {
	sea := c.Sea()
	var out stretchOf
	last := -1
	for range len(sea.Nodes) {
		next := -1
		for _, id := range sea.Nodes[node].Ways {
			w := &sea.Ways[id]
			if id == last || !w.Carries() {
				continue
			}
			if last < 0 && w.Hose == nil {
				continue // the pump's own way
			}
			if next >= 0 {
				return out
			}
			next = id
		}
		if next < 0 || sea.Ways[next].Pump() != nil {
			return out
		}
		w := &sea.Ways[next]
		if w.Channel != nil && (w.Part.Is(schema.SeaUser) || w.Channel.Pump != nil) {
			return out
		}
		node, last = w.Other(node), next
		if w.Hose != nil && !w.Hose.Implied {
			out.hoses, out.nodes = append(out.hoses, w.Hose), append(out.nodes, node)
		}
		if isVessel(&sea.Nodes[node]) {
			return out
		}
	}
	return out
}

// reducedHoses finds what narrows: suction hoses under their pump's inlet, and
// discharge hoses under one before them. The value says under what.
func (c *Context) reducedHoses() (list []reduction, missing []boreLack) {
	sea := c.Sea()
	for i := range sea.Ways {
		w := &sea.Ways[i]
		if w.Pump() == nil {
			continue
		}
		p := w.Part
		inlet := tailSize(p, w.Channel.A)
		for _, h := range c.stretchFrom(w.A).hoses {
			switch {
			case !inlet.Given():
				missing = append(missing, boreLack{"inlet of " + p.ID, p.ID, p, nil})
			case !h.Bore.Given():
				missing = append(missing, boreLack{"bore of " + h.ID, h.ID, nil, h})
			case smaller(h.Bore.V, inlet.V):
				list = append(list, reduction{h, p, inlet.V, true})
			}
		}
		widest := unit.Metre(0)
		for _, h := range c.stretchFrom(w.B).hoses {
			if !h.Bore.Given() {
				missing = append(missing, boreLack{"bore of " + h.ID, h.ID, nil, h})
				continue
			}
			if smaller(h.Bore.V, widest) {
				list = append(list, reduction{h, p, widest, false})
			}
			widest = max(widest, h.Bore.V)
		}
	}
	return list, missing
}

// reduction is a hose narrower than it should be for a pump.
type reduction struct {
	hose    *schema.Hose
	pump    *schema.Part
	than    unit.Metre
	suction bool
}

// boreLack is a size or bore that is not given.
type boreLack struct {
	name, id string
	part     *schema.Part
	hose     *schema.Hose
}

func (c *Context) missingBores(rule string, list []boreLack) {
	for _, l := range list {
		if l.part != nil {
			c.Missing(rule, l.name, l.part.At, l.id)
			continue
		}
		c.Missing(rule, l.name, l.hose.At, l.id)
	}
}
