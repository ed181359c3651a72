package tables

import (
	"embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
)

//go:embed data/*.csv
var data embed.FS

// row is one line of a data file by column name.
type row map[string]string

// rows reads an embedded file. Its faults are faults of the program, found by
// the tests, so they panic.
func rows(name string) []row {
	text, err := data.ReadFile("data/" + name + ".csv")
	if err != nil {
		panic(err)
	}
	return parseRows(name, string(text))
}

func parseRows(name, text string) []row {
	r := csv.NewReader(strings.NewReader(text))
	r.Comment = '#'
	lines, err := r.ReadAll()
	if err != nil {
		panic(fmt.Sprintf("tables: %s: %v", name, err))
	}
	out := make([]row, 0, len(lines)-1)
	for _, line := range lines[1:] {
		m := make(row, len(line))
		for i, v := range line {
			m[lines[0][i]] = v
		}
		out = append(out, m)
	}
	return out
}

// num reads a figure; ok is false where the cell is empty.
func (r row) num(column string) (float64, bool) {
	s := r[column]
	if s == "" {
		return 0, false
	}
	return mustFloat(s), true
}

// must reads a figure that every row has.
func (r row) must(column string) float64 { return mustFloat(r[column]) }

func (r row) status() Status { return parseStatus(r["status"]) }

func mustFloat(s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic(fmt.Sprintf("tables: %q is no figure", s))
	}
	return v
}

// mustGauge reads 10 or 1/0 as unit.Size counts gauges.
func mustGauge(s string) int {
	if n, ok := strings.CutSuffix(s, "/0"); ok {
		return 1 - int(mustFloat(n))
	}
	return int(mustFloat(s))
}

// point is one pair of a curve.
type point struct{ x, y float64 }

// between interpolates straight lines between points sorted by x, and holds the
// end values beyond them.
func between(points []point, x float64) float64 {
	if x <= points[0].x {
		return points[0].y
	}
	for i := 1; i < len(points); i++ {
		if a, b := points[i-1], points[i]; x <= b.x {
			return a.y + (b.y-a.y)*(x-a.x)/(b.x-a.x)
		}
	}
	return points[len(points)-1].y
}
