package survey

import (
	"math"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/dc"
	"fitout/validate/trace"
)

// Drop is the voltage lost on the way to a load and back.
type Drop struct {
	// Volts is from the source's terminals, FromPanel from the bus or panel that
	// feeds it; Panel names that, "" where the source is the last bar.
	Volts, FromPanel unit.Volt
	Panel            *schema.Part
	Source           *schema.Part
}

// dropSources are, for each joined group of a state, the battery or source whose
// terminals drops are counted from.
type dropSources struct {
	plus, minus map[int]int // group → node
	part        map[int]*schema.Part
}

// sourcesOfDrop picks the terminals: of batteries that discharge the highest, of
// those that charge the lowest; only where a group has no battery another source.
func (d *DCState) sourcesOfDrop() *dropSources {
	s := &dropSources{plus: map[int]int{}, minus: map[int]int{}, part: map[int]*schema.Part{}}
	type rank struct {
		v     float64
		class int
	}
	best := map[int]rank{}
	consider := func(e *trace.Edge, a, b int, class int) {
		va, ok := d.sol.Volts(dc.Node(a))
		if !ok || a < 0 || b < 0 {
			return
		}
		for side, n := range [2]int{a, b} {
			g := 2*d.groups.Of(n) + side
			v, _ := d.sol.Volts(dc.Node(n))
			r := rank{float64(v), class}
			if side == 1 {
				r.v = -r.v
			}
			if class == 1 {
				r.v = -r.v
			}
			if have, ok := best[g]; ok && (have.class < r.class || have.class == r.class && have.v >= r.v) {
				continue
			}
			best[g] = r
			if side == 0 {
				s.plus[d.groups.Of(n)], s.part[d.groups.Of(n)] = n, e.Part
			} else {
				s.minus[d.groups.Of(n)] = n
			}
		}
		_ = va
	}
	for i := range d.s.Net.Edges {
		e := &d.s.Net.Edges[i]
		if e.Medium != schema.DC || d.elem[i] == none {
			continue
		}
		amps, _ := d.edgeAmps(i)
		switch e.Type {
		case trace.Battery:
			class := 0
			if amps < -resting {
				class = 1
			}
			consider(e, e.A, e.B, class)
		case trace.Feed:
			if d.sol.Modes[d.elem[i]] != dc.Off {
				consider(e, e.A, d.s.Back(e), 2)
			}
		case trace.ConvertIn:
			if d.sol.Modes[d.elem[i]] != dc.Off && d.sol.Modes[d.elem[i]] != dc.Unfed {
				consider(e, d.s.Net.Node(e.Part, e.Branch.Convert.OutA), d.s.Net.Node(e.Part, e.Branch.Convert.OutB), 2)
			}
		}
	}
	return s
}

// DropTo returns what is lost on the way to the ends of a load edge; ok is false
// where nothing feeds it, or where a datum hides its volts.
func (d *DCState) DropTo(e *trace.Edge) (Drop, bool) {
	if !d.Bounded() || d.blind[e.A] > 0 || d.blind[e.B] > 0 {
		return Drop{}, false
	}
	if d.drops == nil {
		d.drops = d.sourcesOfDrop()
	}
	ga, gb := d.groups.Of(e.A), d.groups.Of(e.B)
	p, okP := d.drops.plus[ga]
	m, okM := d.drops.minus[gb]
	if !okP || !okM {
		return Drop{}, false
	}
	at := func(n int) float64 {
		v, ok := d.sol.Volts(dc.Node(n))
		if !ok {
			return math.NaN()
		}
		return float64(v)
	}
	out := Drop{Source: d.drops.part[ga], Volts: unit.Volt(at(p) - at(e.A) + at(e.B) - at(m))}
	out.FromPanel = out.Volts
	if math.IsNaN(float64(out.Volts)) {
		return out, false
	}
	bar, panel := d.barBefore(e.A, p)
	back, _ := d.barBefore(e.B, m)
	if bar >= 0 && back >= 0 {
		out.Panel = panel
		out.FromPanel = unit.Volt(at(bar) - at(e.A) + at(e.B) - at(back))
	}
	return out, true
}

