package survey

import (
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// Bare is a conductor that a failed device leaves with more than it carries.
type Bare struct {
	Wire *schema.Wire
	// Ampacity is what it carries, by the stricter set; Before what devices and
	// limits let into it, After the same without the device.
	Ampacity, Before, After unit.Amp
	// Unlimited: a battery feeds it with no device between; After is then nothing.
	Unlimited bool
}

type guardKey struct {
	part *schema.Part
	way  string
}

// guarded is a conductor end that a device helps to guard.
type guarded struct {
	wire, from int
	before     unit.Amp
}

// guards lists for every device the conductor ends whose cheapest cut it stands
// in. To take the limit of any other device away changes nothing there: the cut
// stays as it is, and so the most that can be pushed in. A rating that is not
// given holds nothing back.
func (s *Survey) guards() map[guardKey][]guarded {
	out := map[guardKey][]guarded{}
	n := s.Net
	for _, w := range s.Boat.Wires {
		id := n.WireEdge[w]
		if id < 0 || !n.Live(id) || n.Edges[id].A == n.Edges[id].B {
			continue
		}
		for _, from := range [2]int{n.Edges[id].A, n.Edges[id].B} {
			f := n.Flow(id, from, trace.Options{UnknownAs: math.Inf(1)})
			for _, c := range f.Cut {
				if c.Edge < 0 {
					continue
				}
				k := guardKey{c.Part, c.Way}
				out[k] = append(out[k], guarded{id, from, f.Amps})
			}
		}
	}
	return out
}

// bareWithout lists the conductors that can be pushed beyond their ampacity once a
// device is bypassed, and by more than before; and what is missing to tell.
func (w *sweeper) bareWithout(p *schema.Part, way string) (out []Bare, missing []Datum) {
	ignore := func(e *trace.Edge) bool { return e.Part == p && e.Branch.Way == way }
	for _, g := range w.guards[guardKey{p, way}] {
		x := w.Net.Edges[g.wire].Wire
		least, lacks := w.leastAmpacity(x)
		if lacks != "" {
			missing = merge(missing, []Datum{{Missing: lacks, At: x.At, IDs: []string{x.Ref()}}})
			continue
		}
		f := w.Net.Flow(g.wire, g.from, trace.Options{Ignore: ignore, UnknownAs: math.Inf(1)})
		for _, u := range f.Unknown {
			missing = merge(missing, []Datum{{Missing: u, At: p.At, IDs: []string{p.ID}}})
		}
		if !f.Unlimited && (f.Amps <= least || f.Amps <= g.before) {
			continue
		}
		b := Bare{Wire: x, Ampacity: least, Before: g.before, After: f.Amps, Unlimited: f.Unlimited}
		if b.Unlimited {
			b.After = 0
		}
		i := slices.IndexFunc(out, func(o Bare) bool { return o.Wire == x })
		switch {
		case i < 0:
			out = append(out, b)
		case b.Unlimited && !out[i].Unlimited || !out[i].Unlimited && b.After > out[i].After:
			out[i] = b
		}
	}
	return out, missing
}

// leastAmpacity is a conductor's ampacity by the stricter of the boat's sets;
// lacks names what no set can do without.
func (s *Survey) leastAmpacity(w *schema.Wire) (least unit.Amp, lacks string) {
	known := false
	for _, set := range s.Sets() {
		a, missing := s.Ampacity(w, tables.Set(set))
		if missing != "" {
			lacks = missing
			continue
		}
		if !known || a.Amps < least {
			least, known = a.Amps, true
		}
	}
	if known {
		lacks = ""
	}
	return least, lacks
}

// short joins a live conductor to minus: the devices nearest to it on the ways to
// sources open, and all that stays joined to it has no volts.
func (w *sweeper) short(x *schema.Wire, id int) {
	f := Failure{ID: x.Ref(), What: "wire", Mode: Shorts, Wire: x}
	out := &outage{edges: map[int]bool{}}
	for _, e := range w.facing(id, &f) {
		out.edges[e] = true
	}
	for c := range w.coresOf(x) {
		out.edges[c] = true
	}
	f.Loss = w.lossOf(out, nil, nil)
	w.add(f)
}

// facing walks from both ends of a shorted conductor over what does not open, to
// the first devices that do and to sources with none between; it returns what it
// walked over, the devices that open included.
func (w *sweeper) facing(id int, f *Failure) []int {
	n := w.Net
	var over []int
	seen := map[int]bool{}
	stack := []int{n.Edges[id].A, n.Edges[id].B}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if seen[v] {
			continue
		}
		seen[v] = true
		for _, i := range n.AtNode(v) {
			if src := &n.Sources[i]; src.Unlimited && src.BuiltIn == nil && !slices.Contains(f.NoDevice, src.Part) {
				f.NoDevice = append(f.NoDevice, src.Part)
			}
		}
		for _, e := range n.Nodes[v].Edges {
			edge := &n.Edges[e]
			switch {
			case edge.Type == trace.Device && !n.Dead(e, v) && w.blows(e, v, id):
				if slices.Contains(over, e) {
					continue
				}
				over = append(over, e)
				name := edge.Part.ID
				if edge.Branch.Way != "" {
					name += "." + edge.Branch.Way
				}
				if !slices.Contains(f.Opens, name) {
					f.Opens = append(f.Opens, name)
				}
			case edge.Type == trace.Conductor, edge.Type == trace.Series, edge.Type == trace.Device, edge.Type == trace.Contact && w.feeds().makes[e]:
				if to := edge.Other(v); !n.Nodes[to].Grounded {
					over = append(over, e)
					stack = append(stack, to)
				}
			}
		}
	}
	slices.Sort(f.Opens)
	return over
}

// blows reports whether what lies behind a device, seen from a shorted joint, can
// push more than its rating: a battery can, limited sources where their sum does.
// A rating that is not given is taken to open.
func (w *sweeper) blows(device, from, short int) bool {
	n := w.Net
	d := n.Edges[device].Branch.Device
	sum := unit.Amp(0)
	seen := map[int]bool{from: true, n.Edges[short].A: true, n.Edges[short].B: true}
	counted := map[int]bool{}
	stack := []int{n.Edges[device].Other(from)}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if seen[v] || n.Nodes[v].Grounded {
			continue
		}
		seen[v] = true
		for _, i := range n.AtNode(v) {
			src := &n.Sources[i]
			if src.Unlimited || !src.Known {
				return true
			}
			if !counted[src.Edge] {
				counted[src.Edge] = true
				sum += src.Amps
			}
		}
		for _, e := range n.Nodes[v].Edges {
			edge := &n.Edges[e]
			if edge.Type == trace.Conductor || edge.Type == trace.Series || edge.Type == trace.Device || edge.Type == trace.Contact && w.feeds().makes[e] {
				stack = append(stack, edge.Other(v))
			}
		}
	}
	return !d.Rating.Given() || sum > d.Rating.V
}
