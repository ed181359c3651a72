package schematic

import (
	"slices"
	"strings"

	"fitout/render/draw"
	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/rules"
	"fitout/validate/trace"
)

// foot is what stands below or beside the drawing: the legend of the findings,
// what is live with every switch off, and the key of the lines.
type foot struct {
	items []draw.Item
	need  int // grid units of height that it takes and did not find
	// short is set where the legend gives the rules' names only, mute where there
	// is no legend for the marks of the sheet.
	short, mute bool
}

// piece is something to be set at the foot, as high as it says.
type piece struct {
	height  draw.MM
	strokes func(at draw.Point) []draw.Stroke
	class   string
}

const (
	footGap   = draw.MM(2)
	footPitch = draw.MM(3.1) // of the least letters
	footLeast = draw.MM(60)  // narrowest column
)

// foot sets what belongs to the sheet where there is room for it: below the
// drawing, else beside it. The legend is shortened, then what is live, before
// anything is said to be lacking.
func (p *paper) foot(first bool) *foot {
	p.found = p.relevant()
	area := p.frame.Area
	drawn := draw.Grid(float64(p.s.H)) + footGap
	free := area.Width() - draw.Grid(float64(p.s.W)) - 2*footGap
	for _, form := range []footForm{{legend: fullLegend}, {legend: shortLegend}, {legend: shortLegend, runs: true}, {legend: noLegend}, {legend: noLegend, runs: true}} {
		form.first = first
		short := form.legend != fullLegend && len(p.found) > 0
		mute := form.legend == noLegend && len(p.found) > 0
		if h, set := p.compose(area.Width(), form); drawn+h <= area.Height() {
			if over := p.at.Y + drawn + h - area.Max.Y; over > 0 {
				p.shift(0, -draw.Grid(float64(gridUnits(over))))
			}
			return &foot{items: set(draw.Point{X: area.Min.X, Y: area.Max.Y - h}), short: short, mute: mute}
		}
		if free < footLeast {
			continue
		}
		if h, set := p.compose(free, form); h <= area.Height() {
			p.shift(area.Min.X-p.at.X, 0)
			return &foot{items: set(draw.Point{X: area.Max.X - free, Y: area.Max.Y - h}), short: short, mute: mute}
		}
	}
	h, set := p.compose(area.Width(), footForm{legend: noLegend, runs: true, first: first})
	return &foot{items: set(draw.Point{X: area.Min.X, Y: area.Max.Y - h}), need: gridUnits(h + footGap), short: len(p.found) > 0, mute: len(p.found) > 0}
}

// footForm is how much the foot says.
type footForm struct {
	legend legendForm
	first  bool // what is live stands on the first sheet
	runs   bool // without the runs that are live
}

// legendForm is how much the legend of the findings says.
type legendForm int

const (
	fullLegend legendForm = iota
	shortLegend
	noLegend
)

// compose stacks the pieces to a width.
func (p *paper) compose(width draw.MM, form footForm) (draw.MM, func(draw.Point) []draw.Item) {
	var pieces []piece
	if len(p.found) > 0 && form.legend != noLegend {
		pieces = append(pieces, p.legend(width, form.legend))
	}
	if form.first && p.d.medium == schema.DC {
		if b, ok := p.liveBox(width, !form.runs); ok {
			pieces = append(pieces, b)
		}
	}
	if k, ok := p.key(width); ok {
		pieces = append(pieces, k)
	}
	h := draw.MM(0)
	for i, q := range pieces {
		if i > 0 {
			h += footGap
		}
		h += q.height
	}
	return h, func(at draw.Point) []draw.Item {
		var out []draw.Item
		for _, q := range pieces {
			out = append(out, draw.Group{Class: q.class, Strokes: q.strokes(at)})
			at.Y += q.height + footGap
		}
		return out
	}
}

// shift moves all that is drawn so far.
func (p *paper) shift(dx, dy draw.MM) {
	if dx == 0 && dy == 0 {
		return
	}
	p.at = p.at.Add(dx, dy)
	p.redraw()
}

// redraw draws all again, with each sheet where it is now.
func (p *paper) redraw() {
	p.parts, p.runs, p.texts = nil, nil, nil
	p.index = map[string]int{}
	p.draw(p.d.plan)
}

