package schematic

import (
	"fitout/render/draw"
	"fitout/schema"
)

func servings(b *schema.Boat) web {
	w := web{
		title: "Overview: hull openings", desc: "Hull openings with their valves and what they serve: intakes, equipment and outlets; fittings between them are left out.",
		style: func(id string) draw.Style { return draw.Sea },
		key:   []keyItem{{draw.Sea, "water, in the direction of flow to the right"}},
	}
	type hop struct {
		to   *schema.Part
		hose *schema.Hose
	}
	style := Services(b)
	next := map[*schema.Part][]hop{}
	open := map[*schema.Hose]string{}
	var ends []webNode
	for _, h := range b.Hoses {
		from, to := h.From, h.To
		if h.Prepared || style[h.ID] == draw.Coolant {
			continue
		}
		if h.Implied && !intake(from.Part) {
			from, to = to, from
		}
		switch {
		case from.IsOpen() && to.Part != nil:
			id := h.ID + "-open"
			open[h] = id
			ends = append(ends, webNode{id: id, kind: "open-end", title: "open in " + from.Open.Name()})
		case from.Part != nil && to.Part != nil:
			next[from.Part] = append(next[from.Part], hop{to.Part, h})
		}
	}
	var reach func(p *schema.Part, seen map[*schema.Part]bool) []*schema.Part
	reach = func(p *schema.Part, seen map[*schema.Part]bool) (out []*schema.Part) {
		for _, n := range next[p] {
			if seen[n.to] {
				continue
			}
			seen[n.to] = true
			if servedPart(n.to) {
				out = append(out, n.to)
			} else {
				out = append(out, reach(n.to, seen)...)
			}
		}
		return out
	}
	on := map[string]bool{}
	add := func(a, b string) {
		if a != b {
			on[a], on[b] = true, true
			w.edges = append(w.edges, [2]string{a, b})
		}
	}
	for _, h := range b.Hoses {
		if id, ok := open[h]; ok {
			seen := map[*schema.Part]bool{h.To.Part: true}
			list := []*schema.Part{h.To.Part}
			if !servedPart(h.To.Part) {
				list = reach(h.To.Part, seen)
			}
			for _, p := range list {
				add(id, p.ID)
			}
		}
	}
	for _, p := range b.Parts {
		if servedPart(p) && !p.Prepared {
			for _, o := range reach(p, map[*schema.Part]bool{p: true}) {
				add(p.ID, o.ID)
			}
		}
	}
	for _, p := range b.Parts {
		if on[p.ID] || p.Roles().Any(schema.SeaOpening|schema.HullHole) && !p.Prepared {
			n := nodeOf(p, p.Roles().Any(schema.SeaOpening|schema.HullHole))
			if p.Cock != nil { // what shuts it is what a hand looks for
				n.title += ", valve " + p.Cock.ID
			}
			w.nodes = append(w.nodes, n)
		}
	}
	for _, n := range ends {
		if on[n.id] {
			w.nodes = append(w.nodes, n)
		}
	}
	return w
}

// servedPart reports whether a part stands on the overview of the water: what
// uses, holds or moves it out of the boat, not what only passes it.
func servedPart(p *schema.Part) bool {
	return p.Roles().Any(schema.SeaOpening | schema.SeaUser | schema.Engine | schema.InsideOpening | schema.Holding |
		schema.Toilet | schema.DeckOpening | schema.Bilge | schema.Equipment)
}
