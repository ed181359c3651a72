package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

var colourCode = Rule{
	Name: "colour-code", Section: "DC, static",
	Asks:     "Does every colour that is given stand in the set's table for what the conductor carries?",
	Why:      "the next person trusts the colour: a black live wire has killed",
	Severity: "note",
	Source:   "E-11 and ISO 10133 / ISO 13297 colours (from memory; AC rows of E-11 read in a public copy)",
	Quiet:    "colours that are not given are the set's; signal wires are free; E-11 service colours suit a positive; black is a DC negative and an AC line, each in its own system",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  LT1: {kind: light, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m], color: black}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  LT1: {kind: light, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m], color: red}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
	Check: checkColourCode,
}

// poleOf tells which pole a joint belongs to.
type poleOf struct {
	c           *Context
	g           *survey.Groups
	plus, minus map[int]bool
}

func newPoles(c *Context) *poleOf {
	p := &poleOf{c: c, g: c.AnyPosition(), plus: map[int]bool{}, minus: map[int]bool{}}
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		if e.Medium != schema.DC || e.Type != trace.Battery && e.Type != trace.Feed && e.Type != trace.ConvertIn {
			continue
		}
		a, b := c.poles(e)
		if a >= 0 && b >= 0 {
			p.plus[p.g.Of(a)], p.minus[p.g.Of(b)] = true, true
		}
	}
	// A terminal marked + tells where no source does: the load side of nothing.
	return p
}

// role returns what a DC conductor is for its colour; ok is false where the net
// does not tell.
func (p *poleOf) role(w *schema.Wire) (tables.Role, bool) {
	if w.Medium == schema.AC {
		return acRole(w)
	}
	for _, end := range []schema.End{w.From, w.To} {
		if end.Terminal == "case" || end.Part.Is(schema.Bonding) {
			return tables.Bonding, true
		}
	}
	if p.c.ColourRole(w) == tables.ACEarth {
		return tables.ACEarth, true // beyond a splice
	}
	e := &p.c.Net.Edges[p.c.Net.WireEdge[w]]
	g := p.g.Of(e.A)
	switch {
	case p.c.Net.Nodes[e.A].Grounded && p.c.Net.Nodes[e.B].Grounded:
		return tables.DCNegative, true
	case p.plus[g]:
		return tables.DCPositive, true
	case p.minus[g]:
		return tables.DCNegative, true
	}
	return 0, false
}

func acRole(w *schema.Wire) (tables.Role, bool) {
	core := w.Core
	if core == "" {
		for _, end := range []schema.End{w.From, w.To} {
			t, _ := end.Part.Terminal(end.Terminal)
			switch t.Polarity {
			case schema.Live:
				return tables.ACLive, true
			case schema.Neutral:
				return tables.ACNeutral, true
			case schema.Earth:
				return tables.ACEarth, true
			}
		}
		return 0, false
	}
	role, ok := map[string]tables.Role{"L": tables.ACLive, "N": tables.ACNeutral, "PE": tables.ACEarth}[core]
	return role, ok
}

var roleNames = [...]string{"DC positive", "DC negative", "bonding", "AC line", "second AC line", "AC neutral", "protective earth"}

func checkColourCode(c *Context) {
	poles := newPoles(c)
	shared := map[int]map[tables.Role]bool{} // one written colour, the roles it stands for
	at := func(w *schema.Wire) int { return w.Color.At.Start }
	for _, w := range c.Boat.Wires {
		if w.Color.Given() && c.Net.WireEdge[w] >= 0 {
			if role, ok := poles.role(w); ok {
				if shared[at(w)] == nil {
					shared[at(w)] = map[tables.Role]bool{}
				}
				shared[at(w)][role] = true
			}
		}
	}
	done := map[string]bool{}
	for _, w := range c.Boat.Wires {
		if c.Net.WireEdge[w] < 0 || !w.Color.Given() || w.Color.From == schema.ByKind || w.Color.From == schema.Derived || w.Carries.V == "signal" || w.Core != "" {
			continue // a cable's cores take their own colours; one given is the sheath's
		}
		c.Looked("colour-code")
		role, ok := poles.role(w)
		if !ok {
			continue
		}
		key := fmt.Sprint(w.Path, w.Color.At.Start, role)
		if done[key] {
			continue
		}
		for _, set := range c.Sets() {
			if c.judgeColour(w, set, role, len(shared[at(w)]) == 1) {
				done[key] = true
				break
			}
		}
	}
}

func (c *Context) judgeColour(w *schema.Wire, set tables.Set, role tables.Role, alone bool) bool {
	verdict, listed, cite := tables.Colour(set, role, w.Color.V)
	if verdict == tables.ColourListed {
		return false
	}
	if role == tables.ACLive {
		if second, _, _ := tables.Colour(set, tables.ACLive2, w.Color.V); second == tables.ColourListed {
			return false
		}
	}
	use := tables.DefaultColour(set, role)
	f := diag.Finding{Rule: "colour-code", Severity: diag.Note, Span: w.At, At: append([]string{w.Ref()}, ends(w)...),
		Message: fmt.Sprintf("wire %s, %s, is %s; the set has %s", w.Ref(), roleNames[role], w.Color.V, list(listed)),
		Risk:    "the next person trusts the colour",
		Do:      fmt.Sprintf("use %s, or mark both ends", use),
		Source:  cite.String()}
	if alone && w.Color.From == schema.Own && w.Color.At.Valid() && w.Color.At.Text() == w.Color.Text {
		f.Fix = &diag.Fix{Title: fmt.Sprintf("write %s for wire %s", use, w.Ref()), Edits: []diag.Edit{{Span: w.Color.At, New: use}}}
	}
	c.Add(f)
	return true
}
