package rules

import (
	"fmt"
	"slices"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/unit"
	"fitout/validate/tables"
)

// boatSection is where the rules stand that look at the boat as a whole.
const boatSection = "The boat as a whole"

var alarmMissing = Rule{
	Name: "alarm-missing", Section: boatSection,
	Asks:     "Does a carbon-monoxide alarm watch every sleeping space where fuel is burnt, and a water alarm every bilge?",
	Why:      "carbon monoxide kills sleepers; water is found when the engine stops",
	Severity: "error: carbon monoxide where fuel is burnt and people sleep; warning: high water, hulls from 7.9 m or with a sleeping space; note else",
	Source:   "46 CFR 182.530 (26 ft) as practice; MAIB: six accidents, ten deaths in ten years, none with a working alarm",
	Quiet:    "spaces that are not watertight share one bilge, one alarm in it, or in an engine space of theirs, is enough; an alarm that names no space watches its own",
	Bad: `
fitout: 1
vessel: {length: 9 m}
spaces:
  saloon: {title: Saloon, sleeps: yes}
parts:
  HT1: {kind: heater, title: Heater, fuel: diesel, space: saloon}
`,
	Good: `
fitout: 1
vessel: {length: 9 m}
spaces:
  saloon: {title: Saloon, sleeps: yes}
parts:
  HT1: {kind: heater, title: Heater, fuel: diesel, space: saloon}
  AL1: {kind: alarm, title: Gas alarm, senses: carbon-monoxide, watches: saloon, battery: yes, tested: 2026-04-01}
`,
	Check: checkAlarmMissing,
}

// senses reports whether an alarm senses a thing.
func senses(p *schema.Part, what string) bool {
	return slices.ContainsFunc(p.WordList("senses"), func(w schema.Val[string]) bool { return w.V == what })
}

// watched lists the spaces that alarms of a kind watch. An alarm that names
// nothing watches its own space; one without a space is reported as unknown.
func (c *Context) watched(what string) (spaces map[*schema.Space]bool, unknown *schema.Part) {
	spaces = map[*schema.Space]bool{}
	for _, p := range c.Boat.Parts {
		if p.Prepared || !p.Is(schema.AlarmRole) || !senses(p, what) {
			continue
		}
		refs := p.Refs("watches")
		if len(refs) == 0 && p.Space == nil {
			unknown = p
			continue
		}
		if len(refs) == 0 {
			spaces[p.Space] = true
		}
		for _, id := range refs {
			if sp := c.Boat.Space(id); sp != nil {
				spaces[sp] = true
			} else if o := c.Boat.Part(id); o != nil && o.Space != nil {
				spaces[o.Space] = true
			}
		}
	}
	return spaces, unknown
}

func checkAlarmMissing(c *Context) {
	c.monoxide()
	c.highWater()
}

func (c *Context) monoxide() {
	var burners []*schema.Part
	for _, p := range c.Boat.Parts {
		if !p.Prepared && p.Is(schema.FuelBurner) {
			burners = append(burners, p)
		}
	}
	names := ids(burners)
	if len(burners) == 0 {
		names = c.firedSpaces()
	}
	if len(names) == 0 {
		return
	}
	watched, unknown := c.watched("carbon-monoxide")
	for _, sp := range c.Boat.Spaces {
		if !sp.Sleeps.V {
			continue
		}
		c.Looked("alarm-missing")
		if watched[sp] {
			continue
		}
		if unknown != nil {
			c.Missing("alarm-missing", "watches of "+unknown.ID, unknown.At, unknown.ID)
			continue
		}
		c.Add(diag.Finding{Rule: "alarm-missing", Severity: diag.Error, Span: sp.At, At: append([]string{sp.ID}, names...),
			Message: fmt.Sprintf("people sleep in %s, %s burns fuel aboard, and no carbon-monoxide alarm watches the space", sp.Name(), brief(names)),
			Risk:    "carbon monoxide kills without waking",
			Do:      fmt.Sprintf("fit a carbon-monoxide alarm in %s", sp.Name()),
			Source:  "MAIB accident reports 2010 to 2020; common practice, no source"})
	}
}

// firedSpaces lists the engine spaces that name their fuel: an engine stands there,
// whether the file has it as a part or not.
func (c *Context) firedSpaces() []string {
	var names []string
	for _, sp := range c.Boat.Spaces {
		if sp.Engine.V && sp.Fuel.Given() && sp.Fuel.V != "electric" && sp.Fuel.V != "none" {
			names = append(names, sp.ID)
		}
	}
	return names
}

// basin is spaces whose water runs together.
type basin struct {
	spaces []*schema.Space
	why    string // why it takes water; empty: it does not
	at     string // the part that lets water in
}

func (c *Context) highWater() {
	watched, unknown := c.watched("water")
	sleeps := false
	for _, sp := range c.Boat.Spaces {
		sleeps = sleeps || sp.Sleeps.V
	}
	for _, b := range c.basins() {
		if b.why == "" {
			c.unknownDepth(b, watched)
			continue
		}
		c.Looked("alarm-missing")
		if b.watched(watched) {
			continue
		}
		if unknown != nil {
			c.Missing("alarm-missing", "watches of "+unknown.ID, unknown.At, unknown.ID)
			continue
		}
		c.noWaterAlarm(b, sleeps)
	}
}

