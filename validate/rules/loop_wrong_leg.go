package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

// loopWrongLeg judges where a vented loop stands in its line.
var loopWrongLeg = Rule{
	Name: "loop-wrong-leg", Section: waterStatic,
	Asks:     "Does every vented loop stand on the pressure side of its pump, with no second crest between it and the sea?",
	Why:      "on the suction side the pump draws air through it; a crest outboard of it holds a siphon of its own",
	Severity: "warning",
	Source:   "common practice, no source; physics",
	Quiet:    "not for a crest outboard of the loop that has a vented loop too; an inside opening between the crests makes siphon-path",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  VL1: {kind: vented-loop, height: 0.6 m, offset: 0 m}
  WC1: {kind: toilet, design: hand, rim: 0.3 m, height: 0 m, offset: 0 m}
  HT1: {kind: tank, contents: black, vented: yes, height: 0.5 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, VL1, WC1.supply], bore: 19 mm, lengths: [1 m, 1 m], clamps: 2}
  - {id: H9, from: WC1.out, to: HT1.fill, bore: 38 mm, length: 1 m, clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 3/4 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  VL1: {kind: vented-loop, height: 0.6 m, offset: 0 m}
  WC1: {kind: toilet, design: hand, rim: 0.3 m, height: 0 m, offset: 0 m}
  HT1: {kind: tank, contents: black, vented: yes, height: 0.5 m, offset: 0 m}
hoses:
  - {id: H1, path: [TH1, WC1.supply], bore: 19 mm, length: 1 m, clamps: 2}
  - {id: H2, path: [WC1.flush-out, VL1, WC1.flush], bore: 19 mm, lengths: [1 m, 1 m], clamps: 2}
  - {id: H9, from: WC1.out, to: HT1.fill, bore: 38 mm, length: 1 m, clamps: 2}
`,
	Check: checkWrongLeg,
}

func checkWrongLeg(c *Context) {
	sea := c.Sea()
	for i := range sea.Ways {
		w := &sea.Ways[i]
		if !w.Vented() || guarded(sea, w) == "" {
			continue
		}
		c.Looked("loop-wrong-leg")
		if pump := suctionLoop(sea, w); pump != nil {
			c.Add(diag.Finding{
				Rule: "loop-wrong-leg", Severity: diag.Warning, Span: w.Part.At, At: []string{w.Part.ID, pump.ID},
				Message: fmt.Sprintf("vented loop %s stands on the suction side of %s", w.Part.ID, pump.ID),
				Risk:    "the pump draws air through the loop and does not prime; what lies behind it has no siphon break when the air valve sticks",
				Do:      "move the loop between the pump and what it serves",
				Source:  "common practice, no source",
			})
			continue
		}
		c.secondCrest(w)
	}
}

// unpumped walks without going through a pump, own pumps of equipment included, nor
// through a vented loop.
func unpumped(sea *trace.Sea, from int, loop *trace.SeaWay) *trace.Trail {
	return sea.Walk([]int{from}, trace.Walk{Through: func(w *trace.SeaWay, _ int) bool {
		return w != loop && (w.Channel == nil || w.Channel.Pump == nil)
	}})
}

// drawnBy returns the pump that draws from the joints of a trail, and whether a
// pump pushes into them.
func drawnBy(sea *trace.Sea, t *trace.Trail) (draws, pushes *schema.Part) {
	for _, st := range t.Steps {
		for _, id := range sea.Nodes[st.Node].Ways {
			w := &sea.Ways[id]
			if w.Channel == nil || w.Channel.Pump == nil {
				continue
			}
			if w.A == st.Node && draws == nil {
				draws = w.Part
			}
			if w.B == st.Node && pushes == nil {
				pushes = w.Part
			}
		}
	}
	return draws, pushes
}

// suctionLoop returns the pump that sucks through a loop from the sea, or nil.
func suctionLoop(sea *trace.Sea, loop *trace.SeaWay) *schema.Part {
	for _, ends := range [2][2]int{{loop.A, loop.B}, {loop.B, loop.A}} {
		outer, inner := unpumped(sea, ends[0], loop), unpumped(sea, ends[1], loop)
		if len(seaAt(sea, outer)) == 0 || len(seaAt(sea, inner)) > 0 {
			continue
		}
		draws, pushes := drawnBy(sea, inner)
		_, fed := drawnBy(sea, outer)
		if draws != nil && pushes == nil && fed == nil {
			return draws
		}
	}
	return nil
}

// secondCrest looks along the way from a sound loop out to the sea for a crest
// above the sea that has no vent.
func (c *Context) secondCrest(loop *trace.SeaWay) {
	sea := c.Sea()
	at := sea.Nodes[loop.A].Point
	if !c.Sound(at) {
		return
	}
	upright := survey.NewAttitude(0, 0)
	for _, ends := range [2][2]int{{loop.A, loop.B}, {loop.B, loop.A}} {
		t := sea.Walk([]int{ends[0]}, trace.Walk{
			Through: func(w *trace.SeaWay, _ int) bool { return w != loop && !w.Vented() && w.Pump() == nil },
			Beyond:  func(n int) bool { return !isVessel(&sea.Nodes[n]) && !isEngine(&sea.Nodes[n]) },
		})
		if !inboard(sea, ends[1], loop) {
			continue
		}
		for _, m := range seaAt(sea, t) {
			c.crestOutboard(loop, m, t.Path(t.Find(m.Node)), upright)
		}
	}
}

// isVessel reports whether a joint is open to the boat or a tank: a line ends
// there.
func isVessel(n *trace.SeaNode) bool {
	for _, m := range n.Mouths {
		if m.Type == schema.ToInside {
			return true
		}
	}
	return n.Part != nil && n.Part.Is(schema.Holding)
}

// isEngine reports whether a joint is an engine's: its exhaust has a crest of its
// own.
func isEngine(n *trace.SeaNode) bool { return n.Part != nil && n.Part.Is(schema.Engine) }

// inboard reports whether a side of a loop leads to what it guards.
func inboard(sea *trace.Sea, from int, loop *trace.SeaWay) bool {
	t := sea.Walk([]int{from}, trace.Walk{Through: func(w *trace.SeaWay, _ int) bool { return w != loop }})
	for _, st := range t.Steps {
		n := &sea.Nodes[st.Node]
		if isVessel(n) || isEngine(n) {
			return true
		}
	}
	return false
}

// rise is how much a line must climb again to count as a second crest.
const rise = tinyHeight

func (c *Context) crestOutboard(loop *trace.SeaWay, m *trace.Mouth, path []trace.Step, a survey.Attitude) {
	heights, names := c.profile(path, a)
	low, crest, where := heights[0], 0.0, ""
	if missing := c.lacksAlong(nil, path, a); len(missing) > 0 {
		c.lacks("loop-wrong-leg", missing, loop.Part.ID, m.ID())
		return
	}
	for i, h := range heights {
		if h.Lo < low.Lo {
			low = h
		}
		falls := heights[len(heights)-1].Lo < h.Lo-rise
		if h.Lo > low.Lo+rise && h.Lo > c.Laden() && falls && h.Lo > crest {
			crest, where = h.Lo, names[i]
		}
	}
	if where == "" {
		return
	}
	c.Add(diag.Finding{
		Rule: "loop-wrong-leg", Severity: diag.Warning, Span: loop.Part.At, At: []string{loop.Part.ID, m.ID()},
		Value: diag.Figure(crest), Limit: diag.Figure(low.Lo), Unit: "m",
		Message: fmt.Sprintf("outboard of vented loop %s the line to %s falls and rises again to %s at %s, with no vent there",
			loop.Part.ID, m.ID(), againstSea(crest-c.Laden()), where),
		Risk:   "the line past the loop holds a siphon of its own, and water lies in the sag",
		Do:     "let the line fall all the way from the loop to the through-hull, or put the loop at the outer crest",
		Source: "physics; common practice, no source",
	})
}

// profile returns the heights along a way in an attitude, joints, peaks and dips
// in turn, with what stands there.
func (c *Context) profile(path []trace.Step, a survey.Attitude) (heights []survey.Level, names []string) {
	sea := c.Sea()
	add := func(l survey.Level, name string) {
		heights, names = append(heights, l), append(names, name)
	}
	for _, st := range path {
		if st.Way >= 0 {
			w := &sea.Ways[st.Way]
			if len(w.Dips) > 0 && len(w.Peaks) == 0 {
				add(c.LowestOf(w.Dips, a), "the dip of "+w.Hose.ID)
			}
			if len(w.Peaks) > 0 {
				add(c.LowestOf(w.Peaks, a), "the peak of "+w.Hose.ID)
			}
		}
		n := &sea.Nodes[st.Node]
		add(c.HeightOf(n.Point, a), n.Name())
	}
	return heights, names
}
