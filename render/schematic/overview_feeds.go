package schematic

import (
	"slices"
	"strings"

	"fitout/render/draw"
	"fitout/schema"
)

// feeder walks the live side of a boat's wiring.
type feeder struct {
	boat  *schema.Boat
	next  map[joint][]hop // along conductors, and through devices and switches
	kept  map[*schema.Part]bool
	gives map[joint]bool        // a source's, converter's or charger's output
	takes map[joint]bool        // a consumer's input
	both  map[*schema.Part]bool // gives DC and AC: its AC side is a box of its own
	drawn map[joint]bool        // reached from a source with no bus or panel between
}

// hop leads to a joint; through is the part of whose contacts only one is closed
// at a time, and nil along all else.
type hop struct {
	to      joint
	through *schema.Part
}

func feeds(b *schema.Boat) web {
	f := &feeder{boat: b, next: map[joint][]hop{}, kept: map[*schema.Part]bool{}, gives: map[joint]bool{}, takes: map[joint]bool{},
		both: map[*schema.Part]bool{}, drawn: map[joint]bool{}}
	f.read()
	w := web{
		title: "Overview: who feeds whom", desc: "Sources, buses, panels and consumers; devices and switches between them are left out.",
		style: func(id string) draw.Style {
			if strings.HasSuffix(id, sideAC) || f.alternating(b.Part(id)) {
				return draw.FeedAC
			}
			return draw.Positive
		},
	}
	w.edges = f.edges()
	on, used := map[string]bool{}, map[draw.Style]bool{}
	for _, e := range w.edges {
		on[e[0]], on[e[1]] = true, true
		used[w.style(e[0])] = true
	}
	for _, k := range []keyItem{{draw.Positive, "DC"}, {draw.FeedAC, draw.FeedAC.Meaning()}} {
		if used[k.style] {
			w.key = append(w.key, k)
		}
	}
	for _, p := range b.Parts {
		if on[p.ID] {
			n := nodeOf(p, p.Is(schema.Distribution))
			if q := behind(b, p); len(q) > 0 {
				n.title = strings.TrimPrefix(n.title+", in series with "+strings.Join(q, ", "), ", ")
			}
			w.nodes = append(w.nodes, n)
		}
		if id := p.ID + sideAC; f.both[p] && on[id] {
			n := nodeOf(p, false)
			n.id, n.shown, n.title = id, p.ID, strings.TrimSpace(n.title+" (AC side"+f.inverts(p)+")")
			w.nodes = append(w.nodes, n)
		}
	}
	return w
}

// inverts says where a part that charges takes from when it makes AC: its line to
// the batteries is drawn the way it charges them.
func (f *feeder) inverts(p *schema.Part) string {
	if !p.Is(schema.Inverting) {
		return ""
	}
	var from []string
	for _, j := range f.jointsOf(p) {
		if j.medium() != schema.DC {
			continue
		}
		for _, n := range f.from(j, func(joint) {}) {
			if n.part.Roles().Any(schema.Distribution|schema.Storage) && !slices.Contains(from, n.part.ID) {
				from = append(from, n.part.ID)
			}
		}
	}
	if len(from) == 0 {
		return ""
	}
	return "; makes AC from " + strings.Join(from, ", ")
}

// behind names the batteries in series with one that stands on the overview: those
// whose plus a conductor joins to its minus, and so on. They feed through it.
func behind(b *schema.Boat, p *schema.Part) (out []string) {
	for at := p; at != nil && at.Is(schema.Storage) && len(out) < len(b.Parts); {
		var next *schema.Part
		for _, w := range b.Wires {
			for _, e := range [2][2]schema.End{{w.From, w.To}, {w.To, w.From}} {
				if minusOf(e[0], at) && e[1].Part != nil && e[1].Part != p && e[1].Part.Is(schema.Storage) && !minusOf(e[1], e[1].Part) {
					next = e[1].Part
				}
			}
		}
		if at = next; at != nil {
			out = append(out, at.ID)
		}
	}
	return out
}

func minusOf(e schema.End, p *schema.Part) bool {
	if e.Part != p {
		return false
	}
	t, ok := p.Terminal(e.Terminal)
	return ok && t.Polarity == schema.Minus
}

// sideAC ends the identifier of the box for the AC side of a part that gives DC
// as well: one line leaves a box, and DC and AC never share one.
const sideAC = "-AC"

// box is the identifier of the box that a line of a medium meets a part at.
func (f *feeder) box(p *schema.Part, m schema.Medium) string {
	if f.both[p] && m == schema.AC {
		return p.ID + sideAC
	}
	return p.ID
}

// medium is that of a joint; of a single one its part's.
func (j joint) medium() schema.Medium {
	if t, ok := j.part.Terminal(j.terminal); ok {
		return t.Medium
	}
	for _, t := range j.part.Terminals() {
		return t.Medium
	}
	return schema.DC
}

