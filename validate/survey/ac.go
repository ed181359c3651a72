package survey

import (
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/dc"
	"fitout/validate/trace"
)

// ACState is the AC system of the boat in one state: every load that runs at full
// draw, as currents of one magnitude. I = P / (V · power factor), V that of the
// source; the currents of several loads are added as they stand, which is never
// less than their sum by phase. A nil *ACState knows nothing.
type ACState struct {
	// Condition is nil where each load is looked at on its own, on a source or in
	// a position that no condition of the file has.
	Condition *schema.Condition
	// Position names the selectors that do not stand as usual: "S1 at 2".
	Position string
	Feeds    []*ACFeed
	// Missing are the data without which some current is too small or unknown.
	Missing []Gap
	Used    []diag.Used

	s    *Survey
	pass func(*trace.Edge) bool
}

// ACFeed is what one AC source feeds in a state.
type ACFeed struct {
	Source *trace.Edge
	Volts  unit.Volt
	Limit  unit.Amp // 0 where the file does not give it
	Loads  []*ACLoad
	// Asked is what all loads ask for together, or the largest where they run
	// alone.
	Asked unit.Amp
	Alone bool
}

// ACLoad is one load on an AC source.
type ACLoad struct {
	Part *schema.Part
	// Edge is the load's branch; of an inverter and charger that charges, the
	// charging one.
	Edge *trace.Edge
	Data *schema.LoadData // nil for what charges through an inverter
	Amps unit.Amp

	a, b   int
	net    *acNet
	shares []float64 // by edge of its net, of its own current
	volts  []float64 // by node of its net, per ampere of the load
	blind  []string  // data for want of which its drop is not known
	split  []int     // edges whose share is not known for want of them
}

// acPair is a joint pair of an AC load before it is solved.
type acPair struct {
	edge int
	a, b int
}

// AC returns the AC system in a condition, computed once.
func (s *Survey) AC(c *schema.Condition) *ACState {
	if s == nil || c == nil || !s.hasAC() {
		return nil
	}
	if s.acStates == nil {
		s.acStates = map[*schema.Condition]*ACState{}
	}
	st, ok := s.acStates[c]
	if !ok {
		st = s.acState(s.acFlow(c, s.setting(c), dcOptions{}), false)
		st.Condition = c
		s.acStates[c] = st
	}
	return st
}

// ACAlone returns, for shore power, each generator and the inverters, in every
// position of the selectors, the AC loads each on its own: what no condition of
// the file may have, and a person may do any day.
func (s *Survey) ACAlone() []*ACState {
	if s == nil || !s.hasAC() {
		return nil
	}
	if s.acAlone != nil {
		return s.acAlone
	}
	s.acAlone = []*ACState{}
	for _, set := range s.acPositions() {
		for _, c := range s.acAlternatives() {
			st := s.acState(s.acFlow(c, set.Setting, dcOptions{}), true)
			st.Position = set.name
			if len(st.Feeds) > 0 {
				s.acAlone = append(s.acAlone, st)
			}
		}
	}
	return s.acAlone
}

// acAlternatives are conditions made up: shore power, one generator, neither;
// every load runs.
func (s *Survey) acAlternatives() []*schema.Condition {
	var all []schema.Running
	for _, p := range s.Boat.Parts {
		if !p.Prepared && !p.Is(schema.Source) {
			all = append(all, schema.Running{Part: p, Duty: 1})
		}
	}
	list := []*schema.Condition{{Shore: schema.Of(true, schema.Derived), Running: all}, {Running: all}}
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Type == trace.Feed && e.Medium == schema.AC && e.Branch.Feed.Needs == "engine" {
			list = append(list, &schema.Condition{Running: append(slices.Clone(all), schema.Running{Part: e.Part, Duty: 1})})
		}
	}
	return list
}

type acPosition struct {
	Setting
	name string
}

// mostACPositions bounds the combinations of selector positions; beyond it the
// further selectors are moved one at a time.
const mostACPositions = 64

