package layout

import "slices"

// wish is a place something would like to be, and how much.
type wish struct{ at, weight int }

// settle gives places x, ascending with x[i+1] >= x[i]+gap[i], that minimise the weighted distances to the wishes: pool adjacent
// violators with weighted medians. Something without a wish follows its left neighbour. It sorts the wishes.
func settle(wishes [][]wish, gap []int) []int { return new(pooling).settle(wishes, gap) }

// pooling is the room that settle needs.
type pooling struct {
	blocks     []pool
	shift, out []int
	merged     []wish
}

// pool is a run of neighbours that stand as close as they may.
type pool struct {
	n      int // members
	wishes []wish
	at     int
}

// settle is the function of that name; what it returns holds until the next call.
func (s *pooling) settle(wishes [][]wish, gap []int) []int {
	blocks := s.blocks[:0]
	s.shift = sized(s.shift, len(wishes)) // place = block place + shift
	s.merged = s.merged[:0]
	shift, sum := s.shift, 0
	for i, w := range wishes {
		if i > 0 {
			sum += gap[i-1]
		}
		shift[i] = sum
		for k := range w {
			w[k].at -= sum
		}
		slices.SortFunc(w, func(a, c wish) int { return a.at - c.at })
		b := pool{n: 1, wishes: w, at: median(w)}
		for len(blocks) > 0 {
			p := blocks[len(blocks)-1]
			if len(b.wishes) > 0 && len(p.wishes) > 0 && p.at <= b.at {
				break
			}
			b = pool{n: p.n + b.n, wishes: s.merge(p.wishes, b.wishes)}
			b.at = median(b.wishes)
			blocks = blocks[:len(blocks)-1]
		}
		blocks = append(blocks, b)
	}
	out := s.out[:0]
	for _, b := range blocks {
		for range b.n {
			out = append(out, b.at+shift[len(out)])
		}
	}
	s.blocks, s.out = blocks, out
	return out
}

// merge joins sorted wishes. Where one kind is missing the other is handed back as it is.
func (s *pooling) merge(a, b []wish) []wish {
	if len(a) == 0 {
		return b
	}
	if len(b) == 0 {
		return a
	}
	first := len(s.merged)
	out := s.merged
	for len(a) > 0 && len(b) > 0 {
		if a[0].at <= b[0].at {
			out, a = append(out, a[0]), a[1:]
		} else {
			out, b = append(out, b[0]), b[1:]
		}
	}
	s.merged = append(append(out, a...), b...)
	return s.merged[first:]
}

// median is the lower weighted median of sorted wishes, 0 without any.
func median(w []wish) int {
	total := 0
	for _, t := range w {
		total += t.weight
	}
	half := 0
	for _, t := range w {
		half += t.weight
		if 2*half >= total {
			return t.at
		}
	}
	return 0
}
