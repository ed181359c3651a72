package rules

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// protection judges every ungrounded conductor from both ends, under one set.
// The four protection rules share it: which of them speaks depends on what is
// met along the conductor.
type protection struct {
	*Context
	// Net is the boat's with exclusive contacts in one of their positions.
	Net     *trace.Net
	first   bool // the first setting: what holds in all is said once
	set     tables.Set
	limits  map[*schema.Wire]allowed
	flows   []*push // by edge, then by end: A, B
	crank   *cranking
	link    map[int]bool // edges that are links of a bank
	spoken  map[*schema.Wire]bool
	large   []tooLarge // fuse-exceeds-wire, merged by device before it is reported
	pigtail map[*schema.Wire]bool
	stubs   map[trace.Direction]bool // see stub
}

// allowed is what a conductor allows: Hard is an error beyond, Soft a warning
// beyond unless the device is the next standard size.
type allowed struct {
	Amp, Hard, Soft unit.Amp
	row             string
	cite            string
	missing         string
}

// push is what can enter a conductor at one end.
type push struct {
	low, high trace.Flow // unknown ratings taken as nothing, and as unlimited
}

func checkProtection(c *Context) {
	nets := []*trace.Net{c.Survey.Net}
	if settings := trace.Settings(c.Boat); len(settings) > 1 {
		nets = nets[:0]
		for _, at := range settings {
			nets = append(nets, trace.BuildIn(c.Boat, at))
		}
	}
	cranks := findCrankingIn(nets)
	for _, set := range c.Sets() {
		spoken, noted := map[*schema.Wire]bool{}, map[*schema.Wire]bool{}
		for i, net := range nets {
			p := newProtection(c, set, net, cranks[i])
			p.spoken, p.pigtail, p.first = spoken, noted, i == 0
			p.judge()
		}
	}
	c.devicesInParallel()
}

func newProtection(c *Context, set tables.Set, net *trace.Net, crank *cranking) *protection {
	p := &protection{Context: c, Net: net, set: set, limits: map[*schema.Wire]allowed{}, flows: make([]*push, 2*len(net.Edges)), link: map[int]bool{}}
	p.crank = crank
	for id := range net.Edges {
		if p.isBankLink(id) {
			p.link[id] = true
		}
	}
	return p
}

// allowedOf computes what the conductor allows, by voltage and set.
func (p *protection) allowedOf(w *schema.Wire) allowed {
	if a, ok := p.limits[w]; ok {
		return a
	}
	amp, missing := p.Ampacity(w, p.set)
	a := allowed{Amp: amp.Amps, missing: missing, cite: amp.Cite.String()}
	switch {
	case missing != "":
		a.Hard, a.Soft = unit.Amp(math.Inf(1)), unit.Amp(math.Inf(1))
	case p.set == tables.ISO:
		a.Hard, a.Soft = amp.Amps, amp.Amps
	case w.Medium == schema.AC:
		next, _, ok := tables.NextStandardRating("nec", amp.Amps)
		a.Hard = amp.Amps
		if ok && next <= amp.Amps*1.5 {
			a.Hard = next
		}
		a.Soft = a.Hard
	default:
		a.Hard, a.Soft = amp.Amps*1.5, amp.Amps
	}
	a.row = amp.Row.Name()
	p.limits[w] = a
	return a
}

func (p *protection) pushInto(d trace.Direction) push {
	at := 2 * d.Edge
	if d.From == p.Net.Edges[d.Edge].B {
		at++
	}
	if p.flows[at] == nil {
		f := p.findPush(d)
		p.flows[at] = &f
	}
	return *p.flows[at]
}

func (p *protection) findPush(d trace.Direction) push {
	// Past what the conductor allows more current changes no judgement; a cut is
	// counted to the end only where it is named.
	enough := p.allowedOf(p.Net.Edges[d.Edge].Wire).Hard + 1
	if math.IsInf(float64(enough), 1) {
		enough = 1e-9
	}
	f := push{high: p.Net.Flow(d.Edge, d.From, trace.Options{UnknownAs: math.Inf(1), Enough: enough})}
	f.low = f.high
	if len(f.high.Unknown) > 0 {
		f.low = p.Net.Flow(d.Edge, d.From, trace.Options{Enough: enough})
		f.low.Unknown = f.high.Unknown
	}
	return f
}

