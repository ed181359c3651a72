package kinds

import (
	"fitout/schema"
	"fitout/schema/unit"
)

// The drop classes of E-11 as publicly quoted.
const (
	mustWork unit.Ratio = 0.03
	comfort  unit.Ratio = 0.10
)

// loadKind is a part that takes current and does nothing else for the rules.
func loadKind(name, title, help, class string, r schema.Role, spec loadSpec, more ...attr) *schema.Kind {
	return &schema.Kind{
		Name: name, Title: title, Help: help, Class: class,
		Media:     []schema.Medium{schema.DC, schema.AC},
		Roles:     func(p *schema.Part) schema.Role { return acRole(p, r|schema.Load) },
		Terminals: func(p *schema.Part) []schema.Terminal { return supplied(p, true) },
		Attrs:     attrs(more, loadAttrs(percent(spec.drop))),
		Branches:  func(p *schema.Part) []schema.Branch { return suppliedDraw(p, spec) },
		Symbol:    drawn(name), Rating: rated("draw", "power"), Order: ordered(title, "draw", "power", "volts"),
		Example: `{kind: ` + name + `, draw: 4 A}`,
	}
}

func acRole(p *schema.Part, r schema.Role) schema.Role {
	if isAC(p) {
		return r | schema.ACPart
	}
	return r
}

func load() *schema.Kind {
	k := loadKind("load", "load", "Anything that takes current and has no kind of its own.", "E", 0, loadSpec{drop: comfort},
		flag("motor", "it is a motor: its starting current counts"))
	k.Branches = func(p *schema.Part) []schema.Branch {
		return suppliedDraw(p, loadSpec{drop: comfort, motor: p.Flag("motor").V})
	}
	k.Example = `{kind: load, title: USB sockets, draw: 3 A}`
	return k
}

func light() *schema.Kind {
	k := loadKind("light", "light", "A lamp or several alike.", "E", 0, loadSpec{drop: comfort},
		flag("navigation", "a navigation or anchor light: it must work"))
	k.Aliases = []string{"lamp"}
	k.Branches = func(p *schema.Part) []schema.Branch {
		spec := loadSpec{drop: comfort}
		if p.Flag("navigation").V {
			spec.drop = mustWork
		}
		return suppliedDraw(p, spec)
	}
	k.Order = ordered("light", "draw", "power", "volts", "count")
	k.Example = `{kind: light, title: Saloon lights, draw: 0.3 A, count: 6}`
	return k
}

func windlass() *schema.Kind {
	k := loadKind("windlass", "anchor windlass", "Raises the anchor; draws much for a short time.", "M", schema.Equipment, loadSpec{drop: comfort, motor: true})
	k.Example = `{kind: windlass, draw: 80 A, starting: 240 A}`
	return k
}

func thruster() *schema.Kind {
	k := loadKind("thruster", "thruster", "Pushes bow or stern sideways; draws much for a short time.", "M", schema.Equipment, loadSpec{drop: comfort, motor: true})
	k.Aliases = []string{"bow-thruster", "stern-thruster"}
	k.Example = `{kind: thruster, draw: 250 A, volts: 12 V}`
	return k
}

func starter() *schema.Kind {
	k := loadKind("starter", "starter motor", "Cranks an engine; its feed alone may go without a device.", "M", schema.Cranking, loadSpec{drop: comfort, motor: true})
	k.Aliases = []string{"starter-motor"}
	k.Terminals = func(p *schema.Part) []schema.Terminal {
		return append(supplied(p, true), spare("solenoid", schema.DC, schema.Signal))
	}
	k.Example = `{kind: starter, draw: 250 A, engine: EP}`
	return k
}

func electronics() *schema.Kind {
	k := loadKind("electronics", "electronics", "Navigation, radio and other electronics: they must work.", "K", schema.Equipment, loadSpec{drop: mustWork})
	k.Example = `{kind: electronics, title: Chart plotter, draw: 1.5 A, least-volts: 10.5 V}`
	return k
}

func fan() *schema.Kind {
	k := loadKind("fan", "fan", "Moves air; a blower clears a petrol space before starting.", "G", 0, loadSpec{drop: comfort, motor: true},
		flag("blower", "clears a space of petrol vapour: it must work"))
	k.Aliases = []string{"blower"}
	k.Roles = func(p *schema.Part) schema.Role {
		r := schema.Load
		if p.Flag("blower").V {
			r |= schema.Safety
		}
		return acRole(p, r)
	}
	k.Branches = func(p *schema.Part) []schema.Branch {
		spec := loadSpec{drop: comfort, motor: true}
		if p.Flag("blower").V {
			spec.drop = mustWork
		}
		return suppliedDraw(p, spec)
	}
	k.Example = `{kind: fan, draw: 0.4 A}`
	return k
}

