package list

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/mattn/go-runewidth"
)

// Formats returns the forms a list can be written in.
func Formats() []string { return []string{"text", "csv", "xlsx", "markdown", "json"} }

// Write writes a list in one of Formats.
func Write(w io.Writer, t Table, format string) error {
	switch format {
	case "text":
		return writeText(w, t)
	case "csv":
		return writeCSV(w, t)
	case "markdown", "md":
		return writeMarkdown(w, t)
	case "json":
		return writeJSON(w, t)
	case "xlsx":
		return WriteWorkbook(w, []Table{t})
	}
	return fmt.Errorf("a list cannot be written as %q: %s", format, strings.Join(Formats(), ", "))
}

func writeText(w io.Writer, t Table) error {
	if err := writeTextOf(w, t); err != nil {
		return err
	}
	for _, x := range t.Beside {
		if _, err := io.WriteString(w, "\n"); err != nil {
			return err
		}
		if err := writeText(w, x); err != nil {
			return err
		}
	}
	return nil
}

func writeTextOf(w io.Writer, t Table) error {
	var b strings.Builder
	b.WriteString(t.Title + "\n\n")
	widths := make([]int, len(t.Columns))
	used := make([]bool, len(t.Columns))
	for i, c := range t.Columns {
		widths[i] = runewidth.StringWidth(c.Title)
		for _, r := range t.Rows {
			widths[i] = max(widths[i], runewidth.StringWidth(r[i].Text))
			used[i] = used[i] || r[i].Text != ""
		}
	}
	row := func(cells []string) {
		var l strings.Builder
		for i, c := range cells {
			if !used[i] {
				continue
			}
			pad := strings.Repeat(" ", widths[i]-runewidth.StringWidth(c))
			if t.Columns[i].Right {
				l.WriteString(pad + c + "  ")
			} else {
				l.WriteString(c + pad + "  ")
			}
		}
		b.WriteString(strings.TrimRight(l.String(), " ") + "\n")
	}
	heads := make([]string, len(t.Columns))
	rule := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		heads[i], rule[i] = c.Title, strings.Repeat("-", widths[i])
	}
	if len(t.Rows) > 0 {
		row(heads)
		row(rule)
	}
	for _, r := range t.Rows {
		row(texts(r))
	}
	for _, n := range t.Notes {
		b.WriteString("\n" + n)
	}
	if len(t.Notes) > 0 {
		b.WriteString("\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func texts(row []Cell) []string {
	out := make([]string, len(row))
	for i, c := range row {
		out[i] = c.Text
	}
	return out
}

// writeCSV keeps a point as decimal mark and one header line of keys; numbers
// are in the key's unit.
func writeCSV(w io.Writer, t Table) error {
	c := csv.NewWriter(w)
	var keys []string
	for _, col := range t.Columns {
		keys = append(keys, col.Key)
	}
	if err := c.Write(keys); err != nil {
		return err
	}
	for _, r := range t.Rows {
		out := make([]string, len(r))
		for i, cell := range r {
			out[i] = guard(cell.Text)
			if cell.Number != nil {
				out[i] = trim(*cell.Number)
			}
		}
		if err := c.Write(out); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// guard keeps a spreadsheet from reading a text as a formula.
func guard(s string) string {
	if s != "" && strings.ContainsRune("=@\t\r", rune(s[0])) {
		return "'" + s
	}
	return s
}

func trim(f float64) string {
	s := fmt.Sprintf("%.6f", f)
	return strings.TrimRight(strings.TrimRight(s, "0"), ".")
}

func writeMarkdown(w io.Writer, t Table) error {
	var b strings.Builder
	b.WriteString("## " + t.Title + "\n\n")
	esc := strings.NewReplacer("|", `\|`, "\n", " ", "<", "&lt;")
	for _, c := range t.Columns {
		b.WriteString("| " + c.Title + " ")
	}
	b.WriteString("|\n")
	for _, c := range t.Columns {
		if c.Right {
			b.WriteString("|---:")
		} else {
			b.WriteString("|---")
		}
	}
	b.WriteString("|\n")
	for _, r := range t.Rows {
		for _, c := range r {
			b.WriteString("| " + esc.Replace(c.Text) + " ")
		}
		b.WriteString("|\n")
	}
	for _, n := range t.Notes {
		b.WriteString("\n" + esc.Replace(n) + "\n")
	}
	if _, err := io.WriteString(w, b.String()); err != nil {
		return err
	}
	for _, x := range t.Beside {
		if _, err := io.WriteString(w, "\n"); err != nil {
			return err
		}
		if err := writeMarkdown(w, x); err != nil {
			return err
		}
	}
	return nil
}

type jsonList struct {
	List   string           `json:"list"`
	Title  string           `json:"title"`
	Rows   []map[string]any `json:"rows"`
	Notes  []string         `json:"notes"`
	Beside []jsonList       `json:"beside,omitempty"`
}

func writeJSON(w io.Writer, t Table) error {
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(jsonOf(t))
}

func jsonOf(t Table) jsonList {
	out := jsonList{List: t.Name, Title: t.Title, Rows: []map[string]any{}, Notes: t.Notes}
	for _, r := range t.Rows {
		m := map[string]any{}
		for i, c := range r {
			if c.Number != nil {
				m[t.Columns[i].Key] = *c.Number
			} else {
				m[t.Columns[i].Key] = c.Text
			}
		}
		out.Rows = append(out.Rows, m)
	}
	for _, x := range t.Beside {
		out.Beside = append(out.Beside, jsonOf(x))
	}
	return out
}
