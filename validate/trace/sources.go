package trace

import (
	"fitout/schema"
	"fitout/schema/unit"
)

// findSources lists every terminal that can push current: batteries, limited
// sources, each output of a converter, and each converter input that a source
// sits behind.
func (n *Net) findSources() {
	for id := range n.Edges {
		e := &n.Edges[id]
		switch e.Type {
		case Battery:
			n.batterySource(id, e)
		case Feed:
			n.feedSource(id, e)
		case ConvertIn:
			n.convertSources(id, e)
		}
	}
	n.byNode = make([][]int, len(n.Nodes))
	for i, s := range n.Sources {
		n.byNode[s.Node] = append(n.byNode[s.Node], i)
	}
}

// batterySource adds the positive post, and the negative one too where the
// system is insulated: neither pole grounded.
func (n *Net) batterySource(id int, e *Edge) {
	s := Source{Node: e.A, Part: e.Part, Edge: id, Terminal: e.Branch.A, Medium: schema.DC, Unlimited: true}
	n.Sources = append(n.Sources, s)
	if !n.Nodes[e.B].Grounded && n.insulated(e.B) {
		s.Node, s.Terminal = e.B, e.Branch.B
		n.Sources = append(n.Sources, s)
	}
}

// insulated reports whether no way from a negative post, down through further
// batteries of its string, leads to ground.
func (n *Net) insulated(post int) bool {
	seen := map[int]bool{}
	stack := []int{post}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if seen[v] {
			continue
		}
		seen[v] = true
		if n.Nodes[v].Grounded {
			return false
		}
		for _, id := range n.Nodes[v].Edges {
			e := &n.Edges[id]
			if e.Passes() || e.Type == Device {
				stack = append(stack, e.Other(v))
			} else if e.Type == Battery && e.A == v {
				stack = append(stack, e.B)
			}
		}
	}
	return true
}

func (n *Net) feedSource(id int, e *Edge) {
	f := e.Branch.Feed
	s := Source{Node: e.A, Part: e.Part, Edge: id, Terminal: e.Branch.A, Medium: e.Medium, BuiltIn: f.BuiltIn,
		SelfLimiting: f.SelfLimiting.Given() && f.SelfLimiting.V}
	// A solar panel or controller limits itself; only one that says otherwise is
	// asked for a device of its own.
	limits := f.Needs == "sun" || f.Needs == "input"
	s.Charging = e.Part.Is(schema.Charging) && e.Medium == schema.DC && (!limits || f.SelfLimiting.Given() && !f.SelfLimiting.V)
	switch {
	case e.Medium == schema.AC && !s.SelfLimiting:
		s.Unlimited = true
	case f.Amps.Given():
		s.Amps, s.Known = f.Amps.V, true
	case len(f.BySpeed) > 0:
		for _, p := range f.BySpeed {
			s.Amps = max(s.Amps, unit.Amp(p.Y))
		}
		s.Known = true
	case f.Watts.Given() && f.Volts.Given() && f.Volts.V > 0:
		s.Amps, s.Known = unit.Amp(float64(f.Watts.V)/float64(f.Volts.V)), true
	default:
		s.Missing = "output of " + e.Part.ID
	}
	n.addLimited(s)
}

// addLimited takes a device inside the source into its limit.
func (n *Net) addLimited(s Source) {
	if d := s.BuiltIn; d != nil && d.Rating.Given() && (!s.Known && !s.Unlimited || s.Unlimited || d.Rating.V < s.Amps) {
		s.Unlimited, s.Amps, s.Known, s.Missing = false, d.Rating.V, true, ""
	}
	n.Sources = append(n.Sources, s)
}

func (n *Net) convertSources(id int, e *Edge) {
	c := e.Branch.Convert
	out := n.Node(e.Part, c.OutA)
	s := Source{Node: out, Part: e.Part, Edge: id, Terminal: c.OutA, Medium: schema.DC, BuiltIn: c.BuiltIn, Charging: true,
		SelfLimiting: c.SelfLimiting.Given() && c.SelfLimiting.V}
	switch {
	case c.Amps.Given():
		s.Amps, s.Known = c.Amps.V, true
	case c.Watts.Given() && c.Volts.Given() && c.Volts.V > 0:
		s.Amps, s.Known = unit.Amp(float64(c.Watts.V)/float64(c.Volts.V)), true
	default:
		s.Missing = "output of " + e.Part.ID
	}
	n.addLimited(s)
	if c.Isolated || !n.batteryBehind(out) {
		return
	}
	// What sits behind the output can push back through a converter that is not
	// isolated, at most what the converter can carry.
	s.Node, s.Terminal, s.Back, s.Charging, s.BuiltIn = e.A, e.Branch.A, true, false, nil
	if s.Known && c.Volts.Given() && c.InVolts.Given() && c.InVolts.V > 0 {
		s.Amps = unit.Amp(float64(s.Amps) * float64(c.Volts.V) / float64(c.InVolts.V))
	}
	n.Sources = append(n.Sources, s)
}

// batteryBehind reports whether a battery's positive can be reached from a node
// through conductors, contacts and devices.
func (n *Net) batteryBehind(start int) bool {
	seen := map[int]bool{}
	stack := []int{start}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if seen[v] || n.Nodes[v].Grounded {
			continue
		}
		seen[v] = true
		for _, id := range n.Nodes[v].Edges {
			e := &n.Edges[id]
			if e.Type == Battery && e.A == v {
				return true
			}
			if e.Passes() || e.Type == Device {
				stack = append(stack, e.Other(v))
			}
		}
	}
	return false
}
