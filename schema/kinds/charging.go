package kinds

import (
	"fitout/schema"
	"fitout/schema/unit"
)

func alternator() *schema.Kind {
	return &schema.Kind{
		Name: "alternator", Title: "alternator", Class: "G",
		Help:      "Charges from a turning engine.",
		Media:     []schema.Medium{schema.DC},
		Roles:     roles(schema.Source | schema.Charging),
		Terminals: alternatorTerminals,
		Attrs: attrs([]attr{
			volts("volts", "its regulated voltage").eg("14.2 V"),
			curve("output", "current by its own shaft speed", "{2000 rpm: 30 A, 6000 rpm: 80 A}", unit.RotationalSpeed, unit.Current, unit.Current),
			share("ratio", "shaft speed over engine speed").eg("2.1").within(0.1, 20).def("2", practice),
			partRef("engine", "the engine that turns it"),
			selfLimiting(), builtIn(),
			words("regulator", "how it is regulated", "temperature", "external", "internal", "current"),
			profile(), resistance(), rating("rated output"), efficiency("").eg("55 %"),
			flag("case-grounded", "its case is its negative, through the engine block").aka("grounded").def("yes", documented),
			studSize(),
		}),
		Branches: func(p *schema.Part) []schema.Branch {
			f := &schema.FeedData{
				Volts: p.Volts("volts"), BySpeed: p.Curve("output"), Amps: alternatorAmps(p),
				Ratio: alternatorRatio(p), Engine: first(p.Refs("engine")),
				SelfLimiting: p.Flag("self-limiting"), BuiltIn: p.Inside(),
				Needs: "engine", Profile: p.Word("profile").V, CaseReturn: p.Flag("case-grounded").Or(true),
			}
			out := []schema.Branch{{Type: schema.Feed, Medium: schema.DC, A: "+", B: "-", Feed: f, Ohms: p.Ohms("resistance")}}
			if f.CaseReturn {
				out = append(out, joined(schema.DC, "-", "case"))
			}
			return out
		},
		Symbol:  drawn("alternator"),
		Rating:  rated("volts", "output", "rating"),
		Order:   ordered("alternator", "volts", "output", "rating", "regulator"),
		Example: `{kind: alternator, volts: 14.2 V, output: {2000 rpm: 30 A, 6000 rpm: 80 A}, ratio: 2.1}`,
	}
}

// alternatorTerminals: the negative is spare where the case is grounded, which is
// taken unless the file says no.
func alternatorTerminals(p *schema.Part) []schema.Terminal {
	neg := minus()
	neg.Needed = !p.Flag("case-grounded").Or(true)
	return []schema.Terminal{plus(), neg, caseTerminal(),
		spare("sense", schema.DC, schema.Signal), spare("field", schema.DC, schema.Signal)}
}

// alternatorAmps is the most it gives: the highest point of its curve.
func alternatorAmps(p *schema.Part) schema.Val[unit.Amp] {
	if a := p.Amps("output"); a.Given() && len(p.Curve("output")) == 0 {
		return a
	}
	most := 0.0
	for _, pt := range p.Curve("output") {
		most = max(most, pt.Y)
	}
	if most > 0 {
		v := p.Get("output")
		return schema.Val[unit.Amp]{V: unit.Amp(most), Text: v.Text, At: v.At, From: v.From}
	}
	return p.Amps("rating")
}

func alternatorRatio(p *schema.Part) schema.Val[float64] {
	r := p.Share("ratio")
	if !r.Given() {
		return byKind(2.0, "2")
	}
	return schema.Val[float64]{V: float64(r.V), Text: r.Text, At: r.At, From: r.From}
}

func first(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return list[0]
}

