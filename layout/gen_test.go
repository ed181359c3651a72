package layout

import (
	"fmt"
	"math/rand/v2"
)

// ladderMaker makes ladders that look like small boats: a positive bus, panels with breakers and loads, batteries, chargers with
// their panels, a negative bus with a shunt, a ground bus. All of it is invented.
type ladderMaker struct {
	g    Graph
	rng  *rand.Rand
	wire int
}

func (m *ladderMaker) box(id string, w, h int, text Size, mirror bool, ports ...Port) {
	m.g.Boxes = append(m.g.Boxes, Box{ID: id, W: w, H: h, Text: text, Mirror: mirror, Ports: ports})
}

func (m *ladderMaker) bar(id string) {
	m.g.Bars = append(m.g.Bars, Bar{ID: id, H: 1, Name: Size{len(id) + 3, 2}, Mark: Size{8, 3}})
}

func (m *ladderMaker) link(a, b End, bridge bool) {
	m.wire++
	id := fmt.Sprintf("W%d", m.wire)
	m.g.Links = append(m.g.Links, Link{ID: id, From: a, To: b, Bridge: bridge, Mark: Size{6, 3},
		Labels: [][]Text{{{"size", Size{6, 1}}, {"length", Size{3, 1}}}, {{"id", Size{3, 1}}}}})
}

func at(node, port string) End { return End{Node: node, Port: port} }

func (m *ladderMaker) fuse(id string) {
	m.box(id, 2, 4, Size{6, 2}, false, Port{"a", Top, 1}, Port{"b", Bottom, 1})
}

func (m *ladderMaker) load(id string, earthed bool) {
	ports := []Port{{"+", Top, 3}, {"-", Bottom, 3}}
	if earthed {
		ports = []Port{{"+", Top, 2}, {"-", Bottom, 2}, {"pe", Bottom, 4}}
	}
	m.box(id, 6, 4, Size{}, true, ports...)
}

// boat makes a ladder of about n boxes.
func boat(n int, seed uint64) Graph {
	m := &ladderMaker{rng: rand.New(rand.NewPCG(seed, 7))}
	m.bar("plus")
	m.bar("minus")
	m.bar("batminus")
	m.bar("ground")
	m.box("shunt", 4, 4, Size{6, 2}, false, Port{"a", Top, 2}, Port{"b", Bottom, 2})
	m.link(at("batminus", ""), at("shunt", "a"), false)
	m.link(at("shunt", "b"), at("minus", ""), false)
	m.link(at("ground", ""), at("minus", ""), false)
	m.bar("batplus")
	m.box("switch", 4, 4, Size{8, 2}, false, Port{"a", Top, 2}, Port{"b", Bottom, 2})
	m.link(at("plus", ""), at("switch", "a"), false)
	m.link(at("switch", "b"), at("batplus", ""), false)
	left := n - 2
	for i := range 1 + n/40 {
		id := fmt.Sprintf("bat%d", i)
		m.fuse(id + "f")
		m.box(id, 8, 6, Size{}, false, Port{"+", Top, 2}, Port{"-", Bottom, 6})
		m.link(at("batplus", ""), at(id+"f", "a"), false)
		m.link(at(id+"f", "b"), at(id, "+"), false)
		m.link(at(id, "-"), at("batminus", ""), false)
		left -= 2
	}
	for i := range 1 + n/60 {
		id := fmt.Sprintf("mppt%d", i)
		m.box(id, 8, 6, Size{}, true, Port{"pv+", Top, 2}, Port{"pv-", Top, 4}, Port{"+", Top, 6}, Port{"-", Bottom, 2}, Port{"pe", Bottom, 6})
		m.box(id+"pv", 8, 4, Size{}, true, Port{"+", Bottom, 2}, Port{"-", Bottom, 6})
		m.fuse(id + "f")
		m.link(at(id+"pv", "+"), at(id, "pv+"), false)
		m.link(at(id+"pv", "-"), at(id, "pv-"), false)
		m.link(at("plus", ""), at(id+"f", "a"), false)
		m.link(at(id+"f", "b"), at(id, "+"), false)
		m.link(at(id, "-"), at("minus", ""), false)
		m.link(at(id, "pe"), at("ground", ""), false)
		left -= 3
	}
	for p := 0; left > 3; p++ {
		id := fmt.Sprintf("panel%d", p)
		m.fuse(id + "f")
		m.bar(id)
		m.bar(id + "n")
		m.link(at("plus", ""), at(id+"f", "a"), false)
		m.link(at(id+"f", "b"), at(id, ""), false)
		m.link(at(id+"n", ""), at("minus", ""), false)
		left--
		for k := range min(4+m.rng.IntN(8), max(left/2, 1)) {
			f, ld := fmt.Sprintf("%sb%d", id, k), fmt.Sprintf("%sl%d", id, k)
			m.fuse(f)
			earthed := m.rng.IntN(8) == 0
			m.load(ld, earthed)
			m.link(at(id, ""), at(f, "a"), false)
			m.link(at(f, "b"), at(ld, "+"), false)
			m.link(at(ld, "-"), at(id+"n", ""), false)
			if earthed {
				m.link(at(ld, "pe"), at("ground", ""), false)
			}
			left -= 2
		}
	}
	m.box("plate", 6, 2, Size{8, 2}, false, Port{"e", Top, 3})
	m.link(at("minus", ""), at("plate", "e"), false)
	return m.g
}

