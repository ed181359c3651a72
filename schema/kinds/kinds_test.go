package kinds

import (
	"slices"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/unit"
)

// The kinds of the table in the description of the installation file, typed here
// by hand so that none can go missing unnoticed.
const tableOfKinds = `battery alternator solar charge-controller charger dc-charger converter inverter
inverter-charger fuse breaker switch relay selector bus block stud panel fuse-block shunt load light windlass
thruster starter electronics fan heater refrigerator monitor alarm float-switch level-sensor thermostat control
ground bond anode shore-inlet rcd ac-breaker ac-panel selector-ac galvanic-isolator transformer outlet ac-load
pump aircon water-maker calorifier engine generator toilet through-hull hull-fitting seacock valve diverter
strainer check-valve relief-valve bleed heat-exchanger waterlock vented-loop tee manifold tank accumulator sink
shower sump icebox cockpit-drain drain-pan tap mixer washdown dock-water deck-fill deck-plate tank-vent`

func TestEveryKindOfTheTable(t *testing.T) {
	c := All()
	want := strings.Fields(tableOfKinds)
	for _, name := range want {
		if k := c.Kind(name); k == nil || k.Name != name {
			t.Errorf("kind %s is missing", name)
		}
	}
	for _, k := range c.All() {
		if !slices.Contains(want, k.Name) {
			t.Errorf("kind %s is not in the table", k.Name)
		}
	}
	for alias, name := range map[string]string{"skin-fitting": "through-hull", "breather": "tank-vent", "vent": "tank-vent", "earth": "ground"} {
		if k := c.Kind(alias); k == nil || k.Name != name {
			t.Errorf("%s is not read as %s", alias, name)
		}
	}
}

// tableTerminals are the terminals of the table, by kind; attributes change some.
func TestTerminalsOfTheTable(t *testing.T) {
	for _, c := range []struct{ kind, set, want string }{
		{"battery", "", "+ -"}, {"alternator", "", "+ -"}, {"solar", "", "+ -"},
		{"charge-controller", "", "pv+ pv- + -"}, {"charger", "", "L N PE + -"},
		{"charger", "outputs=3", "L N PE +1 +2 +3 -"}, {"dc-charger", "", "in+ in- out+ out-"},
		{"converter", "", "in+ in- out+ out-"}, {"inverter", "", "+ - L N PE"},
		{"inverter-charger", "", "+ - L-in N-in PE-in L-out N-out PE-out"}, {"fuse", "", "in out"},
		{"breaker", "", "in out"}, {"switch", "", "in out"}, {"relay", "", "in out coil+ coil-"},
		{"selector", "", "1 2 common"}, {"panel", "", "in -"}, {"fuse-block", "", "in -"},
		{"shunt", "", "battery load sense"}, {"load", "", "+ - case"}, {"light", "", "+ - case"},
		{"monitor", "", "+ - case sense"}, {"alarm", "", "+ - case sense"},
		{"refrigerator", "", "+ - case water-in water-out"}, {"float-switch", "", "in out"},
		{"control", "", "in out"}, {"shore-inlet", "", "L N PE"}, {"rcd", "", "L-in N-in L-out N-out"},
		{"ac-breaker", "", "L-in N-in L-out N-out"}, {"ac-breaker", "poles=1", "in out"}, {"rcd", "poles=1", "in out"},
		{"ac-panel", "", "L-in N-in PE-in"}, {"selector-ac", "", "L1 N1 PE1 L2 N2 PE2 L N PE"},
		{"galvanic-isolator", "", "in out"}, {"transformer", "", "L-in N-in PE-in L-out N-out PE-out"},
		{"outlet", "", "L N PE"}, {"ac-load", "", "L N PE"}, {"pump", "", "in out + -"},
		{"pump", "drive=ac", "in out L N PE"}, {"pump", "drive=hand", "in out"}, {"pump", "drive=engine", "in out"},
		{"aircon", "", "+ - water-in water-out drain"}, {"aircon", "supply=ac", "L N PE water-in water-out drain"},
		{"water-maker", "", "+ - feed brine product"}, {"calorifier", "", "cold hot coolant-in coolant-out relief L N PE"},
		{"engine", "", "water-in water-out elbow exhaust coolant-out coolant-in"},
		{"generator", "", "L N PE + - water-in water-out elbow exhaust coolant-out coolant-in"},
		{"toilet", "", "supply flush-out flush out"}, {"toilet", "design=electric", "supply flush-out flush out + -"},
		{"toilet", "design=vacuum", "+ -"}, {"through-hull", "", "out"}, {"seacock", "", "in out"}, {"valve", "", "in out"},
		{"diverter", "", "common a b"}, {"strainer", "", "in out"}, {"check-valve", "", "in out"},
		{"relief-valve", "", "in out"}, {"bleed", "", "in out"}, {"heat-exchanger", "", "in out"}, {"waterlock", "", "in out"},
		{"vented-loop", "", "in out vent"}, {"tank", "", "fill vent outlet drain"}, {"accumulator", "", "in"},
		{"sink", "", "cold hot out in"}, {"shower", "", "cold hot out"}, {"sump", "", "in out"}, {"icebox", "", "out"},
		{"cockpit-drain", "", "out"}, {"drain-pan", "", "in out"}, {"tap", "", "in"}, {"mixer", "", "cold hot out"},
		{"washdown", "", "in"}, {"dock-water", "", "out"}, {"deck-fill", "", "out"}, {"deck-plate", "", "out"}, {"tank-vent", "", "in"},
	} {
		p := partWith(t, c.kind, c.set)
		for _, name := range strings.Fields(c.want) {
			if term, ok := p.Terminal(name); !ok || term.Hidden {
				t.Errorf("%s %s has no terminal %s", c.kind, c.set, name)
			}
		}
	}
}

