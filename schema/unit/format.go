package unit

import (
	"math"
	"strconv"
	"strings"
)

// Direction says which way a printed figure may stray from the true one.
// Compare before rounding; round only to print.
type Direction int

// Rounding directions: loads, drops and distances go up, ampacity and capacity
// down.
const (
	Nearest Direction = iota
	Up                // away from −∞: toward the larger figure
	Down              // toward the smaller figure
)

// Round rounds x to a number of decimals in a direction. Noise of a few parts
// in 10¹² does not carry a figure to the next step.
func Round(x float64, decimals int, dir Direction) float64 {
	scale := math.Pow10(decimals)
	scaled := x * scale
	if math.IsInf(scaled, 0) || math.IsNaN(scaled) {
		return x
	}
	whole := math.Round(scaled)
	if math.Abs(scaled-whole) > 1e-9*math.Max(1, math.Abs(scaled)*1e-3) {
		switch dir {
		case Up:
			whole = math.Ceil(scaled)
		case Down:
			whole = math.Floor(scaled)
		}
	}
	return whole/scale + 0 // + 0 turns −0 into 0
}

// RoundSignificant rounds x to a number of significant digits in a direction.
func RoundSignificant(x float64, digits int, dir Direction) float64 {
	if x == 0 || math.IsInf(x, 0) || math.IsNaN(x) {
		return x
	}
	return Round(x, digits-1-magnitude(x), dir)
}

// magnitude is the power of ten of the first digit.
func magnitude(x float64) int { return int(math.Floor(math.Log10(math.Abs(x)) + 1e-12)) }

// figure prints x to a number of significant digits, without trailing zeros and
// without exponent.
func figure(x float64, digits int) string { return figureDir(x, digits, Nearest) }

