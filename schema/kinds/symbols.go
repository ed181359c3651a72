package kinds

import (
	"math"

	"fitout/schema"
	"fitout/schema/symbol"
)

func sheet(m schema.Medium) symbol.Medium {
	switch m {
	case schema.AC:
		return symbol.AC
	case schema.Water:
		return symbol.Water
	}
	return symbol.DC
}

// drawn makes the Symbol function of a kind that has one form on each sheet.
func drawn(kind string) func(*schema.Part, schema.Medium) symbol.Symbol {
	return drawnAs(kind, func(*schema.Part, schema.Medium) string { return "" })
}

// drawnBy picks the form by an attribute's word.
func drawnBy(kind, attr string) func(*schema.Part, schema.Medium) symbol.Symbol {
	return drawnAs(kind, func(p *schema.Part, _ schema.Medium) string { return p.Word(attr).V })
}

func drawnAs(kind string, variant func(*schema.Part, schema.Medium) string) func(*schema.Part, schema.Medium) symbol.Symbol {
	return func(p *schema.Part, m schema.Medium) symbol.Symbol {
		s, ok := symbol.Form(kind, sheet(m), variant(p, m))
		if !ok {
			return boxed(p, m)
		}
		return withTerminals(s, p, m)
	}
}

// boxed is a plain box, for a part on a sheet that has no form for it.
func boxed(p *schema.Part, m schema.Medium) symbol.Symbol {
	var top, bottom []string
	for _, t := range shown(p, m) {
		switch t.Polarity {
		case schema.Minus, schema.Neutral, schema.Earth, schema.Ground, schema.WaterOut:
			bottom = append(bottom, t.Name)
		default:
			top = append(top, t.Name)
		}
	}
	return symbol.Block(p.Kind.Name, "", top, bottom)
}

// shown are the terminals of one medium that a sheet draws.
func shown(p *schema.Part, m schema.Medium) []schema.Terminal {
	var out []schema.Terminal
	for _, t := range p.Terminals() {
		if t.Medium == m && !t.Hidden {
			out = append(out, t)
		}
	}
	return out
}

// withTerminals adds an optional anchor with a short lead on the right side for
// every terminal that the form has none for: a case stud, a panel's spare.
func withTerminals(s symbol.Symbol, p *schema.Part, m schema.Medium) symbol.Symbol {
	if len(s.Anchors) <= 1 {
		if len(shown(p, m)) <= 1 {
			return s // one anchor answers to every name
		}
	}
	y := 0
	for _, t := range shown(p, m) {
		if t.Name == "" || hasAnchor(s, t.Name) {
			continue
		}
		s, y = addLead(s, t.Name, y)
	}
	return s
}

func hasAnchor(s symbol.Symbol, name string) bool {
	for _, a := range s.Anchors {
		if a.Name == name {
			return true
		}
	}
	return false
}

// addLead puts an optional anchor one module right of the symbol, at the first
// free row from y down.
func addLead(s symbol.Symbol, name string, y int) (symbol.Symbol, int) {
	x := int(math.Ceil(s.Box.Max.X-1e-9)) + 1
	if y == 0 {
		for _, a := range s.Anchors {
			if a.Side == symbol.Right && a.Y >= y {
				y = a.Y + 2
			}
		}
	}
	s.Anchors = append(append([]symbol.Anchor(nil), s.Anchors...),
		symbol.Anchor{Name: name, X: x, Y: y, Side: symbol.Right, Optional: true})
	s.Primitives = append(append([]symbol.Primitive(nil), s.Primitives...), symbol.Primitive{
		Shape: symbol.Line, Lead: name,
		Points: []symbol.Point{{X: s.Box.Max.X, Y: float64(y)}, {X: float64(x), Y: float64(y)}},
	})
	return s, y + 2
}

// barred draws a panel with its ways two modules apart.
func barred(kind string) func(*schema.Part, schema.Medium) symbol.Symbol {
	return func(p *schema.Part, m schema.Medium) symbol.Symbol {
		var studs []symbol.Stud
		for i, w := range p.Ways {
			studs = append(studs, symbol.Stud{Name: w.Key, X: 2 * i, Empty: w.Spare})
		}
		for i, t := range shown(p, m) {
			if t.Way == "" {
				studs = append(studs, symbol.Stud{Name: t.Name, X: 2 * i, Up: true})
			}
		}
		s, ok := symbol.Bar(string(sheet(m))+"/"+kind, studs, 0, max(2, 2*len(p.Ways)))
		if !ok {
			return boxed(p, m)
		}
		return s
	}
}
