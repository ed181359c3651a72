package survey

import (
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/water"
)

func area(bore unit.Metre) float64 { return math.Pi / 4 * float64(bore) * float64(bore) }

// moved is what the circuit's pumps move in all.
func (r *WaterRun) moved() unit.LitrePerMin {
	var sum unit.LitrePerMin
	g := r.state.survey.flowNet()
	for _, e := range r.Circuit.edges {
		if id, ok := r.edge[e]; ok && g.edges[e].channel.Pump != nil {
			sum += r.sol.Edges[id].Flow
		}
	}
	return sum
}

// Hose returns the flow in a hose in this attitude; ok is false for one outside
// the circuit.
func (r *WaterRun) Hose(h *schema.Hose) (HoseFlow, bool) {
	g := r.state.survey.flowNet()
	for _, i := range r.Circuit.edges {
		if g.edges[i].hose == h {
			return r.hose(g, i), true
		}
	}
	return HoseFlow{}, false
}

func (r *WaterRun) hose(g *flowGraph, i int) HoseFlow {
	h := g.edges[i].hose
	out := HoseFlow{Hose: h, Heads: len(r.Circuit.HeadsMissing) == 0}
	id, ok := r.edge[i]
	if !ok { // a dead end: nothing moves
		return out
	}
	st := r.sol.Edges[id]
	out.Flow, out.Loss = tidy(st.Flow), st.Loss
	out.Heads = out.Heads && st.Known
	if h.Bore.Given() && h.Bore.V > 0 {
		out.Velocity = unit.MetrePerSecond(float64(out.Flow) / 60000 / area(h.Bore.V))
	}
	if crest, ok := r.state.survey.alongIn(r.Attitude, g.edges[i].peaks); ok && out.Heads {
		out.HasCrest, out.Crest, out.CrestPressure = true, crest, st.CrestPressure
		if h.Length.Given() && h.Length.V == 0 {
			out.HasCrest = false
		}
	}
	return out
}

// tidy calls the flow that the solver leaves in a shut line nothing.
func tidy(q unit.LitrePerMin) unit.LitrePerMin {
	if math.Abs(float64(q)) < 1e-3 {
		return 0
	}
	return q
}

// Suctions returns the hoses that lead to a running pump: water in them moves
// toward it.
func (r *WaterRun) Suctions() map[*schema.Hose]bool {
	g := r.state.survey.flowNet()
	out := map[*schema.Hose]bool{}
	seen := map[int]bool{}
	var queue []int
	for _, i := range r.Circuit.edges {
		if _, runs := r.short[i]; runs {
			queue = append(queue, g.edges[i].a)
		}
	}
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		if seen[n] {
			continue
		}
		seen[n] = true
		for _, i := range g.nodes[n].edges {
			id, ok := r.edge[i]
			if _, pump := r.short[i]; !ok || pump {
				continue
			}
			q, e := tidy(r.sol.Edges[id].Flow), &g.edges[i]
			if q > 0 && e.b == n || q < 0 && e.a == n {
				if e.hose != nil {
					out[e.hose] = true
				}
				queue = append(queue, e.a+e.b-n)
			}
		}
	}
	return out
}

// HeadAt returns the head at a terminal in this attitude.
func (r *WaterRun) HeadAt(p *schema.Part, terminal string) (HeadAt, bool) {
	g := r.state.survey.flowNet()
	n, ok := g.at[flowEnd{p, terminal}]
	if !ok || len(r.Circuit.HeadsMissing) > 0 {
		return HeadAt{}, false
	}
	n, ok = r.alive(g, n)
	if !ok {
		return HeadAt{}, false
	}
	st := r.sol.Nodes[r.node[n]]
	if !st.Known {
		return HeadAt{}, false
	}
	out := HeadAt{Head: st.Head}
	own := g.at[flowEnd{p, terminal}]
	h, lack := r.state.survey.heightIn(r.Attitude, g.nodes[own].place)
	if lack != nil {
		return out, true
	}
	fastest := 0.0
	for _, i := range g.nodes[own].edges {
		if e := &g.edges[i]; e.hose != nil {
			fastest = math.Max(fastest, math.Abs(float64(r.hose(g, i).Velocity)))
		}
	}
	out.HasPressure = true
	out.Pressure = st.Head - unit.Head(float64(h)+fastest*fastest/(2*r.gravity()))
	return out, true
}

func (r *WaterRun) gravity() float64 {
	if r.model.Gravity == 0 {
		return float64(water.StandardGravity)
	}
	return float64(r.model.Gravity)
}

