package lsp

import (
	"net/url"
	"path/filepath"
	"runtime"
	"strings"
	"unicode/utf8"

	"fitout/schema/source"
)

// pathOf turns a file URI into a path with slashes, as the reader names files.
func pathOf(uri string) string {
	u, err := url.Parse(uri)
	if err != nil || u.Scheme != "file" {
		return uri
	}
	p := u.Path
	if runtime.GOOS == "windows" {
		p = strings.TrimPrefix(p, "/")
	}
	return filepath.ToSlash(filepath.Clean(filepath.FromSlash(p)))
}

func uriOf(path string) string {
	p := filepath.ToSlash(path)
	if !strings.HasPrefix(p, "/") {
		p = "/" + p
	}
	return (&url.URL{Scheme: "file", Path: p}).String()
}

// offsetOf is the byte offset of a position; one past the end of its line is the
// line's end.
func offsetOf(text string, p position) int {
	at := 0
	for range p.Line {
		n := strings.IndexByte(text[at:], '\n')
		if n < 0 {
			return len(text)
		}
		at += n + 1
	}
	units := p.Character
	for at < len(text) && units > 0 && text[at] != '\n' && text[at] != '\r' {
		r, size := utf8.DecodeRuneInString(text[at:])
		units--
		if r > 0xFFFF {
			units--
		}
		at += size
	}
	return at
}

// positionOf is the inverse of offsetOf.
func positionOf(f *source.File, offset int) position {
	offset = min(max(offset, 0), len(f.Text))
	line, _ := f.Position(offset)
	units := 0
	for _, r := range f.Text[f.LineStart(line):offset] {
		units++
		if r > 0xFFFF {
			units++
		}
	}
	return position{line - 1, units}
}

func rangeOf(s source.Span) textRange {
	if !s.Valid() {
		return textRange{}
	}
	return textRange{positionOf(s.File, s.Start), positionOf(s.File, s.End)}
}

// firstLine cuts a span to its first line: a whole item underlined is no help.
func firstLine(s source.Span) source.Span {
	if n := strings.IndexAny(s.Text(), "\r\n"); n > 0 {
		s.End = s.Start + n
	}
	return s
}

func idLetter(c byte) bool {
	return c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_' || c == '+'
}

// wordAt returns the id or key under an offset, with the terminal behind a dot.
func wordAt(text string, at int) (word string, start, end int) {
	start, end = at, at
	in := func(c byte) bool { return idLetter(c) || c == '.' }
	for start > 0 && in(text[start-1]) {
		start--
	}
	for end < len(text) && in(text[end]) {
		end++
	}
	for start < end && (text[start] == '-' || text[start] == '.') {
		start++
	}
	return text[start:end], start, end
}
