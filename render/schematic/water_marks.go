package schematic

import (
	"fmt"
	"math"
	"strconv"

	waterlayout "fitout/layout/water"
	"fitout/render/draw"
	"fitout/render/sheet"
)

// markPlaces knows what is taken on one water sheet, and finds room for the
// numbered marks of the findings.
type markPlaces struct {
	w      *waterSheets
	sheet  int
	ground *ground
	near   map[string][]draw.Box // what a finding may stand beside
}

// places collects what a sheet of the plan holds before its parts and hoses are
// drawn.
func (w *waterSheets) places(i int) *markPlaces {
	f := w.frame()
	m := &markPlaces{w: w, sheet: i, near: map[string][]draw.Box{}, ground: &ground{bins: map[[2]int][]draw.Box{}, area: f.Area}}
	m.ground.area.Max.Y -= draw.MM(len(w.keyLines(f, nil)))*keyPitch + draw.MM(len(w.legendLines(i)))*legendPitch + 2
	o := f.Origin()
	for _, b := range w.plan.Sheets[i].Bands {
		left := draw.GridPoint(o, float64(b.Area.X), float64(b.Area.Y))
		m.ground.take(draw.Box{Min: left, Max: draw.GridPoint(o, float64(b.RulerX), float64(b.Area.Y+b.Area.H))})
		shore := o.Y + draw.Grid(float64(b.Waterline))
		m.ground.take(around(draw.Point{X: left.X, Y: shore}, draw.Point{X: f.Area.Max.X, Y: shore}).Grow(0.3))
		for _, x := range b.Boxes {
			m.ground.take(boxOf(x.Rect, o))
			if x.Name.Placed {
				m.ground.take(boxOf(x.Name.Rect, o).Grow(-0.6))
			}
		}
		for _, r := range b.Runs {
			if r.Label.Placed {
				m.ground.take(boxOf(r.Label.Rect, o).Grow(-0.6))
			}
		}
	}
	return m
}

func (m *markPlaces) part(id string, b draw.Box) { m.near[id] = []draw.Box{b} }

// run takes the room of a hose, its clamps and arrows included.
func (m *markPlaces) run(id string, pts []draw.Point) {
	for i := 1; i < len(pts); i++ {
		b := around(pts[i-1], pts[i])
		m.near[id] = append(m.near[id], b)
		m.ground.take(b.Grow(1.2))
	}
}

// hull takes the room of a piece of hull.
func (m *markPlaces) hull(pts []draw.Point) {
	const step = draw.MM(2)
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		n := draw.MM(math.Ceil(math.Hypot(float64(b.X-a.X), float64(b.Y-a.Y)) / float64(step)))
		for k := draw.MM(0); k < n; k++ {
			p := a.Add((b.X-a.X)*k/n, (b.Y-a.Y)*k/n)
			m.ground.take(around(p, a.Add((b.X-a.X)*(k+1)/n, (b.Y-a.Y)*(k+1)/n)).Grow(0.8))
		}
	}
}

// continued is the text of a continuation mark: its hose, and where the hose
// goes on.
func (m *markPlaces) continued(x *waterlayout.PlacedBox) string {
	hose := m.w.hoseOfMark(x)
	s := hose
	for i := range m.w.plan.Sheets {
		for _, b := range m.w.plan.Sheets[i].Bands {
			for k := range b.Boxes {
				if o := &b.Boxes[k]; o.ID != x.ID && m.w.hoseOfMark(o) == hose {
					s += " → " + m.w.whereIs(o, i, m.sheet)
				}
			}
		}
	}
	return s
}

// hoseOfMark is the hose that a continuation mark stands for; empty for parts.
func (w *waterSheets) hoseOfMark(x *waterlayout.PlacedBox) string {
	if c, ok := w.cuts[x.ID]; ok {
		return c
	}
	return hoseOfRun(x.Mark)
}

// markOf is the name that a mark carries on all its sheets.
func (d *bandPen) markOf(x *waterlayout.PlacedBox) string { return d.places.w.hoseOfMark(x) }

