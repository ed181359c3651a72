package unit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// System is the series a conductor size belongs to.
type System int

// The series of conductor sizes.
const (
	// Metric sizes are named by their copper area (IEC 60228).
	Metric System = iota
	// AWG sizes follow ASTM B258.
	AWG
	// SAE cable has less copper than AWG of the same number.
	SAE
)

func (s System) String() string {
	switch s {
	case AWG:
		return "AWG"
	case SAE:
		return "SAE"
	default:
		return "mm²"
	}
}

// Size is a conductor size as its reel names it. The zero Size is "not stated".
type Size struct {
	// Area is the copper cross-section.
	Area SquareMM
	// System says which series Gauge belongs to.
	System System
	// Gauge is the AWG or SAE number; 1/0 is 0, 2/0 is -1, 3/0 is -2, 4/0 is
	// -3. It is 0 and means nothing for a metric size.
	Gauge int
}

// Gauge limits: 4/0 is the thickest; thinner than 40 AWG is no wire of a boat.
const (
	thickest = -3
	thinnest = 40
)

// MetricSize returns the size named by its area.
func MetricSize(area SquareMM) Size { return Size{Area: area, System: Metric} }

// AWGSize returns an AWG size; ok is false outside 4/0 to 40. The diameter is
// 0.127 mm × 92^((36−n)/39) (ASTM B258).
func AWGSize(gauge int) (s Size, ok bool) {
	if gauge < thickest || gauge > thinnest {
		return Size{}, false
	}
	d := 0.127 * math.Pow(92, float64(36-gauge)/39)
	return Size{Area: SquareMM(math.Pi / 4 * d * d), System: AWG, Gauge: gauge}, true
}

// SAESize returns an SAE cable size (SAE J1127, J1128 as reprinted, minimum
// copper area in circular mils); ok is false for a number the table lacks.
func SAESize(gauge int) (s Size, ok bool) {
	var area float64
	switch gauge {
	case 18:
		area = 1537
	case 16:
		area = 2336
	case 14:
		area = 3702
	case 12:
		area = 5833
	case 10:
		area = 9343
	case 8:
		area = 14810
	case 6:
		area = 24538
	case 4:
		area = 37360
	case 2:
		area = 62450
	case 1:
		area = 77790
	case 0:
		area = 98980
	case -1:
		area = 125100
	case -2:
		area = 158600
	case -3:
		area = 205500
	default:
		return Size{}, false
	}
	return Size{Area: SquareMM(area * cmil), System: SAE, Gauge: gauge}, true
}

// GaugeName writes a gauge number as the trade does: 10, 1/0, 4/0.
func GaugeName(gauge int) string {
	if gauge <= 0 {
		return strconv.Itoa(1-gauge) + "/0"
	}
	return strconv.Itoa(gauge)
}

// Name is the size as it stands on the reel: 6 mm², 10 AWG, 12 SAE.
func (s Size) Name() string {
	if s.System == Metric {
		return figure(float64(s.Area), 4) + " mm²"
	}
	return GaugeName(s.Gauge) + " " + s.System.String()
}

// String is the size in both systems: 10 AWG (5.3 mm²), 6 mm² (between 10 and
// 8 AWG).
func (s Size) String() string {
	if s.System != Metric {
		return fmt.Sprintf("%s (%s mm²)", s.Name(), convertedArea(s.Area))
	}
	if aside := s.betweenGauges(); aside != "" {
		return s.Name() + " (" + aside + ")"
	}
	return s.Name()
}

// IsZero reports that no size is stated.
func (s Size) IsZero() bool { return s == Size{} }

// NextSmallerAWG returns the largest AWG size with no more copper than area,
// from 4/0 down to 40. ok is false below 40 AWG. An area within a thousandth of
// a gauge counts as that gauge: 53.5 mm² is 1/0 AWG as printed.
func NextSmallerAWG(area SquareMM) (s Size, ok bool) {
	for g := thickest; g <= thinnest; g++ {
		if s, _ := AWGSize(g); float64(s.Area) <= float64(area)*1.001 {
			return s, true
		}
	}
	return Size{}, false
}

