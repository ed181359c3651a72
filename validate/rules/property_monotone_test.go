package rules_test

import (
	"flag"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fitout/schema/diag"

	"gopkg.in/yaml.v3"
)

// protects are the rules that say whether a conductor is guarded.
var protects = []string{"unfused-run", "fuse-too-far", "fuse-exceeds-wire", "protection-sum"}

// floods are the rules that say how the sea gets in.
var floods = []string{"no-seacock", "floods-by-gravity", "rim-floods", "siphon-path", "loop-too-low", "bilge-discharge-low", "vent-dips", "exhaust-floods"}

var every = flag.Bool("every", false, "make every change of the property tests, not a fixed share of them")

// worse is one change that can only do harm.
type worse struct {
	what string
	do   func(*tree)
	// also names ids that may stand for one another after the change.
	also []string
}

// TestMonotoneProtection: a fuse less, a longer or thinner wire, a source more, a
// contact closed never takes a protection finding away (E-11, 33 CFR 183.455:
// each of them only shortens what is guarded or adds to what feeds a fault).
func TestMonotoneProtection(t *testing.T) {
	t.Parallel()
	for _, name := range boats {
		for k, start := range faults(t, exampleText(t, name)) {
			text := start.text
			before := serious(judge(t, text, protects...).Findings)
			if len(before) == 0 {
				continue
			}
			for i, w := range worseProtection(t, text) {
				if k > 0 && i%4 != k && !*every {
					continue
				}
				holdsOn(t, name+" with "+start.what, text, w, before, protects)
			}
		}
	}
}

// TestMonotoneFlooding: an opening lower or more heel never takes a flooding
// finding away.
func TestMonotoneFlooding(t *testing.T) {
	t.Parallel()
	for _, name := range boats {
		text := exampleText(t, name)
		if name != "tired" { // sound boats are lowered first, so that there is something to lose
			text = lowered(t, text, -0.35)
		}
		before := serious(judge(t, text, floods...).Findings)
		if len(before) == 0 {
			t.Errorf("%s: nothing floods", name)
		}
		for _, w := range worseFlooding(t, text) {
			holdsOn(t, name, text, w, before, floods)
		}
	}
}

// faulty is a boat with a fault to start from.
type faulty struct{ what, text string }

// faults gives each boat some protection findings: as it is, with its main fuses
// doubled, and with its thin wires drawn out.
func faults(tb testing.TB, text string) []faulty {
	out := []faulty{{"nothing done", text}}
	tr := parseTree(tb, text)
	for i, p := range tr.parts() {
		if r := field(p.attr, "rating"); kindOf(tr, p.attr) == "fuse" && r != nil && i%2 == 0 {
			r.Value = times(r.Value, 3)
		}
	}
	out = append(out, faulty{"every other fuse three times as large", tr.text(tb)})
	tr = parseTree(tb, text)
	for i, w := range tr.items("wires") {
		if l := field(w, "lengths"); l != nil && i%2 == 1 && field(w, "cable") == nil {
			l.Content[0].Value = "2.2 m"
		}
	}
	return append(out, faulty{"every other first stretch 2.2 m", tr.text(tb)})
}

func serious(list []diag.Finding) []diag.Finding {
	return slices.DeleteFunc(slices.Clone(list), func(f diag.Finding) bool { return f.Severity == diag.Note })
}

var figured = regexp.MustCompile(`^([0-9.]+)( .*)$`)

// times multiplies a quantity's figure.
func times(q string, by float64) string {
	m := figured.FindStringSubmatch(q)
	if m == nil {
		return q
	}
	v, _ := strconv.ParseFloat(m[1], 64)
	return strconv.FormatFloat(v*by, 'f', -1, 64) + m[2]
}