func fuelAttr() attr {
	return word("fuel", "what it burns", "diesel", "petrol", "lpg", "paraffin", "alcohol", "wood", "electric", "none").
		read("gasoline", "petrol").read("kerosene", "paraffin").read("propane", "lpg").read("gas", "lpg")
}

func burns(p *schema.Part) bool {
	f := p.Word("fuel")
	return f.Given() && f.V != "electric" && f.V != "none"
}

func heater() *schema.Kind {
	k := loadKind("heater", "heater", "Warms the cabin, by current or by fuel.", "E", 0, loadSpec{drop: comfort},
		fuelAttr(), watts("heat", "heat it gives").eg("4 kW"))
	k.Roles = func(p *schema.Part) schema.Role {
		r := schema.Load | schema.Equipment
		if burns(p) {
			r |= schema.FuelBurner
		}
		return acRole(p, r)
	}
	k.Order = ordered("heater", "fuel", "heat", "draw", "volts")
	k.Example = `{kind: heater, fuel: diesel, draw: 2 A, starting: 10 A}`
	return k
}

func refrigerator() *schema.Kind {
	k := loadKind("refrigerator", "refrigerator", "Cools food; water-cooled where hoses are joined to it.", "E", 0, loadSpec{drop: comfort, motor: true},
		append(watery(), needs(), heatAttr(), watts("capacity", "cooling power"), flag("water-cooled", "gives its heat to water"))...)
	k.Aliases = []string{"fridge", "freezer"}
	k.Media = []schema.Medium{schema.DC, schema.AC, schema.Water}
	k.Roles = func(p *schema.Part) schema.Role {
		r := schema.Load | schema.Equipment
		if waterCooled(p) {
			r |= schema.SeaUser
		}
		return acRole(p, r)
	}
	k.Terminals = func(p *schema.Part) []schema.Terminal {
		return append(supplied(p, true),
			spare("water-in", schema.Water, schema.WaterIn), spare("water-out", schema.Water, schema.WaterOut))
	}
	k.Channels = func(p *schema.Part) []schema.Channel {
		return []schema.Channel{cooled(p, "water-in", "water-out", p.Watts("heat"))}
	}
	k.Example = `{kind: refrigerator, draw: 4.5 A, duty: 40 %}`
	return k
}

func waterCooled(p *schema.Part) bool {
	return p.Plumbed || p.Flag("water-cooled").V || p.Has("flow") || p.Has("heat") || p.Has("loss")
}

func monitor() *schema.Kind {
	k := loadKind("monitor", "battery monitor", "Shows the state of a bank.", "P", 0, loadSpec{drop: mustWork},
		partRef("shunt", "the shunt it reads"))
	k.Terminals = sensing
	k.Branches = senseBranches(loadSpec{drop: mustWork})
	k.Example = `{kind: monitor, draw: 10 mA, memory: yes}`
	return k
}

func sensing(p *schema.Part) []schema.Terminal {
	return append(supplied(p, true), spare("sense", schema.DC, schema.Signal))
}

func senseBranches(spec loadSpec) func(*schema.Part) []schema.Branch {
	return func(p *schema.Part) []schema.Branch {
		out := suppliedDraw(p, spec)
		if isAC(p) {
			return out
		}
		return append(out, schema.Branch{Type: schema.Sense, Medium: schema.DC, A: "sense", B: "-"})
	}
}

func alarm() *schema.Kind {
	k := loadKind("alarm", "alarm", "Warns of water, carbon monoxide, smoke, or cooling that fails.", "P", schema.AlarmRole|schema.Safety, loadSpec{drop: mustWork},
		words("senses", "what it senses", "water", "carbon-monoxide", "flow", "temperature", "smoke", "gas"),
		plainAttr("watches", "the spaces or parts it watches", "[bilge]", schema.PlaceRefs),
		date("tested", "when it was last tested"),
		flag("battery", "runs on a battery of its own").aka("self-powered"))
	k.Terminals = func(p *schema.Part) []schema.Terminal {
		out := sensing(p)
		if p.Flag("battery").V {
			for i := range out {
				out[i].Needed = false
			}
		}
		return out
	}
	k.Branches = senseBranches(loadSpec{drop: mustWork})
	k.NotStated = []string{"tested"}
	k.Order = ordered("alarm", "senses", "volts", "draw")
	k.Example = `{kind: alarm, senses: water, watches: bilge, draw: 0.1 A, tested: 2026-04-01}`
	return k
}
