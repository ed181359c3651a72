// Package size finds the smallest standard conductor and device that pass: for
// every `size: auto` and every rating left out, what the rules that a size or
// rating answers have nothing to say against, with the rule that binds.
package size

import (
	"fmt"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/rules"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// Proposal is one size or rating to put into the file.
type Proposal struct {
	// ID is the written id of the run, the device, or the way: "C3", "F2", "DP.4".
	ID string
	// Key is what is proposed, "size" or "rating"; Value its text.
	Key, Value string
	// Stretches is how many stretches of the written run take the size.
	Stretches int
	// Part and Way name the device of a rating.
	Part *schema.Part
	Way  string
	// Binds is the rule or limit that rules out the next smaller one, Reason says
	// so in words.
	Binds, Reason string
	// Left are findings that no size in the file can answer.
	Left []diag.Finding
}

// answered are the rules that a size or rating answers.
var answered = []string{"wire-overloaded", "wire-below-minimum", "voltage-drop", "undervoltage", "fault-cannot-clear",
	"return-smaller", "ground-too-small", "parallel-too-small", "fuse-exceeds-wire", "protection-sum", "fuse-below-load", "protection-order"}

// Answered lists the rules that a size or rating answers.
func Answered() []string { return slices.Clone(answered) }

// run is the conductors that take one size: those of one written item.
type run struct {
	id     string
	wires  []*schema.Wire
	step   int
	series []unit.Size
	binds  string
	reason string
}

// device is a rating left out.
type device struct {
	name   string
	part   *schema.Part
	way    string
	family string
	series []unit.Amp
	step   int
	binds  string
	reason string
}

type sizer struct {
	boat    *schema.Boat
	runs    []*run
	devices []*device
	byWire  map[string]*run
	byPart  map[string][]*device
}

// Propose sizes what the file leaves open. It puts its findings into the boat it
// is given: read a copy of its own for it.
func Propose(b *schema.Boat) (list []Proposal, left []diag.Finding) {
	z := &sizer{boat: b, byWire: map[string]*run{}, byPart: map[string][]*device{}}
	z.collect()
	if len(z.runs)+len(z.devices) == 0 {
		return nil, nil
	}
	z.begin()
	for range mostRounds {
		res := rules.Judge(survey.Of(b), answered...)
		if !z.improve(res.Findings) {
			left = z.unanswered(res.Findings)
			break
		}
	}
	z.shrink(len(left))
	return z.proposals(), left
}

const mostRounds = 400

// shrink takes back what the search overshot: circuits first, then feeders, as
// long as no finding comes of it. What forbids the last step is what binds.
func (z *sizer) shrink(left int) {
	order := slices.Clone(z.runs)
	slices.SortStableFunc(order, func(a, b *run) int {
		if ca, cb := a.wires[0].Circuit != nil, b.wires[0].Circuit != nil; ca != cb {
			if ca {
				return -1
			}
			return 1
		}
		return 0
	})
	for _, r := range order {
		for r.step > 0 {
			r.step--
			z.put(r)
			found := z.unanswered(rules.Judge(survey.Of(z.boat), answered...).Findings)
			if len(found) <= left {
				continue
			}
			r.step++
			z.put(r)
			f := z.blame(found, r.wires)
			r.binds, r.reason = f.Rule, f.Message
			break
		}
		if r.step == 0 {
			r.binds, r.reason = "smallest", "the smallest size of the table passes"
		}
	}
}

// blame picks the finding that names one of the conductors, else the first.
func (z *sizer) blame(found []diag.Finding, wires []*schema.Wire) diag.Finding {
	for _, f := range found {
		for _, w := range wires {
			if slices.Contains(f.At, w.Ref()) {
				return f
			}
		}
	}
	return found[0]
}

func (z *sizer) collect() {
	series := tables.SizesFor(z.set())
	at := map[string]*run{}
	for _, w := range z.boat.Wires {
		if !w.Auto || w.Size.Given() || w.Prepared || w.Implied {
			continue
		}
		id := w.Path
		if w.Circuit != nil {
			id = w.Circuit.ID
		}
		if id == "" {
			id = w.Ref()
		}
		r := at[id]
		if r == nil {
			r = &run{id: id, series: series}
			at[id] = r
			z.runs = append(z.runs, r)
		}
		r.wires = append(r.wires, w)
		z.byWire[w.Ref()] = r
	}
	for _, p := range z.boat.Parts {
		if p.Prepared {
			continue
		}
		for _, br := range p.Branches() {
			d := br.Device
			if br.Type != schema.Device || br.Medium != schema.DC || d.Rating.Given() || d.ResidualOnly {
				continue
			}
			if w, ok := p.Way(br.Way); br.Way != "" && (!ok || w.Spare) {
				continue
			}
			if br.Way == "" && p.Kind.Attr("rating") == nil || br.Way == "" && p.Is(schema.Panel) {
				continue
			}
			dev := &device{name: p.ID, part: p, way: br.Way, family: d.Family}
			if br.Way != "" {
				dev.name += "." + br.Way
			}
			dev.series = ratings(d)
			z.devices = append(z.devices, dev)
			z.byPart[p.ID] = append(z.byPart[p.ID], dev)
		}
	}
}

func ratings(d *schema.DeviceData) []unit.Amp {
	for _, series := range []string{d.Family, "thermal", "nec"} {
		if series == "thermal" && !d.Breaker {
			continue
		}
		if list, _, ok := tables.StandardRatings(series); ok {
			return list
		}
	}
	return nil
}

// set is the table the sizes come from: metric where the file's own conductors
// are, or where the rules are iso and it has none.
func (z *sizer) set() tables.Set {
	metric, gauge := 0, 0
	for _, w := range z.boat.Wires {
		if w.Size.Given() {
			if w.Size.V.System == unit.Metric {
				metric++
			} else {
				gauge++
			}
		}
	}
	if metric > gauge || metric == gauge && !z.boat.Rules.US() {
		return tables.ISO
	}
	return tables.US
}

// begin solves the boat with the thickest conductors and takes from its currents
// the sizes and ratings to start from.
func (z *sizer) begin() {
	for _, r := range z.runs {
		r.step = len(r.series) - 1
		z.put(r)
	}
	s := survey.Of(z.boat)
	worst := make([]unit.Amp, len(s.Net.Edges))
	for _, c := range s.Conditions() {
		d := s.DCWithoutCranking(c)
		if !d.Bounded() {
			continue
		}
		for id := range s.Net.Edges {
			a, _ := d.EdgeAmps(id)
			worst[id] = max(worst[id], a, -a)
		}
	}
	for _, r := range z.runs {
		r.step = 0
		r.binds, r.reason = "smallest", "the smallest size of the table passes"
		for _, w := range r.wires {
			id, ok := s.Net.WireEdge[w]
			if !ok || id < 0 {
				continue
			}
			for z.carries(s, w, r.series[r.step]) < worst[id] && r.step+1 < len(r.series) {
				r.step++
				r.binds = "wire-overloaded"
				r.reason = fmt.Sprintf("ampacity: it carries %.1f A", float64(worst[id]))
			}
		}
		z.put(r)
	}
	for id := range s.Net.Edges {
		e := &s.Net.Edges[id]
		if e.Type != trace.Device || e.Branch.Way != "" && e.Part == nil {
			continue
		}
		for _, d := range z.byPart[e.Part.ID] {
			if d.way != e.Branch.Way || len(d.series) == 0 {
				continue
			}
			d.binds, d.reason = "fuse-below-load", fmt.Sprintf("it carries %.1f A", float64(worst[id]))
			for d.series[d.step] < worst[id] && d.step+1 < len(d.series) {
				d.step++
			}
			z.rate(d)
		}
	}
}

func (z *sizer) carries(s *survey.Survey, w *schema.Wire, size unit.Size) unit.Amp {
	try := *w
	try.Size = schema.Of(size, schema.Derived)
	least, known := unit.Amp(0), false
	for _, set := range s.Sets() {
		if a, missing := s.Ampacity(&try, set); missing == "" {
			amps := a.Amps * unit.Amp(max(1, w.Parallel.Or(1)))
			if !known || amps < least {
				least, known = amps, true
			}
		}
	}
	return least
}

// put writes a run's size into the boat.
func (z *sizer) put(r *run) {
	for _, w := range r.wires {
		size := r.series[r.step]
		w.Size = schema.Val[unit.Size]{V: size, Text: size.Name(), From: schema.Own}
	}
}

// rate writes a device's rating into the boat.
func (z *sizer) rate(d *device) {
	amps := d.series[d.step]
	text := amps.String()
	if d.way != "" {
		d.part.SetRating(d.way, schema.Val[unit.Amp]{V: amps, Text: text, From: schema.Own})
		return
	}
	d.part.Set(schema.Value{Attr: d.part.Kind.Attr("rating"), Text: text, From: schema.Own, Dim: unit.Current, Number: float64(amps)})
}

// improve takes the next larger size or rating where a finding asks for it; false
// where nothing more can be done.
func (z *sizer) improve(found []diag.Finding) bool {
	changed := false
	done := map[any]bool{}
	for _, f := range found {
		switch f.Rule {
		case "fuse-below-load", "protection-order":
			if list := z.devicesOf(f); len(list) > 0 {
				if d := list[0]; !done[d] && d.step+1 < len(d.series) {
					done[d], changed = true, true
					d.step++
					d.binds, d.reason = f.Rule, f.Message
					z.rate(d)
				}
			}
		case "voltage-drop", "undervoltage":
			if r := z.dearest(f); r != nil && !done[r] {
				done[r], changed = true, true
				z.thicker(r, f)
			}
		default:
			for _, id := range f.At {
				if r := z.byWire[id]; r != nil && !done[r] && r.step+1 < len(r.series) {
					done[r], changed = true, true
					z.thicker(r, f)
					break
				}
			}
		}
	}
	return changed
}

func (z *sizer) thicker(r *run, f diag.Finding) {
	r.step++
	r.binds, r.reason = f.Rule, f.Message
	z.put(r)
}

func (z *sizer) devicesOf(f diag.Finding) []*device {
	var out []*device
	for _, id := range f.At {
		for _, d := range z.byPart[id] {
			if d.way == "" || slices.Contains(f.At, d.name) || strings.HasPrefix(f.Message, d.name+",") {
				out = append(out, d)
			}
		}
	}
	return out
}

// dearest is the run on the way to a load that loses most in the condition of a
// finding, and can still be thicker.
func (z *sizer) dearest(f diag.Finding) *run {
	s := survey.Of(z.boat)
	var cond *schema.Condition
	for _, c := range s.Conditions() {
		if c.ID == f.Condition {
			cond = c
		}
	}
	d := s.DCWithoutCranking(cond)
	if !d.Bounded() {
		return nil
	}
	lost := map[*run]float64{}
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		if e.Type != trace.Load && e.Type != trace.ConvertIn || !slices.Contains(f.At, e.Part.ID) {
			continue
		}
		for _, end := range [2]int{e.A, e.B} {
			for _, w := range onTheWay(s, end) {
				r := z.byWire[w.Ref()]
				if r == nil || r.step+1 >= len(r.series) {
					continue
				}
				a, _ := d.LeastAmps(w)
				ohms, _ := d.Ohms(w)
				v := float64(a) * float64(ohms)
				lost[r] += v * v / max(v, -v, 1e-12)
			}
		}
	}
	var best *run
	for _, r := range z.runs {
		if v := lost[r]; v < 0 {
			lost[r] = -v
		}
		if best == nil && lost[r] > 0 || best != nil && lost[r] > lost[best] {
			best = r
		}
	}
	return best
}

