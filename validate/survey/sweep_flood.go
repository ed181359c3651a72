package survey

import (
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
	"fitout/validate/water"
)

// Inrush is water coming into the boat through what has failed.
type Inrush struct {
	// Sea is the opening in the hull it comes by, nil for what a pump moves from a
	// tank; Siphon that it comes over a crest above the sea, once the line is full.
	Sea    *schema.Part
	Siphon bool
	// Pump moves it, while it runs; nil where the sea comes by itself. From are the
	// tanks it empties.
	Pump *schema.Part
	From []*schema.Part
	// Out is where it comes out, Space where it runs to.
	Out   string
	Space *schema.Space
	// Valves are those on the way that are still good, from the sea inboard.
	Valves []*schema.Part
	Bore   unit.Metre
	// AtRest is the inflow laden and upright, Worst in the worst attitude that
	// flooding is judged in, In that attitude.
	AtRest, Worst unit.LitrePerMin
	In            Attitude
	// Pumps is what the powered bilge pumps of the spaces it runs to move together.
	Pumps unit.LitrePerMin
	// Covers is when the water stands over valves, batteries, panels, alarms and
	// soles, upright; NoTime what keeps that from being told.
	Covers []Reached
	NoTime []Datum
}

// outlet is a place where water comes out once something has failed: at a joint,
// or at the end of a hose that hangs on it.
type outlet struct {
	node  int
	at    trace.Point
	what  string
	space *schema.Space
	over  []trace.Point // crests between the joint and the place
	bore  unit.Metre    // of what lies between, 0 nothing
	// valves are those on the way there from the opening asked for.
	valves []*schema.Part
}

// hoseOff finds what comes in when a hose is off: out of the fittings at its ends
// and out of its own ends and lowest place, each from either side.
func (w *sweeper) hoseOff(h *schema.Hose) ([]Inrush, []Datum) {
	sea := w.Sea()
	way := slices.IndexFunc(sea.Ways, func(x trace.SeaWay) bool { return x.Hose == h })
	if way < 0 {
		return nil, nil
	}
	x := &sea.Ways[way]
	var outs []outlet
	for _, from := range [2]int{x.A, x.B} {
		to := x.Other(from)
		near, far := &sea.Nodes[from], &sea.Nodes[to]
		if near.Part == nil {
			continue // its open end: nothing to come off
		}
		space := spaceOfNode(near)
		if space == nil {
			space = spaceOfNode(far)
		}
		outs = append(outs, outlet{node: from, at: near.Point, what: "at " + near.Name(), space: space})
		if far.Part != nil {
			outs = append(outs, outlet{node: from, at: far.Point, what: "at its end by " + far.Name(), space: orSpace(spaceOfNode(far), space), over: x.Peaks, bore: h.Bore.V})
		}
		for _, d := range x.Dips {
			outs = append(outs, outlet{node: from, at: d, what: "at its lowest place", space: space, bore: h.Bore.V})
		}
	}
	floods, missing := w.comesIn(outs, func(i int) bool { return i == way })
	return append(floods, w.pumped(h, x)...), missing
}

func orSpace(a, b *schema.Space) *schema.Space {
	if a != nil {
		return a
	}
	return b
}

func spaceOfNode(n *trace.SeaNode) *schema.Space {
	if n.Part == nil {
		return nil
	}
	if n.Part.Space == nil && n.Part.Host != nil {
		return n.Part.Host.Space
	}
	return n.Part.Space
}

// partOpen finds what comes in where a part of a line is open to the boat.
func (w *sweeper) partOpen(p *schema.Part) ([]Inrush, []Datum) {
	sea := w.Sea()
	var outs []outlet
	for _, n := range sea.NodesOf(p) {
		outs = append(outs, outlet{node: n, at: sea.Nodes[n].Point, what: "at " + p.ID, space: p.Space})
	}
	inside := func(i int) bool { return sea.Ways[i].Part == p }
	return w.comesIn(outs, inside)
}

// hole is an opening in the hull that has let go: no valve stops it.
func (w *sweeper) hole(p *schema.Part) ([]Inrush, []Datum) {
	f, ok := w.Inflow(p)
	if !ok || f.Part != p {
		return nil, nil
	}
	if len(f.Missing) > 0 {
		return nil, f.Missing
	}
	pt := trace.Point{Height: p.Height(), Offset: p.Offset(), Station: p.Station(), Of: p.ID, At: p.At}
	in := w.inrush(p, outlet{at: pt, what: "through the hull", space: p.Space}, f.Bore, func(Attitude) bool { return true })
	if in == nil {
		return nil, w.lacksAt(pt)
	}
	return []Inrush{*in}, nil
}

