package layout

import "slices"

// Run lays out a graph on as few sheets as the pages allow. Without pages it draws one endless sheet. It fails only if the
// graph is not one: an identifier used twice, an end that names no box, bar or port. What could not be had within the pages
// stands in the plan's notes.
func Run(g Graph, pages []Page) (*Plan, error) {
	if err := g.validate(); err != nil {
		return nil, err
	}
	if len(pages) == 0 {
		d := newDrawing(&g, dress{})
		s, _, _ := d.fit(Page{W: 1 << 30, H: 1 << 30}, endless)
		s.Page, s.Fits = Page{}, true
		p := &Plan{Sheets: []Sheet{s}}
		p.lacking()
		return p, nil
	}
	return roomy(&g, pages), nil
}

// lacking notes every text for which there was no room.
func (p *Plan) lacking() {
	for i := range p.Sheets {
		for _, w := range p.Sheets[i].Wires {
			for _, k := range w.MissingLabelKey {
				p.Notes = append(p.Notes, Note{Sheet: i, ID: w.ID, Text: "no room for label " + k})
			}
		}
	}
}

// restarts is the number of tries at the order of the ranks. Large drawings get fewer: their cost grows faster than their gain.
func restarts(items int) int {
	switch {
	case items <= 250:
		return 50
	case items <= 600:
		return 20
	}
	return 6
}

// drawing is a graph whose ranks are ordered, ready to be placed in several widths.
type drawing struct {
	g *Graph
	l *ladder
	// Crossings is what the order foretells.
	crossings int
	least     int              // no drawing is narrower
	cache     map[[2]int]Sheet // by width weight and label level
	drawn     map[int]columns  // by width weight, before texts are placed
}

// columns is what the places sideways settle, the same for every level of the labels.
type columns struct {
	width  int
	tracks []int
	routes []route
	pins   []pinAt
	ends   [][2]int // left and right of every item
}

// pinAt is what placing changes of a pin: pins of a landing change places with all that belongs to a place.
type pinAt struct {
	x, off int
	lead   []Point
}

func (l *ladder) keep() columns {
	c := columns{l.width, slices.Clone(l.tracks), slices.Clone(l.routes), make([]pinAt, len(l.pins)), make([][2]int, len(l.items))}
	for i := range l.pins {
		c.pins[i] = pinAt{l.pins[i].x, l.pins[i].off, l.pins[i].lead}
	}
	for v := range l.items {
		c.ends[v] = [2]int{l.items[v].x, l.items[v].right}
	}
	return c
}

func (l *ladder) restoreColumns(c columns) {
	l.width, l.tracks, l.routes = c.width, slices.Clone(c.tracks), slices.Clone(c.routes)
	for i, p := range c.pins {
		l.pins[i].x, l.pins[i].off, l.pins[i].lead = p.x, p.off, p.lead
	}
	for v := range l.items {
		l.items[v].x, l.items[v].right = c.ends[v][0], c.ends[v][1]
	}
}

// columns places everything sideways, once for each width weight.
func (d *drawing) columns(narrow int) columns {
	c, ok := d.drawn[narrow]
	if !ok {
		d.l.reset()
		d.l.placeX(narrow)
		d.l.routeChannels()
		c = d.l.keep()
		d.drawn[narrow] = c
	}
	return c
}

func newDrawing(g *Graph, d dress) *drawing {
	l := newLadder(g, d)
	l.build()
	c := l.orderRanks(restarts(len(l.items)), d.variant)
	return &drawing{g: g, l: l, crossings: c, least: l.least(), cache: map[[2]int]Sheet{}, drawn: map[int]columns{}}
}

var widths = []int{2, 8, 24, 64, 200}

// endless is the width weight of a sheet without bounds, index into widths.
const endless = 1

// fit tries ever narrower drawings, the fullest labels first, and takes the first that fits the page. If none does it returns false
// and which of them comes nearest.
func (d *drawing) fit(p Page, tries int) (s Sheet, near nearest, ok bool) {
	near = nearest{over: -1, narrow: widths[0]}
	for level := range d.levels() {
		wide := true
		for k := range min(tries, len(widths)) {
			// texts only ever make a drawing larger: do not look for their places where it is too large without
			w, h := d.bare(widths[k], level)
			if w <= p.W && h <= p.H {
				s := d.sheet(widths[k], level)
				if w, h = s.W, s.H; w <= p.W && h <= p.H {
					s.Page, s.Fits = p, true
					return s, near, true
				}
			}
			if o := max(0, w-p.W) + max(0, h-p.H); near.over < 0 || o < near.over {
				near = nearest{o, widths[k], level}
			}
			if w <= p.W { // too high only: narrower does not help
				wide = false
				break
			}
		}
		if wide { // shorter labels do not help
			break
		}
	}
	return Sheet{}, near, false
}

// nearest is the drawing that goes least beyond a page: by how much, and with which width weight and level of labels.
type nearest struct{ over, narrow, level int }

