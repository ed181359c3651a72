package survey

import (
	"errors"
	"fmt"
	"math"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/dc"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// dcMemory keeps what has been solved.
type dcMemory struct {
	solved    map[*schema.Condition]*DCState
	settings  map[*schema.Condition]Setting
	uncranked *DCState
	relieved  map[*schema.Condition]*DCState
	faults    *faultStudy
	grounds   []int
	referred  bool
	edgeIDs   map[*trace.Edge]int
	batteries []*schema.Part
	counted   bool
	starters  int // 1 aboard, -1 none, 0 not looked for
	fullShare float64
	sides     [2]*DeviceSides
	wireOhms  [2][]wireOhms // by edge: working, cold
	acStates  map[*schema.Condition]*ACState
	acAlone   []*ACState
}

// Ambients of a conductor whose spaces state none: the base of the ampacity
// tables, 30 °C, and 50 °C in an engine space (33 CFR 183 Table 5, published).
const (
	ambientElsewhere unit.Celsius = tables.BaseAmbient
	ambientEngine    unit.Celsius = 50
	coldCopper       unit.Celsius = 20
)

// WorkingTemperature is the temperature a conductor's resistance is computed at:
// the hottest of the spaces it passes, 30 °C where they state none, 50 °C in an
// engine space. What its own current adds is left out: at half the ampacity it is
// about a quarter of the rise that is left.
func (s *Survey) WorkingTemperature(w *schema.Wire) unit.Celsius {
	t := unit.Celsius(math.Inf(-1))
	spaces := s.Spaces(w)
	for _, sp := range spaces {
		switch {
		case sp.Ambient.Given():
			t = max(t, sp.Ambient.V)
		case sp.Engine.V:
			t = max(t, ambientEngine)
		default:
			t = max(t, ambientElsewhere)
		}
	}
	if math.IsInf(float64(t), -1) {
		return ambientElsewhere
	}
	return t
}

// WireOhms returns the resistance of a conductor, all its parallel strands
// together, at its working temperature, or of cold copper at 20 °C. A stated
// resistance counts as it is. missing names the datum where there is none.
func (s *Survey) WireOhms(w *schema.Wire, cold bool) (r unit.Ohm, missing string) {
	switch {
	case w.Resistance.Given():
		return w.Resistance.V, ""
	case w.Length.Given() && w.Length.V == 0:
		return 0, ""
	case !w.Length.Given():
		return 0, "length of wire " + w.Ref()
	case !w.Size.Given() || w.Size.V.IsZero():
		return 0, "size of wire " + w.Ref()
	}
	t := coldCopper
	if !cold {
		t = s.WorkingTemperature(w)
	}
	return tables.Copper(w.Size.V.Area, w.Length.V, t) / unit.Ohm(max(1, w.Parallel.Or(1))), ""
}

// edgeOhms is WireOhms by edge of the net, worked out once.
func (s *Survey) edgeOhms(id int, cold bool) (unit.Ohm, string) {
	k := 0
	if cold {
		k = 1
	}
	if s.wireOhms[k] == nil {
		s.wireOhms[k] = make([]wireOhms, len(s.Net.Edges))
	}
	x := &s.wireOhms[k][id]
	if !x.known {
		x.ohms, x.missing = s.WireOhms(s.Net.Edges[id].Wire, cold)
		x.known = true
	}
	return x.ohms, x.missing
}

type wireOhms struct {
	ohms    unit.Ohm
	missing string
	known   bool
}

// builder makes one network.
type builder struct {
	*DCState
	n       *dc.Network
	set     Setting
	unknown []int              // edges of conductors without a resistance
	fatal   bool               // a datum is missing that no figure can do without
	used    map[[2]string]bool // at, what
	ac      *acFlow
}

// solveDC builds and solves the network of a condition.
func (s *Survey) solveDC(c *schema.Condition, o dcOptions) *DCState {
	d := s.buildDC(c, o)
	if d.net == nil {
		return d
	}
	for try := 0; ; try++ {
		sol, err := dc.Solve(d.net)
		if err != nil {
			d.Trouble = d.trouble(err)
			return d
		}
		d.sol = sol
		if limits, over := d.shared(); over && try < 4 {
			d.limit(limits)
			continue
		}
		return d
	}
}

func (s *Survey) buildDC(c *schema.Condition, o dcOptions) *DCState {
	d := &DCState{Condition: c, s: s, opt: o, elem: make([]dc.ID, len(s.Net.Edges)),
		ohms: make([]unit.Ohm, len(s.Net.Edges)), blind: make([]int, len(s.Net.Nodes))}
	for i := range d.elem {
		d.elem[i] = none
	}
	b := &builder{DCState: d, n: &dc.Network{}, set: s.setting(c), used: map[[2]string]bool{}}
	if o.asShort {
		b.set = o.setting
	}
	d.groups = s.Groups(func(e *trace.Edge) bool { return e.Medium == schema.DC && b.passes(e) })
	b.n.Nodes(len(s.Net.Nodes))
	b.n.Grow(len(s.Net.Edges))
	d.edgeOf = make([]int, 0, len(s.Net.Edges))
	for _, g := range s.references() {
		b.n.Ground(dc.Node(g))
	}
	b.ac = s.acFlow(c, b.set, o)
	b.conductors()
	b.batteries()
	b.sources()
	b.loads()
	b.hide()
	if !b.fatal {
		d.net = b.n
	}
	return d
}

// setting is how a condition sets the contacts. What moves by itself and stands
// open at rest is closed where a load that runs needs it.
func (s *Survey) setting(c *schema.Condition) Setting {
	if c == nil {
		return Setting{}
	}
	if set, ok := s.settings[c]; ok {
		return set
	}
	set := Setting{}
	for _, p := range s.Boat.Parts {
		if at, ok := c.Positions[p.ID]; ok {
			set[p] = at
		}
	}
	for _, e := range s.reclosed(c, set) {
		set[e.Part] = e.Branch.Contact.MakesIn[0]
	}
	if s.settings == nil {
		s.settings = map[*schema.Condition]Setting{}
	}
	s.settings[c] = set
	return set
}

// WorkingSetting is how the contacts stand when every load runs: as they usually
// do, and closed where a load needs it.
func (s *Survey) WorkingSetting() Setting {
	for _, c := range s.Conditions() {
		if c.BuiltIn {
			return s.setting(c)
		}
	}
	return Setting{}
}

// passes reports whether current can pass an edge through no load: a conductor,
// a shunt, a device or contact that is closed.
func (b *builder) passes(e *trace.Edge) bool {
	if b.opt.asShort && b.set == nil {
		return e.Type == trace.Conductor || e.Type == trace.Series || e.Type == trace.Device || e.Type == trace.Contact && !Bond(e)
	}
	if e.Type == trace.Device {
		return !opened(e.Part, b.set)
	}
	return b.set.Passes(e)
}

// opened reports a device that a person has opened.
func opened(p *schema.Part, set Setting) bool {
	if at, ok := set[p]; ok {
		return at == "open" || at == "off"
	}
	if p.Kind.Attr("position") == nil || p.Is(schema.Panel) {
		return false
	}
	return p.Word("position").V == "open"
}

func (b *builder) gap(g Gap) int {
	for i, have := range b.Missing {
		if have.What == g.What {
			return i
		}
	}
	b.Missing = append(b.Missing, g)
	return len(b.Missing) - 1
}

func (b *builder) want(what string, p *schema.Part, ids ...string) int {
	return b.gap(Gap{What: what, At: p.At, IDs: append([]string{p.ID}, ids...)})
}

func (b *builder) uses(at, what, value, source string) {
	key := [2]string{at, what}
	if !b.used[key] {
		b.used[key] = true
		b.Used = append(b.Used, diag.Used{At: at, What: what, Value: value, Source: source})
	}
}

func (b *builder) add(edge int, e dc.Element) {
	id := b.n.Add(e)
	b.elem[edge] = id
	b.edgeOf = append(b.edgeOf, edge) // elements count from nought
}

func node(n int) dc.Node { return dc.Node(n) }

// conductors adds wires, shunts, devices and closed contacts.
func (b *builder) conductors() {
	for i := range b.s.Net.Edges {
		e := &b.s.Net.Edges[i]
		if e.Medium != schema.DC || !b.passes(e) {
			continue
		}
		r := unit.Ohm(0)
		if e.Type == trace.Conductor {
			ohm, missing := b.s.edgeOhms(i, b.opt.cold)
			if missing != "" {
				b.unknown = append(b.unknown, i)
				if b.opt.open {
					continue
				}
			}
			r = ohm
			b.ohms[i] = ohm
		} else {
			r = b.partOhms(e)
		}
		if b.opt.asShort && e.Type == trace.Device {
			r = max(r, leastDevice)
		}
		if e.A != e.B {
			b.add(i, dc.Resistor{From: node(e.A), To: node(e.B), R: r})
		}
	}
}

// leastDevice keeps a device without resistance apart in short-circuit studies,
// so that its current can be told: 5 kA over it is 10 µV.
const leastDevice unit.Ohm = 2e-9

// partOhms is the resistance of a device, contact or shunt: as stated, else the
// default of its kind, named.
func (b *builder) partOhms(e *trace.Edge) unit.Ohm {
	br := e.Branch
	if br.Ohms.Given() {
		return br.Ohms.V
	}
	if br.OhmsDefault > 0 {
		name := e.Part.ID
		if br.Way != "" {
			name += "." + br.Way
		}
		if !b.opt.asShort {
			b.uses(name, "resistance", ohmText(br.OhmsDefault), br.OhmsDefaultSource)
		}
	}
	return br.OhmsDefault
}

func ohmText(r unit.Ohm) string { return fmt.Sprintf("%.3g mΩ", 1000*float64(r)) }

// hide finds what the missing resistances leave unknown. A run that hangs alone
// on the rest, feeding only loads of known current, hides no more than the volts
// behind it; any other leaves the whole condition without an answer.
func (b *builder) hide() {
	if len(b.unknown) == 0 || b.opt.asShort {
		return
	}
	n := b.s.Net
	g := b.s.Groups(func(e *trace.Edge) bool { return false })
	hot := map[int]bool{}
	unknown := map[int]bool{}
	for _, id := range b.unknown {
		unknown[id] = true
	}
	for i := range n.Edges {
		e := &n.Edges[i]
		if e.Medium != schema.DC || unknown[i] {
			continue
		}
		switch {
		case e.Type == trace.Battery:
			g.join(e.A, e.B)
		case e.Type == trace.Feed && b.elem[i] != none:
			g.join(e.A, b.s.Back(e))
		case e.Type == trace.ConvertIn && b.elem[i] != none:
			g.join(e.A, e.B)
			g.join(e.A, n.Node(e.Part, e.Branch.Convert.OutA))
			g.join(e.A, n.Node(e.Part, e.Branch.Convert.OutB))
		case b.passes(e):
			g.join(e.A, e.B)
		}
	}
	for i := range n.Edges {
		if e := &n.Edges[i]; e.Medium == schema.DC && (e.Type == trace.Battery || b.elem[i] != none && (e.Type == trace.Feed || e.Type == trace.ConvertIn)) {
			hot[g.find(e.A)] = true
		}
	}
	// Pieces hang on one another by the unknown conductors; each tree may have
	// one piece with sources.
	tree := newForest()
	gaps := map[int]int{}
	for _, id := range b.unknown {
		e := &n.Edges[id]
		_, missing := b.s.WireOhms(e.Wire, b.opt.cold)
		gap := b.gap(Gap{What: missing, At: e.Wire.At, IDs: []string{e.Wire.Ref()}})
		ra, rb := g.find(e.A), g.find(e.B)
		if ra == rb || !tree.join(ra, rb) {
			b.fatal = true
			return
		}
		for _, r := range [2]int{ra, rb} {
			if !hot[r] {
				gaps[r] = gap
			}
		}
	}
	sources := map[int]int{}
	for r := range hot {
		if sources[tree.find(r)]++; sources[tree.find(r)] > 1 {
			b.fatal = true
			return
		}
	}
	for v := range n.Nodes {
		if gap, ok := gaps[g.find(v)]; ok {
			b.blind[v] = gap + 1
		}
	}
	for _, l := range b.Loads {
		if l.Runs && l.model != "current" && (b.blind[l.Edge.A] > 0 || b.blind[l.Edge.B] > 0) {
			b.fatal = true
		}
	}
	for i := range n.Edges {
		if e := &n.Edges[i]; e.Type == trace.ConvertIn && b.elem[i] != none && (b.blind[e.A] > 0 || b.blind[e.B] > 0) {
			b.fatal = true
		}
	}
}

// forest is a union-find over sparse numbers.
type forest struct{ up map[int]int }

func newForest() *forest { return &forest{map[int]int{}} }

func (f *forest) find(n int) int {
	for {
		up, ok := f.up[n]
		if !ok || up == n {
			return n
		}
		n = up
	}
}

// join reports whether the two were apart.
func (f *forest) join(a, b int) bool {
	if a, b = f.find(a), f.find(b); a == b {
		return false
	}
	f.up[a] = b
	return true
}

// trouble names a solver's failure by the boat's own names.
func (d *DCState) trouble(err error) *Trouble {
	var f *dc.Failure
	if !errors.As(err, &f) {
		return &Trouble{Detail: err.Error()}
	}
	t := &Trouble{Cause: f.Cause, Detail: f.Detail}
	if f.Node != dc.None {
		t.Where = d.s.NodeName(int(f.Node))
	}
	if f.Element != none {
		if edge := d.edgeOf[f.Element]; edge >= 0 {
			e := &d.s.Net.Edges[edge]
			t.Part, t.Wire = e.Part, e.Wire
		}
	}
	if f.Cause == dc.Collapse && f.Reached > 0 {
		t.Detail += fmt.Sprintf(" (up to %.0f %% of them there is a solution)", 100*f.Reached)
	}
	return t
}

// shared finds outputs of one source that give more together than it has, and
// the limits that share it in the same proportion.
func (d *DCState) shared() (map[*trace.Edge]unit.Amp, bool) {
	sum := map[*schema.Part]unit.Amp{}
	count := map[*schema.Part]int{}
	for _, src := range d.Sources {
		if src.Edge.Type == trace.Feed {
			a, _ := d.edgeAmps(src.edge)
			sum[src.Part] += max(0, a)
			count[src.Part]++
		}
	}
	limits := map[*trace.Edge]unit.Amp{}
	for _, src := range d.Sources {
		whole := src.Edge.Branch.Feed
		if whole == nil || count[src.Part] < 2 || !whole.Amps.Given() || sum[src.Part] <= whole.Amps.V*(1+1e-9) {
			continue
		}
		a, _ := d.edgeAmps(src.edge)
		limits[src.Edge] = max(1e-6, max(0, a)*whole.Amps.V/sum[src.Part])
	}
	return limits, len(limits) > 0
}

// limit rebuilds the network with new limits of shared outputs.
func (d *DCState) limit(limits map[*trace.Edge]unit.Amp) {
	o := d.opt
	o.share = limits
	again := d.s.buildDC(d.Condition, o)
	d.net, d.elem, d.edgeOf, d.Sources, d.Loads = again.net, again.elem, again.edgeOf, again.Sources, again.Loads
}
