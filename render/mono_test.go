package render_test

import (
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"fitout/render"
	"fitout/render/draw"
)

var hexColour = regexp.MustCompile(`#[0-9A-Fa-f]{6}`)

// Nothing hangs on colour alone. A coloured sheet whose colours are struck out is,
// byte for byte, the sheet made for black ink: the same texts, widths and dashes.
// That those tell every class of line from its neighbours is held in render/draw.
func TestColourAddsNothingButColour(t *testing.T) {
	files, _ := filepath.Glob("../examples/*.yaml")
	for _, path := range files {
		example := strings.TrimSuffix(filepath.Base(path), ".yaml")
		coloured, black := sheetsOf(t, example, render.Options{}), sheetsOf(t, example, render.Options{Mono: true})
		if len(coloured) != len(black) || len(black) == 0 {
			t.Fatalf("%s: %d sheets in colour, %d in black", example, len(coloured), len(black))
		}
		hues := map[string]bool{}
		for i, s := range coloured {
			inked := svgFile(t, black[i], draw.InMono)
			for _, c := range hexColour.FindAllString(withoutFaces(inked), -1) {
				if c != "#000000" && c != "#FFFFFF" {
					t.Errorf("%s %s for black ink holds %s", example, s.ID, c)
				}
			}
			struck := hexColour.ReplaceAllStringFunc(withoutFaces(svgFile(t, s, draw.InColour)), func(c string) string {
				hues[c] = true
				if c == "#FFFFFF" {
					return c
				}
				return "#000000"
			})
			if struck != withoutFaces(inked) {
				t.Errorf("%s %s differs from the one for black ink by more than colour", example, s.ID)
			}
		}
		if len(hues) < 4 {
			t.Errorf("%s: only the colours %v are on its sheets", example, hues)
		}
	}
}

// withoutFaces leaves out the embedded letters, whose text is no colour.
func withoutFaces(file []byte) string {
	return regexp.MustCompile(`(?s)<style.*?</style>`).ReplaceAllString(string(file), "")
}
