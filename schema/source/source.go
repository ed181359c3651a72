// Package source keeps the text of installation files and says where in them a
// value stands: byte spans, line and column, and the excerpt that a message
// shows under it.
package source

import (
	"cmp"
	"sort"
	"strings"
	"unicode/utf8"

	"github.com/mattn/go-runewidth"
)

// File is one text as it was read. The text is never changed after New.
type File struct {
	Name  string
	Text  string
	lines []int // byte offset at which each line starts
}

// New indexes the lines of text. Lines end at LF; a CR before it is not part
// of the line.
func New(name, text string) *File {
	f := &File{Name: name, Text: text, lines: []int{0}}
	for i := 0; i < len(text); i++ {
		if text[i] == '\n' {
			f.lines = append(f.lines, i+1)
		}
	}
	return f
}

// Lines returns how many lines the file has.
func (f *File) Lines() int { return len(f.lines) }

// Line returns the text of line n (from 1) without its line end.
func (f *File) Line(n int) string {
	if n < 1 || n > len(f.lines) {
		return ""
	}
	start, end := f.lines[n-1], len(f.Text)
	if n < len(f.lines) {
		end = f.lines[n] - 1
	}
	return strings.TrimSuffix(f.Text[start:end], "\r")
}

// LineStart returns the byte offset at which line n (from 1) starts.
func (f *File) LineStart(n int) int {
	if n < 1 {
		return 0
	}
	if n > len(f.lines) {
		return len(f.Text)
	}
	return f.lines[n-1]
}

// Position returns line and column (both from 1, columns in characters) of a
// byte offset.
func (f *File) Position(offset int) (line, column int) {
	offset = min(max(offset, 0), len(f.Text))
	line = sort.Search(len(f.lines), func(i int) bool { return f.lines[i] > offset })
	return line, utf8.RuneCountInString(f.Text[f.lines[line-1]:offset]) + 1
}

// Offset is the inverse of Position; a column past the end of the line gives
// the line's end.
func (f *File) Offset(line, column int) int {
	start := f.LineStart(line)
	text := f.Line(line)
	for i := range text {
		if column <= 1 {
			return start + i
		}
		column--
	}
	return start + len(text)
}

// Span is a stretch of a file in bytes, End not included. The zero Span means
// "written nowhere".
type Span struct {
	File       *File
	Start, End int
}

// Valid reports whether the span points into a file.
func (s Span) Valid() bool { return s.File != nil }

// Text returns the bytes the span covers.
func (s Span) Text() string {
	if !s.Valid() || s.Start > s.End || s.End > len(s.File.Text) {
		return ""
	}
	return s.File.Text[s.Start:s.End]
}

// Name returns the file's name, or "" for the zero Span.
func (s Span) Name() string {
	if !s.Valid() {
		return ""
	}
	return s.File.Name
}

// Position returns line and column of the start; 0, 0 for the zero Span.
func (s Span) Position() (line, column int) {
	if !s.Valid() {
		return 0, 0
	}
	return s.File.Position(s.Start)
}

// Line returns the line of the start, 0 for the zero Span.
func (s Span) Line() int { line, _ := s.Position(); return line }

// Column returns the column of the start in characters, 0 for the zero Span.
func (s Span) Column() int { _, column := s.Position(); return column }

// Compare orders spans by file name, then start.
func (s Span) Compare(o Span) int {
	return cmp.Or(strings.Compare(s.Name(), o.Name()), cmp.Compare(s.Start, o.Start))
}

// Excerpt returns the line of the span and, under it, a caret with tildes over
// the rest of the span on that line. Wide characters and tabs keep the caret in
// its column. Long lines are cut round the span.
func (s Span) Excerpt() (line, caret string) {
	if !s.Valid() {
		return "", ""
	}
	n, _ := s.Position()
	text := s.File.Line(n)
	at := min(max(s.Start-s.File.LineStart(n), 0), len(text))
	end := min(max(s.End-s.File.LineStart(n), at), len(text))
	const most = 160
	if len(text) > most {
		from := max(0, at-60)
		for from > 0 && !utf8.RuneStart(text[from]) {
			from--
		}
		to := min(len(text), from+most)
		for to < len(text) && !utf8.RuneStart(text[to]) {
			to++
		}
		text, at, end = text[from:to], at-from, min(end-from, to-from)
	}
	var pad strings.Builder
	for _, r := range text[:at] {
		if r == '\t' {
			pad.WriteByte('\t')
			continue
		}
		pad.WriteString(strings.Repeat(" ", runewidth.RuneWidth(r)))
	}
	width := runewidth.StringWidth(text[at:max(at, end)])
	return text, pad.String() + "^" + strings.Repeat("~", max(0, width-1))
}
