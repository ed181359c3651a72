package survey

import (
	"slices"

	"fitout/schema"
	"fitout/validate/trace"
)

// LostRun returns what stops working when a wire breaks or a hose comes off; one
// of the two is nil. The cores of a cable break together.
func (s *Survey) LostRun(w *schema.Wire, h *schema.Hose) Loss {
	var l Loss
	stopped := map[*schema.Part]bool{}
	if w != nil {
		// as in fedWhere's other caller: what is not a conductor, a device or a
		// contact at rest lets no current through
		lets := []trace.EdgeType{trace.Conductor, trace.Contact, trace.Device, trace.Series}
		open := func(e *trace.Edge, broken bool) bool {
			return !slices.Contains(lets, e.Type) || e.Type == trace.Contact && !atRest(e) ||
				broken && e.Type == trace.Conductor && (e.Wire == w || w.Cable != "" && e.Wire.Cable == w.Cable)
		}
		before := s.fedWhere(nil, func(e *trace.Edge) bool { return open(e, false) })
		after := s.fedWhere(nil, func(e *trace.Edge) bool { return open(e, true) })
		for _, q := range s.Boat.Parts {
			if before[q] && !after[q] {
				l.Dead = append(l.Dead, q)
				stopped[q] = true
			}
		}
	}
	wet, dry := s.wet(nil, nil), s.wet(stopped, h)
	for _, q := range s.Boat.Parts {
		if wet[q] && !dry[q] {
			l.Dry = append(l.Dry, q)
		}
	}
	return l
}
