package survey

import (
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
	"fitout/validate/water"
)

// flowGraph is the water of the boat before any condition: points where hoses
// and the inner ways of parts meet, and what lies between them.
type flowGraph struct {
	nodes []flowNode
	edges []flowEdge
	at    map[flowEnd]int
}

type flowEnd struct {
	part     *schema.Part
	terminal string
}

// flowNode is a point of the network. A port joins it to the outside.
type flowNode struct {
	place trace.Point
	ends  []flowEnd
	edges []int
	port  *flowPort
}

// portType is what a port opens to.
type portType int

const (
	toSea   portType = iota
	toAir            // a free discharge: nothing comes in
	toBody           // water at the port's own height: a tank, a bilge, a full sink
	toShore          // shore water under its pressure
)

// flowPort is where water enters or leaves the network.
type flowPort struct {
	kind  portType
	part  *schema.Part // nil for an open hose end
	place trace.Point
	// in marks a port that water is drawn from: its loss is that of an entrance,
	// else the velocity head on bore is lost.
	in    bool
	fresh bool
	bore  schema.Val[unit.Metre]
	loss  []schema.CurvePoint
	k     float64
	// head is the pressure of shore water.
	head unit.Head
	used []Assumed
}

type flowEdgeType int

const (
	hoseRun flowEdgeType = iota
	partWay              // an inner way with a loss
	pumpWay
)

// flowEdge lies between two nodes, from a to b.
type flowEdge struct {
	kind    flowEdgeType
	a, b    int
	hose    *schema.Hose
	part    *schema.Part
	channel schema.Channel
	// minor are the losses of a hose's ends and bends.
	minor []water.Minor
	// peaks and dips are where a hose's may lie; the lowest counts.
	peaks, dips []trace.Point
	bore        schema.Val[unit.Metre] // of a way: what its K stands on
	lacks       []Datum
	used        []Assumed
}

// flowGraph builds the graph once.
func (s *Survey) flowNet() *flowGraph {
	if s.flow == nil {
		s.flow = buildFlow(s.Boat, s.Sea())
	}
	return s.flow
}

type flowBuilder struct {
	*flowGraph
	boat   *schema.Boat
	sea    *trace.Sea
	way    map[*schema.Hose]*trace.SeaWay
	hosed  map[flowEnd][]*schema.Hose
	joined map[flowEnd]flowEnd // union of terminals that are one point
}

func buildFlow(b *schema.Boat, sea *trace.Sea) *flowGraph {
	f := &flowBuilder{flowGraph: &flowGraph{at: map[flowEnd]int{}}, boat: b, sea: sea, way: map[*schema.Hose]*trace.SeaWay{}, hosed: map[flowEnd][]*schema.Hose{}, joined: map[flowEnd]flowEnd{}}
	for i := range sea.Ways {
		if w := &sea.Ways[i]; w.Hose != nil {
			f.way[w.Hose] = w
		}
	}
	for _, h := range b.Hoses {
		if h.Prepared {
			continue
		}
		for _, e := range []schema.HoseEnd{h.From, h.To} {
			if !e.IsOpen() && e.Part != nil {
				k := flowEnd{e.Part, e.Terminal}
				f.hosed[k] = append(f.hosed[k], h)
			}
		}
	}
	for _, p := range b.Parts {
		if !p.Prepared {
			f.joints(p)
		}
	}
	for _, h := range b.Hoses {
		if !h.Prepared {
			f.hose(h)
		}
	}
	for _, p := range b.Parts {
		if !p.Prepared {
			f.ways(p)
		}
	}
	for _, p := range b.Parts {
		if !p.Prepared {
			f.ports(p)
		}
	}
	return f.flowGraph
}

// one returns the representative of a terminal.
func (f *flowBuilder) one(k flowEnd) flowEnd {
	for {
		up, ok := f.joined[k]
		if !ok || up == k {
			return k
		}
		k = up
	}
}

