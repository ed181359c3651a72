package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/validate/survey"
	"fitout/validate/trace"
)

var shoreEarth = Rule{
	Name: "shore-earth", Section: "Shore power, static",
	Asks:     "Is the protective earth there, unbroken by switch or fuse, and joined to DC negative?",
	Why:      "a fault makes every case live, and the water around the boat the way back",
	Severity: "error",
	Source:   "E-11 11.5.5.3 and 11.5.5.5",
	Quiet:    "a galvanic isolator may stand in the earth; behind an isolation transformer the boat's own earth is the one that counts; a boat with no DC negative has nothing to join",
	Bad: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  SI: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  RC1: {kind: rcd, title: Shore main, rating: 16 A, trip: 30 mA, space: cabin}
  HE1: {kind: ac-load, volts: 230 V, power: 1 kW}
wires:
  - {id: 70, path: [SI, RC1, HE1], cable: 2 core 2.5 mm2, lengths: [1 m, 2 m]}
`,
	Good: `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  SI: {kind: shore-inlet, volts: 230 V, rating: 16 A}
  RC1: {kind: rcd, title: Shore main, rating: 16 A, trip: 30 mA, space: cabin}
  HE1: {kind: ac-load, volts: 230 V, power: 1 kW}
wires:
  - {id: 70, path: [SI, RC1, HE1], cable: 3 core 2.5 mm2, lengths: [1 m, 2 m]}
`,
	Check: checkShoreEarth,
}

// earthUse is one earth terminal of equipment with a line that is wired.
type earthUse struct {
	part *schema.Part
	name string
	node int
	line int
}

func (c *Context) earthUses() []earthUse {
	var list []earthUse
	for _, p := range c.Boat.Parts {
		if p.Prepared || !p.Roles().Any(schema.ACPart|schema.Load) {
			continue
		}
		for _, t := range p.Terminals() {
			if t.Polarity != schema.Live || t.Medium != schema.AC {
				continue
			}
			line := c.Net.Node(p, t.Name)
			if line < 0 || !c.wiredAC(line) {
				continue
			}
			for _, o := range p.Terminals() {
				if o.Polarity == schema.Earth && o.Cable == t.Cable && !o.Hidden && o.Needed {
					list = append(list, earthUse{p, o.Name, c.Net.Node(p, o.Name), line})
				}
			}
		}
	}
	return list
}

func checkShoreEarth(c *Context) {
	uses := c.earthUses()
	if len(uses) == 0 {
		return
	}
	whole := c.Groups(earthPasses)
	broken := c.Groups(func(e *trace.Edge) bool {
		return earthPasses(e) || (e.Type == trace.Device || e.Type == trace.Contact) && !survey.Bond(e) && !transfers(e)
	})
	sources := map[int]*schema.Part{}
	brokenSources := map[int]bool{}
	for _, s := range c.acSources() {
		if s.pe >= 0 {
			sources[whole.Of(s.pe)], brokenSources[broken.Of(s.pe)] = s.part, true
		}
	}
	ground := c.groundGroups(whole)
	spoken := map[int]bool{}
	var sound []earthUse
	broke := false // some earth passes a switch or device
	for _, u := range uses {
		c.Looked("shore-earth")
		if !c.earthAbsent(u, whole, broken, sources, brokenSources) {
			sound = append(sound, u)
		} else if c.Joined(u.node) && brokenSources[broken.Of(u.node)] {
			broke = true
		}
	}
	for _, u := range sound {
		g := whole.Of(u.node)
		if len(ground) == 0 || ground[g] || spoken[g] || c.shoreSideOnly(whole, g) {
			continue
		}
		spoken[g] = true
		breaks := c.earthBreaks(u.node, whole, ground, broken)
		if broke && len(breaks) > 0 {
			continue // one cause: the switch is told where it cuts off a case
		}
		c.Add(c.noGround(u, sources[g], breaks))
	}
}

// noGround words an earth that is not joined to DC negative, or only through
// what breaks it.
func (c *Context) noGround(u earthUse, src *schema.Part, breaks []string) diag.Finding {
	f := diag.Finding{Rule: "shore-earth", Severity: diag.Error, Span: src.At, At: c.at(src, c.Net.Node(src, u.name), u.part),
		Message: fmt.Sprintf("the protective earth of %s is not joined to DC negative", src.ID),
		Risk:    "a fault between AC and DC makes the DC system live: no device opens",
		Do:      "join the AC earth bar to the DC negative bus or the engine block" + licensed,
		Source:  "E-11 11.5.5.3"}
	if len(breaks) > 0 {
		f.Message += fmt.Sprintf(" without a break: %s opens it", list(breaks))
		f.At = appendNew(f.At, breaks...)
		f.Do = fmt.Sprintf("lead the earth past %s", list(breaks)) + licensed
		f.Source += ", 11.5.5.5"
	}
	return f
}

// earthBreaks names the switches and devices on the way of an earth to DC
// negative.
func (c *Context) earthBreaks(node int, whole *survey.Groups, ground map[int]bool, broken *survey.Groups) []string {
	return c.earthBreaksTo(node, broken, func(to int) bool { return ground[whole.Of(to)] })
}

// earthBreaksTo names them on the way to the first joint that is wanted.
func (c *Context) earthBreaksTo(node int, broken *survey.Groups, wanted func(int) bool) []string {
	pass := func(e *trace.Edge) bool {
		return earthPasses(e) || (e.Type == trace.Device || e.Type == trace.Contact) && !survey.Bond(e) && !transfers(e)
	}
	var names []string
	for to := range c.Net.Nodes {
		if !wanted(to) || !broken.Same(node, to) {
			continue
		}
		for _, e := range c.Path(node, to, pass) {
			if e.Type == trace.Device || e.Type == trace.Contact {
				names = appendNew(names, e.Part.ID)
			}
		}
		break
	}
	return names
}

// earthAbsent reports an earth that leads to no source, or only through a switch
// or device.
func (c *Context) earthAbsent(u earthUse, whole, broken *survey.Groups, sources map[int]*schema.Part, brokenSources map[int]bool) bool {
	isSource := u.part.Roles().Any(schema.ShorePower | schema.Inverting | schema.Engine)
	if c.Joined(u.node) && sources[whole.Of(u.node)] != nil && !(isSource && !c.Joined(u.node)) {
		return false
	}
	message := fmt.Sprintf("%s has no protective earth: %s leads to no source's earth", u.part.ID, schema.End{Part: u.part, Terminal: u.name})
	var breaks []string
	do := fmt.Sprintf("join %s to the earth of its source by the third core of its cable", schema.End{Part: u.part, Terminal: u.name})
	if c.Joined(u.node) && brokenSources[broken.Of(u.node)] {
		message = fmt.Sprintf("the protective earth of %s passes a switch or an overcurrent device", u.part.ID)
		breaks = c.earthBreaksTo(u.node, broken, func(to int) bool { return sources[whole.Of(to)] != nil })
		if len(breaks) > 0 {
			message = fmt.Sprintf("the protective earth of %s passes %s, which can open it", u.part.ID, list(breaks))
		}
		do = "lead the earth past it without a break"
	}
	if isSource && !c.Joined(u.node) {
		message = fmt.Sprintf("the protective earth of source %s is joined to nothing", u.part.ID)
	}
	where := appendNew(c.at(u.part, u.line), breaks...)
	c.Add(diag.Finding{Rule: "shore-earth", Severity: diag.Error, Span: u.part.At, At: where, Message: message,
		Risk:   "a fault makes the case live and nothing opens",
		Do:     do + licensed,
		Source: "E-11 11.5.5.3, 11.5.5.5"})
	return true
}

// shoreSideOnly reports an earth that serves nothing but the primary of an
// isolation transformer: it must not meet DC negative.
func (c *Context) shoreSideOnly(g *survey.Groups, group int) bool {
	found := false
	for _, u := range c.earthUses() {
		if g.Of(u.node) != group || u.part.Is(schema.ShorePower) {
			continue
		}
		isolated := u.part.Is(schema.Source) && !u.part.Roles().Any(schema.Inverting|schema.Engine|schema.Charging)
		if !isolated {
			return false
		}
		found = true
	}
	return found
}