// acPositions lists the positions of the AC selectors, each combination once;
// what stands open at rest is closed.
func (s *Survey) acPositions() []acPosition {
	closed := Setting{}
	makes := map[*schema.Part][]string{}
	rest := map[*schema.Part]string{}
	var order []*schema.Part
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		switch {
		case e.Medium != schema.AC:
		case e.Type == trace.Device && opened(e.Part, nil):
			closed[e.Part] = "closed"
		case e.Type == trace.Contact && !Bond(e) && e.Branch.Contact.Exclusive:
			if makes[e.Part] == nil {
				order = append(order, e.Part)
			}
			rest[e.Part] = e.Branch.Contact.Position
			for _, at := range e.Branch.Contact.MakesIn {
				if !slices.Contains(makes[e.Part], at) {
					makes[e.Part] = append(makes[e.Part], at)
				}
			}
		case e.Type == trace.Contact && !Bond(e) && slices.Contains(e.Branch.Contact.MakesIn, "closed"):
			closed[e.Part] = "closed"
		}
	}
	list := []acPosition{{Setting: closed}}
	for _, p := range order {
		base := list
		if len(list)*len(makes[p]) > mostACPositions {
			base = list[:1]
		}
		var next []acPosition
		for _, have := range base {
			for _, at := range makes[p] {
				next = append(next, have.with(p, at, rest[p]))
			}
		}
		if len(base) < len(list) {
			next = append(list, next...)
		}
		list = next
	}
	return list
}

// with moves one more selector; it is named where it does not stand as usual.
func (x acPosition) with(p *schema.Part, at, rest string) acPosition {
	set := Setting{p: at}
	for q, pos := range x.Setting {
		set[q] = pos
	}
	if at != rest {
		if x.name != "" {
			x.name += ", "
		}
		x.name += p.ID + " at " + at
	}
	return acPosition{set, x.name}
}

// acState works out what flows, source by source: a load hangs on one of them.
func (s *Survey) acState(f *acFlow, alone bool) *ACState {
	st := &ACState{s: s, pass: f.pass}
	if f.groups == nil {
		return st
	}
	for _, k := range f.sources {
		src := &s.Net.Edges[k]
		if src.Branch.Feed.InA == "+" && !f.inverts(src.Part) {
			continue
		}
		feed := &ACFeed{Source: src, Volts: src.Branch.Feed.Volts.V, Limit: src.Branch.Feed.Amps.V, Alone: alone}
		st.feed(f, k, feed)
		if len(feed.Loads) > 0 {
			st.Feeds = append(st.Feeds, feed)
		}
	}
	return st
}

func (st *ACState) gap(what string, p *schema.Part, ids ...string) {
	for _, have := range st.Missing {
		if have.What == what {
			return
		}
	}
	st.Missing = append(st.Missing, Gap{What: what, At: p.At, IDs: append([]string{p.ID}, ids...)})
}

func (st *ACState) feed(f *acFlow, k int, feed *ACFeed) {
	src := feed.Source
	var pairs []acPair
	for _, x := range f.loads {
		if f.feeder(x) == k {
			pairs = append(pairs, x)
		}
	}
	for _, p := range f.powerless(src) {
		st.gap("power of "+p.ID, p)
	}
	if len(pairs) == 0 {
		return
	}
	if feed.Volts <= 0 {
		feed.Volts = st.nominal(pairs)
	}
	if feed.Volts <= 0 {
		st.gap("volts of "+src.Part.ID, src.Part)
		return
	}
	net := st.island(src)
	for _, x := range pairs {
		e := &st.s.Net.Edges[x.edge]
		_, amps, missing := f.ask(x, feed.Volts, 0)
		if missing != "" {
			st.gap(missing, e.Part)
		}
		l := &ACLoad{Part: e.Part, Edge: e, Amps: amps, a: x.a, b: x.b}
		if e.Type == trace.Load {
			l.Data = e.Branch.Load
		}
		if amps <= 0 {
			continue
		}
		if l.Data != nil && l.Data.Watts.Given() && !l.Data.Amps.Given() && !l.Data.PowerFactor.Given() {
			st.Used = append(st.Used, diag.Used{At: e.Part.ID, What: "power-factor", Value: "1", Source: "assumed where the file does not state it"})
		}
		if !net.solve(l) {
			continue // open-circuit tells
		}
		feed.Loads = append(feed.Loads, l)
		if feed.Alone {
			feed.Asked = max(feed.Asked, amps)
		} else {
			feed.Asked += amps
		}
	}
}

