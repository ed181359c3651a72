package dc

import (
	"math"

	"fitout/validate/dc/sparse"
)

// law is how an element enters the equations.
type law uint8

const (
	conductor law = iota // current by conductance
	stiff                // resistance so small that its current is an unknown
	current
	power
	limited // source, diode or converter output: its current is an unknown
)

// port is one terminal as the equations see it: a row, or -1 at a reference,
// and a fixed potential above it.
type port struct {
	row   int32
	above float64
}

func (p port) volt(x []float64) float64 {
	if p.row < 0 {
		return p.above
	}
	return x[p.row] + p.above
}

// part is an element made ready for the equations.
type part struct {
	law   law
	id    ID
	a, b  port
	g, r  float64 // conductance, resistance (conductor, stiff; droop of limited)
	e     float64 // potential that drives current out of a
	draw  float64 // amperes or watts of a load
	sense float64 // 1, or -1 where a load sits the wrong way round
	row   int32   // its own equation, where its current is an unknown

	open float64 // voltage of its supply with all loads off

	maxI, maxP float64 // infinite where there is no limit
	ceiling    bool
	mode       Mode
	left       bool // has just stopped holding its voltage

	converter  bool
	c, d       port // converter input
	gain, idle float64
}

// hangs tells whether the element asks for power and can be left without.
func (p *part) hangs() bool { return p.law == current || p.law == power || p.converter }

// supply gives the port pair that feeds an element which hangs.
func (p *part) supply() (port, port) {
	if p.converter {
		return p.c, p.d
	}
	return p.a, p.b
}

// stiffBelow is the resistance under which a conductance would drown the sum
// of currents at its nodes in rounding: 12 V × 1e5 S × 2e-16 is 0.3 nA.
const stiffBelow = 1e-5

// bleed ties what only loads would tie while the loads are off, so that their
// voltage without load is defined; it fades as the loads come on.
const bleed = 1e-6

// even is the droop given to sources that would otherwise share without rule.
const even = 1e-7

// system is the set of equations of one network: a sum of currents for each
// joint that is not a reference, and one equation for each unknown current.
type system struct {
	net     *Network
	top     *topology
	ports   []port // by node
	parts   []part // rising by id
	rows    int    // sums of currents; further equations follow
	named   []Node // row → a node of it
	size    int
	pattern *sparse.Pattern
	slots   []int32
	lu      *sparse.LU

	values, f, noise, step []float64
	next                   int // place in slots while values are filled
	collect                *[]sparse.Entry
	iterations             int
	deficit                bool // a source has just reached its limit
}

func newSystem(n *Network, t *topology) *system {
	s := &system{net: n, top: t, ports: make([]port, n.nodes)}
	s.number()
	s.parts = make([]part, 0, len(n.elements))
	for k, e := range n.elements {
		if p, ok := s.prepare(ID(k), e); ok {
			s.parts = append(s.parts, p)
		}
	}
	s.size = s.rows
	for k := range s.parts {
		if p := &s.parts[k]; p.law == stiff || p.law == limited {
			p.row = int32(s.size)
			s.size++
		}
	}
	entries := make([]sparse.Entry, 0, 5*len(s.parts))
	s.f, s.noise, s.step = make([]float64, s.size), make([]float64, s.size), make([]float64, s.size)
	s.collect = &entries
	s.assemble(make([]float64, s.size), 1)
	s.collect = nil
	s.pattern, s.slots = sparse.NewPattern(s.size, entries)
	s.values = make([]float64, len(s.pattern.Rows))
	s.lu = sparse.NewLU(s.pattern)
	return s
}

// number gives rows to the joints that have volts and are no reference.
func (s *system) number() {
	t := s.top
	s.named = make([]Node, 0, s.net.nodes)
	row := make([]int32, s.net.nodes)
	shift := make([]float64, s.net.nodes)
	for i := range row {
		row[i] = -2
	}
	for _, ref := range t.references {
		root, above := t.root(ref)
		row[root], shift[root] = -1, -above
	}
	for i := range s.ports {
		if !t.live[i] {
			continue
		}
		root, above := t.root(Node(i))
		if row[root] == -2 {
			row[root] = int32(s.rows)
			s.named = append(s.named, Node(i))
			s.rows++
		}
		s.ports[i] = port{row: row[root], above: above + shift[root]}
	}
}

