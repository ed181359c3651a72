package sheet

import (
	"fmt"

	"fitout/render/draw"
)

// Flow sets headings, paragraphs, tables and figures one below the other on as
// many sheets as they need.
type Flow struct {
	frame Frame
	pages [][]draw.Item
	y     draw.MM // next free height on the last page
}

// NewFlow starts on an empty sheet.
func NewFlow(f Frame) *Flow {
	fl := &Flow{frame: f}
	fl.newPage()
	return fl
}

func (f *Flow) newPage() {
	f.pages = append(f.pages, nil)
	f.y = f.frame.Area.Min.Y
}

func (f *Flow) add(items ...draw.Item) {
	k := len(f.pages) - 1
	f.pages[k] = append(f.pages[k], items...)
}

func (f *Flow) room() draw.MM { return f.frame.Area.Max.Y - f.y }

func (f *Flow) full() draw.MM { return f.frame.Area.Height() }

// Width is the width that the flow sets in.
func (f *Flow) Width() draw.MM { return f.frame.Area.Width() }

// need starts a new page unless h is left, or the page is empty.
func (f *Flow) need(h draw.MM) {
	if h > f.room() && f.y > f.frame.Area.Min.Y {
		f.newPage()
	}
}

// Heading sets a line in large letters and keeps it with what follows.
func (f *Flow) Heading(s string) {
	const follow = draw.MM(18) // the least that may stand below a heading
	l := draw.Heading
	for i, line := range l.Wrap(s, f.Width()) {
		if i == 0 {
			if f.y > f.frame.Area.Min.Y {
				f.y += 4
			}
			f.need(l.LinePitch() + follow)
		}
		f.add(draw.Text{At: draw.Point{X: f.frame.Area.Min.X, Y: f.y + l.Cap()}, S: line, Letters: l})
		f.y += l.LinePitch()
	}
	f.y += 1
}

// Paragraph sets running text.
func (f *Flow) Paragraph(s string, l draw.Letters) {
	for _, line := range l.Wrap(s, f.Width()) {
		f.need(l.LinePitch())
		f.add(draw.Text{At: draw.Point{X: f.frame.Area.Min.X, Y: f.y + l.Cap()}, S: line, Letters: l})
		f.y += l.LinePitch()
	}
	f.y += 1.5
}

// Table sets a table, broken over pages where it must be.
func (f *Flow) Table(t Table) {
	pieces := t.Pieces(f.Width(), f.room(), f.full())
	for i, p := range pieces {
		if i == 0 && p.rows == 0 && len(pieces) > 1 {
			continue // a heading alone at the foot of the page
		}
		if i > 0 || p.Height > f.room() {
			f.need(f.full())
		}
		f.add(p.At(draw.Point{X: f.frame.Area.Min.X, Y: f.y}))
		f.y += p.Height
	}
	f.y += 3
}

// Figure sets something h high; at is its upper left corner.
func (f *Flow) Figure(h draw.MM, items func(at draw.Point) []draw.Item) {
	f.need(h)
	f.add(items(draw.Point{X: f.frame.Area.Min.X, Y: f.y})...)
	f.y += h
}

// Break starts a new page unless the page is empty.
func (f *Flow) Break() { f.need(f.full() + 1) }

// Sheets closes the flow: one sheet a page with frame and title block. The ids
// are id, id-2, id-3 …; first is the number of the first sheet in a set of of.
func (f *Flow) Sheets(id string, t TitleBlock, first, of int) []draw.Sheet {
	var out []draw.Sheet
	for i, items := range f.pages {
		s := draw.Sheet{ID: id, Title: t.Title, W: f.frame.Paper.W, H: f.frame.Paper.H}
		if i > 0 {
			s.ID = fmt.Sprintf("%s-%d", id, i+1)
			s.Title = fmt.Sprintf("%s, page %d", t.Title, i+1)
		}
		t.Sheet, t.Of = first+i, of
		s.Add(f.frame.Items(t)...)
		s.Add(items...)
		out = append(out, s)
	}
	return out
}

// Pages is how many sheets the flow takes so far.
func (f *Flow) Pages() int { return len(f.pages) }

// Keep starts a new page unless h is left, so that what follows stays together.
func (f *Flow) Keep(h draw.MM) { f.need(min(h, f.full())) }
