package survey

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/dc"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// sources adds what feeds besides batteries: alternators, chargers, solar,
// controllers, converters, each where it works in the condition.
func (b *builder) sources() {
	for i := range b.s.Net.Edges {
		e := &b.s.Net.Edges[i]
		switch {
		case e.Medium != schema.DC || e.A == e.B:
		case e.Type == trace.Feed:
			b.feed(i, e)
		case e.Type == trace.ConvertIn:
			b.converter(i, e)
		}
	}
}

func (b *builder) off(p *schema.Part) bool {
	if b.opt.asShort {
		return false
	}
	for _, off := range b.Condition.Off {
		if off == p {
			return true
		}
	}
	return false
}

func (b *builder) source(i int, e *trace.Edge, o dc.Output) {
	back := b.s.Back(e)
	if back == e.A {
		return
	}
	if limit, ok := b.opt.share[e]; ok {
		o.MaxI = limit
	}
	b.Sources = append(b.Sources, &DCSource{Part: e.Part, Edge: e, Output: o, edge: i})
	b.add(i, dc.Source{Pos: node(e.A), Neg: node(back), Output: b.relieved(o, e.A)})
}

// relieved takes the limits off a source that holds a voltage with no battery
// beside it, where the state asks for that.
func (b *builder) relieved(o dc.Output, at int) dc.Output {
	if b.opt.relieve && o.V > 0 && !b.HasBattery(at) {
		o.MaxI, o.MaxP = 0, 0
	}
	return o
}

func (b *builder) feed(i int, e *trace.Edge) {
	f := e.Branch.Feed
	if b.off(e.Part) {
		return
	}
	if b.opt.asShort {
		b.shortFeed(i, e, f)
		return
	}
	switch f.Needs {
	case "engine":
		b.alternator(i, e, f)
	case "sun":
		b.solar(i, e, f)
	case "input":
		b.controller(i, e, f)
	default:
		if b.ac.feeds(e.Part) {
			b.limited(i, e, f, f.Amps, f.Watts)
		}
	}
}

// shortFeed adds a source by the most it gives.
func (b *builder) shortFeed(i int, e *trace.Edge, f *schema.FeedData) {
	amps := f.Amps
	if v := e.Part.Amps("fault-current"); v.Given() {
		amps = v
	}
	for _, pt := range f.BySpeed {
		if !f.Amps.Given() {
			amps = schema.Of(max(amps.V, unit.Amp(pt.Y)), schema.Derived)
		}
	}
	o := dc.Output{V: f.Volts.V, MaxI: amps.V}
	if !amps.Given() && f.Watts.Given() && f.Volts.V > 0 {
		o.MaxI = unit.Amp(float64(f.Watts.V) / float64(f.Volts.V))
	}
	if o.MaxI <= 0 {
		if !amps.Given() {
			b.want("output of "+e.Part.ID, e.Part)
		}
		return
	}
	b.source(i, e, o)
}

// limited adds a source that holds its voltage up to its limit.
func (b *builder) limited(i int, e *trace.Edge, f *schema.FeedData, amps schema.Val[unit.Amp], watts schema.Val[unit.Watt]) {
	if !amps.Given() && !watts.Given() {
		b.missing("output of "+e.Part.ID, e.Part)
		return
	}
	if amps.Given() && amps.V <= 0 || !amps.Given() && watts.V <= 0 {
		return
	}
	o := dc.Output{V: b.chargeVolts(e, f.Volts, f.Profile), MaxI: amps.V, Droop: e.Branch.Ohms.V}
	if watts.Given() {
		o.MaxP = watts.V
	}
	b.source(i, e, o)
}

// chargeVolts is the voltage a charging source holds, a default named.
func (b *builder) chargeVolts(e *trace.Edge, stated schema.Val[unit.Volt], profile string) unit.Volt {
	v, source, ok := b.s.chargingVolts(e, stated, profile)
	if ok && source != "" {
		b.uses(e.Part.ID, "volts", fmt.Sprintf("%.1f V", float64(v)), source)
	}
	return v
}

// chargingVolts is the voltage a charging source holds: as stated, else the upper
// absorption voltage of its profile or of the battery it charges, with the source
// of that.
func (s *Survey) chargingVolts(e *trace.Edge, stated schema.Val[unit.Volt], profile string) (v unit.Volt, source string, ok bool) {
	if stated.Given() {
		return stated.V, "", true
	}
	nominal, _, _ := s.AtRest().Volts(e.A, s.Back(e))
	if nominal == 0 {
		nominal = s.onlyNominal()
	}
	if nominal == 0 {
		return 0, "", false
	}
	v = unit.Volt(14.4 / 12 * float64(nominal))
	source = "14.4 V for each 12 V, common practice, no source"
	if c, known := tables.ChemistryOf(profile); known {
		_, v = c.ChargeVolts(nominal)
		source = "absorption of its profile, " + c.Cite.String()
	} else if nominal > 12.5 && nominal < 13.2 {
		v = 14.4
	}
	return v, source, true
}

