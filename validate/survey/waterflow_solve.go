package survey

import (
	"errors"
	"slices"
	"sort"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
	"fitout/validate/water"
)

// solveWater finds the circuits that run in a condition and solves each.
func (s *Survey) solveWater(c *schema.Condition) *WaterState {
	w := &WaterState{Condition: c, survey: s}
	w.run()
	return w
}

func (w *WaterState) run() {
	g := w.survey.flowNet()
	w.byEdge, w.open = make([]*WaterCircuit, len(g.edges)), make([]bool, len(g.edges))
	for i := range g.edges {
		w.open[i] = passable(w.Condition, &g.edges[i])
	}
	w.drive = w.drives(g)
	for _, circuit := range w.circuits(g, w.drive) {
		w.Circuits = append(w.Circuits, circuit)
		for _, e := range circuit.edges {
			w.byEdge[e] = circuit
		}
		w.solve(g, circuit, w.drive)
	}
}

// passable reports whether the valves let water along an edge in a condition.
func passable(c *schema.Condition, e *flowEdge) bool {
	if e.part == nil || len(e.channel.MakesIn) == 0 {
		return true
	}
	return slices.Contains(e.channel.MakesIn, position(c, e.part, e.channel.Position))
}

func position(c *schema.Condition, p *schema.Part, usual string) string {
	if c != nil {
		if at, ok := c.Positions[p.ID]; ok {
			return at
		}
		if slices.Contains(c.Closed, p) {
			return "closed"
		}
		if slices.Contains(c.Open, p) {
			return "open"
		}
	}
	return usual
}

// circuits parts the graph at shut valves and keeps what a running pump or shore
// water reaches.
func (w *WaterState) circuits(g *flowGraph, drives []*drive) []*WaterCircuit {
	root := make([]int, len(g.nodes))
	for i := range root {
		root[i] = i
	}
	find := func(i int) int {
		for root[i] != i {
			root[i] = root[root[i]]
			i = root[i]
		}
		return i
	}
	for i := range g.edges {
		if a, b := find(g.edges[i].a), find(g.edges[i].b); w.open[i] && a != b {
			root[b] = a
		}
	}
	cut := make([]bool, len(g.edges))
	byRoot := map[int]*WaterCircuit{}
	var list []*WaterCircuit
	need := func(node int) *WaterCircuit {
		r := find(node)
		if byRoot[r] == nil {
			byRoot[r] = &WaterCircuit{graph: g, cut: cut}
			list = append(list, byRoot[r])
		}
		return byRoot[r]
	}
	for i, d := range drives {
		if d != nil && d.runs {
			c := need(g.edges[i].a)
			c.Pumps = append(c.Pumps, g.edges[i].part)
		}
	}
	for i := range g.nodes {
		if p := g.nodes[i].port; w.supplies(p) || w.Condition == nil && p != nil && p.kind == toBody && p.in {
			need(i)
		}
	}
	for i := range g.edges {
		if c := byRoot[find(g.edges[i].a)]; c != nil && w.open[i] {
			c.edges = append(c.edges, i)
		}
	}
	for i := range g.nodes {
		if c := byRoot[find(i)]; c != nil {
			c.nodes = append(c.nodes, i)
		}
	}
	return list
}

// supplies reports shore water that is joined in this condition.
func (w *WaterState) supplies(p *flowPort) bool {
	return p != nil && p.kind == toShore && w.Condition != nil && w.Condition.Shore.V
}

// outside reports whether a port opens to anything in this condition.
func (w *WaterState) outside(p *flowPort) bool {
	switch {
	case p == nil:
		return false
	case p.kind == toShore:
		return w.supplies(p)
	case p.part != nil && p.kind == toAir && w.Condition != nil:
		return !slices.Contains(w.Condition.Closed, p.part) && w.tapped(p)
	}
	return true
}

// tapped reports whether an outlet is open: all are, unless the condition names
// some that run.
func (w *WaterState) tapped(p *flowPort) bool {
	if w.Condition == nil || w.Condition.BuiltIn || !p.part.Is(schema.InsideOpening) {
		return true
	}
	any := false
	for _, r := range w.Condition.Running {
		if r.Part == p.part {
			return true
		}
		any = any || r.Part.Is(schema.InsideOpening) && !r.Part.Is(schema.Toilet) && !r.Part.Is(schema.Load)
	}
	return !any
}