// nominal is the voltage of a source that states none: that of its loads.
func (st *ACState) nominal(pairs []acPair) unit.Volt {
	for _, x := range pairs {
		if e := &st.s.Net.Edges[x.edge]; e.Type == trace.Load && e.Branch.Load.Volts.V > 0 {
			return e.Branch.Load.Volts.V
		}
	}
	return 0
}

// acNet is what hangs on one source, with nodes numbered from 0.
type acNet struct {
	st      *ACState
	src     *trace.Edge
	local   map[int]int // node of the boat → here
	nodes   []int
	edges   []int
	at      map[int]int    // edge of the boat → place in edges
	unknown map[int]string // edges without a resistance → the datum
}

// island collects the conductors and closed contacts that hang on a source's line
// and neutral.
func (st *ACState) island(src *trace.Edge) *acNet {
	n := &acNet{st: st, src: src, local: map[int]int{}, at: map[int]int{}, unknown: map[int]string{}}
	net := st.s.Net
	var work []int
	see := func(v int) {
		if _, ok := n.local[v]; !ok {
			n.local[v] = len(n.nodes)
			n.nodes = append(n.nodes, v)
			work = append(work, v)
		}
	}
	see(src.A)
	see(src.B)
	for len(work) > 0 {
		v := work[len(work)-1]
		work = work[:len(work)-1]
		for _, id := range net.Nodes[v].Edges {
			e := &net.Edges[id]
			if _, used := n.at[id]; used || e.Medium != schema.AC || e.A == e.B || !st.joins(e) {
				continue
			}
			n.at[id] = len(n.edges)
			n.edges = append(n.edges, id)
			if e.Type == trace.Conductor {
				if _, missing := st.s.edgeOhms(id, false); missing != "" {
					n.unknown[id] = missing
				}
			}
			see(e.Other(v))
		}
	}
	return n
}

// joins reports an edge that carries load current in the state: the earth and the
// bond of neutral to earth do not.
func (st *ACState) joins(e *trace.Edge) bool {
	switch e.Type {
	case trace.Conductor:
		return e.Wire.Core != "PE"
	case trace.Device, trace.Contact:
		return !Bond(e) && st.pass(e)
	}
	return false
}

// standIns are resistances for conductors that have none: a figure that does not
// depend on them is known all the same.
var standIns = [2]unit.Ohm{0.01, 0.07}

// solve finds how one ampere of a load runs through the network; false where
// there is no way out and back.
func (n *acNet) solve(l *ACLoad) bool {
	var ok bool
	l.net = n
	if l.shares, l.volts, ok = n.unit(l, standIns[0]); !ok {
		return false
	}
	if len(n.unknown) == 0 {
		return true
	}
	again, _, _ := n.unit(l, standIns[1])
	for i, id := range n.edges {
		if again != nil && math.Abs(l.shares[i]-again[i]) > 1e-9 {
			l.split = append(l.split, id)
		}
		if missing, ok := n.unknown[id]; ok && math.Abs(l.shares[i]) > 1e-9 && !slices.Contains(l.blind, missing) {
			l.blind = append(l.blind, missing)
		}
	}
	return true
}

// stiff is the voltage a unit current is solved at: no loss brings it down, and
// the network is linear.
const stiff = 1000

