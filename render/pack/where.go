package pack

import (
	"fmt"
	"math"
	"slices"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/validate/trace"
)

// where is one page: the outline of the boat with what must be found at once.
func (m *maker) where() []section {
	found := m.important()
	s := section{id: "where", title: "What is where", document: "Plan of the boat"}
	intro := "The boat from above, bow to the left, starboard above. Numbers are those of the table; a number without a mark has no place in the file."
	if !slices.ContainsFunc(found, func(p *schema.Part) bool { return p.Station().Given() }) {
		intro = "The boat from above, bow to the left, starboard above. The file gives no place along the boat for any of these: mark each number on the outline with a pencil, then write `station` and `offset` into the file."
	}
	s.blocks = []block{para(intro), m.plan(found)}
	var lines [][]string
	for i, p := range found {
		lines = append(lines, []string{fmt.Sprint(i + 1), p.ID, titleOf(p), place(p) + sideText(p), m.page(spaceID(p.Space))})
	}
	s.blocks = append(s.blocks, table([]sheet.Column{num("No."), col("Id"), wide("It is"), wide("Where"), col("Sheet")}, lines))
	s.blocks = append(s.blocks, heading("Write in by hand"), large([]sheet.Column{col("Thing"), {Head: "Where it lies", Grow: 1}}, [][]string{
		{"Fire extinguishers", ""}, {"Gas valve", ""}, {"Tapered plugs and mallet", ""}, {"Spare fuses", ""}, {"Tools, meter, torch", ""}, {"First aid", ""}, {"Life-raft, flares", ""},
	}))
	return []section{s}
}

// important are battery switches, batteries, main fuses, the shore inlet, the
// valves, strainers and bilge pumps, in this order.
func (m *maker) important() []*schema.Part {
	var out []*schema.Part
	pick := func(want func(*schema.Part) bool) {
		for _, p := range m.fitted() {
			if want(p) && !slices.Contains(out, p) {
				out = append(out, p)
			}
		}
	}
	mains := m.mainFuses()
	pick(func(p *schema.Part) bool {
		return p.Roles().Any(schema.Switching) && !p.Roles().Any(schema.Sensing) && m.partsBattery(p)
	})
	pick(func(p *schema.Part) bool { return p.Is(schema.Storage) })
	pick(func(p *schema.Part) bool { return slices.Contains(mains, p) })
	pick(func(p *schema.Part) bool { return p.Is(schema.Panel) })
	pick(func(p *schema.Part) bool { return p.Roles().Any(schema.ShorePower | schema.Residual) })
	pick(func(p *schema.Part) bool { return p.Is(schema.Seacock) })
	pick(func(p *schema.Part) bool { return p.Is(schema.Strainer) || p.Is(schema.Bleeding) })
	pick(func(p *schema.Part) bool { return p.Is(schema.Bilge) })
	return out
}

// partsBattery reports whether a switch lies on a conductor path of a battery: one
// of its ends is joined to a battery through devices and conductors alone.
func (m *maker) partsBattery(p *schema.Part) bool {
	l := m.withSwitchesOff()
	return m.high(p) && slices.ContainsFunc(l.sources, func(s liveSource) bool {
		_, hit := l.touches(p, s)
		return hit && s.part.Is(schema.Storage)
	})
}

// high reports whether a switch is meant for a battery: 50 A and more, where a
// rating is given.
func (m *maker) high(p *schema.Part) bool {
	if p.Kind.Attr("rating") == nil {
		return false
	}
	r := p.Amps("rating")
	return !r.Given() || r.V >= 50
}

// mainFuses are the devices first met from a battery's post, through a battery
// switch too.
func (m *maker) mainFuses() []*schema.Part {
	n := m.Survey.Net
	seen := map[int]bool{}
	var stack []int
	for i := range n.Edges {
		if e := &n.Edges[i]; e.Type == trace.Battery {
			stack = append(stack, e.A)
		}
	}
	first := map[*schema.Part]bool{}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if seen[v] || n.Nodes[v].Grounded {
			continue
		}
		seen[v] = true
		for _, id := range n.Nodes[v].Edges {
			switch e := &n.Edges[id]; {
			case e.Type == trace.Device:
				first[e.Part] = true
			case e.Passes():
				stack = append(stack, e.Other(v))
			}
		}
	}
	var out []*schema.Part
	for _, p := range m.fitted() {
		if first[p] && !p.Is(schema.Panel) {
			out = append(out, p)
		}
	}
	return out
}

