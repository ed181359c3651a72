package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

var wireBelowMinimum = Rule{
	Name: "wire-below-minimum", Section: "DC, static",
	Asks:     "Has every conductor at least the copper the set asks for whatever it carries?",
	Why:      "a thinner wire breaks by vibration and handling long before it is too small for its current",
	Severity: "error",
	Source:   "33 CFR 183.425(d) 18 AWG in a sheath, (e) 16 AWG alone; ISO 10133:2012 7.7, 1 mm² alone over 200 mm, else 0.75 mm²",
	Quiet:    "33 CFR 183.425(g): signal wires, electronic navigation equipment, electronic circuits under 1 A, pigtails under 7 in; areas are compared, not numbers",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  LT1: {kind: light, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 5 A}, LT1.+], size: 18 AWG, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 16 AWG, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A, fault-current: 900 A}
  LT1: {kind: light, draw: 1 A}
wires:
  - {id: 1, path: [B1.+, {F1: blade 5 A}, LT1.+], size: 16 AWG, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 16 AWG, length: 2 m}
`,
	Check: checkWireBelowMinimum,
}

func checkWireBelowMinimum(c *Context) {
	small := c.electronicNodes()
	spoken := map[string]int{} // written id and size → finding that has it
	for _, w := range c.Boat.Wires {
		id := c.Net.WireEdge[w]
		if id < 0 || isLink(w) || w.Carries.V == "signal" {
			continue
		}
		c.Looked("wire-below-minimum")
		if !w.Size.Given() || w.Size.V.IsZero() {
			c.Missing("wire-below-minimum", "size of wire "+w.Ref(), w.At, w.Ref())
			continue
		}
		e := &c.Net.Edges[id]
		for _, set := range c.Sets() {
			if set == tables.US && (small[e.A] || small[e.B]) {
				continue
			}
			if c.belowMinimum(w, set, spoken) {
				break
			}
		}
	}
}

// belowMinimum judges one conductor under one set and reports whether it spoke.
func (c *Context) belowMinimum(w *schema.Wire, set tables.Set, spoken map[string]int) bool {
	sheathed := w.Sheath.Or(false) || w.Cores.Or(1) > 1
	long := tables.MinimumConductor(set, sheathed, 100)
	if long.Meets(w.Size.V) {
		return false
	}
	short := tables.MinimumConductor(set, sheathed, 0)
	exempt := set == tables.US // pigtails
	if (exempt || short.Meets(w.Size.V)) && !w.Length.Given() {
		c.Missing("wire-below-minimum", "length of wire "+w.Ref(), w.At, w.Ref())
		return true
	}
	least := tables.MinimumConductor(set, sheathed, w.Length.V)
	if least.Meets(w.Size.V) || exempt && w.Length.V < tables.Pigtail && c.onPart(w) {
		return false
	}
	key := fmt.Sprint(writtenID(w), " ", w.Size.V.Name(), " ", least.Size.Name())
	if i, ok := spoken[key]; ok { // one written size is one cause
		c.found[i].At = appendNew(c.found[i].At, w.Ref())
		return true
	}
	spoken[key] = len(c.found)
	alone := "run alone"
	if sheathed {
		alone = "in a sheath"
	}
	src := least.Cite.String()
	if set == tables.US && !c.Binding() {
		src += " as practice"
	}
	c.Add(diag.Finding{Rule: "wire-below-minimum", Severity: diag.Error, Span: w.At, At: append([]string{w.Ref()}, ends(w)...),
		Message: fmt.Sprintf("wire %s is %s; %s is the least %s", w.Ref(), w.Size.V, least.Size.Name(), alone),
		Risk:    "so thin a wire breaks by vibration and handling",
		Do:      fmt.Sprintf("use %s or thicker", least.Size.Name()),
		Source:  src,
		Value:   diag.Figure(w.Size.V.Area), Limit: diag.Figure(least.Size.Area), Unit: "mm²"})
	return true
}

// onPart reports whether an end lands on equipment: a pigtail's own end.
func (c *Context) onPart(w *schema.Wire) bool {
	return w.From.Part.Roles().Any(schema.Load|schema.Source|schema.AlarmRole) || w.To.Part.Roles().Any(schema.Load|schema.Source|schema.AlarmRole)
}

// ends names the parts a conductor joins.
func ends(w *schema.Wire) []string {
	return ids([]*schema.Part{w.From.Part, w.To.Part})
}

// electronicNodes marks the terminals of electronic navigation equipment and of
// electronic circuits under 1 A (33 CFR 183.425(g)): by their class letter K or
// P, equipment that handles or shows information.
func (c *Context) electronicNodes() map[int]bool {
	marked := map[int]bool{}
	for i := range c.Net.Edges {
		e := &c.Net.Edges[i]
		if !draws(e) || e.Branch.Load == nil || e.Part.Is(schema.Sensing) {
			continue
		}
		class := e.Part.Kind.Class
		if class == "K" || class == "P" && loadAmps(e) < 1 {
			marked[e.A], marked[e.B] = true, true
		}
	}
	return marked
}

// loadAmps is the full draw of a load, all alike together: from watts at its own
// volts, else at 12 V.
func loadAmps(e *trace.Edge) unit.Amp {
	d := e.Branch.Load
	if d == nil {
		return 0
	}
	n := unit.Amp(max(1, d.Count))
	if d.Amps.Given() {
		return d.Amps.V * n
	}
	volts := d.Volts.Or(12)
	if !d.Watts.Given() || volts <= 0 {
		return 0
	}
	return unit.Amp(float64(d.Watts.V)/float64(volts)) * n
}

// writtenID is the id of the path or circuit in the file.
func writtenID(w *schema.Wire) string {
	if w.Circuit != nil {
		return w.Circuit.ID
	}
	return w.Path
}
