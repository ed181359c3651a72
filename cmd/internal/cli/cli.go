// Package cli is the command line of fitout: flags, streams and exit statuses,
// one file a command.
package cli

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/mattn/go-isatty"
	"github.com/spf13/cobra"
)

// Exit statuses.
const (
	Clean    = 0 // nothing to report at the asked severity
	Findings = 1
	Misuse   = 2 // not read as an installation, or the command line is wrong
)

// Streams are the standard streams, so that tests can give their own.
type Streams struct {
	In  io.Reader
	Out io.Writer
	Err io.Writer
}

// status ends a command with an exit status; its text, if any, is printed.
type status struct {
	code int
	text string
}

func (s status) Error() string { return s.text }

// exit returns the error that ends a command with a status and no further word.
func exit(code int) error {
	if code == Clean {
		return nil
	}
	return status{code: code}
}

// Run runs one command line and returns the exit status.
func Run(args []string, s Streams) int {
	root := newRoot(s)
	root.SetArgs(args)
	err := root.Execute()
	var st status
	switch {
	case err == nil:
		return Clean
	case errors.As(err, &st):
		if st.text != "" {
			fmt.Fprintln(s.Err, "fitout:", st.text)
		}
		return st.code
	default:
		fmt.Fprintln(s.Err, "fitout:", err)
		return Misuse
	}
}

func newRoot(s Streams) *cobra.Command {
	root := &cobra.Command{
		Use:   "fitout",
		Short: "check, draw and document what is fitted into a small boat",
		Long: `fitout reads one YAML file that describes the batteries, wires, fuses, hoses
and hull openings of a small boat, checks it by computation, and writes the
drawings, lists and sheets that a technician carries aboard.

It gives no certificate and replaces no licensed person. Shore power can kill.`,
		SilenceUsage:  true,
		SilenceErrors: true,
	}
	root.SetIn(s.In)
	root.SetOut(s.Out)
	root.SetErr(s.Err)
	root.AddCommand(commands(s)...)
	return root
}

// terminal reports whether a stream is a terminal that wants colour.
func terminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && os.Getenv("NO_COLOR") == "" && isatty.IsTerminal(f.Fd())
}
