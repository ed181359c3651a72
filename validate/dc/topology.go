package dc

// topology says what of a network is fed, and from where potentials count.
type topology struct {
	*joints
	fed        []bool // by element; loads and converters only
	live       []bool // by node
	references []Node
	islands    [][]Node
}

// ideal tells whether an element is a joint: no resistance at all.
func ideal(e Element) (link, bool) {
	switch e := e.(type) {
	case Resistor:
		return link{a: e.From, b: e.To}, e.R < MergeBelow
	case EMF:
		return link{a: e.Pos, b: e.Neg, rise: float64(e.E)}, e.R < MergeBelow
	}
	return link{}, false
}

// survey finds joints, islands and references. Elements in unfed are known to
// have no supply.
func survey(n *Network, unfed []bool) (*topology, *Failure) {
	t := &topology{joints: newJoints(n.nodes), fed: make([]bool, len(n.elements)), live: make([]bool, n.nodes)}
	for k, e := range n.elements {
		l, ok := ideal(e)
		if c, is := e.(Converter); is && !c.Isolated {
			l, ok = link{a: c.InNeg, b: c.OutNeg}, true
		}
		if !ok {
			continue
		}
		l.id = ID(k)
		if _, is := e.(Converter); is {
			l.id = None
		}
		if !t.add(l) {
			return nil, &Failure{Cause: Conflict, Node: l.a, Element: ID(k),
				Detail: "a source without internal resistance meets a short or a source of another voltage"}
		}
	}
	groups := t.feed(n, unfed)
	t.refer(n, groups)
	return t, nil
}

// feed finds the groups of nodes that are joined in any way but through a
// converter, and which of them hold a source. A converter's output is a source
// only if its input is fed, so it goes in rounds, one for each converter in a
// chain.
func (t *topology) feed(n *Network, unfed []bool) sets {
	groups := newSets(n.nodes)
	for k, e := range n.elements {
		switch e := e.(type) {
		case Converter:
			if !e.Isolated {
				groups.join(int32(e.InNeg), int32(e.OutNeg))
			}
			if !unfed[k] {
				groups.join(int32(e.InPos), int32(e.InNeg))
			}
		case CurrentLoad, PowerLoad:
			if nodes, _ := terminals(e); !unfed[k] {
				groups.join(int32(nodes[0]), int32(nodes[1]))
			}
		default:
			nodes, _ := terminals(e)
			groups.join(int32(nodes[0]), int32(nodes[1]))
		}
	}
	source := make([]bool, n.nodes) // by group
	for _, e := range n.elements {
		switch e := e.(type) {
		case EMF:
			source[groups.find(int32(e.Pos))] = true
		case Source:
			source[groups.find(int32(e.Pos))] = true
		}
	}
	for more := true; more; {
		more = false
		for k, e := range n.elements {
			c, ok := e.(Converter)
			if !ok || t.fed[k] || unfed[k] || !source[groups.find(int32(c.InPos))] {
				continue
			}
			t.fed[k], more = true, true
			groups.join(int32(c.OutPos), int32(c.OutNeg))
			source[groups.find(int32(c.OutPos))] = true
		}
	}
	for i := range t.live {
		t.live[i] = source[groups.find(int32(i))]
	}
	for k, e := range n.elements {
		switch e := e.(type) {
		case CurrentLoad, PowerLoad:
			t.fed[k] = !unfed[k] && t.live[first(e)]
		}
	}
	return groups
}

// refer chooses the node at 0 V of each live group and lists the others.
func (t *topology) refer(n *Network, groups sets) {
	chosen := make([]Node, n.nodes)
	for i := range chosen {
		chosen[i] = None
	}
	claim := func(node Node) {
		if g := groups.find(int32(node)); t.live[node] && chosen[g] == None {
			chosen[g] = node
		}
	}
	for _, g := range n.grounds {
		claim(g)
	}
	for _, e := range n.elements {
		if b, ok := e.(EMF); ok {
			claim(b.Neg)
		}
	}
	for k, e := range n.elements {
		switch e := e.(type) {
		case Source:
			claim(e.Neg)
		case Converter:
			if t.fed[k] {
				claim(e.OutNeg)
			}
		}
	}
	island := make([]int, n.nodes)
	for i := range n.nodes {
		g := groups.find(int32(i))
		if t.live[i] {
			if int(g) == i {
				t.references = append(t.references, chosen[g])
			}
			continue
		}
		if int(g) == i {
			t.islands = append(t.islands, nil)
			island[g] = len(t.islands) - 1
		}
		t.islands[island[g]] = append(t.islands[island[g]], Node(i))
	}
}
