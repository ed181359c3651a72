package schematic_test

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fitout/render/draw"
	"fitout/render/schematic"
	"fitout/render/sheet"
	"fitout/schema"
	"fitout/validate/survey"
)

// The overview, the places and the panel fronts stand on the paper that was
// asked for, whatever the boat, and nothing on them is cut short: every title of
// a box is there in full.
func TestAskedPaperAndWholeTitles(t *testing.T) {
	files, _ := filepath.Glob("../../examples/*.yaml")
	for _, path := range files {
		in := readBoat(t, path)
		for _, paper := range sheet.Papers() {
			in.Papers = []sheet.Paper{paper.Portrait(), paper.Landscape()}
			for _, f := range []func(schematic.Input) ([]sheet.Page, error){schematic.Overview, schematic.Places, schematic.Panels, schematic.Key} {
				pages, err := f(in)
				if err != nil {
					t.Fatal(err)
				}
				for i, p := range pages {
					if p.Frame.Paper.Name != paper.Name {
						t.Errorf("%s on %s: %q stands on %s", path, paper.Name, p.Title, p.Frame.Paper.Name)
					}
					s := p.Finish(sheet.TitleBlock{}, i+1, len(pages))
					for _, x := range textsOf(s.Items) {
						if strings.Contains(x.S, "…") {
							t.Errorf("%s on %s: %q is cut to %q", path, paper.Name, p.Title, x.S)
						}
						if b := x.Bounds(); !p.Frame.Inner.Contains(b) && x.Letters != draw.ZoneMark {
							t.Errorf("%s on %s: %q: %q reaches out of the frame", path, paper.Name, p.Title, x.S)
						}
					}
					if p.Document == "Overview" {
						wholeTitles(t, in, s)
					}
				}
			}
		}
	}
}

// wholeTitles holds the words in each box against the part's title in the file.
func wholeTitles(t *testing.T, in schematic.Input, s draw.Sheet) {
	t.Helper()
	for _, it := range s.Items {
		p, ok := it.(draw.Part)
		if !ok || p.Kind == "continuation" {
			continue
		}
		part := in.Survey.Boat.Part(p.ID)
		if part == nil {
			continue
		}
		words := ""
		for _, x := range textsOf([]draw.Item{p}) {
			words += " " + x.S
		}
		title := part.Title()
		if title == "" {
			title = strings.ReplaceAll(part.Kind.Name, "-", " ")
		}
		if part.Cock != nil && strings.Contains(s.Title, "hull openings") {
			title += ", valve " + part.Cock.ID
		}
		words, _, _ = strings.Cut(words, ", in series") // said of batteries beside the title
		if want := p.ID + " " + title; squeeze(words) != squeeze(want) {
			t.Errorf("%s: the box of %s says %q, want %q", s.ID, p.ID, words, want)
		}
	}
}

func squeeze(s string) string { return strings.Join(strings.Fields(s), "") }

func textsOf(items []draw.Item) (out []draw.Text) {
	take := func(list []draw.Stroke) {
		for _, s := range list {
			if x, ok := s.(draw.Text); ok {
				out = append(out, x)
			}
		}
	}
	for _, it := range items {
		switch it := it.(type) {
		case draw.Part:
			take(it.Strokes)
		case draw.Group:
			take(it.Strokes)
		case draw.Text:
			out = append(out, it)
		}
	}
	return out
}

// Every battery of an example is named on its overview, those too that feed through
// another in series; and a part that charges and inverts says where its AC comes
// from, since its line to the bus is drawn the way it charges.
func TestOverviewNamesEveryBattery(t *testing.T) {
	files, _ := filepath.Glob("../../examples/*.yaml")
	series, inverting := 0, 0
	for _, path := range files {
		in := readBoat(t, path)
		pages, err := schematic.Overview(in)
		if err != nil {
			t.Fatal(err)
		}
		all := " "
		for _, p := range pages {
			for _, x := range textsOf(p.Items) {
				all += x.S + " "
			}
		}
		words := strings.FieldsFunc(all, func(r rune) bool { return strings.ContainsRune(" ,()", r) })
		for _, p := range in.Survey.Boat.Parts {
			if p.Is(schema.Storage) && !p.Prepared && !slices.Contains(words, p.ID) {
				t.Errorf("%s: %s is not on the overview", path, p.ID)
			}
		}
		series += strings.Count(all, "in series")
		inverting += strings.Count(squeeze(all), "makesACfromP1")
	}
	if series < 2 || inverting < 1 {
		t.Errorf("%d series banks named, the workboat has 2; %d inverters that charge, it has 1", series, inverting)
	}
}

// Who feeds whom is held against the survey's losses, which know nothing of the
// overview: what hangs on one line only dies when the bus or panel that the line
// leaves is lost; and a part that a panel does not feed is not drawn on it.
func TestFeedsAgreeWithLosses(t *testing.T) {
	files, _ := filepath.Glob("../../examples/*.yaml")
	for _, path := range files {
		in := readBoat(t, path)
		pages, err := schematic.Overview(in)
		if err != nil {
			t.Fatal(err)
		}
		from := map[string]map[string]bool{}
		for _, p := range pages {
			for _, it := range p.Items {
				g, ok := it.(draw.Group)
				source, list, found := strings.Cut(g.Title, " feeds ")
				if !ok || g.Class != "feeds" || !found || strings.Contains(p.Title, "hull") {
					continue
				}
				for _, to := range strings.Split(list, ", ") {
					if from[to] == nil {
						from[to] = map[string]bool{}
					}
					from[to][source] = true
				}
			}
		}
		checked := 0
		for to, sources := range from {
			load := in.Survey.Boat.Part(to)
			for id := range sources {
				bus := in.Survey.Boat.Part(id)
				if len(sources) > 1 || bus == nil || load == nil || !bus.Is(schema.Distribution) || load.Is(schema.Distribution) || !load.Is(schema.Load) || load.Is(schema.Converter) {
					continue
				}
				checked++
				loss := in.Survey.Lost(bus, "")
				if !slices.Contains(loss.Dead, load) && !slices.ContainsFunc(loss.Only, func(k survey.Kept) bool { return k.Part == load }) {
					t.Errorf("%s: %s is drawn as fed by %s, and lives without it", path, to, id)
				}
			}
		}
		if checked < 4 {
			t.Errorf("%s: only %d feeds looked at", path, checked)
		}
	}
}
