package rules

// fuseExceedsWire is judged in protection.go.
var fuseExceedsWire = Rule{
	Name: "fuse-exceeds-wire", Section: "DC, static",
	Asks:     "Is each device's rating within what every conductor behind it allows, up to the next device?",
	Why:      "the wire burns before the device opens",
	Severity: "error beyond the multiple the set allows; warning (us) between 100 % and 150 % where the rating is not the next standard size",
	Source:   "33 CFR 183.455(c) with Table 5; ISO 13297 / ISO 10133 (from memory): 100 %",
	Quiet:    "not where a thin wire has a device of its own within the distance of where it begins",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, fault-current: 900 A}
  LT1: {kind: light, draw: 2 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 80 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, fault-current: 900 A}
  LT1: {kind: light, draw: 2 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 20 A}, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`,
}
