package read

import (
	"fitout/schema"
	"fitout/schema/unit"
)

// Form says how the value of a section's key is written, where it is more than
// one value of an attribute.
type Form uint8

// The forms.
const (
	One        Form = iota // one value, as Attr says
	PerStretch             // a list of such values, one a stretch; null where not stated
	Pair                   // a list of two such values
	OneOrMore              // one such value or a list of them
	AnEnd                  // PART.TERMINAL, PART, or for a hose {open: SPACE, height: …}
	Ends                   // a list of ends and of parts described in place
	Loads                  // a part, a list of them, or parts described in place
	Cable                  // 3 core 1.5 mm2
	SizeOrAuto             // a conductor size or the word auto
	Duties                 // a list of part ids with a duty
	BySpeed                // a rotational speed, or engine ids with one each
	ByPart                 // part ids with a word each
	BendCount              // 2x90
)

// Field is one key of a section.
type Field struct {
	schema.Attr
	Form Form

	place int // in its section
}

// Section is one section of the file with the keys its items may have.
type Section struct {
	Name string
	// What an item is called in messages, with its article.
	Item   string
	Fields []Field
	byName map[string]*Field
}

// Field returns the key's description by name or other spelling, or nil.
func (s *Section) Field(name string) *Field { return s.byName[name] }

// Names lists the keys in the order of the reference page.
func (s *Section) Names() []string {
	out := make([]string, len(s.Fields))
	for i := range s.Fields {
		out[i] = s.Fields[i].Name
	}
	return out
}

// TopLevel lists the keys of the file itself in their usual order.
func TopLevel() []string {
	return []string{"fitout", "include", "vessel", "rules", "deviations", "defaults", "spaces", "stock", "parts",
		"banks", "looms", "wires", "circuits", "hoses", "conditions", "day", "readings", "sheets"}
}

// Sections lists the sections with keys of their own. Parts have the attributes
// of their kind and schema.Common.
func Sections() []*Section {
	return []*Section{&vesselKeys, &ruleKeys, &deviationKeys, &spaceKeys, &loomKeys, &wireKeys, &circuitKeys, &hoseKeys, &conditionKeys, &readingKeys, &sheetKeys, &wayKeys, &openEndKeys}
}

func section(name, item string, groups ...[]Field) Section {
	s := Section{Name: name, Item: item, byName: map[string]*Field{}}
	for _, g := range groups {
		s.Fields = append(s.Fields, g...)
	}
	for i := range s.Fields {
		f := &s.Fields[i]
		f.place = i
		s.byName[f.Name] = f
		for _, a := range f.Aliases {
			s.byName[a] = f
		}
	}
	return s
}

func field(name string, t schema.AttrType, help, example string) Field {
	return Field{Attr: schema.Attr{Name: name, Type: t, Help: help, Example: example}}
}

func text(name, help string) Field { return field(name, schema.Text, help, "") }
func flag(name, help string) Field { return field(name, schema.Flag, help, "yes") }
func count(name, help string, most float64) Field {
	f := field(name, schema.Count, help, "2")
	f.Min, f.Max = 1, most
	return f
}
func date(name, help string) Field { return field(name, schema.Date, help, "2026-05-02") }

func quantity(name, help string, dim unit.Dimension) Field {
	f := field(name, schema.Quantity, help, dim.Example())
	f.Dims = []unit.Dimension{dim}
	return f
}

func signed(name, help string, dim unit.Dimension) Field {
	f := quantity(name, help, dim)
	f.Signed = true
	return f
}

func word(name, help string, words ...string) Field {
	f := field(name, schema.Word, help, words[0])
	f.Words = words
	return f
}

func (f Field) in(form Form) Field { f.Form = form; return f }

func (f Field) aka(names ...string) Field { f.Aliases = names; return f }

func (f Field) within(min, max float64) Field { f.Min, f.Max = min, max; return f }

func (f Field) also(written, meant string) Field {
	f.Also = append(append([][2]string(nil), f.Also...), [2]string{written, meant})
	return f
}

// The tables below are read, never written.

var vesselKeys = section("vessel", "the vessel", []Field{
	text("name", "the boat's name"),
	text("type", "what kind of boat"),
	word("hull", "sets the heel that flooding is judged at", "motor", "sail", "multihull"),
	quantity("length", "length of the hull", unit.Length),
	quantity("beam", "beam of the hull", unit.Length),
	signed("sheer", "height of the deck edge above the waterline", unit.Length),
	quantity("heel", "heel that flooding is judged at, to either side", unit.Angle).within(0, 90),
	quantity("trim", "trim that flooding is judged at, to either end", unit.Angle).within(0, 90),
	quantity("laden", "how much deeper she floats fully loaded", unit.Length),
	quantity("speed", "her usual speed", unit.BoatSpeed),
	word("water", "what she floats in", "sea", "fresh", "brackish").also("salt", "sea"),
	signed("water-temperature", "temperature of the water outside", unit.Temperature),
	word("category", "ISO design category", "A", "B", "C", "D"),
	count("persons", "how many she carries", 10000),
	text("note", "free words"),
})

