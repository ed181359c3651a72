package survey

import (
	"math"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// State is the electrical net in one setting of its contacts: what is joined
// through no load, and how far joints lie apart in volts, summed along the
// batteries between them.
type State struct {
	*Groups
	Setting Setting
	// Loops are batteries whose volts contradict those of another way between
	// the same joints.
	Loops []Loop

	up        []int
	nom, high []float64 // volts of a group above its parent in up
	boost     map[int]float64
	lowest    map[int]float64
	highest   map[int]float64
}

// Loop is a battery that closes a ring of batteries: Other is the voltage that
// stands between its posts already.
type Loop struct {
	Edge  *trace.Edge
	Other unit.Volt
}

// State computes the net in a setting.
func (s *Survey) State(set Setting) *State {
	st := &State{Setting: set, Groups: s.Groups(set.Passes), boost: map[int]float64{}}
	count := len(s.Net.Nodes)
	st.up, st.nom, st.high = make([]int, count), make([]float64, count), make([]float64, count)
	for i := range st.up {
		st.up[i] = i
	}
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Type == trace.Battery {
			if v := e.Part.Volts("volts"); v.Given() && v.V > 0 {
				st.battery(e, float64(v.V), float64(HighestVolts(e.Part)))
			}
		}
	}
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Type == trace.ConvertIn && e.Branch.Convert.Volts.Given() {
			c := e.Branch.Convert
			st.source(s.Net.Node(e.Part, c.OutA), s.Net.Node(e.Part, c.OutB), float64(c.Volts.V))
		}
	}
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		if e.Type == trace.Feed && e.Branch.Feed.Volts.Given() && e.Branch.Feed.Needs != "sun" {
			st.source(e.A, s.Back(e), float64(e.Branch.Feed.Volts.V))
		}
	}
	st.extremes()
	return st
}

// HighestVolts is the highest voltage a battery sees while it charges: as
// stated, else by chemistry, else its nominal voltage.
func HighestVolts(p *schema.Part) unit.Volt {
	if v := p.Volts("charge-volts"); v.Given() {
		return v.V
	}
	nominal := p.Volts("volts").V
	if c, ok := tables.ChemistryOf(p.Word("chemistry").V); ok {
		high, _ := c.Highest(nominal)
		return high
	}
	return nominal
}

// at returns the root of a joint's group and the volts above it.
func (st *State) at(node int) (root int, nom, high float64) {
	g := st.Of(node)
	for st.up[g] != g {
		nom, high = nom+st.nom[g], high+st.high[g]
		g = st.up[g]
	}
	return g, nom, high
}

// relate says that a lies nom volts above b.
func (st *State) relate(a, b int, nom, high float64) {
	ra, na, ha := st.at(a)
	rb, nb, hb := st.at(b)
	st.up[ra] = rb
	st.nom[ra], st.high[ra] = nb+nom-na, hb+high-ha
}

func (st *State) battery(e *trace.Edge, nom, high float64) {
	if st.Same(e.A, e.B) {
		return
	}
	if v, _, ok := st.Volts(e.A, e.B); ok {
		if !SameNominal(v, unit.Volt(nom)) {
			st.Loops = append(st.Loops, Loop{e, v})
		}
		return
	}
	st.relate(e.A, e.B, nom, high)
}

// source adds a regulated voltage: it fixes what no battery fixes, and raises
// what a battery sees.
func (st *State) source(a, b int, volts float64) {
	if a < 0 || b < 0 || st.Same(a, b) || volts <= 0 {
		return
	}
	if _, high, ok := st.Volts(a, b); ok {
		if h := float64(high); h > 0 && volts > h {
			root, _, _ := st.at(a)
			st.boost[root] = math.Max(st.boost[root], volts/h)
		}
		return
	}
	st.relate(a, b, volts, volts)
}

// Volts returns how far a lies above b, nominal and at the highest charge; ok is
// false where nothing relates them.
func (st *State) Volts(a, b int) (nominal, highest unit.Volt, ok bool) {
	if a < 0 || b < 0 {
		return 0, 0, false
	}
	ra, na, ha := st.at(a)
	rb, nb, hb := st.at(b)
	if ra != rb {
		return 0, 0, false
	}
	k := 1.0
	if x := st.boost[ra]; x > 1 {
		k = x
	}
	return unit.Volt(na - nb), unit.Volt((ha - hb) * k), true
}

func (st *State) extremes() {
	st.lowest, st.highest = map[int]float64{}, map[int]float64{}
	for v := range st.up {
		if st.Of(v) != v {
			continue
		}
		root, _, high := st.at(v)
		st.lowest[root], st.highest[root] = math.Min(st.lowest[root], high), math.Max(st.highest[root], high)
	}
}

// Span returns the highest voltage between any two joints that sources relate to
// the joint; 0 where there are none.
func (st *State) Span(node int) unit.Volt {
	root, _, _ := st.at(node)
	k := 1.0
	if x := st.boost[root]; x > 1 {
		k = x
	}
	return unit.Volt((st.highest[root] - st.lowest[root]) * k)
}

// AboveLowest returns how far a joint lies above the lowest one that sources
// relate to it, at the highest charge.
func (st *State) AboveLowest(node int) unit.Volt {
	root, _, high := st.at(node)
	k := 1.0
	if x := st.boost[root]; x > 1 {
		k = x
	}
	return unit.Volt((high - st.lowest[root]) * k)
}

// Circuit numbers the joints between which sources fix the voltage: two joints
// with one number are related.
func (st *State) Circuit(node int) int {
	root, _, _ := st.at(node)
	return root
}

// Related reports whether sources fix the voltage between two joints.
func (st *State) Related(a, b int) bool {
	_, _, ok := st.Volts(a, b)
	return ok
}

// SameNominal reports whether two voltages belong to one nominal system: 12, 12.8
// and 14.6 do, 12 and 24 do not.
func SameNominal(a, b unit.Volt) bool {
	if a <= 0 || b <= 0 {
		return false
	}
	r := float64(a) / float64(b)
	return r > 0.78 && r < 1.28
}

// Live reports, for every joint, which groups a battery reaches: two joints with
// one number are the two sides of a way through batteries and what pass accepts.
type Live struct {
	*Groups
	across []int
}

// Live unites groups across batteries, and across other sources where others is
// set.
func (s *Survey) Live(g *Groups, others bool) *Live {
	l := &Live{Groups: g, across: make([]int, len(s.Net.Nodes))}
	for i := range l.across {
		l.across[i] = g.root[i]
	}
	join := func(a, b int) {
		if a >= 0 && b >= 0 {
			if a, b = l.find(g.root[a]), l.find(g.root[b]); a != b {
				l.across[b] = a
			}
		}
	}
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		switch {
		case e.Type == trace.Battery:
			join(e.A, e.B)
		case others && e.Type == trace.Feed:
			join(e.A, s.Back(e))
		case others && e.Type == trace.ConvertIn:
			join(s.Net.Node(e.Part, e.Branch.Convert.OutA), s.Net.Node(e.Part, e.Branch.Convert.OutB))
		}
	}
	for i := range l.across {
		l.across[i] = l.find(l.across[i])
	}
	return l
}

func (l *Live) find(n int) int {
	for l.across[n] != n {
		l.across[n] = l.across[l.across[n]]
		n = l.across[n]
	}
	return n
}

// Feeds reports whether a source stands between two joints: there is a way out
// and back.
func (l *Live) Feeds(a, b int) bool {
	return a >= 0 && b >= 0 && l.root[a] != l.root[b] && l.across[a] == l.across[b]
}
