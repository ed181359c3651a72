package waterlayout

import "slices"

const (
	systemGap  = 2*sideMargin + 2 // between systems of one band
	sideMargin = 2                // beside a system, for its runs
	bandGap    = 2
	bandMargin = 2 // above the highest and below the lowest part, for runs
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
	feet   map[*piece]int // rows to keep free on the sheet of a piece
	apart  int            // price of the runs that go on elsewhere
	tooLow int            // units by which some band is higher than the page
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
	pieces = m.byFlow(pieces)
	for _, p := range pieces {
		p.links = m.linksOf(p)
		if opt.recall(m, p) {
			m.spaced(p, opt)
		} else if s := m.signature(p); opt.trouble[s] < patience {
			delete(opt.polished, s)
		}
	}
	d.pack(pieces, avail, size, opt)
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