// wholeFlow counts the flow to its end, with the cheapest cut named.
func (p *protection) wholeFlow(d trace.Direction) trace.Flow {
	return p.Net.Flow(d.Edge, d.From, trace.Options{})
}

// exposed reports whether what enters the conductor there is more than it
// allows, for certain.
func (p *protection) exposed(d trace.Direction) bool {
	f := p.pushInto(d).low
	return f.Unlimited || f.Amps > p.allowedOf(p.Net.Edges[d.Edge].Wire).Hard+slack
}

// slack absorbs rounding of binary fractions in comparisons of amperes.
const slack unit.Amp = 1e-6

func (p *protection) skip(d trace.Direction) bool { return p.link[d.Edge] || p.crank.exempt[d] }

// judge looks at every live conductor from both ends.
func (p *protection) judge() {
	n := p.Net
	walker := &trace.Walker{Net: n, Exposed: p.exposed, Skip: p.skip}
	for _, w := range p.Boat.Wires {
		id := n.WireEdge[w]
		if id < 0 || !n.Live(id) || n.Edges[id].A == n.Edges[id].B {
			continue
		}
		for _, rule := range protectionRules {
			if p.first {
				p.Looked(rule)
			}
		}
		for _, from := range [2]int{n.Edges[id].A, n.Edges[id].B} {
			d := trace.Direction{Edge: id, From: from}
			if p.skip(d) {
				continue
			}
			if p.exposed(d) {
				if start, ok := p.startOf(d); ok {
					if start.flow.Partial {
						start.flow = p.wholeFlow(d)
					}
					p.judgeRun(walker.From(d), start)
				}
				continue
			}
			p.judgeBand(d)
		}
	}
	p.demandAtChargers()
	p.flushTooLarge()
	if p.first {
		p.reportCranking()
	}
}

var protectionRules = []string{"unfused-run", "fuse-too-far", "fuse-exceeds-wire", "protection-sum"}

// start says where exposure begins.
type start struct {
	source  *trace.Source // nil at a bus, stud or device
	battery bool          // at a battery post
	tap     bool          // at the lug where it leaves an exempt cranking feed
	node    int
	flow    trace.Flow
}

// startOf reports whether exposure begins at the joint the conductor leaves:
// there is a source there, a device that lets too much through, or a conductor
// that is not exposed itself.
func (p *protection) startOf(d trace.Direction) (start, bool) {
	n := p.Net
	w := n.Edges[d.Edge].Wire
	s := start{node: d.From, flow: p.pushInto(d).low}
	super := n.Super(d.From)
	begins := false
	for _, node := range p.joints(d.From) {
		for _, i := range n.AtNode(node) {
			src := &n.Sources[i]
			if src.Medium != w.Medium {
				continue
			}
			if src.Unlimited {
				s.source, s.battery = src, src.Medium == schema.DC
				begins = true
			} else if src.Known && s.flow.Amps > 0 && !s.flow.Unlimited {
				if s.source == nil && src.Amps > p.allowedOf(w).Hard {
					s.source = src
				}
				begins = true
			}
		}
		for _, id := range n.Nodes[node].Edges {
			e := &n.Edges[id]
			switch {
			case e.Type == trace.Device && !n.Dead(id, node):
				begins = true
			case e.Type != trace.Conductor || id == d.Edge || !n.Live(id):
			case p.link[id]:
				// A short link carries the start on: the post at its far end is the
				// bank's too.
				if src := p.batteryAt(e.Other(node)); src != nil && s.source == nil {
					s.source, s.battery, begins = src, true, true
				}
			case p.crank.exempt[trace.Direction{Edge: id, From: e.Other(node)}]:
				if f := p.pushInto(trace.Direction{Edge: id, From: e.Other(node)}).low; f.Unlimited || f.Amps > 0 {
					begins, s.tap = true, true
				}
			case n.Super(e.Other(node)) != super:
				arriving := trace.Direction{Edge: id, From: e.Other(node)}
				f := p.pushInto(arriving).low
				if (f.Unlimited || f.Amps > 0) && !p.exposed(arriving) {
					begins = true
				}
			}
		}
	}
	// At a battery's own post exposure begins at the post, whatever else is on it.
	s.tap = s.tap && !s.battery
	return s, begins
}

