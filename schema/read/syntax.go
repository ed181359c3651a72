package read

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode/utf8"
)

const secondDocument = "a second document begins"

// screen refuses text that the YAML library should not see, with the place.
func screen(text string) *treeError {
	if len(text) > mostText {
		return &treeError{0, 0, fmt.Sprintf("the file has %d MB; at most %d MB are read", len(text)>>20, mostText>>20)}
	}
	values := 0
	for i := 0; i < len(text); {
		c := text[i]
		switch {
		case c >= utf8.RuneSelf:
			r, n := utf8.DecodeRuneInString(text[i:])
			if r == utf8.RuneError && n == 1 {
				return &treeError{i, i + 1, fmt.Sprintf("the byte 0x%02X is not UTF-8 text", c)}
			}
			if r == '\uFEFF' && i > 0 || r > 0x7F && r < 0xA0 && r != 0x85 || r == 0xFFFE || r == 0xFFFF {
				return &treeError{i, i + n, fmt.Sprintf("the character U+%04X may not stand in the file", r)}
			}
			i += n
			continue
		case c < ' ' && c != '\n' && c != '\r' && c != '\t', c == 0x7F:
			return &treeError{i, i + 1, fmt.Sprintf("the control character 0x%02X may not stand in the file", c)}
		case c == ',' || c == '\n' || c == '[' || c == '{' || c == ':':
			values++
		}
		i++
	}
	if values > 2*mostValues {
		return &treeError{0, 0, fmt.Sprintf("the file holds more than %d million values", mostValues/1_000_000)}
	}
	return nil
}

var (
	errorLine   = regexp.MustCompile(`^yaml: line (\d+): `)
	errorAnchor = regexp.MustCompile(`unknown anchor '(.*)' referenced`)
)

// explain turns an error of the YAML library into a place and plain words. The
// library gives a line at most, often the wrong one, and never a column; our own
// look at brackets and quotes finds the common mistakes exactly.
func explain(text string, err error) *treeError {
	said := err.Error()
	line := 1
	if m := errorLine.FindStringSubmatch(said); m != nil {
		line, _ = strconv.Atoi(m[1])
		said = said[len(m[0]):]
	}
	said = strings.TrimPrefix(said, "yaml: ")
	if m := errorAnchor.FindStringSubmatch(said); m != nil {
		return missingAnchor(text, m[1])
	}
	if strings.Contains(said, secondDocument) {
		at := lineOffset(text, line)
		return &treeError{at, lineEnd(text, at), "a second document begins here; one file is one installation"}
	}
	if fault := unbalanced(text); fault != nil {
		return fault
	}
	at := lineOffset(text, line)
	if fault := badStart(text, at, said); fault != nil {
		return fault
	}
	return &treeError{at, lineEnd(text, at), plainWords(said)}
}

func missingAnchor(text, name string) *treeError {
	at := max(strings.Index(text, "*"+name), 0)
	return &treeError{at, min(at+1+len(name), len(text)), fmt.Sprintf("no anchor &%s stands before this alias", name)}
}

// lineOffset returns the first character of a line that is not blank.
func lineOffset(text string, line int) int {
	at := 0
	for n := 1; n < line && at < len(text); n++ {
		at = next(text, lineEnd(text, at))
	}
	for at < len(text) && isBlank(text[at]) {
		at++
	}
	return at
}

// badStart finds a tab used as indentation and a value that begins with a
// character YAML keeps for itself, on the line reported or the one after it.
func badStart(text string, at int, said string) *treeError {
	if !strings.Contains(said, "cannot start any token") {
		return nil
	}
	start := lineStart(text, at)
	for range 2 {
		stop := lineEnd(text, start)
		line := text[start:stop]
		body := strings.TrimLeft(line, " \t")
		if tab := strings.IndexByte(line[:len(line)-len(body)], '\t'); tab >= 0 {
			return &treeError{start + tab, start + tab + 1, "a tab may not indent; use blanks"}
		}
		for i := 0; i < len(line); i++ {
			before := strings.TrimRight(line[:i], " \t")
			fresh := before == "" || strings.HasSuffix(before, ":") && before != line[:i] || strings.HasSuffix(before, "-") && before != line[:i] || strings.ContainsAny(before[len(before)-1:], "[{,")
			if fresh && (line[i] == '@' || line[i] == '`' || line[i] == '%') {
				return &treeError{start + i, start + i + 1, fmt.Sprintf("a value that begins with %c must stand in quotes", line[i])}
			}
		}
		start = next(text, stop)
	}
	return nil
}

