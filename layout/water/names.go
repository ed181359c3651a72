package waterlayout

// placeNames gives each name a place against its box that no port of its unit
// needs, so that no later step can lose it.
func (m *model) placeNames() {
	for ui := range m.units {
		u := &m.units[ui]
		var kept []Rect
		for _, ni := range u.nodes {
			n := &m.nodes[ni]
			n.nameAt = Rect{}
			if n.name.W <= 0 || n.name.H <= 0 {
				continue
			}
			for _, c := range n.nameCandidates() {
				c.r.X += m.inboard(u, n, c.r)
				r := Rect{c.r.X + n.ux, c.r.Y + n.uy, c.r.W, c.r.H}
				if m.nameFree(u, r, kept) {
					n.nameAt, n.nameSide = c.r, c.side
					kept = append(kept, r)
					break
				}
			}
			if n.nameAt.W == 0 {
				n.nameAt, n.nameSide = m.nameFar(u, n, kept)
				kept = append(kept, Rect{n.nameAt.X + n.ux, n.nameAt.Y + n.uy, n.nameAt.W, n.nameAt.H})
			}
		}
		u.boxes, u.names = m.rects(u)
	}
}

// inboard is how far a name must move to the left so that it does not lie across a
// side of the hull in its unit.
func (m *model) inboard(u *unit, n *node, r Rect) int {
	for _, ni := range u.nodes {
		o := &m.nodes[ni]
		if !o.skin.Pierces || o.skin.Sea != Right {
			continue
		}
		if x, col := n.ux+r.X, o.ux+o.skin.At; x < col && x+r.W > col {
			return col - x - r.W
		}
	}
	return 0
}

// acrossHull tells whether a name would lie on the line of the hull through a
// fitting of its unit.
func (m *model) acrossHull(u *unit, r Rect) bool {
	for _, ni := range u.nodes {
		o := &m.nodes[ni]
		if !o.skin.Pierces {
			continue
		}
		if o.skin.Sea == Right {
			if col := o.ux + o.skin.At; r.X < col && r.X+r.W > col {
				return true
			}
		} else if row := o.uy + o.skin.At; r.Y < row && r.Y+r.H > row {
			return true
		}
	}
	return false
}

type nameSpot struct {
	r    Rect
	side Side
}

// nameCandidates lists the places for a name, the best first: away from the
// ports, on the page's short way.
func (n *node) nameCandidates() []nameSpot {
	var has [4]bool
	lo, hi := [4]int{1 << 20, 1 << 20, 1 << 20, 1 << 20}, [4]int{-1 << 20, -1 << 20, -1 << 20, -1 << 20}
	for _, p := range n.ports {
		has[p.side] = true
		lo[p.side] = min(lo[p.side], p.off)
		hi[p.side] = max(hi[p.side], p.off)
	}
	w, h := n.name.W, n.name.H
	mid := nameSpot{Rect{(n.w - w) / 2, -h, w, h}, Top}
	low := nameSpot{Rect{(n.w - w) / 2, n.h, w, h}, Bottom}
	right := nameSpot{Rect{n.w, (n.h - h) / 2, w, h}, Right}
	left := nameSpot{Rect{-w, (n.h - h) / 2, w, h}, Left}
	var list []nameSpot
	switch {
	case has[Top] && has[Bottom]:
		list = append(list, right, left)
	case has[Bottom]:
		list = append(list, mid)
	default:
		list = append(list, low, mid)
	}
	for _, s := range []nameSpot{right, left, low, mid} {
		if !has[s.side] {
			list = append(list, s)
		}
	}
	if has[Top] {
		list = append(list, nameSpot{Rect{hi[Top] + 1, -h, w, h}, Top}, nameSpot{Rect{lo[Top] - 1 - w, -h, w, h}, Top})
	}
	if has[Bottom] {
		list = append(list, nameSpot{Rect{hi[Bottom] + 1, n.h, w, h}, Bottom}, nameSpot{Rect{lo[Bottom] - 1 - w, n.h, w, h}, Bottom})
	}
	if has[Right] {
		list = append(list, nameSpot{Rect{n.w, hi[Right] + 1, w, h}, Right}, nameSpot{Rect{n.w, lo[Right] - 1 - h, w, h}, Right})
	}
	if has[Left] {
		list = append(list, nameSpot{Rect{-w, hi[Left] + 1, w, h}, Left}, nameSpot{Rect{-w, lo[Left] - 1 - h, w, h}, Left})
	}
	return list
}

func (m *model) nameFree(u *unit, r Rect, kept []Rect) bool {
	for _, k := range kept {
		if overlaps(r, k, 0) {
			return false
		}
	}
	if m.acrossHull(u, r) {
		return false
	}
	for _, ni := range u.nodes {
		n := &m.nodes[ni]
		if overlaps(r, Rect{n.ux, n.uy, n.w, n.h}, 0) {
			return false
		}
		for pi, p := range n.ports {
			at, d := n.at(pi), out(p.side)
			for k := 1; k <= 2; k++ {
				x, y := n.ux+at.X+k*d.X, n.uy+at.Y+k*d.Y
				if x >= r.X && x <= r.X+r.W && y >= r.Y && y <= r.Y+r.H {
					return false
				}
			}
		}
	}
	return true
}

// nameFar is the nearest free place a little off the box, for a part with ports
// all round.
func (m *model) nameFar(u *unit, n *node, kept []Rect) (Rect, Side) {
	w, h := n.name.W, n.name.H
	for d := 0; d < 60; d++ {
		for _, s := range []nameSpot{
			{Rect{n.w + 1, n.h + d, w, h}, Bottom}, {Rect{-1 - w, n.h + d, w, h}, Bottom},
			{Rect{n.w + 1, -h - d, w, h}, Top}, {Rect{-1 - w, -h - d, w, h}, Top},
		} {
			if m.nameFree(u, Rect{s.r.X + n.ux, s.r.Y + n.uy, w, h}, kept) {
				return s.r, s.side
			}
		}
	}
	return Rect{n.w + 1, n.h + 60, w, h}, Bottom
}

// rects are the boxes and names of a unit against its own zero point.
func (m *model) rects(u *unit) (boxes, names []Rect) {
	for _, ni := range u.nodes {
		n := &m.nodes[ni]
		b := Rect{n.ux, n.uy, n.w, n.h}
		for name, span := range n.landings {
			b = n.widen(b, name, span) // joining rectangles: the order of the map is of no matter
		}
		boxes = append(boxes, b)
		if n.nameAt.W > 0 {
			names = append(names, Rect{n.ux + n.nameAt.X, n.uy + n.nameAt.Y, n.nameAt.W, n.nameAt.H})
		}
	}
	return boxes, names
}

// widen lets a box's rectangle hold a landing that overhangs its side.
func (n *node) widen(b Rect, name string, span [2]int) Rect {
	for _, p := range n.ports {
		if p.name != name {
			continue
		}
		if p.side == Top || p.side == Bottom {
			lo, hi := min(b.X, n.ux+span[0]), max(b.X+b.W, n.ux+span[1])
			b.X, b.W = lo, hi-lo
		} else {
			lo, hi := min(b.Y, n.uy+span[0]), max(b.Y+b.H, n.uy+span[1])
			b.Y, b.H = lo, hi-lo
		}
		break
	}
	return b
}