// solve prunes a circuit, looks for what it lacks and solves it.
func (w *WaterState) solve(g *flowGraph, c *WaterCircuit, drives []*drive) {
	w.prune(g, c)
	c.Missing = w.lacking(g, c, drives)
	if len(c.Missing) > 0 && w.flowStands(g, c, drives) {
		c.HeadsMissing, c.Missing = c.Missing, nil
	}
	if len(c.Missing) > 0 {
		return
	}
	w.note(g, c, drives)
	for _, a := range w.attitudes(g, c) {
		run, lacks, err := w.runIn(g, c, drives, a)
		switch {
		case len(lacks) > 0:
			c.Missing = merge(c.Missing, lacks)
			continue
		case err != nil:
			c.Failed = err
			continue
		}
		c.Runs = append(c.Runs, run)
		if c.Worst == nil || run.moved() < c.Worst.moved() {
			c.Worst = run
		}
	}
}

// attitudes are those of the condition; a circuit without the sea is the same in
// all of them as far as the file can tell, save for its heights.
func (w *WaterState) attitudes(g *flowGraph, c *WaterCircuit) []Attitude {
	if w.Condition == nil {
		return []Attitude{NewAttitude(0, 0)}
	}
	return Running(w.Condition)
}

// prune takes out the dead ends: no water moves there.
func (w *WaterState) prune(g *flowGraph, c *WaterCircuit) {
	degree := make(map[int]int, len(c.nodes))
	for _, e := range c.edges {
		if g.edges[e].a != g.edges[e].b {
			degree[g.edges[e].a]++
			degree[g.edges[e].b]++
		}
	}
	var leaves []int
	leaf := func(n int) bool { return degree[n] == 1 && !w.outside(g.nodes[n].port) }
	for _, n := range c.nodes {
		if leaf(n) {
			leaves = append(leaves, n)
		}
	}
	for len(leaves) > 0 {
		n := leaves[0]
		leaves = leaves[1:]
		for _, e := range g.nodes[n].edges {
			if w.byEdge[e] != c || c.cut[e] || g.edges[e].a == g.edges[e].b {
				continue
			}
			c.cut[e] = true
			c.gone = append(c.gone, e)
			other := g.edges[e].a + g.edges[e].b - n
			degree[n]--
			degree[other]--
			if leaf(other) {
				leaves = append(leaves, other)
			}
		}
	}
}

// lacking lists the data without which the circuit's flow is not known.
func (w *WaterState) lacking(g *flowGraph, c *WaterCircuit, drives []*drive) []Datum {
	var out []Datum
	for _, e := range c.edges {
		if c.cut[e] {
			continue
		}
		if d := drives[e]; d != nil {
			if d.runs {
				out = merge(out, d.lacks)
				continue
			}
			if g.edges[e].kind == pumpWay {
				continue
			}
		}
		out = merge(out, g.edges[e].lacks)
	}
	return out
}

// flowStands reports whether a displacement pump on an unbranched line sets the
// flow whatever the losses are.
func (w *WaterState) flowStands(g *flowGraph, c *WaterCircuit, drives []*drive) bool {
	degree := map[int]int{}
	fixed := 0
	for _, e := range c.edges {
		if c.cut[e] {
			continue
		}
		degree[g.edges[e].a]++
		degree[g.edges[e].b]++
		if d := drives[e]; d != nil && d.runs {
			if len(d.lacks) > 0 || !d.fixed {
				return false
			}
			fixed++
		}
		if h := g.edges[e].hose; h != nil && (!h.Bore.Given() || h.Bore.V <= 0) && !(h.Length.Given() && h.Length.V == 0) {
			return false
		}
	}
	for n, d := range degree {
		if w.outside(g.nodes[n].port) {
			d++
		}
		if d > 2 {
			return false
		}
	}
	return fixed == 1
}

func merge(list []Datum, more []Datum) []Datum {
	for _, d := range more {
		if !slices.ContainsFunc(list, func(o Datum) bool { return o.Missing == d.Missing }) {
			list = append(list, d)
		}
	}
	return list
}