// lacksAt names what is missing to tell whether a place goes under.
func (w *sweeper) lacksAt(pt trace.Point) []Datum {
	var out []Datum
	for _, a := range w.Attitudes() {
		if l, lacks := w.Lacks(pt, a); lacks {
			out = merge(out, []Datum{{Missing: l.Name, At: l.At, IDs: []string{l.Of}}})
		}
	}
	return out
}

// comesIn walks from every opening in the hull to the outlets, over ways that
// still stand, with valves as they usually do: under water all the way, or over a
// crest without a vented loop.
func (w *sweeper) comesIn(outs []outlet, gone func(way int) bool) (list []Inrush, missing []Datum) {
	sea := w.Sea()
	fl := &flooder{Survey: w.Survey, sea: sea, level: w.Laden(), shut: w.StandsShut(), out: &Floods{}}
	index := map[*trace.SeaWay]int{}
	for i := range sea.Ways {
		index[&sea.Ways[i]] = i
	}
	stands := func(x *trace.SeaWay) bool { return !gone(index[x]) && !(x.Valve() && fl.shut[x.Part]) }
	for _, hull := range sea.Hull {
		full := sea.Walk([]int{hull.Node}, trace.Walk{Through: func(x *trace.SeaWay, _ int) bool { return stands(x) && !x.Vented() }})
		any := sea.Walk([]int{hull.Node}, trace.Walk{Through: func(x *trace.SeaWay, _ int) bool { return stands(x) }})
		trails := map[Attitude][2]*trace.Trail{}
		for _, a := range w.Attitudes() {
			under := func(test func(Level) bool) *trace.Trail {
				if !test(w.HeightOf(hull.Point, a)) {
					return &trace.Trail{}
				}
				below := fl.underWater(a, test)
				return sea.Walk([]int{hull.Node}, trace.Walk{Through: func(x *trace.SeaWay, n int) bool { return stands(x) && below(x, n) }})
			}
			trails[a] = [2]*trace.Trail{under(fl.sure), under(fl.possible)}
		}
		for _, o := range outs {
			k := any.Find(o.node)
			if k < 0 {
				continue
			}
			path := any.Path(k)
			bore, lacks := w.leastBore(hull, path, o)
			o.valves = valvesOn(sea, path)
			gravity := func(a Attitude) bool {
				return trails[a][0].Find(o.node) >= 0 && (len(o.over) == 0 || fl.sure(w.LowestOf(o.over, a)))
			}
			in := w.inrush(hull.Part, o, bore, gravity)
			// an exhaust line holds gas: it never runs full
			if in == nil && full.Find(o.node) >= 0 && hull.Part.Word("service").V != "exhaust" {
				siphon := func(a Attitude) bool { return fl.sure(w.HeightOf(hull.Point, a)) }
				if in = w.inrush(hull.Part, o, bore, siphon); in != nil {
					in.Siphon = true
				}
			}
			if in != nil && len(lacks) > 0 {
				missing = merge(missing, lacks)
				in = nil
			}
			if in == nil {
				for _, a := range w.Attitudes() {
					if j := trails[a][1].Find(o.node); j >= 0 && fl.possible(w.HeightOf(o.at, a)) && (trails[a][0].Find(o.node) < 0 || !w.HeightOf(o.at, a).Known()) {
						for _, l := range fl.lacking(nil, hull, &trace.Mouth{Node: o.node, Point: o.at}, trails[a][1].Path(j), a) {
							missing = merge(missing, []Datum{{Missing: l.Name, At: l.At, IDs: []string{l.Of}}})
						}
					}
				}
				continue
			}
			list = strongest(list, *in)
		}
	}
	return list, missing
}

func valvesOn(sea *trace.Sea, path []trace.Step) []*schema.Part {
	var out []*schema.Part
	for _, st := range path {
		if st.Way >= 0 && sea.Ways[st.Way].Valve() && !slices.Contains(out, sea.Ways[st.Way].Part) {
			out = append(out, sea.Ways[st.Way].Part)
		}
	}
	return out
}

