package overview

import (
	"fmt"
	"math/rand"
	"slices"
	"testing"
)

// randomGraph is a tree of feeders with some double feeds, as boats have them.
func randomGraph(seed int64) Graph {
	r := rand.New(rand.NewSource(seed))
	g := Graph{Height: 70, MoreW: 10, MoreH: 2}
	n := 3 + r.Intn(60)
	for i := range n {
		g.Nodes = append(g.Nodes, Node{ID: fmt.Sprintf("N%d", i), W: 8 + r.Intn(8), H: 2 + 2*r.Intn(2), RefW: 8, RefH: 4})
		if i > 0 && r.Intn(8) > 0 {
			g.Edges = append(g.Edges, Edge{fmt.Sprintf("N%d", r.Intn(min(i, 12))), fmt.Sprintf("N%d", i)})
		}
		if i > 2 && r.Intn(6) == 0 {
			g.Edges = append(g.Edges, Edge{fmt.Sprintf("N%d", r.Intn(i)), fmt.Sprintf("N%d", i)})
		}
	}
	return g
}

// faults measures a plan without the steps that made it: boxes apart, every line
// level or upright, none through a box, no two nets on one line, each net joined
// and touching all that it feeds.
func faults(g Graph, p Plan) (out []string) {
	say := func(f string, a ...any) { out = append(out, fmt.Sprintf(f, a...)) }
	box := map[string]Box{}
	for i, b := range p.Boxes {
		box[b.ID] = b
		for _, o := range p.Boxes[:i] {
			if b.X < o.X+o.W && o.X < b.X+b.W && b.Y < o.Y+o.H && o.Y < b.Y+b.H {
				say("%s lies on %s", b.ID, o.ID)
			}
		}
		if b.X < 0 || b.Y < 0 || b.X+b.W > p.W || b.Y+b.H > p.H {
			say("%s lies outside", b.ID)
		}
	}
	if len(box) != len(g.Nodes) {
		say("%d boxes of %d", len(box), len(g.Nodes))
	}
	for i, n := range p.Nets {
		for _, s := range n.Lines {
			if s[0].X != s[1].X && s[0].Y != s[1].Y {
				say("%s: slanted", n.From)
			}
			x0, x1, y0, y1 := min(s[0].X, s[1].X), max(s[0].X, s[1].X), min(s[0].Y, s[1].Y), max(s[0].Y, s[1].Y)
			for _, b := range p.Boxes {
				if x0 < b.X+b.W && b.X < x1 && y0 < b.Y+b.H && b.Y < y1 || x0 == x1 && x0 > b.X && x0 < b.X+b.W && y0 < b.Y+b.H && b.Y < y1 ||
					y0 == y1 && y0 > b.Y && y0 < b.Y+b.H && x0 < b.X+b.W && b.X < x1 {
					say("%s: through %s", n.From, b.ID)
				}
			}
			for _, o := range p.Nets[:i] {
				for _, t := range o.Lines {
					if along(s, t) {
						say("%s lies on %s at %v", n.From, o.From, s)
					}
				}
			}
		}
		for _, s := range n.Lines {
			for _, e := range s {
				if !joined(n, s, e) && !slices.ContainsFunc(p.Boxes, func(b Box) bool { return touches([][2]Point{{e, e}}, b) }) {
					say("%s: a loose end at %v", n.From, e)
				}
			}
		}
		reached := reach(n, box[n.From])
		for _, t := range n.To {
			if !touches(reached, box[t]) {
				say("%s does not reach %s", n.From, t)
			}
		}
	}
	return out
}

func along(s, t [2]Point) bool {
	if s[0].X == s[1].X && t[0].X == t[1].X && s[0].X == t[0].X {
		return max(min(s[0].Y, s[1].Y), min(t[0].Y, t[1].Y)) < min(max(s[0].Y, s[1].Y), max(t[0].Y, t[1].Y))
	}
	if s[0].Y == s[1].Y && t[0].Y == t[1].Y && s[0].Y == t[0].Y {
		return max(min(s[0].X, s[1].X), min(t[0].X, t[1].X)) < min(max(s[0].X, s[1].X), max(t[0].X, t[1].X))
	}
	return false
}

