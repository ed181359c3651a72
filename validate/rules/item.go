package rules

import (
	"strings"

	"fitout/schema/source"
)

// wholeItem widens the span of a list's item to all that has to go with it: in a
// block list its lines with the dash and the comment behind it, in a flow list
// the comma that parts it from its neighbour. It is invalid where the item is
// not recognised.
func wholeItem(s source.Span) source.Span {
	if !s.Valid() {
		return source.Span{}
	}
	text := s.File.Text
	line := strings.LastIndexByte(text[:s.Start], '\n') + 1
	switch before := strings.TrimSpace(text[line:s.Start]); {
	case before == "-":
		return source.Span{File: s.File, Start: line, End: pastLine(text, s.End)}
	case text[s.Start] == '{':
		return flowItem(s)
	}
	return source.Span{}
}

// pastLine returns the offset behind the line end that follows, at i itself
// where i stands at the start of a line.
func pastLine(text string, i int) int {
	if i > 0 && text[i-1] == '\n' {
		return i
	}
	if n := strings.IndexByte(text[i:], '\n'); n >= 0 {
		return i + n + 1
	}
	return len(text)
}

func flowItem(s source.Span) source.Span {
	text, start, end := s.File.Text, s.Start, s.End
	rest := strings.TrimLeft(text[end:], " \t\r\n")
	if strings.HasPrefix(rest, ",") {
		end = len(text) - len(rest) + 1
		end += len(text[end:]) - len(strings.TrimLeft(text[end:], " \t\r\n"))
		return source.Span{File: s.File, Start: start, End: end}
	}
	if ahead := strings.TrimRight(text[:start], " \t\r\n"); strings.HasSuffix(ahead, ",") {
		start = len(ahead) - 1
	}
	return source.Span{File: s.File, Start: start, End: end}
}