// strongest keeps, of what comes by one opening, the outlet that gives most.
func strongest(list []Inrush, in Inrush) []Inrush {
	for i := range list {
		if list[i].Sea == in.Sea {
			if in.Worst > list[i].Worst {
				list[i] = in
			}
			return list
		}
	}
	return append(list, in)
}

// inrush is Torricelli's jet out of an outlet: driven by the sea above it, in each
// attitude in which the way there is open; nil where nothing comes.
func (w *sweeper) inrush(hull *schema.Part, o outlet, bore unit.Metre, open func(Attitude) bool) *Inrush {
	in := &Inrush{Sea: hull, Out: o.what, Space: o.space, Bore: bore, Valves: o.valves}
	for _, a := range w.Attitudes() {
		h := w.HeightOf(o.at, a)
		if !h.Known() || !open(a) {
			continue
		}
		q := water.HoseOff(bore, unit.Metre(w.Laden()-h.Hi), w.gravityOf()).ShortTube
		if a.Upright() {
			in.AtRest = q
		}
		if q > in.Worst {
			in.Worst, in.In = q, a
		}
	}
	if in.Worst <= 0 {
		return nil
	}
	w.rises(in, o.at)
	return in
}

// rises adds what the pumps move against it and when the water covers what.
func (w *sweeper) rises(in *Inrush, at trace.Point) {
	if in.Space == nil {
		in.NoTime = []Datum{{Missing: "space of " + at.Of, At: at.At, IDs: []string{at.Of}}}
		return
	}
	b := w.basinOf(in.Space)
	for _, p := range w.BilgeOutputs() {
		if len(p.Missing) == 0 && !p.Hand && p.Pump.Space != nil && slices.Contains(b.spaces, p.Pump.Space) {
			in.Pumps += p.Flow
		}
	}
	if !at.Height.Given() || in.AtRest <= 0 {
		return // it comes heeled only: no level lake to fill
	}
	depth := unit.Metre(w.Laden()) - at.Height.V
	fall := HullInflow{Part: &schema.Part{Kind: in.Sea.Kind, ID: in.Sea.ID, Space: in.Space, At: in.Sea.At}, Bore: in.Bore, Depth: depth}
	if len(in.Valves) > 0 && slices.Contains(b.spaces, in.Valves[0].Space) {
		fall.Cock = in.Valves[0]
	}
	in.Covers, in.NoTime = w.Rising(fall)
}

// leastBore is the narrowest of what water passes from an opening to an outlet.
func (w *sweeper) leastBore(hull *trace.Mouth, path []trace.Step, o outlet) (unit.Metre, []Datum) {
	least := unit.Metre(math.Inf(1))
	take := func(v unit.Metre) {
		if v > 0 {
			least = min(least, v)
		}
	}
	if f, ok := w.Inflow(hull.Part); ok && len(f.Missing) == 0 {
		take(f.Bore)
	} else if v := hull.Part.Metres("size"); v.Given() {
		take(v.V)
	}
	for _, st := range path {
		if st.Way < 0 {
			continue
		}
		switch x := &w.Sea().Ways[st.Way]; {
		case x.Hose != nil:
			take(x.Hose.Bore.V)
		case x.Channel.Bore.Given():
			take(x.Channel.Bore.V)
		default:
			take(x.Part.Metres("size").V)
		}
	}
	take(o.bore)
	if math.IsInf(float64(least), 1) {
		return 0, []Datum{partDatum("size of "+hull.Part.ID, hull.Part)}
	}
	return least, nil
}

