package changes_test

import (
	"slices"
	"strings"
	"testing"

	"fitout/render"
	"fitout/render/changes"
	"fitout/render/draw"
	"fitout/schema/boattest"
	"fitout/validate/compare"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

func texts(items []draw.Item) (out []string) {
	for _, it := range items {
		switch x := it.(type) {
		case draw.Text:
			out = append(out, x.S)
		case draw.Group:
			for _, s := range x.Strokes {
				out = append(out, texts([]draw.Item{s})...)
			}
		case draw.Part:
			for _, s := range x.Strokes {
				out = append(out, texts([]draw.Item{s})...)
			}
		case draw.Band:
			out = append(out, texts(x.Items)...)
		}
	}
	return out
}

// A comparison takes no text off a sheet but the key of lines that it does not
// draw: the key of the places, the symbols, the overview and all parts stay.
func TestMarkingTakesNothingAway(t *testing.T) {
	b := boattest.ReadFile(t, "../../examples/workboat.yaml")
	s := survey.Of(b)
	sheets, err := render.Sheets(s, rules.Check(s), render.Options{Clean: true})
	if err != nil {
		t.Fatal(err)
	}
	r := compare.Result{Items: []compare.Item{{Section: "part", ID: "UB", Kind: compare.Changed}, {Section: "wire", ID: "12a", Kind: compare.Added}}}
	for i, m := range changes.Mark(sheets, r) {
		var gone []string
		now := texts(m.Items)
		for _, x := range texts(sheets[i].Items) {
			if !slices.Contains(now, x) {
				gone = append(gone, x)
			}
		}
		gone = slices.DeleteFunc(gone, func(x string) bool {
			return slices.ContainsFunc(draw.Styles(), func(s draw.Style) bool { return s.Meaning() != "" && strings.Contains(s.Meaning(), x) })
		})
		if len(gone) > 0 && (strings.HasPrefix(m.ID, "places") || strings.HasPrefix(m.ID, "overview") || strings.HasPrefix(m.ID, "key") || strings.HasPrefix(m.ID, "panels")) {
			t.Errorf("%s: %d texts are gone: %q", m.ID, len(gone), gone)
		}
		if !slices.Contains(now, "added") || !slices.Contains(now, "removed") {
			t.Errorf("%s does not explain its marks", m.ID)
		}
	}
}
