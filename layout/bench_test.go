package layout

import (
	"fmt"
	"testing"
)

// BenchmarkRun lays out ladders on A3 and, for the largest, on one endless sheet.
func BenchmarkRun(b *testing.B) {
	for _, n := range []int{59, 150, 600, 2000} {
		for _, pages := range [][]Page{nil, a3} {
			if n == 2000 && pages != nil {
				continue
			}
			name := fmt.Sprint(n, " endless")
			if pages != nil {
				name = fmt.Sprint(n, " ", pages[0].Name)
			}
			g := careless(boat(n, 1), 1)
			b.Run(name, func(b *testing.B) {
				for b.Loop() {
					if _, err := Run(g, pages); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