// onTheWay lists the conductors between a joint and the nearest battery or
// converter output.
func onTheWay(s *survey.Survey, from int) []*schema.Wire {
	sources := map[int]bool{}
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		switch e.Type {
		case trace.Battery:
			sources[e.A], sources[e.B] = true, true
		case trace.ConvertIn:
			sources[s.Net.Node(e.Part, e.Branch.Convert.OutA)] = true
			sources[s.Net.Node(e.Part, e.Branch.Convert.OutB)] = true
		}
	}
	via := map[int]int{from: -1}
	queue := []int{from}
	for i := 0; i < len(queue); i++ {
		v := queue[i]
		if sources[v] {
			var out []*schema.Wire
			for via[v] >= 0 {
				e := &s.Net.Edges[via[v]]
				if e.Wire != nil {
					out = append(out, e.Wire)
				}
				v = e.Other(v)
			}
			return out
		}
		for _, id := range s.Net.Nodes[v].Edges {
			e := &s.Net.Edges[id]
			if e.Medium != schema.DC || !e.Passes() && e.Type != trace.Device {
				continue
			}
			if w := e.Other(v); w != v {
				if _, seen := via[w]; !seen {
					via[w] = id
					queue = append(queue, w)
				}
			}
		}
	}
	return nil
}

// unanswered are the findings that name what was sized and still stand.
func (z *sizer) unanswered(found []diag.Finding) []diag.Finding {
	var out []diag.Finding
	for _, f := range found {
		named := len(z.devicesOf(f)) > 0 || z.hangsOn(f)
		for _, id := range f.At {
			named = named || z.byWire[id] != nil
		}
		if named {
			out = append(out, f)
		}
	}
	return out
}

// hangsOn reports a finding at a load that a sized run may answer.
func (z *sizer) hangsOn(f diag.Finding) bool {
	return f.Rule == "voltage-drop" || f.Rule == "undervoltage"
}

func (z *sizer) proposals() []Proposal {
	var out []Proposal
	for _, r := range z.runs {
		stretches := 0
		for _, w := range r.wires {
			if !w.Return {
				stretches++
			}
		}
		out = append(out, Proposal{ID: r.id, Key: "size", Value: r.series[r.step].Name(), Stretches: stretches, Binds: r.binds, Reason: r.reason})
	}
	for _, d := range z.devices {
		if len(d.series) > 0 {
			out = append(out, Proposal{ID: d.name, Key: "rating", Value: d.series[d.step].String(), Part: d.part, Way: d.way, Binds: d.binds, Reason: d.reason})
		}
	}
	return out
}