// onlyNominal is the nominal voltage of the boat where all batteries agree.
func (s *Survey) onlyNominal() unit.Volt {
	v := unit.Volt(0)
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Type == trace.Battery {
			n := e.Part.Volts("volts").V
			if v != 0 && n != v {
				return 0
			}
			v = n
		}
	}
	return v
}

// alternator adds an alternator whose engine turns.
func (b *builder) alternator(i int, e *trace.Edge, f *schema.FeedData) {
	rpm, ok := b.engineSpeed(e.Part, f.Engine)
	if !ok || rpm <= 0 {
		return
	}
	if len(f.BySpeed) == 0 {
		b.limited(i, e, f, f.Amps, f.Watts)
		return
	}
	shaft := float64(rpm) * f.Ratio.Or(2)
	if f.Ratio.From == schema.ByKind {
		b.uses(e.Part.ID, "ratio", f.Ratio.Text, "common practice, no source")
	}
	amps := CurveAt(f.BySpeed, shaft)
	if amps <= 0 {
		return
	}
	b.limited(i, e, f, schema.Of(unit.Amp(amps), schema.Derived), schema.Val[unit.Watt]{})
}

// CurveAt reads a curve: straight lines between its points, nothing below the
// first, the last value above the last.
func CurveAt(points []schema.CurvePoint, x float64) float64 {
	if len(points) == 0 || x < points[0].X {
		return 0
	}
	for k := 1; k < len(points); k++ {
		a, b := points[k-1], points[k]
		if x <= b.X {
			if b.X == a.X {
				return b.Y
			}
			return a.Y + (b.Y-a.Y)*(x-a.X)/(b.X-a.X)
		}
	}
	return points[len(points)-1].Y
}

// engineSpeed is how fast the engine of a source turns; ok is false where the
// file does not tell which of several engines it is.
func (b *builder) engineSpeed(p *schema.Part, engine string) (unit.RPM, bool) {
	if b.opt.rpm != nil {
		return *b.opt.rpm, true
	}
	rpm, missing := b.s.EngineSpeed(b.Condition, p, engine)
	if missing != "" {
		b.missing(missing, p)
		return 0, false
	}
	return rpm, true
}

// EngineSpeed is how fast the engine of an alternator or pump turns in a
// condition. missing names what the file does not tell.
func (s *Survey) EngineSpeed(c *schema.Condition, p *schema.Part, engine string) (rpm unit.RPM, missing string) {
	if c == nil || len(c.Engine) == 0 {
		return 0, ""
	}
	for _, sp := range c.Engine {
		if sp.Engine == "" || sp.Engine == engine {
			return sp.RPM, ""
		}
	}
	if engine != "" {
		return 0, ""
	}
	if len(c.Engine) == 1 && s.engines() <= 1 {
		return c.Engine[0].RPM, ""
	}
	for _, sp := range c.Engine {
		if sp.RPM > 0 {
			return 0, "engine of " + p.ID
		}
	}
	return 0, ""
}

func (s *Survey) engines() int {
	n := 0
	for _, p := range s.Boat.Parts {
		if !p.Prepared && p.Is(schema.Engine) {
			n++
		}
	}
	return n
}

// sunShare is the share of full sun a condition is solved with.
func (b *builder) sunShare() float64 {
	switch {
	case b.opt.sun != nil:
		return *b.opt.sun
	case b.Condition.Sun.Given() && b.Condition.Sun.V > 0:
		return 1
	}
	return 0
}

// solar adds a panel: on its own it gives its power up to its volts; before a
// controller it holds its volts and the controller takes what it has.
func (b *builder) solar(i int, e *trace.Edge, f *schema.FeedData) {
	share := b.sunShare()
	if share <= 0 {
		return
	}
	if !f.Volts.Given() {
		b.missing("volts of "+e.Part.ID, e.Part)
		return
	}
	if b.controllerOf(e) != nil {
		b.source(i, e, dc.Output{V: f.Volts.V, Droop: e.Branch.Ohms.V})
		return
	}
	o := dc.Output{V: f.Volts.V, Droop: e.Branch.Ohms.V}
	switch {
	case f.Watts.Given():
		o.MaxP = unit.Watt(share * float64(f.Watts.V))
	case f.Amps.Given():
		o.MaxI = unit.Amp(share * float64(f.Amps.V))
	default:
		b.missing("power of "+e.Part.ID, e.Part)
		return
	}
	b.source(i, e, o)
}

