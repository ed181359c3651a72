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
	runs    map[*schema.Part]bool
	sources []int // edges of the AC sources that work, best first
	loads   []int // edges of the AC loads that run
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
	f.groups = s.Groups(func(e *trace.Edge) bool {
		switch {
		case e.Medium != schema.AC || e.Type == trace.Series:
			return false
		case e.Type == trace.Device:
			return !opened(e.Part, set)
		case e.Type == trace.Contact && slices.Contains(e.Branch.Contact.MakesIn, "passing"):
			return outside
		}
		return set.Passes(e)
	})
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
		if e.Type == trace.Load && e.Medium == schema.AC && (f.runs[e.Part] || e.Branch.Load.Feeds != "") && !f.isOff(e.Part) {
			f.loads = append(f.loads, i)
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
func (f *acFlow) feeder(load int) int {
	e := &f.s.Net.Edges[load]
	for _, i := range f.sources {
		src := &f.s.Net.Edges[i]
		if src.Part != e.Part && f.groups.Same(src.A, e.A) {
			return i
		}
	}
	return -1
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
		e := &f.s.Net.Edges[i]
		if f.feeder(i) == k && !e.Branch.Load.Watts.Given() && !e.Branch.Load.Amps.Given() {
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
	for _, i := range f.loads {
		e := &f.s.Net.Edges[i]
		if f.feeder(i) != k {
			continue
		}
		l := e.Branch.Load
		w, ok := unit.Watt(0), true
		switch {
		case l.Feeds != "" && !e.Part.Is(schema.Charging):
			w, ok = f.passedOn(e, depth)
		case l.Feeds != "":
			w, ok = l.Watts.V, l.Watts.Given()
		case l.Watts.Given():
			w = l.Watts.V * unit.Watt(max(1, l.Count))
		case l.Amps.Given():
			v := l.Volts.Or(d.Volts)
			w, ok = unit.Watt(float64(l.Amps.V)*float64(v)*float64(max(1, l.Count))), v > 0
		default:
			ok = false
		}
		if !ok {
			d.Missing = append(d.Missing, "draw of "+e.Part.ID)
		}
		if w > 0 {
			d.Watts += w
			d.Loads = append(d.Loads, e.Part)
		}
	}
	for _, p := range f.powerless(src) {
		d.Missing = append(d.Missing, "power of "+p.ID)
	}
	if d.Volts > 0 {
		d.Amps = unit.Amp(float64(d.Watts) / float64(d.Volts))
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
func (f *acFlow) passedOn(e *trace.Edge, depth int) (unit.Watt, bool) {
	l := e.Branch.Load
	for _, k := range f.sources {
		if src := &f.s.Net.Edges[k]; src.Part == e.Part {
			d := f.demand(k, depth+1)
			return unit.Watt(float64(d.Watts)/float64(l.Efficiency.Or(1))) + l.Idle.V, len(d.Missing) == 0
		}
	}
	return 0, true
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