// alive follows a dead end to the point of the circuit it hangs on.
func (r *WaterRun) alive(g *flowGraph, n int) (int, bool) {
	for range len(r.Circuit.gone) + 1 {
		if _, ok := r.node[n]; ok {
			return n, true
		}
		moved := false
		for _, i := range r.Circuit.gone {
			if e := &g.edges[i]; (e.a == n || e.b == n) && e.kind != pumpWay && e.channel.Pump == nil {
				n, moved = e.a+e.b-n, true
				break
			}
		}
		if !moved {
			return n, false
		}
	}
	return n, false
}

// Pump returns what a part's pump does in this attitude.
func (r *WaterRun) Pump(p *schema.Part) (PumpFlow, bool) {
	g := r.state.survey.flowNet()
	for _, i := range r.Circuit.edges {
		if _, runs := r.short[i]; runs && g.edges[i].part == p {
			return r.pump(g, i), true
		}
	}
	return PumpFlow{}, false
}

func (r *WaterRun) pump(g *flowGraph, i int) PumpFlow {
	d := r.state.drive[i]
	out := PumpFlow{Pump: g.edges[i].part, State: water.CannotLift, Speed: d.speed, Dead: d.dead, Volts: d.volts, Powered: d.powered, Prime: r.short[i]}
	if d.curved {
		out.ShutOff, out.MaxFlow = d.curve.ShutOff(d.speed), d.curve.MaxFlow(d.speed)
	}
	id, ok := r.edge[i]
	switch {
	case !ok:
		out.State = water.Dry
		out.Shut = r.state.shutBy(g, i)
		return out
	case r.stuck[i] != "":
		out.State = r.stuck[i]
		return out
	}
	st := r.sol.Edges[id]
	out.State, out.Flow, out.Head = st.Pump, tidy(st.Flow), -st.Loss
	out.Heads = st.Known && len(r.Circuit.HeadsMissing) == 0
	if _, lack := r.state.survey.heightIn(r.Attitude, g.nodes[g.edges[i].a].place); lack == nil && out.Heads {
		out.NPSH, out.HasNPSH = st.NPSH, true
	}
	if st.AirFrom != water.None {
		for n, id := range r.node {
			if id == st.AirFrom {
				out.AirAt = g.nodes[n].name()
			}
		}
	}
	return out
}

// Equipment returns the water through a part that needs it in this attitude.
func (r *WaterRun) Equipment(p *schema.Part) (EquipmentFlow, bool) {
	g := r.state.survey.flowNet()
	for _, i := range r.Circuit.edges {
		e := &g.edges[i]
		if e.part != p || e.kind == pumpWay || !needs(e.channel) {
			continue
		}
		out := r.state.survey.equipment(r.state.Condition, p, e.channel, r.model)
		if id, ok := r.edge[i]; ok {
			out.Flow = tidy(r.sol.Edges[id].Flow)
		}
		if out.HasHeat && out.Flow > 0 {
			out.Rise = r.model.Fluid.RiseAtFlow(out.Heat, out.Flow)
		}
		for k := range r.short {
			out.OffCurve = out.OffCurve || r.pump(g, k).State == water.OffCurve
		}
		return out, true
	}
	return EquipmentFlow{}, false
}

func needs(c schema.Channel) bool { return c.Flow.Given() || c.Heat.Given() }

// equipment is what a part asks of its water: the flow it states, else what
// carries its heat away at the rise its kind is rated at.
func (s *Survey) equipment(c *schema.Condition, p *schema.Part, ch schema.Channel, m water.Model) EquipmentFlow {
	out := EquipmentFlow{Part: p}
	if ch.Heat.Given() && ch.Heat.V > 0 {
		out.Heat, out.HasHeat = ch.Heat.V, true
	}
	switch {
	case ch.Flow.Given():
		out.Needs, out.HasNeeds = ch.Flow.V, true
	case out.HasHeat:
		out.Needs, out.HasNeeds, out.ByHeat = m.Fluid.FlowForHeat(out.Heat, water.Kelvin(tables.WaterRise)), true, true
	}
	return out
}

// FlowFromThermometers is the technician's reverse: the flow through a part that
// gives a known heat to its water, from the rise two thermometers show.
func (s *Survey) FlowFromThermometers(c *schema.Condition, p *schema.Part, rise water.Kelvin) (unit.LitrePerMin, bool) {
	for _, ch := range p.Channels() {
		if ch.Heat.Given() && ch.Heat.V > 0 && rise > 0 {
			return s.WaterModel(c).Fluid.FlowForHeat(ch.Heat.V, rise), true
		}
	}
	return 0, false
}

