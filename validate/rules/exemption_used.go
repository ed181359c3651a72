package rules

// exemptionUsed lists the exemptions of the protection rules; judged in
// protection.go.
var exemptionUsed = Rule{
	Name: "exemption-used", Section: "DC, static",
	Asks:     "Which conductors go without a device because the law exempts them?",
	Why:      "an exempt run has nothing but its route and its guards to protect it",
	Severity: "note",
	Source:   "33 CFR 183.460(a) and 183.455(e) (from memory)",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: flooded, volts: 12 V, capacity: 80 Ah, cranking: 700 A}
  ST1: {kind: starter, draw: 200 A}
  G: {kind: ground}
wires:
  - {id: 1, path: [B1.+, {S1: {kind: switch, rating: 300 A}}, ST1.+], size: 50 mm2, lengths: [0.6 m, 1 m]}
  - {id: 2, from: ST1.-, to: G, size: 50 mm2, length: 0.2 m}
  - {id: 3, from: B1.-, to: G, size: 50 mm2, length: 1 m}
`,
	Good: `
fitout: 1
parts:
  BP: {kind: bus, title: Positive bus}
`,
}