// prepare makes an element ready; false for joints and what is not fed.
func (s *system) prepare(id ID, e Element) (part, bool) {
	if !s.top.live[first(e)] {
		return part{}, false
	}
	p := part{id: id, row: -1, sense: 1}
	pair := func(a, b Node) { p.a, p.b = s.ports[a], s.ports[b] }
	resist := func(r float64) {
		p.law, p.r = conductor, r
		if r < stiffBelow {
			p.law = stiff
		} else {
			p.g = 1 / r
		}
	}
	if _, is := ideal(e); is {
		return part{}, false
	}
	switch e := e.(type) {
	case EMF:
		pair(e.Pos, e.Neg)
		resist(float64(e.R))
		p.e = float64(e.E)
	case Resistor:
		pair(e.To, e.From) // current out of To is current from From to To
		resist(float64(e.R))
	case ResistanceLoad:
		pair(e.Neg, e.Pos)
		resist(float64(e.R))
	case CurrentLoad:
		pair(e.Pos, e.Neg)
		p.law, p.draw = current, float64(e.I)
		return p, s.top.fed[id]
	case PowerLoad:
		pair(e.Pos, e.Neg)
		p.law, p.draw = power, float64(e.P)
		return p, s.top.fed[id]
	case Source:
		pair(e.Pos, e.Neg)
		p.limit(e.Output)
	case Diode:
		pair(e.Cathode, e.Anode)
		p.limit(Output{V: 1, Droop: e.R})
		p.e = -float64(e.Drop)
	case Converter:
		pair(e.OutPos, e.OutNeg)
		p.limit(e.Output)
		p.converter, p.c, p.d = true, s.ports[e.InPos], s.ports[e.InNeg]
		p.gain, p.idle = 1/float64(e.Efficiency), float64(e.Idle)
		return p, s.top.fed[id]
	}
	return p, true
}

func (p *part) limit(o Output) {
	p.law, p.r, p.e, p.ceiling = limited, float64(o.Droop), float64(o.V), o.V > 0
	p.maxI, p.maxP = math.Inf(1), math.Inf(1)
	if o.MaxI > 0 {
		p.maxI = float64(o.MaxI)
	}
	if o.MaxP > 0 {
		p.maxP = float64(o.MaxP)
	}
	p.start()
}

// start gives a source the mode in which the search begins.
func (p *part) start() {
	switch {
	case p.law != limited:
		p.mode = Working
	case p.ceiling:
		p.mode = Regulating
	case !math.IsInf(p.maxI, 1):
		p.mode = CurrentLimit
	default:
		p.mode = Off // P/v needs a voltage first
	}
}

// put adds to an entry of the matrix. The sequence of calls is the same for
// every state of the network, so each call has its slot.
func (s *system) put(row, col int32, v float64) {
	if row < 0 || col < 0 {
		return
	}
	if s.collect != nil {
		*s.collect = append(*s.collect, sparse.Entry{Row: row, Col: col})
		return
	}
	s.values[s.slots[s.next]] += v
	s.next++
}

// leave adds a current that leaves a node, and what rounding may hide of it.
func (s *system) leave(p port, amps, noise float64) {
	if p.row >= 0 {
		s.f[p.row] += amps
		s.noise[p.row] += noise
	}
}

// conduct adds a current from a to b with its derivative by the voltage.
func (s *system) conduct(a, b port, amps, g, noise float64) {
	s.leave(a, amps, noise)
	s.leave(b, -amps, noise)
	s.put(a.row, a.row, g)
	s.put(b.row, b.row, g)
	s.put(a.row, b.row, -g)
	s.put(b.row, a.row, -g)
}

