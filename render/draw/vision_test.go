package draw

import (
	"fmt"
	"math"
	"testing"
)

// dichromats are how colours in linear RGB look to those who lack one kind of cone:
// Machado, Oliveira and Fernandes, "A physiologically-based model for simulation of
// color vision deficiency" (2009), severity 1.0; from memory, and alike in published
// copies. Each row adds up to 1, so that greys stay as they are.
var dichromats = []struct {
	name string
	m    [3][3]float64
}{
	{"protanope", [3][3]float64{{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}}},
	{"deuteranope", [3][3]float64{{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}}},
	{"tritanope", [3][3]float64{{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}}},
}

// seen is the relative luminance (WCAG 2) of a colour as a dichromat sees it.
func seen(t *testing.T, hex string, m [3][3]float64) float64 {
	t.Helper()
	var c [3]uint8
	if n, err := fmt.Sscanf(hex, "#%02x%02x%02x", &c[0], &c[1], &c[2]); n != 3 || err != nil {
		t.Fatalf("%q is no colour", hex)
	}
	weight := [3]float64{0.2126, 0.7152, 0.0722}
	l := 0.0
	for i, row := range m {
		v := 0.0
		for k, w := range row {
			v += w * linear(c[k])
		}
		l += weight[i] * math.Min(math.Max(v, 0), 1)
	}
	return l
}

// Whoever cannot tell some colours still has every line and every letter before
// the paper: 4.5 : 1 (WCAG 2 SC 1.4.3) as they see it. That no two lines differ by
// colour alone is TestMonoKeepsRunsApart.
func TestColourBlindReadersSeeEveryLine(t *testing.T) {
	for _, d := range dichromats {
		for _, row := range d.m {
			if s := row[0] + row[1] + row[2]; math.Abs(s-1) > 2e-6 {
				t.Errorf("%s: a row adds up to %f", d.name, s)
			}
		}
		paper := seen(t, InColour.PaperColour(), d.m)
		check := func(what, colour string) {
			if c := (paper + 0.05) / (seen(t, colour, d.m) + 0.05); c < 4.5 {
				t.Errorf("%s in %s stands %.2f : 1 before the paper for a %s", what, colour, c, d.name)
			}
		}
		for _, s := range Styles() {
			check(s.String(), InColour.Stroking(s).Colour)
		}
		for _, l := range AllLetters() {
			check(l.String(), l.Colour())
		}
	}
}
