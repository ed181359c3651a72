package schematic

import (
	"slices"
	"strings"

	"fitout/render/draw"
)

// enrich adds to the labels of a sheet what they lost for want of height, where
// the sheet has room for it after all: size, colour and length beside the run.
func (p *paper) enrich(f *foot) {
	if p.s.Level == 0 {
		return
	}
	g := p.occupied(f)
	for i := range p.s.Wires {
		w := &p.s.Wires[i]
		l := p.d.link[w.ID]
		if l.stem || l.wire().Implied || len(w.Labels) == 0 {
			continue
		}
		k := slices.IndexFunc(p.runs, func(r draw.Run) bool { return r.ID == l.id })
		keys := make([]string, len(w.Labels))
		for i, t := range w.Labels {
			keys[i] = t.Key
		}
		missing := p.missing(l, keys)
		if len(keys) > 1 && len(missing) == 1 && p.lengthen(g, p.runs[k], p.d.labelText(l, keys[1]), missing[0]) {
			continue
		}
		for _, s := range missing {
			if t, ok := p.beside(g, p.runs[k], s, len(keys) > 1); ok {
				p.texts = append(p.texts, t)
				g.take(t.Bounds().Grow(0.2))
				break
			}
		}
	}
}

// lengthen adds text behind a label that stands already, where its piece of the
// run has room for both: "50 mm²" becomes "50 mm²  RD".
func (p *paper) lengthen(g *ground, r draw.Run, have, more string) bool {
	for i, it := range p.texts {
		t, ok := it.(draw.Text)
		if !ok || t.LabelOf != r.ID || t.S != have {
			continue
		}
		a, b, ok := pieceAt(r, t)
		if !ok {
			return false
		}
		old := t.Bounds()
		g.drop(old)
		t.S += "  " + more
		mid := draw.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}
		span := distance(a, b) - t.Width() - 1
		for off := draw.MM(0); off <= span/2; off += 0.5 {
			for _, at := range []draw.MM{off, -off} {
				if t.Up {
					t.At.Y = mid.Y + at
				} else {
					t.At.X = mid.X + at
				}
				if g.free(t.Bounds().Grow(0.1)) {
					p.texts[i] = t
					g.take(t.Bounds())
					return true
				}
			}
		}
		g.take(old)
		return false
	}
	return false
}

// pieceAt is the piece of a run that a label stands along.
func pieceAt(r draw.Run, t draw.Text) (a, b draw.Point, ok bool) {
	const near = draw.MM(3.5)
	for i := 1; i < len(r.Points); i++ {
		a, b = r.Points[i-1], r.Points[i]
		box := around(a, b).Grow(near)
		if t.Up == (a.X == b.X) && t.At.X > box.Min.X && t.At.X < box.Max.X && t.At.Y > box.Min.Y && t.At.Y < box.Max.Y {
			return a, b, true
		}
	}
	return a, b, false
}

// beside finds room for a text along a run on the side where it is not read with
// the number: that of the size, or, of a number alone, the other one.
func (p *paper) beside(g *ground, r draw.Run, s string, sized bool) (draw.Text, bool) {
	far, known := false, false
	for _, it := range p.texts {
		t, ok := it.(draw.Text)
		if !ok || t.LabelOf != r.ID {
			continue
		}
		a, _, ok := pieceAt(r, t)
		if !ok {
			continue
		}
		if t.Up {
			far = t.At.X > a.X
		} else {
			far = t.At.Y > a.Y
		}
		known = true // the last one is the size, where there is one
	}
	if !known {
		return g.along(r, s, []bool{false, true})
	}
	if sized {
		return g.along(r, s, []bool{far})
	}
	if t, ok := g.along(r, s, []bool{!far}); ok {
		return t, true
	}
	return g.along(r, s, []bool{far})
}

// missing lists what a run's labels do not say, the fullest text first.
func (p *paper) missing(l *link, keys []string) []string {
	_, size, rest := p.d.label(l)
	var out []string
	add := func(s string) {
		if s != "" && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	both := size
	if size != "" && rest != "" {
		both += "  " + rest
	}
	switch {
	case keys[0] == keyFull && len(keys) > 1:
	case keys[0] == keyFull:
		add(rest)
	case len(keys) > 1 && keys[1] == keyColour: // number on one side, size and colour on the other
		add(strings.TrimSpace(strings.TrimPrefix(rest, p.d.colour(l.wire()))))
	case len(keys) > 1:
		add(rest)
	default:
		add(both)
		add(p.d.sizeColour(l))
		add(size)
	}
	return out
}

// along finds a free place for a label beside a run: along its longest piece
// first, from the middle outward; sides are those to try, true the right or lower
// one.
func (g *ground) along(r draw.Run, s string, sides []bool) (draw.Text, bool) {
	t := draw.Text{S: s, Letters: draw.RunLabel, Align: draw.Middle, Label: true, LabelOf: r.ID}
	width, cap := t.Width(), t.Letters.Cap()
	gap := max(draw.InColour.Stroking(r.Style).Width/2+0.35, 0.45)
	order := make([]int, 0, len(r.Points))
	length := func(i int) draw.MM { return distance(r.Points[i-1], r.Points[i]) }
	for i := 1; i < len(r.Points); i++ {
		order = append(order, i)
	}
	slices.SortStableFunc(order, func(a, b int) int { return int(100 * (length(b) - length(a))) })
	for _, i := range order {
		a, b := r.Points[i-1], r.Points[i]
		span := length(i) - width - 1
		if span < 0 {
			continue
		}
		mid := draw.Point{X: (a.X + b.X) / 2, Y: (a.Y + b.Y) / 2}
		t.Up = a.X == b.X
		for off := draw.MM(0); off <= span/2; off += 1.25 {
			for _, at := range []draw.MM{off, -off} {
				for _, far := range sides {
					t.At = mid.Add(at, -gap)
					switch {
					case t.Up && far:
						t.At = mid.Add(gap+cap, at)
					case t.Up:
						t.At = mid.Add(-gap, at)
					case far:
						t.At = mid.Add(at, gap+cap)
					}
					if g.free(t.Bounds().Grow(0.25)) {
						return t, true
					}
				}
			}
		}
	}
	return t, false
}
