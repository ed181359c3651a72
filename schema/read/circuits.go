package read

import (
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
)

// circuitStops finds what a circuit passes: its feed and devices, its loads, its
// return.
func (r *reader) circuitStops(u *run) {
	l := u.line
	for _, need := range []struct {
		name string
		n    *Node
	}{{"feed", l.feed}, {"load", l.load}} {
		if need.n == nil {
			r.at(l.node, "a circuit needs %s", need.name)
		}
	}
	if l.feed != nil {
		u.stops = append(u.stops, r.stop(u, l.feed, "feed"))
	} else {
		u.stops = append(u.stops, &stop{node: l.node, bad: true})
	}
	if l.via != nil {
		u.stops = append(u.stops, r.stopList(u, l.via, "via")...)
	}
	if l.load != nil {
		u.loads = r.loadStops(u, l.load)
	}
	if l.back != nil {
		u.ret = r.stop(u, l.back, "return")
	}
}

// loadStops reads one load, a list of them, or several described in place.
func (r *reader) loadStops(u *run, n *Node) []*stop {
	n = n.Resolve()
	switch n.Kind {
	case List:
		var out []*stop
		for _, item := range n.Entries {
			out = append(out, r.loadStops(u, item)...)
		}
		return out
	case Map:
		var out []*stop
		for _, e := range r.entries(n, "a load") {
			out = append(out, &stop{node: e.key, part: r.place(e)})
		}
		return out
	}
	return []*stop{r.stop(u, n, "load")}
}

// pole finds the two terminals of a load: + and -, a converter's in+ and in-, or
// those of the pair it is named by (CV1.in, MP1.pv).
func (r *reader) poles(s *stop) (plus, minus string, ok bool) {
	if s.broken() {
		return "", "", false
	}
	p := s.part
	has := func(name string) bool {
		t, ok := p.Terminal(name)
		return ok && !t.Hidden && t.Medium == schema.DC
	}
	pairs := []string{"", "in"}
	if s.named {
		pairs = []string{strings.TrimSuffix(s.name, "+")}
		if s.name == "-" || s.name == "" {
			pairs = nil
		}
	}
	for _, base := range pairs {
		switch {
		case has(base+"+") && has(base+"-"):
			return base + "+", base + "-", true
		case s.named && has(s.name) && has("-") && strings.HasPrefix(s.name, "+"):
			return s.name, "-", true
		}
	}
	s.bad = true
	names := withoutEmpty(visible(p, false))
	switch {
	case s.named:
		r.unknownTerminal(s, names)
	case len(groups(p)) > 0:
		r.at(s.node, "%s is fed by AC: write it under wires with cable: 3 core …", p.ID)
	default:
		r.at(s.node, "%s is %s: a circuit ends at a part with + and -", p.ID, article(p.Kind.Name))
	}
	return "", "", false
}

// circuit expands an out-and-back pair: the supply over its devices to the
// load, joints or runs to further loads, and the return.
func (r *reader) circuit(u *run) {
	c := &schema.Circuit{ID: u.pathID(), Title: u.wire.Title, Rating: u.rating, At: u.node.Span()}
	plus := make([]*stop, len(u.loads))
	minus := make([]*stop, len(u.loads))
	for i, s := range u.loads {
		p, m, _ := r.poles(s)
		at := func(name string) *stop {
			return &stop{node: s.node, part: s.part, enter: name, leave: name, fixed: true, bad: s.bad}
		}
		plus[i], minus[i] = at(p), at(m)
		if s.part != nil {
			c.Loads = append(c.Loads, s.part)
		}
	}
	if len(plus) == 0 {
		plus, minus = []*stop{{node: u.node, bad: true}}, []*stop{{node: u.node, bad: true}}
	}
	out := r.stretches(u, append(append([]*stop(nil), u.stops...), plus[0]), func(s *stop, first, last bool) {
		r.resolve(u, s, first, last)
	})
	for _, s := range u.stops[1:] {
		if s.part != nil {
			c.Via = append(c.Via, s.part)
		}
	}
	if feed := u.stops[0]; !feed.broken() {
		c.Feed = feed.end(feed.leave)
		r.rateWay(u, feed)
	}
	for _, p := range append(append([]*schema.Part(nil), c.Via...), c.Loads...) {
		if p.Circuit == nil {
			p.Circuit = c
		}
	}
	if !c.Title.Given() && len(c.Loads) > 0 {
		c.Title = c.Loads[0].Word("title")
	}
	r.supply(u, c, out, plus)
	r.back(u, c, minus, len(out))
	r.boat.Circuits = append(r.boat.Circuits, c)
}

