package draw

import (
	"strings"
	"sync"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// The face of the sheets is Go Regular and Go Bold (Bigelow & Holmes, BSD
// licence), drawn to the legibility standard DIN 1450: 0 and O, 1, l and I, 5
// and S differ.
//
// capRatio is the cap height as a share of the letter size used to set sizes.
// Go's own is 1480/2048 = 0.723; the usual sans faces that step in where the
// embedded one is not read have 0.716 (from memory). The smaller one is taken,
// so that capitals come out no smaller than asked in either.
const (
	capRatio = 0.716
	descent  = 0.212 // depth of the descenders as a share of the letter size
)

// Weight is the weight of the letters.
type Weight uint8

// Weights.
const (
	Regular Weight = iota
	Bold
)

// FontData is the whole font file of a weight; it must not be written to.
func FontData(w Weight) []byte {
	if w == Bold {
		return gobold.TTF
	}
	return goregular.TTF
}

// FontFamily is the name under which files embed the face.
const FontFamily = "Fitout Sans"

// face holds the advances of one weight; immutable once loaded.
type face struct {
	font  *sfnt.Font
	em    float64
	latin [256]float64 // advances in em, the common case
}

var faces = [2]func() *face{
	Regular: sync.OnceValue(func() *face { return newFace(goregular.TTF) }),
	Bold:    sync.OnceValue(func() *face { return newFace(gobold.TTF) }),
}

func newFace(data []byte) *face {
	f, err := sfnt.Parse(data)
	if err != nil {
		panic("render/draw: embedded font: " + err.Error()) // held off by the tests
	}
	fc := &face{font: f, em: float64(f.UnitsPerEm())}
	var b sfnt.Buffer
	for r := range fc.latin {
		fc.latin[r] = fc.lookup(&b, rune(r))
	}
	return fc
}

// missing is the advance taken for a letter that the face does not have: a full
// em for the wide scripts, the width of an average capital otherwise.
func missing(r rune) float64 {
	if r >= 0x1100 {
		return 1
	}
	return 0.667
}

func (f *face) lookup(b *sfnt.Buffer, r rune) float64 {
	if r < 0x20 || r >= 0x300 && r < 0x370 {
		return 0 // control codes are not drawn, combining marks take no room
	}
	g, err := f.font.GlyphIndex(b, r)
	if err != nil || g == 0 {
		return missing(r)
	}
	// at one em of the font's own units the advance is the design width
	a, err := f.font.GlyphAdvance(b, g, fixed.I(int(f.em)), 0)
	if err != nil {
		return missing(r)
	}
	return float64(a) / 64 / f.em
}

// advance is the width of s in em.
func (f *face) advance(s string) float64 {
	w := 0.0
	var b *sfnt.Buffer
	for _, r := range s {
		if r < 256 {
			w += f.latin[r]
			continue
		}
		if b == nil {
			b = new(sfnt.Buffer)
		}
		w += f.lookup(b, r)
	}
	return w
}

// HasGlyph reports whether the embedded face can draw r.
func HasGlyph(w Weight, r rune) bool {
	g, err := faces[w]().font.GlyphIndex(new(sfnt.Buffer), r)
	return err == nil && g != 0
}

// Width is the length of the line of text on paper.
func (t Text) Width() MM { return t.Letters.Width(t.S) }

// Width is the length of s on paper in these letters.
func (l Letters) Width(s string) MM {
	spec := letterTable[l]
	return MM(float64(spec.size()) * faces[spec.weight]().advance(clean(s)))
}

// clean is the text as it is drawn: control characters, which no back end
// draws, become blanks.
func clean(s string) string {
	if strings.IndexFunc(s, isControl) < 0 {
		return s
	}
	return strings.Map(func(r rune) rune {
		if isControl(r) {
			return ' '
		}
		return r
	}, s)
}

// isControl also holds what would break an XML file or turn text round.
func isControl(r rune) bool {
	return r < 0x20 || r >= 0x7f && r < 0xa0 || r == 0xfffe || r == 0xffff || r == 0xfffd ||
		r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069
}

// Clean is the text as back ends must draw it.
func (t Text) Clean() string { return clean(t.S) }

func hasDescender(s string) bool {
	return strings.ContainsAny(s, "gjpqy,;()[]{}|_/\\@Q$µμ")
}

// Wrap breaks s into lines no wider than width, at blanks where it can and
// within a word where it must. Line breaks in s stay. There is always one line.
func (l Letters) Wrap(s string, width MM) []string {
	var out []string
	for _, para := range strings.Split(s, "\n") {
		out = append(out, l.wrapLine(clean(para), width)...)
	}
	return out
}

func (l Letters) wrapLine(s string, width MM) []string {
	var out []string
	line := ""
	for _, word := range strings.Fields(s) {
		for l.Width(word) > width {
			if line != "" {
				out, line = append(out, line), ""
			}
			head, rest := l.cut(word, width)
			out, word = append(out, head), rest
		}
		switch {
		case word == "":
		case line == "":
			line = word
		case l.Width(line+" "+word) <= width:
			line += " " + word
		default:
			out, line = append(out, line), word
		}
	}
	if line != "" || len(out) == 0 {
		out = append(out, line)
	}
	return out
}

// cut splits a word at the last letter that fits, after a hyphen, slash or dot
// if there is one; at least one letter goes into the head.
func (l Letters) cut(word string, width MM) (head, rest string) {
	runes := []rune(word)
	n, breakable := 1, 0
	for n < len(runes) && l.Width(string(runes[:n+1])) <= width {
		n++
		if strings.ContainsRune("-/.,_", runes[n-1]) {
			breakable = n
		}
	}
	if breakable > 0 {
		n = breakable
	}
	return string(runes[:n]), string(runes[n:])
}

// Fit shortens s with an ellipsis until it is no wider than width.
func (l Letters) Fit(s string, width MM) string {
	s = clean(s)
	if l.Width(s) <= width {
		return s
	}
	runes := []rune(s)
	for len(runes) > 0 && l.Width(string(runes)+"…") > width {
		runes = runes[:len(runes)-1]
	}
	return strings.TrimRight(string(runes), " ") + "…"
}
