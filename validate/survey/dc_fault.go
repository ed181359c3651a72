package survey

import (
	"errors"
	"math"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/dc"
	"fitout/validate/trace"
)

// Prospective is the short-circuit current at a device: the larger of the
// currents from either side for a dead short at it, to the return that gives
// most, the device as a link; all contacts as they give most, copper cold,
// batteries full and at the low end of their internal resistance, other sources
// at their limits.
type Prospective struct {
	Amps unit.Amp
	// Shares is what each source gives, in order of the net.
	Shares []FaultShare
	// LimitedBy names the sources where only limited ones feed the short.
	LimitedBy []*schema.Part
	Return    string
	// Known is false where a datum is missing that the figure depends on; Amps is
	// then the least it can be, Most the most, infinite where nothing bounds it.
	Known   bool
	Most    unit.Amp
	Missing []Gap
	// Trouble is set where there is no figure: a battery shorted without
	// resistance.
	Trouble string
}

// FaultShare is what one source gives in a short.
type FaultShare struct {
	Part *schema.Part
	Amps unit.Amp
}

// faultStudy is the short-circuit network of a boat: with the unknown
// resistances as links (most) and left out (least).
type faultStudy struct {
	breaking []*shortNet // settings × {most, least}
	clearing *shortNet
	without  map[string]*shortNet // clearing, with devices open: by their ids
	returns  []int
	posts    []int
	device   map[int]Prospective
	live     *Live // joined or fed through any source, contacts closed
}

// shortNet is one short-circuit network with its answers.
type shortNet struct {
	d *DCState
	f *dc.Faults
	// least is the same network with unknown conductors left out; nil where
	// there are none.
	least *shortNet
	err   error
}

func (s *Survey) shortNet(end ohmEnd, set Setting) *shortNet {
	make := func(open bool) *shortNet {
		d := s.buildDC(nil, dcOptions{asShort: true, cold: true, end: end, open: open, setting: set})
		n := &shortNet{d: d}
		n.f, n.err = dc.NewFaults(d.net)
		return n
	}
	n := make(false)
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		if e.Type != trace.Conductor || e.Medium != schema.DC {
			continue
		}
		if _, missing := s.WireOhms(e.Wire, true); missing != "" {
			n.least = make(true)
			break
		}
	}
	return n
}

func (s *Survey) faultStudy() *faultStudy {
	if s.faults != nil {
		return s.faults
	}
	f := &faultStudy{device: map[int]Prospective{}}
	s.faults = f
	f.breaking = []*shortNet{s.shortNet(lowOhms, nil)}
	f.returns, f.posts = s.returnJoints()
	f.live = s.Live(s.AnyPosition(), true)
	if s.exclusive() {
		f.breaking = append(f.breaking, s.shortNet(lowOhms, Setting{}))
	}
	return f
}

// exclusive reports whether some DC contact stands open as it usually does: then
// "all closed" and "as it stands" differ, and both are asked.
func (s *Survey) exclusive() bool {
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Type == trace.Contact && e.Medium == schema.DC && !(Setting{}).Closed(e) {
			return true
		}
	}
	return false
}

// returnJoints lists the joints a short may go to: the negatives at the foot of
// strings, grounds, negative buses; and the positive posts for a device in a
// return.
func (s *Survey) returnJoints() (returns, posts []int) {
	n := s.Net
	all := s.AnyPosition()
	above := map[int]bool{}
	for i := range n.Edges {
		if e := &n.Edges[i]; e.Type == trace.Battery {
			above[all.Of(e.A)] = true
		}
	}
	seen := map[int]bool{}
	add := func(v int) {
		if v >= 0 && !seen[v] && !above[all.Of(v)] {
			seen[v] = true
			returns = append(returns, v)
		}
	}
	for _, v := range s.references() {
		add(v)
	}
	for i := range n.Edges {
		e := &n.Edges[i]
		switch {
		case e.Medium != schema.DC:
		case e.Type == trace.Battery:
			add(e.B)
			if len(posts) < mostReturns {
				posts = append(posts, e.A)
			}
		case e.Type == trace.Feed && !n.Nodes[e.A].Grounded:
			if b := s.Back(e); !n.Nodes[b].Grounded {
				add(b)
			}
		case e.Type == trace.ConvertIn:
			if b := n.Node(e.Part, e.Branch.Convert.OutB); b >= 0 && !n.Nodes[b].Grounded {
				add(b)
			}
		}
	}
	for _, p := range s.Boat.Parts {
		if p.Prepared || !p.Is(schema.Distribution) || p.Is(schema.Panel) || p.Is(schema.ACPart) || len(returns) >= mostReturns {
			continue
		}
		if v := n.Node(p, p.Terminals()[0].Name); v >= 0 && n.Nodes[v].Grounded {
			add(v)
		}
	}
	if len(returns) > mostReturns {
		returns = returns[:mostReturns]
	}
	return returns, posts
}