// TestJoints: parts that are all one joint are named alone.
func TestJoints(t *testing.T) {
	for _, kind := range strings.Fields("bus block stud ground bond anode tee manifold") {
		p := partWith(t, kind, "")
		if _, ok := p.Terminal(""); !ok || !p.Kind.Open || !p.Kind.Single {
			t.Errorf("%s is not one open joint", kind)
		}
	}
}

// partWith makes a part of a kind; set is attr=word or attr=number.
func partWith(t *testing.T, kind, set string) *schema.Part {
	t.Helper()
	k := All().Kind(kind)
	if k == nil {
		t.Fatalf("no kind %s", kind)
	}
	p := &schema.Part{ID: "X1", Kind: k}
	for _, s := range strings.Fields(set) {
		name, val, _ := strings.Cut(s, "=")
		a := k.Attr(name)
		if a == nil {
			t.Fatalf("%s has no attribute %s", kind, name)
		}
		v := schema.Value{Attr: a, Text: val, Word: val, From: schema.Own, Yes: val == "yes"}
		switch a.Type {
		case schema.Count, schema.Number:
			v.Number = float64(val[0] - '0')
		case schema.Quantity:
			v.Word = ""
			for _, d := range a.Dims {
				if f, err := d.Parse(strings.ReplaceAll(val, "_", " ")); err == nil {
					v.Dim, v.Number = d, f
					break
				}
			}
		}
		p.Set(v)
	}
	return p
}

// TestAnchors: every terminal a sheet draws has an anchor of its name, or is the
// only one; every anchor lies on the grid.
func TestAnchors(t *testing.T) {
	for _, k := range All().All() {
		for _, m := range k.Media {
			p := partWith(t, k.Name, "")
			list := shown(p, m)
			if len(list) == 0 {
				continue
			}
			s := k.Symbol(p, m)
			if len(s.Primitives) == 0 {
				t.Errorf("%s: nothing drawn on sheet %v", k.Name, m)
			}
			for _, term := range list {
				if _, ok := s.Anchor(term.Name); !ok && term.Name != "" {
					t.Errorf("%s: terminal %s has no anchor on sheet %v", k.Name, term.Name, m)
				}
			}
			if m == schema.Water || len(list) < 2 || k.Open {
				continue
			}
			for _, a := range s.Anchors {
				if _, ok := p.Terminal(a.Name); !ok && !wayName(a.Name) {
					t.Errorf("%s: anchor %s is no terminal", k.Name, a.Name)
				}
			}
		}
	}
}

func wayName(name string) bool { return name == "1" || name == "2" || name == "3" }

// TestAttributesAreComplete: each has help, an example, and what its type needs;
// a documented default has its source.
func TestAttributesAreComplete(t *testing.T) {
	for _, k := range All().All() {
		if k.Title == "" || k.Help == "" || k.Class == "" || k.Example == "" || len(k.Media) == 0 {
			t.Errorf("%s: title, help, class, example or media missing", k.Name)
		}
		seen := map[string]bool{}
		for _, a := range k.Attrs {
			names := append([]string{a.Name}, a.Aliases...)
			for _, n := range names {
				if seen[n] {
					t.Errorf("%s: attribute %s twice", k.Name, n)
				}
				seen[n] = true
			}
			checkAttr(t, k.Name, a)
		}
		for _, n := range k.NotStated {
			if k.Attr(n) == nil {
				t.Errorf("%s: asks for %s and has no such attribute", k.Name, n)
			}
		}
	}
}

