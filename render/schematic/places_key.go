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
	name string // of the space being listed
	done [][]draw.Item
}

const (
	keyColumn = draw.MM(84)
	keyLine   = draw.MM(4.1)
	keyNext   = draw.MM(3.3) // to a further line of a title
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
			k.heading(name, true)
			k.name = name
		}
		k.line(fmt.Sprint(p.number), p.part, p.where())
	}
	if len(b.unplaced) > 0 {
		k.name = "Without a station in the file"
		k.heading(k.name, false)
		for _, p := range b.unplaced {
			k.line("", p, [3]string{})
		}
	}
	return k
}

// where is the place in figures: station, side, height.
func (p placed) where() (out [3]string) {
	out[0] = fmt.Sprintf("%.1f", p.station)
	if p.hasOffset {
		switch {
		case p.offset > 0.005:
			out[1] = fmt.Sprintf("S %.2f", p.offset)
		case p.offset < -0.005:
			out[1] = fmt.Sprintf("P %.2f", -p.offset)
		default:
			out[1] = "CL"
		}
	}
	if p.hasHeight {
		out[2] = strings.TrimSuffix(heightText(millimetres(p.height)), " m")
	}
	return out
}

// room moves on to a new column where the present one is full.
func (k *keyFlow) room(n draw.MM) bool {
	if k.y+n <= k.f.Area.Max.Y-1 {
		return false
	}
	k.y = k.f.Area.Min.Y
	if k.col++; k.col == k.cols {
		k.col = 0
		k.done = append(k.done, nil)
	}
	return true
}

func (k *keyFlow) x() draw.MM {
	return k.f.Area.Min.X + draw.MM(k.col)*k.f.Area.Width()/draw.MM(k.cols)
}

func (k *keyFlow) put(g draw.Group) {
	n := len(k.done) - 1
	k.done[n] = append(k.done[n], g)
}

// Columns of figures, from the right edge of a column of the key.
var keyFigures = [3]draw.MM{25, 12, 0}

// width of a column of the key.
func (k *keyFlow) width() draw.MM { return k.f.Area.Width()/draw.MM(k.cols) - 5 }

// text adds a text at the present line.
func (k *keyFlow) text(g *draw.Group, x draw.MM, s string, l draw.Letters, a draw.Align) {
	g.Strokes = append(g.Strokes, draw.Text{At: draw.Point{X: k.x() + x, Y: k.y}, S: s, Letters: l, Align: a})
}

// heading names a space, and the figures below it.
func (k *keyFlow) heading(s string, figures bool) {
	if k.y > k.f.Area.Min.Y {
		k.y += 2
	}
	room := k.width()
	if figures {
		room -= keyFigures[0] + 12
	}
	lines := draw.TableHead.Wrap(s, room/wider)
	k.room(draw.MM(len(lines)+2) * keyLine)
	g := draw.Group{Class: "key"}
	for i, line := range lines {
		k.y += keyLine
		k.text(&g, 0, line, draw.TableHead, draw.Start)
		if i == 0 && figures {
			for n, name := range [3]string{"aft", "side", "height"} {
				k.text(&g, k.width()-keyFigures[n], name, draw.Small, draw.End)
			}
		}
	}
	k.put(g)
	k.y += 1.2
}

// line is a part: number, designation, title, and where it is at the right.
func (k *keyFlow) line(number string, p *schema.Part, where [3]string) {
	id := p.ID
	if p.Cock != nil {
		id += " + " + p.Cock.ID
	}
	from := 8.5 + draw.Caution.Width(id)*wider + 1.5
	to := k.width() - keyFigures[0] - 9
	if where == [3]string{} {
		to = k.width()
	}
	var title []string
	if s := p.Title(); s != "" {
		title = draw.Small.Wrap(s, max(to-from, 18)/wider)
	}
	lines := max(len(title), 1)
	if k.room(keyLine + draw.MM(lines-1)*keyNext) {
		k.heading(k.name+", continued", where != [3]string{})
	}
	k.y += keyLine
	g := draw.Group{Class: "key"}
	k.text(&g, 7, number, draw.Small, draw.End)
	k.text(&g, 8.5, id, draw.Caution, draw.Start)
	for n, s := range where {
		if s != "" {
			k.text(&g, k.width()-keyFigures[n], s, draw.Small, draw.End)
		}
	}
	for i, s := range title {
		if i > 0 {
			k.y += keyNext
		}
		k.text(&g, from, s, draw.Small, draw.Start)
	}
	k.put(g)
}

func (k *keyFlow) pages() []sheet.Page {
	var out []sheet.Page
	for _, items := range k.done {
		p := sheet.Page{Title: "Places: key by space", Document: "Places", Caution: placesCaution, Frame: k.f, Items: items,
			Desc: "Numbers of the places sheet by space: metres aft of the stem, S starboard or P port of the centreline in metres, height above the waterline in metres."}
		out = append(out, p)
	}
	return out
}
