package pipeline

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/fuse"
	"turnwise/geom/mesh"
	"turnwise/geom/mesh/stl"
)

// TestFrameIsOneSolid: designs that between them use every kind of fitting and every way in which boards and feet are held
// come out as one closed solid each, true size and smaller; so do the worked rooms. The first take turns in thread and size: TURNWISE_FRAMES=all
// takes every design in every one, which is a matter of many minutes.
func TestFrameIsOneSolid(t *testing.T) {
	if testing.Short() {
		t.Skip("builds a handful of designs; TestExamplesBuild does it for all examples")
	}
	all := os.Getenv("TURNWISE_FRAMES") == "all"
	turns := []string{"npt 1/2", "bspt 1-1/4", "npt 1", "bspt 1-1/2", "npt 3/4", "bspt 1/2", "bspt 3/4", "npt 1-1/4", "npt 1-1/2", "bspt 1"}
	for i, file := range designs(t, "testdata/frames") {
		for j, turn := range turns {
			if all || j == i {
				t.Run(filepath.Base(file)+" "+turn, func(t *testing.T) {
					t.Parallel()
					oneSolid(t, file, turned(t, file, turn), all)
				})
			}
		}
	}
	for _, file := range designs(t, "testdata/briefs") {
		t.Run(filepath.Base(file), func(t *testing.T) {
			t.Parallel()
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			oneSolid(t, file, text, false)
		})
	}
}

// turned reads a design and gives it another thread and size.
func turned(t *testing.T, file, turn string) []byte {
	thread, size, _ := strings.Cut(turn, " ")
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	text = bytes.ReplaceAll(text, []byte("thread: npt"), []byte("thread: "+thread))
	return bytes.ReplaceAll(text, []byte("pipe: 3/4"), []byte("pipe: "+strings.ReplaceAll(size, "-", " ")))
}

// oneSolid checks one design. With some, a design is skipped that has no parts in that size.
func oneSolid(t *testing.T, file string, text []byte, some bool) {
	r, err := Build(Request{Name: filepath.Base(file), Design: bytes.NewReader(text), Groups: Groups{SolidsGroup: true}})
	require.NoError(t, err)
	if some && len(r.Plan.Parts) == 0 {
		t.Skip(r.Plan.Findings[0].Text)
	}
	files, meshes := map[string][]byte{}, map[string]*mesh.Mesh{}
	for _, f := range r.Files {
		files[f.Path] = f.Data
		if strings.HasSuffix(f.Path, ".stl") {
			meshes[f.Path], err = stl.Read(bytes.NewReader(f.Data))
			require.NoError(t, err)
		}
	}
	require.Contains(t, files, "solids/frame.stl", "%v", r.Remarks)
	whole := meshes["solids/frame.stl"]
	assertOnePiece(t, r.Plan, whole, files)
	assert.Equal(t, 1, groups(r.Plan))
	for _, scale := range []float64{1.0 / 8, 1.0 / 20} {
		m, report, err := fuse.Frame(fuse.Input{
			Parts: r.Plan.Parts, Joints: r.Plan.Joints, ToleranceMM: ToleranceMM, Scale: scale,
			Mesh: func(p assembly.Part) *mesh.Mesh { return meshes[p.Solid] },
		})
		if assert.NoError(t, err, "%g", scale) {
			assert.Equal(t, 1, report.Bodies, "%g", scale)
			assert.InEpsilon(t, mesh.Volume(whole), mesh.Volume(m)/(scale*scale*scale), 1e-3, fmt.Sprint(scale))
		}
	}
}
