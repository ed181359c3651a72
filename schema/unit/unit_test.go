package unit

import (
	"errors"
	"math"
	"regexp"
	"strings"
	"testing"
)

// Factors: NIST Special Publication 811 (2008), appendix B.8 and B.9, as
// printed there (seven significant digits), save where a line says otherwise.
func TestParseAgainstPublishedFactors(t *testing.T) {
	tests := []struct {
		d    Dimension
		text string
		want float64
	}{
		{Voltage, "12.8 V", 12.8}, {Voltage, "50 mV", 0.05}, {Voltage, "12v", 12}, {Voltage, "50 mv", 0.05},
		{Current, "100 A", 100}, {Current, "20 mA", 0.02}, {Current, "20 kA", 20000}, {Current, "20KA", 20000},
		{Resistance, "4 mohm", 0.004}, {Resistance, "0.004 Ω", 0.004}, {Resistance, "4 mΩ", 0.004},
		{Resistance, "4 m\u2126", 0.004}, {Resistance, "0 ohm", 0}, {Resistance, "250 µΩ", 250e-6}, {Resistance, "2 kohm", 2000},
		{Power, "90 W", 90}, {Power, "2.6 kW", 2600},
		{Power, "1 hp", 745.6999},               // horsepower (550 ft·lbf/s)
		{Power, "9000 BTU/h", 9000 * 0.2930711}, // BtuIT per hour
		{Power, "12000 btu/hr", 3516.853},       // ton of refrigeration 3.516 853 kW
		{Power, "1/2 HP", 372.84993},            // half of the above
		{Charge, "280 Ah", 280}, {Charge, "280AH", 280}, {Charge, "100 mAh", 0.1},
		{Energy, "3.6 kWh", 3600}, {Energy, "600 Wh", 600},
		{Length, "4.2 m", 4.2}, {Length, "250 mm", 0.25}, {Length, "14 ft", 4.2672}, {Length, "14 ft 6 in", 4.4196},
		{Length, "-1 ft 6 in", -0.4572}, {Length, "\u22121 ft 6 in", -0.4572}, {Length, "3/4 in", 0.01905},
		{Length, "1-1/2 in", 0.0381}, {Length, "1 1/2 in", 0.0381}, {Length, "1½ in", 0.0381}, {Length, "½ in", 0.0127},
		{Length, `14' 6"`, 4.4196}, {Length, `14′6″`, 4.4196}, {Length, "14ft6in", 4.4196}, {Length, "5 ft 6-1/2 in", 1.6891},
		{Length, "0", 0}, {Length, "0.0", 0}, {Length, "-0 ft 6 in", -0.1524}, {Length, ".5 m", 0.5}, {Length, "4.2 M", 4.2},
		{Length, "36 in (91 cm)", 0.9144}, {Length, "7 in", 0.1778}, {Length, "1e-3 m", 0.001}, {Length, "120 cm", 1.2},
		{CrossSection, "35 mm2", 35}, {CrossSection, "35 mm²", 35}, {CrossSection, "35mm^2", 35}, {CrossSection, "250 kcmil", 250 * 0.5067075},
		{Area, "2 m2", 2}, {Area, "2 m²", 2}, {Area, "20 ft2", 20 * 0.09290304}, {Area, "20 sq ft", 20 * 0.09290304},
		{Volume, "120 L", 0.12}, {Volume, "30 gal", 30 * 3.785412e-3}, {Volume, "10 imp gal", 10 * 4.54609e-3},
		{Volume, "1.2 m3", 1.2}, {Volume, "1 ft3", 2.831685e-2}, {Volume, "1 qt", 9.463529e-4}, {Volume, "500 ml", 0.0005},
		{Angle, "7 deg", 7}, {Angle, "7°", 7}, {Angle, "7º", 7}, {Angle, "-7 deg", -7}, {Angle, "1 rad", 57.29578},
		{FlowRate, "11 L/min", 11}, {FlowRate, "11 l / min", 11}, {FlowRate, "3 gpm", 3 * 6.309020e-5 * 6e4},
		{FlowRate, "180 gph", 180 * 1.051503e-6 * 6e4}, {FlowRate, "0.6 m3/h", 10}, {FlowRate, "0.6 m³/h", 10},
		{FlowRate, "1 imp gpm", 4.54609}, {FlowRate, "60 imp gph", 4.54609}, {FlowRate, "1 L/s", 60}, {FlowRate, "90 L/h", 1.5},
		{FlowRate, "3 US gpm", 11.356235},
		{Pressure, "2 m head", 2}, {Pressure, "6 ft head", 1.8288},
		{Pressure, "0.5 bar", 50000 / 9806.65},      // metre of water, conventional: 9806.65 Pa
		{Pressure, "7 psi", 7 * 6894.757 / 9806.65}, // psi 6.894 757 kPa
		{Pressure, "20 kPa", 20000 / 9806.65}, {Pressure, "1 m H2O", 1}, {Pressure, "10 ftH2O", 3.048},
		{Temperature, "50 °C", 50}, {Temperature, "122 F", 50}, {Temperature, "122 °F", 50}, {Temperature, "-40 F", -40},
		{Temperature, "300 K", 26.85}, {Temperature, "105 C", 105},
		{Duration, "8 h", 8}, {Duration, "30 min", 0.5}, {Duration, "20 s", 20.0 / 3600}, {Duration, "14 d", 336},
		{Duration, "1 h 30 min", 1.5}, {Duration, "1 d 2 h 30 min", 26.5}, {Duration, "100 ms", 0.1 / 3600},
		{RotationalSpeed, "1400 rpm", 1400}, {RotationalSpeed, "1400 RPM", 1400},
		{BoatSpeed, "7 kn", 7}, {BoatSpeed, "10 mph", 4.4704 / 0.5144444},
		{Torque, "12 N·m", 12}, {Torque, "12 Nm", 12}, {Torque, "10 ft lb", 13.55818}, {Torque, "10 in-lb", 1.129848},
		{Mass, "26 kg", 26}, {Mass, "57 lb", 57 * 0.4535924}, {Mass, "90 lbs", 40.82331},
		{Proportion, "25 %", 0.25}, {Proportion, "25%", 0.25}, {Proportion, "0.25", 0.25}, {Proportion, "2:1", 2}, {Proportion, "1.05", 1.05},
	}
	for _, tt := range tests {
		got, err := tt.d.Parse(tt.text)
		if err != nil {
			t.Errorf("%v: %v", tt.text, err)
			continue
		}
		if math.Abs(got-tt.want) > 3e-7*math.Abs(tt.want)+1e-15 {
			t.Errorf("%s %q = %.9g, want %.9g", tt.d, tt.text, got, tt.want)
		}
		if !regexp.MustCompile(tt.d.Pattern()).MatchString(tt.text) && !strings.ContainsAny(tt.text, "\u2212\u2126½′º(^") {
			t.Errorf("%s: the schema pattern does not match %q", tt.d, tt.text)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	tests := []struct {
		d    Dimension
		text string
		says string // a part of the message
	}{
		{Current, "100", "A, mA or kA"}, {Current, "0", "no unit"}, {Length, "12", "no unit"}, {Length, "", "empty"},
		{Current, "0,5 A", "comma"}, {Power, "1,200 W", "comma"}, {Voltage, "1.2.3 V", "two decimal marks"}, {Voltage, "1.2,3 V", "two decimal marks"},
		{Voltage, "3 MV", "case matters"}, {Current, "3 MA", "case matters"}, {Resistance, "4 Mohm", "case matters"}, {Resistance, "4 MΩ", "case matters"},
		{Current, "12 V", "unit of a voltage"}, {Voltage, "280 Ah", "unit of a charge"}, {Charge, "3.6 kWh", "unit of an energy"},
		{Pressure, "2 m", "m head"}, {Power, "9000 BTU", "BTU/h"}, {Power, "3 kVA", "apparent power"}, {Voltage, "125 VAC", "write V"},
		{Voltage, "NaN V", "finite"}, {Voltage, "Inf V", "finite"}, {Voltage, "-inf V", "finite"}, {Voltage, ".nan", "finite"},
		{Current, "0x10 A", "hexadecimal"}, {Current, "1e308 A", "beyond"}, {Current, "1e999 A", "beyond"}, {Length, "1e5 m", "beyond"},
		{Current, "1_000 A", "underscore"}, {Power, "1 200 W", "two figures"}, {Current, "5-10 A", "range"}, {Current, "five A", "begin with a figure"},
		{Length, "3/0 in", "zero below the line"}, {Length, "1-3/2 in", "not less than one"}, {Length, "14 ft 12 in", "not less than one ft"},
		{Length, "14 ft 6", "no unit"}, {Length, "14 ft 6 m", "followed by in only"}, {Length, "14 ft (3 m)", "brackets"}, {Length, "14 ft (", "bracket"},
		{Length, strings.Repeat("9", 60) + " m", "too many digits"}, {Length, strings.Repeat(" ", 300), "too long"}, {Length, "4 parsecs", "not known here"},
		{Length, "--4 m", "begin with a figure"}, {Temperature, "20", "°C"}, {Volume, "3 gpm", "flow"}, {Area, "3", "no unit"},
		{Proportion, "25 %%", "not known"}, {Proportion, "2:0", "not known"}, {Length, "1.5e m", "not known here"},
	}
	for _, tt := range tests {
		_, err := tt.d.Parse(tt.text)
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%s %q: no *Error but %v", tt.d, tt.text, err)
			continue
		}
		if !strings.Contains(err.Error(), tt.says) {
			t.Errorf("%s %q: %q does not say %q", tt.d, tt.text, err, tt.says)
		}
	}
	if _, err := ParseCelsius("-300 °C"); err == nil {
		t.Error("a temperature below absolute zero is read")
	}
}

// Areas: ASTM B258 as printed in the NBS wire tables (Handbook 100), circular
// mils × 5.067075e-4 mm²; SAE areas from the reprint of SAE J1127/J1128.
func TestParseSize(t *testing.T) {
	tests := []struct {
		text, name string
		area       float64
	}{
		{"35 mm2", "35 mm²", 35}, {"2.5mm²", "2.5 mm²", 2.5}, {"0.75 sq mm", "0.75 mm²", 0.75},
		{"10 AWG", "10 AWG", 5.261}, {"AWG 10", "10 AWG", 5.261}, {"10awg", "10 AWG", 5.261}, {"2 AWG", "2 AWG", 33.631},
		{"1/0 AWG", "1/0 AWG", 53.475}, {"0 AWG", "1/0 AWG", 53.475}, {"00 AWG", "2/0 AWG", 67.431}, {"4/0 AWG", "4/0 AWG", 107.219},
		{"0000 AWG", "4/0 AWG", 107.219}, {"12 SAE", "12 SAE", 2.956}, {"4/0 SAE", "4/0 SAE", 104.13}, {"10 AWG (5.3 mm²)", "10 AWG", 5.261},
	}
	for _, tt := range tests {
		s, err := ParseSize(tt.text)
		if err != nil {
			t.Errorf("%v", err)
			continue
		}
		if s.Name() != tt.name || math.Abs(float64(s.Area)-tt.area) > 5e-4*tt.area {
			t.Errorf("%q = %s, %.4f mm², want %s, %.4f", tt.text, s.Name(), s.Area, tt.name, tt.area)
		}
		again, err := ParseSize(s.String())
		if err != nil || again != s {
			t.Errorf("%q prints as %q, which reads as %v, %v", tt.text, s, again, err)
		}
		if !regexp.MustCompile(CrossSection.Pattern()).MatchString(tt.text) && !strings.Contains(tt.text, "(") {
			t.Errorf("the schema pattern does not match %q", tt.text)
		}
	}
	for _, bad := range []string{"10", "0", "5/0 AWG", "3 SAE", "41 AWG", "-3 mm2", "0 mm2", "12 ga", "010 AWG", "10.5 AWG", "10 AWG (16 mm²)", "AWG", "3 A", "99999999999999999999 AWG"} {
		if s, err := ParseSize(bad); err == nil {
			t.Errorf("%q is read as %v", bad, s)
		}
	}
}

// Print forms from the drafting reference: gauges with area to one decimal, none
// from 100 mm²; metric sizes with the gauges they lie between.
func TestSizeString(t *testing.T) {
	tests := []struct{ text, want string }{
		{"20 AWG", "20 AWG (0.5 mm²)"}, {"18 AWG", "18 AWG (0.8 mm²)"}, {"16 AWG", "16 AWG (1.3 mm²)"}, {"10 AWG", "10 AWG (5.3 mm²)"},
		{"6 AWG", "6 AWG (13.3 mm²)"}, {"3/0 AWG", "3/0 AWG (85.0 mm²)"}, {"4/0 AWG", "4/0 AWG (107 mm²)"},
		{"6 mm2", "6 mm² (between 10 and 8 AWG)"}, {"7 mm2", "7 mm² (between 10 and 8 AWG)"}, {"25 mm2", "25 mm² (between 4 and 3 AWG)"}, {"35 mm2", "35 mm² (between 2 and 1 AWG)"},
		{"50 mm2", "50 mm² (between 1 and 1/0 AWG)"}, {"16 mm2", "16 mm² (between 6 and 4 AWG)"}, {"120 mm2", "120 mm² (over 4/0 AWG)"}, {"53.475 mm2", "53.48 mm² (1/0 AWG)"},
	}
	for _, tt := range tests {
		s, err := ParseSize(tt.text)
		if err != nil || s.String() != tt.want {
			t.Errorf("%s prints %q, want %q (%v)", tt.text, s, tt.want, err)
		}
	}
}

func TestString(t *testing.T) {
	tests := []struct{ got, want string }{
		{Volt(12.8).String(), "12.8 V"}, {Volt(0.05).String(), "50 mV"}, {Volt(0).String(), "0 V"}, {Amp(0.99999).String(), "1 A"},
		{Amp(0.02).String(), "20 mA"}, {Amp(20000).String(), "20 kA"}, {Amp(1500).String(), "1500 A"}, {Ohm(0.004).String(), "4 mΩ"},
		{Watt(2600).String(), "2.6 kW"}, {Metre(0.25).String(), "250 mm"}, {Metre(-0.25).String(), "-250 mm"}, {Metre(4.2).String(), "4.2 m"},
		{Hour(336).String(), "14 d"}, {Hour(0.5).String(), "30 min"}, {Hour(20.0 / 3600).String(), "20 s"}, {CubicMetre(0.12).String(), "120 L"},
		{Ratio(0.25).String(), "25 %"}, {Ratio(1.2).Factor(), "1.2"}, {Head(1.8288).String(), "1.829 m head"}, {Celsius(-5).String(), "-5 °C"},
		{Metre(4.2).Both(), "4.2 m (13.8 ft)"}, {Metre(0.178).Both(), "178 mm (7.01 in)"}, {LitrePerMin(11).Both(), "11 L/min (2.91 gpm)"},
		{CubicMetre(0.12).Both(), "120 L (31.7 gal)"}, {Kilogram(26).Both(), "26 kg (57.3 lb)"}, {Celsius(50).Both(), "50 °C (122 °F)"},
		{Amp(35.71).LoadText(), "36 A"}, {Amp(9.91).LoadText(), "10 A"}, {Amp(5.01).LoadText(), "5.1 A"}, {Amp(35.7).AmpacityText(), "35 A"},
		{Amp(8.5).AmpacityText(), "8.5 A"}, {Amp(3733.3).FaultText(Up), "3.8 kA"}, {Amp(3733.3).FaultText(Down), "3.7 kA"}, {Amp(7.5).RatingText(), "7.5 A"},
		{Volt(0.3600000000001).DropText(), "0.36 V"}, {Volt(0.361).DropText(), "0.37 V"}, {Ratio(0.0301).DropText(), "3.1 %"}, {Ratio(0.03).DropText(), "3.0 %"},
		{Metre(0.1778).DistanceText(true), "7 in (178 mm)"}, {Metre(1.8288).DistanceText(true), "72 in (1829 mm)"}, {Metre(-0.0351).LevelText(Down), "−36 mm"}, {Metre(0.12).LevelText(Down), "+120 mm"},
		{LitrePerMin(11.38).Text(Down), "11 L/min (3 gpm)"}, {Metre(0.019).BoreText(), "19 mm (3/4 in)"}, {Metre(0.038).BoreText(), "38 mm (1-1/2 in)"}, {Metre(0.022).BoreText(), "22 mm"},
		{ThreadName("3/4", "npt"), "3/4 NPT"}, {ThreadName("3/4", "bspp"), "G 3/4"},
		{Draw{Power: 90, ByPower: true}.String(), "90 W"}, {Ohm(0.01234).RunText(Up), "12.4 mΩ"}, {Ohm(0.01234).RunText(Down), "12.3 mΩ"},
	}
	for _, tt := range tests {
		if tt.got != tt.want {
			t.Errorf("printed %q, want %q", tt.got, tt.want)
		}
	}
}

func TestEither(t *testing.T) {
	if d, err := ParseDraw("90 W"); err != nil || d.At(12) != 7.5 {
		t.Errorf("90 W at 12 V is %v, %v", d.At(12), err)
	}
	if d, err := ParseDraw("5 A"); err != nil || d.At(12) != 5 {
		t.Errorf("5 A at 12 V is %v, %v", d.At(12), err)
	}
	if c, err := ParseCapacity("3.6 kWh"); err != nil || math.Abs(float64(c.At(12))-300) > 1e-9 {
		t.Errorf("3.6 kWh at 12 V is %v, %v", c.At(12), err)
	}
	if _, err := ParseDraw("5 V"); err == nil || !strings.Contains(err.Error(), "kW") {
		t.Errorf("a draw in volts: %v", err)
	}
}

func TestRange(t *testing.T) {
	rating := Range[Amp]{Low: 0, High: 2000, OpenLow: true}
	for _, v := range []Amp{0, -3, 2001} {
		if rating.Check(v) == nil {
			t.Errorf("%v passes", v)
		}
	}
	if err := rating.Check(0.1); err != nil {
		t.Error(err)
	}
}

// Closed form: the stated direction, and no step caused by binary noise.
func TestRound(t *testing.T) {
	for _, tt := range []struct {
		x    float64
		n    int
		dir  Direction
		want float64
	}{
		{0.1 + 0.2, 1, Up, 0.3}, {0.31, 1, Up, 0.4}, {0.39, 1, Down, 0.3}, {-0.31, 1, Up, -0.3}, {-0.31, 1, Down, -0.4}, {1234, -2, Nearest, 1200}, {51, 0, Up, 51},
	} {
		if got := Round(tt.x, tt.n, tt.dir); math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("Round(%v, %d, %d) = %v, want %v", tt.x, tt.n, tt.dir, got, tt.want)
		}
	}
}

