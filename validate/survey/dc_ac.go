package survey

import (
	"slices"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/trace"
)

// acFlow says, in one condition, which AC source feeds which AC load.
type acFlow struct {
	s       *Survey
	c       *schema.Condition
	groups  *Groups
	pass    func(*trace.Edge) bool // what joins in the condition
	runs    map[*schema.Part]bool
	sources []int    // edges of the AC sources that work, best first
	loads   []acPair // the AC loads that run
}

// ACDemand is what one AC source is asked for in a condition.
type ACDemand struct {
	Part    *schema.Part
	Feed    *schema.FeedData
	Watts   unit.Watt
	Volts   unit.Volt
	Amps    unit.Amp
	Loads   []*schema.Part
	Missing []string // data without which the sum is too small
}

func (s *Survey) acFlow(c *schema.Condition, set Setting, o dcOptions) *acFlow {
	f := &acFlow{s: s, c: c, runs: map[*schema.Part]bool{}}
	if o.asShort || c == nil || !s.hasAC() {
		return f
	}
	for _, r := range c.Running {
		f.runs[r.Part] = r.Duty > 0
	}
	outside := c.Shore.V
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Type == trace.Feed && e.Medium == schema.AC && e.Branch.Feed.Needs == "engine" {
			outside = outside || f.turns(e)
		}
	}
	f.pass = func(e *trace.Edge) bool {
		switch {
		case e.Medium != schema.AC || e.Type == trace.Series:
			return false
		case e.Type == trace.Device:
			return !opened(e.Part, set)
		case e.Type == trace.Contact && slices.Contains(e.Branch.Contact.MakesIn, "passing"):
			return outside
		}
		return set.Passes(e)
	}
	f.groups = s.Groups(f.pass)
	for _, need := range []string{"shore", "engine", "input"} {
		for i := range s.Net.Edges {
			e := &s.Net.Edges[i]
			if e.Type == trace.Feed && e.Medium == schema.AC && e.Branch.Feed.Needs == need && f.works(e) {
				f.sources = append(f.sources, i)
			}
		}
	}
	var live []int
	for _, k := range f.sources {
		if f.alive(k, 0) {
			live = append(live, k)
		}
	}
	f.sources = live
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		switch {
		case f.isOff(e.Part):
		case e.Type == trace.Load && e.Medium == schema.AC && (f.runs[e.Part] || e.Branch.Load.Feeds != ""):
			f.loads = append(f.loads, acPair{i, e.A, e.B})
		case e.Type == trace.Feed && e.Medium == schema.DC && e.Branch.Feed.Needs == "shore" && e.Part.Is(schema.Inverting):
			// An inverter and charger charges from what is joined to its input.
			if a, b := s.Net.Node(e.Part, e.Branch.Feed.InA), s.Net.Node(e.Part, e.Branch.Feed.InB); a >= 0 && b >= 0 {
				f.loads = append(f.loads, acPair{i, a, b})
			}
		}
	}
	return f
}

// hasAC reports whether anything aboard lives on AC.
func (s *Survey) hasAC() bool {
	for i := range s.Net.Edges {
		if s.Net.Edges[i].Medium == schema.AC {
			return true
		}
	}
	return false
}

func (f *acFlow) isOff(p *schema.Part) bool { return slices.Contains(f.c.Off, p) }

// turns reports whether a generator runs: named with a speed, or as running.
func (f *acFlow) turns(e *trace.Edge) bool {
	for _, sp := range f.c.Engine {
		if sp.Engine == e.Part.ID && sp.RPM > 0 {
			return true
		}
	}
	return f.runs[e.Part] && !f.isOff(e.Part)
}

func (f *acFlow) works(e *trace.Edge) bool {
	switch e.Branch.Feed.Needs {
	case "shore":
		return f.c.Shore.V
	case "engine":
		return f.turns(e)
	}
	return !f.isOff(e.Part)
}

// feeder returns the source of an AC load, -1 for none: shore before a
// generator, that before an inverter or transformer. A source never feeds its
// own input.
func (f *acFlow) feeder(load acPair) int {
	e := &f.s.Net.Edges[load.edge]
	for _, i := range f.sources {
		src := &f.s.Net.Edges[i]
		if src.Part != e.Part && f.groups.Same(src.A, load.a) && (e.Type == trace.Load || src.Branch.Feed.InA != "+") {
			return i
		}
	}
	return -1
}

