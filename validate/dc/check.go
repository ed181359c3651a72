package dc

import "math"

// check looks for impossible values and for nodes that do not exist.
func check(n *Network) *Failure {
	for _, g := range n.grounds {
		if g < 0 || int(g) >= n.nodes {
			return &Failure{Cause: Invalid, Node: g, Element: None, Detail: "ground at a node that does not exist"}
		}
	}
	for k, e := range n.elements {
		t, count := terminals(e)
		for _, node := range t[:count] {
			if node < 0 || int(node) >= n.nodes {
				return &Failure{Cause: Invalid, Node: node, Element: ID(k), Detail: "node does not exist"}
			}
		}
		if what := impossible(e); what != "" {
			return &Failure{Cause: Invalid, Node: None, Element: ID(k), Detail: what}
		}
	}
	return nil
}

// terminals gives the nodes of an element, two or four: its pair, then a
// converter's output.
func terminals(e Element) (t [4]Node, count int) {
	switch e := e.(type) {
	case EMF:
		return [4]Node{e.Pos, e.Neg}, 2
	case Resistor:
		return [4]Node{e.From, e.To}, 2
	case CurrentLoad:
		return [4]Node{e.Pos, e.Neg}, 2
	case PowerLoad:
		return [4]Node{e.Pos, e.Neg}, 2
	case ResistanceLoad:
		return [4]Node{e.Pos, e.Neg}, 2
	case Source:
		return [4]Node{e.Pos, e.Neg}, 2
	case Converter:
		return [4]Node{e.InPos, e.InNeg, e.OutPos, e.OutNeg}, 4
	case Diode:
		return [4]Node{e.Anode, e.Cathode}, 2
	}
	return t, 0
}

// first is the first node of an element.
func first(e Element) Node {
	t, _ := terminals(e)
	return t[0]
}

// impossible names what is wrong with the values of an element.
func impossible(e Element) string {
	switch e := e.(type) {
	case EMF:
		if !finite(float64(e.E)) {
			return "electromotive force is not a number"
		}
		if !notNegative(float64(e.R)) {
			return "internal resistance is negative or infinite"
		}
	case Resistor:
		if !notNegative(float64(e.R)) {
			return "resistance is negative or infinite"
		}
	case CurrentLoad:
		if !notNegative(float64(e.I)) {
			return "current of a load is negative or infinite"
		}
	case PowerLoad:
		if !notNegative(float64(e.P)) {
			return "power of a load is negative or infinite"
		}
	case ResistanceLoad:
		if !notNegative(float64(e.R)) || e.R == 0 {
			return "resistance of a load is zero, negative or infinite"
		}
	case Source:
		return impossibleOutput(e.Output)
	case Converter:
		if !(e.Efficiency > 0 && e.Efficiency <= 1) {
			return "efficiency is not between 0 and 1"
		}
		if !notNegative(float64(e.Idle)) {
			return "idle power is negative or infinite"
		}
		return impossibleOutput(e.Output)
	case Diode:
		if !notNegative(float64(e.Drop)) || !notNegative(float64(e.R)) {
			return "drop or resistance of a diode is negative or infinite"
		}
	default:
		return "unknown element"
	}
	return ""
}

func impossibleOutput(o Output) string {
	switch {
	case !notNegative(float64(o.V)):
		return "output voltage is negative or infinite"
	case !notNegative(float64(o.Droop)):
		return "droop is negative or infinite"
	case !notNegative(float64(o.MaxI)) || !notNegative(float64(o.MaxP)):
		return "output limit is negative or infinite"
	case o.V == 0 && o.MaxI == 0 && o.MaxP == 0:
		return "output has neither voltage nor limit"
	}
	return ""
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func notNegative(x float64) bool { return finite(x) && x >= 0 }