// joints returns the joint and those that contacts and shunts unite with it.
func (p *protection) joints(node int) []int {
	n := p.Net
	list, seen := []int{node}, map[int]bool{node: true}
	for i := 0; i < len(list); i++ {
		for _, id := range n.Nodes[list[i]].Edges {
			e := &n.Edges[id]
			if e.Type != trace.Contact && e.Type != trace.Series {
				continue
			}
			if o := e.Other(list[i]); !seen[o] && n.Component(o) >= 0 {
				seen[o] = true
				list = append(list, o)
			}
		}
	}
	return list
}

func (p *protection) batteryAt(node int) *trace.Source {
	for _, i := range p.Net.AtNode(node) {
		if s := &p.Net.Sources[i]; s.Unlimited && s.Medium == schema.DC {
			return s
		}
	}
	return nil
}

// isBankLink reports whether the conductor joins two battery posts and is no
// longer than the set's plain distance.
func (p *protection) isBankLink(id int) bool {
	e := &p.Net.Edges[id]
	if e.Type != trace.Conductor || e.Medium != schema.DC {
		return false
	}
	a, b := e.Wire.From.Part, e.Wire.To.Part
	if a == b || !a.Is(schema.Storage) || !b.Is(schema.Storage) {
		return false
	}
	return e.Wire.Length.Given() && e.Wire.Length.From != schema.Derived && e.Wire.Length.V <= p.plain()+1e-9
}

func (p *protection) plain() unit.Metre {
	if p.set == tables.ISO {
		return isoPlain
	}
	return usPlain
}

// The distances along the conductor. usPlain and usSheathed: 33 CFR 183.455(b),
// 7 in and 40 in. usBattery: 33 CFR 183.460(a), 72 in (paragraph from memory).
// isoPlain: ISO 10133 8.1 (from memory); isoAC: ISO 13297:2020 13.2.2;
// isoCharging: ISO 13297:2020 12.3.
const (
	inch                   = 0.0254
	usPlain     unit.Metre = 7 * inch
	usSheathed  unit.Metre = 40 * inch
	usBattery   unit.Metre = 72 * inch
	isoPlain    unit.Metre = 0.2
	isoAC       unit.Metre = 0.5
	isoCharging unit.Metre = 1.8
)

// outcome is how one way of an exposed run ends.
type outcome struct {
	run     *trace.Run // the stretch to name
	rule    string     // "" holds
	end     trace.RunEnd
	length  trace.Range
	bare    bool // some of it out of a sheath
	reason  bool // an `impractical` reason is written
	missing string
	tooBig  *schema.Wire // stretch the device is too large for
	via     []*schema.Part
	beside  []*schema.Wire // conductors of the same cause that allow more
	pigtail bool
	// noReason: within 40 in of sheath, but why 7 in is impractical is not
	// written.
	noReason bool
}

// quiet reports a way with nothing to say.
func (o outcome) quiet() bool {
	return o.rule == "" && o.missing == "" && !o.pigtail && !o.noReason
}

// judgeRun judges one exposed run from where exposure begins.
func (p *protection) judgeRun(r *trace.Run, s start) {
	if p.beforeShoreMain(r) {
		return
	}
	for _, o := range p.outcomes(r, s, nil, true) {
		p.report(o, r, s)
	}
}

