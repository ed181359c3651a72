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
		s, _, _ := d.fit(Page{W: 1 << 30, H: 1 << 30}, endless, textBeside)
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
	places    int                // of texts that there are
	least     [textPlaces]int    // no drawing is narrower
	cache     map[style]Sheet    // as drawn
	drawn     map[[2]int]columns // by width weight and place of the texts, before texts are placed
	swept     map[int]columns    // by place of the texts: where every width weight begins
}

// style is how a drawing is set: the weight of its width, the level of its labels, and where the texts of its boxes stand.
type style struct{ narrow, level, texts int }

// Where the texts of boxes stand: beside them, or below them where that makes the columns narrower. Below takes height.
const (
	textBeside = iota
	textBelow
	textPlaces
)

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

// columns places everything sideways, once for each width weight and place of the texts.
func (d *drawing) columns(st style) columns {
	k := [2]int{st.narrow, st.texts}
	c, ok := d.drawn[k]
	if !ok {
		d.l.below = st.texts == textBelow
		d.l.reset()
		if first, ok := d.swept[st.texts]; ok {
			d.l.restoreColumns(first)
		} else {
			d.l.sweepColumns()
			d.swept[st.texts] = d.l.keep()
		}
		d.l.squeeze(st.narrow)
		d.l.routeChannels()
		c = d.l.keep()
		d.drawn[k] = c
	}
	return c
}

func newDrawing(g *Graph, how dress) *drawing {
	l := newLadder(g, how)
	l.build()
	c := l.orderRanks(restarts(len(l.items)), how.variant)
	d := &drawing{g: g, l: l, crossings: c, cache: map[style]Sheet{}, drawn: map[[2]int]columns{}, swept: map[int]columns{}}
	d.least[textBeside], d.places = l.least(), textBelow
	if !how.below {
		return d
	}
	l.below = true
	for v := range l.items {
		if l.items[v].kind == boxItem && g.Boxes[l.items[v].ref].Keep && l.foot(v) >= 0 {
			d.least[textBelow], d.places = l.least(), textPlaces
			return d
		}
	}
	return d
}

var widths = []int{2, 8, 24, 64, 200}

// endless is the width weight of a sheet without bounds, index into widths.
const endless = 1

// fit tries ever narrower drawings, the fullest labels first, and takes the first that fits the page. If none does it returns false
// and which of them comes nearest.
func (d *drawing) fit(p Page, tries, texts int) (s Sheet, near nearest, ok bool) {
	near = nearest{over: -1, style: style{narrow: widths[0], texts: texts}}
	for level := range d.levels() {
		wide := true
		for k := range min(tries, len(widths)) {
			// texts only ever make a drawing larger: do not look for their places where it is too large without
			st := style{widths[k], level, texts}
			w, h := d.bare(st)
			if w <= p.W && h <= p.H {
				s := d.sheet(st)
				if w, h = s.W, s.H; w <= p.W && h <= p.H {
					s.Page, s.Fits = p, true
					return s, near, true
				}
			}
			if o := max(0, w-p.W) + max(0, h-p.H); near.over < 0 || o < near.over {
				near = nearest{o, st}
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

// nearest is the drawing that goes least beyond a page, and by how much.
type nearest struct {
	over int
	style
}

// fits tells whether one of the pages holds the drawing. Where one holds it at its narrowest and with the fewest labels no more is
// tried.
func (d *drawing) fits(pages []Page, tries int) bool {
	var close []func() bool
	for texts := range d.places {
		for _, p := range pages {
			_, bare, ok := d.narrowest(p, tries, texts)
			if ok {
				return true
			}
			if bare { // only its texts had no room
				close = append(close, func() bool { _, _, ok := d.fit(p, tries, texts); return ok })
			}
		}
	}
	for _, try := range close {
		if try() {
			return true
		}
	}
	return false
}

// narrowest draws as narrow as it goes and with the fewest labels. It tells whether the page holds it so, without
// the texts that find no room in it and with them.
func (d *drawing) narrowest(p Page, tries, texts int) (s Sheet, bare, ok bool) {
	if d.least[texts] > p.W {
		return s, false, false
	}
	st := style{widths[min(tries, len(widths))-1], d.levels() - 1, texts}
	if w, h := d.bare(st); w > p.W || h > p.H {
		return s, false, false
	}
	if s = d.sheet(st); s.W > p.W || s.H > p.H {
		return s, true, false
	}
	s.Page, s.Fits = p, true
	return s, true, true
}

// bare is the size of the drawing before texts open it further.
func (d *drawing) bare(st style) (w, h int) {
	l := d.l
	c := d.columns(st)
	l.level, l.below = st.level, st.texts == textBelow
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
func (d *drawing) sheet(st style) Sheet {
	if s, ok := d.cache[st]; ok {
		return s
	}
	l := d.l
	c := d.columns(st)
	l.level, l.below = st.level, st.texts == textBelow
	l.reset()
	var s Sheet
	for round := 0; ; round++ {
		if round == 0 {
			l.restoreColumns(c)
		} else {
			l.placeX(st.narrow)
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
				d.cache[st] = s
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
		it.nameRoom, it.textRoom, it.foot = 0, false, false
		if it.kind == boxItem {
			r := l.g.Boxes[it.ref].Reserve
			it.res = [4]int{Top: r.Above, Bottom: r.Below, Left: r.Left, Right: r.Right}
			if b := &l.g.Boxes[it.ref]; b.Keep {
				l.keepText(v)
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
				l.keepText(v)
				done = true
			}
		}
	}
	return done
}

// keepText keeps room for a box's text on its right, beyond its landing bars, or below it along the link that leaves it there.
func (l *ladder) keepText(v int) {
	it := &l.items[v]
	b := &l.g.Boxes[it.ref]
	if b.Text.W == 0 {
		return
	}
	it.textRoom = true
	if at := l.foot(v); at >= 0 {
		it.foot = true
		it.res[Right] += max(0, at+b.Text.W-it.w-it.ext[Right])
		it.res[Bottom] += b.Text.H
		return
	}
	it.res[Right] += b.Text.W
	over := max(0, b.Text.H-it.h)
	it.res[Top], it.res[Bottom] = it.res[Top]+(over+1)/2, it.res[Bottom]+(over+1)/2
}

// foot is where the one link that leaves a box below does so, from the left of its body, if its text may stand beside it there and
// that makes the column narrower by two units or more; else -1.
func (l *ladder) foot(v int) int {
	it := &l.items[v]
	if !l.below || it.ext[Bottom] > 0 || it.ext[Right] > 0 || it.ext[Left] > 0 {
		return -1
	}
	at := -1
	for _, p := range it.pins {
		if l.pins[p].up {
			continue
		}
		if at >= 0 {
			return -1
		}
		at = l.pins[p].off
		if it.mirror {
			at = it.w - at
		}
	}
	t := l.g.Boxes[it.ref].Text.W
	if at < 0 || it.w+t-max(it.w, at+t) < 1 {
		return -1
	}
	return at
}

// grow makes the sheet as large as what is on it.
func (s *Sheet) grow() {
	for _, w := range s.Wires {
		for _, p := range w.Points {
			s.W, s.H = max(s.W, p.X), max(s.H, p.Y)
		}
	}
}