// whereIs is the sheet and zone of a mark, the zone alone on the sheet itself.
func (w *waterSheets) whereIs(x *waterlayout.PlacedBox, on, from int) string {
	z := w.zone(x.Rect)
	if on == from {
		return z
	}
	return strconv.Itoa(w.in.first()+on) + "/" + z
}

func (w *waterSheets) zone(x waterlayout.Rect) string {
	f := w.frame()
	r := boxOf(x, f.Origin())
	return f.Zone(draw.Point{X: (r.Min.X + r.Max.X) / 2, Y: (r.Min.Y + r.Max.Y) / 2})
}

// marks places the numbers of the sheet's findings beside what they concern.
func (m *markPlaces) marks() []draw.Item {
	ids := m.w.ids(&m.w.plan.Sheets[m.sheet])
	var out []draw.Item
	for _, f := range m.w.onSheet(m.sheet) {
		if g, ok := m.ground.mark(f, m.near[m.w.place(f, ids)]); ok {
			out = append(out, g)
		}
	}
	return out
}

// The foot of a water sheet: key of lines, then the legend of findings.
const (
	keyPitch    = draw.MM(4.6)
	keySample   = draw.MM(11)
	legendPitch = draw.MM(3.4)
)

type keyItem struct {
	style draw.Style
	text  string
}

// keyItems are the lines to be explained, in order of the styles: those of the
// ids, or of the whole boat.
func (w *waterSheets) keyItems(ids map[string]bool) []keyItem {
	used := map[draw.Style]bool{draw.StaticWaterline: true}
	for id, h := range w.hoses {
		switch {
		case ids != nil && !ids[id]:
		case h.Prepared:
			used[draw.Prepared] = true
		case !h.Implied:
			used[w.styles[id]] = true
		}
	}
	pierced := false
	for id, x := range w.boxes {
		pierced = pierced || skinOf(x).Pierces && (ids == nil || ids[id])
		if x.part != nil && (ids == nil || ids[id]) {
			if _, ok := w.heeled(x.part); ok {
				used[draw.HeeledWaterline] = true
			}
		}
	}
	var out []keyItem
	for _, s := range draw.Styles() {
		if used[s] {
			out = append(out, keyItem{s, s.Meaning()})
		}
	}
	if pierced {
		out = append(out, keyItem{draw.OutlineThick, "hull"})
	}
	return out
}

func (k keyItem) sample(a, b draw.Point) []draw.Stroke {
	if k.style == draw.OutlineThick {
		return skin([]draw.Point{a, b})
	}
	return []draw.Stroke{draw.Line(a, b, k.style)}
}

func (k keyItem) width() draw.MM { return keySample + 1.5 + draw.Small.Width(k.text)*wider + 4 }

// keyLines breaks the key into lines of the width of a frame.
func (w *waterSheets) keyLines(f sheet.Frame, ids map[string]bool) [][]keyItem {
	var out [][]keyItem
	var line []keyItem
	x := draw.MM(0)
	for _, k := range w.keyItems(ids) {
		if x+k.width() > f.Area.Width() && len(line) > 0 {
			out, line, x = append(out, line), nil, 0
		}
		line = append(line, k)
		x += k.width()
	}
	return append(out, line)
}

func (w *waterSheets) keyRows(f sheet.Frame) int {
	return units(draw.MM(len(w.keyLines(f, nil)))*keyPitch + 1)
}

// legendLines are the findings of a sheet and the flows that were computed, as
// they are set at its foot.
func (w *waterSheets) legendLines(i int) []legendLine {
	width := w.frame().Area.Width()
	var out []legendLine
	whole := w.wholeOn()
	for _, f := range w.onSheet(i) {
		text := draw.Small.Wrap(f.Rule+": "+f.Message, (width-9)/wider)
		if k := whole[f.number]; k != i && len(text) > 1 {
			rest := fmt.Sprintf(" … in full on sheet %d", w.in.first()+k)
			text = []string{draw.Small.Wrap(text[0], (width-9)/wider-draw.Small.Width(rest))[0] + rest}
		}
		for k, s := range text {
			l := legendLine{text: s}
			if k == 0 {
				l.number, l.letter = strconv.Itoa(f.number), f.Severity.Class()
			}
			out = append(out, l)
		}
	}
	if t := w.workingText(i); t != "" {
		for _, s := range draw.Small.Wrap(t, (width-9)/wider) {
			out = append(out, legendLine{text: s})
		}
	}
	return out
}

