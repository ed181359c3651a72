package boattest_test

import (
	"fmt"
	"slices"
	"testing"

	"fitout/schema/boattest"
	"fitout/schema/diag"
	"fitout/schema/source"
)

const text = `parts:
  B1: {kind: battery}   # want no-place
  F1: {kind: fuse}      # want no-place, no-label
`

func TestWants(t *testing.T) {
	want := []boattest.Want{{Rule: "no-place", Line: 2}, {Rule: "no-place", Line: 3}, {Rule: "no-label", Line: 3}}
	if got := boattest.Wants(text); !slices.Equal(got, want) {
		t.Errorf("%v", got)
	}
}

// noted is a test that only notes its failures.
type noted struct {
	testing.TB
	said []string
}

func (n *noted) Helper() {}

func (n *noted) Errorf(format string, args ...any) {
	n.said = append(n.said, fmt.Sprintf(format, args...))
}

func TestMatch(t *testing.T) {
	b := boattest.Read(t, text)
	at := func(line int) source.Span {
		s := b.Files[0].LineStart(line)
		return source.Span{File: b.Files[0], Start: s, End: s}
	}
	found := []diag.Finding{{Rule: "no-place", Span: at(2)}, {Rule: "no-place", Span: at(3)}, {Rule: "no-label", Span: at(3)}}
	for _, c := range []struct {
		found []diag.Finding
		want  []string
	}{
		{found, nil},
		{found[:2], []string{"line 3: no no-label"}},
		{append(found, diag.Finding{Rule: "stud-count", Span: at(2), Message: "x"}), []string{"line 2: stud-count not asked for: x"}},
	} {
		n := &noted{TB: t}
		boattest.Match(n, text, c.found)
		if !slices.Equal(n.said, c.want) {
			t.Errorf("%q, want %q", n.said, c.want)
		}
	}
}
