package edit

import (
	"strings"

	"fitout/schema/unit"
)

// respell writes a quantity with the usual symbols of its units and one blank
// before each: 12v is 12 V, 14ft6in is 14 ft 6 in. The figures keep their
// spelling. ok is false where the text is no quantity of the dimension, or where
// it would not read back as the very same one.
func respell(d unit.Dimension, text string) (string, bool) {
	was, err := d.Parse(text)
	var size unit.Size
	if d == unit.CrossSection {
		size, err = unit.ParseSize(text)
	}
	if err != nil {
		return "", false
	}
	out := text
	if !strings.ContainsAny(text, "():") {
		out = strings.Join(respellTokens(d, text), " ")
	}
	if d == unit.CrossSection {
		again, err := unit.ParseSize(out)
		return out, err == nil && again == size
	}
	is, err := d.Parse(out)
	return out, err == nil && is == was
}

// respellTokens parts a quantity into figures and units, the units by their
// symbols.
func respellTokens(d unit.Dimension, text string) []string {
	var out []string
	rest := strings.TrimSpace(text)
	for rest != "" {
		n := figureLength(rest)
		if n > 0 {
			out = append(out, strings.TrimSpace(rest[:n]))
			rest = strings.TrimSpace(rest[n:])
		}
		m := strings.IndexAny(rest, "0123456789")
		for m >= 0 && m < len(rest) && m > 0 && !boundary(d, rest[m-1]) {
			// a figure inside a unit: mm2, m3/h
			next := strings.IndexAny(rest[m+1:], "0123456789")
			if next < 0 {
				m = -1
				break
			}
			m += 1 + next
		}
		if m < 0 {
			m = len(rest)
		}
		if m == 0 {
			if n == 0 {
				return []string{text}
			}
			continue
		}
		out = append(out, symbol(d, strings.TrimSpace(rest[:m])))
		rest = rest[m:]
	}
	return out
}

// boundary reports whether a figure after the byte begins a new quantity: 6 in
// 14 ft 6 in, and in 14ft6in, but not the 2 of mm2 or the 3 of m3/h.
func boundary(d unit.Dimension, c byte) bool {
	if d == unit.Length || d == unit.Duration {
		return strings.IndexByte(" t'hnd", c) >= 0
	}
	return c == ' '
}

// figureLength returns the length of the figure at the front of a text.
func figureLength(s string) int {
	i := 0
	for _, sign := range []string{"-", "+", "−"} {
		if strings.HasPrefix(s, sign) {
			i = len(sign)
		}
	}
	digits := func() bool {
		from := i
		for i < len(s) && s[i] >= '0' && s[i] <= '9' {
			i++
		}
		return i > from
	}
	if !digits() && !strings.HasPrefix(s[i:], ".") {
		return 0
	}
	if strings.HasPrefix(s[i:], ".") {
		i++
		digits()
	}
	if i+1 < len(s) && (s[i] == '-' || s[i] == ' ') && isFraction(s[i+1:]) || i < len(s) && s[i] == '/' {
		i++
		digits()
		if i < len(s) && s[i] == '/' {
			i++
			digits()
		}
	}
	return i
}

func isFraction(s string) bool {
	i := 0
	for i < len(s) && s[i] >= '0' && s[i] <= '9' {
		i++
	}
	return i > 0 && i+1 < len(s) && s[i] == '/' && s[i+1] >= '0' && s[i+1] <= '9'
}

// symbol returns the usual symbol of a unit, or the text where there is none.
// Raised figures stay as they are written.
func symbol(d unit.Dimension, text string) string {
	plain := strings.NewReplacer("²", "2", "³", "3").Replace(text)
	for _, exact := range []bool{true, false} {
		for _, u := range d.Units() {
			for _, s := range append([]string{u.Symbol}, u.Spellings...) {
				if s != plain && (exact || u.CaseCounts || !strings.EqualFold(s, plain)) {
					continue
				}
				if u.Symbol == plain {
					return text
				}
				return u.Symbol
			}
		}
	}
	return text
}
