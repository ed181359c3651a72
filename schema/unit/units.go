package unit

// Conversion factors. Exact by definition: inch, foot, US and imperial gallon,
// nautical mile, pound, standard gravity (NIST SP 811, appendix B; imperial
// gallon: UK Units of Measurement Regulations, 4.54609 L). The horsepower is
// the mechanical one, 550 ft·lbf/s; the BTU is the International Table one.
const (
	inch     = 0.0254
	foot     = 0.3048
	usGallon = 3.785411784e-3 // m³
	ukGallon = 4.54609e-3     // m³
	pound    = 0.45359237
	gravity  = 9.80665
	// horsepower in watts: 550 ft·lbf/s.
	horsepower = 550 * foot * pound * gravity
	// metricHorsepower in watts: 75 kgf·m/s.
	metricHorsepower = 75 * gravity
	// btu in joules, International Table.
	btu = 1055.05585262
	// psi in pascals.
	psi = pound * gravity / (inch * inch)
	// waterMetre is the pressure of a metre of conventional water in pascals.
	waterMetre = 1000 * gravity
	cmil       = 3.14159265358979323846 / 4 * 0.0254 * 0.0254 // mm²
)

type spec struct {
	name, example string
	// most is a magnitude beyond anything aboard, in the stored unit: it
	// catches slips such as 1e308 and keeps every sum finite.
	most  float64
	units []Unit
}

// prefixed builds a unit whose first letter depends on case.
func prefixed(symbol string, factor float64, spellings ...string) Unit {
	return Unit{Symbol: symbol, Factor: factor, Spellings: spellings, CaseCounts: true}
}

func plain(symbol string, factor float64, spellings ...string) Unit {
	return Unit{Symbol: symbol, Factor: factor, Spellings: spellings}
}

func compound(symbol string, factor float64, minor string, spellings ...string) Unit {
	return Unit{Symbol: symbol, Factor: factor, Spellings: spellings, minor: minor}
}

