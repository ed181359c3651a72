package cli

import (
	"os"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
)

func manCommand(Streams) *cobra.Command {
	return &cobra.Command{
		Use:     "man DIR",
		Short:   "write the manual pages into a folder",
		Example: "  fitout man /usr/local/share/man/man1",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			if err := os.MkdirAll(args[0], 0o755); err != nil {
				return status{Misuse, err.Error()}
			}
			root := c.Root()
			root.DisableAutoGenTag = true
			// a date of its own would change the pages at every build
			date := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
			h := &doc.GenManHeader{Title: "FITOUT", Section: "1", Source: "fitout " + version(), Manual: "fitout", Date: &date}
			if err := doc.GenManTree(root, h, args[0]); err != nil {
				return status{Misuse, err.Error()}
			}
			return nil
		},
	}
}
