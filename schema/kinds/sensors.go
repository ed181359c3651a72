package kinds

import (
	"fitout/schema"
	"fitout/schema/symbol"
	"fitout/schema/unit"
)

// sensorKind closes a contact by itself; with named ways it is a control fed by
// + and - that feeds each way.
func sensorKind(name, title, help, class, example string) *schema.Kind {
	return &schema.Kind{
		Name: name, Title: title, Help: help, Class: class, Example: example,
		Media:     []schema.Medium{schema.DC},
		Roles:     roles(schema.Sensing | schema.Switching),
		Terminals: sensorTerminals,
		Passes: func(p *schema.Part, m schema.Medium) (string, string, bool) {
			if m != schema.DC || len(p.Ways) > 0 {
				return "", "", false
			}
			return "in", "out", true
		},
		Attrs: attrs([]attr{
			rating("current its contact carries").eg("15 A"), ways(),
			position("closed", "open", "closed"),
			ratedVolts(), resistance().def("0.2 mohm", contactOhmsSource),
			quantity("draw", "what it takes itself, with named ways", currentDim, powerDim).eg("20 mA"),
			quantity("set", "the level, temperature or pressure at which it acts", unit.Length, unit.Temperature, unit.Pressure).eg("4 °C").signedToo(),
			duration("delay", "how long it waits before it acts"),
			plainAttr("watches", "the space or part it senses", "bilge", schema.PlaceRefs),
			flag("manual-override", "can be by-passed by hand"), flag("memory", "may stay on with the battery switch off"),
			volts("least-volts", "least voltage it works at"), share("drop", "voltage drop allowed"),
		}),
		Branches: sensorBranches,
		Symbol: func(p *schema.Part, m schema.Medium) symbol.Symbol {
			if len(p.Ways) > 0 {
				return boxed(p, m)
			}
			return drawn(name)(p, m)
		},
		Rating: rated("rating"), Order: ordered(title, "rating", "volts", "set"),
	}
}

func sensorTerminals(p *schema.Part) []schema.Terminal {
	if len(p.Ways) == 0 {
		return inOut(schema.DC)
	}
	out := []schema.Terminal{plus(), minus()}
	for _, w := range p.Ways {
		t := spare(w.Key, schema.DC, schema.Through)
		t.Way = w.Key
		out = append(out, t)
	}
	return out
}

func sensorBranches(p *schema.Part) []schema.Branch {
	c := schema.ContactData{MakesIn: []string{"closed"}, Position: p.Word("position").Or("closed"), Automatic: true}
	if len(p.Ways) == 0 {
		return []schema.Branch{contact(p, "in", "out", c)}
	}
	var out []schema.Branch
	for _, w := range p.Ways {
		b := contact(p, "+", w.Key, c)
		b.Way = w.Key
		if w.Rating.Given() {
			b.Contact.Rating = w.Rating
		}
		out = append(out, b)
	}
	if p.Has("draw") {
		return append(out, drawBranch(p, schema.DC, "+", "-", loadSpec{drop: comfort}))
	}
	return append(out, schema.Branch{Type: schema.Sense, Medium: schema.DC, A: "+", B: "-"})
}

func floatSwitch() *schema.Kind {
	return sensorKind("float-switch", "float switch", "Closes when water rises to its height.", "B",
		`{kind: float-switch, rating: 15 A, height: -0.4 m}`)
}

func levelSensor() *schema.Kind {
	return sensorKind("level-sensor", "level sensor", "Senses the level of a tank or bilge and closes a contact.", "B",
		`{kind: level-sensor, rating: 5 A}`)
}

func thermostat() *schema.Kind {
	return sensorKind("thermostat", "thermostat", "Closes by temperature.", "B", `{kind: thermostat, rating: 10 A}`)
}

func control() *schema.Kind {
	k := sensorKind("control", "control", "Switches other equipment: a contact, or a box with named ways.", "K",
		`{kind: control, ways: {compressor: {title: Compressor, rating: 30 A}, pump: {title: Sea-water pump, rating: 10 A}}}`)
	k.Aliases = []string{"controller"}
	return k
}
