// Package report writes findings for people (text) and for programs (JSON,
// SARIF, JUnit). It decides nothing.
package report

import (
	"fmt"
	"io"
	"strings"

	"fitout/schema/diag"
	"fitout/schema/source"
	"fitout/validate/rules"
)

// File is what there is to say about one installation file.
type File struct {
	Name     string
	Problems []diag.Problem
	Result   rules.Result
	// Heading is said once above the findings: which set, and whether the law
	// binds.
	Heading string
}

// TextOptions steer the text form.
type TextOptions struct {
	Color     bool
	Verbose   bool
	NotStated bool
	Unchecked bool
}

// Text writes one file's findings, most severe first, then the counts.
func Text(w io.Writer, f File, o TextOptions) error {
	p := &printer{w: w, color: o.Color}
	if len(f.Problems) > 0 {
		p.problems(f.Problems)
		return p.err
	}
	if f.Heading != "" {
		p.line("%s", f.Heading)
		p.line("")
	}
	for _, x := range f.Result.Findings {
		p.finding(x)
	}
	if len(f.Result.Deviations) > 0 {
		p.line("accepted deviations:")
		for _, x := range f.Result.Deviations {
			p.line("  %s  %s  %s  (%s)", x.Severity.Class(), place(x.Span), x.Message, x.Rule)
			p.line("     accepted by %s: %s", x.Deviation.By, x.Deviation.Why)
		}
		p.line("")
	}
	if o.Unchecked || o.Verbose {
		p.unchecked(f.Result.Unchecked)
	}
	if o.NotStated {
		p.notStated(f.Result.NotStated)
	}
	if o.Verbose {
		p.verbose(f.Result)
	}
	p.counts(f)
	return p.err
}

type printer struct {
	w     io.Writer
	color bool
	err   error
}

func (p *printer) line(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, format+"\n", args...)
	}
}

// paint colours a text where colour is wanted; meaning never rests on it.
func (p *printer) paint(code, text string) string {
	if !p.color {
		return text
	}
	return "\x1b[" + code + "m" + text + "\x1b[0m"
}

var classColor = map[diag.Severity]string{diag.Error: "1;31", diag.Warning: "1;33", diag.Note: "1;34"}

func (p *printer) finding(f diag.Finding) {
	p.line("%s  %s  %s  (%s)", p.paint(classColor[f.Severity], f.Severity.Class()), place(f.Span), f.Message, f.Rule)
	p.excerpt(f.Span)
	for _, r := range f.Related {
		p.line("   see     %s  %s", place(r.Span), r.Message)
	}
	if where := Where(f); where != "" {
		p.line("   where   %s", where)
	}
	for _, row := range [][2]string{{"risk", f.Risk}, {"do", f.Do}, {"source", f.Source}} {
		if row[1] != "" {
			p.line("   %-7s %s", row[0], row[1])
		}
	}
	p.line("")
}

// Where words the condition and the attitude of a finding.
func Where(f diag.Finding) string {
	var parts []string
	if f.Condition != "" {
		parts = append(parts, "in condition "+f.Condition)
	}
	if f.Attitude != "" {
		parts = append(parts, f.Attitude)
	}
	return strings.Join(parts, ", ")
}

func (p *printer) excerpt(s source.Span) {
	text, caret := s.Excerpt()
	if text == "" {
		return
	}
	indent := len(text) - len(strings.TrimLeft(text, " \t"))
	indent = min(indent, len(caret))
	p.line("     %s", strings.TrimRight(text[indent:], " \t"))
	p.line("     %s", p.paint("32", strings.TrimRight(caret[min(indent, max(0, strings.IndexByte(caret, '^'))):], " ")))
}

func place(s source.Span) string {
	if !s.Valid() {
		return "-"
	}
	line, column := s.Position()
	return fmt.Sprintf("%s:%d:%d", s.Name(), line, column)
}

func (p *printer) problems(list []diag.Problem) {
	for _, x := range list {
		near := ""
		if x.Near != "" && !strings.Contains(x.Message, x.Near) {
			near = fmt.Sprintf("; did you mean %s?", x.Near)
		}
		p.line("%s: %s%s", place(x.Span), x.Message, near)
		p.excerpt(x.Span)
		for _, r := range x.Related {
			p.line("     %s: %s", place(r.Span), r.Message)
		}
	}
	p.line("%s: not read as an installation; nothing was judged or drawn", plural(len(list), "mistake"))
}

func (p *printer) unchecked(list []diag.Unchecked) {
	if len(list) == 0 {
		return
	}
	p.line("not checked, for want of a datum:")
	for _, u := range list {
		p.line("  %-20s %-12s missing: %s  (%s)", u.Rule, strings.Join(u.At, ", "), u.Missing, place(u.Span))
	}
	p.line("")
}

func (p *printer) notStated(list []diag.NotStated) {
	if len(list) == 0 {
		return
	}
	p.line("not stated, by space: look at these aboard")
	space := "\x00"
	for _, n := range list {
		if n.Space != space {
			space = n.Space
			name := space
			if name == "" {
				name = "(no space given)"
			}
			p.line("  %s", name)
		}
		p.line("    %-10s %s", n.At, n.What)
	}
	p.line("")
}

func (p *printer) verbose(r rules.Result) {
	p.line("what each rule looked at:")
	for _, l := range r.Looked {
		p.line("  %-22s %d", l.Rule, l.Count)
	}
	p.line("")
	if len(r.Used) == 0 {
		return
	}
	p.line("defaults used:")
	for _, u := range r.Used {
		p.line("  %-10s %s: %s  (%s)", u.At, u.What, u.Value, u.Source)
	}
	p.line("")
}

func (p *printer) counts(f File) {
	r := f.Result
	p.line("%s: %s, %s, %s, %s, not checked: %d%s", f.Name,
		plural(r.Count(diag.Error), "error"), plural(r.Count(diag.Warning), "warning"), plural(r.Count(diag.Note), "note"),
		plural(len(r.Deviations), "accepted deviation"), len(r.Unchecked), missing(r.Unchecked))
}

// Summary writes one line over several files; nothing for one.
func Summary(w io.Writer, files []File) error {
	if len(files) < 2 {
		return nil
	}
	var unread, errors, warnings, notes, unchecked, clean int
	for _, f := range files {
		if len(f.Problems) > 0 {
			unread++
			continue
		}
		e, b, c := f.Result.Count(diag.Error), f.Result.Count(diag.Warning), f.Result.Count(diag.Note)
		errors, warnings, notes, unchecked = errors+e, warnings+b, notes+c, unchecked+len(f.Result.Unchecked)
		if e+b == 0 {
			clean++
		}
	}
	_, err := fmt.Fprintf(w, "%s: %d without error or warning, %d not read; %s, %s, %s, not checked: %d\n",
		plural(len(files), "file"), clean, unread, plural(errors, "error"), plural(warnings, "warning"), plural(notes, "note"), unchecked)
	return err
}

// missing names the data that are missing most, so that the last line tells what
// to fill in first.
func missing(list []diag.Unchecked) string {
	if len(list) == 0 {
		return ""
	}
	var names []string
	seen := map[string]bool{}
	for _, u := range list {
		if !seen[u.Missing] {
			seen[u.Missing] = true
			names = append(names, u.Missing)
		}
	}
	const most = 3
	if len(names) > most {
		return fmt.Sprintf(" (%s and %d more; --verbose lists them)", strings.Join(names[:most], "; "), len(names)-most)
	}
	return " (" + strings.Join(names, "; ") + ")"
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}
