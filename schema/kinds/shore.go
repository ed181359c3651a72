package kinds

import (
	"fitout/schema"
	"fitout/schema/unit"
)

func acVolts() attr { return volts("volts", "AC voltage").eg("230 V") }

func trip() attr {
	return amps("trip", "residual current at which it opens").eg("30 mA").within(0.001, 30)
}

func shoreInlet() *schema.Kind {
	return &schema.Kind{
		Name: "shore-inlet", Aliases: []string{"shore-power-inlet"}, Title: "shore-power inlet", Class: "X",
		Help:      "Where the shore cable is plugged in.",
		Media:     []schema.Medium{schema.AC},
		Roles:     roles(schema.Source | schema.ShorePower | schema.ACPart),
		Terminals: fixed(acTrio("", "", true)...),
		Attrs:     attrs([]attr{acVolts(), rating("rated current").eg("16 A"), builtIn(), amps("fault-current", "short-circuit current ashore"), text("plug", "form of the plug")}),
		Branches: func(p *schema.Part) []schema.Branch {
			return []schema.Branch{{Type: schema.Feed, Medium: schema.AC, A: "L", B: "N", Feed: &schema.FeedData{
				Volts: p.Volts("volts"), Amps: p.Amps("rating"), BuiltIn: p.Inside(), Needs: "shore",
			}}}
		},
		Symbol: drawn("shore-inlet"), Rating: rated("rating", "volts"), Order: ordered("shore-power inlet", "rating", "volts", "plug"),
		Example: `{kind: shore-inlet, volts: 230 V, rating: 16 A}`,
	}
}

func acDeviceAttrs() []schema.Attr {
	return attrs([]attr{
		rating("rated current; an rcd with one is a breaker too").eg("16 A"),
		count("poles", "poles it opens: one line, or line and neutral").within(1, 2).def("2", language),
		trip(), acVolts(), amps("interrupt", "current it can break").eg("6 kA"), resistance(),
		word("family", "how it opens", breakerFamilies()...), word("position", "as it usually stands", "open", "closed").def("closed", documented),
		text("curve", "tripping characteristic").eg("C"), text("type", "kind of residual current it senses").eg("A"),
	})
}

func onePole(p *schema.Part) bool { return p.Count("poles").V == 1 }

// acDeviceTerminals: a cable passes by the earth of a two-pole device, and by the
// neutral and earth of a one-pole one.
func acDeviceTerminals(p *schema.Part) []schema.Terminal {
	if onePole(p) {
		return []schema.Terminal{
			{Name: "in", Medium: schema.AC, Polarity: schema.Live, Needed: true, Cable: "in"},
			hiddenLead("N-in", "in", schema.Neutral), hiddenLead("PE-in", "in", schema.Earth),
			{Name: "out", Medium: schema.AC, Polarity: schema.Live, Needed: true, Cable: "out"},
			hiddenLead("N-out", "out", schema.Neutral), hiddenLead("PE-out", "out", schema.Earth),
		}
	}
	return join(acPair("-in", "in"), acPair("-out", "out"))
}

func acDeviceBranches(p *schema.Part) []schema.Branch {
	d := schema.DeviceData{
		Breaker: true, Family: p.Word("family").V, Rating: p.Amps("rating"), Volts: p.Volts("volts"),
		Interrupt: p.Amps("interrupt"), Trip: p.Amps("trip"), Poles: p.Count("poles").Or(2),
	}
	d.ResidualOnly = d.Trip.Given() && !d.Rating.Given()
	device := func(a, b string) schema.Branch {
		own := d
		own.Group = p.ID
		ohm, source := deviceOhms("", d.Rating)
		return schema.Branch{Type: schema.Device, Medium: schema.AC, A: a, B: b, Ohms: p.Ohms("resistance"),
			OhmsDefault: ohm, OhmsDefaultSource: source, Device: &own}
	}
	if onePole(p) {
		return []schema.Branch{device("in", "out"), joined(schema.AC, "N-in", "N-out"), joined(schema.AC, "PE-in", "PE-out")}
	}
	return []schema.Branch{device("L-in", "L-out"), device("N-in", "N-out"), joined(schema.AC, "PE-in", "PE-out")}
}

