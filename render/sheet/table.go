package sheet

import (
	"slices"
	"strings"

	"fitout/render/draw"
)

// Column is a column of a table on a sheet.
type Column struct {
	Head  string
	Align draw.Align
	// Least is the least width; 0 lets the text decide.
	Least draw.MM
	// Grow takes a share of the room that is left over, by weight.
	Grow float64
}

// Table is rows of text under a heading, to be set on sheets.
type Table struct {
	Columns []Column
	Rows    [][]string
	// Small sets rows and heading in the least letters.
	Small bool
	// Tight sets the rows closer together, where that saves a sheet.
	Tight bool
}

// Piece of a table that fits into one page: how high it is, and its strokes
// once its place is known.
type Piece struct {
	Height draw.MM
	rows   int
	draw   func(at draw.Point) []draw.Stroke
}

// At places the piece with its upper left corner at p.
func (p Piece) At(at draw.Point) draw.Group {
	return draw.Group{Class: "table", Strokes: p.draw(at)}
}

const (
	cellPadX = draw.MM(1.2)
	cellPadY = draw.MM(1.1)
	// tightPadY leaves as much white between lines as a line is high
	tightPadY = draw.MM(0.65)
)

// row is a row broken into lines, or part of one.
type row struct {
	cells [][]string
	lines int
	cut   bool // goes on in the next piece
}

// setting is a table with its widths fixed.
type setting struct {
	Table
	widths     []draw.MM
	body, head draw.Letters
}

func (t Table) padY() draw.MM {
	if t.Tight {
		return tightPadY
	}
	return cellPadY
}

func (t Table) body() draw.Letters {
	if t.Small {
		return draw.Small
	}
	return draw.TableText
}

func (t Table) head() draw.Letters {
	if t.Small {
		return draw.Caution // the least letters, bold
	}
	return draw.TableHead
}

// Pieces breaks the table into pieces: the first at most first high, the others
// at most rest. The heading is repeated on each. A row moves to the next piece
// whole if it fits there, and is broken between lines if it does not; with room
// for less than the heading and one line the first piece is empty.
func (t Table) Pieces(width, first, rest draw.MM) []Piece {
	s := t.set(width)
	head := s.wrap(s.heads(), s.head)
	headHeight := s.rowHeight(head, s.head)
	var out []Piece
	room, used := first, headHeight
	var page []row
	flush := func() {
		out = append(out, s.piece(head, page))
		page, room, used = nil, rest, headHeight
	}
	for _, cells := range t.Rows {
		r := s.wrap(cells, s.body)
		for {
			h := s.rowHeight(r, s.body)
			if used+h <= room {
				page, used = append(page, r), used+h
				break
			}
			if headHeight+h <= rest && (len(page) > 0 || room != rest) {
				flush()
				continue
			}
			n := s.linesIn(room - used)
			if n < 1 && (len(page) > 0 || room != rest) {
				flush()
				continue
			}
			var part row
			part, r = r.split(max(n, 1))
			page = append(page, part)
			flush()
			if r.lines == 0 {
				break
			}
		}
	}
	if len(page) > 0 || len(out) == 0 {
		out = append(out, s.piece(head, page))
	}
	return out
}

func (t Table) set(width draw.MM) setting {
	return setting{Table: t, widths: t.widths(width), body: t.body(), head: t.head()}
}

func (t Table) heads() []string {
	out := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		out[i] = c.Head
	}
	return out
}

// widths shares the width out: columns whose longest line fits into an equal
// share of what is left take just that, and the others share the rest, none
// less than its longest word where that can be. Room left over goes to the
// columns that grow.
func (t Table) widths(total draw.MM) []draw.MM {
	n := len(t.Columns)
	least, full := make([]draw.MM, n), make([]draw.MM, n)
	for i, c := range t.Columns {
		l, f := t.measure(i)
		least[i] = max(c.Least, min(l, total*2/5))
		full[i] = max(least[i], f)
	}
	switch {
	case sum(full) <= total:
		return t.grow(full, total-sum(full))
	case sum(least) >= total:
		return scale(least, total/sum(least))
	}
	out, set := make([]draw.MM, n), make([]bool, n)
	left, open := total, n
	fix := func(i int, w draw.MM) {
		out[i], set[i] = w, true
		left, open = left-w, open-1
	}
	for again := true; again; {
		again = false
		for i := range out {
			share := left / draw.MM(open)
			switch {
			case set[i]:
			case full[i] <= share:
				fix(i, full[i])
				again = true
			case least[i] > share:
				fix(i, least[i])
				again = true
			}
			if open == 0 {
				return out
			}
		}
	}
	for i := range out {
		if !set[i] {
			out[i] = left / draw.MM(open)
		}
	}
	return out
}