// joints unites the terminals of a part that are one point.
func (f *flowBuilder) joints(p *schema.Part) {
	if vessel(p) || tankLike(p) {
		return
	}
	for _, c := range p.Channels() {
		if c.Type != schema.Open || f.broken(p, c) || exhaustJoint(p, c) {
			continue
		}
		a, b := f.one(flowEnd{p, c.A}), f.one(flowEnd{p, c.B})
		if a != b {
			f.joined[b] = a
		}
	}
}

// broken reports a default joint that the file replaces.
func (f *flowBuilder) broken(p *schema.Part, c schema.Channel) bool {
	return c.BreaksIfJoined != "" && len(f.hosed[flowEnd{p, c.BreaksIfJoined}]) > 0 ||
		c.OrIfJoined != "" && len(f.hosed[flowEnd{p, c.OrIfJoined}]) > 0
}

// exhaustJoint reports the joint between injection and exhaust: behind it water
// and gas run mixed, and the line is none of the network's.
func exhaustJoint(p *schema.Part, c schema.Channel) bool {
	for _, name := range []string{c.A, c.B} {
		if t, ok := p.Terminal(name); ok && t.Polarity == schema.Exhaust {
			return true
		}
	}
	return false
}

// vessel reports a part whose hoses all end in one open body of water: a sump, a
// sink, a pan.
func vessel(p *schema.Part) bool {
	rim := false
	for _, o := range p.Openings() {
		rim = rim || o.Type != schema.ToSea && (o.What == "rim" || o.What == "grating")
	}
	if !rim {
		return false
	}
	return !slices.ContainsFunc(p.Channels(), func(c schema.Channel) bool { return c.Type != schema.Open })
}

// tankLike reports a part that holds water with a level.
func tankLike(p *schema.Part) bool {
	return p.Is(schema.Holding) && slices.ContainsFunc(p.Kind.Attrs, func(a schema.Attr) bool { return a.Name == "level" })
}

func (f *flowBuilder) node(p *schema.Part, terminal string) int {
	k := f.one(flowEnd{p, terminal})
	id, ok := f.at[k]
	if !ok {
		id = len(f.nodes)
		f.nodes = append(f.nodes, flowNode{place: f.place(k.part, k.terminal)})
		f.at[k] = id
	}
	own := flowEnd{p, terminal}
	f.at[own] = id
	if !slices.Contains(f.nodes[id].ends, own) {
		f.nodes[id].ends = append(f.nodes[id].ends, own)
	}
	return id
}

func (f *flowBuilder) edge(e flowEdge) {
	id := len(f.edges)
	f.edges = append(f.edges, e)
	f.nodes[e.a].edges = append(f.nodes[e.a].edges, id)
	if e.b != e.a {
		f.nodes[e.b].edges = append(f.nodes[e.b].edges, id)
	}
}

func hoseDatum(what string, h *schema.Hose) Datum {
	return Datum{Missing: what + " of " + h.ID, At: h.At, IDs: []string{h.ID}}
}

// hose adds a stretch with the losses of its ends.
func (f *flowBuilder) hose(h *schema.Hose) {
	if h.From.Part == nil && !h.From.IsOpen() || h.To.Part == nil && !h.To.IsOpen() {
		return
	}
	e := flowEdge{kind: hoseRun, hose: h}
	if w := f.way[h]; w != nil {
		e.peaks, e.dips = w.Peaks, w.Dips
	}
	e.a, e.b = f.end(h, h.From, true), f.end(h, h.To, false)
	nipple := h.Length.Given() && h.Length.V == 0
	switch {
	case nipple:
		f.edge(e)
		return
	case !h.Length.Given():
		e.lacks = append(e.lacks, hoseDatum("length", h))
	}
	if !h.Bore.Given() || h.Bore.V <= 0 {
		e.lacks = append(e.lacks, hoseDatum("bore", h))
		f.edge(e)
		return
	}
	if n := h.Bends.V; n > 0 {
		l := tables.BendLoss(90)
		e.minor = append(e.minor, water.Minor{K: l.K * float64(n)})
		e.used = append(e.used, Assumed{h.ID, "loss of a bend", unit.Ratio(l.K).Factor() + " velocity heads", l.Cite.String()})
	}
	for _, end := range []schema.HoseEnd{h.From, h.To} {
		f.tail(&e, h, end)
	}
	f.edge(e)
}

