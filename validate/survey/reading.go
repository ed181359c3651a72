package survey

import (
	"math"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/trace"
	"fitout/validate/water"
)

// UsualWithin is how far a reading may stray where it does not say.
const UsualWithin unit.Ratio = 0.10

// Expected is what a meter should show at a place in a condition, in the unit of
// its quantity (V, A, L/min, m of head, K). The sheet that predicts and the rule
// that judges both ask it, so that they agree.
type Expected struct {
	// Predicted is the figure at full draw.
	Predicted float64
	// low and high are equal save for volts and amperes, which may lie anywhere
	// between full draw and the mean of the loads that come and go.
	low, high float64
	// inverse says that what strays is one over the figure: a temperature rise
	// tells of a flow.
	inverse bool
}

func exactly(x float64) Expected { return Expected{Predicted: x, low: x, high: x} }

// Band returns the least and the greatest reading that is good. A rise that may
// be of any height has +Inf.
func (e Expected) Band(within unit.Ratio) (low, high float64) {
	w := float64(within) * (1 + 1e-9)
	if e.inverse {
		low, high = e.low/(1+w), math.Inf(1)
		if w < 1 {
			high = e.high / (1 - w)
		}
		return low, high
	}
	return e.low - w*math.Abs(e.low), e.high + w*math.Abs(e.high)
}

// Stray reports whether a reading lies outside its band, and the end of what is
// computed that it strays from.
func (e Expected) Stray(measured float64, within unit.Ratio) (from float64, off bool) {
	low, high := e.Band(within)
	switch {
	case measured < low:
		return e.low, true
	case measured > high:
		return e.high, true
	}
	return e.Predicted, false
}

// ExpectedVolts is what a meter shows at a terminal against the reference, or
// across a part whose terminal is not named: over a load or source, or lost over
// a device, contact or shunt.
func (d *DCState) ExpectedVolts(at schema.End) (Expected, bool) {
	full, ok := d.voltsAt(at)
	if !ok {
		return Expected{}, false
	}
	if d.OverDevice(at) {
		return atMost(float64(full)), true
	}
	mean, ok := d.Mean().voltsAt(at)
	if !ok {
		mean = full
	}
	return between(float64(full), float64(mean)), true
}

// OverDevice reports whether volts at a place are what a device drops: its
// terminal is not named, and it has no coil or load that they could be over.
func (d *DCState) OverDevice(at schema.End) bool {
	if at.Terminal != "" || at.Part == nil || d.s.Net.Node(at.Part, "") >= 0 {
		return false
	}
	_, load := d.Across(at.Part)
	_, over := d.LostOver(at.Part)
	return over && !load
}

// atMost is a figure of which less is better.
func atMost(x float64) Expected { return Expected{Predicted: x, high: x} }

func between(full, mean float64) Expected {
	return Expected{Predicted: full, low: min(full, mean), high: max(full, mean)}
}

func (d *DCState) voltsAt(at schema.End) (unit.Volt, bool) {
	if !d.Solved() {
		return 0, false
	}
	v, ok := d.Volts(at.Part, at.Terminal)
	if at.Terminal == "" || !ok && !d.s.Joined(max(0, d.s.Net.Node(at.Part, at.Terminal))) {
		if across, both := d.Across(at.Part); both {
			v, ok = across, true
		} else if at.Terminal == "" && !ok {
			v, ok = d.LostOver(at.Part)
		}
	}
	return v, ok
}

// ExpectedDrop is what a device, contact or shunt may lose, coil or not.
func (d *DCState) ExpectedDrop(p *schema.Part) (Expected, bool) {
	v, ok := d.LostOver(p)
	return atMost(float64(v)), ok
}

