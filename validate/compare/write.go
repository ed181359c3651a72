package compare

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"fitout/schema/diag"
	"fitout/validate/figures"
)

var marks = map[Kind]string{Added: "+", Removed: "-", Changed: "~"}

// writer keeps the first error.
type writer struct {
	w   io.Writer
	err error
}

func (w *writer) line(format string, args ...any) {
	if w.err == nil {
		_, w.err = fmt.Fprintf(w.w, format+"\n", args...)
	}
}

// Text writes the changes for a terminal: +, - and ~ before what was added,
// removed and changed.
func Text(out io.Writer, r Result) error {
	w := &writer{w: out}
	w.line("%s -> %s", r.Old, r.New)
	if r.Empty() {
		w.line("nothing changed")
		return w.err
	}
	section := ""
	for _, it := range r.Items {
		if it.Section != section {
			section = it.Section
			w.line("\n%s", plural(section))
		}
		w.line("  %s %-8s %s", marks[it.Kind], it.ID, it.Title)
		for _, f := range it.Fields {
			w.line("      %-20s %s -> %s", f.Name, orNone(f.Old), orNone(f.New))
		}
	}
	w.figures(r.Figures)
	if len(r.Findings) > 0 {
		w.line("\nfindings")
	}
	for _, f := range r.Findings {
		w.line("  %s %s  %s  (%s)%s", marks[f.Kind], f.now().Severity.Class(), f.now().Message, f.now().Rule, where(*f.now()))
		if f.Kind == Changed {
			w.line("       was %s  %s", f.Old.Severity.Class(), f.Old.Message)
		}
	}
	if len(r.Unchecked) > 0 {
		w.line("\nnot checked")
	}
	for _, u := range r.Unchecked {
		w.line("  %s %s  missing: %s", marks[u.Kind], u.Rule, u.Missing)
	}
	return w.err
}

func (w *writer) figures(list []Figure) {
	if len(list) == 0 {
		return
	}
	w.line("\nfigures")
	for _, f := range list {
		w.line("  ~ %-10s %-8s %-22s %s -> %s", orAlways(f.Condition), f.ID, f.Quantity, figure(f.Old, f.Unit), figure(f.New, f.Unit))
	}
}

// now is the finding as it stands in the new state, or last stood.
func (f Finding) now() *diag.Finding {
	if f.New != nil {
		return f.New
	}
	return f.Old
}

func where(f diag.Finding) string {
	if f.Condition == "" {
		return ""
	}
	return ", in condition " + f.Condition
}

func orNone(s string) string {
	if s == "" {
		return "(not given)"
	}
	return s
}

func orAlways(condition string) string {
	if condition == "" {
		return "always"
	}
	return condition
}

func figure(v *float64, unit string) string {
	if v == nil {
		return "(none)"
	}
	return figures.Round(*v) + " " + unit
}

func plural(section string) string {
	switch section {
	case "vessel", "rules", "sheets":
		return section
	}
	return section + "s"
}

// Markdown writes the changes as tables, for an invoice or a merge request.
func Markdown(out io.Writer, r Result) error {
	w := &writer{w: out}
	w.line("# Changes from %s to %s", escape(r.Old), escape(r.New))
	if r.Empty() {
		w.line("\nNothing changed.")
		return w.err
	}
	section := ""
	for _, it := range r.Items {
		if it.Section != section {
			section = it.Section
			w.line("\n## %s\n\n| | Id | What | Before | After |\n|---|---|---|---|---|", strings.ToUpper(section[:1])+plural(section)[1:])
		}
		if len(it.Fields) == 0 {
			w.line("| %s | %s | %s | | |", it.Kind, escape(it.ID), escape(it.Title))
		}
		for _, f := range it.Fields {
			w.line("| %s | %s | %s | %s | %s |", it.Kind, escape(it.ID), escape(f.Name), escape(f.Old), escape(f.New))
		}
	}
	if len(r.Figures) > 0 {
		w.line("\n## Figures\n\n| Condition | Id | Quantity | Before | After |\n|---|---|---|--:|--:|")
	}
	for _, f := range r.Figures {
		w.line("| %s | %s | %s | %s | %s |", escape(orAlways(f.Condition)), escape(f.ID), f.Quantity, figure(f.Old, f.Unit), figure(f.New, f.Unit))
	}
	if len(r.Findings) > 0 {
		w.line("\n## Findings\n\n| | Class | Rule | Finding |\n|---|---|---|---|")
	}
	for _, f := range r.Findings {
		text := f.now().Message + where(*f.now())
		if f.Kind == Changed {
			text += " (was " + f.Old.Severity.Class() + ": " + f.Old.Message + ")"
		}
		w.line("| %s | %s | %s | %s |", f.Kind, f.now().Severity.Class(), f.now().Rule, escape(text))
	}
	if len(r.Unchecked) > 0 {
		w.line("\n## Not checked\n\n| | Rule | Missing |\n|---|---|---|")
	}
	for _, u := range r.Unchecked {
		w.line("| %s | %s | %s |", u.Kind, u.Rule, escape(u.Missing))
	}
	return w.err
}