// end returns the node of a hose end; an open one has a port of its own.
func (f *flowBuilder) end(h *schema.Hose, e schema.HoseEnd, from bool) int {
	if !e.IsOpen() {
		return f.node(e.Part, e.Terminal)
	}
	other := h.From
	if from {
		other = h.To
	}
	at := f.beside(h, e, other)
	p := &flowPort{kind: toAir, place: at, bore: h.Bore}
	if from {
		p.kind, p.in, p.k = toBody, true, entranceK
	}
	f.nodes = append(f.nodes, flowNode{place: at, port: p})
	return len(f.nodes) - 1
}

// entranceK is a flush, sharp-edged entrance (EPANET 2.2 User Manual, ch. 3).
const entranceK = 0.5

// tail adds what the hose loses on the tail of the part it ends at, and in a tee.
func (f *flowBuilder) tail(e *flowEdge, h *schema.Hose, end schema.HoseEnd) {
	if end.IsOpen() {
		return
	}
	p := end.Part
	if hasLoss(p) || p.Is(schema.Mover) && statesCurve(p) {
		return
	}
	size := p.Metres("size")
	if t := p.Metres(tailOf(end.Terminal)); t.Given() {
		size = t
	} else if p.Host != nil && !size.Given() {
		size = p.Host.Metres("size")
	}
	bore := tables.OneBoreSmaller(h.Bore.V)
	if size.Given() && size.V < bore {
		bore = size.V
	}
	if k := tables.HoseTail(h.Bore.V, bore); k > 0 {
		e.minor = append(e.minor, water.Minor{K: k})
		e.used = append(e.used, Assumed{p.ID, "loss of a hose tail", unit.Ratio(k).Factor() + " velocity heads on " + h.Bore.V.BoreText(), "a tail one hose size smaller: contraction and expansion (derived)"})
	}
	if k, id := f.branchLoss(p, h, end); k > 0 {
		e.minor = append(e.minor, water.Minor{K: k})
		e.used = append(e.used, Assumed{p.ID, "loss of the tee to " + h.ID, unit.Ratio(k).Factor() + " velocity heads", "EPANET 2.2 User Manual, minor-loss table: " + id})
	}
}

func tailOf(terminal string) string {
	if strings.HasSuffix(terminal, "out") || strings.HasSuffix(terminal, "out-") {
		return "outlet"
	}
	return "inlet"
}

// statesCurve reports a pump whose curve is told: it is measured at its tails.
func statesCurve(p *schema.Part) bool {
	for _, c := range p.Channels() {
		if c.Pump != nil && (len(c.Pump.Curve) > 0 || c.Pump.Flow.Given()) {
			return true
		}
	}
	return false
}

// branchLoss is what a tee or manifold takes from a hose: through the run where
// one path passes it, else as a branch on the hoses of the side that has several.
func (f *flowBuilder) branchLoss(p *schema.Part, h *schema.Hose, end schema.HoseEnd) (float64, string) {
	if !p.Is(schema.Junction) {
		return 0, ""
	}
	var in, out int
	run := false
	for _, t := range p.Terminals() {
		for _, o := range f.hosed[flowEnd{p, t.Name}] {
			if o.To.Part == p {
				in++
			} else {
				out++
			}
			run = run || o != h && o.Path == h.Path && (o.To.Part == p) != (h.To.Part == p)
		}
	}
	into := end.Part == h.To.Part && h.To.Terminal == end.Terminal && h.To.Part == p
	switch {
	case run && !into:
		return minorK("tee_run"), "tee, through the run"
	case run, in+out < 3:
		return 0, ""
	case into && in > 1, !into && (in <= 1 || out > 1):
		return minorK("tee_branch"), "tee, through the branch"
	}
	return 0, ""
}

