package layout

// The pieces of the layered drawing. An item stands in a rank: a box, a bar, or a dummy where a link passes. Links leave items at
// pins, into the channel above or below, and run from channel to channel in pieces.

type itemKind uint8

const (
	boxItem itemKind = iota
	barItem
	dummyItem
)

type item struct {
	kind itemKind
	ref  int // index of the box, the bar or (dummy) the link
	rank int
	hint float64 // where the item would stand left to right before anything is known
	pins []int

	w, h     int    // body
	ext      [4]int // landing bars and leads beyond the body on each Side, unmirrored
	res      [4]int // room kept free beyond that, never mirrored
	mirror   bool
	landings []landing

	textRoom     bool // box: room is kept for its text on the right
	foot         bool // box: it is kept below, on the right of the link there
	nameRoom     int  // bar: room kept for the name left of the first stud
	markL, markR int  // bar: width of the continuation marks
	head, tail   int  // bar: room beyond the outer studs
	pitch        int  // bar: least distance of the studs below
	min          int  // bar: least length
	x            int  // left edge of the footprint; for a bar its own left end
	right        int  // bar: right end
	pos          int  // place in its rank
	y            int  // top of the body
	markTo       End  // a mark's box: the end it stands for
	mark         bool // box is a continuation mark
}

type pin struct {
	item, link, end int
	up              bool
	off             int     // boxes: from the left edge of the body, unmirrored
	rel             int     // place among the item's pins on this side; pins of equal rel may change places
	lead            []Point // boxes: from the port to where the wire leaves, relative to the body, unmirrored
	x               int     // bars and dummies: place on the sheet
	piece           int     // the piece that ends here
}

type landing struct {
	port      string
	port0     Point
	stem      Point
	bar       [2]Point
	side      Side
	pinsFirst int // pins of the item on this landing: pinsFirst … pinsFirst+n-1 in l.pins
	n         int
}

// piece is the part of a link within one channel. Channel c lies above rank c.
type piece struct {
	link, channel int
	pin           [2]int
}

type linkInfo struct {
	ref      int
	node     [2]int
	side     [2]Side // of the port; barSide for bars
	directed bool
	up       [2]bool
	pins     []int // from, dummy, dummy, … , to: pairs are pieces
}

const barSide = Side(9)

type ladder struct {
	g      *Graph
	byID   map[string]int
	items  []item
	pins   []pin
	pieces []piece
	links  []linkInfo
	ranks  [][]int
	nranks int

	level   int  // of link labels
	below   bool // texts of boxes stand below them
	rowTop  []int
	rowH    []int
	chanTop []int
	chanH   []int
	chanMin []int
	tracks  []int // tracks used in each channel
	routes  []route
	width   int
	height  int

	work *work
}

// dress says what a graph's items carry when the graph is one sheet of several.
type dress struct {
	marks map[string]End   // boxes that are continuation marks, and what they stand for
	cont  map[string]uint8 // bars that go on: 1 to the left, 2 to the right
	hint  map[string]float64
	// variant 0 keeps to the order of the file; others begin from a shuffle of their own
	variant uint64
	work    *work           // shared with other drawings, nil for room of its own
	loose   map[string]bool // links that do not rank
	below   bool            // texts of boxes may stand below them
}

// newLadder builds items and links of a graph.
func newLadder(g *Graph, d dress) *ladder {
	l := &ladder{g: g, byID: map[string]int{}, work: d.work}
	if l.work == nil {
		l.work = new(work)
	}
	l.items = make([]item, 0, len(g.Boxes)+len(g.Bars)+len(g.Links))
	for i, b := range g.Boxes {
		it := item{kind: boxItem, ref: i, w: b.W, h: b.H, hint: float64(i)}
		it.res = [4]int{Top: b.Reserve.Above, Bottom: b.Reserve.Below, Left: b.Reserve.Left, Right: b.Reserve.Right}
		if e, ok := d.marks[b.ID]; ok {
			it.mark, it.markTo = true, e
		}
		if h, ok := d.hint[b.ID]; ok {
			it.hint = h
		}
		l.byID[b.ID] = len(l.items)
		l.items = append(l.items, it)
	}
	for i, b := range g.Bars {
		it := item{kind: barItem, ref: i, h: max(b.H, 1), hint: float64(i), min: max(b.Min, 2), head: overhang + b.Head, tail: overhang + b.Tail, pitch: max(b.Pitch, pitch)}
		c := d.cont[b.ID]
		if c&1 != 0 {
			it.markL = max(b.Mark.W, 1)
		}
		if c&2 != 0 {
			it.markR = max(b.Mark.W, 1)
		}
		if h, ok := d.hint[b.ID]; ok {
			it.hint = h
		}
		l.byID[b.ID] = len(l.items)
		l.items = append(l.items, it)
	}
	for i, k := range g.Links {
		info := linkInfo{ref: i, directed: !k.Bridge && !d.loose[k.ID]}
		for e, end := range []End{k.From, k.To} {
			v := l.byID[end.Node]
			info.node[e] = v
			info.side[e] = barSide
			if l.items[v].kind == boxItem {
				info.side[e] = g.Boxes[l.items[v].ref].side(end.Port)
			}
		}
		// a port on the wrong side cannot be entered the directed way
		if info.side[0] == Top || info.side[1] == Bottom || info.node[0] == info.node[1] {
			info.directed = false
		}
		l.links = append(l.links, info)
	}
	return l
}

