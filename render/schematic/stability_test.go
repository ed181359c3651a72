package schematic_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fitout/render"
	"fitout/render/svg"
	"fitout/schema"
	"fitout/schema/boattest"
	"fitout/schema/unit"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// edit is a small change to a boat: what an owner does in an evening.
type edit struct {
	name  string
	class string          // light, size, delete
	on    map[string]bool // ids of the parts and runs that it concerns
	apply func(t *testing.T, b *schema.Boat)
}

// edits lists changes to a boat: a light on every panel and bus that feeds loads, one
// size larger for some conductors, some loads taken out, up to most of each.
func edits(b *schema.Boat, rng *rand.Rand, most int) []edit {
	var lights, sizes, deletes []edit
	for i, p := range b.Parts {
		switch {
		case p.Is(schema.Panel) && !p.Is(schema.ACPart):
			if e, ok := lightOnPanel(b, i); ok {
				lights = append(lights, e)
			}
		case p.Is(schema.Load) && removable(b, p):
			deletes = append(deletes, withoutLoad(b, i))
		}
		if e, ok := lightOnBus(b, i); ok {
			lights = append(lights, e)
		}
	}
	for i, w := range b.Wires {
		if w.Medium == schema.DC && w.Size.Given() && w.From.Part != nil && w.To.Part != nil {
			sizes = append(sizes, edit{fmt.Sprintf("%s larger", w.ID), "size", map[string]bool{w.ID: true}, func(t *testing.T, b *schema.Boat) {
				b.Wires[i].Size.V, b.Wires[i].Size.Text = larger(b.Wires[i].Size.V), ""
			}})
		}
	}
	var out []edit
	for _, list := range [][]edit{lights, sizes, deletes} {
		rng.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
		out = append(out, list[:min(most, len(list))]...)
	}
	return out
}

// larger is the next of the common sizes.
func larger(s unit.Size) unit.Size {
	for _, a := range []unit.SquareMM{1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95} {
		if a > s.Area*1.01 {
			if n, err := unit.ParseSize(fmt.Sprintf("%g mm2", float64(a))); err == nil {
				return n
			}
		}
	}
	return s
}

// removable tells whether a load hangs on two conductors of its own.
func removable(b *schema.Boat, p *schema.Part) bool {
	n := 0
	for _, w := range b.Wires {
		if w.From.Part == p || w.To.Part == p {
			n++
			if w.Medium != schema.DC || w.Implied {
				return false
			}
		}
	}
	return n == 2
}

func withoutLoad(b *schema.Boat, i int) edit {
	p := b.Parts[i]
	e := edit{name: "without " + p.ID, class: "delete", on: map[string]bool{p.ID: true}}
	for _, w := range b.Wires {
		if w.From.Part == p || w.To.Part == p {
			e.on[w.ID] = true
			for _, q := range []*schema.Part{w.From.Part, w.To.Part} {
				if q.Is(schema.Panel) { // its name tells the ways without a load
					e.on[q.ID] = true
				}
			}
		}
	}
	e.apply = func(t *testing.T, b *schema.Boat) {
		p := b.Parts[i]
		b.Parts = slices.Delete(b.Parts, i, i+1)
		b.Wires = slices.DeleteFunc(b.Wires, func(w *schema.Wire) bool { return w.From.Part == p || w.To.Part == p })
	}
	return e
}

// fed finds a conductor from a panel or bus to a part, and the load's return.
func fed(b *schema.Boat, from *schema.Part, to schema.Role) (out, back *schema.Wire) {
	for _, w := range b.Wires {
		if w.Medium != schema.DC || w.From.Part == nil || w.To.Part == nil {
			continue
		}
		f, t := w.From, w.To
		if t.Part == from {
			f, t = t, f
		}
		if f.Part != from || !t.Part.Is(to) {
			continue
		}
		load := t.Part
		for range 3 {
			if load.Is(schema.Load) {
				break
			}
			load = beyond(b, load, from)
			if load == nil {
				break
			}
		}
		if load == nil || !load.Is(schema.Load) {
			continue
		}
		for _, r := range b.Wires {
			for _, ends := range [][2]schema.End{{r.From, r.To}, {r.To, r.From}} {
				if ends[0].Part == load && ends[0].Terminal == "-" && !r.Implied {
					return w, r
				}
			}
		}
	}
	return nil, nil
}

