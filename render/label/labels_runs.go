package label

import (
	"fmt"
	"math"
	"strings"

	"fitout/render/draw"
	"fitout/render/schematic"
	"fitout/schema"
	"fitout/validate/survey"
)

// wires are two markers for every conductor as it is pulled, one for each end;
// a cable is one whatever its cores.
func (g *gatherer) wires() []*Label {
	var out []*Label
	seen := map[string]bool{}
	assumed := 0
	for _, w := range g.survey.Boat.Wires {
		if w.Implied || w.Prepared || w.Cable != "" && seen[w.Cable] {
			continue
		}
		seen[w.Cable] = w.Cable != ""
		d, known := outside(w)
		if !known {
			assumed++
		}
		for _, e := range [2][2]schema.End{{w.From, w.To}, {w.To, w.From}} {
			out = append(out, g.marker(w, e[0], e[1], d))
		}
	}
	if assumed > 0 {
		g.notes = append(g.notes, fmt.Sprintf("wires: the file states no size of %d; their markers are for an outside diameter of %d mm", assumed, assumedOutside))
	}
	return out
}

// marker is for one end: number, where it sits, where the far end is, size.
func (g *gatherer) marker(w *schema.Wire, here, far schema.End, d draw.MM) *Label {
	l := &Label{Kind: Wires, ID: w.Ref(), At: wireEnd(w, here), Copies: max(1, w.Parallel.Or(1)), Outside: d}
	if here.Part != nil {
		l.Space = here.Part.Space
	}
	number := w.Ref()
	if w.Label.Given() {
		number = w.Label.V
	}
	l.Lines = []Line{{Text: number, Lead: 2, Bold: true, Rows: 2}, {Text: l.At, Rows: 3}, {Text: "→" + wireEnd(w, far), Rows: 3}}
	if s := g.wireText(w); s != "" {
		l.Lines = append(l.Lines, Line{Text: s, Rank: 1, Rows: 2})
	}
	return l
}

// wireText is size and colour as on the drawings: "10 AWG RD".
func (g *gatherer) wireText(w *schema.Wire) string {
	var out []string
	if w.Size.Given() {
		s := w.Size.V.Name()
		if w.Cable != "" && w.Cores.Or(1) > 1 {
			s = fmt.Sprintf("%d × %s", w.Cores.V, s)
		}
		out = append(out, s)
	}
	if w.Cable == "" {
		if c := w.Color.Or(g.survey.DefaultColour(w)); c != "" {
			out = append(out, schematic.ColourCode(c))
		}
	}
	return strings.Join(out, " ")
}

// wireEnd names an end: the terminal, of a cable the part and its group of
// terminals.
func wireEnd(w *schema.Wire, e schema.End) string {
	if w.Cable == "" || e.Part == nil {
		return e.String()
	}
	if t, ok := e.Part.Terminal(e.Terminal); ok && t.Cable != "" {
		return e.Part.ID + "." + t.Cable
	}
	return e.Part.ID
}

// assumedOutside is the outside diameter in mm taken for a wire of no stated size.
const assumedOutside = 4

// outside is the diameter of a wire over its insulation: the copper as a bundle of
// strands that fills three quarters of its circle, and a wall by size; of a cable
// the circle round its cores (closed form for two to five) and a sheath of 1 mm.
// Common practice, no source: it chooses the marker; a maker's figure may be a
// fifth more or less.
func outside(w *schema.Wire) (d draw.MM, known bool) {
	if !w.Size.Given() || w.Size.V.Area <= 0 {
		return assumedOutside, false
	}
	area := float64(w.Size.V.Area)
	wall := 2.0
	for _, s := range []struct{ upTo, wall float64 }{{1.5, 0.8}, {6, 0.9}, {16, 1.1}, {35, 1.3}, {70, 1.6}, {120, 1.8}} {
		if area <= s.upTo {
			wall = s.wall
			break
		}
	}
	core := math.Sqrt(4*area/(math.Pi*0.75)) + 2*wall
	if w.Cable == "" || w.Cores.Or(1) < 2 {
		return draw.MM(core), true
	}
	round := map[int]float64{2: 2, 3: 2.155, 4: 2.414, 5: 2.701}
	k, ok := round[w.Cores.V]
	if !ok {
		k = 1.2 * math.Sqrt(float64(w.Cores.V)) * 1.1
	}
	return draw.MM(core*k + 2), true
}

