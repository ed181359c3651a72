package rules

import (
	"fmt"
	"math"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/trace"
)

var enginesNotJoined = Rule{
	Name: "engines-not-joined", Section: "DC, static",
	Asks:     "Are engines with grounded cranking motors joined by a conductor that carries cranking current?",
	Why:      "the cranking current of one engine looks for its way through fuel lines, controls and thin bonding wires",
	Severity: "error",
	Source:   "33 CFR 183.415; E-11 11.5.4.4",
	Quiet:    "one ground part for both is one block; batteries whose negatives are joined by cables as thick as the starters' own join them too; insulated starters need nothing",
	Bad: `
fitout: 1
parts:
  EP: {kind: engine, title: Port engine, fuel: diesel}
  ES: {kind: engine, title: Starboard engine, fuel: diesel}
  G1: {kind: ground, engine: EP}
  G2: {kind: ground, engine: ES}
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 700 A}
  B2: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 700 A}
  S1: {kind: switch, title: Port, rating: 300 A, space: cabin}
  S2: {kind: switch, title: Starboard, rating: 300 A, space: cabin}
  ST1: {kind: starter, draw: 200 A, engine: EP}
  ST2: {kind: starter, draw: 200 A, engine: ES}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, S1, ST1.+], size: 50 mm2, lengths: [0.6 m, 1 m]}
  - {id: 2, from: ST1.-, to: G1, size: 50 mm2, length: 0.2 m}
  - {id: 3, from: B1.-, to: G1, size: 50 mm2, length: 1 m}
  - {id: 4, path: [B2.+, S2, ST2.+], size: 50 mm2, lengths: [0.6 m, 1 m]}
  - {id: 5, from: ST2.-, to: G2, size: 50 mm2, length: 0.2 m}
  - {id: 6, from: B2.-, to: G2, size: 50 mm2, length: 1 m}
  - {id: 7, from: G1, to: G2, size: 10 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  EP: {kind: engine, title: Port engine, fuel: diesel}
  ES: {kind: engine, title: Starboard engine, fuel: diesel}
  G1: {kind: ground, engine: EP}
  G2: {kind: ground, engine: ES}
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 700 A}
  B2: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 700 A}
  S1: {kind: switch, title: Port, rating: 300 A, space: cabin}
  S2: {kind: switch, title: Starboard, rating: 300 A, space: cabin}
  ST1: {kind: starter, draw: 200 A, engine: EP}
  ST2: {kind: starter, draw: 200 A, engine: ES}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, S1, ST1.+], size: 50 mm2, lengths: [0.6 m, 1 m]}
  - {id: 2, from: ST1.-, to: G1, size: 50 mm2, length: 0.2 m}
  - {id: 3, from: B1.-, to: G1, size: 50 mm2, length: 1 m}
  - {id: 4, path: [B2.+, S2, ST2.+], size: 50 mm2, lengths: [0.6 m, 1 m]}
  - {id: 5, from: ST2.-, to: G2, size: 50 mm2, length: 0.2 m}
  - {id: 6, from: B2.-, to: G2, size: 50 mm2, length: 1 m}
  - {id: 7, from: G1, to: G2, size: 50 mm2, length: 2 m}
`,
	Check: checkEnginesNotJoined,
}

func checkEnginesNotJoined(c *Context) {
	var starters []*trace.Edge
	c.eachEdge(trace.Load, schema.DC, func(_ int, e *trace.Edge) {
		cranks := e.Part.Is(schema.Cranking) || e.Part.Is(schema.Engine)
		if cranks && c.Net.Nodes[e.B].Grounded && c.Joined(e.A) && c.Joined(e.B) {
			starters = append(starters, e)
		}
	})
	if len(starters) < 2 {
		return
	}
	metal := func(e *trace.Edge) bool { return e.Type == trace.Conductor || e.Type == trace.Series }
	// From the first starter: all must be joined, so each must be joined to it.
	first := starters[0]
	w := c.widestFrom([]int{first.B}, metal)
	told := map[*schema.Wire]bool{} // a thin conductor parts all behind it: one cause
	for _, e := range starters[1:] {
		c.Looked("engines-not-joined")
		if e.B == first.B || sameEngine(first.Part, e.Part) {
			continue
		}
		needed, unknown := c.crankingSize(first, e)
		got := w.area[e.B]
		if unknown == nil {
			unknown = w.unsure[e.B]
		}
		if got > 0 && (math.IsInf(got, 1) || unknown != nil && got >= needed) {
			if unknown != nil {
				c.Missing("engines-not-joined", "size of wire "+unknown.Ref(), unknown.At, unknown.Ref())
			}
			continue
		}
		if got >= needed*0.999 && got > 0 {
			continue
		}
		thin := w.thinnestTo(c, e.B)
		if thin != nil && told[thin] {
			continue
		}
		told[thin] = true
		c.reportEngines(first, e, got, needed, thin)
	}
}

func sameEngine(a, b *schema.Part) bool {
	ra, rb := a.Refs("engine"), b.Refs("engine")
	return len(ra) > 0 && len(rb) > 0 && ra[0] == rb[0]
}

// crankingSize is the copper that counts as cranking size: what the thicker fed
// of the two starters has at its own terminals.
func (c *Context) crankingSize(a, b *trace.Edge) (area float64, unknown *schema.Wire) {
	for _, e := range []*trace.Edge{a, b} {
		_, size, u := thickest(c.wiresAt(e.A))
		area = math.Max(area, float64(size))
		if size == 0 && u != nil {
			unknown = u
		}
	}
	return area, unknown
}

func (c *Context) reportEngines(a, b *trace.Edge, got, needed float64, thin *schema.Wire) {
	f := diag.Finding{Rule: "engines-not-joined", Severity: diag.Error, Span: b.Part.At, At: []string{a.Part.ID, b.Part.ID},
		Risk:   "cranking current of one engine runs through fuel lines, controls and bonding wires of the other",
		Do:     fmt.Sprintf("join the two engine blocks by a conductor of %s", unit.MetricSize(unit.SquareMM(needed))),
		Source: c.LawSource("183.415") + "; E-11 11.5.4.4"}
	if thin != nil {
		f.Span = thin.At
		f.At = []string{thin.Ref(), a.Part.ID, b.Part.ID}
		f.Message = fmt.Sprintf("the grounded starters %s and %s are joined by wire %s of %s only; their own cables are %s", a.Part.ID, b.Part.ID, thin.Ref(), thin.Size.V, unit.MetricSize(unit.SquareMM(needed)))
		f.Value, f.Limit, f.Unit = diag.Figure(got), diag.Figure(needed), "mm²"
	} else {
		f.Message = fmt.Sprintf("the grounded starters %s and %s have no common conductor", a.Part.ID, b.Part.ID)
	}
	c.Add(f)
}
