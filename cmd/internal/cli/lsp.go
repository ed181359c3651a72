package cli

import (
	"context"
	"io"

	"github.com/spf13/cobra"

	"fitout/cmd/internal/job"
	"fitout/cmd/internal/lsp"
)

func lspCommand(s Streams) *cobra.Command {
	return &cobra.Command{
		Use:   "lsp",
		Short: "language server for editors, over standard input and output",
		Long: `Diagnostics as the text is typed, hover with computed figures, go to definition,
completion of ids, terminals, kinds, words and sizes, and the edits that findings
offer. Point the editor's language client at this command for YAML files that
begin with "fitout: 1".`,
		Example: "  fitout lsp",
		Args:    cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			ctx := c.Context()
			if ctx == nil {
				ctx = context.Background()
			}
			return lsp.Serve(ctx, stdio{s.In, s.Out}, version(), job.Disk)
		},
	}
}

// stdio is the two standard streams as one.
type stdio struct {
	io.Reader
	io.Writer
}

// Close leaves the streams to the process.
func (stdio) Close() error { return nil }
