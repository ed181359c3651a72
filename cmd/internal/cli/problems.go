package cli

import (
	"fitout/cmd/internal/job"
	"fitout/validate/report"
)

// writeProblems prints the mistakes of a file and returns the error that ends
// the command with status 2.
func writeProblems(s Streams, j *job.Job) error {
	if err := report.Text(s.Err, j.Report(), report.TextOptions{Color: terminal(s.Err)}); err != nil {
		return err
	}
	return exit(Misuse)
}