// relevant are the findings that concern a part or conductor of the sheet. What
// concerns bars and panels only, which stand on several, has its place on the first.
func (p *paper) relevant() []numbered {
	var out []numbered
	for _, f := range p.d.found {
		here, elsewhere := p.names(f.At), false
		for _, q := range p.d.sheets {
			elsewhere = elsewhere || q.names(f.At)
		}
		if here || !elsewhere && p.bars(f.At) {
			out = append(out, f)
		}
	}
	return out
}

// names tells whether a part with a symbol on the sheet, or a conductor, is named.
func (p *paper) names(at []string) bool {
	return slices.ContainsFunc(at, func(id string) bool {
		id = plain(id)
		for i := range p.s.Boxes {
			if p.s.Boxes[i].ID == id {
				return true
			}
		}
		for i := range p.s.Wires {
			if l := p.d.link[p.s.Wires[i].ID]; !l.stem && (l.id == id || l.wire().Ref() == id) {
				return true
			}
		}
		return false
	})
}

// bars tells whether a bar that is named stands on this sheet first.
func (p *paper) bars(at []string) bool {
	return slices.ContainsFunc(p.parts, func(part draw.Part) bool {
		return p.firstWith(part.ID) && slices.ContainsFunc(at, func(id string) bool { return plain(id) == part.ID })
	})
}

// firstWith tells whether no earlier sheet has the part.
func (p *paper) firstWith(id string) bool {
	for _, q := range p.d.sheets {
		if q == p {
			return true
		}
		for i := range q.s.Bars {
			if n := p.d.node[q.s.Bars[i].ID]; n.id == id || n.host != nil && n.host.id == id {
				return false
			}
		}
		for i := range q.s.Boxes {
			if q.s.Boxes[i].ID == id {
				return false
			}
		}
	}
	return true
}

// electrical are the findings of the report that belong on the sheets of a
// circuit: those of the water rules stand on the water sheets.
func electrical(all []numbered) []numbered {
	water := map[string]bool{}
	for _, r := range rules.All() {
		water[r.Name] = strings.Contains(strings.ToLower(r.Section), "water")
	}
	return slices.DeleteFunc(all, func(f numbered) bool { return water[f.Rule] })
}

// plain is the id of a part or run in what a finding names: "F1" for "F1.in".
func plain(id string) string {
	if i := strings.IndexByte(id, '.'); i > 0 {
		return id[:i]
	}
	return id
}

var findingStyle = map[diag.Severity]draw.Style{
	diag.Error: draw.FindingError, diag.Warning: draw.FindingWarning, diag.Note: draw.FindingNote,
}

// legend explains the numbers on the sheet: letter, rule and text, in columns. The
// short form leaves the text to the table of the findings.
func (p *paper) legend(width draw.MM, form legendForm) piece {
	least := draw.MM(85)
	title := "Findings (A can burn, flood or shock; B will fail; C good order)"
	if form == shortLegend {
		least = 44
		title = "Findings by rule; their text is in the table of the findings"
	}
	cols := max(1, int(width/least))
	colWidth := (width - draw.MM(cols-1)*3) / draw.MM(cols)
	const indent = draw.MM(7)
	type entry struct {
		f     numbered
		lines []string
	}
	var entries []entry
	lines := 0
	for _, f := range p.found {
		text := f.Severity.Class() + " " + f.Rule
		if form == fullLegend {
			text += ": " + f.Message
		}
		e := entry{f, draw.Small.Wrap(text, colWidth-indent)}
		if len(e.lines) == 1 {
			e.lines = append(e.lines, "")
		}
		lines += len(e.lines)
		entries = append(entries, e)
	}
	per := (lines + cols - 1) / cols
	// columns are filled in order; the height is that of the fullest
	col, used, most := 0, 0, 0
	place := make([][2]int, len(entries))
	for i, e := range entries {
		if used > 0 && used+len(e.lines) > per+1 && col < cols-1 {
			col, used = col+1, 0
		}
		place[i] = [2]int{col, used}
		used += len(e.lines)
		most = max(most, used)
	}
	h := draw.MM(most)*footPitch + footPitch + 2
	return piece{height: h, class: "legend", strokes: func(at draw.Point) []draw.Stroke {
		out := []draw.Stroke{draw.Text{At: at.Add(0, draw.Caution.Cap()+0.6), S: draw.Caution.Fit(title, width), Letters: draw.Caution}}
		at = at.Add(0, footPitch+1.2)
		for i, e := range entries {
			x := at.X + draw.MM(place[i][0])*(colWidth+3)
			y := at.Y + draw.MM(place[i][1])*footPitch
			m := draw.FindingMark(draw.Point{X: x + 3, Y: y + 2.4}, e.f.number, findingStyle[e.f.Severity])
			out = append(out, m.Strokes...)
			for k, s := range e.lines {
				if s != "" {
					out = append(out, draw.Text{At: draw.Point{X: x + indent, Y: y + draw.Small.Cap() + draw.MM(k)*footPitch + 0.6}, S: s, Letters: draw.Small})
				}
			}
		}
		return out
	}}
}

