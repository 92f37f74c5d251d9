package pipeline

import (
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly/standard"
)

// TestInspect: a pipe's volume, area and size against the closed form of its tube and thread cones; a tee's smallest wall
// against the metal thickness of its table.
func TestInspect(t *testing.T) {
	file := filepath.Join(root, "examples", "club-jacket-rack.yaml")
	r, in, err := Inspect(request(t, file), "3")
	require.NoError(t, err)
	require.Equal(t, standard.Pipe, in.Kind)
	d := map[string]float64{}
	for _, x := range in.Dims {
		d[x.Name] = x.MM
		assert.NotEmpty(t, x.Source, x.Name)
	}
	length, od, bore := in.SizeMM[2], in.SizeMM[0]/2, d["bore"]/2
	r0, l, v := d["pitch-dia.a"]/2, d["thread-length.a"], d["vanish.a"]
	r1 := r0 + l/32
	frustum := func(a, b, h float64) float64 { return math.Pi * h * (a*a + a*b + b*b) / 3 }
	want := 2*frustum(r0, r1, l) + 2*frustum(r1, od, v) + math.Pi*od*od*(length-2*l-2*v) - math.Pi*bore*bore*length
	assert.InEpsilon(t, want, in.Volume, 0.005)
	assert.InEpsilon(t, 2*math.Pi*(od+bore)*length, in.Area, 0.02)
	assert.InEpsilon(t, in.MassKG, in.Volume*7.85e-6, 0.01, "steel of 7.85 g/cm3, EN 10255")
	// Square to the cone at the very end of the thread.
	require.NotNil(t, in.WallMM)
	assert.InDelta(t, (r0-bore)*math.Cos(math.Atan(1.0/32)), *in.WallMM, 0.03)
	assert.Len(t, in.Files, 2)

	_, tee, err := Inspect(request(t, file), "low-left")
	require.NoError(t, err)
	for _, x := range tee.Dims {
		if x.Name == standard.DimWall {
			assert.InDelta(t, x.MM, *tee.WallMM, 0.03, "the metal thickness, between body and bore")
		}
	}
	n := 0
	for _, p := range r.Plan.Parts {
		if p.Number == tee.Number {
			n++
		}
	}
	assert.Equal(t, n, tee.Count)

	for _, name := range []string{"8", "99", "room", ""} {
		_, _, err := Inspect(request(t, file), name)
		assert.ErrorIs(t, err, ErrNoPart, name)
	}
	_, _, err = Inspect(request(t, file), "bag-rail.union-1")
	assert.ErrorIs(t, err, ErrNoPart)
	assert.ErrorContains(t, err, "it is in two pieces, bag-rail.union-1.a, bag-rail.union-1.b; name one of them")
}
