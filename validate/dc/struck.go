package dc

import (
	"math"

	"fitout/schema/unit"
)

// struck is a short that has been worked out: its result, and the currents
// drawn from one or two rows of the study.
type struck struct {
	Short
	rows  [2]int32
	drawn [2]float64
}

// bounded refuses a short that a source without a limit feeds: one that stands
// on the node's part of the network, on the return's, or between them.
func (s *study) bounded(node Node) *Failure {
	here, there := s.whole.find(int32(node)), s.whole.find(int32(s.ret))
	in := func(n Node) bool { g := s.whole.find(int32(n)); return g == here || g == there }
	for _, src := range s.f.sources {
		if src.endless && in(src.pos) && in(src.neg) {
			return &Failure{Cause: Invalid, Node: node, Element: src.id, Detail: "a source without a limit has no short-circuit current"}
		}
	}
	return nil
}

// at shorts one node.
func (s *study) at(node Node, shares bool) (*struck, *Failure) {
	if fail := s.bounded(node); fail != nil {
		return nil, fail
	}
	hit := &struck{rows: [2]int32{-1, -1}}
	if !s.joined(node) {
		s.byLimits(hit, node, None)
		return hit, nil
	}
	p := s.port(node)
	if p.row < 0 {
		if math.Abs(p.above) > agree {
			return nil, &Failure{Cause: Conflict, Node: node, Element: None, Detail: "a short across a source without internal resistance"}
		}
		return hit, nil
	}
	i := p.volt(s.idle) / s.factor.Inverse(int(p.row), int(p.row))
	hit.rows[0], hit.drawn[0] = p.row, i
	hit.Total = unit.Amp(i)
	if shares || !s.battery {
		s.shares(hit)
	}
	return hit, nil
}

// device shorts both ends of a resistor.
func (s *study) device(id ID, r Resistor, shares bool) (*struck, *Failure) {
	if fail := s.bounded(r.From); fail != nil {
		return nil, fail
	}
	hit := &struck{rows: [2]int32{-1, -1}}
	a, b := s.port(r.From), s.port(r.To)
	switch {
	case !s.joined(r.From):
		s.byLimits(hit, r.From, id)
		return hit, nil
	case r.R < MergeBelow:
		one, fail := s.at(r.From, shares)
		if fail == nil && one.Total != 0 {
			s.sides(one, id, r)
		}
		return one, fail
	case a.row < 0 || b.row < 0:
		one, fail := s.at(r.From, shares)
		if a.row < 0 && fail == nil {
			if one, fail = s.at(r.To, shares); fail == nil {
				one.ToSide = one.Total
			}
		} else if fail == nil {
			one.FromSide = one.Total
		}
		return one, fail
	}
	// Two ports: the potentials at rest divided by the resistances seen from
	// them. The device itself stays in; with both ends at the return it
	// carries nothing.
	zaa := s.factor.Inverse(int(a.row), int(a.row))
	zbb := s.factor.Inverse(int(b.row), int(b.row))
	zab := s.factor.Inverse(int(a.row), int(b.row))
	det := zaa*zbb - zab*zab
	va, vb := a.volt(s.idle), b.volt(s.idle)
	ia, ib := (zbb*va-zab*vb)/det, (zaa*vb-zab*va)/det
	hit.rows, hit.drawn = [2]int32{a.row, b.row}, [2]float64{ia, ib}
	hit.FromSide, hit.ToSide, hit.Total = unit.Amp(ia), unit.Amp(ib), unit.Amp(ia+ib)
	if shares || !s.battery {
		s.shares(hit)
	}
	return hit, nil
}

// shares lists what each source gives.
func (s *study) shares(hit *struck) {
	var joint []float64
	if s.f.ideal {
		joint = s.jointAmps(hit)
	}
	for k, src := range s.f.sources {
		if !s.joined(src.pos) || !s.joined(src.neg) {
			continue
		}
		i := src.limit
		switch {
		case src.g > 0:
			i = src.g * (src.e - s.fallen(k, hit))
		case src.limit == 0:
			i = joint[src.id]
		}
		if math.Abs(i) > 1e-9 {
			hit.Shares = append(hit.Shares, Share{src.id, unit.Amp(i)})
		}
	}
	if !s.battery && hit.Total != 0 {
		for _, sh := range hit.Shares {
			hit.LimitedBy = append(hit.LimitedBy, sh.Element)
		}
	}
}

// fallen gives the voltage over a battery in the short. What a current drawn
// anywhere does to it is the same as what a current through the battery does
// there (reciprocity), so one solution for each battery serves all shorts.
func (s *study) fallen(k int, hit *struck) float64 {
	src := s.f.sources[k]
	p, n := s.port(src.pos), s.port(src.neg)
	if s.reply[k] == nil {
		z := make([]float64, len(s.idle))
		if p.row >= 0 {
			z[p.row]++
		}
		if n.row >= 0 {
			z[n.row]--
		}
		s.factor.Solve(z)
		s.reply[k] = z
	}
	v := p.volt(s.idle) - n.volt(s.idle)
	for k2, row := range hit.rows {
		if row >= 0 {
			v -= s.reply[k][row] * hit.drawn[k2]
		}
	}
	return v
}

