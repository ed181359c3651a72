package rules_test

import (
	"fmt"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fitout/schema/diag"
	"fitout/schema/kinds"
	"fitout/validate/rules"

	"gopkg.in/yaml.v3"
)

// telling is how a rewritten boat tells an id of the first one; "" drops it.
type telling func(string) string

// TestSameBoatOtherWords: a boat told in other words is the same boat, so its
// findings are the same but for ids. Each telling rewrites the file as text; none
// knows a rule.
func TestSameBoatOtherWords(t *testing.T) {
	tellings := []struct {
		name string
		// as rewrites the tree, and says which new id stands for which old one.
		as func(testing.TB, *tree) (back telling, more map[string]string)
		// once counts findings once: a run told in two pieces may be named in both.
		once bool
	}{
		{"ids renamed", renamed, false},
		{"lists shuffled", shuffled, false},
		{"undirected wires and paths reversed", reversed, false},
		{"paths written as single wires", singled, true},
		{"wires cut in two by a stud", cut, true},
		{"units swapped", swapped, false},
		{"stock and defaults expanded", expanded, false},
		{"parts in an include", included, false},
	}
	for _, name := range boats {
		text := exampleText(t, name)
		before := judge(t, text)
		for _, tell := range tellings {
			t.Run(name+"/"+tell.name, func(t *testing.T) {
				t.Parallel()
				tr := parseTree(t, text)
				back, more := tell.as(t, tr)
				changed := tr.text(t)
				s, mistakes := readBoat(changed, more)
				if s == nil {
					t.Fatalf("cannot be read:\n%s", mistakes)
				}
				after := rules.Check(s)
				was, is := keys(before.Findings, back.old()), keys(after.Findings, back)
				if tell.once {
					was, is = slices.Compact(was), slices.Compact(is)
				}
				for _, k := range lost(was, is) {
					t.Errorf("lost: %s", k)
				}
				for _, k := range lost(is, was) {
					t.Errorf("new:  %s", k)
				}
				was, is = slices.Compact(gaps(before.Unchecked)), slices.Compact(gaps(after.Unchecked))
				if len(was) != len(is) {
					t.Errorf("not checked before: %v, after: %v", lost(was, is), lost(is, was))
				}
			})
		}
	}
}

// gaps writes what was not checked as "rule: datum".
func gaps(list []diag.Unchecked) []string {
	var out []string
	for _, u := range list {
		out = append(out, u.Rule+": "+u.Missing)
	}
	slices.Sort(out)
	return out
}

// old tells the ids of the first boat: those that back would drop are dropped
// there too.
func (b telling) old() telling {
	return func(id string) string {
		if strings.HasPrefix(id, "~") {
			return ""
		}
		return b("=" + id)
	}
}

// same is a telling that keeps ids, and asks other of those that are new.
func same(other func(id string) string) telling {
	return func(id string) string {
		if old, ok := strings.CutPrefix(id, "="); ok {
			return old
		}
		if other == nil {
			return id
		}
		return other(id)
	}
}

// refKeys are the keys whose values name parts.
var refKeys = []string{"from", "to", "path", "feed", "via", "load", "return", "running", "open", "closed", "bank", "off",
	"at", "shunt", "engine", "disconnect", "watches", "positions"}