// LostOver is what a device, contact or shunt with one way drops, as a positive
// figure; ok is false where its resistance is neither stated nor known by kind.
func (d *DCState) LostOver(p *schema.Part) (unit.Volt, bool) {
	var way *trace.Edge
	for i := range d.s.Net.Edges {
		e := &d.s.Net.Edges[i]
		if e.Part != p || e.Medium != schema.DC || e.Type != trace.Device && e.Type != trace.Contact && e.Type != trace.Series {
			continue
		}
		if way != nil {
			return 0, false
		}
		way = e
	}
	if way == nil {
		return 0, false
	}
	v, ok := d.acrossEdge(way)
	known := way.Branch.Ohms.Given() || way.Branch.OhmsDefault > 0
	return unit.Volt(math.Abs(float64(v))), ok && known
}

// ExpectedAmps is the current a meter shows at a part, without its sign.
func (d *DCState) ExpectedAmps(at schema.End) (Expected, bool) {
	full, ok := d.ampsAt(at)
	mean, ok2 := d.Mean().ampsAt(at)
	if !ok || !ok2 {
		return Expected{}, false
	}
	return between(math.Abs(float64(full)), math.Abs(float64(mean))), true
}

func (d *DCState) ampsAt(at schema.End) (unit.Amp, bool) {
	if !d.Solved() {
		return 0, false
	}
	way := at.Terminal
	found, second := -1, -1
	net := d.s.Net
	for id := range net.Edges {
		e := &net.Edges[id]
		if e.Part != at.Part || e.Medium != schema.DC || e.Type == trace.Sense {
			continue
		}
		if e.Branch.Way != "" && e.Branch.Way == way {
			return d.EdgeAmps(id)
		}
		if found < 0 {
			found = id
		} else {
			second = id
		}
	}
	p := at.Part
	switch {
	case found >= 0 && (second < 0 || !p.Is(schema.Panel)):
		if e := &net.Edges[found]; e.Type == trace.ConvertIn {
			for _, s := range d.Sources {
				if s.Edge != e || way == e.Branch.Convert.OutA || way == e.Branch.Convert.OutB {
					continue
				}
				return d.InAmps(s)
			}
		}
		a, ok := d.EdgeAmps(found)
		if a == 0 && second >= 0 && net.Edges[second].Type == trace.Feed {
			return d.EdgeAmps(second) // an inverter that charges just now
		}
		return a, ok
	case p.Is(schema.Distribution):
		return d.ampsThroughBar(net.Node(p, p.Terminals()[0].Name)), true
	}
	return 0, false
}

// ampsThroughBar is half of all that comes and goes at a joint.
func (d *DCState) ampsThroughBar(node int) unit.Amp {
	sum := 0.0
	for _, id := range d.s.Net.Nodes[node].Edges {
		if d.s.Net.Edges[id].Medium == schema.DC {
			a, _ := d.EdgeAmps(id)
			sum += math.Abs(float64(a))
		}
	}
	return unit.Amp(sum / 2)
}

// ExpectedFlow is the flow at a place, in L/min; missing says what keeps it from
// being known.
func (w *WaterState) ExpectedFlow(at schema.End) (e Expected, missing []Datum, ok bool) {
	q, missing, ok := w.FlowAt(at.Part, at.Terminal)
	return exactly(float64(q)), missing, ok
}

// ExpectedHead is what a pressure gauge at a terminal shows, in m.
func (w *WaterState) ExpectedHead(at schema.End) (Expected, bool) {
	h, ok := w.HeadAt(at.Part, at.Terminal)
	return exactly(float64(h.Pressure)), ok && h.HasPressure
}

// ExpectedRise is by how many kelvin the water of a cooled part leaves warmer, by
// the heat stated and the flow computed; a reading of it is judged by the flow
// that it tells of.
func (w *WaterState) ExpectedRise(at schema.End) (Expected, bool) {
	one, ok := w.survey.FlowFromThermometers(w.Condition, at.Part, water.Kelvin(1))
	q, _, known := w.FlowAt(at.Part, at.Terminal)
	if !ok || !known || q <= 0 || one <= 0 {
		return Expected{}, false
	}
	e := exactly(float64(one / q))
	e.inverse = true
	return e, true
}
