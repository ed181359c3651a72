package kinds

import "fitout/schema"

func throughHull() *schema.Kind {
	return &schema.Kind{
		Name: "through-hull", Aliases: []string{"skin-fitting", "thru-hull"}, Title: "through-hull fitting", Class: "X",
		Help:      "A way through the hull for water.",
		Media:     []schema.Medium{schema.Water},
		Roles:     roles(schema.SeaOpening),
		Terminals: fixed(need("out", schema.Water, schema.WaterAny)), Single: true,
		Attrs: attrs([]attr{
			word("service", "what it is for", "intake", "discharge", "drain", "bilge", "waste", "exhaust", "scupper"),
			bore("size", "nominal size"), materials(),
			word("thread", "form of its pipe thread", "npt", "nps", "bspt", "bspp"),
			flag("scoop", "faces forward and rams water in"),
			plainAttr("seacock", "the seacock fixed straight to it: its id, or its attributes with an id", "{id: SC1, type: flanged-ball}", schema.CockOf),
			flag("flush", "lies flush with the hull"), date("exercised", "when its valve was last moved"),
		}, watery()),
		Openings: func(p *schema.Part) []schema.Opening {
			o := opening(p, schema.ToSea, "out", "hull", "")
			o.Drain = p.Word("service").V == "scupper" || p.Word("service").V == "drain"
			o.Loss, o.Bore = lossOf(p), sizeOf(p)
			if p.Word("service").V == "intake" {
				o.K, o.KSource = 0.5, epanet+": entrance, flush and sharp-edged"
			}
			return []schema.Opening{o}
		},
		Symbol: drawnBy("through-hull", "service"), Rating: rated("size", "material"),
		Order:   ordered("through-hull fitting", "size", "material", "thread", "scoop"),
		Example: `{kind: through-hull, service: intake, size: 3/4 in, material: bronze, height: -0.6 m, seacock: {id: SC1, type: flanged-ball}}`,
	}
}

func hullFitting() *schema.Kind {
	return &schema.Kind{
		Name: "hull-fitting", Title: "hull fitting", Class: "X",
		Help:      "A hole in the hull with no circuit of water.",
		Media:     []schema.Medium{schema.Water},
		Roles:     roles(schema.HullHole),
		Terminals: fixed(),
		Attrs: attrs([]attr{
			word("type", "what it is", "transducer", "shaft-seal", "rudder-gland", "drain-plug", "vent", "heater-exhaust"),
			bore("size", "size of the hole"), insideAttr("yes"),
		}, watery()),
		Openings: func(p *schema.Part) []schema.Opening {
			o := opening(p, schema.ToSea, "", p.Word("type").Or("hull"), "")
			o.Bore = sizeOf(p)
			return []schema.Opening{o}
		},
		Symbol: drawnBy("hull-fitting", "type"), Rating: rated("type", "size"),
		Order:   ordered("hull fitting", "type", "size", "material"),
		Example: `{kind: hull-fitting, type: transducer, size: 2 in, height: -0.5 m}`,
	}
}

// valveK is the loss coefficient of an open valve by its type.
func valveK(p *schema.Part) (float64, string) {
	fT := turbulent(sizeOf(p))
	switch p.Word("type").V {
	case "gate":
		return 0.2, epanet + ": gate valve, open"
	case "plug", "cone":
		return 18 * fT, tp410 + ": plug valve, straight, 18 fT"
	case "globe":
		return 10, epanet + ": globe valve, open"
	}
	return 3 * fT, tp410 + ": ball valve, full port, 3 fT"
}

// valveAttrs are those of a valve or seacock; more adds forms of valve.
func valveAttrs(more ...string) []schema.Attr {
	return attrs([]attr{
		word("type", "form of the valve", append([]string{"flanged-ball", "inline-ball", "cone", "plug", "gate"}, more...)...),
		bore("size", "nominal size"), materials(),
		word("thread", "form of its pipe thread", "npt", "nps", "bspt", "bspp"),
		position("open", "open", "closed"),
		word("secured", "how it is kept closed", "handle-off", "padlock", "tie", "door", "yes", "no"),
		duration("reach", "time a person takes to get to it").eg("20 s"),
		date("exercised", "when it was last moved"),
		flag("remote", "can be closed from elsewhere"),
	}, watery())
}