// wholeOn is the sheet on which each finding stands in full: of those it concerns the
// one with the fewest findings.
func (w *waterSheets) wholeOn() map[int]int {
	on := map[int]int{}
	few := map[int]int{}
	for i := range w.plan.Sheets {
		list := w.onSheet(i)
		for _, f := range list {
			if n, ok := few[f.number]; !ok || len(list) < n {
				on[f.number], few[f.number] = i, len(list)
			}
		}
	}
	return on
}

type legendLine struct{ number, letter, text string }

// feet tells how many rows more than the plan keeps free the legend of each sheet
// needs, and whether every legend fits below its bands.
func (w *waterSheets) feet() (out []int, fit bool) {
	_, rows := w.frame().GridSize()
	rows -= w.keyRows(w.frame())
	fit = true
	for i := range w.plan.Sheets {
		out = append(out, 0)
		n := len(w.legendLines(i))
		if n == 0 {
			continue
		}
		h := units(draw.MM(n)*legendPitch + 2)
		out[i] = min(max(0, h-(rows-w.plan.Size.H)), rows/3)
		fit = fit && w.lowest(i)+h <= rows
	}
	return out, fit
}

// lowest is the row below the last band of a sheet.
func (w *waterSheets) lowest(i int) int {
	low := 0
	for _, b := range w.plan.Sheets[i].Bands {
		low = max(low, b.Area.Y+b.Area.H)
	}
	return low
}

// foot draws key and legend.
func (w *waterSheets) foot(i int, m *markPlaces) []draw.Item {
	f := w.frame()
	key := draw.Group{Class: "key"}
	lines := w.keyLines(f, w.ids(&w.plan.Sheets[i]))
	y := f.Area.Max.Y - draw.MM(len(lines))*keyPitch
	top := y
	for _, line := range lines {
		x := f.Area.Min.X
		mid := y + keyPitch/2
		for _, k := range line {
			key.Strokes = append(key.Strokes, k.sample(draw.Point{X: x, Y: mid}, draw.Point{X: x + keySample, Y: mid})...)
			key.Strokes = append(key.Strokes,
				draw.Text{At: draw.Point{X: x + keySample + 1.5, Y: mid + draw.Small.Cap()/2}, S: k.text, Letters: draw.Small})
			x += k.width()
		}
		y += keyPitch
	}
	out := []draw.Item{key}
	if legend := w.legendLines(i); len(legend) > 0 {
		out = append(out, w.legend(legend, top))
	}
	return out
}

// legend sets the findings above the key; what does not fit is counted.
func (w *waterSheets) legend(lines []legendLine, bottom draw.MM) draw.Group {
	f := w.frame()
	y := bottom - 1 - draw.MM(len(lines))*legendPitch
	g := draw.Group{Class: "legend", Strokes: []draw.Stroke{
		draw.Line(draw.Point{X: f.Area.Min.X, Y: y}, draw.Point{X: f.Area.Max.X, Y: y}, draw.LegendTie),
	}}
	text := func(x, y draw.MM, s string, l draw.Letters, a draw.Align) {
		g.Strokes = append(g.Strokes, draw.Text{At: draw.Point{X: x, Y: y}, S: s, Letters: l, Align: a})
	}
	for _, l := range lines {
		y += legendPitch
		if l.number != "" {
			text(f.Area.Min.X+4, y, l.number, draw.Caution, draw.End)
			text(f.Area.Min.X+5.5, y, l.letter, draw.Caution, draw.Start)
		}
		text(f.Area.Min.X+9, y, l.text, draw.Small, draw.Start)
	}
	return g
}