// holdsOn makes a boat worse and asks that each finding is there still: on the same
// conductor, device or opening, by any rule of the family.
func holdsOn(t *testing.T, name, text string, w worse, before []diag.Finding, family []string) {
	t.Helper()
	tr := parseTree(t, text)
	w.do(tr)
	s, mistakes := readBoat(tr.text(t), nil)
	if s == nil {
		t.Errorf("%s, %s: cannot be read:\n%s", name, w.what, mistakes)
		return
	}
	after := serious(judge(t, tr.text(t), family...).Findings)
	for _, f := range before {
		if !slices.ContainsFunc(after, func(g diag.Finding) bool { return touches(f, g, w.also) }) {
			t.Errorf("%s, %s: %s %v is gone: %s", name, w.what, f.Rule, f.At, f.Message)
		}
	}
}

// touches reports whether two findings concern the same thing.
func touches(f, g diag.Finding, also []string) bool {
	return slices.ContainsFunc(f.At, func(id string) bool {
		return slices.ContainsFunc(g.At, func(o string) bool {
			return run(id) == run(o) || slices.Contains(also, run(id)) && slices.Contains(also, run(o))
		})
	})
}

// run is the written id of a stretch: "2" for 2a, "C3" for C3+a.
func run(id string) string {
	id = strings.TrimRight(id, "abcdefghij")
	return strings.TrimRight(id, "+-")
}

// thinner is a ladder of sizes, thick to thin.
var thinner = map[string]string{
	"2/0 AWG": "1 AWG", "1/0 AWG": "2 AWG", "2 AWG": "4 AWG", "4 AWG": "6 AWG", "6 AWG": "8 AWG", "8 AWG": "10 AWG", "10 AWG": "12 AWG", "12 AWG": "14 AWG", "14 AWG": "16 AWG", "16 AWG": "18 AWG",
	"120 mm2": "95 mm2", "95 mm2": "70 mm2", "70 mm2": "50 mm2", "50 mm2": "35 mm2", "35 mm2": "25 mm2", "25 mm2": "16 mm2", "16 mm2": "10 mm2", "10 mm2": "6 mm2", "6 mm2": "4 mm2", "4 mm2": "2.5 mm2", "2.5 mm2": "1.5 mm2",
}

func worseProtection(tb testing.TB, text string) []worse {
	tr := parseTree(tb, text)
	var out []worse
	for _, p := range tr.parts() {
		id := p.id
		switch kindOf(tr, p.attr) {
		case "fuse", "breaker":
			out = append(out, worse{"without " + id, func(t *tree) { unfuse(t, id) }, nil})
		case "switch", "relay", "float-switch":
			if pos := field(p.attr, "position"); pos != nil && pos.Value == "open" {
				out = append(out, worse{id + " closed", func(t *tree) { field(t.part(id), "position").Value = "closed" }, nil})
			}
		case "bus":
			if pol := field(p.attr, "polarity"); pol != nil && pol.Value == "positive" {
				out = append(out, worse{"a battery more on " + id, func(t *tree) { addBattery(tb, t, id) }, nil})
			}
		}
	}
	for _, section := range []string{"wires", "circuits"} {
		for _, w := range tr.items(section) {
			id := field(w, "id").Value
			if field(w, "length") != nil || field(w, "lengths") != nil {
				out = append(out, worse{id + " longer", func(t *tree) { lengthen(t.item(id)) }, nil})
			}
			if size := field(w, "size"); size != nil && thinner[size.Value] != "" {
				out = append(out, worse{id + " thinner", func(t *tree) { s := field(t.item(id), "size"); s.Value = thinner[s.Value] }, nil})
			}
		}
	}
	return out
}

// unfuse leaves a device out of a line: a joint that carries any current stands
// where it stood.
func unfuse(t *tree, id string) {
	attr := t.part(id)
	keep := flowMap(scalar("kind"), scalar("stud"), scalar("title"), scalar("Joint"), scalar("covered"), scalar("yes"))
	for _, key := range []string{"space", "station", "offset", "height"} {
		if v := field(attr, key); v != nil {
			setField(keep, key, v)
		}
	}
	*attr = *keep
}

