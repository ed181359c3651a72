// Package changes marks on drawn sheets what a comparison found: added, removed
// and changed parts and runs, each by a colour and a line type of its own, and
// what stayed in thin grey.
package changes

import (
	"slices"
	"strings"

	"fitout/render/draw"
	"fitout/validate/compare"
)

var styles = map[compare.Kind]draw.Style{compare.Added: draw.Added, compare.Removed: draw.Removed, compare.Changed: draw.Changed}

// Mark returns the sheets with the changes of a result marked. The sheets given
// stay as they are.
func Mark(sheets []draw.Sheet, r compare.Result) []draw.Sheet {
	m := marker{parts: map[string]compare.Kind{}, runs: map[string]compare.Kind{}}
	for _, it := range r.Items {
		switch it.Section {
		case "part":
			m.parts[it.ID] = it.Kind
		case "wire", "hose":
			m.runs[it.ID] = it.Kind
			if cable, _, ok := strings.Cut(it.ID, "."); ok {
				m.runs[cable] = it.Kind
			}
		}
	}
	out := make([]draw.Sheet, len(sheets))
	for i, s := range sheets {
		out[i] = s
		out[i].Items = m.items(s.Items)
		out[i].Items = append(out[i].Items, key(s))
	}
	return out
}

type marker struct{ parts, runs map[string]compare.Kind }

func (m marker) items(list []draw.Item) []draw.Item {
	out := make([]draw.Item, 0, len(list))
	for _, it := range list {
		switch x := it.(type) {
		case draw.Part:
			it = m.part(x)
		case draw.Run:
			it = m.run(x)
		case draw.Band:
			it = draw.Band{Items: m.items(x.Items)}
		case draw.Group:
			if x.Class == "key" { // it explains styles that are not drawn here
				continue
			}
		}
		out = append(out, it)
	}
	return out
}

func (m marker) run(r draw.Run) draw.Run {
	r.Style, r.Core = draw.Unchanged, ""
	if k, ok := m.runs[r.ID]; ok {
		r.Style = styles[k]
		r.Class = strings.TrimSpace(r.Class + " " + string(k))
		r.Title = strings.TrimSpace(r.Title + " (" + string(k) + ")")
	}
	return r
}

// part draws the lines of a symbol in the style of its change; its texts and
// filled shapes keep their ink.
func (m marker) part(p draw.Part) draw.Part {
	k, ok := m.parts[p.ID]
	if !ok {
		return p
	}
	p.Class = strings.TrimSpace(p.Class + " " + string(k))
	p.Title = strings.TrimSpace(p.Title + " (" + string(k) + ")")
	p.Strokes = slices.Clone(p.Strokes)
	for i, s := range p.Strokes {
		switch x := s.(type) {
		case draw.Polyline:
			x.Pen.Style = styles[k]
			p.Strokes[i] = x
		case draw.Rect:
			x.Pen.Style = styles[k]
			p.Strokes[i] = x
		case draw.Ellipse:
			x.Pen.Style = styles[k]
			p.Strokes[i] = x
		case draw.Arc:
			x.Pen.Style = styles[k]
			p.Strokes[i] = x
		}
	}
	return p
}

// key explains the marks along the left edge of the paper, outside the frame.
func key(s draw.Sheet) draw.Item {
	g := draw.Group{Class: "key changes", Title: "added, removed, changed"}
	x, y := draw.MM(5), s.H-15
	for _, st := range []draw.Style{draw.Added, draw.Removed, draw.Changed, draw.Unchanged} {
		t := draw.Text{S: st.Meaning(), Letters: draw.Note, Up: true}
		g.Strokes = append(g.Strokes, draw.Line(draw.Point{X: x - 1, Y: y}, draw.Point{X: x - 1, Y: y - 14}, st))
		t.At = draw.Point{X: x, Y: y - 16}
		g.Strokes = append(g.Strokes, t)
		y -= 16 + t.Width() + 8
	}
	return g
}
