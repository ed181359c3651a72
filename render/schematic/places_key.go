package schematic

import (
	"fmt"
	"strings"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
)

// keyFlow sets the key of the places sheet in columns.
type keyFlow struct {
	b    *boatPlan
	f    sheet.Frame
	cols int
	col  int
	y    draw.MM
	done [][]draw.Item
}

const (
	keyColumn = draw.MM(84)
	keyLine   = draw.MM(4.4)
)

func newKeyFlow(b *boatPlan, f sheet.Frame) *keyFlow {
	k := &keyFlow{b: b, f: f, cols: max(1, int(f.Area.Width()/keyColumn)), y: f.Area.Min.Y, done: [][]draw.Item{nil}}
	space := ""
	first := true
	for _, p := range b.parts {
		name := "No space given"
		if p.part.Space != nil {
			name = p.part.Space.Name()
		}
		if first || name != space {
			space, first = name, false
			k.heading(name)
		}
		k.line(fmt.Sprint(p.number), p.part, p.where())
	}
	if len(b.unplaced) > 0 {
		k.heading("Without a station in the file")
		for _, p := range b.unplaced {
			k.line("", p, "")
		}
	}
	return k
}

// where is the place in figures: station, side, height.
func (p placed) where() string {
	out := []string{fmt.Sprintf("%.1f m", p.station)}
	if p.hasOffset {
		switch {
		case p.offset > 0.005:
			out = append(out, fmt.Sprintf("S %.2f", p.offset))
		case p.offset < -0.005:
			out = append(out, fmt.Sprintf("P %.2f", -p.offset))
		default:
			out = append(out, "CL")
		}
	}
	if p.hasHeight {
		out = append(out, strings.TrimSuffix(heightText(millimetres(p.height)), " m"))
	}
	return strings.Join(out, "  ")
}

func (k *keyFlow) room(n draw.MM) {
	if k.y+n <= k.f.Area.Max.Y {
		return
	}
	k.y = k.f.Area.Min.Y
	if k.col++; k.col == k.cols {
		k.col = 0
		k.done = append(k.done, nil)
	}
}

func (k *keyFlow) x() draw.MM {
	return k.f.Area.Min.X + draw.MM(k.col)*k.f.Area.Width()/draw.MM(k.cols)
}

func (k *keyFlow) put(g draw.Group) {
	n := len(k.done) - 1
	k.done[n] = append(k.done[n], g)
}

func (k *keyFlow) heading(s string) {
	if k.y > k.f.Area.Min.Y {
		k.y += 2
	}
	k.room(3 * keyLine)
	k.y += keyLine
	k.put(draw.Group{Class: "key", Strokes: []draw.Stroke{
		draw.Text{At: draw.Point{X: k.x(), Y: k.y}, S: draw.TableHead.Fit(s, keyColumn-6), Letters: draw.TableHead},
	}})
	k.y += 1.2
}

// line is a part: number, designation, title, and where it is at the right.
func (k *keyFlow) line(number string, p *schema.Part, where string) {
	k.room(keyLine)
	k.y += keyLine
	width := k.f.Area.Width()/draw.MM(k.cols) - 5
	id := p.ID
	if p.Cock != nil {
		id += " + " + p.Cock.ID
	}
	g := draw.Group{Class: "key"}
	text := func(x draw.MM, s string, l draw.Letters, a draw.Align) {
		g.Strokes = append(g.Strokes, draw.Text{At: draw.Point{X: k.x() + x, Y: k.y}, S: s, Letters: l, Align: a})
	}
	text(7, number, draw.Small, draw.End)
	text(8.5, id, draw.Caution, draw.Start)
	from := 8.5 + draw.Caution.Width(id)*wider + 1.5
	to := width - draw.Small.Width(where)*wider - 2
	if to > from+4 {
		text(from, draw.Small.Fit(p.Title(), (to-from)/wider), draw.Small, draw.Start)
	}
	if where != "" {
		text(width, where, draw.Small, draw.End)
	}
	k.put(g)
}

func (k *keyFlow) pages() []sheet.Page {
	var out []sheet.Page
	for _, items := range k.done {
		p := sheet.Page{Title: "Places: key by space", Document: "Places", Caution: placesCaution, Frame: k.f, Items: items,
			Desc: "Numbers of the places sheet by space: station from the stem in metres, S starboard or P port of the centreline in metres, height above the waterline in metres."}
		out = append(out, p)
	}
	return out
}
