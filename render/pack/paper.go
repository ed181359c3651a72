package pack

import (
	"fmt"
	"slices"
	"strings"

	"fitout/render"
	"fitout/render/draw"
	"fitout/render/sheet"
)

// mostPasses bounds how often the set is laid out until page numbers stand: the
// width of a number may move a line, which may move a page.
const mostPasses = 5

// drawings are the pages of drawings with the number that their references count
// from.
type drawings struct {
	pages []sheet.Page
	first int
	made  bool
}

// paper lays the set out until no page number moves. What stands before the
// drawings is laid out alone first: to make the drawings is nearly all the work,
// and they are made anew when their first number moves.
func (m *maker) paper() ([]draw.Sheet, []section, error) {
	for range 2 {
		before, after := m.sections()
		run := &setting{m: m, at: map[string]int{}, used: map[string][]int{}, drawn: map[string][]int{}}
		run.set(before)
		run.set(after)
		m.at = run.at
	}
	for pass := 0; ; pass++ {
		before, after := m.sections()
		run := &setting{m: m, at: map[string]int{}, used: map[string][]int{}, drawn: map[string][]int{}}
		run.set(before)
		if err := m.draw(run.next()); err != nil {
			return nil, nil, err
		}
		run.draw(m.drawings.pages)
		run.set(after)
		stands := same(m.at, run.at) && m.drawings.first == run.drawingsAt
		m.at, m.used, m.drawn = run.at, run.used, run.drawn
		if stands || pass == mostPasses {
			return run.finish(), slices.Concat(before, after), nil
		}
	}
}

func same(a, b map[string]int) bool {
	if len(a) != len(b) {
		return false
	}
	for k, v := range a {
		if b[k] != v {
			return false
		}
	}
	return true
}

// draw makes the drawings, again only where their first number has changed.
func (m *maker) draw(first int) error {
	if m.drawings.made && m.drawings.first == first {
		return nil
	}
	pages, err := render.Pages(m.Survey, m.Result, render.Options{Paper: m.frame.Name, Mono: m.options.Mono, Clean: true}, first)
	m.drawings = drawings{pages: pages, first: first, made: true}
	return err
}

// setting sets sections on sheets and notes on which page what stands.
type setting struct {
	m          *maker
	sheets     []draw.Sheet
	at         map[string]int
	used       map[string][]int
	drawn      map[string][]int
	drawingsAt int
}

// next is the number of the next sheet.
func (r *setting) next() int { return len(r.sheets) + 1 }

func (r *setting) set(list []section) {
	for _, s := range list {
		r.section(s)
	}
}

func (r *setting) section(s section) {
	paper := r.m.frame.Portrait()
	if s.lying {
		paper = r.m.frame.Landscape()
	}
	f, w := r.flow(paper, s, false)
	if n := f.Pages(); n > 1 && n <= mostTight {
		if f, w = r.flow(paper, s, true); f.Pages() == n {
			f, w = r.flow(paper, s, false)
		}
	}
	t := r.m.titleBlock()
	t.Title, t.Document, t.Caution = s.title, s.document, s.caution
	first := r.next()
	made := f.Sheets(s.id, t, first, 0)
	for i := range made {
		made[i].Desc = s.document
		r.note(made[i], first+i, w.refs)
	}
	r.sheets = append(r.sheets, made...)
}

// mostTight bounds the sheets of a section that is set tighter to save one: what
// is posted in a locker or followed line by line is better on one sheet, a long
// list is read as well on one more.
const mostTight = 4

// flow sets a section, its tables tighter where that is asked.
func (r *setting) flow(paper sheet.Paper, s section, tight bool) (*sheet.Flow, *writer) {
	f := sheet.NewFlow(sheet.NewFrame(paper))
	w := &writer{flow: f, tight: tight, at: func(id string) { r.at[id] = r.next() + f.Pages() - 1 }}
	r.at[s.id] = r.next()
	w.blocks(s.blocks)
	return f, w
}

func (r *setting) draw(pages []sheet.Page) {
	r.drawingsAt = r.next()
	for _, p := range pages {
		n := r.next()
		r.at["draw-"+p.ID] = n
		r.noteItems(p.Items, n)
		r.note(draw.Sheet{Items: p.Items}, n, false)
		r.sheets = append(r.sheets, p.Finish(r.m.titleBlock(), n, 0))
	}
}

// finish closes the set: the number of sheets stands in every title block.
func (r *setting) finish() []draw.Sheet {
	of := len(r.sheets)
	for i := range r.sheets {
		r.sheets[i].ID = fmt.Sprintf("%03d-%s", i+1, r.sheets[i].ID)
		numberOf(&r.sheets[i], i+1, of)
	}
	return r.sheets
}

// numberOf completes the number in the title block, which the set's length was
// not known for when it was drawn.
func numberOf(s *draw.Sheet, n, of int) {
	for k, it := range s.Items {
		g, ok := it.(draw.Group)
		if !ok || g.Class != "title-block" {
			continue
		}
		g.Strokes = slices.Clone(g.Strokes)
		for i, st := range g.Strokes {
			if t, ok := st.(draw.Text); ok && t.Letters != draw.FieldName && t.S == fmt.Sprint(n) && lastField(g.Strokes, i) {
				t.S = fmt.Sprintf("%d of %d", n, of)
				g.Strokes[i] = t
			}
		}
		s.Items[k] = g
	}
}

// lastField reports whether a text stands below the name "Sheet".
func lastField(list []draw.Stroke, i int) bool {
	if i == 0 {
		return false
	}
	t, ok := list[i-1].(draw.Text)
	return ok && t.S == "Sheet"
}