func minorK(id string) float64 {
	l, _ := tables.MinorLoss(id, 0.019)
	return l.K
}

// hasLoss reports a loss stated for the part: it replaces every default.
func hasLoss(p *schema.Part) bool {
	if p.Has("loss") {
		return true
	}
	return slices.ContainsFunc(p.Channels(), func(c schema.Channel) bool { return len(c.Loss) > 0 })
}

// statedLoss is the loss of a part without a way of its own (a tap, a tank, a
// through-hull).
func statedLoss(p *schema.Part) []schema.CurvePoint {
	v := p.Get("loss")
	switch {
	case v == nil:
		return nil
	case len(v.Points) > 0:
		return v.Points
	case v.Number == 0:
		return []schema.CurvePoint{{X: 1, Y: 0}}
	}
	if q := p.Flow("flow"); q.V > 0 {
		return []schema.CurvePoint{{X: float64(q.V), Y: v.Number}}
	}
	return nil
}

// ways adds the inner ways of a part whose both ends are used or lead on.
func (f *flowBuilder) ways(p *schema.Part) {
	if vessel(p) || tankLike(p) {
		return
	}
	for _, c := range p.Channels() {
		switch c.Type {
		case schema.Open, schema.CoilWay, schema.Blocked:
			continue
		}
		if !f.used(p, c) {
			continue
		}
		e := flowEdge{kind: partWay, part: p, channel: c, a: f.node(p, c.A), b: f.node(p, c.B)}
		if c.Type == schema.PumpWay {
			e.kind = pumpWay
		}
		f.wayLoss(&e)
		f.edge(e)
	}
}

// used reports whether any hose meets the part's water on this way.
func (f *flowBuilder) used(p *schema.Part, c schema.Channel) bool {
	for _, name := range []string{c.A, c.B} {
		root := f.one(flowEnd{p, name})
		for _, t := range p.Terminals() {
			k := flowEnd{p, t.Name}
			if t.Medium == schema.Water && f.one(k) == root && len(f.hosed[k]) > 0 {
				return true
			}
		}
	}
	return false
}

// wayLoss settles what a way takes: as stated, K on its size or else on the bore
// of the hose beside it, or a datum that is missing.
func (f *flowBuilder) wayLoss(e *flowEdge) {
	c, p := e.channel, e.part
	switch {
	case len(c.Loss) > 0, e.kind == pumpWay:
		return
	case p.Has("loss"):
		e.lacks = append(e.lacks, partDatum("flow of the loss of "+p.ID, p))
		return
	case c.K == 0:
		e.lacks = append(e.lacks, partDatum("loss of "+p.ID, p))
		return
	}
	e.bore = c.Bore
	if !e.bore.Given() {
		e.bore = f.boreAt(p, c.A)
	}
	if !e.bore.Given() {
		e.bore = f.boreAt(p, c.B)
	}
	if !e.bore.Given() || e.bore.V <= 0 {
		e.lacks = append(e.lacks, partDatum("size of "+p.ID, p))
		return
	}
	e.used = append(e.used, Assumed{p.ID, "loss", unit.Ratio(c.K).Factor() + " velocity heads on " + e.bore.V.BoreText(), c.KSource})
}

func partDatum(what string, p *schema.Part) Datum {
	return Datum{Missing: what, At: p.At, IDs: []string{p.ID}}
}

// boreAt returns the bore of the first hose at a terminal that has one.
func (f *flowBuilder) boreAt(p *schema.Part, terminal string) schema.Val[unit.Metre] {
	for _, h := range f.hosed[flowEnd{p, terminal}] {
		if h.Bore.Given() {
			return h.Bore
		}
	}
	return schema.Val[unit.Metre]{}
}

