package schematic_test

import (
	"path/filepath"
	"testing"

	"fitout/render/schematic"
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
