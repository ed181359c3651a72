package dc

import (
	"fmt"
	"math"

	"fitout/schema/unit"
)

// Mode tells in which way an element works in a solution.
type Mode uint8

// Modes of an element.
const (
	Working      Mode = iota // as its law says: batteries, conductors, loads
	Regulating               // a source or converter that holds its voltage; a diode that conducts
	CurrentLimit             // a source or converter at its current limit
	PowerLimit               // a source or converter at its power limit
	Off                      // a source or converter that meets a higher voltage, a diode that blocks
	Unfed                    // a load or converter without a closed way to a source, or with no volts
)

var modeNames = [...]string{"working", "regulating", "at its current limit", "at its power limit", "off", "unfed"}

func (m Mode) String() string { return modeNames[m] }

// Solution is the steady state of a network.
type Solution struct {
	// Amps has one current for each element, signed as its type says.
	Amps []unit.Amp
	// InAmps has the input current of each converter, zero for other elements.
	InAmps []unit.Amp
	// Modes has the way each element works.
	Modes []Mode
	// Islands lists the groups of nodes that no source reaches. They have no
	// volts. Groups and nodes stand in rising order.
	Islands [][]Node
	// References lists the nodes at 0 V, one for each island with a source.
	References []Node

	// Iterations counts the linear solutions that were needed.
	Iterations int
	// Residual is the largest sum of currents left over at a node, WorstNode
	// that node (None in a network without sources).
	Residual  unit.Amp
	WorstNode Node
	// Supplied is the power given by batteries (at their EMF) and sources, Used
	// what loads, converters, losses and batteries on charge take.
	Supplied, Used unit.Watt

	volts []float64 // NaN where no source reaches
}

// Volts gives the voltage of a node against the reference of its island, and
// false where no source reaches it.
func (s *Solution) Volts(n Node) (unit.Volt, bool) {
	v := s.volts[n]
	return unit.Volt(v), !math.IsNaN(v)
}

// Across gives the voltage from a to b, and false unless both have volts.
// Between islands with references of their own it means nothing.
func (s *Solution) Across(a, b Node) (unit.Volt, bool) {
	v := s.volts[a] - s.volts[b]
	return unit.Volt(v), !math.IsNaN(v)
}

// Imbalance is the difference of power supplied and used as a share of the
// larger; under a microwatt it counts as none.
func (s *Solution) Imbalance() float64 {
	d := math.Abs(float64(s.Supplied - s.Used))
	if d < 1e-6 {
		return 0
	}
	return d / math.Max(math.Abs(float64(s.Supplied)), math.Abs(float64(s.Used)))
}

// Cause is why a network has no solution.
type Cause uint8

// Causes of a Failure.
const (
	// Invalid: an element with an impossible value or a node that is not there.
	Invalid Cause = iota
	// Conflict: ideal sources and joints without resistance contradict each
	// other, such as a battery without internal resistance shorted.
	Conflict
	// Collapse: loads ask for more than their supply can give at any voltage.
	Collapse
	// Singular: the voltage of a node is not determined.
	Singular
	// NoConvergence: the iteration did not settle.
	NoConvergence
)

var causeNames = [...]string{"invalid element", "sources in conflict", "voltage collapse", "undetermined voltage", "no convergence"}

func (c Cause) String() string { return causeNames[c] }

// Failure says that a network has no solution and where. It is the only error
// type of this package's solvers.
type Failure struct {
	Cause   Cause
	Node    Node    // None where an element says it all
	Element ID      // None where a node says it all
	Reached float64 // Collapse: the share of the loads up to which there is a solution
	Detail  string  // what, in words, without names
}

// Error describes the failure by numbers; callers put names in their place.
func (f *Failure) Error() string {
	s := f.Cause.String()
	if f.Element != None {
		s += fmt.Sprintf(" at element %d", f.Element)
	}
	if f.Node != None {
		s += fmt.Sprintf(" at node %d", f.Node)
	}
	if f.Detail != "" {
		s += ": " + f.Detail
	}
	return s
}
