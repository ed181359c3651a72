// Package edit changes the text of an installation file by span: it replaces or
// inserts the bytes that a change is about and never encodes a file anew, so that
// comments, blank lines, anchors, alignment and line ends stay as they are. It
// opens no file; the caller reads the result again and compares the models (Dump).
package edit

import (
	"fmt"
	"slices"
	"strings"

	"fitout/schema/diag"
	"fitout/schema/source"
)

// Apply returns the text of a file with the edits of that file made. Edits of
// other files are left out. It is an error if two edits overlap or one lies
// outside the text.
func Apply(f *source.File, edits []diag.Edit) (string, error) {
	var mine []diag.Edit
	for _, e := range edits {
		if e.Span.File == f {
			mine = append(mine, e)
		}
	}
	slices.SortStableFunc(mine, func(a, b diag.Edit) int {
		if a.Span.Start != b.Span.Start {
			return a.Span.Start - b.Span.Start
		}
		return a.Span.End - b.Span.End
	})
	var out strings.Builder
	at := 0
	for i, e := range mine {
		if i > 0 && e == mine[i-1] {
			continue // two findings that ask for the same change
		}
		if e.Span.Start < at || e.Span.End < e.Span.Start || e.Span.End > len(f.Text) {
			line, column := e.Span.Position()
			return "", fmt.Errorf("%s:%d:%d: two changes meet here", f.Name, line, column)
		}
		out.WriteString(f.Text[at:e.Span.Start])
		out.WriteString(e.New)
		at = e.Span.End
	}
	out.WriteString(f.Text[at:])
	return out.String(), nil
}

// Files lists the files that edits touch, in the order met.
func Files(edits []diag.Edit) []*source.File {
	var out []*source.File
	for _, e := range edits {
		if !slices.Contains(out, e.Span.File) {
			out = append(out, e.Span.File)
		}
	}
	return out
}
