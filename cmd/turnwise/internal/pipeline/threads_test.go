package pipeline

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom/mesh"
	"turnwise/geom/mesh/stl"
)

// rodDesign is an invented design: a rod between two walls, one pipe in two flanges.
const rodDesign = `title: Coat rod
units: in
pipe: 3/4
room:
  right: 47 1/4
points:
  a: left, 12, 66
  b: right, 12, 66
runs:
  rod: a to b
`

// TestThreadsOnRequest: asked for threads, the files of solids have them, sound and closed; the plan is the same.
func TestThreadsOnRequest(t *testing.T) {
	build := func(threads bool) *Result {
		r, err := Build(Request{Name: "rod.yaml", Design: strings.NewReader(rodDesign), Groups: Groups{SolidsGroup: true}, Threads: threads})
		require.NoError(t, err)
		assert.Empty(t, r.Remarks)
		return r
	}
	plain, cut := build(false), build(true)
	assert.Equal(t, plain.PlanJSON, cut.PlanJSON)
	require.Equal(t, len(plain.Files), len(cut.Files))
	n := 0
	for i, f := range cut.Files {
		if f.Path == "solids/parts.3mf" {
			assert.Greater(t, len(f.Data), len(plain.Files[i].Data), "it has the threads too")
			continue
		}
		if !strings.HasSuffix(f.Path, ".stl") || f.Path == "solids/frame.stl" { // the frame in one piece has no threads
			assert.Equal(t, plain.Files[i], f)
			continue
		}
		m, err := stl.Read(bytes.NewReader(f.Data))
		require.NoError(t, err)
		require.NoError(t, mesh.Check(m), f.Path)
		assert.Greater(t, len(f.Data), 2*len(plain.Files[i].Data), "%s: turns of thread take triangles", f.Path)
		n++
	}
	assert.Equal(t, 2, n, "pipe and flange")
}
