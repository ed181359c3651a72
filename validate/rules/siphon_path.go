package rules

import (
	"fmt"
	"slices"

	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// siphonPath judges ways that rise above the sea and end below it without a
// vented loop; see floods.go.
var siphonPath = Rule{
	Name: "siphon-path", Section: waterStatic,
	Asks:     "Does every way that rises over the sea and ends inside below it pass a vented loop?",
	Why:      "once primed, the line draws the sea over its crest without end; height alone breaks no siphon on a boat",
	Severity: "error; note where a valve on the way stands shut in every condition with people aboard",
	Source:   "physics: a crest up to 10 m holds; common practice, toilets: ISO 8099-1:2018 6.1 (summary)",
	Quiet:    "not for a circuit from the sea to the sea, nor where gravity alone floods already; a bilge discharge that goes under only when the boat heels is bilge-discharge-low's, a loop that is too low loop-too-low's",
	Bad: `
fitout: 1
vessel: {hull: motor, length: 10 m}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, duty: wash, design: diaphragm, height: -0.1 m, offset: 0 m}
  WC1: {kind: toilet, design: hand, rim: -0.05 m, height: -0.3 m, offset: 0 m}
  HT1: {kind: tank, contents: black, vented: yes, height: 0.5 m, offset: 0 m}
hoses:
  - {id: H1, from: TH1, to: P1.in, bore: 19 mm, length: 1 m, clamps: 2}
  - {id: H2, from: P1.out, to: WC1.flush, bore: 19 mm, length: 2 m, peak: 0.5 m, clamps: 2}
  - {id: H9, from: WC1.out, to: HT1.fill, bore: 38 mm, length: 1 m, clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor, length: 10 m}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, duty: wash, design: diaphragm, height: -0.1 m, offset: 0 m}
  VL1: {kind: vented-loop, height: 0.5 m, offset: 0 m}
  WC1: {kind: toilet, design: hand, rim: -0.05 m, height: -0.3 m, offset: 0 m}
  HT1: {kind: tank, contents: black, vented: yes, height: 0.5 m, offset: 0 m}
hoses:
  - {id: H1, from: TH1, to: P1.in, bore: 19 mm, length: 1 m, clamps: 2}
  - {id: H2, path: [P1.out, VL1, WC1.flush], bore: 19 mm, lengths: [1 m, 1 m], clamps: 2}
  - {id: H9, from: WC1.out, to: HT1.fill, bore: 38 mm, length: 1 m, clamps: 2}
`,
	Check: checkSiphon,
}

func checkSiphon(c *Context) {
	c.floodDefaults()
	// As with gravity: what siphons back through a bilge pump only when the boat
	// heels is bilge-discharge-low's.
	own := func(path []trace.Step) bool { return bilgeWay(c.Sea(), path) }
	for _, g := range c.floodsOf(func(f *survey.Flood) bool {
		return f.Type == survey.Siphon && (f.Worst.Upright() || !own(f.Path))
	}) {
		c.addSiphon(g)
	}
	c.doubtsOf("siphon-path", func(d *survey.Doubt) bool { return d.Type == survey.Siphon && !own(d.Path) })
	for range c.Floods().Pairs {
		c.Looked("siphon-path")
	}
}

func (c *Context) addSiphon(g *floodGroup) {
	var hulls []string
	for _, m := range g.hulls {
		if !slices.Contains(hulls, m.ID()) {
			hulls = append(hulls, m.ID())
		}
	}
	f := diag.Finding{
		Rule: "siphon-path", Severity: diag.Error, Span: g.Inside.Span(), Attitude: g.Worst.String(),
		At: floodIDs(c.Sea(), g, hulls), Value: diag.Figure(-g.Depth), Limit: diag.Figure(0.0), Unit: "m",
		Message: fmt.Sprintf("%s, a siphon can draw the sea in through %s over %s to %s, which lies %s; no vented loop breaks it",
			attitudeWords(g.Worst, g.Attitudes), named(hulls), c.crestWords(g), mouthWords(g.Inside), againstSea(-g.Depth)),
		Risk: "once water has run, it goes on running with every pump off until the boat is full",
		Do: fmt.Sprintf("fit a vented loop at the crest, at least %s above the sea in every attitude, between the pump and the opening",
			tall(ventMargin())),
		Source: "physics; margin: " + tables.VentMargin().Cite.String() + "; " + c.heelSource(),
	}
	if len(g.Shut) > 0 {
		c.onlyOpened(&f, g)
	}
	c.Add(f)
}

// crestWords names the highest place on the way with its height above the sea.
func (c *Context) crestWords(g *floodGroup) string {
	sea, best, where := c.Sea(), -1e9, ""
	see := func(l survey.Level, name string) {
		if l.Known() && l.Lo-c.Laden() > best {
			best, where = l.Lo-c.Laden(), name
		}
	}
	for _, st := range g.Path {
		n := &sea.Nodes[st.Node]
		see(c.HeightOf(n.Point, g.Worst), n.Name())
		if st.Way >= 0 && len(sea.Ways[st.Way].Peaks) > 0 {
			see(c.LowestOf(sea.Ways[st.Way].Peaks, g.Worst), "the peak of "+sea.Ways[st.Way].Hose.ID)
		}
	}
	if best <= 0 {
		return "its crest, whose height is not given,"
	}
	return fmt.Sprintf("%s (%s)", where, againstSea(best))
}