// ports joins a part's openings to what lies outside.
func (f *flowBuilder) ports(p *schema.Part) {
	switch {
	case tankLike(p):
		f.tankPorts(p)
		return
	case vessel(p):
		f.vesselPorts(p)
		return
	}
	for _, o := range p.Openings() {
		f.opening(p, o)
	}
	for _, c := range p.Channels() {
		if c.Type == schema.Open && exhaustJoint(p, c) {
			f.injection(p, c)
		}
	}
}

// live returns the node of a terminal that anything meets, or -1.
func (f *flowBuilder) live(p *schema.Part, terminal string) int {
	id, ok := f.at[f.one(flowEnd{p, terminal})]
	if !ok {
		return -1
	}
	return id
}

func (f *flowBuilder) opening(p *schema.Part, o schema.Opening) {
	id := f.live(p, o.Terminal)
	if id < 0 || f.nodes[id].port != nil {
		return
	}
	at := raised(f.place(p, o.Terminal), o.Height, o.Missing)
	port := &flowPort{part: p, place: at, loss: statedLoss(p), bore: f.outerBore(id)}
	switch {
	case o.Type == schema.ToSea:
		port.kind, port.in = toSea, f.drawsFrom(p, id)
		if port.in && len(o.Loss) == 0 && !p.Has("loss") {
			port.k, port.bore = entranceK, o.Bore
			port.used = []Assumed{{p.ID, "loss of its entrance", unit.Ratio(port.k).Factor() + " velocity heads", o.KSource}}
			if !o.Bore.Given() {
				port.bore = f.outerBore(id)
			}
		}
	case o.What == "intake", o.What == "bowl":
		port.kind, port.in = toBody, true
	case o.What == "shore water":
		port.kind, port.in, port.head = toShore, true, p.Head("pressure").V
		if !p.Head("pressure").Given() {
			return
		}
	case o.What == "tap" && f.leadsOn(p, id):
		return
	case o.What == "tap":
		port.kind = toAir
		if len(port.loss) == 0 && !p.Has("loss") {
			port.k = minorK("globe_valve_open")
			port.used = []Assumed{{p.ID, "loss", unit.Ratio(port.k).Factor() + " velocity heads", "an open globe valve, EPANET 2.2 User Manual, minor-loss table"}}
		}
	default:
		port.kind = toAir
	}
	f.nodes[id].port = port
}

// leadsOn reports a tap whose water goes on through a hose of its own.
func (f *flowBuilder) leadsOn(p *schema.Part, id int) bool {
	for _, end := range f.nodes[id].ends {
		if t, ok := p.Terminal(end.terminal); ok && end.part == p && t.Polarity == schema.WaterOut && len(f.hosed[end]) > 0 {
			return true
		}
	}
	return false
}

// drawsFrom reports an opening in the hull that water is meant to come in by: by
// its service, else by the direction its hose is written in.
func (f *flowBuilder) drawsFrom(p *schema.Part, id int) bool {
	switch p.Word("service").V {
	case "intake":
		return true
	case "":
		h, forward := f.outerHose(id)
		return h != nil && forward
	}
	return false
}

// outerHose returns the first hose with a length inward of a node, through close
// joints and two-way fittings, and whether it is written away from the node.
func (f *flowBuilder) outerHose(id int) (h *schema.Hose, away bool) {
	from := -1
	for range len(f.edges) + 1 {
		next := -1
		for _, i := range f.nodes[id].edges {
			if i != from {
				if next >= 0 {
					return nil, false // a branch
				}
				next = i
			}
		}
		if next < 0 {
			return nil, false
		}
		e := &f.edges[next]
		if e.kind == hoseRun && !(e.hose.Length.Given() && e.hose.Length.V == 0) {
			return e.hose, e.a == id
		}
		if e.kind == pumpWay || e.a == e.b {
			return nil, false
		}
		from, id = next, e.a+e.b-id
	}
	return nil, false
}

