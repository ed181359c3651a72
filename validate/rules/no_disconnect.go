package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

var noDisconnect = Rule{
	Name: "no-disconnect", Section: "DC, static",
	Asks:     "Can a person part every battery that needs it from its loads, and does no load go round the switch that may not?",
	Why:      "a burning circuit cannot be stopped, and what bypasses the switch stays live when everybody thinks it is off",
	Severity: "error",
	Source:   "E-11 11.6.1.2.1: each battery or bank over 800 A cold cranking; lithium always (E-13); ISO 13297 / ISO 10133 always (from memory)",
	Quiet:    "safety gear (bilge pumps, alarms, blowers), charging and loads with `memory` may stay ahead of the switch; a breaker that stands alone, a selector and a remote relay are switches; a combining relay is none, nor is a switch in the grounded return alone; an inverter that also charges may stay ahead of a switch, but is load enough to want one",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 100 Ah, protection: internal}
  F1: {kind: fuse, title: Main, family: class-t, rating: 40 A, space: cabin}
  M1: {kind: load, draw: 10 A}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, M1.+], size: 10 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: M1.-, to: B1.-, size: 10 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 100 Ah, protection: internal}
  F1: {kind: fuse, title: Main, family: class-t, rating: 40 A, space: cabin}
  S1: {kind: switch, title: Main switch, rating: 100 A, space: cabin}
  M1: {kind: load, draw: 10 A}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, S1, M1.+], size: 10 mm2, lengths: [0.15 m, 0.5 m, 2 m]}
  - {id: 2, from: M1.-, to: B1.-, size: 10 mm2, length: 2 m}
