package schematic

import (
	"slices"

	waterlayout "fitout/layout/water"
	"fitout/render/draw"
	"fitout/schema"
)

// A boat's water hangs together through its equipment: the engine heats the
// calorifier, the water maker fills the tank, the cabin unit drips into a sump.
// Drawn as one system, hoses of one service cross those of another all over the
// sheet. A hose that joins two such services may instead end in a continuation
// mark on both sides; the plan that reads best is kept.

// pipeClass is a family of services that are drawn together.
type pipeClass uint8

const (
	anyPipe pipeClass = iota
	rawPipe
	freshPipe
	wastePipe
	bilgePipe
	drainPipe
	coolantPipe
)

func classOf(s draw.Style) pipeClass {
	switch s {
	case draw.Sea, draw.Discharge, draw.Exhaust:
		return rawPipe
	case draw.Fresh, draw.Hot:
		return freshPipe
	case draw.Waste:
		return wastePipe
	case draw.Bilge:
		return bilgePipe
	case draw.Drain, draw.GreyWater:
		return drainPipe
	case draw.Coolant:
		return coolantPipe
	}
	return anyPipe
}

// leastSystem is how many boxes a system must have to stand alone.
const leastSystem = 3

// cutting is a way to cut the graph: which classes of link are cut.
type cutting func(a, b, hose pipeClass) bool

// cuttings are tried in turn.
var cuttings = []cutting{
	func(a, b, h pipeClass) bool { return false },
	func(a, b, h pipeClass) bool { return h == coolantPipe },
	func(a, b, h pipeClass) bool {
		return h == coolantPipe || a != b
	},
}

// cut returns the graph with the chosen links ended in marks, and the hose of
// each mark. The runs of a cut hose are named by hoseOfRun. It reports false where
// nothing is cut.
func (g *waterGraph) cut(by cutting) (waterlayout.Graph, map[string]string, bool) {
	class := g.boxClasses()
	u := newSets()
	link := make([]bool, len(g.graph.Runs))
	for i, r := range g.graph.Runs {
		a, b, h := class[r.From.Box], class[r.To.Box], classOf(g.styles[r.ID])
		link[i] = a != anyPipe && b != anyPipe && !g.hoses[r.ID].Implied && by(a, b, h)
		if !link[i] {
			u.join(r.From.Box, r.To.Box)
		}
	}
	size := map[string]int{}
	for _, b := range g.graph.Boxes {
		size[u.find(b.ID)]++
	}
	out := g.graph
	out.Boxes = append([]waterlayout.Box(nil), g.graph.Boxes...)
	out.Runs = nil
	seam := func(r waterlayout.Run) bool {
		a, b := g.boxes[r.From.Box], g.boxes[r.To.Box]
		tank := func(w *waterBox) bool { return w != nil && w.part != nil && w.part.Roles().Any(schema.Holding) }
		return classOf(g.styles[r.ID]) == coolantPipe || class[r.From.Box] != class[r.To.Box] || tank(a) || tank(b)
	}
	marks := map[string]string{}
	for i, r := range g.graph.Runs {
		r.Seam = seam(r)
		a, b := u.find(r.From.Box), u.find(r.To.Box)
		if !link[i] || a == b || size[a] < leastSystem || size[b] < leastSystem {
			out.Runs = append(out.Runs, r)
			continue
		}
		from, to := r.ID+"~a", r.ID+"~b"
		marks[from], marks[to] = r.ID, r.ID
		out.Boxes = append(out.Boxes, markBox(from, to, waterlayout.Left, waterlayout.Outlet), markBox(to, from, waterlayout.Right, waterlayout.Inlet))
		head, tail := r, r
		head.To, tail.From = waterlayout.End{Box: from, Port: "mark"}, waterlayout.End{Box: to, Port: "mark"}
		head.Vias = nil // crests are drawn where the hose arrives
		tail.ID = r.ID + secondPiece
		out.Runs = append(out.Runs, head, tail)
	}
	return out, marks, len(marks) > 0
}

// secondPiece ends the layout's name of the piece of a cut hose that arrives.
const secondPiece = "~rest"

func markBox(id, mate string, side waterlayout.Side, hint waterlayout.Hint) waterlayout.Box {
	return waterlayout.Box{ID: id, Size: waterlayout.Size{W: 10, H: 2}, Anchor: 1, Hint: hint, Flips: true, Mate: mate,
		Ports: []waterlayout.Port{{Name: "mark", Side: side, Offset: 1}}}
}

// boxClasses gives every box the class of most of its hoses.
func (g *waterGraph) boxClasses() map[string]pipeClass {
	count := map[string]*[coolantPipe + 1]int{}
	for _, r := range g.graph.Runs {
		for _, e := range []waterlayout.End{r.From, r.To} {
			if count[e.Box] == nil {
				count[e.Box] = new([coolantPipe + 1]int)
			}
			if !g.hoses[r.ID].Implied {
				count[e.Box][classOf(g.styles[r.ID])]++
			}
		}
	}
	out := map[string]pipeClass{}
	for _, b := range g.graph.Boxes {
		best := anyPipe
		n := 0
		for c := rawPipe; c <= coolantPipe && count[b.ID] != nil; c++ {
			if count[b.ID][c] > n {
				best, n = c, count[b.ID][c]
			}
		}
		if w := g.boxes[b.ID]; w.part != nil && w.part.Roles().Any(schema.SeaUser) {
			best = rawPipe
		}
		out[b.ID] = best
	}
	return out
}

// sets are disjoint sets of ids.
type sets struct{ parent map[string]string }

func newSets() *sets { return &sets{map[string]string{}} }

func (s *sets) find(id string) string {
	p, ok := s.parent[id]
	if !ok || p == id {
		return id
	}
	root := s.find(p)
	s.parent[id] = root
	return root
}

func (s *sets) join(a, b string) { s.parent[s.find(a)] = s.find(b) }

// planPrice weighs plans of one boat against each other: faults, sheets, hoses that
// go on elsewhere, crossings, bends.
func (w *waterSheets) planPrice() int {
	p := &w.plan
	bends, crossings, ugly := 0, 0, 0
	for _, s := range p.Sheets {
		b, runs := s.Bends()
		c := s.Crossings()
		bends, crossings = bends+b, crossings+c
		ugly += 20 * max(0, c-2)
		if 10*b > 18*runs {
			ugly += 10
		}
	}
	// where the layout cut for want of room, and at the seams of services
	apart, aside := p.GoOn(func(x *waterlayout.PlacedBox) string { return hoseOfRun(x.Mark) })
	far, near := p.GoOn(func(x *waterlayout.PlacedBox) string { return w.cuts[x.ID] })
	return 10000*len(p.Problems) + 40*len(p.Sheets) + 36*apart + 12*aside + 8*far + 3*near + 6*crossings + ugly + bends
}

// dropPassing takes out what runs through a sheet from one continuation mark to
// another: it joins nothing there.
func dropPassing(p *waterlayout.Plan) {
	for si := range p.Sheets {
		for bi := range p.Sheets[si].Bands {
			b := &p.Sheets[si].Bands[bi]
			gone := map[string]bool{}
			var runs []waterlayout.PlacedRun
			for _, r := range b.Runs {
				if r.From.Port == "mark" && r.To.Port == "mark" {
					gone[r.From.Box], gone[r.To.Box] = true, true
					continue
				}
				runs = append(runs, r)
			}
			b.Runs = runs
			b.Boxes = slices.DeleteFunc(b.Boxes, func(x waterlayout.PlacedBox) bool { return gone[x.ID] })
		}
	}
}