func solar() *schema.Kind {
	return &schema.Kind{
		Name: "solar", Aliases: []string{"solar-panel"}, Title: "solar panel", Class: "G",
		Help:      "Charges from the sun; on its own up to its volts, through a controller at full power.",
		Media:     []schema.Medium{schema.DC},
		Roles:     roles(schema.Source),
		Terminals: fixed(plus(), minus(), caseTerminal()),
		Attrs: attrs([]attr{
			volts("volts", "voltage at full power").eg("18 V"),
			watts("power", "power in full sun").eg("120 W"),
			selfLimiting().def("yes", language),
			amps("output", "current in full sun, else power over volts"),
			amps("fault-current", "short-circuit current"),
			volts("emf", "open-circuit voltage").eg("22 V"),
			count("count", "how many alike; power is of each").within(1, 1000).def("1", documented),
			builtIn(), resistance(), rating("rated current"),
		}),
		Branches: func(p *schema.Part) []schema.Branch {
			f := &schema.FeedData{
				Volts: p.Volts("volts"), Watts: times(p.Watts("power"), p.Count("count").Or(1)), Amps: solarAmps(p),
				SelfLimiting: flagOr(p, "self-limiting", true), BuiltIn: p.Inside(), Needs: "sun",
			}
			return []schema.Branch{{Type: schema.Feed, Medium: schema.DC, A: "+", B: "-", Feed: f, Ohms: p.Ohms("resistance")}}
		},
		Symbol:  drawn("solar"),
		Rating:  rated("power", "volts"),
		Order:   ordered("solar panel", "power", "volts"),
		Example: `{kind: solar, power: 120 W, volts: 18 V}`,
	}
}

func times[T ~float64](v schema.Val[T], n int) schema.Val[T] {
	if n > 1 && v.Given() {
		v.V *= T(n)
	}
	return v
}

func solarAmps(p *schema.Part) schema.Val[unit.Amp] {
	n := p.Count("count").Or(1)
	if a := p.Amps("output"); a.Given() {
		return times(a, n)
	}
	w, v := p.Watts("power"), p.Volts("volts")
	if !w.Given() || v.V <= 0 {
		return schema.Val[unit.Amp]{}
	}
	return times(derived(unit.Amp(float64(w.V)/float64(v.V))), n)
}

func flagOr(p *schema.Part, name string, d bool) schema.Val[bool] {
	if f := p.Flag(name); f.Given() {
		return f
	}
	if d {
		return byKind(true, "yes")
	}
	return byKind(false, "no")
}

func chargeController() *schema.Kind {
	return &schema.Kind{
		Name: "charge-controller", Aliases: []string{"solar-controller"}, Title: "solar charge controller", Class: "T",
		Help:  "Passes the power of solar panels to a battery at the battery's voltage.",
		Media: []schema.Medium{schema.DC},
		Roles: roles(schema.Source | schema.Charging),
		Terminals: fixed(
			need("pv+", schema.DC, schema.Plus), need("pv-", schema.DC, schema.Minus), plus(), minus(),
			caseTerminal(), spare("sense", schema.DC, schema.Signal)),
		Attrs: attrs([]attr{
			rating("greatest output current").eg("30 A"),
			quantity("output", "current or power it gives at most", unit.Current, unit.Power).eg("30 A"),
			volts("volts", "charging voltage").eg("14.4 V"), volts("in-volts", "highest panel voltage it bears").eg("100 V"),
			builtIn(), selfLimiting(), efficiency("95 %"), idle(), profile(), resistance(), watts("power", "panel power it is rated for"),
		}),
		Branches: func(p *schema.Part) []schema.Branch {
			f := &schema.FeedData{
				Volts: p.Volts("volts"), Amps: p.Amps("output"), Watts: p.Watts("output"),
				SelfLimiting: p.Flag("self-limiting"), BuiltIn: p.Inside(), Needs: "input",
				InA: "pv+", InB: "pv-", Efficiency: efficiencyOr(p, 0.95), Idle: idlePower(p),
				Profile: p.Word("profile").V, Isolated: p.Flag("isolated").V,
			}
			if !f.Amps.Given() && !f.Watts.Given() {
				f.Amps = p.Amps("rating")
			}
			out := []schema.Branch{{Type: schema.Feed, Medium: schema.DC, A: "+", B: "-", Feed: f, Ohms: p.Ohms("resistance")}}
			if !f.Isolated {
				out = append(out, joined(schema.DC, "pv-", "-"))
			}
			return out
		},
		Symbol:  drawn("charge-controller"),
		Rating:  rated("rating", "output"),
		Order:   ordered("solar charge controller", "rating", "output", "panels to %in-volts", "for %profile"),
		Example: `{kind: charge-controller, rating: 30 A, volts: 14.4 V}`,
	}
}

