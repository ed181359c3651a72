package rules

import (
	"fmt"
	"math"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

const dcSolved = "DC, solved"

// calm is the current under which nothing is judged.
const calm unit.Amp = 1e-3

// eachDC visits every condition with its solved state, starter motors left out
// of the built-in one. It is nil where a battery is shorted: one cause, which
// short-circuit names; what waits for it is not checked.
func (c *Context) eachDC(visit func(*schema.Condition, *survey.DCState)) {
	for _, cond := range c.Conditions() {
		d := c.Judged(cond)
		if d.Shorted() {
			c.lackShorted(cond)
			d = nil
		}
		visit(cond, d)
	}
}

// eachCranking visits every starter motor of known draw with the state in which
// it runs alone.
func (c *Context) eachCranking(visit func(*schema.Part, *survey.DCState)) {
	c.eachEdge(trace.Load, schema.DC, func(_ int, e *trace.Edge) {
		l := e.Branch.Load
		if !e.Part.Is(schema.Cranking) || !l.Amps.Given() && !l.Watts.Given() || !c.Joined(e.A) || !c.Joined(e.B) {
			return
		}
		if d := c.Cranking(e.Part); d != nil && !d.Shorted() {
			visit(e.Part, d)
		}
	})
}

// lackDC reports, for a rule, the data without which a condition has no figure.
func (c *Context) lackDC(rule string, d *survey.DCState) {
	if d == nil || d.Solved() {
		return
	}
	for _, g := range d.Missing {
		c.Missing(rule, g.What, g.At, g.IDs...)
	}
	if d.Trouble != nil && d.Condition != nil {
		c.Missing(rule, "a solution of condition "+d.Condition.ID, d.Condition.At, d.Condition.ID)
	}
}

// lackShorted reports that a condition has no figure while a battery is shorted.
func (c *Context) lackShorted(cond *schema.Condition) {
	c.Missing("", "a solution of condition "+cond.ID+" without the short circuit", cond.At, cond.ID)
}

// dcDefaults names the documented defaults that the solution relied on.
func (c *Context) dcDefaults() {
	c.eachDC(func(_ *schema.Condition, d *survey.DCState) {
		if d == nil {
			return
		}
		for _, u := range d.Used {
			c.Default(u.At, u.What, u.Value, u.Source)
		}
	})
}

// devicePart is the id of a device, with the way of a panel: "F1", "DP.3".
func edgeName(e *trace.Edge) string {
	if e.Branch != nil && e.Branch.Way != "" {
		return e.Part.ID + "." + e.Branch.Way
	}
	return e.Part.ID
}

// abs of a current.
func absAmp(a unit.Amp) unit.Amp { return unit.Amp(math.Abs(float64(a))) }

func amps1(a unit.Amp) string {
	switch x := math.Abs(float64(a)); {
	case x >= 1000:
		return fmt.Sprintf("%.2f kA", x/1000)
	case x >= 100:
		return fmt.Sprintf("%.0f A", x)
	case x >= 0.1:
		return fmt.Sprintf("%.1f A", x)
	default:
		return fmt.Sprintf("%.0f mA", x*1000)
	}
}

func volts2(v unit.Volt) string { return fmt.Sprintf("%.2f V", float64(v)) }

func percent1(r float64) string { return fmt.Sprintf("%.1f %%", 100*r) }

func hoursText(h unit.Hour) string {
	switch x := float64(h); {
	case math.IsInf(x, 1):
		return "any time"
	case x >= 72:
		return fmt.Sprintf("%.1f days", x/24)
	case x >= 1:
		return fmt.Sprintf("%.1f h", x)
	default:
		return fmt.Sprintf("%.0f min", x*60)
	}
}

// worstAmps is the greatest current of an edge over the conditions.
type worstAmps struct {
	amps unit.Amp
	cond *schema.Condition
	d    *survey.DCState
	when string // words the state where no condition does
}

// whenText words the state of a figure: as given, else by its condition.
func whenText(when string, cond *schema.Condition) string {
	if when != "" {
		return when
	}
	return conditionText(cond)
}

// worstByEdge finds, for every DC edge, the condition in which it carries most,
// the first of equals.
func (c *Context) worstByEdge() []worstAmps {
	list := make([]worstAmps, len(c.Net.Edges))
	c.eachDC(func(cond *schema.Condition, d *survey.DCState) {
		if !d.Bounded() {
			return
		}
		for id := range c.Net.Edges {
			if c.Net.Edges[id].Medium != schema.DC {
				continue
			}
			a, ok := d.EdgeAmps(id)
			if a = absAmp(a); ok && a > list[id].amps*(1+1e-9) {
				list[id] = worstAmps{amps: a, cond: cond, d: d}
			}
		}
	})
	return list
}

// loadsBehind collects the loads that hang on one side of a device and are fed
// through it alone; ok is false where a source or battery stands there too.
func (c *Context) loadsBehind(device, side int) (loads []*trace.Edge, ok bool) {
	if at := c.DeviceSides(false).Of(device, side); at.Loop || at.Source {
		return nil, false
	}
	n := c.Net
	seen := map[int]bool{side: true}
	work := []int{side}
	for len(work) > 0 {
		v := work[len(work)-1]
		work = work[:len(work)-1]
		for _, id := range n.Nodes[v].Edges {
			e := &n.Edges[id]
			if id == device || e.Medium != schema.DC {
				continue
			}
			switch e.Type {
			case trace.Load, trace.ConvertIn:
				loads = append(loads, e)
			case trace.Conductor, trace.Series, trace.Device, trace.Contact:
				if w := e.Other(v); !seen[w] {
					seen[w] = true
					work = append(work, w)
				}
			}
		}
	}
	return loads, true
}

// factorsText names the corrections of an ampacity: " (engine space × 0.85)".
func factorsText(a tables.Ampacity) string {
	var parts []string
	for _, f := range a.Factors {
		parts = append(parts, fmt.Sprintf("%s × %.2f", f.Why, f.Value))
	}
	if len(parts) == 0 {
		return ""
	}
	return " (" + strings.Join(parts, ", ") + ")"
}

func ampacityCite(a tables.Ampacity) string {
	text := a.Cite.String()
	for _, f := range a.Factors {
		text += "; " + f.Why + ": " + f.Cite.String()
	}
	return text
}

// smallestFor is the thinnest size of the set's table that carries a current on
// a conductor's run.
func (c *Context) smallestFor(w *schema.Wire, set tables.Set, amps unit.Amp) (unit.Size, bool) {
	for _, size := range tables.SizesFor(set) {
		try := *w
		try.Size = schema.Of(size, schema.Derived)
		if a, missing := c.Ampacity(&try, set); missing == "" && a.Amps*unit.Amp(max(1, w.Parallel.Or(1))) >= amps {
			return size, true
		}
	}
	return unit.Size{}, false
}

// condID is the condition of a finding.
func condID(c *schema.Condition) string {
	if c == nil {
		return ""
	}
	return c.ID
}

// figure fills the figures of a finding.
func figure[T ~float64](f diag.Finding, value, limit T, in string) diag.Finding {
	f.Value, f.Limit, f.Unit = diag.Figure(value), diag.Figure(limit), in
	return f
}

func unitAmp(m float64) unit.Amp { return unit.Amp(m) }

// shortedAtRest reports whether a battery's posts are joined through no load as the
// contacts usually stand: one cause, which short-circuit names; what a rule would
// have told is not checked.
func (c *Context) shortedAtRest() bool {
	g := c.Groups(func(e *trace.Edge) bool {
		return e.Medium == schema.DC && (e.Type == trace.Device || survey.Setting(nil).Passes(e))
	})
	shorted := false
	c.eachEdge(trace.Battery, schema.DC, func(_ int, e *trace.Edge) {
		if e.A != e.B && g.Same(e.A, e.B) {
			shorted = true
			c.Missing("", "a solution of the boat without the short circuit of "+e.Part.ID, e.Part.At, e.Part.ID)
		}
	})
	return shorted
}
