package rules

import (
	"testing"

	"fitout/schema/boattest"
	"fitout/validate/survey"
)

// The small installations of every rule of the solved water: Bad raises the rule,
// Good does not, and neither leaves it unchecked.
func TestSolvedWaterExamples(t *testing.T) {
	for _, r := range All() {
		if r.Section != waterSolved {
			continue
		}
		t.Run(r.Name, func(t *testing.T) {
			for _, ex := range []struct {
				name, text string
				want       bool
			}{{"bad", r.Bad, true}, {"good", r.Good, false}} {
				res := Check(survey.Of(boattest.Read(t, ex.text)))
				var got []string
				for _, f := range res.Findings {
					if f.Rule == r.Name {
						got = append(got, f.Message)
					}
				}
				if (len(got) > 0) != ex.want {
					t.Errorf("%s: findings %q", ex.name, got)
				}
				t.Log(ex.name, got)
				for _, u := range res.Unchecked {
					if u.Rule == r.Name {
						t.Log("unchecked: ", u.Missing)
						if r.Name != "suction-low" && r.Name != "valve-drowns" {
							t.Errorf("%s: not checked for want of %s", ex.name, u.Missing)
						}
					}
				}
			}
		})
	}
}
