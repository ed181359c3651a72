package cli

import (
	"os"

	"github.com/spf13/cobra"

	"fitout/cmd/internal/job"
	"fitout/schema/edit"
	"fitout/schema/kinds"
)

func tidyCommand(s Streams) *cobra.Command {
	var write bool
	c := &cobra.Command{
		Use:     "tidy FILE",
		Short:   "the file in its usual order and spelling, comments kept",
		Long:    "Without --write the tidy text goes to standard output. The model is compared\nbefore and after; a text that would mean another boat is refused.",
		Example: "  fitout tidy --write examples/cruiser.yaml",
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			return runTidy(s, args[0], write)
		},
	}
	c.Flags().BoolVarP(&write, "write", "w", false, "write the file in place")
	return c
}

func runTidy(s Streams, name string, write bool) error {
	j, err := job.Read(name, s.In)
	if err != nil {
		return status{Misuse, err.Error()}
	}
	if !j.OK() {
		return writeProblems(s, j)
	}
	text, err := edit.Tidy(j.Open, name, kinds.All())
	if err != nil {
		return status{Misuse, err.Error()}
	}
	if write && name != "-" {
		old, err := os.ReadFile(name)
		if err == nil && string(old) == text {
			return nil
		}
		return job.WriteFile(name, []byte(text))
	}
	_, err = s.Out.Write([]byte(text))
	return err
}
