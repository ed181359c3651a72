package schematic

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	waterlayout "fitout/layout/water"
	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
)

// waterCaution stands on the water sheets: what they cannot show.
const waterCaution = "Drawn from the owner's description; heights above the waterline at rest, places along the boat not shown. Check aboard before work. Local codes and licensed practice come first."

// Water draws the water of a boat: every hull opening to its last fitting, in
// order of height against the waterline. A boat without hoses and without hull
// openings has no water sheet.
func Water(in Input) ([]sheet.Page, error) {
	if len(in.Papers) == 0 {
		return nil, fmt.Errorf("water sheets: no paper to draw on")
	}
	g := newWaterGraph(in, false)
	if len(g.graph.Boxes) == 0 {
		return nil, nil
	}
	w := chooseWater(g, in.Papers)
	if w.err == nil && w.cramped() && len(in.Larger) > 0 {
		if t := chooseWater(g, append(slices.Clone(in.Papers), in.Larger...)); t.err == nil && !t.cramped() {
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

// legendShare is the share of the rows, one in so many, kept free for a few lines
// of findings whether or not there are any: a finding more or less then moves
// nothing.
const legendShare = 10

// tightPrice is what small letters must save to be worth it.
const tightPrice = 10

// waterSheets is a boat's water laid out on paper.
type waterSheets struct {
	*waterGraph
	frames []sheet.Frame
	by     cutting
	plan   waterlayout.Plan
	cuts   map[string]string
	price  int
	full   bool // the usual rows of the legend are needed for the bands
	err    error
}

// chooseWater lays a boat out in the plainest way; where hoses had to be cut for
// want of room, or cross more than they should, also with services drawn apart
// and with smaller letters, and keeps what reads best. Then the legends get the
// room they need.
func chooseWater(g *waterGraph, papers []sheet.Paper) *waterSheets {
	var frames []sheet.Frame
	for _, p := range papers {
		frames = append(frames, sheet.NewFrame(p))
	}
	plain := &waterSheets{waterGraph: g, frames: frames, by: cuttings[0]}
	plain.lay(nil, true)
	if plain.err != nil {
		return plain
	}
	tried := []*waterSheets{plain}
	if !plain.good() {
		tight := newWaterGraph(g.in, true)
		list := []*waterSheets{{waterGraph: tight, frames: frames, by: cuttings[0]}}
		last := 0
		for _, by := range cuttings[1:] {
			_, marks, _ := g.cut(by)
			if len(marks) == last {
				continue // cuts nothing more
			}
			last = len(marks)
			list = append(list, &waterSheets{waterGraph: g, frames: frames, by: by}, &waterSheets{waterGraph: tight, frames: frames, by: by})
		}
		var wg sync.WaitGroup
		for _, w := range list {
			wg.Go(func() { w.lay(nil, true) })
		}
		wg.Wait()
		for _, w := range list { // in order, whichever was ready first
			if w.tight {
				w.price += tightPrice
			}
			if w.err == nil {
				tried = append(tried, w)
			}
		}
	}
	slices.SortStableFunc(tried, func(a, b *waterSheets) int { return a.price - b.price })
	best := tried[0]
	best.finish()
	if rest := tried[1:min(finished, len(tried))]; !best.fine() {
		var wg sync.WaitGroup
		for _, w := range rest {
			wg.Go(w.finish)
		}
		wg.Wait()
		for _, w := range rest { // in order, whichever was ready first
			if w.err == nil && w.price < best.price {
				best = w
			}
			if best.fine() {
				break
			}
		}
	}
	if best.cramped() {
		best.full = true
		best.lay(nil, false)
	}
	return best.withLegends()
}

// finish draws a rough plan out.
func (w *waterSheets) finish() {
	w.lay(nil, false)
	if w.tight {
		w.price += tightPrice
	}
}

// withLegends lays the plan out again, lower, until every legend fits.
func (w *waterSheets) withLegends() *waterSheets {
	for range 3 {
		if w.err != nil {
			return w
		}
		feet, fit := w.feet()
		if fit {
			return w
		}
		w.lay(feet, false)
	}
	return w
}

// finished is how many plans are drawn out at most, where a sheet of the first does
// not read as it should.
const finished = 3

// fine reports whether no sheet has more than 2 crossings or more than 1.8 bends a
// hose.
func (w *waterSheets) fine() bool {
	return !slices.ContainsFunc(w.plan.Sheets, func(s waterlayout.Sheet) bool {
		b, runs := s.Bends()
		return s.Crossings() > 2 || 10*b > 18*runs
	})
}

// good reports whether nothing is left to wish for: no hose cut for want of
// room, few crossings, everything in its place.
func (w *waterSheets) good() bool {
	crossings := 0
	for _, s := range w.plan.Sheets {
		crossings += s.Crossings()
		for _, b := range s.Bands {
			for _, x := range b.Boxes {
				if x.Mark != "" {
					return false
				}
			}
		}
	}
	return len(w.plan.Problems) == 0 && crossings <= 2*len(w.plan.Sheets)
}

// lay runs the layout with rows kept free for the key and the legend, and those of
// feet on each sheet of the plan as it is; a rough plan is enough to compare with
// others.
func (w *waterSheets) lay(feet []int, rough bool) {
	g, marks, _ := w.cut(w.by)
	g.Rough = rough
	if w.plan.Sheets != nil {
		g.Like, g.Feet = &w.plan, feet
	}
	for _, f := range w.frames {
		cols, rows := f.GridSize()
		key := w.keyRows(f)
		keep := 0
		if !w.full {
			keep = rows / legendShare
		}
		g.Pages = append(g.Pages, waterlayout.Size{W: cols, H: max(rows-key-keep, 12)})
	}
	w.plan, w.err = waterlayout.Layout(g)
	w.cuts = marks
	w.price = w.planPrice()
	dropPassing(&w.plan)
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
	water := w.rules[f.Rule]
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
