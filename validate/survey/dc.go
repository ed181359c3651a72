package survey

import (
	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/source"
	"fitout/schema/unit"
	"fitout/validate/dc"
	"fitout/validate/trace"
)

// Gap is a datum that the file does not give and a solution needs.
type Gap struct {
	What string // as the file would name it: "length of wire 3"
	At   source.Span
	IDs  []string
}

// Trouble is why the DC network of a condition has no solution.
type Trouble struct {
	Cause  dc.Cause
	Where  string // the terminal, "" where none is named
	Part   *schema.Part
	Wire   *schema.Wire
	Detail string
}

// String words the trouble with the boat's own names.
func (t *Trouble) String() string {
	text := t.Cause.String()
	switch {
	case t.Part != nil:
		text += " at " + t.Part.ID
	case t.Wire != nil:
		text += " at wire " + t.Wire.Ref()
	case t.Where != "":
		text += " at " + t.Where
	}
	if t.Detail != "" {
		text += ": " + t.Detail
	}
	return text
}

// DCState is the DC system of the boat in one condition, every load that runs at
// full draw. A nil *DCState knows nothing.
type DCState struct {
	Condition *schema.Condition
	// Missing are the data without which some or all figures are not known.
	Missing []Gap
	// Trouble is set where the network has no solution.
	Trouble *Trouble
	// Used are the documented defaults that stood in for data.
	Used []diag.Used
	// Loads are the DC loads of the boat, in order of the net.
	Loads []*DCLoad
	// Sources are the limited sources that work in the condition: alternators,
	// chargers, solar, converters.
	Sources []*DCSource

	s       *Survey
	opt     dcOptions
	net     *dc.Network
	sol     *dc.Solution
	elem    []dc.ID    // by edge of the net, none where it is left out
	edgeOf  []int      // element → edge, -1 for what has none of its own
	groups  *Groups    // joined in this condition, devices closed
	ohms    []unit.Ohm // by edge: conductors
	partial bool       // some draw is not known: currents are too low, volts too high
	blind   []int      // by node: 1 + index in Missing of what hides its volts, 0 if known
	mean    *DCState
	sunny   *DCState // see overHours
	drops   *dropSources
	ways    map[int][]int
	loadAt  map[*trace.Edge]*DCLoad
	shorted int // 1 yes, -1 no, 0 not looked for
}

const none = dc.ID(dc.None)

// DCLoad is one load in one condition.
type DCLoad struct {
	Part *schema.Part
	Edge *trace.Edge
	Data *schema.LoadData
	// Runs reports whether it takes current in the condition; Duty is the share of
	// the time, from the condition, else the load's own.
	Runs bool
	Duty unit.Ratio
	edge int
	// asked is what it asks for, all alike together: amperes, watts or ohms by
	// model.
	model string
	asked float64
}

// DCSource is one limited source that works in a condition.
type DCSource struct {
	Part *schema.Part
	Edge *trace.Edge
	// Output is how it behaves at its terminals.
	Output dc.Output
	edge   int
}

// dcOptions are the ways a condition is solved besides its plain meaning.
type dcOptions struct {
	mean     bool                        // loads at their mean draw
	starting *schema.Part                // this load takes its starting current
	noCrank  bool                        // starter motors stand
	only     *schema.Part                // this load runs and no other
	rpm      *unit.RPM                   // all engines turn at this speed
	sun      *float64                    // share of full sun, instead of full or none
	charge   map[*schema.Part]unit.Ratio // states of charge
	share    map[*trace.Edge]unit.Amp    // limits of outputs that share one source
	without  *schema.Part                // this battery has disconnected itself
	asShort  bool                        // not a condition: every source, every contact closed
	end      ohmEnd                      // which end of a battery's resistance
	cold     bool                        // copper at 20 °C
	open     bool                        // conductors of unknown resistance are left out
	relieve  bool                        // limited sources that stand alone give what they are asked for
	setting  Setting                     // asShort: positions instead of all closed
}

// Conditions returns the conditions in which the boat is solved, in file order;
// the built-in `all` is among them.
func (s *Survey) Conditions() []*schema.Condition {
	if s == nil {
		return nil
	}
	return s.Boat.Conditions
}

// DC returns the solved DC system in a condition; it is computed once. It is nil
// for a nil condition.
func (s *Survey) DC(c *schema.Condition) *DCState {
	if s == nil || c == nil {
		return nil
	}
	if s.solved == nil {
		s.solved = map[*schema.Condition]*DCState{}
	}
	d, ok := s.solved[c]
	if !ok {
		d = s.solveDC(c, dcOptions{})
		s.solved[c] = d
	}
	return d
}

// DCWithoutCranking is DC, except that starter motors stand in the built-in
// condition: they run for seconds, and what they do to other loads there is no
// working state.
func (s *Survey) DCWithoutCranking(c *schema.Condition) *DCState {
	if c == nil || !c.BuiltIn || !s.cranks() {
		return s.DC(c)
	}
	if s.uncranked == nil {
		s.uncranked = s.solveDC(c, dcOptions{noCrank: true})
	}
	return s.uncranked
}

