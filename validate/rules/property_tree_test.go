package rules_test

import (
	"errors"
	"io/fs"
	"os"
	"slices"
	"strings"
	"testing"

	"fitout/schema/boattest"
	"fitout/schema/diag"
	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/validate/rules"
	"fitout/validate/survey"

	"gopkg.in/yaml.v3"
)

// boats are the examples that these tests turn and bend.
var boats = []string{"dayboat", "cruiser", "yacht", "workboat", "tired"}

const examples = "../../examples/"

func exampleText(tb testing.TB, name string) string {
	tb.Helper()
	text, err := os.ReadFile(examples + name + ".yaml")
	if err != nil {
		tb.Fatal(err)
	}
	return string(text)
}

// tree is an installation file as a tree that a test changes. It knows nothing
// of what the file means beyond the shape of its sections.
type tree struct{ root *yaml.Node }

func parseTree(tb testing.TB, text string) *tree {
	tb.Helper()
	var doc yaml.Node
	if err := yaml.Unmarshal([]byte(text), &doc); err != nil {
		tb.Fatal(err)
	}
	return &tree{doc.Content[0]}
}

func (t *tree) text(tb testing.TB) string {
	tb.Helper()
	out, err := yaml.Marshal(t.root)
	if err != nil {
		tb.Fatal(err)
	}
	return string(out)
}

// field returns the value of a key of a mapping, nil where it has none.
func field(m *yaml.Node, key string) *yaml.Node {
	if m == nil || m.Kind != yaml.MappingNode {
		return nil
	}
	for i := 0; i+1 < len(m.Content); i += 2 {
		if m.Content[i].Value == key {
			return m.Content[i+1]
		}
	}
	return nil
}

func setField(m *yaml.Node, key string, v *yaml.Node) {
	for i := 0; i+1 < len(m.Content); i += 2 {
		if m.Content[i].Value == key {
			m.Content[i+1] = v
			return
		}
	}
	m.Content = append(m.Content, scalar(key), v)
}

func dropField(m *yaml.Node, key string) {
	for i := 0; i+1 < len(m.Content); i += 2 {
		if m.Content[i].Value == key {
			m.Content = slices.Delete(m.Content, i, i+2)
			return
		}
	}
}

func scalar(v string) *yaml.Node {
	return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: v}
}

func flowSeq(items ...*yaml.Node) *yaml.Node {
	return &yaml.Node{Kind: yaml.SequenceNode, Style: yaml.FlowStyle, Content: items}
}

func flowMap(pairs ...*yaml.Node) *yaml.Node {
	return &yaml.Node{Kind: yaml.MappingNode, Style: yaml.FlowStyle, Content: pairs}
}

// value parses a small piece of YAML.
func value(tb testing.TB, text string) *yaml.Node {
	tb.Helper()
	var doc yaml.Node
	if err := yaml.Unmarshal([]byte(text), &doc); err != nil {
		tb.Fatalf("%s: %v", text, err)
	}
	if len(doc.Content) == 0 {
		return scalar("")
	}
	return doc.Content[0]
}

func clone(n *yaml.Node) *yaml.Node {
	if n == nil {
		return nil
	}
	c := *n
	c.Content = nil
	for _, child := range n.Content {
		c.Content = append(c.Content, clone(child))
	}
	return &c
}

// section returns a section's node, nil where the file has none.
func (t *tree) section(name string) *yaml.Node { return field(t.root, name) }

// items lists the items of a list section: wires, circuits, hoses.
func (t *tree) items(name string) []*yaml.Node {
	if s := t.section(name); s != nil {
		return s.Content
	}
	return nil
}

// placed is a part where it is described: in parts, in place on a line, or as the
// seacock of a through-hull.
type placed struct {
	id   string
	attr *yaml.Node // its mapping of attributes
	key  *yaml.Node // the node that holds its id
}

// parts lists every part that the file describes.
func (t *tree) parts() []placed {
	var out []placed
	add := func(id, attr *yaml.Node) {
		if attr.Kind != yaml.MappingNode {
			return
		}
		out = append(out, placed{id.Value, attr, id})
		if cock := field(attr, "seacock"); cock != nil && cock.Kind == yaml.MappingNode {
			out = append(out, placed{field(cock, "id").Value, cock, field(cock, "id")})
		}
	}
	if p := t.section("parts"); p != nil {
		for i := 0; i+1 < len(p.Content); i += 2 {
			add(p.Content[i], p.Content[i+1])
		}
	}
	for _, s := range []string{"wires", "circuits", "hoses"} {
		for _, item := range t.items(s) {
			for _, key := range []string{"path", "via", "load"} {
				for _, m := range inPlace(field(item, key)) {
					add(m.Content[0], m.Content[1])
				}
			}
		}
	}
	return out
}

// inPlace lists the one-pair mappings of a path that describe a part.
func inPlace(n *yaml.Node) []*yaml.Node {
	switch {
	case n == nil:
		return nil
	case n.Kind == yaml.MappingNode && len(n.Content) == 2:
		return []*yaml.Node{n}
	case n.Kind != yaml.SequenceNode:
		return nil
	}
	var out []*yaml.Node
	for _, c := range n.Content {
		out = append(out, inPlace(c)...)
	}
	return out
}

// part returns a part's attributes, wherever it is described.
func (t *tree) part(id string) *yaml.Node {
	for _, p := range t.parts() {
		if p.id == id {
			return p.attr
		}
	}
	return nil
}

// item returns a wire, circuit or hose by its id.
func (t *tree) item(id string) *yaml.Node {
	for _, s := range []string{"wires", "circuits", "hoses"} {
		for _, item := range t.items(s) {
			if f := field(item, "id"); f != nil && f.Value == id {
				return item
			}
		}
	}
	return nil
}

// readBoat reads text, with files that it may include.
func readBoat(text string, more map[string]string) (*survey.Survey, string) {
	open := func(name string) ([]byte, error) {
		if name == "boat.yaml" {
			return []byte(text), nil
		}
		if t, ok := more[name]; ok {
			return []byte(t), nil
		}
		return nil, errors.Join(fs.ErrNotExist)
	}
	b, problems := read.Boat(open, "boat.yaml", kinds.All())
	if len(problems) > 0 {
		return nil, boattest.Problems(problems)
	}
	return survey.Of(b), ""
}

// judge reads and judges text; names keeps the rules to these.
func judge(tb testing.TB, text string, names ...string) rules.Result {
	tb.Helper()
	s, mistakes := readBoat(text, nil)
	if s == nil {
		tb.Fatalf("the changed boat cannot be read:\n%s", mistakes)
	}
	if len(names) > 0 {
		return rules.Judge(s, names...)
	}
	return rules.Check(s)
}

// keys writes findings as "rule severity ids", ids sorted and told by tell, which
// returns "" for an id that does not count.
func keys(list []diag.Finding, tell func(string) string) []string {
	var out []string
	for _, f := range list {
		var ids []string
		for _, id := range f.At {
			if tell != nil {
				id = tell(id)
			}
			if id != "" && !slices.Contains(ids, id) {
				ids = append(ids, id)
			}
		}
		slices.Sort(ids)
		out = append(out, f.Rule+" "+f.Severity.String()+" "+strings.Join(ids, ","))
	}
	slices.Sort(out)
	return out
}

// lost lists what is in a and not in b, as often as it is missing.
func lost(a, b []string) []string {
	b = slices.Clone(b)
	var out []string
	for _, x := range a {
		if i := slices.Index(b, x); i >= 0 {
			b = slices.Delete(b, i, i+1)
			continue
		}
		out = append(out, x)
	}
	return out
}
