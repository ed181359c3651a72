package schematic

import (
	"fmt"
	"math"
	"strings"

	waterlayout "fitout/layout/water"
	"fitout/render/draw"
	"fitout/schema"
	"fitout/schema/symbol"
)

// Room for texts on water sheets, in millimetres.
const (
	nameWidth  = draw.MM(25) // titles are broken beyond this
	tightWidth = draw.MM(19)
	namePad    = draw.MM(1.2)
	namePitch  = draw.MM(3.7)
	tightPitch = draw.MM(3.1)
	nameGap    = draw.MM(1.8) // between designation and height
	// wider is by how much a reader's own face may be wider than the embedded
	// one that texts are measured in.
	wider = 1.07
)

// nameLine is one line of the texts beside a part; beside stands after it.
type nameLine struct {
	text    string
	letters draw.Letters
	beside  string
}

func (l nameLine) width() draw.MM {
	w := l.letters.Width(l.text)
	if l.beside != "" {
		w += nameGap + draw.HeightText.Width(l.beside)
	}
	return w
}

// pitch is the distance from the baseline above.
func (l nameLine) pitch() draw.MM {
	if l.letters.Cap() < draw.PartTitle.Cap() {
		return tightPitch
	}
	return namePitch
}

// nameBlock is the texts beside a part: designation and height, title, rating,
// and what must not be missed.
type nameBlock []nameLine

// size is the room the block takes on the grid, clearance included.
func (b nameBlock) size() waterlayout.Size {
	if len(b) == 0 {
		return waterlayout.Size{}
	}
	w := draw.MM(0)
	for _, l := range b {
		w = max(w, l.width())
	}
	return waterlayout.Size{W: units(w*wider + 2*namePad), H: units(b.height() + 2*namePad)}
}

func (b nameBlock) height() draw.MM {
	h := b[0].letters.Cap() + 0.6 // descenders of the last line
	for _, l := range b[1:] {
		h += l.pitch()
	}
	return h
}

func units(v draw.MM) int { return int(math.Ceil(float64(v)/symbol.Module - 1e-9)) }

// nameOf composes a part's texts.
func (g *waterGraph) nameOf(w *waterBox) nameBlock {
	if w.open != nil {
		return g.nameOfEnd(w)
	}
	p := w.part
	head := nameLine{text: w.id, letters: draw.Designation}
	if w.level.Known {
		head.beside = heightText(w.level.MM)
	}
	b := nameBlock{head}
	if t := p.Title(); t != "" && (p.Host == nil || p.Host.Title() != t) {
		b = append(b, g.wrapped(t)...)
	}
	if r := ratingOf(p); r != "" {
		b = append(b, g.wrapped(r)...)
	}
	return append(b, g.remarks(w)...)
}

func (g *waterGraph) nameOfEnd(w *waterBox) nameBlock {
	head := nameLine{text: "open end", letters: draw.PartTitle}
	if w.level.Known {
		head.beside = heightText(w.level.MM)
	}
	b := append(nameBlock{head}, g.wrapped("in "+w.open.Open.Name())...)
	return append(b, g.remarks(w)...)
}

// wrapped breaks a title or rating into as many lines as it takes; the least letters where the sheet
// would not hold the usual ones.
func (g *waterGraph) wrapped(s string) nameBlock {
	l, width := draw.PartTitle, nameWidth
	if g.tight {
		l, width = draw.Small, tightWidth
	}
	var b nameBlock
	for _, t := range l.Wrap(s, width) {
		b = append(b, nameLine{text: t, letters: l})
	}
	return b
}

func ratingOf(p *schema.Part) string {
	if p.Kind.Rating == nil {
		return ""
	}
	return p.Kind.Rating(p)
}

// remarks are what a reader must not miss: prepared, shut, height not known,
// under water when heeled.
func (g *waterGraph) remarks(w *waterBox) nameBlock {
	var b nameBlock
	say := func(s string) { b = append(b, nameLine{text: s, letters: draw.Small}) }
	if w.prepared {
		say("prepared, not fitted")
	}
	if p := w.part; p != nil && p.Is(schema.Shutoff) {
		say(valveState(p))
	}
	if !w.level.Known && needsHeight(w) {
		say("height not stated")
	}
	if p := w.part; p != nil {
		if h, ok := g.heeled(p); ok {
			say(h.text())
		}
	}
	return b
}

