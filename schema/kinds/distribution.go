package kinds

import (
	"slices"

	"fitout/schema"
)

func polarityAttr() attr {
	return word("polarity", "what it carries", "positive", "negative", "ground", "bonding", "neutral", "live", "signal").
		read("+", "positive").read("plus", "positive").read("-", "negative").read("minus", "negative").read("earth", "ground")
}

func jointAttrs() []schema.Attr {
	return attrs([]attr{
		rating("continuous current it carries").eg("250 A"),
		ratedCount().eg("6"), polarityAttr(), ratedVolts(), resistance(), studSize(), materials("copper", "zinc", "magnesium"),
		volts("insulation-volts", "voltage it is insulated for"),
	})
}

// jointKind is a part that is all one joint: any number of conductors, unnamed
// or on numbered studs.
func jointKind(name, title, help, class string, r schema.Role, pol schema.Polarity) *schema.Kind {
	return &schema.Kind{
		Name: name, Title: title, Help: help, Class: class,
		Media: []schema.Medium{schema.DC}, Roles: roles(r),
		Terminals: fixed(joint(schema.DC, pol)...), Open: true, Single: true,
		Attrs: jointAttrs(), Branches: hub(schema.DC),
		Symbol: drawn(name), Rating: rated("rating"), Order: ordered(title, "rating", "studs", "stud"),
	}
}

func bus() *schema.Kind {
	k := jointKind("bus", "bus bar", "A bar where many conductors meet.", "W", schema.Distribution, schema.Through)
	k.Aliases = []string{"busbar", "bus-bar"}
	k.Example = `{kind: bus, title: House positive, rating: 250 A, studs: 6, polarity: positive, covered: yes}`
	return k
}

func block() *schema.Kind {
	k := jointKind("block", "terminal block", "A block where small conductors meet.", "X", schema.Distribution, schema.Through)
	k.Aliases = []string{"terminal-block"}
	k.Example = `{kind: block, rating: 30 A, studs: 8}`
	return k
}

func stud() *schema.Kind {
	k := jointKind("stud", "stud", "One insulated stud; four lugs at most.", "X", schema.Distribution, schema.Through)
	k.Aliases = []string{"power-post"}
	for i := range k.Attrs {
		if k.Attrs[i].Name == "studs" {
			k.Attrs[i].Default, k.Attrs[i].DefaultSource = "1", language
		}
	}
	k.Example = `{kind: stud, rating: 200 A, stud: M10, covered: yes}`
	return k
}

func ground() *schema.Kind {
	k := jointKind("ground", "ground", "DC negative at the engine block: what the conductors called grounded are joined to.", "X", schema.Grounding, schema.Ground)
	k.Aliases = []string{"earth"}
	k.Attrs = append(k.Attrs, attrs([]attr{partRef("engine", "the engine whose block it is")})...)
	k.Symbol = drawnAs("ground", func(p *schema.Part, _ schema.Medium) string {
		if p.Has("engine") {
			return "engine"
		}
		return ""
	})
	k.Example = `{kind: ground, title: Engine block}`
	return k
}

func bond() *schema.Kind {
	k := jointKind("bond", "bonding point", "Where underwater metal and cases are joined together.", "X", schema.Bonding, schema.Ground)
	k.Aliases = []string{"bonding"}
	k.Example = `{kind: bond, title: Bonding bar, studs: 6}`
	return k
}

func anode() *schema.Kind {
	k := jointKind("anode", "anode", "Gives itself up for other metals, or an immersed ground plate.", "X", schema.Bonding, schema.Ground)
	k.Aliases = []string{"ground-plate"}
	k.Example = `{kind: anode, material: zinc, height: -0.5 m}`
	return k
}

func panelAttrs(families []string) []attr {
	return []attr{
		rating("current its bar carries").eg("100 A"),
		amps("interrupt", "current the devices of its ways can break").eg("3 kA"),
		ways(), volts("volts", "highest DC voltage of its devices"),
		word("family", "family of its ways' devices where a way does not say", families...),
		amps("main", "rating of a breaker of its own ahead of all ways").eg("100 A"),
		studSize(), ratedCount(), resistance(), polarityAttr(),
	}
}

func allFamilies() []string { return slices.Concat(breakerFamilies(), fuseFamilies()) }