func checkAttr(t *testing.T, kind string, a schema.Attr) {
	t.Helper()
	at := kind + "." + a.Name
	if a.Help == "" || a.Example == "" {
		t.Errorf("%s: no help or no example", at)
	}
	if (a.Default == "") != (a.DefaultSource == "") {
		t.Errorf("%s: a default needs a source and a source a default", at)
	}
	switch a.Type {
	case schema.Quantity:
		if len(a.Dims) == 0 {
			t.Errorf("%s: no dimension", at)
		}
		if !slices.ContainsFunc(a.Dims, func(d unit.Dimension) bool { _, err := d.Parse(a.Example); return err == nil }) {
			t.Errorf("%s: example %q reads in none of its dimensions", at, a.Example)
		}
	case schema.Word, schema.WordList, schema.WordOrText:
		if len(a.Words) == 0 {
			t.Errorf("%s: no words", at)
		}
	case schema.Curve:
		if len(a.X) == 0 || len(a.Y) == 0 {
			t.Errorf("%s: a curve needs x and y", at)
		}
	}
	for _, also := range a.Also {
		if !slices.Contains(a.Words, also[1]) {
			t.Errorf("%s: %s is read as %s, which is no word", at, also[0], also[1])
		}
	}
	if a.Max < a.Min {
		t.Errorf("%s: bounds are crossed", at)
	}
}

// TestAttributesOfTheTable: the words of the table are known to their kinds.
func TestAttributesOfTheTable(t *testing.T) {
	c := All()
	for kinds, names := range map[string]string{
		"battery":                   "chemistry volts capacity usable charge emf resistance peukert charge-efficiency cranking fault-current max-charge max-discharge protection disconnect restrained terminals-covered",
		"alternator":                "volts output ratio engine self-limiting built-in regulator",
		"solar":                     "volts power self-limiting",
		"charge-controller":         "rating output built-in self-limiting",
		"charger":                   "output volts profile outputs efficiency built-in self-limiting",
		"dc-charger converter":      "volts in-volts output resistance profile holds efficiency idle isolated built-in self-limiting",
		"inverter inverter-charger": "in-volts volts power efficiency idle output neutral-bond built-in",
		"fuse":                      "family rating volts interrupt resistance",
		"breaker":                   "family rating volts interrupt reset trip-free resistance",
		"switch relay selector":     "rating position manual-override resistance",
		"bus block stud":            "rating studs polarity covered",
		"panel fuse-block":          "rating interrupt ways",
		"shunt":                     "rating millivolts resistance",
		"load light windlass thruster starter electronics fan heater refrigerator monitor alarm": "draw volts starting duty model drop least-volts memory count",
		"heater": "fuel", "alarm": "senses watches height tested",
		"float-switch level-sensor thermostat control": "rating height ways",
		"ground bond anode":                            "studs",
		"shore-inlet":                                  "volts rating",
		"rcd ac-breaker":                               "rating poles trip",
		"ac-panel":                                     "ways",
		"selector-ac":                                  "rating breaks position",
		"galvanic-isolator":                            "rating",
		"transformer outlet ac-load":                   "rating power trip",
		"pump":                                         "duty design drive volts draw curve submersible self-priming automatic inlet outlet npsh dry-run",
		"aircon":                                       "capacity draw flow loss supply",
		"water-maker":                                  "draw flow product",
		"calorifier":                                   "capacity power relief",
		"engine generator":                             "power fuel flow injection volts",
		"toilet":                                       "design rim draw",
		"through-hull":                                 "service size material thread scoop seacock",
		"hull-fitting":                                 "type size height",
		"seacock valve":                                "type size material thread position secured reach exercised",
		"diverter":                                     "position secured",
		"strainer check-valve relief-valve bleed heat-exchanger waterlock": "size material heat loss height",
		"vented-loop":      "height size",
		"tee manifold":     "size",
		"tank accumulator": "capacity contents material pressure",
		"tank":             "level",
		"sink shower sump icebox cockpit-drain drain-pan tap mixer washdown dock-water": "rim inside",
		"deck-fill deck-plate tank-vent":                                                "height inside",
	} {
		for _, kind := range strings.Fields(kinds) {
			for _, name := range strings.Fields(names + " title space note make model serial price supplier label fitted spares essential ignition-protected covered torque station offset height prepared") {
				if c.Kind(kind).Attr(name) == nil {
					t.Errorf("%s does not know %s", kind, name)
				}
			}
		}
	}
	for _, k := range c.All() {
		for _, m := range k.Media {
			if m != schema.Water || len(shown(&schema.Part{Kind: k}, m)) == 0 {
				continue
			}
			for _, name := range []string{"loss", "size", "material"} {
				if k.Attr(name) == nil {
					t.Errorf("%s carries water and does not know %s", k.Name, name)
				}
			}
		}
	}
}

