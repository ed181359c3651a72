package schematic

import (
	"fmt"
	"strings"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
)

// panelsCaution stands on the sheet of panel fronts.
const panelsCaution = "Ways as the file orders them, down each column; compare with the panel before switching. Before a front comes off: switch off or fuse out; shore power: pull the plug."

// Panels draws the front of every panel, fuse block and AC panel as the hand
// finds it: the ways in order with title and rating, spares empty. A boat
// without panels has no such sheet.
func Panels(in Input) ([]sheet.Page, error) {
	if len(in.Papers) == 0 {
		return nil, fmt.Errorf("panels: no paper to draw on")
	}
	l := &panelFlow{in: in, f: sheet.NewFrame(in.Papers[0]), live: map[string]bool{}}
	parts, _ := live(in.Survey)
	for _, id := range parts { // a panel, or only its feed
		l.live[plain(id)] = true
	}
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
	low   draw.MM         // foot of the present row of panels
	live  map[string]bool // by designation: with every switch off
}

// Sizes of a front, in millimetres of paper.
const (
	wayHeight  = draw.MM(9)
	wayWidth   = draw.MM(78)
	frontHead  = draw.MM(13)  // with a line each of title and facts
	frontLine  = draw.MM(3.2) // to a further line of its text
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
	ways := withMain(p)
	a := l.f.Area
	for first := true; len(ways) > 0; first = false {
		cols := l.columns(len(ways))
		w := draw.MM(cols)*(wayWidth+frontPad) + frontPad
		head := newFrontHead(p, first, w, l.live[p.ID])
		most := int((a.Height() - head.height - 2*frontPad) / wayHeight)
		rows := min((len(ways)+cols-1)/cols, most)
		n := min(rows*cols, len(ways))
		h := head.height + draw.MM(rows)*wayHeight + frontPad
		l.room(w, h)
		l.front(p, head, ways[:n], rows, draw.Box{Min: draw.Point{X: l.x, Y: l.y}, Max: draw.Point{X: l.x + w, Y: l.y + h}})
		l.low = max(l.low, l.y+h)
		l.x += w + frontGap
		ways = ways[n:]
	}
}

// withMain lists the ways, after the breaker of its own that a panel may have
// ahead of them all; that one has no key.
func withMain(p *schema.Part) []schema.Way {
	var out []schema.Way
	if d := deviceOf(p, schema.Way{}); d != nil {
		out = append(out, schema.Way{Title: schema.Val[string]{V: "Main"}, Rating: d.Rating})
	}
	return append(out, p.Ways...)
}

// frontTop is the text above the ways.
type frontTop struct {
	first        bool
	title, facts []string
	letters      draw.Letters // of the title
	indent       draw.MM      // of the title, after the designation
	height       draw.MM
}

