package cli

import (
	"path/filepath"

	"github.com/spf13/cobra"

	"turnwise/cmd/turnwise/internal/pipeline"
)

type checkOptions struct {
	design string
	json   bool
}

func newCheck(s Streams, run func(Streams, checkOptions) error) *cobra.Command {
	var o checkOptions
	c := &cobra.Command{
		Use:   "check DESIGN",
		Short: "Work out a design and say what is found, writing nothing",
		Long: `Check works out the same as build and writes no file. It prints the lists, the order of work and every
finding, each with its place in the design.

Exit status: 0 no fault (warnings and notes may exist); 1 the design has a fault; 2 the command was misused.`,
		Example: `  turnwise check coat-rod.yaml
  turnwise check coat-rod.yaml --json | jq .findings`,
		Args: oneDesign,
		RunE: func(_ *cobra.Command, args []string) error {
			o.design = args[0]
			return run(s, o)
		},
	}
	c.Flags().BoolVar(&o.json, "json", false, "print plan.json on standard output (only its findings when the file is faulty)")
	return c
}

func runCheck(s Streams, o checkOptions) error {
	f, err := readDesign(o.design)
	if err != nil {
		return err
	}
	defer f.Close()
	p := newProgress(s)
	r, err := pipeline.Check(pipeline.Request{Name: filepath.Base(o.design), Design: f, Progress: p.show})
	p.done()
	if err != nil {
		return failure{err}
	}
	if err := report(s, o.design, r, o.json); err != nil {
		return failure{err}
	}
	return verdict(r)
}