// beyond is the part at the other end of a device.
func beyond(b *schema.Boat, p, from *schema.Part) *schema.Part {
	for _, w := range b.Wires {
		if w.From.Part == p && w.To.Part != nil && w.To.Part != from {
			return w.To.Part
		}
		if w.To.Part == p && w.From.Part != nil && w.From.Part != from {
			return w.From.Part
		}
	}
	return nil
}

// newPart is a part as it stands in a file.
func newPart(t *testing.T, text string) []*schema.Part {
	return boattest.Read(t, "fitout: 1\nvessel: {name: X, hull: motor, length: 9 m}\nparts:\n  "+text+"\n").Parts
}

// addLight puts a light of the cheapest sort at the end of the file, fed from an end
// and returned where a neighbour returns.
func addLight(t *testing.T, b *schema.Boat, feed schema.End, out, back *schema.Wire) {
	n := newPart(t, "NEWL: {kind: light, title: New light, draw: 0.5 A}")
	b.Parts = append(b.Parts, n...)
	p, m := *out, *back
	p.ID, p.Path, p.Label, p.Title, p.Circuit = "NEW+", "NEW", schema.Val[string]{}, schema.Val[string]{}, nil
	m.ID, m.Path, m.Label, m.Title, m.Circuit = "NEW-", "NEW", schema.Val[string]{}, schema.Val[string]{}, nil
	p.From, p.To = feed, schema.End{Part: n[0], Terminal: "+"}
	to := back.To
	if back.To.Terminal == "-" && back.To.Part.Is(schema.Load) {
		to = back.From
	}
	m.From, m.To = schema.End{Part: n[0], Terminal: "-"}, to
	b.Wires = append(b.Wires, &p, &m)
	b.Index()
}

func lightOnPanel(b *schema.Boat, i int) (edit, bool) {
	out, _ := fed(b, b.Parts[i], 0)
	if out == nil {
		return edit{}, false
	}
	e := edit{name: "light on " + b.Parts[i].ID, class: "light", on: map[string]bool{"NEWL": true, "NEW+": true, "NEW-": true}}
	if slices.ContainsFunc(b.Parts[i].Ways, func(w schema.Way) bool { return w.Spare }) {
		e.on[b.Parts[i].ID] = true // its name tells the spare ways
	}
	e.apply = func(t *testing.T, b *schema.Boat) {
		p := b.Parts[i]
		out, back := fed(b, p, 0)
		key := ""
		for k := range p.Ways {
			if w := &p.Ways[k]; w.Spare {
				w.Spare, key = false, w.Key
				w.Title.V = "New light"
				break
			}
		}
		if key == "" {
			w := p.Ways[len(p.Ways)-1]
			w.Key, key = "99", "99"
			w.Title.V, w.Label.V = "New light", ""
			p.Ways = append(p.Ways, w)
			p.Seal()
		}
		addLight(t, b, schema.End{Part: p, Terminal: key}, out, back)
	}
	return e, true
}

func lightOnBus(b *schema.Boat, i int) (edit, bool) {
	p := b.Parts[i]
	if !p.Is(schema.Distribution) || p.Is(schema.Panel) {
		return edit{}, false
	}
	out, _ := fed(b, p, schema.Protection)
	if out == nil {
		return edit{}, false
	}
	e := edit{name: "light on " + p.ID, class: "light", on: map[string]bool{"NEWL": true, "NEW+": true, "NEW-": true, "NEWF": true, "NEWF-in": true}}
	e.apply = func(t *testing.T, b *schema.Boat) {
		p := b.Parts[i]
		out, back := fed(b, p, schema.Protection)
		n := newPart(t, "NEWF: {kind: breaker, family: thermal, rating: 5 A}")
		b.Parts = append(b.Parts, n...)
		w := *out
		w.ID, w.Path, w.Label, w.Title, w.Circuit = "NEWF-in", "NEW", schema.Val[string]{}, schema.Val[string]{}, nil
		w.From, w.To = schema.End{Part: p}, schema.End{Part: n[0], Terminal: "in"}
		b.Wires = append(b.Wires, &w)
		addLight(t, b, schema.End{Part: n[0], Terminal: "out"}, &w, back)
	}
	return e, true
}

