package rules_test

import (
	"regexp"
	"slices"
	"strings"
	"testing"

	"fitout/schema/diag"
	"fitout/schema/kinds"
)

// TestCleanExamples: a boat that is right raises nothing; a reviewer who meets two
// false alarms stops reading.
func TestCleanExamples(t *testing.T) {
	for _, name := range boats {
		if name == "tired" {
			continue
		}
		for _, f := range judge(t, exampleText(t, name)).Findings {
			if f.Severity != diag.Note {
				t.Errorf("%s:%d: %s %v: %s", name, f.Span.Line(), f.Rule, f.At, f.Message)
			}
		}
	}
}

var planted = regexp.MustCompile(`# planted: ([a-z-]+) at ([A-Za-z0-9+-]+)`)

// TestTiredExample: the tired boat raises its twenty defects and nothing that is
// not one. A comment names each; a circuit's defect may stand on either conductor.
func TestTiredExample(t *testing.T) {
	text := exampleText(t, "tired")
	type defect struct{ rule, at string }
	var want []defect
	for _, m := range planted.FindAllStringSubmatch(text, -1) {
		want = append(want, defect{m[1], m[2]})
	}
	if len(want) != 20 {
		t.Fatalf("%d defects are planted, twenty are promised", len(want))
	}
	seen := map[defect]bool{}
	for _, f := range judge(t, text).Findings {
		if f.Severity == diag.Note {
			continue
		}
		i := slices.IndexFunc(want, func(d defect) bool {
			return d.rule == f.Rule && slices.ContainsFunc(f.At, func(id string) bool {
				return id == d.at || strings.TrimRight(strings.TrimRight(id, "abcdefgh"), "+-") == d.at
			})
		})
		if i < 0 {
			t.Errorf("line %d: %s %v was not planted: %s", f.Span.Line(), f.Rule, f.At, f.Message)
			continue
		}
		seen[want[i]] = true
	}
	for _, d := range want {
		if !seen[d] {
			t.Errorf("%s at %s was planted and not found", d.rule, d.at)
		}
	}
}

// TestExamplesUseEveryKind: each kind of the catalogue stands in an example, so
// that each is read, drawn and judged there.
func TestExamplesUseEveryKind(t *testing.T) {
	used := map[string]bool{}
	for _, name := range boats {
		s, mistakes := readBoat(exampleText(t, name), nil)
		if s == nil {
			t.Fatalf("%s: %s", name, mistakes)
		}
		for _, p := range s.Boat.Parts {
			used[p.Kind.Name] = true
		}
	}
	for _, k := range kinds.All().All() {
		if !used[k.Name] {
			t.Errorf("no example has a %s", k.Name)
		}
	}
}