// beforeShoreMain leaves what lies ahead of the shore main, with no device
// between it and the inlet, to shore-main.
func (p *protection) beforeShoreMain(r *trace.Run) bool {
	if r.Wire.Medium != schema.AC {
		return false
	}
	piece := p.Net.Component(r.From)
	for i := range p.Net.Sources {
		s := &p.Net.Sources[i]
		if s.Unlimited && s.Part.Is(schema.ShorePower) && p.Net.Component(s.Node) == piece {
			return true
		}
	}
	return false
}

// outcomes judges every way on. Where all ways of a stretch fail in one manner,
// the stretch is named once; where some hold, only the failing branches are.
func (p *protection) outcomes(r *trace.Run, s start, via []*schema.Part, first bool) []outcome {
	via = append(slices.Clone(via), openContacts(r.Contacts)...)
	reason := r.Wire.Impractical.Given()
	thinnest := r.Wire
	var all []outcome
	holds := false
	for _, end := range r.Ends {
		o := outcome{run: r, end: end, length: r.Length, bare: !r.Sheathed, reason: reason, via: via}
		p.settle(&o, s, thinnest)
		if o.quiet() && end.Type != trace.AtDevice {
			continue
		}
		if o.rule == "" && o.missing == "" {
			holds = true
		}
		all = append(all, o)
	}
	for _, next := range r.Next {
		sub := p.outcomes(next, s, via, false)
		if len(sub) == 0 {
			holds = true
		}
		all = append(all, sub...)
	}
	all = slices.DeleteFunc(all, outcome.quiet)
	if first {
		all = p.manyDevices(all, s)
	}
	if holds || len(all) < 2 {
		if !holds && len(all) == 1 && len(r.Next) <= 1 {
			all[0].run = r // a lone way is named by its first stretch
		}
		return all
	}
	return p.merge(all, r)
}

// manyDevices: where limited currents enter at a bus and the run goes on to
// several devices, none of them is its own; what lets too much in is the cause.
func (p *protection) manyDevices(all []outcome, s start) []outcome {
	if s.battery || s.flow.Unlimited {
		return all
	}
	ends := map[int]bool{}
	for _, o := range all {
		ends[o.end.Edge] = true
	}
	if len(ends) < 2 {
		return all
	}
	for i := range all {
		if all[i].rule == "fuse-too-far" {
			all[i].rule = p.unguarded(&all[i], s)
		}
	}
	// What lets too much in is told where it is worst: at the conductor that
	// allows least. The others are named with it.
	worst := all[0]
	for _, o := range all[1:] {
		if p.allowedOf(o.run.Wire).Hard < p.allowedOf(worst.run.Wire).Hard {
			worst = o
		}
	}
	for _, o := range all {
		if o.run.Wire != worst.run.Wire {
			worst.beside = append(worst.beside, o.run.Wire)
		}
	}
	return []outcome{worst}
}

// merge names the common stretch once for each manner in which all ways fail.
func (p *protection) merge(all []outcome, r *trace.Run) []outcome {
	rule := all[0].rule
	for _, o := range all {
		if o.rule != rule || o.missing != "" {
			return all
		}
	}
	if rule == "fuse-exceeds-wire" || rule == "protection-sum" {
		return all
	}
	worst := all[0]
	for _, o := range all {
		if o.length.Low > worst.length.Low {
			worst = o
		}
	}
	worst.run = r
	return []outcome{worst}
}

func openContacts(list []*schema.Part) []*schema.Part {
	var out []*schema.Part
	for _, part := range list {
		for _, br := range part.Branches() {
			if c := br.Contact; c != nil && br.Medium == schema.DC && !slices.Contains(c.MakesIn, c.Position) {
				out = append(out, part)
				break
			}
		}
	}
	return out
}

