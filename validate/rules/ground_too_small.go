package rules

import (
	"fmt"
	"math"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

var groundTooSmall = Rule{
	Name: "ground-too-small", Section: "DC, static",
	Asks:     "Are case, bonding and earth conductors as thick as the set asks?",
	Why:      "a fault to the case must open the device of the positive before the case conductor burns",
	Severity: "error",
	Source:   "E-11 (from memory) and A-31 as published: at most one size under the DC positive, never under 16 AWG, device at most 135 %; bonding 8 AWG (from memory)",
	Quiet:    "no ISO figure is to hand, so both sets take the same; a case joined through its own negative needs no conductor",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  G: {kind: ground}
  M1: {kind: load, draw: 30 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 40 A}, M1.+], size: 10 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: M1.-, to: B1.-, size: 10 mm2, length: 2 m}
  - {id: 3, from: B1.-, to: G, size: 10 mm2, length: 1 m}
  - {id: 4, from: M1.case, to: G, size: 4 mm2, length: 1 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  G: {kind: ground}
  M1: {kind: load, draw: 30 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 40 A}, M1.+], size: 10 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: M1.-, to: B1.-, size: 10 mm2, length: 2 m}
  - {id: 3, from: B1.-, to: G, size: 10 mm2, length: 1 m}
  - {id: 4, from: M1.case, to: G, size: 6 mm2, length: 1 m}
