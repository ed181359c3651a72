package cli

import (
	"fmt"

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
}

func checkCommand(s Streams) *cobra.Command {
	var f checkFlags
	c := &cobra.Command{
		Use:     "check FILE…",
		Short:   "read, compute, judge; print findings",
		Example: "  fitout check examples/cruiser.yaml\n  fitout check --format json heron.yaml > heron.json",
		Args:    cobra.MinimumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			return runCheck(s, args, f)
		},
	}
	c.Flags().StringVar(&f.format, "format", "text", "text or json")
	c.Flags().StringVar(&f.failOn, "fail-on", "warning", "severity that sets exit status 1: error, warning or note")
	c.Flags().BoolVar(&f.strict, "strict", false, "not checked sets exit status 1 too")
	c.Flags().BoolVarP(&f.verbose, "verbose", "v", false, "what each rule looked at, defaults used, everything not checked")
	c.Flags().BoolVar(&f.notStated, "not-stated", false, "facts only eyes can tell, by space")
	return c
}

func runCheck(s Streams, args []string, f checkFlags) error {
	failOn, ok := severities[f.failOn]
	if !ok {
		return status{Misuse, fmt.Sprintf("--fail-on %q: error, warning or note", f.failOn)}
	}
	var files []report.File
	for _, name := range args {
		j, err := job.Read(name, s.In)
		if err != nil {
			return status{Misuse, err.Error()}
		}
		files = append(files, j.Check().Report())
	}
	if err := writeReport(s, files, f); err != nil {
		return err
	}
	return exit(checkStatus(files, failOn, f.strict))
}

var severities = map[string]diag.Severity{"error": diag.Error, "warning": diag.Warning, "note": diag.Note}

func writeReport(s Streams, files []report.File, f checkFlags) error {
	switch f.format {
	case "json":
		return report.JSON(s.Out, files)
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
		return nil
	}
	return status{Misuse, fmt.Sprintf("--format %q is not known: text or json", f.format)}
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