func newFrontHead(p *schema.Part, first bool, width draw.MM, live bool) frontTop {
	h := frontTop{first: first, letters: draw.PartTitle, indent: draw.Designation.Width(p.ID)*wider + 2}
	title := p.Title()
	if !first {
		title = strings.TrimSpace(title + " (continued)")
	}
	room := width - h.indent - 7
	if h.letters.Width(title)*wider > room {
		h.letters = draw.Small
	}
	h.title = h.letters.Wrap(title, room/wider)
	facts := panelFacts(p)
	if live {
		facts += " · LIVE WITH EVERY SWITCH OFF"
	}
	h.facts = draw.Small.Wrap(facts, (width-6)/wider)
	h.height = frontHead + draw.MM(len(h.title)+len(h.facts)-2)*frontLine
	return h
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

func (l *panelFlow) front(p *schema.Part, head frontTop, ways []schema.Way, rows int, b draw.Box) {
	id := p.ID
	if !head.first {
		id += fmt.Sprintf("-from-%s", ways[0].Key)
	}
	part := draw.Part{ID: id, Kind: p.Kind.Name, Title: p.Name(), Strokes: []draw.Stroke{
		draw.Rect{Box: b, Pen: draw.Pen{Style: draw.OutlineThick}},
	}}
	text := func(x, y draw.MM, s string, l draw.Letters) {
		part.Strokes = append(part.Strokes, draw.Text{At: draw.Point{X: x, Y: y}, S: s, Letters: l})
	}
	x, y := b.Min.X+frontPad+0.5, b.Min.Y+5
	text(x, y, p.ID, draw.Designation)
	for i, line := range head.title {
		text(x+head.indent, y+draw.MM(i)*frontLine, line, head.letters)
	}
	y += 4.6 + draw.MM(len(head.title)-1)*frontLine
	for i, line := range head.facts {
		text(x, y+draw.MM(i)*frontLine, line, draw.Small)
	}
	for i, w := range ways {
		at := draw.Point{X: b.Min.X + frontPad + draw.MM(i/rows)*(wayWidth+frontPad), Y: b.Min.Y + head.height + draw.MM(i%rows)*wayHeight}
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

// way draws one way: its key, its device, the title, the rating and the family.
func (l *panelFlow) way(p *schema.Part, w schema.Way, at draw.Point) []draw.Stroke {
	cell := draw.Box{Min: at.Add(0, 0.6), Max: at.Add(wayWidth, wayHeight-0.6)}
	out := []draw.Stroke{draw.Rect{Box: cell, Pen: draw.Pen{Style: draw.Outline}}}
	mid := (cell.Min.Y + cell.Max.Y) / 2
	text := func(x, y draw.MM, s string, l draw.Letters, a draw.Align) {
		out = append(out, draw.Text{At: draw.Point{X: at.X + x, Y: y + l.Cap()/2}, S: s, Letters: l, Align: a})
	}
	key := draw.Designation
	if key.Width(w.Key)*wider > deviceCell-1 {
		key = draw.Small
	}
	text(5, mid, w.Key, key, draw.Middle)
	d := deviceOf(p, w)
	out = append(out, deviceWindow(w, d, draw.Point{X: at.X + deviceCell + 0.5, Y: mid})...)
	rating, family := wayRating(w), deviceWords(w, d)
	room := wayWidth - 2*deviceCell - max(draw.Rating.Width(rating), draw.Small.Width(family))*wider - 5
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
	lines := letters.Wrap(title, room/wider)
	for i, s := range lines {
		text(2*deviceCell, mid+(draw.MM(i)-draw.MM(len(lines)-1)/2)*3.2, s, letters, draw.Start)
	}
	if family != "" {
		text(wayWidth-1.5, mid-1.7, rating, draw.Rating, draw.End)
		text(wayWidth-1.5, mid+1.9, family, draw.Small, draw.End)
	} else if rating != "" {
		text(wayWidth-1.5, mid, rating, draw.Rating, draw.End)
	}
	return out
}

// deviceOf is the fuse or breaker of a way.
func deviceOf(p *schema.Part, w schema.Way) *schema.DeviceData {
	for _, b := range p.Branches() {
		if b.Way == w.Key && b.Device != nil {
			return b.Device
		}
	}
	return nil
}

// deviceWindow is what the hand finds there: the handle of a breaker, a fuse, or
// an empty place.
func deviceWindow(w schema.Way, d *schema.DeviceData, at draw.Point) []draw.Stroke {
	const wide, half = draw.MM(6.5), draw.MM(2.4)
	window := draw.Box{Min: at.Add(0, -half), Max: at.Add(wide, half)}
	pen := draw.Pen{Style: draw.Outline}
	switch {
	case w.Spare:
		pen.Style = draw.OutlinePrepared
		return []draw.Stroke{draw.Rect{Box: window, Pen: pen}}
	case d != nil && !d.Breaker:
		body := draw.Box{Min: at.Add(0, -1.2), Max: at.Add(wide, 1.2)}
		return []draw.Stroke{draw.Rect{Box: body, Pen: pen}, draw.Line(at, at.Add(wide, 0), draw.Outline)}
	}
	handle := draw.Box{Min: at.Add(wide/2-1, -1.3), Max: at.Add(wide/2+1, 1.3)}
	return []draw.Stroke{draw.Rect{Box: window, Pen: pen}, draw.Rect{Box: handle, Pen: pen}}
}

// deviceWords name the device in a way, to fit the right one again.
func deviceWords(w schema.Way, d *schema.DeviceData) string {
	switch {
	case d == nil || w.Spare:
		return ""
	case d.Breaker:
		return strings.TrimSpace(d.Family + " breaker")
	}
	return strings.TrimSpace(d.Family + " fuse")
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
