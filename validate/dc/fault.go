package dc

import (
	"math"

	"fitout/schema/unit"
	"fitout/validate/dc/sparse"
)

// Short is the result of a dead short.
type Short struct {
	// Total is the current from the fault point into the return.
	Total unit.Amp
	// FromSide and ToSide are the parts of it that come through a device from
	// its first and second terminal (Faults.Device only). Where the two sides
	// are joined past the device without resistance, both are the total.
	FromSide, ToSide unit.Amp
	// Shares has the current of each source in the short, rising by element;
	// sources that give nothing are left out. The batteries of a series string
	// each carry the same current; one on charge from another has a negative.
	Shares []Share
	// LimitedBy names the sources when only limited ones feed the short; then
	// Total is the sum of their limits.
	LimitedBy []ID
}

// Share is what one battery, source or converter output gives in a short.
type Share struct {
	Element ID
	Amps    unit.Amp
}

// Duty is the larger of the two currents a device may have to break, without
// sign.
func (s Short) Duty() unit.Amp {
	return max(s.FromSide, -s.FromSide, s.ToSide, -s.ToSide)
}

// Faults answers short-circuit questions about one network: loads and
// converter inputs are removed, batteries feed in full behind their resistance,
// every other source gives its limit, diodes pass one way. The network must
// carry the resistances of the case (cold copper; high or low end of the
// batteries' internal resistance). The first question about a return costs one
// factorisation, each further one next to nothing. Not for use from several
// goroutines at once.
type Faults struct {
	net     *Network
	joints  *joints
	sources []feeder
	diodes  []Diode
	ideal   bool // some battery has no resistance
	studies map[studyKey]*study
}

// feeder is a battery, or a source that gives its limit.
type feeder struct {
	id       ID
	pos, neg Node
	e, g     float64 // battery; g of zero for an ideal one
	limit    float64 // other source
	endless  bool    // a source without a limit: what it reaches has no answer
}

type studyKey struct {
	ret  int32
	open string // which diodes block
}

// NewFaults prepares a study. The error, if any, is a *Failure: an impossible
// value, or a battery without resistance that is shorted. A source without a
// limit (no MaxI, and no MaxP with a voltage) makes the shorts it feeds a
// Failure of kind Invalid that names it; others are not touched.
func NewFaults(n *Network) (*Faults, error) {
	if f := check(n); f != nil {
		return nil, f
	}
	t, fail := survey(n, make([]bool, len(n.elements)))
	if fail != nil {
		return nil, fail
	}
	f := &Faults{net: n, joints: t.joints, studies: map[studyKey]*study{}}
	for k, e := range n.elements {
		switch e := e.(type) {
		case EMF:
			b := feeder{id: ID(k), pos: e.Pos, neg: e.Neg, e: float64(e.E)}
			if e.R >= MergeBelow {
				b.g = 1 / float64(e.R)
			} else {
				f.ideal = true
			}
			f.sources = append(f.sources, b)
		case Source:
			f.limited(ID(k), e.Pos, e.Neg, e.Output)
		case Converter:
			if t.fed[k] {
				f.limited(ID(k), e.OutPos, e.OutNeg, e.Output)
			}
		case Diode:
			f.diodes = append(f.diodes, e)
		}
	}
	return f, nil
}

// limited adds what a source gives into a short.
func (f *Faults) limited(id ID, pos, neg Node, o Output) {
	s := feeder{id: id, pos: pos, neg: neg}
	switch {
	case o.MaxI > 0:
		s.limit = float64(o.MaxI)
	case o.MaxP > 0 && o.V > 0:
		s.limit = float64(o.MaxP) / float64(o.V)
	default:
		s.endless = true
	}
	f.sources = append(f.sources, s)
}

// Fault gives the current of one dead short; a study of many is cheaper with
// NewFaults.
func Fault(n *Network, node, ret Node) (Short, error) {
	f, err := NewFaults(n)
	if err != nil {
		return Short{}, err
	}
	return f.At(node, ret)
}