// Cranking is the built-in condition with one starter motor running and nothing
// else: the moment an engine starts.
func (s *Survey) Cranking(p *schema.Part) *DCState {
	for _, c := range s.Conditions() {
		if c.BuiltIn {
			return s.solveDC(c, dcOptions{only: p})
		}
	}
	return nil
}

// Judged is DCWithoutCranking for judging by: where a limited source without a
// battery beside it is asked for more than it gives, so that there is no
// solution, it is solved as if the source gave it. What else is wrong aboard is
// then known too; the overload itself is a finding.
func (s *Survey) Judged(c *schema.Condition) *DCState {
	d := s.DCWithoutCranking(c)
	if d == nil || d.Trouble == nil || d.opt.relieve {
		return d
	}
	if s.relieved == nil {
		s.relieved = map[*schema.Condition]*DCState{}
	}
	r, ok := s.relieved[c]
	if !ok {
		r = d.with(func(o *dcOptions) { o.relieve = true })
		s.relieved[c] = r
	}
	if r.Trouble != nil {
		return d
	}
	return r
}

func (s *Survey) cranks() bool {
	if s.starters == 0 {
		s.starters = -1
		if s.hasStarter() {
			s.starters = 1
		}
	}
	return s.starters > 0
}

func (s *Survey) hasStarter() bool {
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Type == trace.Load && e.Medium == schema.DC && e.Part.Is(schema.Cranking) {
			return true
		}
	}
	return false
}

// Mean is the condition with every load at its mean draw: what a battery sees
// over the hours. It is the state itself where every load runs all the time.
func (d *DCState) Mean() *DCState {
	if d == nil {
		return nil
	}
	if d.mean == nil {
		d.mean = d
		if !d.opt.mean && d.pauses() {
			o := d.opt
			o.mean = true
			d.mean = d.s.solveDC(d.Condition, o)
		}
	}
	return d.mean
}

// With solves the condition again in another way.
func (d *DCState) with(change func(*dcOptions)) *DCState {
	o := d.opt
	change(&o)
	return d.s.solveDC(d.Condition, o)
}

func (d *DCState) pauses() bool {
	for _, l := range d.Loads {
		if l.Runs && l.Duty != 1 {
			return true
		}
	}
	return false
}

// Solved reports whether the condition has a solution and every datum of it.
func (d *DCState) Solved() bool { return d != nil && d.sol != nil && !d.partial }

// Bounded reports whether there is a solution, if only with the loads whose draw
// is known: its currents are then too low and its volts too high.
func (d *DCState) Bounded() bool { return d != nil && d.sol != nil }

// Volts returns the voltage of a terminal against the reference of its island;
// ok is false where no source reaches it or where a datum is missing.
func (d *DCState) Volts(p *schema.Part, terminal string) (unit.Volt, bool) {
	if !d.Solved() || p == nil {
		return 0, false
	}
	return d.nodeVolts(d.s.Net.Node(p, terminal))
}

func (d *DCState) nodeVolts(n int) (unit.Volt, bool) {
	if d.sol == nil || n < 0 || d.blind[n] > 0 {
		return 0, false
	}
	return d.sol.Volts(dc.Node(n))
}

// Across returns the voltage over a part's load or source: from its first
// electrical branch's + to its -.
func (d *DCState) Across(p *schema.Part) (unit.Volt, bool) {
	if !d.Solved() || p == nil {
		return 0, false
	}
	for i := range d.s.Net.Edges {
		e := &d.s.Net.Edges[i]
		if e.Part != p || e.Medium != schema.DC {
			continue
		}
		switch e.Type {
		case trace.Load, trace.Battery, trace.Feed, trace.ConvertIn:
			return d.acrossEdge(e)
		}
	}
	return 0, false
}

func (d *DCState) acrossEdge(e *trace.Edge) (unit.Volt, bool) {
	b := e.B
	if e.Type == trace.Feed {
		b = d.s.Back(e)
	}
	va, ok := d.nodeVolts(e.A)
	vb, ok2 := d.nodeVolts(b)
	return va - vb, ok && ok2
}

// Amps returns the current of a conductor, all its parallel strands together,
// positive from `from` to `to`.
func (d *DCState) Amps(w *schema.Wire) (unit.Amp, bool) {
	if !d.Solved() {
		return 0, false
	}
	return d.LeastAmps(w)
}

// LeastAmps is Amps, known to be no smaller than returned where some load's draw
// is not stated.
func (d *DCState) LeastAmps(w *schema.Wire) (unit.Amp, bool) {
	if !d.Bounded() {
		return 0, false
	}
	id, ok := d.s.Net.WireEdge[w]
	if !ok || id < 0 {
		return 0, false
	}
	return d.edgeAmps(id)
}

// edgeAmps is the current of an edge from A to B; of a battery or source out of
// A.
func (d *DCState) edgeAmps(id int) (unit.Amp, bool) {
	if d.sol == nil || d.elem[id] == none {
		return 0, d.sol != nil
	}
	return d.sol.Amps[d.elem[id]], true
}

