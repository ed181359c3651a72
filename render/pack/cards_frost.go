package pack

import (
	"cmp"
	"fmt"
	"math"
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
	if b := m.frostAfloat(); b != nil {
		e.blocks = append(e.blocks, heading("Afloat: what stands above a valve on the hull"), b)
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
		vol := "" // of a pump or strainer no file can tell
		if r.Any(schema.Holding) || slices.Contains([]string{"calorifier", "accumulator", "waterlock"}, p.Kind.Name) {
			vol = "not given"
			if a := p.Kind.Attr("capacity"); a != nil && len(a.Dims) > 0 && p.Has("capacity") {
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
		return para("No line keeps water once both its ends are open and it has drained, as far as the file goes.")
	}
	lines = append(lines, []string{"", "", "Together", "", "", "", fmt.Sprintf("%.1f", sum)})
	if missing > 0 {
		lines = append(lines, []string{"", "", fmt.Sprintf("and %s whose heights are not given", numberText(missing, "line", "lines")), "", "", "", "?"})
	}
	return table([]sheet.Column{col(""), num("Order"), wide("Lowest at"), wide("Where"), wide("Hoses that stay full"), num("Height"), num("Litres")}, lines)
}

// frostAfloat are the lines that drain through the hull: with her afloat their
// valve is shut, and what would run out ashore stands above it. The low points
// are counted in their own table. Nil when there is none.
func (m *maker) frostAfloat() block {
	var lines [][]string
	for _, l := range m.Survey.Lines() {
		v, hull := m.valveOf(l)
		if v == nil || hull.Height().Given() && hull.Height().V >= 0 {
			continue
		}
		var ids []string
		litres, known := 0.0, true
		for _, h := range l.Hoses {
			if !slices.Contains(m.hoses(), h) {
				continue // the joint of a valve with its own opening
			}
			if slices.ContainsFunc(l.Low, func(p survey.LowPoint) bool { return slices.Contains(p.Hoses, h) }) {
				continue
			}
			ids = append(ids, h.ID)
			known = known && h.Bore.Given() && h.Length.Given()
			litres += 1000 * math.Pi / 4 * float64(h.Bore.V) * float64(h.Bore.V) * float64(h.Length.V)
		}
		if len(ids) == 0 {
			continue
		}
		most := "bore or length not given"
		if known {
			most = fmt.Sprintf("%.2f", litres)
		}
		do := "shut it, take the hose off above it into a bucket, or fill with antifreeze"
		if m.drainsOutside(v) {
			do = "leave it open, rain must run out; what stands in it is sea: keep ice from round her, or lift her out"
		}
		lines = append(lines, []string{box, name(v), place(v), strings.Join(ids, ", "), do, most})
	}
	if len(lines) == 0 {
		return nil
	}
	return table([]sheet.Column{col(""), wide("Valve"), col("Where"), wide("Hoses"), wide("Do"), num("Litres, at most")}, lines)
}

// valveOf is the valve on the hull that ends a line, and its opening.
func (m *maker) valveOf(l survey.Line) (valve, hull *schema.Part) {
	for _, h := range l.Hoses {
		for _, e := range []schema.HoseEnd{h.From, h.To} {
			switch p := e.Part; {
			case p == nil:
			case p.Cock != nil:
				return p.Cock, p
			case p.Host != nil && p.Is(schema.Seacock):
				return p, p.Host
			}
		}
	}
	return nil, nil
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