// writer puts blocks into a flow.
type writer struct {
	flow *sheet.Flow
	at   func(id string)
	refs bool
	// tight sets the rows of tables closer.
	tight bool
}

func (w *writer) blocks(list []block) {
	for i, b := range list {
		if _, ok := b.(heading); ok {
			w.flow.Keep(lead(list[i:]))
		}
		w.block(b)
	}
}

// lead is how high blocks are up to where they may be parted: headings, text and
// figures with the first lines of the table that follows.
func lead(list []block) draw.MM {
	h := draw.MM(0)
	for _, b := range list {
		switch b := b.(type) {
		case heading:
			h += 12
		case para, warning:
			h += 11
		case figure:
			h += b.h
		case code:
			h += 25
		case rows, steps:
			return h + 22
		case entry:
			if b.screen {
				continue
			}
			return h + 12 + lead(b.blocks)
		}
	}
	return h
}

func (w *writer) block(b block) {
	switch b := b.(type) {
	case heading:
		w.flow.Heading(string(b))
	case para:
		w.flow.Paragraph(string(b), draw.Note)
	case warning:
		w.flow.Paragraph("! "+string(b), draw.TableHead)
	case steps:
		w.steps(b)
	case rows:
		w.refs = w.refs || b.refs
		if len(b.Rows) > 0 {
			b.Table.Tight = w.tight
			w.flow.Table(b.Table)
		}
	case figure:
		w.flow.Figure(b.h, func(at draw.Point) []draw.Item { return b.items(at, w.flow.Width()) })
	case newPage:
		w.flow.Break()
	case code:
		w.code(string(b))
	case entry:
		w.entry(b)
	}
}

func (w *writer) entry(e entry) {
	if e.screen {
		return
	}
	if e.page {
		w.flow.Break()
	}
	w.flow.Keep(12 + lead(e.blocks))
	w.flow.Heading(e.title)
	w.at(e.id)
	w.blocks(e.blocks)
}

// steps are a table without a head: number, text, box.
func (w *writer) steps(list steps) {
	if len(list) == 0 {
		return
	}
	t := list.table()
	t.Tight = w.tight
	w.flow.Table(t)
}

func (s steps) table() sheet.Table {
	t := sheet.Table{Columns: []sheet.Column{num("No."), wide("Do"), col("Done")}}
	for i, line := range s {
		t.Rows = append(t.Rows, []string{fmt.Sprint(i + 1), line, box})
	}
	return t
}

// note remembers which ids a page of text names: parts by their word, wires and
// hoses where they stand alone in the first column of a table that lists them.
func (r *setting) note(s draw.Sheet, n int, refs bool) {
	left := draw.MM(0)
	for _, it := range s.Items {
		g, ok := it.(draw.Group)
		if ok && (g.Class == "frame" || g.Class == "title-block" || g.Class == "caution") {
			continue
		}
		draw.EachText(it, func(t draw.Text) {
			for _, word := range words(t.S) {
				if r.m.isPart(word) {
					add(r.used, word, n)
				}
			}
			if refs && r.m.isRun(t.S) && t.Align == draw.Start && (left == 0 || t.At.X <= left) {
				left = t.At.X
				add(r.used, t.S, n)
			}
		})
	}
}

// words are the ids a line may hold: runs of the letters that ids are made of,
// the way of a panel with its point.
func words(s string) []string {
	return strings.FieldsFunc(s, func(c rune) bool {
		return !('a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || '0' <= c && c <= '9' || c == '-' || c == '_')
	})
}

// noteItems remembers what a drawing shows.
func (r *setting) noteItems(items []draw.Item, n int) {
	for _, it := range items {
		switch it := it.(type) {
		case draw.Band:
			r.noteItems(it.Items, n)
		case draw.Part:
			if it.Ref == "" {
				add(r.used, it.ID, n)
				add(r.drawn, it.ID, n)
			}
		case draw.Run:
			add(r.used, it.ID, n)
			add(r.drawn, it.ID, n)
		}
	}
}

func add(to map[string][]int, id string, n int) {
	if l := to[id]; len(l) == 0 || l[len(l)-1] != n {
		to[id] = append(l, n)
	}
}

// titleBlock is what all title blocks say, the page of the findings as known now.
func (m *maker) titleBlock() sheet.TitleBlock {
	t := m.title
	t.Result = m.resultLine()
	return t
}

// page says on which page something stands: "page 12".
func (m *maker) page(id string) string {
	n, ok := m.at[id]
	if !ok {
		return "page …"
	}
	return fmt.Sprintf("page %d", n)
}

// pagesOf lists page numbers in few words: "4, 7–9".
func pagesOf(list []int) string {
	list = slices.Compact(slices.Sorted(slices.Values(list)))
	var out []string
	for i := 0; i < len(list); {
		k := i
		for k+1 < len(list) && list[k+1] == list[k]+1 {
			k++
		}
		switch {
		case k == i:
			out = append(out, fmt.Sprint(list[i]))
		case k == i+1:
			out = append(out, fmt.Sprint(list[i]), fmt.Sprint(list[k]))
		default:
			out = append(out, fmt.Sprintf("%d–%d", list[i], list[k]))
		}
		i = k + 1
	}
	return strings.Join(out, ", ")
}

// drawnOn lists the drawings that show an id.
func (m *maker) drawnOn(id string) string {
	if !m.drawings.made {
		return "00"
	}
	return pagesOf(m.drawn[id])
}