func isSecured(p *schema.Part) bool {
	s := p.Word("secured")
	return s.Given() && s.V != "no"
}

func valveChannels(p *schema.Part) []schema.Channel {
	k, source := valveK(p)
	c := passage(p, "in", "out", k, source)
	c.Type, c.MakesIn, c.Position = schema.Valve, []string{"open"}, p.Word("position").Or("open")
	c.Secured = isSecured(p)
	return []schema.Channel{c}
}

// valveKind is what seacock and valve have in common.
func valveKind(name, title, help string, r schema.Role) *schema.Kind {
	return &schema.Kind{
		Name: name, Title: title, Help: help, Class: "Q",
		Media: []schema.Medium{schema.Water}, Roles: roles(r),
		Terminals: fixed(inOut(schema.Water)...), Passes: passes(schema.Water, "in", "out"),
		Channels: valveChannels,
		Symbol: drawnAs(name, func(p *schema.Part, _ schema.Medium) string {
			closed := p.Word("position").V == "closed"
			switch {
			case name == "valve" && p.Word("type").V == "gate" && closed:
				return "gate-closed"
			case name == "valve" && p.Word("type").V == "gate":
				return "gate"
			case closed:
				return "closed"
			}
			return ""
		}),
		Rating: rated("size", "material"), Order: ordered(title, "type", "size", "material", "thread"),
	}
}

func seacock() *schema.Kind {
	k := valveKind("seacock", "seacock", "The valve at a hull opening; a person closes it.", schema.Seacock|schema.Shutoff)
	k.Attrs = valveAttrs()
	k.NotStated = []string{"exercised"}
	k.Example = `{kind: seacock, type: flanged-ball, size: 3/4 in, material: bronze, reach: 20 s, exercised: 2026-04-01}`
	return k
}

func valve() *schema.Kind {
	k := valveKind("valve", "valve", "A valve within the boat.", schema.Shutoff)
	k.Attrs = valveAttrs("globe", "solenoid")
	k.Example = `{kind: valve, type: inline-ball, size: 1/2 in, position: closed}`
	return k
}

func diverter() *schema.Kind {
	return &schema.Kind{
		Name: "diverter", Aliases: []string{"y-valve"}, Title: "diverter valve", Class: "Q",
		Help:  "Joins one of two ways to a common one.",
		Media: []schema.Medium{schema.Water},
		Roles: roles(0),
		Terminals: fixed(need("common", schema.Water, schema.WaterAny), need("a", schema.Water, schema.WaterAny),
			need("b", schema.Water, schema.WaterAny)),
		Attrs: attrs([]attr{
			position("a", "a", "b", "both", "off"),
			word("secured", "how it is kept where it stands", "handle-off", "padlock", "tie", "door", "yes", "no"),
			date("exercised", "when it was last moved"), duration("reach", "time a person takes to get to it"),
		}, watery()),
		Channels: func(p *schema.Part) []schema.Channel {
			k := 90 * turbulent(sizeOf(p))
			way := func(n string) schema.Channel {
				c := passage(p, "common", n, k, tp410+": three-way plug valve, through branch, 90 fT")
				c.Type, c.MakesIn, c.Position, c.Secured = schema.Valve, []string{n, "both"}, p.Word("position").Or("a"), isSecured(p)
				return c
			}
			return []schema.Channel{way("a"), way("b")}
		},
		Symbol: drawnBy("diverter", "position"), Rating: rated("size"), Order: ordered("diverter valve", "size", "material"),
		Example: `{kind: diverter, size: 1-1/2 in, position: a, secured: tie}`,
	}
}
