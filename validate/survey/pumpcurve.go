package survey

import (
	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/water"
)

// PumpDiagram is a pump's curve at the speed it turns at, the curve of the line
// it works into, and where they meet: a value to draw.
type PumpDiagram struct {
	Pump      *schema.Part
	Condition *schema.Condition
	Attitude  Attitude
	Speed     unit.Ratio
	// Curve and System are points of rising flow. System ends where water cannot
	// pass.
	Curve, System []water.Point
	// Stated are the points of the file, at the speed they hold at.
	Stated []water.Point
	// Works is the working point; State says whether there is one.
	Works water.Point
	State water.PumpState
}

// diagramPoints is how many points each curve has.
const diagramPoints = 41

// PumpDiagram computes both curves of a pump in a condition; missing says what
// keeps them from being computed.
func (s *Survey) PumpDiagram(c *schema.Condition, p *schema.Part) (PumpDiagram, []Datum, error) {
	w := s.Water(c)
	k := w.Of(p)
	switch {
	case k == nil:
		return PumpDiagram{}, []Datum{partDatum("a condition in which "+p.ID+" runs", p)}, nil
	case k.Worst == nil:
		return PumpDiagram{}, k.Missing, k.Failed
	}
	r := k.Worst
	for _, i := range k.edges {
		if _, runs := r.short[i]; runs && k.graph.edges[i].part == p {
			return r.diagram(i)
		}
	}
	return PumpDiagram{}, []Datum{partDatum("a condition in which "+p.ID+" runs", p)}, nil
}

func (r *WaterRun) diagram(i int) (PumpDiagram, []Datum, error) {
	d := r.state.drive[i]
	e := &r.Circuit.graph.edges[i]
	f := r.pump(r.Circuit.graph, i)
	out := PumpDiagram{Pump: e.part, Condition: r.state.Condition, Attitude: r.Attitude, Speed: d.speed, State: f.State, Works: water.Point{Flow: f.Flow, Head: f.Head}}
	most := d.flow * 2
	if d.curved {
		most, out.Stated = d.curve.MaxFlow(d.speed), curvePoints(e.channel.Pump.Curve)
	}
	flows := make([]unit.LitrePerMin, diagramPoints)
	for k := range flows {
		flows[k] = most * unit.LitrePerMin(float64(k)/float64(diagramPoints-1))
		switch {
		case d.curved:
			out.Curve = append(out.Curve, water.Point{Flow: flows[k], Head: d.curve.Head(flows[k], d.speed)})
		case k == 0 || k == diagramPoints-1: // the same flow at any head
			head := max(f.Head*2, 1)
			if d.limit > 0 {
				head = d.limit
			}
			if k == 0 {
				head = 0
			}
			out.Curve = append(out.Curve, water.Point{Flow: d.flow, Head: head})
		}
	}
	id, ok := r.edge[i]
	if !ok || r.stuck[i] != "" {
		return out, nil, nil
	}
	system, err := water.SystemCurve(r.net, r.model, id, flows)
	out.System = system
	return out, nil, err
}
