package label

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fitout/render/draw"
)

// Distances within labels and on pages, in millimetres of paper. Printers place
// a sheet within about a millimetre (common practice, no source).
const (
	pad       = draw.MM(1.5) // edge of a label to its text
	fold      = draw.MM(1)   // text of a flag to the wire
	tapePad   = draw.MM(1)   // what tape printers leave bare at either edge
	sleevePad = draw.MM(0.4)
	between   = draw.MM(3) // repeats of a text round a cable
	most      = draw.MM(120)
)

// setting is a label set for one stock.
type setting struct {
	w       draw.MM // breadth of the piece; of a sheet the label's own
	strokes func(draw.Box) []draw.Stroke
	left    []Line // what found no room
	coded   bool
	// short says that a marker does not reach round.
	short bool
}

func (s setting) good() bool { return len(s.left) == 0 && !s.short }

type placer struct {
	set     *Set
	options Options
	left    map[string]int // labels without room for their code, by kind and stock
	notes   []string
}

// piece is a label with what it is printed on.
type piece struct {
	label   *Label
	stock   Stock
	setting setting
}

func (p *placer) place() error {
	by := map[string][]piece{}
	for _, run := range runs(p.set.Labels) {
		if err := p.choose(run, by); err != nil {
			return err
		}
	}
	for _, st := range Stocks() {
		list := by[st.Name]
		if len(list) == 0 {
			continue
		}
		if st.Form == Sheet && p.options.Skip >= st.Columns*st.Rows {
			return fmt.Errorf("--skip %d leaves nothing of %s: a sheet has %d labels; print one stock at a time with --only", p.options.Skip, st.Name, st.Columns*st.Rows)
		}
		first := len(p.set.Sheets)
		switch st.Form {
		case Sheet:
			p.sheets(st, list)
		case Page:
			p.strips(st, list)
		default:
			cut := func(q piece) bool { return q.label.Kind == Panels }
			p.tapeStrips(st, slices.DeleteFunc(slices.Clone(list), func(q piece) bool { return !cut(q) }))
			p.pieces(st, slices.DeleteFunc(list, cut))
		}
		p.caption(st, first)
	}
	for _, k := range Kinds() {
		for _, st := range Stocks() {
			if n := p.left[string(k)+"/"+st.Name]; n > 0 {
				p.notes = append(p.notes, fmt.Sprintf("%s: no room for the code of %d on %s", k, n, st.Name))
			}
		}
	}
	p.set.Notes = append(p.set.Notes, p.notes...)
	return nil
}

// runs parts the labels into those that must share a stock: the ends of one run.
func runs(list []*Label) [][]*Label {
	var out [][]*Label
	for i, l := range list {
		if i > 0 && list[i-1].Kind == l.Kind && list[i-1].ID == l.ID {
			out[len(out)-1] = append(out[len(out)-1], l)
			continue
		}
		out = append(out, []*Label{l})
	}
	return out
}

// candidates are the stocks to try, the wanted one first.
func (p *placer) candidates(l *Label) ([]Stock, error) {
	names := usual(l.Kind, p.options.Letter)
	if forced := p.forced(l); forced != "" {
		names = []string{forced}
	}
	var out []Stock
	for _, n := range names {
		st, err := StockNamed(n)
		if err != nil {
			return nil, err
		}
		if st.Form == Sleeve && l.Kind == Wires && st.W == 0 {
			own, ok := sleeveFor(l.Outside)
			if !ok {
				p.note("%s: no sleeve goes over %.0f mm; it has a label instead", l.name(), float64(l.Outside))
				own, err = StockNamed(usual(Wires, p.options.Letter)[1])
				if err != nil {
					return nil, err
				}
			}
			st = own
		}
		out = append(out, st)
	}
	return out, nil
}

