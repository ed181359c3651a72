package schematic

import (
	"fitout/schema"
)

// joint is a terminal of a part, or all of a bar.
type joint struct {
	part     *schema.Part
	terminal string
}

// kindOf groups of joints that no load, source or converter parts.
type polarity uint8

const (
	positive polarity = iota
	negative
	grounding
)

// potential orders the joints of a boat from high to low. Joints that conductors
// and parts without polarity unite are one group; in a positive group potential
// falls away from the root, in a negative one towards it. The root is the bus
// with most conductors, without a bus the terminal of a source.
type potential struct {
	next map[joint][]joint
	dist map[joint]int
	pol  map[joint]polarity
	all  []joint // in order of the file
}

// single parts are all one joint, whatever stud a conductor is on.
func single(p *schema.Part) bool { return p.Kind.Open && p.Kind.Single }

func jointOf(p *schema.Part, terminal string) joint {
	if single(p) {
		terminal = ""
	}
	return joint{p, terminal}
}

func newPotential(b *schema.Boat) *potential {
	p := &potential{next: map[joint][]joint{}, dist: map[joint]int{}, pol: map[joint]polarity{}}
	seen := map[joint]bool{}
	add := func(j joint) {
		if !seen[j] {
			seen[j] = true
			p.all = append(p.all, j)
		}
	}
	tie := func(a, b joint) {
		add(a)
		add(b)
		p.next[a] = append(p.next[a], b)
		p.next[b] = append(p.next[b], a)
	}
	conductors := map[joint]int{}
	for _, w := range b.Wires {
		if w.Medium != schema.DC || w.From.Part == nil || w.To.Part == nil {
			continue
		}
		f, t := jointOf(w.From.Part, w.From.Terminal), jointOf(w.To.Part, w.To.Terminal)
		tie(f, t)
		conductors[f]++
		conductors[t]++
	}
	for _, part := range b.Parts {
		for _, br := range part.Branches() {
			if br.Medium != schema.DC || br.Contact != nil && br.Contact.Bond {
				continue
			}
			switch br.Type {
			case schema.Series, schema.Device, schema.Contact, schema.Joined:
				tie(jointOf(part, br.A), jointOf(part, br.B))
			}
		}
	}
	p.groups(conductors)
	return p
}

func (p *potential) groups(conductors map[joint]int) {
	done := map[joint]bool{}
	for _, start := range p.all {
		if done[start] {
			continue
		}
		members := []joint{start}
		done[start] = true
		for i := 0; i < len(members); i++ {
			for _, n := range p.next[members[i]] {
				if !done[n] {
					done[n] = true
					members = append(members, n)
				}
			}
		}
		pol := polarityOf(members)
		for _, m := range members {
			p.pol[m] = pol
		}
		p.measure(root(members, conductors))
	}
}

// polarityOf is positive where any plus hangs on a group: also for a link in
// series, and for the middle of a bank that loads are taken from.
func polarityOf(members []joint) polarity {
	minus := false
	for _, m := range members {
		t, ok := m.part.Terminal(m.terminal)
		if !ok {
			continue
		}
		switch t.Polarity {
		case schema.Plus:
			return positive
		case schema.Minus:
			minus = true
		}
	}
	if minus {
		return negative
	}
	for _, m := range members {
		if m.part.Is(schema.Grounding) || m.part.Is(schema.Bonding) {
			return grounding
		}
	}
	return positive
}

// root is the bus with most conductors, else the terminal of a source, else the
// first joint. Ground and bonding bars are roots only where there is no other.
func root(members []joint, conductors map[joint]int) joint {
	best, most := members[0], -1
	score := func(m joint) int {
		switch {
		case single(m.part) && m.part.Is(schema.Distribution) && conductors[m] > 1:
			return 1e6 + conductors[m]
		case m.part.Is(schema.Source):
			return 1e4 + conductors[m]
		case single(m.part) && conductors[m] > 1:
			return 1e3 + conductors[m]
		}
		return 0
	}
	for _, m := range members {
		if s := score(m); s > most {
			best, most = m, s
		}
	}
	return best
}

func (p *potential) measure(from joint) {
	p.dist[from] = 0
	queue := []joint{from}
	for i := 0; i < len(queue); i++ {
		for _, n := range p.next[queue[i]] {
			if _, seen := p.dist[n]; !seen {
				p.dist[n] = p.dist[queue[i]] + 1
				queue = append(queue, n)
			}
		}
	}
}

// height orders two joints of one group: the larger the lower on paper.
func (p *potential) depth(j joint) int {
	d := p.dist[j]
	if p.pol[j] == positive {
		return d
	}
	return -d
}

// under reports whether end a stands lower on paper than end b.
func (p *potential) under(a, b end) bool {
	ja, jb := jointOf(a.node.part, a.port), jointOf(b.node.part, b.port)
	if p.pol[ja] == positive {
		return p.depth(ja) > p.depth(jb)
	}
	// what leaves a part sideways goes down to its ground
	if a.side() == beside || b.side() == beside {
		return b.side() == beside
	}
	return p.depth(ja) > p.depth(jb)
}
