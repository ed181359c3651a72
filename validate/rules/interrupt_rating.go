package rules

import (
	"fmt"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

var interruptRating = Rule{
	Name: "interrupt-rating", Section: dcSolved,
	Asks:     "Can every device break the short-circuit current that can flow at its place?",
	Why:      "a device that cannot break the current bursts, burns, or welds and protects nothing",
	Severity: "error",
	Source:   "E-11 interrupting capacity; ISO 8820, UL 248 for families; prospective current as IEC 60050-441 defines it",
	Quiet:    "computed at the device itself: the cable between it and the battery lowers the current; a fuse ahead that can break the current provides the capacity for what stands behind it, and --verbose names it",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 280 Ah, fault-current: 6 kA, restrained: yes}
  S1: {kind: switch, title: Battery, rating: 200 A}
  HT1: {kind: heater, draw: 30 A}
wires:
  - {id: 1, path: [B1.+, {F1: strip 80 A}, S1, HT1.+], size: 4 AWG, lengths: [0.1 m, 0.1 m, 0.3 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 4 AWG, length: 0.4 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 280 Ah, max-discharge: 200 A, fault-current: 6 kA, restrained: yes}
  S1: {kind: switch, title: Battery, rating: 200 A}
  HT1: {kind: heater, draw: 30 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 80 A}, S1, HT1.+], size: 4 AWG, lengths: [0.1 m, 0.1 m, 0.3 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 4 AWG, length: 0.4 m}
`,
	Check: checkInterruptRating,
}

func checkInterruptRating(c *Context) {
	var failed []cannotBreak
	byPart := map[*schema.Part]int{}
	c.eachEdge(trace.Device, schema.DC, func(id int, e *trace.Edge) {
		if spareWay(e) || !c.Joined(e.A) && !c.Joined(e.B) {
			return
		}
		c.Looked("")
		p := c.FaultAt(id)
		if p.Trouble != "" {
			c.Missing("", "internal resistance of the batteries at "+edgeName(e), e.Part.At, e.Part.ID)
			return
		}
		if p.Known && p.Amps < 1 {
			return
		}
		can, source, ok := c.InterruptOf(e)
		if !ok || p.Most > can*(1+1e-9) {
			if ahead := c.fusesAhead(e); len(ahead) > 0 {
				c.Default(edgeName(e), "interrupt capacity", "provided by "+list(ahead)+" ahead", "E-11 interrupting capacity, note 2")
				return
			}
		}
		switch {
		case !ok:
			c.Missing("", "interrupt rating of "+edgeName(e), e.Part.At, e.Part.ID)
		case p.Amps > can*(1+1e-9):
			f := cannotBreak{edge: e, fault: p, can: can, source: source, names: []string{edgeName(e)}}
			if i, met := byPart[e.Part]; met {
				failed[i].join(f)
			} else {
				byPart[e.Part] = len(failed)
				failed = append(failed, f)
			}
		case !p.Known && p.Most > can:
			for _, g := range p.Missing {
				c.Missing("", g.What, e.Part.At, append([]string{e.Part.ID}, g.IDs...)...)
			}
		}
		if ok && source != "" {
			c.Default(edgeName(e), "interrupt rating", can.String(), source)
		}
	})
	for _, f := range failed {
		c.Add(c.interruptFinding(f))
	}
}

// cannotBreak is a device, or the ways of one panel, that cannot break what
// flows there; the worst of the ways stands for all.
type cannotBreak struct {
	edge   *trace.Edge
	fault  survey.Prospective
	can    unit.Amp
	source string
	names  []string
}

// join adds another way of the same panel.
func (f *cannotBreak) join(o cannotBreak) {
	names := append(f.names, o.names...)
	if o.fault.Amps*f.can > f.fault.Amps*o.can*(1+1e-9) {
		*f = o
	}
	f.names = names
}

func spareWay(e *trace.Edge) bool {
	if e.Branch.Way == "" {
		return false
	}
	w, ok := e.Part.Way(e.Branch.Way)
	return ok && w.Spare
}

func (c *Context) interruptFinding(f cannotBreak) diag.Finding {
	e, p := f.edge, f.fault
	text := fmt.Sprintf("%s can break %s; a short at it draws %s", list(f.names), amps1(f.can), amps1(p.Amps))
	if len(f.names) > 1 {
		text = fmt.Sprintf("%s can break %s each; a short at one draws up to %s", list(f.names), amps1(f.can), amps1(p.Amps))
	}
	if f.source != "" {
		text += fmt.Sprintf(" (%s is %s)", amps1(f.can), f.source)
	}
	text += sharesText(p)
	at := c.at(e.Part, e.A)
	for _, n := range f.names {
		if n != e.Part.ID {
			at = append(at, n)
		}
	}
	return figure(diag.Finding{Severity: diag.Error, Span: e.Part.At, At: at, Message: text,
		Risk:   "on a dead short it bursts, burns or welds closed, and the wire behind it is fed until it burns",
		Do:     c.breaksIt(e, p.Amps),
		Source: "prospective short-circuit current: copper at 20 °C, batteries full and at the low end of their internal resistance, other sources at their limits; E-11 interrupting capacity (a fuse ahead may provide it, note 2)"},
		p.Amps, f.can, "A")
}

// breaksIt says what would break the current: the families that usually do, or,
// where none is known to, what may be stated instead.
func (c *Context) breaksIt(e *trace.Edge, fault unit.Amp) string {
	do := fmt.Sprintf("fit a device that breaks %s or more at this voltage", amps1(fault))
	volts, known := c.FaultVolts(e)
	var families []string
	for _, f := range tables.FuseFamilies() {
		if can, ok := f.Interrupt(volts); known && ok && can >= fault {
			families = append(families, f.Word)
		}
	}
	if len(families) > 0 {
		return do + ", such as " + strings.Join(families, " or ") + ", here or ahead of it"
	}
	return do + " by its data sheet, here or ahead of it, and state its `interrupt`; or state the battery's own `fault-current` where its data sheet gives less"
}

// sharesText says who gives the current of a short, where several sources that
// count do. What flows on the other side of the device, away from what it must
// break, is small beside it or left out.
func sharesText(p survey.Prospective) string {
	const counts = 0.03
	var list []string
	sum := unit.Amp(0)
	for _, s := range p.Shares {
		if s.Amps >= counts*p.Amps {
			list = append(list, fmt.Sprintf("%s from %s", amps1(s.Amps), s.Part.ID))
			sum += s.Amps
		}
	}
	if len(list) < 2 || sum > p.Amps*(1+2*counts) {
		return ""
	}
	return ": " + strings.Join(list, ", ")
}

// atDevice names a device, with the way of a panel.
func (c *Context) atDevice(e *trace.Edge) []string {
	ids := c.at(e.Part, e.A)
	if n := edgeName(e); n != e.Part.ID {
		ids = append(ids, n)
	}
	return ids
}

// fusesAhead lists the fuses that part a device from every battery and can break
// what flows at themselves; none where some battery reaches it otherwise.
func (c *Context) fusesAhead(device *trace.Edge) []string {
	if c.ahead == nil {
		c.ahead = c.findAhead()
	}
	return c.ahead.fuses[c.ahead.of(device)]
}

// aheadOf is the DC net cut at every fuse that can break what flows at it.
type aheadOf struct {
	pieces *survey.Groups
	live   map[int]bool     // pieces with a battery's post
	fuses  map[int][]string // the fuses with a battery behind them, by the piece they end in
}

// of returns the piece a device lies in.
func (a *aheadOf) of(e *trace.Edge) int { return a.pieces.Of(e.A) }

func (c *Context) findAhead() *aheadOf {
	able := map[*trace.Edge]bool{}
	c.eachEdge(trace.Device, schema.DC, func(id int, e *trace.Edge) {
		if e.Branch.Device.Breaker || spareWay(e) {
			return
		}
		if can, _, ok := c.InterruptOf(e); ok && can >= c.FaultAt(id).Most && c.pushes(id) {
			able[e] = true
		}
	})
	a := &aheadOf{live: map[int]bool{}, fuses: map[int][]string{}}
	a.pieces = c.Groups(func(e *trace.Edge) bool {
		return e.Medium == schema.DC && (e.Passes() || e.Type == trace.Device) && !able[e]
	})
	c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) { a.live[a.pieces.Of(e.A)] = true })
	c.eachEdge(trace.Device, schema.DC, func(_ int, e *trace.Edge) {
		if !able[e] {
			return
		}
		for _, v := range [2]int{e.A, e.B} {
			if g := a.pieces.Of(v); !a.live[g] {
				a.fuses[g] = append(a.fuses[g], edgeName(e))
			}
		}
	})
	return a
}

// pushes reports whether a battery stands behind a device at all.
func (c *Context) pushes(id int) bool {
	return c.FaultAt(id).Amps > 0 && len(c.FaultAt(id).Shares) > 0 && !spareWay(&c.Net.Edges[id]) && c.feedsOthers(id)
}

// feedsOthers leaves out devices with nothing but loads behind them.
func (c *Context) feedsOthers(id int) bool {
	e := &c.Net.Edges[id]
	return !c.onlyPush(id, e.A) || !c.onlyPush(id, e.B)
}
