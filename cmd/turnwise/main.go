// Turnwise works out frames of threaded steel pipe, fittings and boards: see README.md.
package main

import (
	"os"
	"runtime/debug"

	"turnwise/cmd/turnwise/internal/cli"
)

// memoryBytes is where the collector begins to work harder rather than let the program grow: well under the gibibyte that
// a small machine can spare. It is no bound, and what GOMEMLIMIT says comes first.
const memoryBytes = 600 << 20

func main() {
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(memoryBytes)
	}
	os.Exit(cli.Run(os.Args[1:], cli.Streams{Out: os.Stdout, Err: os.Stderr, IsTerminal: cli.IsTerminal(os.Stderr)}))
}
