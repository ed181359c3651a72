package cli

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/aymanbagabas/go-udiff"

	"fitout/cmd/internal/job"
	"fitout/schema/diag"
)

// runFix makes the edits that findings offer. With dryRun it shows them as a
// patch and leaves the findings of the files as they stand; else it writes them,
// and the findings left are reported.
func runFix(s Streams, jobs []*job.Job, dryRun bool) ([]*job.Job, error) {
	after := make([]*job.Job, len(jobs))
	for i, j := range jobs {
		after[i] = j
		if !j.OK() {
			continue
		}
		if j.Name == "-" && !dryRun {
			return nil, status{Misuse, "--fix writes the file: standard input has none (see --dry-run)"}
		}
		r := j.Repair()
		if dryRun {
			if err := writePatch(s.Out, r); err != nil {
				return nil, err
			}
		} else {
			if err := r.Write(); err != nil {
				return nil, status{Misuse, err.Error()}
			}
			after[i] = r.After
		}
		tellFix(s.Err, r, dryRun)
	}
	return after, nil
}

// writePatch writes the changes as a unified diff.
func writePatch(w io.Writer, r *job.Repair) error {
	for _, c := range r.Changed {
		if _, err := io.WriteString(w, udiff.Unified("a/"+patchName(c.Name), "b/"+patchName(c.Name), c.Before, c.After)); err != nil {
			return err
		}
	}
	return nil
}

func tellFix(w io.Writer, r *job.Repair, dryRun bool) {
	word := "done"
	if dryRun {
		word = "would"
	}
	for _, f := range r.Done {
		fmt.Fprintf(w, "%-7s %s  (%s, %s)\n", word, f.Fix.Title, f.Rule, job.Place(f.Span))
	}
	for _, x := range r.Refused {
		fmt.Fprintf(w, "%-7s %s  (%s, %s): %s\n", "not", x.Finding.Fix.Title, x.Finding.Rule, job.Place(x.Finding.Span), x.Why)
	}
	left := leftToPerson(r.After.Result.Findings)
	if len(r.Done)+len(r.Refused) == 0 || left > 0 {
		fmt.Fprintf(w, "%s left to a person\n", count(left, "finding"))
	}
}

func leftToPerson(list []diag.Finding) int {
	n := 0
	for _, f := range list {
		if f.Fix == nil {
			n++
		}
	}
	return n
}

func count(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// patchName is a file's name as a patch has it: with slashes, none before it.
func patchName(name string) string {
	return strings.TrimLeft(filepath.ToSlash(name), "/")
}