// rateWay gives the panel way that a circuit leaves the circuit's rating.
func (r *reader) rateWay(u *run, feed *stop) {
	if !u.rating.Given() {
		return
	}
	p := feed.part
	key := ""
	if t, ok := p.Terminal(feed.leave); ok {
		key = t.Way
	}
	for i := range p.Ways {
		w := &p.Ways[i]
		if w.Key != key {
			continue
		}
		switch {
		case w.Rating.Given() && w.Rating.V != u.rating.V && w.Rating.From == schema.Own:
			r.add(Problem{Span: u.rating.At, Message: p.ID + "." + key + " is rated " + w.Rating.Text + " already",
				Related: related(w.Rating.At, "the way's own rating")})
		default:
			w.Rating = u.rating
		}
		return
	}
	r.add(Problem{Span: u.rating.At, Message: "rating is that of a panel's way; " + feed.node.Text + " is none"})
}

// supply makes the stretches from the feed to the loads.
func (r *reader) supply(u *run, c *schema.Circuit, out []stretch, plus []*stop) {
	n, further := len(out), len(plus)-1
	values, joints := r.circuitValues(u, n, further)
	real := n
	if joints != nil {
		real += further
	}
	for i := 0; i < n+further; i++ {
		var w *schema.Wire
		switch {
		case i < n:
			if out[i].from.broken() || out[i].to.broken() {
				continue
			}
			w = r.stretchWire(u, out[i], values[i])
		case plus[i-n].broken() || plus[i-n+1].broken():
			continue
		case joints != nil:
			w = r.stretchWire(u, stretch{plus[i-n], plus[i-n+1]}, joints[i-n])
		default:
			w = r.joint(u, plus[i-n], plus[i-n+1])
		}
		if w.Implied {
			w.ID = c.ID + "+" + plus[i-n+1].part.ID
		} else {
			w.ID = c.ID + "+" + letters(i, real)
		}
		w.Path, w.Stretch, w.Circuit = c.ID, i, c
		w.Medium = r.wireMedium(w)
		w.Cores = u.cores
		c.Supply = append(c.Supply, w)
		r.boat.Wires = append(r.boat.Wires, w)
	}
}

// joint is a zero-length joint between two loads of one circuit.
func (r *reader) joint(u *run, from, to *stop) *schema.Wire {
	w := r.stretchWire(u, stretch{from, to}, stretchValue{size: u.size, length: schema.Of[unit.Metre](0, schema.Derived)})
	w.Implied = true
	return w
}

// circuitValues gives each of n supply stretches its values, and those of the
// runs to further loads where the lists have values for them too.
func (r *reader) circuitValues(u *run, n, further int) (supply, joints []stretchValue) {
	if further > 0 && (len(u.lengths.list) == n+further || len(u.resistances.list) == n+further) {
		all := r.stretchValues(u, n+further)
		return all[:n], all[n:]
	}
	return r.stretchValues(u, n), nil
}

// back makes the return conductor, and the joints of further loads to the first.
func (r *reader) back(u *run, c *schema.Circuit, minus []*stop, n int) {
	ret := u.ret
	if ret == nil {
		ret = r.panelReturn(u)
	} else {
		r.resolve(u, ret, true, true)
	}
	_, joints := r.quietly().circuitValues(u, n, len(minus)-1)
	real := 1
	if joints != nil {
		real += len(joints)
	}
	for i := range minus {
		var w *schema.Wire
		switch {
		case i == 0:
			if ret == nil || ret.broken() || minus[0].broken() {
				continue
			}
			w = r.stretchWire(u, stretch{minus[0], ret}, r.returnValue(u, c))
		case minus[i].broken() || minus[i-1].broken():
			continue
		case joints != nil:
			w = r.stretchWire(u, stretch{minus[i], minus[i-1]}, joints[i-1])
		default:
			w = r.joint(u, minus[i], minus[i-1])
		}
		if w.Implied {
			w.ID = c.ID + "-" + minus[i].part.ID
		} else {
			w.ID = c.ID + "-" + letters(i, real)
		}
		w.Path, w.Stretch, w.Circuit, w.Return = c.ID, i, c, true
		w.Color, w.Cores = u.returnColor, u.cores
		w.Medium = r.wireMedium(w)
		c.Back = append(c.Back, w)
		r.boat.Wires = append(r.boat.Wires, w)
	}
}

