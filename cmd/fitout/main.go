// Command fitout checks, draws and documents what is fitted into a small boat.
package main

import (
	"os"
	"runtime/debug"

	"fitout/cmd/internal/cli"
)

// A boat takes milliseconds and a few megabytes: the collector may let garbage
// grow to several times what is in use, which saves half of the work, until the
// whole nears the limit.
const (
	garbage = 400       // per cent of what is in use
	memory  = 360 << 20 // bytes
)

func main() {
	debug.SetGCPercent(garbage)
	debug.SetMemoryLimit(memory)
	os.Exit(cli.Run(os.Args[1:], cli.Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr}))
}
