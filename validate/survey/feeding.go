package survey

import (
	"slices"

	"fitout/schema"
	"fitout/validate/trace"
)

// Regime is what gives current beside the batteries while a loss is judged.
type Regime int

// The regimes, in the order in which one is left with less.
const (
	// Standing: batteries alone, and what converts from them. Engines stand, no
	// sun, no shore power.
	Standing Regime = iota
	// Relayed: as Standing, with battery-to-battery chargers that no engine
	// starts: they carry on until the battery behind them is flat.
	Relayed
	EngineRuns
	SunShines
	OnShore
	regimes
)

// feeding tells which loads are fed, with contacts as they stand in use: as at
// rest, and those closed without which a load could never run. A relay whose coil
// is wired follows its coil.
type feeding struct {
	s     *Survey
	makes []bool               // by edge: a contact that closes in use
	coil  map[*schema.Part]int // relays that follow their coil, with its edge
	base  [regimes]*feedState  // nothing failed
	alone [regimes]*feedState  // and without batteries
	fed   [regimes]map[*schema.Part]bool
	word  map[*schema.Part]bool // combining relays
	has   [regimes]bool         // the boat has what the regime is named after
}

// outage is what has failed: parts or single ways of them, conductors, and
// devices that opened.
type outage struct {
	part  *schema.Part
	way   string
	edges map[int]bool
	// without leaves these batteries out.
	without map[*schema.Part]bool
	// closed are contacts a person has closed on top.
	closed map[int]bool
}

func (o *outage) gone(p *schema.Part) bool {
	return o != nil && (o.part == p && o.way == "" || o.without[p])
}

// cuts reports whether the outage takes an edge of the net away.
func (o *outage) cuts(id int, e *trace.Edge) bool {
	if o == nil {
		return false
	}
	if o.edges[id] {
		return true
	}
	switch e.Type {
	case trace.Conductor:
		return o.part != nil && o.way == "" && o.part.Roles().Any(schema.Distribution) && (e.Wire.From.Part == o.part || e.Wire.To.Part == o.part)
	case trace.Contact, trace.Device, trace.Series:
		return o.part != nil && e.Part == o.part && (o.way == "" || e.Branch.Way == o.way)
	}
	return false
}

// feedState is which joints are reached from a plus and from a minus.
type feedState struct{ plus, minus []bool }

func (f *feedState) across(e *trace.Edge) bool { return f.plus[e.A] && f.minus[e.B] }

// feeds returns how the boat is fed, worked out once.
func (s *Survey) feeds() *feeding {
	if s.feedingMemo == nil {
		s.feedingMemo = s.newFeeding()
	}
	return s.feedingMemo
}

func (s *Survey) newFeeding() *feeding {
	f := &feeding{s: s, makes: make([]bool, len(s.Net.Edges)), coil: map[*schema.Part]int{}, word: map[*schema.Part]bool{}}
	var open []int
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		if e.Type != trace.Contact {
			continue
		}
		f.makes[i] = !Bond(e)
		if e.Part.Word("type").V == "combining" {
			f.word[e.Part] = true
		} else if !atRest(e) && e.Medium == schema.DC {
			open = append(open, i)
		}
	}
	f.has = s.present()
	f.ruleCoils()
	f.makes = f.least(open, Standing, OnShore)
	for r := Standing; r < regimes; r++ {
		f.base[r] = f.state(r, nil, true)
		f.alone[r] = f.state(r, nil, false)
		f.fed[r] = f.loads(f.base[r])
	}
	return f
}

// present tells which regimes differ from the first aboard this boat.
func (s *Survey) present() (has [regimes]bool) {
	has[Standing] = true
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		if e.Type != trace.Feed && e.Type != trace.ConvertIn {
			continue
		}
		for r := Relayed; r < regimes; r++ {
			before, _ := gives(e, Standing)
			now, _ := gives(e, r)
			has[r] = has[r] || now && !before && (r == Relayed || e.Type == trace.Feed || e.Part.Has("engine"))
		}
	}
	return has
}

// like is the regime that one the boat knows nothing of is no different from.
func (f *feeding) like(r Regime) Regime {
	switch {
	case f.has[r]:
		return r
	case r > Relayed && f.has[Relayed]:
		return Relayed
	}
	return Standing
}

