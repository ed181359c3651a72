package layout

import "fmt"

// validate reports the first thing that makes a graph no graph.
func (g *Graph) validate() error {
	ports := map[string]map[string]Port{}
	bars := map[string]bool{}
	for _, b := range g.Boxes {
		if b.ID == "" || ports[b.ID] != nil {
			return fmt.Errorf("layout: box identifier %q is empty or used twice", b.ID)
		}
		if b.W < 1 || b.H < 1 {
			return fmt.Errorf("layout: box %q has size %d by %d", b.ID, b.W, b.H)
		}
		m := map[string]Port{}
		for _, p := range b.Ports {
			if _, dup := m[p.Name]; dup {
				return fmt.Errorf("layout: box %q has two ports %q", b.ID, p.Name)
			}
			limit := b.W
			if p.Side == Left || p.Side == Right {
				limit = b.H
			}
			if p.Side > Right || p.Offset < 0 || p.Offset > limit {
				return fmt.Errorf("layout: port %q of box %q lies off its side", p.Name, b.ID)
			}
			m[p.Name] = p
		}
		ports[b.ID] = m
	}
	for _, b := range g.Bars {
		if b.ID == "" || bars[b.ID] || ports[b.ID] != nil {
			return fmt.Errorf("layout: bar identifier %q is empty or used twice", b.ID)
		}
		bars[b.ID] = true
	}
	links := map[string]bool{}
	for _, l := range g.Links {
		if l.ID == "" || links[l.ID] {
			return fmt.Errorf("layout: link identifier %q is empty or used twice", l.ID)
		}
		links[l.ID] = true
		for _, e := range []End{l.From, l.To} {
			if bars[e.Node] {
				continue
			}
			m, ok := ports[e.Node]
			if !ok {
				return fmt.Errorf("layout: link %q ends on %q, which is neither box nor bar", l.ID, e.Node)
			}
			if _, ok := m[e.Port]; !ok {
				return fmt.Errorf("layout: link %q ends on port %q, which box %q does not have", l.ID, e.Port, e.Node)
			}
		}
	}
	for _, id := range g.constrained() {
		if !bars[id] && ports[id] == nil {
			return fmt.Errorf("layout: a rank is asked for %q, which is neither box nor bar", id)
		}
	}
	return nil
}

// constrained lists every identifier named in the rank constraints.
func (g *Graph) constrained() []string {
	var out []string
	for _, s := range g.Same {
		out = append(out, s...)
	}
	for _, b := range g.Below {
		out = append(out, b.Upper, b.Lower)
	}
	return out
}
