package wall_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/isosurface"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
	"turnwise/geom/wall"
)

// TestKnownWalls: solids whose thinnest wall follows from their dimensions.
func TestKnownWalls(t *testing.T) {
	z := geom.AxisZ
	turned := geom.Facing(geom.V(3, -8, 20), geom.V(1, 2, 3), geom.V(1, 0, 0))
	box := func(x, y, h float64) sdf.Leafed { return sdf.Box(geom.Box{Max: geom.V(x, y, h)}) }
	tests := []struct {
		name  string
		solid sdf.Solid
		want  float64
	}{
		{"a plate", box(40, 30, 3.2), 3.2},
		{"a ball", sdf.Sphere(geom.Vec{}, 7), 14},
		{"a tube", sdf.Tube(geom.Vec{}, z, 60, 13.335, 10.46), 2.875},
		{"a tube aslant", sdf.Move(sdf.Tube(geom.Vec{}, z, 60, 13.335, 10.46), turned), 2.875},
		{"a hole near the edge of a block", sdf.Cut(box(40, 30, 20), sdf.Cylinder(geom.V(11.5, 15, -1), z, 30, 10)), 1.5},
		{"a pocket over the floor", sdf.Cut(box(40, 30, 20), sdf.Cylinder(geom.V(20, 15, 2.25), z, 30, 8)), 2.25},
		{"two holes side by side", sdf.Cut(box(60, 40, 20), sdf.Cylinder(geom.V(20, 20, -1), z, 30, 8), sdf.Cylinder(geom.V(37.1, 20, -1), z, 30, 8)), 1.1},
		// square to the cone, whose slope is 1 in 32, from the small end
		{"a pipe's tapered end", sdf.Revolve(geom.Vec{}, z, []sdf.Station{{S: 0, R: 10}, {S: 0, R: 12.3}, {S: 16, R: 12.8}, {S: 60, R: 12.8}, {S: 60, R: 10}}), 2.3},
	}
	for _, tt := range tests {
		m, _, err := isosurface.Mesh(tt.solid, isosurface.Options{ToleranceMM: 0.02})
		require.NoError(t, err, tt.name)
		w, ok := wall.Thinnest(tt.solid, m)
		require.True(t, ok, tt.name)
		assert.InDelta(t, tt.want, w.MM, wall.AccuracyMM, tt.name)
		assert.InDelta(t, 0, tt.solid.Distance(w.At), 1e-3, tt.name)
		assert.InDelta(t, 0, tt.solid.Distance(w.At.Add(w.Dir.Mul(w.MM))), 1e-3, tt.name)
		assert.InDelta(t, 1, w.Dir.Len(), 1e-9)
	}
}

func TestNoMesh(t *testing.T) {
	_, ok := wall.Thinnest(sdf.Sphere(geom.Vec{}, math.Pi), &mesh.Mesh{})
	assert.False(t, ok)
}

func BenchmarkThinnest(b *testing.B) {
	s := sdf.Tube(geom.Vec{}, geom.AxisZ, 60, 13.335, 10.46)
	m, _, err := isosurface.Mesh(s, isosurface.Options{ToleranceMM: 0.02})
	require.NoError(b, err)
	b.Run("tube", func(b *testing.B) {
		for b.Loop() {
			wall.Thinnest(s, m)
		}
	})
}