// mostReturns bounds how many returns are tried for each device: a boat has a
// handful, a generated one may have thousands.
const mostReturns = 24

// FaultAt returns the prospective short-circuit current at a device or contact,
// by the edge of the net.
func (s *Survey) FaultAt(edge int) Prospective {
	f := s.faultStudy()
	if p, ok := f.device[edge]; ok {
		return p
	}
	p := s.prospective(edge)
	f.device[edge] = p
	return p
}

func (s *Survey) prospective(edge int) Prospective {
	best := Prospective{Known: true}
	f := s.faultStudy()
	e := &s.Net.Edges[edge]
	returns := f.returns
	if s.Net.Nodes[e.A].Grounded || s.Net.Nodes[e.B].Grounded {
		returns = append(append([]int(nil), returns...), f.posts...)
	}
	for _, n := range f.breaking {
		most := n.worst(edge, returns)
		if most.Trouble != "" {
			return most
		}
		if n.least != nil {
			least := n.least.worst(edge, returns)
			if math.Abs(float64(most.Amps-least.Amps)) > 1e-6*math.Abs(float64(most.Amps)) {
				least.Known, least.Most, least.Missing = false, most.Amps, most.Missing
				least.Missing = append(least.Missing, n.d.gapsOfUnknown()...)
				most = least
			}
		}
		if len(n.d.Missing) > 0 && s.reachesUnknown(n.d, edge) {
			most.Known = false
			most.Most = unit.Amp(math.Inf(1))
			most.Missing = append(most.Missing, n.d.Missing...)
		}
		if most.Amps > best.Amps || !most.Known {
			known, missing, upper := best.Known && most.Known, append(best.Missing, most.Missing...), max(best.Most, most.Most)
			if most.Amps >= best.Amps {
				best = most
			}
			best.Known, best.Missing, best.Most = known, missing, upper
		}
	}
	if best.Known {
		best.Most = best.Amps
	}
	return best
}

// gapsOfUnknown lists the conductors without a resistance.
func (d *DCState) gapsOfUnknown() []Gap {
	var out []Gap
	for i := range d.s.Net.Edges {
		e := &d.s.Net.Edges[i]
		if e.Type != trace.Conductor || e.Medium != schema.DC {
			continue
		}
		if _, missing := d.s.WireOhms(e.Wire, true); missing != "" {
			out = append(out, Gap{What: missing, At: e.Wire.At, IDs: []string{e.Wire.Ref()}})
		}
	}
	return out
}

// reachesUnknown reports whether a source that the study leaves out for want of a
// datum can push into an edge.
func (s *Survey) reachesUnknown(d *DCState, edge int) bool {
	live := s.faultStudy().live
	at := live.across[s.Net.Edges[edge].A]
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		if e.Medium != schema.DC || d.elem[i] != none {
			continue
		}
		switch e.Type {
		case trace.Battery, trace.Feed:
			if live.across[e.A] == at {
				return true
			}
		case trace.ConvertIn:
			if out := s.Net.Node(e.Part, e.Branch.Convert.OutA); out >= 0 && live.across[out] == at {
				return true
			}
		}
	}
	return false
}

// worst asks for a short at an edge to each return and keeps the largest.
func (n *shortNet) worst(edge int, returns []int) Prospective {
	best := Prospective{Known: true}
	if n.err != nil {
		best.Trouble = n.words(n.err)
		best.Known = false
		return best
	}
	id := n.d.elem[edge]
	if id == none {
		return best
	}
	most := -1
	for _, ret := range returns {
		short, err := n.f.DeviceTotal(id, dc.Node(ret))
		if err != nil {
			var fail *dc.Failure
			if errors.As(err, &fail) && fail.Cause == dc.Conflict {
				best.Trouble, best.Known = n.words(err), false
				return best
			}
			continue
		}
		amps := short.Duty()
		if len(short.LimitedBy) > 0 {
			amps = unit.Amp(math.Abs(float64(short.Total)))
			if d := short.Duty(); d > 0 {
				amps = d
			}
		}
		if amps <= best.Amps*(1+1e-12) {
			continue
		}
		best.Amps, most = amps, ret
	}
	if most < 0 {
		return best
	}
	best.Return = n.d.s.NodeName(most)
	short, err := n.f.Device(id, dc.Node(most))
	if err != nil {
		return best // it has just been answered
	}
	for _, sh := range short.Shares {
		best.Shares = append(best.Shares, FaultShare{n.d.partOf(sh.Element), sh.Amps})
	}
	for _, l := range short.LimitedBy {
		best.LimitedBy = append(best.LimitedBy, n.d.partOf(l))
	}
	return best
}

