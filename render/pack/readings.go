package pack

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
)

// csvHead are the columns of the commissioning file. The empty ones are filled
// in aboard.
var csvHead = [...]string{"no", "condition", "at", "measure", "where", "quantity", "unit", "predicted", "within_percent", "measured", "date", "note"}

// WriteCSV writes the commissioning sheet to be filled in.
func WriteCSV(w io.Writer, list []Measurement) error {
	c := csv.NewWriter(w)
	if err := c.Write(csvHead[:]); err != nil {
		return err
	}
	for _, x := range list {
		line := []string{strconv.Itoa(x.No), x.Condition, x.At, x.What, x.Place, x.Quantity, x.Unit, strconv.FormatFloat(x.Predicted, 'f', 3, 64), strconv.FormatFloat(100*x.Within, 'f', -1, 64), "", "", ""}
		for i, cell := range line[:6] {
			line[i] = guard(cell)
		}
		if err := c.Write(line); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// guard keeps a spreadsheet from reading a text as a formula.
func guard(s string) string {
	if s != "" && strings.ContainsRune("=+@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

// Readings reads a commissioning file that was filled in and returns the lines
// of the section `readings:` for the rows with a value, as the installation file
// spells them. A row that cannot be read is an error with its line.
func Readings(r io.Reader) ([]string, error) {
	c := csv.NewReader(r)
	c.FieldsPerRecord = -1
	all, err := c.ReadAll()
	if err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, fmt.Errorf("the file is empty")
	}
	col, err := columns(all[0])
	if err != nil {
		return nil, err
	}
	var out []string
	for i, row := range all[1:] {
		cell := func(name string) string {
			if k := col[name]; k < len(row) {
				return strings.TrimPrefix(strings.TrimSpace(row[k]), "'")
			}
			return ""
		}
		if cell("measured") == "" {
			continue
		}
		line, err := readingLine(cell)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", i+2, err)
		}
		out = append(out, line)
	}
	return out, nil
}

func columns(head []string) (map[string]int, error) {
	col := map[string]int{}
	for i, h := range head {
		col[strings.TrimPrefix(strings.TrimSpace(h), "\ufeff")] = i
	}
	for _, need := range csvHead {
		if _, ok := col[need]; !ok {
			return nil, fmt.Errorf("there is no column %q; the first line must be that of the file fitout wrote", need)
		}
	}
	return col, nil
}

// readingLine is one entry in the words of the file.
func readingLine(cell func(string) string) (string, error) {
	q := cell("quantity")
	if !slices.Contains([]string{"volts", "current", "flow", "head", "rise"}, q) {
		return "", fmt.Errorf("quantity %q is not volts, current, flow, head or rise", q)
	}
	unit := map[string]string{"volts": "V", "current": "A", "flow": "L/min", "head": "m head", "rise": "K"}[q]
	v := strings.TrimSpace(strings.TrimSuffix(strings.ReplaceAll(cell("measured"), ",", "."), cell("unit")))
	x, err := strconv.ParseFloat(v, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return "", fmt.Errorf("measured %q is not a figure", cell("measured"))
	}
	for _, k := range []string{"condition", "at", "date"} {
		if strings.ContainsAny(cell(k), "{}[],:#&*!|>'\"%@`\n") {
			return "", fmt.Errorf("%s %q holds a letter that no id has", k, cell(k))
		}
	}
	var parts []string
	if d := cell("date"); d != "" {
		parts = append(parts, "date: "+d)
	}
	parts = append(parts, "condition: "+cell("condition"), "at: "+cell("at"), fmt.Sprintf("%s: %s %s", q, strconv.FormatFloat(x, 'f', -1, 64), unit))
	if w := cell("within_percent"); w != "" {
		p, err := strconv.ParseFloat(w, 64)
		if err != nil || p <= 0 || p > 100 {
			return "", fmt.Errorf("within_percent %q is not a figure up to 100", w)
		}
		parts = append(parts, "within: "+strconv.FormatFloat(p, 'f', -1, 64)+" %")
	}
	if n := cell("note"); n != "" {
		parts = append(parts, "note: "+strconv.Quote(n))
	}
	return "  - {" + strings.Join(parts, ", ") + "}", nil
}
