package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/source"
	"fitout/validate/trace"
)

// dryEnd looks for water ways that nothing is joined to.
var dryEnd = Rule{
	Name: "dry-end", Section: waterStatic,
	Asks:     "Is every hose, hull opening and water way that is needed joined to something?",
	Why:      "an end left off lets water out where nobody expects it: on the sea side, the sea in",
	Severity: "warning; error on the sea side",
	Source:   "common practice, no source",
	Quiet:    "not in a file without hoses; not for spare ways, an end open in a space, or a submersible pump's own intake",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  ST1: {kind: strainer, size: 3/4 in, height: -0.2 m, offset: 0 m}
hoses:
  - {id: H1, from: TH1, to: ST1.in, bore: 19 mm, length: 0.5 m, clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  ST1: {kind: strainer, size: 3/4 in, height: -0.2 m, offset: 0 m}
  P1: {kind: pump, drive: hand, duty: wash, height: 0 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, ST1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 0.5 m, 1 m], clamps: 2}
`,
	Check: checkDryEnds,
}

func checkDryEnds(c *Context) {
	if len(c.Boat.Hoses) == 0 || !hasHoses(c.Boat) {
		return
	}
	sea := c.Sea()
	for _, p := range c.Boat.Parts {
		if p.Prepared {
			continue
		}
		var open []string
		looked := false
		for _, t := range p.Terminals() {
			if t.Medium != schema.Water || !t.Needed && !p.Is(schema.Junction) {
				continue
			}
			looked = true
			if sea.Joined(p, t.Name) == 0 && !p.Is(schema.Junction) {
				open = append(open, t.Name)
			}
		}
		if looked {
			c.Looked("dry-end")
		}
		switch {
		case p.Is(schema.Junction):
			c.deadJunction(p)
		case len(open) > 0:
			c.openWays(p, open)
		case !looked && p.Is(schema.DeckOpening):
			c.looseDeckOpening(p)
		}
	}
}

// hasHoses reports whether the file has hoses of its own: without them it does
// not describe the water.
func hasHoses(b *schema.Boat) bool {
	for _, h := range b.Hoses {
		if !h.Implied {
			return true
		}
	}
	return false
}

// looseDeckOpening reports an opening on deck of several ends, any of which will do,
// that nothing is joined to: what comes in there runs into the boat.
func (c *Context) looseDeckOpening(p *schema.Part) {
	c.Looked("dry-end")
	node := -1
	for _, t := range p.Terminals() {
		if t.Medium != schema.Water {
			continue
		}
		if c.Sea().Joined(p, t.Name) > 0 {
			return
		}
		node = c.Sea().Node(p, t.Name)
	}
	c.addDry(node, p.At, []string{p.ID}, "nothing is joined to "+p.ID)
}

// openWays reports the needed ways of a part that nothing joins. A seacock on its
// through-hull is told as the through-hull's.
func (c *Context) openWays(p *schema.Part, open []string) {
	sea := c.Sea()
	node := sea.Node(p, open[0])
	ids := []string{p.ID}
	what := fmt.Sprintf("nothing is joined to %s", endList(p, open))
	if p.Host != nil {
		ids = []string{p.Host.ID, p.ID}
		what = fmt.Sprintf("nothing is joined to %s behind its seacock %s", p.Host.ID, p.ID)
	}
	if p.Is(schema.SeaOpening) {
		what = "nothing is joined to the hull opening " + p.ID
	}
	for _, n := range open {
		if i := sea.Node(p, n); i >= 0 && c.seaReaches(i) {
			node = i
		}
	}
	c.addDry(node, p.At, ids, what)
}

func endList(p *schema.Part, terminals []string) string {
	var list []string
	for _, t := range terminals {
		if t == "" {
			list = append(list, p.ID)
			continue
		}
		list = append(list, p.ID+"."+t)
	}
	return named(list)
}

// deadJunction reports a tee or manifold with fewer than two ways: the hose to it
// goes nowhere.
func (c *Context) deadJunction(p *schema.Part) {
	sea := c.Sea()
	total := 0
	for _, t := range p.Terminals() {
		total += sea.Joined(p, t.Name)
	}
	if total >= 2 {
		return
	}
	node := sea.NodesOf(p)[0]
	ids, what := []string{p.ID}, p.ID+" joins nothing"
	for _, w := range sea.Nodes[node].Ways {
		if h := sea.Ways[w].Hose; h != nil {
			ids, what = []string{h.ID, p.ID}, fmt.Sprintf("hose %s goes nowhere: nothing else is joined to %s", h.ID, p.ID)
		}
	}
	c.addDry(node, p.At, ids, what)
}

func (c *Context) addDry(node int, at source.Span, ids []string, what string) {
	f := diag.Finding{
		Rule: "dry-end", Severity: diag.Warning, Span: at, At: ids, Message: what,
		Risk: "water runs out there, or equipment runs dry", Do: "join it, or mark the part prepared: yes and cap it",
		Source: "common practice, no source",
	}
	if node >= 0 && c.seaReaches(node) {
		f.Severity = diag.Error
		f.Message += ", and the sea can get there"
		f.Risk = "the sea runs in through the open end"
	}
	c.Add(f)
}

// seaReaches reports whether a joint is joined to a sea opening that lies under
// water in some attitude, or whose height is not known.
func (c *Context) seaReaches(node int) bool {
	sea := c.Sea()
	for _, m := range seaAt(sea, sea.Walk([]int{node}, trace.Walk{})) {
		under, known, _ := c.Submerged(m.Point)
		if under || !known {
			return true
		}
	}
	return false
}
