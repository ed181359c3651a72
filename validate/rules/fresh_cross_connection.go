package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

// freshCrossConnection judges whether sea or waste can reach drinking water.
var freshCrossConnection = Rule{
	Name: "fresh-cross-connection", Section: waterStatic,
	Asks:     "Is drinking water parted from the sea and from waste by an air gap or by a valve that joins only one at a time?",
	Why:      "a valve left open or a check valve that sticks fouls the tank and all who drink from it",
	Severity: "error",
	Source:   "plumbing codes and H-23 (from memory)",
	Quiet:    "not across a basin or bowl (an air gap), a diverter that joins one way at a time, or a water maker",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  FT1: {kind: tank, contents: fresh, capacity: 200 L, vented: yes, height: 0 m, offset: 0 m}
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  V1: {kind: valve, size: 3/4 in, height: 0 m, offset: 0 m}
  T1: {kind: tee, height: 0 m, offset: 0 m}
  P1: {kind: pump, drive: hand, duty: wash, height: 0 m, offset: 0 m}
  TP1: {kind: washdown, height: 0.9 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, V1, T1], bore: 19 mm, lengths: [1 m, 1 m], clamps: 2}
  - {id: H2, from: FT1.outlet, to: T1, bore: 19 mm, length: 1 m}
  - {id: H3, path: [T1, P1, TP1.in], bore: 19 mm, lengths: [1 m, 1 m]}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  FT1: {kind: tank, contents: fresh, capacity: 200 L, vented: yes, height: 0 m, offset: 0 m}
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  D1: {kind: diverter, height: 0 m, offset: 0 m}
  P1: {kind: pump, drive: hand, duty: wash, height: 0 m, offset: 0 m}
  TP1: {kind: washdown, height: 0.9 m, offset: 0 m}
hoses:
  - {id: H1, from: TH1, to: D1.a, bore: 19 mm, length: 1 m, clamps: 2}
  - {id: H2, from: FT1.outlet, to: D1.b, bore: 19 mm, length: 1 m}
  - {id: H3, path: [D1.common, P1, TP1.in], bore: 19 mm, lengths: [1 m, 1 m]}
`,
	Check: checkCrossConnection,
}

func checkCrossConnection(c *Context) {
	c.floodDefaults()
	sea := c.Sea()
	for _, p := range c.Boat.Parts {
		if !p.Prepared && c.unknownContents(p) {
			c.Missing("fresh-cross-connection", "contents of "+p.ID, p.At, p.ID)
		}
		if p.Prepared || !isFresh(p) {
			continue
		}
		c.Looked("fresh-cross-connection")
		t := sea.Walk(c.storeNodes(p), trace.Walk{
			// Not through the bowl; a toilet's own pump is no barrier.
			Through: func(w *trace.SeaWay, _ int) bool {
				return w.Part == nil || !w.Part.Is(schema.Toilet) || w.Channel != nil && w.Channel.Type == schema.PumpWay
			},
			Beyond: func(n int) bool { return !c.airGap(n) },
		})
		for i, st := range t.Steps {
			c.judgeCross(p, &sea.Nodes[st.Node], t.Path(i))
		}
	}
}

// unknownContents reports whether a tank with hoses does not say what it holds.
func (c *Context) unknownContents(p *schema.Part) bool {
	return p.Is(schema.Holding) && p.Kind.Attr("contents") != nil && contentsOf(p) == "" && c.Sea().HosesAt(p) > 0
}

// airGap reports whether a joint ends a water system: a basin, a bowl, a tap, or
// another store, which is judged by itself. A tap fed by two lines is none: with
// its spout shut the one pushes into the other.
func (c *Context) airGap(n int) bool {
	node := &c.Sea().Nodes[n]
	if node.Part != nil && runsOut(node.Part) && c.Sea().HosesAt(node.Part) > 1 {
		return false
	}
	return node.Part == nil || isVessel(node) || isFresh(node.Part) || node.Part.Is(schema.SeaOpening)
}

func (c *Context) judgeCross(p *schema.Part, n *trace.SeaNode, path []trace.Step) {
	what := ""
	switch q := n.Part; {
	case q == nil || q == p:
		return
	case q.Is(schema.Toilet) && n.Terminals[0] == "out":
		what = "waste of " + q.ID
	case q.Is(schema.Holding) && (contentsOf(q) == "black" || contentsOf(q) == "grey"):
		what = "the " + contentsOf(q) + " water of " + q.ID
	}
	for _, m := range n.Mouths {
		if m.Type != schema.ToSea {
			continue
		}
		under, known, missing := c.Submerged(m.Point)
		if !under && known {
			return
		}
		if !under && m.Part.Word("service").V != "intake" {
			c.lacks("fresh-cross-connection", missing, m.ID(), p.ID)
			return
		}
		what = "the sea at " + m.ID()
	}
	if what == "" {
		return
	}
	ids := []string{p.ID, n.ID()}
	for _, id := range pathIDs(c.Sea(), path) {
		if id != p.ID && id != n.ID() {
			ids = append(ids, id)
		}
	}
	c.Add(diag.Finding{
		Rule: "fresh-cross-connection", Severity: diag.Error, Span: p.At, At: ids,
		Message: fmt.Sprintf("%s can get into the fresh water of %s: nothing but valves or check valves parts them", what, p.ID),
		Risk:    "what is drunk is fouled",
		Do:      "part them by an air gap, or by a diverter that joins one at a time",
		Source:  "plumbing codes and H-23 (from memory)",
	})
}
