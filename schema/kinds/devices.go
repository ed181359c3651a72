package kinds

import (
	"fitout/schema"
	"fitout/schema/unit"
)

// fuseFamilies are the forms of fuse that the file names.
func fuseFamilies() []string {
	return []string{"blade", "cartridge", "strip", "strip-48v", "single-bolt", "terminal", "class-t", "class-j", "glass"}
}

// breakerFamilies are the ways a breaker opens.
func breakerFamilies() []string { return []string{"thermal", "magnetic", "hydraulic-magnetic"} }

const deviceOhmsSource = "common practice, no source: blade fuses and breakers drop 100 mV at their rated current, bolted fuses 70 mV"

// deviceOhms is the resistance of a fuse or breaker where none is stated, from
// the drop usual at its rated current; 0 where the rating is not known.
func deviceOhms(family string, rating schema.Val[unit.Amp]) (unit.Ohm, string) {
	if !rating.Given() || rating.V <= 0 {
		return 0, ""
	}
	drop := 0.100
	switch family {
	case "strip", "strip-48v", "single-bolt", "terminal", "class-t", "class-j":
		drop = 0.070
	}
	return unit.Ohm(drop / float64(rating.V)), deviceOhmsSource
}

func deviceAttrs(families []string, help string) []attr {
	return []attr{
		word("family", help, families...),
		rating("rated current").within(0.01, 2000),
		volts("volts", "highest DC voltage it may break").eg("58 V"),
		amps("interrupt", "current it can break at that voltage").eg("10 kA"),
		resistance().def("from the drop usual at its rated current", deviceOhmsSource),
		text("holder", "holder or block it sits in"), studSize(),
	}
}

func fuse() *schema.Kind {
	return &schema.Kind{
		Name: "fuse", Title: "fuse", Class: "F",
		Help:      "Opens once, by itself, on too much current.",
		Media:     []schema.Medium{schema.DC},
		Roles:     roles(schema.Protection),
		Terminals: fixed(inOut(schema.DC)...),
		Passes:    passes(schema.DC, "in", "out"),
		Attrs:     attrs(deviceAttrs(fuseFamilies(), "form of the fuse"), []attr{count("count", "how many in parallel; parallel fuses are not one big fuse").within(1, 10)}),
		Branches: func(p *schema.Part) []schema.Branch {
			return []schema.Branch{deviceBranch(p, &schema.DeviceData{})}
		},
		Symbol: drawn("fuse"), Rating: rated("rating", "family"),
		Order:   ordered("fuse", "family", "rating", "volts", "breaks %interrupt"),
		Example: `{kind: fuse, family: class-t, rating: 225 A, volts: 125 V, interrupt: 20 kA}`,
	}
}

func breaker() *schema.Kind {
	return &schema.Kind{
		Name: "breaker", Aliases: []string{"circuit-breaker"}, Title: "circuit breaker", Class: "F",
		Help:      "Opens by itself on too much current and can be closed again by hand.",
		Media:     []schema.Medium{schema.DC},
		Roles:     roles(schema.Protection | schema.Switching),
		Terminals: fixed(inOut(schema.DC)...),
		Passes:    passes(schema.DC, "in", "out"),
		Attrs: attrs(deviceAttrs(breakerFamilies(), "how it opens"), []attr{
			word("reset", "how it closes again", "manual", "automatic").def("manual", documented),
			flag("trip-free", "cannot be held closed on a fault").def("yes", documented),
			word("position", "as it usually stands", "open", "closed").def("closed", documented),
		}),
		Branches: func(p *schema.Part) []schema.Branch {
			return []schema.Branch{deviceBranch(p, &schema.DeviceData{
				Breaker: true, AutoReset: p.Word("reset").V == "automatic", NotTripFree: !p.Flag("trip-free").Or(true),
			})}
		},
		Symbol: drawn("breaker"), Rating: rated("rating", "family"),
		Order:   ordered("circuit breaker", "family", "rating", "volts", "breaks %interrupt", "reset %reset"),
		Example: `{kind: breaker, family: thermal, rating: 60 A, volts: 48 V, interrupt: 3 kA}`,
	}
}