// renamed puts a letter before each part's id, wherever it is named.
func renamed(tb testing.TB, t *tree) (telling, map[string]string) {
	ids := map[string]bool{}
	for _, p := range t.parts() {
		ids[p.id] = true
	}
	for _, p := range t.parts() {
		p.key.Value = "x" + p.id
		if cock := field(p.attr, "seacock"); cock != nil && cock.Kind == yaml.ScalarNode {
			cock.Value = "x" + cock.Value
		}
	}
	var refer func(n *yaml.Node)
	refer = func(n *yaml.Node) {
		switch n.Kind {
		case yaml.ScalarNode:
			word, rest := n.Value, ""
			if i := strings.IndexAny(word, ". "); i >= 0 {
				word, rest = word[:i], word[i:]
			}
			if ids[word] {
				n.Value = "x" + word + rest
			}
		case yaml.SequenceNode:
			for _, c := range n.Content {
				refer(c)
			}
		case yaml.MappingNode:
			for i := 0; i+1 < len(n.Content); i += 2 {
				if ids[n.Content[i].Value] { // a position, an engine's speed
					n.Content[i].Value = "x" + n.Content[i].Value
				}
				if n.Content[i+1].Kind == yaml.ScalarNode {
					refer(n.Content[i+1])
				}
			}
		}
	}
	var walk func(n *yaml.Node)
	walk = func(n *yaml.Node) {
		for i, c := range n.Content {
			if n.Kind == yaml.MappingNode && i%2 == 1 && slices.Contains(refKeys, n.Content[i-1].Value) {
				refer(c)
			}
			walk(c)
		}
	}
	for _, s := range []string{"parts", "wires", "circuits", "hoses", "conditions", "deviations", "readings", "defaults"} {
		if n := t.section(s); n != nil {
			walk(n)
		}
	}
	if b := t.section("banks"); b != nil {
		for i := 1; i < len(b.Content); i += 2 {
			refer(b.Content[i])
		}
	}
	return same(func(id string) string {
		if old, ok := strings.CutPrefix(id, "x"); ok && ids[old] {
			return old
		}
		return id
	}), nil
}

// shuffled turns every list and section round at random, by a fixed seed.
func shuffled(tb testing.TB, t *tree) (telling, map[string]string) {
	r := rand.New(rand.NewPCG(7, 11))
	for _, s := range []string{"wires", "circuits", "hoses", "readings"} {
		if n := t.section(s); n != nil {
			r.Shuffle(len(n.Content), func(i, j int) { n.Content[i], n.Content[j] = n.Content[j], n.Content[i] })
		}
	}
	for _, s := range []string{"parts", "spaces", "conditions"} {
		if n := t.section(s); n != nil {
			r.Shuffle(len(n.Content)/2, func(i, j int) {
				for k := range 2 {
					n.Content[2*i+k], n.Content[2*j+k] = n.Content[2*j+k], n.Content[2*i+k]
				}
			})
		}
	}
	return same(nil), nil
}

// directed lists the parts that a path passes in the order of writing.
func directed(t *tree) map[string]bool {
	out := map[string]bool{}
	for _, p := range t.parts() {
		if k := kinds.All().Kind(kindOf(t, p.attr)); k != nil && k.Directed {
			out[p.id] = true
		}
	}
	return out
}

// kindOf reads a part's kind, its own or that of its stock.
func kindOf(t *tree, attr *yaml.Node) string {
	if k := field(attr, "kind"); k != nil {
		return k.Value
	}
	if s := field(attr, "stock"); s != nil {
		if k := field(field(t.section("stock"), s.Value), "kind"); k != nil {
			return k.Value
		}
	}
	return ""
}

// stopID is the part that an element of a path names.
func stopID(n *yaml.Node) string {
	if n.Kind == yaml.MappingNode {
		return n.Content[0].Value
	}
	id, _, _ := strings.Cut(n.Value, ".")
	return id
}

// stretches pairs the stops of a path; two that name one part lie inside it.
func stretches(stops []*yaml.Node) (out [][2]*yaml.Node) {
	for i := range len(stops) - 1 {
		if stopID(stops[i]) != stopID(stops[i+1]) {
			out = append(out, [2]*yaml.Node{stops[i], stops[i+1]})
		}
	}
	return out
}

// letters are the endings of the stretches of a path.
func letter(i int) string { return string(rune('a' + i)) }