// side is the side that a port lies on.
func (b *Box) side(port string) Side {
	for i := len(b.Ports) - 1; i >= 0; i-- {
		if b.Ports[i].Name == port {
			return b.Ports[i].Side
		}
	}
	return Top
}

// build does everything up to the finished graph of pins and pieces.
func (l *ladder) build() {
	l.assignRanks()
	l.directions()
	l.makePins()
	l.chain()
	l.sortRanks()
}

// makePins gives every end of a link its pin.
func (l *ladder) makePins() {
	type landed struct {
		port      string
		link, end int
	}
	at := make([][]landed, len(l.items))
	l.pins = make([]pin, 0, 4*len(l.links))
	for i := range l.links {
		k := &l.links[i]
		k.pins = []int{-1, -1}
		for e := range 2 {
			v := k.node[e]
			it := &l.items[v]
			if it.kind == barItem {
				k.pins[e] = l.addPin(v, pin{link: i, end: e, up: k.up[e]})
				continue
			}
			at[v] = append(at[v], landed{l.end(i, e).Port, i, e})
		}
	}
	for v := range l.items {
		if at[v] == nil {
			continue
		}
		b := &l.g.Boxes[l.items[v].ref]
		used := make([][]lead, 4)
		for pi, p := range b.Ports {
			ld := lead{port: pi}
			for _, k := range at[v] {
				if k.port != p.Name {
					continue
				}
				ld.link = append(ld.link, k.link)
				ld.end = append(ld.end, k.end)
				ld.up = append(ld.up, l.links[k.link].up[k.end])
			}
			if len(ld.link) > 0 {
				used[p.Side] = append(used[p.Side], ld)
			}
		}
		l.leads(v, b, used)
	}
}

func (l *ladder) addPin(v int, p pin) int {
	p.item = v
	p.piece = -1
	l.pins = append(l.pins, p)
	l.items[v].pins = append(l.items[v].pins, len(l.pins)-1)
	return len(l.pins) - 1
}

// end is the end of a link in the graph.
func (l *ladder) end(link, e int) End {
	k := &l.g.Links[l.links[link].ref]
	if e == 0 {
		return k.From
	}
	return k.To
}

// chain puts a dummy into every rank that a link passes and cuts the links into pieces.
func (l *ladder) chain() {
	for i := range l.links {
		k := &l.links[i]
		a, b := k.pins[0], k.pins[1]
		ca, cb := l.channel(a), l.channel(b)
		seq := []int{a}
		ha, hb := l.items[k.node[0]].hint, l.items[k.node[1]].hint
		for c := ca; c != cb; {
			step, rank := 1, c
			if cb < ca {
				step, rank = -1, c-1
			}
			it := item{kind: dummyItem, ref: i, rank: rank, hint: (ha + hb) / 2}
			v := len(l.items)
			l.items = append(l.items, it)
			up := l.addPin(v, pin{link: i, end: -1, up: true})
			down := l.addPin(v, pin{link: i, end: -1})
			if step > 0 {
				seq = append(seq, up, down)
			} else {
				seq = append(seq, down, up)
			}
			c += step
		}
		seq = append(seq, b)
		k.pins = seq
		for j := 0; j < len(seq); j += 2 {
			p := piece{link: i, channel: l.channel(seq[j]), pin: [2]int{seq[j], seq[j+1]}}
			l.pins[seq[j]].piece = len(l.pieces)
			l.pins[seq[j+1]].piece = len(l.pieces)
			l.pieces = append(l.pieces, p)
		}
	}
}

// channel is the channel a pin leads into.
func (l *ladder) channel(p int) int {
	r := l.items[l.pins[p].item].rank
	if l.pins[p].up {
		return r
	}
	return r + 1
}

// other is the pin at the other end of p's piece.
func (l *ladder) other(p int) int {
	q := &l.pieces[l.pins[p].piece]
	if q.pin[0] == p {
		return q.pin[1]
	}
	return q.pin[0]
}

// padL and padR are what a box's footprint adds to its body on paper.
func (it *item) padL() int {
	if it.mirror {
		return it.ext[Right] + it.res[Left]
	}
	return it.ext[Left] + it.res[Left]
}

func (it *item) padR() int {
	if it.mirror {
		return it.ext[Left] + it.res[Right]
	}
	return it.ext[Right] + it.res[Right]
}

func (it *item) padT() int { return it.ext[Top] + it.res[Top] }
func (it *item) padB() int { return it.ext[Bottom] + it.res[Bottom] }

// span is the footprint of a box or dummy from left to right.
func (it *item) span() int {
	if it.kind != boxItem {
		return 0
	}
	return it.padL() + it.w + it.padR()
}

// offset is a box pin's distance from the left edge of the footprint.
func (l *ladder) offset(p int) int {
	q := &l.pins[p]
	it := &l.items[q.item]
	if it.kind != boxItem {
		return 0
	}
	if it.mirror {
		return it.padL() + it.w - q.off
	}
	return it.padL() + q.off
}

// at is a pin's x on the sheet.
func (l *ladder) at(p int) int {
	q := &l.pins[p]
	if it := &l.items[q.item]; it.kind == boxItem {
		return it.x + l.offset(p)
	}
	return q.x
}