// unbalanced looks for a bracket or quote that is not closed.
func unbalanced(text string) *treeError {
	var open []int
	for i := 0; i < len(text); {
		fresh := i == 0 || isBlank(text[i-1]) || strings.IndexByte("\n\r,[{:", text[i-1]) >= 0
		switch c := text[i]; {
		case c == '#' && (i == 0 || isBlank(text[i-1]) || text[i-1] == '\n' || text[i-1] == '\r'):
			i = lineEnd(text, i)
			continue
		case (c == '"' || c == '\'') && fresh:
			end := quoteEnd(text, i)
			if end == len(text) && (end-i < 2 || text[end-1] != c) {
				return &treeError{i, lineEnd(text, i), "a quote is opened here and never closed"}
			}
			i = end
			continue
		case (c == '|' || c == '>') && fresh && len(open) == 0 && blockHeader(text, i):
			i = blockEnd(text, i)
			continue
		case c == '[' || c == '{':
			if fresh || len(open) > 0 {
				open = append(open, i)
			}
		case (c == ']' || c == '}') && len(open) > 0:
			last := open[len(open)-1]
			if c-text[last] != 2 { // [ ] and { } are two apart
				return &treeError{last, last + 1, fmt.Sprintf("%c is not closed before %c", text[last], c)}
			}
			open = open[:len(open)-1]
		case len(open) > 0 && c == '\n' && startsKey(text, i+1):
			last := open[len(open)-1]
			return &treeError{last, last + 1, fmt.Sprintf("%c is opened here and never closed", text[last])}
		}
		i++
	}
	if len(open) > 0 {
		last := open[len(open)-1]
		return &treeError{last, last + 1, fmt.Sprintf("%c is opened here and never closed", text[last])}
	}
	return nil
}

func blockHeader(text string, i int) bool {
	rest := strings.TrimSpace(text[i+1 : lineEnd(text, i)])
	return strings.Trim(rest, "+-0123456789") == "" || strings.HasPrefix(strings.TrimLeft(rest, "+-0123456789"), " #")
}

// startsKey reports that an unindented key begins at i: no flow collection goes
// on past that.
func startsKey(text string, i int) bool {
	line := text[min(i, len(text)):lineEnd(text, min(i, len(text)))]
	key, _, ok := strings.Cut(line, ":")
	return ok && key != "" && strings.Trim(key, "abcdefghijklmnopqrstuvwxyz-") == ""
}

func plainWords(said string) string {
	for _, known := range [][2]string{
		{"did not find expected ',' or '}'", "a } or a comma is missing"},
		{"did not find expected ',' or ']'", "a ] or a comma is missing"},
		{"mapping values are not allowed", "a colon stands where no key can be; text that holds ': ' needs quotes"},
		{"could not find expected ':'", "a colon is missing after a key"},
		{"did not find expected key", "this line does not fit the ones above it: look at the indentation, a missing colon or a missing quote"},
		{"did not find expected '-' indicator", "this line does not fit the list above it: look at the indentation"},
		{"block sequence entries are not allowed", "a dash stands where no list can begin"},
		{"cannot start any token", "a tab or a character that YAML keeps for itself stands here"},
		{"found unexpected end of stream", "the file ends inside a quote or bracket"},
		{"found unexpected document indicator", "--- stands inside a quote or bracket"},
		{"unknown escape character", "after \\ a letter stands that is no escape; write the text in single quotes"},
		{"exceeded max depth", fmt.Sprintf("more than %d levels inside one another", mostLevels)},
		{"did not find expected node content", "a value is missing here"},
		{"did not find expected <document start>", "the file goes on after its end"},
	} {
		if strings.Contains(said, known[0]) {
			return known[1]
		}
	}
	return "the file is not YAML: " + said
}
