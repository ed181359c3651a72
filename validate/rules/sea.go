package rules

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/survey"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

const waterStatic = "Water, static"

// tinyHeight absorbs the noise of binary fractions in comparisons of heights and
// bores.
const tinyHeight = 1e-9

// tall prints a length as the trade does in both systems: "299 mm (11.8 in)",
// "1.25 m (4.10 ft)". Only the size is printed, not the sign.
func tall[T ~float64](h T) string {
	m := math.Round(math.Abs(float64(h))*1000) / 1000
	if m >= 1 {
		return fmt.Sprintf("%.2f m (%.2f ft)", m, m/0.3048)
	}
	return fmt.Sprintf("%.0f mm (%.1f in)", m*1000, m/0.0254)
}

// againstSea words a height: "120 mm (4.7 in) under the sea", "… above the sea".
func againstSea[T ~float64](h T) string {
	if h < 0 {
		return tall(h) + " under the sea"
	}
	return tall(h) + " above the sea"
}

// millimetres prints a bore.
func millimetres(m unit.Metre) string { return fmt.Sprintf("%.4g mm", float64(m)*1000) }

// lacks reports each datum a rule went without.
func (c *Context) lacks(rule string, list []survey.Lack, ids ...string) {
	for _, l := range list {
		at := []string{l.Of}
		for _, id := range ids {
			if !slices.Contains(at, id) {
				at = append(at, id)
			}
		}
		c.Missing(rule, l.Name, l.At, at...)
	}
}

// floodDefaults names the documented defaults that every flooding judgement
// rests on.
func (c *Context) floodDefaults() {
	v := c.Boat.Vessel
	if len(c.Sea().Hull)+len(c.Sea().Holes) == 0 {
		return
	}
	if !v.Heel.Given() {
		if !v.Hull.Given() {
			c.Default("vessel", "hull", "motor, which is judged at 7° of heel", "documented default")
		}
		for _, set := range c.Sets() {
			h := c.Heel(set)
			if h.Assumed {
				c.Default("vessel", "heel", h.Angle.String()+" ("+set.String()+"), for want of sheer and beam", h.Cite.String())
				continue
			}
			c.Default("vessel", "heel", h.Angle.String()+" ("+set.String()+")", h.Cite.String())
		}
	}
	if !v.Laden.Given() {
		c.Default("vessel", "laden", "0 m: the static waterline", "documented default")
	}
	if !v.Trim.Given() {
		c.Default("vessel", "trim", "0°", "documented default")
	}
	for _, s := range c.Sea().Screwed {
		c.Default(s.Part.ID, "height", "that of "+s.To.ID+", which it is screwed to", "length: 0 is a close nipple")
	}
}

// heelSource names where the angles of heel come from.
func (c *Context) heelSource() string {
	var list []string
	for _, set := range c.Sets() {
		if s := c.Heel(set).Cite.String(); !slices.Contains(list, s) {
			list = append(list, s)
		}
	}
	return "heel: " + strings.Join(list, "; ")
}

// attitudeWords says in which attitudes something happens: the worst, and both
// tacks where it is both.
func attitudeWords(worst survey.Attitude, all []survey.Attitude) string {
	if worst.Upright() {
		return "upright"
	}
	other := slices.ContainsFunc(all, func(a survey.Attitude) bool { return a.Heel == -worst.Heel && a.Trim == worst.Trim })
	if worst.Heel != 0 && other && worst.Trim == 0 {
		return "heeled " + unit.Degree(math.Abs(float64(worst.Heel))).String() + " to either side"
	}
	return worst.String()
}

// bilgeWay reports whether a way from the sea runs back through a bilge pump.
func bilgeWay(sea *trace.Sea, path []trace.Step) bool {
	for i, st := range path {
		if st.Way < 0 {
			continue
		}
		w := &sea.Ways[st.Way]
		if p := w.Pump(); p != nil && p.Duty == "bilge" && path[i-1].Node == w.B {
			return true
		}
	}
	return false
}

// pathIDs names a way: the hoses first, then the parts between the ends.
func pathIDs(sea *trace.Sea, path []trace.Step) []string {
	var hoses, parts []string
	add := func(list []string, id string) []string {
		if slices.Contains(list, id) {
			return list
		}
		return append(list, id)
	}
	for _, st := range path {
		if st.Way >= 0 && sea.Ways[st.Way].Hose != nil && !sea.Ways[st.Way].Hose.Implied {
			hoses = add(hoses, sea.Ways[st.Way].Hose.ID)
		}
		if n := &sea.Nodes[st.Node]; n.Part != nil {
			parts = add(parts, n.Part.ID)
		}
	}
	return append(hoses, parts...)
}

// named joins ids in a sentence: "TH1", "TH1 and TH2", "TH1, TH2 and TH3".
func named(ids []string) string {
	switch len(ids) {
	case 0:
		return ""
	case 1:
		return ids[0]
	}
	return strings.Join(ids[:len(ids)-1], ", ") + " and " + ids[len(ids)-1]
}

// hoseWords names hoses: "hose H1", "hoses H1a and H1b".
func hoseWords(ids []string) string {
	if len(ids) == 1 {
		return "hose " + ids[0]
	}
	return "hoses " + named(ids)
}

func partIDs(list []*schema.Part) []string {
	var out []string
	for _, p := range list {
		out = append(out, p.ID)
	}
	return out
}

// mouthWords names an opening: "the rim of SK1", "the open end of H3 in the
// engine space".
func mouthWords(m *trace.Mouth) string {
	if m.Part == nil {
		return "the open end of " + m.Hose.ID + " in " + m.Space.Name()
	}
	return "the " + m.What + " of " + m.Part.ID
}

// rimOf reports whether an opening is a fixture's rim or bowl.
func rimOf(m *trace.Mouth) bool {
	switch m.What {
	case "rim", "bowl", "grating", "condensate pan":
		return true
	}
	return false
}

func ventMargin() float64 { return float64(tables.VentMargin().Margin) }

// fitted parts with a role, in file order.
func (c *Context) fitted(r schema.Role) []*schema.Part {
	var out []*schema.Part
	for _, p := range c.Boat.Parts {
		if !p.Prepared && p.Is(r) {
			out = append(out, p)
		}
	}
	return out
}

// seaAt returns the sea openings at the joints of a trail, in the order met.
func seaAt(sea *trace.Sea, t *trace.Trail) []*trace.Mouth {
	var out []*trace.Mouth
	for _, st := range t.Steps {
		for _, m := range sea.Nodes[st.Node].Mouths {
			if m.Type == schema.ToSea && !slices.Contains(out, m) {
				out = append(out, m)
			}
		}
	}
	return out
}
