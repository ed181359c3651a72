package edit_test

import (
	"fmt"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/edit"
	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/schema/source"
)

func mustRead(t testing.TB, text string) *schema.Boat {
	t.Helper()
	b, problems := read.Text("boat.yaml", text, kinds.All())
	for _, p := range problems {
		line, column := p.Span.Position()
		t.Errorf("%d:%d: %s", line, column, p.Message)
	}
	if len(problems) > 0 {
		t.Fatalf("in\n%s", text)
	}
	return b
}

// styles are ways to write one part; in each the rating is changed and a title
// added, and all other bytes must stay.
var styles = []struct{ name, text, rating, title string }{
	{"flow", "parts:\n  F1: {kind: fuse, rating: 60 A}   # main\n  F2: {kind: fuse}\n",
		"parts:\n  F1: {kind: fuse, rating: 80 A}   # main\n  F2: {kind: fuse}\n",
		"parts:\n  F1: {kind: fuse, rating: 60 A, title: Main fuse}   # main\n  F2: {kind: fuse}\n"},
	{"flow with blanks", "parts: { F1: { kind: fuse , rating: 60 A } }\n",
		"parts: { F1: { kind: fuse , rating: 80 A } }\n",
		"parts: { F1: { kind: fuse , rating: 60 A, title: Main fuse } }\n"},
	{"flow over lines", "parts:\n  F1: {kind: fuse,\n       rating: 60 A}\n",
		"parts:\n  F1: {kind: fuse,\n       rating: 80 A}\n",
		"parts:\n  F1: {kind: fuse,\n       rating: 60 A, title: Main fuse}\n"},
	{"flow, a pair a line", "parts:\n  F1: {\n    kind: fuse,   # kind\n    rating: 60 A  # rating\n  }\n",
		"parts:\n  F1: {\n    kind: fuse,   # kind\n    rating: 80 A  # rating\n  }\n",
		"parts:\n  F1: {\n    kind: fuse,   # kind\n    rating: 60 A,  # rating\n    title: Main fuse\n  }\n"},
	{"flow, last comma", "parts:\n  F1: {\n    kind: fuse,\n    rating: 60 A,\n  }\n",
		"parts:\n  F1: {\n    kind: fuse,\n    rating: 80 A,\n  }\n",
		"parts:\n  F1: {\n    kind: fuse,\n    rating: 60 A,\n    title: Main fuse,\n  }\n"},
	{"block", "parts:\n  F1:\n    kind: fuse\n    rating: 60 A  # main\n\n  F2:\n    kind: fuse\n",
		"parts:\n  F1:\n    kind: fuse\n    rating: 80 A  # main\n\n  F2:\n    kind: fuse\n",
		"parts:\n  F1:\n    kind: fuse\n    rating: 60 A  # main\n    title: Main fuse\n\n  F2:\n    kind: fuse\n"},
	{"block, no last newline", "parts:\n  F1:\n    kind: fuse\n    rating: 60 A",
		"parts:\n  F1:\n    kind: fuse\n    rating: 80 A",
		"parts:\n  F1:\n    kind: fuse\n    rating: 60 A\n    title: Main fuse"},
	{"CRLF", "parts:\r\n  F1:\r\n    kind: fuse\r\n    rating: 60 A\r\n# end\r\n",
		"parts:\r\n  F1:\r\n    kind: fuse\r\n    rating: 80 A\r\n# end\r\n",
		"parts:\r\n  F1:\r\n    kind: fuse\r\n    rating: 60 A\r\n    title: Main fuse\r\n# end\r\n"},
	{"block scalar last", "parts:\n  F1:\n    kind: fuse\n    rating: 60 A\n    note: |\n      two\n      lines\n  F2: {kind: fuse}\n",
		"parts:\n  F1:\n    kind: fuse\n    rating: 80 A\n    note: |\n      two\n      lines\n  F2: {kind: fuse}\n",
		"parts:\n  F1:\n    kind: fuse\n    rating: 60 A\n    note: |\n      two\n      lines\n    title: Main fuse\n  F2: {kind: fuse}\n"},
	{"quoted, non-ASCII", "parts:\n  F1: {kind: fuse, note: \"Größe µΩ 電\", rating: \"60 A\"}\n",
		"parts:\n  F1: {kind: fuse, note: \"Größe µΩ 電\", rating: \"80 A\"}\n",
		"parts:\n  F1: {kind: fuse, note: \"Größe µΩ 電\", rating: \"60 A\", title: Main fuse}\n"},
	{"anchor", "parts:\n  F1: &f {kind: fuse, rating: &r 60 A}\n",
		"parts:\n  F1: &f {kind: fuse, rating: &r 80 A}\n",
		"parts:\n  F1: &f {kind: fuse, rating: &r 60 A, title: Main fuse}\n"},
	{"alias for a value", "stock: {s: {kind: fuse, rating: &r 60 A}}\nparts:\n  F1: {kind: fuse, rating: *r}\n",
		"stock: {s: {kind: fuse, rating: &r 60 A}}\nparts:\n  F1: {kind: fuse, rating: 80 A}\n",
		"stock: {s: {kind: fuse, rating: &r 60 A}}\nparts:\n  F1: {kind: fuse, rating: *r, title: Main fuse}\n"},
	{"merge key", "stock: {s: &s {kind: fuse, rating: 60 A}}\nparts:\n  F1: {<<: *s}\n",
		"stock: {s: &s {kind: fuse, rating: 60 A}}\nparts:\n  F1: {<<: *s, rating: 80 A}\n",
		"stock: {s: &s {kind: fuse, rating: 60 A}}\nparts:\n  F1: {<<: *s, title: Main fuse}\n"},
	{"stock", "stock: {s: {kind: fuse, rating: 60 A}}\nparts:\n  F1: {stock: s}\n",
		"stock: {s: {kind: fuse, rating: 60 A}}\nparts:\n  F1: {stock: s, rating: 80 A}\n",
		"stock: {s: {kind: fuse, rating: 60 A}}\nparts:\n  F1: {stock: s, title: Main fuse}\n"},
	{"byte order mark", "\uFEFFparts:\n  F1: {kind: fuse, rating: 60 A}\n",
		"\uFEFFparts:\n  F1: {kind: fuse, rating: 80 A}\n",
		"\uFEFFparts:\n  F1: {kind: fuse, rating: 60 A, title: Main fuse}\n"},
	{"in place", "parts: {B1: {kind: battery}, BP: {kind: bus}}\nwires:\n  - {id: 1, path: [B1.+, {F1: class-t 60 A}, BP]}  # x\n",
		"parts: {B1: {kind: battery}, BP: {kind: bus}}\nwires:\n  - {id: 1, path: [B1.+, {F1: class-t 80 A}, BP]}  # x\n",
		"parts: {B1: {kind: battery}, BP: {kind: bus}}\nwires:\n  - {id: 1, path: [B1.+, {F1: {kind: fuse, family: class-t, rating: 60 A, title: Main fuse}}, BP]}  # x\n"},
}