// Every dimension can be documented: name, units, an example that reads, and a
// pattern that compiles and matches the example.
func TestDimensions(t *testing.T) {
	for _, d := range Dimensions() {
		if _, err := d.Parse(d.Example()); err != nil || d.Accepts() == "" {
			t.Errorf("%v: %v", d, err)
		}
		if !regexp.MustCompile(d.Pattern()).MatchString(d.Example()) {
			t.Errorf("%v: pattern misses %q", d, d.Example())
		}
		for _, u := range d.Units() {
			if u.Factor == 0 {
				continue
			}
			if _, err := d.Parse("1 " + u.Symbol); err != nil {
				t.Errorf("%v: its own unit %s: %v", d, u.Symbol, err)
			}
			for _, s := range u.Spellings {
				if got, ok := d.find(s); !ok || got.Symbol != u.Symbol {
					t.Errorf("%v: %q is %v, not %s", d, s, got.Symbol, u.Symbol)
				}
			}
		}
	}
}

// printed returns how each dimension prints what it read.
func printed(d Dimension, v float64) []string {
	switch d {
	case Voltage:
		return []string{Volt(v).String()}
	case Current:
		return []string{Amp(v).String()}
	case Resistance:
		return []string{Ohm(v).String()}
	case Power:
		return []string{Watt(v).String()}
	case Charge:
		return []string{AmpHour(v).String()}
	case Energy:
		return []string{WattHour(v).String()}
	case Length:
		return []string{Metre(v).String(), Metre(v).Both()}
	case CrossSection:
		return []string{SquareMM(v).String()}
	case Area:
		return []string{SquareMetre(v).String(), SquareMetre(v).Both()}
	case Volume:
		return []string{CubicMetre(v).String(), CubicMetre(v).Both()}
	case Angle:
		return []string{Degree(v).String()}
	case FlowRate:
		return []string{LitrePerMin(v).String(), LitrePerMin(v).Both()}
	case Pressure:
		return []string{Head(v).String(), Head(v).Both()}
	case Temperature:
		return []string{Celsius(v).String()}
	case Duration:
		return []string{Hour(v).String()}
	case RotationalSpeed:
		return []string{RPM(v).String()}
	case BoatSpeed:
		return []string{Knot(v).String()}
	case WaterSpeed:
		return []string{MetrePerSecond(v).String(), MetrePerSecond(v).Both()}
	case Torque:
		return []string{NewtonMetre(v).String(), NewtonMetre(v).Both()}
	case Mass:
		return []string{Kilogram(v).String(), Kilogram(v).Both()}
	default:
		return []string{Ratio(v).String(), Ratio(v).Factor()}
	}
}

