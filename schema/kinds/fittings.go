package kinds

import (
	"fitout/schema"
	"fitout/schema/unit"
)

// fitting is a two-way part for water.
func fitting(name, title, help, class string, r schema.Role, more ...attr) *schema.Kind {
	return &schema.Kind{
		Name: name, Title: title, Help: help, Class: class,
		Media: []schema.Medium{schema.Water}, Roles: roles(r),
		Terminals: fixed(inOut(schema.Water)...), Passes: passes(schema.Water, "in", "out"),
		Attrs:  attrs(more, watery(), []attr{heatAttr(), needs()}),
		Symbol: drawn(name), Rating: rated("size"), Order: ordered(title, "size", "material"),
		Example: `{kind: ` + name + `, size: 3/4 in}`,
	}
}

func through(k float64, source string) func(*schema.Part) []schema.Channel {
	return func(p *schema.Part) []schema.Channel {
		c := passage(p, "in", "out", k, source)
		c.Heat, c.Flow = p.Watts("heat"), p.Flow("flow")
		return []schema.Channel{c}
	}
}

func strainer() *schema.Kind {
	k := fitting("strainer", "strainer", "Keeps weed and grit from what lies behind it; its height is the lid's.", "H", schema.Strainer,
		flag("lid", "has a lid that is opened to clean it"))
	k.Channels = through(4, kMemory)
	k.Example = `{kind: strainer, size: 3/4 in, height: 0.1 m}`
	return k
}

func checkValve() *schema.Kind {
	k := fitting("check-valve", "check valve", "Lets water one way while it runs; never a barrier.", "R", schema.NonReturn,
		word("type", "form of the valve", "swing", "spring", "ball", "joker", "flap"))
	k.Directed = true
	k.Channels = func(p *schema.Part) []schema.Channel {
		c := passage(p, "in", "out", 2.5, epanet+": swing check valve")
		c.Type = schema.Check
		return []schema.Channel{c}
	}
	k.Example = `{kind: check-valve, size: 1 in}`
	return k
}

func reliefValve() *schema.Kind {
	k := fitting("relief-valve", "relief valve", "Lifts on too much pressure; nothing may stand before it.", "F", schema.Relief,
		quantity("set", "pressure at which it lifts", unit.Pressure).eg("6 bar"),
		head("relief", "pressure at which it lifts").eg("6 bar"))
	k.Channels = func(p *schema.Part) []schema.Channel {
		return []schema.Channel{{Type: schema.Blocked, A: "in", B: "out", Loss: lossOf(p), Bore: sizeOf(p)}}
	}
	k.Terminals = fixed(need("in", schema.Water, schema.WaterIn), spare("out", schema.Water, schema.WaterOut))
	k.Order = ordered("relief valve", "size", "set", "lifts at %relief", "pressure")
	k.Example = `{kind: relief-valve, size: 1/2 in, pressure: 6 bar}`
	return k
}

func bleed() *schema.Kind {
	k := fitting("bleed", "bleed", "A point where air is let out.", "Q", schema.Bleeding)
	k.Channels = through(0.6, epanet+": tee, through the run")
	k.Example = `{kind: bleed, size: 3/4 in, height: 0.4 m}`
	return k
}

func heatExchanger() *schema.Kind {
	k := fitting("heat-exchanger", "heat exchanger", "Gives heat to the water that passes it.", "E", schema.Equipment,
		heatAttr(), needs())
	k.Roles = func(p *schema.Part) schema.Role {
		if p.Has("heat") || p.Has("flow") {
			return schema.Equipment | schema.SeaUser
		}
		return schema.Equipment
	}
	k.Channels = through(0, "")
	k.Order = ordered("heat exchanger", "heat", "size", "material")
	k.Example = `{kind: heat-exchanger, heat: 8 kW, flow: 20 L/min, loss: {20 L/min: 1 m head}}`
	return k
}

func waterlock() *schema.Kind {
	k := fitting("waterlock", "waterlock", "Holds the water of a wet exhaust so that it cannot run back to the engine.", "C", 0,
		volume("capacity", "water it holds").eg("10 L"))
	k.Aliases = []string{"muffler", "lift-silencer"}
	k.Channels = through(0, "")
	k.Example = `{kind: waterlock, size: 2 in, capacity: 10 L, height: -0.1 m}`
	return k
}

func ventedLoop() *schema.Kind {
	return &schema.Kind{
		Name: "vented-loop", Aliases: []string{"anti-siphon-valve", "siphon-break"}, Title: "vented loop", Class: "F",
		Help:  "A loop above the sea that lets air in at its top, so that nothing siphons past it; its height is the vent's.",
		Media: []schema.Medium{schema.Water}, Roles: roles(schema.Vent),
		Terminals: fixed(append(inOut(schema.Water), spare("vent", schema.Water, schema.WaterAny))...),
		Passes:    passes(schema.Water, "in", "out"),
		Attrs:     attrs([]attr{date("tested", "when its air valve was last cleaned and tried")}, watery()),
		Channels: func(p *schema.Part) []schema.Channel {
			c := passage(p, "in", "out", 2.2, epanet+": close return bend")
			c.Vented = true
			return []schema.Channel{c, {Type: schema.Blocked, A: "in", B: "vent"}}
		},
		Symbol: drawn("vented-loop"), Rating: rated("size"), Order: ordered("vented loop", "size", "material"),
		Example: `{kind: vented-loop, size: 3/4 in, height: 0.5 m}`,
	}
}

// waterJoint is a part where any number of hoses meet.
func waterJoint(name, title, help string) *schema.Kind {
	return &schema.Kind{
		Name: name, Title: title, Help: help, Class: "X",
		Media: []schema.Medium{schema.Water}, Roles: roles(schema.Junction),
		Terminals: fixed(joint(schema.Water, schema.WaterAny)...), Open: true, Single: true,
		Attrs: attrs(watery(), []attr{count("outlets", "how many outlets it has").within(1, 40)}), Channels: hubWater,
		Symbol: drawn(name), Rating: rated("size"), Order: ordered(title, "size", "material"),
		Example: `{kind: ` + name + `, size: 3/4 in}`,
	}
}

func tee() *schema.Kind {
	return waterJoint("tee", "tee", "Where a hose branches.")
}

func manifold() *schema.Kind {
	return waterJoint("manifold", "manifold", "Where several hoses meet in one body.")
}
