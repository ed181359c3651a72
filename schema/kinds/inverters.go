package kinds

import (
	"fitout/schema"
	"fitout/schema/unit"
)

const (
	currentDim = unit.Current
	powerDim   = unit.Power
)

func inverterAttrs() []attr {
	return []attr{
		volts("in-volts", "DC voltage it runs on").eg("12.8 V"),
		volts("volts", "AC voltage it makes").eg("230 V"),
		watts("power", "AC power it gives continuously").eg("2000 W"),
		efficiency("90 %"), idle(),
		quantity("output", "DC charging current or power", currentDim, powerDim).eg("80 A"),
		word("neutral-bond", "when it joins neutral to earth", "always", "inverting", "never"),
		builtIn(), rating("AC current it gives, or passes on").eg("30 A"), selfLimiting(), profile(),
		amps("transfer", "rating of its transfer relay"), watts("surge", "power it gives for moments"),
		volts("least-volts", "least DC voltage it works at").eg("10.5 V"),
		share("drop", "voltage drop allowed on the way to it and back").def("10 %", dropSource),
		amps("starting", "inrush current"), resistance(), volts("charge-volts", "charging voltage").eg("14.4 V"),
		flag("memory", "may stay on with the battery switch off"), powerFactor(),
	}
}

func inverter() *schema.Kind {
	return &schema.Kind{
		Name: "inverter", Title: "inverter", Class: "T",
		Help:  "Makes mains power from a battery.",
		Media: []schema.Medium{schema.DC, schema.AC},
		Roles: roles(schema.Source | schema.Inverting | schema.ACPart | schema.Equipment),
		Terminals: func(p *schema.Part) []schema.Terminal {
			return join([]schema.Terminal{plus(), minus()}, acTrio("", "", true), []schema.Terminal{caseTerminal(), spare("remote", schema.DC, schema.Signal)})
		},
		Attrs: attrs(inverterAttrs()),
		Branches: func(p *schema.Part) []schema.Branch {
			out := []schema.Branch{dcSide(p, "L"), acSide(p, "L", "N")}
			out = append(out, neutralBond(p, "N", "PE")...)
			return append(out, joined(schema.AC, "PE", "case"))
		},
		Symbol: drawn("inverter"), Rating: rated("power", "volts"),
		Order:   ordered("inverter", "power", "from %in-volts", "makes %volts"),
		Example: `{kind: inverter, in-volts: 12.8 V, volts: 230 V, power: 2000 W, neutral-bond: inverting}`,
	}
}

func inverterCharger() *schema.Kind {
	return &schema.Kind{
		Name: "inverter-charger", Title: "inverter and charger", Class: "T",
		Help:     "Passes shore power on and charges from it; makes mains power from the battery when there is none.",
		Media:    []schema.Medium{schema.DC, schema.AC},
		Roles:    roles(schema.Source | schema.Inverting | schema.Charging | schema.ACPart | schema.Equipment),
		Directed: true,
		Passes:   passes(schema.AC, "in", "out"),
		Terminals: func(p *schema.Part) []schema.Terminal {
			return join([]schema.Terminal{plus(), minus()}, acTrio("-in", "in", true), acTrio("-out", "out", true),
				[]schema.Terminal{caseTerminal(), spare("remote", schema.DC, schema.Signal)})
		},
		Attrs:    attrs(inverterAttrs()),
		Branches: inverterChargerBranches,
		Symbol:   drawn("inverter-charger"), Rating: rated("power", "output", "volts"),
		Order:   ordered("inverter and charger", "power", "charges %output", "from %in-volts", "makes %volts", "for %profile"),
		Example: `{kind: inverter-charger, in-volts: 12.8 V, volts: 230 V, power: 2000 W, output: 80 A, neutral-bond: inverting}`,
	}
}

func inverterChargerBranches(p *schema.Part) []schema.Branch {
	through := func(lead string) schema.Branch {
		return schema.Branch{Type: schema.Contact, Medium: schema.AC, A: lead + "-in", B: lead + "-out",
			Contact: &schema.ContactData{MakesIn: []string{"passing"}, Position: "passing", Rating: transferRating(p), Automatic: true}}
	}
	charge := &schema.FeedData{
		Volts: p.Volts("charge-volts"), Amps: p.Amps("output"), Watts: p.Watts("output"),
		SelfLimiting: p.Flag("self-limiting"), BuiltIn: p.Inside(), Needs: "shore", InA: "L-in", InB: "N-in",
		Efficiency: efficiencyOr(p, 0.90), Idle: idlePower(p), Profile: p.Word("profile").V, Isolated: true,
	}
	out := []schema.Branch{dcSide(p, "L-out"), acSide(p, "L-out", "N-out"),
		{Type: schema.Feed, Medium: schema.DC, A: "+", B: "-", Feed: charge},
		through("L"), through("N"),
		joined(schema.AC, "PE-in", "PE-out"), joined(schema.AC, "PE-out", "case")}
	return append(out, neutralBond(p, "N-out", "PE-out")...)
}

// transferRating is the current that may pass through: its own figure, else what
// the part is rated to give or pass on.
func transferRating(p *schema.Part) schema.Val[unit.Amp] {
	if a := p.Amps("transfer"); a.Given() {
		return a
	}
	return p.Amps("rating")
}

// dcSide is what an inverter takes from the battery at full power.
func dcSide(p *schema.Part, feeds string) schema.Branch {
	return schema.Branch{Type: schema.Draw, Medium: schema.DC, A: "+", B: "-", Ohms: p.Ohms("resistance"),
		Load: inputLoad(p, feeds, p.Watts("power"), efficiencyOr(p, 0.90), p.Volts("in-volts"))}
}

// acSide is the source an inverter is on its AC side.
func acSide(p *schema.Part, l, n string) schema.Branch {
	f := &schema.FeedData{
		Volts: p.Volts("volts"), Watts: p.Watts("power"), Amps: p.Amps("rating"),
		SelfLimiting: p.Flag("self-limiting"), BuiltIn: p.Inside(), Needs: "input", InA: "+", InB: "-",
		Efficiency: efficiencyOr(p, 0.90), Idle: idlePower(p), Isolated: true,
	}
	if f.Watts.Given() && f.Volts.V > 0 {
		f.Amps = derived(unit.Amp(float64(f.Watts.V) / float64(f.Volts.V)))
	}
	return schema.Branch{Type: schema.Feed, Medium: schema.AC, A: l, B: n, Feed: f}
}

// neutralBond joins neutral to earth as the file says; nothing where it does not
// say.
func neutralBond(p *schema.Part, n, pe string) []schema.Branch {
	b := p.Word("neutral-bond")
	if !b.Given() {
		return nil
	}
	return []schema.Branch{{Type: schema.Contact, Medium: schema.AC, A: n, B: pe,
		Contact: &schema.ContactData{MakesIn: []string{b.V}, Position: b.V, Automatic: true, Bond: true}}}
}
