package pack

import (
	"fmt"
	"strings"

	"fitout/render/list"
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/validate/survey"
)

// openings is the emergency plan: every hole in the hull, bow to stern.
func (m *maker) openings() []section {
	s := section{id: "openings", title: "Hull openings: emergency plan", document: "Emergency plan", lying: true,
		caution: "Inflow and times are computed for the hose off and the valve open, laden and upright. They are no promise. If water gains on you, call for help first."}
	all := list.Openings(m.boat())
	if len(all) == 0 {
		s.blocks = []block{para("The file names no opening in the hull, and hardly a boat has none. Look for engine intake and exhaust, drains, bilge outlets, transducers, shaft and rudder: below the waterline and a hand above it. Write each into the file as a `through-hull` or `hull-fitting`; until then this page cannot help.")}
		return []section{s}
	}
	s.blocks = []block{
		para("Water coming in? 1. Everyone in life-jackets; call for help early. 2. Bilge pumps on. 3. Taste or feel the water: fresh and warm comes from aboard. 4. Shut the valves below, from the nearest hose that is off. 5. A valve that will not shut: pull the hose off and drive in the plug."),
		m.plan(all),
		m.openingTable(all),
		para("Time until the water stands over the valve, from the hose coming off, nothing pumping. \"Holds\" means that the water stops below it. A plug tapers from smaller to larger than the size given. Heights are from the waterline at rest."),
	}
	return []section{s}
}

func (m *maker) openingTable(all []*schema.Part) block {
	var lines [][]string
	for i, p := range all {
		valve, stands, reach := "no valve", "", ""
		stops := ""
		if c := p.Cock; c != nil {
			valve, stands = c.ID, normal(c)
			if r := c.Hours("reach"); r.Given() {
				reach = fmt.Sprintf(", %.0f s to reach", float64(r.V)*3600)
			}
			stops = m.stopsWhenShut(c)
		}
		size, plug := "not given", ""
		if v := p.Metres("size"); v.Given() {
			size, plug = v.V.BoreText(), fmt.Sprintf("%.0f", float64(v.V)*1000)
		}
		inflow, time := m.inflow(p)
		lines = append(lines, []string{fmt.Sprint(i + 1), name(p), service(p), size, height(p), valve, stands, place(p) + sideText(p) + reach, stops, inflow, time, plug})
	}
	t := table([]sheet.Column{num("No."), wide("Opening"), col("Service"), col("Size"), col("Height"), col("Valve"), col("Usually"), wide("How to reach it"), wide("Stops when shut"), num("Inflow, L/min"), col("Valve under water in"), num("Plug, mm")}, lines)
	return t
}

func sideText(p *schema.Part) string {
	o, st := p.Offset(), p.Station()
	out := ""
	switch {
	case !o.Given():
	case o.V > 0.05:
		out = ", starboard"
	case o.V < -0.05:
		out = ", port"
	default:
		out = ", middle"
	}
	if st.Given() {
		out += fmt.Sprintf(", %.1f m from the stem", float64(st.V))
	}
	return out
}

// stopsWhenShut is what a valve's closing stops.
func (m *maker) stopsWhenShut(p *schema.Part) string {
	if s := m.lossText(p, ""); s != "" {
		return strings.TrimPrefix(s, "no sea water: ")
	}
	return m.drains(p)
}

// drains says whose water leaves by a valve.
func (m *maker) drains(p *schema.Part) string {
	var out []string
	seen := map[*schema.Part]bool{p: true, p.Host: true}
	// What lies beyond the first fittings inboard is what the valve is for.
	for _, h := range m.hosesFrom(p) {
		for _, q := range h {
			if q.Roles().Any(schema.Mover|schema.InsideOpening|schema.SeaUser|schema.Holding|schema.Toilet) && !seen[q] {
				seen[q] = true
				out = append(out, name(q))
			}
		}
	}
	return strings.Join(out, "; ")
}

// hosesFrom walks inboard from a valve until equipment is met, and returns the
// parts met by way.
func (m *maker) hosesFrom(p *schema.Part) [][]*schema.Part {
	seen := map[*schema.Part]bool{p: true, p.Host: true}
	var out []*schema.Part
	queue := []*schema.Part{p}
	for i := 0; i < len(queue); i++ {
		for _, h := range m.boat().Hoses {
			for _, pair := range [2][2]*schema.Part{{h.From.Part, h.To.Part}, {h.To.Part, h.From.Part}} {
				if pair[0] != queue[i] || pair[1] == nil || seen[pair[1]] {
					continue
				}
				seen[pair[1]] = true
				out = append(out, pair[1])
				if !pair[1].Roles().Any(schema.InsideOpening | schema.SeaUser | schema.Holding | schema.Toilet | schema.SeaOpening) {
					queue = append(queue, pair[1])
				}
			}
		}
	}
	return [][]*schema.Part{out}
}

// inflow of an opening and when its valve is under water.
func (m *maker) inflow(p *schema.Part) (flow, time string) {
	f, ok := m.Survey.OpeningFigure(p)
	switch {
	case !ok:
		return "", ""
	case len(f.Missing) > 0:
		return "needs " + f.Missing[0].Missing, ""
	case f.Depth <= 0:
		return "above water", ""
	}
	flow = fmt.Sprintf("%.0f", float64(f.ShortTube))
	if p.Cock == nil {
		return flow, "no valve: plug"
	}
	for _, r := range f.Reached {
		if r.Part == p.Cock {
			if min, ok := survey.Minutes(r.ShortTube); ok {
				return flow, minutes(min)
			}
			return flow, "holds below it"
		}
	}
	if len(f.TimesMissing) > 0 {
		return flow, "needs " + f.TimesMissing[0].Missing
	}
	return flow, "not known"
}
