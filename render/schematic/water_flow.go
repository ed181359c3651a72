package schematic

import (
	"fmt"
	"strings"

	"fitout/schema"
	"fitout/validate/water"
)

// workingPoint is what a pump does, or what equipment gets, in a condition.
type workingPoint struct{ condition, text string }

// working is the working point of a part in the first condition in which its
// water moves; ok is false for parts that move or need none, and where nothing
// can be computed.
func (g *waterGraph) working(p *schema.Part) (workingPoint, bool) {
	if p.Prepared || !p.Roles().Any(schema.Mover|schema.SeaUser) {
		return workingPoint{}, false
	}
	for _, c := range g.in.boat().Conditions {
		w := g.in.Survey.Water(c)
		if w == nil {
			continue
		}
		name := c.Title.Or(c.ID)
		if f, ok := w.Pump(p); ok {
			if f.State != water.Runs {
				return workingPoint{name, p.ID + " " + strings.ReplaceAll(string(f.State), "-", " ")}, true
			}
			s := fmt.Sprintf("%s %.3g L/min", p.ID, float64(f.Flow))
			if f.Heads {
				s += fmt.Sprintf(" at %.2g m", float64(f.Head))
			}
			return workingPoint{name, s}, true
		}
		if w.Of(p) == nil {
			continue
		}
		if f, ok := w.Equipment(p); ok && f.Flow > 0 && !f.OffCurve {
			s := fmt.Sprintf("%s %.3g L/min", p.ID, float64(f.Flow))
			if f.HasNeeds {
				s += fmt.Sprintf(" (needs %.3g)", float64(f.Needs))
			}
			return workingPoint{name, s}, true
		}
	}
	return workingPoint{}, false
}

// workingText is the working points of what stands on a sheet, by condition.
func (w *waterSheets) workingText(i int) string {
	ids := w.ids(&w.plan.Sheets[i])
	var order []string
	by := map[string][]string{}
	for _, p := range w.in.boat().Parts {
		if !ids[p.ID] {
			continue
		}
		if f, ok := w.working(p); ok {
			if by[f.condition] == nil {
				order = append(order, f.condition)
			}
			by[f.condition] = append(by[f.condition], f.text)
		}
	}
	var out []string
	for _, c := range order {
		out = append(out, c+": "+strings.Join(by[c], ", "))
	}
	if len(out) == 0 {
		return ""
	}
	return "Flow, computed. " + strings.Join(out, ". ")
}
