package review

import "testing"

// BenchmarkSave is from a saved file to findings and sheets ready to be fetched,
// on the largest example; the page adds its own fetch and paint.
func BenchmarkSave(b *testing.B) {
	s, err := New(boat(b, "yacht.yaml"))
	if err != nil {
		b.Fatal(err)
	}
	defer s.Close()
	b.Run("findings", func(b *testing.B) {
		for b.Loop() {
			s.Reload()
		}
	})
	b.Run("sheets", func(b *testing.B) {
		for b.Loop() {
			if d := drawSheets(s.now); d.failed != "" {
				b.Fatal(d.failed)
			}
		}
	})
}
