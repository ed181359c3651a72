package edit

import (
	"fmt"
	"strings"

	"fitout/schema/diag"
	"fitout/schema/read"
	"fitout/schema/source"
)

// Readings adds entries, written as flow mappings, behind those of the section
// `readings:`, or opens that section at the end of the main file.
func (e *Editor) Readings(entries []string) ([]diag.Edit, error) {
	if len(entries) == 0 {
		return nil, nil
	}
	for _, f := range e.boat.Files {
		x := e.files[f]
		if x == nil || x.root == nil || x.root.Kind != read.Map {
			continue
		}
		if key, value := pair(x.root, "readings"); key != nil {
			return appendTo(key, value, entries)
		}
	}
	f := e.boat.Files[0]
	root := e.files[f].root
	if root == nil || root.Kind != read.Map || root.Style != read.Block {
		return nil, fmt.Errorf("%s is not written in lines: add the section readings: by hand", f.Name)
	}
	end := lineEnd(f.Text, root.End)
	nl := newline(f.Text, len(f.Text))
	return []diag.Edit{{Span: source.Span{File: f, Start: end, End: end}, New: nl + "readings:" + items(entries, "  ", nl)}}, nil
}

// appendTo adds entries to a list in lines, in brackets, or empty.
func appendTo(key, value *read.Node, entries []string) ([]diag.Edit, error) {
	text := key.File.Text
	at := func(start, end int, s string) []diag.Edit {
		return []diag.Edit{{Span: source.Span{File: key.File, Start: start, End: end}, New: s}}
	}
	switch {
	case value.Kind == read.Scalar && value.Null && value.Start == value.End:
		end := lineEnd(text, key.End)
		return at(end, end, items(entries, "  ", newline(text, key.End))), nil
	case value.Kind == read.Scalar && value.Null:
		return at(value.Start, value.End, "["+strings.Join(entries, ", ")+"]"), nil
	case value.Kind != read.List || len(value.Entries) == 0 && text[value.Start] != '[':
		return nil, fmt.Errorf("the section readings: is no list of its own")
	case len(value.Entries) == 0:
		return at(value.Start, value.End, "["+strings.Join(entries, ", ")+"]"), nil
	}
	last := value.Entries[len(value.Entries)-1]
	if text[value.Start] == '[' {
		return at(last.End, last.End, ", "+strings.Join(entries, ", ")), nil
	}
	first, _ := ownLine(text, value.Entries[0].Start)
	indent := first[:len(first)-len(strings.TrimLeft(first, " "))]
	end := lineEnd(text, last.End)
	if last.End > 0 && text[last.End-1] == '\n' {
		end = lineEnd(text, last.End-1-len(newline(text, last.Start))+1)
	}
	return at(end, end, items(entries, indent, newline(text, last.Start))), nil
}

func items(entries []string, indent, nl string) string {
	var b strings.Builder
	for _, s := range entries {
		b.WriteString(nl + indent + "- " + s)
	}
	return b.String()
}
