package schematic

import (
	"math"
	"strconv"
	"strings"

	"fitout/layout"
	"fitout/render/draw"
	"fitout/schema"
	"fitout/schema/symbol"
	"fitout/validate/tables"
)

// line is a line of letters within a block.
type line []span

type span struct {
	s string
	l draw.Letters
}

func (ln line) width() draw.MM {
	w := draw.MM(0)
	for i, s := range ln {
		if i > 0 {
			w += wordGap
		}
		w += s.l.Width(s.s)
	}
	return w
}

const (
	wordGap    = draw.MM(1.2)
	linePitch  = draw.MM(3.6)
	blockPadX  = draw.MM(0.9) // between letters and what stands beside them
	blockPadY  = draw.MM(0.5)
	blockWidth = draw.MM(19) // widest column of text beside a symbol
)

// block is several lines set as one.
type block []line

func gridUnits(v draw.MM) int { return int(math.Ceil(float64(v)/symbol.Module - 1e-9)) }

func (b block) width() draw.MM {
	w := draw.MM(0)
	for _, ln := range b {
		w = max(w, ln.width())
	}
	return w
}

func (b block) height() draw.MM {
	if len(b) == 0 {
		return 0
	}
	last := draw.MM(0)
	for _, s := range b[len(b)-1] {
		if strings.ContainsAny(s.s, "gjpqy,;()[]{}|_/\\@Q$µμ") {
			last = max(last, s.l.Size()*0.22)
		}
	}
	return draw.MM(len(b)-1)*linePitch + draw.Designation.Cap() + last
}

// size is the room the block takes on the grid.
func (b block) size() layout.Size {
	if len(b) == 0 {
		return layout.Size{}
	}
	return layout.Size{W: gridUnits(b.width() + 2*blockPadX), H: gridUnits(b.height() + 2*blockPadY)}
}

// set places the block in a cell: against the left side, the right side or in the
// middle.
func (b block) set(cell draw.Box, a draw.Align) []draw.Stroke {
	var out []draw.Stroke
	y := cell.Min.Y + (cell.Height()-b.height())/2 + draw.Designation.Cap()
	for _, ln := range b {
		x := cell.Min.X + blockPadX
		switch a {
		case draw.End:
			x = cell.Max.X - blockPadX - ln.width()
		case draw.Middle:
			x = (cell.Min.X + cell.Max.X - ln.width()) / 2
		}
		for i, s := range ln {
			if i > 0 {
				x += wordGap
			}
			out = append(out, draw.Text{At: draw.Point{X: x, Y: y}, S: s.s, Letters: s.l})
			x += s.l.Width(s.s)
		}
		y += linePitch
	}
	return out
}

// wrapText sets words in lines no wider than width, in the least letters where a
// word does not fit in those asked for. A figure keeps its unit.
func wrapText(s string, l draw.Letters, width draw.MM) block {
	words := glue(strings.Fields(s))
	for _, w := range words {
		if l.Width(w) > width {
			l = draw.Small
		}
	}
	var out block
	text := ""
	flush := func() {
		if text != "" {
			out = append(out, line{{text, l}})
		}
		text = ""
	}
	for _, w := range words {
		switch {
		case text != "" && l.Width(text+" "+w) <= width:
			text += " " + w
			continue
		case l.Width(w) > width:
			flush()
			for _, part := range l.Wrap(w, width) {
				out = append(out, line{{part, l}})
			}
			continue
		}
		flush()
		text = w
	}
	flush()
	return out
}

// glue joins every figure to the unit after it.
func glue(words []string) []string {
	var out []string
	for i := 0; i < len(words); i++ {
		w := words[i]
		if _, err := strconv.ParseFloat(strings.TrimPrefix(w, "≤"), 64); err == nil && i+1 < len(words) && len(words[i+1]) <= 4 {
			i++
			w += " " + words[i]
		}
		out = append(out, w)
	}
	return out
}

// column is how the text beside symbols is set.
type column struct {
	width draw.MM
	title draw.Letters
}

// The columns of text: in letters of 2.5 mm throughout, and a narrow one with
// titles in the least letters for boats with many parts, where the wide one would
// cost sheets.
var (
	wideColumn   = column{blockWidth, draw.PartTitle}
	narrowColumn = column{13.6, draw.Small}
)

// widestWord is how wide a column may grow for one long word.
const widestWord = draw.MM(24)

// many is the number of parts from which the narrow column is used.
const many = 45

