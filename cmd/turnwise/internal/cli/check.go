package cli

import (
	"path/filepath"

	"github.com/spf13/cobra"

	"turnwise/cmd/turnwise/internal/pipeline"
)

type checkOptions struct {
	design   string
	json     bool
	pictures bool
}

func newCheck(s Streams, run func(Streams, checkOptions) error) *cobra.Command {
	var o checkOptions
	c := &cobra.Command{
		Use:   "check DESIGN",
		Short: "Work out a design and say what is found, writing nothing",
		Long: `Check works out the same as build and writes no file. It prints the lists, the order of work and every
finding, each with its place in the design. With --pictures it also draws every picture and says how well each shows
what it is about: a score out of 100, and what is missed.

Exit status: 0 no fault (warnings and notes may exist); 1 the design has a fault; 2 the command was misused.`,
		Example: `  turnwise check coat-rod.yaml
  turnwise check coat-rod.yaml --json | jq .findings
  turnwise check coat-rod.yaml --pictures`,
		Args: oneDesign,
		RunE: func(_ *cobra.Command, args []string) error {
			o.design = args[0]
			return run(s, o)
		},
	}
	c.Flags().BoolVar(&o.json, "json", false, "print plan.json on standard output (only its findings when the file is faulty)")
	c.Flags().BoolVar(&o.pictures, "pictures", false, "draw the pictures too and print how good each is")
	return c
}

func runCheck(s Streams, o checkOptions) error {
	f, err := readDesign(o.design)
	if err != nil {
		return err
	}
	defer f.Close()
	p := newProgress(s)
	check := pipeline.Check
	if o.pictures {
		check = pipeline.CheckPictures
	}
	r, err := check(pipeline.Request{Name: filepath.Base(o.design), Design: f, Progress: p.show})
	p.done()
	if err != nil {
		return failure{err}
	}
	if err := report(s, o.design, r, o.json); err != nil {
		return failure{err}
	}
	if o.pictures && !o.json {
		if err := pipeline.WriteScores(s.Out, r.Scores); err != nil {
			return failure{err}
		}
	}
	return verdict(r)
}