// pictures are the electrical sheets as an SVG reader sees them.
func pictures(t *testing.T, b *schema.Boat) []*svgSheet {
	t.Helper()
	sheets, err := render.Sheets(survey.Of(b), rules.Result{}, render.Options{Which: []string{"dc", "ac"}, Clean: true})
	if err != nil {
		t.Fatal(err)
	}
	var out []*svgSheet
	for _, s := range sheets {
		out = append(out, readCircuit(t, s.ID, asSVG(t, s, svg.Options{NoFont: true})))
	}
	return out
}

// holds tells whether what an edit concerns is on the sheet.
func (s *svgSheet) holds(on map[string]bool) bool {
	for _, p := range s.parts {
		if on[p.id] {
			return true
		}
	}
	for _, r := range s.runs {
		if on[r.id] {
			return true
		}
	}
	return false
}

// print writes down all that is drawn, but for the references of continuation marks.
func (s *svgSheet) print() string {
	var b strings.Builder
	for _, p := range s.parts {
		fmt.Fprintln(&b, p.id, p.kind, p.ref)
		if p.kind != "continuation" {
			fmt.Fprintln(&b, p.box, p.strokes)
		}
	}
	for _, r := range s.runs {
		fmt.Fprintln(&b, r.id, r.segs)
	}
	for _, x := range s.texts {
		if x.run != "" || x.owner != "" && !strings.HasPrefix(x.owner, "go-") {
			fmt.Fprintln(&b, x.s, x.box)
		}
	}
	return b.String()
}

// studs are the runs on the upper and the lower side of every part, from left to right.
func (s *svgSheet) studs() map[string][]string {
	type stud struct {
		id string
		x  float64
	}
	all := map[string][]stud{}
	byID := map[string]*svgPart{}
	for _, p := range s.parts {
		byID[p.id] = p
	}
	for _, r := range s.runs {
		if len(r.segs) == 0 {
			continue
		}
		last := r.segs[len(r.segs)-1]
		for k, e := range []struct {
			ref     string
			x, y, q float64
		}{{r.from, r.segs[0].x0, r.segs[0].y0, r.segs[0].y1}, {r.to, last.x1, last.y1, last.y0}} {
			if p := owner(e.ref, byID); p != nil && p.kind != "continuation" {
				side := p.id + " below"
				if e.q < e.y {
					side = p.id + " above"
				}
				all[side] = append(all[side], stud{fmt.Sprint(r.id, " ", k), e.x})
			}
		}
	}
	out := map[string][]string{}
	for k, list := range all {
		slices.SortStableFunc(list, func(a, b stud) int { return int(math.Copysign(1, a.x-b.x)) })
		for _, x := range list {
			out[k] = append(out[k], x.id)
		}
	}
	return out
}

// reordered lists the sides of parts whose common runs stand in another order.
func reordered(a, b *svgSheet) []string {
	var out []string
	x, y := a.studs(), b.studs()
	for side, list := range x {
		var p, q []string
		for _, id := range list {
			if slices.Contains(y[side], id) {
				p = append(p, id)
			}
		}
		for _, id := range y[side] {
			if slices.Contains(list, id) {
				q = append(q, id)
			}
		}
		if !slices.Equal(p, q) {
			out = append(out, side)
		}
	}
	slices.Sort(out)
	return out
}

// kept counts the parts of a that stand on b within 10 mm of where they were.
func kept(a, b *svgSheet) (same, all int) {
	at := map[string]rect{}
	for _, p := range b.parts {
		at[p.id] = p.box
	}
	for _, p := range a.parts {
		if p.kind == "continuation" {
			continue
		}
		all++
		if q, ok := at[p.id]; ok && math.Abs(q.x0-p.box.x0) <= 10.01 && math.Abs(q.y0-p.box.y0) <= 10.01 {
			same++
		}
	}
	return same, all
}

// steady is what an edit did to the sheets: whether those without the change stayed,
// and on those with it the least share of parts that kept their place and the bars
// whose order changed.
type steady struct {
	others bool
	share  float64
	order  []string
}