// alternating reports whether what leaves a part is AC.
func (f *feeder) alternating(p *schema.Part) bool {
	if p == nil || f.both[p] {
		return false
	}
	for _, j := range f.jointsOf(p) {
		if t, ok := p.Terminal(j.terminal); ok && (f.gives[j] || p.Is(schema.Panel)) {
			return t.Medium == schema.AC
		}
	}
	return false
}

// read notes conductors, ways through parts, and what gives and takes.
func (f *feeder) read() {
	count := map[*schema.Part]int{}
	var open [][2]joint
	link := func(a, b joint, through *schema.Part) {
		f.next[a], f.next[b] = append(f.next[a], hop{b, through}), append(f.next[b], hop{a, through})
	}
	for _, w := range f.boat.Wires {
		if w.Prepared || w.From.Part == nil || w.To.Part == nil {
			continue
		}
		a, b := jointOf(w.From.Part, w.From.Terminal), jointOf(w.To.Part, w.To.Terminal)
		count[a.part]++
		count[b.part]++
		if f.dead(a) || f.dead(b) {
			continue
		}
		link(a, b, nil)
	}
	for _, p := range f.boat.Parts {
		if p.Prepared {
			continue
		}
		f.kept[p] = p.Is(schema.Panel) || p.Is(schema.Distribution) && count[p] > 2
		for _, br := range p.Branches() {
			a, b := jointOf(p, br.A), jointOf(p, br.B)
			switch br.Type {
			case schema.EMF, schema.Feed:
				f.gives[a] = true
				f.kept[p] = true
				if br.Feed != nil && br.Feed.InA != "" {
					f.takes[jointOf(p, br.Feed.InA)] = true
				}
			case schema.Draw:
				f.takes[a] = !driven(p) // what starts a generator does not feed it
				f.kept[p] = true
			case schema.Convert:
				f.takes[a] = true
				if br.Convert != nil {
					f.gives[jointOf(p, br.Convert.OutA)] = true
				}
				f.kept[p] = true
			case schema.Sense:
			default:
				if p.Is(schema.Panel) || f.dead(a) || f.dead(b) {
					continue
				}
				switch c := br.Contact; {
				case c != nil && c.Exclusive:
					link(a, b, p)
				case c != nil && !c.Automatic && c.Position == "open":
					open = append(open, [2]joint{a, b})
				default:
					link(a, b, nil)
				}
			}
		}
		f.both[p] = f.sides(p)
	}
	// a switch that stands open feeds what nothing else does; between two that are
	// fed it is for emergencies
	fed := f.fed()
	for _, c := range open {
		if !fed[c[0]] || !fed[c[1]] {
			link(c[0], c[1], nil)
		}
	}
}

// fed are the joints that some source reaches, over buses and panels too.
func (f *feeder) fed() map[joint]bool {
	on := map[joint]bool{}
	var todo []joint
	for _, p := range f.boat.Parts {
		for _, j := range f.jointsOf(p) {
			if f.gives[j] {
				todo = append(todo, j)
			}
		}
	}
	for len(todo) > 0 {
		j := todo[0]
		todo = todo[1:]
		if on[j] {
			continue
		}
		on[j] = true
		for _, h := range f.next[j] {
			todo = append(todo, h.to)
		}
		if j.part.Is(schema.Panel) {
			todo = append(todo, f.jointsOf(j.part)...)
		}
	}
	return on
}

// driven reports a part that gives of itself: from an engine, the sun, the shore.
func driven(p *schema.Part) bool {
	return slices.ContainsFunc(p.Branches(), func(b schema.Branch) bool {
		return b.Type == schema.Feed && (b.Feed == nil || b.Feed.InA == "")
	})
}

// sides reports a part that gives both DC and AC.
func (f *feeder) sides(p *schema.Part) bool {
	dc, ac := false, false
	for _, j := range f.jointsOf(p) {
		if f.gives[j] {
			dc, ac = dc || j.medium() == schema.DC, ac || j.medium() == schema.AC
		}
	}
	return dc && ac
}

// dead joints are returns, grounds and signals: nothing is fed through them.
func (f *feeder) dead(j joint) bool {
	t, ok := j.part.Terminal(j.terminal)
	if !ok {
		return j.part.Roles().Any(schema.Grounding | schema.Bonding)
	}
	switch t.Polarity {
	case schema.Minus, schema.Ground, schema.Signal, schema.Neutral, schema.Earth:
		return true
	}
	return false
}

