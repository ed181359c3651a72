package kinds

import "fitout/schema"

func converterTerminals(p *schema.Part) []schema.Terminal {
	outMinus := need("out-", schema.DC, schema.Minus)
	// a unit that is not isolated has one negative: its second lead may be left out
	outMinus.Needed = p.Flag("isolated").V
	return []schema.Terminal{
		need("in+", schema.DC, schema.Plus), need("in-", schema.DC, schema.Minus),
		need("out+", schema.DC, schema.Plus), outMinus,
		caseTerminal(), spare("sense", schema.DC, schema.Signal), spare("remote", schema.DC, schema.Signal),
	}
}

func converterAttrs(holds string) []schema.Attr {
	return attrs([]attr{
		volts("volts", "output voltage").eg("13.8 V"),
		volts("in-volts", "input voltage where it differs").eg("25.6 V"),
		quantity("output", "current it gives at most; power where it holds power", currentDim, powerDim).eg("30 A"),
		ohmsDroop(), profile(),
		word("holds", "what its output regulates", "voltage", "current", "power").def(holds, documented),
		efficiency("90 %").def("90 %", practice+" (0.85 to 0.95)"), idle(),
		flag("isolated", "input and output have no common negative").def("no", documented),
		builtIn(), selfLimiting(),
		rating("rated output"), watts("power", "rated power"), partRef("engine", "engine whose running starts it"),
		volts("least-volts", "least input voltage it works at"), share("drop", "voltage drop allowed on the way to it").def("10 %", dropSource),
		amps("starting", "inrush current"), flag("memory", "may stay on with the battery switch off"),
	})
}

func ohmsDroop() attr {
	return ohms("resistance", "droop of the output: volts lost for each ampere").eg("5 mohm").def("0 ohm", language)
}

func dcCharger() *schema.Kind {
	return &schema.Kind{
		Name: "dc-charger", Title: "battery-to-battery charger", Class: "T",
		Help:      "Charges one battery from another; a source lies behind either end.",
		Media:     []schema.Medium{schema.DC},
		Roles:     roles(schema.Source | schema.Charging | schema.Converter | schema.Equipment),
		Terminals: converterTerminals, Attrs: converterAttrs("current, power where output is in W"),
		Branches: func(p *schema.Part) []schema.Branch { return convert(p, true) },
		Symbol:   drawn("dc-charger"), Rating: rated("output", "volts"),
		Order:   ordered("battery-to-battery charger", "from %in-volts", "to %volts", "output", "for %profile", "isolated"),
		Example: `{kind: dc-charger, in-volts: 12.8 V, volts: 14.2 V, output: 30 A, profile: lfp}`,
	}
}

func converter() *schema.Kind {
	return &schema.Kind{
		Name: "converter", Aliases: []string{"dc-converter"}, Title: "DC to DC converter", Class: "T",
		Help:      "Feeds loads of another voltage; isolated, it starts a new source at its output.",
		Media:     []schema.Medium{schema.DC},
		Roles:     roles(schema.Source | schema.Converter | schema.Equipment),
		Terminals: converterTerminals, Attrs: converterAttrs("voltage, power where output is in W"),
		Branches: func(p *schema.Part) []schema.Branch { return convert(p, false) },
		Symbol:   drawn("converter"), Rating: rated("in-volts", "volts", "output"),
		Order:   ordered("DC to DC converter", "from %in-volts", "to %volts", "output", "isolated"),
		Example: `{kind: converter, in-volts: 25.6 V, volts: 13.6 V, output: 20 A}`,
	}
}

func convert(p *schema.Part, charger bool) []schema.Branch {
	d := &schema.ConvertData{
		OutA: "out+", OutB: "out-", Holds: holds(p, charger),
		Volts: p.Volts("volts"), InVolts: p.Volts("in-volts"), Amps: p.Amps("output"), Watts: p.Watts("output"),
		Efficiency: efficiencyOr(p, 0.90), Idle: idlePower(p), Droop: p.Ohms("resistance"),
		Isolated: p.Flag("isolated").V, SelfLimiting: p.Flag("self-limiting"), BuiltIn: p.Inside(),
		Profile: p.Word("profile").V, Charger: charger,
	}
	if !d.Amps.Given() && !d.Watts.Given() {
		d.Amps, d.Watts = p.Amps("rating"), p.Watts("power")
	}
	out := []schema.Branch{{Type: schema.Convert, Medium: schema.DC, A: "in+", B: "in-", Convert: d}}
	if !d.Isolated {
		out = append(out, joined(schema.DC, "in-", "out-"))
	}
	return out
}

// holds is what the output regulates: as stated, else power where the output is
// given as power, else current for a charger and voltage for a converter.
func holds(p *schema.Part, charger bool) string {
	switch h := p.Word("holds"); {
	case h.Given():
		return h.V
	case p.Watts("output").Given():
		return "power"
	case charger:
		return "current"
	}
	return "voltage"
}
