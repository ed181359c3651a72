package rules

import (
	"fmt"
	"math"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

var breakerAutomatic = Rule{
	Name: "breaker-automatic", Section: "DC, static",
	Asks:     "Is a conductor's only protection a device that stays open, and that nobody can hold closed on a fault?",
	Why:      "a breaker that closes by itself feeds a short again and again; one that can be held closed feeds it for good",
	Severity: "error",
	Source:   "33 CFR 183.455(a): a fuse or a manually reset, trip-free breaker; E-11 11.10.2.1.1",
	Quiet:    "not where another device guards the same conductors, and not for breakers inside equipment",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  F1: {kind: breaker, title: Winch, rating: 20 A, volts: 32 V, reset: automatic, space: cabin}
  M1: {kind: load, draw: 10 A}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, M1.+], size: 4 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: M1.-, to: B1.-, size: 4 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  F1: {kind: breaker, title: Winch, rating: 20 A, volts: 32 V, reset: manual, space: cabin}
  M1: {kind: load, draw: 10 A}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, M1.+], size: 4 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: M1.-, to: B1.-, size: 4 mm2, length: 2 m}
`,
	Check: checkBreakerAutomatic,
}

func checkBreakerAutomatic(c *Context) {
	var found []*trace.Edge
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		if e.Type != trace.Device {
			continue
		}
		c.Looked("breaker-automatic")
		if d := e.Branch.Device; d.AutoReset || d.NotTripFree {
			found = append(found, e)
		}
		if d := e.Branch.Device; d.Breaker && e.Part.Kind.Attr("reset") != nil {
			for _, attr := range []string{"reset", "trip-free"} {
				if !e.Part.Has(attr) {
					c.Default(e.Part.ID, attr, e.Part.Kind.Attr(attr).Default, "documented default of the kind")
				}
			}
		}
	}
	if len(found) == 0 {
		return
	}
	set := c.Sets()[0]
	p := newProtection(c, set, c.Net, findCranking(c.Net))
	// The conductors of the pieces the devices border on, by piece.
	byPiece := map[int][]*schema.Wire{}
	for _, w := range c.Boat.Wires {
		if id := c.Net.WireEdge[w]; id >= 0 && c.Net.Live(id) {
			piece := c.Net.Component(c.Net.Edges[id].A)
			byPiece[piece] = append(byPiece[piece], w)
		}
	}
	for _, e := range found {
		judgeAutomatic(p, e, byPiece)
	}
}

// judgeAutomatic asks whether some conductor is guarded with the device and not
// without it.
func judgeAutomatic(p *protection, device *trace.Edge, byPiece map[int][]*schema.Wire) {
	n := p.Net
	ignore := func(e *trace.Edge) bool { return e == device }
	for _, piece := range []int{n.Component(device.A), n.Component(device.B)} {
		for _, w := range byPiece[piece] {
			id := n.WireEdge[w]
			for _, from := range []int{n.Edges[id].A, n.Edges[id].B} {
				if p.skip(trace.Direction{Edge: id, From: from}) {
					continue
				}
				with := n.Flow(id, from, trace.Options{UnknownAs: 0})
				without := n.Flow(id, from, trace.Options{UnknownAs: math.Inf(1), Ignore: ignore})
				a := p.allowedOf(w)
				limit := a.Hard
				if a.missing != "" && !with.Unlimited && with.Amps > 0 && (without.Unlimited || without.Amps > with.Amps+slack) {
					p.Missing("breaker-automatic", a.missing, w.At, w.Ref(), device.Part.ID)
					return
				}
				if with.Unlimited || with.Amps > limit || !without.Unlimited && without.Amps <= limit {
					continue
				}
				reportAutomatic(p.Context, device, w)
				return
			}
		}
	}
}

func reportAutomatic(c *Context, e *trace.Edge, w *schema.Wire) {
	d := e.Branch.Device
	what := "closes again by itself"
	if !d.AutoReset {
		what = "can be held closed on a fault"
	}
	c.Add(diag.Finding{Rule: "breaker-automatic", Severity: diag.Error, Span: e.Part.At, At: []string{w.Ref(), e.Part.ID},
		Message: fmt.Sprintf("%s %s and is the only protection of wire %s", e.Part.ID, what, w.Ref()),
		Risk:    "a short is fed again and again until the wire burns",
		Do:      fmt.Sprintf("replace %s by a fuse or a manually reset, trip-free breaker, or fit one ahead of it", e.Part.ID),
		Source:  c.LawSource("183.455(a)") + "; E-11 11.10.2.1.1"})
}
