package mesh_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/isosurface"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// TestInset: a bored block drawn in by a tenth is a smaller block with a wider hole, to the closed form of both.
func TestInset(t *testing.T) {
	s := sdf.Cut(sdf.Box(geom.Box{Max: geom.V(40, 30, 20)}), sdf.Cylinder(geom.V(20, 15, -1), geom.AxisZ, 22, 8))
	m, _, err := isosurface.Mesh(s, isosurface.Options{ToleranceMM: 0.01})
	require.NoError(t, err)
	const d = 0.1
	in := mesh.Inset(m, d)
	require.NoError(t, mesh.Check(in))
	assert.InDelta(t, (40-2*d)*(30-2*d)*(20-2*d)-math.Pi*(8+d)*(8+d)*(20-2*d), mesh.Volume(in), 12, "of 19,000: a bore with chords a hundredth off is wider by 10")
	for _, v := range in.Vertices {
		assert.InDelta(t, -d, s.Distance(v), 0.06*d+0.001, "%v", v)
	}
}

func TestShells(t *testing.T) {
	m := unit()
	assert.Equal(t, 1, mesh.Shells(m))
	mesh.Append(m, cube(geom.V(2, 0, 0), geom.V(3, 1, 1)))
	assert.Equal(t, 2, mesh.Shells(m))
	pieces := mesh.Apart(m)
	require.Len(t, pieces, 2)
	for _, one := range pieces {
		assert.NoError(t, mesh.Check(one))
	}
	assert.InDelta(t, mesh.Volume(m), mesh.Volume(pieces[0])+mesh.Volume(pieces[1]), 1e-9)
	assert.Equal(t, 0, mesh.Shells(&mesh.Mesh{}))
}
