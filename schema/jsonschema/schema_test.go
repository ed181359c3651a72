package jsonschema

import (
	"bytes"
	"encoding/json"
	"os"
	"strconv"
	"strings"
	"testing"

	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/schema/source"

	judge "github.com/santhosh-tekuri/jsonschema/v6"
)

func compiled(t *testing.T) *judge.Schema {
	t.Helper()
	text, err := Document(kinds.All())
	if err != nil {
		t.Fatal(err)
	}
	doc, err := judge.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	c := judge.NewCompiler()
	if err := c.AddResource(ID, doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile(ID) // holds the document against the 2020-12 meta-schema
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// value turns a node into what an editor's YAML reader hands to the schema: plain
// scalars by the YAML 1.2 core schema.
func valueOf(t *testing.T, n *read.Node) any {
	t.Helper()
	n = n.Resolve()
	switch n.Kind {
	case read.Map:
		m := map[string]any{}
		for i := 0; i+1 < len(n.Entries); i += 2 {
			m[n.Entries[i].Text] = valueOf(t, n.Entries[i+1])
		}
		return m
	case read.List:
		list := make([]any, len(n.Entries))
		for i, e := range n.Entries {
			list[i] = valueOf(t, e)
		}
		return list
	}
	if n.Null {
		return nil
	}
	if n.Style == read.Plain {
		switch n.Text {
		case "true", "false":
			return n.Text == "true"
		}
		if _, err := strconv.ParseFloat(n.Text, 64); err == nil {
			return json.Number(n.Text)
		}
	}
	return n.Text
}

func parse(t *testing.T, name, text string) any {
	t.Helper()
	root, problems := read.Tree(source.New(name, text))
	if len(problems) > 0 {
		t.Fatal(problems[0].Message)
	}
	return valueOf(t, root)
}

// The examples of the file's description pass.
func TestExamplesOfTheLanguage(t *testing.T) {
	text, err := os.ReadFile("testdata/language.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if err := compiled(t).Validate(parse(t, "language.yaml", string(text))); err != nil {
		t.Errorf("%#v", err)
	}
}

// Every kind's own example passes as a part.
func TestExamplesOfTheKinds(t *testing.T) {
	s := compiled(t)
	for _, k := range kinds.All().All() {
		text := "fitout: 1\nparts:\n  X1: " + k.Example + "\n"
		if err := s.Validate(parse(t, k.Name, text)); err != nil {
			t.Errorf("%s: %v", k.Name, err)
		}
	}
}

// What the description calls a mistake fails, where one value shows it.
func TestMistakes(t *testing.T) {
	s := compiled(t)
	for _, c := range []struct{ what, text string }{
		{"unknown top-level key", "fitout: 1\nwire: []\n"},
		{"no version", "parts: {}\n"},
		{"unknown kind", "fitout: 1\nparts: {B1: {kind: batery}}\n"},
		{"no kind", "fitout: 1\nparts: {B1: {volts: 12 V}}\n"},
		{"unknown attribute", "fitout: 1\nparts: {B1: {kind: battery, capcity: 230 Ah}}\n"},
		{"attribute of another kind", "fitout: 1\nparts: {F1: {kind: fuse, chemistry: lfp}}\n"},
		{"unknown word", "fitout: 1\nparts: {B1: {kind: battery, chemistry: lead}}\n"},
		{"bare number where a unit is needed", "fitout: 1\nparts: {F1: {kind: fuse, rating: 60}}\n"},
		{"unit of another dimension", "fitout: 1\nparts: {F1: {kind: fuse, rating: 60 V}}\n"},
		{"bare 0 that is no length", "fitout: 1\nparts: {F1: {kind: fuse, rating: 0}}\n"},
		{"unknown key of a wire", "fitout: 1\nwires: [{id: 1, frm: B1.+, to: F1}]\n"},
		{"unknown key of a way", "fitout: 1\nparts: {DP: {kind: panel, ways: {1: {ratng: 10 A}}}}\n"},
		{"unknown hull", "fitout: 1\nvessel: {hull: barge}\n"},
		{"id with a dot", "fitout: 1\nparts: {B.1: {kind: battery}}\n"},
		{"default of an unknown kind", "fitout: 1\ndefaults: {seacok: {material: bronze}}\n"},
		{"speed in a power curve", "fitout: 1\nparts: {P1: {kind: pump, curve: {3 m head: 10 L/min}}}\n"},
		{"unknown attribute in a circuit's load", "fitout: 1\ncircuits: [{id: C1, load: {L1: {kind: light, drw: 1 A}}}]\n"},
	} {
		if s.Validate(parse(t, c.what, c.text)) == nil {
			t.Errorf("passes: %s\n%s", c.what, c.text)
		}
	}
}

// Both spellings of the trade pass, and quantities in either system.
func TestSpellings(t *testing.T) {
	s := compiled(t)
	for _, part := range []string{
		"{kind: skin-fitting, size: 1-1/2 in}", "{kind: breather, height: 3 ft}", "{kind: earth}",
		"{kind: pump, flow: 180 gph, draw: 1/2 hp}", "{kind: tank, capacity: 30 imp gal, level: full}",
		"{kind: load, draw: 90 W, duty: continuous}", "{kind: seacock, material: aluminum}",
		"{kind: strainer, loss: 0 m head, height: -1 ft 6 in (-0.46 m)}", "{kind: alarm, senses: [water, smoke], watches: [bilge]}",
	} {
		if err := s.Validate(parse(t, part, "fitout: 1\nparts: {X1: "+part+"}\n")); err != nil {
			t.Errorf("%s: %v", part, err)
		}
	}
}

// The same tables give the same bytes.
func TestSameBytes(t *testing.T) {
	a, _ := Document(kinds.All())
	b, _ := Document(kinds.All())
	if !bytes.Equal(a, b) {
		t.Error("two runs differ")
	}
	if !strings.HasSuffix(string(a), "}\n") {
		t.Error("no line end")
	}
	t.Logf("%d bytes", len(a))
}
