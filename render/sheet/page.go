package sheet

import (
	"fmt"

	"fitout/render/draw"
)

// Page is what a producer of sheets makes: a drawing within its frame, still
// without the number of sheets in the set.
type Page struct {
	// ID is short and unique in the set; it names the file.
	ID string
	// Title is what the sheet shows, Document the kind of drawing it is, Desc the
	// same for a reader who cannot see it.
	Title, Document, Desc string
	// Caution replaces the general caution line where it is not empty.
	Caution string
	Frame   Frame
	Items   []draw.Item
}

// Finish closes the page with frame and title block as sheet n of a set of of.
func (p Page) Finish(t TitleBlock, n, of int) draw.Sheet {
	t.Title, t.Document, t.Sheet, t.Of = p.Title, p.Document, n, of
	if p.Caution != "" {
		t.Caution = p.Caution
	}
	s := draw.Sheet{ID: p.ID, Title: p.Title, Desc: p.Desc, W: p.Frame.Paper.W, H: p.Frame.Paper.H}
	s.Add(p.Frame.Items(t)...)
	s.Add(p.Items...)
	return s
}

// Framed gives what the flow has set as pages like the one given: a page each.
func (f *Flow) Framed(like Page) []Page {
	var out []Page
	for i, items := range f.pages {
		p := like
		if i > 0 {
			p.ID = fmt.Sprintf("%s-%d", like.ID, i+1)
			p.Title = fmt.Sprintf("%s, page %d", like.Title, i+1)
		}
		p.Items = items
		out = append(out, p)
	}
	return out
}
