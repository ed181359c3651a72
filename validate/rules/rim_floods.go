package rules

import "fitout/validate/survey"

// rimFloods judges every way from the sea to the rim of a fixture; see floods.go.
var rimFloods = Rule{
	Name: "rim-floods", Section: waterStatic,
	Asks:     "Does the rim of every sink, bowl, tray and pan that a drain joins to the sea stay above it in every attitude?",
	Why:      "the fixture fills through its own drain and runs over into the boat",
	Severity: "error; note where a valve on the way stands shut in every condition with people aboard",
	Source:   "water finds its level; heel by ISO 9093:2020 (summary) and H-27 (as quoted)",
	Quiet:    "not where a crest on the way stands above the sea in every attitude: siphon-path judges that",
	Bad: `
fitout: 1
vessel: {hull: sail, beam: 3.4 m, sheer: 1 m}
parts:
  TH1: {kind: through-hull, service: drain, size: 1-1/2 in, height: -0.2 m, offset: -0.9 m, seacock: {id: SC1, type: flanged-ball}}
  SK1: {kind: sink, title: Galley sink, rim: 0.35 m, offset: -1.0 m}
hoses:
  - {id: H1, from: SK1, to: TH1, bore: 38 mm, length: 1 m, clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: sail, beam: 3.4 m, sheer: 1 m}
parts:
  TH1: {kind: through-hull, service: drain, size: 1-1/2 in, height: -0.2 m, offset: -0.3 m, seacock: {id: SC1, type: flanged-ball}}
  SK1: {kind: sink, title: Galley sink, rim: 0.35 m, offset: -0.4 m}
hoses:
  - {id: H1, from: SK1, to: TH1, bore: 38 mm, length: 1 m, clamps: 2}
`,
	Check: func(c *Context) {
		c.floodDefaults()
		for _, g := range c.floodsOf(func(f *survey.Flood) bool { return c.byGravity(f) && rimOf(f.Inside) }) {
			c.addGravity("rim-floods", g)
		}
		c.doubtsOf("rim-floods", func(d *survey.Doubt) bool { return c.gravityDoubt(d) && rimOf(d.Inside) })
		for range c.Floods().Pairs {
			c.Looked("rim-floods")
		}
	},
}
