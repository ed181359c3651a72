package survey

import (
	"slices"
	"strings"

	"fitout/schema"
	"fitout/validate/trace"
)

// Loss is what stops when one thing opens, shuts or fails.
type Loss struct {
	// Dead are the loads without a feed at once, whatever charges; Dry the users
	// without sea water.
	Dead, Dry []*schema.Part
	// Only are loads dead at once while engines stand, without sun and shore power,
	// and fed for as long as something else gives.
	Only []Kept
	// Uncharged are the batteries that nothing charges any more, Fading the loads
	// that live on these alone: dead when their charge is used up.
	Uncharged, Fading []*schema.Part
	// Hand are those of Dead and Only that a person brings back by closing a
	// switch.
	Hand []ByHand
}

// Kept is a load that is left with less.
type Kept struct {
	Part *schema.Part
	// In are the regimes in which it is still fed, Through the battery-to-battery
	// chargers that feed it where it hangs on these.
	In      []Regime
	Through []*schema.Part
}

// ByHand is a load and the switch that feeds it when closed or thrown.
type ByHand struct{ Part, Switch *schema.Part }

// Nothing reports a loss of nothing.
func (l *Loss) Nothing() bool {
	return len(l.Dead)+len(l.Dry)+len(l.Only)+len(l.Uncharged) == 0
}

// AtOnce are the loads without current while engines stand, without sun and
// shore power: Dead and Only, in file order as each lists them.
func (l *Loss) AtOnce() []*schema.Part {
	out := slices.Clone(l.Dead)
	for _, k := range l.Only {
		out = append(out, k.Part)
	}
	return out
}

// Lost returns what stops working when a part, or one way of a panel, opens, shuts
// or fails.
func (s *Survey) Lost(p *schema.Part, way string) Loss {
	return s.lossOf(&outage{part: p, way: way}, p, nil)
}

// LostRun returns what stops working when a wire breaks or a hose comes off; one
// of the two is nil. The cores of a cable break together.
func (s *Survey) LostRun(w *schema.Wire, h *schema.Hose) Loss {
	return s.lossOf(&outage{edges: s.coresOf(w)}, nil, h)
}

// coresOf are the edges of a wire and of those that lie in one cable with it.
func (s *Survey) coresOf(w *schema.Wire) map[int]bool {
	out := map[int]bool{}
	if w == nil {
		return out
	}
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Type == trace.Conductor && (e.Wire == w || w.Cable != "" && e.Wire.Cable == w.Cable) {
			out[i] = true
		}
	}
	return out
}

func (s *Survey) lossOf(out *outage, self *schema.Part, off *schema.Hose) Loss {
	var l Loss
	if off == nil {
		s.losesCurrent(&l, out, self)
	}
	stopped := map[*schema.Part]bool{}
	for _, q := range l.Dead {
		stopped[q] = true
	}
	if self != nil && out.way == "" {
		stopped[self] = true
	}
	wet, dry := s.wet(nil, nil), s.wet(stopped, off)
	for _, q := range s.Boat.Parts {
		if q != self && wet[q] && !dry[q] {
			l.Dry = append(l.Dry, q)
		}
	}
	return l
}

// losesCurrent compares what is fed in each regime before and after.
func (s *Survey) losesCurrent(l *Loss, out *outage, self *schema.Part) {
	f := s.feeds()
	var before, after [regimes]map[*schema.Part]bool
	for r := Standing; r < regimes; r++ {
		if same := f.like(r); same != r {
			before[r], after[r] = before[same], after[same]
			continue
		}
		before[r], after[r] = f.fed[r], f.loads(f.state(r, out, true))
	}
	for _, q := range s.Boat.Parts {
		if q == self && out.way == "" {
			continue
		}
		had, lost := false, false
		k := Kept{Part: q}
		for r := Standing; r < regimes; r++ {
			had = had || before[r][q]
			lost = lost || before[r][q] && !after[r][q]
			if f.has[r] && after[r][q] {
				k.In = append(k.In, r)
			}
		}
		switch {
		case !had || !lost:
		case len(k.In) == 0:
			l.Dead = append(l.Dead, q)
		default:
			if k.In[0] == Relayed {
				k.In, k.Through = k.In[:1], f.relaysOf(q, out)
			}
			l.Only = append(l.Only, k)
		}
	}
	s.byHand(l, out)
	s.losesCharge(l, out, after[Standing])
}

