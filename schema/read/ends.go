package read

import (
	"fmt"
	"strings"

	"fitout/schema"
	"fitout/schema/source"
	"fitout/schema/unit"
)

// stop is one place a line passes: a part, perhaps with a terminal, or an open
// end of a hose.
type stop struct {
	node  *Node
	part  *schema.Part // nil where it could not be read, or for an open end
	name  string       // the terminal as written
	named bool

	open   *schema.Space
	height schema.Val[unit.Metre]

	// enter and leave are the terminals that the stretches before and after it
	// land on, once resolved; for a cable they are groups.
	enter, leave string
	fixed        bool // resolved already
	bad          bool // could not be resolved; reported
	place        int  // in its line as written
}

// bad reports whether a stretch to the stop cannot be made.
func (s *stop) broken() bool { return s.bad || s.part == nil && s.open == nil }

// run is a line with its stops.
type run struct {
	*line
	stops []*stop // a circuit's: feed, via …, without the load
	loads []*stop
	ret   *stop
	// dropped are the stretches as written that a seacock's close joint stands
	// for.
	dropped []int
	cable   bool
}

// meeting is a part in one of the two worlds: wires or hoses.
type meeting struct {
	part  *schema.Part
	water bool
}

// tally is how the lines of the file meet a part without direction.
type tally struct {
	bare  int  // mentions without a terminal; one on the way counts twice
	named bool // some line names a terminal
	seen  int  // of the bare mentions at ends, how many have got a terminal
}

// route finds the stops of a line.
func (r *reader) route(l *line) *run {
	u := &run{line: l}
	if l.sec == &circuitKeys {
		r.circuitStops(u)
		return u
	}
	switch {
	case l.path != nil:
		if l.from != nil || l.to != nil {
			r.at(l.node, "%s has either path, or from and to", l.sec.Item)
		}
		u.stops = r.stopList(u, l.path, "path")
		if n := l.path.Resolve(); n.Kind == List && len(n.Entries) < 2 {
			r.at(n, "a path names at least two places")
		}
	case l.from == nil || l.to == nil:
		missing := "from"
		if l.from != nil {
			missing = "to"
		}
		r.at(l.node, "%s needs %s", l.sec.Item, missing)
		for _, n := range []*Node{l.from, l.to} {
			if n != nil { // it still meets the part it names
				u.stops = append(u.stops, r.stop(u, n, "from"))
			}
		}
		u.stops = append(u.stops, &stop{node: l.node, bad: true})
	default:
		u.stops = []*stop{r.stop(u, l.from, "from"), r.stop(u, l.to, "to")}
	}
	return u
}

func (r *reader) stopList(u *run, n *Node, key string) []*stop {
	n = n.Resolve()
	if n.Kind != List {
		if key == "via" {
			return []*stop{r.stop(u, n, key)}
		}
		r.at(n, "%s is a list of the places it passes", key)
		return nil
	}
	out := make([]*stop, len(n.Entries))
	for i, item := range n.Entries {
		out[i] = r.stop(u, item, key)
	}
	return out
}

// stop reads PART.TERMINAL, PART, a part described in place or an open end.
func (r *reader) stop(u *run, n *Node, key string) *stop {
	n = n.Resolve()
	s := &stop{node: n}
	if n.Kind == Map {
		r.placed(u, s, n)
		return s
	}
	text, ok := r.hasText(key, n)
	if !ok {
		return s
	}
	id, name, named := strings.Cut(text, ".")
	s.name, s.named = name, named
	p, known := r.parts.byID[id]
	if !known {
		r.unknown(sub(n, 0, len(id)), "part", id, "", r.parts.names)
		return s
	}
	s.part = p
	return s
}

// sub is the span of some bytes of a scalar's text, where it stands as it is.
func sub(n *Node, from, to int) source.Span {
	if n.Style != Plain || n.End-n.Start < to {
		return n.Span()
	}
	return source.Span{File: n.File, Start: n.Start + from, End: n.Start + to}
}

// placed reads {open: SPACE, height: …} and {ID: description}.
func (r *reader) placed(u *run, s *stop, n *Node) {
	entries := r.entries(n, "a place on the way")
	for _, e := range entries {
		if e.key.Text == "open" && u.sec == &hoseKeys {
			r.openEnd(s, entries)
			return
		}
	}
	if len(entries) != 1 {
		r.at(n, "one part is described at one place: {F2: class-t 200 A}")
	}
	for i, e := range entries {
		if p := r.place(e); i == 0 {
			s.part = p
		}
	}
}

