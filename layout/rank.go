package layout

import "sort"

// Weights of the rank assignment: a directed link pulls its ends together, a bridge draws its ends into one rank, the more so
// if one of them has nothing else to hold it.
const (
	rankLink   = 8
	rankBridge = 1
	rankOnly   = 4
)

// assignRanks gives every box and bar its rank: longest path first, then the network simplex for the least total length. Links
// and demands that would close a circle are left out; such links are drawn as bridges.
func (l *ladder) assignRanks() {
	n := len(l.items)
	group := l.sameRank(n)
	type arc struct{ a, b, min, link int }
	var arcs []arc
	for i := range l.links {
		k := &l.links[i]
		if k.directed {
			arcs = append(arcs, arc{group[k.node[0]], group[k.node[1]], 1, i})
		}
	}
	for _, d := range l.g.Below {
		u, ok1 := l.byID[d.Upper]
		v, ok2 := l.byID[d.Lower]
		if ok1 && ok2 {
			arcs = append(arcs, arc{group[u], group[v], d.By, -1})
		}
	}
	out := make([][]int, n)
	for i, a := range arcs {
		if a.a == a.b {
			if a.link >= 0 {
				l.links[a.link].directed = false
			}
			arcs[i].min = -1
			continue
		}
		out[a.a] = append(out[a.a], i)
	}
	// depth first from the file order; an arc back into the path closes a circle
	state := make([]uint8, n)
	var finish []int
	var visit func(v int)
	visit = func(v int) {
		state[v] = 1
		for _, i := range out[v] {
			switch w := arcs[i].b; state[w] {
			case 0:
				visit(w)
			case 1:
				if arcs[i].link >= 0 {
					l.links[arcs[i].link].directed = false
				}
				arcs[i].min = -1
			}
		}
		state[v] = 2
		finish = append(finish, v)
	}
	for v := range n {
		if group[v] == v && state[v] == 0 {
			visit(v)
		}
	}
	rank := make([]int, n)
	for k := len(finish) - 1; k >= 0; k-- {
		v := finish[k]
		for _, i := range out[v] {
			if a := arcs[i]; a.min >= 0 {
				rank[a.b] = max(rank[a.b], rank[v]+a.min)
			}
		}
	}
	var p program
	p.y = rank
	held := make([]bool, n)
	for _, a := range arcs {
		if a.min < 0 {
			continue
		}
		w := 0
		if a.link >= 0 {
			w = rankLink
		}
		p.add(a.a, a.b, a.min, w)
		held[a.a], held[a.b] = true, true
	}
	for i := range l.links {
		k := &l.links[i]
		u, v := group[k.node[0]], group[k.node[1]]
		if k.directed || u == v {
			continue
		}
		w := rankBridge
		if !held[u] || !held[v] {
			w = rankOnly
		}
		a := p.node(min(p.y[u], p.y[v]))
		p.add(a, u, 0, w)
		p.add(a, v, 0, w)
	}
	pieces := l.connected(group)
	p.solve(20 * (len(p.edges) + 10))
	low := map[int]int{}
	for v := range n {
		g := group[v]
		if r, ok := low[pieces[g]]; !ok || p.y[g] < r {
			low[pieces[g]] = p.y[g]
		}
	}
	l.nranks = 0
	for v := range n {
		l.items[v].rank = p.y[group[v]] - low[pieces[group[v]]]
		l.nranks = max(l.nranks, l.items[v].rank+1)
	}
}

// sameRank maps every item to the first item of its rank group.
func (l *ladder) sameRank(n int) []int {
	up := make([]int, n)
	for i := range up {
		up[i] = i
	}
	find := func(i int) int {
		for up[i] != i {
			i = up[i]
		}
		return i
	}
	for _, s := range l.g.Same {
		first := -1
		for _, id := range s {
			v, ok := l.byID[id]
			if !ok {
				continue
			}
			if first < 0 {
				first = find(v)
				continue
			}
			a, b := find(first), find(v)
			up[max(a, b)] = min(a, b)
		}
	}
	out := make([]int, n)
	for i := range out {
		out[i] = find(i)
	}
	return out
}

// connected numbers the unconnected pieces of the graph, taking links, rank groups and demands together.
func (l *ladder) connected(group []int) []int {
	n := len(l.items)
	up := make([]int, n)
	copy(up, group)
	find := func(i int) int {
		for up[i] != i {
			up[i] = up[up[i]]
			i = up[i]
		}
		return i
	}
	for i := range l.links {
		up[find(l.links[i].node[0])] = find(l.links[i].node[1])
	}
	for _, d := range l.g.Below {
		u, ok1 := l.byID[d.Upper]
		v, ok2 := l.byID[d.Lower]
		if ok1 && ok2 {
			up[find(u)] = find(v)
		}
	}
	out := make([]int, n)
	for i := range out {
		out[i] = find(i)
	}
	return out
}

// directions decides for every end of a link whether it leaves its box or bar upwards or downwards. Ports above and below leave no
// choice; side ports and bars turn towards the other end, or with it if the other end is in the same rank.
func (l *ladder) directions() {
	for i := range l.links {
		k := &l.links[i]
		if k.directed {
			k.up = [2]bool{false, true}
			continue
		}
		fixed := [2]bool{}
		for e := range 2 {
			switch k.side[e] {
			case Top:
				fixed[e], k.up[e] = true, true
			case Bottom:
				fixed[e], k.up[e] = true, false
			}
		}
		for e := range 2 {
			if fixed[e] {
				continue
			}
			mine, other := l.items[k.node[e]].rank, l.items[k.node[1-e]].rank
			switch {
			case other != mine:
				k.up[e] = other < mine
			case fixed[1-e]:
				k.up[e] = k.up[1-e]
			default:
				k.up[e] = true
			}
		}
	}
}

// sortRanks fills l.ranks with the items of each rank in item order.
func (l *ladder) sortRanks() {
	l.ranks = make([][]int, l.nranks)
	for v := range l.items {
		r := l.items[v].rank
		l.ranks[r] = append(l.ranks[r], v)
	}
	for _, r := range l.ranks {
		sort.SliceStable(r, func(a, b int) bool { return l.items[r[a]].hint < l.items[r[b]].hint })
	}
}
