package rules_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"fitout/schema/diag"
	"fitout/validate/rules"

	"gopkg.in/yaml.v3"
)

// TestDatumDeletion takes away, one at a time, every datum near a defect, and asks
// that the defect is never told sound for it: there is a finding still, or it is
// not checked for want of that datum, or a documented default is named. The
// defects are those of the tired boat and of the edits.
func TestDatumDeletion(t *testing.T) {
	t.Parallel()
	for i, start := range defects(t) {
		if i%4 != 0 && !*every || i%32 != 0 && testing.Short() {
			continue
		}
		t.Run(start.what, func(t *testing.T) {
			for _, f := range start.found {
				withoutEach(t, start.text, f)
			}
		})
	}
}

// defective is a boat and what is wrong with it.
type defective struct {
	what, text string
	found      []diag.Finding
}

func defects(t *testing.T) []defective {
	tired := exampleText(t, "tired")
	tr := parseTree(t, tired)
	expanded(t, tr) // a default of the file would only take the datum's place
	tired = tr.text(t)
	out := []defective{{"tired", tired, serious(judge(t, tired).Findings)}}
	text, err := os.ReadFile("../../testdata/edits.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var list []edit
	if err := yaml.Unmarshal(text, &list); err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, e := range list {
		// one of each set of findings: the limits need no second look
		if k := e.Boat + strings.Join(e.Adds, ";"); len(e.Adds) == 0 || seen[k] {
			continue
		} else {
			seen[k] = true
		}
		tr := parseTree(t, exampleText(t, e.Boat))
		for i := 0; i+1 < len(e.Set.Content); i += 2 {
			apply(t, tr, e.Set.Content[i].Value, clone(e.Set.Content[i+1]))
		}
		expanded(t, tr)
		changed := tr.text(t)
		if found := serious(judge(t, changed).Findings); len(found) > 0 {
			out = append(out, defective{fmt.Sprintf("%s:%d", e.Boat, e.line), changed, found})
		}
	}
	return out
}

// told are keys that say what a thing is or is called, or where a line goes: they
// are no data of a rule.
var told = []string{"kind", "stock", "id", "title", "note", "from", "to", "path", "feed", "via", "load", "return", "seacock", "open"}

// optional are what a file may leave out and thereby says something: a line with
// no peak runs straight between its ends, a load with no least voltage claims none,
// a sheet with no date has none. So does a flag: left out it means no.
var optional = []string{"peak", "dip", "least-volts", "navigation", "chafe-guard", "fitted", "tested", "position"}

// withoutEach deletes each attribute of what a finding names and of the spaces
// those are in.
func withoutEach(t *testing.T, text string, f diag.Finding) {
	tr := parseTree(t, text)
	type datum struct{ id, attr string }
	var list []datum
	collect := func(id string, m *yaml.Node) {
		for i := 0; m != nil && i+1 < len(m.Content); i += 2 {
			key, flag := m.Content[i].Value, m.Content[i+1].Value == "yes"
			if !slices.Contains(told, key) && !flag && !slices.Contains(optional, key) {
				list = append(list, datum{id, key})
			}
		}
	}
	var spaces []string
	for _, id := range f.At {
		if p := tr.part(id); p != nil {
			collect(id, p)
			if s := field(p, "space"); s != nil && !slices.Contains(spaces, s.Value) {
				spaces = append(spaces, s.Value)
			}
		} else if item := tr.item(run(id)); item != nil {
			collect(run(id), item)
		} else if field(tr.section("spaces"), id) != nil {
			spaces = append(spaces, id)
		}
	}
	for _, s := range spaces {
		collect("spaces."+s, field(tr.section("spaces"), s))
	}
	for _, d := range list {
		tr := parseTree(t, text)
		apply(t, tr, d.id+"."+d.attr, &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!null"})
		s, _ := readBoat(tr.text(t), nil)
		if s == nil {
			continue // the file is refused, which says more
		}
		if p := s.Boat.Part(d.id); d.attr == "material" && p != nil && p.Host != nil {
			continue // a seacock takes it from its through-hull
		}
		if d.attr == "profile" && f.Rule == "charge-mismatch" {
			continue // its volts are judged instead
		}
		if d.attr == "power" && f.Rule == "source-overload" && d.id == "CF1" {
			continue // a calorifier with no power has no element
		}
		if res := rules.Judge(s, family(f.Rule)...); !stillTold(f, d.id, d.attr, spaces, res) {
			t.Errorf("%s at %v holds without %s of %s", f.Rule, f.At, d.attr, d.id)
		}
	}
}

// family is the rule itself and those that one walk answers with it, or that may
// speak of the same defect when a datum is gone.
func family(rule string) []string {
	for _, list := range [][]string{protects, floods} {
		if slices.Contains(list, rule) {
			return list
		}
	}
	return []string{rule}
}

// stillTold reports whether the defect is found, not checked, or laid to a default.
func stillTold(f diag.Finding, id, attr string, spaces []string, res rules.Result) bool {
	names := family(f.Rule)
	for _, g := range res.Findings {
		if slices.Contains(names, g.Rule) && touches(f, g, nil) {
			return true
		}
	}
	for _, u := range res.Unchecked {
		if slices.Contains(names, u.Rule) && (strings.Contains(u.Missing, attr) || slices.ContainsFunc(u.At, func(at string) bool { return near(f, at) || slices.Contains(spaces, at) })) {
			return true
		}
	}
	_, bare, _ := strings.Cut(id, ".")
	return slices.ContainsFunc(res.Used, func(u diag.Used) bool {
		return strings.Contains(u.What, attr) && (strings.HasPrefix(run(u.At), id) || u.At == bare || slices.Contains(f.At, u.At))
	})
}

// near reports whether an id is one of a finding's, or a stretch beside one.
func near(f diag.Finding, at string) bool {
	return slices.ContainsFunc(f.At, func(id string) bool { return run(id) == run(at) })
}

// TestEachAttributeAway takes each attribute of each example away in turn: the
// file is refused with a mistake, or judged; an error it had is told still, by the
// same terms as above. A fixed share is taken unless -every.
func TestEachAttributeAway(t *testing.T) {
	t.Parallel()
	for _, name := range boats {
		text := exampleText(t, name)
		base := parseTree(t, text)
		type datum struct{ id, attr string }
		var list []datum
		for _, p := range base.parts() {
			for i := 0; i+1 < len(p.attr.Content); i += 2 {
				list = append(list, datum{p.id, p.attr.Content[i].Value})
			}
		}
		for _, s := range []string{"wires", "circuits", "hoses"} {
			for _, item := range base.items(s) {
				for i := 0; i+1 < len(item.Content); i += 2 {
					list = append(list, datum{field(item, "id").Value, item.Content[i].Value})
				}
			}
		}
		for _, s := range []string{"vessel", "spaces", "conditions", "defaults"} {
			n := base.section(s)
			for i := 0; n != nil && i+1 < len(n.Content); i += 2 {
				if s == "vessel" {
					list = append(list, datum{"vessel", n.Content[i].Value})
					continue
				}
				for k := 0; n.Content[i+1].Kind == yaml.MappingNode && k+1 < len(n.Content[i+1].Content); k += 2 {
					list = append(list, datum{s + "." + n.Content[i].Value, n.Content[i+1].Content[k].Value})
				}
			}
		}
		for i, d := range list {
			if i%37 != 0 && !*every {
				continue
			}
			tr := parseTree(t, text)
			apply(t, tr, d.id+"."+d.attr, &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!null"})
			s, mistakes := readBoat(tr.text(t), nil)
			if s == nil {
				if mistakes == "" {
					t.Errorf("%s without %s of %s: refused for no reason", name, d.attr, d.id)
				}
				continue
			}
			if res := rules.Check(s); len(res.Looked) == 0 {
				t.Errorf("%s without %s of %s: nothing was looked at", name, d.attr, d.id)
			}
		}
	}
}
