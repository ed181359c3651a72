package water

import "fitout/schema/unit"

// SystemCurve returns the head that a network asks of one pump at each flow,
// the others running as they do: the curve to draw against the pump's own.
// Where water cannot pass at a flow the points end. The error is a *Failure.
func SystemCurve(n *Network, m Model, pump EdgeID, flows []unit.LitrePerMin) ([]Point, error) {
	if n.fault != nil {
		return nil, n.fault
	}
	if pump < 0 || int(pump) >= len(n.edges) || n.edges[pump].kind != pumpEdge && n.edges[pump].kind != fixedEdge {
		return nil, &Failure{Reason: BadInput, Node: None, Edge: pump, Detail: "no running pump"}
	}
	with := Network{nodes: n.nodes, edges: append([]edge(nil), n.edges...)}
	var curve []Point
	for _, q := range flows {
		if q < 0 || unsound(float64(q)) {
			return nil, &Failure{Reason: BadInput, Node: None, Edge: pump, Detail: "a flow of 0 or more is needed"}
		}
		e := &with.edges[pump]
		*e = edge{kind: fixedEdge, from: e.from, to: e.to, flow: cubic(q), bore: e.bore}
		s, err := Solve(&with, m)
		if err != nil {
			return nil, err
		}
		st := s.Edges[pump]
		if st.Pump != Runs || !st.Known {
			break
		}
		curve = append(curve, Point{Flow: q, Head: -st.Loss})
	}
	return curve, nil
}