func (r *reader) openEnd(s *stop, entries []entry) {
	r.each(&openEndKeys, entries, func(f *Field, e entry) {
		if f.Name == "height" {
			s.height = amount[unit.Metre](r, f, e.value, own)
			return
		}
		if v := r.spaceName(r.text("open", e.value, own)); v.Given() {
			s.open = r.spaces.byID[v.V]
		}
	})
}

// lines resolves every line's ends and expands it.
func (r *reader) lines() {
	r.implicitWays()
	for _, p := range r.boat.Parts {
		p.Seal()
	}
	for _, u := range r.runs {
		r.prepare(u)
		r.tallyUp(u)
	}
	for _, p := range r.boat.Parts {
		r.closeJoint(p)
	}
	for _, u := range r.runs {
		switch u.sec {
		case &wireKeys:
			r.wires(u)
		case &circuitKeys:
			r.circuit(u)
		default:
			r.hoses(u)
		}
	}
	r.checkReferences()
}

// implicitWays gives a panel whose ways the file does not list the ways that
// lines name.
func (r *reader) implicitWays() {
	listed := map[*schema.Part]bool{}
	each := func(s *stop) {
		if s == nil || s.part == nil || !s.named {
			return
		}
		key, _, _ := strings.Cut(s.name, ".") // AP.1.L is the way 1
		if key == "" || key[0] < '0' || key[0] > '9' || !validID(key) {
			return
		}
		p := s.part
		known, asked := listed[p]
		if !asked {
			known = len(p.Ways) > 0 || !p.Is(schema.Panel) || r.attr(p.Kind, "ways") == nil
			listed[p] = known
		}
		if known {
			return
		}
		if _, has := p.Way(key); !has {
			p.Ways = append(p.Ways, schema.Way{Key: key, At: s.node.Span()})
		}
	}
	for _, u := range r.runs {
		for _, s := range u.stops {
			each(s)
		}
		each(u.ret)
	}
}

// prepare makes a hose start at the free end of a seacock, and tells cables from
// wires.
func (r *reader) prepare(u *run) {
	switch u.sec {
	case &hoseKeys:
		r.passSeacocks(u)
	case &wireKeys:
		u.cable = r.isCable(u)
	}
}

// passSeacocks replaces a through-hull by the free end of the seacock it
// carries. Where the path itself names the seacock next to its host, the stretch
// between them is the close joint and no hose.
func (r *reader) passSeacocks(u *run) {
	for i, s := range u.stops {
		s.place = i
	}
	for i := 0; i < len(u.stops); i++ {
		s := u.stops[i]
		if s.part == nil {
			continue
		}
		if cock := s.part.Cock; cock != nil && (!s.named || contains(visible(s.part, true), s.name)) {
			if j, beside := neighbour(u.stops, i, cock); beside {
				other := u.stops[j]
				r.freeEnd(other)
				u.stops = append(u.stops[:i], u.stops[i+1:]...)
				u.dropped = append(u.dropped, min(s.place, other.place))
				i--
				continue
			}
			_, out, _ := passes(cock, true)
			s.part, s.named, s.name = cock, true, out
			s.enter, s.leave, s.fixed = out, out, true
			continue
		}
		if s.part.Host != nil && !s.fixed {
			if _, beside := neighbour(u.stops, i, s.part.Host); !beside {
				r.freeEnd(s)
				if s.fixed && s.leave == inOf(s.part) {
					s.bad = true
					r.at(s.node, "%s.%s is fixed to %s: a hose joins its other side", s.part.ID, s.leave, s.part.Host.ID)
				}
			}
		}
	}
}

func inOf(p *schema.Part) string {
	in, _, _ := passes(p, true)
	return in
}

func neighbour(stops []*stop, i int, p *schema.Part) (int, bool) {
	for _, j := range []int{i - 1, i + 1} {
		if j >= 0 && j < len(stops) && stops[j].part == p {
			return j, true
		}
	}
	return 0, false
}

