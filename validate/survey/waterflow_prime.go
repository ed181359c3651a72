package survey

import (
	"math"

	"fitout/schema/unit"
)

// prime is what a pump must lift before its line runs full: the lowest crest on
// any way from it to an opening, above the highest water it can draw.
func (w *WaterState) prime(g *flowGraph, c *WaterCircuit, pump int, a Attitude) Prime {
	e := &g.edges[pump]
	supply, ok, lacks := w.supplyLevel(g, e.a, pump, a)
	if !ok {
		return Prime{Missing: lacks}
	}
	crest, at, ok, more := w.lowestCrest(g, e.b, pump, a)
	lacks = merge(lacks, more)
	if !ok {
		return Prime{Missing: lacks}
	}
	return Prime{Known: true, Lift: unit.Head(crest - supply), At: at, Missing: lacks}
}

// supplyLevel is the highest level a pump can draw from through open ways.
func (w *WaterState) supplyLevel(g *flowGraph, from, pump int, a Attitude) (best float64, ok bool, lacks []Datum) {
	best = math.Inf(-1)
	seen := map[int]bool{from: true}
	queue := []int{from}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		if p := g.nodes[n].port; p != nil && p.kind != toAir && w.outside(p) {
			h, lack := w.survey.heightIn(a, p.place)
			switch {
			case lack != nil:
				lacks = merge(lacks, []Datum{*lack})
			case p.kind == toSea && h <= 0:
				best, ok = math.Max(best, 0), true
			case p.kind == toShore:
				best, ok = math.Max(best, float64(h)+float64(p.head)), true
			case p.kind == toBody:
				best, ok = math.Max(best, float64(h)), true
			}
		}
		for _, i := range g.nodes[n].edges {
			e := &g.edges[i]
			if other := e.a + e.b - n; w.open[i] && i != pump && !seen[other] {
				seen[other] = true
				queue = append(queue, other)
			}
		}
	}
	return best, ok, lacks
}

// lowestCrest is the least height that water must be lifted to from a node to
// leave at any opening (a way's height is that of its highest point).
func (w *WaterState) lowestCrest(g *flowGraph, from, pump int, a Attitude) (best float64, at string, ok bool, lacks []Datum) {
	crest := map[int]float64{from: math.Inf(-1)}
	where := map[int]string{}
	queue := []int{from}
	best = math.Inf(1)
	raise := func(top float64, name string, h float64, by string) (float64, string) {
		if h > top {
			return h, by
		}
		return top, name
	}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		top, name := crest[n], where[n]
		if h, lack := w.survey.heightIn(a, g.nodes[n].place); lack == nil {
			top, name = raise(top, name, float64(h), g.nodes[n].name())
		} else {
			lacks = merge(lacks, []Datum{*lack})
		}
		if p := g.nodes[n].port; p != nil && w.outside(p) && !(p.in && p.kind != toBody) {
			h, lack := w.survey.heightIn(a, p.place)
			if lack == nil {
				end, by := raise(top, name, outletLevel(p, float64(h)), g.nodes[n].name())
				if end < best {
					best, at, ok = end, by, true
				}
			}
		}
		for _, i := range g.nodes[n].edges {
			e := &g.edges[i]
			other := e.a + e.b - n
			if !w.open[i] || i == pump || e.channel.Pump != nil && w.drive[i] != nil && w.drive[i].runs && other == e.a {
				continue
			}
			up, by := top, name
			if h, ok := w.survey.alongIn(a, e.peaks); ok {
				up, by = raise(up, by, float64(h), e.name())
			}
			if old, seen := crest[other]; !seen || up < old {
				crest[other], where[other] = up, by
				queue = append(queue, other)
			}
		}
	}
	return best, at, ok, lacks
}

// outletLevel is what a pump must lift to at an opening: its own height, or the
// sea over it.
func outletLevel(p *flowPort, h float64) float64 {
	if p.kind == toSea {
		return math.Max(h, 0)
	}
	return h
}