`,
	Check: checkNoDisconnect,
}

// bank is batteries that no switch parts.
type bank struct {
	batteries []*schema.Part
	edges     []*trace.Edge
	loads     []*trace.Edge // on it with every switch open, not allowed to be
	both      []*trace.Edge // the same for what charges it and loads it: an inverter that charges
	switched  bool          // some load hangs on it through a switch
}

func checkNoDisconnect(c *Context) {
	floats := c.pumpFloats()
	off := c.Live(c.Groups(func(e *trace.Edge) bool {
		return (e.Passes() || e.Type == trace.Device) && !(survey.Disconnects(e) && !c.inReturn(e)) && !survey.Bond(e) && !floats[e.Part]
	}), false)
	any := c.Live(c.AnyPosition(), false)
	banks, order := map[int]*bank{}, []int{}
	c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) {
		c.Looked("no-disconnect")
		k := off.Of(e.A)
		if banks[k] == nil {
			banks[k] = &bank{}
			order = append(order, k)
		}
		banks[k].batteries = append(banks[k].batteries, e.Part)
		banks[k].edges = append(banks[k].edges, e)
	})
	if len(order) == 0 {
		return
	}
	posts := map[int][]*bank{} // by the joint group of any position
	for _, k := range order {
		g := any.Of(banks[k].edges[0].A)
		posts[g] = append(posts[g], banks[k])
	}
	pumped := c.pumpPieces()
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		if !draws(e) || e.Medium != schema.DC {
			continue
		}
		both := allowedAhead(e) && e.Part.Is(schema.Charging|schema.Inverting) && !e.Part.Flag("memory").V
		if allowedAhead(e) && !both || c.lightsPump(e, pumped) {
			continue
		}
		if off.Feeds(e.A, e.B) {
			switch b := bankOf(banks, order, off, e); {
			case b == nil:
			case both:
				b.both = append(b.both, e)
			default:
				b.loads = append(b.loads, e)
			}
			continue
		}
		if !any.Feeds(e.A, e.B) {
			continue // fed in no position: open-circuit
		}
		for _, b := range posts[any.Of(e.A)] {
			b.switched = true
		}
	}
	for _, k := range order {
		c.judgeBank(banks[k])
	}
}

// pumpFloats are the floats of bilge pumps: what stands beyond one is the pump, whose
// second way by hand leads back to the panel behind the switch.
func (c *Context) pumpFloats() map[*schema.Part]bool {
	out := map[*schema.Part]bool{}
	c.eachEdge(trace.Load, schema.DC, func(_ int, e *trace.Edge) {
		if e.Part.Is(schema.Bilge) {
			if f := c.floatOf(e); f != nil {
				out[f.Part] = true
			}
		}
	})
	return out
}

// inReturn reports a switch that opens the grounded conductor alone: what it
// switches stays live.
func (c *Context) inReturn(e *trace.Edge) bool {
	return c.Net.Nodes[e.A].Grounded && c.Net.Nodes[e.B].Grounded
}

// returnSwitches names the switches that part a bank in its grounded return.
func (c *Context) returnSwitches(b *bank) []string {
	var names []string
	any := c.AnyPosition()
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		if e.Medium == schema.DC && survey.Disconnects(e) && c.inReturn(e) && any.Same(e.A, b.edges[0].B) {
			names = appendNew(names, e.Part.ID)
		}
	}
	return names
}

// bankOf returns the bank whose top post the load hangs on, else the first of the
// same circuit (a tap of a string).
func bankOf(banks map[int]*bank, order []int, off *survey.Live, e *trace.Edge) *bank {
	if b := banks[off.Of(e.A)]; b != nil {
		return b
	}
	for _, k := range order {
		if b := banks[k]; off.Feeds(e.A, b.edges[0].B) || off.Of(e.B) == off.Of(b.edges[0].B) {
			return b
		}
	}
	return nil
}

// allowedAhead reports what may stay on with the switch off: safety gear,
// charging, memory, and the coils and sensors that serve them.
func allowedAhead(e *trace.Edge) bool {
	p := e.Part
	return p.Roles().Any(schema.Safety|schema.Charging|schema.Sensing|schema.Storage) || p.Flag("memory").V ||
		readsShunt(p) || p.Is(schema.Switching) || p.Is(schema.Cranking) && e.Branch.Load == nil
}

// lightsPump reports a lamp that hangs on a bilge pump's own lead and shows that
// it runs: it is live where the pump is.
func (c *Context) lightsPump(lamp *trace.Edge, pumped map[int]bool) bool {
	piece := c.Net.Component(lamp.A)
	return piece >= 0 && pumped[piece] && isRunLight(lamp)
}

// pumpPieces marks the device-free pieces of the net that a bilge pump hangs on.
func (c *Context) pumpPieces() map[int]bool {
	out := map[int]bool{}
	c.eachEdge(trace.Load, schema.DC, func(_ int, e *trace.Edge) {
		if e.Part.Is(schema.Bilge) {
			out[c.Net.Component(e.A)] = true
		}
	})
	return out
}

func (c *Context) judgeBank(b *bank) {
	if !b.switched {
		// As charging gear it may stay ahead of a switch; it does not do without one.
		b.loads = append(b.loads, b.both...)
	}
	if len(b.loads) == 0 {
		return
	}
	wanted, why, missing := c.wantsSwitch(b)
	names := ids(b.batteries)
	if missing != "" && !b.switched {
		c.Missing("no-disconnect", missing, b.batteries[0].At, names...)
		return
	}
	if !wanted && missing == "" && !b.switched {
		return
	}
	src := "E-11 11.6.1.2.1; " + why
	if !wanted {
		src = "E-11 11.6.1.2.1, note: what may stay ahead of a battery switch"
	}
	if b.switched {
		for _, e := range b.loads {
			c.Add(diag.Finding{Rule: "no-disconnect", Severity: diag.Error, Span: e.Part.At, At: append(c.at(e.Part, e.A), names...),
				Message: fmt.Sprintf("%s hangs on %s ahead of the battery switch", e.Part.ID, list(names)),
				Risk:    "it stays live when everybody thinks the boat is off, and a fault in it cannot be stopped",
				Do:      fmt.Sprintf("feed %s from behind the battery switch, or say `memory: yes` if it must stay on", e.Part.ID),
				Source:  src})
		}
		return
	}
	var loads []*schema.Part
	for _, e := range b.loads {
		loads = append(loads, e.Part)
	}
	at := c.at(b.batteries[0], b.edges[0].A)
	for _, id := range names {
		if !slices.Contains(at, id) {
			at = append(at, id)
		}
	}
	message := fmt.Sprintf("no switch stands between %s and %s", list(names), brief(ids(loads)))
	if back := c.returnSwitches(b); len(back) > 0 {
		at = appendNew(at, back...)
		message += fmt.Sprintf(": %s opens the grounded return only", list(back))
	}
	c.Add(diag.Finding{Rule: "no-disconnect", Severity: diag.Error, Span: b.batteries[0].At, At: at,
		Message: message,
		Risk:    "a burning circuit cannot be stopped",
		Do:      "fit a battery switch as near the battery as practicable, where a person can reach it",
		Source:  src})
}

// wantsSwitch reports whether a set wants a switch for the bank, why, and what it
// would need to know.
func (c *Context) wantsSwitch(b *bank) (wanted bool, why, missing string) {
	sum := unit.Amp(0)
	for _, p := range b.batteries {
		if p.Word("chemistry").V == "lfp" {
			return true, "E-13: lithium batteries always", ""
		}
		sum += p.Amps("cranking").V
		if !p.Amps("cranking").Given() && missing == "" {
			missing = "cranking of " + p.ID
		}
		if !p.Word("chemistry").Given() {
			missing = "chemistry of " + p.ID
		}
	}
	if slices.Contains(c.Sets(), tables.ISO) {
		return true, "ISO 13297 / ISO 10133: every battery (from memory)", ""
	}
	if sum > tables.SwitchCranking {
		return true, fmt.Sprintf("over 800 A cold cranking (%s)", sum), ""
	}
	return false, "banks over 800 A cold cranking", missing
}
