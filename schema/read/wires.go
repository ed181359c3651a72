package read

import (
	"sort"

	"fitout/schema"
	"fitout/schema/unit"
)

// wires expands an item of wires into its stretches, a cable into its cores.
func (r *reader) wires(u *run) {
	if u.cable {
		r.cableRun(u)
		return
	}
	list := r.stretches(u, u.stops, func(s *stop, first, last bool) { r.resolve(u, s, first, last) })
	sizes := r.stretchValues(u, len(list))
	for i, st := range list {
		if st.from.broken() || st.to.broken() {
			continue
		}
		w := r.stretchWire(u, st, sizes[i])
		w.ID, w.Path, w.Stretch = r.stretchID(u, i, len(list)), u.pathID(), i
		w.Cores = u.cores
		w.Medium = r.wireMedium(w)
		r.boat.Wires = append(r.boat.Wires, w)
	}
}

func (u *run) pathID() string {
	if u.id == nil {
		return ""
	}
	return u.id.Text
}

// stretchID names a stretch, and reports a name that stands in the file already.
func (r *reader) stretchID(u *run, i, n int) string {
	id := u.pathID()
	if id == "" || n <= 1 {
		return id
	}
	id += letters(i, n)
	names := &r.electric
	if u.sec == &hoseKeys {
		names = &r.hoseIDs
	}
	claimAny(r, names, u.id, id, "the id", true)
	return id
}

// stretchValue is what differs from stretch to stretch.
type stretchValue struct {
	size       sizing
	length     schema.Val[unit.Metre]
	resistance schema.Val[unit.Ohm]
}

// stretchValues gives each of n stretches its size, length and resistance.
func (r *reader) stretchValues(u *run, n int) []stretchValue {
	r.clash(u.size.given(), u.sizes.node, "size", "sizes")
	r.clash(u.length.Given(), u.lengths.node, "length", "lengths")
	r.clash(u.resistance.Given(), u.resistances.node, "resistance", "resistances")
	if u.cableSize.Given() && u.size.size.Given() && u.cableSize.V != u.size.size.V {
		r.add(Problem{Span: u.size.size.At, Message: "size and cable name two sizes"})
	}
	out := make([]stretchValue, n)
	name := stretchName(u.line)
	sizes := fits(r, u.sizes, "sizes", name, n)
	lengths := fits(r, u.lengths, "lengths", name, n)
	ohms := fits(r, u.resistances, "resistances", name, n)
	for i := range out {
		v := &out[i]
		v.size = u.size
		if !v.size.given() {
			v.size.size = u.cableSize
		}
		if sizes {
			v.size = u.sizes.list[i]
		}
		v.length = shared(u.length, n, unit.Metre.String)
		if lengths {
			v.length = u.lengths.list[i]
		}
		v.resistance = shared(u.resistance, n, unit.Ohm.String)
		if ohms {
			v.resistance = u.resistances.list[i]
		}
	}
	return out
}

func (r *reader) stretchWire(u *run, st stretch, v stretchValue) *schema.Wire {
	w := u.wire
	w.From, w.To = st.from.end(st.from.leave), st.to.end(st.to.enter)
	w.Size, w.Auto = v.size.size, v.size.auto
	w.Length, w.Resistance = v.length, v.resistance
	w.At = u.node.Span()
	return &w
}

// wireMedium is AC where either end is.
func (r *reader) wireMedium(w *schema.Wire) schema.Medium {
	for _, e := range []schema.End{w.From, w.To} {
		if t, ok := e.Part.Terminal(e.Terminal); ok && t.Medium == schema.AC {
			return schema.AC
		}
	}
	return schema.DC
}

// isCable reports whether an item with `cable:` is an AC cable: every part on
// its way has terminals for one. Else the item is one conductor of a cable.
func (r *reader) isCable(u *run) bool {
	if !u.cores.Given() {
		return false
	}
	some, all := false, true
	for _, s := range u.stops {
		if s.part == nil {
			continue
		}
		ac := hasAC(s)
		some, all = some || ac, all && ac
	}
	if some && !all {
		for _, s := range u.stops {
			if s.part != nil && !hasAC(s) {
				s.bad = true
				r.at(s.node, "%s is %s and has no terminals for an AC cable", s.part.ID, article(s.part.Kind.Name))
			}
		}
	}
	return some
}

func hasAC(s *stop) bool {
	if s.named {
		if t, ok := s.part.Terminal(s.name); ok {
			return t.Medium == schema.AC
		}
	}
	for _, t := range s.part.Terminals() {
		if t.Medium == schema.AC && !t.Hidden {
			return true
		}
	}
	return false
}

// groups lists the cable groups of a part's visible AC terminals.
func groups(p *schema.Part) []string {
	var out []string
	for _, t := range p.Terminals() {
		if t.Medium == schema.AC && !t.Hidden && !contains(out, t.Cable) {
			out = append(out, t.Cable)
		}
	}
	return out
}