func figureDir(x float64, digits int, dir Direction) string {
	r := RoundSignificant(x, digits, dir)
	if r == 0 {
		return "0"
	}
	s := strconv.FormatFloat(r, 'f', max(0, digits-1-magnitude(r)), 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// fixed prints x to a number of decimals, with trailing zeros.
func fixed(x float64, decimals int, dir Direction) string {
	return strconv.FormatFloat(Round(x, decimals, dir), 'f', decimals, 64)
}

// scale is one step of a unit's prefixes: figures from From up are printed with
// Symbol after dividing by By.
type scale struct {
	from, by float64
	symbol   string
}

// scaled prints x with the prefix that suits it; scales run from large to small
// and the last one takes what is left. The rounded figure chooses the prefix, so
// 999.99 mA is 1 A. Nothing is nothing of the plain unit.
func scaled(x float64, scales ...scale) string {
	const digits = 4
	for i, s := range scales {
		r := RoundSignificant(x/s.by, digits, Nearest)
		last := i == len(scales)-1
		if math.Abs(r*s.by) >= s.from*(1-1e-12) && (r != 0 || s.by == 1) || last {
			if r == 0 {
				return "0 " + plainSymbol(scales)
			}
			return figure(r, digits) + " " + s.symbol
		}
	}
	return ""
}

func plainSymbol(scales []scale) string {
	for _, s := range scales {
		if s.by == 1 {
			return s.symbol
		}
	}
	return scales[len(scales)-1].symbol
}

// The String methods print SI (or the trade's metric unit) to four significant
// digits, in a form the Parse functions read back.

func (v Volt) String() string {
	return scaled(float64(v), scale{1e3, 1e3, "kV"}, scale{0.1, 1, "V"}, scale{0, 1e-3, "mV"})
}

func (a Amp) String() string {
	return scaled(float64(a), scale{1e4, 1e3, "kA"}, scale{1, 1, "A"}, scale{0, 1e-3, "mA"})
}

func (o Ohm) String() string {
	return scaled(float64(o), scale{1e3, 1e3, "kΩ"}, scale{1, 1, "Ω"}, scale{1e-3, 1e-3, "mΩ"}, scale{0, 1e-6, "µΩ"})
}

func (w Watt) String() string {
	return scaled(float64(w), scale{1e3, 1e3, "kW"}, scale{0.1, 1, "W"}, scale{0, 1e-3, "mW"})
}

func (q AmpHour) String() string {
	return scaled(float64(q), scale{0.1, 1, "Ah"}, scale{0, 1e-3, "mAh"})
}

func (e WattHour) String() string {
	return scaled(float64(e), scale{1e3, 1e3, "kWh"}, scale{0, 1, "Wh"})
}

func (l Metre) String() string {
	return scaled(float64(l), scale{1, 1, "m"}, scale{0, 1e-3, "mm"})
}

func (s SquareMM) String() string    { return scaled(float64(s), scale{0, 1, "mm²"}) }
func (s SquareMetre) String() string { return scaled(float64(s), scale{0, 1, "m²"}) }

func (v CubicMetre) String() string {
	return scaled(float64(v), scale{10, 1, "m³"}, scale{0, 1e-3, "L"})
}

func (d Degree) String() string         { return figure(float64(d), 4) + "°" }
func (q LitrePerMin) String() string    { return scaled(float64(q), scale{0, 1, "L/min"}) }
func (h Head) String() string           { return scaled(float64(h), scale{0, 1, "m head"}) }
func (t Celsius) String() string        { return scaled(float64(t), scale{0, 1, "°C"}) }
func (n RPM) String() string            { return scaled(float64(n), scale{0, 1, "rpm"}) }
func (k Knot) String() string           { return scaled(float64(k), scale{0, 1, "kn"}) }
func (v MetrePerSecond) String() string { return scaled(float64(v), scale{0, 1, "m/s"}) }
func (t NewtonMetre) String() string    { return scaled(float64(t), scale{0, 1, "N·m"}) }

func (h Hour) String() string {
	return scaled(float64(h), scale{48, 24, "d"}, scale{1, 1, "h"},
		scale{1.0 / 60, 1.0 / 60, "min"}, scale{1.0 / 3600, 1.0 / 3600, "s"}, scale{0, 1e-3 / 3600, "ms"})
}

func (m Kilogram) String() string {
	return scaled(float64(m), scale{0.1, 1, "kg"}, scale{0, 1e-3, "g"})
}

// String prints a share in percent: 25 %. A ratio that is no share is printed
// by Factor.
func (r Ratio) String() string { return figure(float64(r)*100, 4) + " %" }

// Factor prints the ratio as a bare figure: 1.2.
func (r Ratio) Factor() string { return figure(float64(r), 4) }

// The Both methods print SI with the US customary unit in brackets, where the
// trade reads both.

// Both prints 4.2 m (13.8 ft), 178 mm (7.01 in).
func (l Metre) Both() string {
	if math.Abs(float64(l)) < 0.9 {
		return l.String() + " (" + l.In() + ")"
	}
	return l.String() + " (" + l.Ft() + ")"
}

// In prints the length in inches.
func (l Metre) In() string { return figure(float64(l)/inch, 3) + " in" }

// Ft prints the length in feet, to three digits.
func (l Metre) Ft() string { return figure(float64(l)/foot, 3) + " ft" }

// Both prints 11 L/min (2.91 gpm).
func (q LitrePerMin) Both() string {
	return q.String() + " (" + figure(float64(q)/(usGallon*1e3), 3) + " gpm)"
}

// Both prints 120 L (31.7 gal).
func (v CubicMetre) Both() string {
	return v.String() + " (" + figure(float64(v)/usGallon, 3) + " gal)"
}

// Both prints 2 m² (21.5 ft²).
func (s SquareMetre) Both() string {
	return s.String() + " (" + figure(float64(s)/(foot*foot), 3) + " ft²)"
}

// Both prints 2 m head (6.56 ft head).
func (h Head) Both() string {
	return h.String() + " (" + figure(float64(h)/foot, 3) + " ft head)"
}

// Both prints 50 °C (122 °F).
func (t Celsius) Both() string {
	return t.String() + " (" + figure(float64(t)*9/5+32, 4) + " °F)"
}

// Both prints 12 N·m (8.85 ft·lb).
func (t NewtonMetre) Both() string {
	return t.String() + " (" + figure(float64(t)/(foot*pound*gravity), 3) + " ft·lb)"
}

// Both prints 26 kg (57.3 lb).
func (m Kilogram) Both() string { return m.String() + " (" + figure(float64(m)/pound, 3) + " lb)" }

// Both prints 1.5 m/s (4.92 ft/s).
func (v MetrePerSecond) Both() string {
	return v.String() + " (" + figure(float64(v)/foot, 3) + " ft/s)"
}

// Both prints 25 mm² (between 4 and 3 AWG); a Size knows its own series.
func (s SquareMM) Both() string { return MetricSize(s).String() }
