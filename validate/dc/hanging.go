package dc

// hanging marks the loads and converters that hang on a part of the network with
// no source of its own and no more than one other part beyond its loads: whatever
// they would draw can only come in where it goes out again, so nothing drives a
// current through them. Left to the voltages, a charger behind an open switch
// would seem fed by the few millivolts that another current leaves along the
// common negative.
func hanging(n *Network) []bool {
	groups := newSets(n.nodes)
	for _, e := range n.elements {
		if r, ok := e.(Resistor); ok {
			groups.join(int32(r.From), int32(r.To))
		}
		if c, ok := e.(Converter); ok && !c.Isolated {
			groups.join(int32(c.InNeg), int32(c.OutNeg))
		}
	}
	sourced := make([]bool, n.nodes) // by group
	ways := make([][]way, n.nodes)   // by group
	for k, e := range n.elements {
		switch e := e.(type) {
		case Resistor:
		case EMF, Source:
			t, _ := terminals(e)
			for _, node := range t[:2] {
				sourced[groups.find(int32(node))] = true
			}
		case Converter:
			sourced[groups.find(int32(e.OutPos))] = true
			sourced[groups.find(int32(e.OutNeg))] = true
			passage(groups, ways, k, e.InPos, e.InNeg)
		default:
			nodes, _ := terminals(e)
			passage(groups, ways, k, nodes[0], nodes[1])
		}
	}
	off := make([]bool, len(n.elements))
	for pruned := true; pruned; {
		pruned = false
		for g := range ways {
			if !sourced[g] && len(ways[g]) > 0 && beyond(int32(g), ways[g], off) <= 1 {
				for _, w := range ways[g] {
					pruned = pruned || !off[w.element]
					off[w.element] = true
				}
			}
		}
	}
	keepIslands(n, off, groups, ways, sourced)
	return off
}

// keepIslands takes the mark off what finds its own state, a resistance or a
// diode, and off an island without any source, which is listed as one.
func keepIslands(n *Network, off []bool, groups sets, ways [][]way, sourced []bool) {
	island := newSets(n.nodes)
	for g := range ways {
		for _, w := range ways[g] {
			island.join(int32(g), w.to)
		}
	}
	alive := make([]bool, n.nodes)
	for g, is := range sourced {
		if is {
			alive[island.find(int32(g))] = true
		}
	}
	for k, e := range n.elements {
		switch e.(type) {
		case CurrentLoad, PowerLoad, Converter:
			off[k] = off[k] && alive[island.find(groups.find(int32(first(e))))]
		default:
			off[k] = false
		}
	}
}

// way is an element that a current may pass from one group of nodes to another.
type way struct {
	element int
	to      int32
}

func passage(groups sets, ways [][]way, element int, a, b Node) {
	ga, gb := groups.find(int32(a)), groups.find(int32(b))
	ways[ga] = append(ways[ga], way{element, gb})
	if ga != gb {
		ways[gb] = append(ways[gb], way{element, ga})
	}
}

// beyond counts the groups that a group's ways lead to, up to two.
func beyond(own int32, list []way, off []bool) int {
	first, count := int32(-1), 0
	for _, w := range list {
		if off[w.element] || w.to == own || count > 0 && w.to == first {
			continue
		}
		if count++; count > 1 {
			return count
		}
		first = w.to
	}
	return count
}
