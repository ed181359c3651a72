package read

import (
	"fmt"
	"strings"
	"testing"

	"fitout/schema/source"
)

// checkSpans holds every node against the text it claims to stand in: brackets
// and quotes at both ends, plain words letter by letter, children in order and
// inside their parent.
func checkSpans(t *testing.T, n *Node) {
	t.Helper()
	text := n.File.Text
	if n.Start < 0 || n.Start > n.End || n.End > len(text) {
		t.Fatalf("span %d to %d of %d", n.Start, n.End, len(text))
	}
	stands := text[n.Start:n.End]
	bad := func(what string) { t.Errorf("%s: %q stands for %q in\n%s", what, stands, n.Text, text) }
	switch {
	case n.Kind == Alias:
		if !strings.HasPrefix(stands, "*") {
			bad("alias")
		}
	case n.Kind == Scalar && (n.Style == SingleQuoted || n.Style == DoubleQuoted):
		quote := "'"
		if n.Style == DoubleQuoted {
			quote = `"`
		}
		if len(stands) < 2 || !strings.HasPrefix(stands, quote) || !strings.HasSuffix(stands, quote) {
			bad("quoted")
		}
	case n.Kind == Scalar && (n.Style == Literal || n.Style == Folded):
		if !strings.HasPrefix(stands, "|") && !strings.HasPrefix(stands, ">") {
			bad("block")
		}
	case n.Kind == Scalar:
		if squeeze(stands) != squeeze(n.Text) {
			bad("plain")
		}
	case n.Kind == Map && n.Braced:
		if !strings.HasPrefix(stands, "{") || !strings.HasSuffix(stands, "}") {
			bad("flow mapping")
		}
	case n.Kind == List && n.Style == Flow:
		if !strings.HasPrefix(stands, "[") || !strings.HasSuffix(stands, "]") {
			bad("flow list")
		}
	}
	at := n.Start
	for _, c := range n.Entries {
		if c.Start < at || c.End > n.End {
			t.Errorf("child %d to %d after %d in parent to %d:\n%s", c.Start, c.End, at, n.End, text)
		}
		at = c.End
		checkSpans(t, c)
	}
}

func squeeze(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '\t', '\n', '\r', '\u0085', '\u2028', '\u2029':
			return -1
		}
		return r
	}, s)
}

// spanCases are ways YAML can be written that make ends hard to find.
var spanCases = []string{
	"a: b\nc: d\n",
	"a: b # c\n",
	"a: {b: c, d: [e, f]}\n",
	"a: { b: c , d: [ e , f ] , }  # x\n",
	"a: {}\nb: []\n",
	"a: {b: , c: }\n",
	"a: {b, c}\n",
	"a: [b: c, d]\n",
	"ä: ö # ü\nß: {é: 35 mm², ñ: [°C, Ω]}\n",
	"a: 'it''s'\nb: \"x \\\" y\" # z\nc: ''\n",
	"a: 'two\n  lines'\nb: \"two\n  lines\"\n",
	"a: two\n  lines\n  more # c\nb: c\n",
	"a: [two\n  lines, b]\n",
	"a: |\n  one\n  two\n\n  four\nb: c\n",
	"a: |+\n  one\n\n\nb: c\n",
	"a: >-\n  one\n  two\nb: c\n",
	"- a: |\n    one\n  b: c\n- |\n one\n- x\n",
	"a: |\nb: c\n",
	"a: |2\n    one\n  two\nb: c\n",
	"a: &x {b: c}\nd: *x\ne:\n  <<: *x\n  f: g\n",
	"a: &x\n  b: c\nd: *x\n",
	"a: &x  b\nc: [*x, *x]\n",
	"a: &x\nb: c\n",
	"a:\nb:\n  - c\n  -\n  - d\n",
	"a:\n- b\n- c: d\n  e: f\n",
	"? a\n: b\n? c\n",
	"a:\n  b:\n    c: d\n  e: f\n\n\n# end",
	"a: b\r\nc: {d: e,\r\n  f: g}\r\n# x\r\nh: i",
	"\uFEFFa: b\nc: d\n",
	"a: 010\nb: 1E2\nc: on\nd: no\ne: 2:1\nf: 2026-05-02\ng: ~\nh: null\n",
	"{a: b, c: {d: e}}",
	"[a, [b, [c]]]",
	"a: \"\\u00e9\\n\" # x\n",
	"a: {\"b\":c, 'd': e}\n",
	"a: b#c\nd: e #f\n",
	"--- \na: b\n...\n",
	"%YAML 1.1\n---\na: b\n",
	"a: [\n  b, # c ]\n  d # e\n  ]\n",
}

