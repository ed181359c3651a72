package schematic

import (
	"slices"
	"strings"

	"fitout/render/draw"
)

// enrich adds to the labels of a sheet what they lost for want of height, where
// the sheet has room for it after all: size, colour and length beside the run.
func (p *paper) enrich(f *foot) {
	g := p.occupied(f)
	if p.s.Level != 0 {
		p.fill(g)
	}
	p.tidy(g)
}

func (p *paper) fill(g *ground) {
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

// tidy makes one label, number first, of those that stand in another order one
// after the other along a run: "4.2 m 22b" becomes "22b: 10 mm² RD 4.2 m".
func (p *paper) tidy(g *ground) {
	gone := map[int]bool{}
	for i := range p.s.Wires {
		l := p.d.link[p.s.Wires[i].ID]
		if l.stem || l.wire().Implied {
			continue
		}
		k := slices.IndexFunc(p.runs, func(r draw.Run) bool { return r.ID == l.id })
		at := p.labelsOf(l.id)
		if len(at) < 2 || !p.inLine(at) {
			continue
		}
		var said []string
		for _, j := range at {
			said = append(said, p.texts[j].(draw.Text).S)
		}
		want := p.d.sentence(l, said)
		if bare(want) == bare(strings.Join(said, "")) {
			continue
		}
		for _, j := range at {
			b := p.texts[j].(draw.Text).Bounds()
			g.drop(b)
			g.drop(b.Grow(0.2))
		}
		t, ok := g.along(p.runs[k], want, []bool{false, true})
		if !ok {
			for _, j := range at {
				g.take(p.texts[j].(draw.Text).Bounds())
			}
			continue
		}
		g.take(t.Bounds())
		p.texts[at[0]] = t
		for _, j := range at[1:] {
			gone[j] = true
		}
	}
	var left []draw.Item
	for j, it := range p.texts {
		if !gone[j] {
			left = append(left, it)
		}
	}
	p.texts = left
}

// labelsOf are the places of a run's labels in the texts, as they are read: from
// left to right, or upwards.
func (p *paper) labelsOf(id string) (at []int) {
	for j, it := range p.texts {
		if t, ok := it.(draw.Text); ok && t.LabelOf == id {
			at = append(at, j)
		}
	}
	slices.SortStableFunc(at, func(a, b int) int {
		s, t := p.texts[a].(draw.Text), p.texts[b].(draw.Text)
		if s.Up {
			return int(100 * (t.At.Y - s.At.Y))
		}
		return int(100 * (s.At.X - t.At.X))
	})
	return at
}

// inLine tells whether texts stand on one line.
func (p *paper) inLine(at []int) bool {
	first := p.texts[at[0]].(draw.Text)
	for _, j := range at[1:] {
		t := p.texts[j].(draw.Text)
		off := t.At.Y - first.At.Y
		if t.Up {
			off = t.At.X - first.At.X
		}
		if t.Up != first.Up || off > 0.3 || off < -0.3 {
			return false
		}
	}
	return true
}

// sentence is what labels say of a run, in order and in one.
func (d *drawing) sentence(l *link, said []string) string {
	number, size, rest := d.label(l)
	colour := d.colour(l.wire())
	if l.wire().Cable != "" {
		colour = ""
	}
	length := strings.TrimSpace(strings.TrimPrefix(rest, colour))
	has := func(s string) bool {
		return s != "" && slices.ContainsFunc(said, func(t string) bool {
			return strings.Contains(" "+strings.TrimPrefix(t, number+":")+" ", " "+s+" ")
		})
	}
	out := number
	if has(size) {
		out = together(number, size)
	}
	if has(colour) {
		out += "  " + colour
	}
	if has(length) {
		out += "  " + length
	}
	return out
}

// bare is a text without spaces and colons.
func bare(s string) string { return strings.NewReplacer(" ", "", ":", "").Replace(s) }

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
		span := length(i) - width - 0.2
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