// state gives the potentials, by row, in the short.
func (s *study) state(hit *struck) []float64 {
	x := make([]float64, len(s.idle))
	for k, row := range hit.rows {
		if row >= 0 {
			x[row] += hit.drawn[k]
		}
	}
	s.factor.Solve(x)
	for i := range x {
		x[i] = s.idle[i] - x[i]
	}
	return x
}

// leaving gives the currents that conductors and sources take out of each
// node in the short, the short itself left out.
func (s *study) leaving(hit *struck) []float64 {
	x := s.state(hit)
	out := make([]float64, s.f.net.nodes)
	s.wires(func(w wire) {
		if s.joined(w.a) {
			i := w.g * (w.e - (s.port(w.a).volt(x) - s.port(w.b).volt(x)))
			out[w.a] -= i
			out[w.b] += i
		}
	})
	for _, src := range s.f.sources {
		if src.limit > 0 && s.joined(src.pos) && s.joined(src.neg) {
			out[src.pos] -= src.limit
			out[src.neg] += src.limit
		}
	}
	return out
}

// jointAmps gives the currents of batteries without resistance, by element.
func (s *study) jointAmps(hit *struck) []float64 {
	out := s.leaving(hit)
	for k, row := range hit.rows {
		if row >= 0 {
			for i, r := range s.row {
				if r == row {
					out[i] += hit.drawn[k]
				}
			}
			out[s.ret] -= hit.drawn[k]
		}
	}
	amps := make([]float64, len(s.f.net.elements))
	for k, i := range s.f.joints.share(out) {
		if l := s.f.joints.links[k]; l.id != None {
			amps[l.id] = -i
		}
	}
	return amps
}

// sides splits the current of a device without resistance by the side of the
// joint it arrives at.
func (s *study) sides(hit *struck, id ID, r Resistor) {
	part := newSets(s.f.net.nodes)
	for _, l := range s.f.joints.links {
		if l.id != id {
			part.join(int32(l.a), int32(l.b))
		}
	}
	from, to := part.find(int32(r.From)), part.find(int32(r.To))
	if from == to {
		hit.FromSide, hit.ToSide = hit.Total, hit.Total
		return
	}
	for n, i := range s.leaving(hit) {
		switch part.find(int32(n)) {
		case from:
			hit.FromSide -= unit.Amp(i)
		case to:
			hit.ToSide -= unit.Amp(i)
		}
	}
}

// byLimits adds up the sources between a node's part of the network and the
// return's, where no battery joins the two. With a device it says which side
// of it they stand on.
func (s *study) byLimits(hit *struck, node Node, device ID) {
	parts := s.whole
	if device != None {
		parts = newSets(s.f.net.nodes)
		for i := range parts {
			r, _ := s.f.joints.root(Node(i))
			if e, ok := s.f.net.elements[device].(Resistor); !ok || e.R >= MergeBelow {
				parts.join(int32(i), r)
			}
		}
		for _, l := range s.f.joints.links {
			if l.id != device {
				parts.join(int32(l.a), int32(l.b))
			}
		}
		for k, e := range s.f.net.elements {
			if r, ok := e.(Resistor); ok && ID(k) != device {
				parts.join(int32(r.From), int32(r.To))
			}
		}
		for _, b := range s.f.sources {
			if b.limit == 0 && !b.endless {
				parts.join(int32(b.pos), int32(b.neg))
			}
		}
		for k, d := range s.f.diodes {
			if !s.open[k] {
				parts.join(int32(d.Anode), int32(d.Cathode))
			}
		}
	}
	here, there := s.whole.find(int32(node)), s.whole.find(int32(s.ret))
	// One direction at a time: sources that oppose each other do not add.
	for _, sign := range [...]float64{1, -1} {
		var one struck
		for _, src := range s.f.sources {
			p, n := src.pos, src.neg
			if sign < 0 {
				p, n = n, p
			}
			if src.limit == 0 || s.whole.find(int32(p)) != here || s.whole.find(int32(n)) != there {
				continue
			}
			i := unit.Amp(src.limit)
			one.Total += i
			one.Shares = append(one.Shares, Share{src.id, unit.Amp(sign) * i})
			one.LimitedBy = append(one.LimitedBy, src.id)
			if device == None {
				continue
			}
			r := s.f.net.elements[device].(Resistor)
			side := parts.find(int32(p))
			if side == parts.find(int32(r.From)) {
				one.FromSide += i
			}
			if side == parts.find(int32(r.To)) {
				one.ToSide += i
			}
		}
		if one.Total > hit.Total {
			one.rows = hit.rows
			*hit = one
		}
	}
}

// flip changes the diode that least fits its state in a short; false when all
// of them fit.
func (s *study) flip(hit *struck, open []bool) bool {
	x := s.state(hit)
	worst, most := -1, 1e-9
	for k, d := range s.f.diodes {
		if !s.joined(d.Anode) || !s.joined(d.Cathode) {
			continue
		}
		v := s.port(d.Anode).volt(x) - s.port(d.Cathode).volt(x) - float64(d.Drop)
		if s.open[k] == (v > 0) && math.Abs(v) > most {
			worst, most = k, math.Abs(v)
		}
	}
	if worst < 0 {
		return false
	}
	open[worst] = !open[worst]
	return true
}
