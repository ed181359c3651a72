package unit

import "fmt"

// The Parse functions read a quantity as it stands in an installation file, in
// either system. Their errors are of type *Error.

// ParseVolt reads a voltage: 12.8 V, 50 mV.
func ParseVolt(text string) (Volt, error) { return parseAs[Volt](Voltage, text) }

// ParseAmp reads a current: 100 A, 20 mA, 20 kA.
func ParseAmp(text string) (Amp, error) { return parseAs[Amp](Current, text) }

// ParseOhm reads a resistance: 4 mohm, 0.004 Ω.
func ParseOhm(text string) (Ohm, error) { return parseAs[Ohm](Resistance, text) }

// ParseWatt reads a power or heat flow: 90 W, 2.6 kW, 1 hp, 9000 BTU/h.
func ParseWatt(text string) (Watt, error) { return parseAs[Watt](Power, text) }

// ParseAmpHour reads a charge: 280 Ah.
func ParseAmpHour(text string) (AmpHour, error) { return parseAs[AmpHour](Charge, text) }

// ParseWattHour reads an energy: 3.6 kWh.
func ParseWattHour(text string) (WattHour, error) { return parseAs[WattHour](Energy, text) }

// ParseMetre reads a length: 4.2 m, 250 mm, 14 ft 6 in, 1-1/2 in, or a bare 0.
func ParseMetre(text string) (Metre, error) { return parseAs[Metre](Length, text) }

// ParseSquareMetre reads an area: 2 m2, 20 ft2.
func ParseSquareMetre(text string) (SquareMetre, error) { return parseAs[SquareMetre](Area, text) }

// ParseCubicMetre reads a volume: 120 L, 30 gal, 5 imp gal, 1.2 m3.
func ParseCubicMetre(text string) (CubicMetre, error) { return parseAs[CubicMetre](Volume, text) }

// ParseDegree reads an angle: 7 deg, 7°.
func ParseDegree(text string) (Degree, error) { return parseAs[Degree](Angle, text) }

// ParseLitrePerMin reads a flow: 11 L/min, 180 gph, 3 gpm, 0.6 m3/h.
func ParseLitrePerMin(text string) (LitrePerMin, error) { return parseAs[LitrePerMin](FlowRate, text) }

// ParseHead reads a pressure or head: 0.5 bar, 7 psi, 2 m head.
func ParseHead(text string) (Head, error) { return parseAs[Head](Pressure, text) }

// ParseCelsius reads a temperature: 50 °C, 122 F. Below absolute zero is an error.
func ParseCelsius(text string) (Celsius, error) {
	c, err := parseAs[Celsius](Temperature, text)
	if err == nil && c < -273.15 {
		return 0, &Error{Text: text, Dimension: Temperature, Reason: "it is below absolute zero"}
	}
	return c, err
}

// ParseHour reads a duration: 8 h, 30 min, 20 s, 14 d.
func ParseHour(text string) (Hour, error) { return parseAs[Hour](Duration, text) }

// ParseRPM reads a rotational speed: 1400 rpm.
func ParseRPM(text string) (RPM, error) { return parseAs[RPM](RotationalSpeed, text) }

// ParseKnot reads a boat's speed: 7 kn.
func ParseKnot(text string) (Knot, error) { return parseAs[Knot](BoatSpeed, text) }

// ParseMetrePerSecond reads the speed of water: 1.5 m/s.
func ParseMetrePerSecond(text string) (MetrePerSecond, error) {
	return parseAs[MetrePerSecond](WaterSpeed, text)
}

// ParseNewtonMetre reads a torque: 12 N·m, 9 ft lb.
func ParseNewtonMetre(text string) (NewtonMetre, error) { return parseAs[NewtonMetre](Torque, text) }

// ParseKilogram reads a mass: 26 kg, 57 lb.
func ParseKilogram(text string) (Kilogram, error) { return parseAs[Kilogram](Mass, text) }

