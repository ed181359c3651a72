package pack

import (
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/schema/boattest"
)

// With an address every space sheet carries a code beside that address, which the
// page has; without one no sheet carries a code.
func TestSpaceSheetsCarryCodes(t *testing.T) {
	in := inputOf(boattest.ReadFile(t, examples+"cruiser.yaml"))
	const page = "https://boat.example/curlew-pack.html"
	for _, address := range []string{"", page} {
		p, err := Make(in, Options{For: Aboard, Page: address})
		if err != nil {
			t.Fatal(err)
		}
		found := map[string]int{}
		for _, s := range p.Sheets {
			for _, it := range s.Items {
				g, ok := it.(draw.Group)
				if !ok || g.Class != "code" {
					continue
				}
				squares, words := 0, ""
				for _, st := range g.Strokes {
					switch st := st.(type) {
					case draw.Rect:
						squares++
						if st.Box.Height() < 0.5 {
							t.Errorf("%s: modules of %v mm", s.ID, st.Box.Height())
						}
					case draw.Text:
						words += st.S
					}
				}
				_, at, _ := strings.Cut(words, page+"#")
				if squares < 200 || !strings.Contains(string(p.HTML), `id="`+at+`"`) {
					t.Errorf("%s: %d squares, leads to %q", s.ID, squares, at)
				}
				found[at]++
			}
		}
		for _, sp := range in.Survey.Boat.Spaces {
			want := 0
			if address != "" {
				want = 1
			}
			if found["at-space-"+sp.ID] != want {
				t.Errorf("address %q: space %s has %d codes, want %d", address, sp.ID, found["at-space-"+sp.ID], want)
			}
		}
	}
}
