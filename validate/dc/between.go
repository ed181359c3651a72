package dc

import (
	"math"

	"fitout/schema/unit"
)

// Line is a dead short between two nodes of one network, with the potentials it
// leaves behind.
type Line struct {
	Total unit.Amp
	// LimitedBy names the sources where only limited ones feed it.
	LimitedBy []ID
	after     []float64
	study     *study
}

// Between gives the current of a dead short from a to b, both taken from one
// network whose potentials count from ret: a short at the far end of a run,
// through the run's own return. Where the three do not hang together the answer
// is that of At.
func (f *Faults) Between(a, b, ret Node) (*Line, error) {
	if fail := f.exist(a, b, ret); fail != nil {
		return nil, fail
	}
	s, fail := f.study(ret, make([]bool, len(f.diodes)))
	if fail != nil {
		return nil, fail
	}
	if !s.joined(a) || !s.joined(b) {
		one, err := f.At(a, b)
		return &Line{Total: one.Total, LimitedBy: one.LimitedBy}, err
	}
	if fail := s.bounded(a); fail != nil {
		return nil, fail
	}
	pa, pb := s.port(a), s.port(b)
	z := make([]float64, len(s.idle))
	if pa.row >= 0 {
		z[pa.row]++
	}
	if pb.row >= 0 {
		z[pb.row]--
	}
	s.factor.Solve(z)
	at := func(p port) float64 {
		if p.row < 0 {
			return 0
		}
		return z[p.row]
	}
	r := at(pa) - at(pb)
	l := &Line{study: s, after: s.idle}
	if r <= 0 {
		return l, nil
	}
	i := (pa.volt(s.idle) - pb.volt(s.idle)) / r
	l.Total = unit.Amp(i)
	for k := range z {
		z[k] = s.idle[k] - i*z[k]
	}
	l.after = z
	return l, nil
}

// Amps is the current of a resistor while the short stands, from From to To; ok
// is false for one without resistance, and where the short is fed by limited
// sources alone.
func (l *Line) Amps(id ID) (amps unit.Amp, ok bool) {
	if l.study == nil || id < 0 {
		return 0, false
	}
	r, is := l.study.f.net.elements[id].(Resistor)
	if !is || r.R < MergeBelow || !l.study.joined(r.From) {
		return 0, false
	}
	v := l.study.port(r.From).volt(l.after) - l.study.port(r.To).volt(l.after)
	return unit.Amp(v / float64(r.R)), true
}

// AtLeast is a current that a dead short from a to b cannot be below, from the
// resistances seen from both alone; 0 where nothing is known without solving.
// It costs next to nothing.
func (f *Faults) AtLeast(a, b, ret Node) unit.Amp {
	if f.exist(a, b, ret) != nil || len(f.diodes) > 0 {
		return 0
	}
	s, fail := f.study(ret, nil)
	if fail != nil || !s.joined(a) || !s.joined(b) || s.bounded(a) != nil {
		return 0
	}
	root := func(p port) float64 {
		if p.row < 0 {
			return 0
		}
		return math.Sqrt(math.Max(0, s.factor.Inverse(int(p.row), int(p.row))))
	}
	pa, pb := s.port(a), s.port(b)
	r := root(pa) + root(pb)
	if r <= 0 {
		return 0
	}
	return unit.Amp(math.Max(0, (pa.volt(s.idle)-pb.volt(s.idle))/(r*r)))
}