func panelTerminals(p *schema.Part) []schema.Terminal {
	out := []schema.Terminal{need("in", schema.DC, schema.Through)}
	if p.Has("main") {
		out = append(out, schema.Terminal{Name: "bar", Medium: schema.DC, Polarity: schema.Through, Hidden: true})
	}
	for _, w := range p.Ways {
		t := spare(w.Key, schema.DC, schema.Through)
		t.Way = w.Key
		out = append(out, t)
	}
	return append(out, spare("-", schema.DC, schema.Minus))
}

// panelBranches: every way is a device from the bar; a main breaker stands
// before the bar where the panel has one.
func panelBranches(p *schema.Part, family string) []schema.Branch {
	bar := "in"
	var out []schema.Branch
	if p.Has("main") {
		bar = "bar"
		d := &schema.DeviceData{Breaker: true, Rating: p.Amps("main"), Volts: p.Volts("volts"), Interrupt: p.Amps("interrupt"), Poles: 1}
		ohm, source := deviceOhms("", d.Rating)
		out = append(out, schema.Branch{Type: schema.Device, Medium: schema.DC, A: "in", B: bar, OhmsDefault: ohm, OhmsDefaultSource: source, Device: d})
	}
	for _, w := range p.Ways {
		d := wayDevice(p, w, family)
		ohm, source := deviceOhms(d.Family, d.Rating)
		out = append(out, schema.Branch{Type: schema.Device, Medium: schema.DC, A: bar, B: w.Key, Way: w.Key,
			OhmsDefault: ohm, OhmsDefaultSource: source, Device: d})
	}
	return out
}

func wayDevice(p *schema.Part, w schema.Way, family string) *schema.DeviceData {
	d := &schema.DeviceData{Rating: w.Rating, Volts: w.Volts, Interrupt: w.Interrupt, Trip: w.Trip, Poles: w.Poles.Or(1)}
	d.Family = w.Family.Or(p.Word("family").Or(family))
	d.Breaker = !slices.Contains(fuseFamilies(), d.Family)
	if !d.Volts.Given() {
		d.Volts = p.Volts("volts")
	}
	if !d.Interrupt.Given() {
		d.Interrupt = p.Amps("interrupt")
	}
	return d
}

func panel() *schema.Kind {
	return &schema.Kind{
		Name: "panel", Aliases: []string{"dc-panel", "switch-panel"}, Title: "switch panel", Class: "U",
		Help:  "A bar with a breaker for every way.",
		Media: []schema.Medium{schema.DC},
		Roles: roles(schema.Distribution | schema.Panel | schema.Protection | schema.Switching),

		Terminals: panelTerminals,
		Attrs:     attrs(panelAttrs(allFamilies())),
		Branches:  func(p *schema.Part) []schema.Branch { return panelBranches(p, "") },
		Symbol:    barred("panel"), Rating: rated("rating"),
		Order:   orderedPanel("switch panel"),
		Example: `{kind: panel, rating: 100 A, interrupt: 3 kA, ways: {1: {title: Cabin lights, rating: 10 A}, 2: {title: Plotter, rating: 5 A}, 3: {spare: yes}}}`,
	}
}

func fuseBlock() *schema.Kind {
	return &schema.Kind{
		Name: "fuse-block", Aliases: []string{"fuse-box", "fuse-panel"}, Title: "fuse block", Class: "U",
		Help:      "A bar with a fuse for every way.",
		Media:     []schema.Medium{schema.DC},
		Roles:     roles(schema.Distribution | schema.Panel | schema.Protection),
		Terminals: panelTerminals,
		Attrs:     attrs(replaceDefault(panelAttrs(allFamilies()), "family", "blade", practice)),
		Branches:  func(p *schema.Part) []schema.Branch { return panelBranches(p, "blade") },
		Symbol:    barred("fuse-block"), Rating: rated("rating"),
		Order:   orderedPanel("fuse block"),
		Example: `{kind: fuse-block, rating: 100 A, family: blade, ways: {1: {title: Radio, rating: 10 A}, 2: {spare: yes}}}`,
	}
}

func replaceDefault(list []attr, name, value, source string) []attr {
	for i, a := range list {
		if a.Name == name {
			list[i] = a.def(value, source)
		}
	}
	return list
}

// orderedPanel adds how many ways the panel needs.
func orderedPanel(title string) func(*schema.Part) string {
	plain := ordered(title, "rating", "volts", "family", "main %main")
	return func(p *schema.Part) string {
		switch n := len(p.Ways); n {
		case 0:
			return plain(p)
		case 1:
			return plain(p) + ", 1 way"
		default:
			return plain(p) + ", " + itoa(n) + " ways"
		}
	}
}