func (n *acNet) unit(l *ACLoad, standIn unit.Ohm) (shares, volts []float64, fed bool) {
	a, okA := n.local[l.a]
	b, okB := n.local[l.b]
	if !okA || !okB || a == b {
		return nil, nil, false
	}
	net := &dc.Network{}
	net.Nodes(len(n.nodes))
	net.Grow(len(n.edges) + 2)
	net.Add(dc.Source{Pos: 0, Neg: dc.Node(n.local[n.src.B]), Output: dc.Output{V: stiff}})
	load := net.Add(dc.CurrentLoad{Pos: dc.Node(a), Neg: dc.Node(b), I: 1})
	ids := make([]dc.ID, len(n.edges))
	for i, id := range n.edges {
		e := &n.st.s.Net.Edges[id]
		ids[i] = net.Add(dc.Resistor{From: dc.Node(n.local[e.A]), To: dc.Node(n.local[e.B]), R: n.ohms(id, e, standIn)})
	}
	sol, err := dc.Solve(net)
	if err != nil || math.Abs(float64(sol.Amps[load])-1) > 1e-6 {
		return nil, nil, false
	}
	shares, volts = make([]float64, len(n.edges)), make([]float64, len(n.nodes))
	for i := range n.edges {
		shares[i] = float64(sol.Amps[ids[i]])
	}
	for i := range n.nodes {
		volts[i] = math.NaN()
		if v, ok := sol.Volts(dc.Node(i)); ok {
			volts[i] = float64(v)
		}
	}
	return shares, volts, true
}

func (n *acNet) ohms(id int, e *trace.Edge, standIn unit.Ohm) unit.Ohm {
	if _, missing := n.unknown[id]; missing {
		return standIn
	}
	if e.Type == trace.Conductor {
		r, _ := n.st.s.edgeOhms(id, false)
		return r
	}
	if e.Branch.Ohms.Given() {
		return e.Branch.Ohms.V
	}
	return e.Branch.OhmsDefault
}

// lost is what one ampere of l loses between the source and a pair of joints.
func (n *acNet) lost(l *ACLoad, a, b int) float64 {
	ia, okA := n.local[a]
	ib, okB := n.local[b]
	if !okA || !okB {
		return math.NaN()
	}
	back := n.local[n.src.B]
	return l.volts[0] - l.volts[ia] + l.volts[ib] - l.volts[back]
}

// share is the part of a load's current that runs through an edge.
func (l *ACLoad) share(id int) float64 {
	if i, ok := l.net.at[id]; ok {
		return l.shares[i]
	}
	return 0
}

// within keeps a current within what the source gives: more than that, and how
// long, is source-overload's finding.
func (f *ACFeed) within(amps, lasting float64) ACEdge {
	x := ACEdge{Amps: unit.Amp(math.Abs(amps)), Continuous: unit.Amp(math.Abs(lasting))}
	if f.Limit > 0 && x.Amps > f.Limit {
		x.Amps, x.Continuous = f.Limit, 0
	}
	return x
}

// ACEdge is what flows through one edge of the net in a state.
type ACEdge struct {
	// Amps is no more than the source gives; Asked is what the loads ask for.
	Amps, Asked unit.Amp
	Feed        *ACFeed
	Load        *ACLoad // where the loads run alone
	// Continuous is what the loads that run for hours have of it.
	Continuous unit.Amp
	// Start is the largest current while one of the loads starts, Starter that
	// load.
	Start   unit.Amp
	Starter *ACLoad
	Behind  []*schema.Part
}

// Edge returns what flows through an edge; missing names the datum without which
// it is not known.
func (st *ACState) Edge(id int) (x ACEdge, missing string) {
	if st == nil {
		return x, ""
	}
	for _, f := range st.Feeds {
		y := f.edge(id)
		for _, l := range f.Loads {
			if slices.Contains(l.split, id) && len(l.blind) > 0 {
				return ACEdge{}, l.blind[0]
			}
		}
		if y.Amps > x.Amps {
			x = y
		}
	}
	return x, ""
}

