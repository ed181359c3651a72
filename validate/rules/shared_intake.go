package rules

import (
	"fmt"
	"math"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

// sharedIntake judges hull openings that feed several users.
var sharedIntake = Rule{
	Name: "shared-intake", Section: waterStatic,
	Asks:     "Does each intake feed one user, or several that it is wide enough for, and none of them an engine?",
	Why:      "the stronger pump starves the weaker, and shutting the valve for one stops the other",
	Severity: "warning",
	Source:   "1.1 times the sum of the branches: Boat Mechanical Systems Handbook, ch. 17; an engine on its own intake: common practice, no source",
	Quiet:    "not for branches behind one pump, nor for ways that cannot be open at once",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 1 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  T1: {kind: tee, size: 1 in, height: -0.3 m, offset: 0 m}
  P1: {kind: pump, drive: hand, duty: wash, size: 3/4 in, height: 0.1 m, offset: 0 m}
  P2: {kind: pump, drive: hand, duty: wash, size: 3/4 in, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
  WD2: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, from: TH1, to: T1, bore: 25 mm, length: 0.5 m, clamps: 2}
  - {id: H2, path: [T1, P1, WD1.in], bore: 19 mm, lengths: [1 m, 1 m], clamps: 2}
  - {id: H3, path: [T1, P2, WD2.in], bore: 19 mm, lengths: [1 m, 1 m], clamps: 2}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  TH1: {kind: through-hull, service: intake, size: 1-1/2 in, height: -0.4 m, offset: 0 m, seacock: {id: SC1, type: flanged-ball}}
  T1: {kind: manifold, height: -0.3 m, offset: 0 m}
  P1: {kind: pump, drive: hand, duty: wash, size: 3/4 in, height: 0.1 m, offset: 0 m}
  P2: {kind: pump, drive: hand, duty: wash, size: 3/4 in, height: 0.1 m, offset: 0 m}
  WD1: {kind: washdown, height: 1 m, offset: 0 m}
  WD2: {kind: washdown, height: 1 m, offset: 0 m}
hoses:
  - {id: H1, from: TH1, to: T1, bore: 38 mm, length: 0.5 m, clamps: 2}
  - {id: H2, path: [T1, P1, WD1.in], bore: 19 mm, lengths: [1 m, 1 m], clamps: 2}
  - {id: H3, path: [T1, P2, WD2.in], bore: 19 mm, lengths: [1 m, 1 m], clamps: 2}
`,
	Check: checkSharedIntake,
}

// intakeShare is how much wider an intake must be than its branches together.
const intakeShare = 1.1

// drawer is a user that draws from an intake, with the way to it.
type drawer struct {
	part   *schema.Part
	engine bool
	path   []trace.Step
}

func checkSharedIntake(c *Context) {
	for _, m := range c.Sea().Hull {
		if s := m.Part.Word("service"); s.Given() && s.V != "intake" {
			continue
		}
		users := c.drawers(m)
		if len(users) == 0 {
			continue
		}
		c.Looked("shared-intake")
		if len(users) > 1 {
			c.judgeShared(m, users)
		}
	}
}

// drawers walks inboard from an intake up to what draws from it: pumps by their
// inlets, equipment with a pump of its own, and equipment fed by the sea's own
// head.
func (c *Context) drawers(m *trace.Mouth) []drawer {
	sea := c.Sea()
	t := sea.Walk([]int{m.Node}, trace.Walk{
		Through: func(w *trace.SeaWay, _ int) bool {
			return w.Channel == nil || w.Channel.Pump == nil && !w.Part.Is(schema.SeaUser)
		},
		Beyond: func(n int) bool { return !isVessel(&sea.Nodes[n]) },
	})
	var out []drawer
	for i, st := range t.Steps {
		for _, id := range sea.Nodes[st.Node].Ways {
			w := &sea.Ways[id]
			if w.Channel == nil || w.A != st.Node || w.Channel.Pump == nil && !w.Part.Is(schema.SeaUser) {
				continue
			}
			if d := w.Channel.Pump; d != nil && d.Duty == "bilge" || slices.ContainsFunc(out, func(d drawer) bool { return d.part == w.Part }) {
				continue
			}
			out = append(out, drawer{w.Part, w.Part.Is(schema.Engine) || c.cools(w), t.Path(i)})
		}
	}
	return out
}

// cools reports whether a pump in a way feeds an engine.
func (c *Context) cools(pump *trace.SeaWay) bool {
	sea := c.Sea()
	if pump.Pump() == nil {
		return false
	}
	t := sea.Walk([]int{pump.B}, trace.Walk{Through: func(w *trace.SeaWay, _ int) bool {
		return w.Channel == nil || w.Channel.Pump == nil && !w.Part.Is(schema.SeaUser)
	}})
	return slices.ContainsFunc(t.Steps, func(st trace.Step) bool { return isEngine(&sea.Nodes[st.Node]) })
}

func (c *Context) judgeShared(m *trace.Mouth, users []drawer) {
	var ids []string
	engine := ""
	for _, u := range users {
		ids = append(ids, u.part.ID)
		if u.engine && engine == "" {
			engine = u.part.ID
		}
	}
	f := diag.Finding{
		Rule: "shared-intake", Severity: diag.Warning, Span: m.Span(), At: append([]string{m.ID()}, ids...),
		Do: "give each its own seacock, or write on the valve what else it feeds",
	}
	if engine != "" {
		f.Message = fmt.Sprintf("intake %s feeds engine cooling (%s) and %s", m.ID(), engine, named(without(ids, engine)))
		f.Risk = "the engine's pump starves the other, and shutting the valve for it overheats the engine"
		f.Source = "common practice, no source"
		c.Add(f)
		return
	}
	bore := tailSize(m.Part, "out")
	if !bore.Given() {
		c.Missing("shared-intake", "size of "+m.ID(), m.Span(), m.ID())
		return
	}
	sum := 0.0
	for _, h := range c.branchHoses(users) {
		if !h.Bore.Given() {
			c.Missing("shared-intake", "bore of "+h.ID, h.At, h.ID, m.ID())
			return
		}
		sum += square(float64(h.Bore.V))
	}
	area := square(float64(bore.V))
	if area >= intakeShare*sum-tinyHeight {
		return
	}
	f.Value, f.Limit, f.Unit = diag.Figure(area*math.Pi/4*1e6), diag.Figure(intakeShare*sum*math.Pi/4*1e6), "mm2"
	f.Message = fmt.Sprintf("intake %s (%s) feeds %s; its area is %.0f mm², and 1.1 times that of the branches is %.0f mm²",
		m.ID(), millimetres(bore.V), named(ids), area*math.Pi/4*1e6, intakeShare*sum*math.Pi/4*1e6)
	f.Risk = "the stronger pump starves the weaker"
	f.Source = "Boat Mechanical Systems Handbook, ch. 17"
	c.Add(f)
}

func square(x float64) float64 { return x * x }

func without(ids []string, id string) []string {
	var out []string
	for _, i := range ids {
		if i != id {
			out = append(out, i)
		}
	}
	return out
}

// branchHoses returns the last hose to each user: the branch it draws by.
func (c *Context) branchHoses(users []drawer) []*schema.Hose {
	var out []*schema.Hose
	for _, u := range users {
		for i := len(u.path) - 1; i >= 0; i-- {
			if w := u.path[i].Way; w >= 0 && c.Sea().Ways[w].Hose != nil && !c.Sea().Ways[w].Hose.Implied {
				if h := c.Sea().Ways[w].Hose; !slices.Contains(out, h) {
					out = append(out, h)
				}
				break
			}
		}
	}
	return out
}
