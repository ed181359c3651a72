package layout

import (
	"cmp"
	"slices"
	"sort"
)

// orderer sorts the items within the ranks so that few links cross.
type orderer struct {
	*ladder
	nb    [2][][]int32 // for each item the sorted keys of its pins' other ends, above (0) and below (1)
	flat  [2][][]int32 // for each item the places of the items its U-shaped links lead to, above and below
	us    [][]int      // U-shaped pieces of each channel
	plain [][]int      // the other pieces
	bary  []float64
	// Equal columns between the same two bars are ordered as one: lead is the first of them for the items of the others, weight what
	// a piece counts for in crossings, none for the others'.
	lead   [][]int // for each item the items that stand in its place, itself first; nil for one that another stands for
	weight []int
	dice   dice

	keys          []uint64 // room to count crossings in
	lower, merged []int32
}

const keyStep = 64 // room for an item's pins between two places in a rank

func (o *orderer) key(p int) int {
	q := &o.pins[p]
	it := &o.items[q.item]
	k := it.pos * keyStep
	if it.kind != boxItem {
		return k
	}
	if it.mirror {
		return k + keyStep - 1 - min(q.rel, keyStep-1)
	}
	return k + min(q.rel, keyStep-1)
}

// orderRanks finds an order of the items in their ranks with few crossings: barycentre sweeps and adjacent exchanges from the file
// order, from a walk along the links, and from shuffles. A shuffle is taken only if it saves at least two crossings, so that a small
// change in the file leaves the drawing as it is. Chance hangs on the identifiers alone: an item more or less leaves the throws of
// the others as they were.
func (l *ladder) orderRanks(restarts int, variant uint64) int {
	o := &orderer{ladder: l, bary: make([]float64, len(l.items)), weight: make([]int, len(l.pieces)), dice: newDice(l, variant)}
	for i := range 2 {
		o.nb[i] = make([][]int32, len(l.items))
		o.flat[i] = make([][]int32, len(l.items))
	}
	o.bundle()
	o.us = make([][]int, l.nranks+1)
	o.plain = make([][]int, l.nranks+1)
	for i := range l.pieces {
		p := &l.pieces[i]
		switch {
		case o.weight[i] == 0:
		case l.pins[p.pin[0]].up == l.pins[p.pin[1]].up:
			o.us[p.channel] = append(o.us[p.channel], i)
		default:
			o.plain[p.channel] = append(o.plain[p.channel], i)
		}
	}
	if variant > 0 {
		o.shuffle(0)
	}
	file := cloneRanks(l.ranks)
	o.number()
	first := o.improve(24)
	start := o.state()
	best, kept := first, start
	for k := 0; k < restarts/4 && best > 0; k++ {
		l.ranks = cloneRanks(file)
		for i := range l.items {
			l.items[i].mirror = false
		}
		if k == 0 {
			o.walkOrder()
		} else {
			o.shuffle(k)
		}
		o.number()
		if c := o.improve(24); c < best {
			best, kept = c, o.state()
		}
	}
	o.restore(kept)
	best, kept = o.wander(restarts, best, kept)
	if best >= first || first <= enough && best > first-2 && best > 0 {
		kept = start
	}
	o.restore(kept)
	c := o.total()
	o.unbundle()
	return c
}

// shuffle puts every rank into an order of chance.
func (o *orderer) shuffle(k int) {
	for _, r := range o.ranks {
		slices.SortStableFunc(r, func(a, b int) int { return cmp.Compare(o.dice.throw(a, k), o.dice.throw(b, k)) })
	}
}

// dice throws numbers that hang on an item's identifier and on the count of the throw.
type dice struct {
	seed []uint64
}

func newDice(l *ladder, variant uint64) dice {
	d := dice{make([]uint64, len(l.items))}
	for v := range l.items {
		it := &l.items[v]
		id := ""
		switch it.kind {
		case boxItem:
			id = l.g.Boxes[it.ref].ID
		case barItem:
			id = l.g.Bars[it.ref].ID
		default:
			id = l.g.Links[it.ref].ID
		}
		h := 14695981039346656037 + variant*1099511628211 // FNV-1a
		for i := range len(id) {
			h = (h ^ uint64(id[i])) * 1099511628211
		}
		if it.kind == dummyItem {
			h += uint64(it.rank)
		}
		d.seed[v] = h
	}
	return d
}