// ask is what a load takes from a source: watts, and amperes at its voltage with
// its power factor, 1 where none is stated. missing names what the file does not
// give.
func (f *acFlow) ask(x acPair, volts unit.Volt, depth int) (w unit.Watt, a unit.Amp, missing string) {
	e := &f.s.Net.Edges[x.edge]
	if e.Type == trace.Feed {
		d := e.Branch.Feed
		out, ok := f.chargingPower(e, d)
		if !ok {
			return 0, 0, "output of " + e.Part.ID
		}
		w = unit.Watt(float64(out)/float64(d.Efficiency.Or(1))) + d.Idle.V
		return w, perVolt(w, volts, e.Part.Share("power-factor")), ""
	}
	l := e.Branch.Load
	count := unit.Watt(max(1, l.Count))
	switch {
	case l.Feeds != "" && !e.Part.Is(schema.Charging):
		var ok bool
		if w, a, ok = f.passedOn(e, volts, depth); !ok {
			missing = "draw of " + e.Part.ID
		}
		return w, a, missing
	case l.Feeds != "":
		if w = l.Watts.V; !l.Watts.Given() {
			out, ok := f.chargerPower(e.Part)
			if !ok {
				return 0, 0, "draw of " + e.Part.ID
			}
			w = unit.Watt(float64(out)/float64(l.Efficiency.Or(1))) + l.Idle.V
		}
	case l.Watts.Given() && l.Model == "resistance" && l.Volts.V > 0 && volts > 0:
		k := float64(volts / l.Volts.V)
		w = unit.Watt(float64(l.Watts.V) * k * k * float64(count))
	case l.Watts.Given():
		w = l.Watts.V * count
	case l.Amps.Given():
		a = l.Amps.V * unit.Amp(count)
		v := volts
		if v <= 0 {
			v = l.Volts.V
		}
		if v <= 0 {
			return 0, a, "volts of " + e.Part.ID
		}
		return unit.Watt(float64(a) * float64(v) * float64(l.PowerFactor.Or(1))), a, ""
	default:
		return 0, 0, "draw of " + e.Part.ID
	}
	return w, perVolt(w, volts, l.PowerFactor), ""
}

func perVolt(w unit.Watt, v unit.Volt, pf schema.Val[unit.Ratio]) unit.Amp {
	if v <= 0 {
		return 0
	}
	return unit.Amp(float64(w) / float64(v) / max(0.01, float64(pf.Or(1))))
}

// chargerPower is what a charger gives at most where its voltage is not stated:
// its current at the voltage it charges at.
func (f *acFlow) chargerPower(p *schema.Part) (unit.Watt, bool) {
	for i := range f.s.Net.Edges {
		if e := &f.s.Net.Edges[i]; e.Part == p && e.Type == trace.Feed && e.Medium == schema.DC {
			return f.chargingPower(e, e.Branch.Feed)
		}
	}
	return 0, false
}

func (f *acFlow) chargingPower(e *trace.Edge, d *schema.FeedData) (unit.Watt, bool) {
	switch {
	case d.Watts.Given():
		return d.Watts.V, true
	case !d.Amps.Given():
		return 0, false
	}
	v, _, _ := f.s.chargingVolts(e, d.Volts, d.Profile)
	return unit.Watt(float64(d.Amps.V) * float64(v)), v > 0
}

// feeds reports whether the mains side of a charger has a source that is no
// inverter. A file that joins nothing to it says shore power by the condition.
func (f *acFlow) feeds(p *schema.Part) bool {
	for i := range f.s.Net.Edges {
		e := &f.s.Net.Edges[i]
		if e.Part != p || e.Medium != schema.AC {
			continue
		}
		in := -1
		for _, name := range []string{"L", "L-in"} {
			if n := f.s.Net.Node(p, name); n >= 0 && in < 0 {
				in = n
			}
		}
		if in < 0 || !f.s.Joined(in) {
			break
		}
		for _, k := range f.sources {
			src := &f.s.Net.Edges[k]
			if src.Part != p && src.Branch.Feed.InA != "+" && f.groups.Same(src.A, in) {
				return true
			}
		}
		return false
	}
	return f.c != nil && f.c.Shore.V
}

// alive reports whether a source behind an input (a transformer) is fed itself.
func (f *acFlow) alive(k, depth int) bool {
	src := &f.s.Net.Edges[k]
	d := src.Branch.Feed
	if d.Needs != "input" || d.InA == "+" {
		return true
	}
	in := f.s.Net.Node(src.Part, d.InA)
	for _, other := range f.sources {
		o := &f.s.Net.Edges[other]
		if depth < 8 && other != k && o.Part != src.Part && f.groups.Same(o.A, in) && f.alive(other, depth+1) {
			return true
		}
	}
	return false
}

// inverts reports whether an inverter makes mains power in the condition: not
// while its own way through passes what comes from outside.
func (f *acFlow) inverts(p *schema.Part) bool {
	if f.c == nil || f.isOff(p) {
		return false
	}
	in, out := f.s.Net.Node(p, "L-in"), f.s.Net.Node(p, "L-out")
	if in < 0 || out < 0 || f.groups == nil {
		return true
	}
	for _, k := range f.sources {
		if src := &f.s.Net.Edges[k]; src.Part != p && src.Branch.Feed.InA != "+" && f.groups.Same(src.A, in) {
			return false
		}
	}
	return true
}

