// Package trace walks along the conductors of a boat: which joints are one,
// which are grounded, what can push current into a conductor and what opens
// before it burns. It computes no ampacity and judges nothing.
//
// Build makes the Net once for a boat. Flow gives the cheapest set of devices
// between a conductor end and every source; Walk measures along the conductor
// from where exposure begins.
package trace

import (
	"slices"

	"fitout/schema"
	"fitout/schema/unit"
)

// EdgeType is what an edge of the net is.
type EdgeType int

// The edge types.
const (
	Conductor EdgeType = iota
	Device             // overcurrent device
	Contact
	Series // shunt, galvanic isolator: always closed
	Load
	Battery
	Feed      // limited source
	ConvertIn // input pair of a converter
	Sense
)

// Edge joins two nodes. A is the + or `from` side.
type Edge struct {
	Type   EdgeType
	Medium schema.Medium
	A, B   int
	Wire   *schema.Wire // Conductor
	Part   *schema.Part // all others
	Branch *schema.Branch
}

// Other returns the node at the other end.
func (e *Edge) Other(node int) int {
	if e.A == node {
		return e.B
	}
	return e.A
}

// Passes reports whether a walk for protection goes through the edge without a
// device: conductors, closed or closable contacts, shunts.
func (e *Edge) Passes() bool { return e.Type == Conductor || e.Type == Contact || e.Type == Series }

// Node is one joint: all terminals that no resistance parts.
type Node struct {
	Ends     []schema.End
	Edges    []int
	Grounded bool
	// Earthed is set for nodes joined to the protective earth of AC.
	Earthed bool
	// Return is set for AC neutrals and earths: no conductor of theirs is asked
	// for a device.
	Return bool
}

// Live reports whether a conductor at the joint must be protected: neither
// grounded nor an AC neutral or earth.
func (n *Node) Live() bool { return !n.Grounded && !n.Return }

// Name returns the first terminal of the joint.
func (n *Node) Name() string {
	if len(n.Ends) == 0 {
		return "?"
	}
	return n.Ends[0].String()
}

// Source is a terminal that can push current.
type Source struct {
	Node int
	Part *schema.Part
	Edge int
	// Terminal names the terminal it pushes from.
	Terminal string
	Medium   schema.Medium
	// Unlimited sources are batteries, shore power, and AC sources that hold no
	// limit of their own.
	Unlimited bool
	// Amps is the limit of the others; Known is false where the file does not
	// give it, and Missing names the datum.
	Amps    unit.Amp
	Known   bool
	Missing string
	// BuiltIn is the device inside the source, or nil.
	BuiltIn *schema.DeviceData
	// Charging sources want a device of their own under ISO unless
	// self-limiting.
	Charging     bool
	SelfLimiting bool
	// Back is set for a converter input that a source sits behind.
	Back bool
}

// Net is the electrical graph of one boat.
type Net struct {
	Boat    *schema.Boat
	Nodes   []Node
	Edges   []Edge
	Sources []Source

	positions Positions
	index     map[endKey]int
	// WireEdge gives the edge of each of the boat's wires; -1 for prepared and
	// implied ones.
	WireEdge map[*schema.Wire]int

	super  []int // nodes joined by contacts and shunts alone have one number
	comp   []int // device-free component of a node
	comps  []component
	tin    []int // of the depth-first walk of each component
	tout   []int
	tree   []int // edge to the parent in that walk, -1 at a root
	low    []int
	dead   map[[2]int]bool // device edge, from component: nothing behind it pushes
	byNode [][]int         // sources at a node
}

type endKey struct {
	part     *schema.Part
	terminal string
}

// Positions fixes the positions of parts whose contacts cannot close together.
type Positions map[*schema.Part]string

// Build makes the net. Prepared parts and wires are left out.
func Build(b *schema.Boat) *Net { return BuildIn(b, nil) }