func TestPart(t *testing.T) {
	for _, c := range styles {
		b := mustRead(t, c.text)
		for _, set := range []struct{ key, value, want string }{{"rating", "80 A", c.rating}, {"title", "Main fuse", c.title}} {
			edits, err := edit.On(b).Part("F1", set.key, set.value)
			if err != nil {
				t.Errorf("%s: %v", c.name, err)
				continue
			}
			got, err := edit.Apply(b.Files[0], edits)
			if err != nil || got != set.want {
				t.Errorf("%s: %v\n%q\nwant\n%q", c.name, err, got, set.want)
				continue
			}
			after := mustRead(t, got)
			if v := after.Part("F1").Get(set.key); v == nil || v.Text != set.value {
				t.Errorf("%s: %s is not %s", c.name, set.key, set.value)
			}
		}
	}
}

// TestValues: texts that YAML would read as something else are quoted.
func TestValues(t *testing.T) {
	for _, text := range []string{"a, b", "a: b", "a #b", "{x}", "[x]", "'x'", `"x"`, "it's", "*x", "&x", "- x", "?", "null", "~", "", " x ", "x: ", "@x", "%x", "!x", "|", ">", "é", "a\nb", "<<", "yes", "010"} {
		for _, file := range []string{"parts:\n  F1: {kind: fuse}\n", "parts:\n  F1:\n    kind: fuse\n"} {
			b := mustRead(t, file)
			edits, err := edit.On(b).Part("F1", "title", text)
			if err != nil {
				t.Fatal(err)
			}
			got, err := edit.Apply(b.Files[0], edits)
			if err != nil {
				t.Fatal(err)
			}
			after := mustRead(t, got)
			if v := after.Part("F1").Word("title"); v.V != text {
				t.Errorf("%q became %q in %q", text, v.V, got)
			}
		}
	}
}

