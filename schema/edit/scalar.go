package edit

import (
	"strconv"
	"strings"

	"fitout/schema/read"
	"fitout/schema/source"
)

// scalar writes a text as a YAML value for a place in flow or block style, plain
// where that reads back as the same text, else in the quotes asked for.
func scalar(text string, flow bool, style read.Style) string {
	single := "'" + strings.ReplaceAll(text, "'", "''") + "'"
	double := strconv.Quote(text)
	candidates := []string{text, single, double}
	switch style {
	case read.SingleQuoted:
		candidates = []string{single, double}
	case read.DoubleQuoted:
		candidates = []string{double, single}
	}
	for _, c := range candidates {
		if readsAs(c, text, flow) {
			return c
		}
	}
	return double
}

// readsAs reports whether a written value reads back as the text.
func readsAs(written, text string, flow bool) bool {
	if strings.ContainsAny(written, "\n\r") {
		return false
	}
	doc := "k: " + written + "\nl: m\n"
	if flow {
		doc = "{k: " + written + ", l: m}"
	}
	root, problems := read.Tree(source.New("", doc))
	if len(problems) > 0 || root == nil || root.Kind != read.Map || len(root.Entries) != 4 {
		return false
	}
	v := root.Entries[1]
	return v.Kind == read.Scalar && v.Text == text && !v.Null && root.Entries[2].Text == "l"
}

// list writes texts as a flow list.
func list(texts []string) string {
	parts := make([]string, len(texts))
	for i, t := range texts {
		parts[i] = "null"
		if t != "" {
			parts[i] = scalar(t, true, read.Plain)
		}
	}
	return "[" + strings.Join(parts, ", ") + "]"
}

// valueText writes a value for the file: a mapping of figures by figures as it
// stands, so that a curve can be given, all else as a scalar.
func valueText(value string, flow bool, style read.Style) string {
	if isCurve(value) {
		return value
	}
	return scalar(value, flow, style)
}

// isCurve reports whether a text is a mapping in braces whose every key begins
// with a figure and has a value.
func isCurve(value string) bool {
	if !strings.HasPrefix(value, "{") || strings.ContainsAny(value, "\n\r") {
		return false
	}
	root, problems := read.Tree(source.New("", "{k: "+value+", l: m}"))
	if len(problems) > 0 || root == nil || root.Kind != read.Map || len(root.Entries) != 4 {
		return false
	}
	m := root.Entries[1]
	for i, n := range m.Entries {
		if n.Kind != read.Scalar || n.Null || i%2 == 0 && strings.IndexAny(n.Text, "0123456789.") != 0 {
			return false
		}
	}
	return m.Kind == read.Map && len(m.Entries) > 0
}