func TestSpans(t *testing.T) {
	for _, text := range spanCases {
		root, problems := Tree(source.New("x.yaml", text))
		if len(problems) > 0 {
			t.Errorf("%q: %s", text, problems[0].Message)
			continue
		}
		checkSpans(t, root)
	}
}

// TestTextStands: every scalar is the text that stands in the file.
func TestTextStands(t *testing.T) {
	root, _ := Tree(source.New("x.yaml", "a: [010, 1E2, on, no, 2:1, 2026-05-02, 0x1F, .5, ~, null, 1_000, +1, Yes]\n"))
	var got []string
	for _, n := range root.Entries[1].Entries {
		got = append(got, n.Text)
	}
	if s := strings.Join(got, " "); s != "010 1E2 on no 2:1 2026-05-02 0x1F .5 ~ null 1_000 +1 Yes" {
		t.Error(s)
	}
}

// TestHostile: what no installation looks like is refused with a reason, soon.
func TestHostile(t *testing.T) {
	bomb := "a0: &a0 [x, x, x, x, x, x, x, x, x]\n"
	for i := 1; i < 12; i++ {
		bomb += fmt.Sprintf("a%d: &a%d [%s*a%d]\n", i, i, strings.Repeat(fmt.Sprintf("*a%d, ", i-1), 8), i-1)
	}
	for _, c := range []struct{ name, text, want string }{
		{"aliases", bomb, "aliases make the file more than 10 times as large as it is written"},
		{"itself", "a: &x [*x]\n", "the alias *x stands inside what it names"},
		{"no anchor", "a: b\nc: *x\n", "no anchor &x stands before this alias"},
		{"deep flow", "a: " + strings.Repeat("[", 70) + strings.Repeat("]", 70), "more than 64 levels inside one another"},
		{"very deep", strings.Repeat("[", 200000), "[ is opened here and never closed"},
		{"deep closed", strings.Repeat("[", 20000) + strings.Repeat("]", 20000), "more than 64 levels inside one another"},
		{"deep block", deepBlock(70), "more than 64 levels inside one another"},
		{"large", "a: " + strings.Repeat("x", mostText), "the file has 32 MB; at most 32 MB are read"},
		{"zero byte", "a: b\x00c\n", "the control character 0x00 may not stand in the file"},
		{"not text", "a: b\nc: \xff\xfe\n", "the byte 0xFF is not UTF-8 text"},
		{"UTF-16", "a\x00:\x00 \x00b\x00", "the control character 0x00 may not stand in the file"},
		{"two documents", "a: b\n---\nc: d\n", "a second document begins here; one file is one installation"},
		{"tab", "a:\n\tb: c\n", "a tab may not indent; use blanks"},
		{"bracket", "a: b\nc: [d, e\nf: g\n", "[ is opened here and never closed"},
		{"brace", "a: {b: [c, d}\n", "[ is not closed before }"},
		{"quote", "a: \"b\nc: d\n", "a quote is opened here and never closed"},
		{"at", "a: @b\n", "a value that begins with @ must stand in quotes"},
		{"tag", "a: !!str b\n", "a tag (!…) says nothing here: every value is the text that stands in the file"},
		{"tag after anchor", "a: &x !!map {b: c}\n", "a tag (!…) says nothing here: every value is the text that stands in the file"},
		{"colon", "a: b: c\n", "a colon stands where no key can be; text that holds ': ' needs quotes"},
	} {
		_, problems := Tree(source.New("x.yaml", c.text))
		if len(problems) != 1 || problems[0].Message != c.want {
			t.Errorf("%s: %v, want %q", c.name, problems, c.want)
		}
	}
}

func deepBlock(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

func FuzzTree(f *testing.F) {
	for _, c := range spanCases {
		f.Add(c)
	}
	f.Fuzz(func(t *testing.T, text string) {
		root, problems := Tree(source.New("x.yaml", text))
		if len(problems) > 0 || root == nil {
			return
		}
		checkSpans(t, root)
	})
}