`,
	Check: checkGroundTooSmall,
}

func checkGroundTooSmall(c *Context) {
	for _, w := range c.Boat.Wires {
		id := c.Net.WireEdge[w]
		if id < 0 || isLink(w) || w.Carries.V == "signal" {
			continue
		}
		switch {
		case w.Medium == schema.AC && earthConductor(w):
			c.earthSize(w)
		case w.From.Terminal == "case":
			c.caseSize(w, w.From.Part)
		case w.To.Terminal == "case":
			c.caseSize(w, w.To.Part)
		case w.From.Part.Is(schema.Bonding) || w.To.Part.Is(schema.Bonding):
			c.bondSize(w)
		}
	}
}

// sized reports whether a conductor's size is known, and says so if not.
func (c *Context) sized(rule string, w *schema.Wire) bool {
	if copper(w) > 0 {
		return true
	}
	c.Missing(rule, "size of wire "+w.Ref(), w.At, w.Ref())
	return false
}

func (c *Context) bondSize(w *schema.Wire) {
	c.Looked("ground-too-small")
	if !c.sized("ground-too-small", w) {
		return
	}
	least := tables.GroundingConductor(tables.BondingConductor, unit.Size{})
	if !least.Meets(w.Size.V) {
		c.groundFinding(w, fmt.Sprintf("bonding conductor %s is %s; %s is the least", w.Ref(), w.Size.V, least.Size), least, ends(w))
	}
}

func (c *Context) groundFinding(w *schema.Wire, message string, least tables.Minimum, parts []string) {
	c.Add(diag.Finding{Rule: "ground-too-small", Severity: diag.Error, Span: w.At, At: append([]string{w.Ref()}, parts...), Message: message,
		Risk:   "a fault burns it before the device opens, and the case stays live",
		Do:     fmt.Sprintf("use %s or thicker", least.Size.Name()),
		Source: least.Cite.String(),
		Value:  diag.Figure(copper(w)), Limit: diag.Figure(least.Size.Area), Unit: "mm²"})
}

// caseSize compares a case conductor with the DC positive of the same part.
func (c *Context) caseSize(w *schema.Wire, p *schema.Part) {
	positive, edge := c.positiveOf(p)
	if positive == nil {
		return
	}
	c.Looked("ground-too-small")
	if !c.sized("ground-too-small", w) || !c.sized("ground-too-small", positive) {
		return
	}
	use := tables.EquipmentGround
	charger := p.Is(schema.Charging) || p.Is(schema.Inverting)
	if charger {
		use = tables.ChargerCase
	}
	least := tables.GroundingConductor(use, positive.Size.V)
	if !least.Meets(w.Size.V) {
		c.groundFinding(w, fmt.Sprintf("case conductor %s of %s is %s; its positive %s is %s, so %s is the least", w.Ref(), p.ID, w.Size.V, positive.Ref(), positive.Size.V, least.Size.Name()), least, []string{p.ID})
		return
	}
	if charger && edge >= 0 {
		c.caseDevice(w, p, positive, edge)
	}
}

// caseDevice asks that the device of the positive be at most 135 % of what the
// case conductor carries.
func (c *Context) caseDevice(w *schema.Wire, p *schema.Part, positive *schema.Wire, edge int) {
	e := &c.Net.Edges[edge]
	for _, from := range []int{e.A, e.B} {
		f := c.Net.Flow(edge, from, trace.Options{UnknownAs: math.Inf(1)})
		if f.Unlimited || f.Amps == 0 || len(f.Unknown) > 0 || len(f.Cut) != 1 || f.Cut[0].Source != nil {
			continue
		}
		for _, set := range c.Sets() {
			a, missing := c.Ampacity(w, set)
			if missing != "" {
				c.Missing("ground-too-small", missing, w.At, w.Ref())
				return
			}
			limit := a.Amps * tables.CaseRatingLimit
			if f.Amps <= limit+slack {
				continue
			}
			c.Add(diag.Finding{Rule: "ground-too-small", Severity: diag.Error, Span: w.At, At: []string{w.Ref(), p.ID, f.Cut[0].Part.ID},
				Message: fmt.Sprintf("%s, %s, is more than 135 %% of what case conductor %s of %s carries (%s): at most %s", f.Cut[0].Name(), f.Amps, w.Ref(), p.ID, ampText(a.Amps), limit),
				Risk:    "a fault to the case burns the conductor before the device opens",
				Do:      "use a thicker case conductor, or a smaller device",
				Source:  "A-31 as published, 135 %; ampacity: " + a.Cite.String(),
				Value:   diag.Figure(f.Amps), Limit: diag.Figure(limit), Unit: "A"})
			return
		}
	}
}

// positiveOf returns the thickest conductor on a part's DC positive.
func (c *Context) positiveOf(p *schema.Part) (*schema.Wire, int) {
	var best *schema.Wire
	for _, t := range p.Terminals() {
		if t.Medium != schema.DC || t.Polarity != schema.Plus {
			continue
		}
		if n := c.Net.Node(p, t.Name); n >= 0 {
			for _, w := range c.ownWires(p, n) {
				if best == nil || copper(w) > copper(best) {
					best = w
				}
			}
		}
	}
	if best == nil {
		return nil, -1
	}
	return best, c.Net.WireEdge[best]
}

// earthConductor reports a protective earth that is a conductor of its own.
func earthConductor(w *schema.Wire) bool {
	if w.Core != "" {
		return false
	}
	for _, end := range []schema.End{w.From, w.To} {
		if t, ok := end.Part.Terminal(end.Terminal); ok && t.Polarity == schema.Earth {
			return true
		}
	}
	return false
}

// earthSize compares a single protective earth with the line of the same part.
func (c *Context) earthSize(w *schema.Wire) {
	for _, end := range []schema.End{w.From, w.To} {
		line := c.lineBeside(end)
		if line == nil {
			continue
		}
		c.Looked("ground-too-small")
		if !c.sized("ground-too-small", w) || !c.sized("ground-too-small", line) {
			return
		}
		least := tables.Minimum{Size: earthFor(line.Size.V), Cite: tables.Cite{Source: "IEC 60364-5-54: earth as thick as the line up to 16 mm², then half", Status: tables.Memory}}
		if !least.Meets(w.Size.V) {
			c.groundFinding(w, fmt.Sprintf("protective earth %s is %s; its line %s is %s, so %s is the least", w.Ref(), w.Size.V, line.Ref(), line.Size.V, least.Size.Name()), least, ends(w))
			return
		}
	}
}

func earthFor(line unit.Size) unit.Size {
	switch {
	case line.Area <= 16:
		return line
	case line.Area <= 35:
		return unit.MetricSize(16)
	}
	return unit.MetricSize(line.Area / 2)
}

// lineBeside returns the single line conductor on the same group of terminals.
func (c *Context) lineBeside(end schema.End) *schema.Wire {
	pe, ok := end.Part.Terminal(end.Terminal)
	if !ok {
		return nil
	}
	for _, t := range end.Part.Terminals() {
		if t.Polarity != schema.Live || t.Cable != pe.Cable {
			continue
		}
		if n := c.Net.Node(end.Part, t.Name); n >= 0 {
			for _, w := range c.ownWires(end.Part, n) {
				if w.Core == "" {
					return w
				}
			}
		}
	}
	if end.Part.Is(schema.Panel) {
		return c.thickestLine(end.Part) // the earth bar's own way to the boat's ground
	}
	return nil
}

// thickestLine is the thickest line conductor of a panel, in a cable or not.
func (c *Context) thickestLine(p *schema.Part) (best *schema.Wire) {
	for _, t := range p.Terminals() {
		if n := c.Net.Node(p, t.Name); t.Polarity == schema.Live && t.Medium == schema.AC && n >= 0 {
			for _, w := range c.ownWires(p, n) {
				if best == nil || copper(w) > copper(best) {
					best = w
				}
			}
		}
	}
	return best
}
