package rules

import (
	"slices"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/trace"
)

// cranking knows the conductors that are exempt because they feed a cranking
// motor: the ways from a battery post to a starter that meet no device, whoever
// pushes; and, only against what comes from the starter's side, an emergency feed
// from another bank that is no thinner than those. Against its own bank an
// emergency feed is judged like any other.
type cranking struct {
	exempt map[trace.Direction]bool
	feeds  []feed
}

// feed is the exempt conductors of one starter.
type feed struct {
	starter *schema.Part
	edges   []int
}

func findCranking(n *trace.Net) *cranking {
	c := &cranking{exempt: map[trace.Direction]bool{}}
	for id := range n.Edges {
		e := &n.Edges[id]
		if e.Type != trace.Load || !cranks(e) || n.Component(e.A) < 0 {
			continue
		}
		f := feed{starter: e.Part}
		thinnest := unit.SquareMM(0)
		for _, d := range pathsToBattery(n, e.A, false) {
			size := n.Edges[d.Edge].Wire.Size
			if size.Given() && (thinnest == 0 || size.V.Area < thinnest) {
				thinnest = size.V.Area
			}
			f.edges = append(f.edges, d.Edge)
			c.exempt[d] = true
			c.exempt[trace.Direction{Edge: d.Edge, From: n.Edges[d.Edge].Other(d.From)}] = true
		}
		if thinnest > 0 {
			for _, d := range pathsToBattery(n, e.A, true) {
				size := n.Edges[d.Edge].Wire.Size
				if size.Given() && float64(size.V.Area) >= 0.999*float64(thinnest) {
					c.exempt[d] = true
				}
			}
		}
		f.edges = unique(f.edges)
		c.feeds = append(c.feeds, f)
	}
	return c
}

// cranks reports a cranking motor: a starter, or the DC terminals of a generating
// set, which start its engine.
func cranks(e *trace.Edge) bool {
	return e.Medium == schema.DC && (e.Part.Is(schema.Cranking) || e.Part.Is(schema.Engine))
}

// findCrankingIn finds the exempt conductors of every net, the positions of the
// exclusive contacts: what feeds a starter in one position is exempt in all.
func findCrankingIn(nets []*trace.Net) []*cranking {
	list := make([]*cranking, len(nets))
	for i, n := range nets {
		list[i] = findCranking(n)
	}
	all := slices.Clone(list)
	for i, n := range nets {
		joined := &cranking{exempt: map[trace.Direction]bool{}}
		for k, c := range all {
			for d := range c.exempt {
				w := nets[k].Edges[d.Edge].Wire
				id := n.WireEdge[w]
				if id < 0 {
					continue
				}
				from := n.Edges[id].A
				if d.From == nets[k].Edges[d.Edge].B {
					from = n.Edges[id].B
				}
				joined.exempt[trace.Direction{Edge: id, From: from}] = true
			}
			for _, f := range c.feeds {
				joined.add(n, nets[k], f)
			}
		}
		list[i] = joined
	}
	return list
}

// add joins a starter's feed in another net to what is known of it in n.
func (c *cranking) add(n, other *trace.Net, f feed) {
	at := slices.IndexFunc(c.feeds, func(g feed) bool { return g.starter == f.starter })
	if at < 0 {
		at = len(c.feeds)
		c.feeds = append(c.feeds, feed{starter: f.starter})
	}
	for _, id := range f.edges {
		if here := n.WireEdge[other.Edges[id].Wire]; here >= 0 && !slices.Contains(c.feeds[at].edges, here) {
			c.feeds[at].edges = append(c.feeds[at].edges, here)
		}
	}
}

func unique(list []int) []int {
	seen := map[int]bool{}
	var out []int
	for _, x := range list {
		if !seen[x] {
			seen[x] = true
			out = append(out, x)
		}
	}
	return out
}

// pathsToBattery returns the conductors on the shortest ways from a joint to
// each battery post that can be reached, entered from the joint's side: with
// devices only ways through a switch that is closed in an emergency, without
// them only ways through none.
func pathsToBattery(n *trace.Net, from int, devices bool) []trace.Direction {
	via := map[int]int{from: -1}
	queue := []int{from}
	var out []trace.Direction
	for len(queue) > 0 {
		v := queue[0]
		queue = queue[1:]
		for _, i := range n.AtNode(v) {
			s := &n.Sources[i]
			if s.Unlimited && s.Medium == schema.DC {
				edges, emergency := wayBack(n, from, via, v)
				if devices == emergency {
					out = append(out, edges...)
				}
			}
		}
		for _, id := range n.Nodes[v].Edges {
			e := &n.Edges[id]
			w := e.Other(v)
			if _, seen := via[w]; seen || n.Component(w) < 0 || !e.Passes() && !(devices && e.Type == trace.Device) || devices && automatic(e) {
				continue
			}
			via[w] = id
			queue = append(queue, w)
		}
	}
	return out
}

// wayBack lists the conductors of a way found, and whether it goes through a
// switch that a person closes in an emergency and that stands open else. A contact
// that every way of the starter goes through, its solenoid, is no such switch.
func wayBack(n *trace.Net, from int, via map[int]int, v int) (edges []trace.Direction, emergency bool) {
	for via[v] >= 0 {
		e := &n.Edges[via[v]]
		switch {
		case e.Type == trace.Conductor:
			edges = append(edges, trace.Direction{Edge: via[v], From: e.Other(v)})
		case e.Type == trace.Contact && !closedAtRest(e) && batteryWithout(n, from, via[v]):
			emergency = true
		}
		v = e.Other(v)
	}
	return edges, emergency
}

// batteryWithout reports whether a joint reaches a battery post through no device
// and not through one contact.
func batteryWithout(n *trace.Net, from, contact int) bool {
	seen := map[int]bool{from: true}
	work := []int{from}
	for len(work) > 0 {
		v := work[len(work)-1]
		work = work[:len(work)-1]
		for _, i := range n.AtNode(v) {
			if s := &n.Sources[i]; s.Unlimited && s.Medium == schema.DC {
				return true
			}
		}
		for _, id := range n.Nodes[v].Edges {
			e := &n.Edges[id]
			if w := e.Other(v); id != contact && e.Passes() && !seen[w] && n.Component(w) >= 0 {
				seen[w] = true
				work = append(work, w)
			}
		}
	}
	return false
}

// automatic reports a contact that no person moves.
func automatic(e *trace.Edge) bool {
	return e.Type == trace.Contact && e.Branch.Contact != nil && e.Branch.Contact.Automatic
}

// closedAtRest reports whether a contact makes in the part's default position. A
// selector has no rest: every battery it can choose cranks the engine.
func closedAtRest(e *trace.Edge) bool {
	c := e.Branch.Contact
	return c == nil || c.Exclusive || slices.Contains(c.MakesIn, c.Position)
}