// TestDefaultResistanceHasSource, and inner ways name terminals the part has.
func TestInnerWaysNameTerminals(t *testing.T) {
	sets := map[string][]string{
		"fuse": {"rating=60_A family=class-t"}, "rcd": {"poles=1 rating=16_A", "rating=16_A trip=30_mA"}, "pump": {"drive=ac", "submersible=yes"},
		"aircon": {"supply=ac"}, "toilet": {"design=electric"}, "charger": {"outputs=3"}, "panel": {"main=100_A"},
		"inverter": {"neutral-bond=always"}, "transformer": {"isolated=no"}, "selector-ac": {"breaks=live"}, "tank": {"inside=yes"},
		"battery": {"chemistry=agm volts=12_V capacity=100_Ah", "cranking=800_A volts=12_V", "fault-current=2_kA volts=12_V"},
	}
	for _, k := range All().All() {
		for _, set := range append([]string{""}, sets[k.Name]...) {
			p := partWith(t, k.Name, set)
			for _, b := range p.Branches() {
				for _, name := range []string{b.A, b.B} {
					if _, ok := p.Terminal(name); !ok {
						t.Errorf("%s %q: branch at %q, which is no terminal", k.Name, set, name)
					}
				}
				if (b.OhmsDefault == 0) != (b.OhmsDefaultSource == "") {
					t.Errorf("%s %q: default resistance %v with source %q", k.Name, set, b.OhmsDefault, b.OhmsDefaultSource)
				}
			}
			for _, ch := range p.Channels() {
				for _, name := range []string{ch.A, ch.B} {
					if _, ok := p.Terminal(name); !ok {
						t.Errorf("%s %q: channel at %q, which is no terminal", k.Name, set, name)
					}
				}
				if (ch.K == 0) != (ch.KSource == "") {
					t.Errorf("%s %q: loss coefficient %v with source %q", k.Name, set, ch.K, ch.KSource)
				}
			}
			for _, o := range p.Openings() {
				if _, ok := p.Terminal(o.Terminal); !ok && o.Terminal != "" {
					t.Errorf("%s %q: opening at %q, which is no terminal", k.Name, set, o.Terminal)
				}
				if !o.Height.Given() && o.Missing == "" {
					t.Errorf("%s %q: an opening without height does not say what is missing", k.Name, set)
				}
			}
			if k.Passes != nil {
				checkPasses(t, p)
			}
		}
	}
}

func checkPasses(t *testing.T, p *schema.Part) {
	t.Helper()
	for _, m := range p.Kind.Media {
		in, out, ok := p.Kind.Passes(p, m)
		if !ok {
			continue
		}
		for _, name := range []string{in, out} {
			_, terminal := p.Terminal(name)
			cable := slices.ContainsFunc(p.Terminals(), func(x schema.Terminal) bool { return x.Cable == name && m == schema.AC })
			if !terminal && !cable {
				t.Errorf("%s passes %s, which is neither terminal nor cable", p.Kind.Name, name)
			}
		}
	}
}

// The figures follow from facts of the reference: 100 mV at rated current for a
// blade fuse or breaker (common practice), millivolts over rating for a shunt
// (by definition), volts over short-circuit current for a battery.
func TestDefaultResistances(t *testing.T) {
	for _, c := range []struct {
		kind, set string
		want      float64
	}{
		{"fuse", "family=blade rating=10_A", 0.010},
		{"breaker", "rating=50_A", 0.002},
		{"shunt", "rating=500_A millivolts=50_mV", 0.0001},
		{"battery", "volts=12_V fault-current=2400_A", 0.005}, // 12 V, 5 mΩ → 2400 A
		{"battery", "volts=12_V cranking=800_A", 0.003375},    // 6.75 mΩ cold, half of it warm
	} {
		got := float64(partWith(t, c.kind, c.set).Branches()[0].OhmsDefault)
		if diff := got - c.want; diff > 1e-9 || diff < -1e-9 {
			t.Errorf("%s %s: %g ohm, want %g", c.kind, c.set, got, c.want)
		}
	}
}

// Fully turbulent friction factors of the reference table (Schedule 40 sizes of
// TP-410): the law used here must give them within 2 %.
func TestTurbulentFriction(t *testing.T) {
	for _, c := range []struct{ bore, want float64 }{{0.01576, 0.0256}, {0.02096, 0.0237}, {0.02664, 0.0223}, {0.04094, 0.0200}, {0.05248, 0.0188}} {
		got := turbulent(schema.Of(unit.Metre(c.bore), schema.Own))
		if r := got / c.want; r < 0.98 || r > 1.02 {
			t.Errorf("%g m: fT %.4f, table %.4f", c.bore, got, c.want)
		}
	}
}
