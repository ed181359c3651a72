// Package boattest builds boats for tests: it reads installation text and fails
// the test on any mistake, finds the findings a text asks for in its comments,
// and compares output with golden files.
package boattest

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/diag"
	"fitout/schema/kinds"
	"fitout/schema/read"

	"github.com/google/go-cmp/cmp"
)

// Read reads an installation and fails the test if it has a mistake. The file is
// called boat.yaml.
func Read(t testing.TB, text string) *schema.Boat {
	t.Helper()
	b, problems := read.Text("boat.yaml", text, kinds.All())
	if len(problems) > 0 {
		t.Fatalf("the boat cannot be read:\n%s", Problems(problems))
	}
	return b
}

// ReadFile reads an installation from disk, with what it includes.
func ReadFile(t testing.TB, name string) *schema.Boat {
	t.Helper()
	b, problems := read.Boat(os.ReadFile, name, kinds.All())
	if len(problems) > 0 {
		t.Fatalf("%s cannot be read:\n%s", name, Problems(problems))
	}
	return b
}

// Mistakes reads an installation and returns what is wrong with it.
func Mistakes(t testing.TB, text string) []diag.Problem {
	t.Helper()
	_, problems := read.Text("boat.yaml", text, kinds.All())
	return problems
}

// Problems writes mistakes one a line: file:line:column: message.
func Problems(list []diag.Problem) string {
	var b strings.Builder
	for _, p := range list {
		line, column := p.Span.Position()
		fmt.Fprintf(&b, "%s:%d:%d: %s\n", p.Span.Name(), line, column, p.Message)
	}
	return b.String()
}

// Want is a finding that a comment asks for: `# want unfused-run`, on the line it
// is expected at.
type Want struct {
	Rule string
	Line int
}

var wantComment = regexp.MustCompile(`#\s*want\s+([a-z0-9, -]+)`)

// Wants collects the want comments of a text, in order. A comment may name
// several rules, parted by commas or blanks.
func Wants(text string) []Want {
	var out []Want
	for i, line := range strings.Split(text, "\n") {
		m := wantComment.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		for _, rule := range strings.FieldsFunc(m[1], func(r rune) bool { return r == ',' || r == ' ' }) {
			out = append(out, Want{rule, i + 1})
		}
	}
	return out
}

// Match holds findings against the want comments of the text they were made
// from: each wanted one is there at its line, and no other.
func Match(t testing.TB, text string, found []diag.Finding) {
	t.Helper()
	got := map[Want]int{}
	for _, f := range found {
		got[Want{f.Rule, f.Span.Line()}]++
	}
	asked := map[Want]bool{}
	for _, w := range Wants(text) {
		if got[w] == 0 {
			t.Errorf("line %d: no %s", w.Line, w.Rule)
		}
		asked[w] = true
	}
	for _, f := range found {
		if !asked[Want{f.Rule, f.Span.Line()}] {
			t.Errorf("line %d: %s not asked for: %s", f.Span.Line(), f.Rule, f.Message)
		}
	}
}

var update = flag.Bool("update", false, "write golden files instead of comparing with them")

// Golden compares got with the file testdata/NAME of the package under test.
// With -update it writes the file.
func Golden(t testing.TB, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", filepath.FromSlash(name))
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o666); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("%v; run the test with -update to make it", err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s differs (-want +got):\n%s", path, diff)
	}
}
