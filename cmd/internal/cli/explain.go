package cli

import (
	"fmt"
	"strings"

	"github.com/agnivade/levenshtein"
	"github.com/spf13/cobra"

	"fitout/validate/rules"
)

func explainCommand(s Streams) *cobra.Command {
	return &cobra.Command{
		Use:       "explain RULE",
		Short:     "a rule: what, why, the source, an example that fails and one that passes",
		Long:      "Without a rule, explain lists them all.",
		Example:   "  fitout explain fuse-too-far",
		Args:      cobra.MaximumNArgs(1),
		ValidArgs: rules.Names(),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				for _, r := range rules.All() {
					fmt.Fprintf(s.Out, "%-22s %s\n", r.Name, r.Asks)
				}
				return nil
			}
			r, ok := rules.Named(args[0])
			if !ok {
				return status{Misuse, fmt.Sprintf("no rule is called %q; the nearest is %s", args[0], nearest(args[0], rules.Names()))}
			}
			fmt.Fprint(s.Out, explain(r))
			return nil
		},
	}
}

func explain(r rules.Rule) string {
	var b strings.Builder
	row := func(name, text string) {
		if text != "" {
			fmt.Fprintf(&b, "%-9s %s\n", name, text)
		}
	}
	fmt.Fprintf(&b, "%s (%s)\n\n", r.Name, r.Section)
	row("asks", r.Asks)
	row("why", r.Why)
	row("severity", r.Severity)
	row("source", r.Source)
	row("quiet", r.Quiet)
	if r.Bad != "" {
		fmt.Fprintf(&b, "\nAn installation that fails:\n%s", indent(r.Bad))
	}
	if r.Good != "" {
		fmt.Fprintf(&b, "\nOne that passes:\n%s", indent(r.Good))
	}
	return b.String()
}

func indent(text string) string {
	var b strings.Builder
	for _, line := range strings.Split(strings.Trim(text, "\n"), "\n") {
		b.WriteString("    " + line + "\n")
	}
	return b.String()
}

// nearest returns the name closest to what was typed.
func nearest(typed string, names []string) string {
	best, least := "", 1<<30
	for _, n := range names {
		if d := levenshtein.ComputeDistance(typed, n); d < least {
			best, least = n, d
		}
	}
	return best
}
