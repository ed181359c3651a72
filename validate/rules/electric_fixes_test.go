package rules

import (
	"strings"
	"testing"

	"fitout/schema/diag"
	"fitout/validate/survey"
)

// TestElectricFixes applies the edit that a finding offers to the text and asks
// that the finding is gone: the same rule judges the edited boat.
func TestElectricFixes(t *testing.T) {
	label := `
fitout: 1
spaces: {cabin: {title: Cabin}}
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, cranking: 500 A}
  F1: {kind: fuse, family: blade, rating: 10 A, space: cabin}
  LT1: {kind: light, title: "Saloon: lights", draw: 1 A}
wires:
  - {id: 1, path: [B1.+, F1, LT1.+], size: 2.5 mm2, lengths: [0.15 m, 2 m]}
  - {id: 2, from: LT1.-, to: B1.-, size: 2.5 mm2, length: 2 m}
`
	for rule, text := range map[string]string{
		"colour-code": colourCode.Bad, "protection-voltage": protectionVoltage.Bad, "no-label": label,
	} {
		t.Run(rule, func(t *testing.T) {
			before := findingsOf(t, text, rule)
			if len(before) != 1 || before[0].Fix == nil {
				t.Fatalf("want one finding with a fix, got %+v", before)
			}
			after := findingsOf(t, applied(text, before[0].Fix), rule)
			if len(after) > 0 {
				t.Errorf("the fix leaves %+v in\n%s", after, applied(text, before[0].Fix))
			}
		})
	}
}

func findingsOf(t *testing.T, text, rule string) []diag.Finding {
	t.Helper()
	var list []diag.Finding
	for _, f := range Check(survey.Of(boatOf(t, text))).Findings {
		if f.Rule == rule {
			list = append(list, f)
		}
	}
	return list
}

// applied edits a text, last edit first.
func applied(text string, fix *diag.Fix) string {
	for i := len(fix.Edits) - 1; i >= 0; i-- {
		e := fix.Edits[i]
		text = strings.Join([]string{text[:e.Span.Start], e.New, text[e.Span.End:]}, "")
	}
	return text
}