// fits tells whether one of the pages holds the drawing.
func (d *drawing) fits(pages []Page, tries int) bool {
	for _, p := range pages {
		if d.least > p.W {
			continue
		}
		if _, _, ok := d.fit(p, tries); ok {
			return true
		}
	}
	return false
}

// bare is the size of the drawing before texts open it further.
func (d *drawing) bare(narrow, level int) (w, h int) {
	l := d.l
	c := d.columns(narrow)
	l.level = level
	l.reset()
	l.tracks = slices.Clone(c.tracks)
	l.placeY()
	return c.width, l.height
}

// levels is the number of levels of detail the labels have.
func (d *drawing) levels() int {
	n := 1
	for i := range d.g.Links {
		n = max(n, len(d.g.Links[i].Labels))
	}
	return n
}

// sheet places, routes and letters the drawing. Where a text finds no room, the drawing is opened there and done again.
func (d *drawing) sheet(narrow, level int) Sheet {
	if s, ok := d.cache[[2]int{narrow, level}]; ok {
		return s
	}
	l := d.l
	c := d.columns(narrow)
	l.level = level
	l.reset()
	var s Sheet
	for round := 0; ; round++ {
		if round == 0 {
			l.restoreColumns(c)
		} else {
			l.placeX(narrow)
			l.routeChannels()
		}
		for again := 0; ; again++ {
			l.placeY()
			s = l.sheet(&s)
			s.grow()
			lacks := l.letter(&s)
			wider := false
			if again < 3 && l.heighten(lacks) {
				continue
			}
			if round < 8 {
				wider = l.widen(lacks, round >= 2)
			}
			if !wider {
				d.cache[[2]int{narrow, level}] = s
				return s
			}
			break
		}
	}
}

// reset drops what was opened for texts and gives each channel the height that its labels need at least.
func (l *ladder) reset() {
	for v := range l.items {
		it := &l.items[v]
		it.nameRoom, it.textRoom = 0, false
		if it.kind == boxItem {
			r := l.g.Boxes[it.ref].Reserve
			it.res = [4]int{Top: r.Above, Bottom: r.Below, Left: r.Left, Right: r.Right}
			if b := &l.g.Boxes[it.ref]; b.Keep {
				it.keepText(b)
			}
		}
	}
	l.chanMin = make([]int, l.nranks+1)
	for i := range l.links {
		k := &l.links[i]
		if len(k.pins) != 2 {
			continue
		}
		c := l.pieces[l.pins[k.pins[0]].piece].channel
		for _, t := range l.labels(i) {
			l.chanMin[c] = max(l.chanMin[c], t.W)
		}
	}
}

// heighten makes the channel of each link that lacks a label higher. It reports whether it did.
func (l *ladder) heighten(lacks []lack) bool {
	want := map[int]int{}
	for _, k := range lacks {
		if k.item >= 0 {
			continue
		}
		// the channel where the link has its longest vertical
		best, at := -1, -1
		pins := l.links[k.link].pins
		for j := 0; j < len(pins); j += 2 {
			p := l.pins[pins[j]].piece
			c := l.pieces[p].channel
			if h := l.chanH[c]; h > best {
				best, at = h, c
			}
		}
		need := k.need + l.tracks[at]
		if l.chanH[at] < need+2 {
			want[at] = max(want[at], min(l.chanH[at]+max(2, k.need/2), need+2))
		}
	}
	for c := range l.chanMin {
		l.chanMin[c] = max(l.chanMin[c], want[c])
	}
	return len(want) > 0
}

// widen keeps room beside boxes and bars whose text found none. With all set it does so for every box of their ranks, for what is
// opened in one place may close another. It reports whether it did anything.
func (l *ladder) widen(lacks []lack, all bool) bool {
	done := false
	for _, k := range lacks {
		if k.item < 0 {
			continue
		}
		it := &l.items[k.item]
		if it.kind == barItem {
			room := l.tracks[it.rank] + 2 + l.g.Bars[it.ref].Name.H
			if it.nameRoom == 0 || l.chanMin[it.rank] < room {
				it.nameRoom = k.need
				l.chanMin[it.rank] = max(l.chanMin[it.rank], room)
				done = true
			}
			continue
		}
		for _, v := range l.ranks[it.rank] {
			if (v == k.item || all) && l.items[v].kind == boxItem && !l.items[v].mark && !l.items[v].textRoom {
				l.items[v].keepText(&l.g.Boxes[l.items[v].ref])
				done = true
			}
		}
	}
	return done
}

// keepText keeps room for a box's text on its right, beyond its landing bars.
func (it *item) keepText(b *Box) {
	if b.Text.W == 0 {
		return
	}
	it.textRoom = true
	it.res[Right] += b.Text.W
	over := max(0, b.Text.H-it.h)
	it.res[Top], it.res[Bottom] = it.res[Top]+(over+1)/2, it.res[Bottom]+(over+1)/2
}

// grow makes the sheet as large as what is on it.
func (s *Sheet) grow() {
	for _, w := range s.Wires {
		for _, p := range w.Points {
			s.W, s.H = max(s.W, p.X), max(s.H, p.Y)
		}
	}
}
