package schematic

import (
	"slices"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/symbol"
)

// acCaution stands on the sheets of shore and inverter power.
const acCaution = "Shore and inverter power can kill. Work on it is for a licensed person, to the local code. Unplug, isolate and test dead first. For review, not for installation. Not to scale."

// AC draws the sheets of shore and inverter power in single-line form, a cable
// one line; none for a boat without AC parts.
func AC(in Input) ([]sheet.Page, error) {
	c := acCircuit(in.boat())
	if len(c.nodes) == 0 {
		return nil, nil
	}
	d := newDrawing(in, c, schema.AC)
	return d.pages("ac", "AC", "Single-line diagram", acCaution)
}

func acCircuit(b *schema.Boat) *circuit {
	c := newCircuit(b)
	used := usedTerminals(b, schema.AC)
	for _, p := range b.Parts {
		if drawnOn(p, schema.AC, used[p]) {
			c.add(acNode(p, used[p]))
		}
	}
	cables := map[string]*link{}
	for _, w := range b.Wires {
		if w.Medium != schema.AC || w.From.Part == nil || w.To.Part == nil {
			continue
		}
		key := w.ID
		if w.Cable != "" {
			key = w.Cable
		}
		if l := cables[key]; l != nil {
			l.wires = append(l.wires, w)
			continue
		}
		l := &link{id: key, wires: []*schema.Wire{w}, ends: [2]end{c.acEnd(w.From, w), c.acEnd(w.To, w)}}
		cables[key] = l
		c.links = append(c.links, l)
	}
	c.count()
	c.titles()
	c.posts()
	c.direct(newPotential(b))
	return c
}

func acNode(p *schema.Part, used []string) *node {
	n := &node{id: p.ID, part: p, plain: true}
	switch {
	case p.Is(schema.Panel) && p.Is(schema.ACPart):
		n.bar, n.panel = true, newPanel(p, schema.AC)
	case single(p) && (p.Is(schema.Distribution) || len(used) > 1):
		n.bar = true
	default:
		n.sym = acSymbol(p, used)
	}
	return n
}

// acSymbol is the one-line form of a part; a part of the direct-current side that
// an earth conductor meets keeps its own.
func acSymbol(p *schema.Part, used []string) symbol.Symbol {
	if !hasAC(p) {
		s := p.Kind.Symbol(p, schema.DC)
		for _, name := range used {
			if _, ok := s.Anchor(name); !ok && !single(p) {
				return strangeBlock(p, used)
			}
		}
		return s.With(used...)
	}
	if p.Is(schema.Residual) && p.Is(schema.Protection) { // whatever it is called, it opens on both
		if s, ok := symbol.Get("ac/rcd=breaker"); ok {
			return s
		}
	}
	for _, variant := range []string{"line", "1"} {
		if s, ok := symbol.Get("ac/" + p.Kind.Name + "=" + variant); ok {
			return s
		}
	}
	s, ok := symbol.Get("ac/" + p.Kind.Name)
	if ok && slices.ContainsFunc(s.Anchors, func(a symbol.Anchor) bool { return a.Name == "in" || a.Name == "out" }) {
		return s
	}
	var top, bottom []string
	for _, e := range used {
		port := acPort(p, e)
		list := &top
		if port == "out" {
			list = &bottom
		}
		if !slices.Contains(*list, port) {
			*list = append(*list, port)
		}
	}
	return symbol.Block(p.Kind.Name, "", top, bottom)
}

// hasAC reports a part with a terminal for mains.
func hasAC(p *schema.Part) bool {
	return slices.ContainsFunc(p.Terminals(), func(t schema.Terminal) bool { return t.Medium == schema.AC && !t.Hidden })
}

// acPort is the cable group of a terminal: in, out, 1, 2, the key of a way.
func acPort(p *schema.Part, terminal string) string {
	t, ok := p.Terminal(terminal)
	switch {
	case !ok, !hasAC(p): // an earth conductor on a part of the DC side
		return terminal
	case t.Way != "":
		return t.Way
	case t.Cable != "":
		return t.Cable
	case p.Is(schema.Source) || p.Kind.Name == "selector-ac":
		return "out"
	}
	return "in"
}

// acEnd finds the port for an end of a cable, or of a conductor alone: that lands
// on a terminal of its own where the panel has one.
func (c *circuit) acEnd(e schema.End, w *schema.Wire) end {
	n := c.by[e.Part]
	out := end{node: n, port: acPort(e.Part, e.Terminal), ref: e.Part.ID}
	if n.panel != nil && w.Cable == "" {
		if t, ok := e.Part.Terminal(e.Terminal); ok && t.Way == "" && t.Polarity != schema.Live {
			out.port = e.Terminal
		}
	}
	if !n.bar {
		if a, ok := n.sym.Anchor(out.port); ok {
			out.port = a.Name
		}
	}
	if out.port != "" {
		out.ref += "." + out.port
	}
	return out
}

// acStyle is the line of a single core, or of a cable.
func acStyle(w *schema.Wire) draw.Style {
	if w.Cable != "" {
		return draw.Cable
	}
	for _, e := range []schema.End{w.From, w.To} {
		if t, ok := e.Part.Terminal(e.Terminal); ok {
			switch t.Polarity {
			case schema.Earth, schema.Ground:
				return draw.Earth
			case schema.Neutral:
				return draw.Neutral
			}
		}
	}
	return draw.Live
}
