package cli

import (
	_ "embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"fitout/cmd/internal/job"
)

// starter is a small sound installation to start from.
//
//go:embed starter.yaml
var starter []byte

func newCommand(s Streams) *cobra.Command {
	return &cobra.Command{
		Use:     "new DIR",
		Short:   "a small installation to start from",
		Example: "  fitout new heron && fitout check heron/boat.yaml",
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			name := filepath.Join(args[0], "boat.yaml")
			if err := os.MkdirAll(args[0], 0o755); err != nil {
				return status{Misuse, err.Error()}
			}
			if _, err := os.Stat(name); !errors.Is(err, fs.ErrNotExist) {
				return status{Misuse, name + " is there already; nothing was written"}
			}
			if err := job.WriteFile(name, starter); err != nil {
				return err
			}
			fmt.Fprintf(s.Err, "wrote %s; now: fitout check %s\n", name, name)
			return nil
		},
	}
}
