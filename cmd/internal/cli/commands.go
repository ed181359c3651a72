package cli

import "github.com/spf13/cobra"

// commands lists every command in the order the help shows them.
func commands(s Streams) []*cobra.Command {
	return []*cobra.Command{
		checkCommand(s),
		solveCommand(s),
		sizeCommand(s),
		drawCommand(s),
		chartCommand(s),
		listCommand(s),
		packCommand(s),
		labelsCommand(s),
		traceCommand(s),
		compareCommand(s),
		reviewCommand(s),
		lspCommand(s),
		explainCommand(s),
		newCommand(s),
		tidyCommand(s),
		schemaCommand(s),
		manCommand(s),
		versionCommand(s),
	}
}
