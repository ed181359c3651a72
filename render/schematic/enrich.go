package schematic

import (
	"slices"

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
		for _, s := range p.missing(l, w.Labels[0].Key, len(w.Labels)) {
			if t, ok := g.along(p.runs[k], s); ok {
				p.texts = append(p.texts, t)
				g.take(t.Bounds().Grow(0.2))
				break
			}
		}
	}
}

// missing lists what a run's labels do not say, the fullest text first.
func (p *paper) missing(l *link, key string, labels int) []string {
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
	case key == keyFull:
		add(rest)
	case labels > 1: // number on one side, size on the other
		add(rest)
	default:
		add(both)
		add(p.d.sizeColour(l))
		add(size)
	}
	return out
}

// along finds a free place for a label beside a run: along its longest piece
// first, from the middle outward, on either side.
func (g *ground) along(r draw.Run, s string) (draw.Text, bool) {
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
				for _, far := range []bool{false, true} {
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
