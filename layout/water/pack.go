package waterlayout

import (
	"cmp"
	"math/rand/v2"
	"slices"
)

// Systems stand side by side in bands and bands over one another on sheets. Of the
// ways to fill the sheets the one is taken that needs the fewest and leads a reader
// from sheet to sheet least.

// Prices of a way to fill sheets.
const (
	sheetPrice  = 100
	apartPrice  = 90 // a run cut in two that goes on on another sheet
	asidePrice  = 30 // one that goes on in another band
	seamShare   = 4  // by how much less it costs at marks of the caller's
	strayedRate = 1  // a system away from its place in the graph's order
)

// parcel is a piece as packing sees it.
type parcel struct {
	piece    *piece
	w        int
	up, down int // extent against the waterline, standing alone as low as it goes
	foot     int // rows to keep free under it
	kin      []kin
}

// kin is a parcel where a run of another goes on.
type kin struct {
	parcel int
	seam   bool // at a mark of the caller's
}

// price is what it costs that the run goes on on another sheet, or in another band.
func (k kin) price(apart, aside bool) int {
	price := 0
	switch {
	case apart:
		price = apartPrice
	case aside:
		price = asidePrice
	}
	if k.seam {
		price /= seamShare
	}
	return price
}

// shelf is a band in the making, tray a sheet.
type shelf struct {
	w, up, down int
	list        []int
}

func (s *shelf) height() int { return s.up + s.down + 2*bandMargin }

type tray struct {
	h, foot int
	shelves []shelf
}

// parcels measures the pieces.
func (d *draft) parcels(pieces []*piece, size Size) []parcel {
	out := make([]parcel, len(pieces))
	for i, p := range pieces {
		b := &strip{pieces: []*piece{p}, at: []int{0}}
		d.squeeze(b, size)
		out[i] = parcel{piece: p, w: p.width, up: -b.lo, down: b.hi}
	}
	for _, t := range d.m.ties(pieces) {
		out[t.from].kin = append(out[t.from].kin, kin{t.to, t.seam})
		out[t.to].kin = append(out[t.to].kin, kin{t.from, t.seam})
	}
	return out
}

// tie is a run that goes on from one piece in another: from where the water comes,
// as far as that is known.
type tie struct {
	from, to int
	seam     bool
}

// ties are the ties of the pieces, by their places in the list.
func (m *model) ties(pieces []*piece) (out []tie) {
	type end struct{ piece, node int }
	ends := map[string][]end{} // run → marks of it
	box := map[string]int{}
	for i, p := range pieces {
		for _, u := range p.units {
			for _, n := range m.units[u].nodes {
				box[m.nodes[n].id] = i
				if ref := m.nodes[n].ref; ref != "" {
					ends[ref] = append(ends[ref], end{i, n})
				}
			}
		}
	}
	for i := range m.g.Runs {
		l := ends[m.g.Runs[i].ID]
		for k := 0; k+1 < len(l); k += 2 {
			a, b := l[k], l[k+1]
			if m.nodes[a.node].ports[0].side == Right { // the water comes out of it
				a, b = b, a
			}
			if a.piece != b.piece {
				out = append(out, tie{a.piece, b.piece, false})
			}
		}
	}
	for i := range m.g.Boxes {
		b := &m.g.Boxes[i]
		if o, ok := box[b.Mate]; ok && b.Hint == Outlet && box[b.ID] != o {
			out = append(out, tie{box[b.ID], o, true})
		}
	}
	return out
}

// byFlow sets the pieces of one circuit after one another, as the water runs.
func (m *model) byFlow(pieces []*piece) []*piece {
	before, after := make([][]int, len(pieces)), make([][]int, len(pieces))
	for _, t := range m.ties(pieces) {
		if !t.seam {
			after[t.from], before[t.to] = append(after[t.from], t.to), append(before[t.to], t.from)
		}
	}
	done := make([]bool, len(pieces))
	var out []*piece
	var visit func(int)
	visit = func(i int) {
		if done[i] {
			return
		}
		done[i] = true
		for _, k := range before[i] {
			visit(k)
		}
		out = append(out, pieces[i])
		for _, k := range after[i] {
			visit(k)
		}
	}
	for i := range pieces {
		visit(i)
	}
	return out
}

// tryOrders bounds the orders of pieces that are tried.
const tryOrders = 12000

