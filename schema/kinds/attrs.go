package kinds

import (
	"fitout/schema"
	"fitout/schema/unit"
)

// attr builds one attribute; its methods return a changed copy.
type attr struct{ schema.Attr }

func quantity(name, help string, dims ...unit.Dimension) attr {
	return attr{schema.Attr{Name: name, Type: schema.Quantity, Dims: dims, Help: help, Example: dims[0].Example()}}
}

func volts(name, help string) attr    { return quantity(name, help, unit.Voltage) }
func amps(name, help string) attr     { return quantity(name, help, unit.Current) }
func ohms(name, help string) attr     { return quantity(name, help, unit.Resistance) }
func watts(name, help string) attr    { return quantity(name, help, unit.Power) }
func metres(name, help string) attr   { return quantity(name, help, unit.Length) }
func flow(name, help string) attr     { return quantity(name, help, unit.FlowRate) }
func head(name, help string) attr     { return quantity(name, help, unit.Pressure) }
func volume(name, help string) attr   { return quantity(name, help, unit.Volume) }
func share(name, help string) attr    { return quantity(name, help, unit.Proportion) }
func duration(name, help string) attr { return quantity(name, help, unit.Duration) }

// level is a signed length: a height above the static waterline.
func level(name, help string) attr {
	a := metres(name, help)
	a.Signed, a.Example = true, "0.35 m"
	return a
}

// bore is a nominal size of hose, pipe or fitting.
func bore(name, help string) attr { return metres(name, help).eg("3/4 in") }

func word(name, help string, words ...string) attr {
	return attr{schema.Attr{Name: name, Type: schema.Word, Words: words, Help: help, Example: words[0]}}
}

func words(name, help string, list ...string) attr {
	a := word(name, help, list...)
	a.Type = schema.WordList
	return a
}

func plainAttr(name, help, example string, t schema.AttrType) attr {
	return attr{schema.Attr{Name: name, Type: t, Help: help, Example: example}}
}

func flag(name, help string) attr    { return plainAttr(name, help, "yes", schema.Flag) }
func count(name, help string) attr   { return plainAttr(name, help, "2", schema.Count) }
func text(name, help string) attr    { return plainAttr(name, help, "M8", schema.Text) }
func date(name, help string) attr    { return plainAttr(name, help, "2026-05-02", schema.Date) }
func partRef(name, help string) attr { return plainAttr(name, help, "EP", schema.PartRef) }

// curve is pairs of x and y; also lists the dimensions of a single figure that
// may stand for it.
func curve(name, help, example string, x, y unit.Dimension, also ...unit.Dimension) attr {
	return attr{schema.Attr{Name: name, Type: schema.Curve, X: []unit.Dimension{x}, Y: []unit.Dimension{y},
		Dims: also, Help: help, Example: example}}
}

// def documents what holds where nothing is written.
func (a attr) def(value, source string) attr {
	a.Default, a.DefaultSource = value, source
	return a
}

func (a attr) eg(example string) attr { a.Example = example; return a }

// bare is the unit of a figure written without one.
func (a attr) bare(unit string) attr { a.BareUnit = unit; return a }

func (a attr) aka(names ...string) attr { a.Aliases = names; return a }

// within bounds the value in the stored unit.
func (a attr) within(min, max float64) attr { a.Min, a.Max = min, max; return a }

// orDim lets the quantity have a further dimension.
func (a attr) orDim(dims ...unit.Dimension) attr {
	a.Dims = append(append([]unit.Dimension(nil), a.Dims...), dims...)
	return a
}

// orWords lets a quantity be one of the words instead.
func (a attr) orWords(list ...string) attr { a.Words = list; return a }

// read adds another spelling of a word.
func (a attr) read(written, meant string) attr {
	a.Also = append(append([][2]string(nil), a.Also...), [2]string{written, meant})
	return a
}

// attrs joins lists of attributes; of two with one name the first counts.
func attrs(lists ...[]attr) []schema.Attr {
	var out []schema.Attr
	seen := map[string]bool{}
	for _, list := range lists {
		for _, a := range list {
			if seen[a.Name] {
				continue
			}
			seen[a.Name] = true
			out = append(out, a.Attr)
		}
	}
	return out
}

// Sources of defaults that several kinds share.
const (
	practice   = "common practice, no source"
	language   = "the installation file's own rule"
	documented = "documented default of this kind"
)