func (n *shortNet) words(err error) string { return n.d.trouble(err).String() }

func (d *DCState) partOf(id dc.ID) *schema.Part {
	if edge := d.edgeOf[id]; edge >= 0 {
		return d.s.Net.Edges[edge].Part
	}
	return nil
}

// FarShort is a dead short at the far end of a run, to its own return: copper
// cold, batteries at the high end of their internal resistance, the contacts as
// they stand when every load runs: the current that must open the device.
type FarShort struct {
	line      *dc.Line
	net       *shortNet
	a, b, ret dc.Node
}

func (s *Survey) clearingNet() *shortNet {
	f := s.faultStudy()
	if f.clearing == nil {
		f.clearing = s.shortNet(highOhms, s.WorkingSetting())
		if f.clearing.d.net == nil {
			f.clearing.err = errors.New("no network")
		}
	}
	return f.clearing
}

// ShortBetween returns the short from a joint to another; ok is false where the
// network has no answer.
func (s *Survey) ShortBetween(a, b int) (FarShort, bool) {
	n := s.clearingNet()
	if n.err != nil || a < 0 || b < 0 {
		return FarShort{}, false
	}
	ret := s.studyReturn(b)
	line, err := n.f.Between(dc.Node(a), dc.Node(b), ret)
	if err != nil {
		return FarShort{}, false
	}
	return FarShort{line, n, dc.Node(a), dc.Node(b), ret}, true
}

// ShortWithout is ShortBetween after some devices have opened: what they fed holds
// the voltage down no more, and the whole current comes the ways that are left.
func (s *Survey) ShortWithout(a, b int, open []*schema.Part) (FarShort, bool) {
	if a < 0 || b < 0 || s.clearingNet().err != nil {
		return FarShort{}, false
	}
	set := Setting{}
	for p, at := range s.WorkingSetting() {
		set[p] = at
	}
	key := ""
	for _, p := range open {
		set[p] = "open"
		key += p.ID + " "
	}
	f := s.faultStudy()
	if f.without == nil {
		f.without = map[string]*shortNet{}
	}
	n := f.without[key]
	if n == nil {
		n = s.shortNet(highOhms, set)
		f.without[key] = n
	}
	if n.d.net == nil || n.err != nil {
		return FarShort{}, false
	}
	ret := s.studyReturn(b)
	line, err := n.f.Between(dc.Node(a), dc.Node(b), ret)
	if err != nil {
		return FarShort{}, false
	}
	return FarShort{line, n, dc.Node(a), dc.Node(b), ret}, true
}

// ShortAtLeast is a current that short cannot be below; it is quick.
func (s *Survey) ShortAtLeast(a, b int) unit.Amp {
	n := s.clearingNet()
	if n.err != nil || a < 0 || b < 0 {
		return 0
	}
	return n.f.AtLeast(dc.Node(a), dc.Node(b), s.studyReturn(b))
}

// studyReturn is the joint that the potentials of an island count from in
// short-circuit studies, one an island, so that the network is factorised once.
func (s *Survey) studyReturn(b int) dc.Node {
	all := s.AnyPosition()
	for _, r := range s.faultStudy().returns {
		if all.Same(r, b) {
			return dc.Node(r)
		}
	}
	return dc.Node(b)
}

// Total is the current of the short.
func (f FarShort) Total() unit.Amp { return f.line.Total }

// Through is the current of an edge in the short, from A to B.
func (f FarShort) Through(edge int) (unit.Amp, bool) {
	return f.line.Amps(f.net.d.elem[edge])
}

// Limited reports whether limited sources alone feed the short.
func (f FarShort) Limited() bool { return len(f.line.LimitedBy) > 0 }

// Unsure reports whether a conductor of unknown resistance decides how much
// flows through an edge, and names it.
func (f FarShort) Unsure(edge int) (missing string, unsure bool) {
	if f.net.least == nil {
		return "", false
	}
	full, _ := f.Through(edge)
	least := unit.Amp(0)
	if f.net.least.err == nil {
		if line, err := f.net.least.f.Between(f.a, f.b, f.ret); err == nil {
			least, _ = line.Amps(f.net.least.d.elem[edge])
		}
	}
	if math.Abs(float64(full-least)) <= 1e-6*math.Abs(float64(full)) {
		return "", false
	}
	if gaps := f.net.d.gapsOfUnknown(); len(gaps) > 0 {
		return gaps[0].What, true
	}
	return "", false
}

// MainReturn is the joint a short at a joint goes to where no load tells: the
// first return of its island.
func (s *Survey) MainReturn(node int) int {
	live := s.faultStudy().live
	for _, r := range s.faultStudy().returns {
		if live.across[r] == live.across[node] {
			return r
		}
	}
	return -1
}