// careless is the same boat written down by somebody else: lists shuffled, jumpers between batteries, two wires on a breaker, sense
// and control leads.
func careless(g Graph, seed uint64) Graph {
	m := &ladderMaker{rng: rand.New(rand.NewPCG(seed, 9)), wire: 10000}
	m.g.Below = g.Below
	m.g.Boxes = append([]Box(nil), g.Boxes...)
	m.g.Bars = append([]Bar(nil), g.Bars...)
	m.g.Links = append([]Link(nil), g.Links...)
	ids := map[string]bool{}
	for _, b := range g.Boxes {
		ids[b.ID] = true
	}
	if ids["bat1"] {
		m.link(at("bat0", "+"), at("bat1", "+"), true)
		m.link(at("bat0", "-"), at("bat1", "-"), true)
	}
	m.load("extra1", false)
	m.link(at("panel0b0", "b"), at("extra1", "+"), false)
	m.link(at("extra1", "-"), at("panel0n", ""), false)
	m.box("monitor", 8, 4, Size{}, true, Port{"+", Top, 2}, Port{"-", Bottom, 2}, Port{"s1", Left, 2}, Port{"s2", Top, 6})
	m.link(at("panel0", ""), at("monitor", "+"), false)
	m.link(at("monitor", "-"), at("panel0n", ""), false)
	m.link(at("monitor", "s1"), at("shunt", "a"), true)
	m.link(at("monitor", "s2"), at("batplus", ""), true)
	m.rng.Shuffle(len(m.g.Boxes), func(i, j int) { m.g.Boxes[i], m.g.Boxes[j] = m.g.Boxes[j], m.g.Boxes[i] })
	m.rng.Shuffle(len(m.g.Bars), func(i, j int) { m.g.Bars[i], m.g.Bars[j] = m.g.Bars[j], m.g.Bars[i] })
	m.rng.Shuffle(len(m.g.Links), func(i, j int) { m.g.Links[i], m.g.Links[j] = m.g.Links[j], m.g.Links[i] })
	return m.g
}

// anyGraph makes a graph without sense or order: whatever the input allows may occur.
func anyGraph(seed uint64) Graph {
	m := &ladderMaker{rng: rand.New(rand.NewPCG(seed, 11))}
	r := m.rng
	nb := r.IntN(30)
	var ends []End
	for i := range nb {
		id := fmt.Sprintf("b%d", i)
		w, h := 2+r.IntN(8), 1+r.IntN(6)
		var ports []Port
		for s := Top; s <= Right; s++ {
			span := w
			if s >= Left {
				span = h
				if r.IntN(4) > 0 {
					continue
				}
			}
			first, last := r.IntN(3), span
			if s >= Left { // the corners belong to the ports above and below
				first, last = 1+r.IntN(2), span-1
			}
			for o := first; o <= last; o += 1 + r.IntN(4) {
				ports = append(ports, Port{fmt.Sprintf("%v%d", s, o), s, o})
			}
		}
		var text Size
		if r.IntN(3) == 0 {
			text = Size{1 + r.IntN(8), 1 + r.IntN(6)}
		}
		m.box(id, w, h, text, r.IntN(2) == 0, ports...)
		if r.IntN(5) == 0 {
			m.g.Boxes[i].Reserve = Reserve{r.IntN(4), r.IntN(4), r.IntN(4), r.IntN(4)}
		}
		for _, p := range ports {
			ends = append(ends, at(id, p.Name))
		}
	}
	for i := range r.IntN(6) {
		id := fmt.Sprintf("bar%d", i)
		m.bar(id)
		m.g.Bars[i].H = r.IntN(3)
		for range 1 + r.IntN(6) {
			ends = append(ends, at(id, ""))
		}
	}
	if len(ends) > 0 {
		for range r.IntN(2*nb + 4) {
			a, b := ends[r.IntN(len(ends))], ends[r.IntN(len(ends))]
			m.link(a, b, r.IntN(6) == 0)
			if r.IntN(4) == 0 {
				m.g.Links[len(m.g.Links)-1].From.Tag = Size{2, 1}
			}
		}
	}
	for i := 1; i < nb; i++ {
		switch r.IntN(20) {
		case 0:
			m.g.Same = append(m.g.Same, []string{m.g.Boxes[i].ID, m.g.Boxes[i-1].ID})
		case 1:
			m.g.Below = append(m.g.Below, Below{m.g.Boxes[i-1].ID, m.g.Boxes[i].ID, r.IntN(3)})
		}
	}
	return m.g
}