// SeaUsers returns the parts that need water of the outside, or state what water
// they need, and whose ways are joined by a hose; in file order.
func (s *Survey) SeaUsers() []*schema.Part {
	g := s.flowNet()
	takes := map[*schema.Part]bool{}
	for i := range g.edges {
		if e := &g.edges[i]; e.kind == partWay && e.part != nil && !takes[e.part] {
			takes[e.part] = e.part.Is(schema.SeaUser) || e.channel.Flow.Given()
		}
	}
	var out []*schema.Part
	for _, p := range s.Boat.Parts {
		if !p.Prepared && takes[p] {
			out = append(out, p)
		}
	}
	return out
}

// Of returns the circuit a part's water belongs to in this condition, or nil.
func (w *WaterState) Of(p *schema.Part) *WaterCircuit {
	g := w.survey.flowNet()
	for i := range g.edges {
		if g.edges[i].part == p && w.byEdge[i] != nil {
			return w.byEdge[i]
		}
	}
	return nil
}

// OfHose returns the circuit a hose belongs to in this condition, or nil.
func (w *WaterState) OfHose(h *schema.Hose) *WaterCircuit {
	g := w.survey.flowNet()
	for i := range g.edges {
		if g.edges[i].hose == h {
			return w.byEdge[i]
		}
	}
	return nil
}

// Hose returns the flow in a hose in the circuit's worst attitude.
func (w *WaterState) Hose(h *schema.Hose) (HoseFlow, bool) {
	c := w.OfHose(h)
	if c == nil || c.Worst == nil {
		return HoseFlow{Hose: h}, false
	}
	return c.Worst.Hose(h)
}

// Pump returns what a running pump does in its circuit's worst attitude.
func (w *WaterState) Pump(p *schema.Part) (PumpFlow, bool) {
	if c := w.Of(p); c != nil && c.Worst != nil {
		return c.Worst.Pump(p)
	}
	return PumpFlow{Pump: p}, false
}

// Equipment returns the water through a part in its circuit's worst attitude.
// Equipment in no running circuit has no flow.
func (w *WaterState) Equipment(p *schema.Part) (EquipmentFlow, bool) {
	c := w.Of(p)
	switch {
	case c == nil:
		for _, ch := range p.Channels() {
			if needs(ch) {
				return w.survey.equipment(w.Condition, p, ch, w.survey.WaterModel(w.Condition)), true
			}
		}
		return EquipmentFlow{Part: p}, p.Is(schema.SeaUser)
	case c.Worst == nil:
		return EquipmentFlow{Part: p}, false
	}
	return c.Worst.Equipment(p)
}

// Needs is what a part asks for in a condition, solved or not.
func (w *WaterState) Needs(p *schema.Part) (EquipmentFlow, bool) {
	for _, ch := range p.Channels() {
		if needs(ch) {
			e := w.survey.equipment(w.Condition, p, ch, w.survey.WaterModel(w.Condition))
			return e, e.HasNeeds
		}
	}
	return EquipmentFlow{Part: p}, false
}

// FreeFlow is the most that the pumps of a circuit give together, at no head:
// what no line can pass. Known is false where a curve is missing.
func (w *WaterState) FreeFlow(k *WaterCircuit) (most unit.LitrePerMin, known bool) {
	for i, d := range w.drives(k.graph) {
		if d == nil || !d.runs || !slices.Contains(k.edges, i) {
			continue
		}
		switch {
		case d.curved:
			most += d.curve.MaxFlow(max(d.speed, 1))
		case d.fixed:
			most += d.flow
		default:
			return 0, false
		}
		known = true
	}
	return most, known
}

// HeadAt returns the head at a terminal in its circuit's worst attitude.
func (w *WaterState) HeadAt(p *schema.Part, terminal string) (HeadAt, bool) {
	g := w.survey.flowNet()
	n, ok := g.at[flowEnd{p, terminal}]
	if !ok {
		return HeadAt{}, false
	}
	for _, i := range g.nodes[n].edges {
		if c := w.byEdge[i]; c != nil && c.Worst != nil {
			return c.Worst.HeadAt(p, terminal)
		}
	}
	return HeadAt{}, false
}

// Missing returns what keeps a part's water from being computed.
func (w *WaterState) Missing(p *schema.Part) []Datum {
	if c := w.Of(p); c != nil {
		return c.Missing
	}
	return nil
}

// shutBy lists the valves that stand shut between a pump and water to draw, or
// somewhere to push it.
func (w *WaterState) shutBy(g *flowGraph, pump int) []*schema.Part {
	if w.reaches(g, g.edges[pump].a, pump, nil) && w.reaches(g, g.edges[pump].b, pump, nil) {
		return nil
	}
	var out []*schema.Part
	for _, n := range []int{g.edges[pump].a, g.edges[pump].b} {
		if w.reaches(g, n, pump, nil) {
			continue
		}
		w.reaches(g, n, pump, &out)
	}
	return out
}

