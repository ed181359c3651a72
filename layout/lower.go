package layout

// A sheet with many crossings is drawn again in other ways. Mostly they come from parts with leads to bars in one rank, such as loads
// with a return to the bar of their panel and an earth lead: a bar takes its place in its rank from its first stud to its last, so the
// earth leads go round the bars of the returns. A rank lower, or under the bar that the returns lead on to, the earth bar lies
// across them all.

// wanted is the number of crossings on a sheet that is worth more looking.
const wanted = 3

// some crossings are no reason to draw a sheet again.
const some = 2

// best draws a segment, once more in other ways if it has many crossings.
func (s *splitter) best(g segment, pages []Page, tries int) (Sheet, bool) {
	first := s.drawing(g)
	sheet, ok := first.best(pages, tries)
	if !ok || Measure(&sheet).Crossings <= some {
		return sheet, ok
	}
	d, done := s.again[g]
	if !done {
		d = s.redraw(g, first.crossings)
		s.again[g] = d
	}
	if d == nil {
		return sheet, ok
	}
	if other, ok := d.best(pages, tries); ok && other.Level <= sheet.Level && other.price() < sheet.price() {
		return other, true
	}
	return sheet, ok
}

// price is what bends and crossings of a sheet cost its reader.
func (s *Sheet) price() int {
	f := Measure(s)
	return f.Bends + priceCross*f.Crossings
}

// redraw finds the way to draw a segment that promises the fewest crossings; nil if none promises two fewer than there are.
func (s *splitter) redraw(g segment, crossings int) *drawing {
	sub, how := s.subgraph(g)
	var best *drawing
	try := func(g *Graph, d dress) {
		if crossings < 2 {
			return
		}
		if t := newDrawing(g, d); t.crossings <= crossings-2 || best != nil && t.crossings < best.crossings {
			best, crossings = t, min(crossings, t.crossings+1)
		}
	}
	for v := uint64(0); v <= 2 && (v == 0 || crossings > wanted); v++ {
		for _, below := range append([]lowering{{}}, lowerings(sub)...) {
			t, d := *sub, how
			t.Below = append(sub.Below[:len(sub.Below):len(sub.Below)], below.demands...)
			d.loose, d.variant = below.loose, v
			if v > 0 || below.demands != nil {
				try(&t, d)
			}
		}
	}
	return best
}

// lowering puts a bar under others.
type lowering struct {
	demands []Below
	loose   map[string]bool // links from it to bars that it then stands under
}

// lowerings lists ways to put a bar under those that it shares parts with, and under those that they lead on to.
func lowerings(g *Graph) []lowering {
	bar := map[string]int{}
	for i := range g.Bars {
		bar[g.Bars[i].ID] = i
	}
	n := len(g.Bars)
	to := make([][]bool, n) // bars that links of a bar lead down to
	shared := make([][]int, n)
	for i := range n {
		to[i], shared[i] = make([]bool, n), make([]int, n)
	}
	feet := map[string][]int{} // bars that a box leads down to
	for _, k := range g.Links {
		if k.Bridge {
			continue
		}
		b, ok := bar[k.To.Node]
		if !ok {
			continue
		}
		if a, ok := bar[k.From.Node]; ok {
			to[a][b] = true
		} else {
			feet[k.From.Node] = append(feet[k.From.Node], b)
		}
	}
	for i := range g.Boxes {
		f := feet[g.Boxes[i].ID]
		for _, a := range f {
			for _, b := range f {
				if a != b {
					shared[a][b]++
				}
			}
		}
	}
	var out []lowering
	for a := range n {
		var near, under lowering
		under.loose = map[string]bool{}
		leads := make([]bool, n)
		for b := range n {
			if shared[a][b] == 0 {
				continue
			}
			if !to[a][b] {
				near.demands = append(near.demands, Below{g.Bars[b].ID, g.Bars[a].ID, 1})
			}
			leads[b] = true
			for c := range n {
				leads[c] = leads[c] || to[b][c]
			}
		}
		if len(near.demands) == 0 {
			continue
		}
		for b := range n {
			if b != a && leads[b] && !to[b][a] {
				under.demands = append(under.demands, Below{g.Bars[b].ID, g.Bars[a].ID, 1})
			}
		}
		for _, k := range g.Links {
			if b, ok := bar[k.To.Node]; ok && k.From.Node == g.Bars[a].ID && leads[b] {
				under.loose[k.ID] = true
			}
		}
		out = append(out, near, under)
	}
	return out
}
