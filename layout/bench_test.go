package layout

import (
	"fmt"
	"testing"
)

// BenchmarkRun lays out careless ladders on one endless sheet and, but for the largest, on A3 and A4.
func BenchmarkRun(b *testing.B) {
	for _, n := range []int{59, 150, 600, 2000} {
		for _, pages := range [][]Page{nil, a3, a4p} {
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
