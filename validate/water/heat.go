package water

import "fitout/schema/unit"

// FlowForHeat returns the flow that carries a heat away at a temperature rise:
// heat/(density · specific heat · rise). A rise or heat of nothing needs none.
func (f Fluid) FlowForHeat(heat unit.Watt, rise Kelvin) unit.LitrePerMin {
	if c := f.perFlow() * float64(rise); c > 0 {
		return litres(float64(heat) / c)
	}
	return 0
}

// RiseAtFlow returns how much warmer a flow leaves that takes up a heat; 0
// where nothing flows.
func (f Fluid) RiseAtFlow(heat unit.Watt, flow unit.LitrePerMin) Kelvin {
	if c := f.perFlow() * cubic(flow); c > 0 {
		return Kelvin(float64(heat) / c)
	}
	return 0
}

// HeatCarried returns the heat a flow takes up at a temperature rise.
func (f Fluid) HeatCarried(flow unit.LitrePerMin, rise Kelvin) unit.Watt {
	return unit.Watt(f.perFlow() * cubic(flow) * float64(rise))
}

// FlowFromReadings returns the flow two thermometers tell of while a known heat
// is rejected (or, with the outlet colder, taken up: heat below 0). It is 0
// where the readings cannot tell: equal, or the wrong way round.
func (f Fluid) FlowFromReadings(heat unit.Watt, in, out unit.Celsius) unit.LitrePerMin {
	rise := Kelvin(out - in)
	if rise < 0 {
		heat, rise = -heat, -rise
	}
	if heat <= 0 {
		return 0
	}
	return f.FlowForHeat(heat, rise)
}

// perFlow returns the heat of a cubic metre a kelvin, J/(m³ K).
func (f Fluid) perFlow() float64 { return float64(f.Density) * float64(f.Heat) }
