package schematic

import (
	"math"
	"slices"
	"strconv"

	waterlayout "fitout/layout/water"
	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema/diag"
)

// markPlaces knows what is taken on one water sheet, and finds room for the
// numbered marks of the findings.
type markPlaces struct {
	w     *waterSheets
	sheet int
	area  draw.Box
	taken []draw.Box // boxes and texts
	parts map[string]draw.Box
	runs  map[string][]draw.Point
	pipes [][2]draw.Point
}

// places collects what a sheet of the plan holds.
func (w *waterSheets) places(i int) *markPlaces {
	f := w.frame()
	m := &markPlaces{w: w, sheet: i, area: f.Area, parts: map[string]draw.Box{}, runs: map[string][]draw.Point{}}
	o := f.Origin()
	for _, b := range w.plan.Sheets[i].Bands {
		left := draw.GridPoint(o, float64(b.Area.X), float64(b.Area.Y))
		m.taken = append(m.taken, draw.Box{Min: left, Max: draw.GridPoint(o, float64(b.RulerX), float64(b.Area.Y+b.Area.H))})
		shore := o.Y + draw.Grid(float64(b.Waterline))
		m.pipes = append(m.pipes, [2]draw.Point{{X: left.X, Y: shore}, {X: f.Area.Max.X, Y: shore}})
		for _, x := range b.Boxes {
			m.taken = append(m.taken, boxOf(x.Rect, o))
			if x.Name.Placed {
				m.taken = append(m.taken, boxOf(x.Name.Rect, o).Grow(-0.6))
			}
		}
		for _, r := range b.Runs {
			if r.Label.Placed {
				m.taken = append(m.taken, boxOf(r.Label.Rect, o).Grow(-0.6))
			}
		}
	}
	return m
}

func (m *markPlaces) part(id string, b draw.Box) { m.parts[id] = b }

func (m *markPlaces) run(id string, pts []draw.Point) {
	m.runs[id] = pts
	for i := 1; i < len(pts); i++ {
		m.pipes = append(m.pipes, [2]draw.Point{pts[i-1], pts[i]})
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
	return strconv.Itoa(w.in.First+on) + "/" + z
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
		id := m.w.place(f, ids)
		r := draw.MarkRadius(f.number)
		p, from, ok := m.spot(id, r)
		if !ok {
			continue
		}
		g := draw.FindingMark(p, f.number, markStyle(f.Severity))
		g.Title = f.Rule + ": " + f.Message
		if d := distanceOf(p, from); d > r+2.2 {
			k := draw.MM(float64(r / d))
			edge := draw.Point{X: p.X + (from.X-p.X)*k, Y: p.Y + (from.Y-p.Y)*k}
			g.Strokes = append(g.Strokes, draw.Line(edge, from, draw.Leader))
		}
		m.taken = append(m.taken, draw.Box{Min: p.Add(-r, -r), Max: p.Add(r, r)})
		out = append(out, g)
	}
	return out
}

func markStyle(s diag.Severity) draw.Style {
	switch s {
	case diag.Error:
		return draw.FindingError
	case diag.Warning:
		return draw.FindingWarning
	}
	return draw.FindingNote
}

func distanceOf(a, b draw.Point) draw.MM {
	return draw.MM(math.Hypot(float64(a.X-b.X), float64(a.Y-b.Y)))
}

// spot is the nearest free place for a mark at a part or run, and the point of
// it that the mark belongs to.
func (m *markPlaces) spot(id string, r draw.MM) (p, from draw.Point, ok bool) {
	var starts []draw.Point
	if b, is := m.parts[id]; is {
		starts = append(starts,
			b.Min, draw.Point{X: b.Max.X, Y: b.Min.Y}, b.Max, draw.Point{X: b.Min.X, Y: b.Max.Y},
			draw.Point{X: (b.Min.X + b.Max.X) / 2, Y: b.Min.Y}, draw.Point{X: (b.Min.X + b.Max.X) / 2, Y: b.Max.Y})
	} else {
		pts := m.runs[id]
		for i := 1; i < len(pts); i++ {
			for k := 1; k <= 7; k++ {
				t := draw.MM(float64(k) / 8)
				starts = append(starts, draw.Point{X: pts[i-1].X + (pts[i].X-pts[i-1].X)*t, Y: pts[i-1].Y + (pts[i].Y-pts[i-1].Y)*t})
			}
		}
	}
	for d := r + 0.5; d < r+40; d += 1 {
		for _, s := range starts {
			for k := range 16 {
				q := draw.Point{X: s.X + around16[k].X*d, Y: s.Y + around16[k].Y*d}
				if m.free(q, r) {
					return q, s, true
				}
			}
		}
	}
	return draw.Point{}, draw.Point{}, false
}

// around16 are the directions tried for a mark, the diagonals first.
var around16 = func() (out [16]draw.Point) {
	for k := range out {
		s, c := math.Sincos(float64(k*5%16)*math.Pi/8 + math.Pi/4)
		// rounded, so that every machine places alike
		out[k] = draw.Point{X: draw.MM(math.Round(c*1e4) / 1e4), Y: draw.MM(math.Round(s*1e4) / 1e4)}
	}
	return out
}()

func (m *markPlaces) free(p draw.Point, r draw.MM) bool {
	b := draw.Box{Min: p.Add(-r-0.3, -r-0.3), Max: p.Add(r+0.3, r+0.3)}
	if !m.area.Contains(b) || slices.ContainsFunc(m.taken, b.Overlaps) {
		return false
	}
	for _, s := range m.pipes {
		seg := draw.Box{
			Min: draw.Point{X: min(s[0].X, s[1].X) - 1.3, Y: min(s[0].Y, s[1].Y) - 1.3},
			Max: draw.Point{X: max(s[0].X, s[1].X) + 1.3, Y: max(s[0].Y, s[1].Y) + 1.3},
		}
		if b.Overlaps(seg) && b.Grow(-0.3).Overlaps(seg.Grow(-0.9)) {
			return false
		}
	}
	return true
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
	for id, x := range w.boxes {
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
	return out
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
	for _, f := range w.onSheet(i) {
		for k, s := range draw.Small.Wrap(f.Rule+": "+f.Message, (width-9)/wider) {
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

type legendLine struct{ number, letter, text string }

// feetFit tells how many rows more than the plan leaves free the longest legend
// needs; 0 where every legend fits below its bands.
func (w *waterSheets) feetFit() int {
	_, rows := w.frame().GridSize()
	rows -= w.keyRows(w.frame())
	need := 0
	for i := range w.plan.Sheets {
		n := len(w.legendLines(i))
		if n == 0 {
			continue
		}
		h := units(draw.MM(n)*legendPitch + 2)
		if low := w.lowest(i); low+h > rows {
			need = max(need, h)
		}
	}
	return need
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
			key.Strokes = append(key.Strokes,
				draw.Line(draw.Point{X: x, Y: mid}, draw.Point{X: x + keySample, Y: mid}, k.style),
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
