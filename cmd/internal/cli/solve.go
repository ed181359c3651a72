package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"fitout/cmd/internal/job"
	"fitout/validate/report"
	"fitout/validate/survey"
)

func solveCommand(s Streams) *cobra.Command {
	var format, condition string
	c := &cobra.Command{
		Use:   "solve FILE…",
		Short: "currents, voltages, short-circuit currents, flows, heads, hours of run, by condition",
		Long: `solve prints the DC and water solution of every condition, the built-in "all"
among them. Wires and voltages are at full draw, batteries and hours at the mean.

Conductors are copper at the temperature of the spaces they pass (30 °C where
none is stated, 50 °C in an engine space); short circuits are with cold copper at
20 °C, batteries full and at the low end of their internal resistance.`,
		Example: "  fitout solve examples/cruiser.yaml\n  fitout solve --condition anchor --format json heron.yaml",
		Args:    cobra.MinimumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			return runSolve(s, args, format, condition)
		},
	}
	c.Flags().StringVar(&format, "format", "text", "text or json")
	c.Flags().StringVar(&condition, "condition", "", "only this condition")
	return c
}

func runSolve(s Streams, args []string, format, condition string) error {
	if format != "text" && format != "json" {
		return status{Misuse, fmt.Sprintf("--format %q is not known: text or json", format)}
	}
	var files []report.Solved
	code := Clean
	for _, name := range args {
		j, err := job.Read(name, s.In)
		if err != nil {
			return status{Misuse, err.Error()}
		}
		f := report.Solved{Name: name, Problems: j.Problems, Condition: condition}
		if j.OK() {
			f.Survey = survey.Of(j.Boat)
			if condition != "" && !has(f.Survey, condition) {
				return status{Misuse, fmt.Sprintf("%s has no condition %q", name, condition)}
			}
		}
		files = append(files, f)
		switch {
		case !j.OK():
			code = Misuse
		case !f.SolveOK() && code == Clean:
			code = Findings
		}
	}
	if format == "json" {
		if err := report.SolveJSON(s.Out, files); err != nil {
			return err
		}
		return exit(code)
	}
	for _, f := range files {
		out := s.Out
		if f.Survey == nil {
			out = s.Err
		}
		if err := report.SolveText(out, f, terminal(out)); err != nil {
			return err
		}
	}
	return exit(code)
}

func has(s *survey.Survey, condition string) bool {
	for _, c := range s.Conditions() {
		if c.ID == condition {
			return true
		}
	}
	return false
}