// text is what stands beside a symbol: designation, rating, title.
func (n *node) text(c column) block {
	p := n.part
	// no word is broken that a somewhat wider column holds
	for _, w := range glue(strings.Fields(n.title)) {
		c.width = max(c.width, min(draw.Small.Width(w), widestWord))
	}
	out := wrapText(p.ID, draw.Designation, c.width)
	add := func(s string, l draw.Letters) {
		for i, ln := range wrapText(s, l, c.width) {
			last := len(out) - 1
			if both := append(append(line{}, out[last]...), ln...); i == 0 && last == 0 && both.width() <= c.width {
				out[last] = both
				continue
			}
			out = append(out, ln)
		}
	}
	if p.Kind.Rating != nil {
		add(p.Kind.Rating(p), draw.Rating)
	}
	add(position(p), draw.Rating)
	if len(n.used) == 0 {
		add(unwired(p), draw.Rating)
	}
	return append(out, wrapText(n.title, c.title, c.width)...)
}

// unwired says why a part stands there without a conductor.
func unwired(p *schema.Part) string {
	if p.Flag("battery").Or(false) {
		return "own battery"
	}
	return "no wire given"
}

// position says how a contact stands that is not drawn as it stands: contacts are
// drawn open.
func position(p *schema.Part) string {
	if !p.Is(schema.Switching) || p.Kind.Attr("position") == nil || !p.Has("position") {
		return ""
	}
	return "at rest " + p.Word("position").V
}

// name is the text of a bar, in one line where the bar has room for it.
func (n *node) name() block {
	p := n.part
	if n.post != "" {
		return block{{{p.ID + " " + shown(n.post), draw.TerminalName}}}
	}
	rest := ""
	if p.Kind.Rating != nil {
		rest = p.Kind.Rating(p)
	}
	if t := p.Title(); t != "" {
		rest = strings.TrimSpace(t + "  " + rest)
	}
	if n.panel != nil {
		spare, empty := n.panel.without(n.used)
		if len(spare) > 0 {
			rest += ", " + ranges(spare) + ": spare"
		}
		if len(empty) > 0 {
			rest += ", " + ranges(empty) + ": no wire"
		}
	}
	limit := draw.MM(75)
	if total(n.used) <= 2 {
		limit = blockWidth + 8
	}
	out := block{{{p.ID, draw.BarName}}}
	first := limit - draw.BarName.Width(p.ID) - wordGap
	lines := wrapText(rest, draw.PartTitle, limit)
	if len(lines) > 1 { // the first line is shorter by the designation
		lines = wrapText(rest, draw.PartTitle, max(first, limit/2))
	}
	for i, ln := range lines {
		if i == 0 && draw.MM(ln.width()) <= first {
			out[0] = append(out[0], ln...)
			continue
		}
		out = append(out, ln)
	}
	return out
}

func total(m map[string]int) int {
	n := 0
	for _, k := range m {
		n += k
	}
	return n
}

// shown is a terminal's name as it is printed.
func shown(terminal string) string { return strings.ReplaceAll(terminal, "-", "−") }

// label is the text of a run at its fullest, in two parts that may stand on
// either side of it, and what may be left out where there is no room.
func (d *drawing) label(l *link) (number, size, rest string) {
	w := l.wire()
	number = w.Ref()
	if n := w.Parallel.Or(1); n > 1 {
		number = itoa(n) + "× " + number
	}
	switch {
	case w.Size.Given() && !w.Size.V.IsZero():
		size = w.Size.V.Name()
	case w.Auto:
		size = "size open"
	}
	if w.Cable != "" {
		size = strings.TrimSpace(itoa(len(l.wires)) + "×" + size)
	}
	if w.Cable == "" {
		rest = d.colour(w)
	}
	if d.in.shows("length") && w.Length.Given() && w.Length.V > 0 {
		text := strings.TrimSpace(w.Length.Text)
		if text == "" {
			text = w.Length.V.RunText()
		}
		if w.Length.From == schema.Derived {
			text = "≤ " + text
		}
		rest = strings.TrimSpace(rest + " " + text)
	}
	return number, size, rest
}

// colour is the code of the insulation, IEC 60757: as given, else the set's for
// the polarity.
func (d *drawing) colour(w *schema.Wire) string {
	if w.Color.Given() {
		return ColourCode(w.Color.V)
	}
	switch d.style(w) {
	case draw.Signal, draw.Live, draw.Neutral:
		return ""
	}
	return ColourCode(d.in.Survey.DefaultColour(w))
}

// ColourCode writes a colour as its IEC 60757 code, stripe after base.
func ColourCode(s string) string {
	name := tables.ColourName(s)
	base, stripe, _ := strings.Cut(strings.TrimSuffix(name, " stripe"), " with ")
	code, ok := iecColours[base]
	if !ok {
		return strings.TrimSpace(s)
	}
	return code + iecColours[strings.TrimSpace(stripe)]
}

var iecColours = map[string]string{
	"black": "BK", "brown": "BN", "red": "RD", "orange": "OG", "yellow": "YE", "green": "GN", "blue": "BU",
	"dark blue": "BU", "light blue": "LBU", "violet": "VT", "grey": "GY", "dark grey": "GY", "white": "WH", "pink": "PK",
	"tan": "TAN", "turquoise": "TQ",
}
