package layout

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"
)

// The yardstick is Graphviz dot, a general program for layered graphs, on the same boxes and links: boxes of fixed size with the ports
// at the nearest compass point, bars as boxes as long as their studs, links from the higher to the lower, bridges without a rank.

// dotProgram finds dot. Without it the comparison is left out, unless FITOUT_REQUIRE_ENGINES=1 asks for it.
func dotProgram(t testing.TB) string {
	t.Helper()
	path, err := exec.LookPath("dot")
	if err != nil {
		if os.Getenv("FITOUT_REQUIRE_ENGINES") == "1" {
			t.Fatal("dot is not installed and FITOUT_REQUIRE_ENGINES=1 asks for it")
		}
		t.Skip("dot (Graphviz) is not installed: nothing to compare with")
	}
	return path
}

// dotText is a graph in the language of dot, nodes and edges named by their place in it.
func dotText(g *Graph) string {
	const inch = 2.5 / 25.4 // a grid unit
	var b strings.Builder
	b.WriteString("digraph g {\nnode [shape=box fixedsize=true label=\"\"]\nedge [arrowhead=none]\n")
	fmt.Fprintf(&b, "nodesep=%.4f ranksep=%.4f\n", gapItems*inch, 6*inch)
	node, side := map[string]int{}, map[End]string{}
	studs := map[string]int{}
	for _, k := range g.Links {
		studs[k.From.Node]++
		studs[k.To.Node]++
	}
	for i, x := range g.Boxes {
		node[x.ID] = i
		fmt.Fprintf(&b, "n%d [width=%.4f height=%.4f]\n", i, float64(x.W)*inch, float64(x.H)*inch)
		for _, p := range x.Ports {
			side[End{Node: x.ID, Port: p.Name}] = compass(x, p)
		}
	}
	for i, x := range g.Bars {
		node[x.ID] = len(g.Boxes) + i
		fmt.Fprintf(&b, "n%d [width=%.4f height=%.4f]\n", len(g.Boxes)+i, float64(max(2, pitch*studs[x.ID]/2))*inch, inch)
	}
	for _, k := range g.Links {
		from, to := side[End{Node: k.From.Node, Port: k.From.Port}], side[End{Node: k.To.Node, Port: k.To.Port}]
		if from == "" {
			from = "s"
		}
		if to == "" {
			to = "n"
		}
		more := ""
		if k.Bridge {
			more = " constraint=false"
		}
		fmt.Fprintf(&b, "n%d:%s -> n%d:%s [label=\"\"%s]\n", node[k.From.Node], from, node[k.To.Node], to, more)
	}
	b.WriteString("}\n")
	return b.String()
}

// compass is the point of a box nearest to a port.
func compass(b Box, p Port) string {
	switch p.Side {
	case Left:
		return "w"
	case Right:
		return "e"
	}
	s := "n"
	if p.Side == Bottom {
		s = "s"
	}
	switch {
	case 3*p.Offset < b.W:
		return s + "w"
	case 3*p.Offset > 2*b.W:
		return s + "e"
	}
	return s
}

// runDot lays a graph out and returns what dot says of it in its plain form, with the processor time it took.
func runDot(t testing.TB, program, text string) (plain string, user time.Duration) {
	c := exec.Command(program, "-Tplain")
	c.Stdin = strings.NewReader(text)
	var out, errs bytes.Buffer
	c.Stdout, c.Stderr = &out, &errs
	if err := c.Run(); err != nil {
		t.Fatalf("dot: %v\n%s", err, errs.String())
	}
	return out.String(), c.ProcessState.UserTime()
}

