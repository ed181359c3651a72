package kinds

import (
	"fitout/schema"
	"fitout/schema/unit"
)

func supplyAttr(def string) attr {
	return word("supply", "what feeds it", "dc", "ac").def(def, documented)
}

func aircon() *schema.Kind {
	return &schema.Kind{
		Name: "aircon", Aliases: []string{"air-conditioner", "chiller"}, Title: "air-conditioning unit", Class: "E",
		Help:  "Cools the cabin and gives its heat to sea water.",
		Media: []schema.Medium{schema.DC, schema.AC, schema.Water},
		Roles: func(p *schema.Part) schema.Role {
			return acRole(p, schema.Load|schema.SeaUser|schema.Equipment)
		},
		Terminals: func(p *schema.Part) []schema.Terminal {
			return append(supplied(p, true), need("water-in", schema.Water, schema.WaterIn),
				need("water-out", schema.Water, schema.WaterOut), spare("drain", schema.Water, schema.WaterOut))
		},
		Attrs: attrs([]attr{
			watts("capacity", "cooling power").eg("9000 BTU/h"), needs(), loss(), supplyAttr("dc"),
			heatAttr().def("capacity and draw; 1.25 × capacity where the draw in watts cannot be told", heatSource), rim(), text("refrigerant", "refrigerant it is filled with").eg("R32"),
		}, watery(), loadAttrs("10 %")),
		Branches: func(p *schema.Part) []schema.Branch {
			return suppliedDraw(p, loadSpec{drop: comfort, motor: true, continuous: true})
		},
		Channels: func(p *schema.Part) []schema.Channel {
			return []schema.Channel{cooled(p, "water-in", "water-out", rejected(p))}
		},
		Openings: func(p *schema.Part) []schema.Opening {
			o := opening(p, schema.ToInside, "drain", "condensate pan", "rim")
			o.Drips = true
			return []schema.Opening{o}
		},
		Symbol: drawn("aircon"), Rating: rated("capacity", "draw"), Order: ordered("air-conditioning unit", "capacity", "supply", "volts", "draw", "water %flow"),
		Example: `{kind: aircon, capacity: 9000 BTU/h, draw: 25 A, flow: 9.5 L/min, loss: {10 L/min: 0.6 m head}, height: 0.3 m}`,
	}
}

const heatSource = "cooling and the power taken; 1.25 × cooling capacity is 15,000 BTU/h rejected for 12,000 BTU/h of cooling"

// rejected is the heat given to the water: as stated, else the capacity and the
// power taken, else from the capacity alone.
func rejected(p *schema.Part) schema.Val[unit.Watt] {
	if h := p.Watts("heat"); h.Given() {
		return h
	}
	c := p.Watts("capacity")
	if !c.Given() {
		return schema.Val[unit.Watt]{}
	}
	if in := taken(p); in > 0 {
		return derived(c.V + in)
	}
	return derived(unit.Watt(1.25 * float64(c.V)))
}

// taken is the power a unit states that it draws, 0 where that cannot be told.
func taken(p *schema.Part) unit.Watt {
	if w := p.Watts("draw"); w.Given() {
		return w.V
	}
	a, v := p.Amps("draw"), p.Volts("volts")
	if !a.Given() || !v.Given() {
		return 0
	}
	return unit.Watt(float64(a.V) * float64(v.V))
}

func waterMaker() *schema.Kind {
	return &schema.Kind{
		Name: "water-maker", Aliases: []string{"watermaker"}, Title: "water maker", Class: "G",
		Help:  "Presses fresh water out of sea water; nothing passes to the product side while it stands.",
		Media: []schema.Medium{schema.DC, schema.AC, schema.Water},
		Roles: func(p *schema.Part) schema.Role {
			return acRole(p, schema.Load|schema.SeaUser|schema.Equipment)
		},
		Terminals: func(p *schema.Part) []schema.Terminal {
			return append(supplied(p, true), need("feed", schema.Water, schema.WaterIn),
				need("brine", schema.Water, schema.WaterOut), need("product", schema.Water, schema.WaterOut))
		},
		Attrs: attrs([]attr{flow("flow", "feed water it needs").eg("10 L/min"), flow("product", "fresh water it makes").eg("60 L/h"), supplyAttr("dc")},
			watery(), loadAttrs("10 %")),
		Branches: func(p *schema.Part) []schema.Branch {
			return suppliedDraw(p, loadSpec{drop: comfort, motor: true, continuous: true})
		},
		Channels: func(p *schema.Part) []schema.Channel {
			c := cooled(p, "feed", "brine", schema.Val[unit.Watt]{})
			c.Pump = ownPump(p, "impeller", "dc")
			return []schema.Channel{c, {Type: schema.Blocked, A: "feed", B: "product"}}
		},
		Symbol: drawn("water-maker"), Rating: rated("product", "draw"), Order: ordered("water maker", "product", "supply", "volts", "draw", "feed %flow"),
		Example: `{kind: water-maker, draw: 15 A, flow: 8 L/min, product: 60 L/h}`,
	}
}

