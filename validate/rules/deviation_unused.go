package rules

// deviationUnused is judged where deviations are matched with findings, after
// every other rule has spoken.
var deviationUnused = Rule{
	Name: "deviation-unused", Section: "The boat as a whole",
	Asks:     "Does every accepted deviation still accept something?",
	Why:      "a deviation that accepts nothing would hide a later finding unseen",
	Severity: "note", Source: "good order, no source",
	Bad: `
fitout: 1
deviations:
  - {rule: no-label, at: F9, why: "old", by: "owner, 2026-05-02"}
parts:
  BP: {kind: bus, title: Positive bus}
`,
	Good: `
fitout: 1
parts:
  BP: {kind: bus, title: Positive bus}
`,
}