func (s Size) betweenGauges() string {
	under, ok := NextSmallerAWG(s.Area)
	switch {
	case !ok:
		return ""
	case under.Gauge == thickest:
		if float64(s.Area) > float64(under.Area)*1.001 {
			return "over 4/0 AWG"
		}
		return "4/0 AWG"
	case math.Abs(float64(under.Area-s.Area)) <= 0.001*float64(s.Area):
		return GaugeName(under.Gauge) + " AWG"
	}
	// Boat wire comes in even gauges from 18 to 4, then in every gauge.
	low := under.Gauge
	high := low - 1
	if low > 4 {
		low += low % 2
		high = low - 2
	}
	return fmt.Sprintf("between %s and %s AWG", GaugeName(low), GaugeName(high))
}

// convertedArea prints an area that comes from a gauge: one decimal, and none
// from 100 mm² up; below 1 mm² two, so that two gauges never look alike.
func convertedArea(a SquareMM) string {
	switch v := float64(a); {
	case v >= 100:
		return strconv.FormatFloat(v, 'f', 0, 64)
	case v >= 0.45:
		return strconv.FormatFloat(v, 'f', 1, 64)
	default:
		return figure(v, 2)
	}
}

// ParseSize reads a conductor size: 35 mm2, 35 mm², 2 AWG, 1/0 AWG, 12 SAE.
func ParseSize(text string) (Size, error) {
	fail := func(reason string) (Size, error) {
		return Size{}, &Error{Text: text, Dimension: CrossSection, Reason: reason}
	}
	if len(text) > 200 {
		return fail("the text is too long")
	}
	main, aside, hasAside, ok := splitAside(tidyText(text))
	if !ok {
		return fail("a bracket does not close")
	}
	s, reason := parsePlainSize(main)
	if reason != "" {
		return fail(reason)
	}
	if hasAside && !s.agrees(aside) {
		return fail("what stands in brackets is not the same size in the other system")
	}
	return s, nil
}

// agrees reports whether a bracketed remark fits the size it follows.
func (s Size) agrees(aside string) bool {
	if aside == s.betweenGauges() {
		return true
	}
	other, reason := parsePlainSize(aside)
	return reason == "" && math.Abs(float64(other.Area-s.Area)) <= 0.05*float64(s.Area)+0.05
}

func parsePlainSize(s string) (Size, string) {
	if gauge, system, ok := cutGauge(s); ok {
		return gaugeSize(gauge, system)
	}
	area, reason := CrossSection.parsePlain(s)
	if reason == "" && area <= 0 {
		reason = "a conductor has more copper than none"
	}
	if reason != "" {
		return Size{}, reason
	}
	return MetricSize(SquareMM(area)), ""
}

// cutGauge parts "1/0 AWG" and "AWG 10" into number and series.
func cutGauge(s string) (gauge string, system System, ok bool) {
	upper := strings.ToUpper(s)
	for _, sys := range []System{AWG, SAE} {
		name := sys.String()
		if rest, ok := strings.CutSuffix(upper, name); ok {
			return strings.TrimSpace(rest), sys, true
		}
		if rest, ok := strings.CutPrefix(upper, name); ok {
			return strings.TrimSpace(rest), sys, true
		}
	}
	return "", Metric, false
}

func gaugeSize(text string, system System) (Size, string) {
	gauge, ok := readGauge(text)
	if !ok {
		return Size{}, fmt.Sprintf("%q is no gauge number; gauges run from 4/0 by 1/0 to 40", text)
	}
	if system == SAE {
		if s, ok := SAESize(gauge); ok {
			return s, ""
		}
		return Size{}, fmt.Sprintf("no area is known for %s SAE; the table has 18 to 4/0", GaugeName(gauge))
	}
	if s, ok := AWGSize(gauge); ok {
		return s, ""
	}
	return Size{}, fmt.Sprintf("%s AWG is outside 4/0 to 40", GaugeName(gauge))
}

// readGauge reads 10, 1/0, 0 and 0000.
func readGauge(s string) (int, bool) {
	s = strings.TrimPrefix(s, "#")
	if n, ok := strings.CutSuffix(s, "/0"); ok {
		if len(n) == 1 && n[0] >= '1' && n[0] <= '4' {
			return 1 - int(n[0]-'0'), true
		}
		return 0, false
	}
	if s == "" || digits(s) != s || len(s) > 4 {
		return 0, false
	}
	if strings.Trim(s, "0") == "" {
		return 1 - len(s), true
	}
	n, err := strconv.Atoi(s)
	return n, err == nil && s[0] != '0'
}