// EdgeAmps returns the current of an edge of the net from A to B, out of A for a
// battery or source.
func (d *DCState) EdgeAmps(id int) (unit.Amp, bool) {
	if !d.Bounded() {
		return 0, false
	}
	return d.edgeAmps(id)
}

// DeviceAmps returns the current of a device, contact or shunt of a part, from
// its first terminal to its second; way names the way of a panel.
func (d *DCState) DeviceAmps(p *schema.Part, way string) (unit.Amp, bool) {
	if !d.Solved() {
		return 0, false
	}
	for i := range d.s.Net.Edges {
		e := &d.s.Net.Edges[i]
		if e.Part == p && e.Medium == schema.DC && e.Branch.Way == way && (e.Type == trace.Device || e.Type == trace.Contact || e.Type == trace.Series) {
			return d.edgeAmps(i)
		}
	}
	return 0, false
}

// BatteryAmps returns the current of a battery at full draw, positive when it
// discharges. Its mean over the hours is that of Mean.
func (d *DCState) BatteryAmps(p *schema.Part) (unit.Amp, bool) {
	if !d.Solved() {
		return 0, false
	}
	for i := range d.s.Net.Edges {
		if e := &d.s.Net.Edges[i]; e.Part == p && e.Type == trace.Battery {
			return d.edgeAmps(i)
		}
	}
	return 0, false
}

// LoadAt returns the load of an edge in the condition, or nil.
func (d *DCState) LoadAt(e *trace.Edge) *DCLoad {
	if d == nil {
		return nil
	}
	if d.loadAt == nil {
		d.loadAt = make(map[*trace.Edge]*DCLoad, len(d.Loads))
		for _, l := range d.Loads {
			d.loadAt[l.Edge] = l
		}
	}
	return d.loadAt[e]
}

// LoadAmps returns what a load takes.
func (d *DCState) LoadAmps(l *DCLoad) (unit.Amp, bool) {
	if !d.Bounded() || l == nil {
		return 0, false
	}
	return d.edgeAmps(l.edge)
}

// LoadVolts returns the voltage a load sees.
func (d *DCState) LoadVolts(l *DCLoad) (unit.Volt, bool) {
	if !d.Bounded() || l == nil {
		return 0, false
	}
	return d.acrossEdge(l.Edge)
}

// Hidden returns the gap that hides the volts of an edge's ends, if one does.
func (d *DCState) Hidden(e *trace.Edge) (Gap, bool) {
	for _, n := range [2]int{e.A, e.B} {
		if d != nil && n >= 0 && n < len(d.blind) && d.blind[n] > 0 {
			return d.Missing[d.blind[n]-1], true
		}
	}
	return Gap{}, false
}

// Ohms returns the resistance of a conductor as the condition was solved, all
// its parallel strands together.
func (d *DCState) Ohms(w *schema.Wire) (unit.Ohm, bool) {
	if d == nil {
		return 0, false
	}
	if _, missing := d.s.WireOhms(w, false); missing != "" {
		return 0, false
	}
	id, ok := d.s.Net.WireEdge[w]
	if !ok || id < 0 {
		return 0, false // prepared, or it ends at a part that is
	}
	return d.ohms[id], true
}

// Mode returns how a source works in the condition.
func (d *DCState) Mode(src *DCSource) dc.Mode {
	if d.sol == nil || d.elem[src.edge] == none {
		return dc.Off
	}
	return d.sol.Modes[d.elem[src.edge]]
}

// InAmps returns the input current of a converter.
func (d *DCState) InAmps(src *DCSource) (unit.Amp, bool) {
	if d.sol == nil || d.elem[src.edge] == none {
		return 0, false
	}
	return d.sol.InAmps[d.elem[src.edge]], true
}

// Fed reports whether a source reaches a terminal in the condition.
func (d *DCState) Fed(node int) bool {
	if d == nil || d.sol == nil || node < 0 {
		return false
	}
	_, ok := d.sol.Volts(dc.Node(node))
	return ok
}

// Balance returns the difference of power supplied and used as a share, and the
// worst sum of currents at a joint with its name.
func (d *DCState) Balance() (share float64, residual unit.Amp, worst string) {
	if d == nil || d.sol == nil {
		return 0, 0, ""
	}
	if d.sol.WorstNode != dc.None {
		worst = d.s.NodeName(int(d.sol.WorstNode))
	}
	return d.sol.Imbalance(), d.sol.Residual, worst
}

// Islands lists the groups of terminals that no source reaches, by name.
func (d *DCState) Islands() [][]string {
	if d == nil || d.sol == nil {
		return nil
	}
	var out [][]string
	for _, island := range d.sol.Islands {
		var names []string
		wired := false
		for _, n := range island {
			for _, id := range d.s.Net.Nodes[n].Edges {
				e := &d.s.Net.Edges[id]
				wired = wired || e.Type == trace.Conductor && e.Medium == schema.DC
			}
			names = append(names, d.s.terminalNames(int(n))...)
		}
		if wired {
			out = append(out, names)
		}
	}
	return out
}
