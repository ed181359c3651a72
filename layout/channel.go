package layout

import "slices"

// route is how a piece runs within its channel. Tracks count from the top of the channel.
type route struct {
	straight bool
	track    int
	dogleg   bool // changes to track2 at x = via
	track2   int
	via      int
}

// leg is the vertical of a run at one end of its horizontal.
type leg struct {
	x    int
	down bool // towards the lower border
}

// run is one horizontal in a channel: a piece, or half of one with a dogleg.
type run struct {
	piece  int
	second bool // the half after the dogleg
	lo, hi int
	leg    [2]leg
}

// routeChannels gives every piece its track.
func (l *ladder) routeChannels() {
	l.routes = make([]route, len(l.pieces))
	l.tracks = make([]int, l.nranks+1)
	in := make([][]int, l.nranks+1)
	for i := range l.pieces {
		c := l.pieces[i].channel
		in[c] = append(in[c], i)
	}
	for c := range in {
		l.tracks[c] = l.routeChannel(in[c])
	}
}

func newRun(piece int, second bool, a, b leg) run {
	return run{piece: piece, second: second, lo: min(a.x, b.x), hi: max(a.x, b.x), leg: [2]leg{a, b}}
}

// routeChannel routes the pieces of one channel and returns the number of tracks.
func (l *ladder) routeChannel(pieces []int) int {
	runs := l.work.runs[:0]
	taken := columnSet(sized(l.work.taken, (l.width>>6)+2)) // columns with a vertical
	for _, i := range pieces {
		p := &l.pieces[i]
		a := leg{l.at(p.pin[0]), l.pins[p.pin[0]].up}
		b := leg{l.at(p.pin[1]), l.pins[p.pin[1]].up}
		taken.add(a.x)
		taken.add(b.x)
		if a.x == b.x {
			l.routes[i].straight = true
			continue
		}
		runs = append(runs, newRun(i, false, a, b))
	}
	slices.SortStableFunc(runs, func(a, b run) int { return a.lo - b.lo })
	for {
		k := circle(runs)
		if k < 0 {
			break
		}
		r := runs[k]
		via := freeColumn(taken, r.lo, r.hi)
		taken.add(via)
		l.routes[r.piece].dogleg, l.routes[r.piece].via = true, via
		a, b := r.leg[0], r.leg[1]
		// the half with the upper leg lies above the half with the lower one
		runs[k] = newRun(r.piece, false, a, leg{via, !a.down})
		runs = append(runs, newRun(r.piece, true, leg{via, !b.down}, b))
	}
	l.work.runs, l.work.taken = runs, taken
	track, n := assignTracks(runs)
	for k, r := range runs {
		if r.second {
			l.routes[r.piece].track2 = track[k]
		} else {
			l.routes[r.piece].track = track[k]
		}
	}
	return n
}

// forced lists for each run the runs it must lie above, or their verticals would lie on each other.
func forced(runs []run) [][]int {
	upper := map[int]int{}
	for i, r := range runs {
		for _, g := range r.leg {
			if !g.down {
				upper[g.x] = i + 1
			}
		}
	}
	out := make([][]int, len(runs))
	for i, r := range runs {
		for _, g := range r.leg {
			if !g.down {
				continue
			}
			u := upper[g.x] - 1
			if u < 0 || u == i {
				continue
			}
			if runs[u].piece == r.piece { // the joint of a dogleg
				out[i] = append(out[i], u)
				continue
			}
			out[u] = append(out[u], i)
		}
	}
	return out
}

// circle finds a run to break where runs force each other in a circle, the shortest of the circle, or -1.
func circle(runs []run) int {
	next := forced(runs)
	state := make([]uint8, len(runs))
	var path []int
	found := -1
	var visit func(v int) bool
	visit = func(v int) bool {
		state[v] = 1
		path = append(path, v)
		for _, w := range next[v] {
			if state[w] == 1 {
				at := slices.Index(path, w)
				for _, c := range path[at:] {
					r := runs[c]
					if r.leg[0].down == r.leg[1].down {
						continue
					}
					if found < 0 || r.hi-r.lo < runs[found].hi-runs[found].lo {
						found = c
					}
				}
				return true
			}
			if state[w] == 0 && visit(w) {
				return true
			}
		}
		path = path[:len(path)-1]
		state[v] = 2
		return false
	}
	for v := range runs {
		if state[v] == 0 && visit(v) {
			return found
		}
	}
	return -1
}