// reversed writes wires from their other end. Cables and paths through a part
// with direction stay.
func reversed(tb testing.TB, t *tree) (telling, map[string]string) {
	way := directed(t)
	turned := map[string]string{} // stretch of the new → of the old
	for _, w := range t.items("wires") {
		if cable := field(w, "cable"); cable != nil && strings.Contains(cable.Value, "3 core") {
			continue
		}
		if from, to := field(w, "from"), field(w, "to"); from != nil {
			setField(w, "from", to)
			setField(w, "to", from)
		}
		path := field(w, "path")
		if path == nil || slices.ContainsFunc(path.Content[1:len(path.Content)-1], func(n *yaml.Node) bool { return way[stopID(n)] }) {
			continue
		}
		slices.Reverse(path.Content)
		for _, key := range []string{"lengths", "resistances", "terminals"} {
			if l := field(w, key); l != nil {
				slices.Reverse(l.Content)
			}
		}
		id, n := field(w, "id").Value, len(stretches(path.Content))
		for i := 0; i < n && n > 1; i++ {
			turned[id+letter(i)] = id + letter(n-1-i)
		}
	}
	return same(func(id string) string {
		if old, ok := turned[id]; ok {
			return old
		}
		return id
	}), nil
}

// singled writes each path of wires as so many wires, and describes the parts of
// the path among the others.
func singled(tb testing.TB, t *tree) (telling, map[string]string) {
	way := directed(t)
	section := t.section("wires")
	var out []*yaml.Node
	for _, w := range section.Content {
		path := field(w, "path")
		if path == nil || field(w, "cable") != nil || slices.ContainsFunc(path.Content, func(n *yaml.Node) bool { return way[stopID(n)] }) {
			out = append(out, w)
			continue
		}
		var stops []*yaml.Node
		for _, n := range path.Content {
			if n.Kind == yaml.MappingNode {
				setField(t.section("parts"), n.Content[0].Value, n.Content[1])
				n = scalar(n.Content[0].Value)
			}
			stops = append(stops, n)
		}
		lengths := field(w, "lengths")
		all := stretches(stops)
		for i, s := range all {
			one := clone(w)
			for _, key := range []string{"path", "lengths", "terminals", "title"} {
				dropField(one, key)
			}
			id := field(w, "id").Value
			if len(all) > 1 {
				id += letter(i)
			}
			setField(one, "id", scalar(id))
			setField(one, "from", s[0])
			setField(one, "to", s[1])
			if lengths != nil {
				setField(one, "length", lengths.Content[i])
			}
			out = append(out, one)
		}
	}
	section.Content = out
	return same(nil), nil
}

var amount = regexp.MustCompile(`^(-?[0-9.]+) (m|mm|L/min|bar|kW|kA|h|V|A|°C)$`)

// cut parts each single wire longer than half a metre at a covered stud, at two
// fifths of its length.
func cut(tb testing.TB, t *tree) (telling, map[string]string) {
	count := 0
	pieces := map[string]string{}
	for _, w := range t.items("wires") {
		from, to, length := field(w, "from"), field(w, "to"), field(w, "length")
		if from == nil || length == nil || field(w, "cable") != nil || field(w, "carries") != nil {
			continue
		}
		m := amount.FindStringSubmatch(length.Value)
		if m == nil || m[2] != "m" {
			continue
		}
		v, _ := strconv.ParseFloat(m[1], 64)
		if v < 0.5 {
			continue
		}
		count++
		id := fmt.Sprintf("stud%d", count)
		setField(t.section("parts"), id, value(tb, "{kind: stud, title: Joint, rating: 600 A, covered: yes, space: "+spaceOf(t, from)+"}"))
		dropField(w, "from")
		dropField(w, "to")
		dropField(w, "length")
		setField(w, "path", flowSeq(from, scalar(id), to))
		setField(w, "lengths", flowSeq(scalar(fmt.Sprintf("%g m", v*0.4)), scalar(fmt.Sprintf("%g m", v-v*0.4))))
		pieces[id] = ""
		old := field(w, "id").Value
		pieces[old+"a"], pieces[old+"b"] = old, old
	}
	return same(func(id string) string {
		if old, ok := pieces[id]; ok {
			return old
		}
		return id
	}), nil
}

