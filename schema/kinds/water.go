package kinds

import (
	"math"

	"fitout/schema"
	"fitout/schema/unit"
)

// Sources of loss coefficients.
const (
	epanet  = "EPANET 2.2 User Manual (EPA/600/R-20/133), minor-loss table"
	tp410   = "TP-410 (Flow of Fluids through Valves, Fittings and Pipe), appendix A, by way of an open library"
	kMemory = "from memory: 2 to 6 for a clean basket; the double of it when fouled"
)

// lossOf is the stated loss: its points, or `0 m head` for none at any flow, or
// one head at the flow the part needs.
func lossOf(p *schema.Part) []schema.CurvePoint {
	v := value(p, "loss")
	if v == nil {
		return nil
	}
	if len(v.Points) > 0 {
		return v.Points
	}
	if v.Number == 0 {
		return []schema.CurvePoint{{X: 1, Y: 0}}
	}
	if q := p.Flow("flow"); q.Given() && q.V > 0 {
		return []schema.CurvePoint{{X: float64(q.V), Y: v.Number}}
	}
	return nil
}

// sizeOf is the nominal size, taken from the through-hull it is fixed to where it
// has none of its own.
func sizeOf(p *schema.Part) schema.Val[unit.Metre] {
	if s := p.Metres("size"); s.Given() {
		return s
	}
	if p.Host != nil {
		s := p.Host.Metres("size")
		if s.Given() {
			s.From = schema.Derived
		}
		return s
	}
	return schema.Val[unit.Metre]{}
}

// passage is a way with a loss: as stated, else k on the part's size.
func passage(p *schema.Part, a, b string, k float64, source string) schema.Channel {
	return schema.Channel{Type: schema.Passage, A: a, B: b, Loss: lossOf(p), K: k, KSource: source, Bore: sizeOf(p)}
}

func open(a, b string) schema.Channel { return schema.Channel{Type: schema.Open, A: a, B: b} }

// hubWater joins every other water terminal of a part to the first: one node.
func hubWater(p *schema.Part) []schema.Channel {
	var out []schema.Channel
	first := ""
	found := false
	for _, t := range p.Terminals() {
		if t.Medium != schema.Water {
			continue
		}
		if !found {
			first, found = t.Name, true
			continue
		}
		out = append(out, open(first, t.Name))
	}
	return out
}

// cooled is sea water that takes up a part's heat.
func cooled(p *schema.Part, a, b string, heat schema.Val[unit.Watt]) schema.Channel {
	c := passage(p, a, b, 0, "")
	c.Flow, c.Heat = p.Flow("flow"), heat
	return c
}

// turbulent is the friction factor of fully turbulent flow in clean commercial
// steel pipe of a nominal size, as TP-410 defines fT: von Kármán's law at a
// roughness of 0.0457 mm. 19 mm where no size is known.
func turbulent(size schema.Val[unit.Metre]) float64 {
	d := float64(size.Or(0.019))
	if d <= 0 {
		d = 0.019
	}
	l := math.Log10(0.0457e-3 / d / 3.7)
	return 0.25 / (l * l)
}

// heightOr is the attribute, else the part's own height.
func heightOr(p *schema.Part, name string) (schema.Val[unit.Metre], string) {
	if name != "" {
		if h := p.Metres(name); h.Given() {
			return h, ""
		}
	}
	h := p.Height()
	if !h.Given() && p.Host != nil {
		h = p.Host.Height()
	}
	if h.Given() {
		return h, ""
	}
	if name == "" {
		name = "height"
	}
	return h, name + " of " + p.ID
}

// opening builds an opening at an attribute's height, else the part's.
func opening(p *schema.Part, t schema.OpeningType, terminal, what, attr string) schema.Opening {
	h, missing := heightOr(p, attr)
	return schema.Opening{Type: t, Terminal: terminal, What: what, Height: h, Missing: missing}
}

// inside reports whether an opening is to the inside of the boat.
func inside(p *schema.Part, def bool) schema.OpeningType {
	if p.Flag("inside").Or(def) {
		return schema.ToInside
	}
	return schema.ToAir
}

func rim() attr {
	return level("rim", "height at which it overflows into the boat").def("its height", language)
}

func insideAttr(def string) attr {
	return flag("inside", "it opens to the inside of the boat").def(def, documented)
}
