// Package dc solves the direct-current network of a boat: node voltages and
// branch currents in one condition, prospective short-circuit currents, hours
// of run, and the time in which a device clears.
//
// It knows numbered nodes and elements, no boats: whoever builds a [Network]
// keeps the table from terminals to nodes. It does no input or output and
// returns no findings; a network that has no answer ends in a [Failure] that
// names the node and element, never in a number.
package dc

import (
	"slices"

	"fitout/schema/unit"
)

// Node is one point of a network, numbered from 0 in the order of
// [Network.Node]. The zero value is the first node, not "none".
type Node int

// ID numbers the elements of a network from 0 in the order of [Network.Add].
type ID int

// None stands for the absent node or element in a [Failure].
const None = -1

// Network is a set of nodes and two- or four-terminal elements. The zero value
// is an empty network ready for use. It is not changed by solving.
type Network struct {
	nodes    int
	elements []Element
	grounds  []Node
}

// Node adds a node and returns its number.
func (n *Network) Node() Node {
	n.nodes++
	return Node(n.nodes - 1)
}

// Nodes adds count nodes and returns the first; the others follow it.
func (n *Network) Nodes(count int) Node {
	first := Node(n.nodes)
	n.nodes += count
	return first
}

// Ground asks for a node to stand at 0 V. Of several in one galvanically
// joined island the first asked for wins. An island without one takes the
// negative of its first battery, else of its first source or converter output.
func (n *Network) Ground(node Node) { n.grounds = append(n.grounds, node) }

// Add puts an element into the network and returns its number. Mistakes in it
// (a node that does not exist, a negative or infinite value) surface in Solve
// and Fault as a Failure of kind Invalid. An open contact is left out, not
// added with a large resistance.
func (n *Network) Add(e Element) ID {
	n.elements = append(n.elements, e)
	return ID(len(n.elements) - 1)
}

// Grow makes room for elements that will be added.
func (n *Network) Grow(elements int) { n.elements = slices.Grow(n.elements, elements) }

// Len gives the number of nodes and of elements.
func (n *Network) Len() (nodes, elements int) { return n.nodes, len(n.elements) }

// Element gives back what was added under an ID.
func (n *Network) Element(id ID) Element { return n.elements[id] }

// Element is one of EMF, Resistor, CurrentLoad, PowerLoad, ResistanceLoad,
// Source, Converter, Diode.
type Element interface{ element() }

// EMF is a battery: an electromotive force behind an internal resistance. It
// takes current as readily as it gives it. R may be zero (an ideal source);
// ideal sources in conflict are a Failure. Its current is positive out of Pos,
// that is when it discharges.
type EMF struct {
	Pos, Neg Node
	E        unit.Volt
	R        unit.Ohm
}

// Resistor is a conductor, contact, fuse, breaker or shunt. R of zero (or
// below MergeBelow) makes its ends one point; the currents of such links are
// those that equal, vanishing resistances would carry. Its current is positive
// from From to To.
type Resistor struct {
	From, To Node
	R        unit.Ohm
}

// MergeBelow is the resistance under which a resistor counts as a joint
// without resistance. At 1000 A it hides one microvolt.
const MergeBelow unit.Ohm = 1e-9

// CurrentLoad draws the same current at any voltage. A load the wrong way
// round, or without volts, draws as any load would: along the voltage, or not
// at all. Current is positive from Pos to Neg inside it.
type CurrentLoad struct {
	Pos, Neg Node
	I        unit.Amp
}

// PowerLoad draws the same power at any voltage; of its two solutions the one
// with the higher voltage is meant. Current is positive from Pos to Neg.
type PowerLoad struct {
	Pos, Neg Node
	P        unit.Watt
}

// ResistanceLoad is a heater, a lamp: a resistance that short-circuit studies
// remove, unlike a Resistor. Current is positive from Pos to Neg.
type ResistanceLoad struct {
	Pos, Neg Node
	R        unit.Ohm
}

// OfWatts gives the resistance of a load rated by voltage and power.
func OfWatts(v unit.Volt, p unit.Watt) unit.Ohm {
	return unit.Ohm(float64(v) * float64(v) / float64(p))
}

// OfAmps gives the resistance of a load rated by voltage and current.
func OfAmps(v unit.Volt, i unit.Amp) unit.Ohm { return unit.Ohm(float64(v) / float64(i)) }

// Output says how a source or converter behaves at its terminals: it holds V
// less Droop times its current, until it reaches MaxI or MaxP; then it gives
// that and lets the voltage fall. It never takes current.
//
// A device that holds current is one with MaxI and its voltage ceiling in V;
// one that holds power has MaxP. V of zero means no ceiling, and then a limit
// is needed.
type Output struct {
	V     unit.Volt
	Droop unit.Ohm
	MaxI  unit.Amp  // zero: no limit
	MaxP  unit.Watt // zero: no limit
}

// Source is an alternator, charger, solar panel or controller with its output
// limit. Leave out one that gives nothing. Current is positive out of Pos.
type Source struct {
	Pos, Neg Node
	Output   Output
}

// Converter takes from its input the power it gives at its output, divided by
// Efficiency (0 < Efficiency ≤ 1), and Idle. It is off when its input has no
// source. Unless Isolated, InNeg and OutNeg are one point inside it. Its
// current (Solution.Amps) is that of the output, positive out of OutPos; the
// input's is in Solution.InAmps, positive into InPos.
type Converter struct {
	InPos, InNeg   Node
	OutPos, OutNeg Node
	Output         Output
	Efficiency     unit.Ratio
	Idle           unit.Watt
	Isolated       bool
}

// Diode passes current from Anode to Cathode only, at a constant forward drop
// plus R times the current. Current is positive from Anode to Cathode.
type Diode struct {
	Anode, Cathode Node
	Drop           unit.Volt
	R              unit.Ohm
}

func (EMF) element()            {}
func (Resistor) element()       {}
func (CurrentLoad) element()    {}
func (PowerLoad) element()      {}
func (ResistanceLoad) element() {}
func (Source) element()         {}
func (Converter) element()      {}
func (Diode) element()          {}