// freeEnd puts a stop at a seacock on the side away from its through-hull.
func (r *reader) freeEnd(s *stop) {
	cock := s.part
	in, out, ok := passes(cock, true)
	if !ok {
		return
	}
	if s.named && s.name == in && s.node != nil {
		// The path [TH1, SC1.in, SC1.out, …] passes the seacock as it is.
		s.enter, s.leave, s.fixed = in, in, true
		return
	}
	if s.named && s.name != out {
		return // reported as an unknown terminal
	}
	s.enter, s.leave, s.fixed = out, out, true
}

// tallyUp tallies how a line meets the parts it names.
func (r *reader) tallyUp(u *run) {
	last := len(u.stops) - 1
	for i, s := range u.stops {
		end := i == 0 || i == last && u.sec != &circuitKeys
		r.meet(u, s, end)
	}
	if u.ret != nil {
		r.meet(u, u.ret, true)
	}
	for _, s := range u.loads {
		if s.part != nil && s.named {
			r.tallyOf(u, s.part).named = true
		}
	}
}

func (r *reader) tallyOf(u *run, p *schema.Part) *tally {
	key := meeting{p, u.sec == &hoseKeys}
	t := r.meets[key]
	if t == nil {
		t = &tally{}
		r.meets[key] = t
	}
	return t
}

func (r *reader) meet(u *run, s *stop, end bool) {
	if s.part == nil || s.fixed {
		return
	}
	t := r.tallyOf(u, s.part)
	switch {
	case s.named:
		t.named = true
	case end:
		t.bare++
	default:
		t.bare += 2
	}
}

// passes returns the pair of terminals a line goes through.
func passes(p *schema.Part, water bool) (in, out string, ok bool) {
	if p.Kind.Passes == nil {
		return "", "", false
	}
	if water {
		return p.Kind.Passes(p, schema.Water)
	}
	if in, out, ok = p.Kind.Passes(p, schema.DC); ok {
		return in, out, ok
	}
	return p.Kind.Passes(p, schema.AC)
}

// visible lists the terminals a line of the world may name.
func visible(p *schema.Part, water bool) []string {
	var out []string
	for _, t := range p.Terminals() {
		if !t.Hidden && (t.Medium == schema.Water) == water {
			out = append(out, t.Name)
		}
	}
	return out
}

// resolve finds the terminals a stop means. first and last say that it is an
// end of its line.
func (r *reader) resolve(u *run, s *stop, first, last bool) {
	if s.part == nil || s.fixed || s.bad {
		return
	}
	water := u.sec == &hoseKeys
	if s.named {
		r.namedTerminal(s, water)
		return
	}
	p, end := s.part, first || last
	in, out, two := passes(p, water)
	switch names := visible(p, water); {
	case two && !p.Kind.Directed:
		r.undirected(u, s, in, out, end)
	case two && !end:
		s.enter, s.leave = in, out
	case len(names) == 1:
		s.enter, s.leave = names[0], names[0]
	case p.Kind.Alone != "" && contains(names, p.Kind.Alone):
		s.enter, s.leave = p.Kind.Alone, p.Kind.Alone
	case contains(names, ""):
	case len(names) == 0:
		if !p.Kind.Open || len(p.Terminals()) > 0 {
			r.noTerminal(s, water)
		}
	default:
		r.name(s, names, "")
	}
}

func contains(list []string, s string) bool {
	for _, l := range list {
		if l == s {
			return true
		}
	}
	return false
}

func (r *reader) noTerminal(s *stop, water bool) {
	s.bad = true
	what := "wire"
	if water {
		what = "hose"
	}
	r.at(s.node, "%s is %s and has no terminal for a %s", s.part.ID, article(s.part.Kind.Name), what)
}

// name asks for the terminal.
func (r *reader) name(s *stop, names []string, why string) {
	s.bad = true
	full := make([]string, 0, len(names))
	for _, n := range names {
		if n != "" {
			full = append(full, s.part.ID+"."+n)
		}
	}
	const most = 16
	if len(full) > most {
		full = append(full[:most], "…")
	}
	r.at(s.node, "%sname the terminal of %s: %s", why, s.part.ID, orList(full))
}

