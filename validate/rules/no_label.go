package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
)

var noLabel = Rule{
	Name: "no-label", Section: "DC, static",
	Asks:     "Has every device, switch and seacock a title to print on its label?",
	Why:      "nobody aboard can tell which one to open in the dark",
	Severity: "note",
	Source:   "E-11 (identification of switches and breakers, from memory); trade practice",
	Quiet:    "a device in a circuit takes the circuit's title; spare ways and floats need none",
	Bad: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  S1: {kind: switch, rating: 200 A, space: cabin}
`,
	Good: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  S1: {kind: switch, title: Battery switch, rating: 200 A, space: cabin}
`,
	Check: checkNoLabel,
}

// labelled reports what carries a label of its own: devices, switches, valves.
func labelled(p *schema.Part) bool {
	if p.Prepared || p.Is(schema.Sensing) || p.Is(schema.Panel) || p.Is(schema.Inverting) {
		return false
	}
	return p.Roles().Any(schema.Protection | schema.Switching | schema.Seacock | schema.Residual)
}

func checkNoLabel(c *Context) {
	titles := c.loadTitles()
	for _, p := range c.Boat.Parts {
		if !labelled(p) {
			if p.Is(schema.Panel) && !p.Prepared {
				c.wayLabels(p)
			}
			continue
		}
		c.Looked("no-label")
		if p.Title() != "" || p.Word("label").Given() || p.Host != nil && p.Host.Title() != "" {
			continue
		}
		f := diag.Finding{Rule: "no-label", Severity: diag.Note, Span: p.At, At: []string{p.ID},
			Message: fmt.Sprintf("%s (%s) has no title", p.ID, p.Kind.Title),
			Risk:    "nobody aboard can tell what it is for",
			Do:      fmt.Sprintf("give %s a title", p.ID),
			Source:  "E-11 (from memory); trade practice"}
		if title := titles[p]; title != "" {
			if edit, ok := insertInto(p.At, "title: "+quoted(title)); ok {
				f.Fix = &diag.Fix{Title: fmt.Sprintf("give %s the title %s", p.ID, title), Edits: []diag.Edit{edit}}
			}
		}
		c.Add(f)
	}
}

// loadTitles gives a device the title of the one load behind it, where there is
// just one with a title.
func (c *Context) loadTitles() map[*schema.Part]string {
	piece := map[int][]*schema.Part{}
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		if k := c.Net.Component(e.A); draws(e) && k >= 0 && !slices.Contains(piece[k], e.Part) && len(piece[k]) < 2 {
			piece[k] = append(piece[k], e.Part)
		}
	}
	out := map[*schema.Part]string{}
	for id := range c.Net.Edges {
		e := &c.Net.Edges[id]
		if e.Branch == nil || e.Branch.Device == nil || e.Part == nil || e.Part.Is(schema.Panel) {
			continue
		}
		a, b := piece[c.Net.Component(e.A)], piece[c.Net.Component(e.B)]
		if len(a)+len(b) == 1 {
			if load := append(a, b...)[0]; load.Title() != "" {
				out[e.Part] = load.Title()
			}
		}
	}
	return out
}

// wayLabels notes the used ways of a panel that have no title.
func (c *Context) wayLabels(p *schema.Part) {
	var bare []string
	for _, w := range p.Ways {
		c.Looked("no-label")
		if w.Spare || w.Title.Given() || w.Label.Given() || !c.wayUsed(p, w.Key) {
			continue
		}
		if c.wayTitle(p, w.Key) != "" {
			continue // its label is printed with the circuit's title
		}
		bare = append(bare, p.ID+"."+w.Key)
	}
	if len(bare) == 0 {
		return
	}
	f := diag.Finding{Rule: "no-label", Severity: diag.Note, Span: p.At, At: append([]string{p.ID}, bare...),
		Message: fmt.Sprintf("%s has no title", brief(bare)),
		Risk:    "nobody aboard can tell what it is for",
		Do:      "give each way in use a title",
		Source:  "E-11 (from memory); trade practice"}
	c.Add(f)
}

func (c *Context) wayUsed(p *schema.Part, key string) bool {
	for _, t := range p.Terminals() {
		if t.Way == key || t.Name == key {
			if n := c.Net.Node(p, t.Name); n >= 0 && c.Joined(n) {
				return true
			}
		}
	}
	return false
}

// wayTitle is the title of the circuit or the load that the way feeds.
func (c *Context) wayTitle(p *schema.Part, key string) string {
	for _, t := range p.Terminals() {
		if t.Way != key && t.Name != key {
			continue
		}
		n := c.Net.Node(p, t.Name)
		for _, w := range c.wiresAt(n) {
			if w.Circuit != nil && w.Circuit.Title.Given() {
				return w.Circuit.Title.V
			}
			for _, o := range []*schema.Part{w.From.Part, w.To.Part} {
				if o != p && o.Title() != "" {
					return o.Title()
				}
			}
			for _, l := range circuitLoads(w) {
				if l.Title() != "" {
					return l.Title()
				}
			}
		}
	}
	return ""
}

func circuitLoads(w *schema.Wire) []*schema.Part {
	if w.Circuit == nil {
		return nil
	}
	return w.Circuit.Loads
}
