package cli

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"turnwise/cmd/turnwise/internal/outdir"
	"turnwise/cmd/turnwise/internal/pipeline"
)

type buildOptions struct {
	design  string
	out     string
	only    []string
	json    bool
	threads bool
	scale   string
	model   modelFlags
}

func newBuild(s Streams, run func(Streams, buildOptions) error) *cobra.Command {
	var o buildOptions
	c := &cobra.Command{
		Use:   "build DESIGN",
		Short: "Work out a design and write pictures, lists, solids and the plan",
		Long: `Build reads a design file, works it out, and writes the results into one folder: plan.json, and the
groups ` + strings.Join(pipeline.GroupNames, ", ") + `. Only files that turnwise wrote there before are replaced or removed.
The cut list and the shopping list are printed too.

Exit status: 0 all was written; 1 the design has a fault (what can still be worked out is written) or
writing failed; 2 the command was misused.`,
		Example: `  turnwise build coat-rod.yaml
  turnwise build coat-rod.yaml --out /tmp/rod --only lists,pictures
  turnwise build coat-rod.yaml --only solids --scale 1:8    # with the frame in one piece, to print
  turnwise build coat-rod.yaml --only mockup --model-bed 180 --model-rods mm`,
		Args: oneDesign,
		RunE: func(c *cobra.Command, args []string) error {
			o.design = args[0]
			if err := checkUsed(c.Flags(), o.only); err != nil {
				return err
			}
			return run(s, o)
		},
	}
	c.Flags().StringVar(&o.out, "out", "", "folder to write into (default: beside the design, named after it)")
	c.Flags().StringSliceVar(&o.only, "only", nil, "write only these groups, besides plan.json: "+strings.Join(pipeline.GroupNames, ","))
	c.Flags().BoolVar(&o.threads, "threads", false, "cut helical threads into the solids, to print and screw together")
	c.Flags().StringVar(&o.scale, "scale", "1:1", "size of the whole frame in solids/frame.stl, such as 1:8; all else stays true size")
	o.model.addTo(c.Flags())
	c.Flags().BoolVar(&o.json, "json", false, "print plan.json instead of tables")
	return c
}

// checkUsed refuses flags that would do nothing, because the group of files that they are about is not among those asked for.
func checkUsed(flags *pflag.FlagSet, only []string) error {
	groups, err := pipeline.ParseGroups(only)
	if err != nil || groups == nil {
		return err
	}
	var idle error
	flags.Visit(func(f *pflag.Flag) { // in the order of their names
		group := groupOf(f.Name)
		if idle == nil && group != "" && !groups[group] {
			idle = fmt.Errorf("--%s is about the group %s, and --only %s leaves it out: take --%s away, or write --only %s",
				f.Name, group, strings.Join(only, ","), f.Name, strings.Join(append(slices.Clone(only), group), ","))
		}
	})
	return idle
}

// groupOf is the group of files that a flag is about, or "".
func groupOf(flag string) string {
	switch {
	case flag == "threads" || flag == "scale":
		return pipeline.SolidsGroup
	case strings.HasPrefix(flag, "model-"):
		return pipeline.MockupGroup
	}
	return ""
}

func runBuild(s Streams, o buildOptions) error {
	groups, err := pipeline.ParseGroups(o.only)
	if err != nil {
		return err
	}
	scale, err := pipeline.ParseScale(o.scale)
	if err != nil {
		return err
	}
	model, err := o.model.options()
	if err != nil {
		return err
	}
	f, err := readDesign(o.design)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := checkFolder(outFolder(o)); err != nil {
		return err
	}
	p := newProgress(s)
	r, err := pipeline.Build(pipeline.Request{
		Name: filepath.Base(o.design), Design: f, Groups: groups, Progress: p.show, Threads: o.threads, Scale: scale, Model: model,
	})
	p.done()
	if err != nil {
		return failure{err}
	}
	if r.Readable {
		if err := write(outFolder(o), r); err != nil {
			return failure{err}
		}
	}
	if err := report(s, o.design, r, o.json); err != nil {
		return failure{err}
	}
	for _, remark := range r.Remarks {
		fmt.Fprintf(s.Err, "Note: %s\n", remark)
	}
	if r.Readable {
		fmt.Fprintf(s.Err, "Wrote %d files to %s\n", len(r.Files), outFolder(o))
	} else {
		fmt.Fprintf(s.Err, "Nothing was written: the design has to be mended first.\n")
	}
	return verdict(r)
}

// outFolder is where a build writes: beside the design, named after it, unless the user says otherwise.
func outFolder(o buildOptions) string {
	if o.out != "" {
		return o.out
	}
	return strings.TrimSuffix(o.design, filepath.Ext(o.design))
}

func write(dir string, r *pipeline.Result) error {
	files := make([]outdir.File, len(r.Files))
	for i, f := range r.Files {
		files[i] = outdir.File{Path: f.Path, Group: f.Group, Data: f.Data}
	}
	return outdir.Write(dir, outdir.Stamp{Design: r.Digest, Version: pipeline.Version}, r.Groups, files)
}