// BuildIn makes the net with exclusive contacts in the positions given: those
// that do not make there are left out.
func BuildIn(b *schema.Boat, at Positions) *Net {
	n := &Net{Boat: b, positions: at, index: map[endKey]int{}, WireEdge: map[*schema.Wire]int{}}
	u := newUnion()
	for _, p := range b.Parts {
		if p.Prepared {
			continue
		}
		n.joinInside(u, p)
	}
	for _, w := range b.Wires {
		if w.Implied && !w.Prepared {
			u.join(endKey{w.From.Part, w.From.Terminal}, endKey{w.To.Part, w.To.Terminal})
		}
	}
	for _, p := range b.Parts {
		if p.Prepared {
			continue
		}
		for _, t := range p.Terminals() {
			if t.Medium == schema.Water {
				continue
			}
			n.nodeOf(u, schema.End{Part: p, Terminal: t.Name, At: p.At})
		}
	}
	n.addWires(u)
	n.addBranches(u)
	n.ground()
	n.findSources()
	n.components()
	n.supernodes()
	return n
}

// joinInside unites the terminals that a part joins without resistance.
func (n *Net) joinInside(u *union, p *schema.Part) {
	first := map[schema.Medium]string{}
	seen := map[schema.Medium]bool{}
	for _, t := range p.Terminals() {
		if t.Medium == schema.Water {
			continue
		}
		u.find(endKey{p, t.Name})
		if !p.Kind.Open || !p.Roles().Any(schema.Distribution|schema.Grounding|schema.Bonding) || p.Is(schema.Panel) {
			continue
		}
		if seen[t.Medium] {
			u.join(endKey{p, first[t.Medium]}, endKey{p, t.Name})
		}
		first[t.Medium], seen[t.Medium] = t.Name, true
	}
	for _, br := range p.Branches() {
		if br.Type == schema.Joined {
			u.join(endKey{p, br.A}, endKey{p, br.B})
		}
	}
}

func (n *Net) nodeOf(u *union, e schema.End) int {
	key := endKey{e.Part, e.Terminal}
	root := u.find(key)
	if id, ok := n.index[key]; ok && key != root {
		return id
	}
	id, ok := n.index[root]
	if !ok {
		id = len(n.Nodes)
		n.Nodes = append(n.Nodes, Node{})
		n.index[root] = id
	}
	if key != root {
		n.index[key] = id
	} else if slices.ContainsFunc(n.Nodes[id].Ends, func(have schema.End) bool { return have.Part == e.Part && have.Terminal == e.Terminal }) {
		return id
	}
	n.Nodes[id].Ends = append(n.Nodes[id].Ends, e)
	return id
}

// Node returns the node of a terminal, or -1.
func (n *Net) Node(p *schema.Part, terminal string) int {
	if id, ok := n.index[endKey{p, terminal}]; ok {
		return id
	}
	return -1
}

func (n *Net) addEdge(e Edge) int {
	id := len(n.Edges)
	n.Edges = append(n.Edges, e)
	n.Nodes[e.A].Edges = append(n.Nodes[e.A].Edges, id)
	if e.B != e.A {
		n.Nodes[e.B].Edges = append(n.Nodes[e.B].Edges, id)
	}
	return id
}

func (n *Net) addWires(u *union) {
	for _, w := range n.Boat.Wires {
		n.WireEdge[w] = -1
		if w.Prepared || w.Implied || w.From.Part == nil || w.To.Part == nil || w.From.Part.Prepared || w.To.Part.Prepared {
			continue
		}
		n.WireEdge[w] = n.addEdge(Edge{Type: Conductor, Medium: w.Medium, Wire: w, A: n.nodeOf(u, w.From), B: n.nodeOf(u, w.To)})
	}
}

var edgeTypes = map[schema.BranchType]EdgeType{
	schema.Series: Series, schema.Isolate: Series, schema.Device: Device, schema.Contact: Contact,
	schema.EMF: Battery, schema.Feed: Feed, schema.Draw: Load, schema.Convert: ConvertIn, schema.Sense: Sense,
}

