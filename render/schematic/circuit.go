package schematic

import (
	"fitout/schema"
	"fitout/schema/symbol"
)

// sideways is where a conductor leaves a part on paper.
type sideways uint8

const (
	above  sideways = iota // through the upper side
	below                  // through the lower side
	beside                 // through the left or right side
	either                 // a bar: whichever side suits
)

// node is one thing on the sheet: a part drawn with its symbol, or a bar.
type node struct {
	id   string
	part *schema.Part
	// bar nodes stretch; post is the terminal of another node whose conductors
	// meet on a bar of its own.
	bar  bool
	post string
	host *node
	// sym is the symbol with the terminals of the part as anchors.
	sym symbol.Symbol
	// title is the part's, else that of the way that feeds it.
	title string
	// panel is set for bars with a device in every way.
	panel *panel
	used  map[string]int // conductors by port
	// plain symbols are one-line forms: what comes in on top goes out below.
	plain bool
}

// end is one end of a link.
type end struct {
	node *node
	port string // anchor of the symbol, way of the panel, stud of the bar
	ref  string // PART.TERMINAL as the file has it
}

// link is a conductor, or a cable of several cores drawn as one line.
type link struct {
	id     string
	wires  []*schema.Wire
	ends   [2]end
	bridge bool
	// flipped: the link runs against the way its wire is written.
	flipped bool
	stem    bool // joins a post to its terminal; part of the part, no conductor
}

func (l *link) wire() *schema.Wire {
	if len(l.wires) == 0 {
		return nil
	}
	return l.wires[0]
}

// circuit is the boat's parts and conductors of one medium with sides and
// directions on paper.
type circuit struct {
	boat  *schema.Boat
	nodes []*node
	links []*link
	byID  map[string]*node
	by    map[*schema.Part]*node
}

func newCircuit(b *schema.Boat) *circuit {
	return &circuit{boat: b, byID: map[string]*node{}, by: map[*schema.Part]*node{}}
}

func (c *circuit) add(n *node) *node {
	n.used = map[string]int{}
	c.nodes = append(c.nodes, n)
	c.byID[n.id] = n
	if _, twice := c.by[n.part]; !twice && n.post == "" {
		c.by[n.part] = n
	}
	return n
}

// side tells where a conductor leaves a node at an end.
func (e end) side() sideways {
	n := e.node
	switch {
	case n.panel != nil:
		return n.panel.side(e.port)
	case n.bar:
		return either
	}
	a, ok := n.sym.Anchor(e.port)
	if !ok {
		return beside
	}
	switch a.Side {
	case symbol.Up:
		return above
	case symbol.Down:
		return below
	}
	return beside
}

// conflict reports whether a link can only be a bridge: both ends leave their
// parts on the same side.
func (l *link) conflict() bool {
	a, b := l.ends[0].side(), l.ends[1].side()
	return a == b && a != either
}

// posts gives a bar of its own to every terminal that joins several conductors of
// which one or more could only run in a loop: they land on it from either side. It
// starts with the terminal that gains most.
func (c *circuit) posts() {
	type place struct {
		n    *node
		port string
	}
	for {
		count := map[place]int{}
		var order []place
		for _, l := range c.links {
			if l.bridge || l.stem || !l.conflict() || l.ends[0].node == l.ends[1].node {
				continue
			}
			for _, e := range l.ends {
				if e.node.bar && e.node.panel == nil || e.side() == beside {
					continue
				}
				p := place{e.node, e.port}
				if count[p] == 0 {
					order = append(order, p)
				}
				count[p]++
			}
		}
		best, most := place{}, 0
		for _, p := range order {
			if joins := p.n.used[p.port]; joins >= 2 && 100*count[p]+joins > most {
				best, most = p, 100*count[p]+joins
			}
		}
		if best.n == nil {
			return
		}
		c.post(best.n, best.port)
	}
}

// post moves the conductors of a terminal to a bar that a stem joins to it.
func (c *circuit) post(n *node, port string) {
	p := c.add(&node{id: n.id + "." + port, part: n.part, bar: true, post: port, host: n})
	ref := ""
	for _, l := range c.links {
		for i := range l.ends {
			if e := &l.ends[i]; !l.stem && e.node == n && e.port == port {
				e.node, ref = p, e.ref
				p.used[port]++
				n.used[port]--
			}
		}
	}
	l := &link{id: "\x01" + p.id, stem: true, ends: [2]end{{p, port, ref}, {n, port, ref}}}
	if l.ends[1].side() == below {
		l.ends[0], l.ends[1] = l.ends[1], l.ends[0]
	}
	n.used[port]++
	p.used[port]++
	c.links = append(c.links, l)
}

// direct turns every link from the higher to the lower. Where the sides leave a
// choice the potential decides; what cannot be turned so is a bridge.
func (c *circuit) direct(p *potential) {
	for _, l := range c.links {
		if l.stem {
			continue
		}
		a, b := l.ends[0].side(), l.ends[1].side()
		turn := false
		switch {
		case l.conflict():
			l.bridge = true
		case l.bridge && a != b && (guards(l.ends[0]) || guards(l.ends[1])):
			// a sense lead may hang on its fuse
			l.bridge = false
			turn = a == above
		case a == above, b == below:
			turn = true
		case a == below, b == above:
		default:
			turn = p.under(l.ends[0], l.ends[1])
		}
		if turn {
			l.ends[0], l.ends[1] = l.ends[1], l.ends[0]
			l.flipped = !l.flipped
		}
	}
}

// count notes how many conductors each port has.
func (c *circuit) count() {
	for _, l := range c.links {
		for _, e := range l.ends {
			e.node.used[e.port]++
		}
	}
}

// titles gives every node its part's title. A part without one that a panel's way
// feeds straight takes the way's.
func (c *circuit) titles() {
	for _, n := range c.nodes {
		n.title = n.part.Title()
	}
	for _, l := range c.links {
		for i, e := range l.ends {
			to := l.ends[1-i].node
			if e.node.panel == nil || to.bar || to.title != "" {
				continue
			}
			if w, ok := e.node.panel.way(e.port); ok {
				to.title = w.title
			}
		}
	}
}

// inOrder lists the nodes in order of the file, those that panels feed after the
// others, way by way: the layout keeps like columns in this order.
func (c *circuit) inOrder() []*node {
	var fed []*node
	in := map[*node]bool{}
	var walk func(n *node)
	walk = func(n *node) {
		if n.bar || in[n] {
			return
		}
		in[n] = true
		fed = append(fed, n)
		for _, l := range c.links {
			if l.ends[0].node == n && !l.bridge {
				walk(l.ends[1].node)
			}
		}
	}
	for _, n := range c.nodes {
		if n.panel == nil {
			continue
		}
		for _, w := range n.panel.ways {
			for _, l := range c.links {
				if e := l.ends[0]; e.node == n && e.port == w.key {
					walk(l.ends[1].node)
				}
			}
		}
	}
	var out []*node
	for _, n := range c.nodes {
		if !in[n] {
			out = append(out, n)
		}
	}
	return append(out, fed...)
}

func guards(e end) bool { return !e.node.bar && e.node.part.Is(schema.Protection) }
