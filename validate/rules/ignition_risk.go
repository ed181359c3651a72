package rules

import (
	"fmt"

	"fitout/schema"
	"fitout/schema/diag"
)

var ignitionRisk = Rule{
	Name: "ignition-risk", Section: "DC, static",
	Asks:     "Is every part that can spark, in a space with petrol vapour, marked ignition-protected or isolated?",
	Why:      "petrol vapour lies in the lowest corner and one spark lights it",
	Severity: "error",
	Source:   "33 CFR 183.410(a) and (b); marks SAE J1171, UL 1500, ISO 8846 (from memory)",
	Quiet:    "joints that never open (bus, stud, shunt), lamps and electronics; open decks; spaces with diesel; parts with `isolated: yes` behind a bulkhead",
	Bad: `
fitout: 1
spaces:
  engine: {title: Engine space, engine: yes, fuel: petrol}
parts:
  S1: {kind: switch, title: Battery switch, rating: 200 A, space: engine}
`,
	Good: `
fitout: 1
spaces:
  engine: {title: Engine space, engine: yes, fuel: petrol}
parts:
  S1: {kind: switch, title: Battery switch, rating: 200 A, space: engine, ignition-protected: yes}
`,
	Check: checkIgnitionRisk,
}

func checkIgnitionRisk(c *Context) {
	vapour := c.petrolSpaces()
	if len(vapour) == 0 {
		return
	}
	for _, p := range c.Boat.Parts {
		if p.Prepared || !canSpark(p) || p.Flag("ignition-protected").V {
			continue
		}
		if p.Space == nil && len(vapour) > 0 {
			c.Missing("ignition-risk", "space of "+p.ID, p.At, p.ID)
		}
		if p.Space == nil || vapour[p.Space] == "" {
			continue
		}
		c.Looked("ignition-risk")
		// A converter's `isolated` speaks of its input and output, not of vapour.
		if p.Flag("isolated").V && !p.Is(schema.Converter) && !p.Is(schema.Charging) {
			continue
		}
		c.Add(diag.Finding{Rule: "ignition-risk", Severity: diag.Error, Span: p.At, At: []string{p.ID},
			Message: fmt.Sprintf("%s can spark and stands in %s, %s, without a mark that it is ignition-protected", p.Name(), p.Space.Name(), vapour[p.Space]),
			Risk:    "one spark lights petrol vapour: the boat explodes",
			Do:      fmt.Sprintf("move %s out of the space, or fit one that is marked and say `ignition-protected: yes`", p.ID),
			Source:  c.LawSource("183.410(a)")})
	}
}

// petrolSpaces are the spaces petrol vapour reaches: those that say so, those with
// a petrol engine, and those joined to them.
func (c *Context) petrolSpaces() map[*schema.Space]string {
	found := map[*schema.Space]string{}
	for _, sp := range c.Boat.Spaces {
		if sp.Fuel.V == "petrol" {
			found[sp] = "where petrol is burnt or kept"
		}
	}
	for _, p := range c.Boat.Parts {
		if !p.Prepared && p.Is(schema.Engine) && p.Word("fuel").V == "petrol" && p.Space != nil && found[p.Space] == "" {
			found[p.Space] = "with the petrol engine " + p.ID
		}
	}
	var direct []*schema.Space
	for _, sp := range c.Boat.Spaces {
		if found[sp] != "" {
			direct = append(direct, sp)
		}
	}
	for _, sp := range direct {
		for _, other := range c.Boat.Spaces {
			if found[other] == "" && joinedSpaces(sp, other) {
				found[other] = "which is open to " + sp.Name()
			}
		}
	}
	for sp := range found {
		if sp.Weather.V {
			delete(found, sp)
		}
	}
	return found
}

// joinedSpaces reports limber holes between two spaces.
func joinedSpaces(a, b *schema.Space) bool {
	for _, pair := range [][2]*schema.Space{{a, b}, {b, a}} {
		for _, j := range pair[0].Joins {
			if j.V == pair[1].ID {
				return true
			}
		}
	}
	return false
}

// canSpark reports contacts that open, motors with brushes, and chargers and the
// like, by what their branches are.
func canSpark(p *schema.Part) bool {
	if p.Is(schema.Charging) || p.Is(schema.Inverting) || p.Is(schema.Converter) || p.Is(schema.ShorePower) {
		return p.Kind.Branches != nil && !isPanelOfSun(p)
	}
	for _, b := range p.Branches() {
		switch {
		case b.Type == schema.Device || b.Type == schema.Contact:
			return true
		case b.Type == schema.Draw && b.Load != nil && (b.Load.Motor || b.Medium == schema.AC || p.Is(schema.FuelBurner)):
			return true
		case b.Type == schema.Feed && b.Feed != nil && b.Feed.Needs == "engine":
			return true
		}
	}
	return false
}

// isPanelOfSun: a solar panel has nothing that opens.
func isPanelOfSun(p *schema.Part) bool {
	for _, b := range p.Branches() {
		if b.Feed != nil && b.Feed.Needs == "sun" {
			return true
		}
	}
	return false
}
