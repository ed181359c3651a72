package schematic

import (
	"slices"

	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/symbol"
)

// DC draws the direct-current sheets; none for a boat without DC parts.
func DC(in Input) ([]sheet.Page, error) {
	c := dcCircuit(in.boat())
	if len(c.nodes) == 0 {
		return nil, nil
	}
	d := newDrawing(in, c, schema.DC)
	return d.pages("dc", "DC", "Circuit diagram", "")
}

// dcCircuit lists the parts with DC terminals and the conductors between them.
func dcCircuit(b *schema.Boat) *circuit {
	c := newCircuit(b)
	pot := newPotential(b)
	used := usedTerminals(b, schema.DC)
	for _, p := range b.Parts {
		if drawnOn(p, schema.DC, used[p]) {
			c.add(dcNode(p, used[p], pot))
		}
	}
	for _, w := range b.Wires {
		if w.Medium == schema.DC && w.From.Part != nil && w.To.Part != nil {
			c.links = append(c.links, &link{id: w.ID, wires: []*schema.Wire{w},
				ends: [2]end{c.end(w.From), c.end(w.To)}, bridge: senses(w)})
		}
	}
	c.count()
	c.titles()
	c.posts()
	c.direct(pot)
	return c
}

// usedTerminals lists the terminals that conductors of a medium meet, by part.
func usedTerminals(b *schema.Boat, m schema.Medium) map[*schema.Part][]string {
	used := map[*schema.Part][]string{}
	for _, w := range b.Wires {
		if w.Medium != m {
			continue
		}
		for _, e := range []schema.End{w.From, w.To} {
			if e.Part != nil {
				used[e.Part] = append(used[e.Part], e.Terminal)
			}
		}
	}
	return used
}

// drawnOn tells whether a part stands on the sheets of a medium: where a
// conductor meets it, where it wants one, or where it has nothing else.
func drawnOn(p *schema.Part, m schema.Medium, used []string) bool {
	if len(used) > 0 {
		return true
	}
	mine, others := false, false
	for _, t := range p.Terminals() {
		switch {
		case t.Hidden:
		case t.Medium != m:
			others = true
		case t.Needed:
			return true
		default:
			mine = true
		}
	}
	return mine && !others
}

// senses reports a conductor that carries a signal: it does not rank.
func senses(w *schema.Wire) bool {
	if w.Carries.V == "signal" {
		return true
	}
	for _, e := range []schema.End{w.From, w.To} {
		if t, ok := e.Part.Terminal(e.Terminal); ok && t.Polarity == schema.Signal {
			return true
		}
	}
	return false
}

func dcNode(p *schema.Part, used []string, pot *potential) *node {
	n := &node{id: p.ID, part: p}
	_, fed := p.Terminal("in")
	switch {
	case p.Is(schema.Panel) && fed:
		n.bar, n.panel = true, newPanel(p, schema.DC)
	case single(p) && (p.Is(schema.Distribution) || len(used) > 1):
		n.bar = true
	default:
		n.sym = dcSymbol(p, used, pot)
	}
	return n
}

// dcSymbol is the part's symbol with the anchors in use, turned so that the
// higher potential is on top.
func dcSymbol(p *schema.Part, used []string, pot *potential) symbol.Symbol {
	s := p.Kind.Symbol(p, schema.DC)
	if outs := fedOutputs(p); len(outs) > 0 {
		return controlBlock(p, outs)
	}
	for _, name := range used {
		if _, ok := s.Anchor(name); !ok {
			s = strangeBlock(p, used)
			break
		}
	}
	return turned(s.With(used...), p, pot)
}

// turned puts the higher of the terminals that current passes through on top.
// Of two the names change places: which is which does not matter for a fuse, and
// the symbol keeps its rest position. A part with more is turned over.
func turned(s symbol.Symbol, p *schema.Part, pot *potential) symbol.Symbol {
	var up, down []int
	for _, b := range p.Branches() {
		if b.Medium != schema.DC || b.Type != schema.Series && b.Type != schema.Device && b.Type != schema.Contact {
			continue
		}
		for _, t := range []string{b.A, b.B} {
			i := slices.IndexFunc(s.Anchors, func(a symbol.Anchor) bool { return a.Name == t })
			if i < 0 || slices.Contains(up, i) || slices.Contains(down, i) {
				continue
			}
			switch s.Anchors[i].Side {
			case symbol.Up:
				up = append(up, i)
			case symbol.Down:
				down = append(down, i)
			}
		}
	}
	if len(up) == 0 || len(down) == 0 {
		return s
	}
	least := func(list []int) int {
		d := 1 << 30
		for _, i := range list {
			d = min(d, pot.depth(jointOf(p, s.Anchors[i].Name)))
		}
		return d
	}
	if least(up) <= least(down) {
		return s
	}
	if len(up) == 1 && len(down) == 1 {
		s.Anchors = slices.Clone(s.Anchors)
		a, b := &s.Anchors[up[0]], &s.Anchors[down[0]]
		a.Name, b.Name = b.Name, a.Name
		return s
	}
	return s.Turn(2)
}

// fedOutputs are the terminals that a part feeds from its own plus: the named
// ways of a control.
func fedOutputs(p *schema.Part) []string {
	var out []string
	for _, b := range p.Branches() {
		if b.Medium != schema.DC || b.Type != schema.Contact {
			continue
		}
		if t, ok := p.Terminal(b.A); ok && t.Polarity == schema.Plus && !slices.Contains(out, b.B) {
			out = append(out, b.B)
		}
	}
	return out
}

// controlBlock has the plus on top, and below the ways it feeds and the minus.
func controlBlock(p *schema.Part, outs []string) symbol.Symbol {
	var top, bottom []string
	for _, t := range p.Terminals() {
		switch {
		case t.Medium != schema.DC || t.Hidden:
		case slices.Contains(outs, t.Name), t.Polarity == schema.Minus, t.Polarity == schema.Ground:
			bottom = append(bottom, t.Name)
		default:
			top = append(top, t.Name)
		}
	}
	return symbol.Block(p.Kind.Name, "", top, bottom)
}

// strangeBlock is a plain box for a part met at terminals of another medium.
func strangeBlock(p *schema.Part, used []string) symbol.Symbol {
	var top, bottom []string
	for _, name := range used {
		if slices.Contains(top, name) || slices.Contains(bottom, name) {
			continue
		}
		t, _ := p.Terminal(name)
		switch t.Polarity {
		case schema.Minus, schema.Ground, schema.Earth, schema.Neutral:
			bottom = append(bottom, name)
		default:
			top = append(top, name)
		}
	}
	return symbol.Block(p.Kind.Name, "", top, bottom)
}

// end finds the port of a node that a terminal of the file stands for.
func (c *circuit) end(e schema.End) end {
	n := c.by[e.Part]
	out := end{node: n, port: e.Terminal, ref: e.String()}
	if !n.bar {
		if a, ok := n.sym.Anchor(e.Terminal); ok {
			out.port = a.Name
		}
	}
	return out
}
