package rules

import (
	"fmt"
	"strings"
	"testing"

	"fitout/schema"
	"fitout/schema/kinds"
	"fitout/schema/read"
	"fitout/validate/survey"
)

// boatOf reads an installation from text; a mistake in it fails the test.
func boatOf(t testing.TB, text string) *schema.Boat {
	t.Helper()
	b, problems := read.Boat(func(string) ([]byte, error) { return []byte(text), nil }, "boat.yaml", kinds.All())
	for _, p := range problems {
		line, col := p.Span.Position()
		t.Fatalf("%d:%d: %s\n%s", line, col, p.Message, text)
	}
	return b
}

// judged checks an installation and returns what is said, one line each: "error
// single-clamp at H1,TH1: …", "unchecked single-clamp: clamps of H1".
func judged(t testing.TB, text string) []string {
	t.Helper()
	res := Check(survey.Of(boatOf(t, text)))
	var out []string
	for _, f := range append(res.Findings, res.Deviations...) {
		out = append(out, fmt.Sprintf("%s %s at %s: %s [%s]", f.Severity, f.Rule, strings.Join(f.At, ","), f.Message, f.Attitude))
	}
	for _, u := range res.Unchecked {
		out = append(out, fmt.Sprintf("unchecked %s: %s", u.Rule, u.Missing))
	}
	return out
}

// says reports whether a rule speaks.
func says(lines []string, rule string) bool {
	for _, l := range lines {
		f := strings.Fields(l)
		if f[1] == rule && f[0] != "unchecked" {
			return true
		}
	}
	return false
}

// waterRules are the rules of the section "Water, static" by name, as the
// description of the rules lists them.
const waterRules = `no-seacock seacock-material thread-mismatch metals-mixed hose-unsuited single-clamp floods-by-gravity
rim-floods siphon-path loop-too-low loop-wrong-leg bilge-discharge-low exhaust-floods vent-dips air-trap
pump-not-flooded no-strainer strainer-order bore-mismatch bore-reduced shared-intake shared-discharge scoop-rams
discharge-hidden drain-unsafe waste-direct tank-unvented fresh-cross-connection relief-blocked dry-end
space-without-pump vent-sags`

// TestWaterExamples runs the bad and the good example of every water rule; the
// good one raises no error and no warning of any rule of the section.
func TestWaterExamples(t *testing.T) {
	for _, name := range strings.Fields(waterRules) {
		t.Run(name, func(t *testing.T) {
			r, ok := Named(name)
			if !ok || r.Section != waterStatic {
				t.Fatalf("no rule %s in section %s", name, waterStatic)
			}
			if lines := judged(t, r.Bad); !says(lines, name) {
				t.Errorf("Bad does not raise it:\n%s", strings.Join(lines, "\n"))
			}
			lines := judged(t, r.Good)
			for _, other := range strings.Fields(waterRules) {
				if says(lines, other) {
					t.Errorf("Good raises %s:\n%s", other, strings.Join(lines, "\n"))
				}
			}
		})
	}
}