func (n *Net) addBranches(u *union) {
	for _, p := range n.Boat.Parts {
		if p.Prepared {
			continue
		}
		branches := p.Branches()
		for i := range branches {
			br := &branches[i]
			t, ok := edgeTypes[br.Type]
			if !ok || n.parted(p, br) {
				continue
			}
			a := n.nodeOf(u, schema.End{Part: p, Terminal: br.A, At: p.At})
			b := n.nodeOf(u, schema.End{Part: p, Terminal: br.B, At: p.At})
			n.addEdge(Edge{Type: t, Medium: br.Medium, Part: p, Branch: br, A: a, B: b})
			if br.Type == schema.Convert {
				n.nodeOf(u, schema.End{Part: p, Terminal: br.Convert.OutA, At: p.At})
				n.nodeOf(u, schema.End{Part: p, Terminal: br.Convert.OutB, At: p.At})
			}
		}
	}
}

// ground floods "grounded" from the ground parts, or, where the boat has none,
// from every battery's negative that is not the positive of another, unless
// both poles carry devices (see twoPole). Nothing
// passes a load, device or source. AC earth and neutral conductors count as
// grounded by their name.
func (n *Net) ground() {
	var seeds []int
	hasGround := false
	for _, p := range n.Boat.Parts {
		if p.Prepared || !p.Is(schema.Grounding) {
			continue
		}
		hasGround = true
		for _, t := range p.Terminals() {
			if id := n.Node(p, t.Name); id >= 0 && t.Medium != schema.Water {
				seeds = append(seeds, id)
			}
		}
	}
	if !hasGround {
		if seeds = n.lowestPosts(); n.twoPole(seeds) {
			seeds = nil
		}
	}
	n.flood(seeds, func(node *Node) bool { was := node.Grounded; node.Grounded = true; return !was })
	var earths []int
	for _, p := range n.Boat.Parts {
		for _, t := range p.Terminals() {
			if t.Polarity == schema.Earth && !p.Prepared {
				if id := n.Node(p, t.Name); id >= 0 {
					earths = append(earths, id)
				}
			}
		}
	}
	for _, p := range n.Boat.Parts {
		for _, t := range p.Terminals() {
			if t.Polarity != schema.Earth && t.Polarity != schema.Neutral || p.Prepared {
				continue
			}
			if id := n.Node(p, t.Name); id >= 0 {
				n.Nodes[id].Return = true
			}
		}
	}
	n.flood(earths, func(node *Node) bool { was := node.Earthed; node.Earthed = true; return !was })
}

// twoPole reports an insulated two-pole system in a boat without a ground part:
// every way out of the batteries, at either pole, ends in a device before it
// meets a load or another source.
func (n *Net) twoPole(lowest []int) bool {
	posts := map[int]bool{}
	for _, v := range lowest {
		posts[v] = true
	}
	for i := range n.Edges {
		if n.Edges[i].Type == Battery {
			posts[n.Edges[i].A] = true
		}
	}
	seen := map[int]bool{}
	for v := range n.Nodes {
		if !posts[v] {
			continue
		}
		met, other := false, false
		n.reach(v, func(node int) {
			seen[node] = true
			for _, id := range n.Nodes[node].Edges {
				e := &n.Edges[id]
				switch {
				case e.Type == Device:
					met = true
				case e.Type == Battery && e.A == node:
					// The mid-point of a string needs no device between its batteries.
					met = met || posts[node] && n.strung(node)
				case e.Type != Battery && !e.Passes():
					other = true
				}
			}
		})
		if !met || other {
			return false
		}
	}
	return len(seen) > 0
}

// strung reports whether the joint lies between two batteries of a string.
func (n *Net) strung(node int) bool {
	found := false
	n.reach(node, func(v int) {
		for _, id := range n.Nodes[v].Edges {
			if e := &n.Edges[id]; e.Type == Battery && e.B == v {
				found = true
			}
		}
	})
	return found
}

// lowestPosts are the battery negatives at the foot of their strings.
func (n *Net) lowestPosts() []int {
	plus := map[int]bool{}
	for _, e := range n.Edges {
		if e.Type == Battery {
			n.reach(e.A, func(node int) { plus[node] = true })
		}
	}
	var seeds []int
	for _, e := range n.Edges {
		if e.Type == Battery && !plus[e.B] {
			seeds = append(seeds, e.B)
		}
	}
	return seeds
}