// freeColumn is a column without verticals, within the span if there is one, else as near to it as can be.
func freeColumn(taken columnSet, lo, hi int) int {
	mid := (lo + hi) / 2
	for _, room := range []int{1, 0} {
		for d := 0; ; d++ {
			if room > 0 && d > hi-lo {
				break
			}
			for _, x := range []int{mid + d, mid - d} {
				if x < 0 {
					continue
				}
				free := true
				for k := x - room; k <= x+room; k++ {
					free = free && !taken.has(k)
				}
				if free {
					return x
				}
			}
		}
	}
	return -1
}

// columnSet is a set of columns, a bit for each.
type columnSet []uint64

func (s *columnSet) add(x int) {
	if x < 0 {
		return
	}
	for x>>6 >= len(*s) {
		*s = append(*s, 0)
	}
	(*s)[x>>6] |= 1 << (x & 63)
}

func (s columnSet) has(x int) bool { return x >= 0 && x>>6 < len(s) && s[x>>6]>>(x&63)&1 == 1 }

// touching tells whether two runs may not share a track: their spans meet, or nearly do.
func touching(a, b *run) bool { return a.lo <= b.hi+1 && b.lo <= a.hi+1 }

// crossings counts how often two runs cross if a lies above b.
func crossings(a, b *run) int {
	n := 0
	for _, g := range a.leg {
		if g.down && g.x > b.lo && g.x < b.hi {
			n++
		}
	}
	for _, g := range b.leg {
		if !g.down && g.x > a.lo && g.x < a.hi {
			n++
		}
	}
	return n
}

// above is a growing set of orders "this run above that one" without circles.
type above struct {
	n     int
	words int
	reach []uint64
	next  [][]int
}

func newAbove(n int) *above {
	w := (n + 63) / 64
	return &above{n: n, words: w, reach: make([]uint64, n*w), next: make([][]int, n)}
}

func (s *above) has(a, b int) bool { return s.reach[a*s.words+b/64]>>(b%64)&1 == 1 }

// add enters a above b unless b is above a already.
func (s *above) add(a, b int) bool {
	if a == b || s.has(b, a) {
		return false
	}
	s.next[a] = append(s.next[a], b)
	if s.has(a, b) {
		return true
	}
	for v := range s.n {
		if v != a && !s.has(v, a) {
			continue
		}
		for w := range s.words {
			s.reach[v*s.words+w] |= s.reach[b*s.words+w]
		}
		s.reach[v*s.words+b/64] |= 1 << (b % 64)
	}
	return true
}

// assignTracks orders the runs and packs them on tracks: forced orders first, then the cheaper of each two orders by what it
// saves, each only if it makes no circle.
func assignTracks(runs []run) (track []int, n int) {
	s := newAbove(len(runs))
	for i, next := range forced(runs) {
		for _, j := range next {
			s.add(i, j)
		}
	}
	type choice struct{ a, b, gain int }
	var choices []choice
	for i := range runs {
		for j := i + 1; j < len(runs); j++ {
			if !touching(&runs[i], &runs[j]) {
				continue
			}
			ab, ba := crossings(&runs[i], &runs[j]), crossings(&runs[j], &runs[i])
			switch {
			case ab < ba:
				choices = append(choices, choice{i, j, ba - ab})
			case ba < ab:
				choices = append(choices, choice{j, i, ab - ba})
			}
		}
	}
	slices.SortStableFunc(choices, func(a, b choice) int { return b.gain - a.gain })
	for _, c := range choices {
		s.add(c.a, c.b)
	}
	return pack(runs, s)
}

// pack puts the runs on tracks from the top, each as high as its order and its neighbours on the track allow.
func pack(runs []run, s *above) (track []int, n int) {
	track = make([]int, len(runs))
	least := make([]int, len(runs))
	waiting := make([]int, len(runs))
	for i := range runs {
		for _, j := range s.next[i] {
			waiting[j]++
		}
	}
	var ready []int
	for i := range runs {
		if waiting[i] == 0 {
			ready = append(ready, i)
		}
	}
	var on [][]int
	for len(ready) > 0 {
		i := ready[0]
		ready = ready[1:]
		t := least[i]
		for ; t < len(on); t++ {
			clash := false
			for _, j := range on[t] {
				if touching(&runs[i], &runs[j]) {
					clash = true
					break
				}
			}
			if !clash {
				break
			}
		}
		for len(on) <= t {
			on = append(on, nil)
		}
		on[t] = append(on[t], i)
		track[i] = t
		for _, j := range s.next[i] {
			least[j] = max(least[j], t+1)
			if waiting[j]--; waiting[j] == 0 {
				ready = append(ready, j)
			}
		}
	}
	return track, len(on)
}