// note collects the defaults the solution rests on.
func (w *WaterState) note(g *flowGraph, c *WaterCircuit, drives []*drive) {
	for _, n := range c.nodes {
		if p := g.nodes[n].port; p != nil && c.used(g, n) {
			c.Used = append(c.Used, p.used...)
		}
	}
	for _, e := range c.edges {
		if c.cut[e] {
			continue
		}
		if d := drives[e]; d != nil && d.runs {
			c.Used = append(c.Used, d.used...)
		} else {
			c.Used = append(c.Used, g.edges[e].used...)
		}
	}
}

// runIn solves the circuit in one attitude, taking out pumps that do not lift to
// their crest.
func (w *WaterState) runIn(g *flowGraph, c *WaterCircuit, drives []*drive, a Attitude) (*WaterRun, []Datum, error) {
	r := &WaterRun{Attitude: a, Circuit: c, state: w, stuck: map[int]water.PumpState{}, short: map[int]Prime{}}
	for _, e := range c.edges {
		d := drives[e]
		if d == nil || !d.runs {
			continue
		}
		p := w.prime(g, c, e, a)
		r.short[e] = p
		if d.dead {
			r.stuck[e] = water.CannotLift
			continue
		}
		if most, limited := d.shutOff(); limited && p.Known && most < p.Lift {
			r.stuck[e] = water.CannotLift
		}
	}
	lacks := r.build(g, drives)
	if len(lacks) > 0 {
		return nil, lacks, nil
	}
	sol, err := water.Solve(r.net, r.model)
	if err != nil {
		return nil, nil, r.failure(g, err)
	}
	r.sol = sol
	return r, nil, nil
}

func (r *WaterRun) failure(g *flowGraph, err error) error {
	var f *water.Failure
	if !errors.As(err, &f) {
		return err
	}
	at := ""
	for i, id := range r.edge {
		if id == f.Edge {
			at = g.edges[i].name()
		}
	}
	for i, id := range r.node {
		if id == f.Node {
			at = g.nodes[i].name()
		}
	}
	return &WaterFailure{At: at, Reason: f.Reason.String()}
}

// WaterFailure says where no solution was found.
type WaterFailure struct{ At, Reason string }

func (f *WaterFailure) Error() string {
	if f.At == "" {
		return f.Reason
	}
	return f.Reason + " at " + f.At
}

func (e *flowEdge) name() string {
	if e.hose != nil {
		return e.hose.ID
	}
	return e.part.ID
}

func (n *flowNode) name() string {
	if len(n.ends) == 0 {
		return "an open end"
	}
	return schema.End{Part: n.ends[0].part, Terminal: n.ends[0].terminal}.String()
}

// build writes the circuit as a network of the solver.
func (r *WaterRun) build(g *flowGraph, drives []*drive) (lacks []Datum) {
	r.net = &water.Network{}
	r.node, r.edge = make(map[int]water.NodeID, len(r.Circuit.nodes)), make(map[int]water.EdgeID, len(r.Circuit.edges))
	r.model = r.state.modelIn(g, r.Circuit)
	for _, n := range r.Circuit.nodes {
		if r.Circuit.used(g, n) {
			lacks = merge(lacks, r.addNode(g, n))
		}
	}
	if len(lacks) > 0 {
		return lacks
	}
	for _, e := range r.Circuit.edges {
		if !r.Circuit.cut[e] && g.edges[e].a != g.edges[e].b {
			lacks = merge(lacks, r.addEdge(g, e, drives[e]))
		}
	}
	return lacks
}

// used reports a node that an edge left in the circuit meets.
func (c *WaterCircuit) used(g *flowGraph, n int) bool {
	for _, e := range g.nodes[n].edges {
		if i := sort.SearchInts(c.edges, e); i < len(c.edges) && c.edges[i] == e && !c.cut[e] {
			return true
		}
	}
	return false
}