// specs is read, never written.
var specs = [dimensions]spec{
	Voltage: {"voltage", "12.8 V", 1e5, []Unit{
		plain("V", 1, "volt", "volts"),
		prefixed("mV", 1e-3, "millivolt", "millivolts"),
		plain("kV", 1e3, "kilovolt", "kilovolts"),
	}},
	Current: {"current", "100 A", 1e6, []Unit{
		plain("A", 1, "amp", "amps", "ampere", "amperes"),
		prefixed("mA", 1e-3, "milliamp", "milliamps"),
		plain("kA", 1e3, "kiloamp", "kiloamps"),
	}},
	Resistance: {"resistance", "4 mohm", 1e9, []Unit{
		plain("ohm", 1, "Ω", "ohms"),
		prefixed("mohm", 1e-3, "mΩ", "mohms", "milliohm", "milliohms"),
		plain("µohm", 1e-6, "µΩ", "uohm", "uΩ", "microohm", "microohms"),
		plain("kohm", 1e3, "kΩ", "kohms", "kiloohm", "kilohm"),
	}},
	Power: {"power", "90 W", 1e8, []Unit{
		plain("W", 1, "watt", "watts"),
		plain("kW", 1e3, "kilowatt", "kilowatts"),
		plain("hp", horsepower, "HP", "horsepower"),
		plain("BTU/h", btu/3600, "BTU/hr", "BTUH", "BTU per hour"),
		prefixed("mW", 1e-3, "milliwatt", "milliwatts"),
		plain("PS", metricHorsepower, "metric hp"),
	}},
	Charge: {"charge", "280 Ah", 1e6, []Unit{
		plain("Ah", 1, "A·h", "amp hour", "amp hours", "amp-hour", "amp-hours"),
		prefixed("mAh", 1e-3, "mA·h"),
		plain("kAh", 1e3),
	}},
	Energy: {"energy", "3.6 kWh", 1e9, []Unit{
		plain("Wh", 1, "W·h", "watt hour", "watt hours"),
		plain("kWh", 1e3, "kW·h", "kilowatt hour", "kilowatt hours"),
		prefixed("mWh", 1e-3),
		prefixed("MWh", 1e6),
	}},
	Length: {"length", "4.2 m", 1e4, []Unit{
		plain("m", 1, "metre", "metres", "meter", "meters"),
		plain("mm", 1e-3, "millimetre", "millimetres", "millimeter", "millimeters"),
		compound("ft", foot, "in", "foot", "feet", "'"),
		plain("in", inch, "inch", "inches", "ins", `"`),
		plain("cm", 1e-2, "centimetre", "centimetres", "centimeter", "centimeters"),
		plain("yd", 3*foot, "yard", "yards"),
	}},
	CrossSection: {"conductor size", "35 mm2", 2000, []Unit{
		plain("mm2", 1, "sq mm", "sqmm", "qmm"),
		plain("AWG", 0),
		plain("SAE", 0),
		plain("kcmil", 1000*cmil, "MCM"),
	}},
	Area: {"area", "2 m2", 1e6, []Unit{
		plain("m2", 1, "sq m", "square metres", "square meters"),
		plain("ft2", foot*foot, "sq ft", "sqft", "square feet"),
		plain("cm2", 1e-4, "sq cm"),
		plain("in2", inch*inch, "sq in", "square inches"),
		plain("mm2", 1e-6, "sq mm"),
	}},
	Volume: {"volume", "120 L", 1e5, []Unit{
		plain("L", 1e-3, "litre", "litres", "liter", "liters", "ltr"),
		plain("gal", usGallon, "US gal", "gallon", "gallons", "US gallon", "US gallons"),
		plain("m3", 1, "cu m"),
		plain("imp gal", ukGallon, "UK gal", "imperial gal", "imp gallon", "imp gallons", "imperial gallon", "imperial gallons"),
		plain("ft3", foot*foot*foot, "cu ft", "cubic feet"),
		prefixed("mL", 1e-6, "ml"),
		plain("qt", usGallon/4, "quart", "quarts", "US qt"),
		plain("cm3", 1e-6, "cc"),
	}},
	Angle: {"angle", "7 deg", 1e4, []Unit{
		plain("deg", 1, "°", "degree", "degrees"),
		prefixed("rad", 180/3.14159265358979323846),
	}},
	FlowRate: {"flow", "11 L/min", 1e7, []Unit{
		plain("L/min", 1, "lpm", "litres/min", "liters/min", "L/m"),
		plain("gpm", usGallon*1e3, "US gpm", "gal/min", "US gal/min"),
		plain("gph", usGallon*1e3/60, "US gph", "gal/h", "gal/hr", "US gal/h"),
		plain("L/h", 1.0/60, "lph", "L/hr", "litres/h", "liters/h"),
		plain("m3/h", 1e3/60, "m3/hr", "cbm/h"),
		plain("imp gpm", ukGallon*1e3, "UK gpm", "imp gal/min", "UK gal/min"),
		plain("imp gph", ukGallon*1e3/60, "UK gph", "imp gal/h", "UK gal/h"),
		plain("L/s", 60, "lps", "litres/s", "liters/s"),
		plain("m3/s", 60e3),
		plain("L/d", 1.0/1440, "L/day", "litres/day", "liters/day"),
		plain("gpd", usGallon*1e3/1440, "gal/d", "gal/day", "US gpd"),
	}},
	Pressure: {"pressure or head", "0.5 bar", 1e5, []Unit{
		plain("bar", 1e5/waterMetre, "bars"),
		plain("psi", psi/waterMetre, "lbf/in2"),
		plain("m head", 1, "m of head", "m H2O", "mH2O", "mWC", "m WG", "metres head", "metre head", "meters head", "meter head"),
		plain("ft head", foot, "ft of head", "ft H2O", "ftH2O", "ft WG", "feet head", "foot head"),
		plain("kPa", 1e3/waterMetre),
		prefixed("mbar", 1e2/waterMetre),
		plain("cm head", 1e-2, "cm H2O"),
		plain("mm head", 1e-3, "mm H2O"),
		plain("in head", inch, "in H2O", "in WG"),
		prefixed("MPa", 1e6/waterMetre),
		prefixed("Pa", 1/waterMetre),
	}},
	Temperature: {"temperature", "50 °C", 5000, []Unit{
		plain("°C", 1, "C", "deg C", "degC", "celsius", "degrees C"),
		{Symbol: "°F", Factor: 5.0 / 9, Offset: -160.0 / 9, Spellings: []string{"F", "deg F", "degF", "fahrenheit", "degrees F"}},
		{Symbol: "K", Factor: 1, Offset: -273.15, Spellings: []string{"kelvin"}},
	}},
	Duration: {"duration", "8 h", 1e6, []Unit{
		compound("h", 1, "min", "hr", "hrs", "hour", "hours"),
		compound("min", 1.0/60, "s", "mins", "minute", "minutes"),
		plain("s", 1.0/3600, "sec", "secs", "second", "seconds"),
		compound("d", 24, "h", "day", "days"),
		plain("week", 168, "weeks"),
		prefixed("ms", 1e-3/3600, "millisecond", "milliseconds"),
	}},
	RotationalSpeed: {"rotational speed", "1400 rpm", 1e6, []Unit{
		plain("rpm", 1, "r/min", "rev/min", "1/min", "min-1"),
	}},
	BoatSpeed: {"speed", "7 kn", 1000, []Unit{
		plain("kn", 1, "kt", "kts", "knot", "knots"),
		plain("m/s", 3600.0/1852),
		plain("km/h", 1000.0/1852, "kmh", "kph"),
		plain("mph", 5280*foot/1852),
	}},
	WaterSpeed: {"water speed", "1.5 m/s", 1e4, []Unit{
		plain("m/s", 1),
		plain("ft/s", foot, "fps"),
	}},
	Torque: {"torque", "12 N·m", 1e6, []Unit{
		plain("N·m", 1, "Nm", "N m", "N-m"),
		plain("ft·lb", foot*pound*gravity, "ft lb", "ft-lb", "ftlb", "lb ft", "lb-ft", "lb·ft", "lbf ft", "lbf·ft", "ft lbf", "ft·lbf"),
		plain("in·lb", inch*pound*gravity, "in lb", "in-lb", "inlb", "lb in", "lb-in", "lb·in", "lbf in", "lbf·in", "in lbf", "in·lbf"),
	}},
	Mass: {"mass", "26 kg", 1e7, []Unit{
		plain("kg", 1),
		plain("lb", pound, "lbs", "pound", "pounds"),
		prefixed("g", 1e-3, "gram", "grams"),
		plain("t", 1e3, "tonne", "tonnes"),
		plain("oz", pound/16, "ounce", "ounces"),
	}},
	Proportion: {"share or ratio", "25 %", 1e6, []Unit{
		plain("%", 0.01, "percent", "per cent", "pct"),
	}},
}