// forced is the stock asked for, where it can hold such a label.
func (p *placer) forced(l *Label) string {
	if n := p.options.Stock[l.Kind]; n != "" {
		return n
	}
	n := p.options.Stock[""]
	st, err := StockNamed(n)
	switch {
	case n == "" || err != nil:
		return ""
	case st.Form == Sleeve && l.Kind != Wires, l.Kind == Panels && st.Form == Sheet, l.Kind != Panels && st.Form == Page:
		return ""
	}
	return n
}

func (p *placer) note(format string, a ...any) {
	n := fmt.Sprintf(format, a...)
	if !slices.Contains(p.notes, n) {
		p.notes = append(p.notes, n)
	}
}

// name says which label in words: "wires 4a at F1.in".
func (l *Label) name() string {
	if l.At != "" && l.Kind != Panels {
		return fmt.Sprintf("%s %s at %s", l.Kind, l.ID, l.At)
	}
	if l.At != "" {
		return fmt.Sprintf("%s %s.%s", l.Kind, l.ID, l.At)
	}
	return fmt.Sprintf("%s %s", l.Kind, l.ID)
}

// choose takes the first stock that holds all texts of the labels, else the one
// that holds most.
func (p *placer) choose(run []*Label, by map[string][]piece) error {
	list, err := p.candidates(run[0])
	if err != nil {
		return err
	}
	var best []piece
	least := math.MaxInt
	for _, st := range list {
		made, bad, ok := p.setAll(run, st)
		if ok && bad < least {
			best, least = made, bad
		}
		if ok && bad == 0 {
			break
		}
	}
	for _, l := range run {
		p.glyphs(l)
	}
	if best == nil {
		for _, l := range run {
			l.Stock = ""
			p.note("%s: not even its number has room on %s; it stands in the printer's file alone", l.name(), stockNames(list))
		}
		return nil
	}
	for _, x := range best {
		x.label.Stock = x.stock.Name
		for _, cell := range x.label.cells {
			cell.Stock = x.stock.Name
		}
		for _, line := range x.setting.left {
			p.note("%s on %s: left out %q, which has no room in letters of 1.8 mm", x.label.name(), x.stock.Name, line.Text)
		}
		if x.label.Code != "" && !x.setting.coded {
			p.left[string(x.label.Kind)+"/"+x.stock.Name]++
		}
		by[x.stock.Name] = append(by[x.stock.Name], x)
	}
	return nil
}

// setAll sets a run of labels on a stock; bad counts what is lost.
func (p *placer) setAll(run []*Label, st Stock) (made []piece, bad int, ok bool) {
	for _, l := range run {
		s, ok := p.on(l, st)
		if !ok {
			return nil, 0, false
		}
		if !s.good() {
			bad += len(s.left) + 1
		}
		made = append(made, piece{l, st, s})
	}
	return made, bad, true
}

func stockNames(list []Stock) string {
	var out []string
	for _, s := range list {
		out = append(out, s.Name)
	}
	return strings.Join(out, ", ")
}

// glyphs says which letters of a label the face lacks: a back end would print
// another mark.
func (p *placer) glyphs(l *Label) {
	for _, line := range l.Lines {
		for _, r := range (draw.Text{S: line.Text}).Clean() {
			if r >= 0x7f && !draw.HasGlyph(draw.Bold, r) {
				p.note("%s: the face has no letter %q; write the label by hand or give it another text", l.name(), r)
			}
		}
	}
	for _, c := range l.cells {
		p.glyphs(c)
	}
}

// on sets a label on a stock.
func (p *placer) on(l *Label, st Stock) (setting, bool) {
	switch {
	case l.Kind == Panels:
		return p.setStrip(l, st), true
	case st.Form == Sleeve:
		return ribbon(l, st.H-2*sleevePad, st.W, st.W-4)
	case st.Form == Tape && l.Outside > 0 && math.Pi*l.Outside < 60:
		return tapeFlag(l, st)
	case st.Form == Tape:
		return ribbon(l, st.H-2*tapePad, 0, most)
	case l.Outside > 0:
		return marker(l, st)
	}
	return plate(l, st)
}

