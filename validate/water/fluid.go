package water

import "fitout/schema/unit"

// Properties of the liquid and of the place.
type (
	// Density is in kg/m³.
	Density float64
	// KinematicViscosity is in m²/s.
	KinematicViscosity float64
	// SpecificHeat is in J/(kg K).
	SpecificHeat float64
	// Pascal is an absolute pressure in pascals.
	Pascal float64
	// Acceleration is in m/s².
	Acceleration float64
	// MetrePerSecond is a velocity.
	MetrePerSecond float64
	// Kelvin is a temperature difference.
	Kelvin float64
)

const (
	// StandardGravity is 9.80665 m/s² (3rd CGPM, 1901).
	StandardGravity Acceleration = 9.80665
	// StandardAtmosphere is 101 325 Pa (10th CGPM, 1954).
	StandardAtmosphere Pascal = 101325
)

// Fluid holds the properties of the water at its temperature. Only the
// viscosity enters flows and heads.
type Fluid struct {
	Density   Density
	Viscosity KinematicViscosity
	Heat      SpecificHeat
	Vapour    Pascal // absolute vapour pressure
}

// Friction names the law of the friction factor in turbulent flow.
type Friction int

const (
	// SwameeJain is explicit, the law of EPANET; the default.
	SwameeJain Friction = iota
	// Colebrook is the implicit law the other approximates.
	Colebrook
)

// Model says what is pumped and where.
type Model struct {
	Fluid      Fluid
	Friction   Friction
	Gravity    Acceleration // 0: StandardGravity
	Atmosphere Pascal       // 0: StandardAtmosphere
}

func (m Model) g() float64 {
	if m.Gravity == 0 {
		return float64(StandardGravity)
	}
	return float64(m.Gravity)
}

func (m Model) atmosphere() float64 {
	if m.Atmosphere == 0 {
		return float64(StandardAtmosphere)
	}
	return float64(m.Atmosphere)
}

// VapourLimit returns the least pressure head (0 at atmosphere, so negative)
// at which the water does not boil: (vapour − atmosphere)/(density · g).
func (m Model) VapourLimit() unit.Head {
	return unit.Head((float64(m.Fluid.Vapour) - m.atmosphere()) / (float64(m.Fluid.Density) * m.g()))
}

// SiphonLimit returns how high a crest may stand above the water that feeds it
// with nothing flowing: the column the atmosphere carries.
func (m Model) SiphonLimit() unit.Head { return -m.VapourLimit() }

// NPSH returns the net positive suction head available at a pump inlet of the
// given total head and height: (atmosphere − vapour)/(density · g) + head −
// height.
func (m Model) NPSH(head unit.Head, height unit.Metre) unit.Head {
	return -m.VapourLimit() + head - unit.Head(height)
}

// HeadOf returns the head of a pressure in this fluid; PressureOf is its reverse.
func (m Model) HeadOf(p Pascal) unit.Head {
	return unit.Head(float64(p) / (float64(m.Fluid.Density) * m.g()))
}

// PressureOf returns the pressure of a head of this fluid.
func (m Model) PressureOf(h unit.Head) Pascal {
	return Pascal(float64(h) * float64(m.Fluid.Density) * m.g())
}

// HydraulicPower returns the power a flow carries at a head: density · g · Q · H.
func HydraulicPower(flow unit.LitrePerMin, head unit.Head, m Model) unit.Watt {
	return unit.Watt(float64(m.PressureOf(head)) * cubic(flow))
}
