package pdf

import (
	"bytes"
	"hash/fnv"
	"slices"

	"fitout/render/draw"

	"codeberg.org/go-pdf/fpdf"
)

// The library names an embedded face "utf8" and its family. A face that holds a
// subset must be named by six capitals, a plus sign and its own name (ISO
// 32000-1, 9.6.4). The families below are as long as the right names, so that
// the names can be exchanged in the finished file without moving a byte.
var families = [2]struct{ family, name string }{
	draw.Regular: {"fitoutregular", "+Go-Regular"},
	draw.Bold:    {"fitoutbold", "+Go-Bold"},
}

const libraryPrefix = "utf8"

func addFonts(f *fpdf.Fpdf) {
	for w, fam := range families {
		f.AddUTF8FontFromBytes(fam.family, "", draw.FontData(draw.Weight(w)))
	}
}

// nameSubsets puts the right names into the file.
func nameSubsets(file []byte, used [2]map[rune]bool) []byte {
	for w, fam := range families {
		file = bytes.ReplaceAll(file, []byte("/"+libraryPrefix+fam.family), []byte("/"+tag(used[w])+fam.name))
	}
	return file
}

// tag is six capitals that tell one subset from another.
func tag(used map[rune]bool) string {
	runes := make([]rune, 0, len(used))
	for r := range used {
		runes = append(runes, r)
	}
	slices.Sort(runes)
	h := fnv.New64a()
	h.Write([]byte(string(runes)))
	sum, out := h.Sum64(), make([]byte, 6)
	for i := range out {
		out[i] = 'A' + byte(sum%26)
		sum /= 26
	}
	return string(out)
}
