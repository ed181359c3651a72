package schematic

import (
	"fmt"
	"strings"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
)

// panelsCaution stands on the sheet of panel fronts.
const panelsCaution = "Fronts as the file orders the ways, top to bottom, left column first; compare with the panel before switching. Open the source's switch before taking a front off; shore power: pull the plug."

// Panels draws the front of every panel, fuse block and AC panel as the hand
// finds it: the ways in order with title and rating, spares empty. A boat
// without panels has no such sheet.
func Panels(in Input) ([]sheet.Page, error) {
	if len(in.Papers) == 0 {
		return nil, fmt.Errorf("panels: no paper to draw on")
	}
	l := &panelFlow{in: in, f: sheet.NewFrame(in.Papers[0])}
	l.open()
	for _, p := range in.boat().Parts {
		if p.Is(schema.Panel) && len(p.Ways) > 0 && !p.Prepared {
			l.panel(p)
		}
	}
	if len(l.pages) == 1 && len(l.pages[0]) == 0 {
		return nil, nil
	}
	var out []sheet.Page
	for i, items := range l.pages {
		p := sheet.Page{ID: "panels", Title: "Panel fronts", Document: "Panel fronts", Caution: panelsCaution, Frame: l.f, Items: items,
			Desc: "The front of each panel: ways in order with title and rating."}
		if i > 0 {
			p.ID = fmt.Sprintf("panels-%d", i+1)
		}
		out = append(out, p)
	}
	return out, nil
}

// panelFlow sets panels one below the other on as many sheets as they need.
type panelFlow struct {
	in    Input
	f     sheet.Frame
	pages [][]draw.Item
	x, y  draw.MM
	low   draw.MM // foot of the present row of panels
}

// Sizes of a front, in millimetres of paper.
const (
	wayHeight  = draw.MM(9)
	wayWidth   = draw.MM(78)
	frontHead  = draw.MM(13)
	frontPad   = draw.MM(2.5)
	frontGap   = draw.MM(7)
	deviceCell = draw.MM(9)
)

func (l *panelFlow) open() {
	l.pages = append(l.pages, nil)
	l.x, l.y, l.low = l.f.Area.Min.X, l.f.Area.Min.Y, l.f.Area.Min.Y
}

// columns of a front: two where one would be too tall for half a sheet.
func (l *panelFlow) columns(n int) int {
	a := l.f.Area
	most := int((a.Height() - frontHead - 2*frontPad) / wayHeight)
	c := 1
	if n > 8 && 2*wayWidth+3*frontPad <= a.Width() || n > most {
		c = 2
	}
	for (n+c-1)/c > most && draw.MM(c+1)*wayWidth+draw.MM(c+2)*frontPad <= a.Width() {
		c++
	}
	return c
}

// panel draws one front; one that is taller than a sheet goes on on the next.
func (l *panelFlow) panel(p *schema.Part) {
	ways := p.Ways
	a := l.f.Area
	for first := true; len(ways) > 0; first = false {
		cols := l.columns(len(ways))
		most := int((a.Height() - frontHead - 2*frontPad) / wayHeight)
		rows := min((len(ways)+cols-1)/cols, most)
		n := min(rows*cols, len(ways))
		w := draw.MM(cols)*(wayWidth+frontPad) + frontPad
		h := frontHead + draw.MM(rows)*wayHeight + frontPad
		l.room(w, h)
		title := p.Title()
		if !first {
			title = strings.TrimSpace(title + " (continued)")
		}
		l.front(p, title, ways[:n], rows, draw.Box{Min: draw.Point{X: l.x, Y: l.y}, Max: draw.Point{X: l.x + w, Y: l.y + h}}, first)
		l.low = max(l.low, l.y+h)
		l.x += w + frontGap
		ways = ways[n:]
	}
}

// room moves on until a front of that size fits: beside the last, below it, or
// on the next sheet.
func (l *panelFlow) room(w, h draw.MM) {
	a := l.f.Area
	if l.x > a.Min.X && l.x+w > a.Max.X {
		l.x, l.y = a.Min.X, l.low+frontGap
	}
	if l.y+h > a.Max.Y && (l.y > a.Min.Y || l.x > a.Min.X) {
		l.open()
	}
}