// reach lists the pieces of a net that hang together with its box.
func reach(n Net, from Box) [][2]Point {
	var got [][2]Point
	rest := append([][2]Point(nil), n.Lines...)
	for again := true; again; {
		again = false
		for i, s := range rest {
			ok := touches([][2]Point{s}, from)
			for _, t := range got {
				for _, e := range s {
					ok = ok || on(t, e)
				}
				for _, e := range t {
					ok = ok || on(s, e)
				}
			}
			if ok {
				got = append(got, s)
				rest = append(rest[:i], rest[i+1:]...)
				again = true
				break
			}
		}
	}
	return got
}

// joined reports whether another piece of the net meets the end of one.
func joined(n Net, s [2]Point, e Point) bool {
	return slices.ContainsFunc(n.Lines, func(t [2]Point) bool { return t != s && on(t, e) })
}

func on(s [2]Point, p Point) bool { return s[0] == p || s[1] == p || within(s, p) }

func touches(lines [][2]Point, b Box) bool {
	for _, s := range lines {
		for _, e := range s {
			if e.X >= b.X && e.X <= b.X+b.W && e.Y >= b.Y && e.Y <= b.Y+b.H {
				return true
			}
		}
	}
	return false
}

func TestRandomGraphs(t *testing.T) {
	for seed := range int64(300) {
		g := randomGraph(seed)
		p, err := Place(g)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range faults(g, p) {
			t.Errorf("seed %d: %s", seed, f)
		}
		edges := map[Edge]bool{}
		for _, e := range g.Edges {
			edges[e] = true
		}
		drawn := 0
		for _, n := range p.Nets {
			for _, to := range n.To {
				if !edges[Edge{n.From, to}] && !edges[Edge{to, n.From}] {
					t.Errorf("seed %d: %s to %s is no edge", seed, n.From, to)
				}
				drawn++
			}
		}
		if drawn != len(edges) {
			t.Errorf("seed %d: %d edges of %d", seed, drawn, len(edges))
		}
	}
}

// A boat's overview, read by eye: sources left, loads right, a load fed twice.
func TestLadder(t *testing.T) {
	g := Graph{Height: 60}
	for _, id := range []string{"B1", "B2", "CH", "BUS", "DP", "UB", "L1", "L2", "L3", "L4", "L5"} {
		g.Nodes = append(g.Nodes, Node{ID: id, W: 10, H: 3})
	}
	for _, e := range [][2]string{{"B1", "BUS"}, {"B2", "BUS"}, {"CH", "BUS"}, {"BUS", "DP"}, {"BUS", "UB"}, {"DP", "L1"}, {"DP", "L2"}, {"DP", "L3"}, {"UB", "L4"}, {"UB", "L5"}} {
		g.Edges = append(g.Edges, Edge{e[0], e[1]})
	}
	p, err := Place(g)
	if err != nil {
		t.Fatal(err)
	}
	x := map[string]int{}
	for _, b := range p.Boxes {
		x[b.ID] = b.X
	}
	for _, e := range g.Edges {
		if x[e.From] >= x[e.To] {
			t.Errorf("%s does not stand left of %s", e.From, e.To)
		}
	}
	if x["B1"] != x["CH"] || x["DP"] != x["UB"] || x["L1"] != x["L3"] {
		t.Errorf("columns do not line up: %v", x)
	}
}

func TestMistakes(t *testing.T) {
	for _, g := range []Graph{
		{Nodes: []Node{{ID: "A", W: 4, H: 2}, {ID: "A", W: 4, H: 2}}},
		{Nodes: []Node{{ID: "A", W: 4, H: 2}}, Edges: []Edge{{"A", "B"}}},
	} {
		if _, err := Place(g); err == nil {
			t.Errorf("%v was placed", g)
		}
	}
	if p, err := Place(Graph{}); err != nil || len(p.Boxes) != 0 {
		t.Errorf("nothing: %v %v", p, err)
	}
}