// ownPump is the pump inside a piece of equipment.
func ownPump(p *schema.Part, design, drive string) *schema.PumpData {
	return &schema.PumpData{Duty: "circulating", Design: design, Drive: drive, Displacement: true, SelfPriming: true, Flow: p.Flow("flow")}
}

func calorifier() *schema.Kind {
	return &schema.Kind{
		Name: "calorifier", Aliases: []string{"water-heater"}, Title: "calorifier", Class: "E",
		Help:  "Heats fresh water by engine coolant or shore power, under pressure.",
		Media: []schema.Medium{schema.Water, schema.AC},
		Roles: func(p *schema.Part) schema.Role {
			r := schema.Holding | schema.Equipment
			if p.Has("power") || p.Has("draw") {
				r |= schema.Load | schema.ACPart
			}
			return r
		},
		Terminals: func(p *schema.Part) []schema.Terminal {
			return join([]schema.Terminal{
				need("cold", schema.Water, schema.WaterIn), need("hot", schema.Water, schema.WaterOut),
				spare("coolant-in", schema.Water, schema.WaterIn), spare("coolant-out", schema.Water, schema.WaterOut),
				spare("relief", schema.Water, schema.WaterOut),
			}, acTrio("", "", p.Has("power") || p.Has("draw")), []schema.Terminal{caseTerminal()})
		},
		Attrs: attrs([]attr{
			volume("capacity", "water it holds").eg("22 L"), watts("power", "power of its element").eg("750 W"),
			head("relief", "pressure at which its relief valve lifts, or whether it has one of its own").eg("6 bar").orWords("yes", "no", "built-in"),
			acVolts(), quantity("set", "temperature it heats to", unit.Temperature).eg("60 °C"), heatAttr(),
		}, watery(), loadAttrs("10 %")),
		Branches: func(p *schema.Part) []schema.Branch {
			out := []schema.Branch{joined(schema.AC, "PE", "case")}
			if !p.Has("power") && !p.Has("draw") {
				return out
			}
			return append([]schema.Branch{drawBranch(p, schema.AC, "L", "N", loadSpec{drop: comfort, continuous: true})}, out...)
		},
		Channels: func(p *schema.Part) []schema.Channel {
			coil := schema.Channel{Type: schema.CoilWay, A: "coolant-in", B: "coolant-out", Heat: p.Watts("heat")}
			return []schema.Channel{passage(p, "cold", "hot", 0, ""), open("cold", "relief"), coil}
		},
		Symbol: drawn("calorifier"), Rating: rated("capacity", "power"), Order: ordered("calorifier", "capacity", "power", "volts", "relief %relief"),
		Example: `{kind: calorifier, capacity: 22 L, power: 750 W, volts: 230 V, relief: 6 bar}`,
	}
}

func engineAttrs() []attr {
	return []attr{
		watts("power", "power").eg("40 hp"), fuelAttr(), needs(),
		level("injection", "height of the injection point").eg("0.15 m"),
		volts("volts", "voltage of its electrics").eg("12 V"),
		word("cooling", "what cools it", "raw-water", "exchanger", "keel", "air").def("raw-water", documented),
		heatAttr(), quantity("speed", "greatest speed", unit.RotationalSpeed).eg("3600 rpm"), bore("exhaust", "size of its exhaust"),
		word("exhaust-type", "wet or dry exhaust", "wet", "dry").def("wet", documented), count("cylinders", "how many cylinders"),
	}
}

