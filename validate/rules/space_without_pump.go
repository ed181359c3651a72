package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/trace"
)

// spaceWithoutPump judges watertight spaces that can take water.
var spaceWithoutPump = Rule{
	Name: "space-without-pump", Section: waterStatic,
	Asks:     "Has every watertight space that can take water a bilge pump, or a way for it to one?",
	Why:      "what leaks in there stays until the boat goes down by that end",
	Severity: "warning",
	Source:   "46 CFR 182.520; insurers' surveys",
	Quiet:    "not for a space that is not watertight, nor for one joined to a space with a pump (`joins`)",
	Bad: `
fitout: 1
vessel: {hull: motor}
spaces:
  forepeak: {title: Forepeak, watertight: yes}
parts:
  TD1: {kind: hull-fitting, type: transducer, space: forepeak, size: 2 in, height: -0.4 m, offset: 0 m}
`,
	Good: `
fitout: 1
vessel: {hull: motor}
spaces:
  forepeak: {title: Forepeak, watertight: yes}
parts:
  TD1: {kind: hull-fitting, type: transducer, space: forepeak, size: 2 in, height: -0.4 m, offset: 0 m}
  P1: {kind: pump, duty: bilge, drive: hand, submersible: yes, space: forepeak, height: -0.4 m, offset: 0 m}
`,
	Check: checkSpaces,
}

func checkSpaces(c *Context) {
	c.floodDefaults()
	pumped := c.pumpedSpaces()
	takes := c.wetSpaces()
	for _, sp := range c.Boat.Spaces {
		why := takes[sp]
		if sp.Weather.V || why == "" {
			continue
		}
		c.Looked("space-without-pump")
		if pumped[sp] {
			continue
		}
		if !sp.Watertight.Given() {
			c.Missing("space-without-pump", "watertight of "+sp.ID, sp.At, sp.ID)
			continue
		}
		if !sp.Watertight.V {
			continue
		}
		c.Add(diag.Finding{
			Rule: "space-without-pump", Severity: diag.Warning, Span: sp.At, At: []string{sp.ID, why},
			Message: fmt.Sprintf("%s is watertight and can take water at %s, and has no bilge pump and no drain to one", sp.Name(), why),
			Risk:    "what leaks in there stays and sinks that end of the boat",
			Do:      "fit a pump or a pick-up of one there, or a drain to a space with a pump",
			Source:  "46 CFR 182.520 as practice; insurers' surveys",
		})
	}
}

// wetSpaces returns the spaces that can take water, each with the first part that
// lets it in: a hull opening or hole not above the sea in every attitude, or what
// a hose on the sea side is joined to.
func (c *Context) wetSpaces() map[*schema.Space]string {
	sea := c.Sea()
	out := map[*schema.Space]string{}
	mark := func(sp *schema.Space, id string) {
		if sp != nil && out[sp] == "" {
			out[sp] = id
		}
	}
	for _, m := range append(append(sea.Hull[:0:0], sea.Hull...), sea.Holes...) {
		if under, known, _ := c.Submerged(m.Point); under || !known {
			mark(m.Part.Space, m.ID())
			if m.Part.Cock != nil {
				mark(m.Part.Cock.Space, m.Part.Cock.ID)
			}
		}
	}
	sides := c.SeaSide()
	for _, h := range c.Boat.Hoses {
		if sides[h] == nil || !sides[h].Wet {
			continue
		}
		for _, e := range []schema.HoseEnd{h.From, h.To} {
			if e.Part != nil {
				mark(e.Part.Space, e.Part.ID)
			}
		}
	}
	return out
}

// pumpedSpaces returns the spaces a bilge pump draws from, and those joined to
// them by limber holes, a drain hose or another such space.
func (c *Context) pumpedSpaces() map[*schema.Space]bool {
	sea := c.Sea()
	out := map[*schema.Space]bool{}
	for _, p := range c.fitted(schema.Bilge) {
		if !p.Is(schema.Mover) {
			continue
		}
		picks := false
		if in := sea.Node(p, "in"); in >= 0 {
			for _, m := range c.pickUps(in) {
				out[m] = true
				picks = true
			}
		}
		if !picks && p.Space != nil {
			out[p.Space] = true
		}
	}
	for grew := true; grew; {
		grew = false
		join := func(a, b *schema.Space) {
			if a != nil && b != nil && out[a] != out[b] {
				out[a], out[b], grew = true, true, true
			}
		}
		for _, sp := range c.Boat.Spaces {
			for _, id := range sp.Joins {
				join(sp, c.Boat.Space(id.V))
			}
		}
		for _, h := range c.Boat.Hoses {
			if h.Prepared || !h.From.IsOpen() || out[h.From.Open] {
				continue
			}
			for _, sp := range c.drainsTo(h) {
				if out[sp] {
					out[h.From.Open], grew = true, true
				}
			}
		}
	}
	return out
}

// drainsTo returns the spaces in which a drain from an open end comes out, by
// hoses and whatever lets water pass by itself: a valve in a bulkhead, a tee.
func (c *Context) drainsTo(h *schema.Hose) []*schema.Space {
	if h.To.IsOpen() {
		return []*schema.Space{h.To.Open}
	}
	sea := c.Sea()
	way := slices.IndexFunc(sea.Ways, func(w trace.SeaWay) bool { return w.Hose == h })
	if way < 0 {
		return nil
	}
	t := sea.Walk([]int{sea.Ways[way].A}, trace.Walk{
		Through: func(w *trace.SeaWay, from int) bool { return w.Pump() == nil && (w.Hose == nil || from == w.A) },
	})
	var out []*schema.Space
	for _, st := range t.Steps[1:] {
		for _, m := range sea.Nodes[st.Node].Mouths {
			if m.Part == nil && m.Space != nil {
				out = append(out, m.Space)
			}
		}
	}
	return out
}

// pickUps returns the spaces with an open end of a pump's suction.
func (c *Context) pickUps(in int) []*schema.Space {
	sea := c.Sea()
	var out []*schema.Space
	t := sea.Walk([]int{in}, c.suctionWalk(in))
	for _, st := range t.Steps {
		for _, m := range sea.Nodes[st.Node].Mouths {
			if m.Part == nil {
				out = append(out, m.Space)
			}
		}
	}
	return out
}