// ruleCoils finds the relays whose coil can be fed: their contact follows it.
func (f *feeding) ruleCoils() {
	all := f.everything()
	for i := range f.s.Net.Edges {
		e := &f.s.Net.Edges[i]
		if e.Type != trace.Load && e.Type != trace.Sense || e.Branch.A != "coil+" || f.word[e.Part] || e.Part.Word("type").V == "latching" {
			continue
		}
		if f.s.Joined(e.A) && f.s.Joined(e.B) && all.across(e) {
			f.coil[e.Part] = i
		}
	}
}

// least opens, one by one, the contacts of a list without which every load is fed
// as with all of them closed, in two regimes.
func (f *feeding) least(open []int, in ...Regime) []bool {
	var want []map[*schema.Part]bool
	for _, r := range in {
		want = append(want, f.loads(f.state(r, nil, true)))
	}
	for _, id := range open {
		f.makes[id] = false
		for k, r := range in {
			if have := f.loads(f.state(r, nil, true)); len(have) < len(want[k]) {
				f.makes[id] = true
				break
			}
		}
	}
	return f.makes
}

// everything is the state with every source giving.
func (f *feeding) everything() *feedState { return f.state(regimes, nil, true) }

// gives reports whether a source gives in a regime by itself; those that live on
// another say so by needs.
func gives(e *trace.Edge, r Regime) (now bool, needs [2]string) {
	switch e.Type {
	case trace.Battery:
		return true, needs
	case trace.ConvertIn:
		c := e.Branch.Convert
		engine := e.Part.Kind.Attr("engine") != nil && e.Part.Has("engine")
		switch {
		case engine && r != EngineRuns && r != regimes, c.Charger && !engine && r == Standing:
			return false, needs
		}
		return true, [2]string{e.Branch.A, e.Branch.B}
	}
	d := e.Branch.Feed
	if d.InA != "" {
		return true, [2]string{d.InA, d.InB}
	}
	switch d.Needs {
	case "engine":
		return r == EngineRuns || r == regimes, needs
	case "sun":
		return r == SunShines || r == regimes, needs
	}
	return r == OnShore || r == regimes, needs
}

// feedWalk spreads plus and minus over the net until nothing more closes.
type feedWalk struct {
	*feeding
	*feedState
	r   Regime
	out *outage
}

// state computes what is reached in a regime, with an outage. Without batteries
// only what charges gives current; relays then follow the state with them.
func (f *feeding) state(r Regime, out *outage, batteries bool) *feedState {
	n := f.s.Net
	w := feedWalk{f, &feedState{make([]bool, len(n.Nodes)), make([]bool, len(n.Nodes))}, r, out}
	var coils *feedState
	if !batteries {
		coils = f.state(r, out, true)
	}
	started := map[int]bool{}
	for again := true; again; {
		again = false
		for i := range n.Edges {
			e := &n.Edges[i]
			switch e.Type {
			case trace.Battery, trace.Feed, trace.ConvertIn:
				if !started[i] && (batteries || e.Type != trace.Battery) && w.start(e) {
					started[i], again = true, true
				}
			case trace.Contact:
				again = w.close(i, e, coils) || again
			}
		}
	}
	return w.feedState
}

// start lets a source give, where it can.
func (w *feedWalk) start(e *trace.Edge) bool {
	n := w.s.Net
	if w.out.gone(e.Part) {
		return false
	}
	now, needs := gives(e, w.r)
	if !now {
		return false
	}
	if needs[0] != "" {
		a, b := n.Node(e.Part, needs[0]), n.Node(e.Part, needs[1])
		if a < 0 || b < 0 || !w.plus[a] || !w.minus[b] {
			return false
		}
	}
	a, b := e.A, e.B
	switch e.Type {
	case trace.ConvertIn:
		a, b = n.Node(e.Part, e.Branch.Convert.OutA), n.Node(e.Part, e.Branch.Convert.OutB)
	case trace.Feed:
		b = w.s.Back(e)
	}
	w.spread(a, w.plus)
	w.spread(b, w.minus)
	return true
}