// undirected gives a part without direction its terminals: the first mention
// gets the one, the second the other. Three conductors, or one line that names a
// terminal, and every line must.
func (r *reader) undirected(u *run, s *stop, in, out string, end bool) {
	t := r.tallyOf(u, s.part)
	both := []string{in, out}
	switch {
	case t.named:
		r.name(s, both, "another line names a terminal of "+s.part.ID+", so every line must: ")
		return
	case t.bare > 2:
		r.name(s, both, "more than two ends meet "+s.part.ID+": ")
		return
	case t.bare == 1:
		r.name(s, both, "only this line meets "+s.part.ID+": ")
		return
	case !end:
		s.enter, s.leave = in, out
		return
	}
	t.seen++
	name := in
	if t.seen > 1 {
		name = out
	}
	s.enter, s.leave = name, name
}

// namedTerminal checks a terminal that the line names.
func (r *reader) namedTerminal(s *stop, water bool) {
	p := s.part
	s.enter, s.leave = s.name, s.name
	t, ok := p.Terminal(s.name)
	if !ok {
		t, ok = addNumbered(p, s.name, water)
	}
	if !ok || t.Hidden || s.name == "" {
		s.bad = true
		r.unknownTerminal(s, withoutEmpty(visible(p, water)))
		return
	}
	if (t.Medium == schema.Water) != water {
		s.bad = true
		carries, line := "water", "wire"
		if water {
			carries, line = "current", "hose"
		}
		message := "%s.%s carries " + carries + "; no " + line + " goes there"
		if fit := withoutEmpty(visible(p, water)); len(fit) > 0 {
			r.at(s.node, message+": it has %s for a "+line, p.ID, s.name, orList(fit))
		} else {
			r.at(s.node, message, p.ID, s.name)
		}
	}
}

// poleNames are what people call the poles.
var poleNames = map[string]string{
	"plus": "+", "pos": "+", "positive": "+", "minus": "-", "neg": "-", "negative": "-",
}

func (r *reader) unknownTerminal(s *stop, known []string) {
	at := sub(s.node, len(s.part.ID)+1, len(s.part.ID)+1+len(s.name))
	if pole := poleNames[strings.ToLower(s.name)]; pole != "" && contains(known, pole) {
		r.add(Problem{Span: at, Near: pole, Message: fmt.Sprintf("unknown terminal %q of %s; did you mean %s? known here: %s", s.name, s.part.ID, pole, strings.Join(known, ", "))})
		return
	}
	r.unknown(at, "terminal", s.name, " of "+s.part.ID, known)
}

func withoutEmpty(list []string) []string {
	var out []string
	for _, l := range list {
		if l != "" {
			out = append(out, l)
		}
	}
	return out
}

// addNumbered adds the numbered terminal of an open kind: BP.3, T1.outlet-2.
func addNumbered(p *schema.Part, name string, water bool) (schema.Terminal, bool) {
	if !p.Kind.Open || len(name) > 20 {
		return schema.Terminal{}, false
	}
	base := strings.TrimRight(name, "0123456789")
	if base == name || strings.Trim(name[len(base):], "0") == "" {
		return schema.Terminal{}, false
	}
	base = strings.TrimSuffix(base, "-")
	t, ok := p.Terminal(base)
	if !ok && base != "" {
		return schema.Terminal{}, false
	}
	if !ok {
		t = schema.Terminal{Medium: schema.DC}
		if water {
			t.Medium, t.Polarity = schema.Water, schema.WaterAny
		}
	}
	t.Name, t.Needed, t.Hidden = name, false, false
	p.AddTerminal(t)
	return t, true
}

// stretch is the way from one stop to the next.
type stretch struct{ from, to *stop }

// stretches resolves a line's stops and returns the stretches between them. Two
// terminals of one part in a row pass through it; alone they are a jumper.
func (r *reader) stretches(u *run, stops []*stop, resolve func(s *stop, first, last bool)) []stretch {
	var out []stretch
	for i, s := range stops {
		resolve(s, i == 0, i == len(stops)-1)
	}
	for i := 1; i < len(stops); i++ {
		a, b := stops[i-1], stops[i]
		if a.part != nil && a.part == b.part {
			if !a.bad && !b.bad && a.leave == b.enter {
				r.at(b.node, "%s follows itself", b.node.Text)
			} else if len(stops) == 2 && !a.bad && !b.bad {
				out = append(out, stretch{a, b}) // a jumper from one terminal to another
			}
			continue
		}
		out = append(out, stretch{a, b})
	}
	return out
}

func (s *stop) end(name string) schema.End {
	return schema.End{Part: s.part, Terminal: name, At: s.node.Span()}
}
