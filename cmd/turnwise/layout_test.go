package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// imports says which packages of the project each package may import: leaves first, each line naming only packages
// above it. `test` packages may be imported by test files anywhere.
const imports = `
geom:
geom/geomtest: geom
geom/sdf: geom
geom/sdf/sdftest: geom geom/sdf
geom/mesh: geom
geom/mesh/stl: geom geom/mesh
geom/mesh/glb: geom geom/mesh
geom/mesh/threemf: geom geom/mesh
geom/mesh/unite: geom geom/mesh
geom/isosurface: geom geom/sdf geom/mesh
geom/wall: geom geom/sdf geom/mesh
assembly/units:
assembly/formula: assembly/units
assembly/standard: assembly/units
assembly/design: assembly/units assembly/formula assembly/standard
assembly/enclosure: geom
assembly/joinery: geom assembly/units assembly/standard
assembly: geom assembly/units assembly/standard
assembly/woodwork: geom assembly
assembly/solve: geom assembly assembly/design assembly/units assembly/formula assembly/standard assembly/joinery assembly/enclosure assembly/woodwork
assembly/solidify: geom geom/sdf assembly assembly/units assembly/standard
assembly/closing:
assembly/fuse: geom geom/sdf geom/mesh geom/mesh/unite geom/isosurface assembly assembly/closing assembly/standard
assembly/sequence: geom assembly assembly/units assembly/standard assembly/closing
assembly/mend: geom assembly assembly/design assembly/units assembly/standard
assembly/planfile: geom assembly assembly/units assembly/standard
assembly/replay: geom geom/sdf assembly assembly/planfile
assembly/wording: assembly assembly/units assembly/standard geom
assembly/bom: geom assembly assembly/units assembly/standard
assembly/packing: geom assembly
assembly/mockup: geom geom/sdf geom/mesh geom/isosurface assembly assembly/standard
render: geom geom/mesh
render/rendertest: geom geom/mesh assembly assembly/standard
render/raster: render geom geom/mesh
render/linework: render geom
render/lettering: geom
render/callout: geom render render/lettering
render/explode: geom assembly assembly/standard
render/picture: geom geom/mesh assembly assembly/units assembly/standard assembly/packing assembly/wording render render/raster render/linework render/explode render/lettering render/callout
render/sheets:
render/booklet: geom assembly assembly/units assembly/standard assembly/wording render/sheets
`

// rooms says which packages may import an outside module; modules not named here may be used anywhere.
var rooms = map[string][]string{
	"github.com/fogleman/fauxgl":        {"render/raster"},
	"github.com/tdewolff/canvas":        {"render/lettering", "render/picture", "render/sheets"},
	"golang.org/x/image":                {"render/lettering", "render/picture", "render/sheets"},
	"github.com/goccy/go-yaml":          {"assembly/design"},
	"github.com/spf13/cobra":            {"cmd/turnwise/internal/cli"},
	"github.com/schollz/progressbar/v3": {"cmd/turnwise/internal/cli"},
	"golang.org/x/term":                 {"cmd/turnwise/internal/cli"},
	"github.com/stretchr/testify":       {},
	"github.com/rogpeppe/go-internal":   {},
	"github.com/chromedp":               {},
}

const module = "turnwise"

// cmdMay adds the command's own packages: the pipeline knows every stage, cli the pipeline, main only cli.
func cmdMay(pkg, imported string) bool {
	const in = "cmd/turnwise/internal/"
	switch pkg {
	case "cmd/turnwise":
		return imported == in+"cli"
	case in + "cli":
		return !strings.HasPrefix(imported, "render/") && imported != "cmd/turnwise"
	case in + "pipeline":
		return !strings.HasPrefix(imported, "cmd/")
	case in + "outdir":
		return false
	}
	return false
}

func TestImportsFollowTheTable(t *testing.T) {
	allowed := map[string]map[string]bool{}
	for _, line := range strings.Split(strings.TrimSpace(imports), "\n") {
		pkg, deps, ok := strings.Cut(line, ":")
		require.True(t, ok, line)
		allowed[pkg] = map[string]bool{}
		for _, d := range strings.Fields(deps) {
			require.Contains(t, allowed, d, "%s names %s, which stands below it", pkg, d)
			allowed[pkg][d] = true
		}
	}
	seen := map[string]bool{}
	walkImports(t, func(file, pkg, imported string) {
		isTest := strings.HasSuffix(file, "_test.go")
		if own, ok := strings.CutPrefix(imported, module+"/"); ok {
			seen[pkg] = true
			switch {
			case isTest && !strings.HasPrefix(pkg, "geom") || isTest && strings.HasSuffix(own, "test"):
			case strings.HasPrefix(pkg, "cmd/"):
				if !cmdMay(pkg, own) {
					t.Errorf("%s: %s may not import %s", file, pkg, own)
				}
			case allowed[pkg] == nil:
				t.Errorf("%s: package %s is not in the table", file, pkg)
			case !allowed[pkg][own] && !isTest:
				t.Errorf("%s: %s may not import %s", file, pkg, own)
			}
			return
		}
		for mod, where := range rooms {
			if isTest || strings.HasSuffix(pkg, "test") || imported != mod && !strings.HasPrefix(imported, mod+"/") {
				continue
			}
			ok := false
			for _, w := range where {
				ok = ok || w == pkg
			}
			if !ok {
				t.Errorf("%s: %s may not be used in %s", file, mod, pkg)
			}
		}
	})
	require.Greater(t, len(seen), 10, "the walk found too few packages to mean anything")
}

// TestReplayIsApart: the proof shares no code with the planner, not even through a third package.
func TestReplayIsApart(t *testing.T) {
	deps := map[string][]string{}
	walkImports(t, func(file, pkg, imported string) {
		if own, ok := strings.CutPrefix(imported, module+"/"); ok && !strings.HasSuffix(file, "_test.go") {
			deps[pkg] = append(deps[pkg], own)
		}
	})
	reached := map[string]bool{}
	var reach func(string)
	reach = func(p string) {
		for _, d := range deps[p] {
			if !reached[d] {
				reached[d] = true
				reach(d)
			}
		}
	}
	reach("assembly/replay")
	require.True(t, reached["geom/sdf"])
	require.False(t, reached["assembly/sequence"])
	require.False(t, reached["assembly/solidify"])
}

func walkImports(t *testing.T, visit func(file, pkg, imported string)) {
	root, err := filepath.Abs("../..")
	require.NoError(t, err)
	err = filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel(root, path)
		if d.IsDir() {
			if _, err := os.Stat(filepath.Join(path, "go.mod")); err == nil && rel != "." {
				return filepath.SkipDir // a module of its own
			}
			if strings.HasPrefix(d.Name(), ".") && rel != "." || d.Name() == "testdata" {
				return filepath.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(path, ".go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, s := range f.Imports {
			p, err := strconv.Unquote(s.Path.Value)
			if err != nil {
				return err
			}
			visit(filepath.ToSlash(rel), filepath.ToSlash(filepath.Dir(rel)), p)
		}
		return nil
	})
	require.NoError(t, err)
}
