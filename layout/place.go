package layout

import (
	"slices"
	"sort"
)

// Weights of the sideways offsets: long straight lines over many ranks matter most.
const (
	weightReal  = 8
	weightMixed = 16
	weightDummy = 48
	weightBar   = 1 // length of a bar
)

const (
	gapItems = 2 // between neighbouring footprints
	overhang = 1 // of a bar beyond its outer studs
)

// placeX finds the x of everything. Wider pulls the drawing together: it is the weight of its total width against the bends.
func (l *ladder) placeX(narrow int) {
	l.sweepColumns()
	l.squeeze(narrow)
}

// sweepColumns finds first places, which hang on no width weight.
func (l *ladder) sweepColumns() {
	l.spread()
	for i := range l.items {
		if l.items[i].kind == barItem {
			l.sortStuds(i)
		}
	}
	for k := range 10 {
		l.sweepX(k)
	}
}

// squeeze goes on from the first places.
func (l *ladder) squeeze(narrow int) {
	for range 3 {
		l.simplexX(narrow)
		changed := false
		for i := range l.items {
			if l.items[i].kind != dummyItem && l.sortStuds(i) {
				changed = true
			}
		}
		if !changed {
			break
		}
	}
	l.normalise()
}

// spread gives a first place to everything: each rank packed from the left.
func (l *ladder) spread() {
	for r := range l.ranks {
		c := l.rankChain(r)
		x := 0
		for i := range c.vars {
			if i > 0 {
				x += c.gap[i-1]
			}
			l.set(c.vars[i], x)
		}
	}
}

// variable names one x to be found: the left edge of a box, a dummy, a stud (pin) or an end of a bar.
type variable struct {
	item, pin int // pin -1: the item itself
	right     bool
}

func (l *ladder) set(v variable, x int) {
	switch {
	case v.pin >= 0:
		l.pins[v.pin].x = x
	case v.right:
		l.items[v.item].right = x
	default:
		l.items[v.item].x = x
		if l.items[v.item].kind == dummyItem {
			for _, p := range l.items[v.item].pins {
				l.pins[p].x = x
			}
		}
	}
}

func (l *ladder) get(v variable) int {
	switch {
	case v.pin >= 0:
		return l.pins[v.pin].x
	case v.right:
		return l.items[v.item].right
	}
	return l.items[v.item].x
}

// chain is a rank as a row of variables with the least distances between neighbours.
type chain struct {
	vars []variable
	gap  []int
}

// rankChain strings up a rank. The studs of a bar above and below it may stand over one another; in the row they keep one unit,
// which the simplex afterwards gives back.
func (l *ladder) rankChain(r int) chain {
	c := chain{vars: l.work.vars[:0], gap: l.work.gaps[:0]}
	push := func(v variable, gap int) {
		if len(c.vars) > 0 {
			c.gap = append(c.gap, gap)
		}
		c.vars = append(c.vars, v)
	}
	trail := 0 // what the item on the left needs to its right, with the gap
	for _, v := range l.ranks[r] {
		it := &l.items[v]
		if it.kind != barItem {
			push(variable{item: v, pin: -1}, trail)
			trail = it.span() + it.gap()
			continue
		}
		push(variable{item: v, pin: -1}, trail+it.markL)
		studs := l.studs(v)
		at, last := 0, [2]int{} // least distance from the left end, also of the last stud below and above
		for i, p := range studs {
			side, apart := 0, it.pitch
			if l.pins[p].up {
				side, apart = 1, pitch
			}
			next := max(at+1, last[side]+apart)
			if i == 0 {
				next = it.head + it.nameRoom
			} else if last[side] == 0 {
				next = at + 1
			}
			push(variable{item: v, pin: p}, next-at)
			at, last[side] = next, next
		}
		push(variable{item: v, pin: -1, right: true}, max(it.tail, it.length()-at))
		trail = it.markR + gapItems
	}
	l.work.vars, l.work.gaps = c.vars, c.gap
	return c
}

// least is a width that the widest rank needs in any case, without studs and the texts that room is found for later.
func (l *ladder) least() int {
	most := 0
	for _, rank := range l.ranks {
		w := 0
		for i, v := range rank {
			it := &l.items[v]
			if i > 0 {
				w += gapItems - 1 // a text has some of its own
			}
			if it.kind == barItem {
				w += it.markL + max(it.min, it.head+it.tail) + it.markR
			} else if it.kind == boxItem {
				b := &l.g.Boxes[it.ref]
				w += it.ext[Left] + it.w + it.ext[Right] + b.Reserve.Left + b.Reserve.Right
				if b.Keep {
					if at := l.foot(v); at >= 0 {
						w += max(0, at+b.Text.W-it.w)
					} else {
						w += b.Text.W
					}
				}
			}
		}
		most = max(most, w)
	}
	return most
}

// gap is the room to the next footprint on the right; a text has some of its own.
func (it *item) gap() int {
	if it.textRoom {
		return gapItems - 1
	}
	return gapItems
}

