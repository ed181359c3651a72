package waterlayout

import "slices"

const (
	systemGap  = 2*sideMargin + 2 // between systems of one band
	sideMargin = 2                // beside a system, for its runs
	bandGap    = 2
	bandMargin = 3 // above the highest and below the lowest part, for runs
)

// strip is a band in the making.
type strip struct {
	pieces []*piece
	at     []int // x of each piece
	width  int
	scale  int
	tier   int
	lo, hi int // extent against the waterline
}

func (b *strip) height() int { return b.hi - b.lo + 2*bandMargin }

// draft is the placement on one size of page, before the runs are drawn.
type draft struct {
	m      *model
	page   int
	sheets [][]*strip
	broken []int
	tooLow int // units by which some band is higher than the page
}

func (g *Graph) ruler() int {
	if g.Ruler > 0 {
		return g.Ruler
	}
	return 8
}

func (g *Graph) scales() []int {
	if len(g.Scales) > 0 {
		return g.Scales
	}
	return []int{100, 90, 80, 70, 60, 50, 40, 30, 20, 10, 0}
}

// plan places all parts on pages of one size.
func (g *Graph) draft(page, push int, opt *options) (*draft, error) {
	m, err := build(g)
	if err != nil {
		return nil, err
	}
	m.makeUnits(opt.drop)
	m.findSystems()
	m.placeNames()
	d := &draft{m: m, page: page}
	size := g.Pages[page]
	avail := size.W - g.ruler() - 2*sideMargin
	m.sever(push, avail, opt)
	var pieces []*piece
	for s := range m.systems {
		p := m.arrange(s, push, opt.variant)
		m.spaced(p, opt)
		if p.width <= avail {
			pieces = append(pieces, p)
			continue
		}
		for _, q := range m.split(p, avail) {
			m.spaced(q, opt)
			if q.width > avail {
				m.problem("width", m.nodes[m.units[q.units[0]].nodes[0]].id, "one column of parts is %d units wide, the page has %d", q.width, avail)
			}
			pieces = append(pieces, q)
		}
	}
	for _, p := range pieces {
		p.links = m.linksOf(p)
		if opt.recall(m, p) {
			m.spaced(p, opt)
		} else if s := m.signature(p); opt.trouble[s] < patience {
			delete(opt.polished, s)
		}
	}
	d.pack(pieces, avail, size)
	return d, nil
}

// spaced applies the widenings asked for and sets the x of a piece's parts.
func (m *model) spaced(p *piece, opt *options) {
	for c := range p.cols {
		p.extra[c] = opt.extra[m.columnKey(p, c)]
	}
	m.spread(p)
}

// columnKey names a channel by the first part of the column left of it, so that
// a widening survives a fresh placement.
func (m *model) columnKey(p *piece, c int) string {
	return m.nodes[m.units[p.cols[c][0]].nodes[0]].id
}

// pack puts the systems side by side into bands and the bands on sheets, in the
// order of the graph or, where that takes fewer sheets, with the widest or the
// highest first; then it finds the largest scale for each sheet.
func (d *draft) pack(pieces []*piece, avail int, size Size) {
	m := d.m
	place := map[*piece]int{}
	for i, p := range pieces {
		place[p] = i
	}
	tall := map[*piece]int{}
	for _, p := range pieces {
		b := &strip{pieces: []*piece{p}, at: []int{0}}
		d.squeeze(b, size)
		tall[p] = b.height()
	}
	orders := []func(p, q *piece) int{
		func(p, q *piece) int { return 0 },
		func(p, q *piece) int { return q.width - p.width },
		func(p, q *piece) int { return tall[q] - tall[p] },
	}
	var best [][]*strip
	for _, order := range orders {
		list := slices.Clone(pieces)
		slices.SortStableFunc(list, order)
		bands := fill(list, avail)
		for _, b := range bands {
			d.squeeze(b, size)
		}
		if sheets := d.onSheets(bands, size); best == nil || len(sheets) < len(best) {
			best = sheets
		}
	}
	for _, sheet := range best {
		for _, b := range sheet {
			m.inOrder(b, place)
			d.tooLow = max(d.tooLow, b.height()-size.H)
		}
		slices.SortStableFunc(sheet, func(a, b *strip) int { return place[a.pieces[0]] - place[b.pieces[0]] })
	}
	slices.SortStableFunc(best, func(a, b []*strip) int { return place[a[0].pieces[0]] - place[b[0].pieces[0]] })
	d.sheets = best
	for _, sheet := range d.sheets {
		for _, b := range sheet {
			d.broken = append(d.broken, d.squeeze(b, size)...)
		}
		d.enlarge(sheet, m.g.scales(), size)
	}
}

