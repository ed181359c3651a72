package survey

import (
	"errors"
	"slices"

	"fitout/schema"
	"fitout/schema/unit"
	"fitout/validate/tables"
)

// Sets returns the rule sets the boat is judged by, us first.
func (s *Survey) Sets() []tables.Set {
	var sets []tables.Set
	if s.Boat.Rules.US() {
		sets = append(sets, tables.US)
	}
	if s.Boat.Rules.ISO() {
		sets = append(sets, tables.ISO)
	}
	return sets
}

// Binding reports whether 33 CFR 183 subpart I binds the boat: a permanently
// installed petrol engine, told by the fuel of the engine spaces or engines.
func (s *Survey) Binding() bool {
	for _, sp := range s.Boat.Spaces {
		if sp.Engine.V && sp.Fuel.V == "petrol" {
			return true
		}
	}
	for _, p := range s.Boat.Parts {
		if !p.Prepared && p.Is(schema.Engine) && p.Word("fuel").V == "petrol" {
			return true
		}
	}
	return false
}

// LawSource completes a paragraph of 33 CFR 183: "33 CFR 183.455(b)" where it
// binds, "… as practice" elsewhere.
func (s *Survey) LawSource(paragraph string) string {
	if s.Binding() {
		return "33 CFR " + paragraph
	}
	return "33 CFR " + paragraph + " as practice"
}

// Spaces returns the spaces a conductor passes: those of its ends, those it
// names and those of its loom, each once.
func (s *Survey) Spaces(w *schema.Wire) []*schema.Space {
	var list []*schema.Space
	add := func(sp *schema.Space) {
		if sp == nil {
			return
		}
		for _, have := range list {
			if have == sp {
				return
			}
		}
		list = append(list, sp)
	}
	for _, p := range []*schema.Part{w.From.Part, w.To.Part} {
		if p != nil {
			add(p.Space)
		}
	}
	for _, id := range w.Through {
		add(s.Boat.Space(id.V))
	}
	if l := s.loom(w); l != nil {
		for _, id := range l.Spaces {
			add(s.Boat.Space(id.V))
		}
	}
	return list
}

func (s *Survey) loom(w *schema.Wire) *schema.Loom {
	if !w.Loom.Given() {
		return nil
	}
	for i := range s.Boat.Looms {
		if s.Boat.Looms[i].ID == w.Loom.V {
			return &s.Boat.Looms[i]
		}
	}
	return nil
}

// InEngineSpace reports whether any part of the run lies in an engine space.
func (s *Survey) InEngineSpace(w *schema.Wire) bool {
	for _, sp := range s.Spaces(w) {
		if sp.Engine.V {
			return true
		}
	}
	return false
}

// hotAmbient is the air temperature from which a stated ambient outside an
// engine space is derated: the temperature the engine-space factors of 33 CFR
// 183 Table 5 stand for. The law corrects for engine spaces only.
const hotAmbient unit.Celsius = 50

func (s *Survey) ambient(w *schema.Wire) unit.Celsius {
	hottest := unit.Celsius(0)
	for _, sp := range s.Spaces(w) {
		if sp.Ambient.Given() && sp.Ambient.V >= hotAmbient {
			hottest = max(hottest, sp.Ambient.V)
		}
	}
	return hottest
}

// countLooms counts the current-carrying conductors of each loom: a run that goes
// on through a splice is one of them, and what lies in the loom for less than the
// length from which bundling counts is none.
func (s *Survey) countLooms() {
	s.loomCount = map[string]int{}
	counted := map[*schema.Wire]bool{}
	for _, w := range s.Boat.Wires {
		if !w.Loom.Given() || w.Prepared || !carries(w) || counted[w] {
			continue
		}
		run := s.inLoom(w)
		length, known := unit.Metre(0), true
		side := 0
		for _, x := range run {
			counted[x] = true
			length += x.Length.V
			known = known && x.Length.Given()
			side = max(side, x.Parallel.Or(1), 1)
		}
		if !known || length > tables.BundleLength || w.Medium == schema.AC {
			s.loomCount[w.Loom.V] += side
		}
	}
}

// inLoom lists the stretches of one loom that a splice joins to a run.
func (s *Survey) inLoom(w *schema.Wire) []*schema.Wire {
	run := []*schema.Wire{w}
	for i := 0; i < len(run); i++ {
		for _, end := range []schema.End{run[i].From, run[i].To} {
			next := s.spliced(run[i], end)
			if next != nil && next.Loom.V == w.Loom.V && !next.Prepared && carries(next) && !slices.Contains(run, next) {
				run = append(run, next)
			}
		}
	}
	return run
}

// carries reports whether a conductor carries load current: earths and signals
// do not count in a bundle.
func carries(w *schema.Wire) bool {
	return w.Core != "PE" && w.Carries.V != "signal" && !w.Implied
}

// Bundled returns how many current-carrying conductors are to be derated
// together with the run, 0 where none are.
func (s *Survey) Bundled(w *schema.Wire) int {
	volts := unit.Volt(12)
	if w.Medium == schema.AC {
		volts = 120
	}
	byLaw := s.Boat.Rules.Bundling.V == "law"
	if l := s.loom(w); l != nil && tables.Bundles(byLaw, volts, s.together(l)) {
		return s.loomCount[l.ID]
	}
	return 0
}

// together is how long the wires of a loom lie together: its `longest`, else the
// longest of its wires, which can only be more.
func (s *Survey) together(l *schema.Loom) unit.Metre {
	if l.Longest.Given() {
		return l.Longest.V
	}
	longest := unit.Metre(0)
	for _, w := range s.Boat.Wires {
		if w.Loom.V != l.ID || w.Prepared {
			continue
		}
		if !w.Length.Given() {
			return unit.Metre(1e3)
		}
		longest = max(longest, w.Length.V)
	}
	return longest
}

// Ampacity returns what one conductor of the run may carry under a set,
// corrected for engine space, ambient and loom. missing names the datum where
// the table cannot answer.
func (s *Survey) Ampacity(w *schema.Wire, set tables.Set) (a tables.Ampacity, missing string) {
	if !w.Size.Given() || w.Size.V.IsZero() {
		return a, "size of wire " + w.Ref()
	}
	run := tables.Run{Size: w.Size.V, Insulation: w.Insulation.Or(0), EngineSpace: s.InEngineSpace(w), Ambient: s.ambient(w), Bundled: s.Bundled(w)}
	a, err := tables.AmpacityOf(set, run)
	switch {
	case err == nil:
		return a, ""
	case errors.Is(err, tables.ErrTooThin):
		return a, "ampacity of " + w.Size.V.Name() + " (thinner than the table of wire " + w.Ref() + "'s set)"
	default:
		return a, "insulation of wire " + w.Ref() + " in a table of the set"
	}
}
