package survey

import (
	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/water"
)

// LowPoint is water that stays in a line after it has drained, and freezes.
type LowPoint struct {
	// At is the hose or part where it lies lowest, Hoses those it fills.
	At     string
	Hoses  []*schema.Hose
	Height unit.Metre
	Volume unit.CubicMetre
}

// HighPoint is where air gathers in a line.
type HighPoint struct {
	At     string
	Height unit.Metre
	Drop   unit.Metre // how far the line falls from it on the lesser side
	// Vented is set where a vented loop or a bleed stands there.
	Vented bool
}

// Line is a run of hoses and two-way fittings between branches or openings.
type Line struct {
	Hoses   []*schema.Hose
	Low     []LowPoint
	High    []HighPoint
	Missing []Datum
	// FromShut and ToShut say that water cannot run out at that end.
	FromShut, ToShut bool
}

// station is one point of a line's profile.
type lineStation struct {
	name   string
	hose   *schema.Hose // the stretch to the next station
	vented bool
	water.Station
}

// Lines returns the height profile of every line, upright, in order of its first
// hose: where water lies after draining and where air is trapped.
func (s *Survey) Lines() []Line {
	g := s.flowNet()
	var out []Line
	done := make([]bool, len(g.edges))
	for i := range g.edges {
		if g.edges[i].kind == hoseRun && !done[i] {
			out = append(out, s.line(g, i, done))
		}
	}
	return out
}

// line follows a hose both ways to the next branch, opening or end.
func (s *Survey) line(g *flowGraph, first int, done []bool) Line {
	back, start := g.follow(first, g.edges[first].a, done)
	ahead, end := g.follow(first, g.edges[first].b, done)
	done[first] = true
	var order []int
	for i := len(back) - 1; i >= 0; i-- {
		order = append(order, back[i])
	}
	order = append(append(order, first), ahead...)
	l := Line{FromShut: g.deadEnd(start), ToShut: g.deadEnd(end)}
	stations := s.stations(g, order, start, &l)
	if len(l.Missing) > 0 || len(stations) < 2 {
		return l
	}
	run := water.Run{StartShut: l.FromShut, EndShut: l.ToShut}
	for _, st := range stations {
		run.Stations = append(run.Stations, st.Station)
	}
	for _, t := range run.Trapped() {
		l.Low = append(l.Low, LowPoint{At: stations[t.At].name, Hoses: wetHoses(stations, t), Height: t.Height, Volume: t.Volume})
	}
	for _, h := range run.HighPoints() {
		l.High = append(l.High, HighPoint{At: stations[h.At].name, Height: h.Height, Drop: h.Drop, Vented: stations[h.At].vented})
	}
	return l
}

func wetHoses(list []lineStation, t water.Trap) []*schema.Hose {
	var out []*schema.Hose
	for i := range list {
		h := list[i].hose
		if h == nil || len(out) > 0 && out[len(out)-1] == h || i+1 >= len(list) {
			continue
		}
		if min(list[i].Height, list[i+1].Height) < t.Level && (i == t.At || i+1 == t.At) {
			out = append(out, h)
		}
	}
	return out
}

// follow walks on from an edge through points where exactly two edges meet.
func (g *flowGraph) follow(edge, node int, done []bool) (edges []int, end int) {
	for range len(g.edges) + 1 {
		nd := &g.nodes[node]
		if nd.port != nil || len(nd.edges) != 2 {
			break
		}
		next := nd.edges[0] + nd.edges[1] - edge
		if done[next] || next == edge || g.edges[next].a == g.edges[next].b {
			break
		}
		done[next] = true
		edges = append(edges, next)
		edge, node = next, g.edges[next].a+g.edges[next].b-node
	}
	return edges, node
}

// deadEnd reports an end that nothing opens and nothing leads on from.
func (g *flowGraph) deadEnd(node int) bool {
	return g.nodes[node].port == nil && len(g.nodes[node].edges) == 1
}

func (s *Survey) stations(g *flowGraph, order []int, node int, l *Line) []lineStation {
	var list []lineStation
	along := unit.Metre(0)
	upright := NewAttitude(0, 0)
	put := func(name string, h unit.Metre, vented bool) {
		list = append(list, lineStation{name: name, vented: vented, Station: water.Station{Along: along, Height: h}})
	}
	point := func(n int, vented bool) {
		h, lack := s.heightIn(upright, g.nodes[n].place)
		if lack != nil {
			l.Missing = merge(l.Missing, []Datum{*lack})
			return
		}
		put(g.nodes[n].owner(), h, vented)
	}
	vented := false
	for _, i := range order {
		e := &g.edges[i]
		other := e.a + e.b - node
		if e.hose == nil {
			vented = e.channel.Vented || e.part.Is(schema.Bleeding)
			if len(list) > 0 {
				list[len(list)-1].vented = list[len(list)-1].vented || vented
			}
			node = other
			continue
		}
		h := e.hose
		l.Hoses = append(l.Hoses, h)
		if !h.Length.Given() || h.Length.V > 0 && !h.Bore.Given() {
			what := "length"
			if h.Length.Given() {
				what = "bore"
			}
			l.Missing = merge(l.Missing, []Datum{hoseDatum(what, h)})
		}
		point(node, vented)
		mark := len(list) - 1
		turns := turnsOf(e, node == e.a)
		for k, t := range turns {
			along += h.Length.V / unit.Metre(len(turns)+1)
			_ = k
			put(h.ID, t, false)
		}
		along += h.Length.V / unit.Metre(len(turns)+1)
		for k := max(mark, 0); k < len(list); k++ {
			list[k].hose, list[k].Bore = h, h.Bore.V
		}
		node, vented = other, false
	}
	point(node, false)
	return list
}

// turnsOf are the peak and the dip of a hose, the one nearer in height to the
// start second: it falls before it rises where it starts high.
func turnsOf(e *flowEdge, forward bool) []unit.Metre {
	h := e.hose
	var out []unit.Metre
	switch {
	case h.Peak.Given() && h.Dip.Given():
		out = []unit.Metre{h.Dip.V, h.Peak.V}
		if !forward {
			out = []unit.Metre{h.Peak.V, h.Dip.V}
		}
	case h.Peak.Given():
		out = []unit.Metre{h.Peak.V}
	case h.Dip.Given():
		out = []unit.Metre{h.Dip.V}
	}
	return out
}

func (n *flowNode) owner() string {
	if len(n.ends) == 0 {
		return n.place.Of
	}
	return n.ends[0].part.ID
}
