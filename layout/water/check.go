package waterlayout

import "fmt"

// Check measures a plan against its graph and lists every fault: overlaps, runs
// through boxes or on one another, slanted pieces, loose ends, a broken order of
// heights, the wrong side of the waterline, text on anything, anything off the
// page, and anything lost. It shares no code with the steps that make the plan.
func Check(g Graph, p Plan) []Problem {
	c := &checker{g: &g, boxes: map[string]*Box{}, seen: map[string]int{}}
	for i := range g.Boxes {
		c.boxes[g.Boxes[i].ID] = &g.Boxes[i]
	}
	marks := map[string]int{}
	ends := map[string]int{}
	for si := range p.Sheets {
		for bi := range p.Sheets[si].Bands {
			b := &p.Sheets[si].Bands[bi]
			c.where = fmt.Sprintf("sheet %d band %d", si+1, bi+1)
			c.band(&p, b)
			for _, o := range p.Sheets[si].Bands[:bi] {
				if overlaps(o.Area, b.Area, 0) {
					c.fault("band", c.where, "bands overlap")
				}
			}
			for _, x := range b.Boxes {
				if x.Mark != "" {
					marks[x.Mark]++
				}
			}
			for _, r := range b.Runs {
				ends[r.ID]++
			}
		}
	}
	for _, b := range g.Boxes {
		if n := c.seen[b.ID]; n != 1 {
			c.fault("lost", b.ID, "drawn %d times", n)
		}
	}
	for _, r := range g.Runs {
		if ends[r.ID] == 0 {
			c.fault("lost", r.ID, "the run is not drawn")
		}
		if n := marks[r.ID]; n == 1 || n == 0 && ends[r.ID] > 1 || n > 0 && ends[r.ID] < 2 {
			c.fault("mark", r.ID, "%d continuation marks, %d pieces", n, ends[r.ID])
		}
	}
	return c.list
}

type checker struct {
	g     *Graph
	boxes map[string]*Box
	seen  map[string]int
	where string
	list  []Problem
}

func (c *checker) fault(kind, id, format string, args ...any) {
	c.list = append(c.list, Problem{kind, id, c.where + ": " + fmt.Sprintf(format, args...)})
}

func within(a, b Rect) bool {
	return a.X >= b.X && a.Y >= b.Y && a.X+a.W <= b.X+b.W && a.Y+a.H <= b.Y+b.H
}

func (c *checker) band(p *Plan, b *Band) {
	page := Rect{0, 0, p.Size.W, p.Size.H}
	if !within(b.Area, page) {
		c.fault("page", c.where, "the band reaches off the page")
	}
	type text struct {
		r     Rect
		owner string
	}
	var texts []text
	at := map[string]*PlacedBox{}
	for i := range b.Boxes {
		x := &b.Boxes[i]
		at[x.ID] = x
		c.box(b, x)
		for k := range b.Boxes[:i] {
			if y := &b.Boxes[k]; overlaps(x.Rect, y.Rect, 0) {
				c.fault("overlap", x.ID, "on %s", y.ID)
			}
		}
		if x.Name.Placed {
			texts = append(texts, text{x.Name.Rect, x.ID})
		}
	}
	c.order(b)
	for i := range b.Runs {
		r := &b.Runs[i]
		c.run(b, r, at)
		for k := range b.Runs[:i] {
			c.pair(r, &b.Runs[k])
		}
		if r.Label.Placed {
			texts = append(texts, text{r.Label.Rect, r.ID})
			c.label(r)
		} else if len(r.Points) > 1 && r.Points[0] != r.Points[1] && c.wantsLabel(r.ID) {
			c.fault("label", r.ID, "no label")
		}
	}
	for i, t := range texts {
		if !within(t.r, b.Area) || t.r.X < b.RulerX {
			c.fault("page", t.owner, "text off the band")
		}
		if t.r.Y < b.Waterline && t.r.Y+t.r.H > b.Waterline {
			c.fault("text", t.owner, "text on the waterline")
		}
		for _, o := range texts[:i] {
			if overlaps(t.r, o.r, 0) {
				c.fault("text", t.owner, "text on the text of %s", o.owner)
			}
		}
		for k := range b.Boxes {
			if overlaps(t.r, b.Boxes[k].Rect, 0) {
				c.fault("text", t.owner, "text on %s", b.Boxes[k].ID)
			}
		}
		for k := range b.Runs {
			if crossesRect(b.Runs[k].Points, t.r) {
				c.fault("text", t.owner, "text on run %s", b.Runs[k].ID)
			}
		}
	}
	c.hull(b)
	for i := 1; i < len(b.Ruler.Knots); i++ {
		if k, o := b.Ruler.Knots[i], b.Ruler.Knots[i-1]; k.MM < o.MM || k.Y > o.Y {
			c.fault("ruler", c.where, "the ruler runs back at %d mm", k.MM)
		}
	}
}

