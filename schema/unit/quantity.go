package unit

// Quantities that come out of a calculation more often than out of the file.
type (
	// MetrePerSecond is the speed of water in a hose or through a hole.
	MetrePerSecond float64
	// Kilogram is a mass.
	Kilogram float64
)

// Quantity is any of the scalar types of this package.
type Quantity interface {
	Volt | Amp | Ohm | Watt | AmpHour | WattHour |
		Metre | SquareMM | SquareMetre | CubicMetre | Degree |
		LitrePerMin | Head | Celsius | Hour | RPM | Knot | NewtonMetre | Ratio |
		MetrePerSecond | Kilogram
}