// acDevice is what rcd and ac-breaker have in common.
func acDevice(name, title, help string, r schema.Role) *schema.Kind {
	k := &schema.Kind{}
	k.Symbol = drawnAs(name, func(p *schema.Part, _ schema.Medium) string {
		if onePole(p) {
			return "1"
		}
		return ""
	})
	k.Name, k.Title, k.Help, k.Class = name, title, help, "F"
	k.Media = []schema.Medium{schema.AC}
	k.Roles = roles(r | schema.ACPart)
	k.Terminals, k.Branches, k.Attrs = acDeviceTerminals, acDeviceBranches, acDeviceAttrs()
	k.Passes = passes(schema.AC, "in", "out")
	k.Rating = rated("rating", "trip")
	k.Order = ordered(title, "rating", "trips at %trip", "poles", "volts", "breaks %interrupt")
	return k
}

func rcd() *schema.Kind {
	k := acDevice("rcd", "residual-current device", "Opens when current leaks away; with a rating it is a breaker too.", 0)
	k.Aliases = []string{"elci", "rcbo"}
	k.Roles = func(p *schema.Part) schema.Role {
		r := schema.Residual | schema.ACPart | schema.Switching
		if p.Has("rating") {
			r |= schema.Protection
		}
		return r
	}
	k.Example = `{kind: rcd, rating: 16 A, trip: 30 mA, poles: 2}`
	return k
}

func acBreaker() *schema.Kind {
	k := acDevice("ac-breaker", "AC circuit breaker", "Opens an AC circuit on too much current.", schema.Protection|schema.Switching)
	k.Roles = func(p *schema.Part) schema.Role {
		r := schema.Protection | schema.Switching | schema.ACPart
		if p.Has("trip") {
			r |= schema.Residual
		}
		return r
	}
	k.Example = `{kind: ac-breaker, rating: 16 A, poles: 2}`
	return k
}

func acPanel() *schema.Kind {
	return &schema.Kind{
		Name: "ac-panel", Title: "AC panel", Class: "U",
		Help:  "AC ways with a breaker each; one cable lands on a way.",
		Alone: "in",
		Media: []schema.Medium{schema.AC},
		Roles: roles(schema.Distribution | schema.Panel | schema.Protection | schema.Switching | schema.ACPart),
		Terminals: func(p *schema.Part) []schema.Terminal {
			out := acTrio("-in", "in", true)
			for _, w := range p.Ways {
				for _, t := range acTrio("", w.Key, false) {
					t.Name, t.Way = w.Key+"."+t.Name, w.Key
					out = append(out, t)
				}
			}
			return append(out,
				schema.Terminal{Name: "PE", Medium: schema.AC, Polarity: schema.Earth, Cable: "PE"},
				schema.Terminal{Name: "N", Medium: schema.AC, Polarity: schema.Neutral, Cable: "N"})
		},
		Attrs: attrs([]attr{ways(), rating("current its bars carry").eg("32 A"), acVolts(), amps("interrupt", "current the devices of its ways can break").eg("6 kA"),
			trip(), word("family", "how its ways' devices open", breakerFamilies()...), resistance(), studSize(),
			count("poles", "poles of a way that does not say").within(1, 2).def("1", documented)}),
		Branches: acPanelBranches,
		Symbol:   barred("ac-panel"), Rating: rated("rating"), Order: orderedPanel("AC panel"),
		Example: `{kind: ac-panel, rating: 32 A, ways: {1: {title: Charger, rating: 10 A, poles: 2}, 2: {title: Sockets, rating: 16 A, poles: 2, trip: 30 mA}}}`,
	}
}

func acPanelBranches(p *schema.Part) []schema.Branch {
	out := []schema.Branch{joined(schema.AC, "PE-in", "PE"), joined(schema.AC, "N-in", "N")}
	for _, w := range p.Ways {
		d := wayDevice(p, w, "")
		d.Breaker, d.Group = true, p.ID+"."+w.Key
		d.Poles = w.Poles.Or(p.Count("poles").Or(1))
		if !d.Trip.Given() {
			d.Trip = p.Amps("trip")
		}
		ohm, source := deviceOhms("", d.Rating)
		pole := func(a, b string) schema.Branch {
			own := *d
			return schema.Branch{Type: schema.Device, Medium: schema.AC, A: a, B: b, Way: w.Key, OhmsDefault: ohm, OhmsDefaultSource: source, Device: &own}
		}
		out = append(out, pole("L-in", w.Key+".L"))
		if d.Poles >= 2 {
			out = append(out, pole("N-in", w.Key+".N"))
		} else {
			out = append(out, joined(schema.AC, "N-in", w.Key+".N"))
		}
		out = append(out, joined(schema.AC, "PE-in", w.Key+".PE"))
	}
	return out
}

