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
var csvHead = [...]string{"no", "condition", "at", "measure", "where", "quantity", "unit", "predicted", "within_percent", "measured", "date", "note", "good_from", "good_to"}

// needed are the columns without which a file is not read back.
const needed = 12

// WriteCSV writes the commissioning sheet to be filled in.
func WriteCSV(w io.Writer, list []Measurement) error {
	c := csv.NewWriter(w)
	if err := c.Write(csvHead[:]); err != nil {
		return err
	}
	for _, x := range list {
		from, to, _ := strings.Cut(bandText(x), " – ")
		line := []string{strconv.Itoa(x.No), x.Condition, x.At, x.What, x.Place, x.Quantity, x.Unit, strconv.FormatFloat(x.Predicted, 'f', 3, 64), strconv.FormatFloat(100*float64(x.Within), 'f', -1, 64), "", "", "", from, to}
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
// spells them. Commas, semicolons and tabs part cells; a byte order mark is
// passed over. A row that cannot be read, names what the boat does not have, or
// says again what another row says is an error with its line. Without a boat
// names are not looked up.
func Readings(r io.Reader, b *schema.Boat) ([]string, error) {
	data, err := io.ReadAll(r)
	if err != nil {
		return nil, err
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	c := csv.NewReader(bytes.NewReader(data))
	c.FieldsPerRecord = -1
	c.Comma = separator(data)
	var out []string
	var col map[string]int
	seen := map[string]int{}
	for {
		row, err := c.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, err
		}
		if col == nil {
			if col, err = columns(row); err != nil {
				return nil, err
			}
			continue
		}
		line, _ := c.FieldPos(0)
		cell := func(name string) string {
			if k := col[name]; k < len(row) {
				return strings.TrimPrefix(strings.TrimSpace(row[k]), "'")
			}
			return ""
		}
		if cell("measured") == "" {
			continue
		}
		text, err := readingLine(cell)
		if err == nil {
			err = known(b, cell("condition"), cell("at"))
		}
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", line, err)
		}
		key := strings.Join([]string{cell("condition"), cell("at"), cell("quantity"), cell("date")}, "\x00")
		if first, has := seen[key]; has {
			return nil, fmt.Errorf("line %d: %s at %s in %s stands on line %d already", line, cell("quantity"), cell("at"), cell("condition"), first)
		}
		seen[key] = line
		out = append(out, text)
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

func columns(head []string) (map[string]int, error) {
	col := map[string]int{}
	for i, h := range head {
		col[strings.TrimPrefix(strings.TrimSpace(h), "\ufeff")] = i
	}
	for _, need := range csvHead[:needed] {
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
