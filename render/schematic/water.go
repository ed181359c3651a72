package schematic

import (
	"fmt"
	"strings"

	waterlayout "fitout/layout/water"
	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/validate/rules"
)

// waterCaution stands on the water sheets: what they cannot show.
const waterCaution = "Drawn from the owner's description; heights are above the waterline at rest, places along the boat are not shown. Check against the boat before work. Local codes and licensed practice come first."

// Water draws the water of a boat: every hull opening to its last fitting, in
// order of height against the waterline. A boat without hoses and without hull
// openings has no water sheet.
func Water(in Input) ([]sheet.Page, error) {
	g := newWaterGraph(in)
	if len(g.graph.Boxes) == 0 {
		return nil, nil
	}
	w := &waterSheets{waterGraph: g}
	papers := append(append([]sheet.Paper(nil), in.Papers...), in.Larger...)
	if len(in.Papers) == 0 {
		return nil, fmt.Errorf("water sheets: no paper to draw on")
	}
	w.choose(papers)
	var out []sheet.Page
	for i := range w.plan.Sheets {
		out = append(out, w.page(i))
	}
	return out, nil
}

// waterSheets is a boat's water laid out on paper.
type waterSheets struct {
	*waterGraph
	frames []sheet.Frame
	plan   waterlayout.Plan
	err    error
}

// choose lays the boat out, larger where a sheet of the usual sizes cannot hold
// what stands above one another, and once more where the legends need room.
func (w *waterSheets) choose(papers []sheet.Paper) {
	usual := len(w.in.Papers)
	for _, n := range []int{usual, len(papers)} {
		w.frames = nil
		for _, p := range papers[:n] {
			w.frames = append(w.frames, sheet.NewFrame(p))
		}
		legend := 0
		for range 3 {
			if !w.lay(legend) {
				return
			}
			need := w.feetFit()
			if need <= legend {
				break
			}
			legend = need
		}
		if !w.cramped() {
			return
		}
	}
}

// lay runs the layout with rows kept free for the key and the legend.
func (w *waterSheets) lay(legend int) bool {
	g := w.graph
	g.Pages = nil
	for _, f := range w.frames {
		cols, rows := f.GridSize()
		key := w.keyRows(f)
		g.Pages = append(g.Pages, waterlayout.Size{W: cols, H: max(rows-key-min(legend, rows/3), 12)})
	}
	g.Lines = nil
	plan, err := waterlayout.Layout(g)
	if err != nil {
		w.err = err
		return false
	}
	w.plan = plan
	return true
}

// cramped reports whether something did not fit on the paper.
func (w *waterSheets) cramped() bool {
	for _, p := range w.plan.Problems {
		if p.Kind == "height" || p.Kind == "width" {
			return true
		}
	}
	return false
}

func (w *waterSheets) frame() sheet.Frame { return w.frames[w.plan.Page] }

// page draws one sheet of the plan.
func (w *waterSheets) page(i int) sheet.Page {
	f := w.frame()
	s := &w.plan.Sheets[i]
	p := sheet.Page{ID: "water", Document: "Water diagram", Caution: waterCaution, Frame: f, Title: w.title(s)}
	if i > 0 {
		p.ID = fmt.Sprintf("water-%d", i+1)
	}
	p.Desc = "Water circuits on a height scale against the waterline at rest: " + p.Title
	places := w.places(i)
	for k := range s.Bands {
		p.Items = append(p.Items, w.drawBand(&s.Bands[k], f.Origin(), places))
	}
	p.Items = append(p.Items, places.marks()...)
	p.Items = append(p.Items, w.foot(i, places)...)
	return p
}

// title says what is on a sheet by the services that run on it.
func (w *waterSheets) title(s *waterlayout.Sheet) string {
	seen := map[string]bool{}
	for _, b := range s.Bands {
		for _, r := range b.Runs {
			seen[serviceName(w.styles[r.ID])] = true
		}
	}
	var names []string
	for _, n := range serviceNames {
		if seen[n] {
			names = append(names, n)
		}
	}
	switch {
	case len(names) == 0:
		return "Water: hull openings"
	case len(w.plan.Sheets) == 1 && len(names) > 2:
		return "Water: all circuits"
	case len(names) > 3:
		names = names[:3]
	}
	t := "Water: " + names[0]
	for _, n := range names[1:] {
		t += ", " + n
	}
	return t
}

// serviceNames in the order of titles.
var serviceNames = []string{"sea water", "exhaust", "bilge", "toilet", "fresh water", "drains", "coolant"}

func serviceName(s draw.Style) string {
	switch s {
	case draw.Sea, draw.Discharge:
		return "sea water"
	case draw.Exhaust:
		return "exhaust"
	case draw.Bilge:
		return "bilge"
	case draw.Waste:
		return "toilet"
	case draw.Fresh, draw.Hot:
		return "fresh water"
	case draw.Coolant:
		return "coolant"
	case draw.Drain, draw.GreyWater:
		return "drains"
	}
	return ""
}

// ids are what stands on a sheet: parts and hoses.
func (w *waterSheets) ids(s *waterlayout.Sheet) map[string]bool {
	out := map[string]bool{}
	for _, b := range s.Bands {
		for _, x := range b.Boxes {
			out[x.ID] = true
		}
		for _, r := range b.Runs {
			out[r.ID] = true
		}
	}
	return out
}

// onSheet are the findings that concern something on the sheet and water.
func (w *waterSheets) onSheet(i int) []numbered {
	ids := w.ids(&w.plan.Sheets[i])
	var out []numbered
	for _, f := range w.in.findings() {
		if id := w.place(f, ids); id != "" {
			out = append(out, f)
		}
	}
	return out
}

// place is the id that a finding is marked at on a sheet that holds ids; empty
// where it belongs to another sheet: findings of water rules, and those that
// concern water parts alone.
func (w *waterSheets) place(f numbered, ids map[string]bool) string {
	r, _ := rules.Named(f.Rule)
	water := strings.HasPrefix(r.Section, "Water")
	for _, id := range f.At {
		if p := w.in.boat().Part(id); p != nil {
			water = water || onlyWater(p)
		} else {
			water = water || w.hoses[id] != nil
		}
	}
	if !water {
		return ""
	}
	for _, id := range f.At {
		if ids[id] {
			return id
		}
	}
	return ""
}

// onlyWater reports whether a part has no electrical terminal.
func onlyWater(p *schema.Part) bool {
	for _, t := range p.Terminals() {
		if t.Medium != schema.Water {
			return false
		}
	}
	return true
}
