package rules

import (
	"slices"
	"strings"
	"testing"

	"fitout/schema/diag"
	"fitout/validate/survey"
)

// staticElectric are the rules of the sections "DC, static", "Shore power,
// static" and, as far as they need no solution, "The boat as a whole", by name, as
// the description of the rules lists them.
const staticElectric = `unfused-run fuse-too-far fuse-exceeds-wire protection-sum breaker-automatic wire-below-minimum
protection-voltage protection-wrong-pole no-disconnect unswitched-needed pump-not-alone stud-count live-stud-open
shunt-bypassed open-circuit short-circuit voltage-mismatch unlike-batteries bank-unbalanced charge-mismatch
charge-bypass alternator-unprotected ignition-risk engines-not-joined return-smaller ground-too-small
parallel-too-small colour-code no-label no-place
shore-main shore-residual shore-earth shore-galvanic neutral-bond two-sources-live
alarm-missing exhaust-no-alarm alarm-untested one-valve-many single-point left-on deviation-unused`

func TestCatalogueHoldsStaticElectric(t *testing.T) {
	names := Names()
	for _, name := range strings.Fields(staticElectric) {
		if !slices.Contains(names, name) {
			t.Errorf("the catalogue lacks %s", name)
		}
	}
	seen := map[string]bool{}
	for _, n := range names {
		if seen[n] {
			t.Errorf("%s stands in the catalogue twice", n)
		}
		seen[n] = true
	}
}

// TestElectricExamples runs the bad and the good example of each of these rules:
// the bad one raises the rule, and no other but notes; the good one neither the
// rule nor any error or warning.
func TestElectricExamples(t *testing.T) {
	for _, name := range strings.Fields(staticElectric) {
		r, _ := Named(name)
		t.Run(name, func(t *testing.T) {
			if r.Asks == "" || r.Why == "" || r.Severity == "" || r.Source == "" || r.Bad == "" || r.Good == "" {
				t.Fatal("the rule does not say all that explain prints")
			}
			bad, good := Check(survey.Of(boatOf(t, r.Bad))), Check(survey.Of(boatOf(t, r.Good)))
			raised := false
			for _, f := range bad.Findings {
				raised = raised || f.Rule == name
				if f.Rule != name && f.Severity > diag.Note {
					t.Errorf("bad: also %s %s at %v: %s", f.Severity, f.Rule, f.At, f.Message)
				}
				if f.Message == "" || f.Risk == "" || f.Do == "" || f.Source == "" || len(f.At) == 0 {
					t.Errorf("bad: a finding that cannot stand alone: %+v", f)
				}
			}
			if !raised {
				t.Errorf("bad: %s is not raised", name)
			}
			for _, f := range good.Findings {
				if f.Rule == name || f.Severity > diag.Note {
					t.Errorf("good: %s %s at %v: %s", f.Severity, f.Rule, f.At, f.Message)
				}
			}
		})
	}
}
