package pack

import (
	"fitout/render/draw"
	"fitout/render/sheet"
)

// section is pages of one kind.
type section struct {
	id, title, document string
	// caution replaces the general one in the foot of its sheets.
	caution string
	lying   bool // paper lying
	blocks  []block
}

// block is a piece of a section: one of the types below.
type block interface{ isBlock() }

// heading is a line in large letters.
type heading string

// para is running text; warning the same, set off.
type (
	para    string
	warning string
)

// steps are numbered lines, each with a box to tick.
type steps []string

// rows is a table. Refs says that its first column holds ids of wires and hoses,
// for the index.
type rows struct {
	sheet.Table
	refs bool
}

// figure is a drawing of its own, h high and as wide as the page.
type figure struct {
	h     draw.MM
	alt   string
	items func(at draw.Point, width draw.MM) []draw.Item
}

// entry is something that is looked for by itself: a space, a terminal block, a
// fault. It starts with a heading, has an address, and is found by words.
type entry struct {
	id, title string
	// find is words it is found by beside its title and text.
	find   string
	page   bool // starts a page
	screen bool // not on paper
	blocks []block
}

// newPage starts a page on paper.
type newPage struct{}

// code is a QR code on paper that leads to an address on the page for the screen.
type code string

func (heading) isBlock() {}
func (para) isBlock()    {}
func (warning) isBlock() {}
func (steps) isBlock()   {}
func (rows) isBlock()    {}
func (figure) isBlock()  {}
func (entry) isBlock()   {}
func (newPage) isBlock() {}
func (code) isBlock()    {}

// col is a column whose width the text decides.
func col(head string) sheet.Column { return sheet.Column{Head: head} }

// num is a column of figures.
func num(head string) sheet.Column { return sheet.Column{Head: head, Align: draw.End} }

// wide is a column that takes the room that is left.
func wide(head string) sheet.Column { return sheet.Column{Head: head, Grow: 1} }

// table makes a table in small letters.
func table(cols []sheet.Column, lines [][]string) rows {
	return rows{Table: sheet.Table{Columns: cols, Rows: lines, Small: true}}
}

// large makes a table in the usual letters, for what is read in a bad light.
func large(cols []sheet.Column, lines [][]string) rows {
	return rows{Table: sheet.Table{Columns: cols, Rows: lines}}
}

// box is an empty box to tick or fill in.
const box = "□"
