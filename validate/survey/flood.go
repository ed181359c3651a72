package survey

import (
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// seaMemory keeps what flooding judgements share.
type seaMemory struct {
	attitudes []Attitude
	sea       *trace.Sea
	floods    *Floods
	seaSide   map[*schema.Hose]*Side
}

// Sea is the graph of the boat's water.
func (s *Survey) Sea() *trace.Sea {
	if s.sea == nil {
		s.sea = trace.BuildSea(s.Boat)
	}
	return s.sea
}

// FloodType is how the sea gets in.
type FloodType int

// The types.
const (
	// Gravity: the sea stands above every crest of the way.
	Gravity FloodType = iota
	// Siphon: a crest stands above the sea, but nothing lets air in there.
	Siphon
)

// Flood is one way for the sea into the boat.
type Flood struct {
	Type        FloodType
	Sea, Inside *trace.Mouth
	// Attitudes are those it happens in, in the order of judging; Worst the one
	// in which the inside opening lies deepest, Depth how deep.
	Attitudes []Attitude
	Worst     Attitude
	Depth     unit.Metre
	// Path is the way from the sea, in the worst attitude.
	Path []trace.Step
	// Shut are valves that stand shut in every condition with people aboard and
	// keep the way closed.
	Shut []*schema.Part
}

// Doubt is a flooding judgement that could not be made.
type Doubt struct {
	Type        FloodType
	Sea, Inside *trace.Mouth
	Missing     []Lack
	Path        []trace.Step // the way it is about
}

// Floods is every way for the sea into the boat.
type Floods struct {
	List   []Flood
	Doubts []Doubt
	// Pairs counts the sea and inside openings that water joins.
	Pairs int
}

// Floods judges every sea opening against every inside opening that water can
// get to from it.
func (s *Survey) Floods() *Floods {
	if s.floods == nil {
		f := &flooder{Survey: s, sea: s.Sea(), level: s.Laden(), shut: s.StandsShut(), out: &Floods{}}
		f.judge()
		s.floods = f.out
	}
	return s.floods
}

// StandsShut returns the valves that are closed in every condition with people
// aboard.
func (s *Survey) StandsShut() map[*schema.Part]bool {
	shut := map[*schema.Part]bool{}
	for _, p := range s.Boat.Parts {
		if !p.Is(schema.Shutoff) || p.Prepared {
			continue
		}
		closed, any := true, false
		for _, c := range s.Boat.Conditions {
			if c.BuiltIn || c.Unattended.V {
				continue
			}
			any = true
			pos, set := c.Positions[p.ID]
			closed = closed && (set && pos == "closed" || !set && p.Word("position").V == "closed")
		}
		if any && closed || !any && p.Word("position").V == "closed" {
			shut[p] = true
		}
	}
	return shut
}

type flooder struct {
	*Survey
	sea   *trace.Sea
	level float64
	shut  map[*schema.Part]bool
	out   *Floods
}

// tiny absorbs the noise of binary fractions in comparisons of heights.
const tiny = 1e-9

func (f *flooder) sure(l Level) bool     { return l.Hi < f.level-tiny }
func (f *flooder) possible(l Level) bool { return l.Lo < f.level-tiny }

func (f *flooder) judge() {
	for _, hull := range f.sea.Hull {
		region := f.sea.Walk([]int{hull.Node}, trace.Walk{})
		var inside []*trace.Mouth
		seen := map[*trace.Mouth]bool{}
		for _, st := range region.Steps {
			for _, m := range f.sea.Nodes[st.Node].Mouths {
				if m.Type == schema.ToInside && !seen[m] {
					seen[m] = true
					inside = append(inside, m)
				}
			}
		}
		if len(inside) == 0 {
			continue
		}
		f.out.Pairs += len(inside)
		f.fromHull(hull, inside)
	}
}

// pair collects what the attitudes say of one inside opening.
type pair struct {
	gravity, siphon           *Flood
	gravityDoubt, siphonDoubt []Lack
	gravityPath, siphonPath   []trace.Step
}

func (f *flooder) fromHull(hull *trace.Mouth, inside []*trace.Mouth) {
	pairs := make([]pair, len(inside))
	list := f.Attitudes()
	for _, a := range list {
		f.inAttitude(hull, inside, pairs, a)
	}
	for _, a := range f.between(hull, inside, pairs, list) {
		f.inAttitude(hull, inside, pairs, a)
	}
	for i := range pairs {
		f.settle(hull, inside[i], &pairs[i])
	}
}

// between returns the smaller angles of heel, one degree apart, for openings on
// either side of the boat: both may be under water on the way to an angle at
// which one has left it.
func (f *flooder) between(hull *trace.Mouth, inside []*trace.Mouth, pairs []pair, list []Attitude) []Attitude {
	opposite := false
	for i, m := range inside {
		opposite = opposite || pairs[i].gravity == nil && float64(m.Point.Offset.V)*float64(hull.Point.Offset.V) < 0
	}
	if !opposite {
		return nil
	}
	var most, trim unit.Degree
	for _, a := range list {
		most, trim = max(most, a.Heel), max(trim, a.Trim)
	}
	var out []Attitude
	for k := unit.Degree(1); k < most; k++ {
		for _, t := range appendBoth([]unit.Degree{0}, trim) {
			out = append(out, NewAttitude(k, t), NewAttitude(-k, t))
		}
	}
	return out
}

// inAttitude judges all pairs of one sea opening in one attitude.
func (f *flooder) inAttitude(hull *trace.Mouth, inside []*trace.Mouth, pairs []pair, a Attitude) {
	at := f.HeightOf(hull.Point, a)
	if !f.possible(at) {
		return
	}
	sure := f.submerged(hull, a, f.sure)
	maybe := f.submerged(hull, a, f.possible)
	open := f.unvented(hull, a)
	for i, m := range inside {
		p := &pairs[i]
		in := f.HeightOf(m.Point, a)
		if !f.possible(in) {
			continue
		}
		wet := f.sure(at) && f.sure(in)
		k := sure.Find(m.Node)
		switch {
		case k >= 0 && wet:
			p.gravity = f.note(p.gravity, Gravity, hull, m, a, in, sure.Path(k))
		case k < 0 || !wet:
			if j := maybe.Find(m.Node); j >= 0 {
				p.gravityPath = maybe.Path(j)
				p.gravityDoubt = f.lacking(p.gravityDoubt, hull, m, p.gravityPath, a)
			}
		}
		j := open.Find(m.Node)
		switch {
		case j < 0:
		case wet && k < 0:
			p.siphon = f.note(p.siphon, Siphon, hull, m, a, in, open.Path(j))
		case !wet:
			p.siphonPath = open.Path(j)
			p.siphonDoubt = f.lacking(p.siphonDoubt, hull, m, nil, a)
		}
	}
}

// submerged walks from a sea opening under water as the test of a level says.
func (f *flooder) submerged(hull *trace.Mouth, a Attitude, under func(Level) bool) *trace.Trail {
	if !under(f.HeightOf(hull.Point, a)) {
		return &trace.Trail{}
	}
	return f.sea.Walk([]int{hull.Node}, trace.Walk{
		Through: f.underWater(a, under),
		Beyond:  func(n int) bool { return !f.fills(n, a) },
	})
}

// fills reports whether water runs into the boat at a joint: what lies behind it
// has the same cause.
func (f *flooder) fills(node int, a Attitude) bool {
	for _, m := range f.sea.Nodes[node].Mouths {
		if m.Type == schema.ToInside && f.sure(f.HeightOf(m.Point, a)) {
			return true
		}
	}
	return false
}

// unvented walks from a sea opening over ways without a vented loop, whatever
// their height. A vessel open to air that stands above the sea parts a siphon.
func (f *flooder) unvented(hull *trace.Mouth, a Attitude) *trace.Trail {
	return f.sea.Walk([]int{hull.Node}, trace.Walk{
		Through: func(w *trace.SeaWay, _ int) bool { return !w.Vented() },
		Beyond:  func(n int) bool { return !f.fills(n, a) && !f.open(n, a) },
	})
}

// open reports whether a joint is a vessel open to air that stands above the sea.
func (f *flooder) open(node int, a Attitude) bool {
	n := &f.sea.Nodes[node]
	if n.Part == nil || f.HeightOf(n.Point, a).Lo < f.level {
		return false
	}
	for _, m := range n.Mouths {
		if m.Type == schema.ToInside {
			return true
		}
	}
	return n.Part.Is(schema.Holding) && f.Aired(n.Part)
}

// Aired reports whether a tank is open to air: a hose at its vent, or vented
// without one.
func (s *Survey) Aired(p *schema.Part) bool {
	if p.Kind.Attr("vented") == nil {
		return false
	}
	if p.Flag("vented").V || p.Flag("inside").V {
		return true
	}
	for _, t := range p.Terminals() {
		if IsVent(t.Name) && s.Sea().Joined(p, t.Name) > 0 {
			return true
		}
	}
	return false
}

// IsVent reports whether a tank's terminal is its vent, or one of several.
func IsVent(terminal string) bool {
	return len(terminal) >= 4 && terminal[:4] == "vent"
}

func (f *flooder) note(fl *Flood, kind FloodType, hull, m *trace.Mouth, a Attitude, in Level, path []trace.Step) *Flood {
	depth := unit.Metre(f.level - in.Hi)
	if fl == nil {
		fl = &Flood{Type: kind, Sea: hull, Inside: m, Depth: unit.Metre(math.Inf(-1))}
	}
	// Upright is the plainest to say; among the others the deepest.
	upright := len(fl.Attitudes) > 0 && fl.Worst.Upright()
	if !upright && (a.Upright() || depth > fl.Depth+tiny) {
		fl.Worst, fl.Depth, fl.Path = a, depth, path
	}
	fl.Attitudes = append(fl.Attitudes, a)
	return fl
}

// lacking adds what is missing to judge a way.
func (f *flooder) lacking(list []Lack, hull, m *trace.Mouth, path []trace.Step, a Attitude) []Lack {
	add := func(p trace.Point) {
		if d, lacks := f.Lacks(p, a); lacks && !slices.Contains(list, d) {
			list = append(list, d)
		}
	}
	add(hull.Point)
	for _, st := range path {
		if st.Node != m.Node {
			add(f.sea.Nodes[st.Node].Point)
		}
		if st.Way >= 0 {
			for _, p := range f.sea.Ways[st.Way].Peaks {
				if !f.LowestOf(f.sea.Ways[st.Way].Peaks, a).Known() {
					add(p)
				}
			}
		}
	}
	add(m.Point)
	return list
}

// settle turns what the attitudes say into one answer a type.
func (f *flooder) settle(hull, m *trace.Mouth, p *pair) {
	if p.gravity != nil {
		p.siphon, p.siphonDoubt, p.gravityDoubt = nil, nil, nil
	}
	if p.siphon != nil {
		p.siphonDoubt = nil
	}
	for _, fl := range []*Flood{p.gravity, p.siphon} {
		if fl != nil {
			fl.Shut = f.shutOff(fl)
			f.out.List = append(f.out.List, *fl)
		}
	}
	if len(p.gravityDoubt) > 0 {
		f.out.Doubts = append(f.out.Doubts, Doubt{Gravity, hull, m, p.gravityDoubt, p.gravityPath})
	}
	if len(p.siphonDoubt) > 0 {
		f.out.Doubts = append(f.out.Doubts, Doubt{Siphon, hull, m, p.siphonDoubt, p.siphonPath})
	}
}

// shutOff returns the valves on the way that stand shut whenever people are
// aboard, where without them no other way is left.
func (f *flooder) shutOff(fl *Flood) []*schema.Part {
	if len(f.shut) == 0 {
		return nil
	}
	var valves []*schema.Part
	for _, st := range fl.Path {
		if st.Way >= 0 && f.sea.Ways[st.Way].Valve() && f.shut[f.sea.Ways[st.Way].Part] {
			valves = append(valves, f.sea.Ways[st.Way].Part)
		}
	}
	if len(valves) == 0 {
		return nil
	}
	left := f.sea.Walk([]int{fl.Sea.Node}, trace.Walk{Through: func(w *trace.SeaWay, _ int) bool {
		return !(w.Valve() && f.shut[w.Part]) && !(fl.Type == Siphon && w.Vented())
	}})
	if left.Find(fl.Inside.Node) >= 0 {
		return nil
	}
	return valves
}

// Margin returns how high a vented loop stands above the sea in its lowest
// attitude; missing names what could not be told.
func (s *Survey) Margin(p trace.Point) (least float64, worst Attitude, missing []Lack) {
	least = math.Inf(1)
	for _, a := range s.Attitudes() {
		l := s.HeightOf(p, a)
		if d, lacks := s.Lacks(p, a); lacks {
			if !slices.Contains(missing, d) {
				missing = append(missing, d)
			}
			continue
		}
		if h := l.Lo - s.Laden(); h < least-tiny {
			least, worst = h, a
		}
	}
	return least, worst, missing
}

// Sound reports whether a vented loop stays above the sea by the margin in every
// attitude, as far as is known.
func (s *Survey) Sound(p trace.Point) bool {
	least, _, missing := s.Margin(p)
	return len(missing) == 0 && least >= float64(tables.VentMargin().Margin)-tiny
}

// Submerged reports whether a place is under the sea in some attitude. Where
// that cannot be told, known is false and missing names the data.
func (s *Survey) Submerged(p trace.Point) (under, known bool, missing []Lack) {
	least, _, missing := s.Margin(p)
	if least < -tiny {
		return true, true, nil
	}
	return false, len(missing) == 0, missing
}