// At gives the current of a dead short from a node to a return node. It is
// zero where nothing feeds it, and where both are one point anyway.
func (f *Faults) At(node, ret Node) (Short, error) {
	if fail := f.exist(node, ret); fail != nil {
		return Short{}, fail
	}
	return f.settle(ret, func(s *study) (*struck, *Failure) { return s.at(node, true) })
}

// Device gives the current of a dead short at a resistor, taken as a link
// without resistance: both its terminals are joined to the return.
func (f *Faults) Device(id ID, ret Node) (Short, error) { return f.link(id, ret, true) }

// DeviceTotal is Device without the shares of the sources where a battery is
// among them; it is quick where there are many.
func (f *Faults) DeviceTotal(id ID, ret Node) (Short, error) { return f.link(id, ret, false) }

func (f *Faults) link(id ID, ret Node, shares bool) (Short, error) {
	if id < 0 || int(id) >= len(f.net.elements) {
		return Short{}, &Failure{Cause: Invalid, Node: None, Element: id, Detail: "element does not exist"}
	}
	r, ok := f.net.elements[id].(Resistor)
	if !ok {
		return Short{}, &Failure{Cause: Invalid, Node: None, Element: id, Detail: "only a resistor can be the device of a short"}
	}
	if fail := f.exist(ret); fail != nil {
		return Short{}, fail
	}
	return f.settle(ret, func(s *study) (*struck, *Failure) { return s.device(id, r, shares) })
}

func (f *Faults) exist(nodes ...Node) *Failure {
	for _, n := range nodes {
		if n < 0 || int(n) >= f.net.nodes {
			return &Failure{Cause: Invalid, Node: n, Element: None, Detail: "node does not exist"}
		}
	}
	return nil
}

// settle answers a question with each diode conducting or blocking as its
// current says. Where no state of the diodes fits, all of them conduct: the
// answer that cannot be too small.
func (f *Faults) settle(ret Node, ask func(*study) (*struck, *Failure)) (Short, error) {
	open := make([]bool, len(f.diodes))
	for round := 0; ; round++ {
		if round > 3*len(open)+3 {
			clear(open)
		}
		s, fail := f.study(ret, open)
		if fail != nil {
			return Short{}, fail
		}
		hit, fail := ask(s)
		if fail != nil {
			return Short{}, fail
		}
		if len(open) == 0 || round > 3*len(open)+3 || !s.flip(hit, open) {
			return hit.Short, nil
		}
	}
}

// study is the network with one return grounded and one state of the diodes.
type study struct {
	f      *Faults
	ret    Node
	open   []bool
	whole  sets    // joints connected by conductors and batteries
	row    []int32 // by root of a joint; -1 outside and at the return
	factor *sparse.LDL
	idle   []float64 // by row: potential of the joint's root with nothing shorted
	base   float64   // potential of the return's root
	reply  [][]float64
	// battery is set where one hangs together with the return.
	battery bool
}

// wire is a conductance between two nodes, with a potential that drives
// current out of a.
type wire struct {
	a, b Node
	g, e float64
}

// wires lists the conductances of the short-circuit network.
func (s *study) wires(each func(wire)) {
	for _, e := range s.f.net.elements {
		if r, ok := e.(Resistor); ok && r.R >= MergeBelow {
			each(wire{a: r.To, b: r.From, g: 1 / float64(r.R)})
		}
	}
	for _, b := range s.f.sources {
		if b.g > 0 {
			each(wire{a: b.pos, b: b.neg, g: b.g, e: b.e})
		}
	}
	for k, d := range s.f.diodes {
		if !s.open[k] {
			each(wire{a: d.Cathode, b: d.Anode, g: 1 / math.Max(float64(d.R), leastDiode), e: -float64(d.Drop)})
		}
	}
}

