package read_test

import (
	"fmt"
	"strings"
	"testing"

	"fitout/schema/kinds"
	"fitout/schema/read"

	"gopkg.in/yaml.v3"
)

// fleet writes an installation of n parts: a fifth each of fuses, loads, pumps,
// strainers and through-hulls, with the circuits and hoses that join them.
func fleet(n int) string {
	var b strings.Builder
	b.WriteString("fitout: 1\nspaces: {engine: {title: Engine space, ambient: 50 °C}}\nparts:\n  BP: {kind: bus}\n  BN: {kind: bus}\n")
	k := n / 5
	for i := range k {
		fmt.Fprintf(&b, "  F%d: {kind: fuse, family: blade, rating: 10 A, space: engine}  # fuse %d\n", i, i)
		fmt.Fprintf(&b, "  L%d: {kind: light, title: Light %d, draw: 1.5 A, volts: 12 V, space: engine}\n", i, i)
		fmt.Fprintf(&b, "  P%d: {kind: pump, duty: circulating, draw: 4 A, curve: {0 L/min: 4 m head}, space: engine, height: -0.3 m}\n", i)
		fmt.Fprintf(&b, "  ST%d: {kind: strainer, size: 3/4 in, space: engine, height: -0.2 m}\n", i)
		fmt.Fprintf(&b, "  TH%d: {kind: through-hull, service: intake, size: 3/4 in, material: bronze, height: -0.6 m}\n", i)
	}
	b.WriteString("circuits:\n")
	for i := range k {
		fmt.Fprintf(&b, "  - {id: C%d, feed: BP, via: [F%d], load: L%d, return: BN, size: 2.5 mm2, lengths: [0.2 m, 5.5 m]}\n", i, i, i)
		fmt.Fprintf(&b, "  - {id: D%d, feed: BP, load: P%d, return: BN, size: 2.5 mm2, length: 4.5 m}\n", i, i)
	}
	b.WriteString("hoses:\n")
	for i := range k {
		fmt.Fprintf(&b, "  - {id: H%d, path: [TH%d, ST%d, P%d.in], bore: 19 mm, lengths: [0.4 m, 0.5 m], clamps: 2}\n", i, i, i, i)
	}
	return b.String()
}

// BenchmarkRead reads 20,000 parts.
func BenchmarkRead(b *testing.B) {
	text := fleet(20000)
	catalogue := kinds.All()
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if _, problems := read.Text("boat.yaml", text, catalogue); len(problems) > 0 {
			b.Fatal(said(problems[:1]))
		}
	}
}

// BenchmarkBareDecode is what the YAML library alone takes for the same text.
func BenchmarkBareDecode(b *testing.B) {
	text := []byte(fleet(20000))
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		var n yaml.Node
		if err := yaml.Unmarshal(text, &n); err != nil {
			b.Fatal(err)
		}
	}
}
