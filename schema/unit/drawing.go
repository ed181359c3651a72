package unit

import (
	"math"
	"strconv"
)

// The functions below print a figure as drawings, lists and findings show it:
// digits and direction of rounding follow the quantity's role, so that a printed
// figure never looks safer than the computed one.

// LoadText prints a load current, rounded up: one decimal below 10 A, none from
// there.
func (a Amp) LoadText() string { return a.text(Up) }

// AmpacityText prints what a conductor may carry, rounded down to whole amperes;
// below 10 A to one decimal.
func (a Amp) AmpacityText() string {
	if math.Abs(float64(a)) < 10 {
		return fixed(float64(a), 1, Down) + " A"
	}
	return fixed(float64(a), 0, Down) + " A"
}

func (a Amp) text(dir Direction) string {
	if r := Round(float64(a), 1, dir); math.Abs(r) < 10 {
		return trimmed(r, 1) + " A"
	}
	return fixed(float64(a), 0, dir) + " A"
}

// FaultText prints a prospective current: whole amperes below 1 kA, one decimal
// of kA from there. Round up against an interrupt rating, down for clearing.
func (a Amp) FaultText(dir Direction) string {
	if r := Round(float64(a), 0, dir); math.Abs(r) < 1000 {
		return fixed(r, 0, Nearest) + " A"
	}
	return fixed(float64(a)/1000, 1, dir) + " kA"
}

// RatingText prints a device rating as it is marked: 7.5 A, 150 A.
func (a Amp) RatingText() string { return figure(float64(a), 5) + " A" }

// DropText prints a voltage drop, rounded up to hundredths.
func (v Volt) DropText() string { return fixed(float64(v), 2, Up) + " V" }

// DropText prints a relative drop, rounded up to tenths of a percent.
func (r Ratio) DropText() string { return fixed(float64(r)*100, 1, Up) + " %" }

// RunText prints the resistance of a run in milliohms to three digits, rounded
// up for drop, down for fault current.
func (o Ohm) RunText(dir Direction) string { return figureDir(float64(o)*1e3, 3, dir) + " mΩ" }

// LoadText prints a power, rounded up: whole watts, or hundredths of a kW.
func (w Watt) LoadText() string {
	if r := Round(float64(w), 0, Up); math.Abs(r) < 1000 {
		return fixed(r, 0, Nearest) + " W"
	}
	return fixed(float64(w)/1e3, 2, Up) + " kW"
}

// CapacityText prints a capacity in whole ampere-hours, rounded down.
func (q AmpHour) CapacityText() string { return fixed(float64(q), 0, Down) + " Ah" }

// CapacityText prints an energy, rounded down: whole Wh, or tenths of a kWh.
func (e WattHour) CapacityText() string {
	if r := Round(float64(e), 0, Down); math.Abs(r) < 1000 {
		return fixed(r, 0, Nearest) + " Wh"
	}
	return fixed(float64(e)/1e3, 1, Down) + " kWh"
}

// RunText prints the length of a run in both systems, rounded up to tenths of a
// metre; below a metre to whole millimetres. The caller says one way or round
// trip.
func (l Metre) RunText() string {
	if math.Abs(float64(l)) < 1 {
		return l.DistanceText(false)
	}
	return trimmed(Round(float64(l), 1, Up), 1) + " m (" + trimmed(Round(float64(l)/foot, 1, Up), 1) + " ft)"
}

// DistanceText prints a distance along a conductor, rounded up to whole
// millimetres, inches in tenths beside it; inchesFirst where the rule is in
// inches.
func (l Metre) DistanceText(inchesFirst bool) string {
	mm := fixed(float64(l)*1e3, 0, Up) + " mm"
	in := trimmed(Round(float64(l)/inch, 1, Up), 1) + " in"
	if inchesFirst {
		return in + " (" + mm + ")"
	}
	return mm + " (" + in + ")"
}

// LevelText prints a height against the waterline in whole millimetres with its
// sign: +120 mm, −35 mm. Round toward the unsafe side.
func (l Metre) LevelText(dir Direction) string {
	mm := Round(float64(l)*1e3, 0, dir)
	sign := "+"
	switch {
	case mm < 0:
		sign = "−"
	case mm == 0:
		sign = ""
	}
	return sign + strconv.FormatFloat(math.Abs(mm), 'f', 0, 64) + " mm"
}

// Text prints a flow to two significant digits (three from 100 L/min up, whole
// litres) in a direction; capacity goes down.
func (q LitrePerMin) Text(dir Direction) string {
	return flowFigure(float64(q), dir) + " L/min (" + flowFigure(float64(q)/(usGallon*1e3), dir) + " gpm)"
}

func flowFigure(x float64, dir Direction) string {
	if math.Abs(x) >= 100 {
		return fixed(x, 0, dir)
	}
	return figureDir(x, 2, dir)
}

// Text prints a head, rounded up to tenths of a metre; below 1 m to hundredths.
func (h Head) Text() string {
	decimals := 1
	if math.Abs(float64(h)) < 1 {
		decimals = 2
	}
	return trimmed(Round(float64(h), decimals, Up), decimals) + " m head (" +
		trimmed(Round(float64(h)/foot, 1, Up), 1) + " ft)"
}

// Text prints a temperature in whole degrees, rounded up for derating.
func (t Celsius) Text() string {
	return fixed(float64(t), 0, Up) + " °C (" + fixed(float64(t)*9/5+32, 0, Up) + " °F)"
}

// trimmed prints x to at most a number of decimals.
func trimmed(x float64, decimals int) string {
	return strconv.FormatFloat(Round(x, decimals, Nearest), 'f', -1, 64)
}