// quietly returns a reader whose mistakes nobody sees: for reading again what
// was reported already.
func (r *reader) quietly() *reader {
	q := *r
	q.problems = problems{}
	return &q
}

// returnValue is what the return conductor is made of. Its length is that of
// the whole supply unless the file says otherwise.
func (r *reader) returnValue(u *run, c *schema.Circuit) stretchValue {
	v := stretchValue{size: u.size, length: u.length, resistance: u.resistance}
	if !v.size.given() {
		v.size.size = u.cableSize
	}
	if u.returnSize.given() {
		v.size = u.returnSize
	}
	if !v.size.given() && u.sizes.node != nil {
		v.size = thinnest(u.sizes.list)
	}
	if u.lengths.node != nil {
		v.length = total(toFirstLoad(c, func(w *schema.Wire) schema.Val[unit.Metre] { return w.Length }), u.lengths.node, unit.Metre.String)
	}
	if u.returnLength.Given() {
		v.length = u.returnLength
	}
	if u.resistances.node != nil {
		v.resistance = total(toFirstLoad(c, func(w *schema.Wire) schema.Val[unit.Ohm] { return w.Resistance }), u.resistances.node, unit.Ohm.String)
	}
	return v
}

// toFirstLoad collects a value of each supply stretch up to the first load.
func toFirstLoad[T any](c *schema.Circuit, of func(*schema.Wire) T) []T {
	var out []T
	for _, w := range c.Supply {
		if w.Implied {
			break
		}
		out = append(out, of(w))
		if len(c.Loads) > 0 && w.To.Part == c.Loads[0] {
			break
		}
	}
	return out
}

// total adds values; one that is absent makes the sum absent.
func total[T ~float64](list []schema.Val[T], at *Node, text func(T) string) schema.Val[T] {
	if len(list) == 0 {
		return schema.Val[T]{}
	}
	sum := schema.Val[T]{At: at.Span(), From: schema.Own}
	for _, v := range list {
		if !v.Given() {
			return schema.Val[T]{}
		}
		sum.V += v.V
	}
	sum.Text = text(sum.V)
	return sum
}

// thinnest is the smallest of the sizes, for a return that is given none.
func thinnest(list []sizing) sizing {
	var least sizing
	for _, s := range list {
		if !s.size.Given() {
			return sizing{auto: s.auto}
		}
		if !least.size.Given() || s.size.V.Area < least.size.V.Area {
			least = s
		}
	}
	least.size.From = schema.Derived
	return least
}

// panelReturn finds the return of a circuit that names none: the - of the panel
// it leaves, where something joins that.
func (r *reader) panelReturn(u *run) *stop {
	feed := u.stops[0]
	if feed.broken() {
		return nil
	}
	p := feed.part
	if t, ok := p.Terminal("-"); ok && t.Medium == schema.DC && r.joinedAt(p, "-") {
		return &stop{node: feed.node, part: p, enter: "-", leave: "-", fixed: true}
	}
	why := "a circuit needs return: the negative bus or panel its return goes to"
	if p.Is(schema.Panel) {
		why += "; the - of " + p.ID + " is joined to nothing"
	}
	r.at(u.node, "%s", why)
	return nil
}

// joinedAt reports whether some line names a terminal of a part.
func (r *reader) joinedAt(p *schema.Part, name string) bool {
	if r.joins == nil {
		r.joins = map[schema.End]bool{}
		for _, u := range r.runs {
			for _, s := range append(append([]*stop(nil), u.stops...), u.ret) {
				if s != nil && s.part != nil && s.named {
					r.joins[schema.End{Part: s.part, Terminal: s.name}] = true
				}
			}
		}
	}
	return r.joins[schema.End{Part: p, Terminal: name}]
}