func selectorAC() *schema.Kind {
	return &schema.Kind{
		Name: "selector-ac", Aliases: []string{"transfer-switch"}, Title: "AC source selector", Class: "Q",
		Help:  "Chooses one of two AC sources; it must never join them.",
		Media: []schema.Medium{schema.AC},
		Roles: roles(schema.Switching | schema.ACPart),
		Terminals: func(*schema.Part) []schema.Terminal {
			return join(acTrio("1", "1", true), acTrio("2", "2", true), acTrio("", "", true))
		},
		Attrs: attrs([]attr{rating("current it carries").eg("32 A"),
			word("breaks", "what it opens: the live alone, or live and neutral", "live", "both").def("both", documented),
			position("1", "1", "2", "off"), acVolts(), resistance(), amps("interrupt", "current it can break"),
			flag("automatic", "chooses by itself")}),
		Branches: selectorACBranches,
		Symbol:   drawn("selector-ac"), Rating: rated("rating"), Order: ordered("AC source selector 1, off, 2", "rating", "breaks %breaks"),
		Example: `{kind: selector-ac, rating: 32 A, breaks: both}`,
	}
}

func selectorACBranches(p *schema.Part) []schema.Branch {
	pos := p.Word("position").Or("1")
	var out []schema.Branch
	for _, n := range []string{"1", "2"} {
		leads := []string{"L", "N"}
		if p.Word("breaks").V == "live" {
			leads = leads[:1]
			out = append(out, joined(schema.AC, "N"+n, "N"))
		}
		for _, lead := range leads {
			out = append(out, schema.Branch{Type: schema.Contact, Medium: schema.AC, A: lead + n, B: lead, Ohms: p.Ohms("resistance"),
				Contact: &schema.ContactData{MakesIn: []string{n}, Position: pos, Rating: p.Amps("rating"), Exclusive: true, Automatic: p.Flag("automatic").V}})
		}
		out = append(out, joined(schema.AC, "PE"+n, "PE"))
	}
	return out
}

func galvanicIsolator() *schema.Kind {
	return &schema.Kind{
		Name: "galvanic-isolator", Title: "galvanic isolator", Class: "F",
		Help:  "Blocks small direct currents in the shore earth and passes fault current.",
		Media: []schema.Medium{schema.AC},
		Roles: roles(schema.ACPart),
		Terminals: fixed(
			schema.Terminal{Name: "in", Medium: schema.AC, Polarity: schema.Earth, Needed: true, Cable: "in"},
			hiddenLead("L-in", "in", schema.Live), hiddenLead("N-in", "in", schema.Neutral),
			schema.Terminal{Name: "out", Medium: schema.AC, Polarity: schema.Earth, Needed: true, Cable: "out"},
			hiddenLead("L-out", "out", schema.Live), hiddenLead("N-out", "out", schema.Neutral)),
		Passes: passes(schema.AC, "in", "out"),
		Attrs:  attrs([]attr{rating("current it carries").eg("60 A"), acVolts(), resistance(), flag("fail-safe", "fails closed")}),
		Branches: func(p *schema.Part) []schema.Branch {
			return []schema.Branch{
				{Type: schema.Isolate, Medium: schema.AC, A: "in", B: "out", Ohms: p.Ohms("resistance")},
				joined(schema.AC, "L-in", "L-out"), joined(schema.AC, "N-in", "N-out"),
			}
		},
		Symbol: drawn("galvanic-isolator"), Rating: rated("rating"), Order: ordered("galvanic isolator", "rating", "fail-safe"),
		Example: `{kind: galvanic-isolator, rating: 60 A}`,
	}
}

