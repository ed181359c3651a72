package cli

import (
	"fmt"
	"io"
	"os"
	"slices"

	"github.com/aymanbagabas/go-udiff"

	"fitout/cmd/internal/job"
	"fitout/render/pack"
	"fitout/schema/diag"
	"fitout/schema/edit"
)

// runRound prints a survey round that was filled in, or puts its data into the
// installation file.
func runRound(s Streams, name string, f packFlags) error {
	j, err := readToFill(s, name, f)
	if err != nil {
		return err
	}
	in, err := os.Open(f.round)
	if err != nil {
		return status{Misuse, err.Error()}
	}
	defer in.Close()
	answers, err := pack.ReadRound(in)
	if err != nil {
		return status{Misuse, f.round + ": " + err.Error()}
	}
	if len(answers.Notes) > 0 {
		fmt.Fprintln(s.Err, "no one value of the file; write them in by hand:")
		for _, n := range answers.Notes {
			fmt.Fprintln(s.Err, "  "+n)
		}
	}
	after, texts, err := answered(j, answers.Data)
	if err != nil {
		return status{Misuse, f.round + ": " + err.Error()}
	}
	switch {
	case f.dryRun:
		return roundPatch(s, j, texts)
	case f.write:
		return writeRound(s, j, after, texts, len(answers.Data))
	}
	for _, a := range answers.Data {
		if _, err := fmt.Fprintf(s.Out, "%s: %s\n", a.Key, a.Value); err != nil {
			return err
		}
	}
	return nil
}

// answered puts data into the texts of an installation one by one, so that the
// row that cannot be placed or read is named. The files on disk stay as they are.
func answered(j *job.Job, data []pack.Answer) (after *job.Job, texts map[string]string, err error) {
	after, texts = j, map[string]string{}
	for _, a := range data {
		edits, err := edit.On(after.Boat).Datum(a.Key, a.Value)
		if err != nil {
			return nil, nil, fmt.Errorf("line %d: %w; nothing was written", a.Line, err)
		}
		for _, f := range edit.Files(edits) {
			if texts[f.Name], err = edit.Apply(f, edits); err != nil {
				return nil, nil, fmt.Errorf("line %d: %w; nothing was written", a.Line, err)
			}
		}
		next := job.From(j.Name, job.Overlay(j.Open, texts))
		if !next.OK() {
			return nil, nil, fmt.Errorf("line %d: %s: %s; nothing was written", a.Line, a.Key, firstProblem(next.Problems))
		}
		after = next
	}
	return after, texts, nil
}

func firstProblem(list []diag.Problem) string {
	if len(list) == 0 {
		return "the file would not read as an installation"
	}
	return list[0].Message
}

// changedFiles are the names of the files that the round changes, in the order
// in which the installation reads them.
func changedFiles(j *job.Job, texts map[string]string) []string {
	var out []string
	for _, f := range j.Boat.Files {
		if t, ok := texts[f.Name]; ok && t != f.Text && !slices.Contains(out, f.Name) {
			out = append(out, f.Name)
		}
	}
	return out
}

func roundPatch(s Streams, j *job.Job, texts map[string]string) error {
	for _, f := range j.Boat.Files {
		if t, ok := texts[f.Name]; ok && t != f.Text {
			if _, err := io.WriteString(s.Out, udiff.Unified("a/"+patchName(f.Name), "b/"+patchName(f.Name), f.Text, t)); err != nil {
				return err
			}
		}
	}
	return nil
}

// writeRound writes the changed files and says what is still open.
func writeRound(s Streams, j, after *job.Job, texts map[string]string, n int) error {
	for _, name := range changedFiles(j, texts) {
		if err := job.WriteFile(name, []byte(texts[name])); err != nil {
			return status{Misuse, err.Error()}
		}
		fmt.Fprintf(s.Err, "wrote %s\n", name)
	}
	left := len(after.Check().Result.Unchecked)
	fmt.Fprintf(s.Err, "%d data of the round are in the file; %d not checked before, %d now\n", n, len(j.Check().Result.Unchecked), left)
	return nil
}
