package schematic

import (
	"fmt"
	"math"

	"fitout/render/draw"
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/schema/unit"
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

func newKeyFlow(b *boatPlan, f sheet.Frame, at map[string]placeRef) *keyFlow {
	first := 0
	if len(at) > 0 {
		first = b.in.first()
	}
	k := &keyFlow{b: b, f: f, cols: max(1, int(f.Area.Width()/keyColumn)), y: f.Area.Min.Y, done: [][]draw.Item{nil}}
	for n := range len(b.in.boat().Spaces) + 1 { // the last is no space
		k.name = "No space given"
		if n < len(b.in.boat().Spaces) {
			k.name = b.in.boat().Spaces[n].Name()
		}
		in, out := 0, 0
		for _, p := range b.parts {
			if b.spaces[p.part.Space] != n {
				continue
			}
			if in++; in == 1 {
				k.heading(k.name, true)
			}
			zone := ""
			if r, ok := at[p.part.ID]; ok {
				zone = fmt.Sprintf("%d/%s", first+r.sheet, r.zone)
			}
			k.line(zone, p.part, p.where(b.unit), nil)
		}
		for _, p := range b.unplaced {
			if b.spaces[p.Space] != n {
				continue
			}
			if in+out == 0 {
				k.heading(k.name, false)
			}
			out++
			k.line("", p, [3]string{}, b.beside(p))
		}
	}
	return k
}

// beside says where a part without a station lies along a conductor or hose whose
// length the file gives: from the nearest part with a place, else, for what lies in
// a line, from the nearest that does not itself lie in one.
func (b *boatPlan) beside(p *schema.Part) []string {
	best, text := math.Inf(1), ""
	known := func(q *schema.Part) bool {
		return q.Station().Given() || shapeOf(p) == handMark && shapeOf(q) != handMark
	}
	try := func(from, to schema.End, length schema.Val[unit.Metre], ref string) {
		for _, e := range [2][2]schema.End{{from, to}, {to, from}} {
			if e[0].Part == p && e[1].Part != nil && e[1].Part != p && known(e[1].Part) && length.Given() && length.V > 0 && float64(length.V) < best {
				best = float64(length.V)
				text = fmt.Sprintf("%s from %s along %s", length.V.RunText(), e[1].Part.ID, ref)
			}
		}
	}
	for _, w := range b.in.boat().Wires {
		if !w.Implied {
			try(w.From, w.To, w.Length, w.Ref())
		}
	}
	for _, h := range b.in.boat().Hoses {
		if !h.Implied {
			try(h.From.End, h.To.End, h.Length, h.ID)
		}
	}
	if text == "" {
		return nil
	}
	return []string{text}
}

// where is the place in figures: station, side, height.
func (p placed) where(u placeUnit) (out [3]string) {
	out[0] = fmt.Sprintf("%.1f", p.station/u.metres)
	if p.hasOffset {
		switch {
		case p.offset > 0.005:
			out[1] = "S " + u.figure(p.offset)
		case p.offset < -0.005:
			out[1] = "P " + u.figure(-p.offset)
		default:
			out[1] = "CL"
		}
	}
	if p.hasHeight {
		out[2] = u.height(p.height)
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

// keyID is where the designations stand, after the sheet and zone.
const keyID = draw.MM(11.5)

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
	g := draw.Group{Class: "places-key"}
	for i, line := range lines {
		k.y += keyLine
		k.text(&g, 0, line, draw.TableHead, draw.Start)
		if i == 0 && figures {
			for n, name := range [3]string{"aft, " + k.b.unit.name, "side", "height"} {
				k.text(&g, k.width()-keyFigures[n], name, draw.Small, draw.End)
			}
		}
	}
	k.put(g)
	k.y += 1.2
}

// line is a part: the sheet and zone of its mark, designation, title, where it is
// at the right, and what else is known of its place on lines of their own.
func (k *keyFlow) line(zone string, p *schema.Part, where [3]string, more []string) {
	id := p.ID
	if p.Cock != nil {
		id += " + " + p.Cock.ID
	}
	placed := where != [3]string{}
	right := k.width()
	if placed {
		right -= keyFigures[0] + 9
	}
	ids := draw.Caution.Wrap(id, (right-keyID)/wider)
	from := keyID + draw.Caution.Width(ids[0])*wider + 1.5
	var lines []string
	if s := titleOrKind(p); s != "" {
		if right-from < 18 || len(ids) > 1 { // a long designation: the title stands below it
			from = keyID + 3
			lines = append(lines, "")
		}
		lines = append(lines, draw.Small.Wrap(s, (right-from)/wider)...)
	}
	if len(lines) == 0 {
		lines = []string{""}
	}
	for _, s := range more {
		lines = append(lines, draw.Small.Wrap(s, (k.width()-from)/wider)...)
	}
	if k.room(keyLine + draw.MM(len(lines)+len(ids)-2)*keyNext) {
		k.heading(k.name+", continued", placed)
	}
	k.y += keyLine
	g := draw.Group{Class: "places-key"}
	k.text(&g, keyID-1.5, zone, draw.Small, draw.End)
	first := k.y
	for i, s := range ids {
		k.y += draw.MM(min(i, 1)) * keyNext
		k.text(&g, keyID, s, draw.Caution, draw.Start)
	}
	for i, s := range lines {
		k.y += draw.MM(min(i, 1)) * keyNext
		if s != "" {
			k.text(&g, from, s, draw.Small, draw.Start)
		}
	}
	last := k.y // the figures come last, as they are read
	k.y = first
	for n, s := range where {
		if s != "" {
			k.text(&g, k.width()-keyFigures[n], s, draw.Small, draw.End)
		}
	}
	k.y = last
	k.put(g)
}

func (k *keyFlow) pages() []sheet.Page {
	var out []sheet.Page
	for _, items := range k.done {
		p := sheet.Page{Title: "Places: key by space", Document: "Places", Caution: placesCaution, Frame: k.f, Items: items,
			Desc: "What stands in each space: sheet and zone of its mark, distance aft of the stem, S starboard or P port of the centreline, height above the waterline."}
		out = append(out, p)
	}
	return out
}
