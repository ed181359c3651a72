package rules

// fuseTooFar is judged in protection.go.
var fuseTooFar = Rule{
	Name: "fuse-too-far", Section: "DC, static",
	Asks:     "Does the device stand within the set's distance of the source, measured along the conductor?",
	Why:      "the stretch ahead of the device is fed by the whole source if it chafes through",
	Severity: "error; warning between practice and law at a battery; note for a sheathed run without its reason",
	Source:   "33 CFR 183.455(b) 7 in and 40 in, 183.460(a) 72 in (from memory); ISO 10133 8.1 200 mm (from memory); ISO 13297:2020 12.3 and 13.2.2",
	Quiet:    "a switch, a stud or a shunt does not reset the length; a tap of a cranking feed is measured from its lug",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, fault-current: 900 A}
  LT1: {kind: light, draw: 2 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 2.5 mm2, lengths: [2.1 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, fault-current: 900 A}
  LT1: {kind: light, draw: 2 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 10 A}, LT1.+], size: 2.5 mm2, lengths: [0.17 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
}
