package dc

import "fitout/schema/unit"

// Faults answers short-circuit questions about one network. Loads and
// converter inputs are removed, batteries feed in full behind their
// resistance, every other source gives its limit. The caller builds the network
// with the resistances of the case (cold copper; high or low end of the
// batteries' internal resistance). Not for use from several goroutines at once.
type Faults struct {
	net *Network
}

// NewFaults prepares a study. The error, if any, is a *Failure.
func NewFaults(n *Network) (*Faults, error) { return &Faults{net: n}, nil }

// Short is the result of a dead short.
type Short struct {
	// Total is the current from the fault point into the return.
	Total unit.Amp
	// FromSide and ToSide are the parts of it that come through a device from
	// its first and second terminal (Faults.Device only). The duty of a device
	// is the larger, see Duty.
	FromSide, ToSide unit.Amp
	// Shares has the current of each source in the short, by element. The
	// batteries of a series string each carry the same current.
	Shares []Share
	// LimitedBy names the sources when only limited ones feed the short; then
	// Total is the sum of their limits.
	LimitedBy []ID
}

// Share is what one battery, source or converter output gives in a short.
type Share struct {
	Element ID
	Amps    unit.Amp
}

// Duty is the larger of the two currents a device may have to break.
func (s Short) Duty() unit.Amp { return max(s.FromSide, s.ToSide) }

// At gives the current of a dead short from a node to a return node.
func (f *Faults) At(node, ret Node) (Short, error) { return Short{}, nil }

// Device gives the current of a dead short at a device (an element with two
// terminals), the device being a link without resistance.
func (f *Faults) Device(id ID, ret Node) (Short, error) { return Short{}, nil }

// Fault gives the current of a single dead short; a study of many is cheaper
// with NewFaults.
func Fault(n *Network, node, ret Node) (Short, error) {
	f, err := NewFaults(n)
	if err != nil {
		return Short{}, err
	}
	return f.At(node, ret)
}
