package overview

import (
	"bytes"
	"context"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/goccy/go-graphviz"
	"github.com/goccy/go-graphviz/cgraph"
)

// gvLock is held round every use: concurrent use of the module kills the
// program.
var gvLock sync.Mutex

// dotCrossings places the graph with Graphviz dot, left to right, and counts the
// pairs of edges whose straight lines from box to box cross.
func dotCrossings(t *testing.T, g Graph) int {
	t.Helper()
	gvLock.Lock()
	defer gvLock.Unlock()
	ctx := context.Background()
	gv, err := graphviz.New(ctx)
	if err != nil {
		t.Fatal(err)
	}
	defer gv.Close()
	graph, err := gv.Graph()
	if err != nil {
		t.Fatal(err)
	}
	defer graph.Close()
	graph.SetRankDir(cgraph.LRRank)
	nodes := map[string]*cgraph.Node{}
	for _, n := range g.Nodes {
		d, err := graph.CreateNodeByName(n.ID)
		if err != nil {
			t.Fatal(err)
		}
		nodes[n.ID] = d
	}
	for i, e := range g.Edges {
		if _, err := graph.CreateEdgeByName("e"+strconv.Itoa(i), nodes[e.From], nodes[e.To]); err != nil {
			t.Fatal(err)
		}
	}
	var out bytes.Buffer
	if err := gv.Render(ctx, graph, graphviz.Format("plain"), &out); err != nil {
		t.Fatal(err)
	}
	at := map[string][2]float64{}
	for _, line := range strings.Split(out.String(), "\n") {
		if f := strings.Fields(line); len(f) > 3 && f[0] == "node" {
			x, _ := strconv.ParseFloat(f[2], 64)
			y, _ := strconv.ParseFloat(f[3], 64)
			at[f[1]] = [2]float64{x, y}
		}
	}
	if len(at) != len(g.Nodes) {
		t.Fatalf("dot placed %d of %d", len(at), len(g.Nodes))
	}
	n := 0
	for i, e := range g.Edges {
		for _, f := range g.Edges[:i] {
			if e.From != f.From && e.From != f.To && e.To != f.From && e.To != f.To && cross(at[e.From], at[e.To], at[f.From], at[f.To]) {
				n++
			}
		}
	}
	return n
}

func cross(a, b, c, d [2]float64) bool {
	side := func(p, q, r [2]float64) bool { return (q[0]-p[0])*(r[1]-p[1])-(q[1]-p[1])*(r[0]-p[0]) > 0 }
	return side(a, b, c) != side(a, b, d) && side(c, d, a) != side(c, d, b)
}

// ownCrossings counts where pieces of two nets cross.
func ownCrossings(p Plan) (n int) {
	for i, a := range p.Nets {
		for _, b := range p.Nets[:i] {
			for _, s := range a.Lines {
				for _, u := range b.Lines {
					h, v := s, u
					if h[0].Y != h[1].Y {
						h, v = u, s
					}
					if h[0].Y == h[1].Y && v[0].X == v[1].X && within(h, Point{v[0].X, h[0].Y}) && within(v, Point{v[0].X, h[0].Y}) {
						n++
					}
				}
			}
		}
	}
	return n
}

// Graphviz dot on the same graphs is the yardstick: not more crossings than its
// placement has even with straight lines.
func TestAgainstDot(t *testing.T) {
	own, dot := 0, 0
	for seed := range int64(40) {
		g := randomGraph(seed)
		p, err := Place(g)
		if err != nil {
			t.Fatal(err)
		}
		own += ownCrossings(p)
		dot += dotCrossings(t, g)
	}
	t.Logf("crossings on 40 graphs: %d, dot %d", own, dot)
	if own > dot {
		t.Errorf("%d crossings, dot has %d", own, dot)
	}
}
