package read_test

import (
	"os"
	"strings"
	"testing"

	"fitout/schema/boattest"
	"fitout/schema/diag"
	"fitout/schema/kinds"
	"fitout/schema/read"
)

// TestMistakes holds what the reader says of each text in testdata/mistakes.txt
// against what stands under it: place, words, and the line with its caret. Each
// case is a title after "===", a text, and after "---" what is said.
func TestMistakes(t *testing.T) {
	data, err := os.ReadFile("testdata/mistakes.txt")
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	cases := strings.Split(string(data), "=== ")[1:]
	if len(cases) < 60 {
		t.Errorf("%d cases only", len(cases))
	}
	for _, c := range cases {
		title, rest, _ := strings.Cut(c, "\n")
		text, _, _ := strings.Cut(rest, "---\n")
		_, problems := read.Text("b.yaml", text, kinds.All())
		if len(problems) == 0 {
			t.Errorf("%s: nothing is said", title)
		}
		out.WriteString("=== " + title + "\n" + text + "---\n")
		for _, p := range problems {
			out.WriteString(said([]diag.Problem{p}))
			if line, caret := p.Span.Excerpt(); line != "" {
				out.WriteString("    " + line + "\n    " + caret + "\n")
			}
			if p.Near != "" && !strings.Contains(p.Message, p.Near) {
				t.Errorf("%s: %s is near and not named", title, p.Near)
			}
		}
	}
	boattest.Golden(t, "mistakes.txt", []byte(out.String()))
}