// reaches reports whether an opening can be got to from a node without the pump;
// with a list it notes the shut valves at the edge of what can be got to.
func (w *WaterState) reaches(g *flowGraph, from, without int, shut *[]*schema.Part) bool {
	seen := map[int]bool{from: true}
	queue := []int{from}
	found := false
	for len(queue) > 0 {
		n := queue[0]
		queue = queue[1:]
		found = found || w.outside(g.nodes[n].port)
		for _, i := range g.nodes[n].edges {
			e := &g.edges[i]
			switch {
			case i == without:
			case !w.open[i]:
				if shut != nil {
					*shut = append(*shut, e.part)
				}
			case !seen[e.a+e.b-n]:
				seen[e.a+e.b-n] = true
				queue = append(queue, e.a+e.b-n)
			}
		}
	}
	return found
}

// Units returns the parts of the circuit that ask for a flow, in file order.
func (c *WaterCircuit) Units() []*schema.Part {
	return c.parts(func(e *flowEdge) bool { return e.kind == partWay && needs(e.channel) })
}

// Vents returns the vented loops of the circuit, in file order.
func (c *WaterCircuit) Vents() []*schema.Part {
	return c.parts(func(e *flowEdge) bool { return e.channel.Vented })
}

func (c *WaterCircuit) parts(is func(*flowEdge) bool) []*schema.Part {
	var out []*schema.Part
	for _, i := range c.edges {
		if e := &c.graph.edges[i]; e.part != nil && is(e) {
			out = append(out, e.part)
		}
	}
	return out
}

// Hoses returns the hoses of the circuit in file order.
func (c *WaterCircuit) Hoses() []*schema.Hose {
	var out []*schema.Hose
	for _, i := range c.edges {
		if h := c.graph.edges[i].hose; h != nil {
			out = append(out, h)
		}
	}
	return out
}

// VapourLimit is the pressure head, below atmosphere and so negative, at which
// the circuit's water boils.
func (r *WaterRun) VapourLimit() unit.Head { return r.model.VapourLimit() }

// Model is the water of the circuit.
func (r *WaterRun) Model() water.Model { return r.model }

// InletMissing names what keeps the pressure at a pump's inlet from being known.
func (r *WaterRun) InletMissing(p *schema.Part) []Datum {
	g := r.Circuit.graph
	for _, i := range r.Circuit.edges {
		if e := &g.edges[i]; e.part == p && e.channel.Pump != nil {
			out := merge(nil, r.Circuit.HeadsMissing)
			if _, lack := r.state.survey.heightIn(r.Attitude, g.nodes[e.a].place); lack != nil {
				out = merge(out, []Datum{*lack})
			}
			return out
		}
	}
	return nil
}

// VentsDrawing returns the vented loops that let air in in this run.
func (r *WaterRun) VentsDrawing() []*schema.Part {
	var out []*schema.Part
	for _, i := range r.Circuit.edges {
		e := &r.Circuit.graph.edges[i]
		id, ok := r.edge[i]
		if ok && e.channel.Vented && r.sol.Edges[id].Air && tidy(r.sol.Edges[id].Flow) != 0 {
			out = append(out, e.part)
		}
	}
	return out
}

// FlowAt returns the flow through a terminal in the worst attitude: that of the
// hose that lands on it. missing says what keeps it from being known.
func (w *WaterState) FlowAt(p *schema.Part, terminal string) (q unit.LitrePerMin, missing []Datum, ok bool) {
	g := w.survey.flowNet()
	n, there := g.at[flowEnd{p, terminal}]
	if !there {
		return w.flowThrough(p)
	}
	for _, i := range g.nodes[n].edges {
		c := w.byEdge[i]
		switch {
		case c == nil:
			continue
		case c.Worst == nil:
			return 0, c.Missing, false
		case g.edges[i].hose != nil:
			q = max(q, unit.LitrePerMin(math.Abs(float64(c.Worst.hose(g, i).Flow))))
			ok = true
		}
	}
	return q, nil, ok
}

// flowThrough is the most that runs in any hose at a part.
func (w *WaterState) flowThrough(p *schema.Part) (q unit.LitrePerMin, missing []Datum, ok bool) {
	for _, h := range w.survey.Boat.Hoses {
		if h.From.Part != p && h.To.Part != p {
			continue
		}
		k := w.OfHose(h)
		switch {
		case k == nil:
		case k.Worst == nil:
			missing = merge(missing, k.Missing)
		default:
			if f, in := k.Worst.Hose(h); in {
				q, ok = max(q, unit.LitrePerMin(math.Abs(float64(f.Flow)))), true
			}
		}
	}
	return q, missing, ok
}
