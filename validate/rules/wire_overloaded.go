package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/tables"
)

var wireOverloaded = Rule{
	Name: "wire-overloaded", Section: dcSolved,
	Asks:     "Does every conductor carry what flows in it, in the worst condition?",
	Why:      "it runs hotter than its insulation allows, for as long as the load runs, and no device need open",
	Severity: "error",
	Source:   "33 CFR 183.425 Table 5 with its notes; ISO 13297 / ISO 10133 (from memory)",
	Quiet:    "starter motors are left out: the law exempts cranking conductors; parallel conductors carry together; on AC a watt counts as a volt-ampere unless a power factor is stated, and a source gives no more than its limit",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 400 Ah, cranking: 500 A}
  HT1: {kind: heater, draw: 30 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 40 A}, HT1.+], size: 14 AWG, insulation: 60 °C, lengths: [0.1 m, 0.3 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 8 AWG, length: 0.4 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 400 Ah, cranking: 500 A}
  HT1: {kind: heater, draw: 30 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 40 A}, HT1.+], size: 8 AWG, lengths: [0.1 m, 0.3 m]}
  - {id: 2, from: HT1.-, to: B1.-, size: 8 AWG, length: 0.4 m}
`,
	Check: checkWireOverloaded,
}

func checkWireOverloaded(c *Context) {
	c.dcDefaults()
	worst := c.worstByEdge()
	type key struct {
		run  string
		size unit.SquareMM
	}
	spoken := map[key]int{}
	for _, w := range c.Boat.Wires {
		id, ok := c.Net.WireEdge[w]
		if !ok || id < 0 || w.Medium != schema.DC {
			continue
		}
		c.Looked("")
		x := worst[id]
		if x.amps < calm || isLink(w) && !w.Size.Given() {
			continue
		}
		f, found := c.overloaded(w, x)
		if !found {
			continue
		}
		run := w.Path
		if w.Circuit != nil {
			run = w.Circuit.ID
		}
		k := key{run, w.Size.V.Area}
		if at, twice := spoken[k]; twice && run != "" {
			c.found[at].At = append(c.found[at].At, w.Ref())
			continue
		}
		spoken[k] = len(c.found)
		f.Fix = c.thicker([]*schema.Wire{w}, c.carries(x.amps))
		c.Add(f)
	}
	c.eachDC(func(_ *schema.Condition, d *survey.DCState) { c.lackDC("", d) })
	c.acWires()
}

// overloaded judges one conductor under every set and keeps the worst.
func (c *Context) overloaded(w *schema.Wire, x worstAmps) (f diag.Finding, found bool) {
	n := unit.Amp(max(1, w.Parallel.Or(1)))
	share := 1.0
	for _, set := range c.Sets() {
		a, missing := c.Ampacity(w, set)
		if missing != "" {
			c.Missing("", missing, w.At, w.Ref())
			continue
		}
		limit := a.Amps * n
		if x.amps <= limit*(1+1e-9) || float64(x.amps/limit) <= share {
			continue
		}
		share, found = float64(x.amps/limit), true
		text := fmt.Sprintf("wire %s carries %s %s; %s carries %s%s", w.Ref(), amps1(x.amps), whenText(x.when, x.cond), sizeText(w, a), amps1(limit), factorsText(a))
		do := "use a thicker conductor, or take load off it"
		if size, ok := c.smallestFor(w, set, x.amps); ok {
			do = fmt.Sprintf("use %s or thicker, or take load off it", size)
		}
		f = figure(diag.Finding{Rule: "wire-overloaded", Severity: diag.Error, Span: w.At, At: []string{w.Ref()}, Message: text,
			Risk: "its insulation ages and fails while the load runs; no device need open", Do: do,
			Source: ampacityCite(a), Condition: condID(x.cond)}, x.amps, limit, "A")
	}
	return f, found
}

// sizeText words a conductor's size with the table row it was judged by.
func sizeText(w *schema.Wire, a tables.Ampacity) string {
	text := w.Size.V.String()
	if n := w.Parallel.Or(1); n > 1 {
		text = fmt.Sprintf("%d × %s", n, text)
	}
	if !a.Stated(w.Size.V) {
		text += ", as " + a.Row.Name() + ","
	}
	return text
}