// spaceOf is the space of the part that an end names.
func spaceOf(t *tree, end *yaml.Node) string {
	if s := field(t.part(stopID(end)), "space"); s != nil {
		return s.Value
	}
	return t.section("spaces").Content[0].Value
}

// swapped writes quantities in another unit of the same thing. All of these are
// exact in decimals.
func swapped(tb testing.TB, t *tree) (telling, map[string]string) {
	other := map[string]struct {
		unit string
		by   float64
	}{
		"m": {"mm", 1000}, "mm": {"m", 0.001}, "L/min": {"L/h", 60}, "bar": {"kPa", 100}, "kW": {"W", 1000}, "kA": {"A", 1000},
		"h": {"min", 60}, "V": {"mV", 1000}, "A": {"mA", 1000},
	}
	var walk func(n *yaml.Node)
	walk = func(n *yaml.Node) {
		if n.Kind != yaml.ScalarNode {
			for _, c := range n.Content {
				walk(c)
			}
			return
		}
		m := amount.FindStringSubmatch(n.Value)
		if m == nil {
			return
		}
		v, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			return
		}
		if m[2] == "°C" {
			n.Value = strconv.FormatFloat(v*9/5+32, 'f', -1, 64) + " F"
			return
		}
		u := other[m[2]]
		n.Value = strconv.FormatFloat(roundTo(v*u.by, 1e-9), 'f', -1, 64) + " " + u.unit
	}
	for _, s := range []string{"vessel", "spaces", "stock", "parts", "wires", "circuits", "hoses", "conditions", "readings", "looms"} {
		if n := t.section(s); n != nil {
			walk(n)
		}
	}
	return same(nil), nil
}

func roundTo(v, step float64) float64 {
	n := v / step
	if n < 0 {
		return float64(int64(n-0.5)) * step
	}
	f, _ := strconv.ParseFloat(strconv.FormatFloat(float64(int64(n+0.5))*step, 'g', 12, 64), 64)
	return f
}

// expanded writes out stock and defaults at each item and takes them away.
func expanded(tb testing.TB, t *tree) (telling, map[string]string) {
	stock, defaults := t.section("stock"), t.section("defaults")
	fill := func(to, from *yaml.Node) {
		if from == nil {
			return
		}
		for i := 0; i+1 < len(from.Content); i += 2 {
			if field(to, from.Content[i].Value) == nil {
				setField(to, from.Content[i].Value, clone(from.Content[i+1]))
			}
		}
	}
	for _, p := range t.parts() {
		kind := kindOf(t, p.attr)
		if p.key.Value != p.id || kind == "" && field(p.attr, "id") != nil {
			kind = "seacock"
		}
		if s := field(p.attr, "stock"); s != nil {
			dropField(p.attr, "stock")
			fill(p.attr, field(stock, s.Value))
		}
		if d := field(defaults, kind); d != nil {
			fill(p.attr, d)
		}
	}
	for _, s := range []string{"wires", "circuits", "hoses"} {
		for _, item := range t.items(s) {
			fill(item, field(defaults, s))
		}
	}
	dropField(t.root, "stock")
	dropField(t.root, "defaults")
	return same(nil), nil
}

// included moves the parts to a file of their own.
func included(tb testing.TB, t *tree) (telling, map[string]string) {
	parts := &tree{&yaml.Node{Kind: yaml.MappingNode, Content: []*yaml.Node{scalar("parts"), t.section("parts")}}}
	more := map[string]string{"parts.yaml": parts.text(tb)}
	dropField(t.root, "parts")
	setField(t.root, "include", flowSeq(scalar("parts.yaml")))
	return same(nil), more
}
