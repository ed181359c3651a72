package tables

import (
	"fmt"
	"math"

	"fitout/schema/unit"
)

// Properties of water. The solvers have types of their own for them.
type (
	// KgPerCubicMetre is a density.
	KgPerCubicMetre float64
	// PascalSecond is a dynamic viscosity.
	PascalSecond float64
	// SquareMetrePerSecond is a kinematic viscosity.
	SquareMetrePerSecond float64
	// JoulePerKgKelvin is a specific heat.
	JoulePerKgKelvin float64
	// Pascal is an absolute pressure.
	Pascal float64
	// GramPerKg is a salinity.
	GramPerKg float64
)

// Water is what the hydraulics need to know about the water at its temperature.
type Water struct {
	Salinity  GramPerKg
	Density   KgPerCubicMetre
	Dynamic   PascalSecond
	Kinematic SquareMetrePerSecond
	Heat      JoulePerKgKelvin
	Vapour    Pascal
	Freezing  unit.Celsius
	Cite      Cite
}

// Salinities by the file's word for the water.
const (
	SeaSalinity GramPerKg = 35
	// BrackishSalinity is half sea water; brackish is anything from 0.5 to 30.
	BrackishSalinity GramPerKg = 17.5
)

// WaterOf returns the properties of sea, fresh or brackish water between −2 and
// 60 °C (fresh from 0 °C).
func WaterOf(word string, at unit.Celsius) (Water, error) {
	var s GramPerKg
	switch word {
	case "sea", "":
		s = SeaSalinity
	case "brackish":
		s = BrackishSalinity
	case "fresh":
	default:
		return Water{}, fmt.Errorf("no properties are known for water of the kind %q", word)
	}
	return WaterAt(s, at)
}

// WaterAt returns the properties of water of a salinity up to 42 g/kg. Density
// and freezing point follow UNESCO 44 (EOS-80), specific heat UNESCO 44 (Millero),
// viscosity Sharqawy, Lienhard and Zubair 2010, vapour pressure Hyland and Wexler
// with Sharqawy's salinity term. All for the surface.
func WaterAt(s GramPerKg, at unit.Celsius) (Water, error) {
	t, sal := float64(at), float64(s)
	if sal < 0 || sal > 42 {
		return Water{}, fmt.Errorf("no properties are known for a salinity of %g g/kg", sal)
	}
	if t < -2 || t > 60 {
		return Water{}, fmt.Errorf("no properties of water are known at %v", at)
	}
	rho, mu := density(sal, t), viscosity(sal/1000, t)
	return Water{
		Salinity: s, Density: KgPerCubicMetre(rho), Dynamic: PascalSecond(mu), Kinematic: SquareMetrePerSecond(mu / rho),
		Heat: JoulePerKgKelvin(specificHeat(sal, t)), Vapour: Pascal(vapourPressure(sal, t)), Freezing: unit.Celsius(freezing(sal)),
		Cite: Cite{"UNESCO 44; Sharqawy, Lienhard and Zubair 2010", Published},
	}, nil
}

// polynomial evaluates c[0] + c[1] t + c[2] t² …
func polynomial(t float64, c ...float64) float64 {
	v := 0.0
	for i := len(c) - 1; i >= 0; i-- {
		v = v*t + c[i]
	}
	return v
}

// density is the one-atmosphere equation of state, s in g/kg.
func density(s, t float64) float64 {
	pure := polynomial(t, 999.842594, 6.793952e-2, -9.095290e-3, 1.001685e-4, -1.120083e-6, 6.536332e-9)
	a := polynomial(t, 8.24493e-1, -4.0899e-3, 7.6438e-5, -8.2467e-7, 5.3875e-9)
	b := polynomial(t, -5.72466e-3, 1.0227e-4, -1.6546e-6)
	return pure + a*s + b*s*math.Sqrt(s) + 4.8314e-4*s*s
}

// specificHeat is in J/(kg K), s in g/kg.
func specificHeat(s, t float64) float64 {
	pure := polynomial(t, 4217.4, -3.720283, 0.1412855, -2.654387e-3, 2.093236e-5)
	a := polynomial(t, -7.643575, 0.1072763, -1.38385e-3)
	b := polynomial(t, 0.1770383, -4.07718e-3, 5.148e-5)
	return pure + a*s + b*s*math.Sqrt(s)
}

// viscosity is dynamic, in Pa s, s in kg/kg.
func viscosity(s, t float64) float64 {
	pure := 4.2844e-5 + 1/(0.157*(t+64.993)*(t+64.993)-91.296)
	a := polynomial(t, 1.541, 1.998e-2, -9.52e-5)
	b := polynomial(t, 7.974, -7.561e-2, 4.724e-4)
	return pure * (1 + a*s + b*s*s)
}

// vapourPressure is in Pa, s in g/kg; the liquid's line is used below 0 °C too.
func vapourPressure(s, t float64) float64 {
	k := t + 273.15
	pure := math.Exp(-5.8002206e3/k + 1.3914993 - 4.8640239e-2*k + 4.1764768e-5*k*k - 1.4452093e-8*k*k*k + 6.5459673*math.Log(k))
	return pure / (1 + 0.57357*s/(1000-s))
}

// freezing is the freezing point at the surface in °C on the present scale, s in
// g/kg; UNESCO 44 gives it on the scale of 1968.
func freezing(s float64) float64 {
	return (-0.0575*s + 1.710523e-3*s*math.Sqrt(s) - 2.154996e-4*s*s) / 1.00024
}

// DefaultWaterTemperature is taken where neither vessel nor condition says.
const DefaultWaterTemperature unit.Celsius = 15

// RejectedShare is a condenser's heat over the cooling it gives where the power
// it takes is not stated: 15 000 BTU/h for 12 000.
const RejectedShare unit.Ratio = 1.25

// WaterRise is the temperature rise a condenser's flow is rated at: 85 to 95 °F.
const WaterRise unit.Celsius = 50.0 / 9

// RiseLimit is the rise above which a unit is short of water (12 °F).
const RiseLimit unit.Celsius = 60.0 / 9

// RatingCite is the source of RejectedShare and WaterRise.
func RatingCite() Cite { return Cite{"condenser rating convention, AHRI 450", Published} }
