package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

// wasteDirect judges the ways of black water.
var wasteDirect = Rule{
	Name: "waste-direct", Section: waterStatic,
	Asks:     "Is every way of waste overboard kept shut by a valve that is secured?",
	Why:      "waste runs overboard where it may not, or into what is drunk",
	Severity: "error",
	Source:   "33 CFR 159.7(b), (c); Directive 2013/53/EU, Annex I A 5.8",
	Quiet:    "not past a seacock or valve with `secured`, nor a diverter secured on its other way",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  WC1: {kind: toilet, design: hand, rim: 0.4 m, height: 0.2 m, offset: 0 m}
  TH1: {kind: through-hull, service: waste, size: 1-1/2 in, height: 0.5 m, offset: 0.5 m, seacock: {id: SC1, type: flanged-ball}}
hoses:
  - {id: H1, from: WC1.out, to: TH1, bore: 38 mm, length: 2 m, clamps: 2, rating: sanitation}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  WC1: {kind: toilet, design: hand, rim: 0.4 m, height: 0.2 m, offset: 0 m}
  TH1: {kind: through-hull, service: waste, size: 1-1/2 in, height: 0.5 m, offset: 0.5 m, seacock: {id: SC1, type: flanged-ball, position: closed, secured: handle-off}}
hoses:
  - {id: H1, from: WC1.out, to: TH1, bore: 38 mm, length: 2 m, clamps: 2, rating: sanitation}
`,
	Check: checkWaste,
}

// barred reports whether a valve way is kept shut by something that has to be
// undone. A seacock that is secured and not said to be open is secured shut.
func barred(w *trace.SeaWay) bool {
	ch := w.Channel
	if ch == nil || ch.Type != schema.Valve || !ch.Secured {
		return false
	}
	if len(ch.MakesIn) == 1 && ch.MakesIn[0] == "open" {
		pos := w.Part.Word("position")
		return !pos.Given() || pos.V == "closed"
	}
	for _, m := range ch.MakesIn {
		if m == ch.Position {
			return false
		}
	}
	return true
}

func checkWaste(c *Context) {
	sea := c.Sea()
	for _, p := range c.Boat.Parts {
		if p.Prepared {
			continue
		}
		var from []int
		switch {
		case c.unknownContents(p) && !c.toiletFills(p):
			c.Missing("waste-direct", "contents of "+p.ID, p.At, p.ID)
			continue
		case p.Is(schema.Toilet):
			from = []int{sea.Node(p, "out")}
		case p.Is(schema.Holding) && contentsOf(p) == "black" && !c.toiletFills(p):
			from = sea.NodesOf(p)
		default:
			continue
		}
		c.Looked("waste-direct")
		t := sea.Walk(from, trace.Walk{
			Through: func(w *trace.SeaWay, _ int) bool {
				return !barred(w) && !(w.Part != nil && w.Part.Is(schema.Toilet)) && (w.Hose == nil || !ventHose(w.Hose))
			},
			Beyond: func(n int) bool {
				node := &sea.Nodes[n]
				return node.Part == nil || !node.Part.Is(schema.InsideOpening) && !isFresh(node.Part)
			},
		})
		for i, st := range t.Steps {
			n := &sea.Nodes[st.Node]
			if n.Part != nil && isFresh(n.Part) {
				c.addWaste(p, n.Part.ID, t.Path(i), fmt.Sprintf("waste of %s can get into fresh water at %s", p.ID, n.Part.ID),
					"what is drunk is fouled", "part the two systems: no valve is enough")
			}
			for _, m := range n.Mouths {
				if m.Type == schema.ToSea {
					c.addWaste(p, m.ID(), t.Path(i), fmt.Sprintf("%s can discharge overboard through %s with no secured valve on the way", p.ID, m.ID()),
						"waste runs overboard where it may not",
						"shut the valve and secure it: handle off, padlock or a tie that has to be cut; or lead it to a tank")
				}
			}
		}
	}
}

// toiletFills reports whether a toilet's outlet leads to a tank: the toilet is
// told then.
func (c *Context) toiletFills(tank *schema.Part) bool {
	sea := c.Sea()
	for _, w := range c.fitted(schema.Toilet) {
		t := sea.Walk([]int{sea.Node(w, "out")}, trace.Walk{Through: func(way *trace.SeaWay, _ int) bool {
			return way.Part == nil || !way.Part.Is(schema.Toilet)
		}})
		for _, n := range sea.NodesOf(tank) {
			if t.Find(n) >= 0 {
				return true
			}
		}
	}
	return false
}

// isFresh reports whether a part holds or gives drinking water.
func isFresh(p *schema.Part) bool {
	return p.Is(schema.Holding) && contentsOf(p) == "fresh" || isShoreWater(p)
}

func (c *Context) addWaste(p *schema.Part, to string, path []trace.Step, message, risk, do string) {
	ids := []string{p.ID, to}
	for _, id := range pathIDs(c.Sea(), path) {
		if id != p.ID && id != to {
			ids = append(ids, id)
		}
	}
	c.Add(diag.Finding{
		Rule: "waste-direct", Severity: diag.Error, Span: p.At, At: ids, Message: message, Risk: risk, Do: do,
		Source: "33 CFR 159.7(b), (c); Directive 2013/53/EU, Annex I A 5.8",
	})
}