// plan draws the outline from above with numbered marks; parts without a station
// stand in no place on it.
func (m *maker) plan(parts []*schema.Part) figure {
	v := m.boat().Vessel
	long := float64(v.Length.Or(10))
	beam := float64(v.Beam.Or(v.Length.Or(10) / 3))
	if !v.Length.Given() {
		return figure{h: 6, alt: "no plan: the length of the boat is not given", items: func(at draw.Point, _ draw.MM) []draw.Item {
			return []draw.Item{draw.Text{At: at.Add(0, 4), S: "No plan: the length of the boat is not given.", Letters: draw.Note}}
		}}
	}
	const most = 46.0 // mm of paper across
	return figure{h: most + 14, alt: "the boat from above with numbered marks", items: func(at draw.Point, width draw.MM) []draw.Item {
		k := math.Min((float64(width)-16)/long, most/beam)
		o := at.Add((width-draw.MM(k*long))/2, 5+most/2)
		g := draw.Group{Class: "plan", Title: "the boat from above"}
		g.Strokes = append(g.Strokes, outline(o, k, long, beam)...)
		g.Strokes = append(g.Strokes, draw.Text{At: o.Add(-2, 1), S: "bow", Letters: draw.Small, Align: draw.End})
		g.Strokes = append(g.Strokes, m.marks(parts, o, k, beam, draw.Box{Min: at, Max: at.Add(width, most+12)})...)
		return []draw.Item{g}
	}}
}

// outline is a hull from above: pointed at the bow, straight at the stern.
func outline(o draw.Point, k, long, beam float64) []draw.Stroke {
	var left, right []draw.Point
	for i := 0; i <= 24; i++ {
		x := float64(i) / 24
		y := beam / 2 * math.Min(1, math.Sqrt(math.Sin(math.Min(x/0.45, 1)*math.Pi/2)))
		if x > 0.6 {
			y *= 1 - 0.25*(x-0.6)/0.4
		}
		left = append(left, o.Add(draw.MM(k*x*long), draw.MM(-k*y)))
		right = append(right, o.Add(draw.MM(k*x*long), draw.MM(k*y)))
	}
	slices.Reverse(right)
	return []draw.Stroke{
		draw.Polyline{Points: append(left, right...), Closed: true, Pen: draw.Pen{Style: draw.Outline}},
		draw.Line(o, o.Add(draw.MM(k*long), 0), draw.OutlineChain),
	}
}

// marks puts a numbered ring at each part, moved aside until none covers
// another, with a line to its place.
func (m *maker) marks(parts []*schema.Part, o draw.Point, k, beam float64, within draw.Box) []draw.Stroke {
	var boxes []draw.Box
	var out []draw.Stroke
	for i, p := range parts {
		st, of := p.Station(), p.Offset()
		if !st.Given() {
			continue
		}
		// seen from above with the bow to the left, the right hand of one who faces
		// forward is up the page
		spot := o.Add(draw.MM(k*float64(st.V)), draw.MM(-k*math.Max(-beam/2, math.Min(beam/2, float64(of.Or(0))))))
		at := free(spot, boxes, within)
		boxes = append(boxes, box5(at))
		if at != spot {
			out = append(out, draw.Line(spot, at, draw.Leader))
		}
		out = append(out, draw.Ellipse{Centre: at, RX: 2.4, RY: 2.4, Pen: draw.Pen{Style: draw.Outline, Fill: draw.Paper}},
			draw.Text{At: at.Add(0, draw.Small.Cap()/2), S: fmt.Sprint(i + 1), Letters: draw.Small, Align: draw.Middle})
	}
	return out
}

func box5(p draw.Point) draw.Box { return draw.Box{Min: p.Add(-2.6, -2.6), Max: p.Add(2.6, 2.6)} }

// free is the nearest place round a spot that nothing covers.
func free(spot draw.Point, taken []draw.Box, within draw.Box) draw.Point {
	for ring := 0; ring < 12; ring++ {
		for a := 0; a < max(1, 8*ring); a++ {
			w := 2 * math.Pi * float64(a) / float64(max(1, 8*ring))
			p := spot.Add(draw.MM(5.2*float64(ring)*math.Cos(w)), draw.MM(5.2*float64(ring)*math.Sin(w)))
			if within.Contains(box5(p)) && !slices.ContainsFunc(taken, func(b draw.Box) bool { return b.Overlaps(box5(p)) }) {
				return p
			}
		}
	}
	return spot
}