func transformer() *schema.Kind {
	return &schema.Kind{
		Name: "transformer", Aliases: []string{"isolation-transformer"}, Title: "isolation transformer", Class: "T", Directed: true,
		Help:      "Makes a source of its own aboard, apart from the shore's conductors.",
		Media:     []schema.Medium{schema.AC},
		Roles:     roles(schema.Source | schema.ACPart | schema.Equipment),
		Passes:    passes(schema.AC, "in", "out"),
		Terminals: fixed(join(acTrio("-in", "in", true), acTrio("-out", "out", true), []schema.Terminal{caseTerminal()})...),
		Attrs: attrs([]attr{watts("power", "power it passes").eg("3.6 kW"), rating("current it gives").eg("16 A"), acVolts(), volts("in-volts", "AC voltage of the shore side"),
			trip(), efficiency("95 %"), idle(), builtIn(), flag("isolated", "shore earth does not pass").def("yes", documented),
			word("neutral-bond", "whether its output neutral is joined to earth", "always", "inverting", "never"), resistance(), selfLimiting(), amps("starting", "inrush current")}),
		Branches: transformerBranches,
		Symbol:   drawn("transformer"), Rating: rated("power", "rating"), Order: ordered("isolation transformer", "power", "rating", "from %in-volts", "to %volts"),
		Example: `{kind: transformer, power: 3.6 kW, volts: 230 V, neutral-bond: always}`,
	}
}

func transformerBranches(p *schema.Part) []schema.Branch {
	eff := efficiencyOr(p, 0.95)
	isolated := p.Flag("isolated").Or(true)
	feed := &schema.FeedData{
		Volts: p.Volts("volts"), Watts: p.Watts("power"), Amps: p.Amps("rating"), SelfLimiting: p.Flag("self-limiting"),
		BuiltIn: p.Inside(), Needs: "input", InA: "L-in", InB: "N-in", Efficiency: eff, Idle: idlePower(p), Isolated: isolated,
	}
	if !feed.Amps.Given() && feed.Watts.Given() && feed.Volts.V > 0 {
		feed.Amps = derived(unit.Amp(float64(feed.Watts.V) / float64(feed.Volts.V)))
	}
	out := []schema.Branch{
		{Type: schema.Draw, Medium: schema.AC, A: "L-in", B: "N-in", Load: inputLoad(p, "L-out", outputPower(p, "power"), eff, p.Volts("in-volts"))},
		{Type: schema.Feed, Medium: schema.AC, A: "L-out", B: "N-out", Feed: feed},
		joined(schema.AC, "PE-out", "case"),
	}
	if !isolated {
		out = append(out, joined(schema.AC, "PE-in", "PE-out"))
	}
	return append(out, neutralBond(p, "N-out", "PE-out")...)
}

// acLoadKind is an AC load: an outlet or equipment.
func acLoadKind(name, title, help, class string, more ...attr) *schema.Kind {
	return &schema.Kind{
		Name: name, Title: title, Help: help, Class: class,
		Media:     []schema.Medium{schema.AC},
		Roles:     roles(schema.Load | schema.ACPart),
		Terminals: fixed(append(acTrio("", "", true), caseTerminal())...),
		Attrs:     attrs([]attr{acVolts(), watts("power", "power it takes").eg("1500 W"), trip()}, more, loadAttrs("10 %")),
		Branches: func(p *schema.Part) []schema.Branch {
			b := drawBranch(p, schema.AC, "L", "N", loadSpec{drop: comfort})
			if p.Has("trip") {
				b.Device = &schema.DeviceData{Breaker: true, Trip: p.Amps("trip"), Poles: 2, ResidualOnly: true, Inside: true}
			}
			return []schema.Branch{b, joined(schema.AC, "PE", "case")}
		},
		Symbol: drawn(name), Rating: rated("power", "draw", "rating"), Order: ordered(title, "power", "draw", "rating", "trips at %trip", "volts"),
		Example: `{kind: ` + name + `, volts: 230 V, power: 1500 W}`,
	}
}

func outlet() *schema.Kind {
	k := acLoadKind("outlet", "socket outlet", "A socket; its trip is a residual-current device of its own.", "X")
	k.Aliases = []string{"socket", "receptacle"}
	k.Example = `{kind: outlet, rating: 16 A, trip: 30 mA}`
	return k
}

func acLoad() *schema.Kind {
	return acLoadKind("ac-load", "AC load", "Equipment that runs on mains power.", "E", flag("motor", "it is a motor"))
}
