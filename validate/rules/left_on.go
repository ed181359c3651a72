package rules

var leftOn = Rule{
	Name: "left-on", Section: boatSection,
	Asks:     "Is everything shut and off that can be, when nobody is aboard?",
	Why:      "a hose comes off, or a load empties the bank that the bilge pump lives on, and nobody sees it",
	Severity: "warning",
	Source:   "insurers' counts of dockside sinkings; owners' leaving lists; common practice, no source",
	Quiet:    "cockpit drains and scuppers, bilge discharges and the seacocks of what runs in the condition stay open",
	Bad: `
fitout: 1
vessel: {hull: motor, length: 6 m}
spaces: {cabin: {title: Cabin}}
parts:
  TH1: {kind: through-hull, service: intake, space: cabin, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, title: Wash, type: flanged-ball}}
  P1: {kind: pump, drive: hand, duty: wash, height: 0 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 2, rating: below waterline}
conditions:
  away: {title: Away, unattended: yes, hours: 14 d}
`,
	Good: `
fitout: 1
vessel: {hull: motor, length: 6 m}
spaces: {cabin: {title: Cabin}}
parts:
  TH1: {kind: through-hull, service: intake, space: cabin, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, title: Wash, type: flanged-ball}}
  P1: {kind: pump, drive: hand, duty: wash, height: 0 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, P1, WD1.in], bore: 19 mm, lengths: [0.5 m, 1 m], clamps: 2, rating: below waterline}
conditions:
  away: {title: Away, unattended: yes, hours: 14 d, closed: [SC1]}
`,
	Check: checkLeftOn,
}

func checkLeftOn(c *Context) {
	c.leftOnValves()
	c.leftOnBattery()
}
