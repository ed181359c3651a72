package pdf

import (
	"slices"

	"fitout/render/draw"
)

// Lacking lists the letters of the sheets that the embedded face does not have, in
// order of their numbers: the PDF shows a question mark for each.
func Lacking(sheets []draw.Sheet) []rune {
	seen := map[rune]bool{}
	var out []rune
	for _, s := range sheets {
		for _, it := range s.Items {
			draw.EachText(it, func(t draw.Text) {
				for _, r := range t.Clean() {
					if !drawable(t.Letters.Weight(), r) && !seen[r] {
						seen[r] = true
						out = append(out, r)
					}
				}
			})
		}
	}
	slices.Sort(out)
	return out
}
