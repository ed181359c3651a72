package rules

// protectionSum is judged in protection.go.
var protectionSum = Rule{
	Name: "protection-sum", Section: "DC, static",
	Asks:     "Where several devices feed a conductor at once, does their sum stay within what it allows?",
	Why:      "each device fits the wire alone; together they let through more than it carries",
	Severity: "error",
	Source:   "33 CFR 183.455(c); 46 CFR 111.50-3(d) for devices in parallel; ISO 13297 / ISO 10133 (from memory)",
	Quiet:    "the cheapest set counts: one device upstream of several limits them all",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  B2: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  BP: {kind: bus, title: Positive}
  BN: {kind: bus, title: Negative}
  H1: {kind: heater, draw: 60 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 80 A}, BP], size: 16 mm2, lengths: [0.15 m, 0.5 m]}
  - {id: 2, path: [B2.+, {F2: class-t 80 A}, BP], size: 16 mm2, lengths: [0.15 m, 0.5 m]}
  - {id: 3, from: BP, to: H1.+, size: 10 mm2, length: 3 m}
  - {id: 4, from: H1.-, to: BN, size: 10 mm2, length: 3 m}
  - {id: 5, from: B1.-, to: BN, size: 25 mm2, length: 0.5 m}
  - {id: 6, from: B2.-, to: BN, size: 25 mm2, length: 0.5 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  B2: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}
  BP: {kind: bus, title: Positive}
  BN: {kind: bus, title: Negative}
  H1: {kind: heater, draw: 60 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 80 A}, BP], size: 16 mm2, lengths: [0.15 m, 0.5 m]}
  - {id: 2, path: [B2.+, {F2: class-t 80 A}, BP], size: 16 mm2, lengths: [0.15 m, 0.5 m]}
  - {id: 3, from: BP, to: H1.+, size: 25 mm2, length: 3 m}
  - {id: 4, from: H1.-, to: BN, size: 25 mm2, length: 3 m}
  - {id: 5, from: B1.-, to: BN, size: 25 mm2, length: 0.5 m}
  - {id: 6, from: B2.-, to: BN, size: 25 mm2, length: 0.5 m}
`,
}