// barBefore walks from a load's pole toward its source and returns the first bar,
// panel or ground on the way; the source's own terminal where there is none.
func (d *DCState) barBefore(from, to int) (node int, part *schema.Part) {
	n := d.s.Net
	is := func(v int) *schema.Part {
		for _, e := range n.Nodes[v].Ends {
			if e.Part.Is(schema.Panel) && (e.Terminal == "in" || e.Terminal == "bar") || e.Part.Is(schema.Distribution) && !e.Part.Is(schema.Panel) || e.Part.Is(schema.Grounding) {
				return e.Part
			}
		}
		return nil
	}
	via := d.waysFrom(to)
	if from != to && via[from] < 0 {
		return -1, nil
	}
	for v := from; ; v = n.Edges[via[v]].Other(v) {
		if p := is(v); p != nil || v == to {
			return v, p
		}
	}
}

// waysFrom is, for every joint, the edge that leads back to a source's terminal
// on a shortest way; -1 where none does. It is kept: many loads ask.
func (d *DCState) waysFrom(to int) []int {
	if via, ok := d.ways[to]; ok {
		return via
	}
	n := d.s.Net
	via := make([]int, len(n.Nodes))
	for i := range via {
		via[i] = -1
	}
	queue := []int{to}
	for i := 0; i < len(queue); i++ {
		v := queue[i]
		for _, id := range n.Nodes[v].Edges {
			e := &n.Edges[id]
			if e.Medium != schema.DC || d.elem[id] == none || e.Type != trace.Conductor && e.Type != trace.Device && e.Type != trace.Contact && e.Type != trace.Series {
				continue
			}
			if w := e.Other(v); w != to && w != v && via[w] < 0 {
				via[w] = id
				queue = append(queue, w)
			}
		}
	}
	if d.ways == nil {
		d.ways = map[int][]int{}
	}
	d.ways[to] = via
	return via
}

// DropOfPart is the share of voltage a part allows on the way to it, where it is
// not a plain load (a converter's input).
func DropOfPart(p *schema.Part) unit.Ratio { return p.Share("drop").Or(0.10) }

// Starting solves the condition again with one load at its starting current.
func (d *DCState) Starting(p *schema.Part) *DCState {
	return d.with(func(o *dcOptions) { o.starting = p })
}

// Without solves the condition again with one battery disconnected.
func (d *DCState) Without(p *schema.Part) *DCState {
	return d.with(func(o *dcOptions) { o.without = p })
}

// HasBattery reports whether a battery stands on the joint's group.
func (d *DCState) HasBattery(node int) bool {
	g := d.groups.Of(node)
	for i := range d.s.Net.Edges {
		if e := &d.s.Net.Edges[i]; e.Type == trace.Battery && d.groups.Of(e.A) == g {
			return true
		}
	}
	return false
}

// Together reports whether two joints are joined through no load in the
// condition.
func (d *DCState) Together(a, b int) bool { return d.groups.Same(a, b) }

// Asks is what a load that runs asks for at a voltage.
func (l *DCLoad) Asks(v unit.Volt) unit.Amp {
	switch {
	case !l.Runs || l.asked <= 0:
		return 0
	case l.model == "current":
		return unit.Amp(l.asked)
	case v <= 0:
		return 0
	case l.model == "power":
		return unit.Amp(l.asked / float64(v))
	default:
		return unit.Amp(float64(v) / l.asked)
	}
}

// AcrossEdge returns the voltage over an edge of the net; known to be no smaller
// where some load's draw is not stated.
func (d *DCState) AcrossEdge(e *trace.Edge) (unit.Volt, bool) {
	if !d.Bounded() {
		return 0, false
	}
	return d.acrossEdge(e)
}

// Shorted reports whether the posts of a battery are joined through no load in
// the condition: short-circuit says so, and every other figure follows from it.
func (d *DCState) Shorted() bool {
	if d == nil {
		return false
	}
	if d.shorted == 0 {
		d.shorted = -1
		for i := range d.s.Net.Edges {
			if e := &d.s.Net.Edges[i]; e.Type == trace.Battery && e.A != e.B && d.groups.Same(e.A, e.B) {
				d.shorted = 1
				break
			}
		}
	}
	return d.shorted > 0
}
