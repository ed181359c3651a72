package unit

import (
	"math"
	"strconv"
)

// nominalInches are the sizes hose, tails and pipe threads come in, in
// sixteenths of an inch.
var nominalInches = [...]int{2, 4, 6, 8, 10, 12, 16, 18, 20, 24, 28, 32, 40, 48, 56, 64, 80, 96}

// NominalInch returns the nominal inch size a bore is sold as, such as "3/4" for
// 19 mm, and whether there is one within half a millimetre or 3 %: hose of 25
// and 25.4 mm, 50 and 50.8 mm goes on the same tail. Common practice, no source.
func NominalInch(bore Metre) (string, bool) {
	best, gap := 0, math.Inf(1)
	for _, n := range nominalInches {
		if d := math.Abs(float64(bore) - float64(n)*inch/16); d < gap {
			best, gap = n, d
		}
	}
	if gap > math.Max(0.5e-3, 0.03*float64(bore)) {
		return "", false
	}
	return InchFraction(best), true
}

// InchFraction writes a number of sixteenths of an inch as the trade does:
// 1-1/2 for 24.
func InchFraction(sixteenths int) string {
	whole, part := sixteenths/16, sixteenths%16
	if part == 0 {
		return strconv.Itoa(whole)
	}
	den := 16
	for part%2 == 0 {
		part, den = part/2, den/2
	}
	s := strconv.Itoa(part) + "/" + strconv.Itoa(den)
	if whole > 0 {
		s = strconv.Itoa(whole) + "-" + s
	}
	return s
}

// BoreText prints a bore: 19 mm (3/4 in). A size that is no nominal one has no
// inches beside it.
func (l Metre) BoreText() string {
	s := trimmed(float64(l)*1e3, 1) + " mm"
	if in, ok := NominalInch(l); ok {
		s += " (" + in + " in)"
	}
	return s
}

// SameNominal reports whether two bores are sold as one size, so that hose and
// tail fit: both round to the same nominal inch size, or they differ by at most
// half a millimetre.
func SameNominal(a, b Metre) bool {
	if math.Abs(float64(a-b)) <= 0.5e-3+1e-9 {
		return true
	}
	x, okX := NominalInch(a)
	y, okY := NominalInch(b)
	return okX && okY && x == y
}

// ThreadName writes a pipe thread of a nominal size: 3/4 NPT, G 3/4, R 3/4. Form
// is the word of the file: npt, nps, bspt, bspp.
func ThreadName(nominal, form string) string {
	switch form {
	case "npt":
		return nominal + " NPT"
	case "nps":
		return nominal + " NPS"
	case "bspt":
		return "R " + nominal
	case "bspp":
		return "G " + nominal
	}
	return nominal + " in"
}