// deviceBranch completes a device between in and out with what the part says.
func deviceBranch(p *schema.Part, d *schema.DeviceData) schema.Branch {
	d.Family, d.Rating = p.Word("family").V, p.Amps("rating")
	d.Volts, d.Interrupt = p.Volts("volts"), p.Amps("interrupt")
	d.Poles = 1
	ohm, source := deviceOhms(d.Family, d.Rating)
	return schema.Branch{Type: schema.Device, Medium: schema.DC, A: "in", B: "out",
		Ohms: p.Ohms("resistance"), OhmsDefault: ohm, OhmsDefaultSource: source, Device: d}
}

const (
	contactOhms       = 0.0002
	contactOhmsSource = "common practice, no source: 0.2 mΩ for a battery switch in good order"
)

func switchAttrs() []attr {
	return []attr{
		rating("continuous current it carries").eg("300 A"),
		amps("intermittent", "current it carries for minutes"), amps("cranking", "current it carries while cranking"),
		flag("manual-override", "can be moved by hand besides its coil"),
		volts("volts", "highest DC voltage it may break"), amps("interrupt", "current it can break"),
		resistance().def("0.2 mohm", contactOhmsSource),
		studSize(), ratedCount(), flag("momentary", "springs back when let go"),
	}
}

func position(def string, list ...string) attr {
	return word("position", "as it usually stands", list...).def(def, documented)
}

func contact(p *schema.Part, a, b string, c schema.ContactData) schema.Branch {
	c.Rating = p.Amps("rating")
	c.Momentary = p.Flag("momentary").V
	return schema.Branch{Type: schema.Contact, Medium: schema.DC, A: a, B: b,
		Ohms: p.Ohms("resistance"), OhmsDefault: contactOhms, OhmsDefaultSource: contactOhmsSource, Contact: &c}
}

func switchKind() *schema.Kind {
	return &schema.Kind{
		Name: "switch", Aliases: []string{"battery-switch"}, Title: "switch", Class: "Q",
		Help:      "A contact that a person moves; it protects nothing.",
		Media:     []schema.Medium{schema.DC},
		Roles:     roles(schema.Switching),
		Terminals: fixed(inOut(schema.DC)...),
		Passes:    passes(schema.DC, "in", "out"),
		Attrs:     attrs([]attr{position("closed", "open", "closed")}, switchAttrs(), []attr{flag("light", "shows when it is closed")}),
		Branches: func(p *schema.Part) []schema.Branch {
			return []schema.Branch{contact(p, "in", "out", schema.ContactData{
				MakesIn: []string{"closed"}, Position: p.Word("position").Or("closed")})}
		},
		Symbol: drawn("switch"), Rating: rated("rating"),
		Order:   ordered("switch", "rating", "volts", "cranking %cranking"),
		Example: `{kind: switch, title: House battery switch, rating: 300 A}`,
	}
}

func relay() *schema.Kind {
	return &schema.Kind{
		Name: "relay", Aliases: []string{"contactor", "combiner"}, Title: "relay", Class: "Q",
		Help:  "A contact that a coil moves: it joins batteries while they charge, or switches from afar.",
		Media: []schema.Medium{schema.DC},
		Roles: roles(schema.Switching),
		Terminals: fixed(append(inOut(schema.DC),
			spare("coil+", schema.DC, schema.Plus), spare("coil-", schema.DC, schema.Minus), caseTerminal())...),
		Passes: passes(schema.DC, "in", "out"),
		Attrs: attrs([]attr{
			position("closed", "open", "closed"),
			word("type", "what it is for", "combining", "remote", "latching", "changeover"),
			quantity("draw", "what its coil takes", currentDim, powerDim).eg("0.5 A"),
			volts("coil-volts", "voltage of its coil"),
		}, switchAttrs()),
		Branches: func(p *schema.Part) []schema.Branch {
			return []schema.Branch{
				contact(p, "in", "out", schema.ContactData{MakesIn: []string{"closed"}, Position: p.Word("position").Or("closed"), Automatic: true}),
				coil(p),
			}
		},
		Symbol: drawn("relay"), Rating: rated("rating"),
		Order:   ordered("relay", "type", "rating", "coil %coil-volts", "volts", "manual-override"),
		Example: `{kind: relay, title: Combining relay, type: combining, rating: 120 A, position: open}`,
	}
}