// escape keeps text from the file inside its cell, and its marks from being read
// as Markdown or HTML.
var escaper = strings.NewReplacer("|", `\|`, "\n", " ", "\r", " ", "<", "&lt;", ">", "&gt;", "&", "&amp;", "`", "\\`", "*", `\*`, "_", `\_`, "[", `\[`, "]", `\]`)

func escape(s string) string { return escaper.Replace(s) }

type jsonResult struct {
	Old       string          `json:"old"`
	New       string          `json:"new"`
	Changes   []jsonItem      `json:"changes"`
	Figures   []jsonFigure    `json:"figures"`
	Findings  []jsonFinding   `json:"findings"`
	Unchecked []jsonUnchecked `json:"unchecked"`
}

type jsonItem struct {
	Change  Kind        `json:"change"`
	Section string      `json:"section"`
	ID      string      `json:"id"`
	Title   string      `json:"title"`
	Fields  []jsonField `json:"fields"`
}

type jsonField struct {
	Name string  `json:"name"`
	Old  *string `json:"old"`
	New  *string `json:"new"`
}

type jsonFigure struct {
	ID        string   `json:"id"`
	Condition *string  `json:"condition"`
	Quantity  string   `json:"quantity"`
	Unit      string   `json:"unit"`
	Old       *float64 `json:"old"`
	New       *float64 `json:"new"`
}

type jsonFinding struct {
	Change Kind      `json:"change"`
	Rule   string    `json:"rule"`
	At     []string  `json:"at"`
	Old    *jsonSide `json:"old"`
	New    *jsonSide `json:"new"`
}

type jsonSide struct {
	Severity  string   `json:"severity"`
	File      string   `json:"file"`
	Line      int      `json:"line"`
	Message   string   `json:"message"`
	Condition *string  `json:"condition"`
	Value     *float64 `json:"value"`
	Limit     *float64 `json:"limit"`
	Unit      *string  `json:"unit"`
}

type jsonUnchecked struct {
	Change  Kind     `json:"change"`
	Rule    string   `json:"rule"`
	At      []string `json:"at"`
	Missing string   `json:"missing"`
}

// JSON writes the changes as one object.
func JSON(out io.Writer, r Result) error {
	j := jsonResult{Old: r.Old, New: r.New, Changes: []jsonItem{}, Figures: []jsonFigure{}, Findings: []jsonFinding{}, Unchecked: []jsonUnchecked{}}
	for _, it := range r.Items {
		ji := jsonItem{it.Kind, it.Section, it.ID, it.Title, []jsonField{}}
		for _, f := range it.Fields {
			ji.Fields = append(ji.Fields, jsonField{f.Name, orNull(f.Old), orNull(f.New)})
		}
		j.Changes = append(j.Changes, ji)
	}
	for _, f := range r.Figures {
		j.Figures = append(j.Figures, jsonFigure{f.ID, orNull(f.Condition), string(f.Quantity), f.Unit, f.Old, f.New})
	}
	for _, f := range r.Findings {
		j.Findings = append(j.Findings, jsonFinding{f.Kind, f.now().Rule, ids(f.now().At), side(f.Old), side(f.New)})
	}
	for _, u := range r.Unchecked {
		j.Unchecked = append(j.Unchecked, jsonUnchecked{u.Kind, u.Rule, ids(u.At), u.Missing})
	}
	enc := json.NewEncoder(out)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	return enc.Encode(j)
}

func side(f *diag.Finding) *jsonSide {
	if f == nil {
		return nil
	}
	return &jsonSide{f.Severity.String(), f.Span.Name(), f.Span.Line(), f.Message, orNull(f.Condition), f.Value, f.Limit, orNull(f.Unit)}
}

func orNull(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

func ids(list []string) []string {
	if list == nil {
		return []string{}
	}
	return list
}