// settle decides one way: what it ends in, how far that is, and whether the
// device there fits the conductor.
func (p *protection) settle(o *outcome, s start, w *schema.Wire) {
	fits := true
	if o.end.Type == trace.AtDevice {
		fits = p.fits(o, w, s)
	}
	limit, _ := p.limitFor(s, o.bare, w)
	switch {
	case o.end.Type == trace.AtDevice && fits && float64(o.length.High) <= float64(limit)+1e-9:
		o.noReason = p.set == tables.US && !o.bare && limit == usSheathed && float64(o.length.High) > float64(usPlain)+1e-9 && !o.reason
	case o.end.Type == trace.AtDevice && !fits && float64(o.length.High) <= float64(limit)+1e-9:
		o.rule = "fuse-exceeds-wire"
		o.tooBig = w
	case o.end.Type == trace.AtDevice && fits && float64(o.length.Low) <= float64(limit)+1e-9:
		o.missing = "length of wire " + o.run.Unsure.Ref()
	case o.end.Type == trace.AtDevice && fits:
		o.rule = "fuse-too-far"
	case p.isPigtail(o):
		o.pigtail = true
	default:
		o.rule = p.unguarded(o, s)
	}
}

// fits reports whether the device at the end can guard the stretch before it.
func (p *protection) fits(o *outcome, w *schema.Wire, s start) bool {
	d := p.Net.Edges[o.end.Edge].Branch.Device
	if !d.Rating.Given() {
		return true // its rating is asked for where it matters: downstream of it
	}
	return d.Rating.V <= p.allowedOf(w).Hard+slack
}

// isPigtail: conductors under 7 in that end inside equipment are exempt (33 CFR
// 183.455(e), from memory).
func (p *protection) isPigtail(o *outcome) bool {
	return p.set == tables.US && o.end.Type == trace.AtLoad && float64(o.length.High) < float64(usPlain) && o.run.Wire.Medium == schema.DC
}

// unguarded names the rule where no device of its own guards the way.
func (p *protection) unguarded(o *outcome, s start) string {
	if s.source != nil && s.battery || s.flow.Unlimited {
		return "unfused-run"
	}
	devices, sources := 0, 0
	w := o.run.Wire
	over := false
	for _, c := range s.flow.Cut {
		if c.Source != nil {
			sources++
		} else {
			devices++
		}
		over = over || c.Amps > p.allowedOf(w).Hard+slack
	}
	switch {
	case devices == 0 && sources > 0 && over:
		return "unfused-run"
	case over:
		return "fuse-exceeds-wire"
	}
	return "protection-sum"
}

// limitFor returns the greatest length without protection, and the one a sheath
// would allow.
func (p *protection) limitFor(s start, bare bool, w *schema.Wire) (limit, sheathed unit.Metre) {
	if p.set == tables.ISO {
		plain := isoPlain
		if w.Medium == schema.AC {
			plain = isoAC
		}
		if s.source != nil && s.source.Charging && !s.source.Unlimited {
			plain = isoCharging
		}
		sheathed = unit.Metre(math.Inf(1))
		if bare {
			return plain, sheathed
		}
		return sheathed, sheathed
	}
	sheathed = usSheathed
	if s.battery && !s.tap {
		sheathed = usBattery
	}
	if bare {
		return usPlain, sheathed
	}
	return sheathed, sheathed
}

// report turns the outcome of a way into a finding, a note or a "not checked".
func (p *protection) report(o outcome, first *trace.Run, s start) {
	switch {
	case o.missing != "":
		p.Missing("fuse-too-far", o.missing, o.run.Wire.At, o.run.Wire.Ref())
	case o.pigtail:
		p.exempt(o.run.Wire, fmt.Sprintf("wire %s is exempt from protection of its own: a pigtail of %s, under 7 in", o.run.Wire.Ref(), o.length.Low), "33 CFR 183.455(e) (from memory)")
	case o.noReason:
		p.Add(diag.Finding{Rule: "fuse-too-far", Severity: diag.Note, Span: o.run.Wire.At, At: []string{o.run.Wire.Ref(), o.end.Part.ID},
			Message: fmt.Sprintf("%s stands %s along wire %s from where it begins: allowed in a sheath up to %s, but why %s is impractical is not written", o.end.Part.ID, metres(o.length.Low), o.run.Wire.Ref(), metres(usSheathed), metres(usPlain)),
			Risk:    "the longer the stretch ahead of the device, the more of it can chafe",
			Do:      "move the device nearer, or write the reason: impractical: \"…\"",
			Source:  p.cite(s, o.run.Wire),
			Value:   diag.Figure(o.length.Low), Limit: diag.Figure(usPlain), Unit: "m"})
	case o.rule != "":
		if p.spoken[o.run.Wire] {
			return
		}
		p.spoken[o.run.Wire] = true
		p.finding(o, first, s)
	}
}

