package schematic_test

import (
	"fmt"
	"math/rand"
	"path/filepath"
	"testing"

	"fitout/render/schematic"
	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/validate/rules"
	"fitout/validate/survey"
)

// BenchmarkWaterSheets lays out and draws the water sheets of each example.
func BenchmarkWaterSheets(b *testing.B) {
	files, _ := filepath.Glob("../../examples/*.yaml")
	for _, path := range files {
		for _, paper := range []string{"A4", "A3"} {
			in := readBoat(b, path)
			in.Papers, in.Larger = papers(paper), nil
			b.Run(filepath.Base(path)+" "+paper, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if _, err := schematic.Water(in); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

// BenchmarkWaterSize draws invented boats of about 150 and 600 water parts.
func BenchmarkWaterSize(b *testing.B) {
	for _, systems := range []int{10, 50} {
		text := boatOf(rand.New(rand.NewSource(1)), systems)
		boat, problems := read.Boat(func(string) ([]byte, error) { return []byte(text), nil }, "invented.yaml", kinds.All())
		if len(problems) > 0 {
			b.Fatal(problems[0].Message)
		}
		s := survey.Of(boat)
		in := schematic.Input{Survey: s, Result: rules.Check(s), First: 1, Papers: papers("A4")}
		b.Run(fmt.Sprintf("%d parts", len(boat.Parts)), func(b *testing.B) {
			for b.Loop() {
				if _, err := schematic.Water(in); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