// behind is what the AC loads behind an inverter take. full is set where the
// condition asks for its whole power: it is named as running, or the condition is
// the built-in one, and the file shows no load of known power there.
func (f *acFlow) behind(p *schema.Part) (w unit.Watt, missing string, full bool) {
	if f.groups == nil {
		return 0, "", f.c.BuiltIn || f.runs[p]
	}
	for _, k := range f.sources {
		if f.s.Net.Edges[k].Part != p {
			continue
		}
		d := f.demand(k, 0)
		socket := f.socket(k)
		if d.Watts == 0 && (len(d.Missing) == 0 || socket) && (f.runs[p] || f.c.BuiltIn && (socket || f.lonely(k))) {
			return 0, "", true
		}
		if socket && f.c.BuiltIn {
			return 0, "", true
		}
		if len(d.Missing) > 0 {
			return d.Watts, d.Missing[0], false
		}
		return d.Watts, "", false
	}
	return 0, "", false
}

// socket reports whether a load of unknown power hangs on a source: a socket.
func (f *acFlow) socket(k int) bool {
	for _, i := range f.loads {
		e := &f.s.Net.Edges[i.edge]
		if e.Type == trace.Load && f.feeder(i) == k && !e.Branch.Load.Watts.Given() && !e.Branch.Load.Amps.Given() {
			return true
		}
	}
	return false
}

// lonely reports whether the file shows no AC load on a source at all.
func (f *acFlow) lonely(k int) bool {
	src := &f.s.Net.Edges[k]
	for i := range f.s.Net.Edges {
		if e := &f.s.Net.Edges[i]; e.Type == trace.Load && e.Medium == schema.AC && e.Part != src.Part && f.groups.Same(e.A, src.A) {
			return false
		}
	}
	return true
}

// demand adds up what a source is asked for.
func (f *acFlow) demand(k, depth int) ACDemand {
	src := &f.s.Net.Edges[k]
	d := ACDemand{Part: src.Part, Feed: src.Branch.Feed, Volts: src.Branch.Feed.Volts.V}
	if depth > 8 {
		return d
	}
	for _, x := range f.loads {
		if f.feeder(x) != k {
			continue
		}
		p := f.s.Net.Edges[x.edge].Part
		w, a, missing := f.ask(x, d.Volts, depth)
		if missing != "" {
			d.Missing = append(d.Missing, missing)
		}
		if w > 0 {
			d.Watts += w
			d.Amps += a
			d.Loads = append(d.Loads, p)
		}
	}
	for _, p := range f.powerless(src) {
		d.Missing = append(d.Missing, "power of "+p.ID)
	}
	return d
}

// powerless lists the parts that run on a source without any draw in the file:
// their kind then makes no load of them. In the built-in condition all of them
// run.
func (f *acFlow) powerless(src *trace.Edge) []*schema.Part {
	var out []*schema.Part
	for _, p := range f.s.Boat.Parts {
		n := f.s.Net.Node(p, "L")
		if n < 0 || p == src.Part || p.Prepared || !p.Is(schema.Equipment) || f.isOff(p) || f.drawsAC(p) {
			continue
		}
		if (f.runs[p] || f.c.BuiltIn) && f.groups.Same(n, src.A) {
			out = append(out, p)
		}
	}
	return out
}

func (f *acFlow) drawsAC(p *schema.Part) bool {
	for _, br := range p.Branches() {
		if br.Medium == schema.AC && (br.Type == schema.Draw || br.Type == schema.Feed) {
			return true
		}
	}
	return false
}

// passedOn is what a transformer takes for the loads behind it.
func (f *acFlow) passedOn(e *trace.Edge, volts unit.Volt, depth int) (w unit.Watt, a unit.Amp, ok bool) {
	l := e.Branch.Load
	for _, k := range f.sources {
		if src := &f.s.Net.Edges[k]; src.Part == e.Part {
			d := f.demand(k, depth+1)
			w = unit.Watt(float64(d.Watts)/float64(l.Efficiency.Or(1))) + l.Idle.V
			a = perVolt(w, volts, schema.Val[unit.Ratio]{})
			if d.Watts > 0 && d.Volts > 0 {
				a *= max(1, unit.Amp(float64(d.Amps)*float64(d.Volts)/float64(d.Watts))) // what its loads' power factors add
			}
			return w, a, len(d.Missing) == 0
		}
	}
	return 0, 0, true
}

// ACDemands lists what every AC source that works in a condition is asked for.
func (s *Survey) ACDemands(c *schema.Condition) []ACDemand {
	if c == nil {
		return nil
	}
	f := s.acFlow(c, s.setting(c), dcOptions{})
	var out []ACDemand
	for _, k := range f.sources {
		if src := &s.Net.Edges[k]; src.Branch.Feed.InA != "+" || f.inverts(src.Part) {
			out = append(out, f.demand(k, 0))
		}
	}
	return out
}
