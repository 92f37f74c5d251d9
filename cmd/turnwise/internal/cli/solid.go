package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"turnwise/assembly"
	"turnwise/cmd/turnwise/internal/outdir"
	"turnwise/cmd/turnwise/internal/pipeline"
)

type solidOptions struct {
	design, part, out string
	json              bool
}

func newSolid(s Streams, run func(Streams, solidOptions) error) *cobra.Command {
	var o solidOptions
	c := &cobra.Command{
		Use:   "solid DESIGN PART",
		Short: "Measure one part: its size, mass, smallest wall, and where its dimensions are from",
		Long: `Solid works a design out and looks at one of its parts, named by its number in the pictures or by its id in
plan.json. It prints size, volume, area, mass and the smallest wall, measured on the solid, and every
dimension that the part is made from with its source, how sure it is, and whether the design gave it. It writes
the part's STL and a picture of it from three sides into a folder.

Exit status: 0 done; 1 the design has a fault, or the work could not be done; 2 the command was misused, or the
design has no such part.`,
		Example: `  turnwise solid coat-rod.yaml 1
  turnwise solid coat-rod.yaml a --json | jq .wall_mm`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) != 2 {
				return fmt.Errorf("%s takes a design file and a part, found %d; for example: %s", c.CommandPath(), len(args), c.CommandPath()+" coat-rod.yaml 1")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error {
			o.design, o.part = args[0], args[1]
			return run(s, o)
		},
	}
	c.Flags().StringVar(&o.out, "out", "", "folder to write into (default: beside the design, named after it and the part)")
	c.Flags().BoolVar(&o.json, "json", false, "print JSON instead of tables")
	return c
}

func runSolid(s Streams, o solidOptions) error {
	f, err := readDesign(o.design)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := checkFolder(o.out); err != nil {
		return err
	}
	p := newProgress(s)
	r, in, err := pipeline.Inspect(pipeline.Request{Name: filepath.Base(o.design), Design: f, Progress: p.show}, o.part)
	p.done()
	if errors.Is(err, pipeline.ErrNoPart) {
		return err
	}
	if err != nil {
		return failure{err}
	}
	printFindings(s.Err, o.design, r, func(assembly.Finding) bool { return true })
	if in == nil {
		fmt.Fprintln(s.Err, "Nothing was measured: the design has to be mended first.")
		return verdict(r)
	}
	dir := solidFolder(o, in)
	var files []outdir.File
	groups := []string{}
	for _, f := range in.Files {
		files = append(files, outdir.File{Path: f.Path, Group: f.Group, Data: f.Data})
		groups = append(groups, f.Group)
		in.Written = append(in.Written, filepath.ToSlash(filepath.Join(dir, f.Path)))
	}
	if err := outdir.Write(dir, outdir.Stamp{Design: r.Digest, Version: pipeline.Version}, groups, files); err != nil {
		return failure{err}
	}
	if err := printSolid(s.Out, in, o.json); err != nil {
		return failure{err}
	}
	for _, remark := range r.Remarks {
		fmt.Fprintf(s.Err, "Note: %s\n", remark)
	}
	fmt.Fprintf(s.Err, "Wrote %d files to %s\n", len(files), dir)
	return verdict(r)
}

// solidFolder is where the files of one part go: beside the design, so that a build's own folder is left alone.
func solidFolder(o solidOptions, in *pipeline.Inspection) string {
	if o.out != "" {
		return o.out
	}
	name := strings.TrimSuffix(in.Files[0].Path, filepath.Ext(in.Files[0].Path))
	return strings.TrimSuffix(o.design, filepath.Ext(o.design)) + "-" + name
}

func printSolid(w io.Writer, in *pipeline.Inspection, asJSON bool) error {
	if asJSON {
		e := json.NewEncoder(w)
		e.SetIndent("", "  ")
		return e.Encode(in)
	}
	fmt.Fprintf(w, "%d  %s (%s), %d of them alike\n\n", in.Number, in.Name, in.ID, in.Count)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "size\t%.2f x %.2f x %.2f mm\n", in.SizeMM[0], in.SizeMM[1], in.SizeMM[2])
	fmt.Fprintf(t, "volume\t%.2f cm3\n", in.Volume/1e3)
	fmt.Fprintf(t, "area\t%.1f cm2\n", in.Area/1e2)
	fmt.Fprintf(t, "mass\t%.3f kg\n", in.MassKG)
	if in.WallMM != nil {
		fmt.Fprintf(t, "smallest wall\t%.2f mm, give or take %.2f, at %.1f, %.1f, %.1f in its own frame\n", *in.WallMM, in.Within, in.WallAt[0], in.WallAt[1], in.WallAt[2])
	}
	fmt.Fprintf(t, "triangles\t%d\n", in.Faces)
	if err := t.Flush(); err != nil {
		return err
	}
	if len(in.Dims) == 0 {
		return nil
	}
	fmt.Fprintln(w, "\nWhat it is made from (mm, or as the name says)")
	t = tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, d := range in.Dims {
		source := d.Source
		if d.Override {
			source = "given by the design: " + source
		}
		fmt.Fprintf(t, "  %s\t%.4g\t%s\t%s\n", d.Name, d.MM, d.Grade, source)
	}
	return t.Flush()
}