// throw mixes as splitmix64 does.
func (d dice) throw(item, k int) uint64 {
	z := d.seed[item] + uint64(k)*0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

func cloneRanks(r [][]int) [][]int {
	out := make([][]int, len(r))
	for i := range r {
		out[i] = slices.Clone(r[i])
	}
	return out
}

func (o *orderer) number() {
	for _, r := range o.ranks {
		for i, v := range r {
			o.items[v].pos = i
		}
	}
}

// state is an order of the ranks with the boxes that are mirrored.
type state struct {
	ranks  [][]int
	mirror []bool
}

func (o *orderer) state() state {
	s := state{cloneRanks(o.ranks), make([]bool, len(o.items))}
	for i := range o.items {
		s.mirror[i] = o.items[i].mirror
	}
	return s
}

func (o *orderer) restore(s state) {
	o.ranks = cloneRanks(s.ranks)
	for i := range o.items {
		o.items[i].mirror = s.mirror[i]
	}
	o.number()
}

// wander looks for better orders near the best one: it moves a cluster somewhere else, lets the ranks settle again, and goes on
// from there unless it got worse.
func (o *orderer) wander(tries, best int, kept state) (int, state) {
	clusters := o.clusters()
	if len(clusters) < 2 {
		return best, kept
	}
	now, at := best, kept
	for k := 0; k < 4*tries && best > 0; k++ {
		c, most := 0, uint64(0)
		for i := range clusters {
			if t := o.dice.throw(clusters[i][0], k+len(clusters[i])<<16); t >= most {
				c, most = i, t
			}
		}
		o.shift(clusters[c], float64(o.dice.throw(clusters[c][0], -1-k)>>11)/(1<<53))
		got := o.polish()
		switch {
		case got > now:
			o.restore(at)
		default:
			now, at = got, o.state()
			if got < best {
				best, kept = got, at
			}
		}
	}
	return best, kept
}

// polish exchanges neighbours and mirrors boxes, without the sweeps, which would pull a shifted cluster back.
func (o *orderer) polish() int {
	best := o.total()
	for range 3 {
		o.exchange(false)
		o.turn()
		c := o.total()
		if c >= best {
			return min(c, best)
		}
		best = c
	}
	return best
}

// clusters lists what moves together: the parts joined to each other without a bar between them, each bar alone, and each bar with
// the clusters that hang on it.
func (o *orderer) clusters() [][]int {
	up := make([]int, len(o.items))
	for i := range up {
		up[i] = i
	}
	find := func(i int) int {
		for up[i] != i {
			up[i] = up[up[i]]
			i = up[i]
		}
		return i
	}
	for i := range o.pieces {
		a, b := o.pins[o.pieces[i].pin[0]].item, o.pins[o.pieces[i].pin[1]].item
		if o.items[a].kind != barItem && o.items[b].kind != barItem {
			up[find(a)] = find(b)
		}
	}
	members := make([][]int, len(o.items))
	for i := range o.items {
		members[find(i)] = append(members[find(i)], i)
	}
	var out [][]int
	for i := range members {
		members[i] = slices.DeleteFunc(members[i], func(v int) bool { return o.lead[v] == nil })
		if len(members[i]) > 0 {
			out = append(out, members[i])
		}
	}
	for v := range o.items {
		if o.items[v].kind != barItem {
			continue
		}
		group := []int{v}
		in := map[int]bool{}
		for _, p := range o.items[v].pins {
			w := find(o.pins[o.other(p)].item)
			if o.items[w].kind != barItem && !in[w] {
				in[w] = true
				if o.lead[w] == nil {
					continue
				}
				group = append(group, members[w]...)
			}
		}
		if len(group) > 2 && len(group) < len(o.items)/2 {
			out = append(out, group)
		}
	}
	return out
}

// shift moves a cluster to the same relative place in each of its ranks.
func (o *orderer) shift(cluster []int, to float64) {
	moved := make(map[int]bool, len(cluster))
	touched := make([]bool, o.nranks)
	for _, v := range cluster {
		moved[v] = true
		touched[o.items[v].rank] = true
	}
	for r, t := range touched {
		if !t {
			continue
		}
		var stay, moving []int
		for _, v := range o.ranks[r] {
			if moved[v] {
				moving = append(moving, v)
			} else {
				stay = append(stay, v)
			}
		}
		at := int(to * float64(len(stay)+1))
		o.ranks[r] = append(append(append(o.ranks[r][:0:0], stay[:at]...), moving...), stay[at:]...)
	}
	o.number()
}

// walkOrder puts the items into the order in which a walk along the links meets them.
func (o *orderer) walkOrder() {
	seen := make([]bool, len(o.items))
	ranks := make([][]int, o.nranks)
	visit := func(v int) {
		stack := []int{v}
		for len(stack) > 0 {
			v := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			if seen[v] {
				continue
			}
			seen[v] = true
			ranks[o.items[v].rank] = append(ranks[o.items[v].rank], v)
			for k := len(o.items[v].pins) - 1; k >= 0; k-- {
				if p := o.items[v].pins[k]; o.weight[o.pins[p].piece] > 0 {
					stack = append(stack, o.pins[o.other(p)].item)
				}
			}
		}
	}
	for _, r := range o.ranks {
		for _, v := range r {
			if !seen[v] {
				visit(v)
			}
		}
	}
	o.ranks = ranks
}

// improve sweeps down and up until nothing gets better, keeps the best order met, and returns its crossings.
func (o *orderer) improve(turns int) int {
	best := o.total()
	kept := o.state()
	idle := 0
	for turn := 0; turn < turns && idle < 4 && best > 0; turn++ {
		if turn%2 == 0 {
			for r := 1; r < o.nranks; r++ {
				o.sweep(r, true)
			}
		} else {
			for r := o.nranks - 2; r >= 0; r-- {
				o.sweep(r, false)
			}
		}
		o.exchange(turn%4 >= 2)
		o.turn()
		if c := o.total(); c < best {
			best, idle = c, 0
			kept = o.state()
		} else {
			idle++
		}
	}
	o.restore(kept)
	return best
}

// sweep sorts rank r by the mean place of the other ends above (or below). An item without any stays where it is.
func (o *orderer) sweep(r int, above bool) {
	rank := o.ranks[r]
	has := make([]bool, len(rank))
	for i, v := range rank {
		n, sum := 0, 0.0
		for _, p := range o.items[v].pins {
			w := o.weight[o.pins[p].piece]
			if o.pins[p].up != above || w == 0 {
				continue
			}
			q := o.other(p)
			n += w
			// places are taken relative to the length of their rank, since ranks differ in length
			sum += float64(w*o.key(q)) / float64(keyStep*len(o.ranks[o.items[o.pins[q].item].rank]))
		}
		if n > 0 {
			has[i] = true
			o.bary[v] = sum / float64(n)
		}
	}
	var free []int
	for i, v := range rank {
		if has[i] {
			free = append(free, v)
		}
	}
	sort.SliceStable(free, func(a, b int) bool { return o.bary[free[a]] < o.bary[free[b]] })
	for i, k := 0, 0; i < len(rank); i++ {
		if has[i] {
			rank[i] = free[k]
			k++
		}
	}
	for i, v := range rank {
		o.items[v].pos = i
	}
}

// neighbours fills nb and flat for the items of one rank.
func (o *orderer) neighbours(r int) {
	for _, v := range o.ranks[r] {
		for i := range 2 {
			o.nb[i][v] = o.nb[i][v][:0]
			o.flat[i][v] = o.flat[i][v][:0]
		}
		for _, p := range o.items[v].pins {
			q := o.other(p)
			i := 1
			if o.pins[p].up {
				i = 0
			}
			for range o.weight[o.pins[p].piece] {
				if o.pins[p].up == o.pins[q].up {
					o.flat[i][v] = append(o.flat[i][v], int32(o.pins[q].item))
				} else {
					o.nb[i][v] = append(o.nb[i][v], int32(o.key(q)))
				}
			}
		}
		for i := range 2 {
			slices.Sort(o.nb[i][v])
		}
	}
}

// exchange swaps neighbours in a rank while that saves crossings. With even set it also swaps where it costs nothing, which
// leads out of dead ends.
func (o *orderer) exchange(even bool) {
	for pass := 0; pass < 4; pass++ {
		better := false
		for r := range o.ranks {
			o.neighbours(r)
			rank := o.ranks[r]
			for i := 0; i+1 < len(rank); i++ {
				u, v := rank[i], rank[i+1]
				now, then := o.pair(u, v), o.pair(v, u)
				if then < now || even && pass == 0 && then == now && now > 0 {
					rank[i], rank[i+1] = v, u
					o.items[v].pos, o.items[u].pos = i, i+1
					better = better || then < now
				}
			}
		}
		if !better {
			return
		}
	}
}

// pair counts the crossings between the links of u and v with u next on the left of v.
func (o *orderer) pair(u, v int) int {
	c := 0
	for i := range 2 {
		a, b := o.nb[i][u], o.nb[i][v]
		j := 0
		for _, k := range a { // b entries strictly less than k
			for j < len(b) && b[j] < k {
				j++
			}
			c += j
		}
		lo := min(o.items[u].pos, o.items[v].pos)
		for _, w := range o.flat[i][u] {
			if int(w) != v && o.items[w].pos > lo {
				c += len(b)
			}
		}
		for _, w := range o.flat[i][v] {
			if int(w) != u && o.items[w].pos < lo {
				c += len(a)
			}
		}
	}
	return c
}

// turn mirrors each box that may be mirrored where that saves crossings among its own links.
func (o *orderer) turn() {
	for v := range o.items {
		it := &o.items[v]
		if it.kind != boxItem || it.mark || !o.g.Boxes[it.ref].Mirror {
			continue
		}
		now := o.own(v)
		it.mirror = !it.mirror
		if o.own(v) >= now {
			it.mirror = !it.mirror
		}
	}
}

// own counts the crossings among the links of one box.
func (o *orderer) own(v int) int {
	c := 0
	pins := o.items[v].pins
	for i, p := range pins {
		for _, q := range pins[i+1:] {
			if o.pins[p].up != o.pins[q].up {
				continue
			}
			a, b := o.key(p), o.key(q)
			x, y := o.key(o.other(p)), o.key(o.other(q))
			if a < b && x > y || a > b && x < y {
				c++
			}
		}
	}
	return c
}

// total counts the crossings of the whole drawing as the order foretells them.
func (o *orderer) total() int {
	sum := 0
	for c := range o.plain {
		sum += o.inChannel(c)
	}
	return sum
}

func (o *orderer) inChannel(c int) int {
	ks := o.keys[:0] // upper and lower key of each piece in one number
	for _, i := range o.plain[c] {
		p := &o.pieces[i]
		a, b := p.pin[0], p.pin[1]
		if o.pins[a].up {
			a, b = b, a
		}
		k := uint64(o.key(a))<<32 | uint64(o.key(b))
		for range o.weight[i] {
			ks = append(ks, k)
		}
	}
	o.keys = ks
	slices.Sort(ks)
	o.lower = o.lower[:0]
	for _, k := range ks {
		o.lower = append(o.lower, int32(k))
	}
	o.merged = sized(o.merged, len(ks))
	sum := inversions(o.lower, o.merged)
	for n, i := range o.us[c] {
		p := &o.pieces[i]
		a, b := o.key(p.pin[0]), o.key(p.pin[1])
		if a > b {
			a, b = b, a
		}
		up := o.pins[p.pin[0]].up
		for _, k := range ks {
			x := int(k >> 32)
			if up {
				x = int(uint32(k))
			}
			if x > a && x < b {
				sum++
			}
		}
		for _, j := range o.us[c][n+1:] {
			q := &o.pieces[j]
			if o.pins[q.pin[0]].up != up {
				continue
			}
			x, y := o.key(q.pin[0]), o.key(q.pin[1])
			if x > y {
				x, y = y, x
			}
			if a < x && x < b && b < y || x < a && a < y && y < b {
				sum++
			}
		}
	}
	return sum
}

// inversions counts the pairs in which the larger number comes first. It sorts a, by merging, with room as long as a.
func inversions(a, room []int32) int {
	n := len(a)
	if n < 12 {
		sum := 0
		for i := 1; i < n; i++ {
			v, j := a[i], i
			for ; j > 0 && a[j-1] > v; j-- {
				a[j] = a[j-1]
			}
			a[j] = v
			sum += i - j
		}
		return sum
	}
	left, right := a[:n/2], a[n/2:]
	sum := inversions(left, room) + inversions(right, room)
	if left[len(left)-1] <= right[0] {
		return sum
	}
	i, out := 0, 0
	for _, v := range right {
		for i < len(left) && left[i] <= v {
			room[out] = left[i]
			i, out = i+1, out+1
		}
		sum += len(left) - i
		room[out] = v
		out++
	}
	copy(a[out:], left[i:])
	copy(a, room[:out])
	return sum
}

// most is what a bundle of columns counts for at most, so that one more or less does not tip the scales.
const most = 2

// bundle finds the equal columns between the same two bars and takes all but the first of each out of the ranks. They stand side by
// side in the order of the file, so that a panel's breakers stay in panel order: apart they would cross no less.
func (o *orderer) bundle() {
	o.lead = make([][]int, len(o.items))
	for v := range o.items {
		o.lead[v] = []int{v}
	}
	for i := range o.pieces {
		o.weight[i] = 1
	}
	gone := make([]bool, len(o.items))
	for b := range o.items {
		if o.items[b].kind != barItem {
			continue
		}
		byFoot := map[[2]int][][]int{}
		var feet [][2]int
		for _, p := range o.items[b].pins {
			if o.pins[p].up || o.pins[o.other(p)].up == o.pins[p].up {
				continue
			}
			items, foot := o.column(o.pins[o.other(p)].item)
			if foot < 0 || len(items) == 0 {
				continue
			}
			k := [2]int{foot, len(items)}
			if byFoot[k] == nil {
				feet = append(feet, k)
			}
			byFoot[k] = append(byFoot[k], items)
		}
		for _, k := range feet {
			cs := byFoot[k]
			if len(cs) < 2 {
				continue
			}
			sort.SliceStable(cs, func(i, j int) bool { return o.filePlace(cs[i]) < o.filePlace(cs[j]) })
			for n, c := range cs {
				for d, v := range c {
					if n == 0 { // the throws of a bundle hang on its bars, not on its first column
						o.dice.seed[v] = o.dice.seed[b]*31 + o.dice.seed[k[0]] + uint64(d)
					}
					if n > 0 {
						o.lead[cs[0][d]] = append(o.lead[cs[0][d]], v)
						o.lead[v], gone[v] = nil, true
					}
					for _, p := range o.items[v].pins {
						o.weight[o.pins[p].piece] = 0
						if n == 0 {
							o.weight[o.pins[p].piece] = min(len(cs), most)
						}
					}
				}
			}
		}
	}
	for r := range o.ranks {
		o.ranks[r] = slices.DeleteFunc(o.ranks[r], func(v int) bool { return gone[v] })
	}
}

// unbundle puts the bundled columns back beside the first of them.
func (o *orderer) unbundle() {
	for r := range o.ranks {
		var rank []int
		for _, v := range o.ranks[r] {
			rank = append(rank, o.lead[v]...)
		}
		o.ranks[r] = rank
	}
	o.number()
}

// column follows boxes and dummies with one link above and one below each from v down to a bar. It returns no bar where there is
// none.
func (o *orderer) column(v int) (items []int, foot int) {
	for {
		it := &o.items[v]
		if it.kind == barItem {
			return items, v
		}
		up, down := -1, -1
		for _, p := range it.pins {
			at := &down
			if o.pins[p].up {
				at = &up
			}
			if *at >= 0 || o.pins[p].up == o.pins[o.other(p)].up {
				return nil, -1
			}
			*at = p
		}
		if up < 0 || down < 0 {
			return nil, -1
		}
		items = append(items, v)
		v = o.pins[o.other(down)].item
	}
}

// filePlace is the place in the file of a column's first box, or of its link if it has no box.
func (o *orderer) filePlace(items []int) int {
	for _, v := range items {
		if o.items[v].kind == boxItem {
			return o.items[v].ref
		}
	}
	return len(o.g.Boxes) + o.items[items[0]].ref
}
