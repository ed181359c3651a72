package layout

// Figures are what a sheet is judged by.
type Figures struct {
	Boxes, Bars, Wires, Cut        int
	Crossings, Bends               int
	WorstWire, WorstBridge, Length int // bends, bends, grid units
	LabelsMissing                  int
}

// Measure counts crossings, bends and lengths of a sheet.
func Measure(s *Sheet) Figures {
	f := Figures{Boxes: len(s.Boxes), Bars: len(s.Bars), Wires: len(s.Wires)}
	var vert, hor [][4]int // wire, at, lo, hi
	for i, w := range s.Wires {
		b := max(0, len(w.Points)-2)
		f.Bends += b
		if w.Bridge {
			f.WorstBridge = max(f.WorstBridge, b)
		} else {
			f.WorstWire = max(f.WorstWire, b)
		}
		if w.CutFrom || w.CutTo {
			f.Cut++
		}
		f.LabelsMissing += len(w.MissingLabelKey)
		for k := 1; k < len(w.Points); k++ {
			p, q := w.Points[k-1], w.Points[k]
			f.Length += abs(p.X-q.X) + abs(p.Y-q.Y)
			if p.X == q.X {
				vert = append(vert, [4]int{i, p.X, min(p.Y, q.Y), max(p.Y, q.Y)})
			} else {
				hor = append(hor, [4]int{i, p.Y, min(p.X, q.X), max(p.X, q.X)})
			}
		}
	}
	for _, h := range hor {
		for _, v := range vert {
			if h[0] != v[0] && v[1] > h[2] && v[1] < h[3] && h[1] > v[2] && h[1] < v[3] {
				f.Crossings++
			}
		}
	}
	return f
}