// ParseRatio reads a share or ratio: 25 %, 0.25, 2.1, 2:1.
func ParseRatio(text string) (Ratio, error) { return parseAs[Ratio](Proportion, text) }

// ParseSquareMM reads the copper area of a conductor size: 35 mm2, 2 AWG, 12 SAE.
// ParseSize keeps the system as well.
func ParseSquareMM(text string) (SquareMM, error) {
	s, err := ParseSize(text)
	return s.Area, err
}

func parseAs[T ~float64](d Dimension, text string) (T, error) {
	v, err := d.Parse(text)
	return T(v), err
}

// Draw is what a load takes, by current or by power as its maker states it.
type Draw struct {
	Current Amp
	Power   Watt
	// ByPower is set where the text gave a power; Current is then 0.
	ByPower bool
}

// At returns the current at a voltage.
func (d Draw) At(v Volt) Amp {
	if d.ByPower {
		return Amp(float64(d.Power) / float64(v))
	}
	return d.Current
}

func (d Draw) String() string {
	if d.ByPower {
		return d.Power.String()
	}
	return d.Current.String()
}

// ParseDraw reads a current or a power: 5 A, 90 W, 1 hp.
func ParseDraw(text string) (Draw, error) {
	v, first, err := parseEither(Current, Power, text)
	if err != nil {
		return Draw{}, err
	}
	if first {
		return Draw{Current: Amp(v)}, nil
	}
	return Draw{Power: Watt(v), ByPower: true}, nil
}

// Capacity is what a battery holds, as charge or as energy.
type Capacity struct {
	Charge AmpHour
	Energy WattHour
	// ByEnergy is set where the text gave an energy; Charge is then 0.
	ByEnergy bool
}

// At returns the charge at the battery's nominal voltage.
func (c Capacity) At(nominal Volt) AmpHour {
	if c.ByEnergy {
		return AmpHour(float64(c.Energy) / float64(nominal))
	}
	return c.Charge
}

func (c Capacity) String() string {
	if c.ByEnergy {
		return c.Energy.String()
	}
	return c.Charge.String()
}

// ParseCapacity reads a battery's capacity: 280 Ah, 3.6 kWh.
func ParseCapacity(text string) (Capacity, error) {
	v, first, err := parseEither(Charge, Energy, text)
	if err != nil {
		return Capacity{}, err
	}
	if first {
		return Capacity{Charge: AmpHour(v)}, nil
	}
	return Capacity{Energy: WattHour(v), ByEnergy: true}, nil
}

// parseEither reads a quantity of one of two dimensions; first tells which.
func parseEither(a, b Dimension, text string) (v float64, first bool, err error) {
	if v, err = a.Parse(text); err == nil {
		return v, true, nil
	}
	if w, second := b.Parse(text); second == nil {
		return w, false, nil
	}
	reason := err.(*Error).Reason
	return 0, false, &Error{Text: text, Dimension: a,
		Reason: fmt.Sprintf("%s; %s fits too (%s)", reason, b.a(), b.Accepts())}
}

// Range bounds a quantity; both ends belong to it unless Open excludes the low
// one.
type Range[T Quantity] struct {
	Low, High T
	// OpenLow excludes Low itself: a rating is more than nothing.
	OpenLow bool
}

// Check returns an error that states the figure and the bound it passes.
func (r Range[T]) Check(v T) error {
	switch {
	case v < r.Low:
		return fmt.Errorf("%s is below %s, the least that makes sense here", text(v), text(r.Low))
	case r.OpenLow && v == r.Low:
		return fmt.Errorf("%s does not make sense here; it must be more", text(v))
	case v > r.High:
		return fmt.Errorf("%s is above %s, the most that makes sense here", text(v), text(r.High))
	}
	return nil
}

func text[T Quantity](v T) string {
	if s, ok := any(v).(fmt.Stringer); ok {
		return s.String()
	}
	return fmt.Sprint(float64(v))
}