var ruleKeys = section("rules", "the rules", []Field{
	word("set", "the rules that are judged by", "us", "iso", "both"),
	word("bundling", "whether bundles of DC wires are derated", "practice", "law"),
})

var deviationKeys = section("deviations", "a deviation", []Field{
	text("rule", "the rule departed from"),
	text("at", "the id it is accepted at"),
	text("why", "the reason"),
	text("by", "who accepted it, and when"),
})

var spaceKeys = section("spaces", "a space", []Field{
	text("title", "its name"),
	signed("ambient", "temperature that wires in it are judged at", unit.Temperature),
	flag("engine", "an engine space"),
	word("fuel", "fuel kept or burnt in it", "petrol", "diesel", "lpg", "propane", "paraffin", "electric", "none").aka().also("gasoline", "petrol").also("kerosene", "paraffin"),
	flag("stowage", "things are stowed in it"),
	flag("sleeps", "people sleep in it"),
	flag("bilge", "water gathers in it"),
	flag("watertight", "no water passes to or from other spaces"),
	flag("ventilated", "open to the air outside, or blown"),
	flag("weather", "open deck"),
	text("below", "the space above it"),
	text("joins", "spaces water passes to through limber holes").in(OneOrMore),
	signed("sole", "height of its sole", unit.Length),
	quantity("area", "area that water rises on", unit.Area),
	quantity("volume", "volume that water fills", unit.Volume),
	signed("station", "its extent along the boat, from the stem aft", unit.Length).in(Pair),
	text("side", "the side it lies on"),
	text("note", "free words"),
})

var loomKeys = section("looms", "a loom", []Field{
	text("spaces", "the spaces it passes").in(OneOrMore),
	quantity("longest", "its longest run together", unit.Length),
	text("title", "its name"),
	text("note", "free words"),
})

// conductorFields are open to wires and circuits.
var conductorFields = []Field{
	quantity("size", "conductor size, or auto", unit.CrossSection).in(SizeOrAuto),
	quantity("sizes", "conductor size of each stretch", unit.CrossSection).in(PerStretch),
	quantity("length", "length of the run, one way", unit.Length),
	quantity("lengths", "length of each stretch", unit.Length).in(PerStretch),
	quantity("resistance", "as measured, joints included", unit.Resistance),
	quantity("resistances", "as measured, of each stretch", unit.Resistance).in(PerStretch),
	text("cable", "cores of the cable, and their size").in(Cable),
	text("color", "colour of its insulation").aka("colour"),
	quantity("insulation", "temperature its insulation is rated for", unit.Temperature),
	count("strands", "how many strands it has", 100000),
	flag("sheath", "the whole run lies in a sheath, conduit or enclosure").aka("sheathed", "enclosed"),
	text("loom", "the loom it runs in"),
	text("through", "spaces it passes besides those of its ends").in(OneOrMore),
	count("parallel", "how many conductors side by side", 100),
	text("terminals", "the lugs at its ends").in(OneOrMore).aka("lugs"),
	text("impractical", "why protection nearer the source is impractical"),
	text("chafe-guard", "how it is guarded where it passes an edge"),
	text("label", "text of its label"),
	text("title", "what it is for"),
	text("note", "free words"),
	word("carries", "signal: a sense or data wire", "signal", "power"),
	date("fitted", "date fitted"),
	quantity("torque", "tightening torque of its terminals", unit.Torque),
	flag("prepared", "prepared for, not fitted"),
}

var wireKeys = section("wires", "a wire", []Field{
	text("id", "its number"),
	text("from", "where it begins").in(AnEnd),
	text("to", "where it ends").in(AnEnd),
	text("path", "all it passes, in order").in(Ends),
}, conductorFields)

var circuitKeys = section("circuits", "a circuit", []Field{
	text("id", "its number"),
	text("feed", "where the supply comes from").in(AnEnd),
	text("via", "devices on the way").in(Ends),
	text("load", "the load or loads").in(Loads).aka("loads"),
	text("return", "where the return goes").in(AnEnd),
	quantity("return-length", "length of the return where it is not that of the supply", unit.Length),
	quantity("return-size", "size of the return where it is not that of the supply", unit.CrossSection).in(SizeOrAuto),
	text("return-color", "colour of the return").aka("return-colour"),
	quantity("rating", "rating of the panel way it leaves", unit.Current),
}, conductorFields)