const lines = `parts:
  B1: {kind: battery}
  F1: {kind: fuse}
  F2: {kind: fuse}
  BP: {kind: bus}
  BN: {kind: bus}
  L1: {kind: light}
  L2: {kind: light}
  DP: {kind: panel}
  DQ: {kind: panel, ways: {1: {title: x}, 2: {rating: 5 A}}}
  TH1: {kind: through-hull, seacock: SC1}
  TH2: {kind: through-hull, seacock: {id: SC2, type: cone}}
wires:
  - {id: 1, path: [B1.+, F1, BP], size: auto, length: 2 m}   # main
  - {id: 2, path: [BN, F2, DP.in], sizes: [auto, 6 mm2]}
  - id: 3   # three
    from: B1.-
    to: BN
circuits:
  - {id: C1, feed: DP.1, load: L1, return: BN, size: auto}
  - {id: C2, feed: DQ.1, load: L2, return: BN}
`

func TestLines(t *testing.T) {
	for _, c := range []struct {
		name     string
		edits    func(e *edit.Editor) ([]diag.Edit, error)
		old, new string
	}{
		{"one size for all stretches", func(e *edit.Editor) ([]diag.Edit, error) {
			return e.Stretches("1", "size", []string{"16 mm2", "16 mm2"})
		}, "size: auto, length: 2 m", "size: 16 mm2, length: 2 m"},
		{"a size for each stretch", func(e *edit.Editor) ([]diag.Edit, error) {
			return e.Stretches("1", "size", []string{"16 mm2", "4 AWG"})
		}, "size: auto, length: 2 m", "sizes: [16 mm2, 4 AWG], length: 2 m"},
		{"lengths from a total", func(e *edit.Editor) ([]diag.Edit, error) {
			return e.Stretches("1", "length", []string{"0.5 m", "1.5 m"})
		}, "size: auto, length: 2 m", "size: auto, lengths: [0.5 m, 1.5 m]"},
		{"one of a list", func(e *edit.Editor) ([]diag.Edit, error) {
			return e.Stretches("2", "size", []string{"10 mm2", ""})
		}, "sizes: [auto, 6 mm2]", "sizes: [10 mm2, 6 mm2]"},
		{"a key that is not there", func(e *edit.Editor) ([]diag.Edit, error) {
			return e.Line("3", "color", "black")
		}, "    to: BN\n", "    to: BN\n    color: black\n"},
		{"a circuit", func(e *edit.Editor) ([]diag.Edit, error) {
			return e.Line("C1", "size", "2.5 mm2")
		}, "return: BN, size: auto", "return: BN, size: 2.5 mm2"},
		{"a way", func(e *edit.Editor) ([]diag.Edit, error) {
			return e.Way("DQ", "1", "rating", "10 A")
		}, "{title: x}", "{title: x, rating: 10 A}"},
		{"a way that has a rating", func(e *edit.Editor) ([]diag.Edit, error) {
			return e.Way("DQ", "2", "rating", "10 A")
		}, "{rating: 5 A}", "{rating: 10 A}"},
		{"a way that is not listed", func(e *edit.Editor) ([]diag.Edit, error) {
			return e.Way("DP", "1", "rating", "10 A")
		}, "return: BN, size: auto", "return: BN, size: auto, rating: 10 A"},
		{"a seacock by its id", func(e *edit.Editor) ([]diag.Edit, error) {
			return e.Part("SC1", "type", "cone")
		}, "seacock: SC1", "seacock: {id: SC1, type: cone}"},
		{"a seacock described", func(e *edit.Editor) ([]diag.Edit, error) {
			return e.Part("SC2", "type", "flanged-ball")
		}, "type: cone", "type: flanged-ball"},
		{"a host", func(e *edit.Editor) ([]diag.Edit, error) {
			return e.Part("TH2", "height", "-0.5 m")
		}, "type: cone}}", "type: cone}, height: -0.5 m}"},
	} {
		b := mustRead(t, lines)
		edits, err := c.edits(edit.On(b))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		got, err := edit.Apply(b.Files[0], edits)
		if want := strings.Replace(lines, c.old, c.new, 1); err != nil || got != want {
			t.Errorf("%s: %v\n%s", c.name, err, got)
		}
		mustRead(t, got)
	}
}