// plate is a label that lies flat, with its code on the right where that costs no
// text; a warning's letters do not shrink below 2.5 mm for it.
func plate(l *Label, st Stock) (setting, bool) {
	in := pad
	if l.frame {
		in += 1.5
	}
	w, h := st.W-2*in, st.H-2*in
	s := setting{w: st.W}
	b, left, ok := fit(l.Lines, w, h)
	if !ok {
		return s, false
	}
	s.left = left
	code, has, err := encode(l.Code)
	module := min(draw.MM(math.Floor(float64(h)/float64(max(1, code.Modules()))*20)/20), 0.8)
	if err == nil && has && module >= 0.5 {
		side := code.Side(module)
		if c, cut, ok := fit(l.Lines, w-side, h); ok && len(cut) <= len(left) && (!l.frame || c.least() >= 2.5) {
			s.coded = true
			s.strokes = func(box draw.Box) []draw.Stroke {
				text := draw.Box{Min: box.Min.Add(in, in), Max: draw.Point{X: box.Max.X - in - side, Y: box.Max.Y - in}}
				at := draw.Point{X: box.Max.X - in - side, Y: box.Min.Y + (box.Height()-side)/2}
				return append(frame(l, box), append(c.level(text), code.Strokes(at, module)...)...)
			}
			return s, true
		}
	}
	s.strokes = func(box draw.Box) []draw.Stroke { return append(frame(l, box), b.level(box.Grow(-in))...) }
	return s, true
}

// frame is the thick line round a warning.
func frame(l *Label, box draw.Box) []draw.Stroke {
	if !l.frame {
		return nil
	}
	return []draw.Stroke{draw.Rect{Box: box.Grow(-1.2), Pen: draw.Pen{Style: draw.OutlineThick}}}
}

// marker goes round a wire: as a flag, folded over it with the text on both
// halves, or wrapped, with the text along it and repeated so that it shows from
// every side.
func marker(l *Label, st Stock) (setting, bool) {
	round := math.Pi * l.Outside
	ways := []func(*Label, Stock, draw.MM) (setting, bool){flag, wrap}
	if round > st.W/2 {
		slices.Reverse(ways)
	}
	var best setting
	found := false
	for _, way := range ways {
		s, ok := way(l, st, round)
		switch {
		case !ok:
		case s.good():
			return s, true
		case !found || len(s.left) < len(best.left):
			best, found = s, true
		}
	}
	return best, found
}

func flag(l *Label, st Stock, round draw.MM) (setting, bool) {
	half := (st.W - round) / 2
	w := half - pad - fold
	if w <= 0 {
		return setting{}, false
	}
	b, left, ok := fit(l.Lines, w, st.H-2*pad)
	return setting{w: st.W, left: left, strokes: func(box draw.Box) []draw.Stroke {
		return append(bothHalves(b, box, pad, half-fold), foldLine(box))
	}}, ok
}

// bothHalves sets a block on the two halves of a flag: from in to to, and the
// same from the other edge.
func bothHalves(b block, box draw.Box, in, to draw.MM) []draw.Stroke {
	a := draw.Box{Min: box.Min.Add(in, 0), Max: draw.Point{X: box.Min.X + to, Y: box.Max.Y}}
	z := draw.Box{Min: draw.Point{X: box.Max.X - to, Y: box.Min.Y}, Max: box.Max.Add(-in, 0)}
	return append(b.level(a), b.level(z)...)
}

// foldLine is where the wire lies.
func foldLine(box draw.Box) draw.Stroke {
	x := (box.Min.X + box.Max.X) / 2
	return draw.Line(draw.Point{X: x, Y: box.Min.Y + 1}, draw.Point{X: x, Y: box.Max.Y - 1}, draw.GridFine)
}

