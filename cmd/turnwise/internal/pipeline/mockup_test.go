package pipeline

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly/mockup"
	"turnwise/geom/mesh"
	"turnwise/geom/mesh/stl"
	"turnwise/geom/mesh/threemf"
)

func buildModel(t testing.TB, o mockup.Options) *Result {
	text, err := os.ReadFile("../../../../examples/club-jacket-rack.yaml")
	require.NoError(t, err)
	r, err := Build(Request{Name: "club-jacket-rack.yaml", Design: bytes.NewReader(text), Groups: Groups{MockupGroup: true}, Model: o})
	require.NoError(t, err)
	return r
}

func fileNamed(r *Result, path string) []byte {
	for _, f := range r.Files {
		if f.Path == path {
			return f.Data
		}
	}
	return nil
}

// TestModelFiles: the plates read back alike from both files and lie on the bed; there are pictures, gauges and a sheet
// that names every piece.
func TestModelFiles(t *testing.T) {
	r := buildModel(t, mockup.Options{})
	assert.Empty(t, r.Remarks)
	solid, err := stl.Read(bytes.NewReader(fileNamed(r, "mockup/plate-1.stl")))
	require.NoError(t, err)
	data := fileNamed(r, "mockup/plate-1.3mf")
	pack, err := threemf.Read(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	volume := 0.0
	for _, o := range pack.Objects {
		volume += mesh.Volume(o.Mesh)
	}
	assert.InEpsilon(t, mesh.Volume(mesh.Weld(solid)), volume, 1e-4)
	b := mesh.Bounds(solid)
	assert.InDelta(t, 0, b.Min.Z, 1e-6)
	assert.True(t, b.Min.X > 0 && b.Min.Y > 0 && b.Max.X < mockup.DefaultBedMM && b.Max.Y < mockup.DefaultBedMM, "%v", b)
	sheet := string(fileNamed(r, "mockup/model-sheet.html"))
	for _, words := range []string{"fit-test:", "plate-1:", "Reach, steel", "Thicker by", "gauge-1.stl", "clip for 8"} {
		assert.Contains(t, sheet, words)
	}
	assert.NotContains(t, sheet, "&lt;", "a word is missing")
	for _, o := range pack.Objects {
		assert.Contains(t, sheet, ">"+o.Name+"<")
	}
	for _, path := range []string{"mockup/plate-1.png", "mockup/fit-test.stl", "mockup/fit-test.png", "mockup/assembled.png", "mockup/gauge-1.stl", "mockup/model-sheet.pdf"} {
		assert.NotEmpty(t, fileNamed(r, path), path)
	}
}

// TestNoModel: a model that cannot be made is told, and takes nothing else with it.
func TestNoModel(t *testing.T) {
	r := buildModel(t, mockup.Options{Scale: 2})
	require.Len(t, r.Remarks, 1)
	assert.True(t, strings.HasPrefix(r.Remarks[0], "there is no scale model: at 1:2 "), r.Remarks[0])
	assert.Len(t, r.Files, 1)
}

// TestTooSmallIsTold: of a model that does not go together it is told at which scale it does, and what bed that takes.
func TestTooSmallIsTold(t *testing.T) {
	r, w, err := plan(request(t, "../../../../examples/club-jacket-rack.yaml"))
	require.NoError(t, err)
	model, err := mockup.Build(r.Plan, mockup.Options{Scale: 20})
	require.NoError(t, err)
	w.plan = &r.Plan
	words := (&modelWork{work: w, model: model}).tooSmall(map[int]bool{5: true})
	assert.Contains(t, words, "the scale model at 1:20 cannot be put together as the frame can: in 1 of its")
	assert.Contains(t, words, "At 1:12 it can: that takes a bed of 124 mm")
}

func TestBoughtRodsAreListed(t *testing.T) {
	r := buildModel(t, mockup.Options{Bought: true, Market: "mm", Scale: 8})
	assert.Contains(t, string(fileNamed(r, "mockup/model-sheet.html")), "Rods to cut")
	assert.True(t, strings.Contains(string(fileNamed(r, "mockup/model-sheet.html")), "ought rods have no lugs: they can be pushed in"), "what they do not show is told")
}
