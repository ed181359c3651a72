package svg

import (
	"slices"
	"testing"

	"fitout/render/draw"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Another reader of fonts must find in the subset the very outlines and widths
// of the whole file, and nothing for letters that were left out.
func TestSubsetKeepsOutlines(t *testing.T) {
	runes := []rune("AZaz09 éÄß²θΩ−×→½&<")
	for _, w := range []draw.Weight{draw.Regular, draw.Bold} {
		whole, err := sfnt.Parse(draw.FontData(w))
		if err != nil {
			t.Fatal(err)
		}
		data, err := subset(draw.FontData(w), append(runes, '海'))
		if err != nil {
			t.Fatal(err)
		}
		if len(data) > 9000 {
			t.Errorf("%d bytes for %d letters", len(data), len(runes))
		}
		part, err := sfnt.Parse(data)
		if err != nil {
			t.Fatalf("weight %d: the subset is no font: %v", w, err)
		}
		var b sfnt.Buffer
		em := fixed.I(int(whole.UnitsPerEm()))
		for _, r := range runes {
			g0, _ := whole.GlyphIndex(&b, r)
			g1, err := part.GlyphIndex(&b, r)
			if err != nil || g1 == 0 {
				t.Errorf("%q is not in the subset", r)
				continue
			}
			a0, _ := whole.GlyphAdvance(&b, g0, em, 0)
			a1, _ := part.GlyphAdvance(&b, g1, em, 0)
			if a0 != a1 {
				t.Errorf("%q: advance %v, was %v", r, a1, a0)
			}
			s0, err0 := whole.LoadGlyph(&b, g0, em, nil)
			o0 := slices.Clone(s0)
			s1, err1 := part.LoadGlyph(&b, g1, em, nil)
			if err0 != nil || err1 != nil || !slices.Equal(o0, s1) {
				t.Errorf("%q: outline differs: %v %v", r, err0, err1)
			}
		}
		for _, r := range "BQb" {
			if g, _ := part.GlyphIndex(&b, r); g != 0 {
				t.Errorf("%q was kept", r)
			}
		}
		if name, err := part.Name(&b, sfnt.NameIDCopyright); err != nil || name == "" {
			t.Errorf("the copyright notice is gone: %v", err)
		}
	}
}

// The checksum of a whole font file is B1B0AFBA by the OpenType specification.
func TestSubsetChecksum(t *testing.T) {
	data, err := subset(draw.FontData(draw.Regular), []rune("abc"))
	if err != nil {
		t.Fatal(err)
	}
	if sum := checksum(data); sum != 0xB1B0AFBA {
		t.Errorf("%08X", sum)
	}
}

// A broken font is an error, never a panic.
func FuzzSubset(f *testing.F) {
	small, _ := subset(draw.FontData(draw.Regular), []rune("aé"))
	f.Add(small)
	f.Fuzz(func(t *testing.T, data []byte) {
		_, _ = subset(data, []rune("aé"))
	})
}