// siphonsWithout finds the siphons that a loop alone prevents: with its vent
// clogged, from an opening over it to an inside opening under the sea.
func (w *sweeper) siphonsWithout(loop *schema.Part) (list []Inrush, missing []Datum) {
	sea := w.Sea()
	fl := &flooder{Survey: w.Survey, sea: sea, level: w.Laden(), shut: w.StandsShut(), out: &Floods{}}
	for _, hull := range sea.Hull {
		for _, m := range sea.Inside {
			if m.Node < 0 {
				continue
			}
			vented := func(but *schema.Part, a Attitude) *trace.Trail {
				return sea.Walk([]int{hull.Node}, trace.Walk{
					Through: func(x *trace.SeaWay, _ int) bool {
						return !(x.Vented() && x.Part != but) && !(x.Valve() && fl.shut[x.Part])
					},
					Beyond: func(n int) bool { return !fl.fills(n, a) && !fl.open(n, a) },
				})
			}
			var best []trace.Step
			open := func(a Attitude) bool {
				if !fl.sure(w.HeightOf(hull.Point, a)) || vented(nil, a).Find(m.Node) >= 0 {
					return false
				}
				t := vented(loop, a)
				k := t.Find(m.Node)
				if k >= 0 && best == nil {
					best = t.Path(k)
				}
				return k >= 0
			}
			for _, a := range w.Attitudes() {
				if open(a) && !w.HeightOf(m.Point, a).Known() {
					if l, lacks := w.Lacks(m.Point, a); lacks {
						missing = merge(missing, []Datum{{Missing: l.Name, At: l.At, IDs: []string{l.Of}}})
					}
				}
			}
			if best == nil {
				continue
			}
			space := m.Space
			if m.Part != nil {
				space = m.Part.Space
			}
			o := outlet{node: m.Node, at: m.Point, what: "at the " + m.What + " of " + m.ID(), space: space}
			bore, lacks := w.leastBore(hull, best, o)
			if len(lacks) > 0 {
				missing = merge(missing, lacks)
				continue
			}
			o.valves = valvesOn(sea, best)
			if in := w.inrush(hull.Part, o, bore, open); in != nil {
				in.Siphon = true
				list = append(list, *in)
			}
		}
	}
	return list, missing
}

// heldShut are the floods that a valve, standing shut, alone keeps out.
func (w *sweeper) heldShut(p *schema.Part) []Inrush {
	var list []Inrush
	sea := w.Sea()
	for _, f := range w.Floods().List {
		if len(f.Shut) != 1 || f.Shut[0] != p || f.Sea.Part == nil {
			continue
		}
		space := f.Inside.Space
		if f.Inside.Part != nil {
			space = f.Inside.Part.Space
		}
		o := outlet{node: f.Inside.Node, at: f.Inside.Point, what: "at the " + f.Inside.What + " of " + f.Inside.ID(), space: space}
		bore, lacks := w.leastBore(f.Sea, f.Path, o)
		if len(lacks) > 0 {
			continue
		}
		o.valves = slices.DeleteFunc(valvesOn(sea, f.Path), func(v *schema.Part) bool { return v == p })
		in := w.inrush(f.Sea.Part, o, bore, func(a Attitude) bool { return slices.Contains(f.Attitudes, a) })
		if in != nil {
			in.Siphon = f.Type == Siphon
			list = append(list, *in)
		}
	}
	return list
}

// pumped finds what pumps and engines put into the boat through a hose that is
// off on their pressure side: as much as runs in it in the condition that moves
// most.
func (w *sweeper) pumped(h *schema.Hose, x *trace.SeaWay) []Inrush {
	best, back := unit.LitrePerMin(0), false
	for _, c := range w.Boat.Conditions {
		if f, ok := w.Water(c).Hose(h); ok && !f.Suction && unit.LitrePerMin(math.Abs(float64(f.Flow))) > best {
			best, back = unit.LitrePerMin(math.Abs(float64(f.Flow))), f.Flow < 0
		}
	}
	if best < 0.05 {
		return nil
	}
	up := x.A
	if back {
		up = x.B
	}
	// upstream of the hose: the pump that pushes, and what it draws from
	in := Inrush{AtRest: best, Worst: best, In: w.Attitudes()[0], Out: "out of the hose", Space: orSpace(spaceOfNode(&w.Sea().Nodes[up]), spaceOfNode(&w.Sea().Nodes[x.Other(up)]))}
	trail := w.Sea().Walk([]int{up}, trace.Walk{Through: func(y *trace.SeaWay, _ int) bool { return y != x }})
	for _, st := range trail.Steps {
		n := &w.Sea().Nodes[st.Node]
		for _, m := range n.Mouths {
			if m.Type == schema.ToSea && m.Part != nil && m.Part.Word("service").V == "intake" && in.Sea == nil {
				in.Sea = m.Part
			}
		}
		if n.Part == nil {
			continue
		}
		if in.Pump == nil && st.Way >= 0 && ownPump(w.Sea(), st.Way) != nil {
			in.Pump = w.Sea().Ways[st.Way].Part
		}
		if n.Part.Is(schema.Holding) && n.Part.Word("contents").V == "fresh" && !slices.Contains(in.From, n.Part) {
			in.From = append(in.From, n.Part)
		}
	}
	if in.Pump == nil || in.Sea == nil && len(in.From) == 0 {
		return nil
	}
	if in.Sea != nil {
		in.From = nil
	}
	in.Pumps = 0
	return []Inrush{in}
}