func (p *protection) finding(o outcome, first *trace.Run, s start) {
	w := o.run.Wire
	f := diag.Finding{Rule: o.rule, Severity: diag.Error, Span: w.At, At: []string{w.Ref()}, Source: p.cite(s, w)}
	p.nameAt(&f, o, first, s)
	with := positions(o.via)
	switch o.rule {
	case "fuse-too-far":
		p.tooFar(&f, o, s, with)
	case "unfused-run":
		f.Value, f.Unit = diag.Figure(o.length.Low), "m"
		f.Message = fmt.Sprintf("wire %s %s with no fuse or breaker%s%s", w.Ref(), p.leaves(s, w), p.until(o), with)
		f.Risk = p.risk(s, w)
		f.Do = fmt.Sprintf("fit a fuse or breaker of at most %s in it, within %s of %s along the wire", p.atMost(w), p.distance(s, w), p.startName(s, w))
		limit, _ := p.limitFor(s, true, w)
		f.Limit = diag.Figure(limit)
	default:
		p.tooLarge(&f, o, s, with)
	}
	if f.Message != "" {
		p.Add(f)
	}
}

// nameAt lists the ids concerned: the stretch, where exposure begins, the
// devices and what the way ends in.
func (p *protection) nameAt(f *diag.Finding, o outcome, first *trace.Run, s start) {
	add := func(id string) {
		if id != "" && !slices.Contains(f.At, id) {
			f.At = append(f.At, id)
		}
	}
	if s.source != nil {
		add(s.source.Part.ID)
	} else if name := p.startName(s, o.run.Wire); name != "" {
		add(strings.SplitN(name, ".", 2)[0])
	}
	if o.end.Part != nil {
		add(o.end.Part.ID)
	}
	for _, c := range s.flow.Cut {
		add(c.Part.ID)
	}
	if first.Wire != o.run.Wire {
		add(first.Wire.Ref())
	}
	for _, w := range o.beside {
		add(w.Ref())
	}
	for _, part := range o.via {
		add(part.ID)
	}
}

