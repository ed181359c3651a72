package dc

import (
	"math"

	"fitout/schema/unit"
)

// report turns a state into a solution: currents of all elements, those of
// joints recovered, and the checks on it.
func (s *system) report(x []float64) *Solution {
	n := s.net
	sol := &Solution{
		Amps:      make([]unit.Amp, len(n.elements)),
		InAmps:    make([]unit.Amp, len(n.elements)),
		Modes:     make([]Mode, len(n.elements)),
		Islands:   s.top.islands,
		WorstNode: None, References: s.top.references,
		volts: make([]float64, n.nodes),
	}
	for i, p := range s.ports {
		sol.volts[i] = math.NaN()
		if s.top.live[i] {
			sol.volts[i] = p.volt(x)
		}
	}
	for k, e := range n.elements {
		switch e.(type) {
		case CurrentLoad, PowerLoad, Converter:
			if !s.top.fed[k] {
				sol.Modes[k] = Unfed
			}
		case ResistanceLoad:
			if !s.top.live[first(e)] {
				sol.Modes[k] = Unfed
			}
		}
	}
	for k := range s.parts {
		p := &s.parts[k]
		sol.Modes[p.id] = p.mode
		out, in := p.amps(x)
		sol.Amps[p.id], sol.InAmps[p.id] = unit.Amp(out), unit.Amp(in)
	}
	s.recover(sol)
	s.balance(sol)
	return sol
}

// amps gives the current of a part as its element counts it, and a
// converter's input.
func (p *part) amps(x []float64) (out, in float64) {
	v := p.a.volt(x) - p.b.volt(x)
	switch p.law {
	case conductor:
		return p.g * (p.e - v), 0
	case current:
		return p.draw * p.sense, 0
	case power:
		return p.draw / v, 0
	}
	out = x[p.row]
	if p.converter {
		in = (math.Max(out*v, 0)*p.gain + p.idle) / (p.c.volt(x) - p.d.volt(x))
	}
	return out, in
}

// recover finds the currents of joints and the worst sum of currents.
func (s *system) recover(sol *Solution) {
	leaving := make([]float64, s.net.nodes)
	for k, e := range s.net.elements {
		i := float64(sol.Amps[k])
		t, _ := terminals(e)
		switch e.(type) {
		case EMF, Source:
			leaving[t[0]] -= i
			leaving[t[1]] += i
		case Converter:
			in := float64(sol.InAmps[k])
			leaving[t[0]] += in
			leaving[t[1]] -= in
			leaving[t[2]] -= i
			leaving[t[3]] += i
		default:
			leaving[t[0]] += i
			leaving[t[1]] -= i
		}
	}
	for k, i := range s.top.share(leaving) {
		l := s.top.links[k]
		leaving[l.a] += i
		leaving[l.b] -= i
		if l.id == None {
			continue
		}
		if _, is := s.net.elements[l.id].(EMF); is {
			i = -i
		}
		sol.Amps[l.id] = unit.Amp(i)
	}
	for node, sum := range leaving {
		if s.top.live[node] && (sol.WorstNode == None || math.Abs(sum) > float64(sol.Residual)) {
			sol.Residual, sol.WorstNode = unit.Amp(math.Abs(sum)), Node(node)
		}
	}
}

// balance adds up power by each element's own law, not by its terminals, so
// that it fails where currents and voltages do not belong together.
func (s *system) balance(sol *Solution) {
	give := func(w float64) {
		if w >= 0 {
			sol.Supplied += unit.Watt(w)
		} else {
			sol.Used -= unit.Watt(w)
		}
	}
	droop := make([]float64, len(s.net.elements)) // as solved, see spread
	for k := range s.parts {
		droop[s.parts[k].id] = s.parts[k].r
	}
	for k, e := range s.net.elements {
		i := float64(sol.Amps[k])
		v := func(a, b Node) float64 { return sol.volts[a] - sol.volts[b] }
		switch e := e.(type) {
		case EMF:
			give(float64(e.E) * i)
			give(-i * i * float64(e.R))
		case Resistor:
			if e.R >= MergeBelow {
				give(-i * i * float64(e.R))
			}
		case ResistanceLoad:
			give(-i * i * float64(e.R))
		case CurrentLoad:
			if sol.Modes[k] != Unfed {
				give(-math.Abs(float64(e.I) * v(e.Pos, e.Neg)))
			}
		case PowerLoad:
			if sol.Modes[k] != Unfed {
				give(-float64(e.P))
			}
		case Source:
			give(v(e.Pos, e.Neg) * i)
		case Diode:
			if i != 0 {
				give(-i * (float64(e.Drop) + i*droop[k]))
			}
		case Converter:
			if sol.Modes[k] != Unfed {
				out := i * v(e.OutPos, e.OutNeg)
				give(-(math.Max(out, 0)/float64(e.Efficiency) + float64(e.Idle) - out))
			}
		}
	}
}
