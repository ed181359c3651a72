package rules

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fitout/schema/diag"
	"fitout/validate/survey"
)

// TestCases judges every file of testdata/cases. Its first lines say what is
// wanted:
//
//	# want RULE at ID            a finding of the rule that names the id
//	# want SEVERITY RULE at ID   the same with its severity
//	# want none RULE             the rule says nothing
//	# want unchecked RULE "datum"
//	# want clean                 no error and no warning of any rule
func TestCases(t *testing.T) {
	root := filepath.Join("..", "..", "testdata", "cases")
	count := 0
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(path) != ".yaml" {
			return err
		}
		text, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		count++
		name, _ := filepath.Rel(root, path)
		t.Run(filepath.ToSlash(name), func(t *testing.T) { runCase(t, string(text)) })
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if count == 0 {
		t.Fatal("no cases are there")
	}
}

func runCase(t *testing.T, text string) {
	t.Helper()
	res := Check(survey.Of(boatOf(t, text)))
	wants := 0
	for _, line := range strings.Split(text, "\n") {
		want, ok := strings.CutPrefix(line, "# want ")
		if !ok {
			break
		}
		wants++
		if fault := unmet(res, want); fault != "" {
			t.Errorf("want %s: %s\n%s", want, fault, strings.Join(said(res), "\n"))
		}
	}
	if wants == 0 {
		t.Fatal("the case does not say what it wants")
	}
}

// unmet says how a wish is not met, or "".
func unmet(res Result, want string) string {
	f := strings.Fields(want)
	switch f[0] {
	case "clean":
		if res.Count(diag.Error)+res.Count(diag.Warning) > 0 {
			return "there are errors or warnings"
		}
		return ""
	case "none":
		if slices.ContainsFunc(res.Findings, func(x diag.Finding) bool { return x.Rule == f[1] }) {
			return "the rule speaks"
		}
		return ""
	case "unchecked":
		_, datum, _ := strings.Cut(want, `"`)
		datum = strings.TrimSuffix(datum, `"`)
		if slices.ContainsFunc(res.Unchecked, func(u diag.Unchecked) bool { return u.Rule == f[1] && u.Missing == datum }) {
			return ""
		}
		return "it is not said"
	}
	severity := ""
	if f[1] != "at" {
		severity, f = f[0], f[1:]
	}
	for _, x := range res.Findings {
		if x.Rule == f[0] && slices.Contains(x.At, f[2]) && (severity == "" || x.Severity.String() == severity) {
			return ""
		}
	}
	return "no such finding"
}

func said(res Result) []string {
	var out []string
	for _, f := range res.Findings {
		out = append(out, fmt.Sprintf("  %s %s at %v: %s", f.Severity, f.Rule, f.At, f.Message))
	}
	for _, u := range res.Unchecked {
		out = append(out, fmt.Sprintf("  unchecked %s: %s", u.Rule, u.Missing))
	}
	return out
}
