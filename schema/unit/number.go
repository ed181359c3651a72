package unit

import (
	"math"
	"strconv"
	"strings"
	"unicode"
)

// tidyText replaces the look-alikes found in typed and pasted text with the one
// character the parser knows, and every run of blanks with one space.
func tidyText(text string) string {
	var b strings.Builder
	for _, r := range text {
		switch s, ok := lookAlike(r); {
		case ok:
			b.WriteString(s)
		case unicode.IsSpace(r):
			b.WriteByte(' ')
		default:
			b.WriteRune(r)
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

func lookAlike(r rune) (string, bool) {
	switch r {
	case '\u2212', '\u2010', '\u2011', '\u2012', '\u2013': // minus, hyphens, figure and en dash
		return "-", true
	case '²':
		return "2", true
	case '³':
		return "3", true
	case '\u2126': // ohm sign
		return "Ω", true
	case '\u03bc': // Greek mu
		return "µ", true
	case 'º', '˚': // ordinal, ring above
		return "°", true
	case '′', '’':
		return "'", true
	case '″', '”':
		return `"`, true
	case '⋅', '∙', '*', '•':
		return "·", true
	case '⁄', '∕':
		return "/", true
	case '^':
		return "", true
	case '½':
		return " 1/2", true
	case '¼':
		return " 1/4", true
	case '¾':
		return " 3/4", true
	case '⅛':
		return " 1/8", true
	case '⅜':
		return " 3/8", true
	case '⅝':
		return " 5/8", true
	case '⅞':
		return " 7/8", true
	}
	return "", false
}

// longestNumber is the most characters a figure may have; nothing measured
// aboard needs more, and it keeps hostile input cheap.
const longestNumber = 40

// scanNumber reads a figure from the front of text (already tidy): an optional
// sign, then a decimal (4.2, .5, 1e3), a fraction (3/4) or a whole number with a
// fraction (1-1/2, 1 1/2). It returns what follows. reason is not empty if the
// front of the text is no figure, and says why.
func scanNumber(text string) (value float64, rest, reason string) {
	s, sign := text, 1.0
	if s != "" && (s[0] == '-' || s[0] == '+') {
		if s[0] == '-' {
			sign = -1
		}
		s = strings.TrimPrefix(s[1:], " ")
	}
	whole := digits(s)
	if len(whole) > longestNumber {
		return 0, "", "the figure has too many digits"
	}
	if reason := wrongStart(s, whole); reason != "" {
		return 0, "", reason
	}
	if v, rest, reason, ok := scanFraction(s, whole); ok {
		return sign * v, rest, reason
	}
	v, rest, reason := scanDecimal(s, whole)
	return sign * v, rest, reason
}

// wrongStart names the ways a figure is often miswritten.
func wrongStart(s, whole string) string {
	after := s[len(whole):]
	switch {
	case whole == "" && !(len(s) > 1 && s[0] == '.' && isDigit(s[1])):
		lower := strings.ToLower(s)
		if strings.HasPrefix(lower, "nan") || strings.HasPrefix(lower, "inf") || strings.HasPrefix(lower, ".nan") || strings.HasPrefix(lower, ".inf") {
			return "it is not a finite figure"
		}
		return "it does not begin with a figure"
	case whole == "0" && len(after) > 1 && (after[0] == 'x' || after[0] == 'X') && isHex(after[1]):
		return "a hexadecimal figure is not read; write it in decimal"
	case strings.HasPrefix(after, ",") && len(after) > 1 && isDigit(after[1]):
		return "a comma is read neither as decimal mark nor as thousands separator; write a point (0.5) or nothing (1200)"
	case strings.HasPrefix(after, "_"):
		return "a figure has no underscores"
	}
	return ""
}

// scanFraction reads 3/4, 1-1/2 and 1 1/2; ok is false if s holds no fraction.
func scanFraction(s, whole string) (v float64, rest, reason string, ok bool) {
	if whole == "" {
		return 0, "", "", false
	}
	after := s[len(whole):]
	if num, den, rest, found := slashed(s); found {
		v, reason := divide(num, den)
		return v, rest, reason, true
	}
	if after != "" && (after[0] == '-' || after[0] == ' ') {
		if num, den, rest, found := slashed(after[1:]); found {
			v, reason := divide(num, den)
			if reason == "" && v >= 1 {
				reason = "the fraction after the whole number is not less than one"
			}
			return atof(whole) + v, rest, reason, true
		}
	}
	return 0, "", "", false
}

// slashed reads "3/4" from the front of s.
func slashed(s string) (num, den, rest string, ok bool) {
	num = digits(s)
	if num == "" || len(s) == len(num) || s[len(num)] != '/' {
		return "", "", "", false
	}
	den = digits(s[len(num)+1:])
	if den == "" || len(num)+len(den) > longestNumber {
		return "", "", "", false
	}
	return num, den, s[len(num)+1+len(den):], true
}

func divide(num, den string) (float64, string) {
	d := atof(den)
	if d == 0 {
		return 0, "the fraction has a zero below the line"
	}
	return atof(num) / d, ""
}

func scanDecimal(s, whole string) (v float64, rest, reason string) {
	end := len(whole)
	if end < len(s) && s[end] == '.' {
		end += 1 + len(digits(s[end+1:]))
	}
	if rest := s[end:]; strings.HasPrefix(rest, ".") || (strings.HasPrefix(rest, ",") && len(rest) > 1 && isDigit(rest[1])) {
		return 0, "", "the figure has two decimal marks"
	}
	if n := exponent(s[end:]); n > 0 {
		end += n
	}
	if end > longestNumber {
		return 0, "", "the figure has too many digits"
	}
	v, err := strconv.ParseFloat(s[:end], 64)
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
		return 0, "", "the figure is beyond anything aboard"
	}
	return v, s[end:], ""
}

// exponent returns the length of an e+3 at the front of s, or 0.
func exponent(s string) int {
	if s == "" || (s[0] != 'e' && s[0] != 'E') {
		return 0
	}
	n := 1
	if n < len(s) && (s[n] == '+' || s[n] == '-') {
		n++
	}
	d := len(digits(s[n:]))
	if d == 0 {
		return 0
	}
	return n + d
}

func digits(s string) string {
	n := 0
	for n < len(s) && isDigit(s[n]) {
		n++
	}
	return s[:n]
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func isHex(c byte) bool {
	return isDigit(c) || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F')
}

// atof reads digits only, at most longestNumber of them, so it cannot fail.
func atof(s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return math.MaxFloat64
	}
	return v
}