// assemble fills matrix and residual at x, with loads at a share of their draw.
func (s *system) assemble(x []float64, load float64) {
	clear(s.values)
	clear(s.f)
	clear(s.noise)
	s.next = 0
	for k := range s.parts {
		p := &s.parts[k]
		va, vb := p.a.volt(x), p.b.volt(x)
		v := va - vb
		size := math.Abs(va) + math.Abs(vb)
		switch p.law {
		case conductor:
			i := p.g * (v - p.e)
			s.conduct(p.a, p.b, i, p.g, p.g*(size+math.Abs(p.e)))
		case stiff:
			s.deliver(p, x[p.row])
			s.own(p, v+p.r*x[p.row]-p.e, 1, p.r, size+math.Abs(p.e))
		case current:
			i := load*p.draw*p.sense + bleed*(1-load)*v
			s.conduct(p.a, p.b, i, bleed*(1-load), math.Abs(i))
		case power:
			w := away(v, p.sense)
			i := load * p.draw / w
			s.conduct(p.a, p.b, i+bleed*(1-load)*v, bleed*(1-load)-i/w, math.Abs(i))
		case limited:
			s.output(p, x[p.row], v, size)
			if p.converter {
				s.input(p, x, v, load)
			}
		}
	}
}

// away keeps a voltage from the pole of P/v; a solution never lies there.
func away(v, sense float64) float64 {
	if v*sense < 1e-3 {
		return 1e-3 * sense
	}
	return v
}

// deliver adds an unknown current that comes out at a and goes in at b.
func (s *system) deliver(p *part, i float64) {
	s.leave(p.a, -i, math.Abs(i))
	s.leave(p.b, i, math.Abs(i))
	s.put(p.a.row, p.row, -1)
	s.put(p.b.row, p.row, 1)
}

// own adds the equation of an unknown current.
func (s *system) own(p *part, f, dv, di, noise float64) {
	s.f[p.row] = f
	s.noise[p.row] = noise
	s.put(p.row, p.a.row, dv)
	s.put(p.row, p.b.row, -dv)
	s.put(p.row, p.row, di)
}

// output adds a source by its mode.
func (s *system) output(p *part, i, v, size float64) {
	s.deliver(p, i)
	switch p.mode {
	case Regulating:
		s.own(p, v+p.r*i-p.e, 1, p.r, size+math.Abs(p.e))
	case CurrentLimit:
		s.own(p, i-p.maxI, 0, 1, p.maxI)
	case PowerLimit:
		w := away(v, 1)
		s.own(p, i-p.maxP/w, p.maxP/(w*w), 1, math.Abs(i))
	default:
		s.own(p, i, 0, 1, 0)
	}
}

// input adds what a converter takes: output power by efficiency, and idle.
func (s *system) input(p *part, x []float64, v, load float64) {
	i := x[p.row]
	given, dgv, dgi := i*v, i, v
	if given < 0 {
		given, dgv, dgi = 0, 0, 0
	}
	vin := p.c.volt(x) - p.d.volt(x)
	w := away(vin, p.sense)
	in := load * (given*p.gain + p.idle) / w
	s.conduct(p.c, p.d, in+bleed*(1-load)*vin, bleed*(1-load)-in/w, math.Abs(in))
	for _, side := range [...]struct {
		at   port
		sign float64
	}{{p.c, 1}, {p.d, -1}} {
		k := side.sign * load * p.gain / w
		s.put(side.at.row, p.a.row, k*dgv)
		s.put(side.at.row, p.b.row, -k*dgv)
		s.put(side.at.row, p.row, k*dgi)
	}
}

// where names the node and element of an unknown.
func (s *system) where(unknown int) (Node, ID) {
	if unknown < s.rows {
		return s.named[unknown], None
	}
	for k := range s.parts {
		if int(s.parts[k].row) == unknown {
			return first(s.net.elements[s.parts[k].id]), s.parts[k].id
		}
	}
	return None, None
}