func lengthen(w *yaml.Node) {
	add := func(n *yaml.Node) {
		if n != nil && n.Kind == yaml.ScalarNode {
			n.Value = times(n.Value, 1.5)
		}
	}
	add(field(w, "length"))
	if l := field(w, "lengths"); l != nil {
		for _, n := range l.Content {
			add(n)
		}
	}
}

// addBattery puts a battery straight on a bus, and its negative on the first bus
// of that polarity.
func addBattery(tb testing.TB, t *tree, bus string) {
	negative := ""
	for _, p := range t.parts() {
		if pol := field(p.attr, "polarity"); kindOf(t, p.attr) == "bus" && pol != nil && pol.Value == "negative" && negative == "" {
			negative = p.id
		}
	}
	setField(t.section("parts"), "BX", value(tb, "{kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah}"))
	wires := t.section("wires")
	wires.Content = append(wires.Content,
		value(tb, fmt.Sprintf("{id: X1, from: BX.+, to: %s, size: 70 mm2, length: 0.1 m}", bus)),
		value(tb, fmt.Sprintf("{id: X2, from: BX.-, to: %s, size: 70 mm2, length: 0.5 m}", negative)))
}

// heights are the attributes that say how high an opening stands.
var heights = []string{"height", "rim", "peak", "dip", "injection"}

// lowered moves every height of the water parts by so many metres.
func lowered(tb testing.TB, text string, by float64) string {
	tr := parseTree(tb, text)
	for _, p := range tr.parts() {
		for _, key := range []string{"height", "rim", "injection"} {
			if key == "height" && !slices.Contains(openings, kindOf(tr, p.attr)) {
				continue
			}
			shift(field(p.attr, key), by)
		}
	}
	for _, h := range tr.items("hoses") {
		shift(field(h, "peak"), by)
	}
	return tr.text(tb)
}

var openings = []string{"through-hull", "sink", "shower", "sump", "toilet", "vented-loop", "tank-vent", "deck-fill", "hull-fitting", "cockpit-drain", "drain-pan", "icebox"}

func shift(n *yaml.Node, by float64) {
	if n == nil || !strings.HasSuffix(n.Value, " m") {
		return
	}
	v, err := strconv.ParseFloat(strings.TrimSuffix(n.Value, " m"), 64)
	if err != nil {
		return
	}
	n.Value = strconv.FormatFloat(roundTo(v+by+100, 1e-6)-100, 'f', 6, 64) + " m"
}

func worseFlooding(tb testing.TB, text string) []worse {
	tr := parseTree(tb, text)
	var out []worse
	for _, p := range tr.parts() {
		id := p.id
		if !slices.Contains(openings, kindOf(tr, p.attr)) || field(p.attr, "height") == nil {
			continue
		}
		out = append(out, worse{id + " 80 mm lower", func(t *tree) {
			for _, key := range heights {
				shift(field(t.part(id), key), -0.08)
			}
		}, nil})
	}
	for _, h := range tr.items("hoses") {
		if id := field(h, "id").Value; field(h, "peak") != nil {
			out = append(out, worse{"the peak of " + id + " lower", func(t *tree) { shift(field(t.item(id), "peak"), -0.08) }, nil})
		}
	}
	for _, heel := range []string{"10 deg", "14 deg", "31 deg", "36 deg"} {
		out = append(out, worse{"heeled to " + heel, func(t *tree) {
			if now := field(t.section("vessel"), "hull"); now.Value == "sail" && heel < "31 deg" {
				heel = "32 deg" // less would be more upright than she is judged at
			}
			setField(t.section("vessel"), "heel", scalar(heel))
		}, nil})
	}
	return append(out, worse{"laden 50 mm deeper", func(t *tree) { shift(field(t.section("vessel"), "laden"), 0.05) }, nil})
}