// dotCrossings counts where the splines of edges that share no box cross: what crosses at a common box is left out, to the good of
// dot.
func dotCrossings(t testing.TB, plain string) int {
	type edge struct {
		from, to string
		pts      [][2]float64
	}
	var edges []edge
	for _, line := range strings.Split(plain, "\n") {
		f := strings.Fields(line)
		if len(f) < 4 || f[0] != "edge" {
			continue
		}
		n, err := strconv.Atoi(f[3])
		if err != nil || len(f) < 4+2*n {
			t.Fatalf("dot: %q", line)
		}
		e := edge{from: f[1], to: f[2]}
		at := make([][2]float64, n)
		for i := range at {
			at[i][0], _ = strconv.ParseFloat(f[4+2*i], 64)
			at[i][1], _ = strconv.ParseFloat(f[5+2*i], 64)
		}
		e.pts = append(e.pts, at[0])
		for i := 0; i+3 < n; i += 3 { // cubic pieces, as chords
			for k := 1; k <= 8; k++ {
				u := float64(k) / 8
				v := 1 - u
				var p [2]float64
				for d := range p {
					p[d] = v*v*v*at[i][d] + 3*v*v*u*at[i+1][d] + 3*v*u*u*at[i+2][d] + u*u*u*at[i+3][d]
				}
				e.pts = append(e.pts, p)
			}
		}
		edges = append(edges, e)
	}
	sum := 0
	for i, e := range edges {
		for _, f := range edges[:i] {
			if e.from == f.from || e.from == f.to || e.to == f.from || e.to == f.to {
				continue
			}
			for k := 1; k < len(e.pts); k++ {
				for m := 1; m < len(f.pts); m++ {
					if crossing(e.pts[k-1], e.pts[k], f.pts[m-1], f.pts[m]) {
						sum++
					}
				}
			}
		}
	}
	return sum
}

func crossing(a, b, c, d [2]float64) bool {
	side := func(p, q, r [2]float64) float64 { return (q[0]-p[0])*(r[1]-p[1]) - (q[1]-p[1])*(r[0]-p[0]) }
	return side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0
}

// TestAgainstDot: on ladders of 59 and 150 boxes, tidy and careless, ours cross less than those of dot.
func TestAgainstDot(t *testing.T) {
	program := dotProgram(t)
	for _, n := range []int{59, 150} {
		for _, g := range []Graph{boat(n, 1), careless(boat(n, 1), 1)} {
			p, err := Run(g, nil)
			if err != nil {
				t.Fatal(err)
			}
			plain, _ := runDot(t, program, dotText(&g))
			own, dot := p.crossings(), dotCrossings(t, plain)
			t.Logf("%d boxes, %d links: %d crossings, dot %d", len(g.Boxes), len(g.Links), own, dot)
			if own >= dot {
				t.Errorf("%d boxes: %d crossings, dot has %d", len(g.Boxes), own, dot)
			}
		}
	}
}

// BenchmarkBesideDot places, routes and letters a ladder on one endless sheet, and has dot place and route the same graph, turn about
// so that both meet the same load. dot-ms is the whole process, dot-start-ms what it takes for a graph of one node, dot-user-ms the
// processor time of the first. ratio is dot's time less its start over ours.
func BenchmarkBesideDot(b *testing.B) {
	program := dotProgram(b)
	for _, n := range []int{59, 150, 567} {
		for _, untidy := range []bool{false, true} {
			g, name := boat(n, 1), fmt.Sprint(n)
			if untidy {
				g, name = careless(g, 1), name+" careless"
			}
			b.Run(name, func(b *testing.B) { besideDot(b, program, g) })
		}
	}
}

func besideDot(b *testing.B, program string, g Graph) {
	text := dotText(&g)
	var own, dot, start, used time.Duration
	crossings, theirs, rounds := 0, 0, 0
	since := func(sum *time.Duration, begun time.Time) { *sum += time.Since(begun) }
	for b.Loop() {
		begun := time.Now()
		p, err := Run(g, nil)
		since(&own, begun)
		if err != nil {
			b.Fatal(err)
		}
		begun = time.Now()
		plain, user := runDot(b, program, text)
		since(&dot, begun)
		begun = time.Now()
		runDot(b, program, "digraph g { a }")
		since(&start, begun)
		used += user
		if rounds++; rounds == 1 {
			crossings, theirs = p.crossings(), dotCrossings(b, plain)
		}
	}
	ms := func(d time.Duration) float64 { return d.Seconds() * 1000 / float64(rounds) }
	b.ReportMetric(ms(own), "own-ms")
	b.ReportMetric(ms(dot), "dot-ms")
	b.ReportMetric(ms(start), "dot-start-ms")
	b.ReportMetric(ms(used), "dot-user-ms")
	b.ReportMetric(ms(dot-start)/ms(own), "ratio")
	b.ReportMetric(float64(crossings), "crossings")
	b.ReportMetric(float64(theirs), "dot-crossings")
	b.ReportMetric(0, "ns/op")
}