// leastDiode is the resistance of an ideal diode in a short-circuit study.
const leastDiode = 1e-6

func (f *Faults) study(ret Node, open []bool) (*study, *Failure) {
	key := make([]byte, len(open))
	for k, o := range open {
		if o {
			key[k] = 1
		}
	}
	root, above := f.joints.root(ret)
	name := studyKey{root, string(key)}
	if s, ok := f.studies[name]; ok {
		return s, nil
	}
	s := &study{f: f, ret: ret, open: append([]bool(nil), open...), base: -above, row: make([]int32, f.net.nodes)}
	s.whole = newSets(f.net.nodes)
	for i := range s.row {
		s.row[i] = -1
		r, _ := f.joints.root(Node(i))
		s.whole.join(int32(i), r)
	}
	s.wires(func(w wire) { s.whole.join(int32(w.a), int32(w.b)) })
	rows := int32(0)
	for i := range s.row {
		r, _ := f.joints.root(Node(i))
		if int(r) == i && r != root && s.whole.find(r) == s.whole.find(root) {
			s.row[i] = rows
			rows++
		}
	}
	if fail := s.factorise(int(rows)); fail != nil {
		return nil, fail
	}
	s.rest(int(rows))
	for _, src := range f.sources {
		s.battery = s.battery || src.limit == 0 && s.joined(src.pos) && s.joined(src.neg)
	}
	s.reply = make([][]float64, len(f.sources))
	f.studies[name] = s
	return s, nil
}

// port gives the row of a node's joint and the node's potential above it.
func (s *study) port(n Node) port {
	root, above := s.f.joints.root(n)
	if s.row[root] < 0 {
		return port{row: -1, above: above + s.base}
	}
	return port{row: s.row[root], above: above}
}

// joined tells whether a node hangs together with the return.
func (s *study) joined(n Node) bool { return s.whole.find(int32(n)) == s.whole.find(int32(s.ret)) }

func (s *study) factorise(rows int) *Failure {
	entries := make([]sparse.Entry, 0, 4*len(s.f.net.elements))
	given := make([]float64, 0, cap(entries))
	put := func(r, c int32, g float64) {
		if r >= 0 && c >= 0 {
			entries = append(entries, sparse.Entry{Row: r, Col: c})
			given = append(given, g)
		}
	}
	s.wires(func(w wire) {
		if !s.joined(w.a) {
			return
		}
		a, b := s.port(w.a).row, s.port(w.b).row
		put(a, a, w.g)
		put(b, b, w.g)
		put(a, b, -w.g)
		put(b, a, -w.g)
	})
	p, slot := sparse.NewPattern(rows, entries)
	values := make([]float64, len(p.Rows))
	for k, at := range slot {
		values[at] += given[k]
	}
	factor, row, ok := sparse.NewLDL(p, values)
	if !ok {
		f := &Failure{Cause: Singular, Node: s.ret, Element: None, Detail: "resistances too far apart to solve"}
		for i := range s.row {
			if int(s.row[i]) == row {
				f.Node = Node(i)
			}
		}
		return f
	}
	s.factor = factor
	return nil
}

// rest solves for the potentials with nothing shorted.
func (s *study) rest(rows int) {
	b := make([]float64, rows)
	into := func(p port, i float64) {
		if p.row >= 0 {
			b[p.row] += i
		}
	}
	s.wires(func(w wire) {
		if s.joined(w.a) {
			pa, pb := s.port(w.a), s.port(w.b)
			i := w.g * (w.e - (pa.above - pb.above))
			into(pa, i)
			into(pb, -i)
		}
	})
	for _, src := range s.f.sources {
		if src.limit > 0 && s.joined(src.pos) && s.joined(src.neg) {
			into(s.port(src.pos), src.limit)
			into(s.port(src.neg), -src.limit)
		}
	}
	s.factor.Solve(b)
	s.idle = b
}
