package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var unswitchedNeeded = Rule{
	Name: "unswitched-needed", Section: "DC, static",
	Asks:     "Do automatic bilge pumps and alarms live with the battery switch off?",
	Why:      "a boat left with the switch off sinks with a pump that nobody powered",
	Severity: "warning; error for the only automatic pump of a space with an opening below the waterline",
	Source:   "E-11 11.6.1.2.1 note (bilge pumps and alarms may be fed ahead of the switch); trade practice",
	Quiet:    "a switch of the pump's own (off, automatic, by hand) is none; panel breakers are none; an alarm with a battery of its own, and flow and temperature alarms, may go off with the rest",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  F1: {kind: fuse, title: Bilge pump, family: blade, rating: 10 A, space: cabin}
  F2: {kind: fuse, title: Main, family: class-t, rating: 30 A, space: cabin}
  F3: {kind: fuse, title: Light, family: blade, rating: 10 A, space: cabin}
  S1: {kind: switch, title: Battery switch, rating: 100 A, space: cabin}
  BP: {kind: bus, title: Positive, covered: yes}
  BN: {kind: bus, title: Negative}
  P1: {kind: pump, duty: bilge, automatic: yes, light: yes, draw: 4 A, submersible: yes}
  LT1: {kind: light, draw: 1 A}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F2, S1, BP], size: 10 mm2, lengths: [0.15 m, 0.5 m, 0.5 m]}
  - {id: 2, path: [BP, F1, P1.+], size: 2.5 mm2, lengths: [0.1 m, 2 m]}
  - {id: 3, path: [BP, F3, LT1.+], size: 2.5 mm2, lengths: [0.1 m, 2 m]}
  - {id: 4, from: P1.-, to: BN, size: 2.5 mm2, length: 2 m}
  - {id: 5, from: LT1.-, to: BN, size: 2.5 mm2, length: 2 m}
  - {id: 6, from: B1.-, to: BN, size: 10 mm2, length: 0.5 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  F1: {kind: fuse, title: Bilge pump, family: blade, rating: 10 A, space: cabin}
  F2: {kind: fuse, title: Main, family: class-t, rating: 30 A, space: cabin}
  F3: {kind: fuse, title: Light, family: blade, rating: 10 A, space: cabin}
  S1: {kind: switch, title: Battery switch, rating: 100 A, space: cabin}
  BP: {kind: bus, title: Positive, covered: yes}
  BN: {kind: bus, title: Negative}
  P1: {kind: pump, duty: bilge, automatic: yes, light: yes, draw: 4 A, submersible: yes}
  LT1: {kind: light, draw: 1 A}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F2, S1, BP], size: 10 mm2, lengths: [0.15 m, 0.5 m, 0.5 m]}
  - {id: 2, path: [B1.+, F1, P1.+], size: 2.5 mm2, lengths: [0.1 m, 2 m]}
  - {id: 3, path: [BP, F3, LT1.+], size: 2.5 mm2, lengths: [0.1 m, 2 m]}
  - {id: 4, from: P1.-, to: BN, size: 2.5 mm2, length: 2 m}
  - {id: 5, from: LT1.-, to: BN, size: 2.5 mm2, length: 2 m}
  - {id: 6, from: B1.-, to: BN, size: 10 mm2, length: 0.5 m}
