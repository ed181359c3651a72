package svg

import (
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
)

// subset cuts a TrueType font down to the glyphs that the given runes need, as
// the OpenType specification (1.9) lays out its tables: glyf, loca, hmtx, cmap
// (format 4), with the rest copied or shortened. Instructions are left out: on
// paper and on today's screens they do nothing, and they are half of the file.
func subset(data []byte, runes []rune) ([]byte, error) {
	f, err := readFont(data)
	if err != nil {
		return nil, err
	}
	glyphs := []int{0} // .notdef stays first
	index := map[rune]int{}
	for _, r := range runes {
		if g := f.glyph(r); g > 0 && r < 0xffff {
			index[r] = g
			glyphs = append(glyphs, g)
		}
	}
	glyphs, err = f.closure(glyphs)
	if err != nil {
		return nil, err
	}
	number := make(map[int]int, len(glyphs)) // old to new
	for i, g := range glyphs {
		number[g] = i
	}
	glyf, loca, hmtx, err := f.outlines(glyphs, number)
	if err != nil {
		return nil, err
	}
	for r, g := range index {
		index[r] = number[g]
	}
	head := slices.Clone(f.tables["head"])
	binary.BigEndian.PutUint32(head[8:], 0)  // checksum, set below
	binary.BigEndian.PutUint16(head[50:], 1) // long offsets in loca
	hhea := slices.Clone(f.tables["hhea"])
	binary.BigEndian.PutUint16(hhea[34:], uint16(len(glyphs)))
	maxp := slices.Clone(f.tables["maxp"])
	binary.BigEndian.PutUint16(maxp[4:], uint16(len(glyphs)))
	post := slices.Clone(f.tables["post"][:32])
	binary.BigEndian.PutUint32(post, 0x00030000) // no glyph names
	return assemble([]table{
		{"OS/2", f.tables["OS/2"]}, {"cmap", cmap4(index)}, {"glyf", glyf}, {"head", head}, {"hhea", hhea},
		{"hmtx", hmtx}, {"loca", loca}, {"maxp", maxp}, {"name", names(f.tables["name"])}, {"post", post},
	}), nil
}

type table struct {
	tag  string
	data []byte
}

// font is a TrueType file taken apart.
type font struct {
	tables   map[string][]byte
	glyphs   int
	hmetrics int
	long     bool // loca holds 32-bit offsets
}

var errShort = errors.New("font: a table is shorter than it says")

func readFont(data []byte) (*font, error) {
	if len(data) < 12 {
		return nil, errShort
	}
	f := &font{tables: map[string][]byte{}}
	for i := range int(binary.BigEndian.Uint16(data[4:])) {
		o := 12 + 16*i
		if o+16 > len(data) {
			return nil, errShort
		}
		start, n := int(binary.BigEndian.Uint32(data[o+8:])), int(binary.BigEndian.Uint32(data[o+12:]))
		if start > len(data) || n > len(data)-start {
			return nil, errShort
		}
		f.tables[string(data[o:o+4])] = data[start : start+n]
	}
	for tag, least := range map[string]int{"OS/2": 68, "cmap": 4, "glyf": 0, "head": 54, "hhea": 36, "hmtx": 4, "loca": 4, "maxp": 6, "name": 6, "post": 32} {
		if len(f.tables[tag]) < least {
			return nil, fmt.Errorf("font: table %s is missing or short", tag)
		}
	}
	f.long = binary.BigEndian.Uint16(f.tables["head"][50:]) == 1
	f.glyphs = int(binary.BigEndian.Uint16(f.tables["maxp"][4:]))
	f.hmetrics = int(binary.BigEndian.Uint16(f.tables["hhea"][34:]))
	if f.hmetrics < 1 || len(f.tables["hmtx"]) < 4*f.hmetrics {
		return nil, errShort
	}
	return f, nil
}

// glyph looks a rune up in the format 4 subtable of cmap; 0 if it is not there.
func (f *font) glyph(r rune) int {
	c := f.tables["cmap"]
	for i := range int(binary.BigEndian.Uint16(c[2:])) {
		if 4+8*i+8 > len(c) {
			return 0
		}
		o := int(binary.BigEndian.Uint32(c[4+8*i+4:]))
		if o+16 > len(c) || binary.BigEndian.Uint16(c[o:]) != 4 {
			continue
		}
		return lookup4(c[o:], r)
	}
	return 0
}

