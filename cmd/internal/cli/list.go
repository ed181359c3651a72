package cli

import (
	"bufio"
	"bytes"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fitout/cmd/internal/job"
	"fitout/render/list"
)

func listCommand(s Streams) *cobra.Command {
	var format, output string
	var help strings.Builder
	for _, n := range list.Names() {
		fmt.Fprintf(&help, "  %-11s %s\n", n, list.Help(n))
	}
	c := &cobra.Command{
		Use:       "list WHAT FILE",
		Short:     "one list: " + strings.Join(list.Names(), ", "),
		Long:      "The lists:\n" + help.String(),
		Example:   "  fitout list order examples/cruiser.yaml\n  fitout list wires --format csv -o wires.csv examples/cruiser.yaml",
		Args:      cobra.ExactArgs(2),
		ValidArgs: list.Names(),
		RunE: func(_ *cobra.Command, args []string) error {
			return runList(s, args[0], args[1], format, output)
		},
	}
	c.Flags().StringVar(&format, "format", "text", strings.Join(list.Formats(), ", "))
	c.Flags().StringVarP(&output, "output", "o", "", "file to write to; standard output without it")
	return c
}

func runList(s Streams, what, file, format, output string) error {
	if list.Help(what) == "" {
		return status{Misuse, fmt.Sprintf("there is no list %q; the nearest is %s", what, nearest(what, list.Names()))}
	}
	j, err := readJob(s, file)
	if err != nil {
		return err
	}
	t, _ := list.Of(what, list.Input{Survey: j.Survey, Result: j.Result})
	var b bytes.Buffer
	if err := list.Write(&b, t, format); err != nil {
		return status{Misuse, err.Error()}
	}
	if output != "" {
		return job.WriteFile(output, b.Bytes())
	}
	out := bufio.NewWriter(s.Out)
	if _, err := out.Write(b.Bytes()); err != nil {
		return err
	}
	return out.Flush()
}

// readJob reads and judges a file, and refuses one with mistakes: they are
// printed and end the command with status 2.
func readJob(s Streams, file string) (*job.Job, error) {
	j, err := job.Read(file, s.In)
	if err != nil {
		return nil, status{Misuse, err.Error()}
	}
	if !j.OK() {
		return nil, writeProblems(s, j)
	}
	return j.Check(), nil
}
