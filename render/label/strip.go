package label

import (
	"slices"

	"fitout/render/draw"
)

// usualPitch is the distance from way to way of a panel where nobody measured:
// 3/4 in (common practice, no source).
const usualPitch = 0.75 * inch

// Sizes of strips to cut out.
const (
	stripWidth = draw.MM(50)
	stripGap   = draw.MM(6)
	pageMargin = draw.MM(12)
	pageTop    = draw.MM(14)
	numberZone = draw.MM(11)
)

func (p *placer) pitch() draw.MM {
	if p.options.Pitch > 0 {
		return p.options.Pitch
	}
	return usualPitch
}

// strip is a panel's ways set at its pitch: from the top down on a page, from
// left to right on a tape. The head comes first.
type strip struct {
	cells []stripCell
	page  bool
}

// stripCell is one way: its number in a zone of its own on a page.
type stripCell struct {
	label        *Label
	number, text block
	left         []Line
}

// strip sets a panel.
func (p *placer) strip(l *Label, st Stock) strip {
	s := strip{page: st.Form == Page, cells: []stripCell{{label: l}}}
	for _, c := range l.cells {
		s.cells = append(s.cells, stripCell{label: c})
	}
	w, h := p.pitch()-1.2, st.H-2*tapePad
	if s.page {
		w, h = stripWidth-2, p.pitch()-1
	}
	s.cells[0].text, s.cells[0].left, _ = fit(l.Lines, w, h)
	ways := s.cells[1:]
	if !s.page {
		set := alike(ways, w, h, func(c *Label) []Line { return onTape(c.Lines) })
		for i := range ways {
			ways[i].text, ways[i].left = set[i].block, set[i].left
		}
		return s
	}
	numbers := alike(ways, numberZone-2, h, func(c *Label) []Line { return c.Lines[:1] })
	texts := alike(ways, stripWidth-numberZone-2, h, func(c *Label) []Line { return c.Lines[1:] })
	for i := range ways {
		ways[i].number, ways[i].text = numbers[i].block, texts[i].block
		ways[i].left = slices.Concat(numbers[i].left, texts[i].left)
	}
	return s
}

// onTape lets the number of a way go first and its title last: the order of the
// strip numbers the ways.
func onTape(lines []Line) []Line {
	out := slices.Clone(lines)
	if len(out) > 1 {
		out[0].Rank, out[0].Lead, out[1].Rank = 3, 0, 0
	}
	return out
}

// fitted is one way's text with what found no room.
type fitted struct {
	block block
	left  []Line
}

// alike sets the ways of a strip in the same letters, the largest that suit all;
// where none do, each by itself.
func alike(ways []stripCell, w, h draw.MM, of func(*Label) []Line) []fitted {
	for body := len(boldLadder) - 1; body >= -1; body-- {
		var out []fitted
		for _, c := range ways {
			lines := of(c.label)
			steps := make([]int, len(lines))
			for i, l := range lines {
				steps[i] = min(max(0, body+l.Lead), len(l.ladder())-1)
			}
			b, ok := at(lines, steps, w, h)
			if !ok {
				break
			}
			out = append(out, fitted{block: b})
		}
		if len(out) == len(ways) {
			return out
		}
	}
	var out []fitted
	for _, c := range ways {
		b, left, _ := fit(of(c.label), w, h)
		out = append(out, fitted{b, left})
	}
	return out
}

// setStrip is a panel's setting; what stays out is said way by way.
func (p *placer) setStrip(l *Label, st Stock) setting {
	s := p.strip(l, st)
	for _, c := range s.cells {
		for _, line := range c.left {
			p.note("%s at a pitch of %.1f mm on %s: left out %q, which has no room in letters of 1.8 mm", c.label.name(), float64(p.pitch()), st.Name, line.Text)
		}
	}
	return setting{w: p.pitch() * draw.MM(len(s.cells))}
}

// strips draws panels on whole pages, each a column from the top down with lines
// to cut by; a panel that is taller than the page goes on in the next column.
func (p *placer) strips(st Stock, list []piece) {
	x := st.PaperW
	rows := max(1, int((st.PaperH-pageTop-pageMargin)/p.pitch())-1)
	for _, q := range list {
		s := p.strip(q.label, st)
		for ways := range slices.Chunk(s.cells[1:], rows) {
			if x+stripWidth > st.PaperW-pageMargin+0.01 {
				p.sheet(st, st.PaperW)
				x = pageMargin
			}
			for i, c := range append([]stripCell{s.cells[0]}, ways...) {
				y := pageTop + draw.MM(i)*p.pitch()
				p.way(c, draw.Box{Min: draw.Point{X: x, Y: y}, Max: draw.Point{X: x + stripWidth, Y: y + p.pitch()}})
			}
			x += stripWidth + stripGap
		}
	}
}

// tapeStrips draws panels along a tape; one that is longer than a strip goes on
// on the next.
func (p *placer) tapeStrips(st Stock, list []piece) {
	fits := max(1, int(st.PaperW/p.pitch())-1)
	for _, q := range list {
		s := p.strip(q.label, st)
		for ways := range slices.Chunk(s.cells[1:], fits) {
			p.sheet(st, p.pitch()*draw.MM(len(ways)+1))
			for i, c := range append([]stripCell{s.cells[0]}, ways...) {
				x := draw.MM(i) * p.pitch()
				p.way(c, draw.Box{Min: draw.Point{X: x}, Max: draw.Point{X: x + p.pitch(), Y: st.PaperH}})
			}
		}
	}
}

// way draws one way of a strip.
func (p *placer) way(c stripCell, box draw.Box) {
	g := draw.Group{Class: "tag " + string(Panels), Title: c.label.name(), Strokes: []draw.Stroke{draw.Rect{Box: box, Pen: draw.Pen{Style: draw.Rule}}}}
	text := box
	if c.number != nil {
		text.Min.X += numberZone
		g.Strokes = append(g.Strokes, c.number.level(draw.Box{Min: box.Min, Max: draw.Point{X: text.Min.X, Y: box.Max.Y}})...)
	}
	g.Strokes = append(g.Strokes, c.text.level(text)...)
	k := len(p.set.Sheets) - 1
	p.set.Sheets[k].Add(g)
	p.set.Placed = append(p.set.Placed, Placed{Label: c.label, Sheet: k, Box: box})
}
