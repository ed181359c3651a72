package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"path"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"fitout/cmd/internal/job"
	"fitout/render"
	"fitout/render/changes"
	"fitout/schema/diag"
	"fitout/validate/compare"
	"fitout/validate/survey"
)

type compareFlags struct{ format, since, until, out string }

func compareCommand(s Streams) *cobra.Command {
	var f compareFlags
	c := &cobra.Command{
		Use:   "compare OLD NEW",
		Short: "what changed, by part, wire, hose, condition, figure and finding",
		Long: `Two files are compared, or with --since one file with itself at an earlier git
revision. What is compared is meaning: another spelling of the same value, another
order or a comment is no change. The exit status is 1 where the new state has an
error or a warning that the old one has not.`,
		Example: "  fitout compare heron-a.yaml heron-b.yaml\n  fitout compare heron-a.yaml heron-b.yaml -o changes\n  fitout compare --since HEAD~3 heron.yaml --format markdown\n  fitout compare --since v1 --until v2 heron.yaml",
		Args:    cobra.RangeArgs(1, 2),
		RunE:    func(_ *cobra.Command, args []string) error { return runCompare(s, args, f) },
	}
	c.Flags().StringVar(&f.format, "format", "text", "text, markdown or json")
	c.Flags().StringVar(&f.since, "since", "", "compare FILE with itself at this git revision")
	c.Flags().StringVar(&f.until, "until", "", "with --since: the newer revision (default the file as it stands)")
	c.Flags().StringVarP(&f.out, "output", "o", "", "folder for the drawings, with what was added, removed and changed marked")
	return c
}

func runCompare(s Streams, args []string, f compareFlags) error {
	write, ok := map[string]func(io.Writer, compare.Result) error{"text": compare.Text, "markdown": compare.Markdown, "json": compare.JSON}[f.format]
	if !ok {
		return status{Misuse, fmt.Sprintf("--format %q is not known: text, markdown or json", f.format)}
	}
	before, after, err := twoStates(s, args, f)
	if err != nil {
		return status{Misuse, err.Error()}
	}
	for _, j := range []*job.Job{before, after} {
		if !j.OK() {
			return writeProblems(s, j)
		}
		j.Check()
	}
	r := compare.Of(sideOf(before, before.Name), sideOf(after, after.Name))
	if err := write(s.Out, r); err != nil {
		return err
	}
	if f.out != "" {
		if err := drawChanges(f.out, before, after, r); err != nil {
			return err
		}
	}
	if r.Worse(diag.Warning) {
		return exit(Findings)
	}
	return nil
}

func sideOf(j *job.Job, name string) compare.Side {
	return compare.Side{Name: name, Survey: j.Survey, Result: j.Result}
}

// drawChanges draws the new state with what was removed put back, and marks the
// changes.
func drawChanges(dir string, before, after *job.Job, r compare.Result) error {
	o := render.Options{Clean: true, Mono: after.Boat.Sheets.Mono.V}
	u := survey.Of(compare.Union(before.Boat, after.Boat))
	sheets, err := render.Sheets(u, after.Result, o)
	if err != nil {
		return status{Misuse, err.Error()}
	}
	name := baseName(strings.ReplaceAll(after.Name, ":", "/"))
	return writeSheets(dir, name+"-changes", changes.Mark(sheets, r), document(after, o))
}

// twoStates reads what is to be compared.
func twoStates(s Streams, args []string, f compareFlags) (before, after *job.Job, err error) {
	if f.since == "" {
		if f.until != "" || len(args) != 2 {
			return nil, nil, errors.New("compare wants two files, or --since REV and one")
		}
		if before, err = job.Read(args[0], s.In); err != nil {
			return nil, nil, err
		}
		after, err = job.Read(args[1], s.In)
		return before, after, err
	}
	if len(args) != 1 {
		return nil, nil, errors.New("--since compares one file with itself: name just one")
	}
	if before, err = atRevision(f.since, args[0]); err != nil {
		return nil, nil, err
	}
	if f.until != "" {
		after, err = atRevision(f.until, args[0])
	} else {
		after, err = job.Read(args[0], s.In)
	}
	return before, after, err
}

// atRevision reads a file and what it includes out of git.
func atRevision(rev, file string) (*job.Job, error) {
	if strings.HasPrefix(rev, "-") || strings.ContainsAny(rev, ":\x00") {
		return nil, fmt.Errorf("%q is not a revision", rev)
	}
	if _, err := revision(rev, file); err != nil {
		return nil, err
	}
	open := func(name string) ([]byte, error) { return revision(rev, strings.TrimPrefix(name, rev+":")) }
	return job.From(rev+":"+filepath.ToSlash(file), open), nil
}

// revision is the text of a file as git has it at a revision.
func revision(rev, file string) ([]byte, error) {
	dir, base := path.Split(filepath.ToSlash(file))
	if dir == "" {
		dir = "."
	}
	cmd := exec.Command("git", "-C", filepath.FromSlash(dir), "show", "--end-of-options", rev+":./"+base)
	var out, words bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &words
	if err := cmd.Run(); err != nil {
		if text := strings.TrimSpace(words.String()); text != "" {
			return nil, errors.New(text)
		}
		return nil, fmt.Errorf("git: %w", err)
	}
	return out.Bytes(), nil
}