func (f *ACFeed) edge(id int) ACEdge {
	x := ACEdge{Feed: f}
	sum, lasting := 0.0, 0.0
	for _, l := range f.Loads {
		i := l.share(id) * float64(l.Amps)
		if math.Abs(i) < 1e-9 {
			continue
		}
		x.Behind = append(x.Behind, l.Part)
		long := 0.0
		if l.Data != nil && l.Data.Continuous {
			long = i
		}
		if !f.Alone {
			sum, lasting = sum+i, lasting+long
			continue
		}
		if y := f.within(i, long); y.Amps > x.Amps {
			x.Amps, x.Continuous, x.Load = y.Amps, y.Continuous, l
		}
	}
	if !f.Alone {
		y := f.within(sum, lasting)
		x.Amps, x.Continuous, x.Asked = y.Amps, y.Continuous, unit.Amp(math.Abs(sum))
	}
	if f.Alone && x.Load != nil {
		x.Behind = []*schema.Part{x.Load.Part}
	}
	for _, l := range f.Loads {
		if l.Data == nil || !l.Data.Starting.Given() || l.share(id) == 0 || f.Alone && l != x.Load {
			continue
		}
		start := float64(l.Data.Starting.V) * float64(max(1, l.Data.Count))
		total := unit.Amp(math.Abs(sum + (start-float64(l.Amps))*l.share(id)))
		if f.Alone {
			total = unit.Amp(start * math.Abs(l.share(id)))
		}
		if total > x.Start {
			x.Start, x.Starter = total, l
		}
	}
	return x
}

// Drop is what a load loses on the way from its source out and back; missing names
// the datum without which it is not known. While starting is set, that load takes
// its starting current.
func (st *ACState) Drop(f *ACFeed, l *ACLoad, starting *ACLoad) (d Drop, missing string) {
	if len(l.blind) > 0 {
		return d, l.blind[0]
	}
	d.Source = f.Source.Part
	bar, back, panel := st.panelBefore(l)
	scale := 1.0
	if f.Limit > 0 && f.Asked > f.Limit && starting == nil {
		scale = float64(f.Limit / f.Asked)
	}
	for _, o := range f.Loads {
		if f.Alone && o != l {
			continue
		}
		amps := scale * float64(o.Amps)
		if o == starting {
			amps = float64(o.Data.Starting.V) * float64(max(1, o.Data.Count))
		}
		all := amps * o.net.lost(o, l.a, l.b)
		d.Volts += unit.Volt(all)
		d.FromPanel += unit.Volt(all)
		if panel != nil {
			d.FromPanel -= unit.Volt(amps * o.net.lost(o, bar, back))
		}
	}
	d.Panel = panel
	return d, ""
}

// At is the feed and the load of a load's edge in the state, nil where it takes
// nothing.
func (st *ACState) At(e *trace.Edge) (*ACFeed, *ACLoad) {
	if st != nil {
		for _, f := range st.Feeds {
			for _, l := range f.Loads {
				if l.Edge == e {
					return f, l
				}
			}
		}
	}
	return nil, nil
}

// panelBefore is the panel nearest to a load on the way to its source, with the
// joints of its line and neutral.
func (st *ACState) panelBefore(l *ACLoad) (line, neutral int, panel *schema.Part) {
	pass := func(e *trace.Edge) bool { return e.Medium == schema.AC && st.joins(e) }
	path := st.s.Path(l.a, l.net.src.A, pass)
	v := l.a
	for _, e := range path {
		v = e.Other(v)
		for _, end := range st.s.Net.Nodes[v].Ends {
			if end.Part.Is(schema.Panel|schema.ACPart) && end.Terminal == "L-in" {
				n := st.s.Net.Node(end.Part, "N-in")
				if _, ok := l.net.local[n]; ok {
					return v, n, end.Part
				}
			}
		}
	}
	return 0, 0, nil
}