// coil is a load where its draw is stated; else it counts as no load.
func coil(p *schema.Part) schema.Branch {
	if !p.Has("draw") {
		return schema.Branch{Type: schema.Sense, Medium: schema.DC, A: "coil+", B: "coil-"}
	}
	d := &schema.LoadData{Amps: p.Amps("draw"), Watts: p.Watts("draw"), Volts: p.Volts("coil-volts"), Model: "current", Count: 1}
	if d.Watts.Given() {
		d.Model = "power"
	}
	return schema.Branch{Type: schema.Draw, Medium: schema.DC, A: "coil+", B: "coil-", Load: d}
}

func selector() *schema.Kind {
	return &schema.Kind{
		Name: "selector", Aliases: []string{"battery-selector"}, Title: "battery selector", Class: "Q",
		Help:  "Joins one of two batteries, or both, to a common lead.",
		Media: []schema.Medium{schema.DC},
		Roles: roles(schema.Switching),
		Terminals: fixed(need("1", schema.DC, schema.Through), need("2", schema.DC, schema.Through),
			need("common", schema.DC, schema.Through)),
		Attrs: attrs([]attr{position("1", "1", "2", "both", "off")}, switchAttrs()),
		Branches: func(p *schema.Part) []schema.Branch {
			pos := p.Word("position").Or("1")
			way := func(n string) schema.Branch {
				return contact(p, n, "common", schema.ContactData{MakesIn: []string{n, "both"}, Position: pos, Exclusive: true})
			}
			return []schema.Branch{way("1"), way("2")}
		},
		Symbol: drawn("selector"), Rating: rated("rating"),
		Order:   ordered("battery selector 1, 2, both, off", "rating", "volts", "cranking %cranking"),
		Example: `{kind: selector, rating: 350 A, position: 1}`,
	}
}

func shunt() *schema.Kind {
	return &schema.Kind{
		Name: "shunt", Title: "measuring shunt", Class: "B",
		Help:  "Measures the current of a bank; every return must pass it.",
		Media: []schema.Medium{schema.DC}, Directed: true,
		Roles: roles(schema.Measuring),
		Terminals: fixed(need("battery", schema.DC, schema.Through), need("load", schema.DC, schema.Through),
			spare("sense", schema.DC, schema.Signal)),
		Passes: passes(schema.DC, "battery", "load"),
		Attrs: attrs([]attr{
			rating("rated current").eg("500 A"),
			volts("millivolts", "drop at its rated current").eg("50 mV").within(0.0001, 1).bare("mV"),
			resistance().def("millivolts over rating", shuntSource), ratedVolts(), studSize(),
		}),
		Branches: func(p *schema.Part) []schema.Branch {
			b := schema.Branch{Type: schema.Series, Medium: schema.DC, A: "battery", B: "load", Ohms: p.Ohms("resistance")}
			mv, i := p.Volts("millivolts"), p.Amps("rating")
			if i.Given() && i.V > 0 {
				b.OhmsDefault, b.OhmsDefaultSource = unit.Ohm(float64(mv.Or(0.050))/float64(i.V)), shuntSource
				if !mv.Given() {
					b.OhmsDefaultSource = "50 mV over rating, common practice, no source"
				}
			}
			return []schema.Branch{b, {Type: schema.Sense, Medium: schema.DC, A: "battery", B: "sense"}}
		},
		Symbol: drawn("shunt"), Rating: rated("rating", "millivolts"),
		Order:   ordered("shunt", "rating", "millivolts"),
		Example: `{kind: shunt, rating: 500 A, millivolts: 50 mV}`,
	}
}

const shuntSource = "millivolts over rating, by its definition"
