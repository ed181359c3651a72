package waterlayout

import (
	"strings"
	"testing"
)

func find(t *testing.T, p Plan, id string) (PlacedBox, Band) {
	t.Helper()
	for _, s := range p.Sheets {
		for _, b := range s.Bands {
			for _, x := range b.Boxes {
				if x.ID == id {
					return x, b
				}
			}
		}
	}
	t.Fatalf("%s is not drawn", id)
	return PlacedBox{}, Band{}
}

func TestStackTouches(t *testing.T) {
	p := mustLayout(t, together(a4, rawWater("")))
	th, _ := find(t, p, "TH1")
	sc, _ := find(t, p, "SC1")
	if sc.Rect.Y+sc.Rect.H != th.Rect.Y || sc.Rect.X != th.Rect.X {
		t.Errorf("seacock %v does not stand on through-hull %v", sc.Rect, th.Rect)
	}
}

// A through-hull above its own seacock cannot be: the stack is given up and said.
func TestStackAgainstHeights(t *testing.T) {
	g := together(a4, rawWater(""))
	g.Boxes[0].Level, g.Boxes[1].Level = At(-300), At(-500)
	p := mustLayout(t, g)
	if len(p.Problems) != 1 || p.Problems[0].Kind != "stack" {
		t.Errorf("problems: %v", p.Problems)
	}
	for _, x := range Check(g, p) {
		t.Errorf("fault %v", x)
	}
}

// An unknown height goes beside its neighbour, is flagged, and does not enter
// the ruler.
func TestUnknownHeight(t *testing.T) {
	g := together(a4, rawWater(""))
	for i := range g.Boxes {
		if g.Boxes[i].ID == "P1" {
			g.Boxes[i].Level = Level{}
		}
	}
	p := mustLayout(t, g)
	report(t, g, p)
	pump, b := find(t, p, "P1")
	st, _ := find(t, p, "ST1")
	if !pump.HeightUnknown || st.HeightUnknown {
		t.Error("the flag for an unknown height is wrong")
	}
	if pump.Rect.Y+3 != st.Rect.Y+3 {
		t.Errorf("pump %v is not beside strainer %v", pump.Rect, st.Rect)
	}
	for _, k := range b.Ruler.Knots {
		if k.MM == -150 {
			t.Error("the unknown height is on the ruler")
		}
	}
}

func TestNothingKnown(t *testing.T) {
	g := fourSystems(a3)
	for i := range g.Boxes {
		g.Boxes[i].Level = Level{}
	}
	for i := range g.Runs {
		g.Runs[i].Vias = nil
	}
	report(t, g, mustLayout(t, g))
}

// Several runs on one port get places of their own on a landing.
func TestSharedPort(t *testing.T) {
	g := Graph{Pages: a4, Boxes: []Box{
		mk("M", 8, 6, At(300), Anywhere, Port{"out", Right, 3}),
		flowing("A", 4, 4, At(100)), flowing("B", 4, 4, At(400)), flowing("C", 4, 4, At(800)),
	}, Runs: []Run{hose("1", "M", "out", "A", "in"), hose("2", "M", "out", "B", "in"), hose("3", "M", "out", "C", "in")}}
	p := mustLayout(t, g)
	report(t, g, p)
	m, b := find(t, p, "M")
	if len(m.Landings) != 1 || m.Landings[0].B.Y-m.Landings[0].A.Y < 4 {
		t.Errorf("landings: %v", m.Landings)
	}
	seen := map[Point]bool{}
	for _, r := range b.Runs {
		seen[r.Points[0]] = true
	}
	if len(seen) != 3 {
		t.Errorf("three runs leave the port at %d places", len(seen))
	}
}

// A system too wide for any page is cut; each cut run keeps its id on both
// sheets and names itself on a mark at each end.
func TestSplit(t *testing.T) {
	g := Graph{Pages: []Size{{80, 60}}}
	for i := 0; i < 16; i++ {
		g.Boxes = append(g.Boxes, flowing(string(rune('A'+i)), 6, 4, At(-200-40*i)))
		if i > 0 {
			g.Runs = append(g.Runs, hose("H"+string(rune('A'+i)), string(rune('A'+i-1)), "out", string(rune('A'+i)), "in"))
		}
	}
	p := mustLayout(t, g)
	report(t, g, p)
	marks := map[string]int{}
	for _, s := range p.Sheets {
		for _, b := range s.Bands {
			for _, x := range b.Boxes {
				marks[x.Mark]++
			}
		}
	}
	delete(marks, "")
	if len(marks) == 0 {
		t.Fatal("nothing was cut")
	}
	for ref, n := range marks {
		if n != 2 {
			t.Errorf("mark %s occurs %d times", ref, n)
		}
	}
}