`,
	Check: checkUnswitchedNeeded,
}

// standby is how the automatic pumps and alarms of a boat hang on its batteries.
type standby struct {
	*Context
	off   *survey.Live // every switch of a person open, and the floats of pumps
	any   *survey.Live
	in    map[int][]*trace.Edge // loads by group of off
	cross map[int][]*trace.Edge // contacts of a person by group of off
	posts map[int]bool          // groups of off with a battery post
}

func newStandby(c *Context) *standby {
	s := &standby{Context: c, in: map[int][]*trace.Edge{}, cross: map[int][]*trace.Edge{}, posts: map[int]bool{}}
	opens := func(e *trace.Edge) bool { return survey.Disconnects(e) && !survey.Breaker(e) }
	floats := c.pumpFloats()
	s.off = c.Live(c.Groups(func(e *trace.Edge) bool {
		return (e.Passes() || e.Type == trace.Device) && !opens(e) && !survey.Bond(e) && !floats[e.Part]
	}), false)
	s.any = c.Live(c.AnyPosition(), false)
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		switch {
		case e.Type == trace.Battery:
			s.posts[s.off.Of(e.A)], s.posts[s.off.Of(e.B)] = true, true
		case draws(e):
			s.in[s.off.Of(e.A)] = append(s.in[s.off.Of(e.A)], e)
			if s.off.Of(e.B) != s.off.Of(e.A) {
				s.in[s.off.Of(e.B)] = append(s.in[s.off.Of(e.B)], e)
			}
		case opens(e):
			s.cross[s.off.Of(e.A)] = append(s.cross[s.off.Of(e.A)], e)
			s.cross[s.off.Of(e.B)] = append(s.cross[s.off.Of(e.B)], e)
		}
	}
	return s
}

// diesWith returns the contact that takes a load's battery away, or nil. The
// load's own switches are walked through: behind them nothing else hangs.
func (s *standby) diesWith(load *trace.Edge) *trace.Edge {
	if !s.any.Feeds(load.A, load.B) {
		return nil
	}
	as, bs := s.pole(load, load.A), s.pole(load, load.B)
	for _, a := range as {
		for _, b := range bs {
			if s.off.Feeds(a, b) {
				return nil
			}
		}
	}
	for _, side := range append(as, bs...) {
		if e := s.sideDies(load, s.off.Of(side)); e != nil {
			return e
		}
	}
	return nil
}

// pole lists the joints that feed one pole of a load: beyond its own float, which
// closes when it is to run, and its terminal. Another pump's float does not count:
// what it may feed back through that pump's second way is no supply.
func (s *standby) pole(load *trace.Edge, node int) (list []int) {
	if f := s.floatOf(load); load.Part.Is(schema.Bilge) && f != nil {
		switch {
		case s.off.Same(f.A, node):
			list = append(list, f.B)
		case s.off.Same(f.B, node):
			list = append(list, f.A)
		}
	}
	return append(list, node)
}

// sideDies walks from one pole outward. A switch met there takes the battery
// away, unless it is the pump's own choice of automatic or by hand: a selector
// whose branches serve this load alone.
func (s *standby) sideDies(load *trace.Edge, group int) *trace.Edge {
	seen := map[int]bool{group: true}
	queue := []int{group}
	var dies *trace.Edge
	for i := 0; i < len(queue); i++ {
		g := queue[i]
		if s.posts[g] {
			return nil
		}
		shared := false
		for _, other := range s.in[g] {
			shared = shared || other.Part != load.Part && !isRunLight(other)
		}
		for _, e := range s.cross[g] {
			next := s.off.Of(e.A)
			if next == g {
				next = s.off.Of(e.B)
			}
			own := !shared && e.Branch.Contact.Exclusive && s.off.Of(e.A) == g
			switch {
			case seen[next]:
			case own:
				seen[next] = true
				queue = append(queue, next)
			case dies == nil && s.any.Feeds(load.A, load.B):
				dies = e
			}
		}
	}
	return dies
}

// isRunLight reports a light small enough to be the lamp that shows a pump runs.
func isRunLight(e *trace.Edge) bool {
	return e.Type == trace.Load && !e.Branch.Load.Motor && e.Part.Roles()&^(schema.Load) == 0 && loadAmps(e) <= 0.2
}

// isFloated reports whether a pump starts by itself: a float of its own, or a
// sensing contact between its terminal and its device.
func (c *Context) isFloated(e *trace.Edge) bool {
	return e.Part.Flag("automatic").V || c.floatOf(e) != nil
}

// floatOf returns the sensing contact in a pump's feed, or nil.
func (c *Context) floatOf(load *trace.Edge) *trace.Edge {
	for _, side := range []int{load.A, load.B} {
		if e := c.sensingNear(side); e != nil {
			return e
		}
	}
	return nil
}

// sensingNear walks from a terminal over conductors and contacts to the first
// sensing contact; devices, and joints where other loads meet, end the walk.
func (c *Context) sensingNear(node int) *trace.Edge {
	seen := map[int]bool{node: true}
	queue := []int{node}
	for i := 0; i < len(queue) && i < 200; i++ {
		v := queue[i]
		if c.Net.Nodes[v].Grounded && i > 0 {
			continue
		}
		for _, id := range c.Net.Nodes[v].Edges {
			e := &c.Net.Edges[id]
			if e.Type == trace.Contact && e.Part.Is(schema.Sensing) {
				return e
			}
			if !e.Passes() || e.Type == trace.Contact && !survey.ByPerson(e) {
				continue
			}
			if w := e.Other(v); !seen[w] && !c.Net.Nodes[w].Grounded {
				seen[w] = true
				queue = append(queue, w)
			}
		}
	}
	return nil
}

func checkUnswitchedNeeded(c *Context) {
	c.dutyUnknown("unswitched-needed")
	var needed []*trace.Edge
	c.eachEdge(trace.Load, schema.DC, func(_ int, e *trace.Edge) {
		if e.Part.Is(schema.Bilge) && c.isFloated(e) || mustWarn(e.Part) {
			needed = append(needed, e)
		}
	})
	if len(needed) == 0 {
		return
	}
	s := newStandby(c)
	dies := map[*schema.Part]*trace.Edge{}
	for _, e := range needed {
		c.Looked("unswitched-needed")
		dies[e.Part] = s.diesWith(e)
	}
	for _, e := range needed {
		sw := dies[e.Part]
		if sw == nil {
			continue
		}
		f := diag.Finding{Rule: "unswitched-needed", Severity: diag.Warning, Span: e.Part.At, At: append(c.at(e.Part, e.A), sw.Part.ID),
			Message: fmt.Sprintf("%s goes dead when %s is opened", e.Part.ID, sw.Part.ID),
			Risk:    "a boat left with the switch off is not pumped out and does not call for help",
			Do:      fmt.Sprintf("feed %s from ahead of %s through a fuse of its own at the battery", e.Part.ID, sw.Part.ID),
			Source:  "E-11 11.6.1.2.1 note; common practice, no source"}
		if e.Part.Is(schema.Bilge) && !otherPump(needed, dies, e.Part) {
			low, missing := c.wetBelow(e.Part.Space)
			if low != nil {
				f.Severity = diag.Error
				f.At = append(f.At, low.ID)
				f.Message += fmt.Sprintf("; it is the only automatic pump of a space where %s lies below the waterline", low.ID)
			} else if missing != nil {
				c.Missing("unswitched-needed", "height of "+missing.ID, missing.At, missing.ID)
			}
		}
		c.Add(f)
	}
}

// mustWarn reports an alarm that a boat left alone needs: water, gas, smoke.
func mustWarn(p *schema.Part) bool {
	if !p.Is(schema.AlarmRole) || p.Flag("battery").V {
		return false
	}
	words := p.WordList("senses")
	for _, w := range words {
		if w.V != "flow" && w.V != "temperature" {
			return true
		}
	}
	return len(words) == 0
}

// otherPump reports whether another automatic pump of the same space stays alive.
func otherPump(needed []*trace.Edge, dies map[*schema.Part]*trace.Edge, p *schema.Part) bool {
	for _, e := range needed {
		if e.Part != p && e.Part.Is(schema.Bilge) && e.Part.Space == p.Space && dies[e.Part] == nil {
			return true
		}
	}
	return false
}

// dutyUnknown says that a rule of bilge pumps cannot tell whether a pump is one:
// it stands in the water, or has a float, and does not state its duty.
func (c *Context) dutyUnknown(rule string) {
	c.eachEdge(trace.Load, schema.DC, func(_ int, e *trace.Edge) {
		p := e.Part
		if p.Is(schema.Mover) && !p.Has("duty") && (p.Flag("submersible").V || c.isFloated(e)) {
			c.Missing(rule, "duty of "+p.ID, p.At, p.ID)
		}
	})
}

// wetBelow returns an opening through the hull below the laden waterline whose
// water runs to the space, or one whose height is not stated.
func (c *Context) wetBelow(sp *schema.Space) (low, unknown *schema.Part) {
	if sp == nil {
		return nil, nil
	}
	for _, p := range c.Boat.Parts {
		if p.Prepared || !p.Roles().Any(schema.SeaOpening|schema.HullHole) || p.Space == nil || !drainsTo(p.Space, sp) {
			continue
		}
		h := p.Height()
		switch {
		case !h.Given():
			unknown = p
		case h.V < unit.Metre(c.Boat.Vessel.Laden.Or(0)) && (low == nil || h.V < low.Height().V || h.V == low.Height().V && p.ID < low.ID):
			low = p
		}
	}
	return low, unknown
}

// drainsTo reports whether water of a space runs to another: the same, one it
// joins, or one that lies below it.
func drainsTo(from, to *schema.Space) bool {
	if from == to || to.Below.V == from.ID {
		return true
	}
	for _, pair := range [][2]*schema.Space{{from, to}, {to, from}} {
		for _, j := range pair[0].Joins {
			if j.V == pair[1].ID {
				return true
			}
		}
	}
	return false
}
