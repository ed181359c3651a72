package kinds

import (
	"fitout/schema"
	"fitout/schema/unit"
)

func tank() *schema.Kind {
	return &schema.Kind{
		Name: "tank", Title: "tank", Class: "C",
		Help:  "Holds fresh, grey or black water.",
		Media: []schema.Medium{schema.Water},
		Roles: roles(schema.Holding),
		Terminals: fixed(
			spare("fill", schema.Water, schema.WaterIn), spare("vent", schema.Water, schema.WaterAny),
			spare("outlet", schema.Water, schema.WaterOut), spare("drain", schema.Water, schema.WaterOut),
			spare("inlet", schema.Water, schema.WaterIn), spare("pump-out", schema.Water, schema.WaterOut),
			spare("overflow", schema.Water, schema.WaterOut), spare("return", schema.Water, schema.WaterIn)),
		Open: true,
		Attrs: attrs([]attr{
			volume("capacity", "water it holds").eg("200 L"),
			word("contents", "what it holds", "fresh", "grey", "black").read("gray", "grey"),
			level("level", "height of the water above the static waterline, or how full it is").orDim(unit.Proportion).orWords("full", "empty").def("full", language),
			materials("flexible", "grp"), head("pressure", "pressure it works at").eg("1 bar"),
			insideAttr("no"), flag("vented", "vented without a hose"), level("top", "height of its top"),
			bore("vent-size", "size of its vent"),
		}, watery()),
		Channels: hubWater,
		Openings: func(p *schema.Part) []schema.Opening {
			if !p.Flag("inside").V {
				return nil
			}
			return []schema.Opening{opening(p, schema.ToInside, "vent", "vent", "top")}
		},
		Symbol: drawnBy("tank", "contents"), Rating: rated("capacity", "contents"), Order: ordered("tank", "contents", "capacity", "material"),
		Example: `{kind: tank, contents: fresh, capacity: 200 L, height: 0.2 m}`,
	}
}

func accumulator() *schema.Kind {
	return &schema.Kind{
		Name: "accumulator", Title: "pressure accumulator", Class: "C",
		Help:      "Evens out the pressure of a water system.",
		Media:     []schema.Medium{schema.Water},
		Roles:     roles(schema.Holding),
		Terminals: fixed(need("in", schema.Water, schema.WaterAny)),
		Attrs: attrs([]attr{volume("capacity", "water and air it holds").eg("2 L"), head("pressure", "pressure of its air").eg("1 bar"),
			word("contents", "what it holds", "fresh", "grey", "black").def("fresh", documented)}, watery()),
		Symbol: drawn("accumulator"), Rating: rated("capacity"), Order: ordered("pressure accumulator", "capacity", "pressure"),
		Example: `{kind: accumulator, capacity: 2 L, pressure: 1 bar}`,
	}
}

func fixtureAttrs(def string) []schema.Attr {
	return attrs([]attr{rim(), insideAttr(def), needs(), volume("capacity", "water it holds").eg("20 L"),
		word("contents", "what runs into it", "fresh", "grey", "black", "sea").read("gray", "grey")}, watery())
}

// basin is a part open to the boat at its rim. Water that falls into it from a
// tap goes on to the drain, but nothing is drawn back up.
func basin(name, title, help string, terminals ...schema.Terminal) *schema.Kind {
	return &schema.Kind{
		Name: name, Title: title, Help: help, Class: "U",
		Media: []schema.Medium{schema.Water}, Roles: roles(schema.InsideOpening),
		Terminals: fixed(terminals...), Alone: "out",
		Attrs: fixtureAttrs("yes"),
		Openings: func(p *schema.Part) []schema.Opening {
			out := []schema.Opening{opening(p, inside(p, true), "out", "rim", "rim")}
			for _, t := range terminals {
				if t.Name != "out" {
					out = append(out, opening(p, inside(p, true), t.Name, "rim", "rim"))
				}
			}
			return out
		},
		Symbol: drawn(name), Rating: rated("size"), Order: ordered(title, "size", "material"),
		Example: `{kind: ` + name + `, rim: 0.4 m}`,
	}
}

// oneRim is the opening of a vessel whose terminals all lie under its one rim.
func oneRim(p *schema.Part) []schema.Opening {
	return []schema.Opening{opening(p, inside(p, true), "out", "rim", "rim")}
}

func sink() *schema.Kind {
	k := basin("sink", "sink", "A basin with a drain.", need("out", schema.Water, schema.WaterOut),
		spare("cold", schema.Water, schema.WaterIn), spare("hot", schema.Water, schema.WaterIn), spare("in", schema.Water, schema.WaterIn))
	k.Aliases = []string{"basin"}
	return k
}

func shower() *schema.Kind {
	k := basin("shower", "shower", "A shower tray with a drain.", need("out", schema.Water, schema.WaterOut),
		spare("cold", schema.Water, schema.WaterIn), spare("hot", schema.Water, schema.WaterIn), spare("in", schema.Water, schema.WaterIn))
	k.Openings = drips(k.Openings)
	return k
}

// drips marks the drain of a pan or tray: condensate or shower water runs off by
// it.
func drips(openings func(*schema.Part) []schema.Opening) func(*schema.Part) []schema.Opening {
	return func(p *schema.Part) []schema.Opening {
		out := openings(p)
		out[0].Drips = true
		return out
	}
}

func sump() *schema.Kind {
	k := basin("sump", "sump", "A box that drains run into and a pump empties.",
		spare("in", schema.Water, schema.WaterIn), need("out", schema.Water, schema.WaterOut))
	k.Alone, k.Open = "", true
	k.Passes = passes(schema.Water, "in", "out")
	k.Channels, k.Openings = hubWater, oneRim
	k.Example = `{kind: sump, rim: -0.1 m, capacity: 10 L}`
	return k
}