// modelIn is the water a circuit carries: sea water, unless it is fed from fresh
// water alone.
func (w *WaterState) modelIn(g *flowGraph, c *WaterCircuit) water.Model {
	word := w.survey.Boat.Vessel.Water.Or("sea")
	fresh, sea := false, false
	for _, n := range c.nodes {
		if p := g.nodes[n].port; p != nil && p.in {
			fresh = fresh || p.fresh || p.kind == toShore
			sea = sea || p.kind == toSea
		}
	}
	if fresh && !sea {
		word = "fresh"
	}
	return w.survey.modelOf(word, w.Condition)
}

// deep stands for a height that is not known, where only pressures rest on it.
const deep unit.Metre = -100

func (r *WaterRun) addNode(g *flowGraph, n int) []Datum {
	nd := &g.nodes[n]
	s := r.state.survey
	h, lack := s.heightIn(r.Attitude, nd.place)
	if lack != nil {
		h = deep
	}
	r.node[n] = r.net.Junction(h)
	if !r.state.outside(nd.port) {
		return nil
	}
	return r.addPort(n, nd.port)
}

// addPort joins a node to what lies outside of it.
func (r *WaterRun) addPort(n int, p *flowPort) []Datum {
	h, lack := r.state.survey.heightIn(r.Attitude, p.place)
	if lack != nil {
		return []Datum{*lack}
	}
	var out water.NodeID
	lost := water.Opening{Height: h, Level: h}
	if !p.in {
		if !p.bore.Given() {
			return []Datum{{Missing: "bore of the last hose at " + p.name(), At: p.place.At, IDs: p.ids()}}
		}
		lost.Bore = p.bore.V
	}
	switch p.kind {
	case toSea:
		lost.Level = 0
		out = r.net.Opening(lost)
	case toAir:
		lost.Level = water.NoWater()
		out = r.net.Opening(lost)
	case toShore:
		out = r.net.Reservoir(h+unit.Metre(p.head), h)
	default:
		out = r.net.Opening(lost)
	}
	loss, lacks := r.portLoss(p)
	if p.in {
		r.net.Device(out, r.node[n], water.Device{Loss: loss})
	} else {
		r.net.Device(r.node[n], out, water.Device{Loss: loss})
	}
	return lacks
}

func (p *flowPort) name() string {
	if p.part == nil {
		return "the open end"
	}
	return p.part.ID
}

func (p *flowPort) ids() []string {
	if p.part == nil {
		return nil
	}
	return []string{p.part.ID}
}

func (r *WaterRun) portLoss(p *flowPort) (water.LossCurve, []Datum) {
	if len(p.loss) > 0 {
		return lossCurve(p.loss, p.part)
	}
	if p.k == 0 {
		return water.LossCurve{}, nil
	}
	if !p.bore.Given() || p.bore.V <= 0 {
		return water.LossCurve{}, []Datum{{Missing: "size of " + p.name(), At: p.place.At, IDs: p.ids()}}
	}
	return r.kCurve(p.k, p.bore.V), nil
}

func lossCurve(points []schema.CurvePoint, p *schema.Part) (water.LossCurve, []Datum) {
	c, err := water.NewLossCurve(curvePoints(points))
	if err != nil {
		return c, []Datum{partDatum("loss of "+p.ID+" as a curve ("+reason(err)+")", p)}
	}
	return c, nil
}

// curvePoints sorts the points of a curve by flow.
func curvePoints(points []schema.CurvePoint) []water.Point {
	out := make([]water.Point, len(points))
	for i, p := range points {
		out[i] = water.Point{Flow: unit.LitrePerMin(p.X), Head: unit.Head(p.Y)}
	}
	slices.SortStableFunc(out, func(a, b water.Point) int {
		switch {
		case a.Flow < b.Flow:
			return -1
		case a.Flow > b.Flow:
			return 1
		}
		return 0
	})
	return out
}

func reason(err error) string {
	const prefix = "water: curve: "
	if t := err.Error(); len(t) > len(prefix) {
		return t[len(prefix):]
	}
	return err.Error()
}

// kCurve is k velocity heads on a bore, as head by flow.
func (r *WaterRun) kCurve(k float64, bore unit.Metre) water.LossCurve {
	g := float64(r.model.Gravity)
	if g == 0 {
		g = float64(water.StandardGravity)
	}
	oneMetre := unit.LitrePerMin(60000 * area(bore)) // at 1 m/s
	c, err := water.NewLossCurve([]water.Point{{Flow: oneMetre, Head: unit.Head(k / (2 * g))}})
	if err != nil {
		return water.LossCurve{}
	}
	return c
}

