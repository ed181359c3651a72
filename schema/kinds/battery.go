package kinds

import (
	"fitout/schema"
	"fitout/schema/unit"
)

func battery() *schema.Kind {
	return &schema.Kind{
		Name: "battery", Title: "battery", Class: "G",
		Help:  "Stores charge; it can push current into a fault from its own posts.",
		Media: []schema.Medium{schema.DC},
		Roles: roles(schema.Source | schema.Storage),
		Terminals: fixed(
			need("+", schema.DC, schema.Plus), need("-", schema.DC, schema.Minus)),
		Attrs: attrs([]attr{
			word("chemistry", "its chemistry", "flooded", "agm", "gel", "lfp"),
			volts("volts", "nominal voltage").eg("12.8 V"),
			quantity("capacity", "capacity at the 20 h rate", unit.Charge, unit.Energy).eg("230 Ah"),
			share("usable", "share of the capacity that is used in routine").eg("50 %").within(0, 1).
				def("50 % lead-acid, 80 % lfp", practice),
			share("charge", "state of charge at the start").eg("100 %").within(0, 1).def("100 %", documented),
			volts("emf", "open-circuit voltage; wins over charge").eg("13.2 V"),
			resistance().def("by fault-current, cranking or chemistry and capacity", resistanceSource),
			attr{schema.Attr{Name: "peukert", Type: schema.Number, Help: "Peukert exponent of the rated-hour form",
				Example: "1.2", Min: 1, Max: 2, Default: "by chemistry", DefaultSource: "battery table, from memory"}},
			share("charge-efficiency", "charge given back over charge put in").eg("95 %").within(0.1, 1).
				def("by chemistry", "battery table, from memory"),
			amps("cranking", "cold cranking amperes").eg("800 A"),
			amps("fault-current", "short-circuit current stated by its maker").eg("5 kA"),
			amps("max-charge", "greatest charging current").eg("100 A"),
			amps("max-discharge", "greatest discharging current").eg("150 A"),
			volts("charge-volts", "highest voltage it is charged at").eg("14.4 V"),
			word("protection", "what protects its cells: none; internal, the posts lie behind it; external", "none", "internal", "external"),
			plainAttr("disconnect", "the relay its protection opens, one for charge and one for discharge where there are two",
				"{charge: K1, discharge: K2}", schema.ChargeCut),
			flag("restrained", "held so that it cannot move"),
			flag("terminals-covered", "posts under covers or boots"),
			flag("alarm", "warns before its protection cuts off"),
			builtIn(), studSize(), ratedCount(),
		}),
		Branches:  batteryBranches,
		Symbol:    drawn("battery"),
		Rating:    rated("volts", "capacity", "chemistry"),
		Order:     ordered("battery", "chemistry", "volts", "capacity", "cranking %cranking"),
		NotStated: []string{"restrained", "terminals-covered"},
		Example:   `{kind: battery, chemistry: lfp, volts: 12.8 V, capacity: 230 Ah, fault-current: 5 kA}`,
	}
}

// ratedCount is how many studs or posts a part has.
func ratedCount() attr { return count("studs", "how many studs or posts it has").within(1, 200) }

func batteryBranches(p *schema.Part) []schema.Branch {
	ohm, source := batteryOhms(p)
	return []schema.Branch{{
		Type: schema.EMF, Medium: schema.DC, A: "+", B: "-",
		Ohms: p.Ohms("resistance"), OhmsDefault: ohm, OhmsDefaultSource: source,
		Device: p.Inside(),
	}}
}

const resistanceSource = "battery table (12 V 100 Ah class), from memory: the low end, which gives the higher fault current"

// batteryOhms estimates the inner resistance where it is not stated: from the
// stated short-circuit current, from the cold cranking amperes, or scaled from
// the 12 V 100 Ah class of its chemistry. 0 where nothing is known.
func batteryOhms(p *schema.Part) (unit.Ohm, string) {
	volts := float64(p.Volts("volts").V)
	if i := p.Amps("fault-current"); i.Given() && i.V > 0 && volts > 0 {
		return unit.Ohm(volts / float64(i.V)), "nominal volts over the stated fault-current"
	}
	if i := p.Amps("cranking"); i.Given() && i.V > 0 && volts > 0 {
		cold := (12.6 - 7.2) / float64(i.V) * volts / 12
		return unit.Ohm(cold / 2), "(12.6 − 7.2) V over cold cranking amperes, halved for a warm battery, from memory"
	}
	perClass := map[string]float64{"flooded": 5e-3, "agm": 3e-3, "gel": 4e-3, "lfp": 2e-3}[p.Word("chemistry").V]
	ah := batteryAmpHours(p, volts)
	if perClass == 0 || volts == 0 || ah == 0 {
		return 0, ""
	}
	return unit.Ohm(perClass * volts / 12 * 100 / ah), resistanceSource
}

func batteryAmpHours(p *schema.Part, volts float64) float64 {
	if c := p.AmpHours("capacity"); c.Given() {
		return float64(c.V)
	}
	if e := p.WattHours("capacity"); e.Given() && volts > 0 {
		return float64(e.V) / volts
	}
	return 0
}

// roles makes the Roles function of a kind whose roles never change.
func roles(r schema.Role) func(*schema.Part) schema.Role {
	return func(*schema.Part) schema.Role { return r }
}
