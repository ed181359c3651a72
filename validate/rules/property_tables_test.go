package rules_test

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"fitout/schema/diag"
)

// published is where the tables are copied for the tests of package tables, read
// apart from the copies that the program uses.
const published = "../tables/testdata/"

func rows(tb testing.TB, name string) [][]string {
	tb.Helper()
	text, err := os.ReadFile(published + name)
	if err != nil {
		tb.Fatal(err)
	}
	r := csv.NewReader(strings.NewReader(string(text)))
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		tb.Fatal(err)
	}
	return all
}

func number(tb testing.TB, text string) float64 {
	tb.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		tb.Fatal(err)
	}
	return v
}

// oneWire is a boat with one fused wire to a load, n−1 others beside it in a loom,
// and a fuse of so many amperes in the first.
func oneWire(set, size, insulation string, engine bool, n int, fuse float64) string {
	space := "cabin"
	if engine {
		space = "engine"
	}
	var b strings.Builder
	fmt.Fprintf(&b, `
fitout: 1
rules: {set: %s, bundling: practice}
spaces: {cabin: {title: Cabin}, engine: {title: Engine space, engine: yes, fuel: diesel}}
looms: {L1: {longest: 3 m}}
parts:
  B1: {kind: battery, chemistry: agm, volts: 12 V, capacity: 100 Ah, space: %s}
  BN: {kind: bus, space: %s, studs: 40}
  LT0: {kind: load, draw: 1 A, space: %s}
`, set, space, space, space)
	for i := 1; i < n; i++ {
		fmt.Fprintf(&b, "  LT%d: {kind: load, draw: 1 A, space: %s}\n", i, space)
	}
	b.WriteString("wires:\n  - {id: N, from: B1.-, to: BN, size: 50 mm2, length: 0.5 m}\n")
	for i := range n {
		f, s := 1.0, "50 mm2"
		if i == 0 {
			f, s = fuse, size
		}
		loom := ""
		if n > 1 {
			loom = ", loom: L1"
		}
		fmt.Fprintf(&b, "  - {id: W%d, path: [B1.+, {F%d: {kind: fuse, family: class-t, rating: %.4f A, space: %s}}, LT%d.+], size: %s, insulation: %s °C, lengths: [0.1 m, 3 m]%s}\n",
			i, i, f, space, i, s, insulation, loom)
		fmt.Fprintf(&b, "  - {id: R%d, from: LT%d.-, to: BN, size: 50 mm2, length: 3 m}\n", i, i)
	}
	return b.String()
}

// limitOf reads the most that a fuse may be before the wire: it raises the rating
// to just above the expected limit and takes the limit that the finding states,
// and asks that exactly at the limit there is no error.
func limitOf(t *testing.T, what string, boat func(fuse float64) string, limit float64) {
	t.Helper()
	above := judge(t, boat(limit+0.1), "unfused-run").Findings
	var found *diag.Finding
	for i := range above {
		if f := &above[i]; f.Rule == "fuse-exceeds-wire" && f.Severity == diag.Error {
			found = f
		}
	}
	switch {
	case found == nil:
		t.Errorf("%s: %.1f A passes, %.1f A is the published limit", what, limit+0.1, limit)
	case math.Abs(float64(*found.Limit)-limit) > 0.05:
		t.Errorf("%s: the limit is %v A, published %.2f A", what, *found.Limit, limit)
	}
	for _, f := range judge(t, boat(limit), "unfused-run").Findings {
		if f.Rule == "fuse-exceeds-wire" && f.Severity == diag.Error {
			t.Errorf("%s: %.1f A is refused, it is the published limit: %s", what, limit, f.Message)
		}
	}
}

// TestPublishedAmpacity goes through 33 CFR 183.425 Table 5 (150 % by
// 183.455(c)(1)) and the ISO 10133 table (100 %, from memory) row by row, each
// figure by way of a boat.
func TestPublishedAmpacity(t *testing.T) {
	t.Parallel()
	for _, table := range []struct {
		file, set, unit string
		allowed         float64
		engine          string
	}{
		{"ampacity_us.csv", "us", "AWG", 1.5, "engine_space_us.csv"},
		{"ampacity_iso.csv", "iso", "mm2", 1.0, "engine_space_iso.csv"},
	} {
		factors := map[string]float64{}
		for _, r := range rows(t, table.engine)[1:] {
			ins, _, _ := strings.Cut(r[0], "-")
			factors[ins] = number(t, r[1])
		}
		all := rows(t, table.file)
		for i, r := range all[1:] {
			for col := 1; col < len(r); col++ {
				ins := all[0][col]
				if table.set == "iso" && ins == "60" {
					continue // doubtful column, not used (electrical reference 3.6)
				}
				size, amps := r[0]+" "+table.unit, number(t, r[col])
				what := fmt.Sprintf("%s %s at %s °C", table.set, size, ins)
				limitOf(t, what, func(f float64) string { return oneWire(table.set, size, ins, false, 1, f) }, amps*table.allowed)
				if k, ok := factors[ins]; ok && i%4 == 1 {
					limitOf(t, what+" in an engine space", func(f float64) string { return oneWire(table.set, size, ins, true, 1, f) }, amps*k*table.allowed)
				}
			}
		}
	}
}

// TestPublishedBundles holds the bundled ampacities at 105 °C of a published table
// (credited there to the Coast Guard's guideline), inside and outside engine
// spaces, against a boat with so many wires in one loom. The table prints one
// decimal.
func TestPublishedBundles(t *testing.T) {
	t.Parallel()
	all := rows(t, "electrical-105c-bundled-published.csv")
	counts := []int{1, 3, 5, 8}
	for _, r := range all[1:] {
		for col := 1; col < len(r); col++ {
			if r[col] == "" {
				continue
			}
			n, engine := counts[(col-1)/2], col%2 == 0
			amps := number(t, r[col])
			boat := func(f float64) string { return oneWire("us", r[0]+" AWG", "105", engine, n, f) }
			over := judge(t, boat(amps*1.5*1.02+0.2), "unfused-run").Findings
			found := false
			for _, f := range over {
				if f.Rule != "fuse-exceeds-wire" || f.Severity != diag.Error || f.At[0] != "W0b" && f.At[0] != "W0a" {
					continue
				}
				found = true
				if got := float64(*f.Limit) / 1.5; math.Abs(got-amps) > 0.051+0.001*amps {
					t.Errorf("%s AWG, %d in a loom, engine space %v: %.2f A, published %.1f A", r[0], n, engine, got, amps)
				}
			}
			if !found {
				t.Errorf("%s AWG, %d in a loom, engine space %v: no finding just over %.1f A", r[0], n, engine, amps*1.5)
			}
		}
	}
}