func icebox() *schema.Kind {
	return basin("icebox", "icebox", "A cold box with a drain.", need("out", schema.Water, schema.WaterOut))
}

func cockpitDrain() *schema.Kind {
	k := basin("cockpit-drain", "cockpit drain", "Lets water out of the cockpit.",
		need("out", schema.Water, schema.WaterOut), spare("in", schema.Water, schema.WaterIn))
	k.Aliases = []string{"deck-drain"}
	k.Channels = hubWater
	k.Openings = func(p *schema.Part) []schema.Opening {
		o := opening(p, inside(p, true), "out", "grating", "rim")
		o.Drain = true
		return []schema.Opening{o}
	}
	k.Example = `{kind: cockpit-drain, size: 1-1/2 in, height: 0.3 m}`
	return k
}

func drainPan() *schema.Kind {
	k := basin("drain-pan", "drain pan", "Catches condensate or drips.",
		need("out", schema.Water, schema.WaterOut), spare("in", schema.Water, schema.WaterIn))
	k.Channels, k.Openings = hubWater, drips(oneRim)
	k.Example = `{kind: drain-pan, height: 0.2 m}`
	return k
}

// spout is a part at which water leaves a pipe, open at its height.
func spout(name, title, help, alone string, insideDefault bool, terminals ...schema.Terminal) *schema.Kind {
	def := "no"
	if insideDefault {
		def = "yes"
	}
	return &schema.Kind{
		Name: name, Title: title, Help: help, Class: "Q",
		Media: []schema.Medium{schema.Water}, Roles: func(p *schema.Part) schema.Role {
			if p.Flag("inside").Or(insideDefault) {
				return schema.InsideOpening
			}
			return 0
		},
		Terminals: fixed(terminals...), Alone: alone,
		Attrs: fixtureAttrs(def), Channels: hubWater,
		Openings: func(p *schema.Part) []schema.Opening {
			return []schema.Opening{opening(p, inside(p, insideDefault), terminals[0].Name, "tap", "")}
		},
		Symbol: drawn(name), Rating: rated("size"), Order: ordered(title, "size"),
		Example: `{kind: ` + name + `, height: 0.7 m}`,
	}
}

func tap() *schema.Kind {
	k := spout("tap", "tap", "A tap, open at its height.", "in", true,
		need("in", schema.Water, schema.WaterIn), spare("cold", schema.Water, schema.WaterIn), spare("hot", schema.Water, schema.WaterIn))
	k.Aliases = []string{"faucet"}
	// fed by cold and hot where neither is needed, by in alone otherwise
	k.Terminals = fixed(spare("in", schema.Water, schema.WaterIn), spare("cold", schema.Water, schema.WaterIn), spare("hot", schema.Water, schema.WaterIn))
	return k
}

func mixer() *schema.Kind {
	return spout("mixer", "mixer tap", "Mixes cold and hot; open at its height.", "", true,
		need("cold", schema.Water, schema.WaterIn), need("hot", schema.Water, schema.WaterIn), spare("out", schema.Water, schema.WaterOut))
}

func washdown() *schema.Kind {
	return spout("washdown", "washdown outlet", "A tap on deck.", "", false, need("in", schema.Water, schema.WaterIn))
}

func dockWater() *schema.Kind {
	k := spout("dock-water", "shore-water inlet", "Where the shore's water is joined.", "", false, need("out", schema.Water, schema.WaterOut))
	k.Roles = roles(schema.DeckOpening)
	k.Openings = func(p *schema.Part) []schema.Opening {
		return []schema.Opening{opening(p, schema.ToAir, "out", "shore water", "")}
	}
	k.Example = `{kind: dock-water, pressure: 3 bar, height: 1.2 m}`
	return k
}

// deckKind is an opening on deck or in the topsides that should stay dry.
func deckKind(name, title, help, what, alone string, terminals ...schema.Terminal) *schema.Kind {
	return &schema.Kind{
		Name: name, Title: title, Help: help, Class: "X",
		Media: []schema.Medium{schema.Water}, Roles: roles(schema.DeckOpening),
		Terminals: fixed(terminals...), Alone: alone,
		Attrs: fixtureAttrs("no"), Channels: hubWater,
		Openings: func(p *schema.Part) []schema.Opening {
			return []schema.Opening{opening(p, inside(p, false), terminals[0].Name, what, "")}
		},
		Symbol: drawn(name), Rating: rated("size"), Order: ordered(title, "size", "material"),
		Example: `{kind: ` + name + `, size: 1-1/2 in, height: 1 m}`,
	}
}

func deckFill() *schema.Kind {
	return deckKind("deck-fill", "deck filler", "Where a tank is filled from deck.", "fill", "", need("out", schema.Water, schema.WaterOut))
}

func deckPlate() *schema.Kind {
	return deckKind("deck-plate", "deck plate", "Where a waste tank is pumped out from deck.", "deck plate", "out",
		spare("out", schema.Water, schema.WaterAny), spare("in", schema.Water, schema.WaterAny))
}

func tankVent() *schema.Kind {
	k := deckKind("tank-vent", "tank vent", "Lets air in and out of a tank.", "vent", "", need("in", schema.Water, schema.WaterAny))
	k.Aliases = []string{"vent", "breather"}
	k.Example = `{kind: tank-vent, size: 5/8 in, height: 0.8 m}`
	return k
}