func (l *panelFlow) front(p *schema.Part, title string, ways []schema.Way, rows int, b draw.Box, first bool) {
	id := p.ID
	if !first {
		id += fmt.Sprintf("-from-%s", ways[0].Key)
	}
	part := draw.Part{ID: id, Kind: p.Kind.Name, Title: p.Name(), Strokes: []draw.Stroke{
		draw.Rect{Box: b, Pen: draw.Pen{Style: draw.OutlineThick}},
	}}
	text := func(x, y draw.MM, s string, l draw.Letters, a draw.Align) {
		part.Strokes = append(part.Strokes, draw.Text{At: draw.Point{X: x, Y: y}, S: s, Letters: l, Align: a})
	}
	x, y := b.Min.X+frontPad+0.5, b.Min.Y+5
	text(x, y, p.ID, draw.Designation, draw.Start)
	text(x+draw.Designation.Width(p.ID)*wider+2, y, draw.PartTitle.Fit(title, b.Width()-draw.Designation.Width(p.ID)*wider-9), draw.PartTitle, draw.Start)
	text(x, y+4.6, draw.Small.Fit(panelFacts(p), b.Width()-6), draw.Small, draw.Start)
	for i, w := range ways {
		at := draw.Point{X: b.Min.X + frontPad + draw.MM(i/rows)*(wayWidth+frontPad), Y: b.Min.Y + frontHead + draw.MM(i%rows)*wayHeight}
		part.Strokes = append(part.Strokes, l.way(p, w, at)...)
	}
	k := len(l.pages) - 1
	l.pages[k] = append(l.pages[k], part)
}

// panelFacts is the line under a panel's name: where it is, and its rating.
func panelFacts(p *schema.Part) string {
	var out []string
	if p.Space != nil {
		out = append(out, p.Space.Name())
	}
	if r := ratingOf(p); r != "" {
		out = append(out, r)
	}
	n, spare := 0, 0
	for _, w := range p.Ways {
		n++
		if w.Spare {
			spare++
		}
	}
	out = append(out, fmt.Sprintf("%d ways, %d spare", n, spare))
	return strings.Join(out, " · ")
}

// way draws one way: its key, a window for the device, the title, the rating.
func (l *panelFlow) way(p *schema.Part, w schema.Way, at draw.Point) []draw.Stroke {
	cell := draw.Box{Min: at.Add(0, 0.6), Max: at.Add(wayWidth, wayHeight-0.6)}
	out := []draw.Stroke{draw.Rect{Box: cell, Pen: draw.Pen{Style: draw.Outline}}}
	mid := (cell.Min.Y + cell.Max.Y) / 2
	text := func(x draw.MM, s string, l draw.Letters, a draw.Align) {
		out = append(out, draw.Text{At: draw.Point{X: at.X + x, Y: mid + l.Cap()/2}, S: s, Letters: l, Align: a})
	}
	text(5, draw.Designation.Fit(w.Key, 8), draw.Designation, draw.Middle)
	window := draw.Box{Min: draw.Point{X: at.X + deviceCell + 0.5, Y: mid - 2.4}, Max: draw.Point{X: at.X + 2*deviceCell - 2, Y: mid + 2.4}}
	pen := draw.Pen{Style: draw.Outline}
	if w.Spare {
		pen.Style = draw.OutlinePrepared
	}
	out = append(out, draw.Rect{Box: window, Pen: pen})
	rating := wayRating(w)
	room := wayWidth - 2*deviceCell - draw.Rating.Width(rating)*wider - 5
	title := w.Title.V
	if title == "" {
		title = l.fedBy(p, w.Key)
	}
	if w.Spare {
		title = "spare"
	}
	letters := draw.PartTitle
	if letters.Width(title)*wider > room {
		letters = draw.Small
	}
	text(2*deviceCell, letters.Fit(title, room/wider), letters, draw.Start)
	if rating != "" {
		text(wayWidth-1.5, rating, draw.Rating, draw.End)
	}
	return out
}

func wayRating(w schema.Way) string {
	if w.Spare && !w.Rating.Given() {
		return ""
	}
	if !w.Rating.Given() {
		return "rating?"
	}
	s := w.Rating.V.String()
	if w.Poles.Given() && w.Poles.V > 1 {
		s += fmt.Sprintf(" %d-pole", w.Poles.V)
	}
	return s
}

// fedBy names what a way without a title feeds: the first circuit on it.
func (l *panelFlow) fedBy(p *schema.Part, key string) string {
	for _, c := range l.in.boat().Circuits {
		if c.Feed.Part == p && c.Feed.Terminal == key {
			if c.Title.V != "" {
				return c.Title.V
			}
			for _, d := range c.Loads {
				return d.Name()
			}
		}
	}
	return ""
}