func compare(old, now []*svgSheet, on map[string]bool) steady {
	out := steady{others: true, share: 1}
	prints := map[string]bool{}
	for _, s := range now {
		prints[s.print()] = true
	}
	// sheets with the change are those that hold it now, or held it
	for _, s := range old {
		best, share := -1, -1.0
		for i, n := range now {
			same, all := 0, 0
			for _, p := range s.parts {
				if p.kind == "continuation" || on[p.id] {
					continue
				}
				all++
				if slices.ContainsFunc(n.parts, func(q *svgPart) bool { return q.id == p.id }) {
					same++
				}
			}
			if v := float64(same) / float64(max(all, 1)); v > share {
				best, share = i, v
			}
		}
		if best < 0 {
			continue
		}
		if !s.holds(on) && !now[best].holds(on) {
			out.others = out.others && prints[s.print()]
			continue
		}
		rest := &svgSheet{runs: s.runs}
		for _, p := range s.parts {
			if !on[p.id] || slices.ContainsFunc(now[best].parts, func(q *svgPart) bool { return q.id == p.id }) {
				rest.parts = append(rest.parts, p)
			}
		}
		same, all := kept(rest, now[best])
		out.share = min(out.share, float64(same)/float64(max(all, 1)))
		out.order = append(out.order, reordered(rest, now[best])...)
	}
	return out
}

// TestSteady makes small changes to boats: a light more on a panel or bus, a
// conductor one size larger, a load less. Sheets without the change must not move at
// all; on the sheet with it four parts of five keep their place within 10 mm, and the
// runs on every bar their order. The yacht keeps all of it; of the other boats' edits
// the shares that do are held where they are, so that they get no worse.
func TestSteady(t *testing.T) {
	if testing.Short() {
		t.Skip("hundreds of sheets; not under the race detector, which has TestSameBytesOnAnyCores")
	}
	names, list := circuitBoats(t)
	const most = 4
	total, met := map[string]int{}, map[string][3]int{}
	for i, b := range list {
		if len(b.Parts) > 110 {
			continue
		}
		old := pictures(t, b)
		for _, e := range edits(b, rand.New(rand.NewPCG(uint64(i), 3)), most) {
			again := rebuild(t, names[i], i)
			e.apply(t, again)
			now := pictures(t, again)
			s := compare(old, now, e.on)
			if slices.EqualFunc(old, now, func(a, b *svgSheet) bool { return a.print() == b.print() }) {
				if e.class != "size" { // its label may tell the number alone
					t.Errorf("%s: %s: nothing changed", names[i], e.name)
				}
				continue
			}
			if names[i] == "yacht" && (!s.others || s.share < 0.8 || len(s.order) > 0) {
				t.Errorf("%s: %s: others stay %v, %.2f keep their place, reordered %v", names[i], e.name, s.others, s.share, s.order)
			}
			m := met[e.class]
			total[e.class]++
			if s.others {
				m[0]++
			}
			if s.share >= 0.8 {
				m[1]++
			}
			if len(s.order) == 0 {
				m[2]++
			}
			met[e.class] = m
			if !s.others || s.share < 0.8 || len(s.order) > 0 {
				t.Logf("%s: %s: others stay %v, %.2f keep their place, reordered %v, %d sheets to %d", names[i], e.name, s.others, s.share, s.order, len(old), len(now))
			}
		}
	}
	for c, least := range map[string][3]int{"light": {60, 45, 100}, "size": {100, 100, 100}, "delete": {60, 19, 70}} {
		m := met[c]
		for k := range m {
			if 100*m[k] < least[k]*total[c] {
				t.Errorf("%s: clause %d met by %d of %d edits, at least %d in a hundred wanted", c, k+1, m[k], total[c], least[k])
			}
		}
		t.Logf("%-7s %3d edits: others stay %3d, 80%% keep their place %3d, no order changes %3d", c, total[c], m[0], m[1], m[2])
	}
}

// rebuild reads a boat of circuitBoats afresh.
func rebuild(t *testing.T, name string, i int) *schema.Boat {
	t.Helper()
	var n int
	if _, err := fmt.Sscanf(name, "%d parts", &n); err == nil {
		return boattest.Read(t, makeBoat(n, 1, strings.Contains(name, "careless")))
	}
	return boattest.ReadFile(t, "../../examples/"+name+".yaml")
}