// fill finds the sheets of the pieces: the lists of pieces of every band.
func fill(list []parcel, avail int, size Size) []tray {
	order := make([]int, len(list))
	for i := range order {
		order[i] = i
	}
	high := func(i int) int { return list[i].up + list[i].down }
	starts := []func(a, b int) int{
		func(a, b int) int { return 0 },
		func(a, b int) int { return list[b].w - list[a].w },
		func(a, b int) int { return high(b) - high(a) },
		func(a, b int) int { return cmp.Compare(high(b)*list[b].w, high(a)*list[a].w) },
	}
	f := filler{list: list, avail: avail, size: size, on: make([]spot, len(list))}
	var best []tray
	var bestOrder []int
	least := 1 << 30
	try := func(o []int) {
		if !f.put(o, least) {
			return
		}
		if price := f.price(); price < least {
			best, bestOrder, least = f.taken(), slices.Clone(o), price
		}
	}
	for _, s := range starts {
		o := slices.Clone(order)
		slices.SortStableFunc(o, s)
		try(o)
	}
	r := rand.New(rand.NewPCG(1, 2)) // the same graph always gives the same plan
	ideal := sheetPrice + strayedRate*(len(list)-1)
	var o []int
	for n := tryOrders / (1 + len(list)); n > 0 && len(list) > 2 && least > ideal; n-- {
		o = append(o[:0], bestOrder...)
		for range 1 + r.IntN(2) {
			from, to := r.IntN(len(o)), r.IntN(len(o))
			x := o[from]
			o = slices.Insert(slices.Delete(o, from, from+1), to, x)
		}
		try(o)
	}
	return best
}

// filler fills sheets again and again in the same room.
type filler struct {
	list  []parcel
	avail int
	size  Size
	trays []tray
	on    []spot // of each piece
}

// spot is a sheet and a band of it; -1 for none.
type spot struct{ tray, shelf int }

// put fills sheets in the order given: each piece goes where its runs go on if there
// is room, or else where it costs the least height. It gives up where the sheets
// alone cost as much as another way does.
func (f *filler) put(order []int, most int) bool {
	list, avail, size, on := f.list, f.avail, f.size, f.on
	trays := f.trays[:0]
	for i := range on {
		on[i] = spot{-1, -1}
	}
	for _, i := range order {
		p := &list[i]
		bt, bs, least := -1, -1, 1<<30
		for ti := range trays {
			t := &trays[ti]
			bonus, room := 0, size.H-max(t.foot, p.foot)
			for _, k := range p.kin {
				if on[k.parcel].tray == ti {
					bonus += k.price(true, false) / 4
				}
			}
			for si := range t.shelves {
				s := &t.shelves[si]
				if s.w+systemGap+p.w > avail {
					continue
				}
				if more := max(s.up, p.up) - s.up + max(s.down, p.down) - s.down; t.h+more <= room && more-bonus < least {
					bt, bs, least = ti, si, more-bonus
				}
			}
			alone := p.up + p.down + 2*bandMargin + bandGap
			if t.h+alone <= room && alone-bonus < least {
				bt, bs, least = ti, len(t.shelves), alone-bonus
			}
		}
		if bt < 0 {
			if sheetPrice*(len(trays)+1) >= most {
				return false
			}
			bt, bs = len(trays), 0
			if bt < cap(trays) {
				trays = trays[:bt+1]
				trays[bt] = tray{h: -bandGap, shelves: trays[bt].shelves[:0]}
			} else {
				trays = append(trays, tray{h: -bandGap})
			}
			f.trays = trays
		}
		t := &trays[bt]
		t.foot = max(t.foot, p.foot)
		if bs == len(t.shelves) {
			s := shelf{w: -systemGap, up: -bandMargin, down: -bandMargin}
			if bs < cap(t.shelves) {
				s.list = t.shelves[:bs+1][bs].list[:0]
			}
			t.shelves = append(t.shelves, s)
			t.h += bandGap
		}
		s := &t.shelves[bs]
		t.h -= s.height()
		s.w += systemGap + p.w
		s.up, s.down = max(s.up, p.up), max(s.down, p.down)
		s.list = append(s.list, i)
		t.h += s.height()
		on[i] = spot{bt, bs}
	}
	return true
}

// taken is a copy of the sheets as they are filled.
func (f *filler) taken() []tray {
	out := slices.Clone(f.trays)
	for i := range out {
		out[i].shelves = slices.Clone(out[i].shelves)
		for k := range out[i].shelves {
			out[i].shelves[k].list = slices.Clone(out[i].shelves[k].list)
		}
	}
	return out
}

// price weighs the way the sheets are filled.
func (f *filler) price() int {
	price := sheetPrice * len(f.trays)
	for ti := range f.trays {
		lo, hi := len(f.list), 0
		for si := range f.trays[ti].shelves {
			for _, i := range f.trays[ti].shelves[si].list {
				lo, hi = min(lo, i), max(hi, i)
			}
		}
		price += strayedRate * (hi - lo)
	}
	for i := range f.list {
		at := f.on[i]
		for _, k := range f.list[i].kin {
			if o := f.on[k.parcel]; k.parcel > i {
				price += k.price(o.tray != at.tray, o.shelf != at.shelf)
			}
		}
	}
	return price
}