var hoseKeys = section("hoses", "a hose", []Field{
	text("id", "its number"),
	text("from", "where it begins").in(AnEnd),
	text("to", "where it ends").in(AnEnd),
	text("path", "all it passes, with the flow").in(Ends),
	quantity("bore", "inner diameter", unit.Length),
	quantity("length", "length of the run", unit.Length),
	quantity("lengths", "length of each stretch", unit.Length).in(PerStretch),
	text("material", "what it is made of"),
	Field{Attr: schema.Attr{Name: "rating", Type: schema.Word, Words: []string{"below waterline", "sanitation", "potable", "exhaust", "drain"}, Help: "what it is rated for", Example: "below waterline"}, Form: OneOrMore}.also("below-waterline", "below waterline"),
	count("clamps", "clamps at each end", 20).within(0, 20),
	signed("peak", "greatest height along the run", unit.Length),
	signed("dip", "least height along the run", unit.Length),
	signed("peaks", "greatest height along each stretch", unit.Length).in(PerStretch),
	signed("dips", "least height along each stretch", unit.Length).in(PerStretch),
	signed("peak-at", "offset and station of the peak", unit.Length).in(Pair),
	text("bends", "how many bends of 90°").in(BendCount),
	word("wall", "its inner surface", "smooth", "corrugated"),
	quantity("roughness", "roughness of its inner surface", unit.Length),
	flag("reinforced", "reinforced with wire or fibre"),
	text("through", "spaces it passes besides those of its ends").in(OneOrMore),
	text("label", "text of its label"),
	text("title", "what it is for"),
	text("note", "free words"),
	date("fitted", "date fitted"),
	flag("prepared", "prepared for, not fitted"),
})

var openEndKeys = section("hoses", "an open end", []Field{
	text("open", "the space it is open in"),
	signed("height", "its height above the waterline", unit.Length),
})

var conditionKeys = section("conditions", "a condition", []Field{
	text("title", "its name"),
	quantity("hours", "how long it lasts", unit.Duration),
	text("running", "the loads that run, each with a duty").in(Duties),
	text("bank", "the bank that carries it"),
	quantity("charge", "charge of the bank at its start", unit.Proportion).within(0, 1),
	text("engine", "speed of the engine or engines").in(BySpeed),
	quantity("speed", "speed through the water", unit.BoatSpeed),
	signed("heel", "heel she runs at, judged to both sides", unit.Angle).within(-90, 90),
	signed("trim", "trim she runs at", unit.Angle).within(-90, 90),
	quantity("sun", "hours of full sun a day", unit.Duration).within(0, 24),
	flag("shore", "shore power is there"),
	flag("holds", "the bank must not lose charge"),
	flag("unattended", "nobody is aboard"),
	text("open", "switches that stand open").in(OneOrMore),
	text("closed", "valves that are shut").in(OneOrMore),
	text("off", "converters and chargers that are off").in(OneOrMore),
	text("positions", "positions of selectors and diverters").in(ByPart),
	signed("water-temperature", "temperature of the water outside", unit.Temperature),
	text("note", "free words"),
})

var readingKeys = section("readings", "a reading", []Field{
	date("date", "when it was measured"),
	text("condition", "the condition she was in"),
	text("at", "where").in(AnEnd),
	signed("current", "current, positive when a battery gives it", unit.Current).aka("amps"),
	signed("volts", "voltage", unit.Voltage),
	quantity("flow", "flow of water", unit.FlowRate),
	signed("head", "pressure of the water", unit.Pressure).aka("pressure"),
	signed("rise", "rise of the water's temperature", unit.Temperature),
	quantity("within", "how far it may stray", unit.Proportion).within(0, 1),
	text("by", "who measured it"),
	text("note", "free words"),
})

var sheetKeys = section("sheets", "the sheets", []Field{
	word("paper", "paper the sheets are made for", "A4", "A3", "A2", "A1", "A0", "letter", "legal", "tabloid").also("a4", "A4").also("a3", "A3").also("a2", "A2").also("a1", "A1").also("a0", "A0").also("Letter", "letter").also("Legal", "legal").also("Tabloid", "tabloid").also("ledger", "tabloid"),
	text("drawn", "who drew them"),
	text("checked", "who checked them"),
	text("revision", "their revision"),
	date("date", "their date"),
	text("owner", "the owner"),
	text("hull-number", "hull identification number"),
	text("title", "their title"),
	text("number", "number of the drawing"),
	flag("mono", "black and white"),
	text("show", "what is written along runs").in(OneOrMore),
})

var wayKeys = section("ways", "a way", []Field{
	text("title", "what it feeds"),
	quantity("rating", "rating of its device", unit.Current),
	text("family", "family of its device"),
	flag("spare", "nothing is joined to it"),
	count("poles", "poles its device opens", 4),
	quantity("trip", "residual current its device opens at", unit.Current),
	quantity("volts", "voltage its device is rated for", unit.Voltage),
	quantity("interrupt", "current its device can break", unit.Current),
	text("label", "text of its label"),
})