// hull walks along the hull's lines and looks for what they pass through.
func (c *checker) hull(b *Band) {
	const steps = 8 // a unit
	for _, line := range b.Hull {
		for i := 1; i < len(line); i++ {
			p, q := line[i-1], line[i]
			n := steps * max(abs(q.X-p.X), abs(q.Y-p.Y))
			for k := 0; k <= n; k++ {
				x, y := p.X*n+(q.X-p.X)*k, p.Y*n+(q.Y-p.Y)*k // in nths of a unit
				in := func(r Rect) bool { return x > r.X*n && x < (r.X+r.W)*n && y > r.Y*n && y < (r.Y+r.H)*n }
				for j := range b.Boxes {
					if o := &b.Boxes[j]; in(o.Rect) || o.Name.Placed && in(o.Name.Rect) {
						c.fault("hull", o.ID, "the hull runs through it or its name")
						return
					}
				}
				for j := range b.Runs {
					r := &b.Runs[j]
					if r.Label.Placed && in(r.Label.Rect) {
						c.fault("hull", r.ID, "the hull runs through its label")
						return
					}
					for s := 1; s < len(r.Points); s++ {
						a, e := r.Points[s-1], r.Points[s]
						if in(Rect{min(a.X, e.X), min(a.Y, e.Y), abs(a.X - e.X), abs(a.Y - e.Y)}) || x*(e.Y-a.Y) == a.X*n*(e.Y-a.Y) && y*(e.X-a.X) == a.Y*n*(e.X-a.X) && x >= min(a.X, e.X)*n && x <= max(a.X, e.X)*n && y >= min(a.Y, e.Y)*n && y <= max(a.Y, e.Y)*n {
							c.fault("hull", r.ID, "the hull crosses it")
							return
						}
					}
				}
			}
		}
	}
}

func (c *checker) wantsLabel(run string) bool {
	for i := range c.g.Runs {
		if c.g.Runs[i].ID == run {
			return len(c.g.Runs[i].Labels) > 0
		}
	}
	return false
}

func (c *checker) box(b *Band, x *PlacedBox) {
	if !within(x.Rect, b.Area) || x.Rect.X < b.RulerX {
		c.fault("page", x.ID, "off the band")
	}
	if x.Mark != "" {
		return
	}
	c.seen[x.ID]++
	in, ok := c.boxes[x.ID]
	if !ok {
		c.fault("lost", x.ID, "no such box")
		return
	}
	if x.Rect.W != in.Size.W || x.Rect.H != in.Size.H || x.Anchor != x.Rect.Y+in.Anchor || x.Level != in.Level {
		c.fault("box", x.ID, "drawn otherwise than given")
	}
	if in.Name.W > 0 && in.Name.H > 0 && (!x.Name.Placed || x.Name.Rect.W != in.Name.W || x.Name.Rect.H != in.Name.H) {
		c.fault("text", x.ID, "no name")
	}
	top, low := x.Rect.Y, x.Rect.Y+x.Rect.H
	if !in.Straddle && top < b.Waterline && low > b.Waterline {
		c.fault("side", x.ID, "lies across the waterline")
	}
	if in.Level.Known && in.Level.MM != 0 {
		above := in.Level.MM > 0
		if above != (top+low < 2*b.Waterline) || above != (x.Anchor < b.Waterline) {
			c.fault("side", x.ID, "on the wrong side of the waterline")
		}
	}
}

// order compares every two known heights, by the anchors and by the middles.
func (c *checker) order(b *Band) {
	for i := range b.Boxes {
		for k := range b.Boxes {
			x, y := &b.Boxes[i], &b.Boxes[k]
			if !x.Level.Known || !y.Level.Known || x.Level.MM <= y.Level.MM {
				continue
			}
			if x.Anchor > y.Anchor || 2*x.Rect.Y+x.Rect.H > 2*y.Rect.Y+y.Rect.H {
				c.fault("order", x.ID, "lower than %s", y.ID)
			}
		}
	}
}

func (c *checker) run(b *Band, r *PlacedRun, at map[string]*PlacedBox) {
	if len(r.Points) < 2 {
		c.fault("route", r.ID, "no line")
		return
	}
	for i, q := range r.Points {
		if q.X < b.RulerX || q.X > b.Area.W || q.Y < b.Area.Y || q.Y > b.Area.Y+b.Area.H {
			c.fault("page", r.ID, "off the band")
		}
		if i == 0 {
			continue
		}
		o := r.Points[i-1]
		if o.X != q.X && o.Y != q.Y {
			c.fault("slanted", r.ID, "slanted at %d, %d", o.X, o.Y)
		}
		if o.Y == q.Y && o.Y == b.Waterline && o.X != q.X {
			c.fault("route", r.ID, "runs along the waterline")
		}
	}
	c.end(r.ID, r.From, r.Points[0], at)
	c.end(r.ID, r.To, r.Points[len(r.Points)-1], at)
	for i := range b.Boxes {
		if crossesRect(r.Points, b.Boxes[i].Rect) {
			c.fault("through", r.ID, "through %s", b.Boxes[i].ID)
		}
	}
	for i := 1; i < len(r.Points); i++ {
		for k := i + 2; k < len(r.Points); k++ {
			if segmentsMeet(r.Points[i-1], r.Points[i], r.Points[k-1], r.Points[k]) {
				c.fault("route", r.ID, "crosses itself")
			}
		}
	}
}

