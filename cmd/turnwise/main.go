// Turnwise works out frames of threaded steel pipe, fittings and boards: see README.md.
package main

import (
	"os"

	"turnwise/cmd/turnwise/internal/cli"
)

func main() {
	os.Exit(cli.Run(os.Args[1:], cli.Streams{Out: os.Stdout, Err: os.Stderr, IsTerminal: cli.IsTerminal(os.Stderr)}))
}