// length is the least length of a bar.
func (it *item) length() int { return max(it.min, it.head+it.nameRoom+it.tail) }

// studs lists a bar's pins from left to right; the list holds until the next call.
func (l *ladder) studs(v int) []int {
	s := append(l.work.studs[:0], l.items[v].pins...)
	l.work.studs = s
	slices.SortStableFunc(s, func(a, b int) int {
		p, q := &l.pins[a], &l.pins[b]
		switch {
		case p.x != q.x:
			return p.x - q.x
		case p.up == q.up:
			return 0
		case p.up:
			return -1
		}
		return 1
	})
	return s
}

func (l *ladder) weight(p int) int {
	a, b := l.items[l.pins[p].item].kind == dummyItem, l.items[l.pins[l.other(p)].item].kind == dummyItem
	switch {
	case a && b:
		return weightDummy
	case a || b:
		return weightMixed
	}
	return weightReal
}

// sweepX improves the ranks one after another: down, up, and every third time with both neighbours at once.
func (l *ladder) sweepX(k int) {
	for i := range l.ranks {
		r := i
		if k%2 == 1 {
			r = l.nranks - 1 - i
		}
		both := k >= 4
		c := l.rankChain(r)
		l.work.wishes = sized(l.work.wishes, len(c.vars))
		wishes := l.work.wishes
		n := len(c.vars)
		for _, v := range l.ranks[r] {
			n += len(l.items[v].pins)
		}
		l.work.store = sized(l.work.store, n) // one array for them all
		store := l.work.store[:0]
		for j, v := range c.vars {
			wishes[j] = store[len(store):]
			for _, p := range l.pinsOf(v) {
				if !both && l.pins[p].up != (k%2 == 0) {
					continue
				}
				off := 0
				if v.pin < 0 {
					off = l.offset(p)
				}
				wishes[j] = append(wishes[j], wish{l.at(l.other(p)) - off, l.weight(p)})
			}
			if len(wishes[j]) == 0 {
				wishes[j] = append(wishes[j], wish{l.get(v), 1})
			}
			store = store[:len(store)+len(wishes[j])]
		}
		for j, x := range l.work.pooling.settle(wishes, c.gap) {
			l.set(c.vars[j], x)
		}
	}
}

// pinsOf lists the pins that move with a variable.
func (l *ladder) pinsOf(v variable) []int {
	if v.pin >= 0 {
		return []int{v.pin}
	}
	if l.items[v.item].kind == barItem {
		return nil
	}
	return l.items[v.item].pins
}

// simplexX moves everything to the least weighted sum of sideways offsets, starting from the places it has.
func (l *ladder) simplexX(narrow int) {
	p := &l.work.program
	p.reset()
	l.work.own, l.work.end, l.work.stud = sized(l.work.own, len(l.items)), sized(l.work.end, len(l.items)), sized(l.work.stud, len(l.pins))
	own, end, stud := l.work.own, l.work.end, l.work.stud // left edges, right ends of bars, studs
	lo, hi := 1<<30, -(1 << 30)
	for v := range l.items {
		it := &l.items[v]
		own[v] = p.node(it.x)
		lo, hi = min(lo, it.x-it.markL), max(hi, it.x+it.span())
		if it.kind == barItem {
			end[v] = p.node(it.right)
			hi = max(hi, it.right+it.markR)
			for _, s := range it.pins {
				stud[s] = p.node(l.pins[s].x)
			}
		}
	}
	left, right := p.node(lo), p.node(hi)
	p.add(left, right, 0, narrow)
	for _, rank := range l.ranks {
		for i, v := range rank {
			it := &l.items[v]
			if it.kind == barItem {
				l.barDemands(p, v, own[v], end[v], stud)
			}
			if i == 0 {
				p.add(left, own[v], it.markL, 0)
			} else {
				u := rank[i-1]
				if t := &l.items[u]; t.kind == barItem {
					p.add(end[u], own[v], t.markR+gapItems+it.markL, 0)
				} else {
					p.add(own[u], own[v], t.span()+t.gap()+it.markL, 0)
				}
			}
			if i == len(rank)-1 {
				if it.kind == barItem {
					p.add(end[v], right, it.markR, 0)
				} else {
					p.add(own[v], right, it.span(), 0)
				}
			}
		}
	}
	at := func(q int) (node, off int) {
		v := l.pins[q].item
		if l.items[v].kind == barItem {
			return stud[q], 0
		}
		return own[v], l.offset(q)
	}
	for i := range l.pieces {
		q := &l.pieces[i]
		if l.pins[q.pin[0]].up == l.pins[q.pin[1]].up {
			// a U cannot be straight: it should only be short
			l.pull(p, at, q, 2)
			continue
		}
		l.pull(p, at, q, l.weight(q.pin[0]))
	}
	p.solve(4*len(p.y) + 200)
	base := p.y[left]
	for v := range l.items {
		it := &l.items[v]
		l.set(variable{item: v, pin: -1}, p.y[own[v]]-base)
		if it.kind == barItem {
			it.right = p.y[end[v]] - base
			for _, s := range it.pins {
				l.pins[s].x = p.y[stud[s]] - base
			}
		}
	}
}