func TestFlowRunsRight(t *testing.T) {
	p := mustLayout(t, together(a3, rawWater("")))
	last := -1
	for _, id := range []string{"TH1", "ST1", "P1", "HX1", "VL1", "WL1", "TH2"} {
		x, _ := find(t, p, id)
		if x.Rect.X <= last {
			t.Errorf("%s is not to the right of what feeds it", id)
		}
		last = x.Rect.X
	}
}

// True scale where it fits: at 100 mm per metre, 40 units to the metre, a lone
// part 0.5 m up stands 20 units above the waterline.
func TestTrueScale(t *testing.T) {
	p := mustLayout(t, Graph{Pages: a3, Boxes: []Box{
		mk("A", 4, 4, At(500), Anywhere), mk("B", 4, 4, At(-750), Anywhere),
	}})
	for id, want := range map[string]int{"A": -20, "B": 30} {
		x, b := find(t, p, id)
		if got := x.Anchor - b.Waterline; got != want || x.Moved != 0 || b.Scale != 100 {
			t.Errorf("%s stands %d rows from the waterline, want %d (moved %d, scale %d)", id, got, want, x.Moved, b.Scale)
		}
		if y := b.Ruler.Y(x.Level.MM); y != float64(x.Anchor) {
			t.Errorf("%s: the ruler says %v, the anchor is at %d", id, y, x.Anchor)
		}
	}
}

func TestRuler(t *testing.T) {
	r := Ruler{scale: 100, Knots: []Knot{{-500, 80}, {0, 50}, {400, 30}, {400, 26}}}
	for _, c := range []struct {
		mm   int
		want float64
	}{{-500, 80}, {-250, 65}, {0, 50}, {200, 40}, {400, 30}, {650, 16}, {-750, 90}} {
		if got := r.Y(c.mm); got != c.want {
			t.Errorf("Y(%d) = %v, want %v", c.mm, got, c.want)
		}
	}
}

// Every kind of fault the checker lists is found when it is made.
func TestCheckFindsFaults(t *testing.T) {
	for _, c := range []struct {
		want string
		harm func(*Band)
	}{
		{"overlap", func(b *Band) { b.Boxes[2].Rect = b.Boxes[3].Rect }},
		{"side", func(b *Band) { b.Boxes[2].Rect.Y = b.Waterline - 20; b.Boxes[2].Anchor = b.Waterline - 17 }},
		{"order", func(b *Band) { b.Boxes[2].Rect.Y += 40; b.Boxes[2].Anchor += 40 }},
		{"loose", func(b *Band) { b.Runs[1].Points[0].X++ }},
		{"slanted", func(b *Band) { b.Runs[2].Points[0].Y++ }},
		{"lost", func(b *Band) { b.Boxes = b.Boxes[1:] }},
		{"lost", func(b *Band) { b.Runs = b.Runs[1:] }},
		{"track", func(b *Band) { b.Runs[1].Points = b.Runs[3].Points }},
		{"text", func(b *Band) { b.Boxes[2].Name.Rect = b.Boxes[3].Name.Rect }},
		{"text", func(b *Band) { b.Boxes[2].Name.Rect.Y = b.Waterline - 1 }},
		{"label", func(b *Band) { b.Runs[3].Label.Rect.X += 40 }},
		{"label", func(b *Band) { b.Runs[3].Label.Placed = false }},
		{"page", func(b *Band) { b.Boxes[0].Rect.X = -3 }},
		{"through", func(b *Band) {
			r := b.Boxes[2].Rect
			b.Runs[4].Points = []Point{{r.X - 2, r.Y + 1}, {r.X + r.W + 2, r.Y + 1}}
		}},
		{"ruler", func(b *Band) { b.Ruler.Knots[0].Y = -9 }},
	} {
		g := together(a3, rawWater(""))
		p := mustLayout(t, g)
		report(t, g, p)
		c.harm(&p.Sheets[0].Bands[0])
		found := ""
		for _, x := range Check(g, p) {
			found += x.Kind + " "
		}
		if !strings.Contains(found, c.want) {
			t.Errorf("a fault of kind %q was made, found: %s", c.want, found)
		}
	}
}

func TestContradictions(t *testing.T) {
	ok := flowing("A", 4, 4, At(100))
	for name, g := range map[string]Graph{
		"no page":      {Boxes: []Box{ok}},
		"twice":        {Pages: a4, Boxes: []Box{ok, ok}},
		"no such box":  {Pages: a4, Boxes: []Box{ok}, Runs: []Run{hose("1", "A", "out", "B", "in")}},
		"no such port": {Pages: a4, Boxes: []Box{ok}, Runs: []Run{hose("1", "A", "out", "A", "x")}},
		"port outside": {Pages: a4, Boxes: []Box{mk("A", 2, 2, At(1), Anywhere, Port{"p", Top, 5})}},
	} {
		if _, err := Layout(g); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if p := mustLayout(t, Graph{Pages: a4}); len(p.Sheets) != 0 {
		t.Error("an empty graph has sheets")
	}
}