// watched reports whether an alarm stands where the water of the basin gathers
// first: in a bilge or engine space where it has one, else in any of its spaces.
func (b basin) watched(by map[*schema.Space]bool) bool {
	low := slices.ContainsFunc(b.spaces, func(sp *schema.Space) bool { return rank(sp) > 0 })
	return slices.ContainsFunc(b.spaces, func(sp *schema.Space) bool { return by[sp] && (!low || rank(sp) > 0) })
}

// unknownDepth says that an opening of unknown height may let water into spaces
// that nothing watches.
func (c *Context) unknownDepth(b basin, watched map[*schema.Space]bool) {
	if slices.ContainsFunc(b.spaces, func(sp *schema.Space) bool { return watched[sp] }) {
		return
	}
	for _, p := range c.Boat.Parts {
		if !p.Prepared && p.Space != nil && p.Roles().Any(schema.SeaOpening|schema.HullHole) && slices.Contains(b.spaces, p.Space) && !p.Height().Given() {
			c.Missing("alarm-missing", "height of "+p.ID, p.At, p.ID)
		}
	}
}

func (c *Context) noWaterAlarm(b basin, sleeps bool) {
	length := c.Boat.Vessel.Length
	severity := diag.Note
	switch {
	case sleeps || length.Given() && length.V >= tables.HighWaterAlarm-1e-9:
		severity = diag.Warning
	case !length.Given():
		c.Missing("alarm-missing", "length of the vessel", c.Boat.Vessel.At, b.spaces[0].ID)
	}
	at := []string{b.spaces[0].ID}
	if b.at != "" {
		at = append(at, b.at)
	}
	f := diag.Finding{Rule: "alarm-missing", Severity: severity, Span: b.spaces[0].At, At: at,
		Message: fmt.Sprintf("no high-water alarm watches %s, %s", b.spaces[0].Name(), b.why),
		Risk:    "water is found when it reaches the engine or the bunks",
		Do:      fmt.Sprintf("fit a water alarm in %s with a sounder that is heard at the helm and ashore", b.spaces[0].Name()),
		Source:  "46 CFR 182.530 as practice, hulls from 7.9 m (26 ft)"}
	if length.Given() && !sleeps {
		f.Value, f.Limit, f.Unit = diag.Figure(length.V), diag.Figure(tables.HighWaterAlarm), "m"
	}
	c.Add(f)
}

// basins joins spaces whose water runs together: those that are not watertight
// are one, watertight ones stand alone unless limber holes join them. The bilge
// stands first.
func (c *Context) basins() []basin {
	var open basin
	var list []basin
	group := map[*schema.Space]int{} // 0: the open one
	for _, sp := range c.Boat.Spaces {
		if sp.Weather.V {
			continue
		}
		if sp.Watertight.V {
			list = append(list, basin{spaces: []*schema.Space{sp}})
			group[sp] = len(list)
			continue
		}
		open.spaces = append(open.spaces, sp)
	}
	slices.SortStableFunc(open.spaces, func(a, b *schema.Space) int {
		return rank(b) - rank(a)
	})
	if len(open.spaces) > 0 {
		list = append([]basin{open}, list...)
	} else {
		list = append([]basin{{}}, list...)
	}
	for sp, i := range group {
		group[sp] = i
	}
	for _, a := range c.Boat.Spaces {
		for _, b := range c.Boat.Spaces {
			if a != b && group[a] != group[b] && joinedSpaces(a, b) {
				c.mergeBasins(list, group, group[a], group[b])
			}
		}
	}
	for i := range list {
		c.takesWater(&list[i])
	}
	return list
}

// rank puts bilges before engine spaces before others.
func rank(sp *schema.Space) int {
	switch {
	case sp.Bilge.V:
		return 2
	case sp.Engine.V:
		return 1
	}
	return 0
}

func (c *Context) mergeBasins(list []basin, group map[*schema.Space]int, a, b int) {
	into, from := min(a, b), max(a, b)
	list[into].spaces = append(list[into].spaces, list[from].spaces...)
	list[from].spaces = nil
	for _, sp := range c.Boat.Spaces {
		if group[sp] == from {
			group[sp] = into
		}
	}
	slices.SortStableFunc(list[into].spaces, func(a, b *schema.Space) int { return rank(b) - rank(a) })
}

// takesWater says why water can gather in a basin.
func (c *Context) takesWater(b *basin) {
	for _, sp := range b.spaces {
		switch {
		case sp.Bilge.V:
			b.why = "where water gathers"
			return
		case sp.Engine.V:
			b.why = "an engine space"
			return
		}
	}
	for _, p := range c.Boat.Parts {
		if p.Prepared || p.Space == nil || !p.Roles().Any(schema.SeaOpening|schema.HullHole) || !slices.Contains(b.spaces, p.Space) {
			continue
		}
		if h := p.Height(); h.Given() && h.V < unit.Metre(c.Boat.Vessel.Laden.Or(0)) {
			b.why, b.at = fmt.Sprintf("where %s lies below the waterline", p.ID), p.ID
			i := slices.Index(b.spaces, p.Space)
			b.spaces[0], b.spaces[i] = b.spaces[i], b.spaces[0]
			return
		}
	}
}
