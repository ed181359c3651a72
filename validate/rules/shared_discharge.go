package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

// sharedDischarge judges outlets that several units share.
var sharedDischarge = Rule{
	Name: "shared-discharge", Section: waterStatic,
	Asks:     "Can no running unit push its water into an idle one, or into a sink, through a shared outlet?",
	Why:      "an idle exhaust fills until the engine takes water; a basin runs over",
	Severity: "warning; error where it can fill an idle engine",
	Source:   "common practice, no source",
	Quiet:    "not for units that one pump drives, nor behind a vented loop of their own; bilge pumps between themselves are bilge-discharge-low's",
	Bad: `
fitout: 1
vessel: {hull: motor}
parts:
  P1: {kind: pump, drive: hand, duty: sump, height: 0 m, offset: 0 m}
  SU1: {kind: sump, rim: 0.1 m, height: 0 m, offset: 0 m}
  SK1: {kind: sink, rim: 0.8 m, offset: 0 m}
  T1: {kind: tee, height: 0.4 m, offset: 0 m}
  TH1: {kind: through-hull, service: drain, size: 1-1/2 in, height: 0.35 m, offset: 0.5 m}
hoses:
  - {id: H1, path: [SU1.out, P1, T1], bore: 25 mm, lengths: [0.5 m, 1 m]}
  - {id: H2, from: SK1, to: T1, bore: 38 mm, length: 1 m}
  - {id: H3, from: T1, to: TH1, bore: 38 mm, length: 1 m}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
parts:
  P1: {kind: pump, drive: hand, duty: sump, height: 0 m, offset: 0 m}
  SU1: {kind: sump, rim: 0.1 m, height: 0 m, offset: 0 m}
  SK1: {kind: sink, rim: 0.8 m, offset: 0 m}
  TH1: {kind: through-hull, service: drain, size: 1-1/2 in, height: 0.35 m, offset: 0.5 m}
  TH2: {kind: through-hull, service: discharge, size: 1 in, height: 0.35 m, offset: 0.5 m}
hoses:
  - {id: H1, path: [SU1.out, P1, TH2], bore: 25 mm, lengths: [0.5 m, 1 m]}
  - {id: H2, from: SK1, to: TH1, bore: 38 mm, length: 1 m}
`,
	Check: checkSharedDischarge,
}

// discharger is a unit that gives water to an outlet.
type discharger struct {
	part   *schema.Part
	node   int
	pumps  []*schema.Part // that push through it
	engine bool           // its exhaust
	bilge  bool
	drains bool // by gravity
}

func checkSharedDischarge(c *Context) {
	sea := c.Sea()
	done := map[*schema.Part]bool{}
	for _, m := range sea.Hull {
		if m.Part.Word("service").V == "intake" {
			continue
		}
		list := c.dischargers(m)
		if len(list) == 0 {
			continue
		}
		c.Looked("shared-discharge")
		for _, victim := range list {
			if done[victim.part] {
				continue
			}
			for _, by := range list {
				if c.fills(by, victim) {
					done[victim.part] = true
					c.addShared(m, by, victim)
					break
				}
			}
		}
	}
}

// dischargers walks inboard from an outlet up to what gives water to it.
func (c *Context) dischargers(m *trace.Mouth) []discharger {
	sea := c.Sea()
	t := sea.Walk([]int{m.Node}, c.outletWalk())
	var out []discharger
	add := func(d discharger) {
		if !slices.ContainsFunc(out, func(have discharger) bool { return have.part == d.part }) {
			out = append(out, d)
		}
	}
	for _, st := range t.Steps {
		n := &sea.Nodes[st.Node]
		if isEngine(n) {
			add(discharger{part: n.Part, node: st.Node, engine: true, pumps: []*schema.Part{n.Part}})
			continue
		}
		for _, id := range n.Ways {
			w := &sea.Ways[id]
			switch {
			case w.Channel == nil || w.B != st.Node || !w.Carries():
			case w.Pump() != nil:
				add(discharger{part: w.Part, node: st.Node, pumps: []*schema.Part{w.Part}, bilge: w.Pump().Duty == "bilge"})
			case w.Part.Is(schema.SeaUser):
				add(discharger{part: w.Part, node: st.Node, pumps: c.pushedBy(w)})
			}
		}
		for _, o := range n.Mouths {
			if o.Type == schema.ToInside && o.Part != nil && o.What != "intake" {
				add(discharger{part: o.Part, node: st.Node, drains: true})
			}
		}
	}
	return out
}

// outletWalk goes from an outlet inboard, up to pumps, equipment and basins.
func (c *Context) outletWalk() trace.Walk {
	sea := c.Sea()
	return trace.Walk{
		Through: func(w *trace.SeaWay, _ int) bool {
			return w.Channel == nil || w.Channel.Pump == nil && !w.Part.Is(schema.SeaUser)
		},
		Beyond: func(n int) bool { return !isVessel(&sea.Nodes[n]) && !isEngine(&sea.Nodes[n]) },
	}
}

// pushedBy returns the pumps that push water through equipment: those that
// discharge into its inlet, or its own.
func (c *Context) pushedBy(unit *trace.SeaWay) []*schema.Part {
	sea := c.Sea()
	var out []*schema.Part
	if unit.Channel.Pump != nil {
		out = append(out, unit.Part)
	}
	t := sea.Walk([]int{unit.A}, c.outletWalk())
	for _, st := range t.Steps {
		for _, id := range sea.Nodes[st.Node].Ways {
			if w := &sea.Ways[id]; w.Pump() != nil && w.B == st.Node && !slices.Contains(out, w.Part) {
				out = append(out, w.Part)
			}
		}
	}
	return out
}

// fills reports whether one unit's running can push water into another that
// stands: not where one pump drives both, where a vented loop of the idle one's
// own parts them, or between bilge pumps.
func (c *Context) fills(by, victim discharger) bool {
	if by.part == victim.part || len(by.pumps) == 0 && !c.cockpit(by.part) || by.bilge && victim.bilge {
		return false
	}
	if by.drains && !victim.drains {
		return false
	}
	for _, p := range victim.pumps {
		if slices.Contains(by.pumps, p) {
			return false
		}
	}
	sea := c.Sea()
	how := c.outletWalk()
	through := how.Through
	how.Through = func(w *trace.SeaWay, n int) bool { return through(w, n) && !w.Vented() }
	return sea.Walk([]int{by.node}, how).Find(victim.node) >= 0
}

// cockpit reports whether a part is a drain meant to let much water out: a full
// cockpit pushes its water into whatever shares the outlet.
func (c *Context) cockpit(p *schema.Part) bool {
	return slices.ContainsFunc(p.Openings(), func(o schema.Opening) bool { return o.Type == schema.ToInside && o.Drain })
}

func (c *Context) addShared(m *trace.Mouth, by, victim discharger) {
	f := diag.Finding{
		Rule: "shared-discharge", Severity: diag.Warning, Span: victim.part.At, At: []string{victim.part.ID, by.part.ID, m.ID()},
		Message: fmt.Sprintf("%s and %s share outlet %s: while %s runs it can fill %s", by.part.ID, victim.part.ID, m.ID(), by.part.ID, victim.part.ID),
		Risk:    "water stands in, or runs over from, a unit that is idle",
		Do:      "give each its own outlet, or bring the idle one up over a vented loop before they meet",
		Source:  "common practice, no source",
	}
	if victim.engine {
		f.Severity = diag.Error
		f.Risk = "the idle engine's exhaust fills until its cylinders take water"
	}
	c.Add(f)
}
