package schematic_test

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/render/schematic"
)

// A panel that the first DC sheet lists as live with every switch off says so on its
// front, where the hand is; one that it does not list says nothing of the kind.
func TestFrontsThatStayLive(t *testing.T) {
	files, _ := filepath.Glob("../../examples/*.yaml")
	both := map[bool]int{}
	for _, path := range files {
		in := readBoat(t, path)
		pages, err := schematic.DC(in)
		if err != nil {
			t.Fatal(err)
		}
		box := ""
		for _, it := range pages[0].Items {
			if g, ok := it.(draw.Group); ok && g.Class == "live" {
				for _, x := range textsOf([]draw.Item{g}) {
					box += x.S + " "
				}
			}
		}
		listed, _, _ := strings.Cut(box, ";")
		words := strings.FieldsFunc(listed, func(r rune) bool { return r == ' ' || r == ',' || r == '.' })
		fronts, err := schematic.Panels(in)
		if err != nil {
			t.Fatal(err)
		}
		for _, page := range fronts {
			for _, it := range page.Items {
				p, ok := it.(draw.Part)
				if !ok {
					continue
				}
				id, _, _ := strings.Cut(p.ID, "-from-")
				says := ""
				for _, x := range textsOf([]draw.Item{p}) {
					says += x.S + " "
				}
				want := slices.Contains(words, id)
				if got := strings.Contains(says, "LIVE WITH EVERY SWITCH OFF"); got != want {
					t.Errorf("%s: the front of %s says that it stays live: %v; the first DC sheet says %v", path, id, got, want)
				}
				both[want]++
			}
		}
	}
	if both[true] < 3 || both[false] < 3 {
		t.Errorf("too few fronts to tell: %v", both)
	}
}