// close lets a relay's contact carry on what has come to it once its coil is fed.
func (w *feedWalk) close(id int, e *trace.Edge, coils *feedState) bool {
	if !w.passes(id, e, coils) {
		return false
	}
	grown := false
	for _, seen := range [][]bool{w.plus, w.minus} {
		if seen[e.A] != seen[e.B] {
			w.spread(e.A, seen)
			w.spread(e.B, seen)
			grown = true
		}
	}
	return grown
}

// passes reports whether current passes an edge through no load.
func (w *feedWalk) passes(id int, e *trace.Edge, coils *feedState) bool {
	if w.out.cuts(id, e) {
		return false
	}
	switch e.Type {
	case trace.Conductor, trace.Device, trace.Series:
		return true
	case trace.Contact:
		if !w.makes[id] && (w.out == nil || !w.out.closed[id]) || w.word[e.Part] && (w.r <= Relayed || w.r < regimes && !w.has[w.r]) {
			return false
		}
		coil, ruled := w.coil[e.Part]
		if !ruled {
			return true
		}
		if coils == nil {
			coils = w.feedState
		}
		return coils.across(&w.s.Net.Edges[coil])
	}
	return false
}

func (w *feedWalk) spread(from int, seen []bool) {
	if from < 0 || seen[from] {
		return
	}
	seen[from] = true
	stack := []int{from}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, id := range w.s.Net.Nodes[v].Edges {
			e := &w.s.Net.Edges[id]
			// a relay that follows its coil is closed by close alone
			if _, ruled := w.coil[e.Part]; ruled && e.Type == trace.Contact {
				continue
			}
			if to := e.Other(v); !seen[to] && w.passes(id, e, nil) {
				seen[to] = true
				stack = append(stack, to)
			}
		}
	}
}

// loads returns the parts that current reaches and leaves.
func (f *feeding) loads(st *feedState) map[*schema.Part]bool {
	out := map[*schema.Part]bool{}
	n := f.s.Net
	for i := range n.Edges {
		if e := &n.Edges[i]; (e.Type == trace.Load || e.Type == trace.ConvertIn) && st.across(e) {
			out[e.Part] = true
		}
	}
	return out
}

// charged returns the batteries that something charges in a regime: reached from
// a source that is no battery.
func (f *feeding) charged(st *feedState) map[*schema.Part]bool {
	out := map[*schema.Part]bool{}
	n := f.s.Net
	for i := range n.Edges {
		if e := &n.Edges[i]; e.Type == trace.Battery && st.across(e) {
			out[e.Part] = true
		}
	}
	return out
}

// reclosed lists the contacts that a condition leaves open at rest, that move by
// themselves, and without which a load that runs would have no current: they
// close, for the load runs. In the built-in condition every load runs, so a
// person's switches close for it too, and a selector that stands off takes a
// bank. The condition's own positions stand.
func (s *Survey) reclosed(c *schema.Condition, set Setting) []*trace.Edge {
	var open []int
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		if e.Type != trace.Contact || e.Medium != schema.DC || Bond(e) || !e.Branch.Contact.Automatic && !c.BuiltIn ||
			e.Branch.Contact.Exclusive && !(c.BuiltIn && e.Branch.Contact.Position == "off") ||
			len(e.Branch.Contact.MakesIn) == 0 || e.Part.Word("type").V == "combining" {
			continue
		}
		if _, stated := set[e.Part]; !stated && !set.Closed(e) {
			open = append(open, i)
		}
	}
	if len(open) == 0 {
		return nil
	}
	runs := map[*schema.Part]bool{}
	for _, r := range c.Running {
		runs[r.Part] = r.Duty > 0
	}
	f := &feeding{s: s, makes: make([]bool, len(s.Net.Edges)), coil: map[*schema.Part]int{}, word: map[*schema.Part]bool{}}
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Type == trace.Contact {
			f.makes[i] = set.Closed(e) || slices.Contains(open, i)
		}
	}
	fed := func() (n int) {
		for p := range f.loads(f.everything()) {
			if runs[p] {
				n++
			}
		}
		return n
	}
	want := fed()
	var out []*trace.Edge
	for _, id := range open {
		f.makes[id] = false
		if fed() < want {
			f.makes[id] = true
			out = append(out, &s.Net.Edges[id])
		}
	}
	return out
}
