package rules

import (
	"fmt"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// hoseUnsuited compares what a hose is rated for with what it serves.
var hoseUnsuited = Rule{
	Name: "hose-unsuited", Section: waterStatic,
	Asks:     "Is every hose rated for what it carries and where it runs?",
	Why:      "a hose below the waterline that is not made for it splits, kinks or collapses; others taint water or burn through",
	Severity: "error",
	Source:   "H-27 (from memory); ISO 8099-1:2018 (summary); SAE J2006, ISO 13363; Boat Mechanical Systems Handbook, ch. 20",
	Quiet:    "not for a close nipple, nor for a cooling line above the heeled waterline; one suited word of several is enough",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, drive: hand, duty: wash, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 2, rating: drain}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, drive: hand, duty: wash, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 2, rating: below waterline}
`,
	Check: checkHoseUse,
}

// useWords says what a hose serves.
func useWords(u tables.HoseUse) string {
	switch u {
	case tables.SeaUse:
		return "on the sea side below the heeled waterline"
	case tables.WasteUse:
		return "for waste"
	case tables.PotableUse:
		return "for drinking water"
	case tables.ExhaustUse:
		return "of a wet exhaust"
	}
	return "of a drain"
}

func checkHoseUse(c *Context) {
	c.floodDefaults()
	waste, fresh, exhaust := c.wasteHoses(), c.freshHoses(), c.exhaustHoses()
	sides := c.SeaSide()
	lines := map[string]*diag.Finding{}
	var order []*diag.Finding
	for _, h := range c.Boat.Hoses {
		if h.Prepared || h.Implied || h.Length.Given() && h.Length.V == 0 {
			continue
		}
		var uses []tables.HoseUse
		if exhaust[h] {
			uses = append(uses, tables.ExhaustUse)
		}
		if waste[h] {
			uses = append(uses, tables.WasteUse)
		}
		if fresh[h] && !waste[h] {
			uses = append(uses, tables.PotableUse)
		}
		side := sides[h]
		if side != nil && side.Wet {
			uses = append(uses, tables.SeaUse)
		}
		unsure := side != nil && !side.Wet && side.Maybe
		if len(uses) == 0 && !unsure {
			continue
		}
		c.Looked("hose-unsuited")
		if len(h.Rating) == 0 {
			c.Missing("hose-unsuited", "rating of "+h.ID, h.At, h.ID)
			continue
		}
		if unsure && !suits(h, tables.SeaUse) {
			c.lacks("hose-unsuited", side.Missing, h.ID)
		}
		for _, u := range uses {
			if suits(h, u) {
				continue
			}
			key := fmt.Sprint(h.Path, "/", u)
			if f := lines[key]; f != nil && h.Path != "" {
				f.At = append(f.At, h.ID)
				continue
			}
			f := c.unsuited(h, u)
			lines[key] = f
			order = append(order, f)
		}
	}
	for _, f := range order {
		f.Message = hoseWords(f.At) + " " + f.Message
		c.Add(*f)
	}
}

func suits(h *schema.Hose, u tables.HoseUse) bool {
	return slices.ContainsFunc(h.Rating, func(w schema.Val[string]) bool {
		ok, _ := tables.HoseSuits(w.V, u)
		return ok
	})
}

func (c *Context) unsuited(h *schema.Hose, u tables.HoseUse) *diag.Finding {
	var words []string
	for _, r := range h.Rating {
		words = append(words, r.V)
	}
	_, cite := tables.HoseSuits(h.Rating[0].V, u)
	return &diag.Finding{
		Rule: "hose-unsuited", Severity: diag.Error, Span: h.At, At: []string{h.ID},
		Message: fmt.Sprintf("%s: rated for %s only", useWords(u), strings.Join(words, ", ")),
		Risk:    "it splits, collapses or lets through what it carries",
		Do:      "replace it by hose rated for that service",
		Source:  cite.String(),
	}
}

// hosesFrom collects the hoses a walk from joints may take: those between two
// joints it has come to otherwise too, as the one from a toilet to its tank.
func (c *Context) hosesFrom(from []int, how trace.Walk) map[*schema.Hose]bool {
	sea, out := c.Sea(), map[*schema.Hose]bool{}
	for _, st := range sea.Walk(from, how).Steps {
		if st.Prev >= 0 && how.Beyond != nil && !how.Beyond(st.Node) {
			continue
		}
		for _, id := range sea.Nodes[st.Node].Ways {
			if w := &sea.Ways[id]; w.Hose != nil && w.Carries() && (how.Through == nil || how.Through(w, st.Node)) {
				out[w.Hose] = true
			}
		}
	}
	return out
}

// ventHose reports whether a hose lands on a tank's vent, overflow or relief,
// where nothing is drawn for use.
func ventHose(h *schema.Hose) bool {
	for _, e := range []schema.HoseEnd{h.From, h.To} {
		if e.Part != nil && e.Part.Is(schema.Holding) && isVentTerminal(e.Terminal) {
			return true
		}
	}
	return false
}

func isVentTerminal(t string) bool {
	return strings.HasPrefix(t, "vent") || strings.HasPrefix(t, "overflow") || t == "relief"
}

// wasteHoses are those that carry black water: from a toilet's outlet and black
// tanks up to the sea and the deck.
func (c *Context) wasteHoses() map[*schema.Hose]bool {
	sea := c.Sea()
	var from []int
	for _, p := range c.Boat.Parts {
		switch {
		case p.Prepared:
		case p.Is(schema.Toilet):
			from = append(from, sea.Node(p, "out"))
		case p.Is(schema.Holding) && contentsOf(p) == "black":
			from = append(from, sea.NodesOf(p)...)
		}
	}
	return c.hosesFrom(from, trace.Walk{Through: func(w *trace.SeaWay, _ int) bool {
		bowl := w.Part != nil && w.Part.Is(schema.Toilet)
		return !bowl && (w.Hose == nil || !ventHose(w.Hose))
	}})
}

// freshHoses are those that carry drinking water: from fresh tanks and heaters up
// to the taps.
func (c *Context) freshHoses() map[*schema.Hose]bool {
	sea := c.Sea()
	var from []int
	for _, p := range c.Boat.Parts {
		if !p.Prepared && (p.Is(schema.Holding) && contentsOf(p) == "fresh" || isShoreWater(p)) {
			from = append(from, c.storeNodes(p)...)
		}
	}
	return c.hosesFrom(from, trace.Walk{
		Through: func(w *trace.SeaWay, _ int) bool { return w.Hose == nil || !ventHose(w.Hose) },
		Beyond: func(n int) bool {
			p := sea.Nodes[n].Part
			return p != nil && !p.Is(schema.SeaOpening) && !p.Is(schema.Seacock) && !p.Is(schema.Toilet)
		},
	})
}

// storeNodes returns the joints of what a tank or heater holds: its coil is
// another water.
func (c *Context) storeNodes(p *schema.Part) []int {
	sea := c.Sea()
	var out []int
	for _, n := range sea.NodesOf(p) {
		if !slices.ContainsFunc(sea.Nodes[n].Ways, func(w int) bool {
			ch := sea.Ways[w].Channel
			return ch != nil && ch.Type == schema.CoilWay
		}) {
			out = append(out, n)
		}
	}
	return out
}

// isShoreWater reports whether a part is where the shore's water is joined: an
// opening on deck that gives water under pressure.
func isShoreWater(p *schema.Part) bool {
	for _, o := range p.Openings() {
		if o.What == "shore water" {
			return true
		}
	}
	return false
}

// exhaustHoses are those of wet exhausts, from the engine to the outlet.
func (c *Context) exhaustHoses() map[*schema.Hose]bool {
	sea := c.Sea()
	var from []int
	for _, p := range c.fitted(schema.Engine) {
		for _, t := range p.Terminals() {
			if t.Polarity == schema.Exhaust {
				from = append(from, sea.Node(p, t.Name))
			}
		}
	}
	start := map[int]bool{}
	for _, n := range from {
		start[n] = true
	}
	return c.hosesFrom(from, trace.Walk{Through: func(w *trace.SeaWay, n int) bool {
		if w.Hose == nil {
			return !w.Part.Is(schema.Engine)
		}
		if !start[n] {
			return true
		}
		// Raw water lands on the same joint: only the exhaust's own hose counts.
		for _, e := range []schema.HoseEnd{w.Hose.From, w.Hose.To} {
			if e.Part != nil && e.Part.Is(schema.Engine) {
				t, _ := e.Part.Terminal(e.Terminal)
				return t.Polarity == schema.Exhaust
			}
		}
		return false
	}})
}
