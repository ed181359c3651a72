package rules

import (
	"testing"

	"fitout/schema/diag"
	"fitout/validate/survey"
)

// TestSolvedExamples runs the bad and the good example of each rule of the
// section: the bad one raises the rule and no other of the section, the good one
// no error or warning of the section.
func TestSolvedExamples(t *testing.T) {
	names := solvedRules()
	if len(names) < 14 {
		t.Fatalf("only %d rules stand in the section", len(names))
	}
	for _, name := range names {
		r, _ := Named(name)
		t.Run(name, func(t *testing.T) {
			if r.Asks == "" || r.Why == "" || r.Severity == "" || r.Source == "" || r.Bad == "" || r.Good == "" {
				t.Fatal("the rule does not say all that explain prints")
			}
			raised := false
			for _, f := range Judge(survey.Of(boatOf(t, r.Bad)), names...).Findings {
				raised = raised || f.Rule == name
				if f.Rule != name && f.Severity > diag.Note {
					t.Errorf("bad: also %s at %v: %s", f.Rule, f.At, f.Message)
				}
				if f.Message == "" || f.Risk == "" || f.Do == "" || f.Source == "" || len(f.At) == 0 {
					t.Errorf("bad: a finding that cannot stand alone: %+v", f)
				}
			}
			if !raised {
				t.Error("bad: the rule is not raised")
			}
			for _, f := range Judge(survey.Of(boatOf(t, r.Good)), names...).Findings {
				if f.Severity > diag.Note {
					t.Errorf("good: %s at %v: %s", f.Rule, f.At, f.Message)
				}
			}
		})
	}
}
