package pack

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"fitout/render/sheet"
	"fitout/schema"
	"fitout/validate/survey"
)

// frost is laying up: each low point and trapped volume, in order.
func (m *maker) frost() entry {
	e := entry{id: "card-frost", title: "Card: laying up and frost", find: "winter frost drain antifreeze lay up low point", page: true}
	e.blocks = []block{
		para("Water that cannot run out freezes and bursts what holds it. Work down the list; a line is done when its low point is dry or holds antifreeze. Ashore, leave the valves half open, so that the ball holds no water."),
		heading("Vessels"), m.frostVessels(),
		heading("Lines: what stays in them after draining"), m.frostLines(),
	}
	e.blocks = append(e.blocks, para("Open a valve on the hull only ashore, or with the hose plugged. Run antifreeze of the food-safe kind through drinking-water lines only. Pumps: run each dry for no more than a few seconds, or fill it with antifreeze. Batteries: full, and parted, lead ones freeze when empty."))
	return e
}

func (m *maker) frostVessels() block {
	var lines [][]string
	for _, p := range m.fitted() {
		r := p.Roles()
		what := ""
		switch {
		case r.Any(schema.Holding) || p.Kind.Name == "calorifier" || p.Kind.Name == "accumulator":
			what = "drain it by its lowest outlet"
		case r.Any(schema.Strainer):
			what = "shut the valve, open the lid, empty"
		case p.Kind.Name == "waterlock":
			what = "drain plug, or antifreeze by the intake"
		case r.Any(schema.Toilet):
			what = "pump dry, antifreeze in the bowl, pump through"
		case r.Any(schema.Mover) && p.Kind.Attr("duty") != nil:
			what = "drain the body, or fill with antifreeze"
		case r.Any(schema.SeaUser):
			what = "drain its exchanger, or antifreeze by its strainer until it runs out coloured"
		default:
			continue
		}
		vol := "not given"
		if p.Kind.Attr("capacity") != nil {
			if a := p.Kind.Attr("capacity"); len(a.Dims) > 0 && p.Has("capacity") && (r.Any(schema.Holding) || p.Kind.Name == "calorifier" || p.Kind.Name == "accumulator") {
				vol = fmt.Sprintf("%.0f", 1000*float64(p.Volume("capacity").V))
			}
		}
		lines = append(lines, []string{box, name(p), place(p), what, vol})
	}
	if len(lines) == 0 {
		return para("The file names no vessel that holds water.")
	}
	return table([]sheet.Column{col(""), wide("Vessel"), col("Where"), wide("Do"), num("Litres")}, lines)
}

// lowPoints are the low points of all lines, the lowest first in each line.
func (m *maker) lowPoints() []survey.LowPoint {
	var out []survey.LowPoint
	for _, l := range m.Survey.Lines() {
		low := slices.Clone(l.Low)
		slices.SortStableFunc(low, func(a, b survey.LowPoint) int { return cmp.Compare(a.Height, b.Height) })
		out = append(out, low...)
	}
	return out
}

func (m *maker) frostLines() block {
	var lines [][]string
	sum := 0.0
	for i, p := range m.lowPoints() {
		var ids []string
		for _, h := range p.Hoses {
			ids = append(ids, h.ID)
		}
		l := 1000 * float64(p.Volume)
		sum += l
		lines = append(lines, []string{box, fmt.Sprint(i + 1), p.At, m.placeOf(p.At), strings.Join(ids, ", "), fmt.Sprintf("%.2f m", float64(p.Height)), fmt.Sprintf("%.2f", l)})
	}
	missing := 0
	for _, l := range m.Survey.Lines() {
		if len(l.Missing) > 0 {
			missing++
		}
	}
	if len(lines) == 0 {
		if missing > 0 {
			return para(fmt.Sprintf("Not known: %s lack heights.", numberText(missing, "line", "lines")))
		}
		return para("No line keeps water after it has drained, as far as the file goes.")
	}
	lines = append(lines, []string{"", "", "Together", "", "", "", fmt.Sprintf("%.1f", sum)})
	if missing > 0 {
		lines = append(lines, []string{"", "", fmt.Sprintf("and %s whose heights are not given", numberText(missing, "line", "lines")), "", "", "", "?"})
	}
	return table([]sheet.Column{col(""), num("Order"), wide("Lowest at"), wide("Where"), wide("Hoses that stay full"), num("Height"), num("Litres")}, lines)
}

// placeOf says where a part or hose lies.
func (m *maker) placeOf(id string) string {
	if p := m.boat().Part(id); p != nil {
		return place(p)
	}
	for _, h := range m.hoses() {
		if h.ID != id {
			continue
		}
		for _, e := range []schema.HoseEnd{h.From, h.To} {
			if e.Part != nil && e.Part.Space != nil {
				return e.Part.Space.Name()
			}
		}
	}
	return ""
}