func builtIn() attr {
	return plainAttr("built-in", "overcurrent device inside it", "fuse 60 A", schema.Fused)
}

func selfLimiting() attr {
	return flag("self-limiting", "its own nature holds its output to the stated maximum")
}

func resistance() attr {
	return ohms("resistance", "as measured or stated by the maker, joints included; wins over the computed value").eg("0.4 mohm")
}

func rating(help string) attr { return amps("rating", help) }

func ratedVolts() attr { return volts("volts", "voltage it is rated for") }

func efficiency(value string) attr {
	a := share("efficiency", "output power over input power").within(0.05, 1).eg("92 %")
	if value == "" {
		return a
	}
	return a.def(value, practice)
}

func idle() attr {
	return watts("idle", "what it takes with no load on its output").eg("12 W").orDim(unit.Current).def("0 W", documented)
}

func profile() attr {
	return word("profile", "chemistry its charging voltages suit", "flooded", "agm", "gel", "lfp")
}

func ways() attr {
	return plainAttr("ways", "its ways by key: title, rating, family, poles, trip, spare", "{1: {title: Lights, rating: 10 A}}", schema.WayMap)
}

func studSize() attr { return text("stud", "size of its studs") }

func materials(more ...string) attr {
	return word("material", "what it is made of", append([]string{"bronze", "dzr-brass", "brass", "stainless-316",
		"aluminium", "composite", "polyethylene", "pvc", "steel"}, more...)...).read("aluminum", "aluminium")
}

// watery are open to every kind with water terminals.
func watery() []attr {
	return []attr{
		bore("size", "nominal size of its hose tails or thread"),
		materials(),
		word("thread", "form of its pipe thread", "npt", "nps", "bspt", "bspp"),
		loss(),
		bore("inlet", "size of its inlet tail where it differs"),
		bore("outlet", "size of its outlet tail where it differs"),
		head("pressure", "pressure it works at or is rated for").eg("3 bar"),
	}
}

func loss() attr {
	return curve("loss", "head lost at a flow; replaces every default of the part", "{10 L/min: 0.6 m head}",
		unit.FlowRate, unit.Pressure, unit.Pressure)
}

func needs() attr { return flow("flow", "flow of water it needs") }

func heatAttr() attr { return watts("heat", "heat it gives to the water").eg("4 kW") }

// loadAttrs are what every electrical load can be told.
func loadAttrs(drop string) []attr {
	return []attr{
		quantity("draw", "current or power it takes, of each where there are several alike", unit.Current, unit.Power).eg("4 A"),
		watts("power", "power it takes, where draw is not given"),
		volts("volts", "voltage at which its draw holds; else the nominal voltage it is fed with"),
		quantity("starting", "current it takes while it starts, or how many times its draw", unit.Current, unit.Power, unit.Proportion).eg("18 A"),
		share("duty", "share of the time it runs, or `continuous`").eg("40 %").orWords("continuous", "intermittent").within(0, 1),
		attr{schema.Attr{Name: "model", Type: schema.WordOrText, Words: []string{"current", "power", "resistance"},
			Help:    "how its current changes with voltage; any other words are the maker's model",
			Example: "power", Default: "current where draw is in amperes, power where in watts", DefaultSource: documented}},
		share("drop", "voltage drop allowed on the way to it and back").eg("3 %").within(0, 1).def(drop, dropSource),
		volts("least-volts", "least voltage it works at").eg("10.5 V"),
		flag("memory", "may stay on with the battery switch off"),
		count("count", "how many alike; draw is of each").within(1, 10000).def("1", language),
		word("supply", "what feeds it", "dc", "ac").def("dc", language), powerFactor(),
		rating("what it is rated for, where its maker says so"),
		amps("fuse", "device its maker asks for"),
		resistance(),
		efficiency("").eg("80 %"),
		idle(),
		partRef("engine", "engine it belongs to"),
	}
}

// powerFactor is of parts that live on AC; without it a watt counts as a volt-ampere.
func powerFactor() attr {
	return share("power-factor", "on AC: its watts over its volt-amperes").eg("0.8").within(0.1, 1).def("1", documented)
}

const dropSource = "E-11, as quoted in public articles: 3 % for what must work, 10 % for comfort"

// signedToo lets the value be below zero.
func (a attr) signedToo() attr { a.Signed = true; return a }