func TestRefused(t *testing.T) {
	text := "stock: {s: &s {kind: fuse}}\nparts:\n  F1: *s\n  F2: {kind: fuse}\n"
	b := mustRead(t, text)
	for _, c := range []struct{ id, key string }{{"F1", "rating"}, {"F3", "rating"}, {"F2", "colour"}} {
		if _, err := edit.On(b).Part(c.id, c.key, "1 A"); err == nil {
			t.Errorf("%s %s is changed", c.id, c.key)
		}
	}
	f := source.New("x", "abcdef")
	span := func(a, b int) source.Span { return source.Span{File: f, Start: a, End: b} }
	if _, err := edit.Apply(f, []diag.Edit{{Span: span(0, 3), New: "x"}, {Span: span(2, 4), New: "y"}}); err == nil {
		t.Error("edits that overlap are made")
	}
	if _, err := edit.Apply(f, []diag.Edit{{Span: span(3, 9)}}); err == nil {
		t.Error("an edit past the end is made")
	}
	got, err := edit.Apply(f, []diag.Edit{{Span: span(4, 5), New: "2"}, {Span: span(1, 1), New: "1"}, {Span: span(4, 5), New: "2"}})
	if err != nil || got != "a1bcd2f" {
		t.Error(got, err)
	}
}

// FuzzPart: whatever the text around, setting a title changes the model by that
// title alone, and the bytes before and after the change stay.
func FuzzPart(f *testing.F) {
	for _, c := range styles {
		f.Add(c.text, "Main fuse")
		f.Add(c.text, "a: b, #c")
	}
	f.Add(lines, "x")
	catalogue := kinds.All()
	f.Fuzz(func(t *testing.T, text, title string) {
		if strings.ContainsFunc(title, func(r rune) bool { return r < ' ' || r > '~' }) {
			return // what may stand in a file is the reader's business
		}
		b, problems := read.Text("boat.yaml", text, catalogue)
		if len(problems) > 0 || b.Part("F1") == nil || strings.Contains(text, "&") {
			return
		}
		edits, err := edit.On(b).Part("F1", "title", title)
		if err != nil {
			return
		}
		got, err := edit.Apply(b.Files[0], edits)
		if err != nil {
			t.Fatal(err)
		}
		after, problems := read.Text("boat.yaml", got, catalogue)
		if len(problems) > 0 {
			t.Fatalf("%s\n%q\n%q", problems[0].Message, text, got)
		}
		if v := after.Part("F1").Word("title"); v.V != title {
			t.Errorf("title %q is %q in %q", title, v.V, got)
		}
		was, is := edit.Dump(b), edit.Dump(after)
		if len(was) != len(is) {
			t.Fatalf("%d lines became %d:\n%q\n%q", len(was), len(is), text, got)
		}
		for i := range was {
			if was[i] != is[i] && !strings.HasPrefix(was[i], "part ID: F1 ") && !strings.HasPrefix(was[i], "circuit") {
				t.Errorf("%q became %q in\n%q", was[i], is[i], got)
			}
		}
	})
}

