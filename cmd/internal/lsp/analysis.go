package lsp

import (
	"context"
	"fmt"
	"path"
	"slices"
	"strings"

	"fitout/cmd/internal/job"
	"fitout/schema/diag"
	"fitout/schema/source"
	"fitout/validate/figures"
	"fitout/validate/report"
)

// analysis is what is known about one installation: the state judged last, and
// the last one that could be read, for hover and completion while a line is half
// typed.
type analysis struct {
	texts   map[string]string // of the open files it was made from
	now     *job.Job
	good    *job.Job
	figures []figures.Figure // of good
}

// open gives texts as the editor has them, else as they are on disk.
func (s *Server) open(name string) ([]byte, error) {
	if d := s.docs[name]; d != nil {
		return []byte(d.text), nil
	}
	return s.disk(name)
}

// mainOf finds the installation a file belongs to: itself where it says so, else
// one already known that includes it, else a neighbour that does.
func (s *Server) mainOf(file string) string {
	if d := s.docs[file]; d != nil && isMain(d.text) {
		return file
	}
	for _, main := range sortedKeys(s.boats) {
		if a := s.boats[main]; slices.Contains(filesOf(a.now), file) || slices.Contains(filesOf(a.good), file) {
			return main
		}
	}
	dir := path.Dir(file)
	for _, folder := range []string{dir, path.Dir(dir)} {
		mains, err := job.Files([]string{folder})
		if err != nil {
			continue
		}
		const most = 50 // a folder with more is a fleet, not a boat
		for _, main := range mains[:min(len(mains), most)] {
			if path.Dir(main) == folder && slices.Contains(filesOf(job.From(main, s.open)), file) {
				return main
			}
		}
	}
	return file
}

func isMain(text string) bool {
	return strings.HasPrefix(text, "fitout:") || strings.Contains(text, "\nfitout:")
}

func filesOf(j *job.Job) []string {
	if j == nil || j.Boat == nil {
		return nil
	}
	var out []string
	for _, f := range j.Boat.Files {
		out = append(out, f.Name)
	}
	return out
}

func sortedKeys[T any](m map[string]T) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// fresh returns the analysis of the installation a file belongs to, made anew
// where a text has changed since. The caller holds the lock.
func (s *Server) fresh(file string) *analysis {
	main := s.mainOf(file)
	a := s.boats[main]
	if a != nil && s.same(a) {
		return a
	}
	next := &analysis{now: job.From(main, s.open), texts: map[string]string{}}
	for _, name := range filesOf(next.now) {
		if d := s.docs[name]; d != nil {
			next.texts[name] = d.text
		}
	}
	switch {
	case next.now.OK():
		next.now.Check()
		next.good, next.figures = next.now, figures.Of(next.now.Survey)
	case a != nil:
		next.good, next.figures = a.good, a.figures
	}
	s.boats[main] = next
	return next
}

// same reports whether the open texts are those the analysis was made from.
func (s *Server) same(a *analysis) bool {
	n := 0
	for _, name := range filesOf(a.now) {
		if d := s.docs[name]; d != nil {
			if text, ok := a.texts[name]; !ok || text != d.text {
				return false
			}
			n++
		}
	}
	return n == len(a.texts)
}

// publish sends the diagnostics of every installation with an open file, and
// takes back those of files that belong to none any more.
func (s *Server) publish(ctx context.Context) {
	s.mu.Lock()
	out := map[string][]diagnostic{}
	for _, file := range sortedKeys(s.docs) {
		a := s.fresh(file)
		for _, name := range filesOf(a.now) {
			if _, done := out[name]; !done {
				out[name] = []diagnostic{}
			}
		}
		for name, list := range diagnose(a.now) {
			out[name] = list
		}
	}
	for name := range s.published {
		if _, ok := out[name]; !ok {
			out[name] = []diagnostic{}
			delete(s.published, name)
		}
	}
	var messages []publishParams
	for _, name := range sortedKeys(out) {
		s.published[name] = true
		m := publishParams{URI: uriOf(name), Diagnostics: out[name]}
		if d := s.docs[name]; d != nil {
			v := d.version
			m.URI, m.Version = d.uri, &v
		}
		messages = append(messages, m)
	}
	s.mu.Unlock()
	for _, m := range messages {
		if s.conn.Notify(ctx, "textDocument/publishDiagnostics", m) != nil {
			return // the editor has gone
		}
	}
}

// diagnose words the mistakes of a file, or else its findings and what could not
// be checked.
func diagnose(j *job.Job) map[string][]diagnostic {
	out := map[string][]diagnostic{}
	add := func(at source.Span, d diagnostic) {
		d.Source = "fitout"
		name := at.Name()
		if name == "" {
			name = j.Name
		}
		d.Range = rangeOf(firstLine(at))
		out[name] = append(out[name], d)
	}
	for _, p := range j.Problems {
		message := p.Message
		if p.Near != "" && !strings.Contains(message, p.Near) {
			message += "; did you mean " + p.Near + "?"
		}
		add(p.Span, diagnostic{Severity: severityError, Message: message, Related: relatedOf(p.Related)})
	}
	if len(j.Problems) > 0 {
		return out
	}
	for _, f := range j.Result.Findings {
		add(f.Span, findingDiagnostic(f))
	}
	for _, u := range j.Result.Unchecked {
		add(u.Span, diagnostic{Severity: severityHint, Code: u.Rule, Message: fmt.Sprintf("not checked by %s: %s is missing", u.Rule, u.Missing)})
	}
	return out
}

func findingDiagnostic(f diag.Finding) diagnostic {
	level := map[diag.Severity]int{diag.Error: severityError, diag.Warning: severityWarning, diag.Note: severityInformation}[f.Severity]
	text := f.Severity.Class() + ": " + f.Message
	if w := report.Where(f); w != "" {
		text += " (" + w + ")"
	}
	if f.Do != "" {
		text += "\ndo: " + f.Do
	}
	return diagnostic{Severity: level, Code: f.Rule, Source: "fitout", Message: text, Related: relatedOf(f.Related)}
}

func relatedOf(list []diag.Related) []related {
	var out []related
	for _, r := range list {
		if r.Span.Valid() {
			out = append(out, related{location{uriOf(r.Span.Name()), rangeOf(firstLine(r.Span))}, r.Message})
		}
	}
	return out
}

// actions are the edits that findings offer on the lines asked about.
func (s *Server) actions(p actionParams) []codeAction {
	s.mu.Lock()
	defer s.mu.Unlock()
	file := pathOf(p.TextDocument.URI)
	a := s.fresh(file)
	out := []codeAction{}
	if !a.now.OK() {
		return out
	}
	for _, f := range a.now.Result.Findings {
		at := rangeOf(f.Span)
		if f.Fix == nil || f.Span.Name() != file || at.End.Line < p.Range.Start.Line || at.Start.Line > p.Range.End.Line {
			continue
		}
		d := findingDiagnostic(f)
		d.Range = rangeOf(firstLine(f.Span))
		e := workspaceEdit{Changes: map[string][]textEdit{}}
		for _, x := range f.Fix.Edits {
			uri := s.uri(x.Span.Name())
			e.Changes[uri] = append(e.Changes[uri], textEdit{rangeOf(x.Span), x.New})
		}
		out = append(out, codeAction{Title: f.Fix.Title, Kind: "quickfix", Diagnostics: []diagnostic{d}, Preferred: true, Edit: e})
	}
	return out
}

// uri is a file's address as the editor wrote it, where it has it open.
func (s *Server) uri(name string) string {
	if d := s.docs[name]; d != nil {
		return d.uri
	}
	return uriOf(name)
}
