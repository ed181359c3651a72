package schematic

import (
	"fmt"
	"slices"
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
	if len(in.Papers) == 0 {
		return nil, fmt.Errorf("water sheets: no paper to draw on")
	}
	w := &waterSheets{waterGraph: newWaterGraph(in, false)}
	if len(w.graph.Boxes) == 0 {
		return nil, nil
	}
	w.choose(in.Papers)
	if w.err == nil && w.poor() {
		t := &waterSheets{waterGraph: newWaterGraph(in, true)}
		if t.choose(in.Papers); t.err == nil && t.price+tightPrice < w.price {
			w = t
		}
	}
	if w.err == nil && w.cramped() && len(in.Larger) > 0 {
		t := &waterSheets{waterGraph: w.waterGraph}
		if t.choose(append(slices.Clone(in.Papers), in.Larger...)); t.err == nil && !t.cramped() {
			w = t
		}
	}
	if w.err != nil {
		return nil, fmt.Errorf("water sheets: %w", w.err)
	}
	var out []sheet.Page
	for i := range w.plan.Sheets {
		out = append(out, w.page(i))
	}
	return out, nil
}

// tightPrice is what small letters must save to be worth it.
const tightPrice = 10

// waterSheets is a boat's water laid out on paper.
type waterSheets struct {
	*waterGraph
	frames []sheet.Frame
	plan   waterlayout.Plan
	cuts   map[string]cutMark
	price  int
	err    error
}

// choose lays the boat out, and once more where the legends need room.
func (w *waterSheets) choose(papers []sheet.Paper) {
	w.frames = nil
	for _, p := range papers {
		w.frames = append(w.frames, sheet.NewFrame(p))
	}
	legend := 0
	for range 3 {
		if !w.lay(legend) {
			return
		}
		need := w.feetFit()
		if need <= legend {
			return
		}
		legend = need
	}
}

// poor reports whether hoses were cut for want of room, or something did not
// fit.
func (w *waterSheets) poor() bool {
	for _, s := range w.plan.Sheets {
		for _, b := range s.Bands {
			for _, x := range b.Boxes {
				if x.Mark != "" {
					return true
				}
			}
		}
	}
	return len(w.plan.Problems) > 0
}

// lay runs the layout with rows kept free for the key and the legend.
func (w *waterSheets) lay(legend int) bool {
	var pages []waterlayout.Size
	for _, f := range w.frames {
		cols, rows := f.GridSize()
		key := w.keyRows(f)
		pages = append(pages, waterlayout.Size{W: cols, H: max(rows-key-min(legend, rows/3), 12)})
	}
	found := false
	for _, by := range cuttings {
		g, marks, cut := w.cut(by)
		if !cut && found {
			continue // nothing to cut: the plan is the first one's
		}
		g.Pages = pages
		plan, err := waterlayout.Layout(g)
		if err != nil {
			w.err = err
			return false
		}
		if price := planPrice(&plan, len(marks)); !found || price < w.price {
			w.plan, w.cuts, w.price, found = plan, marks, price, true
		}
	}
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
			seen[serviceName(w.styles[hoseOfRun(r.ID)])] = true
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
			out[hoseOfRun(r.ID)] = true
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

// hoseOfRun is the hose that a run of the plan is a piece of.
func hoseOfRun(run string) string { return strings.TrimSuffix(run, secondPiece) }
