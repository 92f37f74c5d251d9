package mockup_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/mockup"
	"turnwise/assembly/replay"
	"turnwise/assembly/sequence"
	"turnwise/assembly/solidify"
	"turnwise/assembly/solve"
	"turnwise/geom/isosurface"
	"turnwise/geom/sdf"
)

// planOf works a design out as far as the plan of its frame.
func planOf(t testing.TB, path string) assembly.Plan {
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	tree, faults := design.Read(f, filepath.Base(path))
	require.Empty(t, faults)
	a, faults := solve.Solve(tree)
	require.Empty(t, faults)
	outlines := map[string]assembly.Outline{}
	for _, p := range a.Parts {
		outlines[p.ID], err = solidify.Outline(p)
		require.NoError(t, err)
	}
	order := sequence.Plan(sequence.Input{Assembly: a, Outlines: outlines})
	sequence.Number(a, order.Steps)
	return assembly.Plan{Format: assembly.Format, Design: a.Header, Parts: a.Parts, Joints: a.Joints, Loops: order.Loops, Steps: order.Steps, Findings: order.Findings}
}

func designs(t testing.TB) []string {
	examples, err := filepath.Glob("../../examples/*.yaml")
	require.NoError(t, err)
	briefs, err := filepath.Glob("../../testdata/briefs/*.yaml")
	require.NoError(t, err)
	return append(examples, briefs...)
}

func TestModelsAreProven(t *testing.T) {
	for _, path := range designs(t) {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".yaml"), func(t *testing.T) {
			plan := planOf(t, path)
			m, err := mockup.Build(plan, mockup.Options{})
			require.NoError(t, err)
			r := replay.Check(m.Plan, func(p assembly.Part) (sdf.Solid, error) { return m.Solid(p) })
			t.Logf("1:%g, %d pieces, %d thickened", m.Scale, len(m.Pieces), len(m.Thickened))
			for _, f := range r.Failures {
				t.Log(f)
			}
			assert.Empty(t, r.Failures)
		})
	}
}

func TestPiecesMesh(t *testing.T) {
	plan := planOf(t, "../../examples/theatre-wardrobe-bay.yaml")
	m, err := mockup.Build(plan, mockup.Options{})
	require.NoError(t, err)
	for _, p := range m.Pieces {
		mesh, r, err := isosurface.Mesh(p.Printed, isosurface.Options{ToleranceMM: 0.03})
		require.NoError(t, err, p.Label())
		t.Log(p.Label(), p.Kind, p.Count, len(mesh.Triangles), r.Method, r.MaxErrorMM)
	}
}