// groupOf returns the cable group that a terminal's name, or the group's own,
// means.
func groupOf(p *schema.Part, name string) (string, bool) {
	for _, t := range p.Terminals() {
		if t.Name == name && t.Medium == schema.AC && !t.Hidden {
			return t.Cable, true
		}
	}
	for _, t := range p.Terminals() {
		if t.Medium == schema.AC && !t.Hidden && (t.Cable == name || t.Way == name) && name != "" {
			return t.Cable, true
		}
	}
	return "", false
}

// resolveCable finds the groups of terminals a cable lands on.
func (r *reader) resolveCable(u *run, s *stop, first, last bool) {
	if s.part == nil || s.bad {
		return
	}
	p := s.part
	all := groups(p)
	if s.named {
		g, ok := groupOf(p, s.name)
		if !ok {
			s.bad = true
			r.unknownTerminal(s, withoutEmpty(visible(p, false)))
		}
		s.enter, s.leave = g, g
		return
	}
	in, out, two := passes(p, false)
	gin, okIn := groupOf(p, in)
	gout, okOut := groupOf(p, out)
	switch {
	case two && okIn && okOut && !p.Kind.Directed && gin != gout:
		r.undirected(u, s, in, out, first || last)
		if !s.bad {
			s.enter, _ = groupOf(p, s.enter)
			s.leave, _ = groupOf(p, s.leave)
		}
	case len(all) == 1:
		s.enter, s.leave = all[0], all[0]
	case p.Kind.Alone != "" && contains(all, p.Kind.Alone):
		s.enter, s.leave = p.Kind.Alone, p.Kind.Alone
	case contains(all, ""):
		// The group without a name is the common one: a source selector's load side.
		s.enter, s.leave = "", ""
	case contains(all, "in") && contains(all, "out"):
		s.enter, s.leave = "in", "out"
		if first {
			s.enter = "out"
		}
		if last {
			s.leave = "in"
		}
	default:
		r.name(s, visible(p, false), "")
	}
}

// cores are the conductors of AC cables in order.
var cores = map[int][]schema.Polarity{
	2: {schema.Live, schema.Neutral},
	3: {schema.Live, schema.Neutral, schema.Earth},
}

var coreNames = map[schema.Polarity]string{schema.Live: "L", schema.Neutral: "N", schema.Earth: "PE"}

// cableRun expands an AC cable into its cores.
func (r *reader) cableRun(u *run) {
	list := r.stretches(u, u.stops, func(s *stop, first, last bool) { r.resolveCable(u, s, first, last) })
	values := r.stretchValues(u, len(list))
	wanted := cores[u.cores.V]
	if wanted == nil {
		r.add(Problem{Span: u.cores.At, Message: "an AC cable has 2 cores (L, N) or 3 (L, N, PE)"})
		return
	}
	for i, st := range list {
		if st.from.broken() || st.to.broken() {
			continue
		}
		id := r.stretchID(u, i, len(list))
		for _, pol := range wanted {
			w := r.stretchWire(u, st, values[i])
			ok := r.landCore(&w.From, st.from, st.from.leave, pol)
			ok = r.landCore(&w.To, st.to, st.to.enter, pol) && ok
			if !ok {
				continue
			}
			w.Medium, w.Cable, w.Core = schema.AC, id, coreNames[pol]
			w.ID, w.Path, w.Stretch = id+"."+w.Core, u.pathID(), i
			w.Cores = u.cores
			r.boat.Wires = append(r.boat.Wires, w)
		}
	}
}

// landCore finds the terminal of a group that a core lands on: the one of its
// polarity; else one the core passes through; else a joint it passes by.
func (r *reader) landCore(e *schema.End, s *stop, group string, pol schema.Polarity) bool {
	p := s.part
	list := p.Terminals()
	// Terminals of the group itself come first, the visible before the hidden.
	type choice struct {
		rank int
		name string
	}
	var fit []choice
	for _, t := range list {
		if t.Medium != schema.AC {
			continue
		}
		same := t.Cable == group
		switch {
		case t.Polarity == pol && same && !t.Hidden:
			fit = append(fit, choice{0, t.Name})
		case t.Polarity == pol && same:
			fit = append(fit, choice{1, t.Name})
		case t.Polarity == pol && t.Hidden:
			fit = append(fit, choice{2, t.Name})
		case t.Polarity == schema.Through && same && !t.Hidden && pol == schema.Live:
			fit = append(fit, choice{3, t.Name})
		}
	}
	if len(fit) == 0 {
		r.at(s.node, "%s has no terminal for the core %s of this cable", p.ID, coreNames[pol])
		return false
	}
	sort.SliceStable(fit, func(i, j int) bool { return fit[i].rank < fit[j].rank })
	e.Terminal = fit[0].name
	return true
}
