package schematic_test

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"fitout/render/draw"
	"fitout/render/schematic"
	"fitout/render/sheet"
	"fitout/render/svg"
	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// keepWater names a folder that the water sheets of the examples are written to,
// to be looked at: go test ./render/schematic -run Water -keep-water /tmp/look
var keepWater = flag.String("keep-water", "", "folder for the water sheets")

func readBoat(t testing.TB, path string) schematic.Input {
	t.Helper()
	boat, problems := read.Boat(os.ReadFile, path, kinds.All())
	if len(problems) > 0 {
		t.Fatalf("%s: %s", path, problems[0].Message)
	}
	s := survey.Of(boat)
	return schematic.Input{Survey: s, Result: rules.Check(s), First: 1, Papers: papers("A4"), Larger: papers("A3")}
}

// textBoat reads a boat from its text.
func textBoat(t testing.TB, text string) schematic.Input {
	t.Helper()
	boat, problems := read.Boat(func(string) ([]byte, error) { return []byte(text), nil }, "boat.yaml", kinds.All())
	if len(problems) > 0 {
		t.Fatal(problems[0].Message)
	}
	s := survey.Of(boat)
	return schematic.Input{Survey: s, Result: rules.Check(s), First: 1, Papers: papers("A4"), Larger: papers("A3")}
}

func papers(name string) []sheet.Paper {
	p, err := sheet.PaperNamed(name)
	if err != nil {
		panic(err)
	}
	return []sheet.Paper{p.Landscape(), p.Portrait()}
}

func TestWaterExamples(t *testing.T) {
	files, _ := filepath.Glob("../../examples/*.yaml")
	for _, path := range files {
		in := readBoat(t, path)
		for _, paper := range []string{"A4", "A3"} {
			in.Papers = papers(paper)
			pages, err := schematic.Water(in)
			if err != nil {
				t.Fatal(err)
			}
			for i, p := range pages {
				s := p.Finish(sheet.TitleBlock{Boat: in.Survey.Boat.Vessel.Name.V}, i+1, len(pages))
				if *keepWater != "" {
					name := filepath.Join(*keepWater, filepath.Base(path)+"-"+paper+"-"+s.ID)
					write(t, name+".svg", s, draw.InColour)
					write(t, name+"-mono.svg", s, draw.InMono)
				}
			}
		}
	}
}

func write(t *testing.T, path string, s draw.Sheet, theme draw.Theme) {
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if err := svg.Write(f, s, svg.Options{Theme: theme}); err != nil {
		t.Fatal(err)
	}
}

func TestWaterOverviewExamples(t *testing.T) {
	files, _ := filepath.Glob("../../examples/*.yaml")
	for _, path := range files {
		in := readBoat(t, path)
		for _, f := range []func(schematic.Input) ([]sheet.Page, error){schematic.Overview, schematic.Places, schematic.Panels} {
			pages, err := f(in)
			if err != nil {
				t.Fatal(err)
			}
			for i, p := range pages {
				s := p.Finish(sheet.TitleBlock{Boat: in.Survey.Boat.Vessel.Name.V}, i+1, len(pages))
				if *keepWater != "" {
					write(t, filepath.Join(*keepWater, filepath.Base(path)+"-"+s.ID)+".svg", s, draw.InColour)
				}
			}
		}
	}
}
