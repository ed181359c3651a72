package survey

import (
	"fitout/schema"
	"fitout/validate/trace"
)

// DeviceSides tells, for every device of the DC net, what stands on either side of it
// when it is open. It is found in one walk.
type DeviceSides struct {
	n         *trace.Net
	in, out   []int // of the depth-first walk
	low, tree []int
	root      []int
	batteries []int // positive posts in the subtree of a joint
	sources   []int // posts of any source there
	total     map[int][2]int
}

// DeviceSide is what stands on one side of an open device.
type DeviceSide struct {
	// Loop is set where the two sides hang together past the device.
	Loop bool
	// Battery reports a battery's positive post, Source a post of any source.
	Battery, Source bool
}

// DeviceSides returns the table with every contact closed, or with those that stand
// open at rest left out.
func (s *Survey) DeviceSides(atRest bool) *DeviceSides {
	k := 0
	if atRest {
		k = 1
	}
	if s.sides[k] == nil {
		s.sides[k] = newDeviceSides(s, func(e *trace.Edge) bool {
			switch {
			case e.Medium != schema.DC || e.A == e.B:
				return false
			case e.Type == trace.Contact:
				return !Bond(e) && (!atRest || (Setting{}).Closed(e))
			}
			return e.Type == trace.Conductor || e.Type == trace.Series || e.Type == trace.Device
		})
	}
	return s.sides[k]
}

func newDeviceSides(s *Survey, pass func(*trace.Edge) bool) *DeviceSides {
	n := s.Net
	count := len(n.Nodes)
	x := &DeviceSides{n: n, in: make([]int, count), out: make([]int, count), low: make([]int, count), tree: make([]int, count), root: make([]int, count),
		batteries: make([]int, count), sources: make([]int, count), total: map[int][2]int{}}
	for i := range n.Edges {
		e := &n.Edges[i]
		if e.Medium != schema.DC {
			continue
		}
		switch e.Type {
		case trace.Battery:
			x.batteries[e.A]++
			x.sources[e.A]++
			x.sources[e.B]++
		case trace.Feed:
			x.sources[e.A]++
			x.sources[e.B]++
		case trace.ConvertIn:
			if out := n.Node(e.Part, e.Branch.Convert.OutA); out >= 0 {
				x.sources[out]++
			}
		}
	}
	for i := range x.in {
		x.in[i], x.tree[i] = -1, -1
	}
	clock := 0
	for v := range n.Nodes {
		if x.in[v] < 0 {
			clock = x.walk(v, clock, pass)
			x.total[v] = [2]int{x.batteries[v], x.sources[v]}
		}
	}
	return x
}

// walk is an iterative depth-first walk; it sums up subtrees on the way back.
func (x *DeviceSides) walk(root, clock int, pass func(*trace.Edge) bool) int {
	type frame struct{ node, next int }
	stack := []frame{{root, 0}}
	x.in[root], x.low[root], x.root[root] = clock, clock, root
	clock++
	for len(stack) > 0 {
		f := &stack[len(stack)-1]
		v := f.node
		if f.next == len(x.n.Nodes[v].Edges) {
			x.out[v] = clock
			stack = stack[:len(stack)-1]
			if x.tree[v] >= 0 {
				up := x.n.Edges[x.tree[v]].Other(v)
				x.low[up] = min(x.low[up], x.low[v])
				x.batteries[up] += x.batteries[v]
				x.sources[up] += x.sources[v]
			}
			continue
		}
		id := x.n.Nodes[v].Edges[f.next]
		f.next++
		e := &x.n.Edges[id]
		if id == x.tree[v] || !pass(e) {
			continue
		}
		w := e.Other(v)
		if x.in[w] >= 0 {
			x.low[v] = min(x.low[v], x.in[w])
			continue
		}
		x.in[w], x.low[w], x.tree[w], x.root[w] = clock, clock, id, root
		clock++
		stack = append(stack, frame{w, 0})
	}
	return clock
}

// Of returns what stands on the side of a device that a joint is on.
func (x *DeviceSides) Of(device, side int) DeviceSide {
	e := &x.n.Edges[device]
	other := e.Other(side)
	child := -1
	for _, c := range [2]int{side, other} {
		if x.tree[c] == device && x.low[c] == x.in[c] {
			child = c
		}
	}
	if child < 0 {
		return DeviceSide{Loop: true, Battery: true, Source: true}
	}
	b, s := x.batteries[child], x.sources[child]
	if child != side {
		all := x.total[x.root[child]]
		b, s = all[0]-b, all[1]-s
	}
	return DeviceSide{Battery: b > 0, Source: s > 0}
}