func engineWater(p *schema.Part) []schema.Terminal {
	wet := p.Word("cooling").V != "air"
	in, ex := need("water-in", schema.Water, schema.WaterIn), need("exhaust", schema.Water, schema.Exhaust)
	in.Needed = wet && p.Word("cooling").V != "keel"
	ex.Needed = wet && p.Word("exhaust-type").V != "dry"
	return []schema.Terminal{
		in, spare("water-out", schema.Water, schema.WaterOut), spare("elbow", schema.Water, schema.WaterIn), ex,
		spare("coolant-out", schema.Water, schema.WaterOut), spare("coolant-in", schema.Water, schema.WaterIn),
	}
}

// engineChannels: raw water through the exchanger, a joint to the elbow that the
// file may replace, the exhaust behind it, and coolant that never mixes with it.
func engineChannels(p *schema.Part) []schema.Channel {
	raw := cooled(p, "water-in", "water-out", p.Watts("heat"))
	raw.Pump = ownPump(p, "impeller", "engine")
	elbow := open("water-out", "elbow")
	elbow.BreaksIfJoined, elbow.OrIfJoined = "elbow", "water-out"
	return []schema.Channel{raw, elbow, open("elbow", "exhaust"),
		{Type: schema.CoilWay, A: "coolant-in", B: "coolant-out"}}
}

func engine() *schema.Kind {
	return &schema.Kind{
		Name: "engine", Title: "engine", Class: "M",
		Help:  "Burns fuel and turns; its raw water leaves through the exhaust.",
		Media: []schema.Medium{schema.Water, schema.DC},
		Roles: engineRoles,
		Terminals: func(p *schema.Part) []schema.Terminal {
			return append(engineWater(p), caseTerminal())
		},
		Attrs:    attrs(engineAttrs(), watery()),
		Channels: engineChannels,
		Symbol:   drawn("engine"), Rating: rated("power", "fuel"), Order: ordered("engine", "power", "fuel", "volts"),
		Example: `{kind: engine, power: 40 hp, fuel: diesel, flow: 30 L/min, injection: 0.15 m}`,
	}
}

func engineRoles(p *schema.Part) schema.Role {
	r := schema.Engine | schema.Equipment
	if f := p.Word("fuel").V; f != "electric" && f != "none" {
		r |= schema.FuelBurner
	}
	if p.Word("cooling").V != "air" && p.Word("cooling").V != "keel" {
		r |= schema.SeaUser
	}
	return r
}

func generator() *schema.Kind {
	return &schema.Kind{
		Name: "generator", Aliases: []string{"genset"}, Title: "generator set", Class: "G",
		Help:  "An engine that makes mains power.",
		Media: []schema.Medium{schema.AC, schema.DC, schema.Water},
		Roles: func(p *schema.Part) schema.Role {
			return engineRoles(p) | schema.Source | schema.ACPart
		},
		Terminals: func(p *schema.Part) []schema.Terminal {
			return join(acTrio("", "", true), []schema.Terminal{
				spare("+", schema.DC, schema.Plus), spare("-", schema.DC, schema.Minus), caseTerminal()}, engineWater(p))
		},
		Attrs: attrs([]attr{
			watts("power", "AC power it gives").eg("4 kW"), volts("volts", "AC voltage it makes").eg("230 V"), rating("AC current it gives"),
			quantity("draw", "what its starting circuit takes", currentDim, powerDim), amps("starting", "starting current").eg("200 A"),
			volts("in-volts", "voltage of its starting circuit").eg("12 V"), selfLimiting(), builtIn(),
			word("neutral-bond", "whether it joins neutral to earth", "always", "inverting", "never"), resistance(),
			volts("least-volts", "least voltage it starts at"), share("drop", "voltage drop allowed to its starter").def("10 %", dropSource), flag("memory", "may stay on with the battery switch off"),
		}, engineAttrs(), watery()),
		Branches: generatorBranches,
		Channels: engineChannels,
		Symbol:   drawn("generator"), Rating: rated("power", "volts"), Order: ordered("generator set", "power", "volts", "fuel"),
		Example: `{kind: generator, power: 4 kW, volts: 230 V, fuel: diesel, flow: 15 L/min, injection: 0.1 m, neutral-bond: always}`,
	}
}