// hoses are two tags for every hose: number, service, bore, and where the water
// goes.
func (g *gatherer) hoses() []*Label {
	var out []*Label
	service := schematic.Services(g.survey.Boat)
	for _, h := range g.survey.Boat.Hoses {
		if h.Implied || h.Prepared {
			continue
		}
		for i, e := range [2][2]schema.HoseEnd{{h.From, h.To}, {h.To, h.From}} {
			out = append(out, g.hoseTag(h, e[0], e[1], i == 0, service[h.ID].Meaning()))
		}
	}
	return out
}

func (g *gatherer) hoseTag(h *schema.Hose, here, far schema.HoseEnd, from bool, service string) *Label {
	l := &Label{Kind: Hoses, ID: h.ID, At: here.String(), Copies: 1, Outside: hoseOutside(h)}
	switch {
	case here.IsOpen():
		l.Space = here.Open
	case here.Part != nil:
		l.Space = here.Part.Space
	}
	number := h.ID
	if h.Label.Given() {
		number = h.Label.V
	}
	arrow := "↔"
	switch flow := g.flow(h); {
	case flow > 0 && from, flow < 0 && !from:
		arrow = "→"
	case flow != 0:
		arrow = "←"
	}
	l.Lines = []Line{{Text: number, Lead: 2, Bold: true, Rows: 2}, {Text: l.At, Rows: 3}, {Text: arrow + far.String(), Rows: 3}}
	if service != "" {
		l.Lines = append(l.Lines, Line{Text: service, Rank: 1, Rows: 2})
	}
	if h.Title.Given() {
		l.Lines = append(l.Lines, Line{Text: h.Title.V, Rank: 3, Rows: 3})
	}
	if h.Bore.Given() {
		l.Lines = append(l.Lines, Line{Text: h.Bore.V.BoreText(), Rank: 2})
	}
	return l
}

// hoseOutside is a hose over its wall of 4 mm (common practice, no source).
func hoseOutside(h *schema.Hose) draw.MM {
	if !h.Bore.Given() {
		return 25
	}
	return draw.MM(float64(h.Bore.V)*1000) + 8
}

// flow says which way the water of a hose goes in the conditions of the file: 1
// from its from to its to, -1 back, 0 where it goes now the one way and now the
// other. Where nothing moves in any condition (a drain, a filler) the terminals
// at its ends tell, if they do.
func (g *gatherer) flow(h *schema.Hose) int {
	way := 0
	for _, c := range g.survey.Boat.Conditions {
		f, ok := g.hoseFlow(c, h)
		d := 0
		switch {
		case !ok:
		case f.Flow > 0:
			d = 1
		case f.Flow < 0:
			d = -1
		}
		if d != 0 && way == -d {
			return 0
		}
		if d != 0 {
			way = d
		}
	}
	if way != 0 {
		return way
	}
	switch d := gives(h.From) - gives(h.To); {
	case d > 0:
		return 1
	case d < 0:
		return -1
	}
	return 0
}

// gives is 1 for an end that water leaves the part by, -1 for one it comes in by,
// 0 where the part does not say. The terminals of valves and hull openings are
// named as they lie and say nothing.
func gives(e schema.HoseEnd) int {
	if e.Part == nil || e.Part.Roles().Any(schema.Shutoff|schema.SeaOpening) {
		return 0
	}
	t, ok := e.Part.Terminal(e.Terminal)
	switch {
	case ok && (t.Polarity == schema.WaterOut || t.Polarity == schema.Exhaust && e.Part.Is(schema.Engine)):
		return 1
	case ok && t.Polarity == schema.WaterIn:
		return -1
	}
	return 0
}

func (g *gatherer) hoseFlow(c *schema.Condition, h *schema.Hose) (survey.HoseFlow, bool) {
	w := g.survey.Water(c)
	if w == nil {
		return survey.HoseFlow{}, false
	}
	return w.Hose(h)
}
