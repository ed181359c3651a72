package schematic

import (
	"fitout/render/draw"
	"fitout/schema"
)

// feeder walks the live side of a boat's wiring.
type feeder struct {
	boat  *schema.Boat
	next  map[joint][]joint // along conductors, and through devices and switches
	kept  map[*schema.Part]bool
	gives map[joint]bool // a source's, converter's or charger's output
	takes map[joint]bool // a consumer's input
}

func feeds(b *schema.Boat) web {
	f := &feeder{boat: b, next: map[joint][]joint{}, kept: map[*schema.Part]bool{}, gives: map[joint]bool{}, takes: map[joint]bool{}}
	f.read()
	w := web{
		title: "Overview: who feeds whom", desc: "Sources, buses, panels and consumers; devices and switches between them are left out.",
		style: func(id string) draw.Style {
			if f.alternating(b.Part(id)) {
				return draw.FeedAC
			}
			return draw.Positive
		},
		key: []keyItem{{draw.Positive, "DC"}, {draw.FeedAC, draw.FeedAC.Meaning()}},
	}
	w.edges = f.edges()
	on := map[string]bool{}
	for _, e := range w.edges {
		on[e[0]], on[e[1]] = true, true
	}
	for _, p := range b.Parts {
		if on[p.ID] {
			w.nodes = append(w.nodes, nodeOf(p, p.Is(schema.Distribution)))
		}
	}
	return w
}

// alternating reports whether what leaves a part is AC.
func (f *feeder) alternating(p *schema.Part) bool {
	if p == nil {
		return false
	}
	for _, j := range f.jointsOf(p) {
		if t, ok := p.Terminal(j.terminal); ok && (f.gives[j] || p.Is(schema.Panel)) {
			return t.Medium == schema.AC
		}
	}
	return false
}

// read notes conductors, ways through parts, and what gives and takes.
func (f *feeder) read() {
	count := map[*schema.Part]int{}
	link := func(a, b joint) { f.next[a], f.next[b] = append(f.next[a], b), append(f.next[b], a) }
	for _, w := range f.boat.Wires {
		if w.Prepared || w.From.Part == nil || w.To.Part == nil {
			continue
		}
		a, b := jointOf(w.From.Part, w.From.Terminal), jointOf(w.To.Part, w.To.Terminal)
		count[a.part]++
		count[b.part]++
		if f.dead(a) || f.dead(b) {
			continue
		}
		link(a, b)
	}
	for _, p := range f.boat.Parts {
		if p.Prepared {
			continue
		}
		f.kept[p] = p.Is(schema.Panel) || p.Is(schema.Distribution) && count[p] > 2
		for _, br := range p.Branches() {
			a, b := jointOf(p, br.A), jointOf(p, br.B)
			switch br.Type {
			case schema.EMF, schema.Feed:
				f.gives[a] = true
				f.kept[p] = true
				if br.Feed != nil && br.Feed.InA != "" {
					f.takes[jointOf(p, br.Feed.InA)] = true
				}
			case schema.Draw:
				f.takes[a] = true
				f.kept[p] = true
			case schema.Convert:
				f.takes[a] = true
				if br.Convert != nil {
					f.gives[jointOf(p, br.Convert.OutA)] = true
				}
				f.kept[p] = true
			case schema.Sense:
			default:
				if !p.Is(schema.Panel) && !f.dead(a) && !f.dead(b) {
					link(a, b)
				}
			}
		}
	}
}

// dead joints are returns, grounds and signals: nothing is fed through them.
func (f *feeder) dead(j joint) bool {
	t, ok := j.part.Terminal(j.terminal)
	if !ok {
		return j.part.Roles().Any(schema.Grounding | schema.Bonding)
	}
	switch t.Polarity {
	case schema.Minus, schema.Ground, schema.Signal, schema.Neutral, schema.Earth:
		return true
	}
	return false
}

// from lists the joints of kept parts that a joint reaches without passing one.
func (f *feeder) from(start []joint) []joint {
	seen := map[joint]bool{}
	var todo, out []joint
	for _, s := range start {
		seen[s] = true
		todo = append(todo, s)
	}
	for len(todo) > 0 {
		j := todo[0]
		todo = todo[1:]
		for _, n := range f.next[j] {
			if seen[n] {
				continue
			}
			seen[n] = true
			if f.kept[n.part] {
				out = append(out, n)
			}
			if n.part.Is(schema.Distribution) && f.kept[n.part] {
				continue
			}
			todo = append(todo, n)
		}
	}
	return out
}

// edges lists who feeds whom, in the order of the file.
func (f *feeder) edges() [][2]string {
	var out [][2]string
	have := map[[2]string]bool{}
	add := func(a, b *schema.Part) {
		e := [2]string{a.ID, b.ID}
		if a != b && !have[e] {
			have[e] = true
			out = append(out, e)
		}
	}
	depth := map[*schema.Part]int{}
	var queue []*schema.Part
	reach := func(p *schema.Part, d int) {
		if p.Is(schema.Distribution) && depth[p] == 0 {
			depth[p] = d
			queue = append(queue, p)
		}
	}
	for _, p := range f.boat.Parts {
		for _, j := range f.jointsOf(p) {
			if !f.gives[j] {
				continue
			}
			for _, n := range f.from([]joint{j}) {
				switch {
				case n.part.Is(schema.Distribution):
					add(p, n.part)
					reach(n.part, 1)
				case f.takes[n]:
					add(p, n.part)
				case p.Is(schema.Charging) && n.part.Is(schema.Storage):
					add(p, n.part)
				}
			}
		}
	}
	for len(queue) > 0 {
		p := queue[0]
		queue = queue[1:]
		for _, n := range f.from(f.jointsOf(p)) {
			switch {
			case n.part.Is(schema.Distribution):
				reach(n.part, depth[p]+1)
				if depth[n.part] > depth[p] {
					add(p, n.part)
				}
			case f.takes[n]:
				add(p, n.part)
			}
		}
	}
	return out
}

// jointsOf are the joints of a part that conductors land on, in the order of its
// terminals.
func (f *feeder) jointsOf(p *schema.Part) []joint {
	if single(p) {
		return []joint{{p, ""}}
	}
	var out []joint
	for _, t := range p.Terminals() {
		if j := jointOf(p, t.Name); !f.dead(j) {
			out = append(out, j)
		}
	}
	return out
}