// relaysOf are the battery-to-battery chargers a load hangs on with engines
// standing.
func (f *feeding) relaysOf(q *schema.Part, out *outage) []*schema.Part {
	var list []*schema.Part
	for i := range f.s.Net.Edges {
		e := &f.s.Net.Edges[i]
		if e.Type != trace.ConvertIn || !e.Branch.Convert.Charger || out.gone(e.Part) {
			continue
		}
		alone := *out
		alone.without = map[*schema.Part]bool{e.Part: true}
		for p := range out.without {
			alone.without[p] = true
		}
		if !f.loads(f.state(Relayed, &alone, true))[q] {
			list = append(list, e.Part)
		}
	}
	return list
}

// byHand finds for what is dead the switch that brings it back.
func (s *Survey) byHand(l *Loss, out *outage) {
	dead := l.AtOnce()
	f := s.feeds()
	var open []int
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; ByPerson(e) && e.Medium == schema.DC && !f.makes[i] && e.Part != out.part {
			open = append(open, i)
		}
	}
	if len(dead) == 0 || len(open) == 0 {
		return
	}
	with := *out
	fed := func(ids ...int) map[*schema.Part]bool {
		with.closed = map[int]bool{}
		for _, id := range ids {
			with.closed[id] = true
		}
		return f.loads(f.state(Standing, &with, true))
	}
	back := func(have map[*schema.Part]bool) bool {
		return slices.ContainsFunc(dead, func(p *schema.Part) bool { return have[p] })
	}
	if !back(fed(open...)) {
		return
	}
	done := map[*schema.Part]bool{}
	for _, id := range open {
		have := fed(id)
		for _, p := range dead {
			if have[p] && !done[p] {
				done[p] = true
				l.Hand = append(l.Hand, ByHand{p, s.Net.Edges[id].Part})
			}
		}
	}
}

// losesCharge finds the batteries that nothing charges any more, and what lives
// on them.
func (s *Survey) losesCharge(l *Loss, out *outage, fed map[*schema.Part]bool) {
	f := s.feeds()
	before, after := map[*schema.Part]bool{}, map[*schema.Part]bool{}
	for r := EngineRuns; r < regimes; r++ {
		if !f.has[r] {
			continue
		}
		for p := range f.charged(f.alone[r]) {
			before[p] = true
		}
		for p := range f.charged(f.state(r, out, false)) {
			after[p] = true
		}
	}
	flat := map[*schema.Part]bool{}
	for _, p := range s.Boat.Parts {
		if before[p] && !after[p] && p != out.part {
			l.Uncharged = append(l.Uncharged, p)
			flat[p] = true
		}
	}
	if len(flat) == 0 {
		return
	}
	later := *out
	later.without = flat
	left := f.loads(f.state(Standing, &later, true))
	for _, q := range s.Boat.Parts {
		if fed[q] && !left[q] {
			l.Fading = append(l.Fading, q)
		}
	}
}

// While says when a load is still fed: "while the engine runs or on shore power".
func (k Kept) While() string {
	words := map[Regime]string{EngineRuns: "while the engine runs", SunShines: "while the sun shines", OnShore: "on shore power"}
	if len(k.In) == 1 && k.In[0] == Relayed {
		if len(k.Through) == 0 {
			return "by battery-to-battery chargers, until the battery behind them is flat"
		}
		return "by " + idList(k.Through) + ", until the battery behind it is flat"
	}
	var out []string
	for _, r := range k.In {
		if w := words[r]; w != "" {
			out = append(out, w)
		}
	}
	return strings.Join(out, " or ")
}

func idList(list []*schema.Part) string {
	var out []string
	for _, p := range list {
		out = append(out, p.ID)
	}
	return strings.Join(out, " and ")
}
