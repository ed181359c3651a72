package dc

import (
	"math"

	"fitout/validate/dc/sparse"
)

// link is a joint without resistance: the potential of a stands rise above
// that of b. Its current counts from a to b.
type link struct {
	a, b Node
	rise float64
	id   ID // None for the joint inside a converter
}

// joints merges nodes joined without resistance, keeping the differences that
// ideal sources hold between them.
type joints struct {
	parent []int32
	above  []float64 // potential of a node less that of its parent
	links  []link
}

func newJoints(nodes int) *joints {
	j := &joints{parent: make([]int32, nodes), above: make([]float64, nodes)}
	for i := range j.parent {
		j.parent[i] = int32(i)
	}
	return j
}

// root finds the representative of a node's joint and the node's potential
// above it.
func (j *joints) root(n Node) (root int32, above float64) {
	root = int32(n)
	for j.parent[root] != root {
		above += j.above[root]
		root = j.parent[root]
	}
	// Second pass: hang every node of the way directly under the root.
	rest := above
	for i := int32(n); j.parent[i] != root && i != root; {
		next, step := j.parent[i], j.above[i]
		j.parent[i], j.above[i] = root, rest
		rest -= step
		i = next
	}
	return root, above
}

// agree is the difference of potential under which two ideal sources in
// parallel count as equal.
const agree = 1e-9

// add joins two nodes; false means that the joint contradicts another.
func (j *joints) add(l link) bool {
	ra, ua := j.root(l.a)
	rb, ub := j.root(l.b)
	if l.a != l.b {
		j.links = append(j.links, l)
	}
	if ra == rb {
		return math.Abs(ua-ub-l.rise) <= agree
	}
	// The lower number stays root, so that names do not depend on direction.
	// v(a) = v(ra)+ua, v(b) = v(rb)+ub, v(a) = v(b)+rise.
	d := ub + l.rise - ua // v(ra) − v(rb)
	if ra < rb {
		j.parent[rb], j.above[rb] = ra, -d
	} else {
		j.parent[ra], j.above[ra] = rb, d
	}
	return true
}

// share finds the currents of the joints from the currents that all other
// elements take out of each node: those that equal resistances, however small,
// would carry. In a joint that is a tree this is Kirchhoff's law alone; in a
// ring it is the solution with the least sum of squares.
func (j *joints) share(leaving []float64) []float64 {
	amps := make([]float64, len(j.links))
	if len(j.links) == 0 {
		return amps
	}
	row := make([]int32, len(j.parent))
	for i := range row {
		row[i] = -1
	}
	rows := int32(0)
	number := func(n Node) {
		if r, _ := j.root(n); r != int32(n) && row[n] < 0 {
			row[n] = rows
			rows++
		}
	}
	for _, l := range j.links {
		number(l.a)
		number(l.b)
	}
	var entries []sparse.Entry
	var given []float64
	for _, l := range j.links {
		for _, e := range [...]struct {
			r, c Node
			g    float64
		}{{l.a, l.a, 1}, {l.b, l.b, 1}, {l.a, l.b, -1}, {l.b, l.a, -1}} {
			if row[e.r] >= 0 && row[e.c] >= 0 {
				entries = append(entries, sparse.Entry{Row: row[e.r], Col: row[e.c]})
				given = append(given, e.g)
			}
		}
	}
	p, slot := sparse.NewPattern(int(rows), entries)
	values := make([]float64, len(p.Rows))
	for k, s := range slot {
		values[s] += given[k]
	}
	f, _, ok := sparse.NewLDL(p, values)
	if !ok {
		panic("dc: a joint that is not connected") // links are what connects it
	}
	b := make([]float64, rows)
	for n, r := range row {
		if r >= 0 {
			b[r] = -leaving[n]
		}
	}
	f.Solve(b)
	at := func(n Node) float64 {
		if row[n] < 0 {
			return 0
		}
		return b[row[n]]
	}
	for k, l := range j.links {
		amps[k] = at(l.a) - at(l.b)
	}
	return amps
}

// sets is a plain union of numbered things.
type sets []int32

func newSets(n int) sets {
	s := make(sets, n)
	for i := range s {
		s[i] = int32(i)
	}
	return s
}

func (s sets) find(i int32) int32 {
	for s[i] != i {
		s[i] = s[s[i]]
		i = s[i]
	}
	return i
}

func (s sets) join(a, b int32) {
	a, b = s.find(a), s.find(b)
	if a < b {
		s[b] = a
	} else {
		s[a] = b
	}
}
