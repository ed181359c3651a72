package rules

// unfusedRun speaks for the walk that all four protection rules share; see
// protection.go.
var unfusedRun = Rule{
	Name: "unfused-run", Section: "DC, static",
	Asks:     "Does every conductor that a source can push current into meet a fuse or breaker on its way?",
	Why:      "a chafed wire with no device in it is fed by the whole source until it burns",
	Severity: "error",
	Source:   "33 CFR 183.455(a), 183.460(a) (from memory); ISO 13297 / ISO 10133 8.1 (from memory)",
	Quiet:    "not for the feed of a cranking motor and pigtails under 7 in (noted as exemption-used), links of a bank up to the plain distance, and sources whose own limit the wire carries",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, fault-current: 900 A}
  LT1: {kind: light, draw: 2 A}
wires:
  - {id: 1, from: B1.+, to: LT1.+, size: 2.5 mm2, length: 2 m}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, fault-current: 900 A}
  LT1: {kind: light, draw: 2 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
	Check: checkProtection,
}
