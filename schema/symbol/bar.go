package symbol

import "slices"

// Stud is a place on a bar where a conductor lands.
type Stud struct {
	Name string
	X    int  // modules from the symbol's origin
	Up   bool // the conductor comes from above
	// Empty ways are drawn with their device and left without a lead.
	Empty bool
}

// wayDepth is how far below the bar a way's device ends, in modules.
const wayDepth = 4

// Bar draws a bus, block, stud, panel, fuse-block, ac-panel or manifold to the
// studs given, over at least the span from left to right (equal values: the
// studs alone). The bar lies on y = 0; studs of a bus, block, stud or manifold
// are reached there from above or below; a panel's ways end wayDepth below it,
// its feed one module above.
func Bar(id string, studs []Stud, left, right int) (Symbol, bool) {
	s, ok := Get(id)
	if !ok {
		return Symbol{}, false
	}
	return bar(s, studs, left, right)
}

func bar(s Symbol, studs []Stud, left, right int) (Symbol, bool) {
	draw := map[string]func([]Stud, int, int) []Primitive{
		"dc/bus": busBar, "dc/stud": studBar, "dc/block": blockBar, "water/manifold": manifoldBar,
		"dc/panel": panelBar("dc/breaker"), "dc/fuse-block": panelBar("dc/fuse"), "ac/ac-panel": panelBar("dc/breaker"),
	}[s.ID]
	if draw == nil {
		return Symbol{}, false
	}
	panel := s.ID == "dc/panel" || s.ID == "dc/fuse-block" || s.ID == "ac/ac-panel"
	for i, st := range studs {
		if i == 0 && left == right {
			left, right = st.X, st.X
		}
		left, right = min(left, st.X), max(right, st.X)
	}
	s.Primitives = draw(studs, left, right)
	s.Anchors = nil
	for _, st := range studs {
		s.Anchors = append(s.Anchors, studAnchor(st, panel))
	}
	s.Box = boxOf(s.Primitives, s.Anchors)
	return s, true
}

func studAnchor(st Stud, panel bool) Anchor {
	a := Anchor{Name: st.Name, X: st.X, Side: Down}
	if st.Up {
		a.Side = Up
	}
	switch {
	case panel && st.Up:
		a.Y = -1
	case panel:
		a.Y = wayDepth
	}
	return a
}

func line(xy ...float64) Primitive {
	p := Primitive{Shape: Line}
	for i := 0; i < len(xy); i += 2 {
		p.Points = append(p.Points, Point{xy[i], xy[i+1]})
	}
	return p
}

func circle(x, y, r float64, f Fill) Primitive {
	return Primitive{Shape: Ellipse, Points: []Point{{x, y}}, RX: r, RY: r, Fill: f}
}

func rect(x0, y0, x1, y1 float64) Primitive {
	return Primitive{Shape: Rect, Points: []Point{{x0, y0}, {x1, y1}}}
}

// dots marks each stud place once.
func dots(studs []Stud, f Fill) []Primitive {
	var xs []int
	for _, st := range studs {
		if !slices.Contains(xs, st.X) {
			xs = append(xs, st.X)
		}
	}
	slices.Sort(xs)
	var out []Primitive
	for _, x := range xs {
		out = append(out, circle(float64(x), 0, 0.3, f))
	}
	return out
}

func busBar(studs []Stud, l, r int) []Primitive {
	b := line(float64(l)-1, 0, float64(r)+1, 0)
	b.Pen = Thick
	return append([]Primitive{b}, dots(studs, Solid)...)
}

// studBar is one stud: a circle round its dot, and a plain landing bar where
// several conductors meet on it.
func studBar(studs []Stud, l, r int) []Primitive {
	if l == r {
		return []Primitive{circle(float64(l), 0, 0.7, Hollow), circle(float64(l), 0, 0.3, Solid)}
	}
	return append([]Primitive{line(float64(l), 0, float64(r), 0), circle(float64(l), 0, 0.7, Hollow)}, dots(studs, Solid)...)
}

func blockBar(studs []Stud, l, r int) []Primitive {
	out := []Primitive{rect(float64(l)-1, -0.5, float64(r)+1, 0.5)}
	places := dots(studs, Hollow)
	for i, c := range places {
		if i > 0 {
			x := (c.Points[0].X + places[i-1].Points[0].X) / 2
			out = append(out, line(x, -0.5, x, 0.5))
		}
	}
	return append(out, places...)
}

func manifoldBar(studs []Stud, l, r int) []Primitive {
	out := []Primitive{rect(float64(l)-1, -0.5, float64(r)+1, 0.5)}
	for _, st := range studs {
		y := 0.5
		if st.Up {
			y = -0.5
		}
		out = append(out, line(float64(st.X), 0, float64(st.X), y))
	}
	return out
}

// panelBar draws the feed above, the bar, and one device a way below it, inside
// the chain line of an enclosure.
func panelBar(device string) func([]Stud, int, int) []Primitive {
	return func(studs []Stud, l, r int) []Primitive {
		b := line(float64(l), 0, float64(r), 0)
		b.Pen = Thick
		f := rect(float64(l)-2, -1, float64(r)+2, wayDepth)
		f.Pen = Chain
		out := []Primitive{f, b}
		d := deviceForm(device)
		for _, st := range studs {
			x := float64(st.X)
			if st.Up {
				out = append(out, line(x, -1, x, 0))
				continue
			}
			out = append(out, d.Shift(st.X, wayDepth/2).Primitives...)
		}
		return out
	}
}

// deviceForm reads a device's form straight from the table: the bars are drawn
// while the tables load.
func deviceForm(id string) Symbol {
	for _, r := range rows(formsCSV, 7) {
		if r[0] == id {
			ps, err := parsePrimitives(r[3], nil)
			if err != nil {
				panic("schema/symbol: " + err.Error())
			}
			return Symbol{ID: id, Primitives: ps}
		}
	}
	panic("schema/symbol: no form " + id)
}

// Block is a plain box with named terminals along its upper and lower side, for
// a part whose terminals no form has. It is as wide as its names need.
func Block(id, letters string, top, bottom []string) Symbol {
	const half = 3
	pitch := 2
	for _, n := range append(slices.Clone(top), bottom...) {
		// a name of n letters takes about 0.6 module a letter
		pitch = max(pitch, (len([]rune(n))*6+9)/10+1)
	}
	n := max(len(top), len(bottom), 1)
	w := max(pitch*(n-1)+pitch, 2*half)
	w += w % 2
	s := Symbol{ID: id, Title: letters, Standard: "IEC 60617-2 02-01-01 (rectangle, object)"}
	s.Primitives = []Primitive{rect(-float64(w)/2, -half, float64(w)/2, half)}
	if letters != "" {
		s.Primitives = append(s.Primitives, Primitive{Shape: Text, Points: []Point{{0, 0}}, RY: 1, Text: letters})
	}
	row := func(names []string, y, ty float64, side Side) {
		x := -pitch * (len(names) - 1) / 2
		for _, name := range names {
			s.Anchors = append(s.Anchors, Anchor{Name: name, X: x, Y: int(y), Side: side})
			s.Primitives = append(s.Primitives, Primitive{Shape: Text, Points: []Point{{float64(x), ty}}, RY: 0.75, Text: name})
			x += pitch
		}
	}
	row(top, -half, -half+0.6, Up)
	row(bottom, half, half-0.6, Down)
	s.Box = boxOf(s.Primitives, s.Anchors)
	return s
}
