package survey

import (
	"math"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// Chart is a time-current chart of one circuit on logarithmic axes: the curves of
// the devices on its way, the damage curve of its thinnest conductor, and the
// currents that matter.
type Chart struct {
	Circuit string
	// Devices run from the source to the load.
	Devices []ChartDevice
	// Wire is the conductor of the damage curve, Damage the time it bears a current
	// (adiabatic, IEC 60364-4-43).
	Wire       *schema.Wire
	Damage     []ChartPoint
	DamageCite tables.Cite
	// Fault is the least short-circuit current at the far end; Load and Inrush
	// what the load takes running and starting, 0 where not known.
	Fault, Load, Inrush unit.Amp
	// FaultMissing names what Fault hangs on and is not known; Fault is 0 then.
	FaultMissing string
}

// ChartDevice is one device with its band. Earliest and Latest are empty where no
// curve of its family is published; Latest alone where no least time is.
type ChartDevice struct {
	Name             string
	Rating           unit.Amp
	Family           string
	Earliest, Latest []ChartPoint
	Cite             tables.Cite
}

// ChartPoint is one point of a curve.
type ChartPoint struct {
	Amps    unit.Amp
	Seconds float64
}

// Chart gathers the time-current chart of the way to a load; ok is false where
// nothing feeds it.
func (s *Survey) Chart(load *schema.Part) (Chart, bool) {
	var edge *trace.Edge
	for i := range s.Net.Edges {
		if e := &s.Net.Edges[i]; e.Part == load && e.Medium == schema.DC && (e.Type == trace.Load || e.Type == trace.ConvertIn) {
			edge = e
			break
		}
	}
	if edge == nil {
		return Chart{}, false
	}
	way := s.wayToSource(edge.A)
	if len(way) == 0 {
		return Chart{}, false
	}
	c := Chart{Circuit: load.ID}
	if load.Circuit != nil {
		c.Circuit = load.Circuit.ID
	}
	for _, e := range way {
		switch {
		case e.Type == trace.Device:
			c.Devices = append(c.Devices, chartDevice(e))
		case e.Wire != nil && e.Wire.Size.Given() && !e.Wire.Size.V.IsZero() && (c.Wire == nil || e.Wire.Size.V.Area < c.Wire.Size.V.Area):
			c.Wire = e.Wire
		}
	}
	if c.Wire != nil {
		c.damage()
	}
	if short, ok := s.ShortBetween(edge.A, edge.B); ok {
		c.Fault = short.Total()
		for _, e := range way {
			if e.Type != trace.Device {
				continue
			}
			if what, unsure := short.Unsure(s.EdgeID(e)); unsure {
				c.Fault, c.FaultMissing = 0, what
			}
		}
	}
	if l := edge.Branch.Load; l != nil {
		n := unit.Amp(max(1, l.Count))
		c.Load, c.Inrush = l.Amps.V*n, l.Starting.V*n
		if v, ok := s.NominalVolts(edge); ok && !l.Amps.Given() && l.Watts.Given() {
			c.Load = unit.Amp(float64(l.Watts.V)/float64(v)) * n
		}
	}
	return c, true
}

// wayToSource is a shortest way from a battery to a joint, in the order of the
// current; from a converter's output where no battery reaches it. Contacts that
// stand open count only where no other way is there.
func (s *Survey) wayToSource(node int) []*trace.Edge {
	any := func(*trace.Edge) bool { return true }
	stands := func(e *trace.Edge) bool { return e.Type != trace.Contact || atRest(e) }
	for _, source := range []trace.EdgeType{trace.Battery, trace.ConvertIn} {
		for _, closed := range []func(*trace.Edge) bool{stands, any} {
			if way := s.shortestWay(node, source, closed); len(way) > 0 {
				return way
			}
		}
	}
	return nil
}

func (s *Survey) shortestWay(node int, source trace.EdgeType, closed func(*trace.Edge) bool) []*trace.Edge {
	var best []*trace.Edge
	for i := range s.Net.Edges {
		e := &s.Net.Edges[i]
		from := -1
		switch {
		case e.Type != source:
		case e.Type == trace.Battery:
			from = e.A
		case e.Medium == schema.DC:
			from = s.Net.Node(e.Part, e.Branch.Convert.OutA)
		}
		if from < 0 {
			continue
		}
		path := s.Path(from, node, func(e *trace.Edge) bool {
			return e.Medium == schema.DC && (e.Passes() || e.Type == trace.Device) && closed(e)
		})
		if path != nil && (best == nil || len(path) < len(best)) {
			best = path
		}
	}
	return best
}

func chartDevice(e *trace.Edge) ChartDevice {
	d := e.Branch.Device
	out := ChartDevice{Name: e.Part.ID, Rating: d.Rating.V, Family: d.Family}
	if e.Branch.Way != "" {
		out.Name += "." + e.Branch.Way
	}
	if !d.Rating.Given() {
		return out
	}
	// Sixteen points a decade of current, from the rating to a hundred times it.
	for k := 0; k <= 8*4; k++ {
		amps := d.Rating.V * unit.Amp(math.Pow(10, float64(k)/16))
		o, ok := tables.OpeningTime(d.Family, d.Rating.V, amps)
		if !ok || o.Carries {
			continue
		}
		out.Cite = o.Cite
		out.Latest = append(out.Latest, ChartPoint{amps, o.Latest.Seconds()})
		if o.Earliest > 0 {
			out.Earliest = append(out.Earliest, ChartPoint{amps, o.Earliest.Seconds()})
		}
	}
	return out
}

func (c *Chart) damage() {
	insulation := c.Wire.Insulation.Or(tables.DefaultInsulation(tables.US))
	k, cite := tables.ShortTimeFactor(insulation)
	c.DamageCite = cite
	area := float64(c.Wire.Size.V.Area) * float64(max(1, c.Wire.Parallel.Or(1)))
	for _, t := range []float64{5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01} {
		c.Damage = append(c.Damage, ChartPoint{unit.Amp(k * area / math.Sqrt(t)), t})
	}
}
