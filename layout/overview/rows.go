package overview

import (
	"math"
	"slices"
)

// order sorts every column by the mean place of its neighbours, to and fro, and
// keeps the order with fewest crossings.
func (p *placer) order() {
	place := make([]float64, len(p.items))
	note := func() {
		for _, l := range p.layers {
			for k, i := range l {
				place[i] = float64(k) + 0.5
				place[i] /= float64(len(l))
			}
		}
	}
	note()
	best, least := p.copyLayers(), p.crossings()
	for round := range 24 {
		down := round%2 == 0
		for k := range p.layers {
			l := p.layers[k]
			if !down {
				l = p.layers[len(p.layers)-1-k]
			}
			for _, i := range l {
				next := p.items[i].in
				if !down {
					next = p.items[i].out
				}
				if len(next) == 0 {
					continue
				}
				sum := 0.0
				for _, n := range next {
					sum += place[n]
				}
				place[i] = sum / float64(len(next))
			}
			slices.SortStableFunc(l, func(a, b int) int {
				switch {
				case place[a] < place[b]:
					return -1
				case place[a] > place[b]:
					return 1
				}
				return 0
			})
			for j, i := range l {
				place[i] = (float64(j) + 0.5) / float64(len(l))
			}
		}
		p.exchange()
		for _, l := range p.layers {
			for j, i := range l {
				place[i] = (float64(j) + 0.5) / float64(len(l))
			}
		}
		if c := p.crossings(); c < least {
			best, least = p.copyLayers(), c
		}
	}
	p.layers = best
}

// exchange swaps neighbours in a column as long as that saves crossings.
func (p *placer) exchange() {
	pos := make([]int, len(p.items))
	for _, l := range p.layers {
		for k, i := range l {
			pos[i] = k
		}
	}
	pairs := func(a, b []int) (n int) { // crossings with the one of a above that of b
		for _, x := range a {
			for _, y := range b {
				if pos[x] > pos[y] {
					n++
				}
			}
		}
		return n
	}
	for again, round := true, 0; again && round < 20; round++ {
		again = false
		for _, l := range p.layers {
			for k := 1; k < len(l); k++ {
				a, b := &p.items[l[k-1]], &p.items[l[k]]
				if pairs(b.in, a.in)+pairs(b.out, a.out) < pairs(a.in, b.in)+pairs(a.out, b.out) {
					l[k-1], l[k] = l[k], l[k-1]
					pos[l[k-1]], pos[l[k]] = k-1, k
					again = true
				}
			}
		}
	}
}

func (p *placer) copyLayers() [][]int {
	out := make([][]int, len(p.layers))
	for i, l := range p.layers {
		out[i] = slices.Clone(l)
	}
	return out
}

// crossings counts pairs of edges between neighbouring columns that cross.
func (p *placer) crossings() int {
	pos := make([]int, len(p.items))
	for _, l := range p.layers {
		for k, i := range l {
			pos[i] = k
		}
	}
	n := 0
	for _, l := range p.layers {
		var edges [][2]int
		for _, i := range l {
			for _, o := range p.items[i].out {
				edges = append(edges, [2]int{pos[i], pos[o]})
			}
		}
		for i, e := range edges {
			for _, f := range edges[:i] {
				if (e[0]-f[0])*(e[1]-f[1]) < 0 {
					n++
				}
			}
		}
	}
	return n
}

// rows gives every item its y: near the middle of its neighbours, in the order
// of its column, and on the grid.
func (p *placer) rows() {
	for _, l := range p.layers {
		y := 0
		for _, i := range l {
			p.items[i].y = y
			y += p.items[i].h + p.gapAfter(i)
		}
	}
	for round := range 8 {
		for k := range p.layers {
			l := p.layers[k]
			if round%2 == 1 {
				l = p.layers[len(p.layers)-1-k]
			}
			p.settle(l)
		}
	}
	least := math.MaxInt
	for i := range p.items {
		least = min(least, p.items[i].y)
	}
	for i := range p.items {
		p.items[i].y -= least
	}
	for _, l := range p.layers {
		for k := range l {
			p.straighten(&p.items[l[k]])
			p.level(l, k)
		}
	}
}

// mostLevelled is how far a box moves to spare its line two bends.
const mostLevelled = 4

// level moves an item on which one line arrives to the row of that line, where its
// neighbours in the column leave it room.
func (p *placer) level(l []int, k int) {
	it := &p.items[l[k]]
	if len(it.in) != 1 {
		return
	}
	d := p.port(it.in[0]) - p.port(l[k])
	if d == 0 || d > mostLevelled || d < -mostLevelled {
		return
	}
	y := it.y + d
	if k > 0 {
		if a := &p.items[l[k-1]]; y < a.y+a.h+p.gapAfter(l[k-1]) {
			return
		}
	}
	if k+1 < len(l) && y+it.h+p.gapAfter(l[k]) > p.items[l[k+1]].y || y < 0 {
		return
	}
	it.y = y
}

// straighten lets the line of a column of leaves arrive straight on where it
// passes between two of them.
func (p *placer) straighten(it *item) {
	if len(it.cols) != 1 || len(it.in) != 1 {
		return
	}
	mids := p.mids(it.cols[0])
	row := p.port(it.in[0]) - it.y
	if row > mids[0] && row < mids[len(mids)-1] && !slices.Contains(mids, row) {
		it.entry = row
	}
}

func (p *placer) gapAfter(i int) int {
	if p.items[i].source >= 0 {
		return 1
	}
	return rowGap + 1
}

// port is the row at which an item's line leaves, or a block's arrives.
func (p *placer) port(i int) int {
	it := &p.items[i]
	switch {
	case it.source >= 0:
		return it.y
	case it.node < 0:
		return it.y + it.entry
	}
	return it.y + it.h/2
}

// settle moves the items of a column towards the ports of their neighbours:
// pool-adjacent-violators on their upper edges.
func (p *placer) settle(l []int) {
	type pool struct {
		want  float64
		n     int
		first int
	}
	var pools []pool
	offset := make([]int, len(l)) // of each item within the column, packed
	for k, i := range l {
		if k > 0 {
			offset[k] = offset[k-1] + p.items[l[k-1]].h + p.gapAfter(l[k-1])
		}
		want := float64(p.items[i].y)
		if m, ok := p.pull(i); ok {
			want = m
		}
		pools = append(pools, pool{want - float64(offset[k]), 1, k})
		for len(pools) > 1 && pools[len(pools)-2].want >= pools[len(pools)-1].want {
			a, b := pools[len(pools)-2], pools[len(pools)-1]
			a.want = (a.want*float64(a.n) + b.want*float64(b.n)) / float64(a.n+b.n)
			a.n += b.n
			pools = append(pools[:len(pools)-2], a)
		}
	}
	for _, q := range pools {
		base := int(math.Round(q.want))
		for k := q.first; k < q.first+q.n; k++ {
			p.items[l[k]].y = base + offset[k]
		}
	}
	for k := 1; k < len(l); k++ { // rounding may take a unit
		a := &p.items[l[k-1]]
		p.items[l[k]].y = max(p.items[l[k]].y, a.y+a.h+p.gapAfter(l[k-1]))
	}
}

// pull is where an item's neighbours would have its upper edge.
func (p *placer) pull(i int) (float64, bool) {
	it := &p.items[i]
	sum, n := 0.0, 0
	own := p.port(i) - it.y
	for _, list := range [][]int{it.in, it.out} {
		for _, o := range list {
			sum += float64(p.port(o) - own)
			n++
		}
	}
	return sum / float64(max(n, 1)), n > 0
}
