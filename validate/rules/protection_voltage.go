package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

var protectionVoltage = Rule{
	Name: "protection-voltage", Section: "DC, static",
	Asks:     "Can every fuse, breaker and switch break the highest voltage its system reaches while charging?",
	Why:      "above its rated voltage a device draws an arc that it cannot put out",
	Severity: "error",
	Source:   "33 CFR 183.455(d) (nominal voltage; end of the sentence from memory); ISO 8820 and ISO 20934 for fuse families; charging voltages by chemistry (from memory)",
	Quiet:    "the voltage is summed along the string to the device's own joint: a tap at 12 V of a 24 V bank sees 12 V; a fuse that states none takes its family's, named as a default",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: lfp, volts: 51.2 V, capacity: 100 Ah, protection: internal, fault-current: 900 A}
  F1: {kind: fuse, title: Main, family: strip, rating: 40 A, space: cabin}
  S1: {kind: switch, title: Main switch, rating: 100 A, volts: 80 V, space: cabin}
  M1: {kind: load, draw: 10 A, volts: 48 V}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, S1, M1.+], size: 10 mm2, lengths: [0.15 m, 0.5 m, 2 m]}
  - {id: 2, from: M1.-, to: B1.-, size: 10 mm2, length: 2 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: lfp, volts: 51.2 V, capacity: 100 Ah, protection: internal, fault-current: 900 A}
  F1: {kind: fuse, title: Main, family: strip-48v, rating: 40 A, space: cabin}
  S1: {kind: switch, title: Main switch, rating: 100 A, volts: 80 V, space: cabin}
  M1: {kind: load, draw: 10 A, volts: 48 V}
spaces: {cabin: {title: Cabin}}
wires:
  - {id: 1, path: [B1.+, F1, S1, M1.+], size: 10 mm2, lengths: [0.15 m, 0.5 m, 2 m]}
  - {id: 2, from: M1.-, to: B1.-, size: 10 mm2, length: 2 m}
`,
	Check: checkProtectionVoltage,
}

// switchVolts is what a switch is taken to break where it states nothing.
const switchVolts unit.Volt = 32

func checkProtectionVoltage(c *Context) {
	st := c.AtRest()
	ungiven := c.unknownChemistry(st)
	done := map[string]bool{}
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		if e.Medium != schema.DC || e.Type != trace.Device && e.Type != trace.Contact {
			continue
		}
		name := e.Part.ID
		if e.Branch.Way != "" {
			name += "." + e.Branch.Way
		}
		if way, ok := e.Part.Way(e.Branch.Way); ok && way.Spare && !c.Joined(e.B) || done[name] {
			continue
		}
		done[name] = true
		c.Looked("protection-voltage")
		c.judgeVoltage(st, e, name, ungiven)
	}
}

// unknownChemistry tells, for a joint, what its circuit of batteries lacks for
// its highest voltage to be known.
func (c *Context) unknownChemistry(st *survey.State) func(node int) (missing string) {
	lacks := map[int]string{}
	c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) {
		p := e.Part
		switch _, known := tables.ChemistryOf(p.Word("chemistry").V); {
		case !p.Volts("volts").Given():
			lacks[st.Circuit(e.A)], lacks[st.Circuit(e.B)] = "volts of "+p.ID, "volts of "+p.ID
		case !known && !p.Volts("charge-volts").Given():
			lacks[st.Circuit(e.A)] = "chemistry of " + p.ID
		}
	})
	return func(node int) string { return lacks[st.Circuit(node)] }
}

// highestAt is the highest voltage a device at the joint may have to break:
// against ground, or between the poles of an insulated system.
func (c *Context) highestAt(st *survey.State, e *trace.Edge) unit.Volt {
	high := max(st.AboveLowest(e.A), st.AboveLowest(e.B))
	if c.Net.Nodes[e.A].Grounded || c.Net.Nodes[e.B].Grounded || high == 0 {
		high = max(st.Span(e.A), st.Span(e.B))
	}
	return high
}

func (c *Context) judgeVoltage(st *survey.State, e *trace.Edge, name string, ungiven func(int) string) {
	high := c.highestAt(st, e)
	missing := ungiven(e.A)
	if missing == "" {
		missing = ungiven(e.B)
	}
	if high <= 0 && missing == "" {
		return // no source of a known voltage
	}
	rated, known := c.ratedVolts(e, name, high)
	switch {
	case !known:
		return
	case missing != "" && high <= 0, missing != "" && rated >= high && float64(rated) < 1.25*float64(high):
		c.Missing("protection-voltage", missing, e.Part.At, e.Part.ID)
		return
	case rated >= high-1e-9:
		return
	}
	// What a panel states for all its ways is one cause.
	if d := e.Branch.Device; d != nil && d.Volts.At.Valid() && d.Volts.At == e.Part.Volts("volts").At {
		name = e.Part.ID
		if slices.ContainsFunc(c.found, func(f diag.Finding) bool {
			return f.Rule == "protection-voltage" && f.Span == e.Part.At && f.Limit != nil && *f.Limit == *diag.Figure(high)
		}) {
			return
		}
	}
	f := diag.Finding{Rule: "protection-voltage", Severity: diag.Error, Span: e.Part.At, At: []string{e.Part.ID},
		Message: fmt.Sprintf("%s is rated for %s DC; its system reaches %s while charging", name, rated, high),
		Risk:    "it draws an arc that it cannot put out",
		Do:      fmt.Sprintf("fit one rated for %s DC or more", high),
		Source:  c.LawSource("183.455(d)") + " (nominal voltage); charging voltage by chemistry (from memory)",
		Value:   diag.Figure(rated), Limit: diag.Figure(high), Unit: "V"}
	if w := c.wireTo(e.Part, e.A); w != nil {
		f.At = []string{w.Ref(), e.Part.ID}
	}
	f.Fix = stripFix(e, high)
	c.Add(f)
}

// ratedVolts is what a device states, else its family's lowest type; a switch
// that states nothing is taken for 32 V.
func (c *Context) ratedVolts(e *trace.Edge, name string, high unit.Volt) (unit.Volt, bool) {
	v, family := e.Part.Volts("volts"), ""
	if d := e.Branch.Device; d != nil {
		v, family = d.Volts, d.Family
	}
	if v.Given() {
		return v.V, true
	}
	if f, ok := tables.FuseFamily(family); ok && f.Volts > 0 {
		c.Default(name, "volts", f.Volts.String(), "lowest type of its family, "+f.Cite.String())
		return f.Volts, true
	}
	if e.Type == trace.Contact && high <= switchVolts {
		c.Default(name, "volts", switchVolts.String(), "switches of small craft, common practice, no source")
		return switchVolts, true
	}
	c.Missing("protection-voltage", "volts of "+e.Part.ID, e.Part.At, e.Part.ID)
	return 0, false
}

// stripFix replaces a bolt-on strip by the form of the same mounting that is made
// for 48 V nets: the one choice that needs no other holder.
func stripFix(e *trace.Edge, high unit.Volt) *diag.Fix {
	d := e.Branch.Device
	if d == nil || d.Family != "strip" || e.Part.Volts("volts").Given() {
		return nil
	}
	other, ok := tables.FuseFamily("strip-48v")
	family := e.Part.Word("family")
	if !ok || other.Volts < high || family.From != schema.Own || !family.At.Valid() || family.At.Text() != "strip" {
		return nil
	}
	return &diag.Fix{Title: fmt.Sprintf("make %s a strip-48v", e.Part.ID), Edits: []diag.Edit{{Span: family.At, New: "strip-48v"}}}
}
