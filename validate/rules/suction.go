package rules

import (
	"slices"

	"fitout/schema"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// suction is the way of sea water from a hull opening to what draws it.
type suction struct {
	mouth *trace.Mouth
	path  []trace.Step // from the opening to the inlet
}

// suctions returns the ways by which a joint draws from the sea, not through
// pumps, equipment, tanks or basins; a discharge with equipment behind it is no
// intake.
func (c *Context) suctions(inlet int) []suction {
	sea := c.Sea()
	t := sea.Walk([]int{inlet}, c.suctionWalk(inlet))
	var out []suction
	for _, m := range seaAt(sea, t) {
		if s := m.Part.Word("service"); s.Given() && s.V != "intake" {
			continue
		}
		path := slices.Clone(t.Path(t.Find(m.Node)))
		out = append(out, suction{m, reversed(path)})
	}
	return out
}

// suctionWalk goes against the flow from an inlet to the sea.
func (c *Context) suctionWalk(inlet int) trace.Walk {
	sea := c.Sea()
	return trace.Walk{
		Through: func(w *trace.SeaWay, from int) bool {
			if w.Channel == nil {
				return true
			}
			if w.Pump() != nil || w.Channel.Pump != nil || w.Part.Is(schema.SeaUser) {
				return false
			}
			return true
		},
		Beyond: func(n int) bool { return n == inlet || !isVessel(&sea.Nodes[n]) },
	}
}

// reversed turns a path round; a step's way is then again the one it is come by.
func reversed(path []trace.Step) []trace.Step {
	out := make([]trace.Step, len(path))
	for i := range path {
		j := len(path) - 1 - i
		out[i] = trace.Step{Node: path[j].Node, Way: -1}
		if j+1 < len(path) {
			out[i].Way = path[j+1].Way
		}
	}
	return out
}

// seaPump is a pump that draws sea water to move it round a circuit.
type seaPump struct {
	part     *schema.Part
	data     *schema.PumpData
	in, out  int
	suctions []suction
	// centrifugal does not prime itself; assumed says that the design is not
	// stated.
	centrifugal, assumed bool
	own                  bool // inside equipment
}

// seaPumps returns the pumps that draw from the sea and are not for bilge, sump
// or waste, and the own pumps of equipment; in file order.
func (c *Context) seaPumps() []seaPump {
	sea := c.Sea()
	var out []seaPump
	for i := range sea.Ways {
		w := &sea.Ways[i]
		if w.Channel == nil || w.Channel.Pump == nil || w.Channel.Pump.Submersible {
			continue
		}
		d := w.Channel.Pump
		if d.Duty == "bilge" || d.Duty == "sump" || d.Duty == "waste" {
			continue
		}
		p := seaPump{part: w.Part, data: d, in: w.A, out: w.B, own: w.Pump() == nil}
		if p.suctions = c.suctions(w.A); len(p.suctions) == 0 {
			continue
		}
		circulating := d.Duty == "circulating" || d.Duty == "" && len(c.pressureWays(p)) > 0
		p.assumed = d.Design == "" && circulating
		p.centrifugal = !d.SelfPriming && (d.Design == "centrifugal" || p.assumed)
		out = append(out, p)
	}
	return out
}

// nameDesign names the default design of a circulating pump where it was used.
func (c *Context) nameDesign(p seaPump) {
	if p.assumed {
		c.Default(p.part.ID, "design", "centrifugal, not self-priming", "usual for a circulating pump (common practice, no source)")
	}
}

// lacksAlong names what is missing to know the heights of a way in an attitude.
func (c *Context) lacksAlong(list []survey.Lack, path []trace.Step, a survey.Attitude) []survey.Lack {
	for _, st := range path {
		if d, lacks := c.Lacks(c.Sea().Nodes[st.Node].Point, a); lacks {
			list = addLack(list, d)
		}
	}
	return list
}
