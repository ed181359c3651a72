package overview

import (
	"slices"
	"testing"
)

// Whatever the graph and the paper, every node stands on one sheet, every edge
// is drawn whole on one sheet or begun on one and ended on another, references
// lead where they say, and no sheet is larger than its room.
func TestSplitLosesNothing(t *testing.T) {
	rooms := []Room{{70, 100}, {105, 60}}
	most := 0
	for seed := range int64(120) {
		g := randomGraph(seed)
		sheets, err := Split(g, rooms)
		if err != nil {
			t.Fatal(err)
		}
		most = max(most, len(sheets))
		on := map[string]int{}
		for i, s := range sheets {
			if s.Room < 0 {
				t.Errorf("seed %d: sheet %d fits nowhere: %d by %d", seed, i, s.W, s.H)
			} else if r := rooms[s.Room]; s.W > r.W || s.H > r.H {
				t.Errorf("seed %d: sheet %d is %d by %d in a room of %d by %d", seed, i, s.W, s.H, r.W, r.H)
			}
			for _, b := range s.Boxes {
				if b.Ref != Itself {
					continue
				}
				if k, twice := on[b.ID]; twice {
					t.Errorf("seed %d: %s stands on sheets %d and %d", seed, b.ID, k, i)
				}
				on[b.ID] = i
			}
		}
		if len(on) != len(g.Nodes) {
			t.Errorf("seed %d: %d nodes of %d", seed, len(on), len(g.Nodes))
		}
		drawn := map[Edge][]int{}
		for i, s := range sheets {
			for _, n := range s.Nets {
				for _, to := range n.To {
					drawn[Edge{n.From, to}] = append(drawn[Edge{n.From, to}], i)
				}
			}
		}
		for _, e := range distinct(g) {
			want := []int{on[e.From], on[e.To]}
			slices.Sort(want)
			got := append(slices.Clone(drawn[e]), drawn[Edge{e.To, e.From}]...)
			slices.Sort(got)
			if !slices.Equal(slices.Compact(got), slices.Compact(want)) {
				t.Errorf("seed %d: %v is drawn on sheets %v, want %v", seed, e, got, want)
			}
		}
		for i, s := range sheets {
			for _, b := range s.Boxes {
				switch b.Ref {
				case From, To:
					if !slices.Equal(b.Sheets, []int{on[b.ID]}) || on[b.ID] == i {
						t.Errorf("seed %d: sheet %d refers to %s on %v, it is on %d", seed, i, b.ID, b.Sheets, on[b.ID])
					}
				case More:
					if b.Count < 1 || slices.Contains(b.Sheets, i) || len(b.Sheets) == 0 {
						t.Errorf("seed %d: sheet %d: %d more of %s on %v", seed, i, b.Count, b.ID, b.Sheets)
					}
				}
			}
		}
	}
	if most < 2 {
		t.Error("no graph was split; the rooms are too large for this test")
	}
}

// What fits stays on one sheet.
func TestSplitWhole(t *testing.T) {
	g := randomGraph(3)
	sheets, err := Split(g, []Room{{1000, 1000}})
	if err != nil || len(sheets) != 1 {
		t.Fatalf("%d sheets, %v", len(sheets), err)
	}
	if _, err := Split(Graph{Nodes: []Node{{ID: "A"}, {ID: "A"}}}, nil); err == nil {
		t.Error("a node that occurs twice was placed")
	}
}
