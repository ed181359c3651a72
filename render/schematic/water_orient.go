package schematic

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	waterlayout "fitout/layout/water"
	"fitout/schema"
	"fitout/schema/symbol"
	"fitout/schema/unit"
)

type metre = unit.Metre

// orient turns a part's symbol so that its hoses have few bends: fittings in the
// bottom with the sea below, topside fittings with the sea to the right, a
// seacock straight on its through-hull, water from left to right.
func (g *waterGraph) orient(p *schema.Part) symbol.Symbol {
	if p.Is(schema.Junction) {
		return g.junction(p)
	}
	s := p.Kind.Symbol(p, schema.Water)
	if len(s.Anchors) > 1 {
		s = s.With(g.joined(p)...)
	}
	switch {
	case p.Is(schema.SeaOpening):
		side := symbol.Left
		if h := p.Height(); p.Word("service").V == "intake" || h.Given() && h.V < 0 {
			side = symbol.Up
		}
		return turnTo(s, "", side)
	case p.Is(schema.HullHole):
		if w := p.Word("type").V; w == "vent" || w == "heater-exhaust" {
			return s.Turn(3) // in the topsides, the outside to the right
		}
		return s
	case p.Host != nil && g.boxes[p.Host.ID] != nil:
		for _, e := range g.at[p] {
			if e.other == p.Host {
				host := g.boxes[p.Host.ID].sym.Anchors[0].Side
				return turnTo(s, e.terminal, (host+2)%4)
			}
		}
	}
	return g.withFlow(p, s)
}

// turnTo turns the symbol until the anchor looks to a side.
func turnTo(s symbol.Symbol, anchor string, side symbol.Side) symbol.Symbol {
	a, ok := s.Anchor(anchor)
	if !ok {
		return s
	}
	return s.Turn(int(side) - int(a.Side))
}

// joined lists the terminals that a hose lands on.
func (g *waterGraph) joined(p *schema.Part) []string {
	var out []string
	for _, e := range g.at[p] {
		if !slices.Contains(out, e.terminal) {
			out = append(out, e.terminal)
		}
	}
	return out
}

// withFlow mirrors a symbol whose water runs from right to left, and turns a
// branch below that leads upward.
func (g *waterGraph) withFlow(p *schema.Part, s symbol.Symbol) symbol.Symbol {
	back := 0
	for _, e := range g.at[p] {
		a, ok := s.Anchor(e.terminal)
		if !ok {
			continue
		}
		if right := a.Side == symbol.Right || a.Side != symbol.Left && a.X > 0; right && e.to {
			back++
		} else if right && !e.to {
			back--
		} else if left := a.Side == symbol.Left || a.X < 0; left && e.to {
			back--
		} else if left {
			back++
		}
	}
	if back > 0 {
		s = s.Mirror()
	}
	if len(g.at[p]) >= 3 && !p.Roles().Any(schema.Holding|schema.Equipment|schema.Engine|schema.Toilet) {
		s = g.branchUp(p, s)
	}
	return s
}

// branchUp turns a symbol with one anchor below upside down, where that branch
// leads upward.
func (g *waterGraph) branchUp(p *schema.Part, s symbol.Symbol) symbol.Symbol {
	for _, e := range g.at[p] {
		a, ok := s.Anchor(e.terminal)
		if ok && a.Side == symbol.Down && e.other != nil && e.other.Height().V > p.Height().V {
			return s.Turn(2).Mirror()
		}
	}
	return s
}

// junction draws a tee, a cross or a manifold with an anchor for each hose: one
// that arrives at the left, one that leaves at the right, the others up or down
// by where they lead.
func (g *waterGraph) junction(p *schema.Part) symbol.Symbol {
	list := slices.Clone(g.at[p])
	if len(list) > 4 || p.Kind.Name == "manifold" {
		return g.manifold(p, list)
	}
	var left, right, up, down *hoseAt
	rise := func(e *hoseAt) bool {
		switch {
		case e.hose.Peak.Given() && e.hose.Peak.V > p.Height().V:
			return true
		case e.other == nil || !e.other.Height().Given():
			return false
		}
		return e.other.Height().V > p.Height().V
	}
	for i := range list {
		e := &list[i]
		switch {
		case e.to && left == nil:
			left = e
		case !e.to && right == nil:
			right = e
		case rise(e) && up == nil:
			up = e
		case down == nil:
			down = e
		case up == nil:
			up = e
		case left == nil:
			left = e
		default:
			right = e
		}
	}
	// a branch between two others in height reads best straight through
	if right != nil && up != nil && down == nil && left != nil && rise(right) {
		if o, q := right.other, up.other; o != nil && q != nil && o.Height().V > q.Height().V {
			right, up = up, right
		}
	}
	s, _ := symbol.Get("water/tee=4")
	s.Anchors, s.Primitives = nil, nil
	arm := func(e *hoseAt, x, y int, side symbol.Side) {
		if e == nil {
			return
		}
		name := e.terminal
		if name == "" || slices.ContainsFunc(s.Anchors, func(a symbol.Anchor) bool { return a.Name == name }) {
			name = "h" + strconv.Itoa(len(s.Anchors)+1)
		}
		s.Anchors = append(s.Anchors, symbol.Anchor{Name: name, X: x, Y: y, Side: side})
		s.Primitives = append(s.Primitives, symbol.Primitive{Shape: symbol.Line, Points: []symbol.Point{{}, {X: float64(x), Y: float64(y)}}})
		g.ends[hoseSide{e.hose, e.to}] = waterlayout.End{Box: p.ID, Port: name}
	}
	arm(left, -1, 0, symbol.Left)
	arm(right, 1, 0, symbol.Right)
	arm(up, 0, -1, symbol.Up)
	arm(down, 0, 1, symbol.Down)
	s.Primitives = append(s.Primitives, symbol.Primitive{Shape: symbol.Ellipse, Points: []symbol.Point{{}}, RX: 0.3, RY: 0.3, Fill: symbol.Solid})
	s.Box = symbol.Box{Min: symbol.Point{X: -1, Y: -1}, Max: symbol.Point{X: 1, Y: 1}}
	return s
}

// manifold is a long pipe: what arrives from below, what leaves upward or, where
// it leads down, downward.
func (g *waterGraph) manifold(p *schema.Part, list []hoseAt) symbol.Symbol {
	// what arrives stands left; of what leaves, the highest goal next to it, so
	// that hoses that rise and turn right do not cross
	slices.SortStableFunc(list, func(a, b hoseAt) int {
		if a.to != b.to {
			if a.to {
				return -1
			}
			return 1
		}
		return cmp.Compare(goal(b), goal(a))
	})
	var studs []symbol.Stud
	used := map[string]bool{}
	xs := map[bool]int{}
	for i, e := range list {
		name := e.terminal
		if name == "" || used[name] {
			name = "h" + strconv.Itoa(i+1)
		}
		used[name] = true
		up := e.other != nil && e.other.Height().V > p.Height().V
		studs = append(studs, symbol.Stud{Name: name, X: 2 * xs[up], Up: up})
		xs[up]++
		g.ends[hoseSide{e.hose, e.to}] = waterlayout.End{Box: p.ID, Port: name}
	}
	n := max(xs[true], xs[false], 2)
	s, ok := symbol.Bar("water/manifold", studs, 0, 2*(n-1))
	if !ok {
		return p.Kind.Symbol(p, schema.Water)
	}
	return s
}

// goal is the height of the other end of a hose; far below where it is not known.
func goal(e hoseAt) float64 {
	if e.other == nil || !e.other.Height().Given() {
		return math.Inf(-1)
	}
	return float64(e.other.Height().V)
}