func (n *Net) flood(seeds []int, mark func(*Node) bool) {
	stack := append([]int(nil), seeds...)
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if !mark(&n.Nodes[v]) {
			continue
		}
		for _, id := range n.Nodes[v].Edges {
			if e := &n.Edges[id]; e.Passes() {
				stack = append(stack, e.Other(v))
			}
		}
	}
}

// reach calls visit for every node that conductors, contacts and shunts join to
// start, start included.
func (n *Net) reach(start int, visit func(int)) {
	seen := map[int]bool{start: true}
	stack := []int{start}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		visit(v)
		for _, id := range n.Nodes[v].Edges {
			e := &n.Edges[id]
			if w := e.Other(v); e.Passes() && !seen[w] {
				seen[w] = true
				stack = append(stack, w)
			}
		}
	}
}

// union is a disjoint-set forest over terminals.
type union struct{ parent map[endKey]endKey }

func newUnion() *union { return &union{map[endKey]endKey{}} }

func (u *union) find(k endKey) endKey {
	p, ok := u.parent[k]
	if !ok {
		u.parent[k] = k
		return k
	}
	if p == k {
		return k
	}
	root := u.find(p)
	u.parent[k] = root
	return root
}

func (u *union) join(a, b endKey) {
	if a, b = u.find(a), u.find(b); a != b {
		u.parent[b] = a
	}
}

// The positions of a part that passes shore power on or makes its own: its
// transfer contact and its source never work together.
const (
	passing   = "passing"
	inverting = "inverting"
)

// transfers reports a branch of such a part's transfer contact or AC source.
func transfers(br *schema.Branch) bool {
	return br.Medium == schema.AC && (br.Type == schema.Feed ||
		br.Type == schema.Contact && br.Contact.Automatic && !br.Contact.Bond && slices.Contains(br.Contact.MakesIn, passing))
}

// parted reports a branch that does not work in the position its part is fixed
// in: an exclusive contact that does not make there, or one side of a transfer.
func (n *Net) parted(p *schema.Part, br *schema.Branch) bool {
	at, fixed := n.positions[p]
	switch {
	case !fixed:
		return false
	case at == passing:
		return transfers(br) && br.Type == schema.Feed
	case at == inverting:
		return transfers(br) && br.Type == schema.Contact
	}
	return br.Contact != nil && br.Contact.Exclusive && !slices.Contains(br.Contact.MakesIn, at)
}

// Settings lists the positions of all parts with exclusive contacts, each
// combination once; one empty setting where there is no such part. With more
// combinations than most, the parts beyond keep their default position.
func Settings(b *schema.Boat) []Positions {
	const most = 16
	list := []Positions{{}}
	for _, p := range b.Parts {
		if p.Prepared {
			continue
		}
		makes, rest := exclusivePositions(p)
		if len(makes) == 0 {
			continue
		}
		if len(list)*len(makes) > most {
			makes = []string{rest}
		}
		var next []Positions
		for _, at := range list {
			for _, m := range makes {
				with := Positions{p: m}
				for q, pos := range at {
					with[q] = pos
				}
				next = append(next, with)
			}
		}
		list = next
	}
	return list
}

func exclusivePositions(p *schema.Part) (makes []string, rest string) {
	branches := p.Branches()
	contact, feed := false, false
	for i := range branches {
		if transfers(&branches[i]) {
			contact = contact || branches[i].Type == schema.Contact
			feed = feed || branches[i].Type == schema.Feed
		}
	}
	if contact && feed {
		return []string{inverting, passing}, passing
	}
	for _, br := range branches {
		if br.Contact == nil || !br.Contact.Exclusive {
			continue
		}
		rest = br.Contact.Position
		for _, m := range br.Contact.MakesIn {
			if !slices.Contains(makes, m) {
				makes = append(makes, m)
			}
		}
	}
	return makes, rest
}
