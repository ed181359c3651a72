package pdf

import (
	"slices"
	"testing"

	"fitout/render/draw"
)

// The Go faces hold Latin, Greek and Cyrillic letters (their makers' word), no
// Chinese and no pictures.
func TestLackingLetters(t *testing.T) {
	s := draw.Sheet{ID: "x", W: 100, H: 100}
	s.Add(draw.Text{S: "Bänke Ω θ Лодка 225 A²", Letters: draw.Note},
		draw.Group{Strokes: []draw.Stroke{draw.Text{S: "海 B1 海", Letters: draw.Designation}}},
		draw.Part{Strokes: []draw.Stroke{draw.Text{S: "灯💡", Letters: draw.Note}}})
	if got, want := Lacking([]draw.Sheet{s}), []rune{'海', '灯', '💡'}; !slices.Equal(got, want) {
		t.Errorf("lacking %q, want %q", string(got), string(want))
	}
}