func (r *WaterRun) addEdge(g *flowGraph, i int, d *drive) []Datum {
	e := &g.edges[i]
	a, b := r.node[e.a], r.node[e.b]
	switch {
	case e.kind == hoseRun:
		r.edge[i] = r.addHose(e, a, b)
		return nil
	case d != nil && d.runs:
		r.edge[i] = r.addPump(i, d, a, b)
		return nil
	case e.kind == pumpWay:
		loss, lacks := water.LossCurve{}, []Datum(nil)
		if len(e.channel.Loss) > 0 {
			loss, lacks = lossCurve(e.channel.Loss, e.part)
		}
		r.edge[i] = r.net.Idle(a, b, water.Device{Loss: loss, Check: e.channel.Pump.Displacement})
		return lacks
	}
	loss, lacks := r.wayLoss(e)
	if e.channel.Vented {
		h, lack := r.state.survey.heightIn(r.Attitude, g.nodes[e.a].place)
		if lack != nil {
			return append(lacks, *lack)
		}
		bore := e.bore.V
		r.edge[i] = r.net.Vent(a, b, water.Vent{Height: h, Bore: bore, Loss: loss})
		return lacks
	}
	r.edge[i] = r.net.Device(a, b, water.Device{Loss: loss, Check: e.channel.Type == schema.Check})
	return lacks
}

// fouling is what a half-blocked strainer costs over a clean one (from memory).
const fouling = 2

func (r *WaterRun) wayLoss(e *flowEdge) (water.LossCurve, []Datum) {
	factor := 1.0
	if r.state.fouled && e.part.Is(schema.Strainer) {
		factor = fouling
	}
	switch {
	case len(e.channel.Loss) > 0:
		points := slices.Clone(e.channel.Loss)
		for i := range points {
			points[i].Y *= factor
		}
		return lossCurve(points, e.part)
	case e.bore.Given():
		return r.kCurve(factor*e.channel.K, e.bore.V), nil
	}
	return water.LossCurve{}, nil
}

func (r *WaterRun) addPump(i int, d *drive, a, b water.NodeID) water.EdgeID {
	switch {
	case r.stuck[i] != "":
		return r.net.Device(a, b, water.Device{Closed: true})
	case d.curved:
		return r.net.Pump(a, b, water.Pump{Curve: d.curve, Speed: d.speed})
	}
	return r.net.Displacement(a, b, water.Displacement{Flow: d.flow, Limit: d.limit})
}

func (r *WaterRun) addHose(e *flowEdge, a, b water.NodeID) water.EdgeID {
	h := e.hose
	if !h.Bore.Given() || h.Bore.V <= 0 || h.Length.Given() && h.Length.V == 0 {
		return r.net.Device(a, b, water.Device{})
	}
	wall, corrugated := hoseWall(h)
	p := water.Pipe{Length: h.Length.V, Bore: h.Bore.V, Roughness: wall, Corrugated: corrugated, Minor: e.minor}
	if crest, ok := r.state.survey.alongIn(r.Attitude, e.peaks); ok {
		p.Crest, p.HasCrest = crest, true
	}
	return r.net.Pipe(a, b, p)
}

// hoseWall is the roughness of a hose and whether its friction is that of
// corrugations.
func hoseWall(h *schema.Hose) (unit.Metre, bool) {
	if h.Roughness.Given() {
		return h.Roughness.V, false
	}
	if h.Wall.V == "corrugated" {
		eps, _ := tables.Roughness("smooth")
		return eps, true
	}
	eps, _ := tables.Roughness(h.Material.V)
	return eps, false
}

// alongIn is the height of a peak or dip of a hose in an attitude: the least of
// the places it may lie at; ok is false where none is stated or none is known.
func (s *Survey) alongIn(a Attitude, list []trace.Point) (unit.Metre, bool) {
	if len(list) == 0 {
		return 0, false
	}
	l := s.LowestOf(list, a)
	return unit.Metre(l.Lo), l.Known()
}
