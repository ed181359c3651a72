package cli

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"os/signal"
	"runtime"
	"syscall"

	"github.com/spf13/cobra"

	"fitout/cmd/internal/review"
)

func reviewCommand(s Streams) *cobra.Command {
	var open bool
	c := &cobra.Command{
		Use:   "review FILE",
		Short: "a local page in the browser, live as the file is saved",
		Long: `The page shows every sheet, the findings, the conditions with their figures, the
lists and the source. It is served on the loopback address only, on a free port,
under an address that holds a new token at each start; nothing outside the file's
folder is read. It ends with the command.`,
		Example: "  fitout review examples/cruiser.yaml",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			ctx := c.Context()
			if ctx == nil {
				ctx = context.Background()
			}
			return runReview(ctx, s, args[0], open)
		},
	}
	c.Flags().BoolVar(&open, "open", false, "open the page in the browser")
	return c
}

func runReview(ctx context.Context, s Streams, file string, open bool) error {
	page, err := review.New(file)
	if err != nil {
		return status{Misuse, err.Error()}
	}
	defer page.Close()
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM)
	defer stop()
	err = page.Serve(ctx, func(address string) {
		fmt.Fprintln(s.Out, address)
		if open {
			if err := browse(address); err != nil {
				fmt.Fprintln(s.Err, "fitout: the browser did not open:", err)
			}
		}
	})
	if err != nil {
		return status{Misuse, err.Error()}
	}
	return nil
}

// browse asks the system to open an address.
func browse(address string) error {
	switch runtime.GOOS {
	case "windows":
		return exec.Command("rundll32", "url.dll,FileProtocolHandler", address).Start()
	case "darwin":
		return exec.Command("open", address).Start()
	}
	return exec.Command("xdg-open", address).Start()
}
