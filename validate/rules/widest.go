package rules

import (
	"container/heap"
	"math"

	"fitout/schema"
	"fitout/validate/trace"
)

// widest gives, for every joint, the copper of the thinnest conductor on the way
// with most copper to it from a set of joints: +Inf at those joints, 0 where no
// way leads, in mm².
type widest struct {
	area []float64
	via  []int // edge by which the way arrives
	// unsure marks ways that pass a conductor of unknown size, taken as endless.
	unsure []*schema.Wire
}

// widestFrom walks over conductors and whatever else pass accepts.
func (c *Context) widestFrom(seeds []int, pass func(*trace.Edge) bool) *widest {
	n := len(c.Net.Nodes)
	w := &widest{area: make([]float64, n), via: make([]int, n), unsure: make([]*schema.Wire, n)}
	for i := range w.via {
		w.via[i] = -1
	}
	h := &areaHeap{}
	for _, s := range seeds {
		if s >= 0 && w.area[s] == 0 {
			w.area[s] = math.Inf(1)
			heap.Push(h, areaItem{s, math.Inf(1)})
		}
	}
	for h.Len() > 0 {
		it := heap.Pop(h).(areaItem)
		if it.area < w.area[it.node] {
			continue
		}
		for _, id := range c.Net.Nodes[it.node].Edges {
			e := &c.Net.Edges[id]
			if !pass(e) {
				continue
			}
			to := e.Other(it.node)
			area, unsure := it.area, w.unsure[it.node]
			if e.Type == trace.Conductor && !isLink(e.Wire) {
				if a := copper(e.Wire); a > 0 {
					area = math.Min(area, a)
				} else if unsure == nil {
					unsure = e.Wire
				}
			}
			if area > w.area[to] {
				w.area[to], w.via[to], w.unsure[to] = area, id, unsure
				heap.Push(h, areaItem{to, area})
			}
		}
	}
	return w
}

// copper is the area of a conductor with its parallel ones, mm²; 0 unknown.
func copper(w *schema.Wire) float64 {
	if !w.Size.Given() || w.Size.V.IsZero() {
		return 0
	}
	return float64(w.Size.V.Area) * float64(max(1, w.Parallel.Or(1)))
}

// thinnestTo returns the conductor that limits the way to a joint, or nil.
func (w *widest) thinnestTo(c *Context, node int) *schema.Wire {
	var thin *schema.Wire
	least := math.Inf(1)
	for steps := 0; w.via[node] >= 0 && steps < len(w.via); steps++ {
		e := &c.Net.Edges[w.via[node]]
		if e.Type == trace.Conductor && !isLink(e.Wire) {
			if a := copper(e.Wire); a > 0 && a < least {
				thin, least = e.Wire, a
			}
		}
		node = e.Other(node)
	}
	return thin
}

type areaItem struct {
	node int
	area float64
}

// areaHeap is a heap of joints, most copper first.
type areaHeap []areaItem

func (h areaHeap) Len() int { return len(h) }
func (h areaHeap) Less(i, j int) bool {
	if h[i].area != h[j].area {
		return h[i].area > h[j].area
	}
	return h[i].node < h[j].node
}
func (h areaHeap) Swap(i, j int) { h[i], h[j] = h[j], h[i] }

// Push implements heap.Interface.
func (h *areaHeap) Push(x any) { *h = append(*h, x.(areaItem)) }

// Pop implements heap.Interface.
func (h *areaHeap) Pop() any {
	old := *h
	x := old[len(old)-1]
	*h = old[:len(old)-1]
	return x
}