func (f *flowBuilder) outerBore(id int) schema.Val[unit.Metre] {
	if h, _ := f.outerHose(id); h != nil && h.Bore.Given() {
		return h.Bore
	}
	for _, i := range f.nodes[id].edges {
		if e := &f.edges[i]; e.kind == hoseRun && e.hose.Bore.Given() {
			return e.hose.Bore
		}
	}
	return schema.Val[unit.Metre]{}
}

// injection opens the raw water of an engine to the air at its injection: it
// falls into the exhaust there.
func (f *flowBuilder) injection(p *schema.Part, c schema.Channel) {
	water := c.A
	if t, ok := p.Terminal(water); ok && t.Polarity == schema.Exhaust {
		water = c.B
	}
	id := f.live(p, water)
	if id < 0 || f.nodes[id].port != nil {
		return
	}
	at := f.place(p, water)
	if h := p.Metres("injection"); h.Given() {
		at.Height = h
	} else if !at.Height.Given() {
		at.HeightOf = "injection of " + p.ID
	}
	f.nodes[id].port = &flowPort{kind: toAir, part: p, place: at, bore: f.outerBore(id)}
}

// vesselPorts opens every joined terminal of a vessel to its water.
func (f *flowBuilder) vesselPorts(p *schema.Part) {
	o := p.Openings()[0]
	f.bodyPorts(p, func(terminal string, _ bool) (trace.Point, bool) {
		return raised(f.place(p, terminal), o.Height, o.Missing), true
	}, false)
}

// tankPorts opens every joined terminal of a tank to its water, save vents.
func (f *flowBuilder) tankPorts(p *schema.Part) {
	surface := tankLevel(p)
	fresh := p.Word("contents").Or("fresh") == "fresh"
	f.bodyPorts(p, func(terminal string, in bool) (trace.Point, bool) {
		if terminal == "vent" || terminal == "overflow" {
			return trace.Point{}, false
		}
		h := surface
		if top := p.Metres("top"); !in && top.Given() && (!h.Given() || top.V > h.V) {
			h = top // it is filled from above
		}
		return raised(f.place(p, terminal), h, "level of "+p.ID), true
	}, fresh)
}

func (f *flowBuilder) bodyPorts(p *schema.Part, at func(terminal string, in bool) (trace.Point, bool), fresh bool) {
	for _, t := range p.Terminals() {
		k := flowEnd{p, t.Name}
		if t.Medium != schema.Water || len(f.hosed[k]) == 0 {
			continue
		}
		id := f.node(p, t.Name)
		h := f.hosed[k][0]
		in := h.From.Part == p && h.From.Terminal == t.Name
		pt, ok := at(t.Name, in)
		if !ok || f.nodes[id].port != nil {
			continue
		}
		port := &flowPort{kind: toBody, part: p, place: pt, in: in, fresh: fresh, loss: statedLoss(p), bore: f.outerBore(id)}
		if in && !p.Has("loss") {
			port.k = entranceK
		}
		if tankLike(p) && !p.Has("level") && pt.Height.Given() {
			port.used = []Assumed{{p.ID, "level of its water", pt.Height.V.String(), "a full tank, as far as its height or top says; no level is stated"}}
		}
		f.nodes[id].port = port
	}
}

// tankLevel is the height of a tank's water: as stated, a share between its
// height and its top, or full.
func tankLevel(p *schema.Part) schema.Val[unit.Metre] {
	if v := p.Metres("level"); v.Given() {
		return v
	}
	bottom, top := p.Height(), p.Metres("top")
	v := p.Get("level")
	switch {
	case v != nil && v.Word == "empty" || !top.Given():
		return bottom
	case v != nil && v.Dim == unit.Proportion && bottom.Given():
		return schema.Of(bottom.V+unit.Metre(v.Number)*(top.V-bottom.V), schema.Derived)
	}
	return top
}