// ownPump is the pump of a way: a pump's, or equipment's own.
func ownPump(sea *trace.Sea, way int) *schema.PumpData {
	c := sea.Ways[way].Channel
	if c == nil {
		return nil
	}
	return c.Pump
}

// blockedBy are the pumps and users of sea water that have a way out with a valve
// open and none with it shut.
func (w *sweeper) blockedBy(valve *schema.Part) []*schema.Part {
	sea := w.Sea()
	out := func(i int, shut bool) bool {
		x := &sea.Ways[i]
		t := sea.Walk([]int{x.B}, trace.Walk{Through: func(y *trace.SeaWay, _ int) bool {
			return y.Part != x.Part && !(shut && y.Part == valve)
		}})
		for _, st := range t.Steps {
			for _, m := range sea.Nodes[st.Node].Mouths {
				if shut && m.Part != nil && m.Part.Cock == valve {
					continue
				}
				if m.Type != schema.ToSea || m.Part.Word("service").V != "intake" {
					return true
				}
			}
		}
		return false
	}
	var list []*schema.Part
	for i := range sea.Ways {
		x := &sea.Ways[i]
		if x.Part == nil || x.Part == valve || !x.Part.Roles().Any(schema.Mover|schema.SeaUser) || slices.Contains(list, x.Part) {
			continue
		}
		if out(i, false) && !out(i, true) {
			list = append(list, x.Part)
		}
	}
	return append(list, w.undrained(valve)...)
}

// undrained are the basins and cockpits whose last drain over the side a valve
// shuts.
func (w *sweeper) undrained(valve *schema.Part) []*schema.Part {
	sea := w.Sea()
	drains := func(node int, shut bool) bool {
		t := sea.Walk([]int{node}, trace.Walk{Through: func(x *trace.SeaWay, _ int) bool {
			return x.Pump() == nil && !(shut && x.Part == valve)
		}})
		for _, m := range sea.Hull {
			if m.Part.Word("service").V != "intake" && t.Find(m.Node) >= 0 {
				return true
			}
		}
		return false
	}
	var list []*schema.Part
	for _, p := range w.Boat.Parts {
		if p.Prepared || p == valve || p.Roles().Any(schema.Mover|schema.SeaUser|schema.Toilet) {
			continue
		}
		for _, n := range sea.NodesOf(p) {
			basin := slices.ContainsFunc(sea.Nodes[n].Mouths, func(m *trace.Mouth) bool { return m.Type != schema.ToSea })
			if basin && drains(n, false) && !drains(n, true) && !slices.Contains(list, p) {
				list = append(list, p)
			}
		}
	}
	return list
}

// fillsWithout finds the engines that a loop alone keeps the sea out of: with its
// vent clogged the sea siphons through the standing pump to an injection point
// under the margin.
func (w *sweeper) fillsWithout(loop *schema.Part) (engines, intakes []*schema.Part) {
	sea := w.Sea()
	for _, p := range w.Boat.Parts {
		elbow := sea.Node(p, "elbow")
		if p.Prepared || p.Kind.Attr("injection") == nil || elbow < 0 {
			continue
		}
		pt := sea.Nodes[elbow].Point
		pt.Height = p.Metres("injection")
		if least, _, _ := w.Margin(pt); !pt.Height.Given() || least >= float64(tables.InjectionMargin().Margin)-tiny {
			continue
		}
		for _, hull := range sea.Hull {
			under, _, _ := w.Submerged(hull.Point)
			reached := func(but *schema.Part) bool {
				return sea.Walk([]int{hull.Node}, trace.Walk{Through: func(x *trace.SeaWay, _ int) bool {
					return !x.Vented() || x.Part == but
				}}).Find(elbow) >= 0
			}
			if under && !reached(nil) && reached(loop) {
				if !slices.Contains(engines, p) {
					engines = append(engines, p)
				}
				intakes = append(intakes, hull.Part)
			}
		}
	}
	return engines, intakes
}