// pack puts the systems side by side into bands and the bands on sheets; then it
// finds the largest scale for each sheet. What an earlier draft found is kept as long
// as it holds.
func (d *draft) pack(pieces []*piece, avail int, size Size, opt *options) {
	m := d.m
	place := map[*piece]int{}
	for i, p := range pieces {
		place[p] = i
	}
	list := d.parcels(pieces, size)
	d.keepFeet(list, opt)
	trays := d.packedBefore(list, avail, opt)
	if trays == nil || d.onSheets(list, trays, place, size) > 0 {
		// systems of one band may stand higher together than each alone: where a
		// sheet turns out too low, it is packed looser
		room := size
		for try := 0; ; try++ {
			trays = fill(list, avail, room)
			over := d.onSheets(list, trays, place, size)
			if over <= 0 || try == 4 {
				break
			}
			room.H -= over
		}
		slices.SortStableFunc(d.sheets, func(a, b []*strip) int { return place[a[0].pieces[0]] - place[b[0].pieces[0]] })
		opt.packed = d.packing()
	}
	d.countApart(list)
	for _, sheet := range d.sheets {
		for _, b := range sheet {
			d.tooLow = max(d.tooLow, b.height()-size.H)
		}
	}
	for _, sheet := range d.sheets {
		for _, b := range sheet {
			d.broken = append(d.broken, d.squeeze(b, size)...)
		}
		d.enlarge(sheet, m.g.scales(), d.room(sheet, size))
	}
}

// onSheets makes the bands of a way to fill sheets, and tells by how much those of
// several systems are too high.
func (d *draft) onSheets(list []parcel, trays []tray, place map[*piece]int, size Size) (over int) {
	d.sheets = nil
	for _, t := range trays {
		var sheet []*strip
		for _, s := range t.shelves {
			b := &strip{}
			for _, i := range s.list {
				b.pieces = append(b.pieces, list[i].piece)
			}
			d.m.inOrder(b, place)
			d.squeeze(b, size)
			sheet = append(sheet, b)
		}
		if len(sheet) > 1 || len(sheet[0].pieces) > 1 {
			over = max(over, d.height(sheet)-d.room(sheet, size).H)
		}
		slices.SortStableFunc(sheet, func(a, b *strip) int { return place[a.pieces[0]] - place[b.pieces[0]] })
		d.sheets = append(d.sheets, sheet)
	}
	return over
}

// keepFeet gives each piece the foot of the sheet it stood on.
func (d *draft) keepFeet(list []parcel, opt *options) {
	foot := map[string]int{}
	for i, bands := range opt.packed {
		for _, names := range bands {
			for _, name := range names {
				if i < len(d.m.g.Feet) {
					foot[name] = d.m.g.Feet[i]
				}
			}
		}
	}
	d.feet = map[*piece]int{}
	for i := range list {
		list[i].foot = foot[d.m.signature(list[i].piece)]
		d.feet[list[i].piece] = list[i].foot
	}
}

// room is what a sheet holds above its foot.
func (d *draft) room(sheet []*strip, size Size) Size {
	foot := 0
	for _, b := range sheet {
		for _, p := range b.pieces {
			foot = max(foot, d.feet[p])
		}
	}
	size.H -= foot
	return size
}

// packing names what stands in the bands of the sheets.
func (d *draft) packing() (out [][][]string) {
	for _, sheet := range d.sheets {
		var bands [][]string
		for _, b := range sheet {
			var names []string
			for _, p := range b.pieces {
				names = append(names, d.m.signature(p))
			}
			bands = append(bands, names)
		}
		out = append(out, bands)
	}
	return out
}

// packedBefore is the packing of an earlier draft; nil if there is none, or if the
// pieces are others or wider now than their bands hold.
func (d *draft) packedBefore(list []parcel, avail int, opt *options) []tray {
	index := map[string]int{}
	for i := range list {
		index[d.m.signature(list[i].piece)] = i
	}
	var out []tray
	n := 0
	for _, bands := range opt.packed {
		var t tray
		for _, names := range bands {
			s := shelf{w: -systemGap}
			for _, name := range names {
				i, ok := index[name]
				if !ok {
					return nil
				}
				s.list = append(s.list, i)
				s.w += systemGap + list[i].w
				n++
			}
			if s.w > avail && len(s.list) > 1 {
				return nil
			}
			t.shelves = append(t.shelves, s)
		}
		out = append(out, t)
	}
	if n < len(list) {
		return nil
	}
	return out
}

// countApart prices the runs that go on in another band or on another sheet.
func (d *draft) countApart(list []parcel) {
	sheet, band := map[*piece]int{}, map[*piece]*strip{}
	for i, s := range d.sheets {
		for _, b := range s {
			for _, p := range b.pieces {
				sheet[p], band[p] = i, b
			}
		}
	}
	for i := range list {
		for _, k := range list[i].kin {
			if p, q := list[i].piece, list[k.parcel].piece; k.parcel > i {
				d.apart += k.price(sheet[p] != sheet[q], band[p] != band[q])
			}
		}
	}
}
