// Command fitout checks, draws and documents what is fitted into a small boat.
package main

import (
	"os"

	"fitout/cmd/internal/cli"
)

func main() {
	os.Exit(cli.Run(os.Args[1:], cli.Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr}))
}