func wrap(l *Label, st Stock, round draw.MM) (setting, bool) {
	long := st.W - 2*pad
	b, left, ok := fit(l.Lines, st.H-2*pad, min((long-between)/2, 0.45*round))
	if !ok {
		return setting{}, false
	}
	thick := b.height()
	n := max(1, int((long+between)/(thick+between)))
	return setting{w: st.W, left: left, short: l.Kind == Wires && round > st.W, strokes: func(box draw.Box) []draw.Stroke {
		var out []draw.Stroke
		free := (long - draw.MM(n)*thick) / draw.MM(n)
		for i := range n {
			out = append(out, b.turned(box.Min.X+pad+free/2+draw.MM(i)*(thick+free), box)...)
		}
		return out
	}}, true
}

// tapeFlag is a flag cut from tape: the text, the way round the wire, the text.
func tapeFlag(l *Label, st Stock) (setting, bool) {
	b, left, ok := shortest(l, st.H-2*tapePad, most)
	if !ok {
		return setting{}, false
	}
	half := b.width() + 2 + fold
	return setting{w: 2*half + math.Pi*l.Outside, left: left, strokes: func(box draw.Box) []draw.Stroke {
		return append(bothHalves(b, box, 2, half-fold), foldLine(box))
	}}, true
}

// ribbon is one text along a tape or sleeve; w is the length of the piece, 0 for
// as long as it takes.
func ribbon(l *Label, h, w, longest draw.MM) (setting, bool) {
	var b block
	var left []Line
	var ok bool
	if w > 0 {
		b, left, ok = largest(l, h, longest)
	} else {
		b, left, ok = shortest(l, h, longest)
		w = b.width() + 4
	}
	return setting{w: w, left: left, strokes: func(box draw.Box) []draw.Stroke { return b.level(box) }}, ok
}

// arrangements are the ways of a label's text along a band: one line below the
// other, in two lines, in one.
func arrangements(lines []Line) [][]Line {
	return [][]Line{lines, twoLines(lines), oneLine(lines)}
}

// largest sets a label's lines in a piece of a given length, in the arrangement
// that gives the largest letters.
func largest(l *Label, h, w draw.MM) (b block, left []Line, ok bool) {
	for _, lines := range arrangements(l.Lines) {
		c, fits := fitAll(lines, w, h)
		if fits && (!ok || c.least() > b.least()) {
			b, ok = c, true
		}
	}
	if ok {
		return b, nil, true
	}
	return partly(l, h, w)
}

// shortest sets a label's lines in a band of a height on the least length that
// takes them all, in letters of 2.5 mm if any length allows that.
func shortest(l *Label, h, longest draw.MM) (b block, left []Line, ok bool) {
	ways := arrangements(l.Lines)
	for w := draw.MM(8); w <= longest; w += 2 {
		for _, lines := range ways {
			c, fits := fitAll(lines, w, h)
			switch {
			case fits && c.least() >= 2.5:
				return c, nil, true
			case fits && b == nil:
				b = c
			}
		}
	}
	if b != nil {
		return b, nil, true
	}
	return partly(l, h, longest)
}

// partly sets what goes in, the number alone if need be.
func partly(l *Label, h, w draw.MM) (b block, left []Line, ok bool) {
	for _, lines := range [][]Line{l.Lines, {l.Lines[0]}} {
		if b, left, ok = fit(lines, w, h); ok {
			return b, append(left, l.Lines[len(lines):]...), true
		}
	}
	return nil, nil, false
}

func twoLines(lines []Line) []Line {
	if len(lines) < 3 {
		return lines
	}
	rest := oneLine(lines[1:])
	rest[0].Bold, rest[0].Rows = false, 3
	return append([]Line{{Text: lines[0].Text, Bold: true, Lead: 1}}, rest...)
}

func oneLine(lines []Line) []Line {
	text := lines[0].Text
	for _, l := range lines[1:] {
		part := ", "
		if strings.HasPrefix(l.Text, "→") || strings.HasPrefix(l.Text, "←") || strings.HasPrefix(l.Text, "↔") {
			part = " "
		}
		text += part + l.Text
	}
	return []Line{{Text: text, Bold: true}}
}

