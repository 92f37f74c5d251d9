// Package cli is the command line: one file per command, flags turned into options, results into text and exit codes.
package cli

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"turnwise/cmd/turnwise/internal/pipeline"
)

// The exit codes.
const (
	ExitDone   = 0 // everything asked for was done; warnings and notes may exist
	ExitFaults = 1 // the design has a fault, or work could not be done
	ExitMisuse = 2 // the command was misused
)

// Streams are where a command writes: results to Out, messages for people to Err.
type Streams struct {
	Out, Err   io.Writer
	IsTerminal bool // Err is a terminal: progress may be drawn on it
}

// IsTerminal tells whether f is a terminal.
func IsTerminal(f *os.File) bool { return term.IsTerminal(int(f.Fd())) }

// errFaults ends a command that has said all it has to say with ExitFaults.
var errFaults = errors.New("the design has faults")

// failure is work that could not be done (no space, no right to write): ExitFaults, with its reason printed.
type failure struct{ error }

func (f failure) Unwrap() error { return f.error }

// Run carries out one command line and returns the exit code.
func Run(args []string, s Streams) int {
	root := newRoot(s)
	root.SetArgs(args)
	err := root.Execute()
	var f failure
	switch {
	case err == nil:
		return ExitDone
	case errors.Is(err, errFaults):
		return ExitFaults
	case errors.As(err, &f):
		fmt.Fprintf(s.Err, "turnwise: %v\n", f.error)
		return ExitFaults
	}
	fmt.Fprintf(s.Err, "turnwise: %v\nTry turnwise help.\n", err)
	return ExitMisuse
}

func newRoot(s Streams) *cobra.Command {
	root := &cobra.Command{
		Use:   "turnwise",
		Short: "Plan frames of threaded pipe that can really be screwed together",
		Long: `Turnwise reads one design file (centre lines of pipes, the room, boards and loads) and works out
the fittings, the cut lengths, an order in which every thread can be screwed, what to buy, a
solid of every part, and pictures numbered in the order of assembly.`,
		Example: `  turnwise build coat-rod.yaml          # write everything into the folder coat-rod
  turnwise check coat-rod.yaml          # only say what is found
  turnwise mend coat-rod.yaml           # what to change where the frame cannot be built`,
		Version:       pipeline.Version,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          knownCommand,
		RunE: func(c *cobra.Command, _ []string) error {
			return c.Help()
		},
	}
	root.SetOut(s.Out)
	root.SetErr(s.Err)
	root.SetFlagErrorFunc(plainFlagError)
	root.AddCommand(newBuild(s, runBuild), newCheck(s, runCheck), newSolid(s, runSolid), newMend(s, runMend))
	refuseUnknownTopics(root)
	return root
}

// knownCommand refuses a first word that is no command, with the nearest ones.
func knownCommand(c *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	c.SuggestionsMinimumDistance = 2 // letters to change: more would suggest anything
	text := fmt.Sprintf("unknown command %q", args[0])
	if near := c.SuggestionsFor(args[0]); len(near) > 0 {
		text += "; " + strings.Join(near, " or ") + "?"
	}
	return errors.New(text)
}

// plainFlagError drops what Go's own number reader adds to a message about a flag.
func plainFlagError(_ *cobra.Command, err error) error {
	text, _, _ := strings.Cut(err.Error(), ": strconv.")
	return errors.New(text)
}

// refuseUnknownTopics makes a word that help or completion does not know a misuse: left alone they print their own help
// and end well.
func refuseUnknownTopics(root *cobra.Command) {
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd()
	for _, c := range root.Commands() {
		switch c.Name() {
		case "help":
			c.Run, c.RunE = nil, func(_ *cobra.Command, args []string) error {
				topic, rest, err := root.Find(args)
				if err == nil {
					err = knownCommand(topic, rest)
				}
				if err != nil {
					return err
				}
				topic.InitDefaultHelpFlag()
				topic.InitDefaultVersionFlag()
				return topic.Help()
			}
		case "completion":
			c.Args, c.RunE = knownCommand, func(c *cobra.Command, _ []string) error { return c.Help() }
		}
	}
}

// checkFolder refuses a folder of results that is a file, before work is spent on what cannot be written.
func checkFolder(dir string) error {
	if info, err := os.Stat(dir); err == nil && !info.IsDir() {
		return fmt.Errorf("%s is a file, the results go into a folder: name one with --out", dir)
	}
	return nil
}

// readDesign opens a design file for reading. A file that is not there is a misuse, not a fault of a design.
func readDesign(path string) (*os.File, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("no design file %s: %w", path, unwrapPath(err))
	}
	if info.IsDir() {
		return nil, fmt.Errorf("%s is a folder; name a design file in it", path)
	}
	return os.Open(path)
}

// unwrapPath drops the path that the operating system repeats in its message.
func unwrapPath(err error) error {
	var p *os.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// oneDesign takes exactly one argument and says what is missing in the words of the help.
func oneDesign(c *cobra.Command, args []string) error {
	if len(args) != 1 {
		return fmt.Errorf("%s takes one design file, found %d; for example: %s", c.CommandPath(), len(args), c.CommandPath()+" coat-rod.yaml")
	}
	return nil
}
