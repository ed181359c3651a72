package rules_test

import (
	"flag"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fitout/schema/diag"

	"gopkg.in/yaml.v3"
)

// edit is one change to a clean example and what it must add.
type edit struct {
	Boat string
	Set  yaml.Node // path: value, null takes away
	Adds []string  // "severity rule at id"
	Why  string
	line int
}

func (e *edit) UnmarshalYAML(n *yaml.Node) error {
	type plain edit
	e.line = n.Line
	return n.Decode((*plain)(e))
}

var tryEdit = flag.String("edit", "", `only print what an edit adds: "cruiser C10.size=8 AWG; F20.rating=60 A"`)

// TestEdits makes every single edit of testdata/edits.yaml to its example and asks
// for exactly the findings that it must add, at the ids it names, and no other.
// The limits stand on either side of the last printed digit; how each was worked
// out, by hand from the reference, stands beside it.
func TestEdits(t *testing.T) {
	if *tryEdit != "" {
		boat, list, _ := strings.Cut(*tryEdit, " ")
		tr := parseTree(t, exampleText(t, boat))
		for _, one := range strings.Split(list, ";") {
			path, v, _ := strings.Cut(strings.TrimSpace(one), "=")
			apply(t, tr, path, value(t, v))
		}
		for _, f := range added(t, keys(judge(t, exampleText(t, boat)).Findings, nil), tr.text(t)) {
			t.Logf("%s %s at %v: %s", f.Severity, f.Rule, f.At, f.Message)
		}
		return
	}
	text, err := os.ReadFile("../../testdata/edits.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var list []edit
	if err := yaml.Unmarshal(text, &list); err != nil {
		t.Fatal(err)
	}
	if len(list) < 120 {
		t.Errorf("%d edits, 120 are promised", len(list))
	}
	before := map[string][]string{}
	for _, e := range list {
		if before[e.Boat] == nil {
			before[e.Boat] = keys(judge(t, exampleText(t, e.Boat)).Findings, nil)
		}
		was := before[e.Boat]
		t.Run(e.Boat+":"+strconv.Itoa(e.line), func(t *testing.T) {
			t.Parallel()
			tr := parseTree(t, exampleText(t, e.Boat))
			for i := 0; i+1 < len(e.Set.Content); i += 2 {
				apply(t, tr, e.Set.Content[i].Value, e.Set.Content[i+1])
			}
			want := slices.Clone(e.Adds)
			met := make([]bool, len(want))
			for _, f := range added(t, was, tr.text(t)) {
				i := slices.IndexFunc(want, func(w string) bool {
					what, at, _ := strings.Cut(w, " at ")
					return what == f.Severity.String()+" "+f.Rule && slices.Contains(f.At, at)
				})
				if i < 0 {
					t.Errorf("edits.yaml:%d: not asked for: %s %s at %v: %s", e.line, f.Severity, f.Rule, f.At, f.Message)
					continue
				}
				met[i] = true
			}
			for i, w := range want {
				if !met[i] {
					t.Errorf("edits.yaml:%d: no %s", e.line, w)
				}
			}
		})
	}
}

// added lists the findings of a changed example that the example does not have.
func added(t *testing.T, was []string, changed string) []diag.Finding {
	t.Helper()
	before := slices.Clone(was)
	var out []diag.Finding
	for _, f := range judge(t, changed).Findings {
		k := keys([]diag.Finding{f}, nil)[0]
		if i := slices.Index(before, k); i >= 0 {
			before = slices.Delete(before, i, i+1)
			continue
		}
		out = append(out, f)
	}
	return out
}

// apply sets or takes away what a path names: ID.attribute, section.key.attribute,
// with indexes of lists.
func apply(t *testing.T, tr *tree, path string, v *yaml.Node) {
	t.Helper()
	steps := strings.Split(path, ".")
	at := tr.root
	if field(tr.root, steps[0]) == nil && len(steps) > 1 || tr.item(steps[0]) != nil {
		if at = tr.item(steps[0]); at == nil {
			at = tr.part(steps[0])
		}
		if at == nil {
			t.Fatalf("%s: nothing is called %s", path, steps[0])
		}
		if len(steps) == 1 { // a whole item
			for _, s := range []string{"wires", "circuits", "hoses"} {
				if i := slices.Index(tr.items(s), at); i >= 0 {
					n := tr.section(s)
					n.Content = slices.Delete(n.Content, i, i+1)
				}
			}
			return
		}
		steps = steps[1:]
	}
	for _, s := range steps[:len(steps)-1] {
		next := field(at, s)
		if at.Kind == yaml.SequenceNode {
			next = at.Content[index(t, at, s)]
		}
		if next == nil {
			t.Fatalf("%s: no %s", path, s)
		}
		at = next
	}
	last := steps[len(steps)-1]
	switch {
	case at.Kind == yaml.SequenceNode:
		at.Content[index(t, at, last)] = v
	case v.Tag == "!!null":
		if field(at, last) == nil {
			t.Fatalf("%s: no %s to take away", path, last)
		}
		dropField(at, last)
	default:
		setField(at, last, v)
	}
}

func index(t *testing.T, list *yaml.Node, s string) int {
	t.Helper()
	i, err := strconv.Atoi(s)
	if err != nil || i < 0 || i >= len(list.Content) {
		t.Fatalf("no element %s", s)
	}
	return i
}
