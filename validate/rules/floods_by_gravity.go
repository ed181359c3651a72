package rules

import "fitout/validate/survey"

// floodsByGravity judges every way from the sea to an opening inside that is no
// fixture's rim; see floods.go.
var floodsByGravity = Rule{
	Name: "floods-by-gravity", Section: waterStatic,
	Asks:     "Does some crest on every way from the sea to an opening inside stand above the sea in every attitude?",
	Why:      "the sea runs in by itself until the boat is as full as the water outside is high",
	Severity: "error; note where a valve on the way stands shut in every condition with people aboard",
	Source:   "water finds its level; heel by ISO 9093:2020 (summary) and H-27 (as quoted)",
	Quiet:    "not for a circuit from the sea to the sea; an idle pump, a check valve or a joker valve is never a barrier",
	Bad: `
fitout: 1
vessel: {hull: motor, length: 10 m}
spaces:
  bilge: {title: Bilge, bilge: yes}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.5 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, duty: transfer, drive: hand, height: -0.3 m, offset: 0 m}
hoses:
  - {id: H1, from: TH1, to: P1.in, bore: 19 mm, length: 0.5 m, clamps: 2}
  - {id: H2, from: P1.out, to: {open: bilge, height: -0.4 m}, bore: 19 mm, length: 0.5 m, clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor, length: 10 m}
spaces:
  bilge: {title: Bilge, bilge: yes}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.5 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  P1: {kind: pump, duty: transfer, drive: hand, height: -0.3 m, offset: 0 m}
  VL1: {kind: vented-loop, height: 0.5 m, offset: 0 m}
hoses:
  - {id: H1, from: TH1, to: P1.in, bore: 19 mm, length: 0.5 m, clamps: 2}
  - {id: H2, path: [P1.out, VL1, {open: bilge, height: -0.4 m}], bore: 19 mm, lengths: [1 m, 1 m], clamps: 2}
`,
	Check: func(c *Context) {
		c.floodDefaults()
		for _, g := range c.floodsOf(func(f *survey.Flood) bool { return c.byGravity(f) && !rimOf(f.Inside) }) {
			c.addGravity("floods-by-gravity", g)
		}
		c.doubtsOf("floods-by-gravity", func(d *survey.Doubt) bool { return c.gravityDoubt(d) && !rimOf(d.Inside) })
		for range c.Floods().Pairs {
			c.Looked("floods-by-gravity")
		}
	},
}