// from lists the joints of kept parts that a joint reaches without passing one,
// each once; visit is told every joint on the way.
func (f *feeder) from(start joint, visit func(joint)) []joint {
	type stop struct {
		at   joint
		last *schema.Part // by whose contact it was reached: not left by another of them
	}
	seen, listed := map[stop]bool{{at: start}: true}, map[joint]bool{}
	before := map[stop]joint{}
	todo := []stop{{at: start}}
	var out []joint
	for len(todo) > 0 {
		s := todo[0]
		todo = todo[1:]
		for _, h := range f.next[s.at] {
			n := stop{h.to, h.through}
			// what passes an inverter and charger is drawn as fed by it
			if seen[n] || h.to == start || h.to == before[s] || h.through != nil && h.through == s.last || f.both[h.to.part] && h.to.part == s.at.part {
				continue
			}
			seen[n], before[n] = true, s.at
			visit(h.to)
			if f.kept[h.to.part] && !listed[h.to] {
				listed[h.to] = true
				out = append(out, h.to)
			}
			if h.to.part.Is(schema.Distribution) && f.kept[h.to.part] {
				continue
			}
			todo = append(todo, n)
		}
	}
	return out
}

// edges lists who feeds whom, in the order of the file: sources first, then what
// buses and panels pass on.
func (f *feeder) edges() [][2]string {
	e := &feedList{have: map[[2]string]bool{}, depth: map[*schema.Part]int{}}
	for _, p := range f.boat.Parts {
		if f.both[p] {
			e.add(p.ID+sideAC, p.ID)
		}
		for _, j := range f.jointsOf(p) {
			if f.gives[j] {
				f.source(e, p, j)
			}
		}
	}
	for len(e.queue) > 0 {
		p := e.queue[0]
		e.queue = e.queue[1:]
		f.passOn(e, p)
	}
	return e.edges
}

// feedList gathers edges, and the buses and panels whose own feeds are to come.
type feedList struct {
	edges [][2]string
	have  map[[2]string]bool
	depth map[*schema.Part]int
	queue []*schema.Part
}

func (e *feedList) add(a, b string) {
	if k := [2]string{a, b}; a != b && !e.have[k] {
		e.have[k] = true
		e.edges = append(e.edges, k)
	}
}

func (e *feedList) reach(p *schema.Part, d int) {
	if e.depth[p] == 0 {
		e.depth[p] = d
		e.queue = append(e.queue, p)
	}
}

// source adds what the output j of p feeds. What charges a battery is drawn to the
// battery only, which feeds all that hangs on the same joint.
func (f *feeder) source(e *feedList, p *schema.Part, j joint) {
	reached := f.from(j, func(v joint) { f.drawn[v] = true })
	f.drawn[j] = true
	shared := map[joint]bool{}
	for _, n := range reached {
		if p.Is(schema.Charging) && n.part.Is(schema.Storage) && n.part != p && f.gives[n] {
			e.add(f.box(p, j.medium()), n.part.ID)
			for _, s := range f.from(n, func(joint) {}) {
				shared[s] = true
			}
		}
	}
	for _, n := range reached {
		if n.part.Is(schema.Distribution) {
			e.reach(n.part, 1)
		}
		if !shared[n] && (n.part.Is(schema.Distribution) || f.takes[n]) {
			e.add(f.box(p, j.medium()), f.box(n.part, n.medium()))
		}
	}
}

// passOn adds what a bus or panel feeds. Where its conductors meet what a source
// reaches without it, they feed the bus, and not the bus what lies there.
func (f *feeder) passOn(e *feedList, p *schema.Part) {
	for _, j := range f.jointsOf(p) {
		for _, first := range f.next[j] {
			if f.drawn[first.to] && !(first.to.part.Is(schema.Distribution) && f.kept[first.to.part]) {
				continue
			}
			list := []joint{first.to}
			if !f.kept[first.to.part] || !first.to.part.Is(schema.Distribution) {
				list = append(f.from(first.to, func(joint) {}), first.to)
			}
			f.branch(e, p, list)
		}
	}
}

// branch adds those of the joints that p feeds.
func (f *feeder) branch(e *feedList, p *schema.Part, joints []joint) {
	for _, n := range joints {
		switch {
		case n.part == p || !f.kept[n.part]:
		case n.part.Is(schema.Distribution):
			e.reach(n.part, e.depth[p]+1)
			if e.depth[n.part] > e.depth[p] {
				e.add(p.ID, n.part.ID)
			}
		case f.takes[n]:
			e.add(p.ID, f.box(n.part, n.medium()))
		}
	}
}

// jointsOf are the joints of a part that conductors land on, in the order of its
// terminals.
func (f *feeder) jointsOf(p *schema.Part) []joint {
	if single(p) {
		return []joint{{p, ""}}
	}
	var out []joint
	for _, t := range p.Terminals() {
		if j := jointOf(p, t.Name); !f.dead(j) {
			out = append(out, j)
		}
	}
	return out
}
