package read

import "strings"

// skipAnchor returns where the value itself starts after an anchor, or a tag
// after that. A value that is not there must not run on into what follows it.
func skipAnchor(text string, i int, hasValue bool) int {
	if text[i] != '&' {
		return i
	}
	i = nameEnd(text, i+1)
	if j := skipBlank(text, i); hasValue || j < len(text) && text[j] == '!' && strings.TrimLeft(text[i:j], " ") == "" {
		return j
	}
	return i
}

// nameEnd returns the end of the name of an anchor or alias.
func nameEnd(text string, i int) int {
	for i < len(text) {
		switch c := text[i]; {
		case c >= 'a' && c <= 'z', c >= 'A' && c <= 'Z', c >= '0' && c <= '9', c == '_', c == '-':
			i++
		default:
			return i
		}
	}
	return i
}

// skipBlank skips blanks, line ends and comments between two tokens.
func skipBlank(text string, i int) int {
	for i < len(text) {
		if isBlank(text[i]) {
			i++
			continue
		}
		if n := lineBreak(text, i); n > 0 {
			i += n
			continue
		}
		if text[i] == '#' {
			i = lineEnd(text, i)
			continue
		}
		return i
	}
	return i
}

func isBlank(c byte) bool { return c == ' ' || c == '\t' }

// lineEnd returns the offset of the line break that ends the line at i.
func lineEnd(text string, i int) int {
	for i < len(text) && text[i] != '\n' && text[i] != '\r' {
		i++
	}
	return i
}

// closing returns the offset after the bracket that closes a flow collection
// whose last child ends at i.
func closing(text string, i int) int {
	for {
		i = skipBlank(text, i)
		if i >= len(text) {
			return len(text)
		}
		switch text[i] {
		case '}', ']':
			return i + 1
		case ',', ':', '?':
			i++
		case '&': // a last value that is only an anchor
			i = nameEnd(text, i+1)
		default:
			return i
		}
	}
}

// quoteEnd returns the offset after the quote that closes the one at i.
func quoteEnd(text string, i int) int {
	if i >= len(text) {
		return i
	}
	quote := text[i]
	for i++; i < len(text); i++ {
		switch {
		case quote == '"' && text[i] == '\\':
			i++
		case text[i] == quote:
			if quote == '\'' && i+1 < len(text) && text[i+1] == '\'' {
				i++
				continue
			}
			return i + 1
		}
	}
	return len(text)
}

// plainEnd returns the end of a plain scalar. On one line it stands as its
// value; over several lines blanks and breaks were folded, and the letters match
// in turn.
func plainEnd(text string, i int, value string) int {
	if strings.HasPrefix(text[min(i, len(text)):], value) {
		return i + len(value)
	}
	end := i
	for j := 0; j < len(value) && i < len(text); {
		if isBlank(value[j]) {
			j++
			continue
		}
		if n := lineBreak(value, j); n > 0 {
			j += n
			continue
		}
		for i < len(text) {
			if n := lineBreak(text, i); n > 0 {
				i += n
			} else if isBlank(text[i]) {
				i++
			} else {
				break
			}
		}
		if i >= len(text) || text[i] != value[j] {
			return end
		}
		i, j = i+1, j+1
		end = i
	}
	return end
}

// blockEnd returns the end of the last line of a block scalar whose header is at
// i. The content is indented more than the line the header stands on; its first
// line that is not blank sets how much.
func blockEnd(text string, i int) int {
	own := ownIndent(text, i)
	explicit := 0
	head := lineEnd(text, i)
	for j := i; j < head && j < i+3; j++ {
		if text[j] >= '1' && text[j] <= '9' {
			explicit = int(text[j] - '0')
		}
	}
	end, least := head, -1
	for at := next(text, head); at < len(text); {
		stop := lineEnd(text, at)
		indent := 0
		for at+indent < stop && text[at+indent] == ' ' {
			indent++
		}
		if at+indent < stop { // not blank
			if least < 0 {
				least = max(indent, own+1)
				if explicit > 0 {
					least = max(own, 0) + explicit
				}
			}
			if indent < least || endsDocument(text[at:stop]) {
				break
			}
			end = stop
		}
		at = next(text, stop)
	}
	return end
}

// ownIndent returns the indentation of the block that the header at i stands
// in: the column of its key, or of the dash it follows.
func ownIndent(text string, i int) int {
	start, column, dash := lineStart(text, i), 0, 0
	for start+column < i && (text[start+column] == ' ' || text[start+column] == '-') {
		if text[start+column] == '-' {
			dash = column
		}
		column++
	}
	if start+column == i {
		return dash
	}
	return column
}

func endsDocument(line string) bool {
	return strings.HasPrefix(line, "---") || strings.HasPrefix(line, "...")
}

func lineStart(text string, i int) int {
	for i > 0 && text[i-1] != '\n' && text[i-1] != '\r' {
		i--
	}
	return i
}

// next returns the start of the line after the break at i.
func next(text string, i int) int {
	if i >= len(text) {
		return len(text)
	}
	return i + max(1, lineBreak(text, i))
}
