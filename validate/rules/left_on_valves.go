package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
)

// leftOnValves is the valve part of left-on: sea ways that stand open in an
// unattended condition though they could be shut.
func (c *Context) leftOnValves() {
	for _, cond := range c.Boat.Conditions {
		if cond.Unattended.V {
			c.openValves(cond)
		}
	}
}

func (c *Context) openValves(cond *schema.Condition) {
	kept := c.keptOpen(cond)
	var open []*schema.Part
	for _, p := range c.Boat.Parts {
		if p.Prepared || !p.Is(schema.Seacock) {
			continue
		}
		c.Looked("left-on")
		shut := p.Word("position").V == "closed"
		if pos, set := cond.Positions[p.ID]; set {
			shut = pos == "closed"
		}
		shut = shut || slices.Contains(cond.Closed, p)
		shut = shut && !slices.Contains(cond.Open, p)
		if !shut && !kept[p] {
			open = append(open, p)
		}
	}
	if len(open) == 0 {
		return
	}
	names := ids(open)
	title := cond.Title.Or(cond.ID)
	c.Add(diag.Finding{Rule: "left-on", Severity: diag.Warning, Span: cond.At, At: names, Condition: cond.ID,
		Message: fmt.Sprintf("%s stands open in %q, with nobody aboard", list(names), title),
		Risk:    "a hose that comes off sinks the boat: half of dockside sinkings start at an underwater fitting",
		Do:      fmt.Sprintf("close %s before leaving, and say so under `closed`", list(names)),
		Source:  "insurers' counts of dockside sinkings; common practice, no source"})
}

// keptOpen are the valves that must stay open: of cockpit drains and scuppers, of
// bilge pumps, and of what runs in the condition.
func (c *Context) keptOpen(cond *schema.Condition) map[*schema.Part]bool {
	kept := map[*schema.Part]bool{}
	running := map[*schema.Part]bool{}
	for _, r := range cond.Running {
		running[r.Part] = true
	}
	for _, p := range c.Boat.Parts {
		if p.Prepared || !p.Is(schema.Seacock) {
			continue
		}
		if host := p.Host; host != nil {
			switch host.Word("service").V {
			case "scupper", "bilge":
				kept[p] = true
				continue
			}
		}
		for q := range c.servedBy(p) {
			drain := false
			for _, o := range q.Openings() {
				drain = drain || o.Drain && !q.Is(schema.SeaOpening)
			}
			if drain || q.Is(schema.Bilge) || running[q] {
				kept[p] = true
			}
		}
	}
	return kept
}

// servedBy collects the parts on the water inboard of a valve.
func (c *Context) servedBy(cock *schema.Part) map[*schema.Part]bool {
	served := c.alongHoses(cock)
	delete(served, cock)
	return served
}
