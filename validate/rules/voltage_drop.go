package rules

import (
	"fmt"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/source"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

var voltageDrop = Rule{
	Name: "voltage-drop", Section: dcSolved,
	Asks:     "Does every load lose no more than its class allows on the way out and back, by the solution of the whole network?",
	Why:      "a dim navigation light, a radio that cannot send, a pump that runs slow",
	Severity: "warning; error for the 3 % class",
	Source:   "E-11 as published: 3 % for what must work, 10 % for the rest, of the nominal voltage; ISO 10133",
	Quiet:    "counted from the terminals of the source that feeds it, feeder and branch together",
	Bad: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  LT1: {kind: light, draw: 8 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 15 A}, LT1.+], size: 16 AWG, lengths: [0.15 m, 9 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 16 AWG, length: 9 m}
`,
	Good: `
fitout: 1
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  LT1: {kind: light, draw: 8 A}
wires:
  - {id: 1, path: [B1.+, {F1: class-t 15 A}, LT1.+], size: 12 AWG, lengths: [0.15 m, 4 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 12 AWG, length: 4 m}
`,
	Check: checkVoltageDrop,
}

// dropped is the worst drop of one load.
type dropped struct {
	edge    *trace.Edge
	part    *schema.Part
	limit   unit.Ratio
	nominal unit.Volt
	drop    survey.Drop
	cond    *schema.Condition // nil: a starter motor, alone
	when    string            // words the state where no condition does
	share   float64
}

func checkVoltageDrop(c *Context) {
	worst := map[*trace.Edge]*dropped{}
	var order []*trace.Edge
	judge := func(cond *schema.Condition, d *survey.DCState, cranks *schema.Part) {
		c.lackDC("", d)
		if d == nil {
			return
		}
		for _, x := range dropEdges(d) {
			if cranks != nil && x.part != cranks {
				continue
			}
			if worst[x.edge] == nil {
				worst[x.edge] = &dropped{edge: x.edge, part: x.part}
				order = append(order, x.edge)
			}
			if g, hidden := d.Hidden(x.edge); hidden && d.Bounded() {
				c.Missing("", g.What, g.At, g.IDs...)
				continue
			}
			if l := x.edge.Branch.Load; l != nil && l.Drop.From == schema.ByKind {
				c.Default(x.part.ID, "drop", l.Drop.Text, "its kind's class: E-11 as quoted, 3 % for what must work, 10 % for comfort")
			}
			drop, ok := d.DropTo(x.edge)
			if !ok {
				continue
			}
			nominal := x.nominal
			if nominal <= 0 {
				var known bool
				if nominal, known = c.NominalVolts(x.edge); !known {
					continue
				}
			}
			share := float64(drop.Volts) / float64(nominal)
			if w := worst[x.edge]; share > w.share {
				*w = dropped{edge: x.edge, part: x.part, limit: x.limit, nominal: nominal, drop: drop, cond: cond, share: share}
			}
		}
	}
	c.eachDC(func(cond *schema.Condition, d *survey.DCState) { judge(cond, d, nil) })
	c.eachCranking(func(p *schema.Part, d *survey.DCState) { judge(nil, d, p) })
	c.acDrops(func(x *dropped) {
		if worst[x.edge] == nil {
			worst[x.edge] = &dropped{edge: x.edge, part: x.part}
			order = append(order, x.edge)
		}
		if x.share > worst[x.edge].share {
			worst[x.edge] = x
		}
	})
	var failed []*dropped
	for _, e := range order {
		c.Looked("")
		if w := worst[e]; w.limit > 0 && w.share > float64(w.limit)*(1+1e-9) {
			failed = append(failed, w)
		}
	}
	c.reportDrops(failed)
}

// dropEdges lists the loads that run in a state, and converter inputs.
func dropEdges(d *survey.DCState) []dropped {
	var out []dropped
	for _, l := range d.Loads {
		if l.Runs && l.Data.Drop.Given() {
			out = append(out, dropped{edge: l.Edge, part: l.Part, limit: l.Data.Drop.V, nominal: l.Data.Volts.V})
		}
	}
	for _, s := range d.Sources {
		if s.Edge.Type == trace.ConvertIn {
			out = append(out, dropped{edge: s.Edge, part: s.Part, limit: survey.DropOfPart(s.Part), nominal: s.Edge.Branch.Convert.InVolts.V})
		}
	}
	return out
}

// reportDrops joins the loads of one panel whose own run is fine: there the
// feeder is the cause.
func (c *Context) reportDrops(failed []*dropped) {
	feeder := map[*schema.Part][]*dropped{}
	for _, w := range failed {
		if w.drop.Panel != nil && float64(w.drop.FromPanel)/float64(w.nominal) <= float64(w.limit) {
			feeder[w.drop.Panel] = append(feeder[w.drop.Panel], w)
		}
	}
	spoken := map[*schema.Part]bool{}
	for _, w := range failed {
		own := feeder[w.drop.Panel]
		if float64(w.drop.FromPanel)/float64(w.nominal) > float64(w.limit) || len(own) < 2 {
			c.Add(dropFinding(c, w, nil))
			continue
		}
		if spoken[w.drop.Panel] {
			continue
		}
		spoken[w.drop.Panel] = true
		first := own[0]
		for _, x := range own {
			if x.limit < first.limit || x.limit == first.limit && x.share > first.share {
				first = x
			}
		}
		c.Add(dropFinding(c, first, own))
	}
}

func dropFinding(c *Context, w *dropped, with []*dropped) diag.Finding {
	allowed := unit.Volt(float64(w.limit) * float64(w.nominal))
	severity := diag.Warning
	if w.limit <= tables.DropMustWork+1e-9 {
		severity = diag.Error
	}
	from := "the source"
	if w.drop.Source != nil {
		from = w.drop.Source.ID
	}
	text := fmt.Sprintf("%s loses %s (%s of %s) on the way from %s out and back %s; %s is allowed", w.part.Name(), volts2(w.drop.Volts), percent1(w.share), voltsShort(w.nominal), from, whenText(w.when, w.cond), percent1(float64(w.limit)))
	if w.drop.Panel != nil {
		text += fmt.Sprintf("; from %s alone it is %s (%s)", w.drop.Panel.ID, volts2(w.drop.FromPanel), percent1(float64(w.drop.FromPanel)/float64(w.nominal)))
	}
	do := "use a thicker or shorter pair"
	span, at := dropPlace(c, w)
	if with != nil {
		var names []string
		for _, x := range with {
			if x != w {
				at = append(at, x.part.ID)
				names = append(names, x.part.ID)
			}
		}
		text += "; so do " + brief(names) + ": the feeder is the cause"
		at = append(at, w.drop.Panel.ID)
		do = fmt.Sprintf("use a thicker feeder to %s and back, or take load off it", w.drop.Panel.ID)
	} else if size, ok := c.sizeForDrop(w); ok {
		do = fmt.Sprintf("use %s or thicker for the run, or a shorter one", size)
	}
	var fix *diag.Fix
	if with == nil { // which feeder, or which load to take off it, is a person's choice
		fix = c.dropFix(w)
	}
	return figure(diag.Finding{Rule: "voltage-drop", Severity: severity, Span: span, At: at, Message: text, Fix: fix,
		Risk: "it works badly or not at all, worst when the battery is low", Do: do,
		Source: "E-11 as published, on nominal voltage (ISO 10133 alike); nodal solution at working temperature", Condition: condID(w.cond)}, w.drop.Volts, allowed, "V")
}

func voltsShort(v unit.Volt) string {
	return strings.TrimSuffix(fmt.Sprintf("%.1f", float64(v)), ".0") + " V"
}

// dropPlace names the run of a load: its circuit's conductors where it has one,
// else the conductor that lands on it.
func dropPlace(c *Context, w *dropped) (span source.Span, at []string) {
	if cir := w.part.Circuit; cir != nil && len(cir.Supply) > 0 {
		last := cir.Supply[len(cir.Supply)-1]
		return last.At, []string{last.Ref(), w.part.ID, cir.ID}
	}
	if wire := c.wireTo(w.part, w.edge.A); wire != nil {
		return wire.At, []string{wire.Ref(), w.part.ID}
	}
	return w.part.At, []string{w.part.ID}
}

// sizeForDrop is the thinnest standard size that would bring a load's own run
// within its class, everything else left as it is.
func (c *Context) sizeForDrop(w *dropped) (unit.Size, bool) {
	wire := c.wireTo(w.part, w.edge.A)
	if wire == nil || !wire.Size.Given() || w.drop.FromPanel <= 0 {
		return unit.Size{}, false
	}
	rest := float64(w.drop.Volts - w.drop.FromPanel)
	spare := float64(w.limit)*float64(w.nominal) - rest
	if spare <= 0 {
		return unit.Size{}, false
	}
	need := float64(wire.Size.V.Area) * float64(w.drop.FromPanel) / spare
	set := c.Sets()[0]
	if wire.Size.V.System == unit.Metric {
		set = tables.ISO
	}
	for _, s := range tables.SizesFor(set) {
		if float64(s.Area) >= need {
			return s, true
		}
	}
	return unit.Size{}, false
}