// pull adds the weighted distance of the two ends of a piece.
func (l *ladder) pull(p *program, at func(int) (int, int), q *piece, weight int) {
	u, du := at(q.pin[0])
	v, dv := at(q.pin[1])
	if u == v {
		return
	}
	a := p.node(min(p.y[u]+du, p.y[v]+dv))
	p.add(a, u, -du, weight)
	p.add(a, v, -dv, weight)
}

// barDemands keeps a bar's studs in order and within its ends. Studs above and below do not hinder each other.
func (l *ladder) barDemands(p *program, v, own, end int, stud []int) {
	it := &l.items[v]
	p.add(own, end, it.length(), weightBar)
	for _, up := range []bool{true, false} {
		apart := it.pitch
		if up {
			apart = pitch
		}
		last := -1
		for _, s := range l.studs(v) {
			if l.pins[s].up != up {
				continue
			}
			if last < 0 {
				p.add(own, stud[s], it.head+it.nameRoom, 0)
			} else {
				p.add(stud[last], stud[s], apart, 0)
			}
			last = s
		}
		if last >= 0 {
			p.add(stud[last], end, it.tail, 0)
		}
	}
}

// sortStuds sorts the studs of a bar, or the landings of a box, by where their links go, and hands out the same places in ascending
// order. It reports whether anything changed.
func (l *ladder) sortStuds(v int) bool {
	it := &l.items[v]
	changed := false
	if it.kind == barItem {
		for _, up := range []bool{true, false} {
			ps := l.work.some[:0]
			for _, p := range it.pins {
				if l.pins[p].up == up {
					ps = append(ps, p)
				}
			}
			l.work.some = ps
			changed = l.permute(ps) || changed
		}
		return changed
	}
	for i := range it.landings {
		d := &it.landings[i]
		if d.side > Bottom || d.n < 2 {
			continue
		}
		ps := l.work.some[:0]
		for k := range d.n {
			ps = append(ps, d.pinsFirst+k)
		}
		l.work.some = ps
		changed = l.permute(ps) || changed
	}
	return changed
}

// permute lets pins that may change places do so.
func (l *ladder) permute(ps []int) bool {
	if len(ps) < 2 {
		return false
	}
	slots := l.work.slots[:0] // from left to right
	for _, p := range ps {
		q := &l.pins[p]
		slots = append(slots, slot{l.at(p), pinAt{q.x, q.off, q.lead}})
	}
	l.work.slots = slots
	slices.SortStableFunc(slots, func(a, b slot) int { return a.at - b.at })
	want := append(l.work.want[:0], ps...)
	l.work.want = want
	slices.SortStableFunc(want, func(a, b int) int { return l.aim(a) - l.aim(b) })
	l.group(want)
	changed := false
	for i, s := range slots {
		changed = changed || l.at(want[i]) != s.at
	}
	for i, s := range slots {
		q := &l.pins[want[i]]
		q.x, q.off, q.lead = s.x, s.off, s.lead
	}
	return changed
}

// slot is a place that one of several pins takes.
type slot struct {
	at int
	pinAt
}

// group brings the studs of one port of a bar together, each port in the middle of where its links go.
func (l *ladder) group(ps []int) {
	it := &l.items[l.pins[ps[0]].item]
	if it.kind != barItem || !l.g.Bars[it.ref].Grouped {
		return
	}
	sum, n := map[string]int{}, map[string]int{}
	port := func(p int) string { return l.end(l.pins[p].link, l.pins[p].end).Port }
	for _, p := range ps {
		sum[port(p)] += l.aim(p)
		n[port(p)]++
	}
	sort.SliceStable(ps, func(a, b int) bool {
		i, j := port(ps[a]), port(ps[b])
		if x, y := sum[i]*n[j], sum[j]*n[i]; x != y {
			return x < y
		}
		return i < j
	})
}

// aim is where a pin's link comes from or goes to. The outer end of a U wants to lie outside the links that go straight on.
func (l *ladder) aim(p int) int {
	q := l.other(p)
	return l.at(q)
}

// normalise moves the drawing to x = 0 and finds its width.
func (l *ladder) normalise() {
	lo, hi := 1<<30, 0
	for v := range l.items {
		lo = min(lo, l.items[v].x-l.items[v].markL)
	}
	if len(l.items) == 0 {
		lo = 0
	}
	for v := range l.items {
		it := &l.items[v]
		l.set(variable{item: v, pin: -1}, it.x-lo)
		if it.kind == barItem {
			it.right -= lo
			for _, s := range it.pins {
				l.pins[s].x -= lo
			}
			hi = max(hi, it.right+it.markR)
		}
		hi = max(hi, it.x+it.span())
	}
	l.width = hi
}