func (c *checker) end(run string, e End, q Point, at map[string]*PlacedBox) {
	x, ok := at[e.Box]
	if !ok {
		c.fault("loose", run, "%s is not in the band", e.Box)
		return
	}
	if x.Mark != "" {
		if q.Y != x.Rect.Y+x.Rect.H/2 || q.X != x.Rect.X && q.X != x.Rect.X+x.Rect.W {
			c.fault("loose", run, "off its mark")
		}
		return
	}
	for _, l := range x.Landings {
		if l.Port == e.Port && q.X >= l.A.X && q.X <= l.B.X && q.Y >= l.A.Y && q.Y <= l.B.Y {
			return
		}
	}
	in := c.boxes[e.Box]
	for _, p := range in.Ports {
		if x.Mirrored {
			p = p.mirror(in.Size.W)
		}
		if p.Name != e.Port {
			continue
		}
		want := Point{x.Rect.X + p.Offset, x.Rect.Y}
		switch p.Side {
		case Left:
			want = Point{x.Rect.X, x.Rect.Y + p.Offset}
		case Right:
			want = Point{x.Rect.X + x.Rect.W, x.Rect.Y + p.Offset}
		case Bottom:
			want.Y += x.Rect.H
		}
		if in.Flips && q.Y == want.Y && (q.X == x.Rect.X || q.X == x.Rect.X+x.Rect.W) {
			return
		}
		if q != want {
			c.fault("loose", run, "ends off %s.%s", e.Box, e.Port)
		}
		return
	}
	c.fault("loose", run, "%s has no port %s", e.Box, e.Port)
}

// pair finds runs that share a track or touch without a clean crossing.
func (c *checker) pair(r, q *PlacedRun) {
	for i := 1; i < len(r.Points); i++ {
		for k := 1; k < len(q.Points); k++ {
			a, b, x, y := r.Points[i-1], r.Points[i], q.Points[k-1], q.Points[k]
			if !segmentsMeet(a, b, x, y) {
				continue
			}
			if !cleanCrossing(a, b, x, y) && !(a == b || x == y) {
				c.fault("track", r.ID, "on or against %s at %d, %d", q.ID, a.X, a.Y)
			}
		}
	}
}

func (c *checker) label(r *PlacedRun) {
	for i := 1; i < len(r.Points); i++ {
		a, b := r.Points[i-1], r.Points[i]
		s := Rect{min(a.X, b.X), min(a.Y, b.Y), abs(a.X - b.X), abs(a.Y - b.Y)}
		t := r.Label.Rect
		if s.X <= t.X+t.W && t.X <= s.X+s.W && s.Y <= t.Y+t.H && t.Y <= s.Y+s.H {
			return
		}
	}
	c.fault("label", r.ID, "the label is off its run")
}

// crossesRect tells whether a polyline enters a rectangle's inside.
func crossesRect(pts []Point, r Rect) bool {
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		if min(a.X, b.X) < r.X+r.W && max(a.X, b.X) > r.X && min(a.Y, b.Y) < r.Y+r.H && max(a.Y, b.Y) > r.Y {
			return true
		}
	}
	return false
}

func segmentsMeet(a, b, x, y Point) bool {
	return min(a.X, b.X) <= max(x.X, y.X) && min(x.X, y.X) <= max(a.X, b.X) &&
		min(a.Y, b.Y) <= max(x.Y, y.Y) && min(x.Y, y.Y) <= max(a.Y, b.Y)
}

// cleanCrossing tells whether two meeting segments cross at right angles inside
// both.
func cleanCrossing(a, b, x, y Point) bool {
	if (a.Y == b.Y) == (x.Y == y.Y) {
		return false
	}
	if a.Y != b.Y {
		a, b, x, y = x, y, a, b
	}
	return x.X > min(a.X, b.X) && x.X < max(a.X, b.X) && a.Y > min(x.Y, y.Y) && a.Y < max(x.Y, y.Y)
}

// Crossings counts the places where runs of a sheet cross.
func (s Sheet) Crossings() int {
	n := 0
	for _, b := range s.Bands {
		for i := range b.Runs {
			for k := range b.Runs[:i] {
				p, q := b.Runs[i].Points, b.Runs[k].Points
				for s := 1; s < len(p); s++ {
					for t := 1; t < len(q); t++ {
						if segmentsMeet(p[s-1], p[s], q[t-1], q[t]) && cleanCrossing(p[s-1], p[s], q[t-1], q[t]) {
							n++
						}
					}
				}
			}
		}
	}
	return n
}

// Bends is the number of corners and of runs on a sheet.
func (s Sheet) Bends() (corners, runs int) {
	for _, b := range s.Bands {
		for _, r := range b.Runs {
			corners += r.Bends()
			runs++
		}
	}
	return corners, runs
}