// fill puts systems into bands, each into the first that has the room.
func fill(pieces []*piece, avail int) []*strip {
	var bands []*strip
	for _, p := range pieces {
		var to *strip
		for _, b := range bands {
			if b.width+systemGap+p.width <= avail {
				to = b
				break
			}
		}
		if to == nil {
			to = &strip{width: -systemGap}
			bands = append(bands, to)
		}
		to.width += systemGap + p.width
		to.pieces = append(to.pieces, p)
	}
	return bands
}

// inOrder sets the systems of a band side by side in the order of the graph.
func (m *model) inOrder(b *strip, place map[*piece]int) {
	slices.SortStableFunc(b.pieces, func(p, q *piece) int { return place[p] - place[q] })
	b.at, b.width = nil, -systemGap
	for _, p := range b.pieces {
		b.at = append(b.at, b.width+systemGap)
		b.width += systemGap + p.width
	}
}

// squeeze stands the parts of a band as low as they go and returns the units
// whose stacks cannot hold.
func (d *draft) squeeze(b *strip, size Size) []int {
	scales := d.m.g.scales()
	least := scales[len(scales)-1]
	if broken := d.stand(b, least, tiers[0], false); len(broken) > 0 || b.height() > size.H {
		return d.stand(b, least, tiers[1], false)
	}
	return nil
}

// onSheets puts bands on sheets, each on the first that has the room, in their
// order or the highest first.
func (d *draft) onSheets(bands []*strip, size Size) [][]*strip {
	put := func(list []*strip) (sheets [][]*strip) {
		for _, b := range list {
			i := slices.IndexFunc(sheets, func(s []*strip) bool { return d.height(s)+bandGap+b.height() <= size.H })
			if i < 0 {
				sheets = append(sheets, nil)
				i = len(sheets) - 1
			}
			sheets[i] = append(sheets[i], b)
		}
		return sheets
	}
	best := put(bands)
	high := slices.Clone(bands)
	slices.SortStableFunc(high, func(a, b *strip) int { return b.height() - a.height() })
	if other := put(high); len(other) < len(best) {
		best = other
	}
	return best
}

func (d *draft) height(sheet []*strip) int {
	h := (len(sheet) - 1) * bandGap
	for _, b := range sheet {
		h += b.height()
	}
	return h
}

// stand places the parts of a band and notes its extent.
func (d *draft) stand(b *strip, scale, tier int, align bool) []int {
	broken := d.m.stand(b.pieces, scale, tier, align)
	b.scale, b.tier = scale, tier
	b.lo, b.hi = d.m.extent(b.pieces)
	return broken
}

// enlarge takes the largest scale at which the sheet's bands still fit, and
// there the finest order of heights.
func (d *draft) enlarge(sheet []*strip, scales []int, size Size) {
	was := make([][2]int, len(sheet))
	for i, b := range sheet {
		was[i] = [2]int{b.scale, b.tier}
	}
	for _, scale := range scales {
		for _, tier := range tiers {
			ok := true
			for _, b := range sheet {
				if len(d.stand(b, scale, tier, false)) > 0 {
					ok = false
				}
			}
			if !ok || d.height(sheet) > size.H {
				continue
			}
			for _, b := range sheet {
				d.stand(b, scale, tier, true)
				if d.height(sheet) > size.H {
					d.stand(b, scale, tier, false)
				}
			}
			return
		}
	}
	for i, b := range sheet {
		d.stand(b, was[i][0], was[i][1], false)
	}
}