func lookup4(c []byte, r rune) int {
	u16 := func(o int) int {
		if o+2 > len(c) {
			return 0
		}
		return int(binary.BigEndian.Uint16(c[o:]))
	}
	n := u16(6) / 2
	for k := range n {
		end, start := u16(14+2*k), u16(16+2*n+2*k)
		if int(r) > end || int(r) < start {
			continue
		}
		delta, ro := u16(16+4*n+2*k), u16(16+6*n+2*k)
		if ro == 0 {
			return (int(r) + delta) & 0xffff
		}
		if g := u16(16 + 6*n + 2*k + ro + 2*(int(r)-start)); g != 0 {
			return (g + delta) & 0xffff
		}
		return 0
	}
	return 0
}

// outline is the glyph's entry in glyf; empty for a blank.
func (f *font) outline(g int) ([]byte, error) {
	loca, glyf := f.tables["loca"], f.tables["glyf"]
	at := func(i int) int {
		if f.long {
			if 4*i+4 > len(loca) {
				return -1
			}
			return int(binary.BigEndian.Uint32(loca[4*i:]))
		}
		if 2*i+2 > len(loca) {
			return -1
		}
		return 2 * int(binary.BigEndian.Uint16(loca[2*i:]))
	}
	a, b := at(g), at(g+1)
	if g < 0 || g >= f.glyphs || a < 0 || b < a || b > len(glyf) {
		return nil, errShort
	}
	return glyf[a:b], nil
}

// Flags of a composite glyph's component.
const (
	argsAreWords  = 1 << 0
	haveScale     = 1 << 3
	more          = 1 << 5
	haveTwoScales = 1 << 6
	have2x2       = 1 << 7
	haveCode      = 1 << 8
)

// components calls visit with the offset of each component's record in a
// composite glyph, and returns where the last record ends; simple glyphs have
// none and return 0.
func components(g []byte, visit func(at int)) (end int, err error) {
	if len(g) < 10 || int16(binary.BigEndian.Uint16(g)) >= 0 {
		return 0, nil
	}
	for o := 10; ; {
		if o+4 > len(g) {
			return 0, errShort
		}
		visit(o)
		flags := binary.BigEndian.Uint16(g[o:])
		o += 4 + 2
		if flags&argsAreWords != 0 {
			o += 2
		}
		switch {
		case flags&haveScale != 0:
			o += 2
		case flags&haveTwoScales != 0:
			o += 4
		case flags&have2x2 != 0:
			o += 8
		}
		if o > len(g) {
			return 0, errShort
		}
		if flags&more == 0 {
			return o, nil
		}
	}
}

// closure adds the components of composite glyphs and sorts.
func (f *font) closure(glyphs []int) ([]int, error) {
	seen := map[int]bool{}
	for queue := glyphs; len(queue) > 0; queue = queue[1:] {
		g := queue[0]
		if seen[g] {
			continue
		}
		seen[g] = true
		o, err := f.outline(g)
		if err != nil {
			return nil, err
		}
		if _, err := components(o, func(at int) {
			queue = append(queue, int(binary.BigEndian.Uint16(o[at+2:])))
		}); err != nil {
			return nil, err
		}
	}
	out := make([]int, 0, len(seen))
	for g := range seen {
		out = append(out, g)
	}
	slices.Sort(out)
	return out, nil
}

func (f *font) outlines(glyphs []int, number map[int]int) (glyf, loca, hmtx []byte, err error) {
	for _, g := range glyphs {
		loca = binary.BigEndian.AppendUint32(loca, uint32(len(glyf)))
		o, err := f.outline(g)
		if err != nil {
			return nil, nil, nil, err
		}
		if o, err = withoutCode(o, number); err != nil {
			return nil, nil, nil, err
		}
		glyf = append(glyf, o...)
		for len(glyf)%4 != 0 {
			glyf = append(glyf, 0)
		}
		m, lsb := f.metric(g)
		hmtx = binary.BigEndian.AppendUint16(hmtx, m)
		hmtx = binary.BigEndian.AppendUint16(hmtx, lsb)
	}
	return glyf, binary.BigEndian.AppendUint32(loca, uint32(len(glyf))), hmtx, nil
}

