package symbol

import "slices"

// Turn rotates the symbol by quarter turns clockwise. Letters move with the
// symbol and stay upright.
func (s Symbol) Turn(quarters int) Symbol {
	n := ((quarters % 4) + 4) % 4
	if n == 0 {
		return s
	}
	s = s.each(func(p Point) Point {
		for range n {
			p = Point{neg(p.Y), p.X}
		}
		return p
	})
	for i := range s.Primitives {
		p := &s.Primitives[i]
		switch {
		case p.Shape == Arc:
			p.From, p.To = p.From+90*float64(n), p.To+90*float64(n)
		case p.Shape == Ellipse && n%2 == 1:
			p.RX, p.RY = p.RY, p.RX
		}
	}
	for i := range s.Anchors {
		s.Anchors[i].Side = Side((int(s.Anchors[i].Side) + n) % 4)
	}
	s.Quarters = (s.Quarters + n) % 4
	return s.settle()
}

// Mirror swaps left and right. Letters move with the symbol and stay readable.
func (s Symbol) Mirror() Symbol {
	s = s.each(func(p Point) Point { return Point{neg(p.X), p.Y} })
	for i := range s.Primitives {
		if p := &s.Primitives[i]; p.Shape == Arc {
			p.From, p.To = 180-p.To, 180-p.From
		}
	}
	for i := range s.Anchors {
		switch a := &s.Anchors[i]; a.Side {
		case Left:
			a.Side = Right
		case Right:
			a.Side = Left
		}
	}
	// mirror after q turns is q turns back after a mirror
	s.Quarters = (4 - s.Quarters) % 4
	s.Mirrored = !s.Mirrored
	return s.settle()
}

// Shift moves the symbol by whole modules.
func (s Symbol) Shift(dx, dy int) Symbol {
	s = s.each(func(p Point) Point { return Point{p.X + float64(dx), p.Y + float64(dy)} })
	return s.settle()
}

// each copies the symbol with every point mapped.
func (s Symbol) each(f func(Point) Point) Symbol {
	s.Primitives = slices.Clone(s.Primitives)
	for i := range s.Primitives {
		s.Primitives[i].Points = slices.Clone(s.Primitives[i].Points)
		for j, p := range s.Primitives[i].Points {
			s.Primitives[i].Points[j] = f(p)
		}
	}
	s.Anchors = slices.Clone(s.Anchors)
	for i, a := range s.Anchors {
		p := f(Point{float64(a.X), float64(a.Y)})
		s.Anchors[i].X, s.Anchors[i].Y = int(p.X), int(p.Y)
	}
	return s
}

// settle puts rectangles' corners back in order, keeps arcs' angles in one
// turn and measures the box again.
func (s Symbol) settle() Symbol {
	for i := range s.Primitives {
		p := &s.Primitives[i]
		switch p.Shape {
		case Rect:
			b := emptyBox().grow(p.Points[0]).grow(p.Points[1])
			p.Points[0], p.Points[1] = b.Min, b.Max
		case Arc:
			for p.From >= 360 {
				p.From, p.To = p.From-360, p.To-360
			}
			for p.From < 0 {
				p.From, p.To = p.From+360, p.To+360
			}
		}
	}
	s.Box = boxOf(s.Primitives, s.Anchors)
	return s
}

// neg avoids the negative zero, which would print as "-0.00".
func neg(v float64) float64 {
	if v == 0 {
		return 0
	}
	return -v
}