func positions(via []*schema.Part) string {
	var names []string
	for _, part := range via {
		if !slices.Contains(names, part.ID) {
			names = append(names, part.ID)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return " (with " + strings.Join(names, ", ") + " closed)"
}

// tooFar words a run whose device comes too late, with the bands of the US set:
// between the practice and the law a warning, a sheath without its reason a note.
func (p *protection) tooFar(f *diag.Finding, o outcome, s start, with string) {
	w := o.run.Wire
	limit, sheathed := p.limitFor(s, o.bare, w)
	length := o.length.Low
	f.Value, f.Unit = diag.Figure(length), "m"
	f.Limit = diag.Figure(limit)
	allows := fmt.Sprintf("%s is allowed", metres(limit))
	switch {
	case p.set == tables.ISO && !math.IsInf(float64(sheathed), 1):
	case p.set == tables.ISO:
		allows += ", more only where it is enclosed from source to device"
	case s.battery && !s.tap && o.bare && length <= usBattery+1e-9:
		f.Severity = diag.Warning
		f.Limit = diag.Figure(usPlain)
		allows = fmt.Sprintf("practice allows %s, or %s in a sheath; the law alone allows %s from a battery without a sheath", metres(usPlain), metres(usBattery), metres(usBattery))
	case s.battery && !s.tap:
		f.Limit = diag.Figure(usBattery)
		allows = fmt.Sprintf("%s is allowed, %s in a sheath", metres(usPlain), metres(usBattery))
		if !o.bare {
			allows = fmt.Sprintf("%s is allowed in a sheath", metres(usBattery))
		}
	case o.bare:
		allows = fmt.Sprintf("%s is allowed, %s where it is sheathed the whole way and there is a reason", metres(usPlain), metres(usSheathed))
	default:
		allows = fmt.Sprintf("%s is allowed in a sheath", metres(usSheathed))
	}
	device := "device"
	if o.end.Part != nil {
		device = o.end.Part.ID
	}
	f.Message = fmt.Sprintf("wire %s %s with no fuse for %s, up to %s; %s%s", w.Ref(), p.leaves(s, w), metres(length), device, allows, with)
	f.Risk = p.risk(s, w)
	f.Do = fmt.Sprintf("put %s within %s of %s along the wire", device, p.distance(s, w), p.startName(s, w))
}

// tooLarge is one device, or several, that let more through than a conductor
// allows.
type tooLarge struct {
	device  string // "" for a sum
	rated   rated  // the device's rating in the file
	ahead   bool   // the conductor lies ahead of the device
	hard    unit.Amp
	finding diag.Finding
}

// tooLarge words a device, or a sum of devices, that lets more through than the
// conductor allows.
func (p *protection) tooLarge(f *diag.Finding, o outcome, s start, with string) {
	w := o.run.Wire
	if o.tooBig != nil {
		w = o.tooBig
	}
	a := p.allowedOf(w)
	if a.missing != "" {
		return
	}
	var names []string
	sum := unit.Amp(0)
	large := tooLarge{hard: a.Hard, ahead: o.tooBig != nil && o.end.Part != nil}
	if large.ahead {
		large.device = deviceName(o.end)
		large.rated = rated{o.end.Part, o.end.Way, p.lowest(a, p.Net.Edges[o.end.Edge].Branch.Device.Family)}
		sum = p.Net.Edges[o.end.Edge].Branch.Device.Rating.V
	} else {
		for _, c := range s.flow.Cut {
			names = append(names, fmt.Sprintf("%s %s", c.Name(), c.Amps))
			sum += c.Amps
		}
		if len(s.flow.Cut) == 1 {
			cut := s.flow.Cut[0]
			large.device = cut.Name()
			large.rated = rated{cut.Part, cut.Way, p.lowest(a, p.series(cut))}
		}
	}
	f.Value, f.Limit, f.Unit = diag.Figure(sum), diag.Figure(a.Hard), "A"
	f.Source = p.ratingCite(w)
	size := w.Size.V.String()
	switch {
	case o.rule == "protection-sum":
		f.Message = fmt.Sprintf("wire %s (%s) can be fed through %s at once: %s in all; it allows %s%s", w.Ref(), size, strings.Join(names, " + "), sum, a.Hard, with)
		f.Do = "fit a device of its own where it begins, lower the ratings, or use a thicker wire"
		f.Risk = "each device alone fits the wire; together they let a fault or an overload cook it without opening"
		p.Add(*f)
		f.Message = ""
		return
	case large.device != "":
		f.Message = fmt.Sprintf("%s, %s, is too large for wire %s (%s, %s): at most %s%s", large.device, sum, w.Ref(), size, ampText(a.Amp), a.Hard, with)
	default:
		f.Message = fmt.Sprintf("%s let through %s, too much for wire %s (%s, %s): at most %s%s", strings.Join(names, " and "), sum, w.Ref(), size, ampText(a.Amp), a.Hard, with)
	}
	f.Do = fmt.Sprintf("fit at most %s, or a device of its own where the wire begins, or a wire that carries more", p.atMost(w))
	f.Risk = "the wire burns before the device opens"
	large.finding = *f
	p.large = append(p.large, large)
	f.Message = ""
}

// flushTooLarge reports the devices that are too large, one finding a cause: the
// short stretch ahead of a device joins the run behind it where both are too
// thin, and the stretches of one written run are one.
func (p *protection) flushTooLarge() {
	for i := range p.large {
		l := &p.large[i]
		if l.finding.Message == "" {
			continue
		}
		for k := range p.large {
			o := &p.large[k]
			if k == i || o.finding.Message == "" || o.device == "" || o.device != l.device {
				continue
			}
			sameRun := pathOf(p.Boat, o.finding.At[0]) == pathOf(p.Boat, l.finding.At[0])
			if o.hard < l.hard || !(o.ahead || sameRun && k > i) || l.ahead {
				continue
			}
			for _, id := range o.finding.At {
				if !slices.Contains(l.finding.At, id) {
					l.finding.At = append(l.finding.At, id)
				}
			}
			o.finding.Message = ""
		}
	}
	for _, l := range p.large {
		if l.finding.Message != "" {
			l.finding.Fix = l.rated.fix()
			p.Add(l.finding)
		}
	}
	p.large = nil
}

func deviceName(e trace.RunEnd) string {
	if e.Way != "" {
		return e.Part.ID + "." + e.Way
	}
	return e.Part.ID
}

// judgeBand warns of a single device between the ampacity and the hard limit
// that is not the next standard size, and says what could not be checked.
func (p *protection) judgeBand(d trace.Direction) {
	w := p.Net.Edges[d.Edge].Wire
	f := p.pushInto(d)
	a := p.allowedOf(w)
	reaches := f.high.Unlimited || f.high.Amps > 0
	switch {
	case !reaches || p.beforeShoreMain(&trace.Run{Direction: d, Wire: w}):
		return
	case a.missing != "":
		p.Missing("fuse-exceeds-wire", a.missing, w.At, w.Ref())
		return
	case f.high.Unlimited || f.high.Amps > a.Hard+slack:
		for _, m := range f.high.Unknown {
			p.Missing("fuse-exceeds-wire", m, w.At, w.Ref())
		}
		return
	case len(f.low.Cut) != 1 || f.low.Cut[0].Source != nil || f.low.Amps <= a.Soft+slack:
		return
	}
	cut := f.low.Cut[0]
	next, cite, ok := tables.NextStandardRating(p.series(cut), a.Soft)
	if ok && cut.Amps <= next+slack {
		return
	}
	if p.spoken[w] || p.spokenDevice(cut, w) || p.stub(d) {
		return
	}
	p.spoken[w] = true
	p.Add(diag.Finding{Rule: "fuse-exceeds-wire", Severity: diag.Warning, Span: w.At, At: []string{w.Ref(), cut.Part.ID},
		Message: fmt.Sprintf("%s, %s, is larger than wire %s carries (%s, %s) and not the next standard size, %s", cut.Name(), cut.Amps, w.Ref(), w.Size.V, ampText(a.Amp), next),
		Risk:    "a lasting overload can heat the wire past its insulation's rating",
		Do:      fmt.Sprintf("fit %s at %s, or a thicker wire", next, cut.Name()),
		Source:  p.ratingCite(w) + "; standard sizes: " + cite.String(),
		Value:   diag.Figure(cut.Amps), Limit: diag.Figure(a.Amp), Unit: "A",
		Fix: rated{cut.Part, cut.Way, next}.fix(),
	})
}

// spokenDevice: one device too large for the stretches of one run is one cause.
func (p *protection) spokenDevice(cut trace.Cut, w *schema.Wire) bool {
	for _, l := range p.large {
		if l.device == cut.Name() && pathOf(p.Boat, l.finding.At[0]) == pathOf(p.Boat, w.Ref()) {
			return true
		}
	}
	for _, g := range p.found {
		if g.Rule == "fuse-exceeds-wire" && slices.Contains(g.At, cut.Part.ID) && pathOf(p.Boat, g.At[0]) == pathOf(p.Boat, w.Ref()) {
			return true
		}
	}
	return false
}

func (p *protection) series(cut trace.Cut) string {
	if cut.Edge >= 0 {
		if d := p.Net.Edges[cut.Edge].Branch.Device; d.Family != "" {
			return d.Family
		}
	}
	return "nec"
}

func ampText(a unit.Amp) string { return fmt.Sprintf("%.1f A", float64(a)) }

func metres(m unit.Metre) string {
	if math.IsInf(float64(m), 1) {
		return "any length"
	}
	return fmt.Sprintf("%.2f m", float64(m))
}