// measure is the width of the longest word and of the longest line of a column.
func (t Table) measure(i int) (word, line draw.MM) {
	see := func(s string, l draw.Letters) {
		for _, para := range strings.Split(s, "\n") {
			line = max(line, l.Width(para)+2*cellPadX+0.05)
			for _, w := range strings.Fields(para) {
				word = max(word, l.Width(w)+2*cellPadX+0.05)
			}
		}
	}
	see(t.Columns[i].Head, t.head())
	for _, r := range t.Rows {
		if i < len(r) {
			see(r[i], t.body())
		}
	}
	return word, line
}

func (t Table) grow(widths []draw.MM, left draw.MM) []draw.MM {
	weights := 0.0
	for _, c := range t.Columns {
		weights += c.Grow
	}
	for i, c := range t.Columns {
		if weights > 0 {
			widths[i] += draw.MM(float64(left) * c.Grow / weights)
		}
	}
	return widths
}

func sum(v []draw.MM) draw.MM {
	s := draw.MM(0)
	for _, x := range v {
		s += x
	}
	return s
}

func scale(v []draw.MM, k draw.MM) []draw.MM {
	for i := range v {
		v[i] = draw.MM(v[i] * k)
	}
	return v
}

func (s setting) wrap(cells []string, l draw.Letters) row {
	r := row{cells: make([][]string, len(s.Columns)), lines: 1}
	for i := range s.Columns {
		if i < len(cells) {
			r.cells[i] = l.Wrap(cells[i], s.widths[i]-2*cellPadX)
		}
		r.lines = max(r.lines, len(r.cells[i]))
	}
	return r
}

func (s setting) rowHeight(r row, l draw.Letters) draw.MM {
	return 2*s.padY() + l.Cap() + draw.MM(float64(r.lines-1)*float64(l.LinePitch())) + draw.MM(float64(l.Cap())*0.3)
}

// linesIn is how many lines of a row fit into a height.
func (s setting) linesIn(h draw.MM) int {
	n := 0
	for s.rowHeight(row{lines: n + 1}, s.body) <= h {
		n++
	}
	return n
}

// split cuts a row after n lines.
func (r row) split(n int) (head, tail row) {
	head.lines, tail.lines = min(n, r.lines), max(r.lines-n, 0)
	head.cut = tail.lines > 0
	for _, c := range r.cells {
		k := min(n, len(c))
		head.cells = append(head.cells, c[:k])
		tail.cells = append(tail.cells, c[k:])
	}
	return head, tail
}

func (s setting) piece(head row, rows []row) Piece {
	h := s.rowHeight(head, s.head)
	height := h
	for _, r := range rows {
		height += s.rowHeight(r, s.body)
	}
	rows = slices.Clone(rows)
	return Piece{Height: height, rows: len(rows), draw: func(at draw.Point) []draw.Stroke {
		var out []draw.Stroke
		rule := func(y draw.MM, st draw.Style) {
			out = append(out, draw.Line(draw.Point{X: at.X, Y: y}, draw.Point{X: at.X + sum(s.widths), Y: y}, st))
		}
		y := at.Y
		rule(y, draw.Rule)
		out = append(out, s.lines(head, draw.Point{X: at.X, Y: y}, s.head)...)
		y += h
		rule(y, draw.HeadRule)
		for _, r := range rows {
			out = append(out, s.lines(r, draw.Point{X: at.X, Y: y}, s.body)...)
			y += s.rowHeight(r, s.body)
			if !r.cut {
				rule(y, draw.Rule)
			}
		}
		return out
	}}
}

func (s setting) lines(r row, at draw.Point, l draw.Letters) []draw.Stroke {
	var out []draw.Stroke
	x := at.X
	for i, c := range r.cells {
		tx := map[draw.Align]draw.MM{draw.Start: cellPadX, draw.Middle: s.widths[i] / 2, draw.End: s.widths[i] - cellPadX}[s.Columns[i].Align]
		for k, line := range c {
			if line == "" {
				continue
			}
			y := at.Y + s.padY() + l.Cap() + draw.MM(float64(k)*float64(l.LinePitch()))
			out = append(out, draw.Text{At: draw.Point{X: x + tx, Y: y}, S: line, Letters: l, Align: s.Columns[i].Align})
		}
		x += s.widths[i]
	}
	return out
}
