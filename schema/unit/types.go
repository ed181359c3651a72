// Package unit holds the physical quantities of an installation as types, so
// that amperes cannot be passed for degrees. Each type stores one SI-like unit
// (stated beside it); the spelling a quantity was written in is kept by the
// caller, never here.
package unit

// Electrical quantities.
type (
	// Volt is an electric potential difference in volts.
	Volt float64
	// Amp is a current in amperes.
	Amp float64
	// Ohm is a resistance in ohms.
	Ohm float64
	// Watt is a power in watts (also heat; 1 BTU/h = 0.29307107 W).
	Watt float64
	// AmpHour is a charge in ampere-hours.
	AmpHour float64
	// WattHour is an energy in watt-hours.
	WattHour float64
)

// Geometry.
type (
	// Metre is a length, height, offset or bore in metres.
	Metre float64
	// SquareMM is a conductor cross-section in square millimetres.
	SquareMM float64
	// SquareMetre is an area in square metres.
	SquareMetre float64
	// CubicMetre is a volume in cubic metres (also litres and gallons as read).
	CubicMetre float64
	// Degree is an angle in degrees of arc.
	Degree float64
)

// Water, heat, time, speed.
type (
	// LitrePerMin is a volume flow in litres a minute.
	LitrePerMin float64
	// Head is a pressure as metres of the liquid pumped. Pressures written in
	// bar or psi are converted with conventional water (9.80665 kPa a metre).
	Head float64
	// Celsius is a temperature in degrees Celsius.
	Celsius float64
	// Hour is a duration in hours.
	Hour float64
	// RPM is a rotational speed in revolutions a minute.
	RPM float64
	// Knot is a boat's speed in knots (1 kn = 1852/3600 m/s).
	Knot float64
	// NewtonMetre is a tightening torque.
	NewtonMetre float64
	// Ratio is a share: 25 % is 0.25.
	Ratio float64
)