// controllerOf is the controller whose panel input a panel is joined to.
func (b *builder) controllerOf(panel *trace.Edge) *trace.Edge {
	for i := range b.s.Net.Edges {
		e := &b.s.Net.Edges[i]
		if e.Type != trace.Feed || e.Medium != schema.DC || e.Branch.Feed.Needs != "input" || b.off(e.Part) {
			continue
		}
		if b.inString(panel, b.s.Net.Node(e.Part, e.Branch.Feed.InA)) {
			return e
		}
	}
	return nil
}

// inString reports whether a panel stands in the string that ends at a joint:
// joined to it, or through other panels in series.
func (b *builder) inString(panel *trace.Edge, at int) bool {
	seen := map[int]bool{}
	work := []int{b.groups.Of(at)}
	for len(work) > 0 {
		g := work[len(work)-1]
		work = work[:len(work)-1]
		if g < 0 || seen[g] {
			continue
		}
		seen[g] = true
		for i := range b.s.Net.Edges {
			e := &b.s.Net.Edges[i]
			if e.Type != trace.Feed || e.Medium != schema.DC || e.Branch.Feed.Needs != "sun" || b.groups.Of(e.A) != g {
				continue
			}
			if e == panel {
				return true
			}
			work = append(work, b.groups.Of(e.B))
		}
	}
	return false
}

// controller adds a solar controller: it gives the power of its panels, less
// what it loses, at the battery's voltage.
func (b *builder) controller(i int, e *trace.Edge, f *schema.FeedData) {
	share := b.sunShare()
	if share <= 0 {
		return
	}
	power := unit.Watt(0)
	for k := range b.s.Net.Edges {
		panel := &b.s.Net.Edges[k]
		if panel.Type != trace.Feed || panel.Medium != schema.DC || panel.Branch.Feed.Needs != "sun" || b.controllerOf(panel) != e || b.off(panel.Part) {
			continue
		}
		p := panel.Branch.Feed
		switch {
		case p.Watts.Given():
			power += p.Watts.V
		case p.Amps.Given() && p.Volts.Given():
			power += unit.Watt(float64(p.Amps.V) * float64(p.Volts.V))
		default:
			b.missing("power of "+panel.Part.ID, panel.Part)
			return
		}
	}
	power *= unit.Watt(share)
	out := unit.Watt(float64(power)*float64(f.Efficiency.V)) - f.Idle.V
	if out <= 0 {
		return
	}
	if a, c := b.s.Net.Node(e.Part, f.InA), b.s.Net.Node(e.Part, f.InB); a >= 0 && c >= 0 && a != c {
		b.n.Add(dc.PowerLoad{Pos: node(a), Neg: node(c), P: power})
		b.edgeOf = append(b.edgeOf, -1)
	}
	o := dc.Output{V: b.chargeVolts(e, f.Volts, f.Profile), MaxI: f.Amps.V, MaxP: out, Droop: e.Branch.Ohms.V}
	if f.Watts.Given() {
		o.MaxP = min(o.MaxP, f.Watts.V)
	}
	b.source(i, e, o)
}

// converter adds a converter or battery-to-battery charger: it runs whenever it
// is fed.
func (b *builder) converter(i int, e *trace.Edge) {
	c := e.Branch.Convert
	outA, outB := b.s.Net.Node(e.Part, c.OutA), b.s.Net.Node(e.Part, c.OutB)
	if b.off(e.Part) || outA < 0 || outB < 0 || outA == outB {
		return
	}
	if refs := e.Part.Refs("engine"); len(refs) > 0 && !b.opt.asShort {
		if rpm, ok := b.engineSpeed(e.Part, refs[0]); !ok || rpm <= 0 {
			return
		}
	}
	o := dc.Output{V: c.Volts.V, Droop: c.Droop.V, MaxI: c.Amps.V, MaxP: c.Watts.V}
	switch {
	case !c.Amps.Given() && !c.Watts.Given() && (c.Holds != "voltage" || b.opt.asShort):
		b.missing("output of "+e.Part.ID, e.Part)
		return
	case c.Holds == "voltage" && !c.Volts.Given() && !b.opt.asShort:
		b.missing("volts of "+e.Part.ID, e.Part)
		return
	case b.opt.asShort && o.MaxI == 0 && (o.V == 0 || o.MaxP == 0):
		b.want("volts of "+e.Part.ID, e.Part)
		return
	}
	if c.Efficiency.From == schema.ByKind && !b.opt.asShort {
		b.uses(e.Part.ID, "efficiency", c.Efficiency.Text, "common practice, no source")
	}
	b.Sources = append(b.Sources, &DCSource{Part: e.Part, Edge: e, Output: o, edge: i})
	o = b.relieved(o, outA)
	// Of a unit that is not isolated the two negatives are one joint of the net.
	b.add(i, dc.Converter{InPos: node(e.A), InNeg: node(e.B), OutPos: node(outA), OutNeg: node(outB),
		Output: o, Efficiency: c.Efficiency.Or(0.9), Idle: c.Idle.V, Isolated: true})
}