// liveBox says what stays live with every switch off.
func (p *paper) liveBox(width draw.MM, runs bool) (piece, bool) {
	parts, wires := live(p.d.in.Survey)
	if len(parts) == 0 {
		return piece{}, false
	}
	const pad = draw.MM(1.5)
	width = min(width, 220)
	text := strings.Join(parts, ", ")
	if len(wires) > 0 && runs {
		text += "; runs " + strings.Join(wires, ", ")
	}
	text += ". Breakers, automatic contacts and DC converters count as closed; alternators, shore power and its chargers as off."
	lines := draw.Small.Wrap(text, width-2*pad)
	h := footPitch*draw.MM(len(lines)+1) + 2*pad
	return piece{height: h, class: "live", strokes: func(at draw.Point) []draw.Stroke {
		out := []draw.Stroke{draw.Rect{Box: draw.Box{Min: at, Max: at.Add(width, h)}, Pen: draw.Pen{Style: draw.Frame}},
			draw.Text{At: at.Add(pad, pad+draw.Caution.Cap()), S: "LIVE WITH EVERY SWITCH OFF", Letters: draw.Caution}}
		for i, s := range lines {
			out = append(out, draw.Text{At: at.Add(pad, pad+draw.Small.Cap()+footPitch*draw.MM(i+1)), S: s, Letters: draw.Small})
		}
		return out
	}}, true
}

// faultText is the greatest short-circuit current where the protection of the
// exposed conductors on the sheet begins.
func (p *paper) faultText() string {
	s := p.d.in.Survey
	most, known := unit.Amp(0), false
	for _, w := range p.s.Wires {
		l := p.d.link[w.ID]
		if l.stem || !p.d.exposed[l.wire()] {
			continue
		}
		e := &s.Net.Edges[s.Net.WireEdge[l.wire()]]
		for _, v := range []int{e.A, e.B} {
			for _, id := range s.Net.Nodes[v].Edges {
				if s.Net.Edges[id].Type != trace.Device {
					continue
				}
				at := s.FaultAt(id)
				if at.Trouble != "" || !at.Known {
					return ""
				}
				most, known = max(most, at.Amps), true
			}
		}
	}
	if !known {
		return ""
	}
	return ", fault current up to " + most.FaultText(unit.Up)
}

// key explains the lines on the sheet in one or more rows.
func (p *paper) key(width draw.MM) (piece, bool) {
	var styles []draw.Style
	for _, r := range p.runs {
		if !slices.Contains(styles, r.Style) && r.Style.Meaning() != "" {
			styles = append(styles, r.Style)
		}
	}
	slices.Sort(styles)
	if len(styles) == 0 {
		return piece{}, false
	}
	meaning := map[draw.Style]string{}
	for _, s := range styles {
		meaning[s] = s.Meaning()
		if s == draw.Exposed {
			meaning[s] += p.faultText()
		}
	}
	const sample, gap, pitch = draw.MM(12), draw.MM(6), draw.MM(3.6)
	type spot struct {
		x, y  draw.MM
		lines []string
	}
	var spots []spot
	x, y, high := draw.MM(0), draw.MM(0), pitch
	for _, s := range styles {
		w := sample + 1.5 + draw.Small.Width(meaning[s])
		if x > 0 && x+w > width {
			x, y, high = 0, y+high, pitch
		}
		lines := draw.Small.Wrap(meaning[s], width-sample-1.5)
		high = max(high, pitch+draw.MM(len(lines)-1)*footPitch)
		spots = append(spots, spot{x, y, lines})
		x += w + gap
	}
	return piece{height: y + high, class: "key", strokes: func(at draw.Point) []draw.Stroke {
		var out []draw.Stroke
		for i, s := range styles {
			q := at.Add(spots[i].x, spots[i].y+pitch/2)
			out = append(out, draw.Line(q, q.Add(sample, 0), s))
			for k, text := range spots[i].lines {
				out = append(out, draw.Text{At: q.Add(sample+1.5, draw.Small.Cap()/2+draw.MM(k)*footPitch), S: text, Letters: draw.Small})
			}
		}
		return out
	}}, true
}
