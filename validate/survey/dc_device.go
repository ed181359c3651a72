package survey

import (
	"fitout/schema/unit"
	"fitout/validate/tables"
	"fitout/validate/trace"
)

// InterruptOf is the current a DC device can break: as stated, else the usual one
// of its family at the voltage of its place, with its source; ok is false where
// neither is known.
func (s *Survey) InterruptOf(e *trace.Edge) (amps unit.Amp, source string, ok bool) {
	d := e.Branch.Device
	if d.Interrupt.Given() {
		return d.Interrupt.V, "", true
	}
	f, known := tables.FuseFamily(d.Family)
	if !known {
		return 0, "", false
	}
	volts, known := s.FaultVolts(e)
	if !known {
		return 0, "", false
	}
	if amps, ok = f.Interrupt(volts); ok {
		return amps, "usual for " + d.Family + ", " + f.Cite.String(), true
	}
	return 0, "", false
}

// Interrupt is InterruptOf without its source.
func (s *Survey) Interrupt(e *trace.Edge) (unit.Amp, bool) {
	a, _, ok := s.InterruptOf(e)
	return a, ok
}

// FaultVolts is the open-circuit voltage that drives a short at a device: of the
// full batteries between the lowest joint and the highest there, else the nominal
// voltage.
func (s *Survey) FaultVolts(e *trace.Edge) (unit.Volt, bool) {
	if v := s.AtRest().Span(e.A); v > 0 {
		return v * unit.Volt(s.restShare()), true
	}
	return s.NominalVolts(e)
}

// restShare is the open-circuit voltage of the full batteries over the highest
// they are charged at, 1 without any.
func (s *Survey) restShare() float64 {
	if s.fullShare > 0 {
		return s.fullShare
	}
	sum, count := 0.0, 0
	for _, b := range s.Batteries() {
		if high := float64(HighestVolts(b)); high > 0 {
			sum += float64(s.HighestEMF(b)) / high
			count++
		}
	}
	s.fullShare = 1
	if count > 0 {
		s.fullShare = sum / float64(count)
	}
	return s.fullShare
}

// EdgeID is the number of an edge of the net, -1 for one that is not of it.
func (s *Survey) EdgeID(e *trace.Edge) int {
	if s.edgeIDs == nil {
		s.edgeIDs = make(map[*trace.Edge]int, len(s.Net.Edges))
		for i := range s.Net.Edges {
			s.edgeIDs[&s.Net.Edges[i]] = i
		}
	}
	if id, ok := s.edgeIDs[e]; ok {
		return id
	}
	return -1
}
