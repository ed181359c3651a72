package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// loopTooLow judges the height of vented loops.
var loopTooLow = Rule{
	Name: "loop-too-low", Section: waterStatic,
	Asks:     "Does every vented loop between the sea and an inside opening or an engine stay above the sea by the margin in every attitude?",
	Why:      "a loop under water lets no air in: it is a piece of hose, and its air valve a leak",
	Severity: "error",
	Source:   "300 mm: published exhaust practice quoting P-1; Boat Mechanical Systems Handbook, ch. 7; 300 to 450 mm are quoted",
	Quiet:    "not for a loop in a circuit from the sea to the sea",
	Bad: `
fitout: 1
vessel: {hull: sail, beam: 3.4 m, sheer: 1.2 m}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  WC1: {kind: toilet, design: hand, rim: 0.1 m, height: -0.1 m, offset: 0.2 m}
  VL1: {kind: vented-loop, height: 0.3 m, offset: 1.2 m}
  HT1: {kind: tank, contents: black, vented: yes, height: 0.5 m, offset: 0 m}
hoses:
  - {id: H1, from: TH1, to: WC1.supply, bore: 19 mm, length: 1 m, clamps: 2}
  - {id: H2, path: [WC1.flush-out, VL1, WC1.flush], bore: 19 mm, lengths: [2 m, 2 m], clamps: 2}
  - {id: H9, from: WC1.out, to: HT1.fill, bore: 38 mm, length: 1 m, clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: sail, beam: 3.4 m, sheer: 1.2 m}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  WC1: {kind: toilet, design: hand, rim: 0.1 m, height: -0.1 m, offset: 0.2 m}
  VL1: {kind: vented-loop, height: 0.6 m, offset: 0.1 m}
  HT1: {kind: tank, contents: black, vented: yes, height: 0.5 m, offset: 0 m}
hoses:
  - {id: H1, from: TH1, to: WC1.supply, bore: 19 mm, length: 1 m, clamps: 2}
  - {id: H2, path: [WC1.flush-out, VL1, WC1.flush], bore: 19 mm, lengths: [2 m, 2 m], clamps: 2}
  - {id: H9, from: WC1.out, to: HT1.fill, bore: 38 mm, length: 1 m, clamps: 2}
`,
	Check: checkLoops,
}

func checkLoops(c *Context) {
	sea := c.Sea()
	for i := range sea.Ways {
		w := &sea.Ways[i]
		if !w.Vented() {
			continue
		}
		other := guarded(sea, w)
		if other == "" {
			continue
		}
		c.Looked("loop-too-low")
		c.judgeLoop(w, other)
	}
}

func (c *Context) judgeLoop(w *trace.SeaWay, other string) {
	at := c.Sea().Nodes[w.A].Point
	least, worst, missing := c.Margin(at)
	if least >= ventMargin()-tinyHeight {
		c.lacks("loop-too-low", missing, w.Part.ID)
		c.judgeAir(w.Part, other)
		return
	}
	where := "upright"
	if !worst.Upright() {
		where = worst.String()
	}
	c.Add(diag.Finding{
		Rule: "loop-too-low", Severity: diag.Error, Span: w.Part.At, At: []string{w.Part.ID, other}, Attitude: worst.String(),
		Value: diag.Figure(least), Limit: diag.Figure(ventMargin()), Unit: "m",
		Message: fmt.Sprintf("vented loop %s stands %s when %s; %s is asked for in every attitude to keep the sea from %s",
			w.Part.ID, againstSea(least), where, tall(ventMargin()), other),
		Risk:   "the loop is drowned or too near the water to let air in, and the line siphons into the boat",
		Do:     fmt.Sprintf("raise %s by %s, or bring it nearer the centreline", w.Part.ID, tall(ventMargin()-least)),
		Source: tables.VentMargin().Cite.String() + "; " + c.heelSource(),
	})
}

// judgeAir looks where a loop takes its air from: a line led away from its vent
// that comes out under the sea gives it water instead.
func (c *Context) judgeAir(loop *schema.Part, other string) {
	sea := c.Sea()
	node := sea.Node(loop, "vent")
	if node < 0 {
		return
	}
	t := sea.Walk([]int{node}, trace.Walk{Through: func(w *trace.SeaWay, _ int) bool { return w.Part != loop && !w.Vented() }})
	for _, m := range seaAt(sea, t) {
		least, worst, missing := c.Margin(m.Point)
		if least >= -tinyHeight {
			c.lacks("loop-too-low", missing, loop.ID, m.ID())
			continue
		}
		where := "upright"
		if !worst.Upright() {
			where = worst.String()
		}
		c.Add(diag.Finding{
			Rule: "loop-too-low", Severity: diag.Error, Span: loop.At, At: []string{loop.ID, m.ID(), other}, Attitude: worst.String(),
			Value: diag.Figure(least), Limit: diag.Figure(0.0), Unit: "m",
			Message: fmt.Sprintf("the air line of vented loop %s comes out at %s, which lies %s when %s: it lets in no air to keep the sea from %s",
				loop.ID, m.ID(), againstSea(least), where, other),
			Risk:   "the loop draws water instead of air, and the line siphons into the boat",
			Do:     fmt.Sprintf("lead the air line of %s out above the sea in every attitude, or let it end at the loop", loop.ID),
			Source: "physics; " + c.heelSource(),
		})
	}
}

// guarded returns what a vented loop keeps the sea from: an inside opening or an
// engine on the other side of it from a sea opening; "" where it is a loop of a
// circuit from the sea to the sea.
func guarded(sea *trace.Sea, loop *trace.SeaWay) string {
	side := func(from int) (hull bool, target string) {
		t := sea.Walk([]int{from}, trace.Walk{Through: func(w *trace.SeaWay, _ int) bool { return w != loop }})
		for _, st := range t.Steps {
			n := &sea.Nodes[st.Node]
			for _, m := range n.Mouths {
				hull = hull || m.Type == schema.ToSea
				if m.Type == schema.ToInside && target == "" {
					target = m.ID()
				}
			}
			if n.Part != nil && n.Part.Is(schema.Engine) && target == "" {
				target = n.Part.ID
			}
		}
		return hull, target
	}
	hullA, targetA := side(loop.A)
	hullB, targetB := side(loop.B)
	switch {
	case hullA && targetB != "":
		return targetB
	case hullB && targetA != "":
		return targetA
	}
	return ""
}
