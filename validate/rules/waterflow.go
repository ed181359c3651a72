package rules

import (
	"fmt"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/survey"
)

const waterSolved = "Water, solved"

// litres prints a flow in both systems: "11.2 L/min (2.96 gpm)".
func litres(q unit.LitrePerMin) string {
	return fmt.Sprintf("%.3g L/min (%.3g gpm)", float64(q), float64(q)/3.785411784)
}

// headText prints a head in both systems: "1.75 m (5.74 ft)".
func headText(h unit.Head) string {
	return fmt.Sprintf("%.2f m (%.2f ft)", float64(h), float64(h)/0.3048)
}

// conditions returns the conditions that flow is judged in, in file order, the
// built-in one last.
func (c *Context) conditions() []*schema.Condition { return c.Boat.Conditions }

// data reports what a judgement of the solved water went without.
func (c *Context) data(rule string, list []survey.Datum, ids ...string) {
	for _, d := range list {
		at := slices.Clone(d.IDs)
		for _, id := range ids {
			if !slices.Contains(at, id) {
				at = append(at, id)
			}
		}
		c.Missing(rule, d.Missing, d.At, at...)
	}
}

// leaning words the attitude of a run; "" upright.
func leaning(r *survey.WaterRun) string {
	if r == nil || r.Attitude.Upright() {
		return ""
	}
	return r.Attitude.String()
}

// assumed hands the defaults a circuit rests on to --verbose.
func (c *Context) assumed(w *survey.WaterState) {
	for _, k := range w.Circuits {
		for _, u := range k.Used {
			c.Default(u.At, u.What, u.Value, u.Source)
		}
	}
}

// runningPump is one running pump in one condition and attitude.
type runningPump struct {
	survey.PumpFlow
	condition *schema.Condition
	run       *survey.WaterRun
	circuit   *survey.WaterCircuit
}

// eachPump calls a judgement for every pump that runs, in every condition and
// attitude; what keeps a circuit from being solved is reported for the rule.
func (c *Context) eachPump(rule string, judge func(runningPump)) {
	for _, cond := range c.conditions() {
		for _, k := range c.Water(cond).Circuits {
			if len(k.Pumps) == 0 {
				continue
			}
			c.data(rule, k.Missing, idsOf(k.Pumps)...)
			if k.Failed != nil {
				c.unsolved(rule, k)
			}
			for _, r := range k.Runs {
				for _, p := range unique2(k.Pumps) {
					if f, ok := r.Pump(p); ok {
						c.Looked(rule)
						judge(runningPump{f, cond, r, k})
					}
				}
			}
		}
	}
}

func (c *Context) unsolved(rule string, k *survey.WaterCircuit) {
	c.Missing(rule, "a solution of the water at "+strings.Join(idsOf(k.Pumps), ", ")+" ("+k.Failed.Error()+")", k.Pumps[0].At, idsOf(k.Pumps)...)
}

func unique2(list []*schema.Part) []*schema.Part {
	var out []*schema.Part
	for _, p := range list {
		if !slices.Contains(out, p) {
			out = append(out, p)
		}
	}
	return out
}

func idsOf(list []*schema.Part) []string {
	var out []string
	for _, p := range list {
		if !slices.Contains(out, p.ID) {
			out = append(out, p.ID)
		}
	}
	return out
}

// voltsText says what a pump gets at its terminals, where that is known.
func voltsText(f survey.PumpFlow) string {
	if !f.Powered {
		return ""
	}
	return fmt.Sprintf(" at the %.1f V it gets", float64(f.Volts))
}

// conditionText names a condition in a sentence.
func conditionText(c *schema.Condition) string {
	if c == nil { // a starter motor, alone
		return "while it cranks"
	}
	if c.BuiltIn {
		return "with every load running"
	}
	return "in condition " + c.ID
}

// worst keeps the finding of each key that is furthest from its limit, in order
// of first appearance.
type worst struct {
	keys  []string
	found map[string]diag.Finding
	by    map[string]float64
}

func (w *worst) add(key string, by float64, f diag.Finding) {
	if w.found == nil {
		w.found, w.by = map[string]diag.Finding{}, map[string]float64{}
	}
	if old, ok := w.by[key]; ok && by <= old {
		return
	} else if !ok {
		w.keys = append(w.keys, key)
	}
	w.found[key], w.by[key] = f, by
}

func (w *worst) report(c *Context) {
	for _, k := range w.keys {
		c.Add(w.found[k])
	}
}