var tidied = []struct{ name, text, want string }{
	{"units", "parts:\n  F1: {kind: fuse, rating: 60a}   # 12v\n  B1: {kind: battery, volts: 12v, capacity: 100ah, height: 1ft6in, note: 12v}\n",
		"parts:\n  F1: {kind: fuse, rating: 60 A}   # 12v\n  B1: {kind: battery, volts: 12 V, capacity: 100 Ah, height: 1 ft 6 in, note: 12v}\n"},
	{"figures stay", "parts:\n  B1: {kind: battery, volts: 12.80 V, height: -1-1/2in, capacity: 3.6kWh}\nvessel: {length: 14ft, beam: 10'6\"}\n",
		"vessel: {length: 14 ft, beam: 10 ft 6 in}\nparts:\n  B1: {kind: battery, volts: 12.80 V, height: -1-1/2 in, capacity: 3.6 kWh}\n"},
	{"spelling", "parts:\n  T: {kind: skin-fitting, material: aluminum}\n  B1: {kind: battery}\n  BP: {kind: bus}\nwires:\n  - {id: 1, from: B1.+, to: BP, colour: red, size: 10awg}\n",
		"parts:\n  T: {kind: through-hull, material: aluminium}\n  B1: {kind: battery}\n  BP: {kind: bus}\nwires:\n  - {id: 1, from: B1.+, to: BP, color: red, size: 10 AWG}\n"},
	{"commas and line ends", "parts: {B1: {kind: battery ,volts: 12 V,  capacity: 90 Ah}}  \n  \n# x \nbanks: {h: [B1]}\t\n",
		"parts: {B1: {kind: battery, volts: 12 V,  capacity: 90 Ah}}\n\n# x\nbanks: {h: [B1]}\n"},
	{"sections with their comments", "# Heron\n\n# the wires\n# all of them\nwires: []\n\n# parts\nparts: {}   # p\n\nfitout: 1\n",
		"# Heron\n\nfitout: 1\n# parts\nparts: {}   # p\n\n# the wires\n# all of them\nwires: []\n\n"},
	{"an alias keeps its anchor before it", "parts: {B1: &b {kind: battery}}\nstock: {s: *b}\n", "parts: {B1: &b {kind: battery}}\nstock: {s: *b}\n"},
	{"text stays", "parts:\n  B1:\n    kind: battery\n    note: |\n      a ,b  \n      12v\n    title: 'x  '\n", "parts:\n  B1:\n    kind: battery\n    note: |\n      a ,b  \n      12v\n    title: 'x  '\n"},
	{"CRLF", "parts: {B1: {kind: battery,volts: 12v}}\r\nfitout: 1\r\n", "fitout: 1\r\nparts: {B1: {kind: battery, volts: 12 V}}\r\n"},
	{"in place and curves", "parts: {B1: {kind: battery}, BP: {kind: bus}, P: {kind: pump, curve: {0lpm: 3m head,10 L/min: 1 psi}}}\nwires: [{id: 1, path: [B1.+, {F: {kind: fuse, rating: 5a}}, BP], lengths: [1m, 2ft]}]\n",
		"parts: {B1: {kind: battery}, BP: {kind: bus}, P: {kind: pump, curve: {0 L/min: 3 m head, 10 L/min: 1 psi}}}\nwires: [{id: 1, path: [B1.+, {F: {kind: fuse, rating: 5 A}}, BP], lengths: [1 m, 2 ft]}]\n"},
}

func tidy(text string, catalogue *schema.Catalogue) (string, error) {
	return edit.Tidy(func(name string) ([]byte, error) {
		if name != "boat.yaml" {
			return nil, fmt.Errorf("no %s", name)
		}
		return []byte(text), nil
	}, "boat.yaml", catalogue)
}

func TestTidy(t *testing.T) {
	for _, c := range tidied {
		got, err := tidy(c.text, kinds.All())
		if err != nil || got != c.want {
			t.Errorf("%s: %v\n%q\nwant\n%q", c.name, err, got, c.want)
			continue
		}
		if again, err := tidy(got, kinds.All()); err != nil || again != got {
			t.Errorf("%s: tidied twice: %v\n%q", c.name, err, again)
		}
	}
	if _, err := tidy("parts: {B1: {kind: batery}}\n", kinds.All()); err == nil || !strings.Contains(err.Error(), "boat.yaml:1:20: unknown kind") {
		t.Errorf("a file with a mistake is tidied: %v", err)
	}
}

func FuzzTidy(f *testing.F) {
	for _, c := range tidied {
		f.Add(c.text)
	}
	for _, c := range styles {
		f.Add(c.text)
	}
	f.Add(lines)
	catalogue := kinds.All()
	f.Fuzz(func(t *testing.T, text string) {
		once, err := tidy(text, catalogue)
		if err != nil {
			if strings.Contains(err.Error(), "tidy text") || strings.Contains(err.Error(), "two changes") {
				t.Errorf("%v:\n%q", err, text)
			}
			return
		}
		if twice, err := tidy(once, catalogue); err != nil || twice != once {
			t.Errorf("%v\n%q\n%q\n%q", err, text, once, twice)
		}
	})
}
