package schematic_test

import (
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/render/schematic"
	"fitout/render/sheet"
)

// Whatever room the sheets leave, the text of every finding that is marked on a
// DC sheet can be read on one of them; two notes take no sheet of their own.
func TestFindingsAreAllListed(t *testing.T) {
	files, _ := filepath.Glob("../../examples/*.yaml")
	for _, path := range files {
		in := readBoat(t, path)
		pages, err := schematic.DC(in)
		if err != nil {
			t.Fatal(err)
		}
		all, marks := "", map[string]bool{}
		for _, p := range pages {
			for _, x := range textsOf(p.Items) {
				all += squeeze(x.S)
			}
			for _, id := range marked(p) {
				marks[id] = true
			}
			if strings.HasSuffix(p.ID, "-findings") && strings.Contains(path, "dayboat") {
				t.Errorf("%s: two notes stand on a sheet of their own", path)
			}
		}
		for i, f := range in.Result.Findings {
			if marks[strconv.Itoa(i+1)] && !strings.Contains(all, squeeze(f.Message)) {
				t.Errorf("%s: the text of finding %d (%s) stands on no sheet", path, i+1, f.Rule)
			}
		}
	}
}

// marked lists the numbers in the marks of a page.
func marked(p sheet.Page) (out []string) {
	for _, it := range p.Items {
		if g, ok := it.(draw.Group); ok && strings.HasPrefix(g.Class, "finding ") {
			for _, x := range textsOf([]draw.Item{g}) {
				out = append(out, x.S)
			}
		}
	}
	return out
}