// valveState is how a valve normally stands and what keeps it there.
func valveState(p *schema.Part) string {
	s := "normally " + p.Word("position").Or("open")
	if k := p.Word("secured"); k.Given() && k.V != "no" && k.V != "yes" {
		s += ", " + k.V
	}
	return s
}

// needsHeight leaves out what takes its height from its neighbour.
func needsHeight(w *waterBox) bool {
	return w.part == nil || w.part.Host == nil
}

// heightText is a height above the static waterline, with its sign, in metres.
func heightText(mm int) string {
	sign := "+"
	if mm < 0 {
		sign, mm = "−", -mm
	}
	return fmt.Sprintf("%s%d.%02d m", sign, mm/1000, mm%1000/10)
}

// hoseLabels are the wordings of a hose's label, the fullest first.
func hoseLabels(h *schema.Hose, style draw.Style) []string {
	id, extra := h.ID, ""
	if h.Prepared {
		extra += " prepared"
	}
	bore := "bore?"
	if h.Bore.Given() {
		bore = boreText(h)
	}
	length := "length?"
	if h.Length.Given() {
		length = fmt.Sprintf("%.2f m", float64(h.Length.V))
		if h.Length.V == 0 {
			length = "nipple"
		}
	}
	code := serviceCode(style)
	if h.Peak.Given() {
		extra += " peak " + heightText(millimetres(h.Peak.V))
	}
	if h.Dip.Given() {
		extra += " dip " + heightText(millimetres(h.Dip.V))
	}
	return []string{
		strings.Join([]string{id, code, bore, length}, " ") + extra,
		strings.Join([]string{id, bore, length}, " ") + extra,
		strings.Join([]string{id, bore}, " ") + extra,
		id + extra,
	}
}

// boreText is the hose's bore as the trade sells it: in the words of the file.
func boreText(h *schema.Hose) string {
	if t := strings.TrimSpace(h.Bore.Text); t != "" {
		return t
	}
	return fmt.Sprintf("%.3g mm", float64(h.Bore.V)*1000)
}

// labelSize is the room of a run's label on the grid: two units hold the least
// letters with clearance on both sides.
func labelSize(s string) waterlayout.Size {
	return waterlayout.Size{W: units(draw.RunLabel.Width(s)*wider + 1.2), H: 2}
}

// strokes sets the block in its place, on the side of its part that it stands
// on.
func (b nameBlock) strokes(t waterlayout.Text, origin draw.Point) []draw.Stroke {
	box := boxOf(t.Rect, origin)
	y := (box.Min.Y + box.Max.Y - b.height()) / 2
	switch t.Side {
	case waterlayout.Top:
		y = box.Max.Y - namePad - b.height()
	case waterlayout.Bottom:
		y = box.Min.Y + namePad
	}
	y += b[0].letters.Cap()
	var out []draw.Stroke
	for i, l := range b {
		if i > 0 {
			y += l.pitch()
		}
		x := box.Min.X + namePad
		switch t.Side {
		case waterlayout.Left:
			x = box.Max.X - namePad - l.width()
		case waterlayout.Top, waterlayout.Bottom:
			x = (box.Min.X + box.Max.X - l.width()) / 2
		}
		at := draw.Point{X: x, Y: y}
		out = append(out, draw.Text{At: at, S: l.text, Letters: l.letters})
		if l.beside != "" {
			out = append(out, draw.Text{At: at.Add(l.letters.Width(l.text)+nameGap, 0), S: l.beside, Letters: draw.HeightText})
		}
	}
	return out
}

func boxOf(r waterlayout.Rect, origin draw.Point) draw.Box {
	return draw.Box{
		Min: draw.GridPoint(origin, float64(r.X), float64(r.Y)),
		Max: draw.GridPoint(origin, float64(r.X+r.W), float64(r.Y+r.H)),
	}
}
