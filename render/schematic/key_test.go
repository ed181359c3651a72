package schematic_test

import (
	"path/filepath"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/render/schematic"
	"fitout/render/sheet"
	"fitout/schema/symbol"
)

// Every symbol that stands on a sheet of an example is explained in the key of
// its set, with the words of the table of forms.
func TestKeyExplainsWhatIsDrawn(t *testing.T) {
	files, _ := filepath.Glob("../../examples/*.yaml")
	for _, path := range files {
		in := readBoat(t, path)
		pages, err := schematic.Key(in)
		if err != nil {
			t.Fatal(err)
		}
		key := ""
		for _, p := range pages {
			for _, x := range textsOf(p.Items) {
				key += x.S
			}
		}
		key = squeeze(key)
		for m, f := range map[symbol.Medium]func(schematic.Input) ([]sheet.Page, error){
			symbol.DC: schematic.DC, symbol.AC: schematic.AC, symbol.Water: schematic.Water,
		} {
			pages, err := f(in)
			if err != nil {
				t.Fatal(err)
			}
			for kind := range kindsOn(pages) {
				if kind == "control" && m == symbol.DC {
					continue // one with outputs is a box with its terminals named
				}
				words, found := titlesOf(m, kind), false
				if kind == "ac-breaker" { // one that opens on residual current too is drawn as such
					words = append(words, titlesOf(m, "rcd")...)
				}
				for _, w := range words {
					found = found || strings.Contains(key, squeeze(w))
				}
				if len(words) > 0 && !found {
					t.Errorf("%s: %s stands on the %s sheets, the key does not explain it", path, kind, m)
				}
			}
		}
	}
}

func kindsOn(pages []sheet.Page) map[string]bool {
	out := map[string]bool{}
	var take func(items []draw.Item)
	take = func(items []draw.Item) {
		for _, it := range items {
			switch it := it.(type) {
			case draw.Part:
				out[it.Kind] = true
			case draw.Band:
				take(it.Items)
			}
		}
	}
	for _, p := range pages {
		take(p.Items)
	}
	return out
}

func titlesOf(m symbol.Medium, kind string) (out []string) {
	for _, id := range symbol.Forms(m) {
		if name, _, _ := strings.Cut(strings.TrimPrefix(id, string(m)+"/"), "="); name == kind {
			if s, ok := symbol.Get(id); ok {
				out = append(out, s.Title)
			}
		}
	}
	return out
}

// The key tells in words each colour code that stands along a run of the examples.
func TestKeyExplainsColours(t *testing.T) {
	words := map[string]string{}
	for w, c := range codes {
		words[c] = w
	}
	files, _ := filepath.Glob("../../examples/*.yaml")
	for _, path := range files {
		in := readBoat(t, path)
		pages, err := schematic.Key(in)
		if err != nil {
			t.Fatal(err)
		}
		key := ""
		for _, p := range pages {
			for _, x := range textsOf(p.Items) {
				key += x.S + " "
			}
		}
		circuits, err := schematic.DC(in)
		if err != nil {
			t.Fatal(err)
		}
		seen := map[string]bool{}
		for _, p := range circuits {
			for _, x := range textsOf(p.Items) {
				for _, f := range strings.Fields(x.S) {
					if x.Label && words[f] != "" {
						seen[f] = true
					}
				}
			}
		}
		if len(seen) == 0 {
			t.Errorf("%s: no colour stands along a run", path)
		}
		for c := range seen {
			base := strings.FieldsFunc(words[c], func(r rune) bool { return strings.ContainsRune(" -/", r) })[0]
			if !strings.Contains(squeeze(key), c+base) {
				t.Errorf("%s: the key does not tell what %s is", path, c)
			}
		}
	}
}
