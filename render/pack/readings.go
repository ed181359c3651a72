package pack

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"fitout/schema"
)

// csvHead are the columns of the commissioning file. The empty ones are filled
// in aboard.
var csvHead = [...]string{"no", "condition", "at", "measure", "where", "quantity", "unit", "predicted", "within_percent", "measured", "date", "note", "good_from", "good_to", "good", "tolerance_by", "bucket_l", "other_unit", "predicted_other"}

// needed are the columns without which a file is not read back.
const needed = 12

// WriteCSV writes the commissioning sheet to be filled in; us gives the figures
// in gpm and °F beside the others.
func WriteCSV(w io.Writer, list []Measurement, us bool) error {
	c := csv.NewWriter(w)
	if err := c.Write(csvHead[:]); err != nil {
		return err
	}
	for _, x := range list {
		if err := c.Write(csvLine(x, us)); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

func csvLine(x Measurement, us bool) []string {
	line := make([]string, 0, len(csvHead))
	for _, cell := range []string{strconv.Itoa(x.No), x.Condition, x.At, x.What, x.Place, x.Quantity} {
		line = append(line, guard(cell))
	}
	predicted, within, from, to, bucket := "", "", "", "", ""
	if x.Unit != "" {
		predicted = strconv.FormatFloat(x.Predicted, 'f', 3, 64)
		from, to, _ = strings.Cut(bandText(x), bandDash)
	}
	if x.Within > 0 {
		within = strconv.FormatFloat(100*float64(x.Within), 'f', -1, 64)
	}
	if x.Bucket > 0 {
		bucket = strconv.FormatFloat(x.Bucket, 'f', -1, 64)
	}
	other, in, ok := otherSystem(x.Unit, x.Predicted, us)
	said := ""
	if ok {
		said = figureText(other)
	}
	return append(line, x.Unit, predicted, within, "", "", "", from, to, guard(x.Good), guard(x.Source), bucket, in, said)
}

// guard keeps a spreadsheet from reading a text as a formula.
func guard(s string) string {
	if s != "" && strings.ContainsRune("=+@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

// Filled is what was read from a commissioning file.
type Filled struct {
	// Lines are the entries of the section `readings:`, as the installation file
	// spells them.
	Lines []string
	// Notes are the rows with a value that no reading can hold: what was measured,
	// and the value.
	Notes []string
}

// Readings reads a commissioning file that was filled in, the rows with a value. Commas, semicolons and tabs part cells; a byte order mark is
// passed over. A row that cannot be read, names what the boat does not have, or
// says again what another row says is an error with its line. Without a boat
// names are not looked up.
func Readings(r io.Reader, b *schema.Boat) (Filled, error) {
	var out Filled
	rows, err := csvRows(r, csvHead[:needed])
	if err != nil {
		return out, err
	}
	seen := map[string]int{}
	for _, row := range rows {
		switch {
		case row.cell("measured") == "":
			continue
		case row.cell("quantity") == noteQuantity:
			out.Notes = append(out.Notes, strings.TrimSpace(row.cell("at")+": "+row.cell("measure"))+": "+row.cell("measured"))
			continue
		}
		text, err := readingLine(row.cell)
		if err == nil {
			err = known(b, row.cell("condition"), row.cell("at"))
		}
		if err != nil {
			return Filled{}, fmt.Errorf("line %d: %w", row.line, err)
		}
		key := strings.Join([]string{row.cell("condition"), row.cell("at"), row.cell("quantity"), row.cell("date")}, "\x00")
		if first, has := seen[key]; has {
			return Filled{}, fmt.Errorf("line %d: %s at %s in %s stands on line %d already", row.line, row.cell("quantity"), row.cell("at"), row.cell("condition"), first)
		}
		seen[key] = row.line
		out.Lines = append(out.Lines, text)
	}
	return out, nil
}

// csvRow is a line of a filled-in file; cell finds a value by its column, "" where
// the file has no such column.
type csvRow struct {
	line int
	cell func(column string) string
}

// csvRows reads a file whose first line names its columns, which must hold those
// needed.
func csvRows(r io.Reader, needs []string) ([]csvRow, error) {
	data, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	c := csv.NewReader(bytes.NewReader(data))
	c.FieldsPerRecord = -1
	c.Comma = separator(data)
	var out []csvRow
	var col map[string]int
	for {
		row, err := c.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if col == nil {
			if col, err = columns(row, needs); err != nil {
				return nil, err
			}
			continue
		}
		line, _ := c.FieldPos(0)
		out = append(out, csvRow{line, func(name string) string {
			if k, ok := col[name]; ok && k < len(row) {
				return strings.TrimPrefix(strings.TrimSpace(row[k]), "'")
			}
			return ""
		}})
	}
	if col == nil {
		return nil, fmt.Errorf("the file is empty")
	}
	return out, nil
}

// separator is what parts the cells of the first line.
func separator(data []byte) rune {
	head, _, _ := bytes.Cut(data, []byte("\n"))
	best := ','
	for _, c := range []rune{';', '\t'} {
		if strings.Count(string(head), string(c)) > strings.Count(string(head), string(best)) {
			best = c
		}
	}
	return best
}

// known looks up the names of a row.
func known(b *schema.Boat, condition, at string) error {
	if b == nil {
		return nil
	}
	if !slices.ContainsFunc(b.Conditions, func(c *schema.Condition) bool { return c.ID == condition }) {
		return fmt.Errorf("the boat has no condition %q", condition)
	}
	id, terminal, dotted := strings.Cut(at, ".")
	p := b.Part(id)
	if p == nil {
		return fmt.Errorf("the boat has no part %q", id)
	}
	if dotted {
		if _, ok := p.Terminal(terminal); !ok {
			return fmt.Errorf("%s has no terminal %q", id, terminal)
		}
	}
	return nil
}

func columns(head, needs []string) (map[string]int, error) {
	col := map[string]int{}
	for i, h := range head {
		col[strings.TrimPrefix(strings.TrimSpace(h), "\ufeff")] = i
	}
	for _, need := range needs {
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
	x, unit, err := measuredValue(q, cell)
	if err != nil {
		return "", err
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

// readingUnits are the units that a value may be typed in, the quantity's own
// first, as the installation file spells them.
func readingUnits(quantity string) []string {
	switch quantity {
	case "volts":
		return []string{"V", "mV"}
	case "current":
		return []string{"A", "mA"}
	case "flow":
		return []string{"L/min", "gpm"}
	case "head":
		return []string{"m head"}
	}
	return []string{"K", "°F"}
}

// measuredValue is what stands in the column `measured`: a figure in the row's
// unit or in one typed behind it; a flow also as the seconds a bucket took.
func measuredValue(q string, cell func(string) string) (x float64, unit string, err error) {
	text := strings.TrimSpace(strings.ReplaceAll(cell("measured"), ",", "."))
	wrong := fmt.Errorf("measured %q is not a figure", cell("measured"))
	units := readingUnits(q)
	unit = units[0]
	if slices.Contains(units, cell("unit")) {
		unit = cell("unit")
	}
	if q == "flow" && strings.HasSuffix(text, "s") {
		bucket, err := strconv.ParseFloat(cell("bucket_l"), 64)
		s, err2 := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(text, "s")), 64)
		if err != nil || err2 != nil || !(s > 0) || math.IsInf(s, 0) || !(bucket > 0) {
			return 0, "", wrong
		}
		return math.Round(60e4*bucket/s) / 1e4, "L/min", nil
	}
	longest := ""
	for _, u := range append(slices.Clone(units), cell("unit")) {
		if u != "" && strings.HasSuffix(text, u) && len(u) > len(longest) {
			longest = u
		}
	}
	if longest != "" && slices.Contains(units, longest) {
		unit = longest
	}
	x, err = strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(text, longest)), 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return 0, "", wrong
	}
	return x, unit, nil
}