// FuzzParse: whatever reads is finite; what it prints reads back within the four
// digits printed; and printing that again gives the same text.
func FuzzParse(f *testing.F) {
	for _, d := range Dimensions() {
		f.Add(int(d), d.Example())
	}
	for _, s := range []string{"14 ft 6 in", "-1 ft 6 in", "1-1/2 in", "1/0 AWG", "12 SAE", "0,5 A", "1e308 V", "2:1", "7 psi", "1 h 30 min", "0", "999.96 mA", "3 (", "0x1p-2 m", "½ in"} {
		for d := range int(dimensions) {
			f.Add(d, s)
		}
	}
	f.Fuzz(func(t *testing.T, n int, text string) {
		d := Dimension(uint(n) % uint(dimensions))
		if s, err := ParseSize(text); err == nil {
			again, err := ParseSize(s.String())
			if err != nil || math.Abs(float64(again.Area-s.Area)) > 5e-4*float64(s.Area) || again.String() != s.String() {
				t.Fatalf("size %q prints %q, reads %v, %v", text, s, again, err)
			}
		}
		v, err := d.Parse(text)
		if err != nil {
			return
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("%v %q reads as %v", d, text, v)
		}
		for i, s := range printed(d, v) {
			w, err := d.Parse(s)
			if err != nil || math.Abs(w-v) > 6e-4*math.Abs(v) {
				t.Fatalf("%v %q = %v prints %q, reads %v, %v", d, text, v, s, w, err)
			}
			if again := printed(d, w)[i]; again != s && i == 0 {
				t.Fatalf("%v %q prints %q, then %q", d, text, s, again)
			}
		}
	})
}

func BenchmarkParse(b *testing.B) {
	for range b.N {
		if _, err := ParseMetre("14 ft 6 in"); err != nil {
			b.Fatal(err)
		}
	}
}