func (f *font) metric(g int) (advance, bearing uint16) {
	h := f.tables["hmtx"]
	advance = binary.BigEndian.Uint16(h[4*min(g, f.hmetrics-1):])
	o := 4*g + 2
	if g >= f.hmetrics {
		o = 4*f.hmetrics + 2*(g-f.hmetrics)
	}
	if o+2 <= len(h) {
		bearing = binary.BigEndian.Uint16(h[o:])
	}
	return advance, bearing
}

// withoutCode copies a glyph without its instructions, with its components
// renumbered.
func withoutCode(o []byte, number map[int]int) ([]byte, error) {
	if len(o) < 10 {
		return nil, nil
	}
	out := slices.Clone(o)
	end, err := components(out, func(at int) {
		flags := binary.BigEndian.Uint16(out[at:])
		binary.BigEndian.PutUint16(out[at:], flags&^haveCode)
		old := int(binary.BigEndian.Uint16(out[at+2:]))
		binary.BigEndian.PutUint16(out[at+2:], uint16(number[old]))
	})
	if err != nil {
		return nil, err
	}
	if end > 0 {
		return out[:end], nil
	}
	at := 10 + 2*int(binary.BigEndian.Uint16(o)) // past the ends of the contours
	if at+2 > len(o) {
		return nil, errShort
	}
	n := int(binary.BigEndian.Uint16(o[at:]))
	if at+2+n > len(o) {
		return nil, errShort
	}
	binary.BigEndian.PutUint16(out[at:], 0)
	return append(out[:at+2], o[at+2+n:]...), nil
}

// cmap4 writes a character map with one format 4 subtable, one segment a run of
// neighbours that map to neighbours.
func cmap4(index map[rune]int) []byte {
	runes := make([]rune, 0, len(index))
	for r := range index {
		runes = append(runes, r)
	}
	slices.Sort(runes)
	type segment struct{ start, end, delta int }
	var segs []segment
	for _, r := range runes {
		d := index[r] - int(r)
		if k := len(segs) - 1; k >= 0 && segs[k].end == int(r)-1 && segs[k].delta == d {
			segs[k].end = int(r)
			continue
		}
		segs = append(segs, segment{int(r), int(r), d})
	}
	segs = append(segs, segment{0xffff, 0xffff, 1})
	n, pow, log := len(segs), 1, 0
	for pow*2 <= n {
		pow, log = pow*2, log+1
	}
	var b []byte
	u16 := func(vs ...int) {
		for _, v := range vs {
			b = binary.BigEndian.AppendUint16(b, uint16(v))
		}
	}
	u16(0, 1, 3, 1, 0, 12) // version, one subtable: Windows, Unicode BMP, at 12
	u16(4, 16+8*n, 0, 2*n, 2*pow, log, 2*n-2*pow)
	for _, s := range segs {
		u16(s.end)
	}
	u16(0)
	for _, s := range segs {
		u16(s.start)
	}
	for _, s := range segs {
		u16(s.delta)
	}
	for range segs {
		u16(0)
	}
	return b
}

// assemble writes the font file with its checksums.
func assemble(tables []table) []byte {
	n, pow, log := len(tables), 1, 0
	for pow*2 <= n {
		pow, log = pow*2, log+1
	}
	out := binary.BigEndian.AppendUint32(nil, 0x00010000)
	for _, v := range []int{n, 16 * pow, log, 16*n - 16*pow} {
		out = binary.BigEndian.AppendUint16(out, uint16(v))
	}
	var body []byte
	head := 0
	for _, t := range tables {
		at := 12 + 16*n + len(body)
		if t.tag == "head" {
			head = at
		}
		out = append(out, t.tag...)
		out = binary.BigEndian.AppendUint32(out, checksum(t.data))
		out = binary.BigEndian.AppendUint32(out, uint32(at))
		out = binary.BigEndian.AppendUint32(out, uint32(len(t.data)))
		body = append(body, t.data...)
		for len(body)%4 != 0 {
			body = append(body, 0)
		}
	}
	out = append(out, body...)
	binary.BigEndian.PutUint32(out[head+8:], 0xB1B0AFBA-checksum(out))
	return out
}

func checksum(b []byte) uint32 {
	var sum uint32
	for i := 0; i < len(b); i += 4 {
		var w [4]byte
		copy(w[:], b[i:])
		sum += binary.BigEndian.Uint32(w[:])
	}
	return sum
}