// sheets puts labels on sheets of cut labels.
func (p *placer) sheets(st Stock, list []piece) {
	n := p.options.Skip
	for i, x := range list {
		for c := range x.label.Copies {
			if i == 0 && c == 0 || n == st.Columns*st.Rows {
				if n == st.Columns*st.Rows {
					n = 0
				}
				p.sheet(st, st.PaperW)
			}
			p.put(x, n, st.Cell(n), p.options.Outlines)
			n++
		}
	}
}

func (p *placer) sheet(st Stock, w draw.MM) {
	p.set.Sheets = append(p.set.Sheets, draw.Sheet{W: w, H: st.PaperH})
}

// put draws one copy on the last sheet.
func (p *placer) put(x piece, cell int, box draw.Box, outline bool) {
	k := len(p.set.Sheets) - 1
	g := draw.Group{Class: "tag " + string(x.label.Kind), Title: x.label.name()}
	if outline {
		g.Strokes = append(g.Strokes, draw.Rect{Box: box, Pen: draw.Pen{Style: draw.GridLine}})
	}
	g.Strokes = append(g.Strokes, x.setting.strokes(box)...)
	p.set.Sheets[k].Add(g)
	p.set.Placed = append(p.set.Placed, Placed{Label: x.label, Sheet: k, Cell: cell, Box: box, Coded: x.setting.coded})
}

// pieces puts labels one behind the other on lengths of tape or sleeve, a line
// to cut by between them.
func (p *placer) pieces(st Stock, list []piece) {
	x := draw.MM(0)
	for i, q := range list {
		for c := range q.label.Copies {
			if i == 0 && c == 0 || x+q.setting.w > st.PaperW {
				p.sheet(st, q.setting.w)
				x = 0
			}
			k := len(p.set.Sheets) - 1
			if x > 0 {
				p.set.Sheets[k].Add(draw.Line(draw.Point{X: x}, draw.Point{X: x, Y: st.PaperH}, draw.GridFine))
			}
			p.put(q, 0, draw.Box{Min: draw.Point{X: x}, Max: draw.Point{X: x + q.setting.w, Y: st.PaperH}}, p.options.Outlines)
			x += q.setting.w
			p.set.Sheets[k].W = x
		}
	}
}

// caption numbers the sheets of a stock and says in their margin whose they are
// and how to print them, with a bar to measure.
func (p *placer) caption(st Stock, first int) {
	of := len(p.set.Sheets) - first
	for i := range of {
		s := &p.set.Sheets[first+i]
		s.ID = fmt.Sprintf("labels-%s-%d", st.Name, i+1)
		s.Title = fmt.Sprintf("Labels, %s, %d of %d", st.Title, i+1, of)
		s.Desc = "Labels to scale: print at 100 %, without fitting to the page."
		if st.Form != Sheet && st.Form != Page {
			continue
		}
		l := draw.Small
		text := strings.TrimSpace(fmt.Sprintf("%s labels %s, sheet %d of %d. %s", p.options.Boat, st.Name, i+1, of, p.options.Mark))
		const barLong = draw.MM(50)
		right := st.PaperW - 12
		bar := "Print at 100 %; this is 50 mm:"
		room := right - barLong - 2 - l.Width(bar) - 4 - 12
		s.Add(draw.Group{Class: "caption", Strokes: []draw.Stroke{
			draw.Text{At: draw.Point{X: 12, Y: 7}, S: l.Fit(text, room), Letters: l},
			draw.Text{At: draw.Point{X: right - barLong - 2, Y: 7}, S: bar, Letters: l, Align: draw.End},
			draw.Line(draw.Point{X: right - barLong, Y: 6.2}, draw.Point{X: right, Y: 6.2}, draw.Rule),
			draw.Line(draw.Point{X: right - barLong, Y: 5.2}, draw.Point{X: right - barLong, Y: 7.2}, draw.Rule),
			draw.Line(draw.Point{X: right, Y: 5.2}, draw.Point{X: right, Y: 7.2}, draw.Rule),
		}})
	}
}
