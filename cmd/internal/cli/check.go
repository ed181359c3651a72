package cli

import (
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"fitout/cmd/internal/job"
	"fitout/schema/diag"
	"fitout/validate/report"
)

type checkFlags struct {
	format    string
	failOn    string
	strict    bool
	verbose   bool
	notStated bool
	fix       bool
	dryRun    bool
}

func checkCommand(s Streams) *cobra.Command {
	var f checkFlags
	c := &cobra.Command{
		Use:     "check FILE|DIR…",
		Short:   "read, compute, judge; print findings",
		Long:    "A folder stands for every installation file below it; files are judged in parallel.",
		Example: "  fitout check examples/cruiser.yaml\n  fitout check --format sarif fleet/ > fleet.sarif\n  fitout check --format json heron.yaml > heron.json\n  fitout check --fix --dry-run heron.yaml",
		Args:    cobra.MinimumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			return runCheck(s, args, f)
		},
	}
	c.Flags().StringVar(&f.format, "format", "text", "text, json, sarif or junit")
	c.Flags().StringVar(&f.failOn, "fail-on", "warning", "severity that sets exit status 1: error, warning or note")
	c.Flags().BoolVar(&f.strict, "strict", false, "not checked sets exit status 1 too")
	c.Flags().BoolVarP(&f.verbose, "verbose", "v", false, "what each rule looked at, defaults used, everything not checked")
	c.Flags().BoolVar(&f.notStated, "not-stated", false, "facts only eyes can tell, by space")
	c.Flags().BoolVar(&f.fix, "fix", false, "make the edits that findings offer, where no person has to choose; then report what is left")
	c.Flags().BoolVar(&f.dryRun, "dry-run", false, "with --fix: show the edits as a patch and write nothing")
	return c
}

func runCheck(s Streams, args []string, f checkFlags) error {
	failOn, ok := severities[f.failOn]
	if !ok {
		return status{Misuse, fmt.Sprintf("--fail-on %q: error, warning or note", f.failOn)}
	}
	if f.dryRun && !f.fix {
		return status{Misuse, "--dry-run goes with --fix"}
	}
	names, err := job.Files(args)
	if err != nil {
		return status{Misuse, err.Error()}
	}
	if len(names) == 0 {
		return status{Misuse, "no installation file there: a YAML file that begins with `fitout: 1`"}
	}
	jobs, err := job.Fleet(names, s.In, progress(s, len(names)))
	if err != nil {
		return status{Misuse, err.Error()}
	}
	if f.fix {
		if jobs, err = runFix(s, jobs, f.dryRun); err != nil {
			return err
		}
	}
	var files []report.File
	for _, j := range jobs {
		files = append(files, j.Report())
	}
	shown := files
	if f.dryRun { // the patch is the result; only mistakes are told besides
		shown = slices.DeleteFunc(slices.Clone(files), func(f report.File) bool { return len(f.Problems) == 0 })
	}
	if !f.dryRun || len(shown) > 0 {
		if err := writeReport(s, shown, f); err != nil {
			return err
		}
	}
	return exit(checkStatus(files, failOn, f.strict))
}

var severities = map[string]diag.Severity{"error": diag.Error, "warning": diag.Warning, "note": diag.Note}

func writeReport(s Streams, files []report.File, f checkFlags) error {
	switch f.format {
	case "json":
		return report.JSON(s.Out, files)
	case "sarif":
		return report.SARIF(s.Out, files, version())
	case "junit":
		return report.JUnit(s.Out, files)
	case "text":
		for _, file := range files {
			out := s.Out
			if len(file.Problems) > 0 {
				out = s.Err
			}
			o := report.TextOptions{Color: terminal(out), Verbose: f.verbose, NotStated: f.notStated || f.verbose}
			if err := report.Text(out, file, o); err != nil {
				return err
			}
		}
		return report.Summary(s.Out, files)
	}
	return status{Misuse, fmt.Sprintf("--format %q is not known: text, json, sarif or junit", f.format)}
}

func checkStatus(files []report.File, failOn diag.Severity, strict bool) int {
	code := Clean
	for _, f := range files {
		if len(f.Problems) > 0 {
			return Misuse
		}
		for _, x := range f.Result.Findings {
			if x.Severity >= failOn {
				code = Findings
			}
		}
		if strict && len(f.Result.Unchecked) > 0 {
			code = Findings
		}
	}
	return code
}

// progress tells on a terminal how far a fleet has come; elsewhere it is silent.
func progress(s Streams, all int) func(finished, all int) {
	const few = 4
	if all < few || !terminal(s.Err) {
		return nil
	}
	return func(finished, all int) {
		fmt.Fprintf(s.Err, "\r%d of %d", finished, all)
		if finished == all {
			fmt.Fprint(s.Err, "\r\x1b[K")
		}
	}
}