func charger() *schema.Kind {
	return &schema.Kind{
		Name: "charger", Aliases: []string{"battery-charger"}, Title: "battery charger", Class: "T",
		Help:  "Charges batteries from shore power or a generator; several outputs do not join their banks.",
		Media: []schema.Medium{schema.AC, schema.DC},
		Roles: roles(schema.Source | schema.Charging | schema.ACPart | schema.Equipment),
		Terminals: func(p *schema.Part) []schema.Terminal {
			out := acTrio("", "", true)
			for i, name := range chargerOutputs(p) {
				t := need(name, schema.DC, schema.Plus)
				t.Needed = i == 0
				out = append(out, t)
			}
			return append(out, minus(), caseTerminal(), spare("sense", schema.DC, schema.Signal))
		},
		Attrs: attrs([]attr{
			quantity("output", "current or power it gives at most, all outputs together", unit.Current, unit.Power).eg("40 A"),
			volts("volts", "charging voltage").eg("14.4 V"), profile(),
			count("outputs", "how many outputs").within(1, 12).def("1", language),
			efficiency("85 %"), builtIn(), selfLimiting(), idle(), volts("in-volts", "AC voltage it runs on").eg("230 V"),
			rating("rated output"), watts("power", "AC power it takes at most"), resistance(),
			volts("least-volts", "least AC voltage it works at"), share("drop", "AC voltage drop allowed"), amps("starting", "inrush current"), powerFactor(),
		}),
		Branches: chargerBranches,
		Symbol: drawnAs("charger", func(p *schema.Part, m schema.Medium) string {
			if n := p.Count("outputs").V; n > 1 {
				return p.Get("outputs").Text
			}
			return ""
		}),
		Rating:  rated("output", "volts"),
		Order:   ordered("battery charger", "output", "volts", "for %profile", "outputs", "from %in-volts"),
		Example: `{kind: charger, output: 40 A, volts: 14.4 V, profile: agm}`,
	}
}

// chargerOutputs names the positive outputs: "+", or "+1" … where there are
// several.
func chargerOutputs(p *schema.Part) []string {
	n := p.Count("outputs").Or(1)
	if n <= 1 {
		return []string{"+"}
	}
	return numbered("+", min(n, 12))
}

func chargerBranches(p *schema.Part) []schema.Branch {
	eff := efficiencyOr(p, 0.85)
	amps, power := p.Amps("output"), p.Watts("output")
	if !amps.Given() && !power.Given() {
		amps = p.Amps("rating")
	}
	feed := schema.FeedData{
		Volts: p.Volts("volts"), Amps: amps, Watts: power, SelfLimiting: p.Flag("self-limiting"), BuiltIn: p.Inside(),
		Needs: "shore", InA: "L", InB: "N", Efficiency: eff, Idle: idlePower(p),
		Profile: p.Word("profile").V, Isolated: true,
	}
	var out []schema.Branch
	outputs := chargerOutputs(p)
	for _, name := range outputs {
		f := feed
		out = append(out, schema.Branch{Type: schema.Feed, Medium: schema.DC, A: name, B: "-", Feed: &f, Ohms: p.Ohms("resistance")})
	}
	in := inputLoad(p, outputs[0], outputPower(p, "output"), eff, p.Volts("in-volts"))
	if w := p.Watts("power"); w.Given() {
		in.Watts = w
	}
	return append(out,
		schema.Branch{Type: schema.Draw, Medium: schema.AC, A: "L", B: "N", Load: in},
		joined(schema.AC, "PE", "case"))
}
