package kinds_test

import (
	"testing"

	"fitout/schema/kinds"
	"fitout/schema/read"
)

// The lines of the bill of materials: what a shop can act on.
func TestOrderLines(t *testing.T) {
	for part, want := range map[string]string{
		"{kind: fuse, family: class-t, rating: 225 A, interrupt: 20 kA}": "fuse, class-t, 225 A, breaks 20 kA",
		"{kind: light, draw: 0.3 A, count: 6}":                           "light, 0.3 A, 6 alike",
		"{kind: ac-breaker, rating: 16 A, poles: 1}":                     "AC circuit breaker, 16 A, 1 pole",
		"{kind: converter, in-volts: 24 V, volts: 12 V, output: 20 A}":   "DC to DC converter, from 24 V, to 12 V, 20 A",
	} {
		boat, found := read.Text("boat.yaml", "fitout: 1\nparts:\n  X1: "+part+"\n", kinds.All())
		if len(found) > 0 {
			t.Fatalf("%s: %s", part, found[0].Message)
		}
		if p := boat.Part("X1"); p.Kind.Order(p) != want {
			t.Errorf("%s: %q, want %q", part, p.Kind.Order(p), want)
		}
	}
}