func generatorBranches(p *schema.Part) []schema.Branch {
	f := &schema.FeedData{Volts: p.Volts("volts"), Watts: p.Watts("power"), Amps: p.Amps("rating"), SelfLimiting: p.Flag("self-limiting"),
		BuiltIn: p.Inside(), Needs: "engine", Engine: p.ID, Isolated: true}
	if !f.Amps.Given() && f.Watts.Given() && f.Volts.V > 0 {
		f.Amps = derived(unit.Amp(float64(f.Watts.V) / float64(f.Volts.V)))
	}
	start := loadData(p, loadSpec{drop: comfort, motor: true})
	start.Volts = p.Volts("in-volts")
	if !p.Has("draw") {
		start.Amps, start.Watts, start.Model = byKind[unit.Amp](0, "0 A"), schema.Val[unit.Watt]{}, "current"
	}
	out := []schema.Branch{
		{Type: schema.Feed, Medium: schema.AC, A: "L", B: "N", Feed: f},
		{Type: schema.Draw, Medium: schema.DC, A: "+", B: "-", Load: start},
		joined(schema.AC, "PE", "case"),
	}
	return append(out, neutralBond(p, "N", "PE")...)
}

func toilet() *schema.Kind {
	return &schema.Kind{
		Name: "toilet", Aliases: []string{"head"}, Title: "toilet", Class: "U",
		Help:  "Its bowl is open to the boat at the rim; its own pump draws from `supply` where it has one.",
		Media: []schema.Medium{schema.Water, schema.DC},
		Roles: func(p *schema.Part) schema.Role {
			r := schema.Toilet | schema.InsideOpening | schema.Equipment
			if electricToilet(p) {
				r |= schema.Load
			}
			return r
		},
		Terminals: func(p *schema.Part) []schema.Terminal {
			out := []schema.Terminal{
				spare("supply", schema.Water, schema.WaterIn), spare("flush-out", schema.Water, schema.WaterOut),
				spare("flush", schema.Water, schema.WaterIn), need("out", schema.Water, schema.WaterOut),
			}
			if electricToilet(p) {
				out = append(out, plus(), minus(), caseTerminal())
			}
			return out
		},
		Attrs: attrs([]attr{
			word("design", "how it is flushed", "hand", "electric", "vacuum"), rim(),
			flow("flow", "flush water it takes"),
		}, watery(), loadAttrs("10 %")),
		Branches: func(p *schema.Part) []schema.Branch {
			if !electricToilet(p) {
				return nil
			}
			return []schema.Branch{drawBranch(p, schema.DC, "+", "-", loadSpec{drop: comfort, motor: true})}
		},
		Channels: toiletChannels,
		Openings: func(p *schema.Part) []schema.Opening {
			return []schema.Opening{opening(p, schema.ToInside, "flush", "bowl", "rim")}
		},
		Symbol: drawn("toilet"), Rating: rated("design", "draw"), Order: ordered("toilet", "design", "volts", "draw"),
		Example: `{kind: toilet, design: hand, rim: 0.25 m, height: 0.1 m}`,
	}
}

// electricToilet: by its design, or because it is said to draw current.
func electricToilet(p *schema.Part) bool {
	switch p.Word("design").V {
	case "electric", "vacuum":
		return true
	case "hand":
		return false
	}
	return p.Has("draw") || p.Has("power")
}

// toiletChannels: its own pump, the joint to the bowl that the file may replace,
// and the bowl with a joker valve behind it, which is never a barrier.
func toiletChannels(p *schema.Part) []schema.Channel {
	drive := "hand"
	if electricToilet(p) {
		drive = "dc"
	}
	flush := open("flush-out", "flush")
	flush.BreaksIfJoined, flush.OrIfJoined = "flush", "flush-out"
	return []schema.Channel{
		{Type: schema.PumpWay, A: "supply", B: "flush-out", Pump: &schema.PumpData{Duty: "transfer", Design: "diaphragm", Drive: drive, Displacement: true, SelfPriming: true}},
		flush,
		{Type: schema.Check, A: "flush", B: "out"},
	}
}
